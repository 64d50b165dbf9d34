//! The page about the format of worksheets, made of the reader's own table of keys.

use std::fmt::Write as _;
use std::ops::Bound;

use forebay_sheet::keys::{self, Key, Place, Shape};
use forebay_sheet::{BOUNDS, DRAWING_KINDS, Wants};

const HEAD: &str = "\
# The format of a worksheet

A worksheet is a text in YAML 1.2 and UTF-8, one document, of 16 MiB at the most. This page lists \
every key of format version 1. `forebay schema` prints the same as a JSON Schema for editors.

* **Version.** Every sheet says `forebay: 1`. A sheet of a later version is read as far as it is \
understood, says that it is newer, and ends with exit code 2. Within version 1 keys may be added and \
none changes its meaning or goes away: a sheet that is right today stays right. A key that this \
program does not know is refused, with the one that is meant.
* **Names** begin with a letter and have letters, digits and `_`. Knowns, cells of `work`, tables \
and components share one set of names; checks and drawings have each their own. Reserved are WORDS.
* **Order** does not matter, but for the order in which things are shown.
* **A formula** is written plainly, in single quotes, or as a block behind `|`; one with commas \
stands on a line of its own. Anchors, aliases, tags and merge keys are refused.
* **Numbers** are written with a point, and stay the text that was written: `010` is ten.
";

const LIMITS: &str = "
## What a sheet may take

A sheet from a stranger is safe to open: it reads nothing but files of its own folder, and no network \
and no clock. Whatever goes past a bound is refused with a diagnostic, and the rest of the sheet is \
computed.

| of | at most |
|:--|--:|
";

/// The page, in Markdown.
#[must_use]
pub fn format_page() -> String {
    let words: Vec<String> = keys::RESERVED.iter().map(|word| format!("`{word}`")).collect();
    let mut page = HEAD.replace("WORDS", &words.join(", "));
    for place in keys::PLACES.iter().filter(|place| !std::ptr::eq(**place, keys::DRAWING)) {
        section(&mut page, place);
    }
    section(&mut page, keys::DRAWING);
    page.push_str("\nBesides these, by its kind:\n\n| kind | key | what stands there | |\n|:--|:--|:--|:--|\n");
    for kind in DRAWING_KINDS {
        for key in kind.keys {
            let needed = if key.needed { "needed" } else { "" };
            let (name, key_name, about) = (kind.name, key.name, key.about);
            let wants = data(key.wants);
            let _ = writeln!(page, "| `{name}` | `{key_name}` | {wants}: {about} | {needed} |");
        }
    }
    page.push_str(LIMITS);
    for bound in BOUNDS {
        let _ = writeln!(page, "| {} | {} |", bound.about, grouped(bound.most));
    }
    page
}

/// A whole number with its thousands apart.
fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

fn section(page: &mut String, place: &Place) {
    let mut heading = place.name.to_owned();
    if let Some(first) = heading.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    let _ = write!(page, "\n## {heading}\n\n");
    if let Some(shape) = place.instead {
        let nothing = if shape == Shape::Text { ", or nothing" } else { "" };
        let _ = write!(page, "Short form: {}{nothing} in place of the keys.\n\n", words(shape));
    }
    page.push_str("| key | what stands there | what it is for | |\n|:--|:--|:--|:--|\n");
    for Key { name, shape, needed, about } in place.keys {
        // A stroke would end the table's cell, also between backticks.
        let about = about.replace('|', "\\|");
        let needed = if *needed { "needed" } else { "" };
        let _ = writeln!(page, "| `{name}` | {} | {about} | {needed} |", words(*shape));
    }
    if std::ptr::eq(place, keys::TABLE) {
        page.push_str("\nA table has either `rows` or `csv`.\n");
    }
}

/// What a shape is, in words.
fn words(shape: Shape) -> String {
    match shape {
        Shape::Version => format!("the number {}", keys::VERSION),
        Shape::Currency => "a code of ISO 4217".to_owned(),
        Shape::Text => "a text".to_owned(),
        Shape::Word => "a word".to_owned(),
        Shape::Formula => "a formula".to_owned(),
        Shape::OneOf(words) => {
            words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
        }
        Shape::Number(low, high) => {
            let low = match low {
                Bound::Included(low) => format!(" from {low}"),
                Bound::Excluded(low) => format!(" above {low}"),
                Bound::Unbounded => String::new(),
            };
            let high = match high {
                Bound::Included(high) => format!(" to {high}"),
                Bound::Excluded(high) => format!(" below {high}"),
                Bound::Unbounded => String::new(),
            };
            format!("a number{low}{high}")
        }
        Shape::Whole(most) => format!("a whole number from 1 to {most}"),
        Shape::Range => "two values in brackets".to_owned(),
        Shape::Names(_) => "a list of names".to_owned(),
        Shape::NameOrNames => "a name or a list of names".to_owned(),
        Shape::Values => "names with values".to_owned(),
        Shape::Cases => "names, each with names and values".to_owned(),
        Shape::Columns => "names with units".to_owned(),
        Shape::Rows => "a list of rows".to_owned(),
        Shape::Named(place) => format!("names, each with {}", place.name),
        Shape::List(place) => format!("a list, each item {}", place.name),
        Shape::Keys(place) => format!("the keys of {}", place.name),
        Shape::Drawings => "names, each with a drawing".to_owned(),
    }
}

fn data(wants: Wants) -> &'static str {
    match wants {
        Wants::Places => "a series",
        Wants::Range => "`known = from..to`, and `/points` if wanted",
        Wants::Curves => "names with series or numbers",
        Wants::Amounts(_) => "names with numbers",
        Wants::One(_) => "a number",
        Wants::Series(_) => "a series of numbers",
        Wants::Table(_) => "a table",
        Wants::Cell => "a cell",
    }
}
