//! Runs terms on bare numbers, one row at a time.

mod roots;
mod series;

use std::sync::Arc;

use forebay_formulas::{Argument, Formula, Kind, Warning};
use forebay_units::{Decimal, Dimension, Rounding, money};

use crate::diagnostic::{Code, Diagnostic, Span};
use crate::script::Scripts;
use crate::show::Style;
use crate::term::{Args, DatePart, Id, Math, Slot, Term, Terms};
use crate::value::{Items, Type, Value};
use roots::NoZero;

/// How many steps (turns of a loop, elements of a series, tries of a solver) one cell may take.
pub(crate) const MOST_STEPS: u64 = 20_000_000;
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
        }
    }

    /// The value of a cell's root term, with what its formulas' sources do not vouch for.
    pub(crate) fn cell(
        &mut self,
        root: Id,
        slots: Slot,
    ) -> (Result<Value, Fault>, Vec<Diagnostic>) {
        self.locals.clear();
        self.locals.resize(usize::from(slots), Value::Number(f64::NAN));
        (self.fault, self.returned, self.flow) = (None, None, Flow::On);
        (self.steps, self.watching) = (MOST_STEPS, true);
        self.warnings.clear();
        let value = self.value(root);
        if self.fault.is_none()
            && let Value::Number(number) = value
        {
            self.finite(root, number);
        }
        let warnings = self.warnings.drain(..).map(|(id, w)| warning(self.terms.span(id), &w));
        let mut told: Vec<Diagnostic> = Vec::new();
        for warning in warnings {
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
                format!("stopped after {} million steps", MOST_STEPS / 1_000_000),
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
                let power = if exponent == 2.0 { base * base } else { base.powf(exponent) };
                if power.is_finite() {
                    power
                } else if base < 0.0 {
                    self.fail(a, Code::NO_VALUE, "this is negative and has no broken power")
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
        let result = match f {
            Math::Abs => x.abs(),
            Math::Sqrt => x.sqrt(),
            Math::Cbrt => x.cbrt(),
            Math::Exp => x.exp(),
            Math::Ln => x.ln(),
            Math::Log10 => x.log10(),
            Math::Sin => x.sin(),
            Math::Cos => x.cos(),
            Math::Tan => x.tan(),
            Math::Asin => x.asin(),
            Math::Acos => x.acos(),
            Math::Atan => x.atan(),
            Math::Floor => x.floor(),
            Math::Ceiling => x.ceil(),
            Math::Round => x.round(),
        };
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

    fn formula(&mut self, id: Id, formula: &'static Formula, args: Args) -> f64 {
        let terms = self.terms;
        let ids = terms.args(args);
        let mut numbers = [0.0; MOST_ARGUMENTS];
        if ids.len() > MOST_ARGUMENTS {
            return f64::NAN;
        }
        for (number, id) in numbers.iter_mut().zip(ids) {
            *number = self.number(*id);
        }
        let numbers = &numbers[..ids.len()];
        if self.fault.is_some() || self.flow != Flow::On {
            return f64::NAN;
        }
        for (at, (parameter, number)) in formula.parameters.iter().zip(numbers).enumerate() {
            if !parameter.must.holds(*number) {
                return self.refuse(formula, at, ids[at], numbers);
            }
            if self.watching && !parameter.valid.holds(*number) {
                let warning = Warning::Outside { formula: formula.name, parameter, value: *number };
                self.warnings.push((ids[at], warning));
            }
        }
        let result = formula.body.number(numbers);
        if !result.is_finite() {
            let reason = formula.limits.iter().find(|limit| !(limit.holds)(numbers));
            let why = reason.map_or(String::new(), |limit| format!(": it needs {}", limit.says));
            return self.fail(
                id,
                Code::NO_VALUE,
                format!("`{}` has no answer here{why}", formula.name),
            );
        }
        if self.watching {
            for limit in formula.limits {
                if !(limit.holds)(numbers) {
                    let warning = Warning::Limit { formula: formula.name, says: limit.says };
                    self.warnings.push((id, warning));
                }
            }
        }
        result
    }

    fn refuse(&mut self, formula: &Formula, at: usize, argument: Id, numbers: &[f64]) -> f64 {
        let why = formula
            .refusal(numbers)
            .unwrap_or_else(|| format!("`{}` is out of range", formula.parameters[at].name));
        self.fail(argument, Code::REFUSED, format!("`{}`: {why}", formula.name))
    }

    fn series_formula(&mut self, id: Id, formula: &'static Formula, args: Args) -> f64 {
        let terms = self.terms;
        let ids = terms.args(args);
        let mut owned: Vec<Value> = Vec::with_capacity(ids.len());
        for (parameter, id) in formula.parameters.iter().zip(ids) {
            owned.push(match parameter.kind {
                Kind::Series(_) => match self.value(*id) {
                    Value::Series(series) => {
                        if let Some(place) = (0..series.len()).find(|at| series.get(*at).is_none())
                        {
                            return self.gap(*id, place);
                        }
                        Value::Series(bare_items(&series))
                    }
                    other => other,
                },
                _ => Value::Number(self.number(*id)),
            });
        }
        if self.fault.is_some() || self.flow != Flow::On {
            return f64::NAN;
        }
        let arguments: Vec<Argument<'_>> = owned
            .iter()
            .map(|value| match value {
                Value::Series(series) => match &series.items {
                    Items::Numbers(numbers) => Argument::Series(numbers),
                    Items::Values(_) => Argument::Series(&[]),
                },
                other => Argument::Number(other.as_number().unwrap_or(f64::NAN)),
            })
            .collect();
        match formula.answer(&arguments) {
            Ok(number) => {
                if self.watching {
                    let warnings = formula.warnings_of(&arguments);
                    self.warnings.extend(warnings.into_iter().map(|warning| (id, warning)));
                }
                number
            }
            Err(refusal) => {
                self.fail(id, Code::REFUSED, format!("`{}`: {}", formula.name, refusal.0))
            }
        }
    }

    /// The index of a text among the words of a choice.
    #[allow(clippy::cast_precision_loss)]
    fn choice(&mut self, id: Id, formula: &'static Formula, place: u8, text: Id) -> f64 {
        let Value::Text(text) = self.value(text) else { return f64::NAN };
        let parameter = &formula.parameters[usize::from(place)];
        let Kind::Choice(words) = parameter.kind else { return f64::NAN };
        match words.iter().position(|word| *word == &*text) {
            Some(index) => index as f64,
            None => self.fail(
                id,
                Code::REFUSED,
                format!(
                    "`{}` of `{}` is one of \"{}\", found \"{text}\"",
                    parameter.name,
                    formula.name,
                    words.join("\", \"")
                ),
            ),
        }
    }

    fn amount(&mut self, id: Id) -> Option<Decimal> {
        match self.value(id) {
            Value::Money(amount) => Some(amount),
            _ => None,
        }
    }

    fn money(&mut self, id: Id) -> Value {
        let result = match *self.terms.get(id) {
            Term::MoneyAdd(a, b) => match (self.amount(a), self.amount(b)) {
                (Some(a), Some(b)) => a.checked_add(b),
                _ => None,
            },
            Term::MoneySubtract(a, b) => match (self.amount(a), self.amount(b)) {
                (Some(a), Some(b)) => a.checked_sub(b),
                _ => None,
            },
            Term::MoneyNegate(a) => self.amount(a).map(|a| -a),
            Term::MoneyTimes(a, b) => {
                let (amount, by) = (self.amount(a), money::from_number(self.number(b)));
                amount.zip(by).and_then(|(amount, by)| amount.checked_mul(by))
            }
            Term::MoneyOver(a, b) => {
                let (amount, by) = (self.amount(a), self.number(b));
                if by == 0.0 {
                    self.fail(b, Code::NO_VALUE, "this is zero, and is divided by");
                }
                amount.zip(money::from_number(by)).and_then(|(amount, by)| amount.checked_div(by))
            }
            Term::MoneyRounded(a, half_up) => {
                let rule = if half_up { Rounding::HalfUp } else { Rounding::HalfEven };
                match (self.amount(a), self.style.currency) {
                    (Some(amount), Some(currency)) => {
                        Some(money::round_to_minor(amount, currency, rule))
                    }
                    (amount, _) => amount,
                }
            }
            Term::ToMoney(a) => money::from_number(self.number(a)),
            _ => None,
        };
        match result {
            Some(amount) => Value::Money(amount),
            None => {
                self.fail(id, Code::NO_VALUE, "this amount of money is too large or has no value");
                Value::Number(f64::NAN)
            }
        }
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
        match self.scripts.run(call, &arguments, &mut self.steps) {
            Ok(value) => value,
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

    /// A number of a solver or a table in words, in the unit that suits its dimension.
    fn worded(&self, id: Id, which: usize, number: f64) -> String {
        let dimension = self.terms.dimensions(id).map_or(Dimension::NONE, |d| d[which]);
        self.style.value(&Value::Number(number), Type::number(dimension), None)
    }

    // --- solvers ---

    /// One try of a solver; `None` once something has failed.
    fn try_at(&mut self, id: Id, slot: Slot, f: Id, x: f64) -> Option<f64> {
        if !self.step(id) {
            return None;
        }
        self.set(slot, Value::Number(x));
        let value = self.number(f);
        if self.fault.is_none() && !value.is_finite() {
            self.fail(f, Code::NO_VALUE, "this has no finite value where it was tried");
        }
        self.fault.is_none().then_some(value)
    }

    /// Runs a search in which nobody looks at warnings, then the function once more where it ended.
    fn searched<T>(
        &mut self,
        id: Id,
        slot: Slot,
        f: Id,
        search: impl FnOnce(&mut Self) -> T,
        ended: impl FnOnce(&T) -> Option<f64>,
    ) -> T {
        let watching = std::mem::replace(&mut self.watching, false);
        let result = search(self);
        self.watching = watching;
        if let (true, Some(x)) = (watching, ended(&result)) {
            self.try_at(id, slot, f, x);
        }
        result
    }

    fn zero_of(&mut self, id: Id, slot: Slot, f: Id, from: Id, to: Id) -> f64 {
        let (from, to) = (self.number(from), self.number(to));
        let result = self.searched(
            id,
            slot,
            f,
            |m| roots::zero(|x| m.try_at(id, slot, f, x), from, to),
            |result| result.ok(),
        );
        let place = |x| self.worded(id, 0, x);
        let value = |y| self.worded(id, 1, y);
        let why = match result {
            Ok(x) => return x,
            Err(NoZero::Failed) => return f64::NAN,
            Err(NoZero::SameSign(a, b)) => format!(
                "no zero between the bounds: it is {} at {} and {} at {}",
                value(a),
                place(from),
                value(b),
                place(to)
            ),
            Err(NoZero::Several(a, b)) => {
                format!("several zeros between the bounds, near {} and {}", place(a), place(b))
            }
            Err(NoZero::Jump(x)) => format!(
                "no zero between the bounds: it jumps from one sign to the other at {}",
                place(x)
            ),
            Err(NoZero::Bounds) => "the two bounds must be different".to_owned(),
        };
        self.fail(id, Code::NO_ROOT, why)
    }

    fn extreme_of(&mut self, id: Id, slot: Slot, f: Id, from: Id, to: Id, sign: f64) -> f64 {
        let (from, to) = (self.number(from), self.number(to));
        let result = self.searched(
            id,
            slot,
            f,
            |m| roots::greatest(|x| Some(sign * m.try_at(id, slot, f, x)?), from, to),
            |result| *result,
        );
        result.unwrap_or_else(|| self.fail(id, Code::NO_VALUE, "the bounds have no finite value"))
    }

    fn integral(&mut self, id: Id, slot: Slot, f: Id, from: Id, to: Id) -> f64 {
        let (from, to) = (self.number(from), self.number(to));
        let result = roots::integral(|x| self.try_at(id, slot, f, x), from, to);
        result.unwrap_or_else(|| self.fail(id, Code::NO_VALUE, "the bounds have no finite value"))
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

fn warning(span: Span, warning: &Warning) -> Diagnostic {
    Diagnostic::new(Code::OUTSIDE_VALIDITY, warning.to_string(), span)
}

/// The same series with money as bare numbers, as formulas take it.
fn bare_items(series: &Arc<crate::value::Series>) -> Arc<crate::value::Series> {
    match &series.items {
        Items::Numbers(_) => Arc::clone(series),
        Items::Values(values) => Arc::new(crate::value::Series {
            items: Items::Numbers(
                values
                    .iter()
                    .map(|v| v.as_ref().and_then(Value::as_number).unwrap_or(f64::NAN))
                    .collect(),
            ),
            dates: series.dates.clone(),
        }),
    }
}
