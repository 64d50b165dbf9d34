//! What a learner gets: figures and questions, and no answers.

use forebay_sheet::exercise::{Exercise, Wanted};
use forebay_sheet::{CellKind, Sheet};
use forebay_units::Unit;

use super::{Key, draw, exercise_of};
use crate::fault::Fault;

/// How answers are handed in.
const HAND_IN: &str = "Hand in each answer with its unit, under the number of its question.";

/// A table that is longer is no help on paper.
const MOST_ROWS: usize = 60;

/// What stands on every handout.
const ON_PAPER: &str = "An exercise on paper: nothing is built or changed from it. Local codes and \
                        licensed practice come first.";

/// What one learner gets.
#[derive(Clone, Debug, PartialEq)]
pub struct Handout {
    /// Whose it is.
    pub learner: String,
    /// What it is about.
    pub title: String,
    /// What is read first.
    pub text: Option<String>,
    /// The figures.
    pub given: Vec<Figure>,
    /// Tables of the sheet that the answers are worked out with.
    pub tables: Vec<Printed>,
    /// The questions.
    pub questions: Vec<Asked>,
    /// How answers are handed in.
    pub hand_in: String,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// A figure that is given.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The known.
    pub name: String,
    /// What is said of it.
    pub about: Option<String>,
    /// Its value as written; several of a series.
    pub values: Vec<String>,
}

/// A table as it is printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// What it is about, or its name.
    pub title: String,
    /// The heads of its columns, with their units.
    pub heads: Vec<String>,
    /// Its rows; empty where a value is missing.
    pub rows: Vec<Vec<String>>,
}

/// A question as the learner reads it.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// The cell; answers are handed in under this name or under the number of the question.
    pub cell: String,
    /// The question.
    pub text: String,
    /// How the answer is wanted: `in m/s, to 3 significant figures`.
    pub wanted: String,
    /// What may be chosen from.
    pub choices: Vec<String>,
    /// A hint.
    pub hint: Option<String>,
    /// What a right answer brings.
    pub points: f64,
}

/// The handouts of a key, in the order of its learners. The figures are exactly those that the key
/// is computed from, with the digits that they are written with.
///
/// # Errors
/// A sheet without a sound exercise, or figures that do not fit it.
pub fn handouts(key: &Key) -> Result<Vec<Handout>, Fault> {
    let mut sheet = key.sheet();
    let exercise = exercise_of(&sheet)?;
    let shown = shown(&sheet, &exercise);
    let tables = tables(&sheet, &exercise);
    let mut all = Vec::with_capacity(key.learners.len());
    for learner in &key.learners {
        draw::set(&mut sheet, &learner.given)?;
        let filled = |text: &str| filled(text, &sheet, &exercise);
        let given = shown.iter().filter_map(|name| figure(&sheet, name)).collect();
        let questions = exercise.questions.iter().map(|question| {
            let (wanted, choices) = wanted(&question.wanted);
            Asked {
                cell: question.cell.clone(),
                text: filled(&question.text),
                wanted,
                choices,
                hint: question.hint.as_deref().map(filled),
                points: question.points,
            }
        });
        let own = exercise.caution.clone();
        all.push(Handout {
            learner: learner.learner.clone(),
            title: key.title.clone(),
            text: exercise.text.as_deref().map(filled),
            given,
            tables: tables.clone(),
            questions: questions.collect(),
            hand_in: HAND_IN.to_owned(),
            cautions: own.into_iter().chain([ON_PAPER.to_owned()]).collect(),
        });
    }
    Ok(all)
}

/// The knowns that some answer depends on and that are not hidden, in the order of the sheet.
fn shown(sheet: &Sheet, exercise: &Exercise) -> Vec<String> {
    let mut behind = std::collections::HashSet::new();
    for question in &exercise.questions {
        behind.extend(sheet.behind(&question.cell));
    }
    sheet
        .cells()
        .filter(|cell| cell.kind() == CellKind::Known && behind.contains(cell.name()))
        .map(|cell| cell.name().to_owned())
        .filter(|name| !is_hidden(exercise, name))
        .collect()
}

fn is_hidden(exercise: &Exercise, name: &str) -> bool {
    exercise.varied.iter().any(|varied| varied.hidden && varied.known == name)
}

/// The tables that the formulas behind the questions name.
fn tables(sheet: &Sheet, exercise: &Exercise) -> Vec<Printed> {
    let mut formulas: Vec<String> = Vec::new();
    for question in &exercise.questions {
        let behind = sheet.behind(&question.cell);
        let names = behind.iter().copied().chain([question.cell.as_str()]);
        let cells = names.filter_map(|name| sheet.cell(name));
        formulas.extend(cells.filter(|cell| cell.known().is_none()).map(|cell| cell.formula()));
    }
    let names = |name: &str| {
        let mut words =
            formulas.iter().flat_map(|f| f.split(|c: char| !(c.is_alphanumeric() || c == '_')));
        words.any(|word| word == name)
    };
    let all = sheet.worksheet().tables.iter().filter(|table| names(&table.name.text));
    all.filter(|table| table.rows.len() <= MOST_ROWS)
        .map(|table| Printed {
            title: table.about.clone().unwrap_or_else(|| table.name.text.replace('_', " ")),
            heads: table
                .columns
                .iter()
                .map(|column| match column.unit.text.as_str() {
                    "1" | "text" | "date" | "truth" => column.name.text.replace('_', " "),
                    unit => format!("{} [{unit}]", column.name.text.replace('_', " ")),
                })
                .collect(),
            rows: table
                .rows
                .iter()
                .map(|row| {
                    let text = |field: &Option<forebay_sheet::worksheet::Text>| {
                        field.as_ref().map(|text| text.text.clone()).unwrap_or_default()
                    };
                    row.iter().map(text).collect()
                })
                .collect(),
        })
        .collect()
}

fn figure(sheet: &Sheet, name: &str) -> Option<Figure> {
    let cell = sheet.cell(name)?;
    let text = cell.formula();
    let list = text.strip_prefix('[').and_then(|list| list.strip_suffix(']'));
    let values = match list {
        Some(list) => list.split(',').map(|value| value.trim().to_owned()).collect(),
        None => vec![text.trim_matches('"').to_owned()],
    };
    Some(Figure { name: name.to_owned(), about: cell.about().map(str::to_owned), values })
}

/// A text with the values of knowns in place of their names in braces.
fn filled(text: &str, sheet: &Sheet, exercise: &Exercise) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(open) = rest.find('{') {
        let (before, from) = rest.split_at(open);
        out.push_str(before);
        let close = from.find('}');
        let name = close.and_then(|close| from.get(1..close));
        let known = name.filter(|name| !is_hidden(exercise, name));
        let known = known.and_then(|name| sheet.cell(name)).filter(|cell| cell.known().is_some());
        match (known, close) {
            (Some(cell), Some(close)) => {
                out.push_str(cell.formula().trim_matches('"'));
                rest = &from[close + 1..];
            }
            _ => {
                out.push('{');
                rest = &from[1..];
            }
        }
    }
    out.push_str(rest);
    out
}

fn wanted(wanted: &Wanted) -> (String, Vec<String>) {
    match wanted {
        Wanted::Number { unit, figures, .. } => {
            let unit = match unit {
                Some(unit) if *unit == Unit::ONE => "as a plain number".to_owned(),
                Some(unit) if unit.dimension().is_absolute() && unit.symbol().contains("_abs") => {
                    format!("in {} (absolute)", unit.symbol())
                }
                Some(unit) => format!("in {}", unit.symbol()),
                None => "with its unit".to_owned(),
            };
            let figures = match figures {
                Some(1) => ", to 1 significant figure".to_owned(),
                Some(figures) => format!(", to {figures} significant figures"),
                None => String::new(),
            };
            (format!("{unit}{figures}"), Vec::new())
        }
        Wanted::YesNo => ("yes or no".to_owned(), Vec::new()),
        Wanted::Choice(words) => ("one of these".to_owned(), words.clone()),
    }
}
