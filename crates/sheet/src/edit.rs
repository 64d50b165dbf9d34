//! Changes one value in the text of a sheet and leaves every other byte as it is.
//!
//! Comments, layout, quotes and line ends stay. Every text that is made is read again: each other
//! value must be the same as before, or else the change is refused.
//!
//! ```
//! use forebay_sheet::edit::{Place, with_value};
//!
//! let text = "forebay: 1\nknown:\n  bore: 188 mm   # read off the pipe\n";
//! let changed = with_value(text, Place::Known("bore"), "7.5 in")?;
//! assert_eq!(changed, "forebay: 1\nknown:\n  bore: 7.5 in   # read off the pipe\n");
//!
//! let refused = with_value(text, Place::Known("boer"), "7.5 in").unwrap_err();
//! assert_eq!(refused.message, "the file has no known `boer`");
//! # Ok::<(), forebay_sheet::edit::Refused>(())
//! ```

mod case;
#[cfg(test)]
mod tests;

use std::fmt;
use std::ops::Range;

use crate::read::syntax;
use crate::read::tree::{Entry, Kind, Node, Style};

pub use case::with_case;

/// Where a value stands in a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place<'a> {
    /// A known, at the top or in a part.
    Known(&'a str),
    /// What a case says of a known.
    InCase {
        /// The case.
        case: &'a str,
        /// The known.
        known: &'a str,
    },
}

/// Why a text was left as it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// What stands in the way, in lower case.
    pub message: String,
    /// The way out.
    pub help: String,
}

/// The text with one value changed.
///
/// # Errors
/// As [`with_values`].
pub fn with_value(text: &str, place: Place<'_>, value: &str) -> Result<String, Refused> {
    with_values(text, &[(place, value)])
}

/// The text with several values changed; the values are written as in a sheet, `250 mm`.
///
/// Whether a value suits its known is not looked at: [`Sheet::set`](crate::Sheet::set) says that.
///
/// # Errors
/// There is no such place, its value is written in a way that cannot be changed in place, the new
/// value cannot stand on one line, or another value would come out differently.
pub fn with_values(text: &str, changes: &[(Place<'_>, &str)]) -> Result<String, Refused> {
    let root = tree(text);
    let mut pieces: Vec<(Range<usize>, String)> = Vec::with_capacity(changes.len());
    for (place, value) in changes {
        let found = find(text, root.as_ref(), *place).ok_or_else(|| nowhere(*place))?;
        let value = one_line(value)?;
        pieces.push(replacement(text, &found, value).ok_or_else(|| cannot_hold(*place, value))?);
    }
    pieces.sort_by_key(|(range, _)| range.start);
    if pieces.windows(2).any(|two| two[0].0.end > two[1].0.start) {
        return Err(Refused::new("the same value is changed twice", "change it once"));
    }
    let mut out = text.to_owned();
    for (range, new) in pieces.into_iter().rev() {
        out.replace_range(range, &new);
    }
    verify(text, root.as_ref(), &out, changes)?;
    Ok(out)
}

/// A value that was found in the tree.
struct Found<'n> {
    node: &'n Node,
    /// Whether it stands in braces, where a comma ends it.
    in_braces: bool,
    /// Its path in the tree.
    path: String,
}

/// The tree of a text, without what is broken.
fn tree(text: &str) -> Option<Node> {
    syntax::read(text, 0, &mut Vec::new()).root
}

fn find<'n>(text: &str, root: Option<&'n Node>, place: Place<'_>) -> Option<Found<'n>> {
    let top = entries(root?)?;
    match place {
        Place::Known(name) => top.iter().find_map(|section| match section.key.text.as_str() {
            "known" => in_section(text, section, name, "known"),
            "parts" => in_parts(text, section, name),
            _ => None,
        }),
        Place::InCase { case, known } => {
            let cases = top.iter().find(|entry| entry.key.text == "cases")?;
            let case = entries(&cases.value)?.iter().find(|entry| entry.key.text == case)?;
            let of = joined("cases", &case.key.text);
            let mut found = in_section(text, case, known, &of)?;
            found.in_braces |= is_braced(text, &cases.value);
            Some(found)
        }
    }
}

fn in_parts<'n>(text: &str, parts: &'n Entry, name: &str) -> Option<Found<'n>> {
    let Kind::Sequence { items, .. } = &parts.value.kind else { return None };
    items.iter().enumerate().find_map(|(at, part)| {
        let section = entries(part)?.iter().find(|entry| entry.key.text == "known")?;
        let of = joined(&joined("parts", &at.to_string()), "known");
        let mut found = in_section(text, section, name, &of)?;
        found.in_braces |= is_braced(text, part) || is_braced(text, &parts.value);
        Some(found)
    })
}

/// The value of a name in a set of names; behind `is` where the name has keys.
fn in_section<'n>(text: &str, section: &'n Entry, name: &str, of: &str) -> Option<Found<'n>> {
    let entry = entries(&section.value)?.iter().find(|entry| entry.key.text == name)?;
    let path = joined(of, name);
    let in_braces = is_braced(text, &section.value);
    let Some(keys) = entries(&entry.value) else {
        return Some(Found { node: &entry.value, in_braces, path });
    };
    let is = keys.iter().find(|key| key.key.text == "is")?;
    let in_braces = in_braces || is_braced(text, &entry.value);
    Some(Found { node: &is.value, in_braces, path: joined(&path, "is") })
}

fn entries(node: &Node) -> Option<&[Entry]> {
    match &node.kind {
        Kind::Mapping { entries, .. } => Some(entries),
        _ => None,
    }
}

fn is_braced(text: &str, node: &Node) -> bool {
    matches!(text.as_bytes().get(node.span.start as usize), Some(b'{' | b'['))
}

/// Which bytes are to be replaced and by what; `None` where the value cannot be written there.
fn replacement(text: &str, found: &Found<'_>, value: &str) -> Option<(Range<usize>, String)> {
    let node = found.node;
    let range = node.span.start as usize..node.span.end as usize;
    match &node.kind {
        _ if node.is_absent() => None,
        Kind::Scalar { style: Style::Plain, .. } | Kind::Sequence { flow: true, .. } => {
            Some((range, written(value, found.in_braces)?))
        }
        Kind::Scalar { style: Style::Literal, .. } => Some((range, value.to_owned())),
        Kind::Scalar { style: Style::Quoted, .. } => {
            let quote = text.get(..range.start)?.chars().next_back()?;
            if fits_quotes(value, quote) {
                return Some((range, value.to_owned()));
            }
            let quotes = range.start.checked_sub(1)?..range.end + 1;
            Some((quotes, quoted(value)?))
        }
        _ => None,
    }
}

/// A value as YAML takes it: as it is, a list in brackets, or in quotes.
fn written(value: &str, in_braces: bool) -> Option<String> {
    let list = value.starts_with('[') && value.ends_with(']');
    if list || is_plain(value, in_braces) {
        return Some(value.to_owned());
    }
    quoted(value)
}

fn quoted(value: &str) -> Option<String> {
    ['"', '\'']
        .into_iter()
        .find(|quote| fits_quotes(value, *quote))
        .map(|quote| format!("{quote}{value}{quote}"))
}

/// Whether it can stand in these quotes without an escape, since a formula may hold none.
fn fits_quotes(value: &str, quote: char) -> bool {
    !(value.contains(quote) || quote == '"' && value.contains('\\'))
}

/// Whether YAML reads it as this very text without quotes (YAML 1.2, 7.3.3).
fn is_plain(value: &str, in_braces: bool) -> bool {
    let mut letters = value.chars();
    let Some(first) = letters.next() else { return false };
    let begins = match first {
        '-' => letters.next().is_some_and(|second| !second.is_whitespace() && second != '-'),
        _ => !"?:,[]{}#&*!|>'\"%@`~.=<".contains(first) || value.starts_with("0."),
    };
    let ends = value.ends_with(':') || value.contains(": ") || value.contains(" #");
    let ends_in_braces = in_braces && value.contains([',', '[', ']', '{', '}', ':']);
    begins && value != "null" && !ends && !ends_in_braces
}

/// A value without the blanks around it.
fn one_line(value: &str) -> Result<&str, Refused> {
    let value = value.trim();
    if value.is_empty() {
        return Err(Refused::new("a value is missing", "write one, such as `14 m`"));
    }
    if value
        .chars()
        .any(|letter| letter.is_control() || "\u{85}\u{2028}\u{2029}\u{feff}".contains(letter))
    {
        return Err(Refused::new(
            "a value stands on one line, without tabs",
            "change a longer one in the file itself",
        ));
    }
    Ok(value)
}

/// Whether the new text reads as the old one does, but for the values that were to be changed.
fn verify(
    old_text: &str,
    old: Option<&Node>,
    new_text: &str,
    changes: &[(Place<'_>, &str)],
) -> Result<(), Refused> {
    let new = tree(new_text);
    let mut paths = Vec::with_capacity(changes.len());
    for (place, value) in changes {
        let before = find(old_text, old, *place).map(|found| found.path);
        let after = find(new_text, new.as_ref(), *place);
        let same = after.as_ref().is_some_and(|found| {
            let span = found.node.span;
            before.as_ref() == Some(&found.path)
                && new_text.get(span.start as usize..span.end as usize) == Some(value.trim())
        });
        let Some(found) = after.filter(|_| same) else { return Err(cannot_hold(*place, value)) };
        paths.push(found.path);
    }
    if leaves_but(old, &paths) != leaves_but(new.as_ref(), &paths) {
        return Err(Refused::new(
            "another value of the file would change with it",
            "change this one in the file itself",
        ));
    }
    Ok(())
}

/// Every key and value of a tree with its path, in order, without those under some paths.
fn leaves_but(root: Option<&Node>, but: &[String]) -> Vec<(String, String)> {
    let mut out = Vec::new();
    if let Some(root) = root {
        leaves(root, "", but, &mut out);
    }
    out
}

fn leaves(node: &Node, path: &str, but: &[String], out: &mut Vec<(String, String)>) {
    if but.iter().any(|other| other == path) {
        return;
    }
    match &node.kind {
        Kind::Scalar { text, .. } => out.push((path.to_owned(), text.clone())),
        Kind::Sequence { items, .. } => {
            for (at, item) in items.iter().enumerate() {
                leaves(item, &joined(path, &at.to_string()), but, out);
            }
        }
        Kind::Mapping { entries, doubled, .. } => {
            for entry in entries.iter().chain(doubled) {
                leaves(&entry.value, &joined(path, &entry.key.text), but, out);
            }
        }
        Kind::Broken => out.push((path.to_owned(), String::new())),
    }
}

/// A path one step longer; the sign between the steps is no letter of a name.
fn joined(path: &str, step: &str) -> String {
    if path.is_empty() { step.to_owned() } else { format!("{path}\u{1f}{step}") }
}

fn nowhere(place: Place<'_>) -> Refused {
    match place {
        Place::Known(name) => Refused::new(
            format!("the file has no known `{name}`"),
            "it may have been renamed or taken out meanwhile",
        ),
        Place::InCase { case, known } => Refused::new(
            format!("the file has no case `{case}` that sets `{known}`"),
            "it may have been renamed or taken out meanwhile",
        ),
    }
}

fn cannot_hold(place: Place<'_>, value: &str) -> Refused {
    let (Place::Known(name) | Place::InCase { known: name, .. }) = place;
    Refused::new(
        format!("`{value}` cannot be written in the place of `{name}` as the file is laid out"),
        "change it in the file itself",
    )
}

impl Refused {
    fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { message: message.into(), help: help.into() }
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message, self.help)
    }
}

impl std::error::Error for Refused {}
