//! A number with its dimension, and what may be done with it.

use std::cmp::Ordering;
use std::fmt;
use std::ops::Range;

use crate::dimension::{Dimension, DimensionError};
use crate::unit::Unit;
use crate::unit_error::UnitError;

/// A value in coherent SI with its dimension.
///
/// ```
/// use forebay_units::{Quantity, Unit};
/// let water = Quantity::parse("8 degC")?;
/// let warmer = water.plus(Quantity::parse("5 K")?)?;
/// assert_eq!(warmer.in_unit(&Unit::parse("degC")?)?, 13.0);
/// assert!(water.plus(water).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    si: f64,
    dimension: Dimension,
}

/// Why a text is no quantity.
#[derive(Clone, Debug, PartialEq)]
pub enum QuantityError {
    /// The text does not begin with a number.
    Number {
        /// What is wrong with it.
        what: &'static str,
        /// Where.
        range: Range<usize>,
    },
    /// What follows the number is no unit.
    Unit(UnitError),
    /// A temperature or an absolute pressure below the true zero.
    BelowZero {
        /// What was read.
        dimension: Dimension,
        /// Where.
        range: Range<usize>,
    },
}

impl Quantity {
    /// A quantity from its value in coherent SI.
    #[must_use]
    pub const fn new(si: f64, dimension: Dimension) -> Self {
        Self { si, dimension }
    }

    /// A plain number.
    #[must_use]
    pub const fn plain(number: f64) -> Self {
        Self::new(number, Dimension::NONE)
    }

    /// Reads `14 m`, `-2.5e-3 kg/m^3`, `80%`, or a plain number.
    ///
    /// # Errors
    /// No number, no unit behind it, or a reading below the true zero.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        number_and_unit(text).map(|(value, unit)| Self::of(value, &unit))
    }

    /// So many of a unit.
    #[must_use]
    pub fn of(value: f64, unit: &Unit) -> Self {
        Self::new(unit.to_si(value), unit.dimension())
    }

    /// The value in coherent SI.
    #[must_use]
    pub const fn si(self) -> f64 {
        self.si
    }

    /// What it measures.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        self.dimension
    }

    /// The number that this is in a unit.
    ///
    /// # Errors
    /// A unit of another dimension, or of differences for an absolute value.
    pub fn in_unit(self, unit: &Unit) -> Result<f64, DimensionError> {
        self.dimension.alike(unit.dimension())?;
        Ok(unit.from_si(self.si))
    }

    /// The sum; see [`Dimension::plus`].
    ///
    /// # Errors
    /// Unlike dimensions, or two absolute values.
    pub fn plus(self, other: Self) -> Result<Self, DimensionError> {
        Ok(Self::new(self.si + other.si, self.dimension.plus(other.dimension)?))
    }

    /// The difference; see [`Dimension::minus`].
    ///
    /// # Errors
    /// Unlike dimensions, or an absolute value taken from a difference.
    pub fn minus(self, other: Self) -> Result<Self, DimensionError> {
        Ok(Self::new(self.si - other.si, self.dimension.minus(other.dimension)?))
    }

    /// The product; see [`Dimension::times`].
    ///
    /// # Errors
    /// A temperature reading times a plain number.
    pub fn times(self, other: Self) -> Result<Self, DimensionError> {
        Ok(Self::new(self.si * other.si, self.dimension.times(other.dimension)?))
    }

    /// The quotient, which is not finite where `other` is zero; see [`Dimension::over`].
    ///
    /// # Errors
    /// A temperature reading divided by a plain number.
    pub fn over(self, other: Self) -> Result<Self, DimensionError> {
        Ok(Self::new(self.si / other.si, self.dimension.over(other.dimension)?))
    }

    /// A power, which is not finite for a root of a negative value; see [`Dimension::to_power`].
    ///
    /// # Errors
    /// A power that leaves no usable dimension.
    pub fn to_power(self, exponent: f64) -> Result<Self, DimensionError> {
        Ok(Self::new(self.si.powf(exponent), self.dimension.to_power(exponent)?))
    }

    /// The value with its sign turned.
    ///
    /// # Errors
    /// An absolute value has no negative.
    pub fn negated(self) -> Result<Self, DimensionError> {
        Ok(Self::new(-self.si, self.dimension.negated()?))
    }

    /// Which of the two is greater; `None` where one of them is not a number.
    ///
    /// # Errors
    /// Unlike dimensions, or an absolute value against a difference.
    pub fn compare(self, other: Self) -> Result<Option<Ordering>, DimensionError> {
        self.dimension.alike(other.dimension)?;
        Ok(self.si.partial_cmp(&other.si))
    }
}

/// Reads a number and the unit behind it, [`Unit::ONE`] where there is none.
///
/// # Errors
/// As [`Quantity::parse`]; ranges are in `text`.
pub fn number_and_unit(text: &str) -> Result<(f64, Unit), QuantityError> {
    let end = text.trim_end().len();
    let start = end - text[..end].trim_start().len();
    let body = &text[start..end];
    let number = |what, from: usize, to: usize| QuantityError::Number {
        what,
        range: start + from..start + to,
    };
    let length = number_length(body);
    if length == 0 {
        return Err(number("a number was expected here", 0, body.len()));
    }
    let rest = &body[length..];
    if rest.starts_with(',') || rest.starts_with('\'') {
        return Err(number("a number has a point and no other marks", 0, body.len()));
    }
    let plain = body[..length].replace('_', "").replace('−', "-");
    let value: f64 = plain.parse().map_err(|_| number("this is no number", 0, length))?;
    if !value.is_finite() {
        return Err(number("this number is too large", 0, length));
    }
    let unit_text = rest.trim_start();
    if unit_text.is_empty() {
        return Ok((value, Unit::ONE));
    }
    let unit_start = end - unit_text.len();
    if unit_text.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == '-')
        && !unit_text.starts_with("1/")
    {
        let from = unit_start - start;
        return Err(number("two numbers stand side by side", from, body.len()));
    }
    let unit = Unit::parse(unit_text).map_err(|e| QuantityError::Unit(e.moved(unit_start)))?;
    let si = unit.to_si(value);
    if !si.is_finite() {
        return Err(number("this number is too large", 0, length));
    }
    if unit.dimension().is_absolute() && si < 0.0 {
        let range = start..end;
        return Err(QuantityError::BelowZero { dimension: unit.dimension(), range });
    }
    Ok((value, unit))
}

impl QuantityError {
    /// The bytes of the text that are to blame.
    #[must_use]
    pub fn range(&self) -> Range<usize> {
        match self {
            Self::Number { range, .. } | Self::BelowZero { range, .. } => range.clone(),
            Self::Unit(error) => error.range(),
        }
    }

    /// The way out.
    #[must_use]
    pub fn help(&self) -> String {
        match self {
            Self::Number { .. } => {
                "write a number and its unit, such as 14 m or 2.5e-3 m^3/s".into()
            }
            Self::Unit(error) => error.help(),
            Self::BelowZero { dimension, .. } if *dimension == Dimension::TEMPERATURE => {
                "for a difference of temperatures write K or delta_degF".into()
            }
            Self::BelowZero { .. } => {
                "for a pressure below the air outside write a gauge or vacuum unit".into()
            }
        }
    }
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number { what, .. } => f.write_str(what),
            Self::Unit(error) => error.fmt(f),
            Self::BelowZero { dimension, .. } => write!(f, "{dimension} cannot be below zero"),
        }
    }
}

impl std::error::Error for QuantityError {}

/// How many bytes at the beginning are a number: sign, digits, point, power of ten.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        while bytes.get(at).is_some_and(|b| b.is_ascii_digit() || (*b == b'_' && at > 0)) {
            at += 1;
        }
        at
    };
    let start = text.len() - text.strip_prefix(['-', '+', '−']).unwrap_or(text).len();
    if !bytes.get(start).is_some_and(|b| b.is_ascii_digit() || *b == b'.') {
        return 0;
    }
    let mut end = digits(start);
    if bytes.get(end) == Some(&b'.') {
        end = digits(end + 1);
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'-' | b'+')));
        let power = end + 1 + sign;
        if bytes.get(power).is_some_and(u8::is_ascii_digit) {
            end = digits(power);
        }
    }
    end
}
