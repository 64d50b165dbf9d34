//! Solvers: zeros, extremes and integrals of a function of one local.

use forebay_units::Dimension;

use super::Machine;
use super::roots::{self, NoZero};
use crate::diagnostic::Code;
use crate::term::{Id, Slot};
use crate::value::{Type, Value};

impl Machine<'_> {
    /// A number of a solver or a table in words, in the unit that suits its dimension.
    pub(super) fn worded(&self, id: Id, which: usize, number: f64) -> String {
        let dimension = self.terms.dimensions(id).map_or(Dimension::NONE, |d| d[which]);
        self.style.value(&Value::Number(number), Type::number(dimension), None)
    }

    /// One try of a solver; `None` once something has failed.
    pub(super) fn try_at(&mut self, id: Id, slot: Slot, f: Id, x: f64) -> Option<f64> {
        if !self.step(id) {
            return None;
        }
        self.set(slot, Value::Number(x));
        let value = self.number(f);
        if self.fault.is_none() && !value.is_finite() {
            self.fail(f, Code::NO_VALUE, "this has no finite value where it was tried");
        }
        if self.fault.is_some() {
            let place = self.worded(id, 0, x);
            if let Some(fault) = self.fault.as_mut() {
                fault.message.push_str(&format!(" (where it was tried, at {place})"));
            }
            return None;
        }
        Some(value)
    }

    /// Runs a search in which nobody looks at warnings, then the function once more where it ended.
    pub(super) fn searched<T>(
        &mut self,
        id: Id,
        slot: Slot,
        f: Id,
        search: impl FnOnce(&mut Self) -> T,
        ended: impl FnOnce(&T) -> Option<f64>,
    ) -> T {
        let watching = std::mem::replace(&mut self.watching, false);
        let result = search(self);
        self.watching = watching;
        if let (true, Some(x)) = (watching, ended(&result)) {
            self.try_at(id, slot, f, x);
        }
        result
    }

    pub(super) fn zero_of(&mut self, id: Id, slot: Slot, f: Id, from: Id, to: Id) -> f64 {
        let (from, to) = (self.number(from), self.number(to));
        let result = self.searched(
            id,
            slot,
            f,
            |m| roots::zero(|x| m.try_at(id, slot, f, x), from, to),
            |result| result.ok(),
        );
        let place = |x| self.worded(id, 0, x);
        let value = |y| self.worded(id, 1, y);
        let why = match result {
            Ok(x) => return x,
            Err(NoZero::Failed) => return f64::NAN,
            Err(NoZero::SameSign(a, b)) => format!(
                "no zero between the bounds: it is {} at {} and {} at {}",
                value(a),
                place(from),
                value(b),
                place(to)
            ),
            Err(NoZero::Several(a, b)) => {
                format!("several zeros between the bounds, near {} and {}", place(a), place(b))
            }
            Err(NoZero::Jump(x)) => format!(
                "no zero between the bounds: it jumps from one sign to the other at {}",
                place(x)
            ),
            Err(NoZero::Bounds) => "the two bounds must be different".to_owned(),
        };
        self.fail(id, Code::NO_ROOT, why)
    }

    pub(super) fn extreme_of(
        &mut self,
        id: Id,
        slot: Slot,
        f: Id,
        from: Id,
        to: Id,
        sign: f64,
    ) -> f64 {
        let (from, to) = (self.number(from), self.number(to));
        let result = self.searched(
            id,
            slot,
            f,
            |m| roots::greatest(|x| Some(sign * m.try_at(id, slot, f, x)?), from, to),
            |result| *result,
        );
        result.unwrap_or_else(|| self.fail(id, Code::NO_VALUE, "the bounds have no finite value"))
    }

    pub(super) fn integral(&mut self, id: Id, slot: Slot, f: Id, from: Id, to: Id) -> f64 {
        let (from, to) = (self.number(from), self.number(to));
        let result = roots::integral(|x| self.try_at(id, slot, f, x), from, to);
        result.unwrap_or_else(|| self.fail(id, Code::NO_VALUE, "the bounds have no finite value"))
    }
}
