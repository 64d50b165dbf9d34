//! Formulas over the rows of a block.

use forebay_formulas::{Argument as Given, Body};

use super::kernels::{ROWS, is_finite, mask};
use super::{Argument, Batch, Block, BlockCall, In};
use crate::evaluate::formulas::{ReadySeries, texts_of};
use crate::program::MOST_ARGUMENTS;
use crate::value::{Items, Value};

impl Batch<'_> {
    pub(super) fn call(&self, block: &mut Block, to: u32, call: &BlockCall) {
        for operand in &call.unsure {
            block.mark(*operand, f64::is_nan);
        }
        for (at, range) in &call.call.must {
            block.mark(call.operands[usize::from(*at)], |x| !range.holds(x));
        }
        if block.watching {
            for (at, range) in &call.call.valid {
                block.mark(call.operands[usize::from(*at)], |x| !range.holds(x));
            }
        }
        let mut out = std::mem::take(&mut block.columns[to as usize]);
        match (&call.columns, call.call.formula.body) {
            (Some(columns), Body::SideBySide(_, many, _)) => {
                let mut slices: [&[f64]; MOST_ARGUMENTS] = [&[]; MOST_ARGUMENTS];
                for (slice, column) in slices.iter_mut().zip(columns) {
                    *slice = &block.columns[*column as usize];
                }
                many(&slices[..columns.len()], &mut out);
            }
            _ if call.call.of_numbers => self.each_row(block, call, &mut out),
            _ => self.series_rows(block, call, &mut out),
        }
        block.columns[to as usize] = out;
        block.mark(In::Column(to), |x| !is_finite(x));
        let limits = call.call.formula.limits;
        if block.watching && !limits.is_empty() && call.call.of_numbers {
            let mut numbers = [0.0; MOST_ARGUMENTS];
            for row in 0..ROWS {
                let numbers = block.numbers_of(call, row, &mut numbers);
                if !limits.iter().all(|limit| (limit.holds)(numbers)) {
                    block.odd[row] |= block.active[row];
                }
            }
        }
    }

    fn each_row(&self, block: &mut Block, call: &BlockCall, out: &mut [f64]) {
        let mut numbers = [0.0; MOST_ARGUMENTS];
        for (row, out) in out.iter_mut().enumerate() {
            // Rows that are not meant, or are lost already, are not worth a call.
            if block.active[row] & !block.odd[row] != 0 {
                let numbers = block.numbers_of(call, row, &mut numbers);
                *out = call.call.formula.body.number(numbers);
            }
        }
    }

    fn series_rows(&self, block: &mut Block, call: &BlockCall, out: &mut [f64]) {
        let formula = call.call.formula;
        let texts: Vec<Vec<&str>> = call.held.iter().map(|held| texts_of(&held.0)).collect();
        let mut arguments = [Given::Number(0.0); MOST_ARGUMENTS];
        let count = call.operands.len();
        let mut held = call.held.iter().zip(&texts);
        for (argument, given) in call.call.arguments.iter().zip(&mut arguments) {
            if let Argument::Outside(_) = argument
                && let Some((ReadySeries(Value::Series(series)), texts)) = held.next()
            {
                *given = match &series.items {
                    Items::Numbers(numbers) => Given::Series(numbers),
                    Items::Values(_) => Given::Texts(texts),
                };
            }
        }
        for (row, out) in out.iter_mut().enumerate() {
            if block.active[row] & !block.odd[row] == 0 {
                continue;
            }
            for (at, argument) in call.call.arguments.iter().enumerate() {
                if let Argument::Register(_) = argument {
                    arguments[at] = Given::Number(block.number(call.operands[at], row));
                }
            }
            let arguments = &arguments[..count];
            let answer = formula.doubted_answer(arguments);
            let fine = match answer {
                Ok((number, doubt)) => {
                    *out = number;
                    !block.watching || formula.warnings_with(arguments, doubt).is_empty()
                }
                Err(_) => false,
            };
            block.odd[row] |= mask(!fine);
        }
    }
}

impl Block {
    pub(super) fn number(&self, a: In, row: usize) -> f64 {
        match a {
            In::Column(a) => self.columns[a as usize][row],
            In::Same(a) => a,
        }
    }

    fn numbers_of<'n>(
        &self,
        call: &BlockCall,
        row: usize,
        numbers: &'n mut [f64; MOST_ARGUMENTS],
    ) -> &'n [f64] {
        for (number, operand) in numbers.iter_mut().zip(&call.operands) {
            *number = self.number(*operand, row);
        }
        &numbers[..call.operands.len()]
    }
}
