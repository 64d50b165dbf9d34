//! The keys of a worksheet of format version 1, one row each: where it may stand, what stands behind
//! it, what it is for. The reader refuses what has no row here; the schema and the page about the
//! format are made of these rows.

use std::ops::Bound;

/// The format version that this program reads and writes.
pub const VERSION: u32 = 1;

/// Words of the formula language, which nothing in a sheet may be called.
pub const RESERVED: &[&str] = &[
    "if", "else", "let", "const", "fn", "return", "while", "loop", "for", "in", "do", "until",
    "break", "continue", "true", "false", "and", "or", "not",
];

/// More significant figures than this no reading has.
pub(crate) const MOST_FIGURES: usize = 9;
/// More readings than this no learner copies.
pub(crate) const MOST_READINGS: usize = 200;
/// More points than this for one question are a slip of the pen.
pub(crate) const MOST_POINTS: f64 = 1000.0;

/// A place where keys stand.
#[derive(Debug, PartialEq)]
pub struct Place {
    /// What it is called in messages.
    pub name: &'static str,
    /// The keys that mean something there.
    pub keys: &'static [Key],
    /// What may stand there in place of keys.
    pub instead: Option<Shape>,
}

/// A key.
#[derive(Debug, PartialEq)]
pub struct Key {
    /// The key itself.
    pub name: &'static str,
    /// What stands behind it.
    pub shape: Shape,
    /// Whether the place means nothing without it.
    pub needed: bool,
    /// What it is for.
    pub about: &'static str,
}

/// What stands behind a key.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// The number of the format.
    Version,
    /// A currency of ISO 4217.
    Currency,
    /// A text for people, or nothing.
    Text,
    /// One word.
    Word,
    /// A quantity, a formula, a unit or a list in brackets.
    Formula,
    /// One of these words.
    OneOf(&'static [&'static str]),
    /// A plain number between these bounds.
    Number(Bound<f64>, Bound<f64>),
    /// A whole number from 1 to this.
    Whole(usize),
    /// The two ends of a range.
    Range,
    /// A list of names, of so many at least.
    Names(usize),
    /// One name, or a list of names.
    NameOrNames,
    /// Names with values.
    Values,
    /// Sets of names with values, each with a name.
    Cases,
    /// The columns of a table, each with its unit.
    Columns,
    /// The rows of a table.
    Rows,
    /// Entries with names of their own, each of which is such a place.
    Named(&'static Place),
    /// A list of such places.
    List(&'static Place),
    /// One such place.
    Keys(&'static Place),
    /// Drawings with names of their own; which keys one takes depends on its kind.
    Drawings,
}

impl Place {
    /// Whether a key means something here.
    #[must_use]
    pub fn has(&self, key: &str) -> bool {
        self.keys.iter().any(|other| other.name == key)
    }

    /// The names of its keys.
    pub fn names(&self) -> impl Iterator<Item = &'static str> + Clone {
        let keys: &'static [Key] = self.keys;
        keys.iter().map(|key| key.name)
    }
}

const fn key(name: &'static str, shape: Shape, about: &'static str) -> Key {
    Key { name, shape, needed: false, about }
}

const fn needed(name: &'static str, shape: Shape, about: &'static str) -> Key {
    Key { name, shape, needed: true, about }
}

const ABOUT: Key = key("about", Shape::Text, "a word about it");
const TITLE: Key = key("title", Shape::Text, "its heading");
const UNIT: Key = key("in", Shape::Formula, "the unit it is shown in");
const FIGURES: Key = key(
    "figures",
    Shape::Whole(MOST_FIGURES),
    "to how many significant figures a number is rounded",
);
const STEP: Key = key("step", Shape::Formula, "to a multiple of what a number is rounded");

// The sections that may stand at the top and in a part.
const KNOWN_SECTION: Key =
    key("known", Shape::Named(KNOWN), "what is known: quantities, money, truths, texts, dates");
const WORK_SECTION: Key = key("work", Shape::Named(WORK), "what is worked out, in any order");
const CHECK_SECTION: Key = key("check", Shape::Named(CHECK), "what must hold");
const TABLES_SECTION: Key =
    key("tables", Shape::Named(TABLE), "tables: columns with their units, and rows");
const FUNCTIONS_SECTION: Key =
    key("functions", Shape::Formula, "functions of the sheet's own, as a block behind `|`");
const USE_SECTION: Key =
    key("use", Shape::Named(USE), "other worksheets and templates as components");
const TIED_SECTION: Key =
    key("tied", Shape::Named(TIE), "knowns whose uncertainties have a cause in common");
const DRAW_SECTION: Key = key("draw", Shape::Drawings, "what is drawn");

/// The top of a sheet.
pub static SHEET: &Place = &Place {
    name: "the top of a sheet",
    keys: &[
        needed("forebay", Shape::Version, "the format version"),
        key("title", Shape::Text, "what the sheet is about"),
        key("units", Shape::OneOf(&["si", "us"]), "which units results are shown in"),
        key("currency", Shape::Currency, "the one currency of the sheet, as `EUR`"),
        key("show", Shape::NameOrNames, "the headline results"),
        KNOWN_SECTION,
        WORK_SECTION,
        CHECK_SECTION,
        TABLES_SECTION,
        FUNCTIONS_SECTION,
        USE_SECTION,
        key("cases", Shape::Cases, "named sets of changed knowns"),
        TIED_SECTION,
        DRAW_SECTION,
        key("parts", Shape::List(PART), "a long sheet in chapters; names are shared by all of it"),
        key("exercise", Shape::Keys(EXERCISE), "what an instructor asks about the sheet"),
    ],
    instead: None,
};

/// A chapter.
pub static PART: &Place = &Place {
    name: "a part",
    keys: &[
        needed("title", Shape::Text, "the heading of the part"),
        ABOUT,
        KNOWN_SECTION,
        WORK_SECTION,
        CHECK_SECTION,
        TABLES_SECTION,
        FUNCTIONS_SECTION,
        USE_SECTION,
        DRAW_SECTION,
        TIED_SECTION,
    ],
    instead: None,
};

/// A known.
pub static KNOWN: &Place = &Place {
    name: "a known",
    keys: &[
        needed("is", Shape::Formula, "the value with its unit"),
        key("plus_minus", Shape::Formula, "its uncertainty: an amount, or a percentage of it"),
        key(
            "distribution",
            Shape::OneOf(&["normal", "rectangular", "triangular"]),
            "how `plus_minus` is meant: a standard deviation, or a half-width",
        ),
        key(
            "degrees_of_freedom",
            Shape::Number(Bound::Included(1.0), Bound::Unbounded),
            "from how much the uncertainty itself is known",
        ),
        key(
            "from",
            Shape::OneOf(&["measured", "assumed", "quoted", "standard"]),
            "where the value comes from",
        ),
        ABOUT,
        key("between", Shape::Range, "the range within which the value makes sense"),
        key("choose", Shape::Formula, "the values it may take: a list, or a table's column"),
        UNIT,
    ],
    instead: Some(Shape::Formula),
};

/// A cell that is worked out.
pub static WORK: &Place = &Place {
    name: "a cell of `work`",
    keys: &[needed("is", Shape::Formula, "the formula"), UNIT, ABOUT],
    instead: Some(Shape::Formula),
};

/// A check.
pub static CHECK: &Place = &Place {
    name: "a check",
    keys: &[
        needed("that", Shape::Formula, "the condition"),
        key("else", Shape::Text, "what to do where it fails"),
        key("caution", Shape::Text, "what is shown whether it holds or not"),
        key(
            "level",
            Shape::OneOf(&["stop", "care", "note"]),
            "how grave it is when it fails; `care` if left out",
        ),
        ABOUT,
    ],
    instead: Some(Shape::Formula),
};

/// A table.
pub static TABLE: &Place = &Place {
    name: "a table",
    keys: &[
        needed(
            "columns",
            Shape::Columns,
            "names with units; `text`, `date`, `truth`; `1` for none",
        ),
        key("rows", Shape::Rows, "rows in brackets; `~` is a gap"),
        key("csv", Shape::Word, "in place of `rows`: a block behind `|`, or a `.csv` file beside"),
        ABOUT,
    ],
    instead: None,
};

/// A worksheet used as a component.
pub static USE: &Place = &Place {
    name: "an entry of `use`",
    keys: &[
        needed("sheet", Shape::Word, "a file of the same folder, or a template"),
        key("same", Shape::Names(0), "knowns and tables of it that bear the same name here"),
        key("set", Shape::Values, "knowns and tables of it with what they are here"),
    ],
    instead: Some(Shape::Word),
};

/// Knowns whose uncertainties have a cause in common.
pub static TIE: &Place = &Place {
    name: "an entry of `tied`",
    keys: &[
        needed("knowns", Shape::Names(2), "two knowns or more"),
        key(
            "correlation",
            Shape::Number(Bound::Included(-1.0), Bound::Included(1.0)),
            "the correlation of each two of them; 1 if left out",
        ),
    ],
    instead: Some(Shape::Names(2)),
};

/// A drawing, whatever its kind; [`DRAWING_KINDS`](crate::DRAWING_KINDS) has the keys of each.
pub static DRAWING: &Place = &Place {
    name: "a drawing",
    keys: &[
        needed("kind", Shape::Word, "what kind of drawing"),
        TITLE,
        ABOUT,
        key("in", Shape::Formula, "the unit of its vertical axis, or of its only one"),
        key("x_label", Shape::Text, "what stands at the horizontal axis"),
        key("y_label", Shape::Text, "what stands at the vertical axis"),
    ],
    instead: None,
};

/// The exercise of a sheet.
pub static EXERCISE: &Place = &Place {
    name: "an exercise",
    keys: &[
        TITLE,
        key("text", Shape::Text, "what the learner reads first; `{bore}` stands for its value"),
        key("caution", Shape::Text, "stands on every handout"),
        key("vary", Shape::Named(VARY), "knowns that differ from learner to learner"),
        key("readings", Shape::Named(READINGS), "series with errors of reading"),
        key("where", Shape::Named(CONDITION), "what must hold for every learner's values"),
        needed("ask", Shape::Named(ASK), "the cells that are asked for"),
        key("credit", Shape::Keys(CREDIT), "what is left of the points after a slip"),
    ],
    instead: None,
};

/// A known that varies in an exercise.
pub static VARY: &Place = &Place {
    name: "an entry of `vary`",
    keys: &[
        key("between", Shape::Range, "the range it is drawn from"),
        key("choose", Shape::Formula, "or the list it is drawn from"),
        STEP,
        FIGURES,
        key("hidden", Shape::OneOf(&["yes", "no"]), "whether the learner is not told"),
    ],
    instead: Some(Shape::Text),
};

/// A series of readings in an exercise.
pub static READINGS: &Place = &Place {
    name: "an entry of `readings`",
    keys: &[
        needed("noise", Shape::Formula, "how far a reading may be off: an amount or a percentage"),
        key("around", Shape::Formula, "what the readings lie about"),
        key("count", Shape::Whole(MOST_READINGS), "how many readings"),
        STEP,
        FIGURES,
    ],
    instead: None,
};

/// A condition of an exercise.
pub static CONDITION: &Place =
    &Place { name: "a condition", keys: &[], instead: Some(Shape::Formula) };

/// A cell that an exercise asks for.
pub static ASK: &Place = &Place {
    name: "an entry of `ask`",
    keys: &[
        key("text", Shape::Text, "the question"),
        key("hint", Shape::Text, "a hint"),
        key("in", Shape::Formula, "the unit asked for"),
        key("tolerance", Shape::Formula, "how far an answer may be off"),
        key("between", Shape::Range, "or the ends of the band that is accepted"),
        key("figures", Shape::Whole(MOST_FIGURES), "how many significant figures are wanted"),
        key("choose", Shape::Formula, "the words to choose from"),
        key(
            "points",
            Shape::Number(Bound::Excluded(0.0), Bound::Included(MOST_POINTS)),
            "what a right answer brings",
        ),
    ],
    instead: Some(Shape::Text),
};

/// What is left of the points after a slip.
pub static CREDIT: &Place = &Place {
    name: "`credit`",
    keys: &[
        key("slip", Shape::Formula, "the share that a slip leaves"),
        key("rounding", Shape::Formula, "the share that a number rounded too far leaves"),
    ],
    instead: None,
};

/// Every place, in the order in which a reader meets them.
pub static PLACES: &[&Place] = &[
    SHEET, PART, KNOWN, WORK, CHECK, TABLE, USE, TIE, DRAWING, EXERCISE, VARY, READINGS, ASK,
    CREDIT,
];
