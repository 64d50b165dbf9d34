//! Checks the links of the sources against the pages that were built, and that no page loads
//! anything from elsewhere.

use std::collections::{HashMap, HashSet};
use std::fs;
use std::path::{Component, Path, PathBuf};

use pulldown_cmark::{Event, Parser, Tag};

use crate::fault::{Fault, line_at};

/// The dead links of a chapter, of which `text` is the source and `out` the built book.
pub(crate) fn dead(name: &str, text: &str, out: &Path, pages: &mut Pages) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (event, range) in Parser::new(text).into_offset_iter() {
        let (Event::Start(Tag::Link { dest_url, .. }) | Event::Start(Tag::Image { dest_url, .. })) =
            event
        else {
            continue;
        };
        if let Err(why) = pages.holds(name, &dest_url, out) {
            faults.push(Fault::new(name, line_at(text, range.start), why));
        }
    }
    faults
}

/// The anchors of the pages that were looked at.
#[derive(Debug, Default)]
pub(crate) struct Pages {
    anchors: HashMap<PathBuf, Option<HashSet<String>>>,
}

impl Pages {
    /// Whether a link leads somewhere.
    fn holds(&mut self, from: &str, link: &str, out: &Path) -> Result<(), String> {
        if link.starts_with("https://") || link.starts_with("mailto:") {
            // A place outside is only followed by the reader.
            return Ok(());
        }
        let (file, anchor) = link.split_once('#').unwrap_or((link, ""));
        let target = if file.is_empty() {
            PathBuf::from(from)
        } else {
            beside(from, file).ok_or_else(|| format!("the link `{link}` leads out of the book"))?
        };
        let page = out.join(target.with_extension("html"));
        let anchors = self
            .anchors
            .entry(page.clone())
            .or_insert_with(|| fs::read_to_string(&page).ok().map(|html| ids(&html)));
        match anchors {
            None => Err(format!("the link `{link}` leads to no page")),
            Some(anchors) if !anchor.is_empty() && !anchors.contains(anchor) => {
                Err(format!("the link `{link}` leads to no heading"))
            }
            Some(_) => Ok(()),
        }
    }
}

/// A path of a link as a path from the book's root; nothing where it leads out.
fn beside(from: &str, file: &str) -> Option<PathBuf> {
    let mut path = Path::new(from).parent()?.to_owned();
    for part in Path::new(file).components() {
        match part {
            Component::Normal(part) => path.push(part),
            Component::ParentDir => {
                if !path.pop() {
                    return None;
                }
            }
            Component::CurDir => {}
            _ => return None,
        }
    }
    Some(path)
}

fn ids(html: &str) -> HashSet<String> {
    html.split(" id=\"")
        .skip(1)
        .filter_map(|rest| Some(rest.split_once('"')?.0.to_owned()))
        .collect()
}

/// What the built pages would load from elsewhere while they are read.
pub(crate) fn loaded_from_elsewhere(out: &Path) -> Result<Vec<String>, String> {
    let mut found = Vec::new();
    let mut folders = vec![out.to_owned()];
    while let Some(folder) = folders.pop() {
        let told = |why: std::io::Error| format!("{}: {why}", folder.display());
        for entry in fs::read_dir(&folder).map_err(told)? {
            let path = entry.map_err(told)?.path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let end = path.extension().and_then(|end| end.to_str()).unwrap_or_default();
            if !matches!(end, "html" | "css") {
                continue;
            }
            let text = fs::read_to_string(&path).map_err(told)?;
            let shown = path.strip_prefix(out).unwrap_or(&path).display();
            found.extend(outside(&text).into_iter().map(|what| format!("{shown} loads {what}")));
        }
    }
    found.sort();
    Ok(found)
}

/// The outside addresses that a page or a style loads; a link that the reader follows is none.
fn outside(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (at, _) in text.match_indices("://") {
        let start = text[..at].rfind(['"', '\'', '(', ' ', '<', '>']).map_or(0, |at| at + 1);
        let before = text[..start].trim_end_matches(['"', '\'']);
        let tag = before.rfind('<').map_or("", |at| &before[at..]);
        let loads = before.ends_with("src=")
            || before.ends_with("url(")
            || before.ends_with("@import ")
            || (before.ends_with("href=") && tag.starts_with("<link"));
        if loads {
            let address: String = text[start..]
                .chars()
                .take_while(|c| !matches!(c, '"' | '\'' | ')' | ' '))
                .collect();
            found.push(address);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_loaded_is_told_from_what_is_linked() {
        assert!(outside("<a href=\"https://example.org/a\">x</a> https://b").is_empty());
        assert_eq!(
            outside("<script src=\"https://example.org/a.js\">"),
            ["https://example.org/a.js"]
        );
        assert_eq!(outside("<link rel=\"x\" href=\"http://example.org/b\">").len(), 1);
        assert_eq!(outside("a { background: url(https://example.org/c.png) }").len(), 1);
    }

    #[test]
    fn links_are_followed_from_their_page() {
        assert_eq!(beside("a/b.md", "../c.md"), Some(PathBuf::from("c.md")));
        assert_eq!(beside("a/b.md", "c/d.md"), Some(PathBuf::from("a/c/d.md")));
        assert_eq!(beside("b.md", "../c.md"), None);
    }

    #[test]
    fn dead_links_are_told_with_their_line() {
        let out = tempfile::tempdir().unwrap();
        fs::write(out.path().join("a.html"), "<h2 id=\"here\">").unwrap();
        let text = "# A\n\n[x](a.md#here)\n[y](a.md#there)\n[z](b.md)\n";
        let faults = dead("a.md", text, out.path(), &mut Pages::default());
        let lines: Vec<usize> = faults.iter().map(|fault| fault.line).collect();
        assert_eq!(lines, [4, 5]);
    }
}
