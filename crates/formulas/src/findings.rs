//! Finding out what is really happening: from gauges, volts and amps back to flow, loss and
//! efficiency, each held against what was planned, and to the likeliest cause.

use std::f64::consts::PI;

use forebay_units::Dimension;

use crate::causes::LIKELIEST_CAUSE;
use crate::formula::{Body, Check, Formula, Limit, Output, Parameter, Range, Source, Subject};
use crate::pipes::circle_area;
use crate::side_by_side::side_by_side;
use crate::sources::{BERNOULLI, COLEBROOK, DEFINITION};
use crate::usual::{DENSITY, GRAVITY, SHARE_ABOVE_ZERO};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "findings",
    about: "From gauges, volts and amps back to flow, head lost and efficiency, and the likeliest \
        cause.",
    formulas: FORMULAS,
};

const LIVE: &str = "Measuring volts and amps on a running machine is work on live parts: leave it \
    to a licensed person with rated instruments.";

const HEAD_LOSS: Parameter =
    Parameter::new("head_loss", Dimension::LENGTH, "measured across the piece").not_negative();

const BORE: Parameter =
    Parameter::new("bore", Dimension::LENGTH, "inside diameter of the piece").positive();

const LENGTH: Parameter =
    Parameter::new("length", Dimension::LENGTH, "between the two gauges").positive();

const FLOW: Parameter =
    Parameter::new("flow", Dimension::FLOW, "measured apart from it").positive();

const HEAD: Parameter = Parameter::new(
    "head",
    Dimension::LENGTH,
    "net head at the machine, by the definition that its efficiency goes with",
)
.positive();

const PLANNED_FLOW: Parameter =
    Parameter::new("planned_flow", Dimension::FLOW, "of the plan, or when it was clean").positive();

const PLANNED_HEAD: Parameter =
    Parameter::new("planned_head", Dimension::LENGTH, "net head of the plan").positive();

const PLANNED_LOSS: Parameter = Parameter::new(
    "planned_loss",
    Dimension::LENGTH,
    "head lost at planned_flow by the plan, or when it was clean",
)
.positive();

static FORMULAS: &[Formula] = &[
    Formula {
        name: "head_loss_from_gauges",
        summary: "The head lost between two gauges on a pipe.",
        equation: "h = (p₁ − p₂)/(ρ g) + (z₁ − z₂) + (V₁² − V₂²)/(2 g)",
        parameters: &[
            Parameter::new(
                "pressure",
                Dimension::PRESSURE_DIFFERENCE,
                "gauge pressure upstream; below zero under vacuum",
            ),
            Parameter::new(
                "pressure_after",
                Dimension::PRESSURE_DIFFERENCE,
                "gauge pressure downstream",
            ),
            Parameter::new(
                "fall",
                Dimension::LENGTH,
                "level of the gauge upstream less that of the gauge downstream: of the gauges, not \
                 of their taps, while their lines are full of water",
            ),
            Parameter::new("flow", Dimension::FLOW, "in the pipe").not_negative(),
            Parameter::new("bore", Dimension::LENGTH, "at the gauge upstream").positive(),
            Parameter::new("bore_after", Dimension::LENGTH, "at the gauge downstream").positive(),
            DENSITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(
            "Two gauges of 1 % of their range each may hide the whole loss: change them over and \
             read again.",
        ),
        source: Source::exact(BERNOULLI, "with the loss; standard gravity"),
        hides: Some("standard gravity, in m/s²"),
        checks: &[Check {
            arguments: &[
                ("pressure", "20 kPa"),
                ("pressure_after", "21.73 kPa"),
                ("fall", "0 m"),
                ("flow", "7.5 L/s"),
                ("bore", "6 cm"),
                ("bore_after", "9 cm"),
                ("density", "998 kg/m^3"),
            ],
            expected: "0.1107 m",
            tolerance: 6e-3,
            source: "Subramanya 2005, Ex. 11.1 (sudden expansion from 6 to 9 cm), turned round: (1 − \
                4/9)² V²/2g of 2.6526 m/s; the pressure is printed to 10 Pa",
        }],
        body: side_by_side!(head_loss_from_gauges, a, b, c, d, e, f, g),
    },
    Formula {
        name: "loss_coefficient_from_readings",
        summary: "The loss coefficient of a piece on its own velocity, from the head lost and the \
            flow.",
        equation: "K = 2 g h A²/Q²",
        parameters: &[HEAD_LOSS, FLOW, BORE, GRAVITY],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "loss coefficient"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("head_loss", "0.333 m"),
                ("flow", "19.792 L/s"),
                ("bore", "60 mm"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "0.133",
            tolerance: 4e-3,
            source: "Cengel & Cimbala 2010, Ex. 8-6 (gradual expansion, 7 m/s), turned round; the \
                head from memory",
        }],
        body: side_by_side!(loss_coefficient_from_readings, a, b, c, d),
    },
    Formula {
        name: "flow_from_head_loss",
        summary: "The flow through a piece whose loss coefficient is known, from the head lost \
            across it. For a long pipe take pipe_flow.",
        equation: "Q = A √(2 g h/K)",
        parameters: &[
            HEAD_LOSS,
            BORE,
            Parameter::new("loss_coefficient", Dimension::NONE, "on the velocity in this bore")
                .positive(),
            GRAVITY,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "loss coefficient"),
        hides: None,
        checks: &[Check {
            arguments: &[("head_loss", "0.42 m"), ("bore", "250 mm"), ("loss_coefficient", "1.8")],
            expected: "0.105010717768939 m^3/s",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code",
        }],
        body: side_by_side!(flow_from_head_loss, a, b, c, d),
    },
    Formula {
        name: "friction_factor_from_readings",
        summary: "The friction factor (Darcy) of a pipe, from the head lost and the flow.",
        equation: "f = 2 g h D A²/(L Q²)",
        parameters: &[HEAD_LOSS, LENGTH, BORE, FLOW, GRAVITY],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "friction factor"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("head_loss", "9.85 m"),
                ("length", "60 m"),
                ("bore", "50 mm"),
                ("flow", "6 L/s"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "0.0172",
            tolerance: 3e-3,
            source: "Cengel & Cimbala 2010, Ex. 8-3, turned round; the factor from memory",
        }],
        body: side_by_side!(friction_factor_from_readings, a, b, c, d, e),
    },
    Formula {
        name: "roughness_from_readings",
        summary: "The roughness that a pipe must have for the head it loses: more than planned is \
            slime, rust or stones. Refused where it loses less than a smooth pipe would.",
        equation: "e = 3.7 D (10^(−1/(2√f)) − 2.51/(Re √f)), f of friction_factor_from_readings",
        parameters: &[
            HEAD_LOSS,
            LENGTH,
            BORE,
            FLOW,
            Parameter::new("kinematic_viscosity", Dimension::KINEMATIC_VISCOSITY, "of the water")
                .positive(),
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH).shown_in("mm", "in"),
        limits: &[
            Limit {
                says: "Re ≥ 4000",
                holds: |of| of[3] / circle_area(of[2]) * of[2] / of[4] >= 4000.0,
            },
            Limit {
                says: "at least the loss of a smooth pipe; else the flow or a gauge is wrong",
                holds: |of| {
                    !roughness_from_readings(of[0], of[1], of[2], of[3], of[4], of[5]).is_nan()
                },
            },
        ],
        caution: None,
        source: Source::read(COLEBROOK, "solved for the roughness"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("head_loss", "26.685 m"),
                ("length", "89 m"),
                ("bore", "50 mm"),
                ("flow", "6 L/s"),
                ("kinematic_viscosity", "1.3074e-6 m^2/s"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "0.26 mm",
            tolerance: 8e-3,
            source: "Cengel & Cimbala 2010, Ex. 8-8 (cast iron, f = 0.0315), turned \
                round; half a unit of the last digit of f is 0.6 % of the roughness",
        }],
        body: Body::Six(roughness_from_readings),
    },
    Formula {
        name: "efficiency_from_readings",
        summary: "The efficiency of what lies between water and a measured power.",
        equation: "η = P/(ρ g Q H)",
        parameters: &[
            Parameter::new("power", Dimension::POWER, "measured: of shaft, generator or meter")
                .not_negative(),
            FLOW,
            HEAD,
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::NONE).shown_in("%", "%"),
        limits: &[Limit {
            says: "efficiency ≤ 1: above it flow, head or power is read wrong",
            holds: |of| of[0] <= of[1] * of[2] * of[3] * of[4],
        }],
        caution: Some(LIVE),
        source: Source::exact(DEFINITION, "efficiency"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("power", "1862 kW"),
                ("flow", "5 m^3/s"),
                ("head", "50 m"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "0.76",
            tolerance: 2e-3,
            source: "Cengel & Cimbala 2010, Ex. 5-3",
        }],
        body: side_by_side!(efficiency_from_readings, a, b, c, d, e),
    },
    Formula {
        name: "flow_from_output",
        summary: "The flow that stands behind the volts and amps of a DC side, if the efficiency is \
            as planned.",
        equation: "Q = V I/(η ρ g H)",
        parameters: &[
            Parameter::new("voltage", Dimension::VOLTAGE, "on the DC side").not_negative(),
            Parameter::new("current", Dimension::CURRENT, "on the DC side").not_negative(),
            Parameter {
                must: SHARE_ABOVE_ZERO,
                ..Parameter::new("efficiency", Dimension::NONE, "from water to there")
            },
            HEAD,
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::FLOW).shown_in("L/s", "cfs"),
        limits: &[],
        caution: Some(LIVE),
        source: Source::exact(DEFINITION, "efficiency"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("voltage", "380 V"),
                ("current", "3.1 A"),
                ("efficiency", "0.62"),
                ("head", "3.1 m"),
            ],
            expected: "62.4987356341311 L/s",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code, 1178 W/(0.62 · 30.4006 kJ/m³)",
        }],
        body: Body::Six(|voltage, current, efficiency, head, density, gravity| {
            voltage * current / (efficiency * density * gravity * head)
        }),
    },
    Formula {
        name: "resistance_ratio",
        summary: "How many times more a piece resists the flow than planned: 1 as planned; more is \
            a blocked screen, air or growth; less is a wrong reading or a wrong plan.",
        equation: "r = (h/Q²)/(h_p/Q_p²)",
        parameters: &[HEAD_LOSS, FLOW, PLANNED_LOSS, PLANNED_FLOW],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "loss with the square of the flow"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("head_loss", "0.42 m"),
                ("flow", "38 L/s"),
                ("planned_loss", "0.30 m"),
                ("planned_flow", "45 L/s"),
            ],
            expected: "1.96329639889197",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code",
        }],
        body: side_by_side!(resistance_ratio, a, b, c, d),
    },
    Formula {
        name: "blocked_share",
        summary: "The share of a screen's open area that must be blocked for the head it loses \
            against when it was clean; 0 where it loses no more.",
        equation: "b = 1 − 1/√r, r of resistance_ratio",
        parameters: &[HEAD_LOSS, FLOW, PLANNED_LOSS, PLANNED_FLOW],
        result: Output::new(Dimension::NONE).shown_in("%", "%"),
        limits: &[],
        caution: Some(
            "A blocked screen holds whatever falls in: clear it with the machine stopped.",
        ),
        source: Source::exact(DEFINITION, "loss with the square of the velocity in the openings"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("head_loss", "0.42 m"),
                ("flow", "38 L/s"),
                ("planned_loss", "0.30 m"),
                ("planned_flow", "45 L/s"),
            ],
            expected: "0.286314184895919",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code, 1 − 1/√1.9633",
        }],
        body: Body::Four(|loss, flow, planned_loss, planned_flow| {
            let ratio = resistance_ratio(loss, flow, planned_loss, planned_flow);
            (1.0 - 1.0 / ratio.sqrt()).max(0.0)
        }),
    },
    Formula {
        name: "unit_flow_ratio",
        summary: "The flow of a turbine against its plan, with the difference of head taken out: \
            less than 1 is a runner or guide that is blocked, worn seals give more.",
        equation: "r = (Q/√H)/(Q_p/√H_p)",
        parameters: &[FLOW, HEAD, PLANNED_FLOW, PLANNED_HEAD],
        result: Output::new(Dimension::NONE),
        limits: &[Limit {
            says: "head from 0.7 to 1.3 of planned_head: further off the runner works at another \
                point",
            holds: |of| Range::between(0.7, 1.3).holds(of[1] / of[3]),
        }],
        caution: None,
        source: Source::exact(DEFINITION, "affinity at the same opening"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("flow", "38 L/s"),
                ("head", "2.9 m"),
                ("planned_flow", "45 L/s"),
                ("planned_head", "3.2 m"),
            ],
            expected: "0.887047901985681",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code",
        }],
        body: Body::Four(|flow, head, planned_flow, planned_head| {
            flow / planned_flow * (planned_head / head).sqrt()
        }),
    },
    Formula {
        name: "unit_power_ratio",
        summary: "The power of a turbine against its plan, with the difference of head taken out; \
            divided by unit_flow_ratio it is the ratio of the efficiencies.",
        equation: "r = (P/H^1.5)/(P_p/H_p^1.5)",
        parameters: &[
            Parameter::new("power", Dimension::POWER, "measured").positive(),
            HEAD,
            Parameter::new("planned_power", Dimension::POWER, "of the plan, at the same place")
                .positive(),
            PLANNED_HEAD,
        ],
        result: Output::new(Dimension::NONE),
        limits: &[Limit {
            says: "head from 0.7 to 1.3 of planned_head: further off the runner works at another \
                point",
            holds: |of| Range::between(0.7, 1.3).holds(of[1] / of[3]),
        }],
        caution: Some(LIVE),
        source: Source::exact(DEFINITION, "affinity at the same opening"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("power", "900 W"),
                ("head", "2.9 m"),
                ("planned_power", "1250 W"),
                ("planned_head", "3.2 m"),
            ],
            expected: "0.834565576024278",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code",
        }],
        body: Body::Four(|power, head, planned_power, planned_head| {
            power / planned_power * (planned_head / head).powf(1.5)
        }),
    },
    LIKELIEST_CAUSE,
];

fn head_loss_from_gauges(p1: f64, p2: f64, fall: f64, q: f64, d1: f64, d2: f64, rho: f64) -> f64 {
    let g = crate::usual::STANDARD_GRAVITY;
    let (v1, v2) = (q / circle_area(d1), q / circle_area(d2));
    (p1 - p2) / (rho * g) + fall + (v1 * v1 - v2 * v2) / (2.0 * g)
}

fn loss_coefficient_from_readings(h: f64, q: f64, d: f64, g: f64) -> f64 {
    let v = q / circle_area(d);
    2.0 * g * h / (v * v)
}

fn flow_from_head_loss(h: f64, d: f64, k: f64, g: f64) -> f64 {
    circle_area(d) * (2.0 * g * h / k).sqrt()
}

fn friction_factor_from_readings(h: f64, l: f64, d: f64, q: f64, g: f64) -> f64 {
    let v = q / (PI / 4.0 * d * d);
    2.0 * g * h * d / (l * v * v)
}

fn roughness_from_readings(h: f64, l: f64, d: f64, q: f64, nu: f64, g: f64) -> f64 {
    let root = friction_factor_from_readings(h, l, d, q, g).sqrt();
    let reynolds = q / circle_area(d) * d / nu;
    let relative = 10_f64.powf(-0.5 / root) - 2.51 / (reynolds * root);
    if relative < 0.0 { f64::NAN } else { 3.7 * d * relative }
}

fn efficiency_from_readings(power: f64, flow: f64, head: f64, density: f64, gravity: f64) -> f64 {
    power / (density * gravity * flow * head)
}

fn resistance_ratio(loss: f64, flow: f64, planned_loss: f64, planned_flow: f64) -> f64 {
    loss / (flow * flow) / (planned_loss / (planned_flow * planned_flow))
}
