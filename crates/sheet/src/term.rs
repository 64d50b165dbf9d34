//! Typed terms: what is left of a formula once names are resolved and units are checked.
//!
//! A term computes on bare `f64` in coherent SI. All terms of a sheet lie in one arena, operands
//! before the terms that use them, each with its place in the user's file.

use std::collections::HashMap;

use forebay_formulas::Formula;
use forebay_units::Dimension;

use crate::diagnostic::Span;
use crate::value::Value;

/// A term's place in the arena.
pub(crate) type Id = u32;
/// A local variable of a cell: closure parameters, `let`, elements of a series.
pub(crate) type Slot = u16;

/// One step of a computation.
#[derive(Clone, Debug)]
pub(crate) enum Term {
    Number(f64),
    Truth(bool),
    /// An entry of the constant pool.
    Constant(u32),
    Cell(u32),
    Local(Slot),

    Negate(Id),
    Add(Id, Id),
    Subtract(Id, Id),
    Multiply(Id, Id),
    Divide(Id, Id),
    Remainder(Id, Id),
    Power(Id, Id),
    Math(Math, Id),
    Atan2(Id, Id),
    Least(Id, Id),
    Greatest(Id, Id),
    /// A formula of numbers only.
    Formula(&'static Formula, Args),
    /// A formula that takes series.
    SeriesFormula(&'static Formula, Args),
    /// A formula that takes series and gives one.
    ToSeriesFormula(&'static Formula, Args),
    /// The word that a formula's result stands for.
    Word(&'static Formula, Id),
    /// The index of a text among the words of a formula's choice.
    Choice(&'static Formula, u8, Id),

    MoneyAdd(Id, Id),
    MoneySubtract(Id, Id),
    MoneyNegate(Id),
    /// Money times a plain number.
    MoneyTimes(Id, Id),
    /// Money over a plain number.
    MoneyOver(Id, Id),
    ToMoney(Id),
    ToNumber(Id),
    /// Rounded to the minor unit, half to even or half up.
    MoneyRounded(Id, bool),

    Compare(Comparison, Id, Id),
    /// Money, texts, dates and truths.
    CompareValues(Comparison, Id, Id),
    And(Id, Id),
    Or(Id, Id),
    Not(Id),
    If(Id, Id, Id),

    /// All in order; gives the last.
    Sequence(Args),
    Assign(Slot, Id),
    While(Id, Id),
    /// Counts the local from the first number up to, not including, the second.
    Count(Slot, [Id; 3]),
    /// Sets the local to each value of a series.
    ForEach(Slot, Id, Id),
    Break,
    Continue,
    Return(Id),
    /// Ends a `Return` from inside; the body of a user's function.
    Body(Id),
    Nothing,

    /// The flag says that the elements are bare numbers.
    List(Args, bool),
    /// The body for each element of the series in the pool, bound to consecutive locals; the flag
    /// says that the body gives bare numbers.
    Each(Slot, Args, Id, bool),
    /// The elements of a series for which the body is true.
    Filter(Slot, Id, Id),
    Reduce(Reduction, Id),
    RunningSum(Id),
    Sorted(Id),
    Present(Id),
    Filled(Id, Id),
    /// The value of a series at a place from 0.
    At(Id, Id),
    /// Linear interpolation: abscissae, ordinates, place.
    Interpolate([Id; 3]),
    DatePart(DatePart, Id),
    /// Days between two dates, in seconds.
    DaysBetween(Id, Id),
    /// A date moved by a time.
    DateShift(Id, Id),

    /// Where the body vanishes between two bounds; the local is its argument.
    ZeroOf(Slot, [Id; 3]),
    /// Where the body is greatest.
    GreatestOf(Slot, [Id; 3]),
    /// Where the body is least.
    LeastOf(Slot, [Id; 3]),
    Integral(Slot, [Id; 3]),

    /// A user's function in Rhai's interpreter: an entry of the script calls.
    Script(u32, Args),
}

/// Functions of one number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Math {
    Abs,
    Sqrt,
    Cbrt,
    Exp,
    Ln,
    Log10,
    Sin,
    Cos,
    Tan,
    Asin,
    Acos,
    Atan,
    Floor,
    Ceiling,
    Round,
}

/// What is drawn from a whole series.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Reduction {
    Sum,
    Mean,
    Least,
    Greatest,
    PlaceOfLeast,
    PlaceOfGreatest,
    /// How many values are there, gaps not counted.
    Count,
    First,
    Last,
    Any,
    All,
}

/// Parts of a date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum DatePart {
    Year,
    Month,
    Day,
    DayOfYear,
}

/// How two values are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Comparison {
    Less,
    LessOrEqual,
    Greater,
    GreaterOrEqual,
    Equal,
    NotEqual,
}

impl Comparison {
    /// As it is written in a formula.
    pub(crate) fn symbol(self) -> &'static str {
        match self {
            Self::Less => "<",
            Self::LessOrEqual => "<=",
            Self::Greater => ">",
            Self::GreaterOrEqual => ">=",
            Self::Equal => "==",
            Self::NotEqual => "!=",
        }
    }
}

/// A run of operands in the pool.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Args {
    start: u32,
    count: u32,
}

/// The terms of a sheet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Terms {
    terms: Vec<Term>,
    spans: Vec<Span>,
    pool: Vec<Id>,
    constants: Vec<Value>,
    /// What solvers and tables take and give, for what they have to say when they fail.
    dimensions: HashMap<Id, [Dimension; 2]>,
}

/// How far the arena is filled, to take back what a failed attempt has added.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mark(usize, usize, usize);

impl Terms {
    /// Adds a term.
    pub(crate) fn add(&mut self, term: Term, span: Span) -> Id {
        let id = id_of(self.terms.len());
        self.terms.push(term);
        self.spans.push(span);
        id
    }

    /// Adds a run of operands.
    pub(crate) fn add_args(&mut self, args: &[Id]) -> Args {
        let start = id_of(self.pool.len());
        self.pool.extend_from_slice(args);
        Args { start, count: id_of(args.len()) }
    }

    /// Adds a constant that is no bare number.
    pub(crate) fn add_constant(&mut self, value: Value, span: Span) -> Id {
        let index = id_of(self.constants.len());
        self.constants.push(value);
        self.add(Term::Constant(index), span)
    }

    pub(crate) fn get(&self, id: Id) -> &Term {
        &self.terms[id as usize]
    }

    pub(crate) fn span(&self, id: Id) -> Span {
        self.spans[id as usize]
    }

    pub(crate) fn args(&self, args: Args) -> &[Id] {
        &self.pool[args.start as usize..(args.start + args.count) as usize]
    }

    pub(crate) fn constant(&self, index: u32) -> &Value {
        &self.constants[index as usize]
    }

    /// Notes what the argument and the value of a solver or a table measure.
    pub(crate) fn note(&mut self, id: Id, dimensions: [Dimension; 2]) {
        self.dimensions.insert(id, dimensions);
    }

    pub(crate) fn dimensions(&self, id: Id) -> Option<[Dimension; 2]> {
        self.dimensions.get(&id).copied()
    }

    pub(crate) fn len(&self) -> usize {
        self.terms.len()
    }

    pub(crate) fn mark(&self) -> Mark {
        Mark(self.terms.len(), self.pool.len(), self.constants.len())
    }

    pub(crate) fn back_to(&mut self, mark: Mark) {
        self.terms.truncate(mark.0);
        self.spans.truncate(mark.0);
        self.pool.truncate(mark.1);
        self.constants.truncate(mark.2);
        self.dimensions.retain(|id, _| (*id as usize) < mark.0);
    }
}

/// Arenas are bounded far below 2³² entries by the limits on a sheet's text and on inlining.
#[allow(clippy::cast_possible_truncation)]
fn id_of(length: usize) -> u32 {
    length as u32
}

impl Comparison {
    /// Whether it holds for two things in this order.
    pub(crate) fn holds(self, order: std::cmp::Ordering) -> bool {
        match self {
            Self::Less => order.is_lt(),
            Self::LessOrEqual => order.is_le(),
            Self::Greater => order.is_gt(),
            Self::GreaterOrEqual => order.is_ge(),
            Self::Equal => order.is_eq(),
            Self::NotEqual => order.is_ne(),
        }
    }
}
