//! Makes a sheet ready for certain knowns to vary: what they touch, in computing order, as steps
//! over columns; what is the same in all rows is computed here and now.

use std::collections::HashMap;

use super::{Batch, BlockCall, Branch, In, Place, Search, Stage, Step, Varied};
use crate::compile::CellCode;
use crate::evaluate::MOST_STEPS;
use crate::evaluate::flat::{Odd, Runner};
use crate::evaluate::formulas::ReadySeries;
use crate::graph::{Dirty, NOWHERE};
use crate::program::{
    Argument, Binary, Program, ProgramKind, Programs, Register, Sought, Step as Flat,
};
use crate::sheet::Sheet;
use crate::value::{Scalar, Type, Value};
use forebay_formulas::Body;

pub(super) fn plan<'s>(sheet: &'s Sheet, knowns: &[&str], see: &[&str]) -> Option<Batch<'s>> {
    let mut planning = Planning {
        sheet,
        batch: Batch {
            sheet,
            knowns: Vec::new(),
            see: Vec::new(),
            checks: Vec::new(),
            stages: Vec::new(),
            steps: Vec::new(),
            calls: Vec::new(),
            branches: Vec::new(),
            searches: Vec::new(),
            fixed: Vec::new(),
            columns: 0,
            others: 0,
            places: HashMap::new(),
        },
        spare: Vec::new(),
        runner: Runner::default(),
    };
    for name in knowns {
        planning.known(name)?;
    }
    planning.touched();
    let Planning { mut batch, .. } = planning;
    for name in see {
        let place = batch.place_of(sheet.cell(name)?.place());
        batch.see.push(place);
    }
    batch.checks = sheet.checks().map(|check| batch.place_of(check.place())).collect();
    Some(batch)
}

/// The cell cannot be computed side by side.
struct ByRows;

struct Planning<'s> {
    sheet: &'s Sheet,
    batch: Batch<'s>,
    /// Columns for what lies between, used anew by every cell.
    spare: Vec<u32>,
    runner: Runner,
}

impl Batch<'_> {
    fn place_of(&self, cell: u32) -> Place {
        match self.places.get(&cell) {
            Some(place) => *place,
            None if self.sheet.values()[cell as usize].is_some() => Place::Fixed(cell),
            None => Place::Nowhere,
        }
    }

    fn column(&mut self) -> u32 {
        self.columns += 1;
        self.columns - 1
    }

    /// A place for the values of a cell of this type.
    fn new_place(&mut self, ty: Option<Type>) -> Place {
        match ty {
            Some(Type::One(Scalar::Truth)) => Place::Truths(self.column()),
            Some(Type::One(scalar)) if scalar.is_bare() => Place::Numbers(self.column()),
            Some(_) => {
                self.others += 1;
                Place::Others(self.others - 1)
            }
            None => Place::Nowhere,
        }
    }

    /// A column that holds the same number in all rows.
    fn fixed_column(&mut self, number: f64) -> u32 {
        let known = self.fixed.iter().find(|(_, n)| n.to_bits() == number.to_bits());
        if let Some((column, _)) = known {
            return *column;
        }
        let column = self.column();
        self.fixed.push((column, number));
        column
    }
}

impl Planning<'_> {
    fn known(&mut self, name: &str) -> Option<()> {
        let cell = self.sheet.cell(name)?;
        let at = cell.place();
        let code = &self.sheet.compiled().cells[at as usize];
        if !self.sheet.is_settable(at as usize) || self.batch.places.contains_key(&at) {
            return None;
        }
        let ty = code.ty?;
        let place = self.batch.new_place(Some(ty));
        self.batch.places.insert(at, place);
        let mut machine = self.sheet.machine();
        let choose = match code.choose.map(|choose| machine.cell(choose, code.slots).0) {
            Some(Ok(Value::Series(list))) => {
                Some((0..list.len()).filter_map(|at| list.get(at)).collect())
            }
            _ => None,
        };
        let width = code.plus_minus.map(|written| machine.cell(written.width, code.slots).0);
        let always_odd = matches!(width, Some(Ok(Value::Number(width))) if width < 0.0);
        self.batch.knowns.push(Varied { place, ty, between: cell.between(), choose, always_odd });
        Some(())
    }

    /// All cells that the knowns touch, in computing order.
    fn touched(&mut self) {
        let sheet = self.sheet;
        let compiled = sheet.compiled();
        let graph = &compiled.graph;
        let mut dirty = Dirty::new(graph.order.len());
        for known in self.batch.places.keys() {
            let rank = graph.rank[*known as usize];
            if rank != NOWHERE {
                graph.dependants(rank).iter().for_each(|place| dirty.mark(*place));
            }
        }
        dirty.drain(|place| {
            let cell = graph.order[place as usize];
            if sheet.is_pinned(cell as usize) {
                return &[];
            }
            self.cell(cell, &compiled.cells[cell as usize], compiled.programs.of(cell as usize));
            graph.dependants(place)
        });
    }

    fn cell(&mut self, cell: u32, code: &CellCode, program: Program) {
        let without = |read: &u32| self.batch.place_of(*read) == Place::Nowhere;
        if code.root.is_none() || !code.broken_reads.is_empty() || code.reads.iter().any(without) {
            self.batch.places.insert(cell, Place::Nowhere);
            return;
        }
        let place = self.batch.new_place(code.ty);
        self.batch.places.insert(cell, place);
        let marks = (
            self.batch.steps.len(),
            self.batch.calls.len(),
            self.batch.branches.len(),
            self.batch.searches.len(),
        );
        let planned = match place {
            Place::Numbers(column) | Place::Truths(column) => self.flat(program, column),
            _ => Err(ByRows),
        };
        let stage = match planned {
            Ok((result, finite)) => {
                let (from, to) = (index(marks.0), index(self.batch.steps.len()));
                Stage::Steps { from, to, result, place, finite }
            }
            Err(ByRows) => {
                self.batch.steps.truncate(marks.0);
                self.batch.calls.truncate(marks.1);
                self.batch.branches.truncate(marks.2);
                self.batch.searches.truncate(marks.3);
                Stage::Rows { cell, place }
            }
        };
        self.batch.stages.push(stage);
    }

    /// The steps of a cell that has a program; its result goes into `column` if it can.
    fn flat(&mut self, program: Program, column: u32) -> Result<(In, bool), ByRows> {
        if program.kind == ProgramKind::None {
            return Err(ByRows);
        }
        let sheet = self.sheet;
        let compiled = sheet.compiled();
        let programs = &compiled.programs;
        let mut held = Vec::new();
        for id in programs.outside(program) {
            if compiled.cell_of(*id).is_some_and(|cell| self.batch.places.contains_key(&cell)) {
                return Err(ByRows);
            }
            held.push(compiled.ready_series(*id, sheet.values()).ok_or(ByRows)?);
        }
        let steps = &programs.steps[program.start as usize..program.end as usize];
        let mut one = OneCell {
            planning: self,
            programs,
            held: &held,
            varies: HashMap::new(),
            operands: HashMap::new(),
            result: program.gives,
            column,
            spare: 0,
            sound: HashMap::new(),
        };
        one.follow(steps)?;
        one.emit(steps, true)?;
        Ok((one.operand(program.gives)?, one.sound_of(program.gives) == Sound::Finite))
    }
}

/// The steps of one cell.
struct OneCell<'p, 's, 'a> {
    planning: &'p mut Planning<'s>,
    programs: &'a Programs,
    held: &'a [ReadySeries],
    /// Whether a register differs from row to row.
    varies: HashMap<Register, bool>,
    operands: HashMap<Register, In>,
    /// The register of the result, and the column for it.
    result: Register,
    column: u32,
    /// How many of the spare columns are in use.
    spare: usize,
    /// What is known of the numbers of registers that vary, in rows that are not odd yet.
    sound: HashMap<Register, Sound>,
}

/// What is known of numbers beforehand, so that it need not be looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Sound {
    Unknown,
    /// Perhaps infinite.
    Number,
    Finite,
}

impl OneCell<'_, '_, '_> {
    fn is_varied(&self, register: Register) -> bool {
        self.varies.get(&register).copied().unwrap_or(false)
    }

    /// Finds out which registers differ from row to row.
    fn follow(&mut self, steps: &[Flat]) -> Result<(), ByRows> {
        let mut at = 0;
        while let Some(step) = steps.get(at) {
            at += 1;
            let varies = match *step {
                Flat::Constant(..) => false,
                Flat::Input(_, cell) => self.planning.batch.places.contains_key(&cell),
                Flat::Negate(_, a) | Flat::Square(_, a) | Flat::Not(_, a) | Flat::Math(_, _, a) => {
                    self.is_varied(a)
                }
                Flat::Add(_, a, b)
                | Flat::Subtract(_, a, b)
                | Flat::Multiply(_, a, b)
                | Flat::Divide(_, a, b)
                | Flat::Binary(_, _, a, b)
                | Flat::Compare(_, _, a, b) => self.is_varied(a) || self.is_varied(b),
                Flat::Call(_, call) => self.programs.calls[call as usize].arguments.iter().any(
                    |argument| matches!(argument, Argument::Register(a) if self.is_varied(*a)),
                ),
                Flat::Branch(_, branch) => {
                    let branch = self.programs.branches[branch as usize];
                    let count = (branch.then + branch.otherwise) as usize;
                    self.follow(&steps[at..at + count])?;
                    at += count;
                    let registers = [branch.condition, branch.then_gives, branch.otherwise_gives];
                    registers.iter().any(|register| self.is_varied(*register))
                }
                Flat::Search(_, search) => {
                    let search = self.programs.searches[search as usize];
                    let function = &steps[at..at + search.steps as usize];
                    at += search.steps as usize;
                    self.varies.insert(search.argument, false);
                    self.follow(function)?;
                    let registers = [search.from, search.to, search.gives];
                    let varies = registers.iter().any(|register| self.is_varied(*register));
                    if varies {
                        // Then the rows try different places.
                        self.varies.insert(search.argument, true);
                        self.follow(function)?;
                        if search.what != Sought::Zero {
                            return Err(ByRows);
                        }
                    }
                    varies
                }
            };
            self.varies.insert(step.writes(), varies);
        }
        Ok(())
    }

    fn sound_of(&self, register: Register) -> Sound {
        self.sound.get(&register).copied().unwrap_or(Sound::Unknown)
    }

    /// What is known of the result of a step.
    fn sound_after(&self, step: Flat) -> Sound {
        let both = |a, b| self.sound_of(a).min(self.sound_of(b));
        match step {
            // What is not finite here has made the row odd.
            Flat::Square(..)
            | Flat::Call(..)
            | Flat::Search(..)
            | Flat::Compare(..)
            | Flat::Binary(Binary::Power, ..)
            | Flat::Constant(..)
            | Flat::Input(..) => Sound::Finite,
            // The function itself is looked at where what it is of was finite.
            Flat::Math(_, _, a) => self.sound_of(a),
            Flat::Negate(_, a) | Flat::Not(_, a) => self.sound_of(a),
            // Finite numbers give no NaN, by zero aside, which has made the row odd.
            Flat::Add(_, a, b)
            | Flat::Subtract(_, a, b)
            | Flat::Multiply(_, a, b)
            | Flat::Divide(_, a, b) => both(a, b).min(match both(a, b) {
                Sound::Finite => Sound::Number,
                _ => Sound::Unknown,
            }),
            Flat::Binary(Binary::Least | Binary::Greatest, _, a, b) => both(a, b),
            Flat::Binary(..) | Flat::Branch(..) => Sound::Unknown,
        }
    }

    fn operand(&self, register: Register) -> Result<In, ByRows> {
        self.operands.get(&register).copied().ok_or(ByRows)
    }

    /// A column for a register.
    fn to(&mut self, register: Register) -> u32 {
        let column = if register == self.result {
            self.column
        } else {
            if self.spare == self.planning.spare.len() {
                let new = self.planning.batch.column();
                self.planning.spare.push(new);
            }
            self.spare += 1;
            self.planning.spare[self.spare - 1]
        };
        self.operands.insert(register, In::Column(column));
        column
    }

    /// Writes the steps; `here` while they are sure to be run, so that what does not vary can be
    /// computed beforehand.
    fn emit(&mut self, steps: &[Flat], here: bool) -> Result<(), ByRows> {
        let mut at = 0;
        while let Some(step) = steps.get(at) {
            at += 1;
            let to = step.writes();
            self.sound.insert(to, self.sound_after(*step));
            let behind = match *step {
                Flat::Branch(_, branch) => {
                    let branch = self.programs.branches[branch as usize];
                    (branch.then + branch.otherwise) as usize
                }
                Flat::Search(_, search) => self.programs.searches[search as usize].steps as usize,
                _ => 0,
            };
            match *step {
                Flat::Constant(_, constant) => {
                    self.same(to, self.programs.constants[constant as usize]);
                    continue;
                }
                Flat::Input(_, cell) => {
                    self.input(to, cell)?;
                    continue;
                }
                _ => {}
            }
            if here && !self.is_varied(to) {
                let number = self.planning.alike(
                    self.programs,
                    self.held,
                    &steps[at - 1..at + behind],
                    to,
                )?;
                self.same(to, number);
                at += behind;
                continue;
            }
            self.step(*step, &steps[at..at + behind], here)?;
            at += behind;
        }
        Ok(())
    }

    /// A register that is the same in all rows.
    fn same(&mut self, register: Register, number: f64) {
        let sound = if number.is_finite() { Sound::Finite } else { Sound::Unknown };
        self.sound.insert(register, sound);
        self.planning.runner.put(register, number);
        self.operands.insert(register, In::Same(number));
    }

    fn input(&mut self, to: Register, cell: u32) -> Result<(), ByRows> {
        match self.planning.batch.places.get(&cell) {
            Some(Place::Numbers(column) | Place::Truths(column)) => {
                self.operands.insert(to, In::Column(*column));
            }
            Some(_) => return Err(ByRows),
            None => match &self.planning.sheet.values()[cell as usize] {
                Some(Value::Number(number)) => self.same(to, *number),
                Some(Value::Truth(truth)) => self.same(to, f64::from(u8::from(*truth))),
                _ => return Err(ByRows),
            },
        }
        Ok(())
    }

    fn step(&mut self, step: Flat, behind: &[Flat], here: bool) -> Result<(), ByRows> {
        let written = step.writes();
        match step {
            Flat::Branch(_, branch) => return self.branch(written, branch, behind, here),
            Flat::Search(_, search) => return self.search(written, search, behind),
            Flat::Call(_, call) => return self.call(written, call),
            _ => {}
        }
        let one = |of: &Self, a| of.operand(a);
        let planned = match step {
            Flat::Negate(_, a) => Step::Negate(0, one(self, a)?),
            Flat::Not(_, a) => Step::Not(0, one(self, a)?),
            Flat::Square(_, a) => Step::Square(0, one(self, a)?),
            Flat::Math(f, _, a) => Step::Math(f, 0, one(self, a)?),
            Flat::Add(_, a, b) => Step::Add(0, one(self, a)?, one(self, b)?),
            Flat::Subtract(_, a, b) => Step::Subtract(0, one(self, a)?, one(self, b)?),
            Flat::Multiply(_, a, b) => Step::Multiply(0, one(self, a)?, one(self, b)?),
            Flat::Divide(_, a, b) => Step::Divide(0, one(self, a)?, one(self, b)?),
            Flat::Binary(what, _, a, b) => Step::Binary(what, 0, one(self, a)?, one(self, b)?),
            Flat::Compare(how, _, a, b) => Step::Compare(how, 0, one(self, a)?, one(self, b)?),
            _ => return Err(ByRows),
        };
        let to = self.to(written);
        self.planning.batch.steps.push(planned.writing(to));
        Ok(())
    }

    fn call(&mut self, written: Register, call: u32) -> Result<(), ByRows> {
        let call = self.programs.calls[call as usize].clone();
        let (mut operands, mut held, mut unsure) = (Vec::new(), Vec::new(), Vec::new());
        for argument in &call.arguments {
            operands.push(match argument {
                Argument::Register(register) => {
                    let operand = self.operand(*register)?;
                    if self.sound_of(*register) == Sound::Unknown {
                        unsure.push(operand);
                    }
                    operand
                }
                Argument::Outside(place) => {
                    held.push(self.held.get(usize::from(*place)).cloned().ok_or(ByRows)?);
                    In::Same(0.0)
                }
            });
        }
        let batch = &mut self.planning.batch;
        let columns = matches!(call.formula.body, Body::SideBySide(..)).then(|| {
            let column = |operand: &In| match operand {
                In::Column(column) => *column,
                In::Same(number) => batch.fixed_column(*number),
            };
            operands.iter().map(column).collect()
        });
        batch.calls.push(BlockCall { call, operands, unsure, held, columns });
        let place = index(self.planning.batch.calls.len() - 1);
        let to = self.to(written);
        self.planning.batch.steps.push(Step::Call(to, place));
        Ok(())
    }

    fn branch(
        &mut self,
        written: Register,
        branch: u32,
        behind: &[Flat],
        here: bool,
    ) -> Result<(), ByRows> {
        let branch = self.programs.branches[branch as usize];
        let (then, otherwise) = behind.split_at(branch.then as usize);
        let condition = match self.operand(branch.condition)? {
            // All rows go the same way.
            In::Same(condition) => {
                let (taken, gives) = if condition != 0.0 {
                    (then, branch.then_gives)
                } else {
                    (otherwise, branch.otherwise_gives)
                };
                self.emit(taken, here)?;
                let gives = self.operand(gives)?;
                self.operands.insert(written, gives);
                return Ok(());
            }
            In::Column(condition) => condition,
        };
        let place = self.planning.batch.branches.len();
        let none = In::Same(0.0);
        let (then_gives, otherwise_gives) = (none, none);
        let planned = Branch { condition, then: 0, otherwise: 0, then_gives, otherwise_gives };
        self.planning.batch.branches.push(planned);
        let head = self.planning.batch.steps.len();
        let to = self.to(written);
        self.planning.batch.steps.push(Step::Branch(to, index(place)));
        self.emit(then, false)?;
        let middle = self.planning.batch.steps.len();
        self.emit(otherwise, false)?;
        let end = self.planning.batch.steps.len();
        let (then_gives, otherwise_gives) =
            (self.operand(branch.then_gives)?, self.operand(branch.otherwise_gives)?);
        self.planning.batch.branches[place] = Branch {
            condition,
            then: index(middle - head - 1),
            otherwise: index(end - middle),
            then_gives,
            otherwise_gives,
        };
        Ok(())
    }

    fn search(&mut self, written: Register, search: u32, function: &[Flat]) -> Result<(), ByRows> {
        let search = self.programs.searches[search as usize];
        if search.what != Sought::Zero {
            return Err(ByRows);
        }
        let (from, to_bound) = (self.operand(search.from)?, self.operand(search.to)?);
        let place = self.planning.batch.searches.len();
        let argument = self.to(search.argument);
        self.sound.insert(search.argument, Sound::Finite);
        let planned = Search {
            argument,
            gives: In::Same(0.0),
            from,
            to: to_bound,
            steps: 0,
            bracket: index(place),
        };
        self.planning.batch.searches.push(planned);
        let head = self.planning.batch.steps.len();
        let to = self.to(written);
        self.planning.batch.steps.push(Step::Search(to, index(place)));
        self.emit(function, false)?;
        let gives = self.operand(search.gives)?;
        let steps = index(self.planning.batch.steps.len() - head - 1);
        self.planning.batch.searches[place] = Search { gives, steps, ..planned };
        Ok(())
    }
}

impl Planning<'_> {
    /// A number that is the same in all rows.
    fn alike(
        &mut self,
        programs: &Programs,
        held: &[ReadySeries],
        steps: &[Flat],
        register: Register,
    ) -> Result<f64, ByRows> {
        let values = self.sheet.values();
        let computed = self.runner.once(programs, steps, values, held, MOST_STEPS);
        computed.map_err(|Odd| ByRows)?;
        Ok(self.runner.number(register))
    }
}

impl Step {
    /// The same step, writing into a column.
    fn writing(self, to: u32) -> Self {
        match self {
            Self::Negate(_, a) => Self::Negate(to, a),
            Self::Not(_, a) => Self::Not(to, a),
            Self::Square(_, a) => Self::Square(to, a),
            Self::Math(f, _, a) => Self::Math(f, to, a),
            Self::Add(_, a, b) => Self::Add(to, a, b),
            Self::Subtract(_, a, b) => Self::Subtract(to, a, b),
            Self::Multiply(_, a, b) => Self::Multiply(to, a, b),
            Self::Divide(_, a, b) => Self::Divide(to, a, b),
            Self::Binary(what, _, a, b) => Self::Binary(what, to, a, b),
            Self::Compare(how, _, a, b) => Self::Compare(how, to, a, b),
            Self::Call(_, call) => Self::Call(to, call),
            Self::Branch(_, branch) => Self::Branch(to, branch),
            Self::Search(_, search) => Self::Search(to, search),
        }
    }
}

/// Plans are bounded far below 2³² entries by the bounds on terms.
#[allow(clippy::cast_possible_truncation)]
fn index(at: usize) -> u32 {
    at as u32
}
