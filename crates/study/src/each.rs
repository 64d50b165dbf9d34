//! A sheet over the rows of a table, one row in and one row out, with constant memory.

use forebay_sheet::worksheet::Level;
use forebay_sheet::{CellKind, Sheet, Type, Value};
use forebay_units::{Dimension, Unit, number_and_unit};

use crate::columns::{Column, column_of};
use crate::fault::Fault;
use crate::rows::{Judged, Pace, Row, Rows, Seen, gravest, judged, number_as};

/// So many rows are held at once at most: enough to keep all processors at work.
const MOST_AT_ONCE: usize = 2048;

/// A sheet that is computed for one row after the other.
pub struct Each<'s> {
    rows: Rows<'s>,
    /// What each column of the table is.
    columns: Vec<Incoming>,
    heads: Vec<String>,
    see: Vec<Column>,
    checks: Vec<Judged>,
    pace: Pace,
}

/// A column of the table.
#[derive(Clone, Debug)]
enum Incoming {
    /// A known of the sheet.
    Known(Given),
    /// Anything else, which is carried through.
    Carried,
}

/// A known that a column gives.
#[derive(Clone, Debug)]
struct Given {
    name: String,
    ty: Type,
    /// The unit of bare numbers, from the head of the column.
    unit: Option<Unit>,
}

/// One row of the table as it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableRow {
    /// Its fields.
    pub fields: Vec<String>,
    /// Why they cannot be used, where they were not read soundly.
    pub trouble: Option<String>,
}

/// What one row of the table gave.
#[derive(Clone, Debug, PartialEq)]
pub struct EachRow {
    /// The cells and checks; `None` where the row could not be put into the sheet.
    pub row: Option<Row>,
    /// Why the row is kept apart: a value that cannot be used, a result without value, or a check
    /// of level `stop` that fails.
    pub trouble: Option<String>,
}

impl<'s> Each<'s> {
    /// Reads the head of the table: names of knowns, optionally with the unit of the numbers below
    /// in brackets, `flow [L/s]`. Other columns are carried through.
    ///
    /// # Errors
    /// A head that gives no known, names one twice or one that is worked out, or gives a unit that
    /// does not fit; cells to see that are none, or that the table has as columns.
    pub fn new(sheet: &'s mut Sheet, heads: &[String], see: &[String]) -> Result<Self, Fault> {
        let mut columns = Vec::with_capacity(heads.len());
        let mut knowns = Vec::new();
        for head in heads {
            let column = incoming(sheet, head, see)?;
            if let Incoming::Known(given) = &column {
                knowns.push(given.name.clone());
            }
            columns.push(column);
        }
        if knowns.is_empty() {
            let all: Vec<&str> = sheet
                .cells()
                .filter(|cell| cell.kind() == CellKind::Known)
                .map(|cell| cell.name())
                .take(12)
                .collect();
            return Err(Fault::call(
                "no column of the table bears the name of a known",
                format!(
                    "its first line names them, with commas between; there are {}",
                    all.join(", ")
                ),
            ));
        }
        let see_columns = see
            .iter()
            .filter_map(|name| sheet.cell(name).map(|cell| column_of(&cell, None)))
            .collect();
        let checks = judged(sheet);
        let rows = Rows::new(sheet, knowns, see)?;
        Ok(Self {
            rows,
            columns,
            heads: heads.to_vec(),
            see: see_columns,
            checks,
            pace: Pace::new(MOST_AT_ONCE),
        })
    }

    /// The heads of the table as they came in.
    #[must_use]
    pub fn heads(&self) -> &[String] {
        &self.heads
    }

    /// The columns that come out behind them.
    #[must_use]
    pub fn columns(&self) -> &[Column] {
        &self.see
    }

    /// The checks that rows are judged by.
    #[must_use]
    pub fn checks(&self) -> &[Judged] {
        &self.checks
    }

    /// The columns that are carried through.
    pub fn carried(&self) -> impl Iterator<Item = &str> {
        let both = self.columns.iter().zip(&self.heads);
        both.filter(|(column, _)| matches!(column, Incoming::Carried))
            .map(|(_, head)| head.as_str())
    }

    /// How many rows are best given at once, so that the caller hears back about ten times a
    /// second.
    #[must_use]
    pub fn rows_at_once(&self) -> usize {
        self.pace.rows()
    }

    /// Computes rows of the table; as many come out as go in.
    pub fn rows(&mut self, table: &[TableRow]) -> Vec<EachRow> {
        self.pace.begin();
        let mut values = Vec::with_capacity(table.len());
        let mut taken = Vec::with_capacity(table.len());
        for row in table {
            let read = match &row.trouble {
                Some(trouble) => Err(trouble.clone()),
                None => self.take_in(&row.fields),
            };
            taken.push(match read {
                Ok(row) => {
                    values.push(row);
                    None
                }
                Err(trouble) => Some(trouble),
            });
        }
        let mut computed = self.rows.compute_all(&values).into_iter();
        let mut row = |trouble: Option<String>| {
            let refused = |trouble| EachRow { row: None, trouble: Some(trouble) };
            if let Some(trouble) = trouble {
                return refused(trouble);
            }
            match computed.next() {
                Some(Ok(row)) => EachRow { trouble: self.trouble_of(&row), row: Some(row) },
                Some(Err(diagnostic)) => refused(diagnostic.message),
                None => refused("it was not computed".to_owned()),
            }
        };
        let rows = taken.into_iter().map(&mut row).collect();
        self.pace.done();
        rows
    }

    /// The values of the row, or why they cannot be used.
    fn take_in(&mut self, fields: &[String]) -> Result<Vec<Value>, String> {
        let expected = self.heads.len();
        if fields.len() != expected {
            let (found, s) = (fields.len(), if fields.len() == 1 { "" } else { "s" });
            return Err(format!("the row has {found} field{s}, the head {expected}"));
        }
        let mut values = Vec::with_capacity(self.columns.len());
        for (column, field) in self.columns.iter().zip(fields) {
            if let Incoming::Known(given) = column {
                let value = given.value(field, self.rows.sheet());
                values.push(value.map_err(|why| format!("{}: {why}", given.name))?);
            }
        }
        Ok(values)
    }

    fn trouble_of(&self, row: &Row) -> Option<String> {
        for (seen, column) in row.seen.iter().zip(&self.see) {
            if let Seen::Missing(why) = seen {
                return Some(format!("{} has no value: {why}", column.name));
            }
        }
        let gravest = gravest(&self.checks, &row.failing)?;
        (gravest.level == Level::Stop).then(|| format!("stop: {} fails", gravest.name))
    }
}

impl Given {
    fn value(&self, field: &str, sheet: &mut Sheet) -> Result<Value, String> {
        let field = field.trim();
        if field.is_empty() {
            return Err("the value is missing".to_owned());
        }
        // A number in the column's unit, or with a unit of its own: the way of almost all rows.
        if let (Type::One(_), Some(dimension)) = (self.ty, self.ty.dimension()) {
            let read = number_and_unit(field);
            let (number, own) = read.map_err(|error| format!("`{field}`: {error}"))?;
            let unit = self.unit.as_ref().filter(|_| own == Unit::ONE).unwrap_or(&own);
            let si = in_unit(number, unit, dimension, field)?;
            return number_as(self.ty, si).ok_or_else(|| format!("`{field}` is too large"));
        }
        // What is no number is read, or refused, as the sheet does it.
        sheet.value_for(&self.name, field).map_err(|refused| refused.message)
    }
}

fn in_unit(number: f64, unit: &Unit, dimension: Dimension, field: &str) -> Result<f64, String> {
    if dimension.alike(unit.dimension()).is_err() {
        return Err(if *unit == Unit::ONE {
            format!("`{field}` has no unit, and {dimension} is wanted")
        } else {
            format!("`{field}` is {}, and {dimension} is wanted", unit.dimension())
        });
    }
    let si = unit.to_si(number);
    if dimension.is_absolute() && si < 0.0 {
        return Err(format!("`{field}` lies below the zero of its scale"));
    }
    if si.is_finite() { Ok(si) } else { Err(format!("`{field}` is too large")) }
}

/// The name in the head of a column, `flow` of `flow [L/s]`.
#[must_use]
pub fn name_of_head(head: &str) -> &str {
    split_head(head).0
}

fn split_head(head: &str) -> (&str, Option<&str>) {
    match head.trim().strip_suffix(']').and_then(|head| head.split_once('[')) {
        Some((name, unit)) => (name.trim(), Some(unit.trim())),
        None => (head.trim(), None),
    }
}

/// What a column of the table is.
fn incoming(sheet: &Sheet, head: &str, see: &[String]) -> Result<Incoming, Fault> {
    let (name, unit) = split_head(head);
    if see.iter().any(|seen| seen == name) {
        return Err(Fault::call(
            format!("`{name}` is a column of the table and is to come out too"),
            "rename the column, or leave the cell out of --see",
        ));
    }
    let Some(cell) = sheet.cell(name) else { return Ok(Incoming::Carried) };
    if !cell.is_settable() {
        return Ok(Incoming::Carried);
    }
    let Some(ty) = cell.ty() else {
        return Err(Fault::call(
            format!("`{name}` has no value in the sheet"),
            "give it one first",
        ));
    };
    let unit = unit.filter(|unit| !unit.is_empty()).map(|text| -> Result<Unit, Fault> {
        let unit = Unit::parse(text)
            .map_err(|error| Fault::call(format!("column `{head}`: {error}"), error.help()))?;
        let wanted = ty.dimension().ok_or_else(|| {
            Fault::call(format!("column `{head}`: `{name}` is {ty} and has no unit"), "")
        })?;
        wanted.alike(unit.dimension()).map_err(|_| {
            Fault::call(
                format!(
                    "column `{head}`: `{name}` is {wanted}, and `{text}` measures {}",
                    unit.dimension()
                ),
                "correct the unit in the head of the column",
            )
        })?;
        Ok(unit)
    });
    Ok(Incoming::Known(Given { name: name.to_owned(), ty, unit: unit.transpose()? }))
}

/// The rows that a part takes of `rows` rows, counted from 0: part `part` of `parts`, from 1. Parts
/// follow one another, so that their outputs put together in order are the whole.
#[must_use]
pub fn part_of(rows: u64, part: u64, parts: u64) -> std::ops::Range<u64> {
    let bound = |part: u64| {
        let share = u128::from(rows) * u128::from(part) / u128::from(parts.max(1));
        // At most `rows` for a part that is one of them.
        u64::try_from(share).unwrap_or(rows)
    };
    bound(part.saturating_sub(1))..bound(part)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHEET: &str = "forebay: 1
currency: EUR
known:
  flow: 40 L/s
  head: 3 m
  share: 60 %
  water: 8 degC
  kind: steel
  cost: 900.00 EUR
work:
  power: share * water_power(flow, head)
check:
  enough: { that: power > 100 W, level: stop }
";

    fn each(heads: &[&str], rows: &[&[&str]]) -> Result<Vec<EachRow>, String> {
        let mut sheet = Sheet::open(SHEET);
        let heads: Vec<String> = heads.iter().map(|head| (*head).to_owned()).collect();
        let see = vec!["power".to_owned()];
        let mut each = Each::new(&mut sheet, &heads, &see).map_err(|fault| fault.to_string())?;
        let row = |fields: &&[&str]| TableRow {
            fields: fields.iter().map(|field| (*field).to_owned()).collect(),
            trouble: None,
        };
        Ok(each.rows(&rows.iter().map(row).collect::<Vec<_>>()))
    }

    #[test]
    fn numbers_take_the_unit_of_the_head_or_their_own() {
        let rows = each(
            &["site", "flow [L/s]", "share [%]", "cost [EUR]", "kind"],
            &[
                &["a", "40", "60", "12.50", "steel"],
                &["b", "0.04 m3/s", "60 %", "12.50 EUR", "wood"],
                &["c", "4e1", "60", "1", "steel"],
            ],
        )
        .unwrap();
        let first = rows[0].row.as_ref().unwrap().seen[0].number().unwrap();
        // By hand: 0.6 · 999.85 kg/m³ · 9.80665 m/s² · 0.04 m³/s · 3 m is about 706 W; the density of
        // water at 8 °C from memory.
        assert!((first - 706.0).abs() < 1.0, "{first}");
        for row in &rows {
            assert_eq!(row.trouble, None);
            let power = row.row.as_ref().unwrap().seen[0].number().unwrap();
            assert!((first - power).abs() < 1e-12 * first);
        }
    }

    #[test]
    fn a_row_that_cannot_be_used_says_why_and_the_next_one_is_computed() {
        let rows = each(
            &["flow [L/s]", "head", "water [degC]"],
            &[
                &["40", "3 m", "8"],
                &["40", "", "8"],
                &["40", "3 L", "8"],
                &["forty", "3 m", "8"],
                &["40", "3", "8"],
                &["40", "3 m"],
                &["40", "3 m", "-400"],
                &["1", "3 m", "8"],
                &["40", "-3 m", "8"],
                &["40", "3 m", "8"],
            ],
        )
        .unwrap();
        let troubles: Vec<&str> =
            rows.iter().map(|row| row.trouble.as_deref().unwrap_or("")).collect();
        let expected = [
            "",
            "head: the value is missing",
            "head: `3 L` is volume, and length is wanted",
            "flow: `forty`: a number was expected",
            "head: `3` has no unit, and length is wanted",
            "the row has 2 fields, the head 3",
            "below the zero",
            "stop: enough fails",
            "power has no value: `water_power`",
            "",
        ];
        for (trouble, expected) in troubles.iter().zip(expected) {
            assert!(trouble.contains(expected), "{trouble} / {expected}");
            assert_eq!(trouble.is_empty(), expected.is_empty(), "{trouble}");
        }
        assert_eq!(rows[0], rows[9]);
    }

    #[test]
    fn heads_that_do_not_fit_are_refused() {
        let check = |heads: &[&str], words: &str| {
            let refused = each(heads, &[]).unwrap_err();
            assert!(refused.contains(words), "{heads:?}: {refused}");
        };
        check(&["site", "flw [L/s]"], "no column");
        check(&["flow [m]"], "measures length");
        check(&["flow [lites]"], "lites");
        check(&["flow", "flow [L/s]"], "twice");
        check(&["flow", "power"], "is to come out too");
        check(&["flow", "kind [m]"], "has no unit");
    }

    #[test]
    fn parts_follow_one_another_without_gap() {
        for (rows, parts) in [(0, 3), (1, 3), (10, 3), (1_000_003, 8)] {
            let mut next = 0;
            for part in 1..=parts {
                let range = part_of(rows, part, parts);
                assert_eq!(range.start, next);
                assert!(range.end - range.start <= rows / parts + 1);
                next = range.end;
            }
            assert_eq!(next, rows);
        }
    }
}
