//! Exercises and their marks, in each form: one file per form.

mod handout;
mod key;
mod marks_csv;
mod marks_json;
mod marks_markdown;
mod marks_text;
mod variants;

pub use handout::{handout_html, handout_markdown};
pub use key::{KEY_SCHEMA, KeyFault, answer_sheet, key_json, read_key};
pub use marks_csv::marks_csv;
pub use marks_json::marks_json;
pub use marks_markdown::marks_markdown;
pub use marks_text::marks_text;
pub use variants::{variants_csv, variants_text};

use forebay_study::{Item, Verdict};

/// Points as people write them: `2`, `1.5`.
pub(crate) fn points(points: f64) -> String {
    let rounded = (points * 100.0).round() / 100.0;
    format!("{rounded}")
}

/// What was handed in, in one text; empty for nothing.
pub(crate) fn handed(item: &Item) -> String {
    let answers: Vec<&str> = item.handed.iter().map(|(_, answer)| answer.trim()).collect();
    let mut different: Vec<&str> = Vec::new();
    for answer in answers {
        if !answer.is_empty() && !different.contains(&answer) {
            different.push(answer);
        }
    }
    different.join(" and ")
}

/// What is said of an answer that is not simply right; empty for one that is.
pub(crate) fn comment(item: &Item) -> String {
    let from = |from: &[String]| {
        let names: Vec<String> = from.iter().map(|name| format!("`{name}`")).collect();
        match names.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
            _ => names.concat(),
        }
    };
    let said = match &item.verdict {
        Verdict::Right | Verdict::Wrong | Verdict::Blank => String::new(),
        Verdict::Carried { from: cells } => {
            format!("right for your answer to {}", from(cells))
        }
        Verdict::Rounded { how } => how.clone(),
        Verdict::Slip { says, from: cells, .. } if cells.is_empty() => says.clone(),
        Verdict::Slip { says, from: cells, .. } => {
            format!("{says}; and it follows from your answer to {}", from(cells))
        }
        Verdict::Unread { why } => format!("cannot be read: {why}"),
        Verdict::Twice => "two different answers".to_owned(),
    };
    match (said.is_empty(), item.remark.is_empty()) {
        (false, false) => format!("{said}; {}", item.remark),
        _ => format!("{said}{}", item.remark),
    }
}
