//! What a known may be instead of what it is: its uncertainty and its range, in SI.

use super::{Cell, Sheet};
use crate::correlations::Correlations;
use crate::value::Value;
use crate::worksheet::Distribution;
use forebay_units::Unit;

/// How uncertain a known is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// The half-width of the distribution in SI; of a normal one its standard deviation. Never
    /// negative.
    pub half_width_si: f64,
    /// How values lie about the one that is written.
    pub distribution: Distribution,
    /// By how many degrees of freedom the uncertainty itself is known (JCGM 100:2008, G.3 and
    /// G.4.2), 1 or more; without end where the sheet gives none.
    pub degrees_of_freedom: Option<f64>,
}

impl Spread {
    /// The standard uncertainty in SI: a half-width *a* is *a*/√3 for a rectangular distribution
    /// and *a*/√6 for a triangular one (JCGM 100:2008, 4.3.7 and 4.3.9).
    #[must_use]
    pub fn standard_uncertainty_si(self) -> f64 {
        match self.distribution {
            Distribution::Normal => self.half_width_si,
            Distribution::Rectangular => self.half_width_si / 3.0_f64.sqrt(),
            Distribution::Triangular => self.half_width_si / 6.0_f64.sqrt(),
        }
    }
}

impl Sheet {
    /// How the uncertainties of knowns hang together; `None` where what the sheet says of it is
    /// wrong, and its diagnostics say why.
    #[must_use]
    pub fn correlations(&self) -> Option<&Correlations> {
        self.compiled.correlations.as_ref()
    }
}

impl Cell<'_> {
    /// How uncertain it is: a known that is one number and has a `plus_minus`, of the sheet or of
    /// a worksheet that it uses and that it does not set from here. A
    /// percentage is taken of the value that the known has now.
    ///
    /// ```
    /// use forebay_sheet::Sheet;
    ///
    /// let sheet = Sheet::open(
    ///     "forebay: 1
    /// known:
    ///   flow: { is: 40 L/s, plus_minus: 10 %, distribution: rectangular }
    ///   head: 3 m
    /// ",
    /// );
    /// let spread = sheet.cell("flow").unwrap().plus_minus().unwrap();
    /// assert!((spread.half_width_si - 0.004).abs() < 1e-15);
    /// assert_eq!(sheet.cell("head").unwrap().plus_minus(), None);
    /// ```
    #[must_use]
    pub fn plus_minus(&self) -> Option<Spread> {
        let code = &self.sheet.compiled.cells[self.at];
        let written = code.plus_minus?;
        let width = self.number_of(written.width)?;
        let width = if written.of_value {
            width * self.value().and_then(Value::as_number)?.abs()
        } else {
            width
        };
        (width >= 0.0).then_some(Spread {
            half_width_si: width,
            distribution: written.distribution,
            degrees_of_freedom: written.degrees_of_freedom,
        })
    }

    /// Its `plus_minus` as written, if there is one, on one line.
    #[must_use]
    pub fn plus_minus_as_written(&self) -> Option<String> {
        let span = self.sheet.compiled.cells[self.at].plus_minus?.span;
        let words = self.sheet.sources.piece(span).split_whitespace();
        Some(words.collect::<Vec<_>>().join(" "))
    }

    /// Whether the sheet says how uncertain it is, also where that cannot be taken into account:
    /// it is no single number, or the sheet that uses it sets it.
    #[must_use]
    pub fn says_plus_minus(&self) -> bool {
        self.sheet.compiled.cells[self.at].says_plus_minus
    }

    /// The ends of its `between` in SI, the lower one first.
    #[must_use]
    pub fn between(&self) -> Option<(f64, f64)> {
        let (one, other) = self.between_as_written()?;
        Some((one.min(other), one.max(other)))
    }

    /// The same as the sheet has them, whichever comes first.
    pub(super) fn between_as_written(&self) -> Option<(f64, f64)> {
        let (one, other) = self.sheet.compiled.cells[self.at].between?;
        Some((self.number_of(one)?, self.number_of(other)?))
    }

    /// The unit that it would be shown in if it were this number of SI.
    #[must_use]
    pub fn unit_at(&self, si: f64) -> Option<Unit> {
        self.sheet.unit_of(self.at, Some(&Value::Number(si)))
    }

    fn number_of(&self, id: u32) -> Option<f64> {
        let sheet = self.sheet;
        let slots = sheet.compiled.cells[self.at].slots;
        let mut machine = sheet.machine();
        machine.cell(id, slots).0.ok()?.as_number()
    }
}

#[cfg(test)]
mod tests {
    use crate::{Severity, Sheet, Spread};

    /// The uncertainty of a known in SI, or the messages where it is refused.
    fn spread(known: &str) -> Result<Option<Spread>, Vec<String>> {
        let sheet =
            Sheet::open(&format!("forebay: 1\ncurrency: EUR\nknown:\n  a: {{ {known} }}\n"));
        let errors = sheet.diagnostics().into_iter().filter(|d| d.code.severity == Severity::Error);
        let errors: Vec<String> = errors.map(|d| d.message.clone()).collect();
        if errors.is_empty() { Ok(sheet.cell("a").unwrap().plus_minus()) } else { Err(errors) }
    }

    #[track_caller]
    fn check(known: &str, expected: f64) {
        let standard = spread(known).unwrap().unwrap().standard_uncertainty_si();
        assert!((standard - expected).abs() <= 1e-12 * expected, "{known}: {standard}");
    }

    #[test]
    fn the_standard_uncertainty_of_each_distribution() {
        check("is: 103.4 m, plus_minus: 2 cm", 0.02);
        check("is: 8 degC, plus_minus: 0.5 K", 0.5);
        check("is: 101 kPa_abs, plus_minus: 3 kPa", 3000.0);
        check("is: -4 m, plus_minus: 10 %", 0.4);
        // Of the value, and in points.
        check("is: 80 %, plus_minus: 5 %", 0.04);
        check("is: 80 %, plus_minus: 5 points", 0.05);
        check("is: 900.00 EUR, plus_minus: 50 EUR", 50.0);
        // JCGM 100:2008, G.2.2 and 4.3.7: a rectangular half-width of 3 has a variance of 3.
        check("is: 9 m, plus_minus: 3 m, distribution: rectangular", 3.0_f64.sqrt());
        // JCGM 100:2008, 4.3.9: a triangular half-width of 6 has a variance of 6.
        check("is: 9 m, plus_minus: 6 m, distribution: triangular", 6.0_f64.sqrt());
    }

    #[test]
    fn an_uncertainty_that_does_not_fit_is_refused() {
        let refused = |known: &str, words: &str| {
            let errors = spread(known).unwrap_err().join("; ");
            assert!(errors.contains(words), "{known}: {errors}");
        };
        refused("is: 3 m, plus_minus: 2 L", "expected length");
        refused("is: 8 degC, plus_minus: 1 degC", "expected");
        refused("is: 8 degC, plus_minus: 5 %", "where its scale begins");
        refused("is: 3 m, plus_minus: -2 cm", "negative");
        assert_eq!(spread("is: 3 m").unwrap(), None);
    }

    #[test]
    fn a_percentage_follows_the_value_and_a_range_is_in_order() {
        let mut sheet = Sheet::open(
            "forebay: 1\nknown:\n  a: { is: 2 m, plus_minus: 10 %, between: [5 m, 100 cm] }\n",
        );
        sheet.set("a", "4 m").unwrap();
        let cell = sheet.cell("a").unwrap();
        assert!((cell.plus_minus().unwrap().half_width_si - 0.4).abs() < 1e-15);
        assert_eq!(cell.between(), Some((1.0, 5.0)));
    }
}
