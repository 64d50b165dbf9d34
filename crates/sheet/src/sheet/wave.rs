//! What a recomputation did.

use super::{Cell, Sheet};

/// What a recomputation did: which cells ran and which of them changed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wave {
    pub(super) ran: Vec<u32>,
    pub(super) changed: Vec<u32>,
}

impl Wave {
    /// The cells that were computed again, in computing order; the known itself is not among them.
    pub fn ran<'s>(&self, sheet: &'s Sheet) -> impl ExactSizeIterator<Item = Cell<'s>> {
        self.ran.iter().map(|at| sheet.cell_at(*at))
    }

    /// The cells whose value is another one now, or that have got or lost it; the known first. The
    /// sides of a check that still stands as before may have moved: it is among those that ran.
    pub fn changed<'s>(&self, sheet: &'s Sheet) -> impl ExactSizeIterator<Item = Cell<'s>> {
        self.changed.iter().map(|at| sheet.cell_at(*at))
    }
}
