//! A varied sheet as one drawing: results over one known, with a sign wherever a check fails.

use forebay_sheet::Value;
use forebay_study::{Seen, Varied};
use forebay_units::Unit;

use super::axes::{Axis, FIELD, Frame};
use super::data::with_unit;
use super::lines::{Named, broken, name_curves, room_for_names};
use super::svg::{Heading, Mark, Stroke};

/// A name beside a curve is broken into lines of at most so many letters.
const LETTERS: usize = 13;

/// The drawing as a whole `<svg>` element, a file of its own.
///
/// # Errors
/// Why it cannot be drawn: two knowns varied, results of more than one kind, or no numbers.
pub fn vary_svg(title: Option<&str>, varied: &Varied) -> Result<String, String> {
    let [over] = varied.axes.as_slice() else {
        return Err("two varied knowns have no drawing of lines".to_owned());
    };
    let Some(first) = varied.columns.first().filter(|column| column.ty.dimension().is_some())
    else {
        return Err("what is no number cannot be drawn".to_owned());
    };
    let kind = first.ty.dimension();
    if let Some(other) = varied.columns.iter().find(|column| column.ty.dimension() != kind) {
        return Err(format!(
            "`{}` and `{}` measure different things, and a drawing has one vertical axis",
            first.name, other.name
        ));
    }
    let (x_unit, y_unit) =
        (over.unit.clone().unwrap_or(Unit::ONE), first.unit.clone().unwrap_or(Unit::ONE));
    let place = |row: &forebay_study::VariedRow| {
        row.at.first().and_then(Value::as_number).map_or(f64::NAN, |si| x_unit.from_si(si))
    };
    let places: Vec<f64> = varied.rows.iter().map(place).collect();
    let curve = |at: usize| -> Vec<f64> {
        let seen = |row: &forebay_study::VariedRow| row.row.seen.get(at).and_then(Seen::number);
        let numbers = varied.rows.iter().map(seen);
        numbers.map(|si| si.map_or(f64::NAN, |si| y_unit.from_si(si))).collect()
    };
    let curves: Vec<Vec<f64>> = (0..varied.columns.len()).map(curve).collect();
    let drawn = |numbers: &[f64]| numbers.iter().any(|number| number.is_finite());
    if !drawn(&places) || !curves.iter().any(|curve| drawn(curve)) {
        return Err("there are no numbers to draw".to_owned());
    }
    let words = |name: &str| name.replace('_', " ");
    let names: Vec<Vec<String>> =
        varied.columns.iter().map(|column| broken(&words(&column.name), LETTERS)).collect();
    let fails = varied.rows.iter().any(|row| !row.row.failing.is_empty());
    let several = names.len() > 1;
    let mut beside = names.clone();
    beside.retain(|_| several);
    beside.extend(fails.then(|| vec!["a check".to_owned(), "fails".to_owned()]));
    let room = if beside.is_empty() { 14.0 } else { room_for_names(beside.iter()) };
    let measured = || kind.map_or_else(String::new, |dimension| dimension.to_string());
    let y_name = if several { measured() } else { words(&first.name) };
    let x = Axis::close(with_unit(&words(&over.known), &x_unit), places.iter().copied());
    let y = Axis::rounded(with_unit(&y_name, &y_unit), curves.iter().flatten().copied());
    let all: Vec<String> = varied.columns.iter().map(|column| words(&column.name)).collect();
    let description = format!("{} over {}", all.join(", "), words(&over.known));
    let title = title.unwrap_or(&description);
    let heading = Heading { name: "varied", title, description: &description };
    let mut frame = Frame::new(&heading, (&x, &y), room, FIELD);
    let mut named = Vec::new();
    for (at, curve) in curves.iter().enumerate() {
        let points: Vec<(f64, f64)> =
            places.iter().zip(curve).map(|(x, y)| (frame.x(*x), frame.y(*y))).collect();
        frame.svg.path(&points, Stroke::of_curve(at));
        for (point, row) in points.iter().zip(&varied.rows) {
            if !row.row.failing.is_empty() && point.1.is_finite() {
                frame.svg.mark(*point, Mark::Cross);
            }
        }
        let end = points.iter().rev().find(|(_, y)| y.is_finite());
        named.push(Named {
            lines: names[at].clone(),
            end: end.map_or(frame.bottom, |(_, y)| *y),
            stroke: Some(Stroke::of_curve(at)),
            mark: None,
        });
    }
    named.retain(|_| several);
    named.extend(fails.then(|| Named {
        lines: vec!["a check".to_owned(), "fails".to_owned()],
        end: frame.bottom,
        stroke: None,
        mark: Some(Mark::Cross),
    }));
    name_curves(&mut frame, &named);
    Ok(frame.finish())
}
