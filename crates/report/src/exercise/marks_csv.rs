//! Marks as comma-separated values (RFC 4180): a line for each answer, and for each line that
//! could not be told.

use forebay_study::{Marked, Verdict};

use super::{comment, handed, points};
use crate::study::csv_fields;

/// A line for each learner and question.
#[must_use]
pub fn marks_csv(marked: &Marked) -> String {
    let mut out = csv_fields([
        "learner", "question", "answer", "right", "verdict", "slip", "points", "of", "comment",
        "lines",
    ]);
    for marks in &marked.learners {
        for item in &marks.items {
            let slip = match &item.verdict {
                Verdict::Slip { name, .. } => name,
                _ => "",
            };
            let lines: Vec<String> = item.handed.iter().map(|(line, _)| line.to_string()).collect();
            out.push_str(&csv_fields([
                marks.learner.as_str(),
                &item.cell,
                &handed(item),
                &item.right,
                item.verdict.word(),
                slip,
                &points(item.points),
                &points(item.of),
                &comment(item),
                &lines.join(" "),
            ]));
        }
    }
    for stray in &marked.strays {
        let handed = &stray.handed;
        out.push_str(&csv_fields([
            handed.learner.as_str(),
            &handed.question,
            &handed.answer,
            "",
            "not told",
            "",
            "",
            "",
            &stray.why,
            &handed.line.to_string(),
        ]));
    }
    out
}
