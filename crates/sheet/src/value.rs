//! What a cell can hold: one value or a series of values, and the type known before computing.

use std::fmt;
use std::sync::Arc;

use forebay_units::Dimension;
use jiff::civil::Date;
use rust_decimal::Decimal;

/// The type of a cell, known before anything is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Type {
    /// One value.
    One(Scalar),
    /// A series of values, some of which may be missing.
    Series(Scalar),
}

/// The type of one value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scalar {
    /// A number of this dimension; of dimension money it is exact.
    Number(Dimension),
    /// True or false.
    Truth,
    /// A text.
    Text,
    /// A calendar date.
    Date,
}

/// A value. Numbers are in coherent SI; their dimension is in the [`Type`].
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A quantity in coherent SI, always finite.
    Number(f64),
    /// Money, exact.
    Money(Decimal),
    /// True or false.
    Truth(bool),
    /// A text.
    Text(Arc<str>),
    /// A calendar date.
    Date(Date),
    /// A series.
    Series(Arc<Series>),
}

/// Values one after the other, with gaps where they are missing.
#[derive(Clone, Debug)]
pub struct Series {
    /// The values.
    pub items: Items,
    /// The dates they belong to, if the series is dated; as many as there are values.
    pub dates: Option<Arc<[Date]>>,
}

/// The values of a series.
#[derive(Clone, Debug)]
pub enum Items {
    /// Numbers in coherent SI; NaN stands for a gap and for nothing else.
    Numbers(Vec<f64>),
    /// Money, truths, texts or dates.
    Values(Vec<Option<Value>>),
}

impl Type {
    /// A plain number.
    pub const PLAIN: Self = Self::One(Scalar::Number(Dimension::NONE));
    /// True or false.
    pub const TRUTH: Self = Self::One(Scalar::Truth);
    /// A text.
    pub const TEXT: Self = Self::One(Scalar::Text);

    /// One number of a dimension.
    #[must_use]
    pub fn number(dimension: Dimension) -> Self {
        Self::One(Scalar::Number(dimension))
    }

    /// The type of one value of it.
    #[must_use]
    pub fn scalar(self) -> Scalar {
        match self {
            Self::One(scalar) | Self::Series(scalar) => scalar,
        }
    }

    /// The dimension of its numbers, if it holds numbers.
    #[must_use]
    pub fn dimension(self) -> Option<Dimension> {
        match self.scalar() {
            Scalar::Number(dimension) => Some(dimension),
            _ => None,
        }
    }

    /// The same with another scalar: a series stays a series.
    #[must_use]
    pub fn with(self, scalar: Scalar) -> Self {
        match self {
            Self::One(_) => Self::One(scalar),
            Self::Series(_) => Self::Series(scalar),
        }
    }
}

impl Scalar {
    /// Whether its values are money and therefore exact decimals.
    #[must_use]
    pub fn is_money(self) -> bool {
        self == Self::Number(Dimension::MONEY)
    }

    /// Whether its values are kept as bare `f64`.
    #[must_use]
    pub(crate) fn is_bare(self) -> bool {
        matches!(self, Self::Number(dimension) if dimension != Dimension::MONEY)
    }
}

impl fmt::Display for Scalar {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(dimension) => dimension.fmt(f),
            Self::Truth => f.write_str("truth"),
            Self::Text => f.write_str("text"),
            Self::Date => f.write_str("date"),
        }
    }
}

impl fmt::Display for Type {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::One(scalar) => scalar.fmt(f),
            Self::Series(scalar) => write!(f, "series of {scalar}"),
        }
    }
}

impl Value {
    /// The number, if it is one; money as the nearest `f64`.
    #[must_use]
    pub fn as_number(&self) -> Option<f64> {
        match self {
            Self::Number(number) => Some(*number),
            Self::Money(amount) => Some(forebay_units::money::to_number(*amount)),
            _ => None,
        }
    }

    /// The truth, if it is one.
    #[must_use]
    pub fn as_truth(&self) -> Option<bool> {
        match self {
            Self::Truth(truth) => Some(*truth),
            _ => None,
        }
    }

    /// Whether it is a value of this type.
    pub(crate) fn suits(&self, ty: Type) -> bool {
        match (ty, self) {
            (Type::One(scalar), Self::Number(number)) => scalar.is_bare() && number.is_finite(),
            (Type::One(scalar), Self::Money(_)) => scalar.is_money(),
            (Type::One(Scalar::Truth), Self::Truth(_))
            | (Type::One(Scalar::Text), Self::Text(_))
            | (Type::One(Scalar::Date), Self::Date(_)) => true,
            (Type::Series(scalar), Self::Series(series)) => {
                scalar.is_bare() == matches!(series.items, Items::Numbers(_))
            }
            _ => false,
        }
    }

    /// Whether two values are the same standard size: these are told apart by far more than
    /// rounding.
    pub(crate) fn is_near(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Number(a), Self::Number(b)) => (a - b).abs() <= 1e-9 * a.abs().max(b.abs()),
            _ => self == other,
        }
    }

    /// The series, if it is one.
    #[must_use]
    pub fn as_series(&self) -> Option<&Series> {
        match self {
            Self::Series(series) => Some(series),
            _ => None,
        }
    }
}

impl Series {
    /// How many values it has, gaps counted.
    #[must_use]
    pub fn len(&self) -> usize {
        match &self.items {
            Items::Numbers(numbers) => numbers.len(),
            Items::Values(values) => values.len(),
        }
    }

    /// Whether it has no values at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The value at a place from 0; `None` for a gap or beyond the end.
    #[must_use]
    pub fn get(&self, at: usize) -> Option<Value> {
        match &self.items {
            Items::Numbers(numbers) => {
                numbers.get(at).filter(|n| !n.is_nan()).map(|n| Value::Number(*n))
            }
            Items::Values(values) => values.get(at).cloned().flatten(),
        }
    }

    /// How many values are missing.
    #[must_use]
    pub fn gaps(&self) -> usize {
        match &self.items {
            Items::Numbers(numbers) => numbers.iter().filter(|n| n.is_nan()).count(),
            Items::Values(values) => values.iter().filter(|v| v.is_none()).count(),
        }
    }
}

/// Equal values at equal places, gaps at the same places, and the same dates.
impl PartialEq for Series {
    fn eq(&self, other: &Self) -> bool {
        let same_items = match (&self.items, &other.items) {
            (Items::Numbers(a), Items::Numbers(b)) => {
                a.len() == b.len()
                    && a.iter().zip(b).all(|(a, b)| a == b || (a.is_nan() && b.is_nan()))
            }
            (Items::Values(a), Items::Values(b)) => a == b,
            _ => false,
        };
        same_items && self.dates == other.dates
    }
}
