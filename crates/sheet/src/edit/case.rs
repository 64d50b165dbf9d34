//! Adds a case to the text of a sheet, behind those that are there.

use super::{Refused, entries, is_braced, joined, leaves_but, one_line, tree, written};
use crate::read::names::refuse_name;
use crate::read::tree::{Entry, Node};

/// The text with one more case, which sets these knowns.
///
/// ```
/// use forebay_sheet::edit::with_case;
///
/// let text = "forebay: 1\nknown:\n  bore: 188 mm\n";
/// let changed = with_case(text, "wide", &[("bore", "237.6 mm")])?;
/// assert!(changed.ends_with("\ncases:\n  wide:\n    bore: 237.6 mm\n"));
/// assert!(with_case(&changed, "wide", &[("bore", "1 m")]).is_err());
/// # Ok::<(), forebay_sheet::edit::Refused>(())
/// ```
///
/// # Errors
/// The name is no name or is taken, nothing is set, a value cannot stand on one line, or the file
/// is laid out so that a case cannot be added without changing anything else.
pub fn with_case(text: &str, name: &str, set: &[(&str, &str)]) -> Result<String, Refused> {
    if let Some((message, help)) = refuse_name(name) {
        return Err(Refused::new(message, help));
    }
    if set.is_empty() {
        return Err(Refused::new("the case would set nothing", "change a value first"));
    }
    let root = tree(text);
    let top = root.as_ref().and_then(entries).ok_or_else(no_room)?;
    let cases = top.iter().find(|entry| entry.key.text == "cases");
    let there = cases.and_then(|cases| entries(&cases.value)).unwrap_or_default();
    if there.iter().any(|case| case.key.text == name) {
        return Err(Refused::new(
            format!("there is a case `{name}` already"),
            "choose another name",
        ));
    }
    let mut values = Vec::with_capacity(set.len());
    for (known, value) in set {
        values.push((*known, one_line(value)?));
    }
    let out = added(text, top, cases, name, &values).ok_or_else(no_room)?;
    verify(root.as_ref(), &out, name, &values)?;
    Ok(out)
}

fn added(
    text: &str,
    top: &[Entry],
    cases: Option<&Entry>,
    name: &str,
    set: &[(&str, &str)],
) -> Option<String> {
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let Some(cases) = cases else {
        let indent = column(text, top.first()?.key.span.start as usize);
        let lines =
            format!("{indent}cases:{end}{}", block(name, set, &format!("{indent}  "), end)?);
        let line_end = if text.ends_with('\n') { "" } else { end };
        return Some(format!("{text}{line_end}{end}{lines}"));
    };
    if is_braced(text, &cases.value) {
        let at = (cases.value.span.end as usize).checked_sub(1)?;
        let before = text.get(..at)?.trim_end();
        let comma = if before.ends_with(['{', ',']) { " " } else { ", " };
        let mut inside = Vec::with_capacity(set.len());
        for (known, value) in set {
            inside.push(format!("{known}: {}", written(value, true)?));
        }
        let piece = format!("{comma}{name}: {{ {} }} ", inside.join(", "));
        // Behind a comment the brace stands on a line of its own, and so does the new case.
        let commented = before.rsplit('\n').next().is_some_and(|line| line.contains(" #"));
        let at = if commented { at } else { before.len() };
        return Some(format!(
            "{}{piece}{}",
            text.get(..at)?,
            text.get(at..)?.trim_start_matches(' ')
        ));
    }
    let (last, indent) =
        match entries(&cases.value).and_then(|there| Some((there.first()?, there.last()?))) {
            Some((first, last)) => (
                last.value.span.end.max(last.key.span.end) as usize,
                column(text, first.key.span.start as usize),
            ),
            None if cases.value.is_absent() => {
                let key = cases.key.span;
                (key.end as usize, column(text, key.start as usize) + "  ")
            }
            None => return None,
        };
    let lines = block(name, set, &indent, end)?;
    Some(match text.get(last..)?.find('\n') {
        Some(line) => {
            let at = last + line + 1;
            format!("{}{lines}{}", &text[..at], &text[at..])
        }
        None => format!("{text}{end}{lines}"),
    })
}

/// The case, a line for each value.
fn block(name: &str, set: &[(&str, &str)], indent: &str, end: &str) -> Option<String> {
    let mut out = format!("{indent}{name}:{end}");
    for (known, value) in set {
        out.push_str(&format!("{indent}  {known}: {}{end}", written(value, false)?));
    }
    Some(out)
}

/// The blanks before a key.
fn column(text: &str, at: usize) -> String {
    let line = text[..at].rfind('\n').map_or(0, |end| end + 1);
    text[line..at].chars().map(|letter| if letter == '\u{feff}' { "" } else { " " }).collect()
}

fn verify(
    old: Option<&Node>,
    new_text: &str,
    name: &str,
    set: &[(&str, &str)],
) -> Result<(), Refused> {
    let new = tree(new_text);
    let path = joined("cases", name);
    let cases = new
        .as_ref()
        .and_then(entries)
        .and_then(|top| entries(&top.iter().find(|entry| entry.key.text == "cases")?.value));
    let case = cases.and_then(|all| entries(&all.iter().find(|c| c.key.text == name)?.value));
    let same = case.is_some_and(|case| {
        case.len() == set.len()
            && case.iter().zip(set).all(|(entry, (known, value))| {
                let span = entry.value.span;
                entry.key.text == *known
                    && new_text.get(span.start as usize..span.end as usize) == Some(*value)
            })
    });
    // An empty `cases:` is a leaf of the tree as long as nothing stands behind it.
    let mut before = leaves_but(old, &[]);
    before.retain(|(path, text)| path != "cases" || !text.is_empty());
    if !same || before != leaves_but(new.as_ref(), &[path]) {
        return Err(no_room());
    }
    Ok(())
}

fn no_room() -> Refused {
    Refused::new(
        "a case cannot be added as the file is laid out",
        "write it under `cases:` in the file itself",
    )
}
