//! A cell of a sheet as its users see it, and how a check stands.

use forebay_units::{Dimension, Unit, money};

use super::{Sheet, Trouble};
use crate::compile::{CellCode, Role};
use crate::diagnostic::{Diagnostic, Span};
use crate::term::Comparison;
use crate::value::{Type, Value};
use crate::worksheet::{Check, Known, Work};

/// What kind of cell it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CellKind {
    /// Given by the user.
    Known,
    /// Worked out.
    Work,
    /// A condition.
    Check,
    /// A cell of a worksheet that this one uses.
    Component,
}

/// A cell of a sheet.
#[derive(Clone, Copy, Debug)]
pub struct Cell<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) at: usize,
}

/// How a check stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The condition is true.
    Holds,
    /// The condition is false.
    Fails,
    /// It cannot be told, because something it reads has no value.
    Unknown,
}

/// One comparison of a check, computed.
#[derive(Clone, Debug)]
pub struct Margin<'a> {
    /// The left side as written.
    pub left_text: &'a str,
    /// How the sides are compared: `<`, `<=`, `>`, `>=`, `==` or `!=`.
    pub comparison: &'static str,
    /// The right side as written.
    pub right_text: &'a str,
    /// The left side in SI.
    pub left: f64,
    /// The right side in SI.
    pub right: f64,
    /// What both sides measure.
    pub dimension: Dimension,
    /// Both sides in words, in one unit.
    pub shown: (String, String),
    /// How far the left side is on the good side of the right one, in words; negative when not.
    pub margin: String,
    /// The same in SI.
    pub margin_si: f64,
}

impl<'a> Cell<'a> {
    fn code(&self) -> &'a CellCode {
        &self.sheet.compiled.cells[self.at]
    }

    /// Its place among all cells.
    pub(crate) fn place(&self) -> u32 {
        u32::try_from(self.at).unwrap_or(u32::MAX)
    }

    /// Its name; a component's cells have the component's name in front.
    #[must_use]
    pub fn name(&self) -> &'a str {
        &self.code().name
    }

    /// What kind of cell it is.
    #[must_use]
    pub fn kind(&self) -> CellKind {
        match self.code().role {
            Role::Known(_) => CellKind::Known,
            Role::Work(_) => CellKind::Work,
            Role::Check(_) | Role::PartCheck(_) => CellKind::Check,
            Role::PartKnown | Role::Part => CellKind::Component,
        }
    }

    /// Whether it can be set: a known, also of a worksheet that this one uses, unless this one
    /// sets it.
    #[must_use]
    pub fn is_settable(&self) -> bool {
        self.sheet.is_settable(self.at)
    }

    /// What the sheet says of it, if it is a known.
    #[must_use]
    pub fn known(&self) -> Option<&'a Known> {
        match self.code().role {
            Role::Known(at) => self.sheet.worksheet.known.get(at),
            _ => None,
        }
    }

    /// What the sheet says of it, if it is worked out.
    #[must_use]
    pub fn work(&self) -> Option<&'a Work> {
        match self.code().role {
            Role::Work(at) => self.sheet.worksheet.work.get(at),
            _ => None,
        }
    }

    /// What the sheet says of it, if it is a check.
    #[must_use]
    pub fn check(&self) -> Option<&'a Check> {
        match self.code().role {
            Role::Check(at) => self.sheet.worksheet.check.get(at),
            Role::PartCheck(at) => self.sheet.compiled.part_checks.get(at),
            _ => None,
        }
    }

    /// A word about it.
    #[must_use]
    pub fn about(&self) -> Option<&'a str> {
        match self.code().role {
            Role::Known(at) => self.sheet.worksheet.known.get(at)?.about.as_deref(),
            Role::Work(at) => self.sheet.worksheet.work.get(at)?.about.as_deref(),
            Role::Check(at) => self.sheet.worksheet.check.get(at)?.about.as_deref(),
            Role::PartCheck(at) => self.sheet.compiled.part_checks.get(at)?.about.as_deref(),
            Role::PartKnown | Role::Part => None,
        }
    }

    /// The part of the sheet it stands in.
    #[must_use]
    pub fn part(&self) -> Option<usize> {
        match self.code().role {
            Role::Known(at) => self.sheet.worksheet.known.get(at)?.part,
            Role::Work(at) => self.sheet.worksheet.work.get(at)?.part,
            Role::Check(at) => self.sheet.worksheet.check.get(at)?.part,
            Role::PartKnown | Role::PartCheck(_) | Role::Part => None,
        }
    }

    /// Whether the worksheet that it belongs to shows it among its headline results.
    #[must_use]
    pub fn is_headline(&self) -> bool {
        self.sheet.worksheet.show.iter().any(|name| name.text == self.name())
            || self.sheet.compiled.part_headlines.contains(self.name())
    }

    /// Its formula or value as written, on one line.
    #[must_use]
    pub fn formula(&self) -> String {
        if self.sheet.bare.contains(&self.at) {
            return self.shown();
        }
        let text = match self.sheet.given.get(self.name()) {
            Some(given) => self.sheet.sources.piece(*given),
            None => self.sheet.sources.piece(self.code().text),
        };
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Whether it is a known that has another value now than the file gives it.
    #[must_use]
    pub fn is_given(&self) -> bool {
        let Some(known) = self.known() else { return false };
        let written = known.is.text.split_whitespace();
        !written.eq(self.formula().split_whitespace())
    }

    /// Its value.
    #[must_use]
    pub fn value(&self) -> Option<&'a Value> {
        self.sheet.values[self.at].as_ref()
    }

    /// Why it has none.
    #[must_use]
    pub fn trouble(&self) -> Option<&'a Trouble> {
        self.sheet.notes.get(self.at).trouble.as_ref()
    }

    /// What is doubtful about it.
    #[must_use]
    pub fn warnings(&self) -> &'a [Diagnostic] {
        &self.sheet.notes.get(self.at).warnings
    }

    /// Its type, unless its formula is broken.
    #[must_use]
    pub fn ty(&self) -> Option<Type> {
        self.code().ty
    }

    /// The unit it is shown in, if it holds numbers.
    #[must_use]
    pub fn unit(&self) -> Option<Unit> {
        self.sheet.unit_of(self.at, self.value())
    }

    /// Its value in words: `2.719 m`, or why there is none.
    #[must_use]
    pub fn shown(&self) -> String {
        let (Some(value), Some(ty)) = (self.value(), self.ty()) else {
            return match self.trouble() {
                Some(Trouble::Waiting(on)) => format!("waits for {}", on.join(", ")),
                Some(Trouble::Failed(why)) => format!("no value: {}", why.message),
                _ => "no value: see the errors".to_owned(),
            };
        };
        let unit = self.unit();
        if let Some((number, unit)) =
            self.as_typed().filter(|(_, typed)| unit.as_ref() == Some(*typed))
        {
            let space = if *unit == Unit::ONE { "" } else { " " };
            let symbol = if *unit == Unit::ONE { "" } else { unit.symbol() };
            // An amount with more digits than its coins is shown as it was written.
            let written_out = self.sheet.style().currency.is_some_and(|currency| {
                number
                    .split_once('.')
                    .is_some_and(|(_, digits)| digits.len() > usize::from(currency.minor_units()))
            });
            if ty.dimension() != Some(Dimension::MONEY) || written_out {
                return format!("{number}{space}{symbol}");
            }
        }
        self.sheet.style().value(value, ty, unit.as_ref())
    }

    fn as_typed(&self) -> Option<(&'a String, &'a Unit)> {
        let typed = match self.sheet.set_values.get(&self.at) {
            Some((_, typed)) => typed.as_ref(),
            None => self.code().typed.as_ref(),
        };
        typed.map(|(number, unit)| (number, unit))
    }

    /// The names of the cells it reads.
    #[must_use]
    pub fn reads(&self) -> Vec<&'a str> {
        let cells = &self.sheet.compiled.cells;
        self.code().reads.iter().map(|read| cells[*read as usize].name.as_str()).collect()
    }

    /// How a check stands; `Unknown` for a cell that is no check.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        match self.value().and_then(Value::as_truth) {
            Some(true) => Verdict::Holds,
            Some(false) => Verdict::Fails,
            None => Verdict::Unknown,
        }
    }

    /// The comparisons that a check is made of, computed.
    #[must_use]
    pub fn margins(&self) -> Vec<Margin<'a>> {
        let style = self.sheet.style();
        let code = self.code();
        if self.value().is_none() {
            return Vec::new();
        }
        let mut machine = self.sheet.machine();
        code.sides
            .iter()
            .filter_map(|side| {
                let left = &machine.cell(side.left, code.slots).0.ok()?;
                let right = &machine.cell(side.right, code.slots).0.ok()?;
                let (l, r) = (left.as_number()?, right.as_number()?);
                let dimension = side.ty.dimension()?;
                let larger = if l.abs() > r.abs() { l } else { r };
                // Both sides in the unit that the sheet asks for one of them, if it does.
                let asked = [side.left_span, side.right_span]
                    .into_iter()
                    .find_map(|span| self.unit_asked_for(span))
                    .filter(|_| !dimension.is_absolute());
                let unit = asked.clone().unwrap_or_else(|| style.unit(dimension, larger));
                // Between two percentages lie points.
                let of_difference =
                    asked.map_or_else(|| style.unit(dimension.as_difference(), l - r), points_of);
                let sign = match side.comparison {
                    Comparison::Less | Comparison::LessOrEqual => -1.0,
                    _ => 1.0,
                };
                let margin_si = sign * (l - r);
                let difference = Type::number(dimension.as_difference());
                let money = dimension == Dimension::MONEY;
                let (shown, margin) = if money {
                    let amount = |n| money::from_number(n).map_or(Value::Number(n), Value::Money);
                    (
                        (style.value(left, side.ty, None), style.value(right, side.ty, None)),
                        style.value(&amount(margin_si), difference, None),
                    )
                } else {
                    (
                        (
                            style.value(left, side.ty, Some(&unit)),
                            style.value(right, side.ty, Some(&unit)),
                        ),
                        style.value(&Value::Number(margin_si), difference, Some(&of_difference)),
                    )
                };
                Some(Margin {
                    left_text: self.sheet.sources.piece(side.left_span),
                    comparison: side.comparison.symbol(),
                    right_text: self.sheet.sources.piece(side.right_span),
                    left: l,
                    right: r,
                    dimension,
                    shown,
                    margin,
                    margin_si,
                })
            })
            .collect()
    }

    /// The unit that the sheet asks for the cell which this piece of text names, if it is a name.
    fn unit_asked_for(&self, span: Span) -> Option<Unit> {
        let name = self.sheet.sources.piece(span);
        let place = self.name().rfind('.').map_or(0, |dot| dot + 1);
        let cell = self.sheet.cell(&format!("{}{name}", &self.name()[..place]))?;
        cell.code().unit.clone()
    }

    pub(crate) fn code_and_sheet(&self) -> (&'a CellCode, &'a Sheet) {
        (self.code(), self.sheet)
    }
}

/// The unit of a difference: between two percentages lie points.
fn points_of(unit: Unit) -> Unit {
    if unit.symbol() == "%" { Unit::parse("points").unwrap_or(unit) } else { unit }
}
