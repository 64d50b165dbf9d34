//! The variants of an exercise for the instructor: figures and right answers in a table.

use forebay_study::{Key, KeyLearner};

use crate::formats::Options;
use crate::page::Page;
use crate::study::csv_fields;
use crate::study::table::Table;

/// All learners with their figures and answers, for reading.
#[must_use]
pub fn variants_text(key: &Key, options: &Options) -> String {
    let mut page = Page::new(options);
    page.title(&key.title);
    let count = key.learners.len();
    let learners = if count == 1 { "learner" } else { "learners" };
    page.line(0, &format!("{count} {learners}, seed {}", key.seed));
    page.heading("What each is given");
    table(key, |learner| learner.given.clone()).put(&mut page);
    page.heading("The right answers (not for learners)");
    let right = |learner: &KeyLearner| {
        learner.right.iter().map(|(cell, shown, _)| (cell.clone(), shown.clone())).collect()
    };
    table(key, right).put(&mut page);
    page.finish()
}

/// The same as comma-separated values, a line for each learner.
#[must_use]
pub fn variants_csv(key: &Key) -> String {
    let Some(first) = key.learners.first() else { return String::new() };
    let heads = ["learner"]
        .into_iter()
        .chain(first.given.iter().map(|(name, _)| name.as_str()))
        .chain(first.right.iter().map(|(cell, ..)| cell.as_str()));
    let mut out = csv_fields(heads);
    for learner in &key.learners {
        let fields = [learner.learner.as_str()]
            .into_iter()
            .chain(learner.given.iter().map(|(_, text)| text.as_str()))
            .chain(learner.right.iter().map(|(_, shown, _)| shown.as_str()));
        out.push_str(&csv_fields(fields));
    }
    out
}

fn table(key: &Key, fields: impl Fn(&KeyLearner) -> Vec<(String, String)>) -> Table {
    let mut table = Table { fixed: 1, ..Table::default() };
    table.heads.push(("learner".to_owned(), String::new()));
    let first = key.learners.first().map(&fields).unwrap_or_default();
    table.heads.extend(first.into_iter().map(|(name, _)| (name, String::new())));
    for learner in &key.learners {
        let mut row = vec![learner.learner.clone()];
        row.extend(fields(learner).into_iter().map(|(_, text)| short(&text)));
        table.rows.push(row);
        table.remarks.push(String::new());
    }
    table
}

/// A list in few columns.
fn short(text: &str) -> String {
    let Some(list) = text.strip_prefix('[').and_then(|list| list.strip_suffix(']')) else {
        return text.to_owned();
    };
    let values: Vec<&str> = list.split(',').map(str::trim).collect();
    match values.as_slice() {
        [first, .., last] => format!("{first} … {last} ({})", values.len()),
        _ => list.to_owned(),
    }
}
