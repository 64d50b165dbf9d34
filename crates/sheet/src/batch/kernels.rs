//! Loops over the rows of a block. Each is compiled for the vector units that the machine may have,
//! and the step that it takes is the one of [`crate::evaluate::steps`], so that every row comes out
//! as it does alone.

use forebay_formulas::by_vector_units;

use super::{Batch, In};

/// How many rows a block has.
pub(super) const ROWS: usize = Batch::ROWS;

/// A column as the loops take it: of a length that is known beforehand.
pub(super) fn rows<T>(column: &[T]) -> &[T; ROWS] {
    column.first_chunk().expect("every column has room for a block")
}

pub(super) fn rows_mut<T>(column: &mut [T]) -> &mut [T; ROWS] {
    column.first_chunk_mut().expect("every column has room for a block")
}

/// All ones for true.
#[inline(always)]
pub(super) fn mask(truth: bool) -> u64 {
    0_u64.wrapping_sub(u64::from(truth))
}

#[inline(always)]
pub(super) fn is_finite(x: f64) -> bool {
    x.to_bits() & 0x7ff0_0000_0000_0000 != 0x7ff0_0000_0000_0000
}

/// Writes a function of each row of one operand.
pub(super) fn one(columns: &mut [Vec<f64>], to: u32, a: In, f: impl Fn(f64) -> f64 + Copy) {
    let mut out = std::mem::take(&mut columns[to as usize]);
    match a {
        In::Column(a) => {
            let (to, a) = (rows_mut(&mut out), rows(&columns[a as usize]));
            by_vector_units(
                #[inline(always)]
                || {
                    for row in 0..ROWS {
                        to[row] = f(a[row]);
                    }
                },
            );
        }
        In::Same(a) => out.fill(f(a)),
    }
    columns[to as usize] = out;
}

/// Writes a function of each row of two operands.
pub(super) fn two(
    columns: &mut [Vec<f64>],
    to: u32,
    a: In,
    b: In,
    f: impl Fn(f64, f64) -> f64 + Copy,
) {
    let mut out = std::mem::take(&mut columns[to as usize]);
    match (a, b) {
        (In::Column(a), In::Column(b)) => {
            let to = rows_mut(&mut out);
            let (a, b) = (rows(&columns[a as usize]), rows(&columns[b as usize]));
            by_vector_units(
                #[inline(always)]
                || {
                    for row in 0..ROWS {
                        to[row] = f(a[row], b[row]);
                    }
                },
            );
        }
        (In::Column(a), In::Same(b)) => {
            let (to, a) = (rows_mut(&mut out), rows(&columns[a as usize]));
            by_vector_units(
                #[inline(always)]
                || {
                    for row in 0..ROWS {
                        to[row] = f(a[row], b);
                    }
                },
            );
        }
        (In::Same(a), In::Column(b)) => {
            let (to, b) = (rows_mut(&mut out), rows(&columns[b as usize]));
            by_vector_units(
                #[inline(always)]
                || {
                    for row in 0..ROWS {
                        to[row] = f(a, b[row]);
                    }
                },
            );
        }
        (In::Same(a), In::Same(b)) => out.fill(f(a, b)),
    }
    columns[to as usize] = out;
}

/// Marks the active rows in which an operand is odd.
pub(super) fn mark(
    odd: &mut [u64],
    active: &[u64],
    columns: &[Vec<f64>],
    a: In,
    is_odd: impl Fn(f64) -> bool + Copy,
) {
    let (odd, active) = (rows_mut(odd), rows(active));
    match a {
        In::Column(a) => {
            let a = rows(&columns[a as usize]);
            by_vector_units(
                #[inline(always)]
                || {
                    for row in 0..ROWS {
                        odd[row] |= mask(is_odd(a[row])) & active[row];
                    }
                },
            );
        }
        In::Same(a) => {
            if is_odd(a) {
                for (odd, active) in odd.iter_mut().zip(active) {
                    *odd |= *active;
                }
            }
        }
    }
}

/// Whether any row is marked.
pub(super) fn any(marks: &[u64]) -> bool {
    rows(marks).iter().fold(0, |all, mark| all | mark) != 0
}
