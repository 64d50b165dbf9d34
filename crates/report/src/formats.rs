//! The table of output formats: one row and one file each.

use forebay_sheet::Sheet;

use crate::{json, text};

/// One way to write a computed sheet.
#[derive(Clone, Copy, Debug)]
pub struct Format {
    /// The word it is asked for with: `--as text`.
    pub name: &'static str,
    /// What it is good for, in one line.
    pub about: &'static str,
    /// Writes the sheet.
    pub write: fn(&Sheet, &Options) -> String,
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
