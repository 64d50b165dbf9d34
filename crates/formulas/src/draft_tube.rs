//! The draft tube: what it wins back, and the suction it puts under the runner.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Limit, Output, Parameter, Source, Subject};
use crate::side_by_side::side_by_side;
use crate::sources::DIXON;
use crate::usual::GRAVITY;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "draft_tube",
    about: "Head recovered by a draft tube and the suction under the runner.",
    formulas: FORMULAS,
};

const SUBMERGED: &str = "Holds for a draft tube whose mouth is under water and that takes in no \
    air; an open or leaking one recovers nothing.";

const RECOVERY: Source = Source::read(DIXON, "ch. 9, Ex. 9.3");

const VELOCITY_IN: Parameter =
    Parameter::new("velocity_in", Dimension::VELOCITY, "mean velocity under the runner, V₃")
        .not_negative();

const VELOCITY_OUT: Parameter =
    Parameter::new("velocity_out", Dimension::VELOCITY, "mean velocity at the mouth, V₄")
        .not_negative();

/// Head of water that the standard atmosphere holds up at sea level, m: 101 325 Pa over 1000 kg/m³
/// and standard gravity.
const AIR_AT_SEA: f64 = 10.3323;

const WIDENS: &str = "velocity at the mouth not above that under the runner";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "draft_tube_recovery",
        summary: "The head that a draft tube wins back over a plain outlet under the runner.",
        equation: "h = η (V₃² − V₄²)/(2 g)",
        parameters: &[
            VELOCITY_IN,
            VELOCITY_OUT,
            Parameter::new(
                "efficiency",
                Dimension::NONE,
                "share of (V₃² − V₄²)/(2 g) that is recovered; elsewhere efficiencies are counted \
                 on V₃²/(2 g), which gives smaller figures",
            )
            .within(0.0, 1.0)
            .valid(0.6, 0.85),
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[Limit { says: WIDENS, holds: |of| of[1] <= of[0] }],
        caution: Some(SUBMERGED),
        source: RECOVERY,
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("velocity_in", "10.5 m/s"),
                    ("velocity_out", "3.5 m/s"),
                    ("efficiency", "0.799796"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "3.99490 m",
                tolerance: 2e-6,
                source: "Dixon 2005, Ex. 9.3: −5.9949 m under the runner, of which 2 m are height \
                    (a loss of 1.0 m in 4.9949 m is an efficiency of 0.799796)",
            },
            Check {
                arguments: &[
                    ("velocity_in", "3.0557749 m/s"),
                    ("velocity_out", "1.1936621 m/s"),
                    ("efficiency", "0.88199366"),
                ],
                expected: "0.355837880981767 m",
                tolerance: 1e-7,
                source: "Bernoulli by hand: 0.15 m³/s, bores 0.25 m and 0.40 m, loss 0.10 V₃²/(2 g)",
            },
        ],
        body: side_by_side!(draft_tube_recovery, a, b, c, d),
    },
    Formula {
        name: "draft_tube_ideal_recovery",
        summary: "The share of the velocity head that a cone without loss would turn into pressure.",
        equation: "C = 1 − (A₃/A₄)² = 1 − (D₃/D₄)⁴",
        parameters: &[
            Parameter::new("bore_in", Dimension::LENGTH, "bore under the runner").not_negative(),
            Parameter::new("bore_out", Dimension::LENGTH, "bore at the mouth").positive(),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[Limit { says: "bore_in ≤ bore_out", holds: |of| of[0] <= of[1] }],
        caution: None,
        source: RECOVERY,
        hides: None,
        checks: &[Check {
            arguments: &[("bore_in", "0.30 m"), ("bore_out", "0.45 m")],
            expected: "0.802469135802469",
            tolerance: 1e-9,
            source: "Bernoulli by hand: 65/81",
        }],
        body: Body::Two(draft_tube_ideal_recovery),
    },
    Formula {
        name: "draft_tube_pressure_head",
        summary: "The pressure head under the runner against the air outside; below zero is \
            suction.",
        equation: "p₃/(ρ g) = −z₃ − (V₃² − V₄²)/(2 g) + h_DT",
        parameters: &[
            Parameter::new(
                "height",
                Dimension::LENGTH,
                "height of the section under the runner above the tailwater",
            ),
            VELOCITY_IN,
            VELOCITY_OUT,
            Parameter::new(
                "head_loss",
                Dimension::LENGTH,
                "lost inside the draft tube, without the leaving head V₄²/(2 g)",
            )
            .not_negative(),
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[
            Limit { says: WIDENS, holds: |of| of[1] >= of[2] },
            Limit {
                says: "head ≥ −10.33 m, that of the air at sea level: below it lies the perfect \
                    vacuum",
                holds: |of| {
                    draft_tube_pressure_head(of[0], of[1], of[2], of[3], of[4]) >= -AIR_AT_SEA
                },
            },
        ],
        caution: Some(
            "Velocity recovered lowers this pressure. Hold it, with the air pressure added, against \
             the vapour pressure with a margin; the tube and the shaft seal must stand the suction.",
        ),
        source: RECOVERY,
        hides: None,
        checks: &[Check {
            arguments: &[
                ("height", "2 m"),
                ("velocity_in", "10.5 m/s"),
                ("velocity_out", "3.5 m/s"),
                ("head_loss", "1.0 m"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "-5.99490316004077 m",
            tolerance: 1e-9,
            source: "Dixon 2005, Ex. 9.3",
        }],
        body: side_by_side!(draft_tube_pressure_head, a, b, c, d, e),
    },
];

fn draft_tube_recovery(velocity_in: f64, velocity_out: f64, efficiency: f64, gravity: f64) -> f64 {
    efficiency * (velocity_in.powi(2) - velocity_out.powi(2)) / (2.0 * gravity)
}

fn draft_tube_ideal_recovery(bore_in: f64, bore_out: f64) -> f64 {
    1.0 - (bore_in / bore_out).powi(4)
}

fn draft_tube_pressure_head(
    height: f64,
    velocity_in: f64,
    velocity_out: f64,
    head_loss: f64,
    gravity: f64,
) -> f64 {
    -height - (velocity_in.powi(2) - velocity_out.powi(2)) / (2.0 * gravity) + head_loss
}
