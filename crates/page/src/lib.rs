//! The live page: a worksheet in the browser, served to this machine alone.

mod file;

pub use file::{NotWritten, replace, replace_unchanged};
