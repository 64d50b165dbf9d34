//! The answer of a single formula in words.

use forebay_sheet::{Answer, Items, Value};
use forebay_units::{DimensionError, Unit};

use crate::page::one_line;
use crate::text::series_number;

/// `2.719 m` and a line end; of a series also its values.
///
/// # Errors
/// A unit that does not fit the answer.
pub fn answer_text(answer: &Answer, unit: Option<&Unit>) -> Result<String, DimensionError> {
    let mut out = one_line(&answer.shown(unit)?) + "\n";
    let shown_in = unit.cloned().or_else(|| answer.unit());
    if let (Value::Series(series), Some(unit)) = (&answer.value, shown_in)
        && let Items::Numbers(numbers) = &series.items
    {
        let values: Vec<String> = numbers.iter().map(|si| series_number(*si, &unit)).collect();
        out.push_str(&format!("{}\n", values.join("\n")));
    }
    Ok(out)
}
