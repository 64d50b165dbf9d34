//! Numbers found by trying: zeros, extremes and integrals of a function of one number.
//!
//! Every function handed in gives `None` when it has failed for a reason of its own; the search
//! then ends at once.

/// Why no zero was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum NoZero {
    /// The function itself failed.
    Failed,
    /// It has the same sign at both bounds and never changes it on the way.
    SameSign(f64, f64),
    /// It changes sign several times; where, roughly.
    Several(f64, f64),
    /// It changes sign without passing through zero, at this place.
    Jump(f64),
    /// The bounds are no two different finite numbers.
    Bounds,
}

/// Into how many pieces an interval is cut when it is searched.
const PIECES: u32 = 64;
/// Bisection alone needs about 60 steps from any bracket; the method is never slower by more.
const MOST_STEPS: u32 = 200;

/// Where a function vanishes between two bounds: Chandrupatla's method (T. R. Chandrupatla, Advances
/// in Engineering Software 28 (1997) 145–149), which keeps a bracket and so cannot run away.
pub(crate) fn zero(
    mut f: impl FnMut(f64) -> Option<f64>,
    from: f64,
    to: f64,
) -> Result<f64, NoZero> {
    if !(from.is_finite() && to.is_finite()) || from == to {
        return Err(NoZero::Bounds);
    }
    let at_from = f(from).ok_or(NoZero::Failed)?;
    let at_to = f(to).ok_or(NoZero::Failed)?;
    if at_from == 0.0 {
        return Ok(from);
    }
    if at_to == 0.0 {
        return Ok(to);
    }
    if (at_from < 0.0) == (at_to < 0.0) {
        return Err(search(&mut f, from, to, at_from, at_to));
    }
    let (mut a, mut fa, mut b, mut fb) = (from, at_from, to, at_to);
    let mut t = 0.5;
    for _ in 0..MOST_STEPS {
        let x = a + t * (b - a);
        let fx = f(x).ok_or(NoZero::Failed)?;
        let (c, fc);
        if (fx < 0.0) == (fa < 0.0) {
            (c, fc) = (a, fa);
        } else {
            (c, fc) = (b, fb);
            (b, fb) = (a, fa);
        }
        (a, fa) = (x, fx);
        let (best, at_best) = if fa.abs() < fb.abs() { (a, fa) } else { (b, fb) };
        let tolerance = 2.0 * f64::EPSILON * best.abs() + f64::MIN_POSITIVE;
        let least_step = tolerance / (b - a).abs();
        if at_best == 0.0 || least_step > 0.5 {
            return passes_through(best, at_best, at_from.abs().max(at_to.abs()));
        }
        let xi = (a - b) / (c - b);
        let phi = (fa - fb) / (fc - fb);
        t = if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
            fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        } else {
            0.5
        };
        t = t.clamp(least_step, 1.0 - least_step);
    }
    Err(NoZero::Jump(a))
}

/// At a true zero the function has become tiny against its values at the bounds; at a pole or a
/// step it has not, however near the two sides are.
fn passes_through(at: f64, value: f64, scale: f64) -> Result<f64, NoZero> {
    if value.abs() <= 1e-6 * scale { Ok(at) } else { Err(NoZero::Jump(at)) }
}

/// Tells apart no zero and several, where both bounds have the same sign.
fn search(
    f: &mut impl FnMut(f64) -> Option<f64>,
    from: f64,
    to: f64,
    at_from: f64,
    at_to: f64,
) -> NoZero {
    let mut changes = Vec::new();
    let mut before = at_from;
    for piece in 1..=PIECES {
        let x = from + (to - from) * f64::from(piece) / f64::from(PIECES);
        let Some(value) = f(x) else { return NoZero::Failed };
        if (value < 0.0) != (before < 0.0) {
            changes.push(x);
        }
        before = value;
    }
    match changes.as_slice() {
        [first, .., last] => NoZero::Several(*first, *last),
        _ => NoZero::SameSign(at_from, at_to),
    }
}

/// Where a function is greatest between two bounds: the best of a grid, then golden-section search
/// between its neighbours.
pub(crate) fn greatest(mut f: impl FnMut(f64) -> Option<f64>, from: f64, to: f64) -> Option<f64> {
    if !(from.is_finite() && to.is_finite()) {
        return None;
    }
    let place = |piece: u32| from + (to - from) * f64::from(piece) / f64::from(PIECES);
    let mut best = (0, f(from)?);
    for piece in 1..=PIECES {
        let value = f(place(piece))?;
        if value > best.1 {
            best = (piece, value);
        }
    }
    let (mut low, mut high) = (place(best.0.saturating_sub(1)), place((best.0 + 1).min(PIECES)));
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut left, mut right) = (high - golden * (high - low), low + golden * (high - low));
    let (mut at_left, mut at_right) = (f(left)?, f(right)?);
    for _ in 0..60 {
        if at_left > at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - golden * (high - low);
            at_left = f(left)?;
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + golden * (high - low);
            at_right = f(right)?;
        }
    }
    let middle = 0.5 * (low + high);
    // The grid point itself wins where the top is a corner or lies at a bound.
    if f(middle)? >= best.1 { Some(middle) } else { Some(place(best.0)) }
}

/// The integral of a function between two bounds: Simpson's rule on 16 pieces, each halved until
/// it agrees with its halves (at most 20 times).
pub(crate) fn integral(mut f: impl FnMut(f64) -> Option<f64>, from: f64, to: f64) -> Option<f64> {
    if !(from.is_finite() && to.is_finite()) {
        return None;
    }
    let place = |piece: u32| from + (to - from) * f64::from(piece) / 16.0;
    let mut total = 0.0;
    let mut open = Vec::new();
    for piece in 0..16 {
        let (a, b) = (place(piece), place(piece + 1));
        let middle = 0.5 * (a + b);
        open.push((a, f(a)?, middle, f(middle)?, b, f(b)?, 0_u32));
    }
    let mut scale = 0.0;
    for &(a, fa, _, fm, b, fb, _) in &open {
        scale += ((b - a) / 6.0 * (fa + 4.0 * fm + fb)).abs();
    }
    while let Some((a, fa, m, fm, b, fb, depth)) = open.pop() {
        let whole = (b - a) / 6.0 * (fa + 4.0 * fm + fb);
        let (l, r) = (0.5 * (a + m), 0.5 * (m + b));
        let (fl, fr) = (f(l)?, f(r)?);
        let left = (m - a) / 6.0 * (fa + 4.0 * fl + fm);
        let right = (b - m) / 6.0 * (fm + 4.0 * fr + fb);
        let off = left + right - whole;
        if off.abs() <= 1e-13 * scale || depth >= 20 {
            total += left + right + off / 15.0;
        } else {
            open.push((m, fm, r, fr, b, fb, depth + 1));
            open.push((a, fa, l, fl, m, fm, depth + 1));
        }
    }
    Some(total)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zeros_of_known_functions() {
        let root = zero(|x| Some(x * x - 2.0), 0.0, 2.0).unwrap();
        assert!((root - 2.0_f64.sqrt()).abs() < 1e-15);
        // Kepler's equation, a root known from tables: E - 0.5 sin E = 1 gives E = 1.49870113...
        let root = zero(|e| Some(e - 0.5 * e.sin() - 1.0), 0.0, 3.0).unwrap();
        assert!((root - 0.5 * root.sin() - 1.0).abs() < 1e-14);
        assert_eq!(zero(Some, 0.0, 1.0), Ok(0.0));
    }

    #[test]
    fn what_is_no_zero_is_told_apart() {
        assert_eq!(zero(|x| Some(x + 1.0), 0.0, 1.0), Err(NoZero::SameSign(1.0, 2.0)));
        assert!(matches!(zero(|x| Some(1.0 / (x - 0.3)), 0.0, 1.0), Err(NoZero::Jump(_))));
        assert!(matches!(
            zero(|x| Some(if x < 0.3 { -1.0 } else { 1.0 }), 0.0, 1.0),
            Err(NoZero::Jump(_))
        ));
        assert!(matches!(
            zero(|x| Some((x - 0.25) * (x - 0.75)), 0.0, 1.0),
            Err(NoZero::Several(..))
        ));
        assert_eq!(zero(|_| None, 0.0, 1.0), Err(NoZero::Failed));
        assert_eq!(zero(Some, 1.0, 1.0), Err(NoZero::Bounds));
    }

    #[test]
    fn extremes_and_integrals_of_known_functions() {
        let top = greatest(|x| Some(-(x - 0.3) * (x - 0.3)), 0.0, 1.0).unwrap();
        assert!((top - 0.3).abs() < 1e-7);
        assert_eq!(greatest(Some, 0.0, 1.0), Some(1.0));
        let area = integral(|x| Some(x.sin()), 0.0, std::f64::consts::PI).unwrap();
        assert!((area - 2.0).abs() < 1e-12);
        let area = integral(|x| Some(x.sqrt()), 0.0, 1.0).unwrap();
        assert!((area - 2.0 / 3.0).abs() < 1e-9);
    }
}
