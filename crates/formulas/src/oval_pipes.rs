//! Pipes under vacuum that are not quite round, or that creep.

use forebay_units::Dimension;

use crate::formula::{
    Body, Check, Formula, Kind, Limit, Output, Parameter, Range, Source, Subject,
};
use crate::pipe_strength::collapse_pressure;
use crate::side_by_side::side_by_side;
use crate::sources::{ASTM_F1216, PLASTIC_PIPE, TIMOSHENKO};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "oval_pipes",
    about: "Pipes under vacuum that are not quite round, or that creep.",
    formulas: FORMULAS,
};

const VACUUM: &str = "A full vacuum is 101 kPa at the sea. Dents, heat, joints and clamps are not in \
    these figures, and an exposed siphon has no soil to hold it: keep a factor of at least 2 (common \
    practice, no source) and let the maker confirm the pipe for vacuum.";

const OVALITY: Parameter = Parameter {
    must: Range { from: 0.0, to: 0.5, above: false },
    ..Parameter::new(
        "ovality",
        Dimension::NONE,
        "mean diameter less the least one, by the mean one: 3 % is a pipe pressed in by 3 %",
    )
}
.valid(0.0, 0.1);

static FORMULAS: &[Formula] = &[
    Formula {
        name: "ovality_factor",
        summary: "What is left of the collapse pressure of a round pipe when it is oval.",
        equation: "C = ((1 − Δ)/(1 + Δ)²)³",
        parameters: &[OVALITY],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(VACUUM),
        source: Source::memory(ASTM_F1216, "appendix X1, ovality reduction factor"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("ovality", "2 %")],
                expected: "0.84",
                tolerance: 6e-3,
                source: "table of ovality factors for plastic pipe, 0.84 at 2 % (from memory)",
            },
            Check {
                arguments: &[("ovality", "5 %")],
                expected: "0.64",
                tolerance: 8e-3,
                source: "the same, 0.64 at 5 % (from memory)",
            },
            Check {
                arguments: &[("ovality", "10 %")],
                expected: "0.41",
                tolerance: 1.2e-2,
                source: "the same, 0.41 at 10 % (from memory)",
            },
        ],
        body: side_by_side!(ovality_factor, a),
    },
    Formula {
        name: "collapse_pressure_oval",
        summary: "Pressure from outside, above that inside, at which a long thin pipe that is not \
            quite round gives way. Two methods, which disagree: take the lower if in doubt.",
        equation: "factor: p = C p_cr; yield: the lesser root of p² − (σ/m + (1 + 6 m Δ) p_cr) p + \
            σ p_cr/m = 0, m = r/t; p_cr of collapse_pressure",
        parameters: &[
            Parameter::new("outside_diameter", Dimension::LENGTH, "outside diameter").positive(),
            Parameter::new("wall", Dimension::LENGTH, "thickness of the wall").positive(),
            Parameter::new(
                "modulus",
                Dimension::PRESSURE_DIFFERENCE,
                "elastic modulus; for a vacuum that lasts the long-term one (pipe_modulus)",
            )
            .positive(),
            Parameter::new(
                "poisson_ratio",
                Dimension::NONE,
                "steel 0.30, PVC 0.38, polyethylene 0.45",
            )
            .within(0.0, 0.5)
            .valid(0.2, 0.5),
            OVALITY,
            Parameter::new(
                "yield_stress",
                Dimension::PRESSURE_DIFFERENCE,
                "of the material, long-term for plastic; the method \"factor\" does not look at it",
            )
            .positive(),
            Parameter::of_kind(
                "method",
                Kind::Choice(&["factor", "yield"]),
                "factor: ovality_factor; yield: until the wall first yields, Timoshenko",
            )
            .or(0.0),
        ],
        result: Output::new(Dimension::PRESSURE_DIFFERENCE).shown_in("kPa", "psi"),
        limits: &[
            Limit { says: "outside_diameter ≥ 15 × wall", holds: |of| of[0] >= 15.0 * of[1] },
            Limit { says: "outside_diameter > 2 × wall", holds: |of| of[0] > 2.0 * of[1] },
        ],
        caution: Some(VACUUM),
        source: Source::memory(TIMOSHENKO, "tubes with an initial ellipticity; and ASTM F1216"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("outside_diameter", "315 mm"),
                    ("wall", "9.2 mm"),
                    ("modulus", "1.2 GPa"),
                    ("poisson_ratio", "0.38"),
                    ("ovality", "3 %"),
                    ("yield_stress", "25 MPa"),
                    ("method", "yield"),
                ],
                expected: "65.91124160015 kPa",
                tolerance: 1e-11,
                source: "by arithmetic apart from this code on the equation of Timoshenko & Gere",
            },
            Check {
                arguments: &[
                    ("outside_diameter", "315 mm"),
                    ("wall", "9.2 mm"),
                    ("modulus", "1.2 GPa"),
                    ("poisson_ratio", "0.38"),
                    ("ovality", "3 %"),
                    ("yield_stress", "25 MPa"),
                ],
                expected: "58.4 kPa",
                tolerance: 1e-3,
                source: "76.38 kPa of the round pipe by hand, times 0.7643",
            },
        ],
        body: Body::Seven(collapse_pressure_oval),
    },
    Formula {
        name: "pipe_modulus",
        summary: "The elastic modulus of pipe material, at once or under a load that lasts for \
            years; typical values, warm plastic has less.",
        equation: "short and long term: PVC-U 2.8, 1.2; PE 100 1.0, 0.2; PP 1.3, 0.3; steel 207, \
            207; ductile iron 170, 170 GPa",
        parameters: &[
            Parameter::of_kind(
                "material",
                Kind::Choice(&["pvc", "pe", "pp", "steel", "ductile_iron"]),
                "of the pipe",
            ),
            Parameter::of_kind(
                "load",
                Kind::Choice(&["short", "long"]),
                "short: a surge, a day; long: a siphon's vacuum, the weight between supports",
            ),
        ],
        result: Output::new(Dimension::PRESSURE_DIFFERENCE).shown_in("GPa", "psi"),
        limits: &[],
        caution: Some(VACUUM),
        source: Source::memory(PLASTIC_PIPE, "20 °C, 50 years"),
        hides: Some("the pascal"),
        checks: &[
            Check {
                arguments: &[("material", "pe"), ("load", "long")],
                expected: "29 ksi",
                tolerance: 3e-2,
                source: "apparent modulus of PE at 73 °F after 50 years, 28 to 29 ksi (from memory)",
            },
            Check {
                arguments: &[("material", "steel"), ("load", "long")],
                expected: "30e6 psi",
                tolerance: 1e-2,
                source: "30 million psi in AWWA M11 (from memory)",
            },
        ],
        body: Body::Two(pipe_modulus),
    },
];

fn ovality_factor(ovality: f64) -> f64 {
    ((1.0 - ovality) / (1.0 + ovality).powi(2)).powi(3)
}

fn collapse_pressure_oval(
    d_o: f64,
    t: f64,
    modulus: f64,
    nu: f64,
    ovality: f64,
    yield_stress: f64,
    method: f64,
) -> f64 {
    let round = collapse_pressure(d_o, t, modulus, nu);
    if method == 0.0 {
        return ovality_factor(ovality) * round;
    }
    let m = (d_o - t) / 2.0 / t;
    let b = yield_stress / m + (1.0 + 6.0 * m * ovality) * round;
    let c = yield_stress / m * round;
    // The lesser root in the form that does not cancel.
    2.0 * c / (b + (b * b - 4.0 * c).sqrt())
}

fn pipe_modulus(material: f64, load: f64) -> f64 {
    let long = load != 0.0;
    let gigapascals = match (material, long) {
        (0.0, false) => 2.8,
        (0.0, true) => 1.2,
        (1.0, false) => 1.0,
        (1.0, true) => 0.2,
        (2.0, false) => 1.3,
        (2.0, true) => 0.3,
        (3.0, _) => 207.0,
        (4.0, _) => 170.0,
        _ => f64::NAN,
    };
    gigapascals * 1e9
}
