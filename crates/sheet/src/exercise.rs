//! The exercise of a sheet as it can be used: checked against the sheet's cells, texts become
//! numbers and units.

use forebay_units::Unit;

/// What an instructor makes of a sheet: which knowns vary, what is asked, what is accepted.
///
/// ```
/// use forebay_sheet::Sheet;
///
/// let sheet = Sheet::open(
///     "forebay: 1
/// known:
///   flow: 40 L/s
///   bore: 200 mm
/// work:
///   velocity: flow / circle_area(bore)
/// exercise:
///   vary:
///     flow:
///       between: [20 L/s, 60 L/s]
///       step: 2 L/s
///   ask:
///     velocity: How fast does the water run?
/// ",
/// );
/// let exercise = sheet.exercise().unwrap();
/// assert_eq!(exercise.questions[0].cell, "velocity");
/// assert!(Sheet::open("forebay: 1\n").exercise().is_none());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Exercise {
    /// What it is about.
    pub title: Option<String>,
    /// What the learner reads first, with `{names}` of knowns in it.
    pub text: Option<String>,
    /// A caution for every handout.
    pub caution: Option<String>,
    /// What varies, in the order it is drawn.
    pub varied: Vec<Varied>,
    /// What must be true of every variant.
    pub conditions: Vec<Condition>,
    /// What is asked, in order.
    pub questions: Vec<Question>,
    /// The share of the points that a slip leaves, from 0 to 1.
    pub slip_credit: f64,
    /// The share that a number rounded too far leaves, from 0 to 1.
    pub rounding_credit: f64,
}

/// A known that varies.
#[derive(Clone, Debug, PartialEq)]
pub struct Varied {
    /// The known.
    pub known: String,
    /// How its value is drawn.
    pub draw: Draw,
    /// Whether the learner is not told.
    pub hidden: bool,
}

/// How a value is drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Draw {
    /// A number between two ends, which are numbers in `unit`.
    Range {
        /// The lower end.
        low: f64,
        /// The upper end.
        high: f64,
        /// The unit of both.
        unit: Unit,
        /// How it is rounded.
        rounding: Rounding,
    },
    /// One of these, each written as in a sheet.
    List(Vec<String>),
    /// Readings with an error each.
    Readings {
        /// The formula of what they lie about; the sheet's own series where there is none.
        around: Option<String>,
        /// How many, where that is one value.
        count: usize,
        /// How far a reading may be off.
        noise: Noise,
        /// The unit they are written in.
        unit: Unit,
        /// How they are rounded.
        rounding: Rounding,
    },
}

/// The standard deviation of a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Noise {
    /// A share of the value.
    Relative(f64),
    /// An amount in SI.
    Absolute(f64),
}

/// How a number that is drawn is rounded, in the unit it is written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rounding {
    /// To the lower end and so many steps above it, written with so many decimals. Readings: to a
    /// multiple of the step.
    Step {
        /// The step.
        step: f64,
        /// How many decimals.
        decimals: usize,
    },
    /// To so many significant figures.
    Figures(usize),
}

/// A condition of every variant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Condition {
    /// Its name.
    pub name: String,
    /// The formula.
    pub that: String,
}

/// A question.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The cell that is asked for.
    pub cell: String,
    /// What is asked, with `{names}` of knowns in it.
    pub text: String,
    /// A hint; may hold `{names}` too.
    pub hint: Option<String>,
    /// What a right answer brings.
    pub points: f64,
    /// What kind of answer is wanted.
    pub wanted: Wanted,
}

/// What kind of answer is wanted.
#[derive(Clone, Debug, PartialEq)]
pub enum Wanted {
    /// A number with its unit.
    Number {
        /// The unit asked for; any fitting one where there is none.
        unit: Option<Unit>,
        /// What is accepted.
        accepted: Accepted,
        /// How many significant figures, where that matters.
        figures: Option<usize>,
    },
    /// Yes or no.
    YesNo,
    /// One of these words.
    Choice(Vec<String>),
}

/// Which numbers are accepted.
#[derive(Clone, Debug, PartialEq)]
pub enum Accepted {
    /// Off by at most this share of the right one.
    Share(f64),
    /// Off by at most this amount in SI.
    Amount(f64),
    /// Between two formulas.
    Band(String, String),
}
