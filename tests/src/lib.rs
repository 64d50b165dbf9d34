//! Whole worksheets held against what they must give.

pub mod entry_points;

use forebay_sheet::Cell;

/// The names of cells, as of those that a wave ran through.
pub fn names<'s>(cells: impl Iterator<Item = Cell<'s>>) -> Vec<String> {
    cells.map(|cell| cell.name().to_owned()).collect()
}
