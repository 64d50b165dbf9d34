//! Runs flat programs, one row at a time.

use forebay_formulas::Argument as Given;

use super::formulas::{Held, texts_of};
use super::roots;
use super::steps::{binary, compare, divide, math};
use crate::program::{
    Argument, Call, MOST_ARGUMENTS, Program, ProgramKind, Programs, Register, Search, Sought, Step,
};
use crate::value::{Items, Value};

/// As many as a register's number can tell apart, so that no access needs a check.
const REGISTERS: usize = 1 << 16;

/// What programs are run on.
#[derive(Debug)]
pub(crate) struct Runner {
    registers: Box<[f64; REGISTERS]>,
    steps: u64,
    watching: bool,
}

/// The program met something that the tree of terms must word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Odd;

impl Default for Runner {
    fn default() -> Self {
        // Pages that no program touches are never there.
        let registers = vec![0.0; REGISTERS].into_boxed_slice().try_into();
        Self {
            registers: registers.unwrap_or_else(|_| Box::new([0.0; REGISTERS])),
            steps: 0,
            watching: true,
        }
    }
}

/// One run of one program.
struct Run<'a> {
    programs: &'a Programs,
    cells: &'a [Option<Value>],
    outside: &'a [Held],
    runner: &'a mut Runner,
}

impl Runner {
    /// The value of a cell whose program this is; takes from `steps` what it used.
    pub(crate) fn run(
        &mut self,
        programs: &Programs,
        program: Program,
        cells: &[Option<Value>],
        outside: &[Held],
        steps: &mut u64,
    ) -> Result<Value, Odd> {
        (self.steps, self.watching) = (*steps, true);
        let mut run = Run { programs, cells, outside, runner: self };
        run.steps(&programs.steps[program.start as usize..program.end as usize])?;
        *steps = self.steps;
        let result = self.registers[usize::from(program.gives)];
        match program.kind {
            ProgramKind::Truth => Ok(Value::Truth(result != 0.0)),
            _ if result.is_finite() => Ok(Value::Number(result)),
            _ => Err(Odd),
        }
    }
}

impl Runner {
    /// Runs steps that are not of a whole program, on registers as they are.
    pub(crate) fn once(
        &mut self,
        programs: &Programs,
        steps: &[Step],
        cells: &[Option<Value>],
        outside: &[Held],
        most: u64,
    ) -> Result<(), Odd> {
        (self.steps, self.watching) = (most, true);
        Run { programs, cells, outside, runner: self }.steps(steps)
    }

    pub(crate) fn put(&mut self, register: Register, number: f64) {
        self.registers[usize::from(register)] = number;
    }

    pub(crate) fn number(&self, register: Register) -> f64 {
        self.registers[usize::from(register)]
    }
}

impl Run<'_> {
    fn get(&self, register: u16) -> f64 {
        self.runner.registers[usize::from(register)]
    }

    fn set(&mut self, register: u16, number: f64) {
        self.runner.registers[usize::from(register)] = number;
    }

    fn steps(&mut self, steps: &[Step]) -> Result<(), Odd> {
        let mut at = 0;
        while let Some(step) = steps.get(at) {
            at += 1;
            match *step {
                Step::Constant(to, constant) => {
                    let number = self.programs.constants.get(constant as usize).copied();
                    self.set(to, number.ok_or(Odd)?);
                }
                Step::Input(to, cell) => {
                    let number = match self.cells.get(cell as usize) {
                        Some(Some(Value::Number(number))) => *number,
                        Some(Some(Value::Truth(truth))) => f64::from(u8::from(*truth)),
                        _ => return Err(Odd),
                    };
                    self.set(to, number);
                }
                Step::Negate(to, a) => self.set(to, -self.get(a)),
                Step::Add(to, a, b) => self.set(to, self.get(a) + self.get(b)),
                Step::Subtract(to, a, b) => self.set(to, self.get(a) - self.get(b)),
                Step::Multiply(to, a, b) => self.set(to, self.get(a) * self.get(b)),
                Step::Divide(to, a, b) => {
                    let quotient = divide(self.get(a), self.get(b));
                    self.set(to, quotient.ok_or(Odd)?);
                }
                Step::Square(to, a) => {
                    let square = self.get(a) * self.get(a);
                    if !square.is_finite() {
                        return Err(Odd);
                    }
                    self.set(to, square);
                }
                Step::Math(f, to, a) => {
                    let result = math(f, self.get(a));
                    self.set(to, result.ok_or(Odd)?);
                }
                Step::Binary(what, to, a, b) => {
                    let result = binary(what, self.get(a), self.get(b));
                    self.set(to, result.ok_or(Odd)?);
                }
                Step::Compare(how, to, a, b) => {
                    let truth = compare(how, self.get(a), self.get(b)).ok_or(Odd)?;
                    self.set(to, f64::from(u8::from(truth)));
                }
                Step::Not(to, a) => self.set(to, 1.0 - self.get(a)),
                Step::Call(to, call) => {
                    let programs = self.programs;
                    let call = programs.calls.get(call as usize).ok_or(Odd)?;
                    let result = self.call(call)?;
                    self.set(to, result);
                }
                Step::Branch(to, branch) => {
                    let branch = *self.programs.branches.get(branch as usize).ok_or(Odd)?;
                    let (then, rest) = (branch.then as usize, branch.otherwise as usize);
                    let (from, gives, count) = if self.get(branch.condition) != 0.0 {
                        (at, branch.then_gives, then)
                    } else {
                        (at + then, branch.otherwise_gives, rest)
                    };
                    self.steps(steps.get(from..from + count).ok_or(Odd)?)?;
                    self.set(to, self.get(gives));
                    at += then + rest;
                }
                Step::Search(to, search) => {
                    let search = *self.programs.searches.get(search as usize).ok_or(Odd)?;
                    let count = search.steps as usize;
                    let found = self.search(search, steps.get(at..at + count).ok_or(Odd)?)?;
                    self.set(to, found);
                    at += count;
                }
            }
        }
        Ok(())
    }

    fn call(&mut self, call: &Call) -> Result<f64, Odd> {
        let count = call.arguments.len();
        let mut numbers = [0.0; MOST_ARGUMENTS];
        for (number, argument) in numbers.iter_mut().zip(&call.arguments) {
            match *argument {
                Argument::Register(register) => {
                    *number = self.get(register);
                    if number.is_nan() {
                        return Err(Odd);
                    }
                }
                Argument::Outside(_) => {}
            }
        }
        let watching = self.runner.watching;
        let inside = |ranges: &[(u8, forebay_formulas::Range)]| {
            ranges.iter().all(|(at, range)| range.holds(numbers[usize::from(*at)]))
        };
        if !inside(&call.must) || (watching && !inside(&call.valid)) {
            return Err(Odd);
        }
        if !call.of_numbers {
            return self.series_call(call, &numbers[..count]);
        }
        self.step(1)?;
        let numbers = &numbers[..count];
        let result = call.formula.body.number(numbers);
        let limits = call.formula.limits;
        if !result.is_finite() || (watching && !limits.iter().all(|l| (l.holds)(numbers))) {
            return Err(Odd);
        }
        Ok(result)
    }

    fn series_call(&mut self, call: &Call, numbers: &[f64]) -> Result<f64, Odd> {
        let mut arguments = [Given::Number(0.0); MOST_ARGUMENTS];
        let texts: Vec<Vec<&str>> = call
            .arguments
            .iter()
            .map(|argument| match argument {
                Argument::Outside(at) => {
                    self.outside.get(usize::from(*at)).map_or_else(Vec::new, |h| texts_of(&h.0))
                }
                Argument::Register(_) => Vec::new(),
            })
            .collect();
        let mut elements = 1;
        for (at, (argument, given)) in call.arguments.iter().zip(&mut arguments).enumerate() {
            *given = match argument {
                Argument::Register(_) => Given::Number(numbers[at]),
                Argument::Outside(place) => {
                    let Some(Held(Value::Series(series))) = self.outside.get(usize::from(*place))
                    else {
                        return Err(Odd);
                    };
                    elements += series.len() as u64;
                    match &series.items {
                        Items::Numbers(numbers) => Given::Series(numbers),
                        Items::Values(_) => Given::Texts(&texts[at]),
                    }
                }
            };
        }
        let arguments = &arguments[..call.arguments.len()];
        self.step(elements)?;
        let (result, doubt) = call.formula.doubted_answer(arguments).map_err(|_| Odd)?;
        if self.runner.watching && !call.formula.warnings_with(arguments, doubt).is_empty() {
            return Err(Odd);
        }
        Ok(result)
    }

    /// Counts steps; odd where they run out.
    fn step(&mut self, steps: u64) -> Result<(), Odd> {
        let left = self.runner.steps.checked_sub(steps).ok_or(Odd)?;
        self.runner.steps = left;
        Ok(())
    }

    fn search(&mut self, search: Search, steps: &[Step]) -> Result<f64, Odd> {
        let (from, to) = (self.get(search.from), self.get(search.to));
        let watching = self.runner.watching;
        // All of an integral is seen; of a search only the place where it ends.
        self.runner.watching = watching && search.what == Sought::Integral;
        let sign = if search.what == Sought::Least { -1.0 } else { 1.0 };
        let mut at = |x| self.at(search, steps, x).ok();
        let found = match search.what {
            Sought::Zero => roots::zero(at, from, to).ok(),
            Sought::Greatest | Sought::Least => {
                roots::greatest(|x| at(x).map(|y| sign * y), from, to)
            }
            Sought::Integral => roots::integral(at, from, to),
        };
        self.runner.watching = watching;
        let found = found.ok_or(Odd)?;
        if watching && search.what != Sought::Integral {
            self.at(search, steps, found)?;
        }
        Ok(found)
    }

    fn at(&mut self, search: Search, steps: &[Step], x: f64) -> Result<f64, Odd> {
        self.step(1)?;
        self.set(search.argument, x);
        self.steps(steps)?;
        let y = self.get(search.gives);
        if y.is_finite() { Ok(y) } else { Err(Odd) }
    }
}
