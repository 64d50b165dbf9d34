//! Marks for other programs, with a schema number.

use forebay_study::{Item, Marked, Verdict};
use serde_json::{Map, Value as Json, json};

use super::comment;
use crate::json::{SCHEMA, number, pretty};

/// The class, each learner, and what could not be told.
#[must_use]
pub fn marks_json(marked: &Marked) -> String {
    let learners: Vec<Json> = marked
        .learners
        .iter()
        .map(|marks| {
            let given: Map<String, Json> =
                marks.given.iter().map(|(name, text)| (name.clone(), json!(text))).collect();
            json!({
                "learner": marks.learner,
                "points": number(marks.points),
                "of": number(marks.of),
                "given": given,
                "answers": marks.items.iter().map(item).collect::<Vec<_>>(),
            })
        })
        .collect();
    let strays: Vec<Json> = marked
        .strays
        .iter()
        .map(|stray| {
            json!({
                "line": stray.handed.line,
                "learner": stray.handed.learner,
                "question": stray.handed.question,
                "answer": stray.handed.answer,
                "why": stray.why,
            })
        })
        .collect();
    let questions: Vec<Json> = marked
        .class
        .questions
        .iter()
        .map(|question| {
            let slips: Map<String, Json> =
                question.slips.iter().map(|(name, n)| ((*name).to_owned(), json!(n))).collect();
            json!({
                "question": question.cell,
                "right": question.right,
                "carried": question.carried,
                "rounded": question.rounded,
                "slips": slips,
                "wrong": question.wrong,
                "to_look_at": question.open,
                "blank": question.blank,
                "share": number(question.share),
            })
        })
        .collect();
    pretty(&json!({
        "schema": SCHEMA,
        "title": marked.title,
        "class": {
            "answered": marked.class.answered,
            "mean": number(marked.class.mean),
            "of": number(marked.class.of),
            "questions": questions,
        },
        "learners": learners,
        "not_told": strays,
        "not_as_in_key": marked.differs,
    }))
}

fn item(item: &Item) -> Json {
    let slip = match &item.verdict {
        Verdict::Slip { name, .. } => json!(name),
        _ => Json::Null,
    };
    let from = match &item.verdict {
        Verdict::Slip { from, .. } | Verdict::Carried { from } => from.as_slice(),
        _ => &[],
    };
    let handed: Vec<Json> = item
        .handed
        .iter()
        .map(|(line, answer)| json!({ "line": line, "answer": answer }))
        .collect();
    let working: Vec<Json> = item
        .working
        .iter()
        .map(|step| {
            json!({
                "name": step.name,
                "formula": step.formula,
                "with_numbers": step.with_numbers,
                "result": step.result,
            })
        })
        .collect();
    json!({
        "question": item.cell,
        "handed": handed,
        "right": item.right,
        "verdict": item.verdict.word(),
        "slip": slip,
        "from": from,
        "comment": comment(item),
        "points": number(item.points),
        "of": number(item.of),
        "working": working,
    })
}
