//! Reads a worksheet from its YAML text: every text with its place, all faults in one run.
//!
//! Only this file and those under `read/` know YAML. Nothing is computed and no formula is looked
//! into here; a piece that is broken is left out, its name is kept in
//! [`Worksheet::broken`](crate::worksheet::Worksheet::broken), and the sound rest is read.

mod document;
mod draw;
mod entries;
mod exercise;
pub(crate) mod names;
pub(crate) mod syntax;
mod tables;
mod ties;
mod torn;
pub(crate) mod tree;

#[cfg(test)]
mod against_keys;
#[cfg(test)]
mod against_serde;
#[cfg(test)]
mod hostile_texts;
#[cfg(test)]
mod tests;

use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Sources, Span};
use crate::worksheet::Worksheet;

/// What a sheet may read beside itself, confined by the caller to the sheet's folder.
pub trait Loader {
    /// The text of the file of that name, or a short reason why it cannot be had.
    ///
    /// # Errors
    /// The reason, lower case, for instance `no such file`.
    fn load(&self, name: &str) -> Result<String, String>;
}

/// Reads the text that `sources` holds under `source`. Files that the sheet names are asked of
/// `loader` and added to `sources`. The diagnostics come in the order of their places.
pub(crate) fn read(
    sources: &mut Sources,
    source: u16,
    loader: &dyn Loader,
) -> (Worksheet, Vec<Diagnostic>) {
    let start = Span { source, start: 0, end: 0 };
    let text = sources.source(start).map(|source| Arc::clone(&source.text)).unwrap_or_default();
    let mut found = Vec::new();
    let tree = syntax::read(&text, source, &mut found);
    let mut reader = document::Reader::new(sources, loader, text, source, found);
    reader.sheet(tree);
    let (sheet, mut found) = reader.finish();
    found.sort_by_key(|diagnostic| diagnostic.span().map(|span| (span.source, span.start)));
    (sheet, found)
}
