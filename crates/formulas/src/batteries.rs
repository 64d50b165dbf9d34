//! Batteries, and the resistors that take what they cannot.

use forebay_units::Dimension;

use crate::formula::{Check, Formula, Limit, Output, Parameter, Source, Subject};
use crate::side_by_side::side_by_side;
use crate::sources::{BIMBHRA, DEFINITION};
use crate::usual::SHARE_ABOVE_ZERO;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "batteries",
    about: "Batteries, charging through a bridge, and dump loads.",
    formulas: FORMULAS,
};

const BATTERY: &str = "Batteries give fire, gas, acid and a very high fault current: ventilate them, \
    put a fuse rated for direct current near the terminals, follow the maker, IEC 62485 or IEEE \
    1635 and the local code, and have a licensed person connect them.";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "battery_capacity",
        summary: "The capacity that a battery needs to deliver an energy.",
        equation: "C = E/(V · DoD · η)",
        parameters: &[
            Parameter::new("energy", Dimension::ENERGY, "to be delivered: daily need times days")
                .not_negative(),
            Parameter::new("voltage", Dimension::VOLTAGE, "nominal, of the whole battery")
                .positive(),
            Parameter {
                must: SHARE_ABOVE_ZERO,
                ..Parameter::new(
                    "depth_of_discharge",
                    Dimension::NONE,
                    "share of the capacity that may be taken out",
                )
            }
            .valid(0.1, 0.95),
            Parameter {
                must: SHARE_ABOVE_ZERO,
                ..Parameter::new("efficiency", Dimension::NONE, "from the battery to the load")
            },
        ],
        result: Output::new(Dimension::CHARGE).shown_in("Ah", "Ah"),
        limits: &[],
        caution: Some(BATTERY),
        source: Source::exact(DEFINITION, "energy is charge times voltage"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("energy", "7.2 kWh"),
                ("voltage", "48 V"),
                ("depth_of_discharge", "0.5"),
                ("efficiency", "0.92"),
            ],
            expected: "326.086956521739 Ah",
            tolerance: 1e-9,
            source: "by hand: two days of 3.6 kWh, 7200/(48 · 0.46); without derating for cold or \
                fast discharge",
        }],
        body: side_by_side!(battery_capacity, a, b, c, d),
    },
    Formula {
        name: "battery_charging_power",
        summary: "The power that goes into a battery charged through a resistance.",
        equation: "P = E (V_dc − E)/R",
        parameters: &[
            Parameter::new("dc_voltage", Dimension::VOLTAGE, "mean, behind the bridge")
                .not_negative(),
            Parameter::new("battery_voltage", Dimension::VOLTAGE, "of the battery, E")
                .not_negative(),
            Parameter::new("resistance", Dimension::RESISTANCE, "of the loop").positive(),
        ],
        result: Output::new(Dimension::POWER),
        limits: &[Limit { says: "dc_voltage ≥ battery_voltage", holds: |of| of[0] >= of[1] }],
        caution: Some(
            "An unregulated charger overcharges: fit a charge controller, and a dump load that is \
             never off while the water runs. Batteries give fire, gas and acid: follow the maker, \
             IEC 62485 and the local code with a licensed person.",
        ),
        source: Source::read(BIMBHRA, "Ex. 3.20"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("dc_voltage", "310.609 V"),
                ("battery_voltage", "240 V"),
                ("resistance", "8 ohm"),
            ],
            expected: "2118.3 W",
            tolerance: 3e-5,
            source: "Bimbhra 2012, Ex. 3.20",
        }],
        body: side_by_side!(battery_charging_power, a, b, c),
    },
    Formula {
        name: "dump_load_resistance",
        summary: "The resistor that takes a power at a voltage.",
        equation: "R = V²/P",
        parameters: &[
            Parameter::new("power", Dimension::POWER, "to be taken").positive(),
            Parameter::new("voltage", Dimension::VOLTAGE, "across it, direct or rms")
                .not_negative(),
        ],
        result: Output::new(Dimension::RESISTANCE),
        limits: &[],
        caution: Some(
            "A dump load keeps the turbine from running away: it must never be off or open while \
             water runs, must stand the power at the highest voltage and for hours, and gets hot \
             enough to burn. Fit an independent overspeed trip.",
        ),
        source: Source::exact(DEFINITION, "Ohm's and Joule's laws"),
        hides: None,
        checks: &[Check {
            arguments: &[("power", "1.2 kW"), ("voltage", "56 V")],
            expected: "2.61333333333333 ohm",
            tolerance: 1e-9,
            source: "by hand, 3136/1200",
        }],
        body: side_by_side!(dump_load_resistance, a, b),
    },
];

fn battery_capacity(energy: f64, voltage: f64, depth_of_discharge: f64, efficiency: f64) -> f64 {
    energy / (voltage * depth_of_discharge * efficiency)
}

fn battery_charging_power(dc_voltage: f64, battery_voltage: f64, resistance: f64) -> f64 {
    let current = (dc_voltage - battery_voltage) / resistance;
    battery_voltage * current
}

fn dump_load_resistance(power: f64, voltage: f64) -> f64 {
    voltage.powi(2) / power
}
