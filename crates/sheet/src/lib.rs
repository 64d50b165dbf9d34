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
//!
//! # Values
//!
//! Values are held in coherent SI, and shown in the unit of the sheet: [`Cell::value`] gives the
//! first, [`Cell::shown`] the second. Formulas beside the sheet's own are asked with
//! [`Sheet::eval`]; a [`Trouble`] says why a cell has no value.
//!
//! ```
//! use forebay_sheet::{Sheet, Trouble};
//! use forebay_units::Unit;
//!
//! let mut sheet = Sheet::open(
//!     "forebay: 1
//! known:
//!   bore: 200 mm
//!   flow: 40 L/s
//! work:
//!   velocity: flow / circle_area(bore)
//!   broken: bore + flow
//!   behind_it: 2 * broken
//! ",
//! );
//! let velocity = sheet.cell("velocity").unwrap().value().and_then(|value| value.as_number());
//! assert!((velocity.unwrap() - 1.2732).abs() < 1e-4);
//! let behind_it = sheet.cell("behind_it").unwrap();
//! assert!(matches!(behind_it.trouble(), Some(Trouble::Waiting(on)) if on == &["broken"]));
//!
//! let answer = sheet.eval("velocity / 2").unwrap();
//! let feet = Unit::parse("ft/s").unwrap();
//! assert_eq!(answer.shown(Some(&feet)).unwrap(), "2.089 ft/s");
//! assert!(sheet.eval("velocity + bore").is_err());
//! ```
//!
//! # Files beside a sheet
//!
//! A sheet opens no files. What it uses comes through a [`Loader`] of the caller's, which decides
//! what may be read; the shipped [`templates()`] need none.
//!
//! ```
//! use forebay_sheet::{Loader, Sheet};
//!
//! struct OneTable;
//!
//! impl Loader for OneTable {
//!     fn load(&self, name: &str) -> Result<String, String> {
//!         match name {
//!             "brook.csv" => Ok("flow\n62\n48\n31\n".to_owned()),
//!             _ => Err("no such file".to_owned()),
//!         }
//!     }
//! }
//!
//! let text = "forebay: 1
//! tables:
//!   brook:
//!     columns: { flow: L/s }
//!     csv: brook.csv
//! work:
//!   mean_flow: mean(brook.flow)
//! ";
//! let sheet = Sheet::open_with("brook.yaml", text, &OneTable);
//! assert_eq!(sheet.cell("mean_flow").unwrap().shown(), "47.00 L/s");
//!
//! let other = text.replace("brook.csv", "creek.csv");
//! let sheet = Sheet::open_with("brook.yaml", &other, &OneTable);
//! assert_eq!(sheet.diagnostics()[0].code.name, "not-found");
//! ```
//!
//! A sheet from a stranger is safe to open: steps, memory and depth are bounded, and no text makes
//! the library panic. The module [`edit`] changes one value in a text and leaves every other byte.

mod batch;
mod bounds;
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
pub use bounds::{BOUNDS, Bound};
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
