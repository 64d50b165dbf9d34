//! The root of a function between two ends where its sign differs, by Chandrupatla's method:
//! never slower than halving the bracket, and bounded.

/// A root of `f` between `from` and `to`; nothing where both ends have the same sign, or where `f`
/// has no value on the way.
pub(crate) fn root(f: impl Fn(f64) -> f64, from: f64, to: f64) -> Option<f64> {
    let (mut b, mut a) = (from, to);
    let (mut at_b, mut at_a) = (f(b), f(a));
    if at_b == 0.0 {
        return Some(b);
    }
    if at_a == 0.0 {
        return Some(a);
    }
    if at_a.is_nan() || at_b.is_nan() || (at_a > 0.0) == (at_b > 0.0) {
        return None;
    }
    let mut step = 0.5;
    // Halving alone would need about 60 turns for the last bit.
    for _ in 0..200 {
        let x = a + step * (b - a);
        let at_x = f(x);
        if at_x.is_nan() {
            return None;
        }
        let (c, at_c);
        if (at_x > 0.0) == (at_a > 0.0) {
            (c, at_c) = (a, at_a);
        } else {
            (c, at_c) = (b, at_b);
            (b, at_b) = (a, at_a);
        }
        (a, at_a) = (x, at_x);
        let best = if at_a.abs() < at_b.abs() { a } else { b };
        let least = (2.0 * f64::EPSILON * best.abs() + f64::MIN_POSITIVE) / (b - a).abs();
        if at_a == 0.0 || least > 0.5 {
            return Some(best);
        }
        // Inverse quadratic interpolation, where the three points bend little enough for it.
        let (xi, phi) = ((a - b) / (c - b), (at_a - at_b) / (at_c - at_b));
        step = if phi * phi < xi && (1.0 - phi).powi(2) < 1.0 - xi {
            at_a / (at_b - at_a) * at_c / (at_b - at_c)
                + (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b)
        } else {
            0.5
        };
        step = step.clamp(least, 1.0 - least);
    }
    Some(a)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roots_are_found_to_the_last_digits() {
        for wanted in [1e-6_f64, 0.3, 2.0, 900.0] {
            let found = root(|x| wanted.powi(3) - x.powi(3), 0.0, 1000.0).expect("a root");
            assert!((found - wanted).abs() <= 1e-12 * wanted, "{found} for {wanted}");
        }
    }

    #[test]
    fn no_change_of_sign_is_no_root() {
        assert_eq!(root(|x| x * x + 1.0, -1.0, 1.0), None);
        assert_eq!(root(|_| f64::NAN, -1.0, 1.0), None);
    }

    #[test]
    fn a_jump_ends_as_well() {
        let found = root(|x| if x < 0.7 { 1.0 } else { -1.0 }, 0.0, 1.0).expect("a jump");
        assert!((found - 0.7).abs() < 1e-12);
    }
}
