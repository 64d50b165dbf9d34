//! The Markdown sources of the book: reading and writing them, and which of them are written from
//! tables.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::fault::Fault;
use crate::reference::{Page, formula_pages};

const SUMMARY: &str = "SUMMARY.md";
/// The line of the table of contents under which the formulas' pages are listed.
const LIST_OF_FORMULAS: &str = "(reference/formulas.md)";

/// The folder of the sources.
#[derive(Clone, Debug)]
pub(crate) struct Sources {
    folder: PathBuf,
}

/// Whether a page is written from tables.
pub(crate) fn is_reference(name: &str) -> bool {
    name.starts_with("reference/")
}

impl Sources {
    pub(crate) fn of(root: &Path) -> Self {
        Self { folder: root.join("book/src") }
    }

    /// The chapters that are written by hand, with their texts, in a fixed order.
    pub(crate) fn chapters(&self) -> Result<Vec<(String, String)>, String> {
        let mut all = self.all()?;
        all.retain(|(name, _)| !is_reference(name));
        Ok(all)
    }

    /// All Markdown files with their texts, in a fixed order.
    pub(crate) fn all(&self) -> Result<Vec<(String, String)>, String> {
        let mut found = Vec::new();
        for name in self.names("")? {
            let text = self.read(&name)?;
            found.push((name, text));
        }
        Ok(found)
    }

    pub(crate) fn write(&self, name: &str, text: &str) -> Result<(), String> {
        let path = self.folder.join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(|why| format!("{}: {why}", folder.display()))?;
        }
        fs::write(&path, text).map_err(|why| format!("{}: {why}", path.display()))
    }

    /// Writes the pages that come from tables, and removes those that no table gives any more.
    pub(crate) fn write_reference(&self, pages: &[Page]) -> Result<(), String> {
        for page in pages {
            self.write(&page.file, &page.text)?;
        }
        for name in self.orphans(pages)? {
            fs::remove_file(self.folder.join(&name)).map_err(|why| format!("{name}: {why}"))?;
        }
        let summary = self.read(SUMMARY)?;
        self.write(SUMMARY, &with_formulas(&summary))
    }

    /// The pages from tables that are not what the tables say.
    pub(crate) fn stale_reference(&self, pages: &[Page]) -> Result<Vec<Fault>, String> {
        let mut faults = Vec::new();
        for page in pages {
            let stored = self.read(&page.file).unwrap_or_default();
            if stored != page.text {
                let same = stored.lines().zip(page.text.lines()).take_while(|(a, b)| a == b);
                let message = format!("the page \"{}\" is stale", page.title);
                faults.push(Fault::new(&page.file, same.count() + 1, message));
            }
        }
        for name in self.orphans(pages)? {
            faults.push(Fault::new(&name, 1, "no table gives this page any more"));
        }
        let summary = self.read(SUMMARY)?;
        if with_formulas(&summary) != summary {
            faults.push(Fault::new(SUMMARY, 1, "the list of the formulas' pages is stale"));
        }
        for page in pages {
            if !summary.contains(&format!("({})", page.file)) {
                let message = format!("the page {} is not in the table of contents", page.file);
                faults.push(Fault::new(SUMMARY, 1, message));
            }
        }
        for (name, _) in self.chapters()? {
            if name != SUMMARY && !summary.contains(&format!("({name})")) {
                faults.push(Fault::new(&name, 1, "this chapter is not in the table of contents"));
            }
        }
        Ok(faults)
    }

    fn orphans(&self, pages: &[Page]) -> Result<Vec<String>, String> {
        let known: BTreeSet<&str> = pages.iter().map(|page| page.file.as_str()).collect();
        let names = self.names("")?;
        let orphan = |name: &String| is_reference(name) && !known.contains(name.as_str());
        Ok(names.into_iter().filter(orphan).collect())
    }

    fn read(&self, name: &str) -> Result<String, String> {
        fs::read_to_string(self.folder.join(name)).map_err(|why| format!("{name}: {why}"))
    }

    /// The names of the Markdown files under a folder, sorted.
    fn names(&self, under: &str) -> Result<Vec<String>, String> {
        let folder = self.folder.join(under);
        let told = |why: std::io::Error| format!("{}: {why}", folder.display());
        let mut names = Vec::new();
        for entry in fs::read_dir(&folder).map_err(told)? {
            let entry = entry.map_err(told)?;
            let file = entry.file_name().to_string_lossy().into_owned();
            let name = if under.is_empty() { file } else { format!("{under}/{file}") };
            if entry.path().is_dir() {
                names.extend(self.names(&name)?);
            } else if name.ends_with(".md") {
                names.push(name);
            }
        }
        names.sort();
        Ok(names)
    }
}

/// The table of contents with the formulas' pages as they are now, under their list.
fn with_formulas(summary: &str) -> String {
    let mut out = String::with_capacity(summary.len());
    for line in summary.lines().filter(|line| !line.contains("(reference/formulas/")) {
        out.push_str(line);
        out.push('\n');
        if line.contains(LIST_OF_FORMULAS) {
            for page in formula_pages() {
                out.push_str(&format!("  - [{}]({})\n", page.title, page.file));
            }
        }
    }
    out
}
