//! A round pipe that runs part full, as an open channel.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Limit, Output, Parameter, Source, Subject};
use crate::sources::MANNING;
use crate::streams::{ROUGHNESS, SLOPE, manning_flow};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "part_full",
    about: "A round pipe that runs part full, as an open channel.",
    formulas: FORMULAS,
};

static FORMULAS: &[Formula] = &[Formula {
    name: "manning_pipe_part_full",
    summary: "Uniform flow of a round pipe that runs part full.",
    equation: "Q = A R^(2/3) √S / n, A = D²/8 (θ − sin θ), R = A/(D θ/2), cos(θ/2) = 1 − 2 y/D",
    parameters: &[
        Parameter::new(
            "depth",
            Dimension::LENGTH,
            "of the water above the lowest point of the bore",
        )
        .positive(),
        Parameter::new("bore", Dimension::LENGTH, "inside diameter of the pipe").positive(),
        SLOPE,
        ROUGHNESS,
    ],
    result: Output::new(Dimension::FLOW),
    limits: &[
        Limit { says: "depth ≤ bore", holds: |of| of[0] <= of[1] },
        Limit {
            says: "depth ≤ 0.82 bore: above it two depths carry the same flow, and waves fill the \
                pipe (common practice, no source)",
            holds: |of| of[0] <= 0.82 * of[1],
        },
    ],
    caution: Some(
        "The flow is greatest at a depth of 0.94 bores, 7.6 % more than of a full pipe; a pipe that \
         fills by itself may draw like a siphon, or throw air and water back.",
    ),
    source: Source::read(MANNING, "n in s/m^(1/3); the segment of a circle by geometry"),
    hides: Some("metre and second: n is given as a bare number"),
    checks: &[
        Check {
            arguments: &[
                ("depth", "90 mm"),
                ("bore", "300 mm"),
                ("slope", "0.004"),
                ("roughness", "0.011"),
            ],
            expected: "14.154430566 L/s",
            tolerance: 1e-9,
            source: "Manning 1891, by arithmetic apart from this code",
        },
        Check {
            arguments: &[
                ("depth", "0.5 m"),
                ("bore", "1 m"),
                ("slope", "0.001"),
                ("roughness", "0.013"),
            ],
            expected: "0.3790908 m^3/s",
            tolerance: 2e-7,
            source: "Manning 1891, by hand: half of a full pipe's area at R = D/4",
        },
        Check {
            arguments: &[
                ("depth", "0.938 m"),
                ("bore", "1 m"),
                ("slope", "0.001"),
                ("roughness", "0.013"),
            ],
            expected: "0.8156 m^3/s",
            tolerance: 1e-4,
            source: "the greatest flow, 1.0757 of a full pipe's (from memory, in Chow 1959) at \
                     0.938 bores",
        },
    ],
    body: Body::Four(manning_pipe_part_full),
}];

fn manning_pipe_part_full(y: f64, d: f64, s: f64, n: f64) -> f64 {
    // No number where the water would stand above the crown.
    let theta = 2.0 * (1.0 - 2.0 * y / d).acos();
    let area = d * d / 8.0 * (theta - theta.sin());
    manning_flow(area, area / (d * theta / 2.0), s, n)
}
