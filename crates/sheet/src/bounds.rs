//! What a sheet may take of time, memory and depth: every bound that a stranger's sheet can run into,
//! in one place. `script/limits.rs` has the finer ones of the interpreter, each with its reason.

/// The largest text that is read, in bytes; far below what a span can address.
pub(crate) const MOST_BYTES: usize = 16 * 1024 * 1024;
/// The deepest nesting of YAML that is read.
pub(crate) const DEEPEST_YAML: usize = 64;
/// The most nodes of YAML that are read; a table of a million rows of two still fits, or
/// a million cells.
pub(crate) const MOST_NODES: usize = 4_000_000;
/// The longest formula or block of functions, in bytes.
pub(crate) const LONGEST_FORMULA: usize = 256 * 1024;
/// Operations that hang together in a formula; a sum of as many terms counts as such.
pub(crate) const DEEPEST_FORMULA: u16 = 200;
/// The deepest nesting of brackets and blocks, which the parser itself recurses into.
pub(crate) const DEEPEST_BRACKETS: u16 = 32;
/// Functions of the user that call one another.
pub(crate) const DEEPEST_CALLS: usize = 32;
/// How deep the expressions of a formula may stand in one another, the functions it calls written
/// out; a debug build's stack of 2 MB holds twice as many.
pub(crate) const DEEPEST_TERMS: usize = 250;
/// The most terms that one cell may come to; calls of functions are written out.
pub(crate) const MOST_TERMS: usize = 100_000;
/// How deep worksheets may use one another.
pub(crate) const DEEPEST_USE: usize = 8;
/// How many worksheets one may bring in, all levels together.
pub(crate) const MOST_SHEETS: usize = 64;
/// So many knowns may be tied in one sheet: the work grows with their cube.
pub(crate) const MOST_TIED: usize = 200;
/// Points of one curve of a drawing; more cannot be told apart.
pub(crate) const MOST_POINTS: usize = 2000;
/// How many steps (turns of a loop, elements of a series, tries of a solver) one cell may take.
pub(crate) const MOST_STEPS: u64 = 20_000_000;
/// How many steps all cells of a sheet may take together in one recomputation.
pub(crate) const MOST_STEPS_OF_SHEET: u64 = 40_000_000;

/// A bound, for people.
#[derive(Clone, Copy, Debug)]
pub struct Bound {
    /// What is bounded.
    pub about: &'static str,
    /// How much may be taken.
    pub most: u64,
}

const fn row(about: &'static str, most: u64) -> Bound {
    Bound { about, most }
}

/// Every bound, for the page about the format.
pub static BOUNDS: &[Bound] = &[
    row("bytes of a sheet, or of a file that it reads", MOST_BYTES as u64),
    row("levels of YAML in one another", DEEPEST_YAML as u64),
    row("pieces of YAML (keys, values, lists)", MOST_NODES as u64),
    row("bytes of one formula, or of one block of functions", LONGEST_FORMULA as u64),
    row("operations in one another in a formula", DEEPEST_FORMULA as u64),
    row("brackets in one another in a formula", DEEPEST_BRACKETS as u64),
    row("functions of the sheet's own that call one another", DEEPEST_CALLS as u64),
    row("levels of a formula with its functions written out", DEEPEST_TERMS as u64),
    row("pieces of a formula with its functions written out", MOST_TERMS as u64),
    row("levels of sheets that use sheets", DEEPEST_USE as u64),
    row("sheets that a sheet uses, all levels together", MOST_SHEETS as u64),
    row("knowns that are tied", MOST_TIED as u64),
    row("points of a drawn curve", MOST_POINTS as u64),
    row("steps of a cell: turns of loops, elements of series, tries of solvers", MOST_STEPS),
    row("steps of all cells of a sheet together", MOST_STEPS_OF_SHEET),
];
