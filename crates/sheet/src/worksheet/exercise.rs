//! The `exercise` block as it is written: what varies from learner to learner and what is asked.

use super::Text;
use crate::diagnostic::Span;

/// What an instructor makes of a sheet.
#[derive(Clone, Debug)]
pub struct Exercise {
    /// Where the word `exercise` stands.
    pub span: Span,
    /// What it is about; the sheet's own title where none is given.
    pub title: Option<String>,
    /// What the learner reads first; `{bore}` stands for the value given.
    pub text: Option<Text>,
    /// A caution that stands on every handout.
    pub caution: Option<String>,
    /// What varies.
    pub vary: Vec<Vary>,
    /// Series that come with an error of reading of their own for each learner.
    pub readings: Vec<Readings>,
    /// What must be true of every variant: name and condition.
    pub conditions: Vec<(Text, Text)>,
    /// What is asked, in this order.
    pub ask: Vec<Ask>,
    /// The share of the points that a slip leaves.
    pub slip_credit: Option<Text>,
    /// The share that a number rounded too far leaves.
    pub rounding_credit: Option<Text>,
}

/// A known that varies.
#[derive(Clone, Debug)]
pub struct Vary {
    /// The known.
    pub known: Text,
    /// The range it is drawn from.
    pub between: Option<(Text, Text)>,
    /// Or the list.
    pub choose: Option<Text>,
    /// How it is rounded.
    pub rounded: Rounded,
    /// Whether the learner is not told.
    pub hidden: bool,
}

/// How a number that is drawn is rounded.
#[derive(Clone, Debug, Default)]
pub struct Rounded {
    /// To a multiple of this above the lower end.
    pub step: Option<Text>,
    /// To so many significant figures.
    pub figures: Option<usize>,
}

/// A known series whose values come with an error of reading.
#[derive(Clone, Debug)]
pub struct Readings {
    /// The known.
    pub known: Text,
    /// The standard deviation of one reading, or a percentage of it.
    pub noise: Text,
    /// What the readings lie about; the sheet's own series where this is not given.
    pub around: Option<Text>,
    /// How many readings, where what they lie about is one value.
    pub count: Option<usize>,
    /// How they are rounded.
    pub rounded: Rounded,
}

/// A cell that is asked for.
#[derive(Clone, Debug)]
pub struct Ask {
    /// The cell.
    pub cell: Text,
    /// The question.
    pub text: Option<Text>,
    /// A hint.
    pub hint: Option<Text>,
    /// The unit asked for; any fitting one where this is not given.
    pub unit: Option<Text>,
    /// How far an answer may be off: a percentage, or an amount.
    pub tolerance: Option<Text>,
    /// Or the ends of the band that is accepted.
    pub between: Option<(Text, Text)>,
    /// How many significant figures are wanted.
    pub figures: Option<usize>,
    /// The words to choose from.
    pub choose: Option<Text>,
    /// What a right answer brings.
    pub points: Option<f64>,
}
