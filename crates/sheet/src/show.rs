//! How values are written for people: in the sheet's units, with the digits that matter.

use forebay_units::{
    Currency, Dimension, System, Unit, display_unit, format_in, format_significant, money,
};

use crate::value::{Items, Scalar, Series, Type, Value};

/// How many significant digits a computed number is shown with, at least.
const DIGITS: usize = 4;

/// The significant digits for a number in a unit: four, but for lengths one more from a hundred on,
/// so that a level of 211.27 m keeps its centimetres.
fn digits(number: f64, unit: &Unit) -> usize {
    let level = unit.dimension() == Dimension::LENGTH && number.abs() >= 99.995;
    DIGITS + usize::from(level)
}

/// A number in a unit, without it, with the digits that matter; `None` where it is not finite.
#[must_use]
pub fn bare_number(si: f64, unit: &Unit) -> Option<String> {
    let number = unit.from_si(si);
    format_significant(number, digits(number, unit))
}

/// How a sheet writes its values.
#[derive(Clone, Copy, Debug, Default)]
pub struct Style {
    /// Which units stand for themselves.
    pub system: System,
    /// The currency of amounts.
    pub currency: Option<Currency>,
}

impl Style {
    /// The unit that a number of a dimension is best read in.
    #[must_use]
    pub fn unit(&self, dimension: Dimension, si: f64) -> Unit {
        display_unit(dimension, si, self.system, self.currency)
    }

    /// The unit that the trade reads a result in, where a formula names one for both systems; one of
    /// `money` only where the sheet has a currency.
    #[must_use]
    pub fn trade_unit(&self, shown_in: (&str, &str)) -> Option<Unit> {
        let symbol = match self.system {
            System::Si => shown_in.0,
            System::Us => shown_in.1,
        };
        if symbol.is_empty() {
            return None;
        }
        match (symbol.contains("money"), self.currency) {
            (false, _) => Unit::parse(symbol).ok(),
            (true, Some(currency)) => Unit::parse(&symbol.replace("money", currency.code())).ok(),
            (true, None) => None,
        }
    }

    /// Whether a unit that was typed can be left as it is in this system.
    #[must_use]
    pub fn keeps(&self, unit: &Unit) -> bool {
        match self.system {
            System::Si => !unit.is_customary(),
            System::Us => {
                let preferred =
                    |system| display_unit(unit.dimension(), unit.to_si(1.0), system, None);
                unit.is_customary() || preferred(System::Si) == preferred(System::Us)
            }
        }
    }

    /// The unit that all values of a series are best read in.
    #[must_use]
    pub fn series_unit(&self, dimension: Dimension, series: &Series) -> Unit {
        let largest = match &series.items {
            Items::Numbers(numbers) => numbers
                .iter()
                .filter(|number| !number.is_nan())
                .fold(0.0, |largest: f64, number| largest.max(number.abs())),
            Items::Values(_) => 0.0,
        };
        self.unit(dimension, largest)
    }

    /// A value in words, in a unit if one is given.
    #[must_use]
    pub fn value(&self, value: &Value, ty: Type, unit: Option<&Unit>) -> String {
        match value {
            Value::Number(si) => self.number(*si, ty, unit),
            Value::Money(amount) => match self.currency {
                Some(currency) => money::format_amount(*amount, currency),
                None => amount.to_string(),
            },
            Value::Truth(truth) => (if *truth { "yes" } else { "no" }).to_owned(),
            Value::Text(text) => text.to_string(),
            Value::Date(date) => date.to_string(),
            Value::Series(series) => self.series(series, ty.scalar(), unit),
        }
    }

    fn number(&self, si: f64, ty: Type, unit: Option<&Unit>) -> String {
        let dimension = ty.dimension().unwrap_or(Dimension::NONE);
        // Zero has no sign.
        let si = si + 0.0;
        // A count is a count: `12`, not `12.00`.
        if dimension.is_plain()
            && si.fract() == 0.0
            && si.abs() < 1e15
            && unit.is_none_or(|u| *u == Unit::ONE)
        {
            return format!("{si:.0}");
        }
        let chosen = unit.cloned().unwrap_or_else(|| self.unit(dimension, si));
        format_in(si, &chosen, digits(chosen.from_si(si), &chosen))
            .unwrap_or_else(|| "no value".to_owned())
    }

    /// A series in one line: how many values, from least to greatest, and how many are missing.
    fn series(&self, series: &Series, scalar: Scalar, unit: Option<&Unit>) -> String {
        let count = series.len();
        let gaps = match series.gaps() {
            0 => String::new(),
            n => format!(", {n} missing"),
        };
        let Items::Numbers(numbers) = &series.items else {
            return self.other_series(series, scalar);
        };
        let present = || numbers.iter().copied().filter(|n| !n.is_nan());
        let (low, high) =
            (present().fold(f64::INFINITY, f64::min), present().fold(f64::NEG_INFINITY, f64::max));
        if !low.is_finite() {
            return format!("{count} values, all missing");
        }
        let dimension = Type::One(scalar).dimension().unwrap_or(Dimension::NONE);
        let chosen = unit.cloned().unwrap_or_else(|| self.series_unit(dimension, series));
        let number = |si| bare_number(si, &chosen).unwrap_or_default();
        let symbol =
            if chosen == Unit::ONE { String::new() } else { format!(" {}", chosen.symbol()) };
        format!("{count} values, {} to {}{symbol}{gaps}", number(low), number(high))
    }

    fn other_series(&self, series: &Series, scalar: Scalar) -> String {
        const SHOWN: usize = 4;
        let mut words: Vec<String> = (0..series.len().min(SHOWN))
            .map(|at| {
                series.get(at).map_or_else(
                    || "missing".to_owned(),
                    |value| self.value(&value, Type::One(scalar), None),
                )
            })
            .collect();
        if series.len() > SHOWN {
            words.push("…".to_owned());
        }
        format!("{} values: {}", series.len(), words.join(", "))
    }
}
