//! A formula asked of a sheet from outside.

use forebay_units::{Dimension, DimensionError, Unit};

use super::Sheet;
use crate::compile::outside::{FromOutside, formula_from_outside};
use crate::diagnostic::{Code, Diagnostic};
use crate::show::Style;
use crate::value::{Type, Value};

/// The value of a formula given from outside.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The value.
    pub value: Value,
    /// Its type.
    pub ty: Type,
    /// What its formulas' sources do not vouch for.
    pub warnings: Vec<Diagnostic>,
    unit: Option<Unit>,
    style: Style,
}

impl Sheet {
    /// Computes a formula with the cells of this sheet.
    ///
    /// # Errors
    /// Everything that a formula of the sheet could be refused for.
    pub fn eval(&mut self, text: &str) -> Result<Answer, Vec<Diagnostic>> {
        let span = self.scratch_text("formula", text);
        let mark = self.compiled.terms.mark();
        let lowered = formula_from_outside(&mut self.compiled, &self.sources, span, false);
        let result = lowered.and_then(|FromOutside { lowered, slots, typed, reads }| {
            if let Some(read) = reads.iter().find(|read| self.values[**read as usize].is_none()) {
                let cell = self.cell_at(*read);
                let message = format!("`{}`: {}", cell.name(), cell.shown());
                return Err(vec![Diagnostic::new(Code::NO_VALUE, message, span)]);
            }
            let style = self.style();
            let mut machine = self.machine();
            let (value, warnings) = machine.cell(lowered.id, slots);
            let value = value.map_err(|fault| vec![fault.diagnostic()])?;
            let unit = typed
                .map(|(_, unit)| unit)
                .filter(|unit| style.keeps(unit))
                .or_else(|| style.trade_unit(lowered.shown_in));
            Ok(Answer { value, ty: lowered.ty, warnings, unit, style })
        });
        self.compiled.terms.back_to(mark);
        result
    }
}

impl Answer {
    /// The value in words, in a unit if one is given.
    ///
    /// # Errors
    /// A unit that does not fit the value.
    pub fn shown(&self, unit: Option<&Unit>) -> Result<String, DimensionError> {
        if let Some(unit) = unit {
            let dimension = self.ty.dimension().unwrap_or(Dimension::NONE);
            dimension.alike(unit.dimension())?;
        }
        Ok(self.style.value(&self.value, self.ty, unit.or(self.unit.as_ref())))
    }

    /// The unit that it is shown in if none is asked for.
    #[must_use]
    pub fn unit(&self) -> Option<Unit> {
        let dimension = self.ty.dimension()?;
        Some(self.unit.clone().unwrap_or_else(|| match &self.value {
            Value::Series(series) => self.style.series_unit(dimension, series),
            other => self.style.unit(dimension, other.as_number().unwrap_or(0.0)),
        }))
    }
}
