//! Losses at inlets, outlets, changes of bore, bends and valves.

use forebay_units::Dimension;

use crate::diffusers;
use crate::formula::{
    Body, Check, Formula, Kind, Limit, Output, Parameter, Range, Source, Subject,
};
use crate::miller_diffuser;
use crate::sources::{BERNOULLI, CRANE};
use crate::usual::{DEGREE, RADIAN};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "fittings",
    about: "Losses at inlets, outlets, changes of bore, bends and valves.",
    formulas: FORMULAS,
};

const FLUIDS: &str = "Crane TP-410 by the reference library fluids 1.3.1";

pub(crate) const BORE_IN: Parameter =
    Parameter::new("bore_in", Dimension::LENGTH, "bore before the change").positive();

pub(crate) const BORE_OUT: Parameter =
    Parameter::new("bore_out", Dimension::LENGTH, "bore after the change").positive();

pub(crate) const WIDENS: Limit = Limit { says: "bore_in ≤ bore_out", holds: |a| a[0] <= a[1] };

const NARROWS: Limit = Limit { says: "bore_out ≤ bore_in", holds: |a| a[1] <= a[0] };

/// Entrances and their coefficients on the pipe's velocity.
pub(crate) const ENTRANCES: &[&str] =
    &["projecting", "flush", "flush_rennels", "flush_miller", "rounded", "bellmouth"];
const ENTRANCE_K: [f64; 6] = [0.78, 0.5, 0.57, 0.51, 0.04, 0.04];

/// Fittings and their coefficients as multiples of f_T.
pub(crate) const FITTINGS: &[&str] = &[
    "gate_valve",
    "ball_valve",
    "butterfly_valve",
    "swing_check_valve",
    "swing_check_valve_angled",
    "foot_valve",
    "foot_valve_poppet",
    "elbow",
    "elbow_45",
    "bend",
    "miter",
    "tee_through",
    "tee_branch",
];
const FITTING_RATIOS: [f64; 13] =
    [8.0, 3.0, 45.0, 50.0, 100.0, 75.0, 420.0, 30.0, 16.0, 14.0, 60.0, 20.0, 60.0];

pub(crate) const CONES: &str = "Published methods give 0.016 to 0.53 for one 6° cone: treat the \
    figure as a guess with a wide band. swamee exceeds the sudden widening itself and may belong to \
    another velocity: the library that has it doubts it.";

pub(crate) const CONE_ANGLE: Parameter =
    Parameter::new("angle", Dimension::ANGLE, "full angle of the cone")
        .within(0.0, std::f64::consts::PI)
        .valid(1.0 * DEGREE, 45.0 * DEGREE);

pub(crate) const CONE_FRICTION: Parameter = Parameter::new(
    "friction_factor",
    Dimension::NONE,
    "of the cone's wall (Darcy), for hooper, idelchik and rennels; 0.02 unless given",
)
.not_negative()
.valid(0.008, 0.05)
.or(0.02);

const DIFFUSER_CHECKS: &[Check] = &[
    Check {
        arguments: &[("bore_in", "0.2 m"), ("bore_out", "0.3 m"), ("angle", "6 deg")],
        expected: "0.04199799",
        tolerance: 1e-6,
        source: FLUIDS,
    },
    Check {
        arguments: &[
            ("bore_in", "0.25 m"),
            ("bore_out", "0.4 m"),
            ("angle", "12 deg"),
            ("method", "hooper"),
            ("friction_factor", "0.018"),
        ],
        expected: "0.10237323",
        tolerance: 1e-6,
        source: "Hooper 1988 by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.25 m"),
            ("bore_out", "0.4 m"),
            ("angle", "12 deg"),
            ("method", "idelchik"),
            ("friction_factor", "0.018"),
        ],
        expected: "0.0920",
        tolerance: 0.05,
        source: "Idelchik's table by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.2 m"),
            ("bore_out", "0.45 m"),
            ("angle", "40 deg"),
            ("method", "idelchik"),
        ],
        expected: "0.605",
        tolerance: 0.05,
        source: "Idelchik's table by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.2 m"),
            ("bore_out", "0.3 m"),
            ("angle", "6 deg"),
            ("method", "miller"),
        ],
        expected: "0.0158249",
        tolerance: 1e-5,
        source: "Miller's chart by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.2 m"),
            ("bore_out", "0.35 m"),
            ("angle", "30 deg"),
            ("method", "miller"),
        ],
        expected: "0.3124298",
        tolerance: 1e-6,
        source: "Miller's chart by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.25 m"),
            ("bore_out", "0.4 m"),
            ("angle", "12 deg"),
            ("method", "rennels"),
            ("friction_factor", "0.018"),
        ],
        expected: "0.07803821",
        tolerance: 1e-6,
        source: "Rennels & Hudson 2012 by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.2 m"),
            ("bore_out", "0.45 m"),
            ("angle", "40 deg"),
            ("method", "rennels"),
            ("friction_factor", "0.02"),
        ],
        expected: "0.63238119",
        tolerance: 1e-6,
        source: "Rennels & Hudson 2012 by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.2 m"),
            ("bore_out", "0.35 m"),
            ("angle", "30 deg"),
            ("method", "rennels"),
            ("friction_factor", "0.02"),
        ],
        expected: "0.36962215",
        tolerance: 1e-6,
        source: "Rennels & Hudson 2012 by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.2 m"),
            ("bore_out", "0.5 m"),
            ("angle", "100 deg"),
            ("method", "rennels"),
        ],
        expected: "0.74348946",
        tolerance: 1e-6,
        source: "Rennels & Hudson 2012 by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.2 m"),
            ("bore_out", "0.3 m"),
            ("angle", "100 deg"),
            ("method", "rennels"),
        ],
        expected: "0.33627467",
        tolerance: 1e-6,
        source: "Rennels & Hudson 2012 by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.2 m"),
            ("bore_out", "0.3 m"),
            ("angle", "50 deg"),
            ("method", "crane"),
        ],
        expected: "0.30864198",
        tolerance: 1e-6,
        source: FLUIDS,
    },
    Check {
        arguments: &[
            ("bore_in", "0.2 m"),
            ("bore_out", "0.3 m"),
            ("angle", "6 deg"),
            ("method", "swamee"),
        ],
        expected: "0.53092923",
        tolerance: 1e-6,
        source: "Swamee & Sharma 2008 by the reference library fluids 1.3.1",
    },
    Check {
        arguments: &[
            ("bore_in", "0.25 m"),
            ("bore_out", "0.4 m"),
            ("angle", "12 deg"),
            ("method", "gibson"),
        ],
        expected: "0.0832173678",
        tolerance: 1e-8,
        source: "Gibson 1910 (equation from memory), by arithmetic apart from this code",
    },
];

static FORMULAS: &[Formula] = &[
    Formula {
        name: "entrance_loss_coefficient",
        summary: "Loss at the entrance of a pipe, on the pipe's velocity.",
        equation: "K: projecting 0.78, flush sharp 0.5 (Rennels 0.57, Miller 0.51), rounded or \
                   bellmouth (radius 0.15 bore and more) 0.04",
        parameters: &[Parameter::of_kind(
            "shape",
            Kind::Choice(ENTRANCES),
            "how the pipe begins; the three kinds of flush differ by their author",
        )],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::library(CRANE, "appendix A; Rennels as in the library fluids; Miller"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("shape", "flush_rennels")],
                expected: "0.57",
                tolerance: 0.02,
                source: "Rennels by the reference library fluids 1.3.1",
            },
            Check {
                arguments: &[("shape", "rounded")],
                expected: "0.04",
                tolerance: 0.02,
                source: FLUIDS,
            },
            Check {
                arguments: &[("shape", "flush")],
                expected: "0.5",
                tolerance: 0.02,
                source: "Crane TP-410, also Cengel & Cimbala 2010, Ex. 8-8",
            },
        ],
        body: Body::One(entrance),
    },
    Formula {
        name: "exit_loss_coefficient",
        summary: "Loss where a pipe ends in still water: all its velocity head.",
        equation: "K = 1",
        parameters: &[],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(BERNOULLI, "Borda–Carnot into an endless width"),
        hides: None,
        checks: &[Check {
            arguments: &[],
            expected: "1",
            tolerance: 1e-12,
            source: "Crane TP-410, pipe exit",
        }],
        body: Body::Constant(1.0),
    },
    Formula {
        name: "expansion_loss_coefficient",
        summary: "Loss at a sudden widening, on the velocity before it, in the smaller bore.",
        equation: "K = (1 − A₁/A₂)²",
        parameters: &[BORE_IN, BORE_OUT],
        result: Output::new(Dimension::NONE),
        limits: &[WIDENS],
        caution: Some(
            "The other form, (A₂/A₁ − 1)², belongs to the velocity in the larger bore and is \
             several times this: never mix the two.",
        ),
        source: Source::exact(BERNOULLI, "Borda–Carnot"),
        hides: None,
        checks: &[Check {
            arguments: &[("bore_in", "60 mm"), ("bore_out", "90 mm")],
            expected: "0.308641975",
            tolerance: 1e-8,
            source: "Borda–Carnot by the reference library fluids 1.3.1",
        }],
        body: Body::Two(expansion),
    },
    Formula {
        name: "contraction_loss_coefficient",
        summary: "Loss at a sudden narrowing, on the velocity behind it, in the smaller bore.",
        equation: "K = 0.5 (1 − (D₂/D₁)²)",
        parameters: &[BORE_IN, BORE_OUT],
        result: Output::new(Dimension::NONE),
        limits: &[NARROWS],
        caution: None,
        source: Source::library(CRANE, "sudden contraction; Rennels goes to 0.57"),
        hides: None,
        checks: &[Check {
            arguments: &[("bore_in", "0.2 m"), ("bore_out", "0.1 m")],
            expected: "0.375",
            tolerance: 1e-9,
            source: FLUIDS,
        }],
        body: Body::Two(contraction),
    },
    Formula {
        name: "diffuser_loss_coefficient",
        summary: "Loss of a cone that widens gradually, on the velocity before it; \
            diffuser_loss_coefficient_band gives it by every method.",
        equation: "K = s (1 − β²)² + w, β = D₁/D₂, w = f (1 − β⁴)/(8 sin(α/2)); crane: s = 2.6 \
                   sin(α/2), above 45° 1, w = 0; hooper: 1 + 0.8 f times that; gibson: s = 3.5 \
                   tan^1.22(α/2) from 0.135 to 1.2, w = 0; idelchik: s = 3.2 tan^1.25(α/2) up to \
                   1.15; rennels: s = 8.3 tan^1.75(α/2) up to 20°, then 1.366 √sin(2 (α − 15°)) \
                   − 0.17 up to 60°, then from 1.205 down and w = 0, less where β < 0.5; miller: \
                   his chart; swamee: K = (0.25 α⁻³ (1 + 0.6 r^−1.67 (π − α)/α)^(0.533 r − \
                   2.6))^−½, r = 1/β",
        parameters: &[
            BORE_IN,
            BORE_OUT,
            CONE_ANGLE,
            Parameter::of_kind(
                "method",
                Kind::Choice(diffusers::METHODS),
                "whose method; Crane unless given",
            )
            .or(0.0),
            CONE_FRICTION,
        ],
        result: Output::new(Dimension::NONE),
        limits: &[
            WIDENS,
            Limit {
                says: "an angle from 7.5° to 35° for gibson",
                holds: |a| {
                    let angles = Range::between(7.5_f64.to_radians(), 35_f64.to_radians());
                    a[3].round() != diffusers::GIBSON || angles.holds(a[2])
                },
            },
            Limit {
                says: "areas of 1.1 to 4 and a length of 0.1 to 20 inlet radii for miller",
                holds: |a| a[3].round() != diffusers::MILLER || on_the_chart(a[0], a[1], a[2]),
            },
        ],
        caution: Some(CONES),
        source: Source::memory(
            CRANE,
            "gradual enlargement. By the library fluids 1.3.1 too: Hooper 1988; Miller, Internal \
             Flow Systems, 1990; Rennels & Hudson, Pipe Flow, 2012; Swamee & Sharma, Design of \
             Water Supply Pipe Networks, 2008. From memory: Gibson 1910; Idelchik, Handbook of \
             Hydraulic Resistance, whose table it follows within 5 %",
        ),
        hides: RADIAN,
        checks: DIFFUSER_CHECKS,
        body: Body::Five(diffusers::diffuser),
    },
    Formula {
        name: "friction_factor_fully_rough",
        summary: "Crane's f_T: friction factor of clean commercial steel at a high Reynolds number.",
        equation: "f_T = 0.25 / lg²(e/(3.7 D)), e = 0.0018 in",
        parameters: &[Parameter::new("bore", Dimension::LENGTH, "inside diameter of the pipe")
            .within(0.005, 10.0)
            .valid(0.012, 0.95)],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::library(CRANE, "complete turbulence; roughness 0.00015 ft"),
        hides: Some("foot: the roughness of steel"),
        checks: &[Check {
            arguments: &[("bore", "0.1 m")],
            expected: "0.0162885",
            tolerance: 0.01,
            source: "Crane TP-410 by the reference library fluids 1.3.1, which fits the table",
        }],
        body: Body::One(fully_rough),
    },
    Formula {
        name: "fitting_loss_coefficient",
        summary: "Loss of a fully open valve or of a fitting, on the pipe's velocity.",
        equation: "K = n f_T: gate valve 8, ball 3, butterfly (2 to 8 in) 45, swing check 50 \
                   (angled seat 100), foot valve hinged 75, poppet 420, elbow 30, 45° elbow 16, \
                   bend r/D 1.5 14, miter 90° 60, tee through 20, branch 60",
        parameters: &[
            Parameter::of_kind("fitting", Kind::Choice(FITTINGS), "which, fully open"),
            Parameter::new("bore", Dimension::LENGTH, "inside diameter of the pipe")
                .within(0.005, 10.0)
                .valid(0.012, 0.95),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(
            "Makes differ by a factor of two. A check or foot valve opens fully only above a \
             velocity of its own.",
        ),
        source: Source::memory(CRANE, "appendix A; multiples of f_T partly from memory"),
        hides: Some("foot: the roughness of steel"),
        checks: &[
            Check {
                arguments: &[("fitting", "bend"), ("bore", "0.1 m")],
                expected: "0.2290226",
                tolerance: 0.02,
                source: FLUIDS,
            },
            Check {
                arguments: &[("fitting", "gate_valve"), ("bore", "0.1 m")],
                expected: "0.1303077",
                tolerance: 0.02,
                source: FLUIDS,
            },
            Check {
                arguments: &[("fitting", "swing_check_valve"), ("bore", "0.1 m")],
                expected: "0.8144230",
                tolerance: 0.02,
                source: FLUIDS,
            },
        ],
        body: Body::Two(fitting),
    },
];

// Indices come from the choices, which are as long as the tables.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub(crate) fn entrance(shape: f64) -> f64 {
    ENTRANCE_K.get(shape as usize).copied().unwrap_or(f64::NAN)
}

pub(crate) fn expansion(d1: f64, d2: f64) -> f64 {
    if d1 > d2 { f64::NAN } else { (1.0 - (d1 / d2).powi(2)).powi(2) }
}

pub(crate) fn contraction(d1: f64, d2: f64) -> f64 {
    if d2 > d1 { f64::NAN } else { 0.5 * (1.0 - (d2 / d1).powi(2)) }
}

fn on_the_chart(d1: f64, d2: f64, alpha: f64) -> bool {
    let (length, ratio) = miller_diffuser::shape(d1, d2, alpha);
    let inside = |(from, to): (f64, f64), value| Range::between(from, to).holds(value);
    inside(miller_diffuser::LENGTHS, length) && inside(miller_diffuser::AREA_RATIOS, ratio)
}

fn fully_rough(d: f64) -> f64 {
    const STEEL: f64 = 0.000_15 * 0.3048;
    0.25 / (STEEL / (3.7 * d)).log10().powi(2)
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub(crate) fn fitting(which: f64, d: f64) -> f64 {
    FITTING_RATIOS.get(which as usize).map_or(f64::NAN, |n| n * fully_rough(d))
}
