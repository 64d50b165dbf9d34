//! What studies of a sheet gave, in each form: one file per form.

mod csv;
mod json;
mod plot;
pub(crate) mod table;
mod text;

pub use csv::{compare_csv, csv_fields, each_csv, each_csv_head, vary_csv};
pub(crate) use csv::{plain, verdict};
pub use json::{compare_json, each_json, solve_json, spread_json, vary_json};
pub use plot::Letters;
pub use text::compare::compare_text;
pub use text::solve::solve_text;
pub use text::spread::spread_text;
pub use text::vary::vary_text;

use forebay_sheet::{Style, Value, bare_number};
use forebay_study::Column;
use forebay_units::{Dimension, Unit};

/// The head of a column: `bore [mm]`, without brackets where there is no unit.
pub(crate) fn head(column: &Column) -> String {
    match &column.unit {
        Some(unit) if !unit.symbol().is_empty() && unit.symbol() != "1" => {
            format!("{} [{}]", column.name, unit.symbol())
        }
        _ => column.name.clone(),
    }
}

/// The unit of a difference of values that are shown in a unit: percentages differ by points, and
/// units whose zero is not that of a difference give way to one that is.
pub(crate) fn difference_unit(
    own: Option<&Unit>,
    dimension: Dimension,
    style: Style,
    si: f64,
) -> Unit {
    let own = own.filter(|unit| unit.offset() == 0.0 && !dimension.is_absolute()).cloned();
    let unit = own.unwrap_or_else(|| style.unit(dimension.as_difference(), si));
    if unit.symbol() == "%" { Unit::parse("points").unwrap_or(unit) } else { unit }
}

/// A value in its column, for reading: a bare number with the digits that matter.
pub(crate) fn in_column(value: &Value, column: &Column, style: Style) -> String {
    if let (Value::Number(si), Some(unit)) = (value, &column.unit)
        && *unit != Unit::ONE
        && let Some(number) = bare_number(*si, unit)
    {
        return number;
    }
    style.value(value, column.ty, column.unit.as_ref())
}
