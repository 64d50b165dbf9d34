//! Diagnostics: what is wrong or doubtful in a worksheet, where, and the way out.

use std::fmt;
use std::sync::Arc;

/// A range of bytes in one of the texts that a sheet was read from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// Which text, an index into [`Sources`].
    pub source: u16,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

/// The texts that a sheet was read from: the sheet itself first, then what it uses and what was
/// set from outside.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    texts: Vec<Source>,
}

/// One text with the name it is shown under.
#[derive(Clone, Debug)]
pub struct Source {
    /// A file name, or a word such as `argument`.
    pub name: Arc<str>,
    /// The text.
    pub text: Arc<str>,
}

/// How grave a diagnostic is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// The value stands, but is doubtful.
    Warning,
    /// A cell has no value because of this.
    Error,
}

/// One diagnostic: code, message, places, way out.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnostic {
    /// Which kind; gives severity and the page in the book.
    pub code: &'static Code,
    /// What is wrong here, lower case, in the user's terms.
    pub message: String,
    /// The places, the first one being the cause.
    pub labels: Vec<Label>,
    /// The way out for this very case, if there is more to say than the code's own.
    pub help: Option<String>,
}

/// A place in a source with a word about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// Where.
    pub span: Span,
    /// What stands there; may be empty.
    pub text: String,
}

/// A kind of diagnostic, as the book explains it.
#[derive(Debug, PartialEq, Eq)]
pub struct Code {
    /// The name it is listed under.
    pub name: &'static str,
    /// How grave.
    pub severity: Severity,
    /// What it means.
    pub about: &'static str,
    /// How it is mended.
    pub mend: &'static str,
}

macro_rules! codes {
    ($($(#[$doc:meta])* $constant:ident = $name:literal, $severity:ident, $about:literal, $mend:literal;)*) => {
        impl Code {
            $(
                #[doc = $about]
                pub const $constant: &'static Self = &Self {
                    name: $name,
                    severity: Severity::$severity,
                    about: $about,
                    mend: $mend,
                };
            )*

            /// Every code, in the order of the chain: reading, formulas, dimensions, graph, values.
            pub const ALL: &'static [&'static Self] = &[$(Self::$constant),*];
        }
    };
}

codes! {
    // Reading.
    YAML = "yaml", Error,
        "The file is not YAML that can be read.",
        "Look at the place shown: an indent, a colon or a bracket is off.";
    TOO_LARGE = "too-large", Error,
        "The file is larger or more deeply nested than a worksheet may be.",
        "Split the sheet, or move its tables into CSV files beside it.";
    VERSION = "version", Error,
        "The sheet does not say which format version it is written in, or says one that this program does not know.",
        "Begin the sheet with `forebay: 1`.";
    UNKNOWN_KEY = "unknown-key", Error,
        "A key has no meaning at this place.",
        "Correct its spelling, or move it where it belongs.";
    DUPLICATE_KEY = "duplicate-key", Error,
        "The same key stands twice; one of the two would be lost.",
        "Remove or rename one of them.";
    MERGE_KEY = "merge-key", Error,
        "Merge keys, anchors and aliases are not used in worksheets: a value has one place.",
        "Write the values out.";
    WRONG_SHAPE = "wrong-shape", Error,
        "Something else is expected here: a text, a list or a set of keys.",
        "Compare with the example in the help.";
    MISSING_KEY = "missing-key", Error,
        "A key that is needed is not there.",
        "Add it.";
    TORN_FORMULA = "torn-formula", Error,
        "Inside `{ }` YAML splits at every comma and colon, so the formula fell apart.",
        "Put the formula on a line of its own, or in quotes.";
    FOLDED = "folded", Error,
        "A formula stands in a folded block (`>`) or holds YAML escapes, so that its places cannot be told.",
        "Use a literal block (`|`), or plain text on one line.";
    BAD_NAME = "bad-name", Error,
        "A name must start with a letter and hold letters, digits and underscores, and must not be a word of the formula language.",
        "Choose another name.";
    NAME_TWICE = "name-twice", Error,
        "Two things of the sheet bear the same name; names are shared by the whole sheet.",
        "Rename one of them.";
    SHORT_ROW = "short-row", Error,
        "A table row has not as many values as the table has columns.",
        "Fill the row; write `~` where a value is missing.";
    TABLE_CELL = "table-cell", Error,
        "A value in a table cannot be read as its column says.",
        "Write a number in the column's unit, or a number with a unit of its own.";
    NOT_FOUND = "not-found", Error,
        "A file that the sheet names cannot be read from beside it.",
        "Put the file into the folder of the sheet and name it without a path.";
    // Formulas.
    SYNTAX = "syntax", Error,
        "The formula cannot be read.",
        "Look at the place shown.";
    TWO_READINGS = "two-readings", Error,
        "The text can be read in two ways, and they give different results.",
        "Choose one with brackets or spaces.";
    UNIT_OR_NAME = "unit-or-name", Error,
        "What follows the number could be a unit, or a unit and a name of this sheet.",
        "Put spaces around the operator to calculate, or the unit into brackets: `10 (m/h)`.";
    UNKNOWN_UNIT = "unknown-unit", Error,
        "A unit is not known.",
        "See `forebay units` for those that are.";
    AMBIGUOUS_UNIT = "ambiguous-unit", Error,
        "The word stands for several units, and none is guessed.",
        "Choose one of those named.";
    UNKNOWN_NAME = "unknown-name", Error,
        "No cell, table, function or formula has this name.",
        "Correct the spelling, or add it.";
    UNSUPPORTED = "unsupported", Error,
        "This part of the language has no meaning in a worksheet.",
        "Use the way named in the help.";
    TOO_DEEP = "too-deep", Error,
        "The formula is nested too deeply or is too long.",
        "Split it into several cells.";
    NO_SUCH_DATE = "no-such-date", Error,
        "The calendar has no such day.",
        "Dates are written as year, month and day: `2025-03-01`.";
    // Dimensions and kinds.
    UNLIKE = "unlike", Error,
        "Two things that measure different things are added, compared or stand for one another.",
        "Look at both sides; one of them misses a factor or is the wrong quantity.";
    ABSOLUTE = "absolute", Error,
        "An absolute temperature or pressure stands where a difference is meant, or the other way round.",
        "Absolute values end in `_abs` or come from formulas that say so; take a difference, or use `absolute(gauge, altitude)`.";
    WRONG_KIND = "wrong-kind", Error,
        "A number, a truth, a text, a date, a series and a table cannot stand for one another.",
        "Give the kind that is expected.";
    WRONG_DIMENSION = "wrong-dimension", Error,
        "An argument or a result has not the dimension that is expected.",
        "Check the unit, and whether the right cell is used.";
    ARGUMENTS = "arguments", Error,
        "A function is called with too many, too few, or unknown arguments.",
        "See `forebay formulas NAME` for what it takes.";
    EXPONENT = "exponent", Error,
        "The power of a quantity must be a constant, so that its unit is known beforehand.",
        "Write the exponent as a number, or make the base a plain number.";
    CURRENCY = "currency", Error,
        "A sheet has one currency, and this is another one or none is declared.",
        "Say `currency: EUR` (or yours) at the top, and convert other amounts by a known rate.";
    IMPOSSIBLE_TIES = "impossible-ties", Error,
        "No quantities can hang together as the ties of the sheet say.",
        "Two knowns that go together cannot go apart with regard to a third one: look at the signs, or take smaller coefficients.";
    // Graph.
    CYCLE = "cycle", Error,
        "Cells depend on one another in a ring.",
        "Break the ring, or find the value with `zero_of`.";
    // Values.
    NO_VALUE = "no-value", Error,
        "The computation has no finite result for these numbers.",
        "Look at the numbers put in (`forebay working`).";
    REFUSED = "refused", Error,
        "A formula means nothing for this argument.",
        "Correct the argument.";
    NEVER = "never", Warning,
        "The answer is that it never happens.",
        "Nothing to mend in the sheet: it is a result.";
    NO_ROOT = "no-root", Error,
        "No zero, or no single one, lies between the two bounds.",
        "Move the bounds; plot the two sides to see where they meet.";
    OUT_OF_TABLE = "out-of-table", Error,
        "A value lies outside the table it is looked up in; nothing is extrapolated.",
        "Extend the table, or limit the value.";
    GAP = "gap", Error,
        "A series with gaps was used where each value is needed; a gap is never taken for zero.",
        "Use `present(xs)` for the values that are there (a sum of them takes the gaps for zero), or `filled(xs, value)` to say what stands in the gaps.";
    LENGTHS = "lengths", Error,
        "Two series have not the same length or the same dates.",
        "Bring them to the same rows.";
    LIMIT = "limit", Error,
        "The computation was stopped because it took more steps, memory or depth than a sheet may.",
        "Look for a loop that does not end.";
    SCRIPT = "script", Error,
        "A function of the sheet ended with an error.",
        "Look at the place shown.";
    OUTSIDE_VALIDITY = "outside-validity", Warning,
        "A formula is used outside the range that its source vouches for.",
        "Take the result as an extrapolation, or use another formula.";
    OUTSIDE_BETWEEN = "outside-between", Warning,
        "A known lies outside the range that the sheet gives for it.",
        "Check the value, or widen `between`.";
    WRONG_WAY_ROUND = "wrong-way-round", Warning,
        "The ends of a range or the dates of a table do not rise.",
        "Write the lower end first, and the rows in the order of their dates.";
    NOT_A_CHOICE = "not-a-choice", Warning,
        "A known is none of the values that `choose` lists.",
        "Take one of those, or extend the list.";
    IDLE_TIE = "idle-tie", Warning,
        "A known is tied to others that has no uncertainty, so that the tie does nothing.",
        "Say how uncertain the known is, or take it out of the tie.";
    IDLE_VARIATION = "idle-variation", Warning,
        "A known of the exercise varies, and no answer depends on it: variants would look different and be the same.",
        "Leave it out of `vary`, or ask for something that depends on it.";
    NOT_DRAWN = "not-drawn", Warning,
        "A drawing cannot be made from these values.",
        "Look at the values it names; the rest of the sheet is computed all the same.";
}

impl Span {
    /// The smallest range that covers both.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self {
            source: self.source,
            start: self.start.min(other.start),
            end: self.end.max(other.end),
        }
    }
}

impl Sources {
    /// Adds a text and returns its index; texts past the 65,535th share the last one.
    pub fn add(&mut self, name: &str, text: &str) -> u16 {
        let index = u16::try_from(self.texts.len()).unwrap_or(u16::MAX);
        self.texts.push(Source { name: name.into(), text: text.into() });
        index
    }

    /// Puts another text in place of one, as when a value is typed again.
    pub(crate) fn replace(&mut self, index: u16, text: &str) {
        if let Some(source) = self.texts.get_mut(usize::from(index)) {
            source.text = text.into();
        }
    }

    /// The text that a span lies in.
    #[must_use]
    pub fn source(&self, span: Span) -> Option<&Source> {
        self.texts.get(usize::from(span.source))
    }

    /// The piece of text under a span; empty where the span fits no text.
    #[must_use]
    pub fn piece(&self, span: Span) -> &str {
        self.source(span)
            .and_then(|source| source.text.get(span.start as usize..span.end as usize))
            .unwrap_or_default()
    }

    /// Line and column, both from 1, of a span's start; the column counts characters.
    #[must_use]
    pub fn line_and_column(&self, span: Span) -> (usize, usize) {
        let Some(before) =
            self.source(span).and_then(|source| source.text.get(..span.start as usize))
        else {
            return (1, 1);
        };
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
    }
}

impl Diagnostic {
    /// A diagnostic with its first place.
    pub fn new(code: &'static Code, message: impl Into<String>, span: Span) -> Self {
        Self {
            code,
            message: message.into(),
            labels: vec![Label { span, text: String::new() }],
            help: None,
        }
    }

    /// The same with a word at its first place.
    #[must_use]
    pub fn here(mut self, text: impl Into<String>) -> Self {
        if let Some(first) = self.labels.first_mut() {
            first.text = text.into();
        }
        self
    }

    /// The same with one more place.
    #[must_use]
    pub fn and(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push(Label { span, text: text.into() });
        self
    }

    /// The same with a way out for this case.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// The way out: of this case, or else the code's own.
    #[must_use]
    pub fn way_out(&self) -> &str {
        self.help.as_deref().unwrap_or(self.code.mend)
    }

    /// The first place.
    #[must_use]
    pub fn span(&self) -> Option<Span> {
        self.labels.first().map(|label| label.span)
    }

    /// This diagnostic together with the texts it points into, for printing through `miette`.
    #[must_use]
    pub fn with_sources<'a>(&'a self, sources: &'a Sources) -> Shown<'a> {
        let first = self.span();
        let line = |span: Span| sources.line_and_column(span).0;
        let near = |span: Span| {
            first.is_some_and(|first| {
                span.source == first.source && line(span).abs_diff(line(first)) <= NEAR
            })
        };
        let named = |span: Span| {
            sources
                .source(span)
                .map(|source| miette::NamedSource::new(&source.name, Arc::clone(&source.text)))
        };
        let (here, far): (Vec<&Label>, Vec<&Label>) =
            self.labels.iter().partition(|label| near(label.span));
        Shown {
            diagnostic: self,
            source: first.and_then(named),
            labels: here,
            related: far
                .into_iter()
                .map(|label| Elsewhere { label, source: named(label.span) })
                .collect(),
        }
    }
}

/// Places at most so many lines from the first one are drawn into one piece of the text; others
/// get a piece of their own.
const NEAR: usize = 6;

/// A diagnostic with the text it points into.
#[derive(Debug)]
pub struct Shown<'a> {
    diagnostic: &'a Diagnostic,
    source: Option<miette::NamedSource<Arc<str>>>,
    labels: Vec<&'a Label>,
    related: Vec<Elsewhere<'a>>,
}

/// A place of a diagnostic in another text, or far away in the same one.
#[derive(Debug)]
struct Elsewhere<'a> {
    label: &'a Label,
    source: Option<miette::NamedSource<Arc<str>>>,
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Diagnostic {}

impl fmt::Display for Shown<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.diagnostic.fmt(f)
    }
}

impl std::error::Error for Shown<'_> {}

impl miette::Diagnostic for Shown<'_> {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.diagnostic.code.name))
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.diagnostic.code.severity {
            Severity::Note => miette::Severity::Advice,
            Severity::Warning => miette::Severity::Warning,
            Severity::Error => miette::Severity::Error,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.diagnostic.way_out()))
    }

    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        self.source.as_ref().map(|source| source as &dyn miette::SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = miette::LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().map(|label| drawn(label, true))))
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn miette::Diagnostic> + 'a>> {
        if self.related.is_empty() {
            return None;
        }
        Some(Box::new(self.related.iter().map(|place| place as &dyn miette::Diagnostic)))
    }
}

impl fmt::Display for Elsewhere<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.label.text)
    }
}

impl std::error::Error for Elsewhere<'_> {}

impl miette::Diagnostic for Elsewhere<'_> {
    fn severity(&self) -> Option<miette::Severity> {
        Some(miette::Severity::Advice)
    }

    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        self.source.as_ref().map(|source| source as &dyn miette::SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = miette::LabeledSpan> + '_>> {
        Some(Box::new(std::iter::once(drawn(self.label, false))))
    }
}

fn drawn(label: &Label, with_text: bool) -> miette::LabeledSpan {
    let range = label.span.start as usize..label.span.end as usize;
    let text = (with_text && !label.text.is_empty()).then(|| label.text.clone());
    miette::LabeledSpan::new_with_span(text, range)
}
