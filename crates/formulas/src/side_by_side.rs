//! Bodies that compute many rows at once. The loop is plain; it is compiled for the vector units
//! that the machine may have, and which of them is there is asked when it runs. No step is fused
//! with another, so that every machine finds the same digits.

/// Runs a loop on the vector units that the machine has. The loop is to be given as a closure marked
/// `#[inline(always)]`, and what it calls must be inlined, or it runs as on any machine.
#[inline(always)]
pub fn by_vector_units(run: impl FnMut()) {
    struct Loop<F>(F);

    impl<F: FnMut()> pulp::WithSimd for Loop<F> {
        type Output = ();

        // Called as what it is: a closure that is called by value is not inlined.
        #[inline(always)]
        fn with_simd<S: pulp::Simd>(mut self, _: S) {
            (self.0)();
        }
    }

    pulp::Arch::new().dispatch(Loop(run));
}

/// A body of a function of bare numbers without branches and without functions of the platform
/// other than a square root: such a loop the compiler lays side by side.
macro_rules! side_by_side {
    ($f:path, $($a:ident),+) => {
        crate::Body::SideBySide(
            |numbers| match numbers {
                &[$($a),+] => $f($($a),+),
                _ => f64::NAN,
            },
            |columns, to| {
                let &[$($a),+] = columns else { return to.fill(f64::NAN) };
                crate::by_vector_units(
                    #[inline(always)]
                    || {
                        let count = to.len();
                        $(let $a = &$a[..count];)+
                        for row in 0..count {
                            to[row] = $f($($a[row]),+);
                        }
                    },
                );
            },
            [$(stringify!($a)),+].len(),
        )
    };
}

pub(crate) use side_by_side;

#[cfg(test)]
mod tests {
    use crate::{Body, all};

    #[test]
    fn many_rows_come_out_as_one_does() {
        let mut seen = 0;
        for formula in all() {
            let Body::SideBySide(one, many, count) = formula.body else { continue };
            assert_eq!(count, formula.parameters.len(), "{}", formula.name);
            // Rows from tiny to large; an odd number of them leaves a remainder in every vector.
            let columns: Vec<Vec<f64>> = (0..count)
                .map(|c| (0..67).map(|r| 1e-3 * 1.3_f64.powi(r) * (1.0 + 0.1 * c as f64)).collect())
                .collect();
            let slices: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
            let mut out = vec![0.0; 67];
            many(&slices, &mut out);
            for (row, found) in out.iter().enumerate() {
                let arguments: Vec<f64> = columns.iter().map(|column| column[row]).collect();
                let expected = one(&arguments);
                assert!(
                    found.to_bits() == expected.to_bits() || (found.is_nan() && expected.is_nan()),
                    "{} at {arguments:?}: {found} and {expected}",
                    formula.name
                );
            }
            seen += 1;
        }
        assert!(seen > 10);
    }
}
