//! Zeros of a function for all rows of a block in step: the method of [`crate::evaluate::roots`],
//! turn by turn, in which each row takes the steps that it would take alone.

use forebay_formulas::by_vector_units;

use super::kernels::{ROWS, any, is_finite, mask, one, rows, rows_mut};
use super::{Batch, Block, In, Search, Step};
use crate::evaluate::roots::{MOST_TURNS, THROUGH_ZERO};

/// What is held for each row while a zero is searched.
#[derive(Debug)]
pub(super) struct Bracket {
    a: [f64; ROWS],
    at_a: [f64; ROWS],
    b: [f64; ROWS],
    at_b: [f64; ROWS],
    /// Where between a and b is tried next.
    share: [f64; ROWS],
    /// The size of the function's values round about.
    scale: [f64; ROWS],
    found: [f64; ROWS],
    running: [u64; ROWS],
}

impl Default for Bracket {
    fn default() -> Self {
        let (numbers, running) = ([0.0; ROWS], [0; ROWS]);
        Self {
            a: numbers,
            at_a: numbers,
            b: numbers,
            at_b: numbers,
            share: numbers,
            scale: numbers,
            found: numbers,
            running,
        }
    }
}

impl Batch<'_> {
    pub(super) fn search(&self, block: &mut Block, to: u32, search: Search, function: &[Step]) {
        let outer = block.active.clone();
        let watching = std::mem::replace(&mut block.watching, false);
        let mut bracket = block.brackets[search.bracket as usize].take().unwrap_or_default();
        let unfit = |x: f64| !x.is_finite();
        block.mark(search.from, unfit);
        block.mark(search.to, unfit);
        for (bound, place, value) in [
            (search.from, &mut bracket.a, &mut bracket.at_a),
            (search.to, &mut bracket.b, &mut bracket.at_b),
        ] {
            one(&mut block.columns, search.argument, bound, |x| x);
            *place = *rows(&block.columns[search.argument as usize]);
            self.turn(block, search, function);
            block.given(search.gives, value);
        }
        bracket.begin(&mut block.odd, &block.active);
        for _ in 0..MOST_TURNS {
            if !any(&bracket.running) {
                break;
            }
            block.active.copy_from_slice(&bracket.running);
            bracket.next(rows_mut(&mut block.columns[search.argument as usize]));
            self.turn(block, search, function);
            let mut values = [0.0; ROWS];
            block.given(search.gives, &mut values);
            bracket.narrow(
                rows(&block.columns[search.argument as usize]),
                &values,
                rows_mut(&mut block.odd),
            );
        }
        for (odd, running) in block.odd.iter_mut().zip(&bracket.running) {
            *odd |= running;
        }
        block.active = outer;
        block.watching = watching;
        block.columns[to as usize].copy_from_slice(&bracket.found);
        if watching {
            // What there is to say of the function is said of the place where it ended.
            block.columns[search.argument as usize].copy_from_slice(&bracket.found);
            self.turn(block, search, function);
        }
        block.brackets[search.bracket as usize] = Some(bracket);
    }

    /// Runs the function once.
    fn turn(&self, block: &mut Block, search: Search, function: &[Step]) {
        match block.turns.checked_sub(1) {
            Some(left) => block.turns = left,
            None => {
                for (odd, active) in block.odd.iter_mut().zip(&block.active) {
                    *odd |= active;
                }
                return;
            }
        }
        self.steps(block, function);
        block.mark(search.gives, |y| !is_finite(y));
    }
}

impl Block {
    fn given(&self, from: In, to: &mut [f64; ROWS]) {
        match from {
            In::Column(column) => *to = *rows(&self.columns[column as usize]),
            In::Same(number) => to.fill(number),
        }
    }
}

impl Bracket {
    /// Looks at both bounds: a zero there ends the search, equal signs make the row odd.
    fn begin(&mut self, odd: &mut [u64], active: &[u64]) {
        let (odd, active) = (rows_mut(odd), rows(active));
        for row in 0..ROWS {
            let (at_a, at_b) = (self.at_a[row], self.at_b[row]);
            let (zero_a, zero_b) = (at_a == 0.0, at_b == 0.0);
            let bracketed = (at_a < 0.0) != (at_b < 0.0) && self.a[row] != self.b[row];
            let lost = !(zero_a || zero_b || bracketed) || self.a[row] == self.b[row];
            odd[row] |= mask(lost) & active[row];
            self.found[row] = if zero_a || !zero_b { self.a[row] } else { self.b[row] };
            self.running[row] = active[row] & !odd[row] & mask(!(zero_a || zero_b));
            self.scale[row] = at_a.abs().max(at_b.abs());
            self.share[row] = 0.5;
        }
    }

    /// Where each row tries next; rows that have ended stay where they are.
    fn next(&self, argument: &mut [f64; ROWS]) {
        by_vector_units(
            #[inline(always)]
            || {
                for (row, argument) in argument.iter_mut().enumerate() {
                    let x = self.a[row] + self.share[row] * (self.b[row] - self.a[row]);
                    *argument = if self.running[row] == 0 { self.found[row] } else { x };
                }
            },
        );
    }

    /// One turn of the method for the values that were found.
    fn narrow(&mut self, tried: &[f64; ROWS], values: &[f64; ROWS], odd: &mut [u64; ROWS]) {
        let Self { a, at_a, b, at_b, share, scale, found, running } = self;
        by_vector_units(
            #[inline(always)]
            || {
                for row in 0..ROWS {
                    let runs = running[row] & !odd[row];
                    let (x, fx) = (tried[row], values[row]);
                    let same = mask(fx < 0.0) == mask(at_a[row] < 0.0);
                    let (c, fc) = if same { (a[row], at_a[row]) } else { (b[row], at_b[row]) };
                    let (b1, fb) = if same { (b[row], at_b[row]) } else { (a[row], at_a[row]) };
                    let closer = fx.abs() < fb.abs();
                    let (best, at_best) = if closer { (x, fx) } else { (b1, fb) };
                    let tolerance = 2.0 * f64::EPSILON * best.abs() + f64::MIN_POSITIVE;
                    let over_width = 1.0 / (b1 - x);
                    let least = tolerance * over_width.abs();
                    let ended = mask(at_best == 0.0) | mask(least > 0.5);
                    let jump = mask(at_best.abs() > THROUGH_ZERO * scale[row]);
                    let xi = (x - b1) / (c - b1);
                    let phi = (fx - fb) / (fc - fb);
                    let fits = mask(phi * phi < xi) & mask((1.0 - phi) * (1.0 - phi) < 1.0 - xi);
                    let inverse = fx * fc / ((fb - fx) * (fb - fc))
                        + (c - x) * over_width * (fx * fb) / ((fc - fx) * (fc - fb));
                    let t = if fits == 0 { 0.5 } else { inverse };
                    let t = if t < least { least } else { t };
                    let t = if t > 1.0 - least { 1.0 - least } else { t };
                    odd[row] |= runs & ended & jump;
                    let on = runs & !ended;
                    let keep = runs == 0;
                    found[row] = if keep { found[row] } else { best };
                    a[row] = if keep { a[row] } else { x };
                    at_a[row] = if keep { at_a[row] } else { fx };
                    b[row] = if keep { b[row] } else { b1 };
                    at_b[row] = if keep { at_b[row] } else { fb };
                    share[row] = if keep { share[row] } else { t };
                    running[row] = on;
                }
            },
        );
    }
}
