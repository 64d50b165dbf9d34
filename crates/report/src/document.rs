//! What a report of a sheet says, in order: the job's summary, what is known, the working, the
//! checks, the drawings, the formulas and their sources. How it looks is for those who write it.

use std::collections::HashMap;

use forebay_formulas::Formula;
use forebay_sheet::worksheet::{Level, Table};
use forebay_sheet::{Cell, CellKind, Equation, Severity, Sheet, Verdict};

use crate::checks;
use crate::drawings::{Drawing, drawings};
use crate::formula_pages::{limits_of, standing};
use crate::text::{list, tolerance};

/// A report.
pub(crate) struct Document {
    pub(crate) title: String,
    pub(crate) sections: Vec<Section>,
}

/// A section under a heading.
pub(crate) struct Section {
    /// A word for addresses within the document.
    pub(crate) id: &'static str,
    pub(crate) heading: &'static str,
    pub(crate) blocks: Vec<Block>,
}

/// One piece of a section.
pub(crate) enum Block {
    Heading(String),
    Paragraph(String),
    /// How the sheet stands, in one sentence.
    Verdict(String),
    /// Something that does not hold or is doubtful: a word, and what it is.
    Finding(&'static str, String),
    Values(Vec<Row>),
    Table(Grid),
    Work(Box<Worked>),
    Check(Box<Checked>),
    Drawing(Box<Drawing>),
    Formula(Box<Explained>),
    /// A text as it is written, line by line.
    Code(String),
    /// The numbered list of sources.
    Sources(Vec<String>),
}

/// A value with where it comes from.
pub(crate) struct Row {
    pub(crate) name: String,
    pub(crate) value: String,
    pub(crate) tolerance: String,
    pub(crate) from: String,
    pub(crate) about: String,
}

/// What one column of a list of values holds.
pub(crate) type Field = fn(&Row) -> &str;

impl Row {
    /// The columns in which something stands, with their heads.
    pub(crate) fn columns(rows: &[Self]) -> Vec<(&'static str, Field)> {
        let all: [(&str, Field); 5] = [
            ("name", |row| &row.name),
            ("value", |row| &row.value),
            ("uncertainty", |row| &row.tolerance),
            ("from", |row| &row.from),
            ("about", |row| &row.about),
        ];
        let stands = |of: &Field| rows.iter().any(|row| !of(row).is_empty());
        all.into_iter().filter(|(_, of)| stands(of)).collect()
    }
}

/// A table of the sheet.
pub(crate) struct Grid {
    pub(crate) name: String,
    pub(crate) about: String,
    pub(crate) heads: Vec<String>,
    pub(crate) rows: Vec<Vec<String>>,
    /// How many rows are left out.
    pub(crate) more: usize,
}

/// How a cell is worked out.
pub(crate) struct Worked {
    pub(crate) name: String,
    pub(crate) result: String,
    /// The values of a short series.
    pub(crate) values: String,
    pub(crate) about: String,
    pub(crate) formula: String,
    pub(crate) equation: Option<Equation>,
    pub(crate) with_numbers: String,
    pub(crate) formulas: Vec<&'static str>,
    pub(crate) warnings: Vec<String>,
}

/// How a check stands.
pub(crate) struct Checked {
    pub(crate) name: String,
    pub(crate) level: &'static str,
    pub(crate) word: &'static str,
    pub(crate) holds: bool,
    pub(crate) about: String,
    pub(crate) formula: String,
    pub(crate) equation: Option<Equation>,
    pub(crate) margins: Vec<String>,
    /// What to do where it does not hold.
    pub(crate) otherwise: String,
    pub(crate) caution: String,
}

/// A formula of the library as the sheet uses it.
pub(crate) struct Explained {
    pub(crate) formula: &'static Formula,
    pub(crate) limits: Vec<String>,
    /// What can hurt someone; of words that stood before where they are.
    pub(crate) caution: String,
    /// The number of its source in the list.
    pub(crate) source: usize,
    pub(crate) place: String,
}

/// The rows of a table that are shown; a gauge's record is no reading.
const MOST_ROWS: usize = 60;

impl Document {
    /// The report of a sheet; its drawings vary knowns and leave the sheet as it was.
    pub(crate) fn of(sheet: &mut Sheet) -> Self {
        let drawn = drawings(sheet);
        let sheet = &*sheet;
        let title = sheet.title().unwrap_or("Worksheet").to_owned();
        let (formulas, sources) = formulas(sheet);
        let sections = [
            Section { id: "summary", heading: "Summary", blocks: summary(sheet) },
            Section { id: "known", heading: "What is known", blocks: known(sheet) },
            Section { id: "working", heading: "Working", blocks: working(sheet) },
            Section { id: "checks", heading: "Checks", blocks: checked(sheet) },
            Section { id: "drawings", heading: "Drawings", blocks: pictures(sheet, drawn) },
            Section { id: "formulas", heading: "Formulas used", blocks: formulas },
            Section { id: "sources", heading: "Sources", blocks: sources },
        ];
        let sections = sections.into_iter().filter(|section| !section.blocks.is_empty()).collect();
        Self { title, sections }
    }
}

/// What stands at the end of every report.
pub(crate) const PLANNING: &str = "Figures are for planning: no result is a design release. Local codes and licensed practice \
     come first.";

fn summary(sheet: &Sheet) -> Vec<Block> {
    let mut blocks = Vec::new();
    let without = sheet.cells().filter(|cell| cell.value().is_none()).count();
    let counted = checks::summary(sheet);
    let words = match (sheet.has_errors(), sheet.gravest_failure()) {
        (true, _) => match without {
            0 => "Not complete: the sheet has errors.".to_owned(),
            1 => "Not complete: the sheet has errors, and 1 cell has no value.".to_owned(),
            n => format!("Not complete: the sheet has errors, and {n} cells have no value."),
        },
        (false, Some(Level::Stop)) => "Does not pass: do not build it like this.".to_owned(),
        (false, Some(Level::Care)) => "Passes with care: see what does not hold.".to_owned(),
        (false, _) if sheet.checks().next().is_none() => "Nothing is checked.".to_owned(),
        (false, _) => "Passes.".to_owned(),
    };
    blocks.push(Block::Verdict(format!("{words} {}.", capital(&counted))));
    let mut failing: Vec<Cell<'_>> =
        sheet.checks().filter(|check| check.verdict() != Verdict::Holds).collect();
    failing.sort_by_key(|check| std::cmp::Reverse(check.check().map(|check| check.level)));
    for check in failing {
        let Some(written) = check.check() else { continue };
        let what = written.otherwise.clone().unwrap_or_else(|| check.formula());
        let told = match check.verdict() {
            Verdict::Unknown => format!("cannot be told: {}. {what}", check.shown()),
            _ => what,
        };
        let name = format!("{} ({}): {told}", check.name(), written.level.word());
        blocks.push(Block::Finding(checks::word(check.verdict()), name));
    }
    let given: Vec<String> = sheet
        .cells()
        .filter(|cell| cell.is_given())
        .map(|cell| format!("{} = {}", cell.name(), cell.formula()))
        .collect();
    if !given.is_empty() {
        let words = format!("Set for this report, other than in the file: {}.", given.join(", "));
        blocks.push(Block::Paragraph(words));
    }
    let headlines: Vec<Row> = sheet.headlines().map(row).collect();
    if !headlines.is_empty() {
        blocks.push(Block::Values(headlines));
    }
    let mut told = std::collections::HashSet::new();
    for diagnostic in sheet.diagnostics() {
        let word = match diagnostic.code.severity {
            Severity::Error => "error",
            Severity::Warning => "doubtful",
            Severity::Note => continue,
        };
        let words = format!("{}. {}", capital(&diagnostic.message), capital(diagnostic.way_out()));
        if told.insert(words.clone()) {
            blocks.push(Block::Finding(word, words));
        }
    }
    blocks
}

/// The blocks of each part of a sheet under its heading, made by `of`; those outside of parts first.
fn by_part(sheet: &Sheet, abouts: bool, of: impl Fn(Option<usize>) -> Vec<Block>) -> Vec<Block> {
    let mut blocks = of(None);
    for (at, part) in sheet.parts().iter().enumerate() {
        let own = of(Some(at));
        if own.is_empty() {
            continue;
        }
        blocks.push(Block::Heading(part.title.clone()));
        if let (Some(about), true) = (&part.about, abouts) {
            blocks.push(Block::Paragraph(about.clone()));
        }
        blocks.extend(own);
    }
    blocks
}

fn known(sheet: &Sheet) -> Vec<Block> {
    by_part(sheet, true, |part| {
        let cells = sheet.cells().filter(|c| c.kind() == CellKind::Known && c.part() == part);
        let rows: Vec<Row> = cells.map(row).collect();
        let mut blocks = Vec::new();
        if !rows.is_empty() {
            blocks.push(Block::Values(rows));
        }
        let tables = sheet.worksheet().tables.iter().filter(|table| table.part == part);
        blocks.extend(tables.map(|table| Block::Table(grid(table))));
        blocks
    })
}

fn row(cell: Cell<'_>) -> Row {
    let known = cell.known();
    let mut from =
        known.and_then(|known| known.from).map(|from| from.word().to_owned()).unwrap_or_default();
    if cell.is_given() {
        from = "set for this report".to_owned();
    }
    let mut about = cell.about().unwrap_or_default().to_owned();
    let values = series_of(cell);
    if !values.is_empty() {
        let gap = if about.is_empty() { "" } else { " " };
        about = format!("{values}{gap}{about}");
    }
    Row {
        name: cell.name().to_owned(),
        value: cell.shown(),
        tolerance: known
            .and_then(|known| known.plus_minus.as_ref())
            .map(tolerance)
            .unwrap_or_default(),
        from,
        about,
    }
}

/// A short series, written out.
fn series_of(cell: Cell<'_>) -> String {
    match (cell.value().and_then(|value| value.as_series()), cell.unit()) {
        (Some(series), Some(unit)) => list(series, &unit),
        _ => String::new(),
    }
}

fn grid(table: &Table) -> Grid {
    let heads = table.columns.iter().map(|column| match column.unit.text.trim() {
        "1" | "text" | "date" | "truth" => column.name.text.clone(),
        unit => format!("{} ({unit})", column.name.text),
    });
    let field = |text: &Option<forebay_sheet::worksheet::Text>| {
        text.as_ref().map_or(String::new(), |text| text.text.trim().to_owned())
    };
    let rows = table.rows.iter().take(MOST_ROWS).map(|row| row.iter().map(field).collect());
    Grid {
        name: table.name.text.clone(),
        about: table.about.clone().unwrap_or_default(),
        heads: heads.collect(),
        rows: rows.collect(),
        more: table.rows.len().saturating_sub(MOST_ROWS),
    }
}

fn working(sheet: &Sheet) -> Vec<Block> {
    let mut blocks = by_part(sheet, false, |part| {
        let cells = sheet.cells().filter(|c| c.kind() == CellKind::Work && c.part() == part);
        cells.filter_map(|cell| worked(sheet, cell)).map(Block::Work).collect()
    });
    for name in components(sheet) {
        blocks.push(Block::Heading(format!("Of {name}")));
        component(sheet, name, &mut blocks);
    }
    let functions: Vec<&str> =
        sheet.worksheet().functions.iter().map(|text| text.text.as_str()).collect();
    if !functions.is_empty() {
        blocks.push(Block::Heading("Functions of this sheet".to_owned()));
        blocks.push(Block::Code(functions.join("\n\n")));
    }
    blocks
}

/// The worksheets that this one uses, each once.
fn components(sheet: &Sheet) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for cell in sheet.cells().filter(|cell| cell.kind() == CellKind::Component) {
        let name = cell.name().split('.').next().unwrap_or_default();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// The cells of a worksheet that this one uses: what goes into it in one table, then its working.
fn component(sheet: &Sheet, name: &str, blocks: &mut Vec<Block>) {
    let own =
        |cell: &Cell<'_>| cell.name().strip_prefix(name)?.strip_prefix('.').map(str::to_owned);
    let (mut given, mut steps) = (Vec::new(), Vec::new());
    for cell in sheet.cells().filter(|cell| cell.kind() == CellKind::Component) {
        let Some(short) = own(&cell) else { continue };
        let from = match cell.equation() {
            Some(Equation::Name(of)) => format!("as {of}"),
            Some(Equation::Number(_) | Equation::Quantity(..) | Equation::Text(_)) => String::new(),
            _ => {
                steps.extend(
                    worked(sheet, cell).map(|work| Box::new(Worked { name: short, ..*work })),
                );
                continue;
            }
        };
        given.push(Row { name: short, from, ..row(cell) });
    }
    if !given.is_empty() {
        blocks.push(Block::Values(given));
    }
    blocks.extend(steps.into_iter().map(Block::Work));
}

fn worked(sheet: &Sheet, cell: Cell<'_>) -> Option<Box<Worked>> {
    let step = sheet.working(cell.name(), 0)?.into_iter().next()?;
    let equation = cell.equation();
    // A constant needs no numbers put in, and what stands for another cell has its number.
    let alone = matches!(equation, Some(Equation::Name(_)));
    let with_numbers = step.with_numbers.filter(|words| *words != step.formula && !alone);
    Some(Box::new(Worked {
        name: step.name,
        result: step.result,
        values: series_of(cell),
        about: step.about.unwrap_or_default(),
        formula: step.formula,
        equation,
        with_numbers: with_numbers.unwrap_or_default(),
        formulas: step.formulas.iter().map(|formula| formula.name).collect(),
        warnings: cell.warnings().iter().map(|warning| warning.message.clone()).collect(),
    }))
}

fn checked(sheet: &Sheet) -> Vec<Block> {
    let one = |cell: Cell<'_>| {
        let check = cell.check()?;
        let verdict = cell.verdict();
        let margins = cell.margins();
        let mut words: Vec<String> = margins.iter().map(checks::margin_words).collect();
        if margins.len() > 1 {
            for (words, margin) in words.iter_mut().zip(&margins) {
                *words = format!(
                    "{} {} {}: {words}",
                    margin.left_text, margin.comparison, margin.right_text
                );
            }
        }
        if verdict == Verdict::Unknown {
            words.push(cell.shown());
        }
        let otherwise = check.otherwise.clone().filter(|_| verdict != Verdict::Holds);
        Some(Box::new(Checked {
            name: cell.name().to_owned(),
            level: check.level.word(),
            word: checks::word(verdict),
            holds: verdict == Verdict::Holds,
            about: cell.about().unwrap_or_default().to_owned(),
            formula: cell.formula(),
            equation: cell.equation(),
            margins: words,
            otherwise: otherwise.unwrap_or_default(),
            caution: check.caution.clone().unwrap_or_default(),
        }))
    };
    by_part(sheet, false, |part| {
        let own = sheet.checks().filter(|check| check.part() == part);
        own.filter_map(one).map(Block::Check).collect()
    })
}

fn pictures(sheet: &Sheet, drawn: Vec<Drawing>) -> Vec<Block> {
    let drawn: Vec<std::cell::Cell<Option<Drawing>>> =
        drawn.into_iter().map(|drawing| std::cell::Cell::new(Some(drawing))).collect();
    by_part(sheet, false, |part| {
        let take = |slot: &std::cell::Cell<Option<Drawing>>| {
            let drawing = slot.take()?;
            if drawing.part == part {
                return Some(Block::Drawing(Box::new(drawing)));
            }
            slot.set(Some(drawing));
            None
        };
        drawn.iter().filter_map(take).collect()
    })
}

/// The formulas of the library that the sheet calls, each once, and their sources, numbered.
fn formulas(sheet: &Sheet) -> (Vec<Block>, Vec<Block>) {
    let mut called: Vec<&'static Formula> = Vec::new();
    for cell in sheet.cells().filter(|cell| cell.kind() != CellKind::Known) {
        let Some(steps) = sheet.working(cell.name(), 0) else { continue };
        for formula in steps.into_iter().flat_map(|step| step.formulas) {
            if !called.iter().any(|known| known.name == formula.name) {
                called.push(formula);
            }
        }
    }
    called.sort_by_key(|formula| formula.name);
    let mut numbers: HashMap<&str, usize> = HashMap::new();
    let mut cautions: HashMap<&str, &'static str> = HashMap::new();
    let mut works: Vec<String> = Vec::new();
    let mut blocks = Vec::new();
    for formula in called {
        let source = &formula.source;
        let number = *numbers.entry(source.work).or_insert_with(|| {
            works.push(source.full().unwrap_or(source.work).to_owned());
            works.len()
        });
        let place = match source.place {
            "" => standing(source.standing).to_owned(),
            place => format!("{place}; {}", standing(source.standing)),
        };
        let limits = limits_of(formula);
        // The same words are not repeated for each formula of a family.
        let caution = formula.caution.map(|words| match cautions.get(words) {
            Some(first) => format!("as for {first}"),
            None => {
                cautions.insert(words, formula.name);
                words.to_owned()
            }
        });
        let caution = caution.unwrap_or_default();
        blocks.push(Block::Formula(Box::new(Explained {
            formula,
            limits,
            caution,
            source: number,
            place,
        })));
    }
    let sources = if works.is_empty() { Vec::new() } else { vec![Block::Sources(works)] };
    (blocks, sources)
}

/// With a capital letter.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        // A name in strokes stays what it is.
        Some(first) if first.is_ascii_lowercase() => {
            first.to_ascii_uppercase().to_string() + letters.as_str()
        }
        _ => text.to_owned(),
    }
}
