//! What there is to say of cells beside their values. Most cells have no note, so that notes take no
//! room in a large sheet, and asking whether there is one is quick.

use std::collections::BTreeMap;

use super::Trouble;
use crate::diagnostic::Diagnostic;

/// What is wrong with a cell or doubtful about it.
#[derive(Clone, Debug, Default)]
pub(super) struct State {
    pub(super) trouble: Option<Trouble>,
    pub(super) warnings: Vec<Diagnostic>,
}

/// The states of all cells.
#[derive(Clone, Debug, Default)]
pub(super) struct Notes {
    noted: Vec<u64>,
    states: BTreeMap<usize, State>,
}

static NOTHING: State = State { trouble: None, warnings: Vec::new() };

impl Notes {
    pub(super) fn new(cells: usize) -> Self {
        Self { noted: vec![0; cells.div_ceil(64)], states: BTreeMap::new() }
    }

    pub(super) fn get(&self, cell: usize) -> &State {
        if self.has(cell) { self.states.get(&cell).unwrap_or(&NOTHING) } else { &NOTHING }
    }

    pub(super) fn set(&mut self, cell: usize, state: State) {
        if state.trouble.is_none() && state.warnings.is_empty() {
            self.clear(cell);
        } else if let Some(word) = self.noted.get_mut(cell / 64) {
            *word |= 1 << (cell % 64);
            self.states.insert(cell, state);
        }
    }

    #[inline]
    pub(super) fn clear(&mut self, cell: usize) {
        if self.has(cell) {
            self.noted[cell / 64] &= !(1 << (cell % 64));
            self.states.remove(&cell);
        }
    }

    /// Those that have something to say, in the order of the cells.
    pub(super) fn all(&self) -> impl Iterator<Item = &State> {
        self.states.values()
    }

    fn has(&self, cell: usize) -> bool {
        self.noted.get(cell / 64).is_some_and(|word| word >> (cell % 64) & 1 == 1)
    }
}
