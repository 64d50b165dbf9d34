//! What is wrong in the book, with file and line.

use std::fmt;

/// One thing that is wrong, at its place.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Fault {
    /// The file, relative to the book's sources.
    pub(crate) file: String,
    /// From 1.
    pub(crate) line: usize,
    pub(crate) message: String,
}

impl Fault {
    pub(crate) fn new(file: &str, line: usize, message: impl Into<String>) -> Self {
        Self { file: file.to_owned(), line, message: message.into() }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "book/src/{}:{}: {}", self.file, self.line, self.message)
    }
}

/// The line on which a byte lies, from 1.
pub(crate) fn line_at(text: &str, byte: usize) -> usize {
    text.as_bytes()[..byte.min(text.len())].iter().filter(|byte| **byte == b'\n').count() + 1
}
