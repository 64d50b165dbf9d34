//! The internal rate of return: every rate that makes flows worth nothing, found by bracketing.

use crate::formula::Refusal;

/// Beyond so many flows, those that change sign more than once are refused: the search for all
/// roots grows with the cube of their number.
const MOST_FLOWS: usize = 120;

/// The one rate above −100 % at which the flows, the first now and the others a year apart, are
/// worth nothing.
///
/// # Errors
/// No such rate, or several: then all are named.
pub(crate) fn internal_rate(flows: &[f64]) -> Result<f64, Refusal> {
    // Years without a flow at either end change no root.
    let first = flows.iter().position(|flow| *flow != 0.0);
    let last = flows.iter().rposition(|flow| *flow != 0.0);
    let (Some(first), Some(last)) = (first, last) else {
        return Err(Refusal("flows: all are zero".to_owned()));
    };
    let flows = &flows[first..=last];
    // Descartes: no change of sign, no root; one change, one root.
    let changes = sign_changes(flows);
    if changes == 0 {
        return Err(Refusal(
            "flows: no rate makes them worth nothing, since they never change sign".to_owned(),
        ));
    }
    if changes > 1 && flows.len() > MOST_FLOWS {
        return Err(Refusal(format!(
            "flows: more than {MOST_FLOWS} that change sign more than once may have many rates; \
             compare net present values instead"
        )));
    }
    let rates = rates(flows, changes);
    match rates.as_slice() {
        [rate] => Ok(*rate),
        [] => Err(Refusal(
            "flows: no rate makes them worth nothing; compare net present values instead"
                .to_owned(),
        )),
        many => {
            let listed: Vec<String> =
                many.iter().map(|rate| format!("{:.4} %", rate * 100.0)).collect();
            Err(Refusal(format!(
                "flows: {} rates make them worth nothing ({}), and none of them is the yield; \
                 compare net present values instead",
                many.len(),
                listed.join(", ")
            )))
        }
    }
}

/// All rates above −100 %, rising. With x = 1/(1 + i) rates from 0 up lie in 0 < x ≤ 1; with
/// y = 1 + i and the flows turned round those below 0 lie in 0 < y < 1. So no power overflows.
fn rates(flows: &[f64], changes: usize) -> Vec<f64> {
    let turned: Vec<f64> = flows.iter().rev().copied().collect();
    let roots = |of: &[f64]| if changes == 1 { single_root(of) } else { all_roots(of) };
    let below = roots(&turned).into_iter().filter(|y| *y < 1.0).map(|y| y - 1.0);
    let above = roots(flows).into_iter().map(|x| 1.0 / x - 1.0);
    let mut rates: Vec<f64> = below.chain(above).collect();
    rates.sort_by(f64::total_cmp);
    rates
}

fn sign_changes(flows: &[f64]) -> usize {
    let signs: Vec<bool> = flows.iter().filter(|f| **f != 0.0).map(|f| *f > 0.0).collect();
    signs.windows(2).filter(|pair| pair[0] != pair[1]).count()
}

/// Horner's rule, the constant first.
fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// The root in 0 < x ≤ 1 of a polynomial that has one positive root at most.
fn single_root(coefficients: &[f64]) -> Vec<f64> {
    bracketed(coefficients, 0.0, 1.0).into_iter().collect()
}

/// All roots in 0 < x ≤ 1: between two neighbouring extrema, which are the roots of the
/// derivative, a polynomial crosses zero once at most.
fn all_roots(coefficients: &[f64]) -> Vec<f64> {
    let mut derivatives = vec![coefficients.to_vec()];
    while let Some(last) = derivatives.last()
        && last.len() > 2
    {
        let next = last.iter().skip(1).zip(1_u32..).map(|(c, power)| c * f64::from(power));
        let mut next: Vec<f64> = next.collect();
        // High derivatives grow like factorials; their roots do not mind a common factor.
        let size = next.iter().fold(0.0_f64, |size, c| size.max(c.abs()));
        if size > 0.0 {
            next.iter_mut().for_each(|c| *c /= size);
        }
        derivatives.push(next);
    }
    let mut roots: Vec<f64> = Vec::new();
    for derivative in derivatives.iter().rev() {
        let mut ends = vec![0.0];
        ends.append(&mut roots);
        ends.push(1.0);
        for pair in ends.windows(2) {
            if let Some(root) = bracketed(derivative, pair[0], pair[1])
                && roots.last() != Some(&root)
            {
                roots.push(root);
            }
        }
    }
    roots
}

/// The root in from < x ≤ to where the polynomial changes sign there, by bisection down to
/// neighbouring numbers.
fn bracketed(coefficients: &[f64], from: f64, to: f64) -> Option<f64> {
    let (mut low, mut high) = (from, to);
    let at_high = polynomial(coefficients, high);
    if at_high == 0.0 {
        return Some(high);
    }
    let at_low = polynomial(coefficients, low);
    if at_low == 0.0 || (at_low > 0.0) == (at_high > 0.0) {
        return None;
    }
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return Some(high);
        }
        let value = polynomial(coefficients, middle);
        if value == 0.0 {
            return Some(middle);
        }
        if (value > 0.0) == (at_high > 0.0) {
            high = middle;
        } else {
            low = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(flows: &[f64], expected: f64) {
        let found = internal_rate(flows).unwrap();
        assert!((found - expected).abs() < 1e-9, "{flows:?}: {found}, not {expected}");
    }

    fn check_refused(flows: &[f64], word: &str) {
        let why = internal_rate(flows).unwrap_err().0;
        assert!(why.contains(word), "{flows:?}: {why}");
    }

    #[test]
    fn one_rate_is_found() {
        // By hand: 100 becomes 110, 50, 400, and 121 in two years.
        check(&[-100.0, 110.0], 0.1);
        check(&[-100.0, 50.0], -0.5);
        check(&[-100.0, 400.0], 3.0);
        check(&[0.0, -100.0, 0.0, 121.0, 0.0], 0.1);
        check(&[100.0, -110.0], 0.1);
        check(&[-100.0, 100.0], 0.0);
    }

    #[test]
    fn a_long_series_is_found() {
        // A perpetuity of 5 on 100, cut after 600 years.
        let mut flows = vec![5.0; 601];
        flows[0] = -100.0;
        check(&flows, 0.05);
    }

    #[test]
    fn none_and_many_are_told() {
        check_refused(&[100.0, 20.0], "never change sign");
        check_refused(&[0.0, 0.0], "zero");
        check_refused(&[], "zero");
        // 1 − 2 x + 2 x² has no real root.
        check_refused(&[1.0, -2.0, 2.0], "no rate");
        // (1 − 1.1 x)(1 − 1.5 x): 10 % and 50 %.
        check_refused(&[-100.0, 260.0, -165.0], "10.0000 %, 50.0000 %");
        // (1 − 1.2 x)(1 − 0.8 x): 20 % and −20 %.
        check_refused(&[-100.0, 200.0, -96.0], "-20.0000 %, 20.0000 %");
    }

    #[test]
    fn a_long_series_with_many_changes_is_refused() {
        let flows = |count| (0..count).map(|i| if i % 2 == 0 { -1.0 } else { 1.5 });
        check_refused(&flows(MOST_FLOWS + 2).collect::<Vec<f64>>(), "more than");
        assert!(internal_rate(&flows(MOST_FLOWS).collect::<Vec<f64>>()).is_ok());
    }

    #[test]
    fn several_changes_of_sign_with_one_rate() {
        // (1 − 1.1 x)(1 + x²) has one root: 10 %.
        check(&[100.0, -110.0, 100.0, -110.0], 0.1);
    }
}
