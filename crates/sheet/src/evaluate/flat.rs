//! Runs flat programs, one row at a time.

use forebay_formulas::Argument as Given;

use super::formulas::{ReadySeries, texts_of};
use super::roots;
use super::steps::{binary, compare, divide, math};
use crate::program::{
    Argument, Call, MOST_ARGUMENTS, Program, Programs, Register, Search, Sought, Step,
};
use crate::value::{Items, Value};

/// As many as a register's number can tell apart, so that no access needs a check.
const REGISTERS: usize = 1 << 16;

/// What programs are run on.
#[derive(Debug)]
pub(crate) struct Runner {
    registers: Box<Registers>,
}

type Registers = [f64; REGISTERS];

/// The program met something that the tree of terms must word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Odd;

impl Default for Runner {
    fn default() -> Self {
        // Pages that no program touches are never there.
        let registers = vec![0.0; REGISTERS].into_boxed_slice().try_into();
        Self { registers: registers.unwrap_or_else(|_| Box::new([0.0; REGISTERS])) }
    }
}

/// One run of one program.
struct Run<'a> {
    programs: &'a Programs,
    cells: &'a [Option<Value>],
    outside: &'a [ReadySeries],
    /// How many steps are left.
    left: u64,
    watching: bool,
}

impl Runner {
    /// The number of a cell whose program this is, or a truth as one or zero; takes from `steps` what
    /// it used.
    #[inline]
    pub(crate) fn run(
        &mut self,
        programs: &Programs,
        program: Program,
        cells: &[Option<Value>],
        outside: &[ReadySeries],
        steps: &mut u64,
    ) -> Result<f64, Odd> {
        let mut run = Run { programs, cells, outside, left: *steps, watching: true };
        let flat = programs.steps.get(program.start as usize..program.end as usize).ok_or(Odd)?;
        // Most cells are a sum or a product; for them the way into the loop below is half the work.
        let mut at = 0;
        while let Some(step) = flat.get(at) {
            if !run.simple(&mut self.registers, *step)? {
                run.steps(&mut self.registers, &flat[at..])?;
                break;
            }
            at += 1;
        }
        *steps = run.left;
        let result = self.registers[usize::from(program.gives)];
        if result.is_finite() { Ok(result) } else { Err(Odd) }
    }

    /// Runs steps that are not of a whole program, on registers as they are.
    pub(crate) fn once(
        &mut self,
        programs: &Programs,
        steps: &[Step],
        cells: &[Option<Value>],
        outside: &[ReadySeries],
        most: u64,
    ) -> Result<(), Odd> {
        let mut run = Run { programs, cells, outside, left: most, watching: true };
        run.steps(&mut self.registers, steps)
    }

    pub(crate) fn put(&mut self, register: Register, number: f64) {
        self.registers[usize::from(register)] = number;
    }

    pub(crate) fn number(&self, register: Register) -> f64 {
        self.registers[usize::from(register)]
    }
}

impl Run<'_> {
    /// Takes a step of bare arithmetic; `false` for any other.
    #[inline(always)]
    fn simple(&mut self, r: &mut Registers, step: Step) -> Result<bool, Odd> {
        match step {
            Step::Constant(to, constant) => {
                let number = self.programs.constants.get(constant as usize).copied();
                set(r, to, number.ok_or(Odd)?);
            }
            Step::Input(to, cell) => {
                let number = match self.cells.get(cell as usize) {
                    Some(Some(Value::Number(number))) => *number,
                    Some(Some(Value::Truth(truth))) => f64::from(u8::from(*truth)),
                    _ => return Err(Odd),
                };
                set(r, to, number);
            }
            Step::Add(to, a, b) => set(r, to, get(r, a) + get(r, b)),
            Step::Subtract(to, a, b) => set(r, to, get(r, a) - get(r, b)),
            Step::Multiply(to, a, b) => set(r, to, get(r, a) * get(r, b)),
            Step::Divide(to, a, b) => {
                let quotient = divide(get(r, a), get(r, b));
                set(r, to, quotient.ok_or(Odd)?);
            }
            _ => return Ok(false),
        }
        Ok(true)
    }

    fn steps(&mut self, r: &mut Registers, steps: &[Step]) -> Result<(), Odd> {
        let mut at = 0;
        while let Some(step) = steps.get(at) {
            at += 1;
            match *step {
                Step::Constant(..)
                | Step::Input(..)
                | Step::Add(..)
                | Step::Subtract(..)
                | Step::Multiply(..)
                | Step::Divide(..) => {
                    self.simple(r, *step)?;
                }
                Step::Negate(to, a) => set(r, to, -get(r, a)),
                Step::Square(to, a) => {
                    let square = get(r, a) * get(r, a);
                    if !square.is_finite() {
                        return Err(Odd);
                    }
                    set(r, to, square);
                }
                Step::Math(f, to, a) => {
                    let result = math(f, get(r, a));
                    set(r, to, result.ok_or(Odd)?);
                }
                Step::Binary(what, to, a, b) => {
                    let result = binary(what, get(r, a), get(r, b));
                    set(r, to, result.ok_or(Odd)?);
                }
                Step::Compare(how, to, a, b) => {
                    let truth = compare(how, get(r, a), get(r, b)).ok_or(Odd)?;
                    set(r, to, f64::from(u8::from(truth)));
                }
                Step::Not(to, a) => set(r, to, 1.0 - get(r, a)),
                Step::Call(to, call) => {
                    let programs = self.programs;
                    let call = programs.calls.get(call as usize).ok_or(Odd)?;
                    let result = self.call(r, call)?;
                    set(r, to, result);
                }
                Step::Branch(to, branch) => {
                    let branch = *self.programs.branches.get(branch as usize).ok_or(Odd)?;
                    let (then, rest) = (branch.then as usize, branch.otherwise as usize);
                    let (from, gives, count) = if get(r, branch.condition) != 0.0 {
                        (at, branch.then_gives, then)
                    } else {
                        (at + then, branch.otherwise_gives, rest)
                    };
                    self.steps(r, steps.get(from..from + count).ok_or(Odd)?)?;
                    set(r, to, get(r, gives));
                    at += then + rest;
                }
                Step::Search(to, search) => {
                    let search = *self.programs.searches.get(search as usize).ok_or(Odd)?;
                    let count = search.steps as usize;
                    let found = self.search(r, search, steps.get(at..at + count).ok_or(Odd)?)?;
                    set(r, to, found);
                    at += count;
                }
            }
        }
        Ok(())
    }

    fn call(&mut self, r: &Registers, call: &Call) -> Result<f64, Odd> {
        if !call.of_numbers {
            return self.series_call(r, call);
        }
        // Formulas of numbers have seven arguments at most.
        let mut numbers = [0.0; 8];
        self.arguments(r, call, &mut numbers)?;
        let numbers = numbers.get(..call.arguments.len()).ok_or(Odd)?;
        self.step(1)?;
        let result = call.formula.body.number(numbers);
        let limits = call.formula.limits;
        if !result.is_finite() || (self.watching && !limits.iter().all(|l| (l.holds)(numbers))) {
            return Err(Odd);
        }
        Ok(result)
    }

    /// The numbers among the arguments, if none of them is refused or, where it matters, doubted.
    #[inline]
    fn arguments(&self, r: &Registers, call: &Call, numbers: &mut [f64]) -> Result<(), Odd> {
        for (number, argument) in numbers.iter_mut().zip(&call.arguments) {
            if let Argument::Register(register) = *argument {
                *number = get(r, register);
                if number.is_nan() {
                    return Err(Odd);
                }
            }
        }
        let inside = |ranges: &[(u8, forebay_formulas::Range)]| {
            let given = |at: &u8| numbers.get(usize::from(*at)).copied().unwrap_or(f64::NAN);
            ranges.iter().all(|(at, range)| range.holds(given(at)))
        };
        if inside(&call.must) && (!self.watching || inside(&call.valid)) {
            Ok(())
        } else {
            Err(Odd)
        }
    }

    fn series_call(&mut self, r: &Registers, call: &Call) -> Result<f64, Odd> {
        let mut numbers = [0.0; MOST_ARGUMENTS];
        self.arguments(r, call, &mut numbers)?;
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
                    let Some(ReadySeries(Value::Series(series))) =
                        self.outside.get(usize::from(*place))
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
        if self.watching && !call.formula.warnings_with(arguments, doubt).is_empty() {
            return Err(Odd);
        }
        Ok(result)
    }

    /// Counts steps; odd where they run out.
    fn step(&mut self, steps: u64) -> Result<(), Odd> {
        let left = self.left.checked_sub(steps).ok_or(Odd)?;
        self.left = left;
        Ok(())
    }

    fn search(&mut self, r: &mut Registers, search: Search, steps: &[Step]) -> Result<f64, Odd> {
        let (from, to) = (get(r, search.from), get(r, search.to));
        let watching = self.watching;
        // All of an integral is seen; of a search only the place where it ends.
        self.watching = watching && search.what == Sought::Integral;
        let sign = if search.what == Sought::Least { -1.0 } else { 1.0 };
        let mut at = |x| self.at(r, search, steps, x).ok();
        let found = match search.what {
            Sought::Zero => roots::zero(at, from, to).ok(),
            Sought::Greatest | Sought::Least => {
                roots::greatest(|x| at(x).map(|y| sign * y), from, to)
            }
            Sought::Integral => roots::integral(at, from, to),
        };
        self.watching = watching;
        let found = found.ok_or(Odd)?;
        if watching && search.what != Sought::Integral {
            self.at(r, search, steps, found)?;
        }
        Ok(found)
    }

    fn at(
        &mut self,
        r: &mut Registers,
        search: Search,
        steps: &[Step],
        x: f64,
    ) -> Result<f64, Odd> {
        self.step(1)?;
        set(r, search.argument, x);
        self.steps(r, steps)?;
        let y = get(r, search.gives);
        if y.is_finite() { Ok(y) } else { Err(Odd) }
    }
}

#[inline(always)]
fn get(registers: &Registers, register: Register) -> f64 {
    registers[usize::from(register)]
}

#[inline(always)]
fn set(registers: &mut Registers, register: Register, number: f64) {
    registers[usize::from(register)] = number;
}
