//! Engineering formulas of small hydro power: each with its equation, its parameters and their
//! limits, its source, its cautions, and values from print that it reproduces.
//!
//! Everything that is said about a formula stands in one entry of a static table, one file per
//! subject. From it follow the worksheet's functions, the reference pages, and the tests that hold
//! for all formulas at once.
//!
//! A call by name checks names, dimensions and limits:
//!
//! ```
//! use forebay_formulas::call;
//! use forebay_units::Quantity;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let loss = call("friction_head", &[
//!     ("friction_factor", Quantity::parse("0.02")?),
//!     ("length", Quantity::parse("100 m")?),
//!     ("bore", Quantity::parse("150 mm")?),
//!     ("velocity", Quantity::parse("2 m/s")?),
//! ])?;
//! assert!((loss.value.si() - 2.719).abs() < 0.001);
//!
//! let refused = call("friction_head", &[
//!     ("friction_factor", Quantity::parse("0.02")?),
//!     ("length", Quantity::parse("100 m")?),
//!     ("bore", Quantity::parse("150 mm")?),
//!     ("velocity", Quantity::parse("35 L/s")?),
//! ]);
//! assert_eq!(
//!     refused.unwrap_err().to_string(),
//!     "friction_head: velocity: expected velocity, found volume flow",
//! );
//! # Ok(())
//! # }
//! ```
//!
//! Outside the range that a source vouches for there is a value, with a warning; what means nothing
//! is refused:
//!
//! ```
//! use forebay_formulas::call;
//! use forebay_units::Quantity;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let shallow = call("weir_v_notch_flow", &[("head", Quantity::parse("1 cm")?)])?;
//! assert!(!shallow.warnings.is_empty());
//! assert!(call("circle_area", &[("bore", Quantity::parse("-20 cm")?)]).is_err());
//! # Ok(())
//! # }
//! ```
//!
//! What stands in an entry can be read, to find a formula, or to make pages of all of them:
//!
//! ```
//! use forebay_formulas::{SUBJECTS, find, search};
//!
//! let weir = find("weir_v_notch_flow").unwrap();
//! assert_eq!(weir.parameters[0].name, "head");
//! assert!(!weir.checks.is_empty());
//! assert!(search("notch").iter().any(|formula| formula.name == weir.name));
//! assert!(SUBJECTS.iter().any(|subject| subject.name == "weirs"));
//! ```
//!
//! Figures for planning: no result is a design release.

mod bands;
mod batteries;
mod belts;
mod bills;
mod bracketed;
mod cables;
mod call;
mod cash_flows;
mod causes;
mod cavitation;
mod conductors;
mod curve;
mod cycling;
mod dc_bus;
mod diffusers;
mod draft_tube;
mod duration;
mod electrical;
mod evaluate;
mod findings;
mod fittings;
mod formula;
mod friction;
mod hydrology;
mod intake;
mod internal_rate;
mod inverters;
mod level_pool;
mod line;
mod line_fittings;
mod line_pieces;
mod line_pressure;
mod logarithm;
mod mechanics;
mod miller_diffuser;
mod money;
mod operating;
mod oval_pipes;
mod part_full;
mod pipe_sizes;
mod pipe_strength;
mod pipes;
mod pond;
mod pond_balance;
mod pond_run;
mod pond_shape;
mod priming;
mod rack_upkeep;
mod rating;
mod record;
mod registry;
mod runners;
mod self_use;
mod several_units;
mod side_by_side;
mod siphon;
mod siphon_break;
mod sound;
mod sources;
mod streams;
mod surge;
mod transients;
mod turbines;
mod uncertainty;
mod usual;
mod water;
mod water_properties;
mod weirs;
mod year;

pub use call::{CallError, Given, Outcome, YEAR, call};
pub use evaluate::Warning;
pub use formula::{
    Argument, Body, Check, Columns, Doubted, Formula, Kind, Limit, Output, Parameter, Range,
    Refusal, Source, Standing, Subject,
};
pub use logarithm::{ln, log10};
pub use registry::{SUBJECTS, all, find, nearest, search, subject_of};
pub use side_by_side::by_vector_units;
pub use sources::{SOURCES, Work};
