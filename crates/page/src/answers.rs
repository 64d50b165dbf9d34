//! What a page may ask, one function a question.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use forebay_report::{visible, working_json};
use forebay_sheet::Sheet;
use forebay_sheet::edit::Refused;
use hyper::StatusCode;
use serde_json::{Value as Json, json};

use crate::desk::{Desk, Written};
use crate::session::{Session, ToWrite};

type Answer = (StatusCode, Json);

/// Answers a question. Every text in the answer is made visible: a sheet cannot hide letters.
pub(crate) fn answer(path: &str, body: &[u8], desk: &RefCell<Desk>) -> Answer {
    let Ok(body) = serde_json::from_slice::<Json>(body) else {
        return (StatusCode::BAD_REQUEST, error("the question is no JSON", ""));
    };
    // A page that led to a fault is taken off the desk with it, and opens itself again.
    let answered = catch_unwind(AssertUnwindSafe(|| routed(path, &body, desk)));
    let (status, mut json) = answered.unwrap_or_else(|_| {
        let words = "this is a fault of the program, not of your sheet; nothing was written";
        (StatusCode::INTERNAL_SERVER_ERROR, error(words, "please report it, with the sheet"))
    });
    make_visible(&mut json);
    (status, json)
}

fn routed(path: &str, body: &Json, desk: &RefCell<Desk>) -> Answer {
    let question: fn(&mut Session, &Json, &mut Desk) -> Answer = match path {
        "/open" => return (StatusCode::OK, open(body, &mut desk.borrow_mut())),
        "/set" => set,
        "/case" => case,
        "/hold" => hold,
        "/working" => working,
        "/drawings" => drawings,
        "/keep" => keep,
        "/renew" => renew,
        "/save" => save,
        "/save-case" => save_case,
        _ => return (StatusCode::NOT_FOUND, error("there is nothing here", "")),
    };
    let number = body["session"].as_u64().unwrap_or_default();
    let Some(mut session) = desk.borrow_mut().take(number) else {
        return (StatusCode::GONE, error("this page was put aside", "it opens itself again"));
    };
    let answer = question(&mut session, body, &mut desk.borrow_mut());
    desk.borrow_mut().put_back(number, session);
    answer
}

/// A new page, or one that was put aside and comes back with its unsaved values.
fn open(body: &Json, desk: &mut Desk) -> Json {
    let (sheet, seen) = desk.opened();
    let edits: BTreeMap<String, String> = body["edits"]
        .as_object()
        .into_iter()
        .flatten()
        .filter_map(|(name, value)| Some((name.clone(), value.as_str()?.to_owned())))
        .collect();
    let session = Session::new(sheet, seen, text(body, "case"), edits);
    let mut answer = session.whole(None);
    answer["session"] = desk.add(session).into();
    stamped(answer, desk)
}

fn set(session: &mut Session, body: &Json, _: &mut Desk) -> Answer {
    let values: Vec<(String, Option<String>)> = body["set"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|pair| {
            Some((pair[0].as_str()?.to_owned(), pair[1].as_str().map(str::to_owned)))
        })
        .collect();
    if body["begins"].as_bool().unwrap_or(true) {
        session.begin();
    }
    (StatusCode::OK, session.set(&values))
}

fn case(session: &mut Session, body: &Json, desk: &mut Desk) -> Answer {
    let sheet = reopened(session, desk);
    (StatusCode::OK, stamped(session.use_case(text(body, "case"), sheet), desk))
}

fn hold(session: &mut Session, body: &Json, desk: &mut Desk) -> Answer {
    let hold = body["hold"].as_bool().unwrap_or_default();
    (StatusCode::OK, stamped(session.hold(hold), desk))
}

fn working(session: &mut Session, body: &Json, _: &mut Desk) -> Answer {
    let name = text(body, "name").unwrap_or_default();
    let json = working_json(session.sheet(), &name, 1);
    match json.and_then(|json| serde_json::from_str(&json).ok()) {
        Some(working) => (StatusCode::OK, working),
        None => (StatusCode::NOT_FOUND, error(&format!("there is no cell `{name}`"), "")),
    }
}

fn drawings(session: &mut Session, _: &Json, _: &mut Desk) -> Answer {
    (StatusCode::OK, json!({ "drawings": session.drawings() }))
}

/// The user keeps the value of the page where the file has another new one.
fn keep(session: &mut Session, body: &Json, desk: &mut Desk) -> Answer {
    session.keep_mine(&text(body, "name").unwrap_or_default());
    (StatusCode::OK, stamped(session.whole(None), desk))
}

fn renew(session: &mut Session, _: &Json, desk: &mut Desk) -> Answer {
    let (sheet, seen) = desk.opened();
    (StatusCode::OK, stamped(session.renew(sheet, seen), desk))
}

fn save(session: &mut Session, _: &Json, desk: &mut Desk) -> Answer {
    written(session.to_save(), None, session, desk)
}

fn save_case(session: &mut Session, body: &Json, desk: &mut Desk) -> Answer {
    let name = text(body, "name").unwrap_or_default();
    written(session.to_save_as_case(&name), Some(&name), session, desk)
}

fn written(
    ready: Result<ToWrite, Refused>,
    case: Option<&str>,
    session: &mut Session,
    desk: &mut Desk,
) -> Answer {
    let ready = match ready {
        Ok(ready) => ready,
        Err(why) => return (StatusCode::CONFLICT, error(&why.message, &why.help)),
    };
    let saved = match desk.write(&ready.seen, &ready.text) {
        Written::Done => true,
        Written::Changed => false,
        Written::Failed(why) => {
            let message = format!("the file cannot be written: {why}");
            return (StatusCode::CONFLICT, error(&message, "what is unsaved stays in this page"));
        }
    };
    if let Some(case) = case.filter(|_| saved) {
        session.enter_case(case);
    }
    let (sheet, seen) = desk.opened();
    let mut answer = stamped(session.renew(sheet, seen), desk);
    answer["saved"] = saved.into();
    (StatusCode::OK, answer)
}

/// The sheet as the page has seen it, fresh.
fn reopened(session: &Session, desk: &Desk) -> Sheet {
    desk.sheet_of(session.seen())
}

/// With what the page needs to wait for news.
fn stamped(mut answer: Json, desk: &Desk) -> Json {
    answer["version"] = desk.version().into();
    answer["file"] = desk.file_name().into();
    answer
}

fn text(body: &Json, name: &str) -> Option<String> {
    body[name].as_str().map(str::to_owned)
}

fn error(message: &str, help: &str) -> Json {
    json!({ "error": message, "help": help })
}

fn make_visible(json: &mut Json) {
    match json {
        Json::String(text) => {
            if let std::borrow::Cow::Owned(shown) = visible(text) {
                *text = shown;
            }
        }
        Json::Array(items) => items.iter_mut().for_each(make_visible),
        Json::Object(fields) => fields.values_mut().for_each(make_visible),
        _ => {}
    }
}
