//! The table of output formats: one row and one file each.

use forebay_sheet::Sheet;

use crate::{csv, html, json, markdown, text};

/// One way to write a computed sheet.
#[derive(Clone, Copy, Debug)]
pub struct Format {
    /// The word it is asked for with: `--as text`.
    pub name: &'static str,
    /// What it is good for, in one line.
    pub about: &'static str,
    /// Writes the sheet; what it varies on the way, as for a curve over a known, is as it was then.
    pub write: fn(&mut Sheet, &Options) -> String,
}

/// How a text is laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// How many columns a line may take; a name that is longer is not broken.
    pub width: usize,
    /// Whether the terminal shows colours. Colour never says what words do not say.
    pub colour: bool,
}

/// Every output format.
pub static FORMATS: &[Format] = &[
    Format { name: "text", about: "for reading, at the width of the terminal", write: text::write },
    Format { name: "json", about: "for other programs, with a schema number", write: json::write },
    Format { name: "csv", about: "for spreadsheets, a row for each cell", write: csv::write },
    Format {
        name: "markdown",
        about: "the report as text with headings and tables",
        write: markdown::write,
    },
    Format {
        name: "html",
        about: "the report as one page, with drawings, for the browser and for print",
        write: html::write,
    },
];

/// The format of this name.
#[must_use]
pub fn format(name: &str) -> Option<&'static Format> {
    FORMATS.iter().find(|format| format.name == name)
}

impl Default for Options {
    /// 80 columns, no colour.
    fn default() -> Self {
        Self { width: 80, colour: false }
    }
}
