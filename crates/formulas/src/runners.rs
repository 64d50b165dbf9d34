//! The shape and size of a runner: specific speeds, axial dimensions, and the step from one size
//! to another.

use std::f64::consts::PI;

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Output, Parameter, Range, Source, Subject};
use crate::side_by_side::side_by_side;
use crate::sources::{CENGEL, DEFINITION, SUBRAMANYA};
use crate::usual::{DENSITY, GRAVITY, RADIAN, SHARE_ABOVE_ZERO};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "runners",
    about: "Specific speeds, the size of an axial runner, and the step to a similar one.",
    formulas: FORMULAS,
};

const PLANNING: &str = "A figure for planning: diameter and speed of a runner come from its maker.";

const SPEED: Parameter =
    Parameter::new("speed", Dimension::ROTATION, "speed of rotation at best efficiency").positive();

const FLOW: Parameter = Parameter::new(
    "flow",
    Dimension::FLOW,
    "flow of one runner, for an impulse wheel of one jet, at best efficiency",
)
.not_negative();

const POWER: Parameter = Parameter::new(
    "power",
    Dimension::POWER,
    "shaft power of one runner, for an impulse wheel of one jet, at best efficiency",
)
.not_negative();

const HEAD: Parameter =
    Parameter::new("head", Dimension::LENGTH, "net head of one runner").positive();

const DIAMETER: Parameter =
    Parameter::new("diameter", Dimension::LENGTH, "diameter of the known runner").positive();

const NEW_DIAMETER: Parameter =
    Parameter::new("new_diameter", Dimension::LENGTH, "diameter of the similar runner").positive();

static FORMULAS: &[Formula] = &[
    Formula {
        name: "specific_speed_flow",
        summary: "The specific speed n_q of a runner from its flow, in rpm, m³/s and m.",
        equation: "n_q = n √Q/H^0.75",
        parameters: &[SPEED, FLOW, HEAD],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "n_q, metric"),
        hides: Some("rpm, m³/s and m"),
        checks: &[Check {
            arguments: &[("speed", "600 rpm"), ("flow", "0.15 m^3/s"), ("head", "3 m")],
            expected: "101.942654690827",
            tolerance: 1e-9,
            source: "by hand from the definition",
        }],
        body: Body::Three(specific_speed_flow),
    },
    Formula {
        name: "specific_speed_power",
        summary: "The specific speed n_s of a runner from its power, in rpm, kW and m; 1.166 times \
            that in metric horsepower, and to be divided by 3.813 for rpm, hp and ft.",
        equation: "n_s = n √P/H^1.25",
        parameters: &[SPEED, POWER, HEAD],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "n_s, kW and m"),
        hides: Some("rpm, kW and m"),
        checks: &[
            Check {
                arguments: &[("speed", "135 rpm"), ("power", "10000 kW"), ("head", "25 m")],
                expected: "241.5",
                tolerance: 2.1e-4,
                source: "Nag 2001, Ex. 10.12",
            },
            Check {
                arguments: &[("speed", "405.5 rpm"), ("power", "15000 kW"), ("head", "30 m")],
                expected: "707.4",
                tolerance: 2e-4,
                source: "Subramanya 2005, Ex. 16.8",
            },
        ],
        body: Body::Three(specific_speed_power),
    },
    Formula {
        name: "specific_speed_flow_dimensionless",
        summary: "The specific speed of a runner from its flow, free of units: n_q/52.92.",
        equation: "Ω = ω √Q/(g H)^0.75",
        parameters: &[SPEED, FLOW, HEAD, GRAVITY],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::read(CENGEL, "ch. 14"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[("speed", "600 rpm"), ("flow", "0.15 m^3/s"), ("head", "3 m")],
            expected: "1.9264",
            tolerance: 1e-4,
            source: "n_q = 101.9427 by hand, over the printed factor 52.92 (from memory)",
        }],
        body: Body::Four(specific_speed_flow_dimensionless),
    },
    Formula {
        name: "specific_speed_power_dimensionless",
        summary: "The specific speed of a runner from its power, free of units.",
        equation: "Ω_P = ω √(P/ρ)/(g H)^1.25",
        parameters: &[SPEED, POWER, HEAD, DENSITY, GRAVITY],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::read(CENGEL, "ch. 14, Ex. 14-16"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("speed", "12.57 rad/s"),
                ("power", "548 MW"),
                ("head", "104 m"),
                ("density", "998 kg/m^3"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "1.61540845983674",
            tolerance: 1e-9,
            source: "Cengel & Cimbala 2010, Ex. 14-16, carried to more digits by hand",
        }],
        body: Body::Five(specific_speed_power_dimensionless),
    },
    Formula {
        name: "axial_runner_diameter",
        summary: "The outer diameter of a propeller or Kaplan runner from its flow ratio.",
        equation: "Q = π/4 D² (1 − m²) ψ √(2 g H)",
        parameters: &[
            Parameter::new("flow", Dimension::FLOW, "flow of the runner").not_negative(),
            HEAD,
            Parameter::new(
                "flow_ratio",
                Dimension::NONE,
                "axial velocity to the free velocity of the head, v_m/√(2 g H), ψ",
            )
            .positive()
            .valid(0.5, 0.65),
            Parameter {
                must: Range::between(0.0, 0.95),
                ..Parameter::new("hub_ratio", Dimension::NONE, "hub to outer diameter, m")
            }
            .valid(0.3, 0.6),
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(PLANNING),
        source: Source::read(SUBRAMANYA, "Ex. 16.8"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("flow", "56.745 m^3/s"),
                ("head", "30 m"),
                ("flow_ratio", "0.65"),
                ("hub_ratio", "0.35"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "2.285 m",
            tolerance: 2.2e-4,
            source: "Subramanya 2005, Ex. 16.8 (15 MW at 0.90 efficiency, 998 kg/m³)",
        }],
        body: side_by_side!(axial_runner_diameter, a, b, c, d, e),
    },
    Formula {
        name: "axial_runner_speed",
        summary: "The speed of rotation of a propeller or Kaplan runner from its speed ratio.",
        equation: "ω = 2 φ √(2 g H)/D",
        parameters: &[
            HEAD,
            Parameter::new(
                "speed_ratio",
                Dimension::NONE,
                "velocity of the blade's tip to the free velocity of the head, u/√(2 g H), φ",
            )
            .positive()
            .valid(1.4, 2.2),
            Parameter::new("diameter", Dimension::LENGTH, "outer diameter").positive(),
            GRAVITY,
        ],
        result: Output::new(Dimension::ROTATION).shown_in("rpm", "rpm"),
        limits: &[],
        caution: Some(PLANNING),
        source: Source::read(SUBRAMANYA, "Ex. 16.8"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("head", "30 m"),
                ("speed_ratio", "2.0"),
                ("diameter", "2.285 m"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "405.5 rpm",
            tolerance: 2.2e-4,
            source: "Subramanya 2005, Ex. 16.8",
        }],
        body: side_by_side!(axial_runner_speed, a, b, c, d),
    },
    Formula {
        name: "similar_flow",
        summary: "The flow of a similar runner of another size and speed.",
        equation: "Q₂ = Q₁ (n₂/n₁)(D₂/D₁)³",
        parameters: &[
            Parameter::new("flow", Dimension::FLOW, "flow of the known runner").not_negative(),
            DIAMETER,
            NEW_DIAMETER,
            Parameter::new("speed", Dimension::ROTATION, "speed of the known runner").positive(),
            Parameter::new("new_speed", Dimension::ROTATION, "speed of the similar runner")
                .not_negative(),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: None,
        source: Source::read(CENGEL, "ch. 14, Ex. 14-15"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("flow", "350 m^3/s"),
                    ("diameter", "2.05 m"),
                    ("new_diameter", "2.41401 m"),
                    ("speed", "120 rpm"),
                    ("new_speed", "120 rpm"),
                ],
                expected: "572 m^3/s",
                tolerance: 9e-4,
                source: "Cengel & Cimbala 2010, Ex. 14-15 (new diameter, printed as 2.41 m, from \
                    the heads 75 m and 104 m)",
            },
            Check {
                arguments: &[
                    ("flow", "350 m^3/s"),
                    ("diameter", "2.05 m"),
                    ("new_diameter", "2.41401 m"),
                    ("speed", "120 rpm"),
                    ("new_speed", "90 rpm"),
                ],
                expected: "429 m^3/s",
                tolerance: 1.2e-3,
                source: "the same, three quarters of it at three quarters of the speed",
            },
        ],
        body: side_by_side!(similar_flow, a, b, c, d, e),
    },
    Formula {
        name: "moody_efficiency",
        summary: "The best efficiency of a similar runner of another size.",
        equation: "(1 − η₂)/(1 − η₁) = (D₁/D₂)^0.2",
        parameters: &[
            Parameter {
                must: SHARE_ABOVE_ZERO,
                ..Parameter::new(
                    "efficiency",
                    Dimension::NONE,
                    "best efficiency of the known runner",
                )
            },
            DIAMETER,
            NEW_DIAMETER,
            Parameter::new("exponent", Dimension::NONE, "0.2 as a rule, after Moody")
                .within(0.0, 1.0)
                .valid(0.16, 0.25)
                .or(0.2),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::read(CENGEL, "ch. 14, Ex. 14-15"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("efficiency", "0.942"),
                ("diameter", "2.05 m"),
                ("new_diameter", "2.41 m"),
            ],
            expected: "0.944",
            tolerance: 5.3e-4,
            source: "Cengel & Cimbala 2010, Ex. 14-15",
        }],
        body: Body::Four(moody_efficiency),
    },
];

/// Revolutions per minute from radians per second.
fn rpm(speed: f64) -> f64 {
    speed * 30.0 / PI
}

fn specific_speed_flow(speed: f64, flow: f64, head: f64) -> f64 {
    rpm(speed) * flow.sqrt() / head.powf(0.75)
}

fn specific_speed_power(speed: f64, power: f64, head: f64) -> f64 {
    let kilowatts = power / 1000.0;
    rpm(speed) * kilowatts.sqrt() / head.powf(1.25)
}

fn specific_speed_flow_dimensionless(speed: f64, flow: f64, head: f64, gravity: f64) -> f64 {
    speed * flow.sqrt() / (gravity * head).powf(0.75)
}

fn specific_speed_power_dimensionless(
    speed: f64,
    power: f64,
    head: f64,
    density: f64,
    gravity: f64,
) -> f64 {
    speed * (power / density).sqrt() / (gravity * head).powf(1.25)
}

fn free_velocity(head: f64, gravity: f64) -> f64 {
    (2.0 * gravity * head).sqrt()
}

fn axial_runner_diameter(
    flow: f64,
    head: f64,
    flow_ratio: f64,
    hub_ratio: f64,
    gravity: f64,
) -> f64 {
    let axial_velocity = flow_ratio * free_velocity(head, gravity);
    (4.0 * flow / (PI * (1.0 - hub_ratio.powi(2)) * axial_velocity)).sqrt()
}

fn axial_runner_speed(head: f64, speed_ratio: f64, diameter: f64, gravity: f64) -> f64 {
    2.0 * speed_ratio * free_velocity(head, gravity) / diameter
}

fn similar_flow(flow: f64, diameter: f64, new_diameter: f64, speed: f64, new_speed: f64) -> f64 {
    flow * (new_speed / speed) * (new_diameter / diameter).powi(3)
}

fn moody_efficiency(efficiency: f64, diameter: f64, new_diameter: f64, exponent: f64) -> f64 {
    1.0 - (1.0 - efficiency) * (diameter / new_diameter).powf(exponent)
}
