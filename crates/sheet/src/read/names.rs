//! The names and keys of a sheet: which are allowed where, and what to propose instead.

use forebay_units::nearest;

use super::tree::Entry;
use crate::diagnostic::{Code, Diagnostic};

/// Words of the formula language, which no cell may be called.
const WORDS: &[&str] = &[
    "if", "else", "let", "const", "fn", "return", "while", "loop", "for", "in", "do", "until",
    "break", "continue", "true", "false", "and", "or", "not",
];

/// A place where keys stand.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Place {
    /// What it is called in messages.
    pub(super) name: &'static str,
    /// The keys that mean something there.
    pub(super) keys: &'static [&'static str],
}

/// The top of a sheet.
pub(super) const SHEET: &Place = &Place {
    name: "the top of a sheet",
    keys: &[
        "forebay",
        "title",
        "units",
        "currency",
        "show",
        "known",
        "work",
        "check",
        "tables",
        "functions",
        "use",
        "cases",
        "tied",
        "draw",
        "parts",
        "exercise",
    ],
};
/// A chapter.
pub(super) const PART: &Place = &Place {
    name: "a part",
    keys: &[
        "title",
        "about",
        "known",
        "work",
        "check",
        "tables",
        "functions",
        "use",
        "draw",
        "tied",
    ],
};
/// A known.
pub(super) const KNOWN: &Place = &Place {
    name: "a known",
    keys: &[
        "is",
        "plus_minus",
        "distribution",
        "degrees_of_freedom",
        "from",
        "about",
        "between",
        "choose",
        "in",
    ],
};
/// A cell that is worked out.
pub(super) const WORK: &Place = &Place { name: "a cell of `work`", keys: &["is", "in", "about"] };
/// A check.
pub(super) const CHECK: &Place =
    &Place { name: "a check", keys: &["that", "else", "caution", "level", "about"] };
/// A table.
pub(super) const TABLE: &Place =
    &Place { name: "a table", keys: &["columns", "rows", "csv", "about"] };
/// A worksheet used as a component.
pub(super) const USE: &Place =
    &Place { name: "an entry of `use`", keys: &["sheet", "same", "set"] };

/// Knowns whose uncertainties have a cause in common.
pub(super) const TIE: &Place =
    &Place { name: "an entry of `tied`", keys: &["knowns", "correlation"] };

/// A drawing, whatever its kind.
pub(super) const DRAWING: &Place =
    &Place { name: "a drawing", keys: &["kind", "title", "about", "in", "x_label", "y_label"] };

/// The exercise of a sheet.
pub(super) const EXERCISE: &Place = &Place {
    name: "an exercise",
    keys: &["title", "text", "caution", "vary", "readings", "where", "ask", "credit"],
};
/// A known that varies in an exercise.
pub(super) const VARY: &Place = &Place {
    name: "an entry of `vary`",
    keys: &["between", "choose", "step", "figures", "hidden"],
};
/// A series of readings in an exercise.
pub(super) const READINGS: &Place = &Place {
    name: "an entry of `readings`",
    keys: &["noise", "around", "count", "step", "figures"],
};
/// A cell that an exercise asks for.
pub(super) const ASK: &Place = &Place {
    name: "an entry of `ask`",
    keys: &["text", "hint", "in", "tolerance", "between", "figures", "choose", "points"],
};
/// What is left of the points after a slip.
pub(super) const CREDIT: &Place = &Place { name: "`credit`", keys: &["slip", "rounding"] };

const PLACES: &[&Place] = &[
    SHEET, PART, KNOWN, WORK, CHECK, TABLE, USE, TIE, DRAWING, EXERCISE, VARY, READINGS, ASK,
    CREDIT,
];

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
    let elsewhere = PLACES.iter().find(|other| other.keys.contains(&key));
    let meant = MEANT.iter().find(|(word, _)| *word == key).map(|(_, meant)| *meant);
    let help = if let Some(near) = meant.filter(|meant| place.keys.contains(meant)) {
        format!("write `{near}`")
    } else if let Some(other) = elsewhere {
        format!("`{key}` belongs to {}", other.name)
    } else if let Some(near) = nearest(key, place.keys.iter().copied()).first() {
        format!("did you mean `{near}`?")
    } else if *place == *SHEET {
        "a value belongs under `known:`, a formula under `work:`".to_owned()
    } else {
        format!("here may stand {}", listed(place.keys))
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
    if WORDS.contains(&name) {
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
        let key = [KNOWN, WORK, CHECK].iter().any(|place| place.keys.contains(&name));
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
