//! From terms to flat programs: what does not vary inside a search is taken out of it, equal steps
//! are taken once, and whatever is no plain number stays with the tree.

use std::collections::HashMap;

use forebay_formulas::{Formula, Kind, Range};

use super::{
    Argument, Binary, Branch, Call, MOST_ARGUMENTS, Program, ProgramKind, Programs, Register,
    Search, Sought, Step,
};
use crate::term::{Args, Id, Math, Slot, Term, Terms};
use crate::value::{Scalar, Type, Value};

/// How many of the last steps are looked through for an equal one.
const LOOK_BACK: usize = 48;
/// A cell that needs more registers is left to the tree.
const MOST_REGISTERS: usize = 60_000;

/// What cells hold, by their places.
pub(crate) type Kinds<'a> = &'a [Option<Type>];

impl Programs {
    /// Adds the program of a cell; none where it cannot have one.
    pub(crate) fn add(&mut self, terms: &Terms, kinds: Kinds<'_>, root: Id, at: usize) {
        let kind = match kinds.get(at).copied().flatten() {
            Some(Type::One(Scalar::Truth)) => ProgramKind::Truth,
            Some(Type::One(scalar)) if scalar.is_bare() => ProgramKind::Number,
            _ => return,
        };
        if self.cells.len() < kinds.len() {
            self.cells.resize(kinds.len(), Program::default());
        }
        let marks = (self.calls.len(), self.branches.len(), self.searches.len());
        let constants = self.constants.len();
        let mut flattening = Flattening {
            programs: self,
            terms,
            kinds,
            outside: Vec::new(),
            frames: vec![Frame::default()],
            levels: Vec::new(),
            locals: HashMap::new(),
        };
        let gives = flattening.term(root);
        let Flattening { outside, mut frames, .. } = flattening;
        let steps = frames.pop().map(|frame| frame.steps).unwrap_or_default();
        let (Some(gives), Ok(outside_count)) = (gives, u16::try_from(outside.len())) else {
            self.calls.truncate(marks.0);
            self.branches.truncate(marks.1);
            self.searches.truncate(marks.2);
            self.constants.truncate(constants);
            return;
        };
        let (start, outside_start) = (index(self.steps.len()), index(self.outside.len()));
        self.steps.extend(steps);
        self.outside.extend(outside);
        let end = index(self.steps.len());
        self.cells[at] = Program { start, end, outside_start, outside: outside_count, gives, kind };
    }
}

/// Flattens one cell. `None` anywhere means that it cannot be done.
struct Flattening<'a> {
    programs: &'a mut Programs,
    terms: &'a Terms,
    kinds: Kinds<'a>,
    outside: Vec<Id>,
    /// The program itself, and the functions and branches that are open inside one another.
    frames: Vec<Frame>,
    /// The frame in which each register is written.
    levels: Vec<u16>,
    locals: HashMap<Slot, Register>,
}

#[derive(Default)]
struct Frame {
    /// Whether it is run sometimes only.
    branch: bool,
    steps: Vec<Step>,
}

impl Flattening<'_> {
    fn term(&mut self, id: Id) -> Option<Register> {
        match *self.terms.get(id) {
            Term::Number(number) => self.constant(number),
            Term::Truth(truth) => self.constant(f64::from(u8::from(truth))),
            Term::Cell(cell) => self.input(cell),
            Term::Local(slot) => self.locals.get(&slot).copied(),
            Term::Negate(a) => self.one(a, false, Step::Negate),
            Term::Not(a) => self.one(a, false, Step::Not),
            Term::Add(a, b) => self.two(a, b, false, Step::Add),
            Term::Subtract(a, b) => self.two(a, b, false, Step::Subtract),
            Term::Multiply(a, b) => self.two(a, b, false, Step::Multiply),
            Term::Divide(a, b) => self.two(a, b, true, Step::Divide),
            Term::Remainder(a, b) => self.binary(Binary::Remainder, a, b, true),
            Term::Power(a, b) => {
                if let Term::Number(2.0) = self.terms.get(b) {
                    self.one(a, true, Step::Square)
                } else {
                    self.binary(Binary::Power, a, b, true)
                }
            }
            Term::Math(f, a) => self.one(a, f != Math::Abs, |to, a| Step::Math(f, to, a)),
            Term::Atan2(a, b) => self.binary(Binary::Atan2, a, b, false),
            Term::Least(a, b) => self.binary(Binary::Least, a, b, false),
            Term::Greatest(a, b) => self.binary(Binary::Greatest, a, b, false),
            Term::Compare(how, a, b) | Term::CompareValues(how, a, b) => {
                self.two(a, b, true, |to, a, b| Step::Compare(how, to, a, b))
            }
            Term::Formula(formula, args) | Term::SeriesFormula(formula, args) => {
                self.call(formula, args)
            }
            Term::Choice(formula, place, text) => self.choice(formula, place, text),
            Term::And(a, b) => {
                let condition = self.term(a)?;
                self.branch(condition, |f| f.term(b), |f| f.constant(0.0))
            }
            Term::Or(a, b) => {
                let condition = self.term(a)?;
                self.branch(condition, |f| f.constant(1.0), |f| f.term(b))
            }
            Term::If(condition, then, otherwise) => {
                let condition = self.term(condition)?;
                self.branch(condition, |f| f.term(then), |f| f.term(otherwise))
            }
            Term::Sequence(args) => self.sequence(args),
            Term::Body(body) => self.body(body),
            Term::ZeroOf(slot, parts) => self.search(Sought::Zero, slot, parts),
            Term::GreatestOf(slot, parts) => self.search(Sought::Greatest, slot, parts),
            Term::LeastOf(slot, parts) => self.search(Sought::Least, slot, parts),
            Term::Integral(slot, parts) => self.search(Sought::Integral, slot, parts),
            _ => None,
        }
    }

    fn constant(&mut self, number: f64) -> Option<Register> {
        let bits = number.to_bits();
        let constants = &mut self.programs.constants;
        let from = constants.len().saturating_sub(LOOK_BACK);
        let known = constants[from..].iter().position(|c| c.to_bits() == bits);
        let place = known.map_or(constants.len(), |place| from + place);
        if known.is_none() {
            constants.push(number);
        }
        self.emit(0, |to| Step::Constant(to, index(place)))
    }

    fn input(&mut self, cell: u32) -> Option<Register> {
        let plain = match self.kinds.get(cell as usize).copied().flatten()? {
            Type::One(scalar) => scalar.is_bare() || scalar == Scalar::Truth,
            Type::Series(_) => false,
        };
        if plain { self.emit(0, |to| Step::Input(to, cell)) } else { None }
    }

    fn one(
        &mut self,
        a: Id,
        may_fail: bool,
        step: impl Fn(Register, Register) -> Step,
    ) -> Option<Register> {
        let a = self.term(a)?;
        let level = self.level(&[a], may_fail);
        self.emit(level, |to| step(to, a))
    }

    fn two(
        &mut self,
        a: Id,
        b: Id,
        may_fail: bool,
        step: impl Fn(Register, Register, Register) -> Step,
    ) -> Option<Register> {
        let (a, b) = (self.term(a)?, self.term(b)?);
        let level = self.level(&[a, b], may_fail);
        self.emit(level, |to| step(to, a, b))
    }

    fn binary(&mut self, what: Binary, a: Id, b: Id, may_fail: bool) -> Option<Register> {
        self.two(a, b, may_fail, |to, a, b| Step::Binary(what, to, a, b))
    }

    /// The outermost frame in which a step can stand: where its operands are known, and inside any
    /// branch if it may fail, since the branch may be there to keep it from that.
    fn level(&self, operands: &[Register], may_fail: bool) -> usize {
        let known = operands.iter().map(|r| usize::from(self.levels[usize::from(*r)])).max();
        let branch = if may_fail { self.frames.iter().rposition(|f| f.branch) } else { None };
        known.unwrap_or(0).max(branch.unwrap_or(0))
    }

    /// Adds a step to a frame, or takes an equal one that is there.
    fn emit(&mut self, level: usize, step: impl Fn(Register) -> Step) -> Option<Register> {
        let steps = &self.frames.get(level)?.steps;
        for before in steps.iter().rev().take(LOOK_BACK) {
            let to = before.writes();
            // The steps of a function or a branch follow in the same list, but are not of it.
            let here = usize::from(self.levels[usize::from(to)]) == level;
            if here && *before == step(to) {
                return Some(to);
            }
        }
        let to = self.register(level)?;
        self.frames.get_mut(level)?.steps.push(step(to));
        Some(to)
    }

    fn register(&mut self, level: usize) -> Option<Register> {
        if self.levels.len() >= MOST_REGISTERS {
            return None;
        }
        self.levels.push(u16::try_from(level).ok()?);
        u16::try_from(self.levels.len() - 1).ok()
    }

    fn call(&mut self, formula: &'static Formula, args: Args) -> Option<Register> {
        let terms = self.terms;
        if terms.args(args).len() > MOST_ARGUMENTS {
            return None;
        }
        let (mut arguments, mut registers) = (Vec::new(), Vec::new());
        for id in terms.args(args) {
            if self.is_series(*id) {
                arguments.push(Argument::Outside(u16::try_from(self.outside.len()).ok()?));
                self.outside.push(*id);
            } else {
                let register = self.term(*id)?;
                registers.push(register);
                arguments.push(Argument::Register(register));
            }
        }
        let ranges = |range: fn(&forebay_formulas::Parameter) -> Range| -> Vec<(u8, Range)> {
            let numbered = (0_u8..).zip(formula.parameters);
            let given = numbered.filter(|(at, _)| {
                matches!(arguments.get(usize::from(*at)), Some(Argument::Register(_)))
            });
            given.map(|(at, p)| (at, range(p))).filter(|(_, r)| *r != Range::ANY).collect()
        };
        let call = Call {
            formula,
            of_numbers: formula.body.count().is_some(),
            must: ranges(|p| p.must),
            valid: ranges(|p| p.valid),
            arguments,
        };
        let level = self.level(&registers, true);
        let calls = &mut self.programs.calls;
        let from = calls.len().saturating_sub(LOOK_BACK);
        let known = calls[from..].iter().position(|c| *c == call);
        let place = known.map_or(calls.len(), |place| from + place);
        if known.is_none() {
            calls.push(call);
        }
        self.emit(level, |to| Step::Call(to, index(place)))
    }

    /// Whether a term is a series or texts that no search varies.
    fn is_series(&self, id: Id) -> bool {
        match *self.terms.get(id) {
            Term::Constant(constant) => {
                matches!(self.terms.constant(constant), Value::Series(_))
            }
            Term::Cell(cell) => {
                matches!(self.kinds.get(cell as usize), Some(Some(Type::Series(_))))
            }
            _ => false,
        }
    }

    fn choice(&mut self, formula: &'static Formula, place: u8, text: Id) -> Option<Register> {
        let Term::Constant(constant) = *self.terms.get(text) else { return None };
        let Value::Text(text) = self.terms.constant(constant) else { return None };
        let Kind::Choice(words) = formula.parameters.get(usize::from(place))?.kind else {
            return None;
        };
        let word = words.iter().position(|word| *word == &**text)?;
        self.constant(f64::from(u16::try_from(word).ok()?))
    }

    fn branch(
        &mut self,
        condition: Register,
        then: impl FnOnce(&mut Self) -> Option<Register>,
        otherwise: impl FnOnce(&mut Self) -> Option<Register>,
    ) -> Option<Register> {
        let (then_gives, mut steps) = self.inside(true, then)?;
        let then_count = index(steps.len());
        let (otherwise_gives, more) = self.inside(true, otherwise)?;
        let branch = Branch {
            condition,
            then: then_count,
            otherwise: index(more.len()),
            then_gives,
            otherwise_gives,
        };
        steps.extend(more);
        let place = index(self.programs.branches.len());
        self.programs.branches.push(branch);
        let level = self.frames.len() - 1;
        let to = self.register(level)?;
        let frame = self.frames.get_mut(level)?;
        frame.steps.push(Step::Branch(to, place));
        frame.steps.extend(steps);
        Some(to)
    }

    fn search(&mut self, what: Sought, slot: Slot, [f, from, to]: [Id; 3]) -> Option<Register> {
        let (from, to) = (self.term(from)?, self.term(to)?);
        let argument = self.register(self.frames.len())?;
        let outer = self.locals.insert(slot, argument);
        let (gives, steps) = self.inside(false, |flattening| flattening.term(f))?;
        match outer {
            Some(outer) => self.locals.insert(slot, outer),
            None => self.locals.remove(&slot),
        };
        let place = index(self.programs.searches.len());
        let search = Search { what, argument, gives, from, to, steps: index(steps.len()) };
        self.programs.searches.push(search);
        let level = self.frames.len() - 1;
        let found = self.register(level)?;
        let frame = self.frames.get_mut(level)?;
        frame.steps.push(Step::Search(found, place));
        frame.steps.extend(steps);
        Some(found)
    }

    /// The steps of a frame of its own, and its result. What is assigned inside a branch is known
    /// inside it alone; a variable from outside that is assigned there is beyond a flat program.
    fn inside(
        &mut self,
        branch: bool,
        run: impl FnOnce(&mut Self) -> Option<Register>,
    ) -> Option<(Register, Vec<Step>)> {
        let outer = self.locals.clone();
        self.frames.push(Frame { branch, steps: Vec::new() });
        let gives = run(self);
        let steps = self.frames.pop()?.steps;
        let gives = gives?;
        let unchanged = outer.iter().all(|(slot, r)| self.locals.get(slot) == Some(r));
        self.locals = outer;
        unchanged.then_some((gives, steps))
    }

    fn sequence(&mut self, args: Args) -> Option<Register> {
        let terms = self.terms;
        let (last, before) = terms.args(args).split_last()?;
        for statement in before {
            self.statement(*statement)?;
        }
        self.term(*last)
    }

    fn statement(&mut self, id: Id) -> Option<()> {
        match *self.terms.get(id) {
            Term::Assign(slot, value) => {
                let value = self.term(value)?;
                self.locals.insert(slot, value);
            }
            Term::Nothing => {}
            _ => return None,
        }
        Some(())
    }

    /// A function's body, which may be left early by a `return` in a branch.
    fn body(&mut self, id: Id) -> Option<Register> {
        match *self.terms.get(id) {
            Term::Return(value) => self.term(value),
            Term::Sequence(args) => {
                let terms = self.terms;
                self.rest_of_body(terms.args(args))
            }
            Term::If(condition, then, otherwise) => {
                let condition = self.term(condition)?;
                self.branch(condition, |f| f.body(then), |f| f.body(otherwise))
            }
            _ => self.term(id),
        }
    }

    fn rest_of_body(&mut self, statements: &[Id]) -> Option<Register> {
        let (first, rest) = statements.split_first()?;
        if rest.is_empty() {
            return self.body(*first);
        }
        match *self.terms.get(*first) {
            Term::Return(value) => self.term(value),
            // An `if` without `else` that returns: what follows is its `else`.
            Term::If(condition, then, otherwise)
                if matches!(self.terms.get(otherwise), Term::Nothing) && self.returns(then) =>
            {
                let condition = self.term(condition)?;
                self.branch(condition, |f| f.body(then), |f| f.rest_of_body(rest))
            }
            _ => {
                self.statement(*first)?;
                self.rest_of_body(rest)
            }
        }
    }

    /// Whether a term always ends in a `return`.
    fn returns(&self, id: Id) -> bool {
        match *self.terms.get(id) {
            Term::Return(_) => true,
            Term::Sequence(args) => {
                self.terms.args(args).last().is_some_and(|last| self.returns(*last))
            }
            Term::If(_, then, otherwise) => self.returns(then) && self.returns(otherwise),
            _ => false,
        }
    }
}

/// Programs are bounded far below 2³² steps by the bounds on terms.
#[allow(clippy::cast_possible_truncation)]
fn index(at: usize) -> u32 {
    at as u32
}
