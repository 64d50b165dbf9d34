//! How a number came about: its formula, the same with numbers put in, and the chain behind it.

use forebay_formulas::Formula;

use crate::compile::outside;
use crate::sheet::{Cell, CellKind, Sheet};
use crate::value::Value;

/// One step of the explanation of a cell.
#[derive(Clone, Debug)]
pub struct Step {
    /// The cell's name.
    pub name: String,
    /// How far behind the cell that was asked for; 0 for that cell itself.
    pub depth: usize,
    /// The formula or the value as written.
    pub formula: String,
    /// The formula with numbers and units in place of names; `None` where there are none.
    pub with_numbers: Option<String>,
    /// The result in words.
    pub result: String,
    /// For a known, where it comes from.
    pub origin: Option<&'static str>,
    /// A word about the cell.
    pub about: Option<String>,
    /// The formulas of the library that it calls.
    pub formulas: Vec<&'static Formula>,
}

impl Sheet {
    /// The steps behind a cell, itself first, each cell once, down to a depth; `None` if there is
    /// no such cell.
    #[must_use]
    pub fn working(&self, name: &str, depth: usize) -> Option<Vec<Step>> {
        let cell = self.cell(name)?;
        let mut steps = Vec::new();
        let mut seen = std::collections::HashSet::new();
        // Breadth first, so that each cell stands at its least depth.
        let mut open = std::collections::VecDeque::from([(cell, 0)]);
        seen.insert(cell.name());
        while let Some((cell, at)) = open.pop_front() {
            steps.push(step(cell, at));
            if at < depth {
                for read in cell.reads() {
                    if seen.insert(read) {
                        open.extend(self.cell(read).map(|cell| (cell, at + 1)));
                    }
                }
            }
        }
        Some(steps)
    }
}

fn step(cell: Cell<'_>, depth: usize) -> Step {
    let (code, sheet) = cell.code_and_sheet();
    let known = cell.known();
    let with_numbers = (cell.kind() != CellKind::Known).then(|| with_numbers(cell)).flatten();
    Step {
        name: cell.name().to_owned(),
        depth,
        formula: cell.formula(),
        with_numbers,
        result: cell.shown(),
        origin: known.and_then(|known| known.from).map(|origin| origin.word()),
        about: cell.about().map(str::to_owned),
        formulas: if known.is_some() {
            Vec::new()
        } else {
            outside::formulas_called(sheet.sources(), code)
        },
    }
}

/// The formula with the values of the cells it names put in.
fn with_numbers(cell: Cell<'_>) -> Option<String> {
    let (code, sheet) = cell.code_and_sheet();
    let mut references = outside::references(sheet.compiled(), sheet.sources(), code);
    references.sort_unstable();
    references.dedup();
    if references.is_empty() {
        return None;
    }
    let source = sheet.sources().source(code.text)?;
    let mut out = String::new();
    let mut at = code.text.start as usize;
    for (span, read) in references {
        let cell = sheet.cell_at(read);
        out.push_str(source.text.get(at..span.start as usize)?);
        let negative = matches!(cell.value(), Some(Value::Number(n)) if *n < 0.0);
        // A power would otherwise seem to belong to the unit alone.
        let behind = source.text.get(span.end as usize..code.text.end as usize)?.trim_start();
        let brackets = negative || behind.starts_with('^') || behind.starts_with("**");
        let shown = match cell.value() {
            Some(Value::Series(_)) | None => cell.name().to_owned(),
            Some(Value::Text(text)) => format!("\"{text}\""),
            Some(Value::Money(amount)) => exact_money(*amount, sheet),
            Some(_) => cell.shown(),
        };
        if brackets {
            out.push_str(&format!("({shown})"));
        } else {
            out.push_str(&shown);
        }
        at = span.end as usize;
    }
    out.push_str(source.text.get(at..code.text.end as usize)?);
    Some(out.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// An amount with all its digits up to the sixth: what is shown rounded was not rounded.
fn exact_money(amount: forebay_units::Decimal, sheet: &Sheet) -> String {
    let currency = sheet.style().currency;
    let digits = currency.map_or(2, |currency| u32::from(currency.minor_units()));
    let exact = amount.round_dp(6).normalize();
    let code = currency.map_or("", |currency| currency.code());
    if exact.scale() <= digits {
        format!("{exact:.0$} {code}", digits as usize)
    } else {
        format!("{exact} {code}")
    }
}
