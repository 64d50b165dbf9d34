//! Runs the stages of a batch over the rows of a block.

use super::kernels::{any, is_finite, mark, mask, one, rows, rows_mut, two};
use super::{Batch, Block, Branch, In, Place, Stage, Step};
use crate::evaluate::steps::{bare_math, power};
use crate::evaluate::{MOST_STEPS, MOST_STEPS_OF_SHEET};
use crate::program::{Binary, ProgramKind};
use crate::term::{Comparison, Math};
use crate::value::Value;

impl Batch<'_> {
    /// Computes the first `count` rows, whose knowns have been set.
    pub fn compute(&self, block: &mut Block, count: usize) {
        let count = count.min(Self::ROWS);
        if count == 0 {
            return;
        }
        block.odd.fill(0);
        self.fill_up(block, count);
        self.hold_knowns(block, count);
        for stage in &self.stages {
            match *stage {
                Stage::Steps { from, to, result, place, finite } => {
                    block.active.fill(u64::MAX);
                    block.watching = true;
                    block.turns = MOST_STEPS;
                    self.steps(block, &self.steps[from as usize..to as usize]);
                    if let Place::Numbers(column) | Place::Truths(column) = place {
                        if result != In::Column(column) {
                            one(&mut block.columns, column, result, |x| x);
                        }
                        if !finite {
                            block.mark(In::Column(column), |x| !is_finite(x));
                        }
                    }
                }
                Stage::Rows { cell, place } => self.row_by_row(block, count, cell, place),
            }
        }
    }

    /// The rows that are not in use repeat the last one, so that they are as plain as it is.
    fn fill_up(&self, block: &mut Block, count: usize) {
        for known in &self.knowns {
            match known.place {
                Place::Numbers(column) | Place::Truths(column) => {
                    let column = &mut block.columns[column as usize];
                    let last = column[count - 1];
                    column[count..].fill(last);
                }
                Place::Others(other) => {
                    let other = &mut block.others[other as usize];
                    let last = other[count - 1].clone();
                    other[count..].fill(last);
                }
                Place::Fixed(_) | Place::Nowhere => {}
            }
        }
    }

    /// What the sheet would say of the knowns themselves.
    fn hold_knowns(&self, block: &mut Block, count: usize) {
        block.active.fill(u64::MAX);
        for known in &self.knowns {
            if known.always_odd {
                block.odd.fill(u64::MAX);
            }
            if let (Some((low, high)), Place::Numbers(column)) = (known.between, known.place) {
                let column = In::Column(column);
                mark(&mut block.odd, &block.active, &block.columns, column, |x| {
                    !(x >= low && x <= high)
                });
            }
            if let Some(choices) = &known.choose {
                for row in 0..count {
                    let value = block.at(known.place, row);
                    let chosen = value.is_some_and(|v| choices.iter().any(|c| v.is_near(c)));
                    block.odd[row] |= mask(!chosen);
                }
            }
            if let Place::Others(other) = known.place {
                for row in 0..count {
                    block.odd[row] |= mask(block.others[other as usize][row].is_none());
                }
            }
        }
    }

    pub(super) fn steps(&self, block: &mut Block, steps: &[Step]) {
        let mut at = 0;
        while let Some(step) = steps.get(at) {
            at += 1;
            let columns = &mut block.columns;
            match *step {
                Step::Negate(to, a) => one(columns, to, a, |x| -x),
                Step::Not(to, a) => one(columns, to, a, |x| 1.0 - x),
                Step::Square(to, a) => {
                    one(columns, to, a, |x| x * x);
                    block.mark(In::Column(to), |x| !is_finite(x));
                }
                Step::Add(to, a, b) => two(columns, to, a, b, |x, y| x + y),
                Step::Subtract(to, a, b) => two(columns, to, a, b, |x, y| x - y),
                Step::Multiply(to, a, b) => two(columns, to, a, b, |x, y| x * y),
                Step::Divide(to, a, b) => {
                    two(columns, to, a, b, |x, y| x / y);
                    block.mark(b, |y| y == 0.0);
                }
                Step::Math(f, to, a) => block.math(f, to, a),
                Step::Binary(what, to, a, b) => block.binary(what, to, a, b),
                Step::Compare(how, to, a, b) => {
                    block.compare(how, to, a, b);
                    block.mark(a, f64::is_nan);
                    block.mark(b, f64::is_nan);
                }
                Step::Call(to, call) => self.call(block, to, &self.calls[call as usize]),
                Step::Branch(to, branch) => {
                    let branch = self.branches[branch as usize];
                    let then = &steps[at..at + branch.then as usize];
                    at += branch.then as usize;
                    let otherwise = &steps[at..at + branch.otherwise as usize];
                    at += branch.otherwise as usize;
                    self.branch(block, to, branch, then, otherwise);
                }
                Step::Search(to, search) => {
                    let search = self.searches[search as usize];
                    let function = &steps[at..at + search.steps as usize];
                    at += search.steps as usize;
                    self.search(block, to, search, function);
                }
            }
        }
    }

    fn branch(&self, block: &mut Block, to: u32, branch: Branch, then: &[Step], other: &[Step]) {
        let condition = &block.columns[branch.condition as usize];
        let outer = block.active.clone();
        for ((active, outer), c) in block.active.iter_mut().zip(&outer).zip(condition) {
            *active = outer & mask(*c != 0.0);
        }
        if any(&block.active) {
            self.steps(block, then);
        }
        let condition = &block.columns[branch.condition as usize];
        for ((active, outer), c) in block.active.iter_mut().zip(&outer).zip(condition) {
            *active = outer & mask(*c == 0.0);
        }
        if any(&block.active) {
            self.steps(block, other);
        }
        block.active = outer;
        let condition = block.columns[branch.condition as usize].clone();
        let condition = rows(&condition);
        let given = |columns: &[Vec<f64>], a: In, row: usize| match a {
            In::Column(a) => columns[a as usize][row],
            In::Same(a) => a,
        };
        let mut out = std::mem::take(&mut block.columns[to as usize]);
        for (row, out) in out.iter_mut().enumerate() {
            let gives =
                if condition[row] != 0.0 { branch.then_gives } else { branch.otherwise_gives };
            *out = given(&block.columns, gives, row);
        }
        block.columns[to as usize] = out;
    }

    /// Cells that hold more than numbers, or search in a way that is not taken side by side.
    fn row_by_row(&self, block: &mut Block, count: usize, cell: u32, place: Place) {
        let compiled = self.sheet.compiled();
        let code = &compiled.cells[cell as usize];
        let program = compiled.programs.of(cell as usize);
        for row in 0..count {
            if !block.is_plain(row) {
                continue;
            }
            for read in &code.reads {
                if let Some(from) = self.places.get(read) {
                    block.values[*read as usize] = block.at(*from, row);
                }
            }
            let value = self.one_row(block, cell, program.kind);
            match (place, value) {
                (Place::Numbers(column), Some(Value::Number(number))) => {
                    block.columns[column as usize][row] = number;
                }
                (Place::Truths(column), Some(Value::Truth(truth))) => {
                    block.columns[column as usize][row] = f64::from(u8::from(truth));
                }
                (Place::Others(other), Some(value)) => {
                    block.others[other as usize][row] = Some(value);
                }
                _ => block.odd[row] = u64::MAX,
            }
        }
    }

    /// The value of a cell for the values at hand, if there is nothing to say of it.
    fn one_row(&self, block: &mut Block, cell: u32, kind: ProgramKind) -> Option<Value> {
        let compiled = self.sheet.compiled();
        let code = &compiled.cells[cell as usize];
        let mut steps = MOST_STEPS.min(MOST_STEPS_OF_SHEET);
        if kind != ProgramKind::None {
            let program = compiled.programs.of(cell as usize);
            let mut outside = Vec::new();
            for id in compiled.programs.outside(program) {
                outside.push(compiled.ready_series(*id, &block.values)?);
            }
            let values = &block.values;
            let number =
                block.runner.run(&compiled.programs, program, values, &outside, &mut steps);
            return number.ok().map(|number| match kind {
                ProgramKind::Truth => Value::Truth(number != 0.0),
                _ => Value::Number(number),
            });
        }
        let mut machine = self.sheet.machine_on(&block.values);
        let (value, warnings) = machine.counted(code.root?, code.slots, &mut steps);
        if warnings.is_empty() { value.ok() } else { None }
    }
}

impl Block {
    pub(super) fn mark(&mut self, a: In, is_odd: impl Fn(f64) -> bool + Copy) {
        mark(&mut self.odd, &self.active, &self.columns, a, is_odd);
    }

    fn math(&mut self, f: Math, to: u32, a: In) {
        let columns = &mut self.columns;
        // Each its own loop, so that those without a function of the platform run side by side.
        match f {
            Math::Abs => one(columns, to, a, f64::abs),
            Math::Sqrt => one(columns, to, a, f64::sqrt),
            Math::Ln => one(columns, to, a, forebay_formulas::ln),
            Math::Log10 => one(columns, to, a, forebay_formulas::log10),
            other => one(columns, to, a, |x| bare_math(other, x)),
        }
        if f != Math::Abs {
            // What is not finite of itself is told where it came from.
            let (odd, active) = (rows_mut(&mut self.odd), rows(&self.active));
            let out = rows(&self.columns[to as usize]);
            for row in 0..out.len() {
                let x = match a {
                    In::Column(a) => self.columns[a as usize][row],
                    In::Same(a) => a,
                };
                odd[row] |= mask(!is_finite(out[row]) & is_finite(x)) & active[row];
            }
        }
    }

    fn binary(&mut self, what: Binary, to: u32, a: In, b: In) {
        let columns = &mut self.columns;
        match (what, b) {
            (Binary::Least, _) => two(columns, to, a, b, |x, y| if y < x { y } else { x }),
            (Binary::Greatest, _) => two(columns, to, a, b, |x, y| if y > x { y } else { x }),
            (Binary::Atan2, _) => two(columns, to, a, b, f64::atan2),
            (Binary::Remainder, _) => two(columns, to, a, b, |x, y| x % y),
            (Binary::Power, In::Same(0.5)) => one(columns, to, a, |x| power(x, 0.5)),
            (Binary::Power, In::Same(1.5)) => one(columns, to, a, |x| power(x, 1.5)),
            (Binary::Power, In::Same(2.5)) => one(columns, to, a, |x| power(x, 2.5)),
            (Binary::Power, In::Same(3.0)) => one(columns, to, a, |x| power(x, 3.0)),
            (Binary::Power, _) => two(columns, to, a, b, power),
        }
        match what {
            Binary::Remainder => self.mark(b, |y| y == 0.0),
            Binary::Power => self.mark(In::Column(to), |p| !is_finite(p)),
            _ => {}
        }
    }

    fn compare(&mut self, how: Comparison, to: u32, a: In, b: In) {
        let columns = &mut self.columns;
        let truth = |truth: bool| if truth { 1.0 } else { 0.0 };
        match how {
            Comparison::Less => two(columns, to, a, b, |x, y| truth(x < y)),
            Comparison::LessOrEqual => two(columns, to, a, b, |x, y| truth(x <= y)),
            Comparison::Greater => two(columns, to, a, b, |x, y| truth(x > y)),
            Comparison::GreaterOrEqual => two(columns, to, a, b, |x, y| truth(x >= y)),
            Comparison::Equal => two(columns, to, a, b, |x, y| truth(x == y)),
            Comparison::NotEqual => two(columns, to, a, b, |x, y| truth(x != y)),
        }
    }
}
