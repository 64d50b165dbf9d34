//! Writes what a worksheet gave: the sheet in each output format, how a number came about, and
//! the reference pages of formulas and units.
//!
//! Nothing here prints; every function gives a text. The texts of a sheet are shown with their
//! control characters spelled out, so that a stranger's sheet cannot steer a terminal.
//!
//! ```
//! use forebay_report::{Options, format};
//! use forebay_sheet::Sheet;
//!
//! let mut sheet = Sheet::open("forebay: 1\nknown:\n  flow: 40 L/s\n  head: 3 m\nwork:\n  power: water_power(flow, head)\n");
//! let text = (format("text").unwrap().write)(&mut sheet, &Options::default());
//! assert!(text.contains("power  1.177 kW"));
//! assert!(format("txt").is_none());
//! ```

mod answer;
mod changes;
mod checks;
mod csv;
mod document;
mod drawings;
mod equations;
mod exercise;
mod format_page;
mod formats;
mod formula_pages;
mod html;
mod json;
mod markdown;
mod markup;
mod page;
mod schema;
mod study;
mod tables;
mod templates;
mod text;
mod unit_pages;
mod visible;
mod working;

pub use answer::answer_text;
pub use changes::{Reading, by_how_much, changes, reading, reading_name, readings};
pub use checks::{checks_text, margins_in_words, summary as checks_summary, word as verdict_word};
pub use drawings::{DataTable, Drawing, Picture, drawings, vary_svg};
pub use exercise::{
    KEY_SCHEMA, KeyFault, answer_sheet, handout_html, handout_markdown, key_json, marks_csv,
    marks_json, marks_markdown, marks_text, read_key, variants_csv, variants_text,
};
pub use format_page::format_page;
pub use formats::{FORMATS, Format, Options, format};
pub use formula_pages::{example, formula_page, formulas_listing, word_page};
pub use json::{SCHEMA, answer_json, state_word};
pub use schema::schema_json;
pub use study::{
    Letters, compare_csv, compare_json, compare_text, csv_fields, each_csv, each_csv_head,
    each_json, solve_json, solve_text, spread_json, spread_text, vary_csv, vary_json, vary_text,
};
pub use templates::{OwnTemplate, templates_listing};
pub use unit_pages::units_listing;
pub use visible::{is_hidden, visible};
pub use working::{working_json, working_text};
