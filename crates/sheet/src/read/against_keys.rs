//! Holds the reader and the table of keys against each other, in both directions.

use super::names::listed;
use crate::diagnostic::Code;
use crate::drawing::{DRAWING_KINDS, Wants};
use crate::keys::{DRAWING, Key, PLACES, Place, SHEET, Shape};
use crate::{Diagnostic, Sheet};

/// The files that read the keys of a sheet.
const READERS: &[&str] = &[
    include_str!("document.rs"),
    include_str!("entries.rs"),
    include_str!("tables.rs"),
    include_str!("ties.rs"),
    include_str!("draw.rs"),
    include_str!("exercise.rs"),
];

/// Something that may stand behind a key of this shape.
fn sample(shape: Shape) -> String {
    match shape {
        Shape::Version | Shape::Whole(_) | Shape::Number(..) => "1".to_owned(),
        Shape::Currency => "EUR".to_owned(),
        Shape::Text | Shape::Word => "something".to_owned(),
        Shape::Formula => "1 m".to_owned(),
        Shape::OneOf(words) => words[0].to_owned(),
        Shape::Range => "[1 m, 2 m]".to_owned(),
        Shape::Names(_) | Shape::NameOrNames => "[a, b]".to_owned(),
        Shape::Values => "{ a: 1 m }".to_owned(),
        Shape::Columns => "{ a: m }".to_owned(),
        Shape::Rows => "[[1]]".to_owned(),
        Shape::Cases => "{ other: { a: 1 m } }".to_owned(),
        Shape::Named(_) | Shape::Drawings => "{}".to_owned(),
        Shape::List(_) => "[]".to_owned(),
        Shape::Keys(place) => braces(place, None),
    }
}

/// A set of keys for a place: those it needs, and one more.
fn braces(place: &Place, more: Option<(&str, &str)>) -> String {
    let needed = place.keys.iter().filter(|key| key.needed);
    let mut keys: Vec<String> = needed
        .filter(|key| more.is_none_or(|(name, _)| name != key.name))
        .map(|key| format!("{}: {}", key.name, sample(key.shape)))
        .collect();
    if let Some((name, value)) = more {
        keys.push(format!("{name}: {value}"));
    }
    format!("{{ {} }}", keys.join(", "))
}

/// A sheet that has `more` at a place.
fn sheet_with(place: &Place, more: (&str, &str)) -> String {
    let here = braces(place, Some(more));
    if std::ptr::eq(place, SHEET) {
        return here;
    }
    let inside = |outer: &Place| {
        outer.keys.iter().find_map(|key| match key.shape {
            Shape::Named(inner) if inner == place => Some((key.name, format!("{{ one: {here} }}"))),
            Shape::Drawings if *place == *DRAWING => Some((key.name, format!("{{ one: {here} }}"))),
            Shape::List(inner) if inner == place => Some((key.name, format!("[{here}]"))),
            Shape::Keys(inner) if inner == place => Some((key.name, here.clone())),
            _ => None,
        })
    };
    let (outer, (name, value)) = PLACES
        .iter()
        .find_map(|outer| Some((*outer, inside(outer)?)))
        .unwrap_or_else(|| panic!("no key leads to {}", place.name));
    sheet_with(outer, (name, &value))
}

fn found(place: &Place, key: &str, value: &str) -> Vec<Diagnostic> {
    Sheet::open(&sheet_with(place, (key, value))).diagnostics().into_iter().cloned().collect()
}

fn keys() -> impl Iterator<Item = (&'static Place, &'static Key)> {
    PLACES.iter().flat_map(|place| place.keys.iter().map(move |key| (*place, key)))
}

#[test]
fn the_reader_knows_every_key_of_the_table() {
    for (place, key) in keys() {
        let refused = found(place, key.name, &sample(key.shape));
        let refused: Vec<_> = refused.iter().filter(|d| d.code == Code::UNKNOWN_KEY).collect();
        assert!(refused.is_empty(), "{} in {}: {refused:?}", key.name, place.name);
    }
}

#[test]
fn the_reader_refuses_a_key_that_the_table_does_not_have() {
    for place in PLACES.iter().filter(|place| **place != DRAWING) {
        let refused = found(place, "zzz", "1");
        assert!(refused.iter().any(|d| d.code == Code::UNKNOWN_KEY), "in {}", place.name);
    }
}

/// A key that only the reader knows would be read, and no editor would propose it.
#[test]
fn the_table_knows_every_key_of_the_reader() {
    for text in READERS {
        for line in text.lines().filter(|line| line.trim_start().starts_with('"')) {
            let Some((words, _)) = line.split_once("=>") else { continue };
            for word in words.split('|').map(|word| word.trim().trim_matches('"')) {
                assert!(keys().any(|(_, key)| key.name == word), "`{word}` has no row in keys.rs");
            }
        }
    }
}

#[test]
fn the_words_to_choose_from_are_the_same() {
    for (place, key) in keys() {
        let Shape::OneOf(words) = key.shape else { continue };
        let wrong = found(place, key.name, "qqq");
        let named = wrong.iter().find(|d| d.message.starts_with("`qqq` is none of"));
        let message = named.unwrap_or_else(|| panic!("{}: {wrong:?}", key.name)).message.clone();
        assert_eq!(message, format!("`qqq` is none of {}", listed(words)));
    }
}

#[test]
fn a_key_that_is_needed_is_asked_for_and_no_other() {
    for place in PLACES.iter().filter(|place| **place != DRAWING) {
        for key in place.keys {
            let Some(other) = place.keys.iter().find(|other| !other.needed) else { continue };
            let all = sheet_with(place, (other.name, &sample(other.shape)));
            let without = all.replacen(&format!("{}: {}, ", key.name, sample(key.shape)), "", 1);
            if without == all || key.name == "forebay" {
                continue;
            }
            let codes: Vec<_> =
                Sheet::open(&without).diagnostics().iter().map(|d| d.code).collect();
            let missing = codes.contains(&Code::MISSING_KEY);
            assert_eq!(missing, key.needed, "{} in {}: {without}", key.name, place.name);
        }
    }
}

#[test]
fn no_kind_of_drawing_has_a_key_of_all_drawings() {
    for kind in DRAWING_KINDS {
        for key in kind.keys {
            assert!(!DRAWING.has(key.name), "{} of {}", key.name, kind.name);
        }
        assert!(kind.keys.iter().filter(|key| key.wants == Wants::Range).count() < 2);
    }
}
