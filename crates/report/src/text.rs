//! A sheet for reading: title, headline results, what is known and worked out, checks.

use forebay_sheet::worksheet::Text;
use forebay_sheet::{Cell, CellKind, Items, Series, Sheet, Trouble, Value};
use forebay_units::Unit;

use crate::checks;
use crate::formats::Options;
use crate::page::{Page, Row};
use crate::tables;

/// A series of at most as many values is written out below its summary.
const LONGEST_LIST: usize = 24;

/// The whole sheet.
pub(crate) fn write(sheet: &mut Sheet, options: &Options) -> String {
    let mut page = Page::new(options);
    if let Some(title) = sheet.title() {
        page.title(title);
    }
    let headlines: Vec<Row> = sheet.headlines().map(|cell| row(cell, false)).collect();
    if !headlines.is_empty() {
        page.heading("Results");
        page.rows(2, &headlines);
    }
    if sheet.parts().is_empty() {
        values(&mut page, sheet, "Known", |cell| cell.kind() == CellKind::Known);
        tables::list(&mut page, sheet, None);
        values(&mut page, sheet, "Worked out", |cell| cell.kind() == CellKind::Work);
    } else {
        for (at, part) in sheet.parts().iter().enumerate() {
            let cells: Vec<Row> = own(sheet).filter(|c| c.part() == Some(at)).map(full).collect();
            // A part of checks alone is found under the checks.
            if cells.is_empty() && part.about.is_none() && !tables::any(sheet, Some(at)) {
                continue;
            }
            page.heading(&part.title);
            if let Some(about) = &part.about {
                page.paragraph(2, about);
            }
            page.rows(2, &cells);
            tables::list(&mut page, sheet, Some(at));
        }
        values(&mut page, sheet, "Besides", |cell| cell.part().is_none());
        tables::list(&mut page, sheet, None);
    }
    components(&mut page, sheet);
    checks::list(&mut page, sheet);
    page.gap();
    page.line(0, &checks::summary(sheet));
    if let Some(missing) = missing(sheet) {
        page.line(0, &missing);
    }
    page.finish()
}

/// A number of a series with as many digits as results have.
pub(crate) fn series_number(si: f64, unit: &Unit) -> String {
    if si.is_nan() {
        return "~".to_owned();
    }
    forebay_sheet::bare_number(si, unit).unwrap_or_else(|| "~".to_owned())
}

fn own(sheet: &Sheet) -> impl Iterator<Item = Cell<'_>> {
    sheet.cells().filter(|cell| matches!(cell.kind(), CellKind::Known | CellKind::Work))
}

fn values(page: &mut Page, sheet: &Sheet, heading: &str, which: impl Fn(&Cell<'_>) -> bool) {
    let rows: Vec<Row> = own(sheet).filter(which).map(full).collect();
    if !rows.is_empty() {
        page.heading(heading);
        page.rows(2, &rows);
    }
}

/// The worksheets that this one uses, each under its name: the results that they show themselves
/// and what has no value, or all their cells where they say nothing of results.
fn components(page: &mut Page, sheet: &Sheet) {
    let cells: Vec<Cell<'_>> =
        sheet.cells().filter(|cell| cell.kind() == CellKind::Component).collect();
    for cells in cells.chunk_by(|a, b| component(a) == component(b)) {
        page.heading(&format!("Of {}", component(&cells[0])));
        if !cells.iter().any(Cell::is_headline) {
            page.rows(2, &cells.iter().copied().map(full).collect::<Vec<_>>());
            continue;
        }
        let wanted = |cell: &Cell<'_>| cell.is_headline() || cell.trouble().is_some();
        let rows: Vec<Row> = cells.iter().copied().filter(wanted).map(full).collect();
        page.rows(2, &rows);
        let more = cells.len() - rows.len();
        if more > 0 {
            page.line(2, &format!("and {more} more, which `working` explains by name"));
        }
    }
}

/// The name of the component that a cell belongs to.
fn component<'s>(cell: &Cell<'s>) -> &'s str {
    cell.name().split('.').next().unwrap_or_default()
}

fn full(cell: Cell<'_>) -> Row {
    row(cell, true)
}

fn row(cell: Cell<'_>, with_origin: bool) -> Row {
    let mut row = Row { name: cell.name().to_owned(), value: cell.shown(), ..Row::default() };
    if let (true, Some(known)) = (with_origin, cell.known()) {
        row.tolerance = known.plus_minus.as_ref().map(tolerance).unwrap_or_default();
        row.remark = known.from.map(|from| from.word().to_owned()).unwrap_or_default();
    }
    if let (Some(Value::Series(series)), Some(unit)) = (cell.value(), cell.unit()) {
        row.below = list(series, &unit);
    }
    row
}

pub(crate) fn tolerance(plus_minus: &Text) -> String {
    format!("± {}", plus_minus.text)
}

/// A short series of numbers, gaps as a sheet writes them.
pub(crate) fn list(series: &Series, unit: &Unit) -> String {
    match &series.items {
        Items::Numbers(numbers) if numbers.len() <= LONGEST_LIST => {
            numbers.iter().map(|si| series_number(*si, unit)).collect::<Vec<_>>().join(", ")
        }
        _ => String::new(),
    }
}

/// How many cells have no value, and why; nothing where all have one.
fn missing(sheet: &Sheet) -> Option<String> {
    let (mut all, mut broken, mut failed, mut waiting) = (0, 0, 0, 0);
    for cell in sheet.cells().filter(|cell| cell.kind() != CellKind::Check) {
        all += 1;
        match cell.trouble() {
            None => {}
            Some(Trouble::Broken) => broken += 1,
            Some(Trouble::Failed(_)) => failed += 1,
            Some(Trouble::Waiting(_)) => waiting += 1,
        }
    }
    let parts: Vec<String> =
        [(broken, "broken"), (failed, "without a result"), (waiting, "waiting")]
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, word)| format!("{count} {word}"))
            .collect();
    let computed = all - broken - failed - waiting;
    let noun = if all == 1 { "cell" } else { "cells" };
    (!parts.is_empty())
        .then(|| format!("{all} {noun}: {computed} with a value, {}", parts.join(", ")))
}
