//! Quantities with their units: dimensions that are checked, a table of units, and exact money.
//!
//! A number is held in coherent SI with its [`Dimension`]; a [`Unit`] is how it is written.
//!
//! ```
//! use forebay_units::{Quantity, Unit};
//!
//! let flow = Quantity::parse("30 L/s")?;
//! let head = Quantity::parse("3.2 m")?;
//! assert_eq!(flow.in_unit(&Unit::parse("m^3/h")?)?, 108.0);
//!
//! // Metres and litres a second do not add up.
//! let refused = flow.plus(head).unwrap_err();
//! assert_eq!(refused.to_string(), "volume flow and length do not go together");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod dimension;
mod format;
mod lookup;
pub mod money;
mod quantity;
mod spelling;
mod table;
mod unit;
mod unit_error;

pub use dimension::{Dimension, DimensionError};
pub use format::{System, display_unit, format_in, format_significant, shortest};
pub use money::{Currency, Rounding};
pub use quantity::{Quantity, QuantityError, number_and_unit};
pub use rust_decimal::Decimal;
pub use spelling::nearest;
pub use table::{
    AmbiguousWord, RefusedWord, Row, ambiguous_words, catalogue, refused_words, search,
};
pub use unit::Unit;
pub use unit_error::UnitError;
