//! Why a text is no unit, and the way out.

use std::fmt;
use std::ops::Range;

use crate::money::Currency;

/// Why a text is no unit. Every kind knows its place in the text and says what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnitError {
    /// No unit is spelled like this.
    Unknown {
        /// The word as written.
        word: String,
        /// Known spellings that are near to it, the nearest first.
        nearest: Vec<String>,
        /// Where it stands.
        range: Range<usize>,
    },
    /// Several units are called like this.
    Ambiguous {
        /// The word as written.
        word: String,
        /// The spellings to choose from.
        choices: &'static [&'static str],
        /// Where it stands.
        range: Range<usize>,
    },
    /// A reading from the true zero, or of a vacuum, is combined with other units.
    Combined {
        /// The reading's unit.
        word: String,
        /// The unit of differences that can be combined.
        instead: String,
        /// Where it stands.
        range: Range<usize>,
    },
    /// One unit names two currencies.
    TwoCurrencies {
        /// The first.
        first: Currency,
        /// The second.
        second: Currency,
        /// Where the second stands.
        range: Range<usize>,
    },
    /// The text does not have the form of a unit.
    Malformed {
        /// What is wrong with it.
        what: &'static str,
        /// Where.
        range: Range<usize>,
    },
    /// The word looks like a unit and is none.
    Refused {
        /// The word as written.
        word: String,
        /// Why, and what to write instead.
        why: &'static str,
        /// Where it stands.
        range: Range<usize>,
    },
}

impl UnitError {
    /// The bytes of the text that are to blame.
    #[must_use]
    pub fn range(&self) -> Range<usize> {
        match self {
            Self::Unknown { range, .. }
            | Self::Ambiguous { range, .. }
            | Self::Combined { range, .. }
            | Self::TwoCurrencies { range, .. }
            | Self::Malformed { range, .. }
            | Self::Refused { range, .. } => range.clone(),
        }
    }

    /// The same error in a longer text, in which this one begins `start` bytes later.
    #[must_use]
    pub fn moved(mut self, start: usize) -> Self {
        let (Self::Unknown { range, .. }
        | Self::Ambiguous { range, .. }
        | Self::Combined { range, .. }
        | Self::TwoCurrencies { range, .. }
        | Self::Malformed { range, .. }
        | Self::Refused { range, .. }) = &mut self;
        *range = range.start + start..range.end + start;
        self
    }

    /// The way out.
    #[must_use]
    pub fn help(&self) -> String {
        match self {
            Self::Unknown { nearest, .. } if nearest.is_empty() => {
                "`forebay units` lists the units that are known".to_owned()
            }
            Self::Unknown { nearest, .. } => format!("did you mean {}?", one_of(nearest)),
            Self::Ambiguous { choices, .. } => format!("write {}", one_of(choices)),
            Self::Combined { instead, .. } => {
                format!("a unit that is combined with others counts differences: use {instead}")
            }
            Self::TwoCurrencies { .. } => {
                "keep a sheet in one currency, and make a rate of exchange a plain number"
                    .to_owned()
            }
            Self::Malformed { .. } => {
                "write symbols with / and * and whole powers, such as kg/m^3 or kW*h".to_owned()
            }
            Self::Refused { why, .. } => (*why).to_owned(),
        }
    }
}

impl fmt::Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown { word, .. } => write!(f, "unknown unit `{word}`"),
            Self::Ambiguous { word, .. } => write!(f, "`{word}` is the name of several units"),
            Self::Combined { word, instead, .. } => {
                write!(
                    f,
                    "`{word}` is a reading and cannot be combined with other units: use {instead}"
                )
            }
            Self::TwoCurrencies { first, second, .. } => {
                write!(f, "two currencies in one unit, {first} and {second}")
            }
            Self::Malformed { what, .. } => f.write_str(what),
            Self::Refused { word, .. } => write!(f, "`{word}` is no unit"),
        }
    }
}

impl std::error::Error for UnitError {}

/// The words as a choice: `a, b or c`.
fn one_of<S: AsRef<str>>(words: &[S]) -> String {
    let mut text = String::new();
    for (i, word) in words.iter().enumerate() {
        if i > 0 {
            text += if i + 1 == words.len() { " or " } else { ", " };
        }
        text += word.as_ref();
    }
    text
}
