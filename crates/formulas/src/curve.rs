//! A curve given by its points, such as a maker's: straight in between, unknown beyond its ends.

use crate::formula::Refusal;

/// A curve of points, straight in between.
pub(crate) struct Curve<'a> {
    xs: &'a [f64],
    ys: &'a [f64],
}

impl<'a> Curve<'a> {
    /// The curve through these points.
    ///
    /// # Errors
    /// Fewer than two points, unlike lengths, or an `x` that does not rise.
    pub(crate) fn new(x: &str, xs: &'a [f64], y: &str, ys: &'a [f64]) -> Result<Self, Refusal> {
        if xs.len() < 2 || xs.len() != ys.len() {
            return Err(Refusal(format!("{x}: must have two values or more, as many as {y}")));
        }
        if !xs.windows(2).all(|pair| pair[0] < pair[1]) {
            return Err(Refusal(format!("{x}: must rise from point to point")));
        }
        Ok(Self { xs, ys })
    }

    /// Where it begins.
    pub(crate) fn least(&self) -> f64 {
        self.xs.first().copied().unwrap_or(f64::NAN)
    }

    /// Where it ends.
    pub(crate) fn greatest(&self) -> f64 {
        self.xs.last().copied().unwrap_or(f64::NAN)
    }

    /// The value at a place on the curve; nothing beyond its ends.
    pub(crate) fn at(&self, x: f64) -> Option<f64> {
        let behind = self.xs.partition_point(|known| *known < x);
        let after = behind.max(1);
        let (x0, x1) = (*self.xs.get(after - 1)?, *self.xs.get(after)?);
        let (y0, y1) = (*self.ys.get(after - 1)?, *self.ys.get(after)?);
        (x >= x0 && x <= x1).then(|| y0 + (y1 - y0) * (x - x0) / (x1 - x0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_points_it_is_straight_and_beyond_them_unknown() {
        let curve = Curve::new("x", &[1.0, 2.0, 4.0], "y", &[10.0, 20.0, 0.0]).expect("a curve");
        for (x, y) in [(1.0, 10.0), (1.5, 15.0), (2.0, 20.0), (3.0, 10.0), (4.0, 0.0)] {
            assert_eq!(curve.at(x), Some(y), "at {x}");
        }
        assert_eq!((curve.at(0.999), curve.at(4.001), curve.at(f64::NAN)), (None, None, None));
    }

    #[test]
    fn points_that_make_no_curve_are_refused() {
        assert!(Curve::new("x", &[1.0], "y", &[1.0]).is_err());
        assert!(Curve::new("x", &[1.0, 1.0], "y", &[1.0, 2.0]).is_err());
        assert!(Curve::new("x", &[1.0, 2.0], "y", &[1.0]).is_err());
    }
}
