//! Cables and lines: voltage drop and loss.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Limit, Output, Parameter, Refusal, Source, Subject,
};
use crate::side_by_side::side_by_side;
use crate::sources::{DEFINITION, IEC_60364, MEHTA};
use crate::usual::SHARE_ABOVE_ZERO;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "cables",
    about: "Voltage drop and loss of cables and lines.",
    formulas: FORMULAS,
};

const NOT_AMPACITY: &str = "Voltage drop and loss only. Whether the cable stands the current, its \
    protective device, the fault loop and earthing are not computed: follow the local code (NEC \
    310, IEC 60364-5-52) and have a licensed person check it.";

const HAND_FORMULA: Source = Source::read(IEC_60364, "part 5-52, annex G, without its factors");

const CURRENT: Parameter =
    Parameter::new("current", Dimension::CURRENT, "in each conductor, rms").not_negative();

const LENGTH: Parameter =
    Parameter::new("length", Dimension::LENGTH, "of the cable, one way").not_negative();

const RESISTANCE_PER_LENGTH: Parameter = Parameter::new(
    "resistance_per_length",
    Dimension::RESISTANCE_PER_LENGTH,
    "of one conductor at its running temperature",
)
.not_negative();

const POWER_FACTOR: Parameter = Parameter {
    must: SHARE_ABOVE_ZERO,
    ..Parameter::new("power_factor", Dimension::NONE, "cos φ of the load, lagging")
};

static FORMULAS: &[Formula] = &[
    Formula {
        name: "cable_drop_dc",
        summary: "The voltage lost out and back in a two-wire cable, direct current or single \
            phase without reactance.",
        equation: "ΔV = 2 L I R'",
        parameters: &[CURRENT, LENGTH, RESISTANCE_PER_LENGTH],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[],
        caution: Some(NOT_AMPACITY),
        source: Source::exact(DEFINITION, "Ohm's law, both conductors"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("current", "25 A"),
                ("length", "60 m"),
                ("resistance_per_length", "1.83 ohm/km"),
            ],
            expected: "5.49 V",
            tolerance: 1e-9,
            source: "by hand, 2 · 0.06 km · 25 A · 1.83 Ω/km",
        }],
        body: side_by_side!(cable_drop_dc, a, b, c),
    },
    Formula {
        name: "cable_drop_distributed",
        summary: "The voltage lost up to the end of a two-wire cable fed at one end and loaded \
            evenly along its length, both conductors.",
        equation: "ΔV = 2 · i R' L²/2",
        parameters: &[
            Parameter::new(
                "current_per_length",
                Dimension::of(-1, 0, 0, 1, 0, 0, 0),
                "current taken off per length of the cable",
            )
            .not_negative(),
            LENGTH,
            RESISTANCE_PER_LENGTH,
        ],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[],
        caution: Some(NOT_AMPACITY),
        source: Source::read(MEHTA, "ch. 13"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("current_per_length", "2 A/m"),
                ("length", "200 m"),
                ("resistance_per_length", "0.3 ohm/km"),
            ],
            expected: "24 V",
            tolerance: 1e-9,
            source: "Mehta & Mehta 2005, Ex. 13.5 (a text that counts one conductor prints half)",
        }],
        body: side_by_side!(cable_drop_distributed, a, b, c),
    },
    Formula {
        name: "cable_drop_three_phase",
        summary: "The line-to-line voltage lost in a three-phase cable, by the hand formula.",
        equation: "ΔV = √3 L I (R' cos φ + X' sin φ)",
        parameters: &[
            CURRENT,
            LENGTH,
            RESISTANCE_PER_LENGTH,
            Parameter::new(
                "reactance_per_length",
                Dimension::RESISTANCE_PER_LENGTH,
                "of one conductor; 0.08 Ω/km where nothing better is known",
            )
            .not_negative(),
            POWER_FACTOR,
        ],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[],
        caution: Some(
            "Some 2 % lower than a load flow at a drop of 2 %, and more at greater drops. Take its \
             percentage on the line voltage, not on the phase's. Not a check of ampacity, \
             protection or earthing: follow the local code with a licensed person.",
        ),
        source: HAND_FORMULA,
        hides: None,
        checks: &[Check {
            arguments: &[
                ("current", "48.1125224324688 A"),
                ("length", "250 m"),
                ("resistance_per_length", "0.387 ohm/km"),
                ("reactance_per_length", "0.083 ohm/km"),
                ("power_factor", "0.9"),
            ],
            expected: "8.00997627565392 V",
            tolerance: 1e-6,
            source: "by hand: 30 kW at 400 V, 2.0025 % of 400 V",
        }],
        body: side_by_side!(cable_drop_three_phase, a, b, c, d, e),
    },
    Formula {
        name: "cable_loss",
        summary: "The power lost in a cable.",
        equation: "P = n L I² R'",
        parameters: &[
            CURRENT,
            LENGTH,
            RESISTANCE_PER_LENGTH,
            Parameter::new(
                "conductors",
                Dimension::NONE,
                "that carry the current: 2 for direct current and single phase, 3 for three phases",
            )
            .within(1.0, 12.0)
            .valid(2.0, 3.0),
        ],
        result: Output::new(Dimension::POWER),
        limits: &[],
        caution: Some(NOT_AMPACITY),
        source: Source::exact(DEFINITION, "Joule's law"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("current", "25 A"),
                    ("length", "60 m"),
                    ("resistance_per_length", "1.83 ohm/km"),
                    ("conductors", "2"),
                ],
                expected: "137.25 W",
                tolerance: 1e-9,
                source: "by hand, 25 A · 5.49 V",
            },
            Check {
                arguments: &[
                    ("current", "20 A"),
                    ("length", "500 m"),
                    ("resistance_per_length", "0.3 ohm/km"),
                    ("conductors", "3"),
                ],
                expected: "180 W",
                tolerance: 1e-9,
                source: "by hand, 3 · 400 A² · 0.15 Ω",
            },
        ],
        body: side_by_side!(cable_loss, a, b, c, d),
    },
    Formula {
        name: "constant_power_voltage",
        summary: "The voltage at a load, such as an inverter, that takes the same power whatever \
            its voltage, at the end of a resistive loop.",
        equation: "V = (V₀ + √(V₀² − 4 P R))/2",
        parameters: &[
            Parameter::new("source_voltage", Dimension::VOLTAGE, "at the source, direct")
                .positive(),
            Parameter::new("power", Dimension::POWER, "that the load takes").not_negative(),
            Parameter::new("loop_resistance", Dimension::RESISTANCE, "out and back").not_negative(),
        ],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[],
        caution: Some(NOT_AMPACITY),
        source: Source::exact(DEFINITION, "Kirchhoff's voltage law"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("source_voltage", "24 V"),
                ("power", "216 W"),
                ("loop_resistance", "0.5 ohm"),
            ],
            expected: "18 V",
            tolerance: 1e-9,
            source: "by hand: 12 A lose 6 V in 0.5 Ω, and 18 V · 12 A is 216 W",
        }],
        body: Body::Series(constant_power_voltage),
    },
    Formula {
        name: "sending_voltage",
        summary: "The voltage at the head of a single-phase line that delivers a power.",
        equation: "V_s = √((V cos φ + I R)² + (V sin φ + I X)²), I = P/(V cos φ)",
        parameters: &[
            RECEIVING_VOLTAGE,
            DELIVERED_POWER,
            POWER_FACTOR,
            Parameter::new("resistance", Dimension::RESISTANCE, "of the loop, out and back")
                .not_negative(),
            Parameter::new("reactance", Dimension::RESISTANCE, "of the loop, out and back")
                .not_negative(),
        ],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[SHORT_LINE],
        caution: Some(NOT_AMPACITY),
        source: Source::read(MEHTA, "ch. 10, short lines"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("receiving_voltage", "33 kV"),
                ("power", "1100 kW"),
                ("power_factor", "0.8"),
                ("resistance", "10 ohm"),
                ("reactance", "15 ohm"),
            ],
            expected: "33709 V",
            tolerance: 1.5e-5,
            source: "Mehta & Mehta 2005, Ex. 10.1",
        }],
        body: Body::Five(sending_voltage),
    },
    Formula {
        name: "sending_voltage_three_phase",
        summary: "The line-to-line voltage at the head of a three-phase line that delivers a power.",
        equation: "V_s = √3 √((V_f cos φ + I R)² + (V_f sin φ + I X)²), V_f = V/√3, I = P/(√3 V \
            cos φ)",
        parameters: &[
            RECEIVING_VOLTAGE,
            DELIVERED_POWER,
            POWER_FACTOR,
            Parameter::new("resistance", Dimension::RESISTANCE, "of one phase").not_negative(),
            Parameter::new("reactance", Dimension::RESISTANCE, "of one phase").not_negative(),
        ],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[SHORT_LINE],
        caution: Some(NOT_AMPACITY),
        source: Source::read(MEHTA, "ch. 10, short lines"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("receiving_voltage", "22 kV"),
                ("power", "5000 kW"),
                ("power_factor", "0.8"),
                ("resistance", "4 ohm"),
                ("reactance", "6 ohm"),
            ],
            expected: "23.942 kV",
            tolerance: 1e-4,
            source: "Mehta & Mehta 2005, Ex. 10.3",
        }],
        body: Body::Five(sending_voltage_three_phase),
    },
];

const RECEIVING_VOLTAGE: Parameter = Parameter::new(
    "receiving_voltage",
    Dimension::VOLTAGE,
    "rms at the load, line to line where there are three phases",
)
.positive();

const DELIVERED_POWER: Parameter =
    Parameter::new("power", Dimension::POWER, "active power delivered, all phases together")
        .not_negative();

const SHORT_LINE: Limit = Limit {
    says: "voltage drop ≤ 20 % of the receiving voltage",
    holds: |of| sending_voltage(of[0], of[1], of[2], of[3], of[4]) <= 1.2 * of[0],
};

fn cable_drop_dc(current: f64, length: f64, resistance_per_length: f64) -> f64 {
    2.0 * length * current * resistance_per_length
}

fn cable_drop_distributed(current_per_length: f64, length: f64, resistance_per_length: f64) -> f64 {
    2.0 * current_per_length * resistance_per_length * length.powi(2) / 2.0
}

fn cable_drop_three_phase(
    current: f64,
    length: f64,
    resistance_per_length: f64,
    reactance_per_length: f64,
    power_factor: f64,
) -> f64 {
    let sine = (1.0 - power_factor.powi(2)).sqrt();
    3.0_f64.sqrt()
        * length
        * current
        * (resistance_per_length * power_factor + reactance_per_length * sine)
}

fn cable_loss(current: f64, length: f64, resistance_per_length: f64, conductors: f64) -> f64 {
    conductors * length * current.powi(2) * resistance_per_length
}

fn constant_power_voltage(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Number(source), Argument::Number(power), Argument::Number(resistance)] =
        arguments
    else {
        return Err(Refusal("source_voltage, power, loop_resistance: expected numbers".to_owned()));
    };
    let discriminant = source.powi(2) - 4.0 * power * resistance;
    if discriminant < 0.0 {
        return Err(Refusal(
            "power: this loop cannot carry it at any voltage, since the most is V₀²/(4 R); take a \
             thicker cable, a higher voltage or less power"
                .to_owned(),
        ));
    }
    Ok((source + discriminant.sqrt()) / 2.0)
}

fn sending_voltage(
    receiving_voltage: f64,
    power: f64,
    power_factor: f64,
    resistance: f64,
    reactance: f64,
) -> f64 {
    let v = receiving_voltage;
    let current = power / (v * power_factor);
    let sine = (1.0 - power_factor.powi(2)).sqrt();
    (v * power_factor + current * resistance).hypot(v * sine + current * reactance)
}

fn sending_voltage_three_phase(
    receiving_voltage: f64,
    power: f64,
    power_factor: f64,
    resistance: f64,
    reactance: f64,
) -> f64 {
    let root_3 = 3.0_f64.sqrt();
    let phase = sending_voltage(
        receiving_voltage / root_3,
        power / 3.0,
        power_factor,
        resistance,
        reactance,
    );
    root_3 * phase
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_load_that_no_cable_can_feed_is_refused() {
        let at = |power| {
            constant_power_voltage(&[
                Argument::Number(24.0),
                Argument::Number(power),
                Argument::Number(0.5),
            ])
        };
        // The most is V₀²/(4 R) = 288 W, at half the voltage.
        assert_eq!(at(288.0).unwrap(), 12.0);
        assert!(at(288.1).unwrap_err().0.contains("power"));
    }
}
