//! A sheet over a range or a list of one known, or over every pair of two.

use forebay_sheet::{Items, Sheet, Type, Value};
use forebay_units::Unit;

use crate::GoOn;
use crate::columns::{Column, column_of, largest};
use crate::fault::Fault;
use crate::rows::{Judged, Pace, Row, Rows, gravest, judged, known_value, number_as};

/// More points than this are a slip of the pen.
const MOST_POINTS: usize = 1_000_000;

/// A known and the values it takes one after the other.
#[derive(Clone, Debug)]
pub struct Axis {
    /// The known.
    pub known: String,
    /// Its values.
    pub points: Vec<Value>,
    /// What they are.
    pub ty: Type,
    /// The unit they were written in.
    pub unit: Option<Unit>,
}

/// What varying gave.
#[derive(Clone, Debug)]
pub struct Varied {
    /// The knowns that were varied; the last one runs fastest.
    pub axes: Vec<Axis>,
    /// The cells seen.
    pub columns: Vec<Column>,
    /// The checks of the sheet.
    pub checks: Vec<Judged>,
    /// The rows computed.
    pub rows: Vec<VariedRow>,
    /// How many there would be; more than `rows` where the work was stopped.
    pub total: u64,
}

/// One row.
#[derive(Clone, Debug)]
pub struct VariedRow {
    /// The values of the knowns.
    pub at: Vec<Value>,
    /// What they gave.
    pub row: Row,
}

impl Varied {
    /// The gravest check that fails in a row.
    #[must_use]
    pub fn gravest(&self, row: &VariedRow) -> Option<&Judged> {
        gravest(&self.checks, &row.row.failing)
    }
}

/// Reads `bore=150 mm..300 mm/31`: a known with a range and its number of points (both ends are
/// points; 11 where none is said), or with a list or a table's column, `bore=[150 mm, 200 mm]`,
/// `bore=pipes.bore`.
///
/// # Errors
/// No such known, or values that do not fit it.
pub fn axis(sheet: &mut Sheet, text: &str) -> Result<Axis, Fault> {
    const USUAL: usize = 11;
    let Some((known, values)) = text.split_once('=') else {
        return Err(Fault::call(
            format!("`{text}` says no values"),
            "write a range or a list, such as \"bore=150 mm..300 mm/31\" or \"bore=[150 mm, 200 mm]\"",
        ));
    };
    let (known, values) = (known.trim().to_owned(), values.trim());
    known_value(sheet, &known)?;
    let ty = sheet.cell(&known).and_then(|cell| cell.ty()).unwrap_or(Type::PLAIN);
    let Some((from, to)) = values.split_once("..") else {
        return listed(sheet, known, ty, values);
    };
    let (to, count) = match to.rsplit_once('/') {
        Some((to, count)) if count.trim().bytes().all(|b| b.is_ascii_digit()) => {
            (to, count.trim().parse().unwrap_or(usize::MAX))
        }
        _ => (to, USUAL),
    };
    if count == 0 || count > MOST_POINTS {
        return Err(Fault::call(
            format!("{count} points cannot be computed"),
            format!("say how many behind the range, from 1 to {MOST_POINTS}: \"…/31\""),
        ));
    }
    let unit = unit_of(sheet, from);
    let (first, last) =
        (sheet.value_for(&known, from.trim())?, sheet.value_for(&known, to.trim())?);
    if count == 1 && first != last {
        return Err(Fault::call("one point is no range", "say at least two: \"…/2\""));
    }
    let (Some(low), Some(high)) = (first.as_number(), last.as_number()) else {
        return Err(Fault::call(
            format!("`{known}` holds no number"),
            "give a list: \"kind=[steel, plastic]\"",
        ));
    };
    let place = |at: usize| low + (high - low) * (at as f64 / (count - 1) as f64);
    let inner = (1..count.saturating_sub(1)).filter_map(|at| number_as(ty, place(at)));
    // The ends are exactly those written.
    let mut points = vec![first];
    points.extend(inner);
    points.extend((count > 1).then_some(last));
    Ok(Axis { known, points, ty, unit })
}

/// The unit that a value is written in.
fn unit_of(sheet: &mut Sheet, text: &str) -> Option<Unit> {
    sheet.eval(text.trim()).ok()?.unit()
}

fn listed(sheet: &mut Sheet, known: String, ty: Type, text: &str) -> Result<Axis, Fault> {
    let answer = match sheet.eval(text) {
        Ok(answer) => answer,
        // A bare word is a text where the known is one.
        Err(refused) => match sheet.value_for(&known, text) {
            Ok(value) => return Ok(Axis { known, points: vec![value], ty, unit: None }),
            Err(_) => return Err(Fault::Refused(refused)),
        },
    };
    if answer.ty.scalar() != ty.scalar() {
        return Err(Fault::call(
            format!("`{known}` is {ty}, and `{text}` is {}", answer.ty),
            "give values of the same kind",
        ));
    }
    let unit = answer.unit();
    let points: Vec<Value> = match &answer.value {
        Value::Series(series) => {
            let written = list_unit(sheet, text, series.get(0).as_ref())
                .or_else(|| sheet.cell(&known).and_then(|cell| cell.unit()));
            let points = (0..series.len()).filter_map(|at| series.get(at)).collect();
            return match series.items {
                Items::Numbers(_) => Ok(Axis { known, points, ty, unit: written.or(unit) }),
                Items::Values(_) => Ok(Axis { known, points, ty, unit: None }),
            };
        }
        one => vec![one.clone()],
    };
    Ok(Axis { known, points, ty, unit })
}

/// The unit that the first value of a list is written in.
fn list_unit(sheet: &mut Sheet, text: &str, first: Option<&Value>) -> Option<Unit> {
    let inside = text.trim().strip_prefix('[')?;
    let one = inside.split([',', ']']).next()?;
    let answer = sheet.eval(one.trim()).ok()?;
    (Some(&answer.value) == first).then(|| answer.unit()).flatten()
}

/// Computes the sheet at every point, or every pair of points.
///
/// # Errors
/// Names that are no cells, and more points than can be computed.
pub fn vary(
    sheet: &mut Sheet,
    axes: Vec<Axis>,
    see: &[String],
    go_on: &mut GoOn<'_>,
) -> Result<Varied, Fault> {
    let knowns = axes.iter().map(|axis| axis.known.clone()).collect();
    let checks = judged(sheet);
    let total = axes.iter().try_fold(1_usize, |n, axis| n.checked_mul(axis.points.len()));
    let Some(total) = total.filter(|total| *total <= MOST_POINTS && !axes.is_empty()) else {
        return Err(Fault::call(
            format!("more than {MOST_POINTS} points cannot be computed at once"),
            "take fewer, or write them into a table and use `forebay each`",
        ));
    };
    let mut rows = Rows::new(sheet, knowns, see)?;
    let mut done = Vec::with_capacity(total);
    let mut pace = Pace::new(1 << 14);
    'points: while done.len() < total {
        let next = done.len()..total.min(done.len() + pace.rows());
        let points: Vec<Vec<Value>> = next.map(|number| point(&axes, number)).collect();
        pace.begin();
        let computed = rows.compute_all(&points);
        pace.done();
        for (at, row) in points.into_iter().zip(computed) {
            done.push(VariedRow { at, row: row? });
            if !go_on(done.len() as u64, total as u64) {
                break 'points;
            }
        }
    }
    let columns = see
        .iter()
        .enumerate()
        .filter_map(|(at, name)| {
            let values = done.iter().filter_map(|row| row.row.seen.get(at)?.value());
            let size = largest(values);
            rows.sheet().cell(name).map(|cell| column_of(&cell, size))
        })
        .collect();
    drop(rows);
    Ok(Varied { axes, columns, checks, rows: done, total: total as u64 })
}

/// The values of a point, the last known running fastest.
fn point(axes: &[Axis], number: usize) -> Vec<Value> {
    let mut rest = number;
    let mut at: Vec<Value> = Vec::with_capacity(axes.len());
    for axis in axes.iter().rev() {
        at.extend(axis.points.get(rest % axis.points.len()).cloned());
        rest /= axis.points.len();
    }
    at.reverse();
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_doubtful_in_a_row_is_told() {
        let mut sheet = Sheet::open(
            "forebay: 1\nknown:\n  a: { is: 1 m, between: [0.5 m, 2 m] }\nwork:\n  b: 2 * a\n",
        );
        let a = axis(&mut sheet, "a=1 m..3 m/2").unwrap();
        let varied = vary(&mut sheet, vec![a], &["b".to_owned()], &mut |_, _| true).unwrap();
        assert_eq!(varied.rows[0].row.doubt, None);
        let doubt = varied.rows[1].row.doubt.as_deref().unwrap();
        assert!(doubt.starts_with("a: ") && doubt.contains("outside"), "{doubt}");
    }

    #[test]
    fn both_ends_are_points_and_the_last_known_runs_fastest() {
        let mut sheet = Sheet::open("forebay: 1\nknown:\n  a: 1 m\n  b: 1\nwork:\n  c: a * b\n");
        let axes =
            vec![axis(&mut sheet, "a=1 m..2 m/3").unwrap(), axis(&mut sheet, "b=[1, 10]").unwrap()];
        let varied = vary(&mut sheet, axes, &["c".to_owned()], &mut |_, _| true).unwrap();
        let found: Vec<f64> =
            varied.rows.iter().filter_map(|row| row.row.seen[0].number()).collect();
        assert_eq!(found, [1.0, 10.0, 1.5, 15.0, 2.0, 20.0]);
        let axes = vec![axis(&mut sheet, "a=1 m..2 m/3").unwrap()];
        let stopped = vary(&mut sheet, axes, &["c".to_owned()], &mut |done, _| done < 2).unwrap();
        assert_eq!((stopped.rows.len(), stopped.total), (2, 3));
    }
}
