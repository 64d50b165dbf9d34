//! A worked cell held at a value in place of its formula's, so that what follows from a number
//! found elsewhere can be told.

use super::{Sheet, Wave};
use crate::diagnostic::{Code, Diagnostic};
use crate::evaluate::MOST_STEPS_OF_SHEET;
use crate::value::Value;

impl Sheet {
    /// Holds a worked cell at a value and recomputes what depends on it; [`Sheet::let_go`] gives
    /// the formula its say again, and so does a known that gets its first value.
    ///
    /// ```
    /// use forebay_sheet::{Sheet, Value};
    ///
    /// let mut sheet = Sheet::open(
    ///     "forebay: 1\nknown:\n  side: 3 m\nwork:\n  area: side^2\n  volume: 2 m * area\n",
    /// );
    /// sheet.hold("area", Value::Number(10.0))?;
    /// assert_eq!(sheet.cell("volume").unwrap().shown(), "20.00 m^3");
    /// assert!(sheet.hold("side", Value::Number(1.0)).is_err());
    /// sheet.let_go("area");
    /// assert_eq!(sheet.cell("volume").unwrap().shown(), "18.00 m^3");
    /// # Ok::<(), Box<forebay_sheet::Diagnostic>>(())
    /// ```
    ///
    /// # Errors
    /// No such worked cell, one whose type is not known, or a value of another kind.
    pub fn hold(&mut self, name: &str, value: Value) -> Result<Wave, Box<Diagnostic>> {
        let worked = self.by_name.get(name).copied().filter(|at| !self.is_settable(*at));
        let Some(at) = worked else {
            let span = self.scratch_text("held", name);
            let message = format!("there is no worked cell `{name}` to hold");
            return Err(Box::new(
                Diagnostic::new(Code::UNKNOWN_NAME, message, span).help("a known is set"),
            ));
        };
        if !self.compiled.cells[at].ty.is_some_and(|ty| value.suits(ty)) {
            let span = self.scratch_text("held", name);
            let message = format!("`{name}` cannot be held at a value of another kind");
            return Err(Box::new(Diagnostic::new(Code::WRONG_KIND, message, span)));
        }
        self.pinned.insert(at, value);
        Ok(self.recomputed(at))
    }

    /// Lets a held cell be computed again; nothing happens where it is not held.
    pub fn let_go(&mut self, name: &str) -> Wave {
        let held = self.by_name.get(name).copied();
        match held.filter(|at| self.pinned.remove(at).is_some()) {
            Some(at) => self.recomputed(at),
            None => Wave::default(),
        }
    }

    fn recomputed(&mut self, at: usize) -> Wave {
        self.steps_left = MOST_STEPS_OF_SHEET;
        let mut dirty = std::mem::take(&mut self.dirty);
        let mut wave = Wave::default();
        if self.compute(at) {
            wave.changed.push(super::set::place_of(at));
            self.mark_dependants(at, &mut dirty);
        }
        self.follow(dirty, &mut wave);
        wave
    }
}
