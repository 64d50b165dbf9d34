//! The workload of the benchmarks: a plant of 79 cells, as a worksheet and written by hand.
//!
//! The flow is where the head left for the runner and the head that the pipe loses come to the head
//! that is there: a search for a zero. The head lost depends on the friction factor by Colebrook and
//! White, which has to be searched for itself.

#![allow(dead_code)]

pub(crate) mod native;

/// The worksheet.
pub(crate) const PLANT: &str = include_str!("plant.yaml");

/// The same plant with the friction factor searched in the sheet, one search inside the other.
pub(crate) fn nested() -> String {
    PLANT
        .replace(
            "    let f = friction_factor(reynolds_number(v, bore, nu), roughness / bore);\n",
            "    let re = v * bore / nu;\n    let e = roughness / bore;\n    \
             let x = zero_of(|x| x + 2 * log10(e / 3.7 + 2.51 * x / re), 1, 20);\n    \
             let f = 1 / x^2;\n",
        )
        .replace("friction_factor(reynolds, roughness / bore)", "1 / root^2")
        .replace(
            "  factor:",
            "  root: zero_of(|x| x + 2 * log10(roughness / bore / 3.7 + 2.51 * x / reynolds), 1, 20)\n  \
             factor:",
        )
}

/// The name of a cell of a chain: short, so that a million of them are read at all.
pub(crate) fn name(at: usize) -> String {
    let digit = |digit: usize| char::from(b"0123456789abcdefghijklmnopqrstuvwxyz"[digit % 36]);
    let mut name = "c".to_owned();
    name.extend([at / 46_656, at / 1296, at / 36, at].map(digit));
    name
}

/// A chain of cells, each of which reads the one before it.
pub(crate) fn chain(cells: usize) -> String {
    let mut text = "forebay: 1\nknown:\n c0000: 3\nwork:\n".to_owned();
    for at in 1..=cells {
        text.push_str(&format!(" {}: {}+1\n", name(at), name(at - 1)));
    }
    text
}
