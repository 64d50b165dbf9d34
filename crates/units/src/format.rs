//! How results are shown: which unit suits a value, and how many digits.

use std::collections::HashMap;
use std::sync::LazyLock;

use crate::dimension::Dimension;
use crate::money::Currency;
use crate::unit::Unit;

/// The units that results are shown in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum System {
    /// SI with the units in use beside it: L/s, kWh, kPa, degC.
    Si,
    /// US customary: ft, gpm, psi, degF. Electricity is the same in both.
    Us,
}

/// The unit that suits a value of this dimension: millimetres for a bore, metres for a head.
/// Money is shown in `currency`; a dimension that the trade has no unit for in its base units.
#[must_use]
pub fn display_unit(
    dimension: Dimension,
    si: f64,
    system: System,
    currency: Option<Currency>,
) -> Unit {
    if dimension.is_plain() {
        return Unit::ONE;
    }
    let Some(steps) = STEPS.get(&(dimension, system)) else {
        return Unit::coherent(dimension, currency);
    };
    // Of zero every unit shows the same, so that of a middling value is taken.
    let size = if si == 0.0 { 1.0 } else { si.abs() };
    let step = steps.iter().find(|step| size < step.below).or(steps.last());
    match step {
        Some(step) => step.unit.clone(),
        None => Unit::coherent(dimension, currency),
    }
}

/// A number with as many significant digits as asked, trailing zeros kept: `310.0` for four.
/// Digits before the point are never rounded away; beyond a million million, and below a
/// ten-thousandth, it becomes `1.234e-6`. `None` for NaN and infinities, which are no values.
///
/// ```
/// use forebay_units::format_significant;
/// assert_eq!(format_significant(2.71891, 4).as_deref(), Some("2.719"));
/// assert_eq!(format_significant(12345.4, 4).as_deref(), Some("12345"));
/// assert_eq!(format_significant(f64::NAN, 4), None);
/// ```
#[must_use]
pub fn format_significant(value: f64, digits: usize) -> Option<String> {
    if !value.is_finite() {
        return None;
    }
    if value == 0.0 {
        return Some("0".to_owned());
    }
    let last = digits.clamp(1, 17) - 1;
    let scientific = format!("{value:.last$e}");
    let exponent: i32 = scientific.split_once('e')?.1.parse().ok()?;
    if !(LEAST_PLAIN..=GREATEST_PLAIN).contains(&exponent) {
        return Some(scientific);
    }
    let places = usize::try_from(i32::try_from(last).ok()? - exponent).unwrap_or(0);
    Some(format!("{value:.places$}"))
}

/// The shortest text that reads as exactly this number again; `None` for NaN and infinities.
#[must_use]
pub fn shortest(value: f64) -> Option<String> {
    if !value.is_finite() {
        return None;
    }
    let size = value.abs();
    let plain = size == 0.0 || (1e-5..1e16).contains(&size);
    // Zero has no sign here.
    let value = if value == 0.0 { 0.0 } else { value };
    Some(if plain { format!("{value}") } else { format!("{value:e}") })
}

/// Powers of ten that are written out.
const LEAST_PLAIN: i32 = -4;
const GREATEST_PLAIN: i32 = 11;

struct Step {
    below: f64,
    unit: Unit,
}

static STEPS: LazyLock<HashMap<(Dimension, System), Vec<Step>>> = LazyLock::new(HashMap::new);
