//! What changed between two computations of a sheet, and by how much.

use std::collections::HashMap;

use forebay_sheet::{Cell, CellKind, Sheet};
use forebay_units::{Dimension, Unit, format_in};

use crate::checks;
use crate::formats::Options;
use crate::page::{Page, Row};

/// A change of more than this many per cent is said as a multiple.
const MOST_PER_CENT: f64 = 1000.0;

/// How a cell or a check stood at one time.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    name: String,
    shown: String,
    si: Option<f64>,
    dimension: Option<Dimension>,
}

impl Reading {
    /// The value in words.
    #[must_use]
    pub fn shown(&self) -> &str {
        &self.shown
    }
}

/// How every cell and every check stands now, in the order of the sheet.
#[must_use]
pub fn readings(sheet: &Sheet) -> Vec<Reading> {
    sheet.cells().map(reading).collect()
}

/// The names whose value is another one now, with old and new value and the difference; a word
/// where nothing changed.
#[must_use]
pub fn changes(before: &[Reading], sheet: &Sheet, options: &Options) -> String {
    let mut old: HashMap<&str, &Reading> = HashMap::with_capacity(before.len());
    for reading in before {
        old.insert(&reading.name, reading);
    }
    let mut rows = Vec::new();
    for cell in sheet.cells() {
        let new = reading(cell);
        match old.remove(new.name.as_str()) {
            Some(old) if *old == new => {}
            Some(old) => rows.push(Row {
                name: new.name.clone(),
                value: format!("{} → {}", old.shown, new.shown),
                remark: by_how_much(old, &new, cell, sheet),
                ..Row::default()
            }),
            None => rows.push(Row {
                name: new.name.clone(),
                value: new.shown,
                remark: "new".to_owned(),
                ..Row::default()
            }),
        }
    }
    rows.extend(before.iter().filter(|b| old.contains_key(b.name.as_str())).map(|gone| Row {
        name: gone.name.clone(),
        value: gone.shown.clone(),
        remark: "gone".to_owned(),
        ..Row::default()
    }));
    let mut page = Page::new(options);
    if rows.is_empty() {
        page.line(0, "read again: nothing changed");
    } else {
        page.heading("Changed");
        page.rows(2, &rows);
        page.line(0, &checks::summary(sheet));
    }
    page.finish()
}

/// How a cell or a check stands now.
#[must_use]
pub fn reading(cell: Cell<'_>) -> Reading {
    let check = cell.kind() == CellKind::Check;
    let shown = if check && cell.value().is_some() {
        checks::word(cell.verdict()).to_owned()
    } else {
        cell.shown()
    };
    Reading {
        name: reading_name(cell),
        shown,
        si: cell.value().and_then(forebay_sheet::Value::as_number),
        dimension: cell.ty().and_then(forebay_sheet::Type::dimension),
    }
}

/// What tells a cell from every other; a check may bear the name of a cell.
#[must_use]
pub fn reading_name(cell: Cell<'_>) -> String {
    match cell.kind() {
        CellKind::Check => format!("{} (check)", cell.name()),
        _ => cell.name().to_owned(),
    }
}

/// How far a cell has moved, `+2.000 L/s, +5.0 %`; empty where the two cannot be compared.
#[must_use]
pub fn by_how_much(old: &Reading, new: &Reading, cell: Cell<'_>, sheet: &Sheet) -> String {
    let (Some(from), Some(to), Some(dimension)) = (old.si, new.si, new.dimension) else {
        return String::new();
    };
    if old.dimension != new.dimension || from == to {
        return String::new();
    }
    let change = to - from;
    let unit = difference_unit(cell, sheet, dimension, change);
    let Some(difference) = format_in(change, &unit, 3) else { return String::new() };
    let sign = if change > 0.0 { "+" } else { "" };
    // Per cent of a temperature depend on the zero of its scale and say nothing.
    let share = 100.0 * change / from.abs();
    if dimension == Dimension::TEMPERATURE
        || from == 0.0
        || !share.is_finite()
        // It would be said as `-0.0 %`.
        || share.abs() < 0.05
        || share.abs() > MOST_PER_CENT
    {
        return format!("{sign}{difference}");
    }
    format!("{sign}{difference}, {sign}{share:.1} %")
}

/// The unit that the value is shown in, unless its zero is not that of a difference.
fn difference_unit(cell: Cell<'_>, sheet: &Sheet, dimension: Dimension, change: f64) -> Unit {
    let style = sheet.style();
    let shown = cell.unit().filter(|unit| unit.offset() == 0.0 && !dimension.is_absolute());
    shown.unwrap_or_else(|| style.unit(dimension.as_difference(), change))
}
