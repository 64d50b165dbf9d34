//! The key of an exercise as a JSON document, and the sheet that answers are written into.

use std::collections::BTreeMap;
use std::fmt;

use forebay_study::{Key, KeyLearner};
use serde_json::{Map, Value as Json, json};

use crate::json::{number, pretty};
use crate::study::csv_fields;

/// The number of the key's form; it changes when a reader of the old form would go wrong.
pub const KEY_SCHEMA: u32 = 1;

/// Why a text is no key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyFault {
    /// What is wrong.
    pub message: String,
    /// The way out.
    pub help: &'static str,
}

impl fmt::Display for KeyFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for KeyFault {}

/// The key: the right answers for people, and all that marking needs.
#[must_use]
pub fn key_json(key: &Key) -> String {
    let learner = |learner: &KeyLearner| {
        let given: Map<String, Json> =
            learner.given.iter().map(|(name, text)| (name.clone(), json!(text))).collect();
        let answers: Map<String, Json> = learner
            .right
            .iter()
            .map(|(cell, shown, si)| {
                (cell.clone(), json!({ "shown": shown, "si": si.map_or(Json::Null, number) }))
            })
            .collect();
        json!({ "learner": learner.learner, "given": given, "answers": answers })
    };
    pretty(&json!({
        "schema": KEY_SCHEMA,
        "what": "key of a forebay exercise; not for learners",
        "title": key.title,
        "seed": key.seed,
        "learners": key.learners.iter().map(learner).collect::<Vec<_>>(),
        "sheet": { "name": key.name, "text": key.text, "files": key.files },
    }))
}

/// Reads a key.
///
/// # Errors
/// What is wrong with the text, and the way out.
pub fn read_key(text: &str) -> Result<Key, KeyFault> {
    const REMAKE: &str = "make it again with `forebay exercise`, with the same seed";
    let refuse = |message: &str| KeyFault { message: message.to_owned(), help: REMAKE };
    let json: Json = serde_json::from_str(text).map_err(|error| KeyFault {
        message: format!("this is no key: {error}"),
        help: "name the file that `forebay exercise` wrote as the key",
    })?;
    let schema = json.get("schema").and_then(Json::as_u64);
    match schema {
        Some(schema) if schema == u64::from(KEY_SCHEMA) => {}
        Some(schema) if schema > u64::from(KEY_SCHEMA) => {
            return Err(KeyFault {
                message: format!("the key is of form {schema}, which is newer than this program"),
                help: "use the forebay that made it, or a newer one",
            });
        }
        _ => {
            return Err(KeyFault {
                message: "this is no key: it has no schema number of one".to_owned(),
                help: "name the file that `forebay exercise` wrote as the key",
            });
        }
    }
    let text_of = |json: &Json, key: &str| json.get(key).and_then(Json::as_str).map(str::to_owned);
    let sheet = json.get("sheet").ok_or_else(|| refuse("the key holds no sheet"))?;
    let mut files = BTreeMap::new();
    for (name, text) in sheet.get("files").and_then(Json::as_object).into_iter().flatten() {
        files.insert(name.clone(), text.as_str().unwrap_or_default().to_owned());
    }
    let learners = json.get("learners").and_then(Json::as_array);
    let learners = learners.ok_or_else(|| refuse("the key holds no learners"))?;
    let learners: Option<Vec<KeyLearner>> = learners.iter().map(learner).collect();
    Ok(Key {
        name: text_of(sheet, "name").unwrap_or_default(),
        title: text_of(&json, "title").unwrap_or_default(),
        text: text_of(sheet, "text").ok_or_else(|| refuse("the key holds no sheet"))?,
        files,
        seed: json.get("seed").and_then(Json::as_u64).unwrap_or_default(),
        learners: learners.ok_or_else(|| refuse("a learner of the key cannot be read"))?,
    })
}

fn learner(json: &Json) -> Option<KeyLearner> {
    let given = json.get("given")?.as_object()?;
    let given: Option<Vec<(String, String)>> =
        given.iter().map(|(name, text)| Some((name.clone(), text.as_str()?.to_owned()))).collect();
    let answers = json.get("answers").and_then(Json::as_object);
    let right = answers.into_iter().flatten().map(|(cell, answer)| {
        let shown = answer.get("shown").and_then(Json::as_str).unwrap_or_default().to_owned();
        (cell.clone(), shown, answer.get("si").and_then(Json::as_f64))
    });
    Some(KeyLearner {
        learner: json.get("learner")?.as_str()?.to_owned(),
        given: given?,
        right: right.collect(),
    })
}

/// A table for the answers, a line for each learner and question, to be filled in.
#[must_use]
pub fn answer_sheet(key: &Key) -> String {
    let mut out = csv_fields(["learner", "question", "answer"]);
    for learner in &key.learners {
        for (cell, ..) in &learner.right {
            out.push_str(&csv_fields([learner.learner.as_str(), cell, ""]));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key() -> Key {
        Key {
            name: "a.yaml".to_owned(),
            title: "A \"title\"".to_owned(),
            text: "forebay: 1\n".to_owned(),
            files: BTreeMap::from([("b.csv".to_owned(), "x\n".to_owned())]),
            seed: u64::MAX,
            learners: vec![KeyLearner {
                learner: "Ada, L.".to_owned(),
                given: vec![("z".to_owned(), "1 m".to_owned()), ("a".to_owned(), "2".to_owned())],
                right: vec![
                    ("v".to_owned(), "1.2 m/s".to_owned(), Some(1.234_567_890_123_456_7)),
                    ("ok".to_owned(), "yes".to_owned(), None),
                ],
            }],
        }
    }

    #[test]
    fn a_key_is_read_as_it_was_written() {
        assert_eq!(read_key(&key_json(&key())), Ok(key()));
    }

    #[test]
    fn what_is_no_key_is_refused_with_a_way_out() {
        for text in ["", "{}", "learner,question\n", "{\"schema\": 1}", "{\"schema\": \"1\"}"] {
            let fault = read_key(text).unwrap_err();
            assert!(!fault.help.is_empty(), "{text}");
        }
        let newer = read_key("{\"schema\": 99}").unwrap_err();
        assert!(newer.message.contains("newer"));
    }

    #[test]
    fn answers_have_a_line_each() {
        let sheet = answer_sheet(&key());
        assert_eq!(sheet, "learner,question,answer\n\"Ada, L.\",v,\n\"Ada, L.\",ok,\n");
    }
}
