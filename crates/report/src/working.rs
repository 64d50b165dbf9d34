//! How a number came about: formula, numbers put in, result, and the chain behind it.

use std::collections::HashSet;

use forebay_formulas::{Formula, Source, Standing};
use forebay_sheet::{CellKind, Sheet, Step, Verdict};
use serde_json::{Value as Json, json};

use crate::checks;
use crate::formats::Options;
use crate::formula_pages::{limits_of, standing};
use crate::json::{SCHEMA, pretty};
use crate::page::{Mark, Page};
use crate::text::tolerance;

/// Deeper steps are not indented further, so that a line keeps room for words.
const DEEPEST_INDENT: usize = 12;

/// The working of a cell down to a depth, each step under the one that reads it; `None` if there
/// is no such cell.
#[must_use]
pub fn working_text(sheet: &Sheet, name: &str, depth: usize, options: &Options) -> Option<String> {
    let steps = sheet.working(name, depth)?;
    let mut writer =
        Writer { page: Page::new(options), sheet, placed: HashSet::new(), told: HashSet::new() };
    writer.step(&steps, 0);
    // Names behind the last step that is shown.
    let shown: HashSet<&str> = steps.iter().map(|step| step.name.as_str()).collect();
    let mut behind: Vec<&str> = Vec::new();
    for read in steps.iter().filter_map(|step| sheet.cell(&step.name)).flat_map(|cell| cell.reads())
    {
        if !shown.contains(read) && !behind.contains(&read) {
            behind.push(read);
        }
    }
    if !behind.is_empty() {
        let words = format!("{} (--depth all shows the whole chain)", behind.join(", "));
        writer.page.gap();
        writer.page.hanging(0, "Behind these:", 14, &words);
    }
    Some(writer.page.finish())
}

/// The same as a JSON document; `None` if there is no such cell.
#[must_use]
pub fn working_json(sheet: &Sheet, name: &str, depth: usize) -> Option<String> {
    let steps = sheet.working(name, depth)?;
    let steps: Vec<Json> = steps
        .iter()
        .map(|step| {
            let formulas: Vec<Json> = step.formulas.iter().map(|f| formula_json(f)).collect();
            json!({
                "name": step.name,
                "depth": step.depth,
                "formula": step.formula,
                "with_numbers": step.with_numbers,
                "result": step.result,
                "from": step.origin,
                "about": step.about,
                "reads": sheet.cell(&step.name).map(|cell| cell.reads()),
                "formulas": formulas,
            })
        })
        .collect();
    Some(pretty(&json!({ "schema": SCHEMA, "name": name, "steps": steps })))
}

/// Where a formula comes from: work, place, and how it is known to us.
pub(crate) fn source_words(source: &Source) -> String {
    let work = source.full().unwrap_or(source.work);
    let place = if source.place.is_empty() { String::new() } else { format!(", {}", source.place) };
    // A definition says itself how it is known.
    if source.work == "Definition" && source.standing == Standing::Exact {
        return format!("{work}{place}");
    }
    format!("{work}{place} ({})", standing(source.standing))
}

struct Writer<'a> {
    page: Page,
    sheet: &'a Sheet,
    placed: HashSet<String>,
    /// Formulas of the library that have been explained.
    told: HashSet<&'static str>,
}

impl Writer<'_> {
    /// One step and under it those that it reads, each once, at its least depth.
    fn step(&mut self, steps: &[Step], at: usize) {
        let step = &steps[at];
        self.placed.insert(step.name.clone());
        let indent = 2 * step.depth.min(DEEPEST_INDENT);
        let cell = self.sheet.cell(&step.name);
        let known = cell.and_then(|cell| cell.known());
        if step.depth == 0 || known.is_none() {
            self.page.gap();
        }
        let check = cell.filter(|cell| cell.kind() == CellKind::Check);
        let mut head = format!("{} = {}", step.name, step.result);
        if let Some(check) = check {
            head = format!("{}: {}", step.name, checks::word(check.verdict()));
            if check.verdict() == Verdict::Unknown {
                head = format!("{head}, {}", step.result);
            }
        }
        if let Some(known) = known {
            let more: Vec<String> = known
                .plus_minus
                .as_ref()
                .map(tolerance)
                .into_iter()
                .chain(step.origin.map(str::to_owned))
                .collect();
            if !more.is_empty() {
                head = format!("{head}   ({})", more.join(", "));
            }
        }
        self.page.line(indent, &head);
        if known.is_none() {
            self.page.paragraph(indent + 4, &step.formula);
            if let Some(numbers) = step.with_numbers.as_ref().filter(|text| **text != step.formula)
            {
                self.page.hanging(indent + 2, "=", indent + 4, numbers);
            }
        }
        for margin in check.map(|check| check.margins()).unwrap_or_default() {
            self.page.paragraph(indent + 4, &checks::margin_words(&margin));
        }
        if let Some(about) = &step.about {
            self.page.paragraph(indent + 4, about);
        }
        if let Some(check) = check.and_then(|cell| cell.check()) {
            if let Some(otherwise) = &check.otherwise {
                self.page.paragraph(indent + 4, &format!("If it fails: {otherwise}"));
            }
            if let Some(caution) = &check.caution {
                self.page.hanging(indent + 4, "Caution:", indent + 13, caution);
            }
        }
        for formula in &step.formulas {
            self.formula(indent + 4, formula);
        }
        // What it reads, unless that stands nearer to the cell that was asked for.
        let reads: Vec<String> = cell
            .map(|cell| cell.reads())
            .unwrap_or_default()
            .into_iter()
            .map(str::to_owned)
            .collect();
        for read in reads {
            let next = steps.iter().position(|s| s.name == read && s.depth == step.depth + 1);
            if let Some(next) = next.filter(|_| !self.placed.contains(&read)) {
                self.step(steps, next);
            }
        }
    }

    /// The equation, source and limits of a formula of the library, the first time it is met.
    fn formula(&mut self, indent: usize, formula: &'static Formula) {
        let head = format!("{}:", formula.name);
        let column = indent + 2;
        if !self.told.insert(formula.name) {
            return;
        }
        self.page.line(indent, &format!("{head} {}", formula.equation));
        self.page.hanging(column, "source:", column + 8, &source_words(&formula.source));
        let limits = limits_of(formula);
        if !limits.is_empty() {
            self.page.hanging(column, "limits:", column + 8, &limits.join("; "));
        }
        if let Some(caution) = formula.caution {
            self.page.hanging_marked(column, Mark::Plain, "caution:", column + 9, caution);
        }
    }
}

fn formula_json(formula: &Formula) -> Json {
    json!({
        "name": formula.name,
        "equation": formula.equation,
        "source": formula.source.full().unwrap_or(formula.source.work),
        "place": formula.source.place,
        "standing": standing_key(formula.source.standing),
        "limits": limits_of(formula),
        "caution": formula.caution,
    })
}

fn standing_key(standing: Standing) -> &'static str {
    match standing {
        Standing::Exact => "exact",
        Standing::Read => "read",
        Standing::Library => "library",
        Standing::Memory => "memory",
        Standing::CommonPractice => "common practice",
    }
}
