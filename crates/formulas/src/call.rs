//! The checked call of a formula by name: names, dimensions and ranges are held before it runs.

use std::error::Error;
use std::fmt;

use forebay_units::{Dimension, Quantity};

use crate::evaluate::Warning;
use crate::formula::{Argument, Formula, Kind, Parameter};
use crate::registry::{find, nearest};

/// A year of 365 days, s: what a yearly amount is taken over.
pub const YEAR: f64 = 365.0 * 86_400.0;

/// What an argument may be given as.
#[derive(Clone, Copy, Debug)]
pub enum Given<'a> {
    /// A quantity.
    Quantity(Quantity),
    /// A series without gaps: its values in coherent SI and their dimension.
    Series(&'a [f64], Dimension),
    /// One of the words of a choice.
    Word(&'a str),
    /// A series of texts.
    Texts(&'a [&'a str]),
}

/// What a call gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The result.
    pub value: Quantity,
    /// What the formula's source does not vouch for; empty inside its limits.
    pub warnings: Vec<Warning>,
}

/// Why a call was refused.
#[derive(Clone, Debug, PartialEq)]
pub enum CallError {
    /// No formula of this name.
    UnknownFormula {
        /// The name given.
        name: String,
        /// A name near it.
        nearest: Option<&'static str>,
    },
    /// The formula has no parameter of this name.
    UnknownParameter {
        /// The formula.
        formula: &'static str,
        /// The name given.
        parameter: String,
        /// A name near it.
        nearest: Option<&'static str>,
    },
    /// A parameter without a default was left out.
    Missing {
        /// The formula.
        formula: &'static str,
        /// The parameter.
        parameter: &'static str,
    },
    /// A parameter was given twice.
    Twice {
        /// The formula.
        formula: &'static str,
        /// The parameter.
        parameter: &'static str,
    },
    /// The argument is not the kind of thing that the parameter takes.
    Kind {
        /// The formula.
        formula: &'static str,
        /// The parameter.
        parameter: &'static str,
        /// What it takes: `length`.
        expected: String,
        /// What it was given: `volume flow`.
        found: String,
    },
    /// The formula means nothing at these values, or has no answer for them.
    Refused {
        /// The formula.
        formula: &'static str,
        /// The reason, naming the parameter where one is at fault.
        why: String,
    },
}

/// Calls the formula of this name. Arguments are named; those left out take their defaults.
///
/// # Errors
/// An unknown name, a missing or doubled argument, an argument of another dimension, a value for
/// which the formula means nothing.
///
/// ```
/// use forebay_formulas::call;
/// use forebay_units::Quantity;
///
/// let area = call("circle_area", &[("bore", Quantity::parse("200 mm").unwrap())]).unwrap();
/// assert!((area.value.si() - 0.031_416).abs() < 1e-6);
/// let refused = call("circle_area", &[("bore", Quantity::parse("-200 mm").unwrap())]);
/// assert!(refused.is_err());
/// ```
pub fn call<'a, G>(name: &str, arguments: &[(&str, G)]) -> Result<Outcome, CallError>
where
    G: Copy + Into<Given<'a>>,
{
    let formula = find(name).ok_or_else(|| CallError::UnknownFormula {
        name: name.to_owned(),
        nearest: nearest(name),
    })?;
    formula.call(arguments)
}

impl Formula {
    /// The checked call; see [`call`].
    ///
    /// # Errors
    /// As [`call`].
    pub fn call<'a, G>(&self, arguments: &[(&str, G)]) -> Result<Outcome, CallError>
    where
        G: Copy + Into<Given<'a>>,
    {
        let arguments = self.arguments(arguments)?;
        let (value, doubt) = self
            .doubted_answer(&arguments)
            .map_err(|refusal| CallError::Refused { formula: self.name, why: refusal.0 })?;
        Ok(Outcome {
            value: Quantity::new(value, self.result.dimension),
            warnings: self.warnings_with(&arguments, doubt),
        })
    }

    /// The checked call of a formula that gives a series: the values in coherent SI, and what its
    /// source does not vouch for.
    ///
    /// # Errors
    /// As [`call`].
    pub fn call_for_series<'a, G>(
        &self,
        arguments: &[(&str, G)],
    ) -> Result<(Vec<f64>, Vec<Warning>), CallError>
    where
        G: Copy + Into<Given<'a>>,
    {
        let arguments = self.arguments(arguments)?;
        let (values, doubt) = self
            .doubted_answers(&arguments)
            .map_err(|refusal| CallError::Refused { formula: self.name, why: refusal.0 })?;
        Ok((values, self.warnings_with(&arguments, doubt)))
    }

    /// Named arguments in the order of the parameters, defaults filled in, in coherent SI.
    ///
    /// # Errors
    /// An unknown, missing or doubled argument, or one of another dimension.
    pub fn arguments<'a, G>(&self, given: &[(&str, G)]) -> Result<Vec<Argument<'a>>, CallError>
    where
        G: Copy + Into<Given<'a>>,
    {
        let names = || self.parameters.iter().map(|parameter| parameter.name);
        for (name, _) in given {
            if !names().any(|known| known == *name) {
                return Err(CallError::UnknownParameter {
                    formula: self.name,
                    parameter: (*name).to_owned(),
                    nearest: forebay_units::nearest(name, names()).first().copied(),
                });
            }
        }
        self.parameters
            .iter()
            .map(|parameter| {
                let mut found = given.iter().filter(|(name, _)| *name == parameter.name);
                let argument = match (found.next(), parameter.default) {
                    (Some((_, argument)), _) => self.argument(parameter, (*argument).into())?,
                    (None, Some(default)) => Argument::Number(default),
                    (None, None) => {
                        return Err(CallError::Missing {
                            formula: self.name,
                            parameter: parameter.name,
                        });
                    }
                };
                if found.next().is_some() {
                    return Err(CallError::Twice { formula: self.name, parameter: parameter.name });
                }
                Ok(argument)
            })
            .collect()
    }

    fn argument<'a>(
        &self,
        parameter: &Parameter,
        given: Given<'a>,
    ) -> Result<Argument<'a>, CallError> {
        let argument = match (parameter.kind, given) {
            (Kind::Quantity(wanted), Given::Quantity(q)) if q.dimension() == wanted => {
                Some(Argument::Number(q.si()))
            }
            (Kind::Yearly(wanted), Given::Quantity(q)) => yearly(wanted, q).map(Argument::Number),
            (Kind::Years, Given::Quantity(q)) if q.dimension().is_plain() => {
                Some(Argument::Number(q.si()))
            }
            (Kind::Years, Given::Quantity(q)) if q.dimension() == Dimension::TIME => {
                Some(Argument::Number(q.si() / YEAR))
            }
            (Kind::Series(wanted), Given::Series(values, dimension)) if dimension == wanted => {
                Some(Argument::Series(values))
            }
            // A column that is the same everywhere may be one quantity.
            (Kind::Series(wanted), Given::Quantity(q))
                if parameter.column && q.dimension() == wanted =>
            {
                Some(Argument::Number(q.si()))
            }
            (Kind::Texts, Given::Texts(texts)) => Some(Argument::Texts(texts)),
            (Kind::Row, Given::Quantity(q)) if q.dimension().is_plain() => {
                Some(Argument::Number(q.si()))
            }
            (Kind::Choice(words), Given::Word(word)) => words
                .iter()
                .position(|known| *known == word)
                // A choice has a handful of words.
                .map(|index| Argument::Number(f64::from(u16::try_from(index).unwrap_or(u16::MAX)))),
            _ => None,
        };
        argument.ok_or_else(|| CallError::Kind {
            formula: self.name,
            parameter: parameter.name,
            expected: parameter.kind.to_string(),
            found: given.to_string(),
        })
    }
}

/// A yearly amount: the quantity itself, or the quantity per time over a year.
fn yearly(wanted: Dimension, given: Quantity) -> Option<f64> {
    if given.dimension() == wanted {
        return Some(given.si());
    }
    (wanted.over(Dimension::TIME) == Ok(given.dimension())).then(|| given.si() * YEAR)
}

impl From<Quantity> for Given<'_> {
    fn from(quantity: Quantity) -> Self {
        Self::Quantity(quantity)
    }
}

/// What an argument is: `volume flow`, `series of length`, `"sharp"`.
impl fmt::Display for Given<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Quantity(quantity) => quantity.dimension().fmt(f),
            Self::Series(_, dimension) => write!(f, "series of {dimension}"),
            Self::Word(word) => write!(f, "\"{word}\""),
            Self::Texts(_) => f.write_str("series of text"),
        }
    }
}

/// What a parameter takes: `length`, `series of length`, `one of "sharp", "round"`.
impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Quantity(dimension) => dimension.fmt(f),
            Self::Yearly(dimension) => write!(f, "{dimension}, or that per time"),
            Self::Years => f.write_str("number of years, or time"),
            Self::Series(dimension) => write!(f, "series of {dimension}"),
            Self::Choice(words) => write!(f, "one of \"{}\"", words.join("\", \"")),
            Self::Texts => f.write_str("series of text"),
            Self::Row => f.write_str("row of the table, by its number or its name"),
        }
    }
}

impl fmt::Display for CallError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownFormula { name, nearest } => {
                write!(f, "unknown formula {name}")?;
                proposal(*nearest, f)
            }
            Self::UnknownParameter { formula, parameter, nearest } => {
                write!(f, "{formula}: unknown parameter {parameter}")?;
                proposal(*nearest, f)
            }
            Self::Missing { formula, parameter } => write!(f, "{formula}: {parameter} is missing"),
            Self::Twice { formula, parameter } => {
                write!(f, "{formula}: {parameter} is given twice")
            }
            Self::Kind { formula, parameter, expected, found } => {
                write!(f, "{formula}: {parameter}: expected {expected}, found {found}")
            }
            Self::Refused { formula, why } => write!(f, "{formula}: {why}"),
        }
    }
}

impl Error for CallError {}

fn proposal(nearest: Option<&str>, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    nearest.map_or(Ok(()), |name| write!(f, "; did you mean {name}?"))
}
