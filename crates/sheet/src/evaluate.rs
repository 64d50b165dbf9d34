//! Runs terms on bare numbers, one row at a time.

mod amounts;
pub(crate) mod flat;
pub(crate) mod formulas;
pub(crate) mod roots;
mod series;
mod solvers;
pub(crate) mod steps;

use forebay_formulas::Warning;
use forebay_units::money;

pub(crate) use crate::bounds::{MOST_STEPS, MOST_STEPS_OF_SHEET};
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::script::Scripts;
use crate::show::Style;
use crate::term::{Args, DatePart, Id, Math, Slot, Term, Terms};
use crate::value::Value;
use formulas::warning;
use steps::{bare_math, power};

/// A step of the interpreter takes as long as so many of our own.
const SCRIPT_STEP: u64 = 5;
/// The most arguments of a formula that are kept on the stack.
const MOST_ARGUMENTS: usize = 16;

/// Why a cell has no value.
#[derive(Clone, Debug)]
pub(crate) struct Fault {
    code: &'static Code,
    message: String,
    span: Span,
    help: Option<String>,
}

/// What happens after a statement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Flow {
    On,
    Break,
    Continue,
    Return,
}

/// Runs the terms of one cell.
pub(crate) struct Machine<'a> {
    terms: &'a Terms,
    /// Values of the cells computed so far.
    cells: &'a [Option<Value>],
    scripts: &'a Scripts,
    style: Style,
    locals: Vec<Value>,
    fault: Option<Fault>,
    flow: Flow,
    returned: Option<Value>,
    steps: u64,
    /// Off while a solver tries values that nobody will see.
    watching: bool,
    warnings: Vec<(Id, Warning)>,
    /// Warnings from the users' functions in the interpreter.
    script_warnings: Vec<Diagnostic>,
}

impl<'a> Machine<'a> {
    pub(crate) fn new(
        terms: &'a Terms,
        cells: &'a [Option<Value>],
        scripts: &'a Scripts,
        style: Style,
    ) -> Self {
        Self {
            terms,
            cells,
            scripts,
            style,
            locals: Vec::new(),
            fault: None,
            flow: Flow::On,
            returned: None,
            steps: MOST_STEPS,
            watching: true,
            warnings: Vec::new(),
            script_warnings: Vec::new(),
        }
    }

    /// The value of a cell's root term, with what its formulas' sources do not vouch for.
    pub(crate) fn cell(
        &mut self,
        root: Id,
        slots: Slot,
    ) -> (Result<Value, Fault>, Vec<Diagnostic>) {
        self.counted(root, slots, &mut { MOST_STEPS })
    }

    /// The same for a caller that counts the steps of several terms together.
    pub(crate) fn counted(
        &mut self,
        root: Id,
        slots: Slot,
        steps: &mut u64,
    ) -> (Result<Value, Fault>, Vec<Diagnostic>) {
        self.locals.clear();
        self.locals.resize(usize::from(slots), Value::Number(f64::NAN));
        (self.fault, self.returned, self.flow) = (None, None, Flow::On);
        (self.steps, self.watching) = (*steps, true);
        self.warnings.clear();
        self.script_warnings.clear();
        let value = self.value(root);
        *steps = self.steps;
        if self.fault.is_none()
            && let Value::Number(number) = value
        {
            self.finite(root, number);
        }
        let system = self.style.system;
        let warnings =
            self.warnings.drain(..).map(|(id, w)| warning(self.terms.span(id), &w, system));
        let mut told: Vec<Diagnostic> = Vec::new();
        for warning in warnings.chain(self.script_warnings.drain(..)) {
            if !told.iter().any(|t| t.span() == warning.span() && t.message == warning.message) {
                told.push(warning);
            }
        }
        (self.fault.take().map_or(Ok(value), Err), told)
    }

    /// Reports a fault at a term, unless one has been reported; the first one is the cause.
    fn fail(&mut self, id: Id, code: &'static Code, message: impl Into<String>) -> f64 {
        if self.fault.is_none() && self.flow == Flow::On {
            self.fault = Some(Fault {
                code,
                message: message.into(),
                span: self.terms.span(id),
                help: None,
            });
        }
        f64::NAN
    }

    fn finite(&mut self, id: Id, number: f64) -> f64 {
        if number.is_finite() {
            number
        } else {
            self.fail(id, Code::NO_VALUE, "this has no finite value")
        }
    }

    /// Counts a step; `false` when the sheet has used up what it may.
    fn step(&mut self, id: Id) -> bool {
        if self.steps == 0 {
            self.fail(
                id,
                Code::LIMIT,
                format!(
                    "stopped after {} million steps of this cell, or {} million of the whole sheet",
                    MOST_STEPS / 1_000_000,
                    MOST_STEPS_OF_SHEET / 1_000_000
                ),
            );
        }
        self.steps = self.steps.saturating_sub(1);
        self.fault.is_none()
    }

    fn number(&mut self, id: Id) -> f64 {
        match *self.terms.get(id) {
            Term::Number(number) => number,
            Term::Cell(cell) => match self.cells.get(cell as usize) {
                Some(Some(Value::Number(number))) => *number,
                _ => f64::NAN,
            },
            Term::Local(slot) => match self.locals.get(usize::from(slot)) {
                Some(Value::Number(number)) => *number,
                _ => f64::NAN,
            },
            Term::Negate(a) => -self.number(a),
            Term::Add(a, b) => self.number(a) + self.number(b),
            Term::Subtract(a, b) => self.number(a) - self.number(b),
            Term::Multiply(a, b) => self.number(a) * self.number(b),
            Term::Divide(a, b) => {
                let (a, b_value) = (self.number(a), self.number(b));
                if b_value == 0.0 {
                    self.fail(b, Code::NO_VALUE, "this is zero, and is divided by")
                } else {
                    a / b_value
                }
            }
            Term::Remainder(a, b) => {
                let (a, b_value) = (self.number(a), self.number(b));
                if b_value == 0.0 {
                    self.fail(b, Code::NO_VALUE, "this is zero, and is divided by")
                } else {
                    a % b_value
                }
            }
            Term::Power(a, b) => {
                let (base, exponent) = (self.number(a), self.number(b));
                let power = power(base, exponent);
                if power.is_finite() {
                    power
                } else if base < 0.0 {
                    self.fail(a, Code::NO_VALUE, "this is negative and has no fractional power")
                } else {
                    self.fail(id, Code::NO_VALUE, "this power has no finite value")
                }
            }
            Term::Math(f, a) => self.math(id, f, a),
            Term::Atan2(a, b) => {
                let (y, x) = (self.number(a), self.number(b));
                y.atan2(x)
            }
            Term::Least(a, b) => {
                let (x, y) = (self.number(a), self.number(b));
                if y < x { y } else { x }
            }
            Term::Greatest(a, b) => {
                let (x, y) = (self.number(a), self.number(b));
                if y > x { y } else { x }
            }
            Term::Formula(formula, args) => self.formula(id, formula, args),
            Term::SeriesFormula(formula, args) => self.series_formula(id, formula, args),
            Term::Choice(formula, place, text) => self.choice(id, formula, place, text),
            Term::ToNumber(a) => self.amount(a).map_or(f64::NAN, money::to_number),
            Term::DatePart(part, date) => self.date_part(part, date),
            Term::DaysBetween(a, b) => self.days_between(a, b),
            Term::Interpolate([xs, ys, at]) => self.interpolate(id, xs, ys, at),
            Term::If(condition, then, otherwise) => {
                if self.truth(condition) {
                    self.number(then)
                } else {
                    self.number(otherwise)
                }
            }
            Term::ZeroOf(slot, [f, from, to]) => self.zero_of(id, slot, f, from, to),
            Term::GreatestOf(slot, [f, from, to]) => self.extreme_of(id, slot, f, from, to, 1.0),
            Term::LeastOf(slot, [f, from, to]) => self.extreme_of(id, slot, f, from, to, -1.0),
            Term::Integral(slot, [f, from, to]) => self.integral(id, slot, f, from, to),
            _ => match self.value(id) {
                Value::Number(number) => number,
                _ => f64::NAN,
            },
        }
    }

    fn truth(&mut self, id: Id) -> bool {
        match *self.terms.get(id) {
            Term::Truth(truth) => truth,
            Term::Compare(comparison, a, b) => {
                let (x, y) = (self.number(a), self.number(b));
                match x.partial_cmp(&y) {
                    Some(order) => comparison.holds(order),
                    None => {
                        self.fail(id, Code::NO_VALUE, "one side has no value to compare");
                        false
                    }
                }
            }
            Term::CompareValues(comparison, a, b) => {
                let order = match (self.value(a), self.value(b)) {
                    (Value::Money(a), Value::Money(b)) => a.cmp(&b),
                    (Value::Text(a), Value::Text(b)) => a.cmp(&b),
                    (Value::Date(a), Value::Date(b)) => a.cmp(&b),
                    (Value::Truth(a), Value::Truth(b)) => a.cmp(&b),
                    _ => return false,
                };
                comparison.holds(order)
            }
            Term::And(a, b) => self.truth(a) && self.truth(b),
            Term::Or(a, b) => self.truth(a) || self.truth(b),
            Term::Not(a) => !self.truth(a),
            _ => matches!(self.value(id), Value::Truth(true)),
        }
    }

    fn value(&mut self, id: Id) -> Value {
        match *self.terms.get(id) {
            Term::Constant(index) => self.terms.constant(index).clone(),
            Term::Cell(cell) => match self.cells.get(cell as usize) {
                Some(Some(value)) => value.clone(),
                _ => Value::Number(f64::NAN),
            },
            Term::Local(slot) => match self.locals.get(usize::from(slot)) {
                Some(value) => value.clone(),
                None => Value::Number(f64::NAN),
            },
            Term::If(condition, then, otherwise) => {
                if self.truth(condition) {
                    self.value(then)
                } else {
                    self.value(otherwise)
                }
            }
            Term::Sequence(args) => self.sequence(args),
            Term::Assign(slot, value) => {
                let value = self.value(value);
                if self.flow == Flow::On {
                    self.set(slot, value);
                }
                Value::Truth(true)
            }
            Term::While(..) | Term::Count(..) | Term::ForEach(..) => {
                self.loops(id);
                Value::Truth(true)
            }
            Term::Break | Term::Continue => {
                let jump = if matches!(self.terms.get(id), Term::Break) {
                    Flow::Break
                } else {
                    Flow::Continue
                };
                if self.flow == Flow::On {
                    self.flow = jump;
                }
                Value::Truth(true)
            }
            Term::Return(value) => {
                let value = self.value(value);
                if self.flow == Flow::On {
                    self.returned = Some(value);
                    self.flow = Flow::Return;
                }
                Value::Number(f64::NAN)
            }
            Term::Body(body) => {
                let value = self.value(body);
                if self.flow == Flow::Return {
                    self.flow = Flow::On;
                    return self.returned.take().unwrap_or(value);
                }
                value
            }
            Term::Nothing => Value::Truth(true),
            Term::MoneyAdd(..)
            | Term::MoneySubtract(..)
            | Term::MoneyNegate(_)
            | Term::MoneyTimes(..)
            | Term::MoneyOver(..)
            | Term::MoneyRounded(..)
            | Term::ToMoney(_) => self.money(id),
            Term::List(args, bare) => self.list(args, bare),
            Term::Each(slot, args, body, bare) => self.each(id, slot, args, body, bare),
            Term::Word(formula, index) => self.word(id, formula, index),
            Term::ToSeriesFormula(formula, args) => self.series_of_formula(id, formula, args),
            Term::Filter(slot, series, keep) => self.filter(slot, series, keep),
            Term::Reduce(what, series) => self.reduce(id, what, series),
            Term::RunningSum(series) => self.running_sum(id, series),
            Term::Sorted(series) => self.sorted(series),
            Term::Present(series) => self.present(series),
            Term::Filled(series, value) => self.filled(series, value),
            Term::At(series, place) => self.at(id, series, place),
            Term::DateShift(date, by) => self.date_shift(id, date, by),
            Term::Script(call, args) => self.script(call, args),
            Term::Truth(_)
            | Term::Compare(..)
            | Term::CompareValues(..)
            | Term::And(..)
            | Term::Or(..)
            | Term::Not(_) => Value::Truth(self.truth(id)),
            _ => Value::Number(self.number(id)),
        }
    }

    fn set(&mut self, slot: Slot, value: Value) {
        if let Some(local) = self.locals.get_mut(usize::from(slot)) {
            *local = value;
        }
    }

    fn sequence(&mut self, args: Args) -> Value {
        let terms = self.terms;
        let mut last = Value::Truth(true);
        for id in terms.args(args) {
            last = self.value(*id);
            if self.flow != Flow::On || self.fault.is_some() {
                break;
            }
        }
        last
    }

    fn loops(&mut self, id: Id) {
        match *self.terms.get(id) {
            Term::While(condition, body) => {
                while self.step(id) && self.truth(condition) && self.turn(body) {}
            }
            Term::Count(slot, [from, to, body]) => {
                let (mut at, to) = (self.number(from), self.number(to));
                while at < to && self.step(id) {
                    self.set(slot, Value::Number(at));
                    if !self.turn(body) {
                        break;
                    }
                    at += 1.0;
                }
            }
            Term::ForEach(slot, series, body) => {
                let Value::Series(all) = self.value(series) else { return };
                for place in 0..all.len() {
                    let Some(value) = all.get(place) else {
                        self.gap(series, place);
                        return;
                    };
                    self.set(slot, value);
                    if !self.step(id) || !self.turn(body) {
                        break;
                    }
                }
            }
            _ => {}
        }
    }

    /// One turn of a loop; `false` when the loop ends.
    fn turn(&mut self, body: Id) -> bool {
        self.value(body);
        match self.flow {
            Flow::Break => {
                self.flow = Flow::On;
                false
            }
            Flow::Return => false,
            Flow::Continue => {
                self.flow = Flow::On;
                self.fault.is_none()
            }
            Flow::On => self.fault.is_none(),
        }
    }

    fn math(&mut self, id: Id, f: Math, a: Id) -> f64 {
        let x = self.number(a);
        let result = bare_math(f, x);
        if result.is_finite() || !x.is_finite() {
            return result;
        }
        let why = match f {
            Math::Sqrt => "this is negative and has no square root",
            Math::Ln | Math::Log10 => "only a number above zero has a logarithm",
            Math::Asin | Math::Acos => "a sine or cosine lies between -1 and 1",
            _ => return self.fail(id, Code::NO_VALUE, "this has no finite value"),
        };
        self.fail(a, Code::NO_VALUE, why)
    }

    fn date_part(&mut self, part: DatePart, date: Id) -> f64 {
        let Value::Date(date) = self.value(date) else { return f64::NAN };
        match part {
            DatePart::Year => f64::from(date.year()),
            DatePart::Month => f64::from(date.month()),
            DatePart::Day => f64::from(date.day()),
            DatePart::DayOfYear => f64::from(date.day_of_year()),
        }
    }

    fn days_between(&mut self, a: Id, b: Id) -> f64 {
        match (self.value(a), self.value(b)) {
            (Value::Date(a), Value::Date(b)) => {
                let days = a.since(b).map_or(0, |span| span.get_days());
                f64::from(days) * 86_400.0
            }
            _ => f64::NAN,
        }
    }

    fn date_shift(&mut self, id: Id, date: Id, by: Id) -> Value {
        let by = (self.number(by) / 86_400.0).round();
        let Value::Date(date) = self.value(date) else { return Value::Number(f64::NAN) };
        // Beyond ±20,000 years no date exists, and the cast is exact within.
        #[allow(clippy::cast_possible_truncation)]
        let moved = (by.abs() < 7.0e6)
            .then(|| date.checked_add(jiff::Span::new().days(by as i64)).ok())
            .flatten();
        match moved {
            Some(date) => Value::Date(date),
            None => {
                self.fail(id, Code::NO_VALUE, "there is no such date");
                Value::Number(f64::NAN)
            }
        }
    }

    fn script(&mut self, call: u32, args: Args) -> Value {
        let terms = self.terms;
        let arguments: Vec<Value> = terms.args(args).iter().map(|id| self.value(*id)).collect();
        if self.fault.is_some() || self.flow != Flow::On {
            return Value::Number(f64::NAN);
        }
        let mut steps = self.steps / SCRIPT_STEP;
        let given = steps;
        let result = self.scripts.run(call, &arguments, &mut steps);
        self.steps = self.steps.saturating_sub((given - steps) * SCRIPT_STEP);
        match result {
            Ok((value, warnings)) => {
                if self.watching {
                    self.script_warnings.extend(warnings);
                }
                value
            }
            Err(fault) => {
                self.fault = Some(Fault {
                    code: fault.code,
                    message: fault.message,
                    span: fault.span,
                    help: fault.help,
                });
                Value::Number(f64::NAN)
            }
        }
    }
}

impl Fault {
    /// As a diagnostic.
    pub(crate) fn diagnostic(self) -> Diagnostic {
        let diagnostic = Diagnostic::new(self.code, self.message, self.span);
        match self.help {
            Some(help) => diagnostic.help(help),
            None => diagnostic,
        }
    }
}
