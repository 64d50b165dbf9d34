//! The worksheet as it is written: texts with their places, before any formula is looked into.

mod exercise;

pub use exercise::{Ask, Exercise, Readings, Rounded, Vary};

use forebay_units::{Currency, System};

use crate::diagnostic::Span;
use crate::drawing::{DrawingKey, DrawingKind};

/// A worksheet as read. Broken pieces are left out of it and named in the diagnostics.
#[derive(Clone, Debug, Default)]
pub struct Worksheet {
    /// What it is about.
    pub title: Option<String>,
    /// Which units results are shown in.
    pub units: System,
    /// The one currency of the sheet.
    pub currency: Option<Currency>,
    /// Names of the headline results.
    pub show: Vec<Text>,
    /// What is known, in the order written.
    pub known: Vec<Known>,
    /// What is worked out.
    pub work: Vec<Work>,
    /// What must hold.
    pub check: Vec<Check>,
    /// Tables.
    pub tables: Vec<Table>,
    /// The user's own functions; several where parts of a sheet bring theirs.
    pub functions: Vec<Text>,
    /// Other worksheets used as components.
    pub uses: Vec<Use>,
    /// Named sets of changed knowns.
    pub cases: Vec<Case>,
    /// Knowns whose uncertainties have a cause in common.
    pub tied: Vec<Tie>,
    /// The chapters of a long sheet, in order; empty in a sheet without `parts`.
    pub parts: Vec<Part>,
    /// What is to be drawn.
    pub draw: Vec<Draw>,
    /// What an instructor makes of it.
    pub exercise: Option<Exercise>,
    /// Names of entries that were left out because they are broken and a diagnostic says so:
    /// what uses them waits for them and must not call them unknown. None is also in use.
    pub broken: Vec<Text>,
}

/// A piece of the sheet's text. A formula is compiled from the piece of the source under `span`,
/// so that every place in it is a place in the user's file.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Where it stands, without YAML's quotes.
    pub span: Span,
    /// The text as YAML reads it.
    pub text: String,
}

/// A chapter of the sheet.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its heading.
    pub title: String,
    /// What it is about.
    pub about: Option<String>,
}

/// A value that the user gives.
#[derive(Clone, Debug)]
pub struct Known {
    /// Its name.
    pub name: Text,
    /// The value: a quantity, money, a truth, a text, a date or a list.
    pub is: Text,
    /// How uncertain it is.
    pub plus_minus: Option<Text>,
    /// How the uncertainty is meant.
    pub distribution: Distribution,
    /// By how many degrees of freedom the uncertainty itself is known; without end where none are
    /// given.
    pub degrees_of_freedom: Option<f64>,
    /// Where it comes from.
    pub from: Option<Origin>,
    /// A word about it.
    pub about: Option<String>,
    /// The range within which it makes sense.
    pub between: Option<(Text, Text)>,
    /// The values it may take: a list, or a table's column.
    pub choose: Option<Text>,
    /// The unit to show it in.
    pub unit: Option<Text>,
    /// Which part it stands in.
    pub part: Option<usize>,
}

/// How `plus_minus` is meant.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Distribution {
    /// A standard uncertainty (one standard deviation of a normal distribution).
    #[default]
    Normal,
    /// The half-width of a rectangular distribution.
    Rectangular,
    /// The half-width of a triangular distribution.
    Triangular,
}

/// Where a known comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Measured on the spot.
    Measured,
    /// Assumed for want of better.
    Assumed,
    /// From a maker's or dealer's paper.
    Quoted,
    /// From a standard or a handbook.
    Standard,
}

/// A cell that is worked out.
#[derive(Clone, Debug)]
pub struct Work {
    /// Its name.
    pub name: Text,
    /// The formula.
    pub is: Text,
    /// The unit to show it in.
    pub unit: Option<Text>,
    /// A word about it.
    pub about: Option<String>,
    /// Which part it stands in.
    pub part: Option<usize>,
}

/// A condition that must hold.
#[derive(Clone, Debug)]
pub struct Check {
    /// Its name.
    pub name: Text,
    /// The condition.
    pub that: Text,
    /// What to say and do where it fails.
    pub otherwise: Option<String>,
    /// A caution that is shown whether it holds or not.
    pub caution: Option<String>,
    /// How grave a failure is.
    pub level: Level,
    /// A word about it.
    pub about: Option<String>,
    /// Which part it stands in.
    pub part: Option<usize>,
}

/// How grave it is when a check fails.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Worth knowing.
    Note,
    /// Something to take care of.
    #[default]
    Care,
    /// Do not go on.
    Stop,
}

/// A table: columns with their units, rows below.
#[derive(Clone, Debug)]
pub struct Table {
    /// Its name.
    pub name: Text,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows; `None` is a gap. Each is as long as there are columns, unless the table is broken.
    pub rows: Vec<Vec<Option<Text>>>,
    /// Whether a row has been complained about, so that nothing may be computed from it.
    pub broken: bool,
    /// A word about it.
    pub about: Option<String>,
    /// Which part it stands in.
    pub part: Option<usize>,
}

/// A column of a table.
#[derive(Clone, Debug)]
pub struct Column {
    /// Its name.
    pub name: Text,
    /// Its unit (`1` for plain numbers), or one of the words `text`, `date`, `truth`.
    pub unit: Text,
}

/// Another worksheet used as a component.
#[derive(Clone, Debug)]
pub struct Use {
    /// The name its results are read under.
    pub name: Text,
    /// The file or the shipped template.
    pub sheet: Text,
    /// Knowns and tables of it that are set from here, name and formula; those under `same` stand
    /// for what bears the same name here.
    pub set: Vec<(Text, Text)>,
    /// Which part it stands in.
    pub part: Option<usize>,
}

/// A named set of changed knowns.
#[derive(Clone, Debug)]
pub struct Case {
    /// Its name.
    pub name: Text,
    /// Known and value.
    pub set: Vec<(Text, Text)>,
    /// Whether a value could not be read, so that it must not be used half.
    pub broken: bool,
}

/// Knowns whose uncertainties have a cause in common, as a gauge that all of them were read with.
#[derive(Clone, Debug)]
pub struct Tie {
    /// Its name.
    pub name: Text,
    /// The knowns.
    pub knowns: Vec<Text>,
    /// The correlation coefficient of each two of them, from −1 to 1; 1 where none is written.
    pub correlation: f64,
    /// Where the coefficient stands, or else the whole tie.
    pub span: Span,
    /// Whether a piece of it could not be read, so that it must not be used half.
    pub broken: bool,
}

/// A drawing that is asked for.
#[derive(Clone, Debug)]
pub struct Draw {
    /// Its name.
    pub name: Text,
    /// What kind of drawing it is.
    pub kind: &'static DrawingKind,
    /// Its heading.
    pub title: Option<String>,
    /// A word about it.
    pub about: Option<String>,
    /// The unit of its vertical axis, or of its only one.
    pub unit: Option<Text>,
    /// What stands at the horizontal axis.
    pub x_label: Option<String>,
    /// What stands at the vertical axis.
    pub y_label: Option<String>,
    /// The known that is varied.
    pub over: Option<Over>,
    /// What it is drawn from.
    pub inputs: Vec<DrawInput>,
    /// Which part it stands in.
    pub part: Option<usize>,
}

/// A piece of data that a drawing names.
#[derive(Clone, Debug)]
pub struct DrawInput {
    /// The key it stands under.
    pub key: &'static DrawingKey,
    /// What the sheet calls it.
    pub label: Option<Text>,
    /// The formula, or the name of a table or a cell.
    pub is: Text,
}

/// The range of a known that a drawing shows.
#[derive(Clone, Debug)]
pub struct Over {
    /// The known.
    pub known: Text,
    /// Where it begins.
    pub from: Text,
    /// Where it ends.
    pub to: Text,
    /// How many points are computed.
    pub points: usize,
}

impl Level {
    /// The word that a sheet uses.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Care => "care",
            Self::Stop => "stop",
        }
    }
}

impl Origin {
    /// The word that a sheet uses.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Assumed => "assumed",
            Self::Quoted => "quoted",
            Self::Standard => "standard",
        }
    }
}
