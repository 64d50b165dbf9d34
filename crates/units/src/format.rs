//! How results are shown: which unit suits a value, and how many digits.

use std::collections::HashMap;
use std::sync::LazyLock;

use crate::dimension::Dimension;
use crate::money::Currency;
use crate::unit::Unit;

/// The units that results are shown in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum System {
    /// SI with the units in use beside it: L/s, kWh, kPa, degC.
    #[default]
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
    // Of zero every unit shows the same, so that of a middling value is taken.
    let size = if si == 0.0 { 1.0 } else { si.abs() };
    let found = STEPS.get(&(dimension, system)).and_then(|steps| {
        // The last step is open above; a value that is not a number goes there too.
        let step = steps.iter().find(|step| size < step.below).or(steps.last())?;
        match (&step.unit, currency) {
            (Some(unit), _) => Some(unit.clone()),
            (None, Some(currency)) => Unit::parse(&step.text.replace(MONEY, currency.code())).ok(),
            (None, None) => None,
        }
    });
    found.unwrap_or_else(|| Unit::coherent(dimension, currency))
}

/// A coherent SI value as it is shown in a unit, `2.719 m`; a plain number stands alone. `None`
/// for NaN and infinities. Whether the unit fits the value's dimension is the caller's to know.
///
/// ```
/// use forebay_units::{Unit, format_in};
/// let unit = Unit::parse("L/s")?;
/// assert_eq!(format_in(0.0305, &unit, 4).as_deref(), Some("30.50 L/s"));
/// # Ok::<(), forebay_units::UnitError>(())
/// ```
#[must_use]
pub fn format_in(si: f64, unit: &Unit, digits: usize) -> Option<String> {
    let number = format_significant(unit.from_si(si), digits)?;
    Some(if *unit == Unit::ONE { number } else { format!("{number} {unit}") })
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

/// Stands in the table for the code of the sheet's currency.
const MONEY: &str = "money";

/// The units of one dimension, each with the size in coherent SI below which it is taken; the
/// last is open above.
struct Preferred {
    dimension: Dimension,
    si: &'static [(f64, &'static str)],
    /// Empty where the US shows the same.
    us: &'static [(f64, &'static str)],
}

/// A row of [`Preferred`] with its unit read; money waits for its currency.
struct Step {
    below: f64,
    text: &'static str,
    unit: Option<Unit>,
}

/// The table read once.
static STEPS: LazyLock<HashMap<(Dimension, System), Vec<Step>>> = LazyLock::new(|| {
    let read = |steps: &'static [(f64, &'static str)]| -> Vec<Step> {
        // `money` is no unit, and the search for a near spelling would take a millisecond.
        let unit = |text: &str| (!text.contains(MONEY)).then(|| Unit::parse(text).ok()).flatten();
        let step = |&(below, text)| Step { below, text, unit: unit(text) };
        steps.iter().map(step).collect()
    };
    let mut found = HashMap::new();
    for row in PREFERRED {
        let us = if row.us.is_empty() { row.si } else { row.us };
        found.insert((row.dimension, System::Si), read(row.si));
        found.insert((row.dimension, System::Us), read(us));
    }
    found
});

const fn show(
    dimension: Dimension,
    si: &'static [(f64, &'static str)],
    us: &'static [(f64, &'static str)],
) -> Preferred {
    Preferred { dimension, si, us }
}

const ANY: f64 = f64::INFINITY;

/// Two hours, two days, two years, in seconds.
const HOURS: f64 = 7200.0;
const DAYS: f64 = 172_800.0;
const YEARS: f64 = 63_072_000.0;

#[rustfmt::skip]
static PREFERRED: &[Preferred] = &[
    show(Dimension::LENGTH, &[(0.1, "mm"), (1e4, "m"), (ANY, "km")], &[(0.3048, "in"), (16_093.44, "ft"), (ANY, "mi")]),
    show(Dimension::AREA, &[(1e-3, "mm^2"), (1e5, "m^2"), (1e6, "ha"), (ANY, "km^2")], &[(0.092_903_04, "in^2"), (4_046.8, "ft^2"), (2.58e6, "acre"), (ANY, "mi^2")]),
    show(Dimension::VOLUME, &[(1e-3, "mL"), (1.0, "L"), (ANY, "m^3")], &[(3.7, "gal_US"), (1_233.4, "ft^3"), (ANY, "acre_ft")]),
    show(Dimension::SECOND_MOMENT_OF_AREA, &[(1e-6, "mm^4"), (ANY, "m^4")], &[(ANY, "in^4")]),
    show(Dimension::MASS, &[(1.0, "g"), (1e4, "kg"), (ANY, "t")], &[(ANY, "lb")]),
    show(Dimension::TIME, &[(0.1, "ms"), (120.0, "s"), (HOURS, "min"), (DAYS, "h"), (YEARS, "d"), (ANY, "yr")], &[]),
    show(Dimension::VELOCITY, &[(ANY, "m/s")], &[(ANY, "ft/s")]),
    show(Dimension::ACCELERATION, &[(ANY, "m/s^2")], &[(ANY, "ft/s^2")]),
    show(Dimension::FLOW, &[(1.0, "L/s"), (ANY, "m^3/s")], &[(0.0283, "gpm"), (ANY, "cfs")]),
    show(Dimension::MASS_FLOW, &[(ANY, "kg/s")], &[(ANY, "lb/s")]),
    show(Dimension::DENSITY, &[(0.1, "mg/L"), (ANY, "kg/m^3")], &[(0.1, "mg/L"), (ANY, "lb/ft^3")]),
    show(Dimension::FORCE, &[(1e4, "N"), (ANY, "kN")], &[(ANY, "lbf")]),
    show(Dimension::of(0, 1, -2, 0, 0, 0, 0), &[(1e4, "N/m"), (ANY, "kN/m")], &[(ANY, "lbf/ft")]),
    show(Dimension::of(-2, 1, -2, 0, 0, 0, 0), &[(1e3, "N/m^3"), (ANY, "kN/m^3")], &[(ANY, "lbf/ft^3")]),
    show(Dimension::PRESSURE_DIFFERENCE, &[(1e3, "Pa"), (1e6, "kPa"), (1e9, "MPa"), (ANY, "GPa")], &[(ANY, "psi")]),
    show(Dimension::PRESSURE, &[(ANY, "kPa_abs")], &[(ANY, "psia")]),
    // Below a watt hour a value is rather a torque than a bill.
    show(Dimension::ENERGY, &[(3.6e3, "J"), (3.6e6, "Wh"), (3.6e11, "kWh"), (ANY, "MWh")], &[(3.6e3, "ft_lbf"), (3.6e6, "Wh"), (3.6e11, "kWh"), (ANY, "MWh")]),
    show(Dimension::of(2, 1, -2, 0, 0, -1, 0), &[(ANY, "J/rad")], &[(ANY, "ft_lbf/rad")]),
    show(Dimension::POWER, &[(1e3, "W"), (1e6, "kW"), (ANY, "MW")], &[]),
    show(Dimension::of(0, 1, -3, 0, 0, 0, 0), &[(1e3, "W/m^2"), (ANY, "kW/m^2")], &[]),
    show(Dimension::DYNAMIC_VISCOSITY, &[(1.0, "mPa·s"), (ANY, "Pa·s")], &[(ANY, "cP")]),
    show(Dimension::KINEMATIC_VISCOSITY, &[(1e-3, "mm^2/s"), (ANY, "m^2/s")], &[(ANY, "ft^2/s")]),
    show(Dimension::FREQUENCY, &[(0.1, "1/s"), (1e4, "Hz"), (ANY, "kHz")], &[]),
    show(Dimension::ROTATION, &[(ANY, "rpm")], &[]),
    show(Dimension::ANGLE, &[(ANY, "deg")], &[]),
    show(Dimension::INERTIA, &[(ANY, "kg·m^2")], &[(ANY, "lb·ft^2")]),
    show(Dimension::TEMPERATURE, &[(ANY, "degC")], &[(ANY, "degF")]),
    show(Dimension::TEMPERATURE_DIFFERENCE, &[(ANY, "K")], &[(ANY, "delta_degF")]),
    show(Dimension::CURRENT, &[(0.1, "mA"), (1e4, "A"), (ANY, "kA")], &[]),
    show(Dimension::CHARGE, &[(360.0, "C"), (ANY, "Ah")], &[]),
    show(Dimension::VOLTAGE, &[(0.1, "mV"), (1e4, "V"), (ANY, "kV")], &[]),
    show(Dimension::RESISTANCE, &[(0.1, "mohm"), (1e4, "ohm"), (1e6, "kohm"), (ANY, "Mohm")], &[]),
    show(Dimension::RESISTANCE_PER_LENGTH, &[(1.0, "ohm/km"), (ANY, "ohm/m")], &[]),
    show(Dimension::RESISTIVITY, &[(1e-3, "ohm·mm^2/m"), (ANY, "ohm·m")], &[]),
    show(Dimension::of(-2, -1, 3, 2, 0, 0, 0), &[(0.1, "mS"), (ANY, "S")], &[]),
    show(Dimension::of(-3, -1, 3, 2, 0, 0, 0), &[(1.0, "µS/cm"), (ANY, "S/m")], &[]),
    show(Dimension::INDUCTANCE, &[(1e-3, "µH"), (1.0, "mH"), (ANY, "H")], &[]),
    show(Dimension::CAPACITANCE, &[(1e-6, "nF"), (1e-2, "µF"), (ANY, "F")], &[]),
    show(Dimension::EMF_CONSTANT, &[(ANY, "V/rpm")], &[]),
    show(Dimension::of(0, 1, -2, -1, 0, 0, 0), &[(0.1, "mT"), (ANY, "T")], &[]),
    show(Dimension::PRICE_OF_ENERGY, &[(ANY, "money/kWh")], &[]),
    show(Dimension::of(-2, -1, 3, 0, 0, 0, 1), &[(ANY, "money/kW")], &[]),
    show(Dimension::of(0, 0, -1, 0, 0, 0, 1), &[(ANY, "money/yr")], &[]),
    show(Dimension::of(-3, 0, 0, 0, 0, 0, 1), &[(ANY, "money/m^3")], &[]),
    show(Dimension::of(-1, 0, 0, 0, 0, 0, 1), &[(ANY, "money/m")], &[(ANY, "money/ft")]),
    show(Dimension::of(0, -1, 0, 0, 0, 0, 1), &[(ANY, "money/kg")], &[(ANY, "money/lb")]),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_preferred_unit_measures_its_dimension() {
        for row in PREFERRED {
            for (_, text) in row.si.iter().chain(row.us) {
                let unit = Unit::parse(&text.replace(MONEY, "EUR")).unwrap();
                assert_eq!(unit.dimension(), row.dimension, "{text}");
                assert_eq!(unit.symbol(), text.replace(MONEY, "EUR"), "is not canonical");
            }
            for steps in [row.si, row.us] {
                assert!(steps.is_sorted_by(|a, b| a.0 < b.0), "{:?}", row.dimension);
                assert!(steps.last().is_none_or(|(below, _)| *below == ANY));
            }
        }
        assert_eq!(STEPS.len(), 2 * PREFERRED.len(), "a dimension stands twice");
    }
}
