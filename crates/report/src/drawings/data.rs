//! The data of a drawing as numbers in shown units: places along the horizontal axis, and curves.

use forebay_sheet::{Datum, Drawing, Sheet, Style, Type, Value};
use forebay_study::{Seen, axis, vary};
use forebay_units::{Dimension, Unit, format_significant};

use super::axes::{Axis, day_number};
use super::table::DataTable;

/// What stands along the horizontal axis.
#[derive(Clone, Debug)]
pub(crate) struct Places {
    pub(crate) label: String,
    pub(crate) kind: PlaceKind,
    /// As they are written in the table.
    pub(crate) texts: Vec<String>,
}

/// What the places are.
#[derive(Clone, Debug)]
pub(crate) enum PlaceKind {
    Numbers(Vec<f64>),
    Days(Vec<f64>),
    Names,
}

/// One curve in the unit of its axis; a gap is NaN.
#[derive(Clone, Debug)]
pub(crate) struct Curve {
    pub(crate) label: String,
    pub(crate) values: Vec<f64>,
    /// Whether it is one number, the same everywhere.
    pub(crate) level: bool,
}

/// Places, curves over them, and what the vertical axis measures.
#[derive(Clone, Debug)]
pub(crate) struct Plot {
    pub(crate) places: Places,
    pub(crate) curves: Vec<Curve>,
    pub(crate) y_label: String,
}

impl Plot {
    /// The data under `x` and `y`, or over the range of a known.
    pub(crate) fn of(
        drawing: &Drawing,
        sheet: &mut Sheet,
        x: &str,
        y: &str,
    ) -> Result<Self, String> {
        if drawing.over.is_some() {
            return Self::over(drawing, sheet, y);
        }
        let style = sheet.style();
        let first = drawing.under(y).find_map(Datum::unit).cloned();
        let unit = drawing.unit.clone().or(first).unwrap_or(Unit::ONE);
        let length = drawing.data.iter().find_map(|datum| match datum.value() {
            Some(Value::Series(series)) => Some(series.len()),
            _ => None,
        });
        let length = length.unwrap_or(2);
        let curves: Vec<Curve> = drawing
            .under(y)
            .filter_map(|datum| {
                let value = datum.value()?;
                let level = !matches!(value, Value::Series(_));
                let mut values = numbers(value, &unit);
                if level {
                    values.resize(length, *values.first()?);
                }
                Some(Curve { label: datum.label.clone(), values, level })
            })
            .collect();
        let dates = || {
            let dated = drawing.under(y).find(|datum| {
                matches!(datum.value(), Some(Value::Series(series)) if series.dates.is_some())
            })?;
            let Value::Series(series) = dated.value()? else { return None };
            let dates: Vec<Value> =
                series.dates.as_ref()?.iter().map(|d| Value::Date(*d)).collect();
            Some(Places::of_values("", &dates, drawing, style))
        };
        let places = match drawing.under(x).next() {
            Some(datum) => Places::of(datum, drawing, style).ok_or("`x` is no series")?,
            None => dates().unwrap_or_else(|| Places::counted(length, drawing)),
        };
        let dimension = drawing.under(y).find_map(|datum| datum.ty()?.dimension());
        let y_label = y_label(drawing, dimension, &unit, &curves);
        Ok(Self { places, curves, y_label })
    }

    fn over(drawing: &Drawing, sheet: &mut Sheet, y: &str) -> Result<Self, String> {
        let Some(range) = &drawing.over else { return Err("it has no range".to_owned()) };
        let see: Vec<String> = drawing
            .under(y)
            .filter_map(|datum| match &datum.content {
                forebay_sheet::Content::Cell(name) => Some(name.clone()),
                _ => None,
            })
            .collect();
        let text = format!("{}={}..{}/{}", range.known, range.from, range.to, range.points);
        let points = axis(sheet, &text).map_err(|fault| fault.to_string())?;
        let x_unit = points.unit.clone().unwrap_or(Unit::ONE);
        let varied = vary(sheet, vec![points], &see, &mut |_, _| true);
        let varied = varied.map_err(|fault| fault.to_string())?;
        let first = varied.columns.iter().find_map(|column| column.unit.clone());
        let money = sheet.style().currency.and_then(|c| Unit::parse(c.code()).ok());
        let unit = drawing.unit.clone().or(first).or(money).unwrap_or(Unit::ONE);
        let x: Vec<f64> = (varied.rows.iter())
            .map(|row| row.at.first().and_then(Value::as_number).unwrap_or(f64::NAN))
            .map(|si| x_unit.from_si(si))
            .collect();
        let labels = drawing.under(y).map(|datum| datum.label.clone());
        let curves = labels.enumerate().map(|(at, label)| {
            let seen = |row: &forebay_study::VariedRow| {
                let number = row.row.seen.get(at).and_then(Seen::number);
                number.map_or(f64::NAN, |si| unit.from_si(si))
            };
            Curve { label, values: varied.rows.iter().map(seen).collect(), level: false }
        });
        let curves: Vec<Curve> = curves.collect();
        if curves.iter().all(|curve| curve.values.iter().all(|value| value.is_nan())) {
            let why =
                varied.rows.iter().flat_map(|row| &row.row.seen).find_map(|seen| match seen {
                    Seen::Missing(why) => Some(why.clone()),
                    Seen::Value(_) => None,
                });
            let why = why.unwrap_or_else(|| "no values".to_owned());
            return Err(format!("nowhere in this range has it a value: {why}"));
        }
        let name = range.known.replace('_', " ");
        let label = drawing.x_label.clone().unwrap_or(name);
        let texts = x.iter().map(|value| digits(*value)).collect();
        let places =
            Places { label: with_unit(&label, &x_unit), kind: PlaceKind::Numbers(x), texts };
        let dimension = varied.columns.iter().find_map(|column| column.ty.dimension());
        let y_label = y_label(drawing, dimension, &unit, &curves);
        Ok(Self { places, curves, y_label })
    }

    /// The places with every curve, as a table.
    pub(crate) fn table(&self) -> DataTable {
        let unit = self.y_label.rsplit_once(" (").map(|(_, unit)| format!(" ({unit}"));
        let unit = unit.unwrap_or_default();
        let place = if self.places.label.is_empty() { "place" } else { &self.places.label };
        let mut heads = vec![place.to_owned()];
        heads.extend(self.curves.iter().map(|curve| format!("{}{unit}", curve.label)));
        let rows = (self.places.texts.iter().enumerate())
            .map(|(at, place)| {
                let of = |curve: &Curve| curve.values.get(at).map_or(String::new(), |v| digits(*v));
                std::iter::once(place.clone()).chain(self.curves.iter().map(of)).collect()
            })
            .collect();
        DataTable { heads, rows }
    }

    /// What is seen, in words: each curve from its least to its greatest value.
    pub(crate) fn description(&self) -> String {
        let mut out = String::new();
        if !self.places.label.is_empty() {
            out = format!("Along the horizontal axis: {}. ", self.places.label);
        }
        out.push_str(&format!("Up the vertical axis: {}.", self.y_label));
        for curve in &self.curves {
            if curve.level {
                let value = curve.values.first().map(|v| digits(*v)).unwrap_or_default();
                out.push_str(&format!(" {}: level at {value}.", curve.label));
                continue;
            }
            let order = |a: &(usize, &f64), b: &(usize, &f64)| a.1.total_cmp(b.1);
            let told = || curve.values.iter().enumerate().filter(|(_, value)| value.is_finite());
            let (Some(least), Some(most)) = (told().min_by(order), told().max_by(order)) else {
                continue;
            };
            let place = |at: usize| self.places.texts.get(at).cloned().unwrap_or_default();
            out.push_str(&format!(
                " {}: from {} at {} to {} at {}.",
                curve.label,
                digits(*least.1),
                place(least.0),
                digits(*most.1),
                place(most.0)
            ));
        }
        out
    }
}

impl Places {
    /// The places that a series gives.
    pub(crate) fn of(datum: &Datum, drawing: &Drawing, style: Style) -> Option<Self> {
        let Some(Value::Series(series)) = datum.value() else { return None };
        let label = drawing.x_label.clone().unwrap_or_else(|| datum.label.clone());
        if datum.ty().is_some_and(|ty| ty.dimension().is_some()) {
            let unit = datum.unit().cloned().unwrap_or(Unit::ONE);
            let values = numbers(datum.value()?, &unit);
            let texts = values.iter().map(|value| digits(*value)).collect();
            let label = with_unit(&label, &unit);
            return Some(Self { label, kind: PlaceKind::Numbers(values), texts });
        }
        let gap = Value::Text("".into());
        let values: Vec<Value> =
            (0..series.len()).map(|at| series.get(at).unwrap_or_else(|| gap.clone())).collect();
        Some(Self::of_values(&label, &values, drawing, style))
    }

    fn of_values(label: &str, values: &[Value], drawing: &Drawing, style: Style) -> Self {
        let label = drawing.x_label.clone().unwrap_or_else(|| label.to_owned());
        let texts: Vec<String> =
            values.iter().map(|value| style.value(value, Type::TEXT, None)).collect();
        let days: Vec<f64> = values
            .iter()
            .filter_map(|value| match value {
                Value::Date(date) => Some(day_number(
                    i64::from(date.year()),
                    i64::from(date.month()),
                    i64::from(date.day()),
                )),
                _ => None,
            })
            .collect();
        if days.len() == values.len() && !days.is_empty() {
            // A date says itself what it is.
            let label = if label == "date" || label == "day" { String::new() } else { label };
            return Self { label, kind: PlaceKind::Days(days), texts };
        }
        // Names say themselves what they are.
        let label = drawing.x_label.clone().unwrap_or_default();
        Self { label, kind: PlaceKind::Names, texts }
    }

    /// Places that are no more than the first, the second and so on.
    fn counted(length: usize, drawing: &Drawing) -> Self {
        let numbers: Vec<f64> = (1..=length).map(|at| at as f64).collect();
        let texts = (1..=length).map(|at| at.to_string()).collect();
        let label = drawing.x_label.clone().unwrap_or_else(|| "number in the series".to_owned());
        Self { label, kind: PlaceKind::Numbers(numbers), texts }
    }

    /// Their axis: it ends where they end, or, for points alone, at round numbers around them.
    pub(crate) fn axis(&self, close: bool) -> Axis {
        let label = self.label.clone();
        match &self.kind {
            PlaceKind::Numbers(numbers) if !close => Axis::rounded(label, numbers.iter().copied()),
            PlaceKind::Numbers(numbers) => Axis::close(label, numbers.iter().copied()),
            PlaceKind::Days(days) => Axis::dates(label, days),
            PlaceKind::Names => Axis::names(label, &self.texts),
        }
    }

    /// Where each place lies on its axis.
    pub(crate) fn positions(&self) -> Vec<f64> {
        match &self.kind {
            PlaceKind::Numbers(numbers) | PlaceKind::Days(numbers) => numbers.clone(),
            PlaceKind::Names => (0..self.texts.len()).map(|at| at as f64).collect(),
        }
    }
}

/// The numbers of a value in a unit; a gap is NaN.
pub(crate) fn numbers(value: &Value, unit: &Unit) -> Vec<f64> {
    match value {
        Value::Series(series) => (0..series.len())
            .map(|at| {
                let number = series.get(at).and_then(|value| value.as_number());
                number.map_or(f64::NAN, |si| unit.from_si(si))
            })
            .collect(),
        one => one.as_number().map(|si| unit.from_si(si)).into_iter().collect(),
    }
}

/// `flow (L/s)`; a plain number has no unit.
pub(crate) fn with_unit(label: &str, unit: &Unit) -> String {
    if *unit == Unit::ONE { label.to_owned() } else { format!("{label} ({})", unit.symbol()) }
}

/// A number in a table, to four digits at least; empty for a gap.
pub(crate) fn digits(value: f64) -> String {
    if value.fract() == 0.0 && value.abs() < 1e7 {
        return format!("{:.0}", value + 0.0);
    }
    // A level of 211.27 m keeps its centimetres.
    let wanted = if value.abs() >= 99.995 { 5 } else { 4 };
    format_significant(value, wanted).unwrap_or_default()
}

fn y_label(
    drawing: &Drawing,
    dimension: Option<Dimension>,
    unit: &Unit,
    curves: &[Curve],
) -> String {
    let label = drawing.y_label.clone().unwrap_or_else(|| match curves {
        [only] => only.label.clone(),
        _ => dimension
            .filter(|dimension| !dimension.is_plain())
            .map_or_else(|| "number".to_owned(), |dimension| dimension.to_string()),
    });
    with_unit(&label, unit)
}
