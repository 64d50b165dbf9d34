//! The one place where rows are computed: knowns in, cells and checks out. An executor that
//! computes many rows at once belongs behind [`Rows::compute`].

use forebay_sheet::worksheet::Level;
use forebay_sheet::{CellKind, Diagnostic, Sheet, Trouble, Type, Value, Verdict};
use forebay_units::money;

use crate::fault::Fault;

/// What one row gave.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The cells asked for, in the order asked.
    pub seen: Vec<Seen>,
    /// The checks that fail, as places in the list of checks.
    pub failing: Vec<usize>,
    /// The checks that cannot be told.
    pub unknown: Vec<usize>,
    /// The first thing that is doubtful in the whole sheet, as where a formula is used outside the
    /// range that its source vouches for.
    pub doubt: Option<String>,
}

/// A cell in one row.
#[derive(Clone, Debug, PartialEq)]
pub enum Seen {
    /// Its value.
    Value(Value),
    /// Why it has none.
    Missing(String),
}

/// A check that rows are judged by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judged {
    /// Its name.
    pub name: String,
    /// How grave a failure is.
    pub level: Level,
}

/// Computes rows on a sheet, and leaves the sheet as it was.
pub(crate) struct Rows<'s> {
    sheet: &'s mut Sheet,
    knowns: Vec<String>,
    see: Vec<String>,
    /// What the knowns were: value and text.
    before: Vec<(Value, String)>,
}

impl Seen {
    /// The value, if there is one.
    #[must_use]
    pub fn value(&self) -> Option<&Value> {
        match self {
            Self::Value(value) => Some(value),
            Self::Missing(_) => None,
        }
    }

    /// The number, if it is one.
    #[must_use]
    pub fn number(&self) -> Option<f64> {
        self.value().and_then(Value::as_number)
    }
}

/// The cells that are shown where none are named: the sheet's headline results, without those that
/// are there already.
///
/// # Errors
/// A sheet without headlines.
pub fn seen_by_default(sheet: &Sheet, there: &[&str]) -> Result<Vec<String>, Fault> {
    let names: Vec<String> = sheet
        .headlines()
        .filter(|cell| matches!(cell.ty(), Some(Type::One(_))))
        .filter(|cell| !there.contains(&cell.name()))
        .map(|cell| cell.name().to_owned())
        .collect();
    if !names.is_empty() {
        return Ok(names);
    }
    let work: Vec<&str> = sheet
        .cells()
        .filter(|cell| cell.kind() == CellKind::Work)
        .map(|cell| cell.name())
        .take(8)
        .collect();
    Err(Fault::call(
        "which results are wanted is not said",
        format!(
            "name them with --see, or under `show` in the sheet; there are {}",
            work.join(", ")
        ),
    ))
}

impl<'s> Rows<'s> {
    /// Looks at the names first, so that rows cannot fail for them.
    pub(crate) fn new(
        sheet: &'s mut Sheet,
        knowns: Vec<String>,
        see: &[String],
    ) -> Result<Self, Fault> {
        let mut before = Vec::with_capacity(knowns.len());
        for (at, name) in knowns.iter().enumerate() {
            if knowns[..at].contains(name) {
                return Err(Fault::call(format!("`{name}` is named twice"), ""));
            }
            let text = sheet.cell(name).map(|cell| cell.formula()).unwrap_or_default();
            before.push((known_value(sheet, name)?, text));
        }
        for name in see {
            let cell = sheet.cell(name).filter(|cell| cell.kind() != CellKind::Check);
            let Some(cell) = cell else {
                let cells = sheet.cells().filter(|cell| cell.kind() != CellKind::Check);
                return Err(Fault::no_such("cell", name, cells.map(|cell| cell.name())));
            };
            if let Some(ty @ Type::Series(_)) = cell.ty() {
                return Err(Fault::call(
                    format!("`{name}` is a {ty}, and a row has one value"),
                    "name a cell that sums it up",
                ));
            }
        }
        Ok(Self { sheet, knowns, see: see.to_vec(), before })
    }

    /// One row: a value for each known.
    ///
    /// # Errors
    /// A value that does not fit its known; the sheet is as it was before then.
    pub(crate) fn compute(&mut self, values: &[Value]) -> Result<Row, Box<Diagnostic>> {
        let named: Vec<(&str, Value)> =
            self.knowns.iter().map(String::as_str).zip(values.iter().cloned()).collect();
        self.sheet.set_values(&named)?;
        Ok(self.now())
    }

    /// The row as the sheet stands.
    pub(crate) fn now(&self) -> Row {
        let seen = self.see.iter().map(|name| seen(self.sheet, name)).collect();
        let (mut failing, mut unknown) = (Vec::new(), Vec::new());
        for (at, check) in self.sheet.checks().enumerate() {
            match check.verdict() {
                Verdict::Holds => {}
                Verdict::Fails => failing.push(at),
                Verdict::Unknown => unknown.push(at),
            }
        }
        let doubt = self.sheet.cells().find_map(|cell| {
            let first = cell.warnings().first()?;
            Some(format!("{}: {}", cell.name(), first.message))
        });
        Row { seen, failing, unknown, doubt }
    }

    pub(crate) fn sheet(&mut self) -> &mut Sheet {
        self.sheet
    }
}

impl Drop for Rows<'_> {
    fn drop(&mut self) {
        // With their texts, so that they are shown as they are written; a text that stands for
        // another value, as one cut to a few digits may, gives way to the value itself.
        for (name, (value, text)) in self.knowns.iter().zip(&self.before) {
            let same = self.sheet.value_for(name, text).is_ok_and(|read| read == *value)
                && self.sheet.set(name, text).is_ok();
            if !same {
                // It was in force before, so it fits.
                let _ = self.sheet.set_values(&[(name, value.clone())]);
            }
        }
    }
}

/// A cell's value, or the root of why it has none.
pub(crate) fn seen(sheet: &Sheet, name: &str) -> Seen {
    const FURTHEST: usize = 64;
    let Some(cell) = sheet.cell(name) else { return Seen::Missing("no such cell".to_owned()) };
    if let Some(value) = cell.value() {
        return Seen::Value(value.clone());
    }
    // What a waiting cell waits for says more than that it waits.
    let (mut at, mut way) = (cell, name.to_owned());
    for _ in 0..FURTHEST {
        match at.trouble() {
            Some(Trouble::Waiting(on)) => {
                let next = on.first().and_then(|first| sheet.cell(first));
                let Some(next) = next else { break };
                way = next.name().to_owned();
                at = next;
            }
            Some(Trouble::Failed(why)) if way == name => {
                return Seen::Missing(why.message.clone());
            }
            Some(Trouble::Failed(why)) => {
                return Seen::Missing(format!("{way}: {}", why.message));
            }
            _ => break,
        }
    }
    Seen::Missing(format!("{way} is broken: see the errors of the sheet"))
}

/// The checks of a sheet in order.
pub(crate) fn judged(sheet: &Sheet) -> Vec<Judged> {
    let one = |check: forebay_sheet::Cell<'_>| Judged {
        name: check.name().to_owned(),
        level: check.check().map_or(Level::Care, |check| check.level),
    };
    sheet.checks().map(one).collect()
}

/// The gravest of the checks named by their places; the first one among equals.
#[must_use]
pub fn gravest<'c>(checks: &'c [Judged], failing: &[usize]) -> Option<&'c Judged> {
    let mut found: Option<&Judged> = None;
    for check in failing.iter().filter_map(|at| checks.get(*at)) {
        if found.is_none_or(|before| check.level > before.level) {
            found = Some(check);
        }
    }
    found
}

/// A number of SI as a value of a type; `None` where the type holds no numbers or the number is no
/// amount.
pub(crate) fn number_as(ty: Type, si: f64) -> Option<Value> {
    if ty.scalar().is_money() {
        money::from_number(si).map(Value::Money)
    } else {
        (ty.dimension().is_some() && si.is_finite()).then_some(Value::Number(si))
    }
}

/// The present value of a known.
pub(crate) fn known_value(sheet: &Sheet, name: &str) -> Result<Value, Fault> {
    let Some(cell) = sheet.cell(name) else {
        let knowns = sheet.cells().filter(|cell| cell.kind() == CellKind::Known);
        return Err(Fault::no_such("known", name, knowns.map(|cell| cell.name())));
    };
    if !cell.is_settable() {
        return Err(Fault::call(
            format!("`{name}` is worked out and cannot be set"),
            "name one of the knowns that it reads (`forebay working`)",
        ));
    }
    cell.value().cloned().ok_or_else(|| {
        Fault::call(format!("`{name}` has no value in the sheet"), "give it one first")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sheet_is_left_as_it_was() {
        let mut sheet = Sheet::open(
            "forebay: 1\nknown:\n  a: 315 mm\n  b: 2 m\nwork:\n  c: a + b\n  d: sqrt(a / b)\n",
        );
        // One known set to a text, one to a bare value with more digits than are shown.
        sheet.set("a", "12.50 cm").unwrap();
        sheet.set_values(&[("b", Value::Number(1.0 / 3.0))]).unwrap();
        let all = |sheet: &Sheet| -> Vec<(String, Option<Value>)> {
            sheet.cells().map(|cell| (cell.shown(), cell.value().cloned())).collect()
        };
        let before = all(&sheet);
        let knowns = vec!["a".to_owned(), "b".to_owned()];
        let mut rows = Rows::new(&mut sheet, knowns, &["c".to_owned(), "d".to_owned()]).unwrap();
        let row = rows.compute(&[Value::Number(-1.0), Value::Number(3.0)]).unwrap();
        assert_eq!(row.seen[0].number(), Some(2.0));
        assert!(row.seen[1].value().is_none());
        assert!(rows.compute(&[Value::Truth(true), Value::Number(3.0)]).is_err());
        drop(rows);
        assert_eq!(all(&sheet), before);
    }
}
