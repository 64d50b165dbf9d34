//! The power chain: what the water brings, what each step takes of it, and what is left.

use forebay_sheet::{Datum, Drawing, Sheet, Value};
use forebay_units::Unit;

use super::Picture;
use super::axes::Axis;
use super::bars::{Lying, alike, paint_lying, percent, row};
use super::data::with_unit;
use super::svg::Fill;
use super::table::DataTable;

/// What is not accounted for is named from this share of the whole on.
const UNTOLD: f64 = 0.005;

pub(crate) fn paint(drawing: &Drawing, _: &mut Sheet) -> Result<Picture, String> {
    let from = drawing.under("from").next().ok_or("`from` is missing")?;
    let to = drawing.under("to").next().ok_or("`to` is missing")?;
    let unit = drawing.unit.clone().or_else(|| from.unit().cloned()).unwrap_or(Unit::ONE);
    let number = |datum: &Datum| {
        datum.value().and_then(Value::as_number).map_or(f64::NAN, |si| unit.from_si(si))
    };
    let (whole, end) = (number(from), number(to));
    if whole.is_nan() || whole <= 0.0 {
        return Err("there is no power at its beginning".to_owned());
    }
    let digits = alike(whole);
    let amount =
        |value: f64| format!("{} {}, {}", digits(value), unit.symbol(), percent(value / whole));
    let bar = |name: &str, from: f64, to: f64, value: f64, fill: Fill| Lying {
        name: name.to_owned(),
        from,
        to,
        amount: amount(value),
        fill,
    };
    let mut bars = vec![bar(&from.label, 0.0, whole, whole, Fill::Grey(0.62))];
    let mut rows = vec![row(&from.label, whole)];
    let mut left = whole;
    for loss in drawing.under("losses") {
        let lost = number(loss);
        bars.push(bar(&loss.label, left - lost, left, lost, Fill::Grey(0.14)));
        rows.push(row(&format!("lost: {}", loss.label), lost));
        left -= lost;
    }
    let untold = left - end;
    if untold.abs() > UNTOLD * whole {
        bars.push(bar("not accounted for", end, left, untold, Fill::Outline));
        rows.push(row("not accounted for", untold));
    }
    bars.push(bar(&to.label, 0.0, end, end, Fill::Grey(0.62)));
    rows.push(row(&to.label, end));
    let ends = bars.iter().flat_map(|bar| [bar.from, bar.to]);
    let axis = Axis::from_zero(with_unit("power", &unit), ends);
    let steps: Vec<String> =
        bars.iter().map(|bar| format!("{}: {}", bar.name, bar.amount)).collect();
    let description =
        format!("Bars from the beginning of the chain to its end. {}.", steps.join(". "));
    let svg = paint_lying(drawing, &description, &axis, &bars);
    let heads = vec!["step".to_owned(), with_unit("power", &unit)];
    Ok(Picture { svg, table: DataTable { heads, rows } })
}
