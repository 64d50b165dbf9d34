//! Coverage factors: from Student's t-distribution where an uncertainty is known by few degrees of
//! freedom, from the normal distribution otherwise.

use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};

use super::draw::normal;

/// Above so many degrees of freedom the two distributions are the same to four digits.
const MOST: u64 = 10_000;

/// By how much a standard uncertainty is multiplied so that a share of all cases, from 0 to 1, lies
/// within.
pub(super) fn coverage_factor(coverage: f64, degrees_of_freedom: Option<u64>) -> f64 {
    match degrees_of_freedom {
        Some(degrees) if degrees <= MOST => student(coverage, degrees.max(1)),
        _ => normal(0.5 + 0.5 * coverage),
    }
}

/// The t within which a share of the distribution lies; the share rises with the angle, so that
/// halving finds it.
fn student(coverage: f64, degrees: u64) -> f64 {
    let (mut low, mut high) = (0.0, FRAC_PI_2);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if within(middle, degrees) < coverage {
            low = middle;
        } else {
            high = middle;
        }
    }
    libm::tan(0.5 * (low + high)) * (degrees as f64).sqrt()
}

/// The share of the distribution within ±t, with the angle θ = arctan(t/√ν): M. Abramowitz and
/// I. A. Stegun, Handbook of Mathematical Functions, equations 26.7.3 and 26.7.4.
fn within(angle: f64, degrees: u64) -> f64 {
    let (sine, cosine) = (libm::sin(angle), libm::cos(angle));
    let square = cosine * cosine;
    let odd = degrees % 2 == 1;
    // Factors (n − 1)/n of the even and (n − 1)/n of the odd series run over n in steps of 2.
    let (mut term, mut sum, mut n) = if odd { (cosine, 0.0, 3) } else { (1.0, 0.0, 2) };
    while n <= degrees {
        sum += term;
        term *= square * (n as f64 - 1.0) / n as f64;
        n += 2;
    }
    if odd { FRAC_2_PI * (angle + sine * sum) } else { sine * sum }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_the_guide() {
        // JCGM 100:2008, Table G.2 (from memory, and of any table of t): fractions of 95 % and 99 %.
        for (degrees, t95, t99) in [
            (1, 12.71, 63.66),
            (2, 4.30, 9.92),
            (3, 3.18, 5.84),
            (4, 2.78, 4.60),
            (9, 2.26, 3.25),
            (16, 2.12, 2.92),
            (18, 2.10, 2.88),
            (50, 2.01, 2.68),
            (100, 1.984, 2.626),
        ] {
            let digits = if degrees == 100 { 0.0005 } else { 0.005 };
            let found = coverage_factor(0.95, Some(degrees));
            assert!((found - t95).abs() <= digits + 1e-9, "{degrees}: {found}");
            let found = coverage_factor(0.99, Some(degrees));
            assert!((found - t99).abs() <= digits + 1e-9, "{degrees}: {found}");
        }
        // The last row: 1.960 and 2.576.
        assert!((coverage_factor(0.95, None) - 1.960).abs() < 5e-4);
        assert!((coverage_factor(0.99, None) - 2.576).abs() < 5e-4);
        // By hand for two degrees: t = √(2 p²/(1 − p²)).
        let p: f64 = 0.7;
        let expected = (2.0 * p * p / (1.0 - p * p)).sqrt();
        assert!((coverage_factor(p, Some(2)) - expected).abs() < 1e-12);
    }
}
