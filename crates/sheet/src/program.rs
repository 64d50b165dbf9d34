//! Flat programs: the terms of a cell as a short list of steps on registers, which both executors
//! run, one row at a time ([`crate::evaluate`]) and many rows side by side ([`crate::batch`]).
//!
//! A program holds the plain case only. Where a step meets anything odd (a division by zero, an
//! argument that is refused or that no source vouches for, a solver without a zero), the program
//! gives up, and the tree of terms is walked instead, which words the fault or the warning. So
//! there is one place that says what is wrong, and it need not be fast.

mod flatten;

use forebay_formulas::Formula;

use crate::term::{Comparison, Id, Math};

/// The most arguments of a formula in a program; more are left to the tree.
pub(crate) const MOST_ARGUMENTS: usize = 32;

/// A register of a program. Each is written once.
pub(crate) type Register = u16;

/// One step. The first register of each is the one it writes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Step {
    /// An entry of the pool of constants.
    Constant(Register, u32),
    /// The value of a cell.
    Input(Register, u32),
    Negate(Register, Register),
    Add(Register, Register, Register),
    Subtract(Register, Register, Register),
    Multiply(Register, Register, Register),
    Divide(Register, Register, Register),
    Square(Register, Register),
    Math(Math, Register, Register),
    Binary(Binary, Register, Register, Register),
    Compare(Comparison, Register, Register, Register),
    Not(Register, Register),
    /// A formula: an entry of the calls.
    Call(Register, u32),
    /// Runs one of the two runs of steps that follow: an entry of the branches.
    Branch(Register, u32),
    /// Searches with the run of steps that follows: an entry of the searches.
    Search(Register, u32),
}

/// Steps of two numbers that are seldom taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Binary {
    Remainder,
    Power,
    Atan2,
    Least,
    Greatest,
}

/// A formula and where its arguments are.
#[derive(Clone, Debug)]
pub(crate) struct Call {
    pub(crate) formula: &'static Formula,
    pub(crate) arguments: Vec<Argument>,
    /// Whether its body takes bare numbers; else it takes arguments of any kind.
    pub(crate) of_numbers: bool,
    /// Ranges outside of which an argument is refused, but for those that any number suits.
    pub(crate) must: Vec<(u8, forebay_formulas::Range)>,
    /// Ranges outside of which the source does not vouch for the result.
    pub(crate) valid: Vec<(u8, forebay_formulas::Range)>,
}

/// An argument of a call.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Argument {
    Register(Register),
    /// A series or texts: an entry of the program's outside terms.
    Outside(u16),
}

/// Two runs of steps of which one is run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Branch {
    pub(crate) condition: Register,
    /// How many steps each of them has.
    pub(crate) then: u32,
    pub(crate) otherwise: u32,
    /// Where their results are.
    pub(crate) then_gives: Register,
    pub(crate) otherwise_gives: Register,
}

/// A search with a function of one number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Search {
    pub(crate) what: Sought,
    /// Where the function finds its argument and leaves its value.
    pub(crate) argument: Register,
    pub(crate) gives: Register,
    pub(crate) from: Register,
    pub(crate) to: Register,
    /// How many steps the function has.
    pub(crate) steps: u32,
}

/// What is searched for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sought {
    Zero,
    Greatest,
    Least,
    Integral,
}

/// The program of one cell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Program {
    /// Its steps.
    pub(crate) start: u32,
    pub(crate) end: u32,
    /// Its series and texts.
    outside_start: u32,
    outside: u16,
    /// Where its result is.
    pub(crate) gives: Register,
    /// Whether there is a program at all, and whether its result is a truth.
    pub(crate) kind: ProgramKind,
}

/// What a program gives.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum ProgramKind {
    /// There is none: the cell holds money, a text, a date, a series, a loop or a script.
    #[default]
    None,
    Number,
    Truth,
}

/// The programs of all cells of a sheet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Programs {
    pub(crate) steps: Vec<Step>,
    pub(crate) constants: Vec<f64>,
    pub(crate) calls: Vec<Call>,
    pub(crate) branches: Vec<Branch>,
    pub(crate) searches: Vec<Search>,
    outside: Vec<Id>,
    /// By the place of the cell.
    cells: Vec<Program>,
}

/// The same formula with the same arguments.
impl PartialEq for Call {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.formula, other.formula) && self.arguments == other.arguments
    }
}

impl Programs {
    /// The program of a cell.
    #[inline]
    pub(crate) fn of(&self, cell: usize) -> Program {
        self.cells.get(cell).copied().unwrap_or_default()
    }

    /// The terms of its series and texts.
    pub(crate) fn outside(&self, program: Program) -> &[Id] {
        let from = program.outside_start as usize;
        &self.outside[from..from + usize::from(program.outside)]
    }
}

impl Step {
    /// The register that it writes.
    pub(crate) fn writes(self) -> Register {
        match self {
            Self::Constant(to, _)
            | Self::Input(to, _)
            | Self::Negate(to, _)
            | Self::Add(to, ..)
            | Self::Subtract(to, ..)
            | Self::Multiply(to, ..)
            | Self::Divide(to, ..)
            | Self::Square(to, _)
            | Self::Math(_, to, _)
            | Self::Binary(_, to, ..)
            | Self::Compare(_, to, ..)
            | Self::Not(to, _)
            | Self::Call(to, _)
            | Self::Branch(to, _)
            | Self::Search(to, _) => to,
        }
    }
}
