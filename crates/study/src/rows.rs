//! The one place where rows are computed: knowns in, cells and checks out. Many rows are computed
//! side by side and by all processors that there are; each comes out as it does alone.

use std::ops::Range;
use std::thread;
use std::time::{Duration, Instant};

use forebay_sheet::worksheet::Level;
use forebay_sheet::{Batch, Block, CellKind, Diagnostic, Sheet, Trouble, Type, Value, Verdict};
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
    threads: usize,
}

/// Fewer rows than this are not worth making the sheet ready for.
const FEW: usize = 8;

/// How many rows are computed before the caller is asked whether to go on: as many as take about a
/// tenth of a second. The results do not depend on it.
pub(crate) struct Pace {
    rows: usize,
    most: usize,
    since: Instant,
}

impl Pace {
    /// Never more than `most` at once, which bounds the memory.
    pub(crate) fn new(most: usize) -> Self {
        Self { rows: Batch::ROWS, most, since: Instant::now() }
    }

    /// How many rows to compute at once.
    pub(crate) fn rows(&self) -> usize {
        self.rows
    }

    /// They are about to be computed.
    pub(crate) fn begin(&mut self) {
        self.since = Instant::now();
    }

    /// They have been computed.
    pub(crate) fn done(&mut self) {
        let took = self.since.elapsed();
        if took < Duration::from_millis(50) {
            self.rows = self.most.min(self.rows * 2);
        } else if took > Duration::from_millis(200) {
            self.rows = FEW.max(self.rows / 2);
        }
    }
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
        let threads = thread::available_parallelism().map_or(1, usize::from);
        Ok(Self { sheet, knowns, see: see.to_vec(), before, threads })
    }

    /// So many threads; the rows are the same for any number of them.
    pub(crate) fn on_threads(&mut self, threads: usize) {
        self.threads = threads.max(1);
    }

    /// Many rows: values for the knowns in the order of the knowns.
    pub(crate) fn compute_all(&mut self, rows: &[Vec<Value>]) -> Vec<Result<Row, Box<Diagnostic>>> {
        if rows.len() < FEW {
            return rows.iter().map(|row| self.compute(row)).collect();
        }
        let batch = self.batch();
        let standing = self.standing(batch.as_ref());
        let plain = self.side_by_side(
            batch.as_ref(),
            rows.len(),
            |block, range, fits| {
                for (at, row) in rows[range].iter().enumerate() {
                    let set = |(known, value)| block.set(known, at, value);
                    fits[at] = row.iter().enumerate().map(set).fold(true, |all, set| all & set);
                }
            },
            |block, range, plain| -> Vec<Option<Row>> {
                let row = |at: usize| plain[at].then(|| standing.row(block, at));
                (0..range.len()).map(row).collect()
            },
        );
        let alone = |(row, plain): (&Vec<Value>, Option<Row>)| match plain {
            Some(plain) => Ok(plain),
            None => self.compute(row),
        };
        let plain = plain.into_iter().flat_map(|(range, rows)| match rows {
            Some(rows) => rows,
            None => range.map(|_| None).collect(),
        });
        rows.iter().zip(plain).map(alone).collect()
    }

    /// Many rows of bare numbers: a column of SI numbers for each known, all of one length, with
    /// NaN where a number cannot be.
    pub(crate) fn numbers(&mut self, given: &[Vec<f64>]) -> NumberRows {
        let count = given.first().map_or(0, Vec::len);
        let types: Vec<Option<Type>> =
            self.knowns.iter().map(|known| self.sheet.cell(known).and_then(|c| c.ty())).collect();
        let value =
            |known: usize, row: usize| types[known].and_then(|ty| number_as(ty, given[known][row]));
        let batch = self.batch();
        let standing = self.standing(batch.as_ref());
        let same: Vec<f64> =
            standing.seen.iter().map(|seen| seen.number().unwrap_or(f64::NAN)).collect();
        let checks = standing.verdicts.len();
        let blocks = self.side_by_side(
            batch.as_ref(),
            count,
            |block, range, fits| {
                for (known, column) in given.iter().enumerate() {
                    let column = &column[range.clone()];
                    if let Some(numbers) = block.numbers_mut(known) {
                        numbers[..column.len()].copy_from_slice(column);
                        for (fits, number) in fits.iter_mut().zip(column) {
                            *fits &= number.is_finite();
                        }
                        continue;
                    }
                    for (at, row) in range.clone().enumerate() {
                        fits[at] &= value(known, row).is_some_and(|v| block.set(known, at, &v));
                    }
                }
            },
            |block, range, plain| {
                let mut out = NumberRows::new(same.len(), checks);
                for (see, (column, same)) in out.columns.iter_mut().zip(&same).enumerate() {
                    match block.numbers(see) {
                        Some(numbers) => column.extend_from_slice(&numbers[..range.len()]),
                        None => column.extend((0..range.len()).map(|row| {
                            block.value(see, row).and_then(|v| v.as_number()).unwrap_or(*same)
                        })),
                    }
                }
                for (check, same) in standing.verdicts.iter().enumerate() {
                    for row in (0..range.len()).filter(|row| plain[*row]) {
                        out.judge(check, block.verdict(check, row).unwrap_or(*same));
                    }
                }
                out.alone.extend(range.filter(|row| !plain[row % Batch::ROWS]));
                out
            },
        );
        let mut all = NumberRows::new(same.len(), checks);
        for (range, block) in blocks {
            match block {
                Some(block) => all.append(block),
                None => {
                    all.columns.iter_mut().for_each(|c| c.extend(range.clone().map(|_| f64::NAN)));
                    all.alone.extend(range);
                }
            }
        }
        for row in std::mem::take(&mut all.alone) {
            let values: Option<Vec<Value>> =
                (0..given.len()).map(|known| value(known, row)).collect();
            let computed = values.and_then(|values| self.compute(&values).ok());
            for (see, column) in all.columns.iter_mut().enumerate() {
                let number = computed.as_ref().and_then(|row| row.seen.get(see)?.number());
                column[row] = number.unwrap_or(f64::NAN);
            }
            for check in 0..checks {
                all.judge(
                    check,
                    match &computed {
                        Some(row) if row.failing.contains(&check) => Verdict::Fails,
                        Some(row) if !row.unknown.contains(&check) => Verdict::Holds,
                        _ => Verdict::Unknown,
                    },
                );
            }
        }
        all
    }

    /// Computes rows side by side, a block at a time. `fill` puts the knowns of a range of rows into
    /// a block and says which rows it could not; `take` makes something of the block, told in which
    /// rows all is well. The others are to be computed alone. `None` for blocks that were not
    /// computed at all.
    fn side_by_side<T: Send>(
        &self,
        batch: Option<&Batch<'_>>,
        rows: usize,
        fill: impl Fn(&mut Block, Range<usize>, &mut [bool; Batch::ROWS]) + Sync,
        take: impl Fn(&Block, Range<usize>, &[bool; Batch::ROWS]) -> T + Sync,
    ) -> Vec<(Range<usize>, Option<T>)> {
        let blocks = |range: Range<usize>| {
            let end = range.end;
            range.step_by(Batch::ROWS).map(move |from| from..end.min(from + Batch::ROWS))
        };
        let not_computed = |range| blocks(range).map(|block| (block, None)).collect();
        let Some(batch) = batch else { return not_computed(0..rows) };
        let some_rows = |range: Range<usize>| -> Vec<(Range<usize>, Option<T>)> {
            let mut block = batch.block();
            let mut done = Vec::with_capacity(range.len().div_ceil(Batch::ROWS));
            for range in blocks(range) {
                let mut plain = [true; Batch::ROWS];
                fill(&mut block, range.clone(), &mut plain);
                batch.compute(&mut block, range.len());
                for (row, plain) in plain.iter_mut().enumerate() {
                    *plain &= block.is_plain(row);
                }
                done.push((range.clone(), Some(take(&block, range, &plain))));
            }
            done
        };
        // Whole blocks for each thread. How rows fall into blocks does not show in the results.
        let share = rows.div_ceil(self.threads).next_multiple_of(Batch::ROWS);
        if self.threads == 1 || share >= rows {
            return some_rows(0..rows);
        }
        let ranges = (0..rows).step_by(share).map(|from| from..rows.min(from + share));
        thread::scope(|scope| {
            let some_rows = &some_rows;
            let working: Vec<_> =
                ranges.clone().map(|range| scope.spawn(move || some_rows(range))).collect();
            let results = working
                .into_iter()
                .zip(ranges)
                .map(|(thread, range)| thread.join().unwrap_or_else(|_| not_computed(range)));
            results.flatten().collect()
        })
    }

    /// The sheet made ready for its knowns to vary.
    fn batch(&self) -> Option<Batch<'_>> {
        let knowns: Vec<&str> = self.knowns.iter().map(String::as_str).collect();
        let see: Vec<&str> = self.see.iter().map(String::as_str).collect();
        self.sheet.batch(&knowns, &see)
    }

    /// What is the same in all rows.
    fn standing(&self, batch: Option<&Batch<'_>>) -> Standing {
        let varies = |cell: &forebay_sheet::Cell<'_>| batch.is_some_and(|b| b.varies(cell));
        let doubt = self.sheet.cells().filter(|cell| !varies(cell)).find_map(|cell| {
            let first = cell.warnings().first()?;
            Some(format!("{}: {}", cell.name(), first.message))
        });
        Standing {
            seen: self.see.iter().map(|name| seen(self.sheet, name)).collect(),
            verdicts: self.sheet.checks().map(|check| check.verdict()).collect(),
            doubt,
        }
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

/// What many rows of numbers gave.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct NumberRows {
    /// For each cell wanted its numbers, NaN where it has none.
    pub(crate) columns: Vec<Vec<f64>>,
    /// How often each check fails and how often it cannot be told.
    pub(crate) fails: Vec<u64>,
    pub(crate) unknown: Vec<u64>,
    /// Rows that are yet to be computed alone.
    alone: Vec<usize>,
}

impl NumberRows {
    fn new(see: usize, checks: usize) -> Self {
        let columns = vec![Vec::new(); see];
        Self { columns, fails: vec![0; checks], unknown: vec![0; checks], alone: Vec::new() }
    }

    fn judge(&mut self, check: usize, verdict: Verdict) {
        match verdict {
            Verdict::Holds => {}
            Verdict::Fails => self.fails[check] += 1,
            Verdict::Unknown => self.unknown[check] += 1,
        }
    }

    fn append(&mut self, block: Self) {
        for (column, more) in self.columns.iter_mut().zip(block.columns) {
            column.extend(more);
        }
        for (count, more) in self.fails.iter_mut().zip(block.fails) {
            *count += more;
        }
        for (count, more) in self.unknown.iter_mut().zip(block.unknown) {
            *count += more;
        }
        self.alone.extend(block.alone);
    }
}

/// What is the same in all rows that are computed side by side.
struct Standing {
    /// The cells wanted, for those that do not vary or have no value in any row.
    seen: Vec<Seen>,
    verdicts: Vec<Verdict>,
    /// The first doubt about a cell that does not vary; in a plain row there is no other.
    doubt: Option<String>,
}

impl Standing {
    fn row(&self, block: &Block, row: usize) -> Row {
        let seen = self.seen.iter().enumerate();
        let seen =
            seen.map(|(at, same)| block.value(at, row).map_or_else(|| same.clone(), Seen::Value));
        let (mut failing, mut unknown) = (Vec::new(), Vec::new());
        for (at, same) in self.verdicts.iter().enumerate() {
            match block.verdict(at, row).unwrap_or(*same) {
                Verdict::Holds => {}
                Verdict::Fails => failing.push(at),
                Verdict::Unknown => unknown.push(at),
            }
        }
        Row { seen: seen.collect(), failing, unknown, doubt: self.doubt.clone() }
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
