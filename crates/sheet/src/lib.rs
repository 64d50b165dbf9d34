//! Worksheets of engineering formulas with checked units: read, compile, compute, recompute.
//!
//! A worksheet is a YAML text of what is known, what is worked out and what must hold. [`Sheet`]
//! opens it, computes every cell that can be computed, and says of the others why not. After a
//! known is set, exactly the cells that depend on it run again.
//!
//! ```
//! use forebay_sheet::{Sheet, Verdict};
//!
//! let mut sheet = Sheet::open(
//!     "forebay: 1
//! known:
//!   pond: 103.4 m
//!   tail: 100.1 m
//!   flow: 60 L/s
//! work:
//!   head: pond - tail
//!   power: 0.6 * water_power(flow, head)
//!   nonsense: head + flow
//! check:
//!   worth_it: power > 1 kW
//! ",
//! );
//! assert_eq!(sheet.cell("power").unwrap().shown(), "1.165 kW");
//! assert_eq!(sheet.checks().next().unwrap().verdict(), Verdict::Holds);
//!
//! // The broken cell is named, and the others live.
//! let diagnostic = sheet.diagnostics()[0];
//! assert_eq!(diagnostic.message, "length and volume flow cannot be added");
//!
//! let wave = sheet.set("flow", "40 L/s")?;
//! assert!(wave.ran(&sheet).map(|cell| cell.name()).eq(["power", "worth_it"]));
//! # Ok::<(), Box<forebay_sheet::Diagnostic>>(())
//! ```

mod batch;
mod compile;
mod correlations;
mod diagnostic;
mod drawing;
pub mod edit;
mod equation;
mod evaluate;
pub mod exercise;
mod graph;
pub mod keys;
mod program;
mod read;
mod script;
mod sheet;
mod show;
mod templates;
mod term;
mod value;
mod working;
pub mod worksheet;

pub use batch::{Batch, Block};
pub use compile::language::{Word, language};
pub use correlations::{Correlations, Tied};
pub use diagnostic::{Code, Diagnostic, Label, Severity, Shown, Source, Sources, Span};
pub use drawing::{Content, DRAWING_KINDS, Datum, Drawing, DrawingKey, DrawingKind, Range, Wants};
pub use equation::Equation;
pub use evaluate::roots::{Zeros, zeros};
pub use read::Loader;
pub use sheet::{Answer, Cell, CellKind, Margin, Sheet, Spread, Trouble, Verdict, Wave};
pub use show::{Style, bare_number};
pub use templates::{Stage, Template, template, templates};
pub use value::{Items, Scalar, Series, Type, Value};
pub use working::Step;
