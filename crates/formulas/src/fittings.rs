//! Losses at inlets, outlets, changes of bore, bends and valves.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Kind, Limit, Output, Parameter, Source, Subject};
use crate::sources::{BERNOULLI, CRANE};
use crate::usual::RADIAN;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "fittings",
    about: "Losses at inlets, outlets, changes of bore, bends and valves.",
    formulas: FORMULAS,
};

const FLUIDS: &str = "Crane TP-410 by the reference library fluids 1.3.1";

const BORE_IN: Parameter =
    Parameter::new("bore_in", Dimension::LENGTH, "bore before the change").positive();

const BORE_OUT: Parameter =
    Parameter::new("bore_out", Dimension::LENGTH, "bore after the change").positive();

const WIDENS: Limit = Limit { says: "bore_in ≤ bore_out", holds: |a| a[0] <= a[1] };

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
        summary: "Loss of a cone that widens gradually, on the velocity before it.",
        equation: "K = 2.6 sin(α/2) (1 − (D₁/D₂)²)²; above 45° the sudden widening",
        parameters: &[
            BORE_IN,
            BORE_OUT,
            Parameter::new("angle", Dimension::ANGLE, "full angle of the cone")
                .within(0.0, std::f64::consts::PI)
                .valid(0.02, std::f64::consts::FRAC_PI_4),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[WIDENS],
        caution: Some(
            "Six published methods give 0.016 to 0.53 for one 6° cone: treat the figure as a \
             guess with a wide band.",
        ),
        source: Source::library(CRANE, "gradual enlargement"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[("bore_in", "0.2 m"), ("bore_out", "0.3 m"), ("angle", "6 deg")],
            expected: "0.04199799",
            tolerance: 1e-6,
            source: FLUIDS,
        }],
        body: Body::Three(diffuser),
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
        source: Source::library(CRANE, "appendix A; multiples of f_T partly from memory"),
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

fn diffuser(d1: f64, d2: f64, alpha: f64) -> f64 {
    let sudden = expansion(d1, d2);
    // 2.6 sin(22.5°) is 0.995: at 45° the two meet.
    sudden * (2.6 * (alpha / 2.0).sin()).min(1.0)
}

fn fully_rough(d: f64) -> f64 {
    const STEEL: f64 = 0.000_15 * 0.3048;
    0.25 / (STEEL / (3.7 * d)).log10().powi(2)
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub(crate) fn fitting(which: f64, d: f64) -> f64 {
    FITTING_RATIOS.get(which as usize).map_or(f64::NAN, |n| n * fully_rough(d))
}
