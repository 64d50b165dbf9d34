//! The answers that come in: a table with a line for each learner and question.

use std::fs::File;
use std::io::{self, Read};

use csv::ReaderBuilder;
use forebay_study::Handed;

use crate::refusal::Refusal;

/// More than this is no class's answers.
const MOST_BYTES: u64 = 16 * 1024 * 1024;

/// The answers of a file, each with its line. Columns are found by their heads, in any order.
pub(super) fn answers_in(name: &str) -> Result<Vec<Handed>, Refusal> {
    let input: Box<dyn Read> = if name == "-" {
        Box::new(io::stdin())
    } else {
        let opened = File::open(name);
        Box::new(opened.map_err(|error| {
            Refusal::new(format!("`{name}` cannot be read: {error}"))
                .help("name the table of answers, such as answers.csv")
        })?)
    };
    let mut bytes = Vec::new();
    let read = input.take(MOST_BYTES + 1).read_to_end(&mut bytes);
    read.map_err(|error| Refusal::new(format!("`{name}` cannot be read: {error}")))?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(Refusal::new(format!("`{name}` is larger than {} MiB", MOST_BYTES >> 20)));
    }
    // Spreadsheets of some countries part columns with semicolons, and write decimals with commas.
    let first = bytes.split(|byte| *byte == b'\n').next().unwrap_or_default();
    let count = |mark: u8| first.iter().filter(|byte| **byte == mark).count();
    let delimiter = [b',', b';', b'\t']
        .into_iter()
        .max_by_key(|mark| (count(*mark), *mark == b','))
        .unwrap_or(b',');
    let mut reader = ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(bytes.as_slice());
    let mut records = reader.byte_records();
    let refused = |error: csv::Error| Refusal::new(format!("`{name}` cannot be read: {error}"));
    let heads = match records.next() {
        Some(record) => record.map_err(refused)?,
        None => {
            return Err(Refusal::new(format!("`{name}` is empty"))
                .help("its first line is: learner,question,answer"));
        }
    };
    let heads: Vec<String> = heads
        .iter()
        .map(|head| text(head).trim_start_matches('\u{feff}').trim().to_lowercase())
        .collect();
    let place = |wanted: &[&str]| heads.iter().position(|head| wanted.contains(&head.as_str()));
    let column = |wanted: &[&str]| {
        place(wanted).ok_or_else(|| {
            Refusal::new(format!("`{name}` has no column `{}`", wanted[0])).help(format!(
                "its first line is: learner,question,answer; found: {}",
                heads.join(",")
            ))
        })
    };
    let (learner, question, answer) = (
        column(&["learner", "name", "student"])?,
        column(&["question", "number"])?,
        column(&["answer", "value"])?,
    );
    let unit = place(&["unit", "units"]);
    let mut handed = Vec::new();
    for record in records {
        let record = record.map_err(refused)?;
        if record.iter().all(|field| field.trim_ascii().is_empty()) {
            continue;
        }
        let field = |at: usize| record.get(at).map(text).unwrap_or_default().trim().to_owned();
        let mut given = field(answer);
        // A decimal comma that was not put into quotes falls into two columns.
        let beyond: Vec<String> =
            (heads.len()..record.len()).map(field).filter(|text| !text.is_empty()).collect();
        if !beyond.is_empty() && answer + 1 == heads.len() {
            given = format!("{given}{}{}", char::from(delimiter), beyond.join(" "));
        }
        if let Some(unit) = unit
            && !given.is_empty()
        {
            given = format!("{given} {}", field(unit)).trim().to_owned();
        }
        let line = record.position().map_or(0, |place| place.line());
        handed.push(Handed {
            line,
            learner: field(learner),
            question: field(question),
            answer: given,
        });
    }
    Ok(handed)
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}
