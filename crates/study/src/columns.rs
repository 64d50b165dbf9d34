//! A column of results: what it is called, what it measures, and the one unit it is shown in.

use forebay_sheet::{Cell, Type, Value};
use forebay_units::Unit;

/// A column of values of one cell.
#[derive(Clone, Debug)]
pub struct Column {
    /// The cell's name.
    pub name: String,
    /// What its values are.
    pub ty: Type,
    /// The unit that all of them are shown in; `None` for what has none, money among it.
    pub unit: Option<Unit>,
}

/// The column of a cell for values of about this size in SI; its present size where none is given.
#[must_use]
pub fn column_of(cell: &Cell<'_>, size: Option<f64>) -> Column {
    let ty = cell.ty().unwrap_or(Type::PLAIN);
    let size = size.or_else(|| cell.value().and_then(Value::as_number)).unwrap_or(0.0);
    let unit = match ty.dimension() {
        Some(_) if !ty.scalar().is_money() => cell.unit_at(size),
        _ => None,
    };
    Column { name: cell.name().to_owned(), ty, unit }
}

/// The largest number among values, for choosing a unit.
pub(crate) fn largest<'a>(values: impl Iterator<Item = &'a Value>) -> Option<f64> {
    let sizes = values.filter_map(Value::as_number).map(f64::abs);
    sizes.fold(None, |most: Option<f64>, size| Some(most.map_or(size, |most| most.max(size))))
}
