//! Many rows side by side: the second executor. A [`Batch`] is a sheet made ready for certain knowns
//! to vary; a [`Block`] holds the rows at hand, a column for each cell.
//!
//! What does not vary is computed beforehand. What varies runs step after step over all rows of a
//! block, each step a plain loop that the machine's vector units take several rows at a time;
//! searches keep all rows in step until the last one has ended. A row in which anything is odd (a
//! cell without a value, a warning) is not plain: it is to be computed by itself, on the sheet, which
//! words what there is to say. A plain row has the same digits as the sheet would give.

mod calls;
mod kernels;
mod plan;
mod run;
mod search;

use std::collections::HashMap;

use crate::evaluate::flat::Runner;
use crate::evaluate::formulas::ReadySeries;
use crate::program::{Argument, Binary, Call};
use crate::sheet::{Cell, Sheet, Verdict};
use crate::term::{Comparison, Math};
use crate::value::{Type, Value};
use search::Bracket;

/// A sheet made ready for certain knowns to vary. Threads may share it; each has a [`Block`] of its
/// own.
///
/// ```
/// use forebay_sheet::Sheet;
///
/// let sheet = Sheet::open("forebay: 1\nknown:\n  bore: 200 mm\nwork:\n  area: circle_area(bore)\n");
/// let batch = sheet.batch(&["bore"], &["area"]).unwrap();
/// let mut block = batch.block();
/// for (row, bore) in block.numbers_mut(0).unwrap().iter_mut().zip([0.1, 0.2, 0.3]) {
///     *row = bore;
/// }
/// batch.compute(&mut block, 3);
/// assert!(block.is_plain(1));
/// assert_eq!(block.numbers(0).unwrap()[1], sheet.cell("area").unwrap().value().unwrap().as_number().unwrap());
/// ```
#[derive(Debug)]
pub struct Batch<'s> {
    sheet: &'s Sheet,
    /// The knowns that vary.
    knowns: Vec<Varied>,
    /// Where the wanted cells and the checks are.
    see: Vec<Place>,
    checks: Vec<Place>,
    /// Cells that vary, in computing order.
    stages: Vec<Stage>,
    steps: Vec<Step>,
    calls: Vec<BlockCall>,
    branches: Vec<Branch>,
    searches: Vec<Search>,
    /// Columns that are the same in all rows, filled once.
    fixed: Vec<(u32, f64)>,
    columns: u32,
    others: u32,
    /// Where the cells that vary are.
    places: HashMap<u32, Place>,
}

/// The rows that are computed side by side, with room for what a [`Batch`] computes.
#[derive(Debug)]
pub struct Block {
    columns: Vec<Vec<f64>>,
    others: Vec<Vec<Option<Value>>>,
    /// All ones where a row is not plain.
    odd: Vec<u64>,
    /// The rows that the steps at hand are meant for.
    active: Vec<u64>,
    watching: bool,
    /// How many more times a search may run its function.
    turns: u64,
    /// For cells that are computed row by row: the sheet's values, with those of the row put in.
    values: Vec<Option<Value>>,
    runner: Runner,
    /// What searches hold.
    brackets: Vec<Option<Box<Bracket>>>,
    knowns: Vec<(Place, Type)>,
    see: Vec<Place>,
    checks: Vec<Place>,
}

/// Where the values of a cell are.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Place {
    /// Numbers, or truths as ones and zeros.
    Numbers(u32),
    Truths(u32),
    /// Money, texts and dates.
    Others(u32),
    /// The sheet's own value, the same in all rows.
    Fixed(u32),
    /// It has no value in any row.
    Nowhere,
}

/// A known that varies.
#[derive(Debug)]
struct Varied {
    place: Place,
    ty: Type,
    between: Option<(f64, f64)>,
    choose: Option<Vec<Value>>,
    /// Whether there is something to say of it whatever its value.
    always_odd: bool,
}

/// How one cell is computed.
#[derive(Clone, Copy, Debug)]
enum Stage {
    /// By steps over columns; `finite` where the result cannot be anything else.
    Steps { from: u32, to: u32, result: In, place: Place, finite: bool },
    /// Row by row.
    Rows { cell: u32, place: Place },
}

/// An operand.
#[derive(Clone, Copy, Debug, PartialEq)]
enum In {
    Column(u32),
    Same(f64),
}

/// A step over columns; the first number is the column it writes.
#[derive(Clone, Copy, Debug)]
enum Step {
    Negate(u32, In),
    Not(u32, In),
    Square(u32, In),
    Add(u32, In, In),
    Subtract(u32, In, In),
    Multiply(u32, In, In),
    Divide(u32, In, In),
    Math(Math, u32, In),
    Binary(Binary, u32, In, In),
    Compare(Comparison, u32, In, In),
    Call(u32, u32),
    Branch(u32, u32),
    Search(u32, u32),
}

#[derive(Debug)]
struct BlockCall {
    call: Call,
    /// In the order of the arguments; for a series its place among `held`.
    operands: Vec<In>,
    /// Those that might be no number at all.
    unsure: Vec<In>,
    held: Vec<ReadySeries>,
    /// For a formula that computes columns: a column for each argument.
    columns: Option<Vec<u32>>,
}

#[derive(Clone, Copy, Debug)]
struct Branch {
    condition: u32,
    then: u32,
    otherwise: u32,
    then_gives: In,
    otherwise_gives: In,
}

#[derive(Clone, Copy, Debug)]
struct Search {
    argument: u32,
    gives: In,
    from: In,
    to: In,
    steps: u32,
    /// Where its state is.
    bracket: u32,
}

impl Sheet {
    /// Makes the sheet ready for many rows in which these knowns vary. `see` are the cells that are
    /// wanted. `None` where a name is no known or no cell, or a known has no value yet.
    #[must_use]
    pub fn batch(&self, knowns: &[&str], see: &[&str]) -> Option<Batch<'_>> {
        plan::plan(self, knowns, see)
    }
}

impl Batch<'_> {
    /// How many rows a block holds.
    pub const ROWS: usize = 128;

    /// Room for rows.
    #[must_use]
    pub fn block(&self) -> Block {
        let mut columns = vec![vec![0.0; Self::ROWS]; self.columns as usize];
        for (column, number) in &self.fixed {
            columns[*column as usize].fill(*number);
        }
        let by_rows = self.stages.iter().any(|stage| matches!(stage, Stage::Rows { .. }));
        Block {
            columns,
            others: vec![vec![None; Self::ROWS]; self.others as usize],
            odd: vec![0; Self::ROWS],
            active: vec![u64::MAX; Self::ROWS],
            watching: true,
            turns: 0,
            values: if by_rows { self.sheet.values().to_vec() } else { Vec::new() },
            runner: Runner::default(),
            brackets: self.searches.iter().map(|_| None).collect(),
            knowns: self.knowns.iter().map(|known| (known.place, known.ty)).collect(),
            see: self.see.clone(),
            checks: self.checks.clone(),
        }
    }

    /// Whether a cell of the sheet varies.
    #[must_use]
    pub fn varies(&self, cell: &Cell<'_>) -> bool {
        self.places.contains_key(&cell.place())
    }

    /// The value of a wanted cell that does not vary.
    #[must_use]
    pub fn fixed(&self, see: usize) -> Option<&Value> {
        match self.see.get(see)? {
            Place::Fixed(cell) => self.sheet.values().get(*cell as usize)?.as_ref(),
            _ => None,
        }
    }
}

impl Block {
    /// Where the numbers of a varied known go; `None` for one that holds no numbers.
    pub fn numbers_mut(&mut self, known: usize) -> Option<&mut [f64]> {
        match &self.knowns.get(known)?.0 {
            Place::Numbers(column) => self.columns.get_mut(*column as usize).map(Vec::as_mut_slice),
            _ => None,
        }
    }

    /// Puts the value of a varied known into a row. `false` where it is of another kind or no
    /// finite number.
    pub fn set(&mut self, known: usize, row: usize, value: &Value) -> bool {
        let Some((place, ty)) = self.knowns.get(known) else { return false };
        if row >= Batch::ROWS || !value.suits(*ty) {
            return false;
        }
        match (place, value) {
            (Place::Numbers(column), Value::Number(number)) => {
                self.columns[*column as usize][row] = *number;
            }
            (Place::Truths(column), Value::Truth(truth)) => {
                self.columns[*column as usize][row] = f64::from(u8::from(*truth));
            }
            (Place::Others(other), value) => {
                self.others[*other as usize][row] = Some(value.clone());
            }
            _ => return false,
        }
        true
    }

    /// Whether all is well in a row; if not, it is to be computed on the sheet.
    #[must_use]
    pub fn is_plain(&self, row: usize) -> bool {
        self.odd.get(row) == Some(&0)
    }

    /// The numbers of a wanted cell that varies and holds numbers, in coherent SI; of rows that are
    /// not plain they mean nothing.
    #[must_use]
    pub fn numbers(&self, see: usize) -> Option<&[f64]> {
        match self.see.get(see)? {
            Place::Numbers(column) => self.columns.get(*column as usize).map(Vec::as_slice),
            _ => None,
        }
    }

    /// The value of a wanted cell that varies; of a plain row.
    #[must_use]
    pub fn value(&self, see: usize, row: usize) -> Option<Value> {
        self.at(*self.see.get(see)?, row)
    }

    /// How a check stands in a plain row; `None` for one that does not vary.
    #[must_use]
    pub fn verdict(&self, check: usize, row: usize) -> Option<Verdict> {
        match self.checks.get(check)? {
            Place::Fixed(_) => None,
            place => Some(match self.at(*place, row) {
                Some(Value::Truth(true)) => Verdict::Holds,
                Some(Value::Truth(false)) => Verdict::Fails,
                _ => Verdict::Unknown,
            }),
        }
    }

    fn at(&self, place: Place, row: usize) -> Option<Value> {
        match place {
            Place::Numbers(column) => Some(Value::Number(*self.columns[column as usize].get(row)?)),
            Place::Truths(column) => {
                Some(Value::Truth(*self.columns[column as usize].get(row)? != 0.0))
            }
            Place::Others(other) => self.others[other as usize].get(row)?.clone(),
            Place::Fixed(_) | Place::Nowhere => None,
        }
    }
}
