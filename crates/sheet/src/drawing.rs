//! What a sheet can ask to have drawn, one row a kind, and what is drawn: data, not pictures.

use forebay_units::{Dimension, Unit};

use crate::diagnostic::Diagnostic;
use crate::sheet::Trouble;
use crate::value::{Type, Value};

/// A kind of drawing: a row of [`DRAWING_KINDS`].
#[derive(Debug, PartialEq, Eq)]
pub struct DrawingKind {
    /// The word behind `kind:`.
    pub name: &'static str,
    /// What it shows, in one sentence.
    pub about: &'static str,
    /// What it is drawn from.
    pub keys: &'static [DrawingKey],
}

/// A key of a drawing that names data.
#[derive(Debug, PartialEq, Eq)]
pub struct DrawingKey {
    /// The key.
    pub name: &'static str,
    /// What stands behind it.
    pub wants: Wants,
    /// Whether nothing can be drawn without it.
    pub needed: bool,
    /// What it is.
    pub about: &'static str,
}

/// What a key of a drawing takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wants {
    /// The places along the horizontal axis: a series of numbers, dates or texts.
    Places,
    /// A known with its range: `flow = 10 L/s..80 L/s`.
    Range,
    /// Curves by their names, each a series of numbers or one number, all of one dimension; over a
    /// range, cells that hold one number.
    Curves,
    /// Amounts by their names, one number of this dimension each.
    Amounts(Dimension),
    /// One number of this dimension.
    One(Dimension),
    /// A series of numbers of this dimension.
    Series(Dimension),
    /// A table that has these columns.
    Table(&'static [&'static str]),
    /// The name of a cell that holds one number.
    Cell,
}

const fn needed(name: &'static str, wants: Wants, about: &'static str) -> DrawingKey {
    DrawingKey { name, wants, needed: true, about }
}

const fn optional(name: &'static str, wants: Wants, about: &'static str) -> DrawingKey {
    DrawingKey { name, wants, needed: false, about }
}

const LENGTH: Wants = Wants::One(Dimension::LENGTH);
const FLOW: Wants = Wants::One(Dimension::FLOW);
const POWER: Wants = Wants::One(Dimension::POWER);

/// Every kind of drawing.
pub static DRAWING_KINDS: &[DrawingKind] = &[
    DrawingKind {
        name: "lines",
        about: "Curves over a series, over dates, or over the range of one known.",
        keys: &[
            optional("x", Wants::Places, "places along the horizontal axis; 1, 2, 3 if left out"),
            optional("over", Wants::Range, "a known and its range instead of `x`"),
            needed("y", Wants::Curves, "the curves; one number makes a level line"),
        ],
    },
    DrawingKind {
        name: "bars",
        about: "Amounts side by side, as of each month.",
        keys: &[
            optional("x", Wants::Places, "what each group of bars is called; 1, 2, 3 if left out"),
            needed("y", Wants::Curves, "the bars; one number makes a level line"),
        ],
    },
    DrawingKind {
        name: "scatter",
        about: "Points, as readings against what was expected.",
        keys: &[
            needed("x", Wants::Places, "where each point stands along the horizontal axis"),
            needed("y", Wants::Curves, "how high it stands; one number makes a level line"),
        ],
    },
    DrawingKind {
        name: "pipe_profile",
        about: "A pipe line with its energy line, its pressure line, the level at which its water \
                would boil, and the place that is nearest to it.",
        keys: &[
            needed("line", Wants::Table(&["bore", "length", "rise"]), "the table of its pieces"),
            needed("flow", FLOW, "what flows through it"),
            needed("start_level", LENGTH, "level of the pipe's axis at its mouth"),
            needed("pond_level", LENGTH, "level of the water it comes from"),
            optional("tail_level", LENGTH, "level of the water it goes to"),
            optional("roughness", LENGTH, "of the wall, where the table has no such column"),
            optional("altitude", LENGTH, "for the pressure of the air; 0 m if left out"),
            optional("temperature", Wants::One(Dimension::TEMPERATURE), "15 degC if left out"),
            optional(
                "weather_allowance",
                Wants::One(Dimension::PRESSURE_DIFFERENCE),
                "how far the air lies below the standard one",
            ),
        ],
    },
    DrawingKind {
        name: "power_chain",
        about: "What becomes of the water's power on its way to the meter: loss by loss.",
        keys: &[
            needed("from", POWER, "the power at the beginning"),
            needed("losses", Wants::Amounts(Dimension::POWER), "what is lost on the way, in order"),
            needed("to", POWER, "the power at the end"),
        ],
    },
    DrawingKind {
        name: "flow_duration",
        about: "For how long a stream brings at least a flow, and which part of it is used.",
        keys: &[
            needed("flows", Wants::Series(Dimension::FLOW), "the record, in any order"),
            needed("design_flow", FLOW, "the most that is taken"),
            optional("residual_flow", FLOW, "what must stay in the bed"),
            optional("least_flow", FLOW, "below which nothing is taken"),
        ],
    },
    DrawingKind {
        name: "pond_level",
        about: "The level of a pond over time, between the levels it must keep to.",
        keys: &[
            needed("time", Wants::Places, "times or dates"),
            needed("level", Wants::Series(Dimension::LENGTH), "the level at each of them"),
            optional("full_level", LENGTH, "where it begins to spill"),
            optional("least_level", LENGTH, "where the intake must be shut"),
        ],
    },
    DrawingKind {
        name: "ranking",
        about: "Which uncertain known matters most for a result.",
        keys: &[needed("of", Wants::Cell, "the result; the knowns say their `plus_minus`")],
    },
];

/// What one drawing of a sheet shows.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: &'static DrawingKind,
    /// Its heading: as written, or made of its name.
    pub title: String,
    /// A word about it.
    pub about: Option<String>,
    /// The part of the sheet it stands in.
    pub part: Option<usize>,
    /// The unit that the sheet wants on its vertical axis, or on its only one.
    pub unit: Option<Unit>,
    /// What the sheet writes at the horizontal axis.
    pub x_label: Option<String>,
    /// What the sheet writes at the vertical axis.
    pub y_label: Option<String>,
    /// The known that is varied, with the two ends and the number of points.
    pub over: Option<Range>,
    /// What it is drawn from, in the order written. Of one that cannot be drawn only what is known
    /// of it.
    pub data: Vec<Datum>,
    /// Why it cannot be drawn.
    pub trouble: Option<Trouble>,
    /// What is doubtful about its data.
    pub warnings: Vec<Diagnostic>,
}

/// The range of a known as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Range {
    /// The known.
    pub known: String,
    /// Where it begins.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// How many points.
    pub points: usize,
}

/// One piece of data of a drawing.
#[derive(Clone, Debug)]
pub struct Datum {
    /// The key of the kind that it stands under.
    pub key: &'static str,
    /// What it is called.
    pub label: String,
    /// What it is.
    pub content: Content,
}

/// What a piece of data is.
#[derive(Clone, Debug)]
pub enum Content {
    /// A value or a series.
    Value {
        /// The value.
        value: Value,
        /// Its type.
        ty: Type,
        /// The unit it is best shown in, if it has one.
        unit: Option<Unit>,
    },
    /// The columns of a table.
    Table(Vec<(String, Type, Value)>),
    /// The name of a cell, whose values are computed by whoever draws.
    Cell(String),
}

impl DrawingKind {
    /// The kind of this name.
    #[must_use]
    pub fn find(name: &str) -> Option<&'static Self> {
        DRAWING_KINDS.iter().find(|kind| kind.name == name)
    }

    /// Its key of this name.
    #[must_use]
    pub fn key(&self, name: &str) -> Option<&'static DrawingKey> {
        let keys: &'static [DrawingKey] = self.keys;
        keys.iter().find(|key| key.name == name)
    }
}

impl Drawing {
    /// Everything under a key.
    pub fn under<'a>(&'a self, key: &'a str) -> impl Iterator<Item = &'a Datum> {
        self.data.iter().filter(move |datum| datum.key == key)
    }

    /// The number under a key in SI.
    #[must_use]
    pub fn number(&self, key: &str) -> Option<f64> {
        self.under(key).next()?.value()?.as_number()
    }
}

impl Datum {
    /// Its value, if it is one.
    #[must_use]
    pub fn value(&self) -> Option<&Value> {
        match &self.content {
            Content::Value { value, .. } => Some(value),
            _ => None,
        }
    }

    /// Its type, if it is a value.
    #[must_use]
    pub fn ty(&self) -> Option<Type> {
        match &self.content {
            Content::Value { ty, .. } => Some(*ty),
            _ => None,
        }
    }

    /// The unit that its numbers are best shown in.
    #[must_use]
    pub fn unit(&self) -> Option<&Unit> {
        match &self.content {
            Content::Value { unit, .. } => unit.as_ref(),
            _ => None,
        }
    }
}
