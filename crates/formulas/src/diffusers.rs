//! The loss of a cone that widens gradually by its several authors, on bare numbers and on the
//! velocity before it.

use std::f64::consts::PI;

use crate::fittings::expansion;
use crate::miller_diffuser::miller;
use crate::usual::DEGREE;

/// Whose method, in the order in which a band gives them.
pub(crate) const METHODS: &[&str] =
    &["crane", "gibson", "hooper", "idelchik", "miller", "rennels", "swamee"];

/// Places among [`METHODS`] that a limit names.
pub(crate) const GIBSON: f64 = 1.0;
pub(crate) const MILLER: f64 = 4.0;

/// From bore to bore by full angle, method and friction factor, which some methods do not need.
pub(crate) fn diffuser(d1: f64, d2: f64, alpha: f64, method: f64, f: f64) -> f64 {
    // The index comes from the choice, which is as long as the list.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    every(d1, d2, alpha, f).get(method as usize).copied().unwrap_or(f64::NAN)
}

/// By every method, in the order of [`METHODS`].
pub(crate) fn every(d1: f64, d2: f64, alpha: f64, f: f64) -> [f64; 7] {
    let sudden = expansion(d1, d2);
    [
        sudden * crane_share(alpha),
        sudden * gibson_share(alpha),
        sudden * (1.0 + 0.8 * f) * crane_share(alpha),
        sudden * idelchik_share(alpha) + wall_friction(d1, d2, alpha, f),
        if sudden.is_nan() { f64::NAN } else { miller(d1, d2, alpha) },
        rennels(d1, d2, alpha, f),
        if sudden.is_nan() { f64::NAN } else { swamee(d1, d2, alpha) },
    ]
}

fn crane_share(alpha: f64) -> f64 {
    // 2.6 sin(22.5°) is 0.995: at 45° the cone and the sudden widening meet.
    (2.6 * (alpha / 2.0).sin()).min(1.0)
}

/// Measured from 7.5° to 35°; held at the least and at the greatest value that Gibson found
/// beyond, where the fit would go on falling and rising.
fn gibson_share(alpha: f64) -> f64 {
    (3.5 * (alpha / 2.0).tan().powf(1.22)).clamp(0.135, 1.2)
}

/// For less than 40°; held at the greatest value of the table beyond.
fn idelchik_share(alpha: f64) -> f64 {
    (3.2 * (alpha / 2.0).tan().powf(1.25)).min(1.15)
}

fn wall_friction(d1: f64, d2: f64, alpha: f64, f: f64) -> f64 {
    f * (1.0 - (d1 / d2).powi(4)) / (8.0 * (alpha / 2.0).sin())
}

fn rennels(d1: f64, d2: f64, alpha: f64, f: f64) -> f64 {
    let (beta, sudden) = (d1 / d2, expansion(d1, d2));
    // What a cone into much more than twice the bore saves.
    let wide = 3.28 * (0.0625 - beta.powi(4)).max(0.0);
    if alpha <= 20.0 * DEGREE {
        8.3 * (alpha / 2.0).tan().powf(1.75) * sudden + wall_friction(d1, d2, alpha, f)
    } else if alpha <= 60.0 * DEGREE {
        let turned = 1.366 * (2.0 * (alpha - 15.0 * DEGREE)).sin().sqrt() - 0.17;
        let saved = wide * ((alpha - 20.0 * DEGREE) / (40.0 * DEGREE)).sqrt();
        (turned - saved) * sudden + wall_friction(d1, d2, alpha, f)
    } else {
        let beyond = ((alpha - 60.0 * DEGREE) / (120.0 * DEGREE)).sqrt();
        let falls = if beta < 0.5 { 12.8 * beta.powi(6) } else { 0.2 };
        (1.205 - wide - falls * beyond) * sudden
    }
}

/// As the library prints it; see the caution of the formula.
fn swamee(d1: f64, d2: f64, alpha: f64) -> f64 {
    let r = d2 / d1;
    let bracket = 1.0 + 0.6 * r.powf(-1.67) * (PI - alpha) / alpha;
    (0.25 / alpha.powi(3) * bracket.powf(0.533 * r - 2.6)).sqrt().recip()
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_PI_4;

    use super::*;

    #[test]
    fn crane_and_rennels_do_not_jump_where_their_branches_meet() {
        for (at, method, step) in [(FRAC_PI_4, 0.0, 6e-3), (PI / 3.0, 5.0, 0.02)] {
            let [below, above] = [at - 1e-6, at + 1e-6].map(|a| diffuser(0.2, 0.3, a, method, 0.0));
            assert!((above / below - 1.0).abs() < step, "{method}: {below}, {above}");
        }
    }

    #[test]
    fn a_cone_that_narrows_has_no_answer_by_any_method() {
        assert!(every(0.3, 0.2, 0.2, 0.02).iter().all(|k| k.is_nan()));
    }
}
