//! What a formula is: one entry that the worksheet binding, the reference page and the tests share.

use forebay_units::Dimension;

/// One subject: the formulas of one file.
#[derive(Debug)]
pub struct Subject {
    /// The word it is listed under: `weirs`.
    pub name: &'static str,
    /// What it covers, in one sentence.
    pub about: &'static str,
    /// Its formulas, in the order of the reference page.
    pub formulas: &'static [Formula],
}

/// One engineering formula and all that is said about it.
#[derive(Debug)]
pub struct Formula {
    /// The quantity first, then device or author: `friction_factor_haaland`.
    pub name: &'static str,
    /// What it gives, in one sentence.
    pub summary: &'static str,
    /// The equation as a book prints it, in plain text.
    pub equation: &'static str,
    /// In the order in which arguments are given. Those with a default stand last.
    pub parameters: &'static [Parameter],
    /// What comes out.
    pub result: Output,
    /// Limits that concern several parameters together; outside one of them the user is warned.
    pub limits: &'static [Limit],
    /// What can hurt someone, and whom to ask; shown wherever the formula is explained.
    pub caution: Option<&'static str>,
    /// Where the equation stands.
    pub source: Source,
    /// For a formula that holds in one set of units only: which units hide in its constants.
    /// `None` promises that the formula holds in every coherent set of units, which is tested, as
    /// is that a formula with something hidden does not. `Some("the radian")` and nothing more is
    /// said of one that holds in every set whose angles are radians: those of a sine.
    pub hides: Option<&'static str>,
    /// Values from outside that the body must reproduce.
    pub checks: &'static [Check],
    /// The computation, in coherent SI.
    pub body: Body,
}

/// One argument of a formula.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameter {
    /// A whole word of the trade.
    pub name: &'static str,
    /// What it takes.
    pub kind: Kind,
    /// In coherent SI (for a choice: its index).
    pub default: Option<f64>,
    /// Outside this range the formula means nothing and is refused. Coherent SI.
    pub must: Range,
    /// Outside this range the source does not vouch for the result, and the user is warned.
    pub valid: Range,
    /// What it is, with its reference (which velocity, which level).
    pub about: &'static str,
    /// Whether it may be given by the column of this name in a table that stands in its place among
    /// the arguments: `line_loss(line, flow)`, `block_bill(energy, tariff)`. Such parameters follow
    /// one another, and one table stands for them all.
    pub column: bool,
}

/// What a parameter takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// A quantity of this dimension.
    Quantity(Dimension),
    /// An amount in one year: the quantity itself, or the quantity per time, which is then taken
    /// over a year of 365 days.
    Yearly(Dimension),
    /// A number of years: plain, or a time.
    Years,
    /// A series of quantities of this dimension, without gaps.
    Series(Dimension),
    /// One of these words; the body receives its index.
    Choice(&'static [&'static str]),
    /// A series of texts, such as the fittings of each piece of a pipe.
    Texts,
    /// A row of the table that the columns come from: its number from 1, or what its first column
    /// of texts says there. The body receives the number.
    Row,
}

/// What a formula gives.
#[derive(Clone, Copy, Debug)]
pub struct Output {
    /// The dimension of the result.
    pub dimension: Dimension,
    /// The units that the trade reads this in, SI and US; empty for the usual ones. `money` in them
    /// stands for the sheet's currency.
    pub shown_in: (&'static str, &'static str),
    /// Whether it is a series: one value for each value of the series that go in.
    pub series: bool,
    /// For a result that is one of these words: what the body gives is its index.
    pub words: &'static [&'static str],
}

/// A closed range in coherent SI; infinite ends are open. An `above` range leaves its lower end out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// The least value.
    pub from: f64,
    /// The greatest value.
    pub to: f64,
    /// Whether the least value itself is left out.
    pub above: bool,
}

/// A limit that concerns several parameters.
#[derive(Debug)]
pub struct Limit {
    /// The limit in words: `h/P ≤ 2`.
    pub says: &'static str,
    /// Whether it holds for these arguments, given as the body receives them.
    pub holds: fn(&[f64]) -> bool,
}

/// Where an equation or a value comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Source {
    /// The work, as the bibliography has it.
    pub work: &'static str,
    /// Equation, table, section or page; empty where the work has one formula only.
    pub place: &'static str,
    /// How it is known to us.
    pub standing: Standing,
}

/// How a formula or a value is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Follows from a definition or a law by arithmetic alone.
    Exact,
    /// Seen in the published work or in a text that quotes it.
    Read,
    /// Taken from a reference library.
    Library,
    /// From memory, not yet confirmed in print.
    Memory,
    /// Common practice, no source.
    CommonPractice,
}

/// A value from outside that a body must reproduce.
#[derive(Clone, Copy, Debug)]
pub struct Check {
    /// Parameter and value as text with its unit, `("bore", "150 mm")`; a series is a list of
    /// numbers and one unit, `("flows", "[3, 4, 5] m^3/s")`; defaults may be left out.
    pub arguments: &'static [(&'static str, &'static str)],
    /// The published result as text with its unit.
    pub expected: &'static str,
    /// Relative tolerance: half a unit in the last printed digit, or better.
    pub tolerance: f64,
    /// Work and place; says so where the value is from memory.
    pub source: &'static str,
}

/// The computation on coherent SI numbers.
#[derive(Clone, Copy, Debug)]
pub enum Body {
    /// A constant.
    Constant(f64),
    /// Of one number.
    One(fn(f64) -> f64),
    /// Of two numbers.
    Two(fn(f64, f64) -> f64),
    /// Of three numbers.
    Three(fn(f64, f64, f64) -> f64),
    /// Of four numbers.
    Four(fn(f64, f64, f64, f64) -> f64),
    /// Of five numbers.
    Five(fn(f64, f64, f64, f64, f64) -> f64),
    /// Of six numbers.
    Six(fn(f64, f64, f64, f64, f64, f64) -> f64),
    /// Of seven numbers.
    Seven(fn(f64, f64, f64, f64, f64, f64, f64) -> f64),
    /// Of numbers, with a loop that computes many rows at once; the last is the count of numbers.
    /// Both are made from one function by [`side_by_side!`](crate::side_by_side).
    SideBySide(fn(&[f64]) -> f64, Columns, usize),
    /// Of arguments among which there are series.
    Series(fn(&[Argument<'_>]) -> Result<f64, Refusal>),
    /// The same, giving a series.
    ToSeries(fn(&[Argument<'_>]) -> Result<Vec<f64>, Refusal>),
    /// Of arguments among which there are series, with what the source does not vouch for: a limit
    /// that shows in the course of the computation alone.
    SeriesDoubted(fn(&[Argument<'_>]) -> Doubted<f64>),
    /// The same, giving a series.
    ToSeriesDoubted(fn(&[Argument<'_>]) -> Doubted<Vec<f64>>),
}

/// Computes many rows: a column for each parameter, all as long as the column of results. Row for
/// row the same digits as the function of one row.
pub type Columns = fn(&[&[f64]], &mut [f64]);

/// A result and the limit that was left on the way to it, in words as those of a [`Limit`]; `None`
/// where the source vouches for it.
pub type Doubted<T> = Result<(T, Option<&'static str>), Refusal>;

/// An argument of a [`Body::Series`].
#[derive(Clone, Copy, Debug)]
pub enum Argument<'a> {
    /// One number, coherent SI.
    Number(f64),
    /// A series without gaps, coherent SI.
    Series(&'a [f64]),
    /// A series of texts.
    Texts(&'a [&'a str]),
}

/// Why a series formula has no answer, in words that name the parameter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal(pub String);

impl Range {
    /// Every finite value.
    pub const ANY: Self = Self { from: f64::NEG_INFINITY, to: f64::INFINITY, above: false };
    /// Zero and more.
    pub const NOT_NEGATIVE: Self = Self { from: 0.0, to: f64::INFINITY, above: false };
    /// More than zero.
    pub const POSITIVE: Self = Self { from: 0.0, to: f64::INFINITY, above: true };

    /// From least to greatest, both included.
    #[must_use]
    pub const fn between(from: f64, to: f64) -> Self {
        Self { from, to, above: false }
    }

    /// Whether a value lies inside.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        value <= self.to && if self.above { value > self.from } else { value >= self.from }
    }
}

impl Parameter {
    /// A quantity that any finite value suits.
    #[must_use]
    pub const fn new(name: &'static str, dimension: Dimension, about: &'static str) -> Self {
        Self::of_kind(name, Kind::Quantity(dimension), about)
    }

    /// A parameter of any kind.
    #[must_use]
    pub const fn of_kind(name: &'static str, kind: Kind, about: &'static str) -> Self {
        Self {
            name,
            kind,
            default: None,
            must: Range::ANY,
            valid: Range::ANY,
            about,
            column: false,
        }
    }

    /// Refused unless greater than zero.
    #[must_use]
    pub const fn positive(self) -> Self {
        Self { must: Range::POSITIVE, ..self }
    }

    /// Refused if less than zero.
    #[must_use]
    pub const fn not_negative(self) -> Self {
        Self { must: Range::NOT_NEGATIVE, ..self }
    }

    /// Refused outside this closed range (coherent SI).
    #[must_use]
    pub const fn within(self, from: f64, to: f64) -> Self {
        Self { must: Range::between(from, to), ..self }
    }

    /// Warned of outside this closed range (coherent SI).
    #[must_use]
    pub const fn valid(self, from: f64, to: f64) -> Self {
        Self { valid: Range::between(from, to), ..self }
    }

    /// May be given by a table's column of this name.
    #[must_use]
    pub const fn column(self) -> Self {
        Self { column: true, ..self }
    }

    /// May be left out; this value (coherent SI) is then taken.
    #[must_use]
    pub const fn or(self, default: f64) -> Self {
        Self { default: Some(default), ..self }
    }
}

impl Output {
    /// A result shown in the usual units of its dimension.
    #[must_use]
    pub const fn new(dimension: Dimension) -> Self {
        Self { dimension, shown_in: ("", ""), series: false, words: &[] }
    }

    /// A result that is one of these words.
    #[must_use]
    pub const fn word_of(words: &'static [&'static str]) -> Self {
        Self { words, ..Self::new(Dimension::NONE) }
    }

    /// A series of such results.
    #[must_use]
    pub const fn series(self) -> Self {
        Self { series: true, ..self }
    }

    /// A result that the trade reads in units of its own, SI and US.
    #[must_use]
    pub const fn shown_in(self, si: &'static str, us: &'static str) -> Self {
        Self { shown_in: (si, us), ..self }
    }
}
