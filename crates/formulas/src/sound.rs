//! Sound: levels of several sources summed, and what is left of them at a distance.

use std::f64::consts::LN_10;

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Limit, Output, Parameter, Refusal, Source, Subject,
};
use crate::sources::{ISO_9613, PFAFFLIN};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "sound",
    about: "Sound levels summed, and at a distance. Levels are plain numbers of decibels.",
    formulas: FORMULAS,
};

const NOISE: &str = "In the open, from one small source, nothing in between: walls and water throw \
    sound back, tones and the quiet of the night count more than the number. What a neighbour must \
    bear is a matter of local law; near the machine, protect your hearing above 80 dB(A).";

const LEVEL: Parameter =
    Parameter::new("level", Dimension::NONE, "sound pressure level in dB, A-weighted or not")
        .within(-50.0, 250.0);

const DISTANCE: Parameter =
    Parameter::new("distance", Dimension::LENGTH, "from the source").positive();

static FORMULAS: &[Formula] = &[
    Formula {
        name: "sound_levels_summed",
        summary: "The level of several sounds together that have nothing to do with one another.",
        equation: "L = 10 lg Σ 10^(L_i/10)",
        parameters: &[Parameter::of_kind(
            "levels",
            Kind::Series(Dimension::NONE),
            "sound pressure levels in dB at one place, all weighted the same",
        )
        .within(-50.0, 250.0)],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::read(PFAFFLIN, "Noise, eq. 6.1"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("levels", "[85, 88, 80, 70, 95]")],
                expected: "96.25",
                tolerance: 6e-5,
                source: "Pfafflin & Ziegler, Noise, example of five machines",
            },
            Check {
                arguments: &[("levels", "[35, 40, 45]")],
                expected: "46.5",
                tolerance: 1.1e-3,
                source: "Städtebauliche Lärmfibel, 2.4.2",
            },
        ],
        body: Body::Series(sound_levels_summed),
    },
    Formula {
        name: "sound_level_less_background",
        summary: "The level of a source alone, from the level with it running and the level of the \
            background.",
        equation: "L = 10 lg(10^(L_t/10) − 10^(L_b/10))",
        parameters: &[
            Parameter { name: "total", about: "level in dB with the source running", ..LEVEL },
            Parameter { name: "background", about: "level in dB with it at rest", ..LEVEL },
        ],
        result: Output::new(Dimension::NONE),
        limits: &[
            Limit { says: "background < total", holds: |of| of[1] < of[0] },
            Limit {
                says: "background ≤ total − 3, below which the difference is lost in the errors",
                holds: |of| of[1] <= of[0] - 3.0,
            },
        ],
        caution: None,
        source: Source::read(PFAFFLIN, "Noise"),
        hides: None,
        checks: &[Check {
            arguments: &[("total", "85"), ("background", "80")],
            expected: "83.35",
            tolerance: 6e-5,
            source: "A. Farina, University of Parma, Decibel values, sum and difference, example 3",
        }],
        body: Body::Two(sound_level_less_background),
    },
    Formula {
        name: "sound_level_at_distance",
        summary: "The level further away from a small source in the open: 6 dB less each time the \
            distance doubles.",
        equation: "L = L_0 − 20 lg(r/r_0)",
        parameters: &[
            LEVEL,
            Parameter {
                name: "measured_at",
                about: "distance from the source at which the level was taken: several times the \
                    size of the source",
                ..DISTANCE
            },
            DISTANCE,
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(NOISE),
        source: Source::memory(ISO_9613, "7.1, geometrical divergence"),
        hides: None,
        checks: &[Check {
            arguments: &[("level", "72"), ("measured_at", "2 m"), ("distance", "16 m")],
            expected: "53.938",
            tolerance: 1e-5,
            source: "three doublings at 20 lg 2 = 6.0206 dB, by hand",
        }],
        body: Body::Three(sound_level_at_distance),
    },
    Formula {
        name: "sound_level_of_power",
        summary: "The level at a distance from a source whose sound power level is known, as makers \
            state it.",
        equation: "L = L_W − 20 lg(r/1 m) − 11 + D",
        parameters: &[
            Parameter { name: "power_level", about: "sound power level in dB", ..LEVEL },
            DISTANCE,
            Parameter::new(
                "directivity",
                Dimension::NONE,
                "in dB: 0 all round, 3 on the ground or before a wall, 6 in a corner on the ground",
            )
            .within(-20.0, 20.0)
            .valid(0.0, 9.0)
            .or(0.0),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(NOISE),
        source: Source::memory(ISO_9613, "7.1, geometrical divergence"),
        hides: Some("the metre, and the reference values of the decibel"),
        checks: &[Check {
            arguments: &[("power_level", "88"), ("distance", "25 m"), ("directivity", "3")],
            expected: "52.041",
            tolerance: 1e-5,
            source: "by hand, 88 − 20 lg 25 − 11 + 3 with lg 25 = 1.39794",
        }],
        body: Body::Three(sound_level_of_power),
    },
];

fn sound_levels_summed(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(levels)] = arguments else {
        return Err(Refusal("levels: expected a series".to_owned()));
    };
    if levels.is_empty() {
        return Err(Refusal("levels: at least one is needed".to_owned()));
    }
    Ok(decibels(levels.iter().map(|level| energy(*level)).sum()))
}

fn sound_level_less_background(total: f64, background: f64) -> f64 {
    decibels(energy(total) - energy(background))
}

fn sound_level_at_distance(level: f64, measured_at: f64, distance: f64) -> f64 {
    level - 20.0 * (distance / measured_at).log10()
}

fn sound_level_of_power(power_level: f64, distance: f64, directivity: f64) -> f64 {
    power_level - 20.0 * distance.log10() - 11.0 + directivity
}

/// The share of the reference energy that a level stands for.
fn energy(level: f64) -> f64 {
    (level / 10.0 * LN_10).exp()
}

fn decibels(energy: f64) -> f64 {
    10.0 * energy.log10()
}
