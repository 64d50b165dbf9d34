//! Sheets side by side: what differs, and by how much.

use std::collections::HashMap;

use forebay_sheet::worksheet::Level;
use forebay_sheet::{Cell, CellKind, Sheet, Style, Type, Value, Verdict};
use forebay_units::{Dimension, Unit, money};

/// Relative differences below this are rounding.
const NOTHING: f64 = 1e-12;

/// Sheets held against the first of them.
#[derive(Clone, Debug)]
pub struct Compared {
    /// What the sheets are called.
    pub labels: Vec<String>,
    /// The cells that differ, in the order of the first sheet that has them.
    pub lines: Vec<Line>,
    /// The checks whose verdict differs.
    pub checks: Vec<CheckLine>,
    /// How many cells are the same in all.
    pub same: usize,
    /// How many checks are.
    pub same_checks: usize,
}

/// A cell that is not the same in all sheets.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its name.
    pub name: String,
    /// What it is in the first sheet that has it.
    pub kind: CellKind,
    /// What it holds there.
    pub ty: Type,
    /// The unit that its values are shown in; `None` for what has none, money among it.
    pub value_unit: Option<Unit>,
    /// The unit that differences are shown in; `None` for what has none, money among it.
    pub unit: Option<Unit>,
    /// How it stands in each sheet; `None` where a sheet has no such cell.
    pub entries: Vec<Option<Entry>>,
}

/// A cell in one of the sheets.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Its value in words, or why there is none.
    pub shown: String,
    /// Its value.
    pub value: Option<Value>,
    /// By how much it is more than in the first sheet, in SI; `None` where the two cannot be
    /// subtracted and in the first sheet itself.
    pub difference: Option<f64>,
    /// The same as a share of the value in the first sheet; `None` also for temperatures, whose
    /// zero is a matter of the scale.
    pub share: Option<f64>,
}

/// A check whose verdict is not the same in all sheets.
#[derive(Clone, Debug)]
pub struct CheckLine {
    /// Its name.
    pub name: String,
    /// How grave a failure is, in the first sheet that has it.
    pub level: Level,
    /// How it stands in each sheet; `None` where a sheet has no such check.
    pub verdicts: Vec<Option<Verdict>>,
}

/// Holds sheets against the first of them.
#[must_use]
pub fn compare(sheets: &[(&str, &Sheet)]) -> Compared {
    let style = sheets.first().map(|(_, sheet)| sheet.style()).unwrap_or_default();
    let (mut lines, mut same) = (Vec::new(), 0);
    for named in by_name(sheets, |cell| cell.kind() != CellKind::Check) {
        let differ = named.iter().any(|cell| !alike(named.first().copied().flatten(), *cell));
        if !differ {
            same += 1;
        } else if let Some(first) = named.iter().flatten().next() {
            lines.push(line(*first, &named, style));
        }
    }
    let (mut checks, mut same_checks) = (Vec::new(), 0);
    for named in by_name(sheets, |cell| cell.kind() == CellKind::Check) {
        let verdicts: Vec<Option<Verdict>> =
            named.iter().map(|check| check.map(|check| check.verdict())).collect();
        if verdicts.windows(2).all(|pair| pair[0] == pair[1]) {
            same_checks += 1;
        } else if let Some(first) = named.iter().flatten().next() {
            let level = first.check().map_or(Level::Care, |check| check.level);
            checks.push(CheckLine { name: first.name().to_owned(), level, verdicts });
        }
    }
    let labels = sheets.iter().map(|(label, _)| (*label).to_owned()).collect();
    Compared { labels, lines, checks, same, same_checks }
}

/// The cells of each name in every sheet, names in the order in which they are first met.
fn by_name<'s>(
    sheets: &[(&str, &'s Sheet)],
    which: impl Fn(&Cell<'s>) -> bool,
) -> Vec<Vec<Option<Cell<'s>>>> {
    let mut places: HashMap<&str, usize> = HashMap::new();
    let mut all: Vec<Vec<Option<Cell<'s>>>> = Vec::new();
    for (at, (_, sheet)) in sheets.iter().enumerate() {
        for cell in sheet.cells().filter(|cell| which(cell)) {
            let place = *places.entry(cell.name()).or_insert_with(|| {
                all.push(vec![None; sheets.len()]);
                all.len() - 1
            });
            all[place][at] = Some(cell);
        }
    }
    all
}

fn alike(one: Option<Cell<'_>>, other: Option<Cell<'_>>) -> bool {
    let (Some(one), Some(other)) = (one, other) else { return one.is_none() && other.is_none() };
    match (one.value(), other.value()) {
        (Some(Value::Number(a)), Some(Value::Number(b))) => {
            one.ty() == other.ty() && (a - b).abs() <= NOTHING * a.abs().max(b.abs())
        }
        // Why there is no value may name numbers.
        (None, None) => one.shown() == other.shown(),
        (a, b) => one.ty() == other.ty() && a == b,
    }
}

fn line(first: Cell<'_>, named: &[Option<Cell<'_>>], style: Style) -> Line {
    let ty = first.ty().unwrap_or(Type::PLAIN);
    let base = named.first().copied().flatten();
    let entries: Vec<Option<Entry>> = named
        .iter()
        .enumerate()
        .map(|(at, cell)| cell.map(|cell| entry(cell, base.filter(|_| at > 0))))
        .collect();
    let unit = ty.dimension().filter(|_| !ty.scalar().is_money()).map(|dimension| {
        let shown = first.unit().filter(|unit| !dimension.is_absolute() && unit.offset() == 0.0);
        let differences = entries.iter().flatten().filter_map(|entry| entry.difference);
        let most = differences.fold(0.0, |most: f64, one| most.max(one.abs()));
        shown.unwrap_or_else(|| style.unit(dimension.as_difference(), most))
    });
    let value_unit = first.unit().filter(|_| !ty.scalar().is_money());
    Line { name: first.name().to_owned(), kind: first.kind(), ty, value_unit, unit, entries }
}

fn entry(cell: Cell<'_>, base: Option<Cell<'_>>) -> Entry {
    let value = cell.value().cloned();
    let mut entry = Entry { shown: cell.shown(), value, difference: None, share: None };
    let Some(base) = base.filter(|base| base.ty() == cell.ty()) else { return entry };
    let from = base.value().and_then(Value::as_number);
    let to = cell.value().and_then(Value::as_number);
    if let (Some(from), Some(to)) = (from, to) {
        // Of money exactly.
        let change = match (base.value(), cell.value()) {
            (Some(Value::Money(from)), Some(Value::Money(to))) => money::to_number(to - from),
            _ => to - from,
        };
        entry.difference = Some(change);
        let of_scale = cell.ty().and_then(Type::dimension) == Some(Dimension::TEMPERATURE);
        let share = change / from.abs();
        entry.share = Some(share).filter(|share| share.is_finite() && !of_scale);
    }
    entry
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_differs_is_told() {
        let sheet = |bore: &str, more: &str| {
            Sheet::open(&format!(
                "forebay: 1
known:
  bore: {bore}
  flow: 40 L/s
  water: 8 degC
work:
  area: bore * bore
  twice: 2 * flow
{more}check:
  large: area > 5 m^2
  there: flow > 1 L/s
"
            ))
        };
        // By hand: 3² − 2² = 5, which is 125 % of 4.
        let (a, b) = (sheet("2 m", ""), sheet("3 m", "  more: 1 m\n"));
        let compared = compare(&[("a", &a), ("b", &b)]);
        let names: Vec<&str> = compared.lines.iter().map(|line| line.name.as_str()).collect();
        assert_eq!(names, ["bore", "area", "more"]);
        let area = compared.lines[1].entries[1].as_ref().unwrap();
        assert_eq!((area.difference, area.share), (Some(5.0), Some(1.25)));
        assert!(compared.lines[2].entries[0].is_none());
        assert_eq!((compared.same, compared.same_checks), (3, 1));
        assert_eq!(compared.checks[0].name, "large");
        assert_eq!(compared.checks[0].verdicts, [Some(Verdict::Fails), Some(Verdict::Holds)]);
        let nothing = compare(&[("a", &a), ("again", &a)]);
        assert!(nothing.lines.is_empty() && nothing.checks.is_empty());
    }
}
