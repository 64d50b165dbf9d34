//! Numbers found by trying: zeros, extremes and integrals of a function of one number.
//!
//! Every function handed in gives `None` when it has failed for a reason of its own; the search
//! then ends at once.

/// What a search for zeros found, each list in rising order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Zeros {
    /// Where the function passes through zero, or touches it.
    pub at: Vec<f64>,
    /// Where it changes its sign without passing through zero: a step or a pole.
    pub jumps: Vec<f64>,
    /// Stretches in which it has no value.
    pub without_value: Vec<(f64, f64)>,
    /// The places tried, with the values there; `None` where there is none.
    pub tried: Vec<(f64, Option<f64>)>,
}

/// All zeros of a function between two bounds that a scan of 64 pieces shows, each then found by
/// Chandrupatla's method to the last digits. The function gives `None` where it has no value; such
/// stretches are told and their ends found. Two zeros closer together than a piece are found where
/// the function has its turning point between them.
///
/// ```
/// use forebay_sheet::zeros;
///
/// let found = zeros(|x| Some((x - 0.25) * (x - 2.0)), 0.0, 3.0);
/// assert_eq!(found.at, [0.25, 2.0]);
/// let none = zeros(|x| (x > 1.0).then_some(x), 0.0, 3.0);
/// assert!(none.at.is_empty());
/// assert!((none.without_value[0].1 - 1.0).abs() < 1e-9);
/// ```
pub fn zeros(mut f: impl FnMut(f64) -> Option<f64>, from: f64, to: f64) -> Zeros {
    let mut found = Zeros::default();
    if !(from.is_finite() && to.is_finite()) || from == to {
        return found;
    }
    let (from, to) = (from.min(to), from.max(to));
    let mut f = |x: f64| f(x).filter(|y: &f64| y.is_finite());
    for piece in 0..=PIECES {
        let share = f64::from(piece) / f64::from(PIECES);
        let x = if piece == PIECES { to } else { from + (to - from) * share };
        found.tried.push((x, f(x)));
    }
    let mut runs: Vec<Vec<(f64, f64)>> = vec![Vec::new()];
    for pair in found.tried.windows(2) {
        let (left, right) = (pair[0], pair[1]);
        if let Some(run) = runs.last_mut()
            && let Some(y) = left.1
        {
            run.push((left.0, y));
        }
        match (left.1, right.1) {
            (Some(_), None) => {
                let (inside, outside) = edge(&mut f, left.0, right.0);
                if let (Some(run), Some(y)) = (runs.last_mut(), f(inside)) {
                    run.push((inside, y));
                }
                found.without_value.push((outside, to));
            }
            (None, Some(_)) => {
                let (inside, outside) = edge(&mut f, right.0, left.0);
                match found.without_value.last_mut() {
                    Some(stretch) => stretch.1 = outside,
                    None => found.without_value.push((from, outside)),
                }
                runs.push(f(inside).map(|y| (inside, y)).into_iter().collect());
            }
            _ => {}
        }
    }
    match found.tried.last() {
        Some((x, Some(y))) => runs.last_mut().into_iter().for_each(|run| run.push((*x, *y))),
        // Nowhere a value.
        _ if found.without_value.is_empty() => found.without_value.push((from, to)),
        _ => {}
    }
    for mut run in runs {
        run.dedup_by_key(|(x, _)| *x);
        in_run(&mut f, &run, &mut found);
    }
    found.at.dedup_by(|a, b| (*a - *b).abs() <= 1e-9 * (to - from));
    found
}

/// The zeros among places that follow one another without a gap.
fn in_run(f: &mut impl FnMut(f64) -> Option<f64>, run: &[(f64, f64)], found: &mut Zeros) {
    let scale = run.iter().fold(0.0_f64, |scale, (_, y)| scale.max(y.abs()));
    let mut between = |f: &mut _, left: (f64, f64), right: (f64, f64)| {
        let size = left.1.abs().max(right.1.abs());
        match bracketed(f, left, right, size) {
            Ok(x) => found.at.push(x),
            Err(NoZero::Jump(x)) => found.jumps.push(x),
            Err(_) => {}
        }
    };
    let mut zero_points = Vec::new();
    for (at, here) in run.iter().enumerate() {
        if here.1 == 0.0 {
            zero_points.push(here.0);
            continue;
        }
        let Some(next) = run.get(at + 1) else { break };
        if next.1 != 0.0 && (here.1 < 0.0) != (next.1 < 0.0) {
            between(f, *here, *next);
        }
        // A turning point towards zero may hide two zeros, or one that is only touched.
        let Some(before) = at.checked_sub(1).and_then(|at| run.get(at)) else { continue };
        let same = [before, next].iter().all(|p| p.1 != 0.0 && (p.1 < 0.0) == (here.1 < 0.0));
        let turns = here.1.abs() <= before.1.abs() && here.1.abs() < next.1.abs();
        if !(same && turns) {
            continue;
        }
        let sign = here.1.signum();
        if let Some(top) = greatest(|x| f(x).map(|y| -sign * y), before.0, next.0)
            && let Some(value) = f(top)
        {
            if sign * value < 0.0 {
                between(f, *before, (top, value));
                between(f, (top, value), *next);
            } else if value.abs() <= 1e-12 * scale {
                zero_points.push(top);
            }
        }
    }
    found.at.extend(zero_points);
    found.at.sort_by(f64::total_cmp);
}

/// Where values end between a place that has one and a place that has none: the last one with and
/// the first one without.
fn edge(f: &mut impl FnMut(f64) -> Option<f64>, mut with: f64, mut without: f64) -> (f64, f64) {
    for _ in 0..50 {
        let middle = 0.5 * (with + without);
        if middle == with || middle == without {
            break;
        }
        if f(middle).is_some() {
            with = middle;
        } else {
            without = middle;
        }
    }
    (with, without)
}

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
pub(crate) const MOST_TURNS: u32 = 200;
/// How small against its values round about a function has become where it passes through zero.
pub(crate) const THROUGH_ZERO: f64 = 1e-6;

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
    bracketed(&mut f, (from, at_from), (to, at_to), at_from.abs().max(at_to.abs()))
}

/// The zero between two places at which the function has different signs; `scale` is the size of
/// the function's values round about.
fn bracketed(
    f: &mut impl FnMut(f64) -> Option<f64>,
    (mut a, mut fa): (f64, f64),
    (mut b, mut fb): (f64, f64),
    scale: f64,
) -> Result<f64, NoZero> {
    let mut t = 0.5;
    for _ in 0..MOST_TURNS {
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
        let over_width = 1.0 / (b - a);
        let least_step = tolerance * over_width.abs();
        if at_best == 0.0 || least_step > 0.5 {
            return passes_through(best, at_best, scale);
        }
        let xi = (a - b) / (c - b);
        let phi = (fa - fb) / (fc - fb);
        t = if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
            fa * fc / ((fb - fa) * (fb - fc))
                + (c - a) * over_width * (fa * fb) / ((fc - fa) * (fc - fb))
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
    if value.abs() <= THROUGH_ZERO * scale { Ok(at) } else { Err(NoZero::Jump(at)) }
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
    fn all_zeros_of_known_functions_are_found() {
        let check = |f: &dyn Fn(f64) -> Option<f64>, from, to, expected: &[f64]| {
            let found = zeros(f, from, to);
            assert_eq!(found.at.len(), expected.len(), "{:?}", found.at);
            for (a, b) in found.at.iter().zip(expected) {
                assert!((a - b).abs() < 1e-7, "{a} {b}");
            }
            found
        };
        let pi = std::f64::consts::PI;
        check(&|x| Some(x.sin()), 1.0, 10.0, &[pi, 2.0 * pi, 3.0 * pi]);
        check(&|x| Some(x - 5.0), 0.0, 1.0, &[]);
        // Two that lie within one of the 64 pieces, and one that is only touched.
        check(&|x| Some((x - 0.301) * (x - 0.302)), 0.0, 1.0, &[0.301, 0.302]);
        check(&|x| Some((x - 0.3) * (x - 0.3)), 0.0, 1.0, &[0.3]);
        check(&|x| Some(x - 0.5), 1.0, 0.0, &[0.5]);
        let pole = check(&|x| Some(1.0 / (x - 0.3)), 0.0, 1.0, &[]);
        assert!((pole.jumps[0] - 0.3).abs() < 1e-9);
        // A zero just before the function ends.
        let ends = check(&|x| (x < 0.5).then_some(x - 0.4999), 0.0, 1.0, &[0.4999]);
        assert!((ends.without_value[0].0 - 0.5).abs() < 1e-9);
        assert_eq!(ends.without_value[0].1, 1.0);
        assert_eq!(zeros(|_| None, 0.0, 1.0).without_value, [(0.0, 1.0)]);
        let starts = check(&|x| (x > 0.5).then_some(x - 0.7), 0.0, 1.0, &[0.7]);
        assert_eq!(starts.without_value[0].0, 0.0);
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
