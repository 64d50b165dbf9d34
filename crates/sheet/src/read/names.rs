//! The names and keys of a sheet: which are allowed where, and what to propose instead.

use forebay_units::nearest;

use super::tree::Entry;
use crate::diagnostic::{Code, Diagnostic};
pub(super) use crate::keys::{
    ASK, CHECK, CREDIT, DRAWING, EXERCISE, KNOWN, PART, PLACES, Place, READINGS, RESERVED, SHEET,
    TABLE, TIE, USE, VARY, WORK,
};

/// Ordinary words that people write, with the key that is meant.
const MEANT: &[(&str, &str)] = &[
    ("comment", "about"),
    ("condition", "that"),
    ("conditions", "where"),
    ("correlated", "tied"),
    ("correlations", "tied"),
    ("description", "about"),
    ("digits", "figures"),
    ("formula", "is"),
    ("knowns", "known"),
    ("list", "choose"),
    ("marks", "points"),
    ("note", "about"),
    ("otherwise", "else"),
    ("question", "text"),
    ("range", "between"),
    ("severity", "level"),
    ("source", "from"),
    ("uncertainty", "plus_minus"),
    ("unit", "in"),
    ("value", "is"),
    ("warning", "caution"),
];

/// Refuses a key that means nothing at its place, and proposes one.
pub(super) fn unknown_key(entry: &Entry, place: &Place) -> Diagnostic {
    let key = entry.key.text.as_str();
    let elsewhere = PLACES.iter().find(|other| other.has(key));
    let meant = MEANT.iter().find(|(word, _)| *word == key).map(|(_, meant)| *meant);
    let help = if let Some(near) = meant.filter(|meant| place.has(meant)) {
        format!("write `{near}`")
    } else if let Some(other) = elsewhere {
        format!("`{key}` belongs to {}", other.name)
    } else if let Some(near) = nearest(key, place.names()).first() {
        format!("did you mean `{near}`?")
    } else if std::ptr::eq(place, SHEET) {
        "a value belongs under `known:`, a formula under `work:`".to_owned()
    } else {
        format!("here may stand {}", listed(&place.names().collect::<Vec<_>>()))
    };
    Diagnostic::new(
        Code::UNKNOWN_KEY,
        format!("`{key}` is no key of {}", place.name),
        entry.key.span,
    )
    .help(help)
}

/// Why a word cannot be a name, with one that can.
pub(crate) fn refuse_name(name: &str) -> Option<(String, String)> {
    if RESERVED.contains(&name) {
        let reason = format!("`{name}` is a word of the formula language");
        return Some((reason, format!("call it `{name}_value`, or something that says more")));
    }
    let sound = name.starts_with(|c: char| c.is_ascii_alphabetic())
        && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
    if sound {
        return None;
    }
    let mut other: String = name
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '_' })
        .take(40)
        .collect::<String>()
        .trim_matches('_')
        .to_owned();
    if other.starts_with(|c: char| c.is_ascii_digit()) {
        other.insert_str(0, "n_");
    }
    let help = if other.is_empty() {
        "begin with a letter, then letters, digits and underscores".to_owned()
    } else {
        format!("letters, digits and underscores only, a letter first: `{other}`")
    };
    Some((format!("`{name}` cannot be a name"), help))
}

/// The sound names that stand before a colon in a piece of text, with their first bytes; keys
/// of entries are left aside.
pub(super) fn before_colons(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.match_indices(':').filter_map(|(colon, _)| {
        let behind = text[colon + 1..].chars().next();
        if behind.is_some_and(|c| !c.is_whitespace()) {
            return None;
        }
        let start = text[..colon]
            .rfind(|c: char| !c.is_ascii_alphanumeric() && c != '_')
            .map_or(0, |at| at + text[at..].chars().next().map_or(1, char::len_utf8));
        let name = &text[start..colon];
        let key = [KNOWN, WORK, CHECK].iter().any(|place| place.has(name));
        (!key && refuse_name(name).is_none()).then_some((start, name))
    })
}

/// `a`, `b` or `c`.
pub(super) fn listed(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
        None => String::new(),
    }
}
