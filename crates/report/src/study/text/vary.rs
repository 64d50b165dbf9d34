//! A varied sheet for reading: a table, why values are missing, and a plot of each result.

use forebay_sheet::{Style, Value};
use forebay_study::{Column, Seen, Varied, VariedRow};
use forebay_units::Unit;

use super::partial;
use crate::formats::Options;
use crate::page::Page;
use crate::study::csv::column_of_axis;
use crate::study::in_column;
use crate::study::plot::{Ends, Letters, Point, plot};
use crate::study::table::Table;

/// More plots than this hide what one looks for.
const MOST_PLOTS: usize = 4;

/// The table of all points, with a plot where one known was varied.
#[must_use]
pub fn vary_text(
    title: Option<&str>,
    varied: &Varied,
    style: Style,
    letters: Letters,
    options: &Options,
) -> String {
    let mut page = Page::new(options);
    if let Some(title) = title {
        page.title(title);
    }
    let axes: Vec<Column> = varied.axes.iter().map(column_of_axis).collect();
    let knowns: Vec<&str> = axes.iter().map(|axis| axis.name.as_str()).collect();
    page.heading(&format!("Over {}", knowns.join(" and ")));
    table(varied, &axes, style).put(&mut page);
    failing(&mut page, varied);
    missing(&mut page, varied, &axes, style);
    doubtful(&mut page, varied, &axes, style);
    partial(&mut page, varied.rows.len() as u64, varied.total, "rows");
    if let [axis] = axes.as_slice() {
        for at in 0..varied.columns.len().min(MOST_PLOTS) {
            plotted(&mut page, varied, axis, at, letters);
        }
    }
    page.finish()
}

fn table(varied: &Varied, axes: &[Column], style: Style) -> Table {
    let symbol = |column: &Column| match &column.unit {
        Some(unit) if *unit != Unit::ONE => unit.symbol().to_owned(),
        _ => String::new(),
    };
    let columns = || axes.iter().chain(&varied.columns);
    let mut table = Table {
        heads: columns().map(|column| (column.name.clone(), symbol(column))).collect(),
        fixed: axes.len(),
        ..Table::default()
    };
    for row in &varied.rows {
        let at = row.at.iter().zip(axes).map(|(value, axis)| in_column(value, axis, style));
        let seen = row.row.seen.iter().zip(&varied.columns).map(|(seen, column)| {
            seen.value().map_or_else(|| "no value".to_owned(), |v| in_column(v, column, style))
        });
        table.rows.push(at.chain(seen).collect());
        let more = row.row.failing.len().saturating_sub(1);
        table.remarks.push(match varied.gravest(row) {
            Some(check) if more > 0 => format!("fails: {} +{more}", check.name),
            Some(check) => format!("fails: {}", check.name),
            None if !row.row.unknown.is_empty() => "checks cannot be told".to_owned(),
            None => String::new(),
        });
    }
    table
}

/// Which checks fail, and in how many rows.
fn failing(page: &mut Page, varied: &Varied) {
    let mut first = true;
    for (at, check) in varied.checks.iter().enumerate() {
        let rows = varied.rows.iter().filter(|row| row.row.failing.contains(&at)).count();
        if rows == 0 {
            continue;
        }
        if first {
            page.gap();
        }
        first = false;
        let of = varied.rows.len();
        page.line(
            0,
            &format!("{} ({}) fails in {rows} of {of} rows", check.name, check.level.word()),
        );
    }
}

/// Why values are missing: each column once, with the first point.
fn missing(page: &mut Page, varied: &Varied, axes: &[Column], style: Style) {
    let mut first = true;
    for (at, column) in varied.columns.iter().enumerate() {
        let mut without = varied.rows.iter().filter_map(|row| match row.row.seen.get(at) {
            Some(Seen::Missing(why)) => Some((row, why)),
            _ => None,
        });
        let Some((row, why)) = without.next() else { continue };
        if first {
            page.gap();
        }
        first = false;
        let place = place(row, axes, style);
        let name = &column.name;
        page.line(
            0,
            &match without.count() {
                0 => format!("{name} has no value at {place}: {why}"),
                more => {
                    format!("{name} has no value at {} points, first at {place}: {why}", more + 1)
                }
            },
        );
    }
}

/// In how many rows something is doubtful, and what it is in the first of them.
fn doubtful(page: &mut Page, varied: &Varied, axes: &[Column], style: Style) {
    let mut rows = varied.rows.iter().filter_map(|row| Some((row, row.row.doubt.as_ref()?)));
    let Some((row, doubt)) = rows.next() else { return };
    let (count, of) = (rows.count() + 1, varied.rows.len());
    let place = place(row, axes, style);
    page.gap();
    page.line(0, &format!("doubtful in {count} of {of} rows, first at {place}: {doubt}"));
}

/// `bore = 150 mm, flow = 20 L/s`.
fn place(row: &VariedRow, axes: &[Column], style: Style) -> String {
    let one = |(value, axis): (&Value, &Column)| {
        format!("{} = {}", axis.name, style.value(value, axis.ty, axis.unit.as_ref()))
    };
    row.at.iter().zip(axes).map(one).collect::<Vec<_>>().join(", ")
}

fn plotted(page: &mut Page, varied: &Varied, axis: &Column, at: usize, letters: Letters) {
    let column = &varied.columns[at];
    let (Some(x_unit), Some(y_unit)) = (&axis.unit, &column.unit) else { return };
    let mut points = Vec::new();
    for row in &varied.rows {
        let x = row.at.first().and_then(Value::as_number);
        if let (Some(x), Some(y)) = (x, row.row.seen.get(at).and_then(Seen::number)) {
            points.push(Point { x, y, bad: !row.row.failing.is_empty() });
        }
    }
    let least = |of: fn(&Point) -> f64| points.iter().map(of).fold(f64::INFINITY, f64::min);
    let most = |of: fn(&Point) -> f64| points.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let shown = |si: f64, unit: &Unit| forebay_sheet::bare_number(si, unit).unwrap_or_default();
    let ends = Ends {
        low: shown(least(|p| p.y), y_unit),
        high: shown(most(|p| p.y), y_unit),
        left: shown(least(|p| p.x), x_unit),
        right: shown(most(|p| p.x), x_unit),
    };
    if ends.low == ends.high {
        return;
    }
    let lines = plot(&points, &ends, letters, page.width().saturating_sub(2));
    if lines.is_empty() {
        return;
    }
    let bad = points.iter().any(|point| point.bad);
    let sign = if letters == Letters::Unicode { '×' } else { 'x' };
    let legend = if bad { format!("  ({sign}: a check fails)") } else { String::new() };
    page.gap();
    page.line(
        2,
        &format!("{} over {}{legend}", super::super::head(column), super::super::head(axis)),
    );
    for line in lines {
        page.aligned(2, &line, "");
    }
}
