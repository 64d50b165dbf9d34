//! The pages that are written from the library's own tables. They are kept among the sources, so
//! that a change shows in the history, and compared whenever the book is checked.

mod checks;
mod commands;
mod errors;
mod formulas;
mod language;
mod templates;
mod units;

use std::path::Path;

/// A page of the reference.
#[derive(Clone, Debug)]
pub(crate) struct Page {
    /// Its place among the book's sources.
    pub(crate) file: String,
    pub(crate) title: String,
    pub(crate) text: String,
}

/// The sentence that every page begins with, so that nobody mends it by hand.
const WRITTEN: &str =
    "<!-- Written by `cargo run -p forebay-book -- --update`; do not edit. -->\n\n";

/// All pages that are written from tables, in the order of the book.
pub(crate) fn pages(root: &Path) -> Result<Vec<Page>, String> {
    let mut pages = vec![templates::page()];
    pages.extend(formulas::pages());
    pages.push(units::page());
    pages.push(language::page());
    pages.push(errors::page(root)?);
    pages.push(commands::page());
    pages.push(checks::page(root)?);
    Ok(pages)
}

/// The pages of the formulas, one a subject.
pub(crate) fn formula_pages() -> Vec<Page> {
    formulas::pages().split_off(1)
}

fn page(file: &str, title: &str, text: &str) -> Page {
    Page {
        file: format!("reference/{file}.md"),
        title: title.to_owned(),
        text: format!("{WRITTEN}# {title}\n\n{}\n", text.trim_end()),
    }
}
