//! Runs a body on bare numbers and holds its arguments against their limits; allocates nothing
//! while all is well.

use std::fmt;
use std::slice;

use forebay_units::{System, display_unit, shortest};

use crate::formula::{Argument, Body, Doubted, Formula, Kind, Parameter, Range, Refusal};

/// What the source of a formula does not vouch for.
#[derive(Clone, Debug, PartialEq)]
pub enum Warning {
    /// One argument lies outside the range that the source covers.
    Outside {
        /// The formula.
        formula: &'static str,
        /// The parameter, whose `valid` range is left.
        parameter: &'static Parameter,
        /// The value given, coherent SI.
        value: f64,
    },
    /// Several arguments together leave a limit.
    Limit {
        /// The formula.
        formula: &'static str,
        /// The limit in words.
        says: &'static str,
    },
}

impl Body {
    /// The answer for these numbers (coherent SI, in the order of the parameters). NaN where there
    /// is none, where the count is wrong, and for a body that takes series.
    #[must_use]
    #[inline]
    pub fn number(&self, arguments: &[f64]) -> f64 {
        match (*self, arguments) {
            (Self::Constant(value), []) => value,
            (Self::SideBySide(f, _, _), arguments) => f(arguments),
            (Self::One(f), &[a]) => f(a),
            (Self::Two(f), &[a, b]) => f(a, b),
            (Self::Three(f), &[a, b, c]) => f(a, b, c),
            (Self::Four(f), &[a, b, c, d]) => f(a, b, c, d),
            (Self::Five(f), &[a, b, c, d, e]) => f(a, b, c, d, e),
            (Self::Six(f), &[a, b, c, d, e, g]) => f(a, b, c, d, e, g),
            (Self::Seven(f), &[a, b, c, d, e, g, h]) => f(a, b, c, d, e, g, h),
            _ => f64::NAN,
        }
    }

    /// How many numbers [`Body::number`] wants; `None` for a body that takes series.
    #[must_use]
    pub fn count(&self) -> Option<usize> {
        match self {
            Self::Constant(_) => Some(0),
            Self::One(_) => Some(1),
            Self::Two(_) => Some(2),
            Self::Three(_) => Some(3),
            Self::Four(_) => Some(4),
            Self::Five(_) => Some(5),
            Self::Six(_) => Some(6),
            Self::Seven(_) => Some(7),
            Self::SideBySide(_, _, count) => Some(*count),
            Self::Series(_)
            | Self::ToSeries(_)
            | Self::SeriesDoubted(_)
            | Self::ToSeriesDoubted(_) => None,
        }
    }
}

impl Formula {
    /// Why these numbers are refused, naming the parameter; `None` where they are not. Does not
    /// run the body.
    #[must_use]
    pub fn refusal(&self, arguments: &[f64]) -> Option<String> {
        if arguments.len() != self.parameters.len() {
            return Some(self.wrong_count(arguments.len()));
        }
        self.parameters.iter().zip(arguments).find_map(|(p, value)| p.refusal(*value))
    }

    /// What the source does not vouch for at these numbers; empty where all is well.
    #[must_use]
    pub fn warnings(&self, arguments: &[f64]) -> Vec<Warning> {
        let mut warnings = Vec::new();
        for (parameter, value) in self.parameters.iter().zip(arguments) {
            if !parameter.valid.holds(*value) {
                warnings.push(Warning::Outside { formula: self.name, parameter, value: *value });
            }
        }
        self.unheld(arguments, &mut warnings);
        warnings
    }

    /// The answer for arguments among which there may be series, with the same refusals as
    /// [`Formula::refusal`].
    ///
    /// # Errors
    /// A value outside the range where the formula means anything, a series formula that has no
    /// answer, or a result that is not finite.
    pub fn answer(&self, arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
        self.doubted_answer(arguments).map(|(value, _)| value)
    }

    /// [`Formula::answer`] with the limit that the computation left on its way, for
    /// [`Formula::warnings_with`].
    ///
    /// # Errors
    /// As [`Formula::answer`].
    pub fn doubted_answer(&self, arguments: &[Argument<'_>]) -> Doubted<f64> {
        self.hold(arguments)?;
        let (value, doubt) = match self.body {
            Body::Series(f) => (f(arguments)?, None),
            Body::SeriesDoubted(f) => f(arguments)?,
            _ => (self.body.number(&numbers(arguments)), None),
        };
        if value.is_finite() { Ok((value, doubt)) } else { Err(Refusal(self.no_answer(arguments))) }
    }

    /// [`Formula::answer`] of a formula that gives a series.
    ///
    /// # Errors
    /// As [`Formula::answer`]; a formula that gives one number is refused here.
    pub fn answers(&self, arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
        self.doubted_answers(arguments).map(|(values, _)| values)
    }

    /// [`Formula::answers`] with the limit that the computation left on its way, for
    /// [`Formula::warnings_with`].
    ///
    /// # Errors
    /// As [`Formula::answers`].
    pub fn doubted_answers(&self, arguments: &[Argument<'_>]) -> Doubted<Vec<f64>> {
        self.hold(arguments)?;
        let (values, doubt) = match self.body {
            Body::ToSeries(f) => (f(arguments)?, None),
            Body::ToSeriesDoubted(f) => f(arguments)?,
            _ => return Err(Refusal("gives one value, not a series".to_owned())),
        };
        if values.iter().all(|value| value.is_finite()) {
            Ok((values, doubt))
        } else {
            Err(Refusal(self.no_answer(arguments)))
        }
    }

    /// Holds arguments against their number and their ranges.
    fn hold(&self, arguments: &[Argument<'_>]) -> Result<(), Refusal> {
        if arguments.len() != self.parameters.len() {
            return Err(Refusal(self.wrong_count(arguments.len())));
        }
        let mut pairs = self.parameters.iter().zip(arguments);
        let refusal = pairs.find_map(|(parameter, argument)| {
            argument.values().iter().find_map(|value| parameter.refusal(*value))
        });
        refusal.map_or(Ok(()), |why| Err(Refusal(why)))
    }

    /// [`Formula::warnings`] for arguments among which there may be series; of a series the first
    /// value outside speaks for all. Limits between parameters see a series as NaN. Runs the body
    /// where that alone tells whether a limit was left; who has run it already hands its doubt to
    /// [`Formula::warnings_with`].
    #[must_use]
    pub fn warnings_of(&self, arguments: &[Argument<'_>]) -> Vec<Warning> {
        let doubt = match self.body {
            Body::SeriesDoubted(_) => self.doubted_answer(arguments).map_or(None, |of| of.1),
            Body::ToSeriesDoubted(_) => self.doubted_answers(arguments).map_or(None, |of| of.1),
            _ => None,
        };
        self.warnings_with(arguments, doubt)
    }

    /// [`Formula::warnings_of`] where the doubt of [`Formula::doubted_answer`] is at hand.
    #[must_use]
    pub fn warnings_with(
        &self,
        arguments: &[Argument<'_>],
        doubt: Option<&'static str>,
    ) -> Vec<Warning> {
        let mut warnings = Vec::new();
        for (parameter, argument) in self.parameters.iter().zip(arguments) {
            let outside = argument.values().iter().find(|v| !parameter.valid.holds(**v));
            if let Some(&value) = outside {
                warnings.push(Warning::Outside { formula: self.name, parameter, value });
            }
        }
        if !self.limits.is_empty() {
            self.unheld(&numbers(arguments), &mut warnings);
        }
        warnings.extend(doubt.map(|says| Warning::Limit { formula: self.name, says }));
        warnings
    }

    /// Why the body had no answer, as far as the limits tell.
    fn no_answer(&self, arguments: &[Argument<'_>]) -> String {
        let mut unheld = Vec::new();
        self.unheld(&numbers(arguments), &mut unheld);
        match unheld.first() {
            Some(Warning::Limit { says, .. }) => format!("no answer: it needs {says}"),
            _ => "no answer for these values".to_owned(),
        }
    }

    fn unheld(&self, arguments: &[f64], warnings: &mut Vec<Warning>) {
        for limit in self.limits {
            if !(limit.holds)(arguments) {
                warnings.push(Warning::Limit { formula: self.name, says: limit.says });
            }
        }
    }

    fn wrong_count(&self, found: usize) -> String {
        format!("takes {} arguments, found {found}", self.parameters.len())
    }
}

impl Parameter {
    /// Why this value (coherent SI) is refused; `None` where it is not.
    #[must_use]
    pub fn refusal(&self, value: f64) -> Option<String> {
        if value.is_finite() && self.must.holds(value) {
            return None;
        }
        let found = self.shown(value);
        Some(if value.is_finite() {
            format!("{}: must be {}, found {found}", self.name, self.range_in_words(self.must))
        } else {
            format!("{}: must be a finite value", self.name)
        })
    }

    /// A value of this parameter as text with its unit.
    #[must_use]
    pub fn shown(&self, value: f64) -> String {
        self.shown_in(value, System::Si)
    }

    /// The same in the units of a system; bounds that are round in SI are cut to four digits in
    /// another one.
    #[must_use]
    pub fn shown_in(&self, value: f64, system: System) -> String {
        match self.kind {
            Kind::Quantity(dimension) | Kind::Series(dimension) | Kind::Yearly(dimension) => {
                let unit = display_unit(dimension, value, system, None);
                let number = match system {
                    System::Si => rounded(unit.from_si(value)),
                    System::Us => shortened(unit.from_si(value)),
                };
                if dimension.is_plain() { number } else { format!("{number} {unit}") }
            }
            Kind::Years | Kind::Row | Kind::Texts => value.to_string(),
            // An index that is no word is shown as the number it is.
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            Kind::Choice(words) => words
                .get(value as usize)
                .map_or_else(|| value.to_string(), |word| (*word).to_owned()),
        }
    }

    /// A range of this parameter in words: `from 25 deg to 100 deg`.
    #[must_use]
    pub fn range_in_words(&self, range: Range) -> String {
        self.range_in(range, System::Si)
    }

    /// The same in the units of a system.
    #[must_use]
    pub fn range_in(&self, range: Range, system: System) -> String {
        let shown = |value| self.shown_in(value, system);
        let least = if range.above { "more than" } else { "at least" };
        match (range.from.is_finite(), range.to.is_finite()) {
            (true, true) if !range.above => {
                format!("from {} to {}", shown(range.from), shown(range.to))
            }
            (true, true) => {
                format!("more than {}, at most {}", shown(range.from), shown(range.to))
            }
            (true, false) => format!("{least} {}", shown(range.from)),
            (false, true) => format!("at most {}", shown(range.to)),
            (false, false) => "any finite value".to_owned(),
        }
    }
}

impl<'a> Argument<'a> {
    /// The numbers of this argument: one, or all of the series.
    #[must_use]
    pub fn values(&'a self) -> &'a [f64] {
        match self {
            Self::Number(value) => slice::from_ref(value),
            Self::Series(values) => values,
            Self::Texts(_) => &[],
        }
    }
}

impl Warning {
    /// The warning with its quantities in the units of a system. A limit of several arguments
    /// stands in the units of its source.
    #[must_use]
    pub fn in_words(&self, system: System) -> String {
        match self {
            Self::Outside { formula, parameter, value } => format!(
                "{formula}: {} is {}; the source covers {}",
                parameter.name,
                parameter.shown_in(*value, system),
                parameter.range_in(parameter.valid, system),
            ),
            Self::Limit { formula, says } => format!("{formula}: outside its limit {says}"),
        }
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.in_words(System::Si))
    }
}

/// A number for a sentence: seven digits, without the noise of a change of units behind them.
fn rounded(value: f64) -> String {
    let near = format!("{value:.6e}").parse().unwrap_or(value);
    shortest(near).unwrap_or_else(|| "no value".to_owned())
}

/// A number for a sentence in units that its source does not use: four digits.
fn shortened(value: f64) -> String {
    let near = format!("{value:.3e}").parse().unwrap_or(value);
    shortest(near).unwrap_or_else(|| "no value".to_owned())
}

fn numbers(arguments: &[Argument<'_>]) -> Vec<f64> {
    arguments
        .iter()
        .map(|argument| match argument {
            Argument::Number(value) => *value,
            Argument::Series(_) | Argument::Texts(_) => f64::NAN,
        })
        .collect()
}
