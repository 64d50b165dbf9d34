//! The Darcy friction factor of a full pipe by its several authors, on bare numbers.

use crate::logarithm::{ln_of_normal, rough_ln};

/// Reynolds number up to which the flow is laminar.
pub(crate) const LAMINAR: f64 = 2000.0;
/// Reynolds number from which it is turbulent.
pub(crate) const TURBULENT: f64 = 4000.0;

/// Laminar to a Reynolds number of 2000, Colebrook and White from 4000, straight in between, so
/// that a solver meets no jump. All three are computed and one is taken, so that many rows run side
/// by side.
#[inline(always)]
pub(crate) fn friction_factor(re: f64, rel: f64) -> f64 {
    let laminar = 64.0 / re;
    let turbulent = colebrook_white(if re >= TURBULENT { re } else { TURBULENT }, rel);
    let share = (re - LAMINAR) * (1.0 / (TURBULENT - LAMINAR));
    let between = 64.0 / LAMINAR + (turbulent - 64.0 / LAMINAR) * share;
    let above = if re >= TURBULENT { turbulent } else { between };
    if re <= LAMINAR { laminar } else { above }
}

/// 1/√f = −2 lg(e/(3.7 D) + 2.51/(Re √f)).
#[inline(always)]
fn colebrook_white(re: f64, rel: f64) -> f64 {
    // With natural logarithms: x + k ln(a + b x) = 0 for x = 1/√f.
    const K: f64 = 2.0 * std::f64::consts::LOG10_E;
    let (a, b) = (rel * (1.0 / 3.7), 2.51 / re);
    let kb = K * b;
    // One turn of the equation itself from a middling x = 7 lands within 8 %, also with a rough
    // logarithm. Halley's method is of third order, so that two steps of it leave nothing but
    // rounding; a fixed count keeps columns in step.
    let mut x = -K * rough_ln(a + 7.0 * b);
    for _ in 0..2 {
        let inside = a + b * x;
        let residual = x + K * ln_of_normal(inside);
        // The slope 1 + K b/inside, above and below times `inside`, which spares a division.
        let slope = inside + kb;
        x -= residual * (inside * slope) / (slope * slope + 0.5 * residual * (kb * b));
    }
    1.0 / (x * x)
}

/// f = 0.25 / lg²(e/(3.7 D) + 5.74/Re^0.9), where 5.74 is 6.97^0.9 rounded.
pub(crate) fn swamee_jain(re: f64, rel: f64) -> f64 {
    0.25 / (rel / 3.7 + (6.97 / re).powf(0.9)).log10().powi(2)
}

/// 1/√f = −1.8 lg((e/(3.7 D))^1.11 + 6.9/Re).
pub(crate) fn haaland(re: f64, rel: f64) -> f64 {
    (-1.8 * ((rel / 3.7).powf(1.11) + 6.9 / re).log10()).powi(-2)
}

/// One equation for every regime.
pub(crate) fn churchill(re: f64, rel: f64) -> f64 {
    let a = (2.457 * ((7.0 / re).powf(0.9) + 0.27 * rel).recip().ln()).powi(16);
    let b = (37_530.0 / re).powi(16);
    8.0 * ((8.0 / re).powi(12) + (a + b).powf(-1.5)).powf(1.0 / 12.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_root_satisfies_its_equation_everywhere() {
        for re in [4e3, 1.2e4, 3e5, 1e8] {
            for rel in [0.0, 1e-6, 1e-3, 0.05] {
                let f = friction_factor(re, rel);
                let right = -2.0 * (rel / 3.7 + 2.51 / (re * f.sqrt())).log10();
                assert!((1.0 / f.sqrt() - right).abs() < 1e-12, "Re {re}, e/D {rel}");
            }
        }
    }

    #[test]
    fn the_band_between_has_no_jump() {
        for edge in [2000.0, 4000.0] {
            let step = friction_factor(edge + 1e-6, 1e-3) - friction_factor(edge - 1e-6, 1e-3);
            assert!(step.abs() < 1e-9, "at {edge}: {step}");
        }
    }
}
