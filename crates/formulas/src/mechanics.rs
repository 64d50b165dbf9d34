//! What a pipe above ground must be given: supports, room to move, and weight to hold it down.

use std::f64::consts::PI;

use forebay_units::Dimension;

use crate::formula::{
    Body, Check, Formula, Kind, Limit, Output, Parameter, Range, Source, Subject,
};
use crate::pipes::circle_area;
use crate::sources::{AWWA_M11, BEAMS, DEFINITION};
use crate::usual::{DENSITY, GRAVITY};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "mechanics",
    about: "Supports, thermal movement, flotation, thrust and anchors of a pipe.",
    formulas: FORMULAS,
};

/// Force per length.
const LOAD: Dimension = Dimension::of(0, 1, -2, 0, 0, 0, 0);

/// Strain per temperature.
const EXPANSION: Dimension = Dimension::of(0, 0, 0, 0, -1, 0, 0);

const SUPPORTS: &str = "Bending alone: wind, snow, a person on the pipe, soft supports, joints and \
    the stress from pressure come on top. Saddles, their bolts and joints are the maker's matter. A \
    full pipe that falls can kill: let a licensed engineer check spans over people or water.";

const ANCHOR: &str = "Test pressure and surge count, not the pressure of every day, and wet ground \
    holds less. Anchor bolts are the maker's matter; blocks and soil are for a licensed engineer \
    (AWWA M11, M23).";

const OUTSIDE: Parameter =
    Parameter::new("outside_diameter", Dimension::LENGTH, "of the pipe").positive();

const WALL: Parameter =
    Parameter::new("wall", Dimension::LENGTH, "thickness of the wall").positive();

const PIPE_DENSITY: Parameter = Parameter::new(
    "pipe_density",
    Dimension::DENSITY,
    "of the pipe's material: steel 7850, PVC 1400, polyethylene 955 kg/m³ (from memory)",
)
.positive()
.valid(800.0, 9000.0);

const LOADED: Parameter = Parameter::new(
    "load",
    LOAD,
    "weight for each length: pipe, water and what lies on it (pipe_load)",
)
.not_negative();

const SPAN: Parameter =
    Parameter::new("span", Dimension::LENGTH, "from support to support").positive();

const MODULUS: Parameter = Parameter::new(
    "modulus",
    Dimension::PRESSURE_DIFFERENCE,
    "elastic modulus; the long-term one for plastic, which creeps: PVC 1.2 GPa, polyethylene \
     0.2 GPa (from memory)",
)
.positive();

const ENDS: Parameter = Parameter::of_kind(
    "ends",
    Kind::Choice(&["simple", "continuous"]),
    "simple: the pipe ends or is jointed at its supports, or it is the last span; continuous: it \
     goes on over many equal spans, which hold one another level",
)
.or(0.0);

const COEFFICIENT: Parameter = Parameter::new(
    "coefficient",
    EXPANSION,
    "of expansion: steel 12e-6, PVC 70e-6, polyethylene 180e-6 per kelvin (from memory)",
)
.not_negative()
.valid(0.0, 3e-4);

const CHANGE: Parameter = Parameter::new(
    "temperature_change",
    Dimension::TEMPERATURE_DIFFERENCE,
    "of the pipe itself from the day it was fixed: an empty pipe in the sun against icy water",
);

const THIN: Limit = Limit { says: "outside_diameter > 2 × wall", holds: |of| of[0] > 2.0 * of[1] };

static FORMULAS: &[Formula] = &[
    Formula {
        name: "pipe_load",
        summary: "What a pipe and its filling weigh for each length.",
        equation: "w = (ρ_p π (D_o² − D_i²)/4 + ρ π D_i²/4) g, D_i = D_o − 2 t",
        parameters: &[
            OUTSIDE,
            WALL,
            PIPE_DENSITY,
            Parameter::new("filling", Dimension::DENSITY, "density of what fills it; 0 empty")
                .not_negative()
                .or(1000.0),
            GRAVITY,
        ],
        result: Output::new(LOAD).shown_in("N/m", "lbf/ft"),
        limits: &[THIN],
        caution: None,
        source: Source::exact(DEFINITION, "weight"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("outside_diameter", "4.5 in"),
                    ("wall", "0.237 in"),
                    ("pipe_density", "7850 kg/m^3"),
                    ("filling", "0 kg/m^3"),
                ],
                expected: "10.79 lbf/ft",
                tolerance: 1.2e-3,
                source: "ASME B36.10M, NPS 4 schedule 40, plain end (from memory)",
            },
            Check {
                arguments: &[
                    ("outside_diameter", "4.5 in"),
                    ("wall", "0.237 in"),
                    ("pipe_density", "7850 kg/m^3"),
                ],
                expected: "16.31 lbf/ft",
                tolerance: 1.5e-3,
                source: "the same full of water, 5.52 lb/ft more in pipe tables (from memory)",
            },
        ],
        body: Body::Five(pipe_load),
    },
    Formula {
        name: "span_stress",
        summary: "The bending stress in a pipe between two supports.",
        equation: "σ = M/Z, M = w L²/8 simple, w L²/12 continuous; Z = π (D_o⁴ − D_i⁴)/(32 D_o)",
        parameters: &[OUTSIDE, WALL, LOADED, SPAN, ENDS],
        result: Output::new(Dimension::PRESSURE_DIFFERENCE).shown_in("MPa", "psi"),
        limits: &[THIN],
        caution: Some(SUPPORTS),
        source: Source::memory(BEAMS, "uniform load; ends free or held"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("outside_diameter", "4.5 in"),
                    ("wall", "0.237 in"),
                    ("load", "16.3 lbf/ft"),
                    ("span", "14 ft"),
                ],
                expected: "1491 psi",
                tolerance: 4e-4,
                source: "by hand with the tabulated section modulus 3.214 in³ of NPS 4 schedule 40; \
                    ASME B31.1, table 121.5 gives 14 ft for 1500 psi (from memory)",
            },
            Check {
                arguments: &[
                    ("outside_diameter", "4.5 in"),
                    ("wall", "0.237 in"),
                    ("load", "16.3 lbf/ft"),
                    ("span", "14 ft"),
                    ("ends", "continuous"),
                ],
                expected: "994 psi",
                tolerance: 5e-4,
                source: "the same with w L²/12, by hand",
            },
        ],
        body: Body::Five(span_stress),
    },
    Formula {
        name: "span_deflection",
        summary: "How far a pipe sags between two supports.",
        equation: "δ = 5 w L⁴/(384 E I) simple, w L⁴/(384 E I) continuous; I = π (D_o⁴ − D_i⁴)/64",
        parameters: &[OUTSIDE, WALL, LOADED, SPAN, MODULUS, ENDS],
        result: Output::new(Dimension::LENGTH).shown_in("mm", "in"),
        limits: &[THIN],
        caution: Some(SUPPORTS),
        source: Source::memory(BEAMS, "uniform load; ends free or held"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("outside_diameter", "4.5 in"),
                    ("wall", "0.237 in"),
                    ("load", "16.3 lbf/ft"),
                    ("span", "14 ft"),
                    ("modulus", "29e6 psi"),
                ],
                expected: "0.06717 in",
                tolerance: 2e-4,
                source: "Crocker & King, Piping Handbook, y = 22.5 w L⁴/(E I) in ft and in, by hand \
                    with I = 7.233 in⁴",
            },
            Check {
                arguments: &[
                    ("outside_diameter", "4.5 in"),
                    ("wall", "0.237 in"),
                    ("load", "16.3 lbf/ft"),
                    ("span", "14 ft"),
                    ("modulus", "29e6 psi"),
                    ("ends", "continuous"),
                ],
                expected: "0.013434 in",
                tolerance: 2e-4,
                source: "Crocker & King, y = 4.5 w L⁴/(E I), by hand with I = 7.233 in⁴",
            },
        ],
        body: Body::Six(span_deflection),
    },
    Formula {
        name: "span_limit",
        summary: "The longest span that keeps both a bending stress and a sag.",
        equation: "the lesser L of span_stress = σ and span_deflection = δ",
        parameters: &[
            OUTSIDE,
            WALL,
            LOADED,
            MODULUS,
            Parameter::new(
                "stress",
                Dimension::PRESSURE_DIFFERENCE,
                "allowed for bending, what pressure takes already left out",
            )
            .positive(),
            Parameter::new("deflection", Dimension::LENGTH, "allowed at mid-span").positive(),
            ENDS,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[THIN],
        caution: Some(SUPPORTS),
        source: Source::memory(BEAMS, "uniform load; ends free or held"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("outside_diameter", "4.5 in"),
                ("wall", "0.237 in"),
                ("load", "16.3 lbf/ft"),
                ("modulus", "29e6 psi"),
                ("stress", "1500 psi"),
                ("deflection", "0.1 in"),
            ],
            expected: "14 ft",
            tolerance: 3.6e-2,
            source: "ASME B31.1, table 121.5, NPS 4 with water, printed to the foot, for 1500 psi \
                and 0.1 in (from memory)",
        }],
        body: Body::Seven(span_limit),
    },
    Formula {
        name: "thermal_movement",
        summary: "How much longer a free pipe gets when it warms; shorter below zero.",
        equation: "ΔL = α L ΔT",
        parameters: &[
            Parameter::new("length", Dimension::LENGTH, "of the pipe from its fixed point")
                .not_negative(),
            CHANGE,
            COEFFICIENT,
        ],
        result: Output::new(Dimension::LENGTH).shown_in("mm", "in"),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "coefficient of expansion"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("length", "1275 m"),
                ("temperature_change", "55 K"),
                ("coefficient", "12e-6 1/K"),
            ],
            expected: "0.84 m",
            tolerance: 6e-3,
            source: "OpenStax, College Physics, Ex. 13.3, main span of a bridge (from memory)",
        }],
        body: Body::Three(|length, change, coefficient| coefficient * length * change),
    },
    Formula {
        name: "thermal_stress",
        summary: "The stress in a pipe that is held and cannot move: pressed where it warms, drawn \
            below zero.",
        equation: "σ = E α ΔT",
        parameters: &[
            MODULUS,
            CHANGE,
            COEFFICIENT,
        ],
        result: Output::new(Dimension::PRESSURE_DIFFERENCE).shown_in("MPa", "psi"),
        limits: &[],
        caution: Some(ANCHOR),
        source: Source::exact(DEFINITION, "Hooke's law"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("modulus", "3e7 psi"),
                ("temperature_change", "480 delta_degF"),
                ("coefficient", "10.44e-6 1/K"),
            ],
            expected: "84000 psi",
            tolerance: 6e-3,
            source: "a published course on thermal stress: steel from 60 to 540 °F, 5.8e-6 per °F",
        }],
        body: Body::Three(|modulus, change, coefficient| modulus * coefficient * change),
    },
    Formula {
        name: "thermal_force",
        summary: "The force on the anchors of a pipe that is held and cannot move.",
        equation: "F = E α ΔT π (D_o² − D_i²)/4",
        parameters: &[OUTSIDE, WALL, MODULUS, CHANGE, COEFFICIENT],
        result: Output::new(Dimension::FORCE),
        limits: &[THIN],
        caution: Some(ANCHOR),
        source: Source::exact(DEFINITION, "Hooke's law"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("outside_diameter", "160 mm"),
                ("wall", "4.7 mm"),
                ("modulus", "3 GPa"),
                ("temperature_change", "25 K"),
                ("coefficient", "70e-6 1/K"),
            ],
            expected: "12038.669442354 N",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code, 5.25 MPa on 2293.1 mm²",
        }],
        body: Body::Five(thermal_force),
    },
    Formula {
        name: "flotation_uplift",
        summary: "The net lift on each length of an empty pipe that is under water, or in ground \
            that is; below zero it sinks by itself.",
        equation: "u = (ρ π D_o²/4 − ρ_p π (D_o² − D_i²)/4) g",
        parameters: &[OUTSIDE, WALL, PIPE_DENSITY, DENSITY, GRAVITY],
        result: Output::new(LOAD).shown_in("N/m", "lbf/ft"),
        limits: &[THIN],
        caution: Some(
            "An empty pipe rises suddenly, when the ground water or the flood does: anchor it with a \
             margin of at least a fifth (common practice, no source) before it is laid dry.",
        ),
        source: Source::exact(DEFINITION, "Archimedes"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("outside_diameter", "1.25 m"),
                ("wall", "25 mm"),
                ("pipe_density", "7900 kg/m^3"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "4582.7 N/m",
            tolerance: 1e-4,
            source: "a published solved exercise, 13 748 N on 3 m of steel pipe of 120 and 125 cm",
        }],
        body: Body::Five(flotation_uplift),
    },
    Formula {
        name: "end_thrust",
        summary: "The force along a pipe at a blind end or a closed valve, and at a tee that turns \
            the flow aside its momentum too.",
        equation: "F = p A + ρ Q²/A",
        parameters: &[
            Parameter::new(
                "pressure",
                Dimension::PRESSURE_DIFFERENCE,
                "gauge pressure there, surge included; negative on a suction leg, where the force \
                 turns round",
            ),
            Parameter::new("bore", Dimension::LENGTH, "inside diameter; of the joint for a socket")
                .positive(),
            Parameter::new("flow", Dimension::FLOW, "that is turned aside there; none unless given")
                .not_negative()
                .or(0.0),
            DENSITY,
        ],
        result: Output::new(Dimension::FORCE),
        limits: &[],
        caution: Some(ANCHOR),
        source: Source::exact(DEFINITION, "balance of momentum"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("pressure", "60 kPa"), ("bore", "0.3 m")],
                expected: "4241.150082346 N",
                tolerance: 1e-12,
                source: "by hand, 60 kPa on 0.0706858 m²",
            },
            Check {
                arguments: &[
                    ("pressure", "60 kPa"),
                    ("bore", "0.3 m"),
                    ("flow", "120 L/s"),
                    ("density", "998 kg/m^3"),
                ],
                expected: "4444.46097284953 N",
                tolerance: 1e-12,
                source: "by arithmetic apart from this code",
            },
        ],
        body: Body::Four(|pressure, bore, flow, density| {
            let area = circle_area(bore);
            pressure * area + density * flow * flow / area
        }),
    },
    Formula {
        name: "anchor_weight",
        summary: "The weight of a block that holds a thrust by friction on the ground alone.",
        equation: "W = S F/μ + U",
        parameters: &[
            Parameter::new("thrust", Dimension::FORCE, "sideways (bend_thrust, end_thrust)")
                .not_negative(),
            Parameter {
                must: Range { from: 0.0, to: 2.0, above: true },
                ..Parameter::new(
                    "friction",
                    Dimension::NONE,
                    "of the block on the ground: 0.25 wet clay to 0.5 gravel (from memory)",
                )
            }
            .valid(0.1, 0.8),
            Parameter::new(
                "uplift",
                Dimension::FORCE,
                "upward pull on the block, its buoyancy in wet ground included; downward below zero",
            )
            .or(0.0),
            Parameter::new("safety", Dimension::NONE, "factor of safety against sliding")
                .positive()
                .valid(1.2, 5.0)
                .or(1.5),
        ],
        result: Output::new(Dimension::FORCE).shown_in("kN", "lbf"),
        limits: &[],
        caution: Some(ANCHOR),
        source: Source::memory(AWWA_M11, "thrust blocks; factor of safety 1.5"),
        hides: None,
        checks: &[Check {
            arguments: &[("thrust", "3246 N"), ("friction", "0.4"), ("uplift", "800 N")],
            expected: "12972.5 N",
            tolerance: 1e-12,
            source: "by hand, 1.5 · 3246/0.4 + 800",
        }],
        body: Body::Four(|thrust, friction, uplift, safety| safety * thrust / friction + uplift),
    },
];

fn bore(d_o: f64, t: f64) -> f64 {
    if d_o > 2.0 * t { d_o - 2.0 * t } else { f64::NAN }
}

fn pipe_load(d_o: f64, t: f64, rho_p: f64, rho: f64, g: f64) -> f64 {
    let inside = circle_area(bore(d_o, t));
    (rho_p * (circle_area(d_o) - inside) + rho * inside) * g
}

/// Second moment of area.
fn second_moment(d_o: f64, t: f64) -> f64 {
    PI / 64.0 * (d_o.powi(4) - bore(d_o, t).powi(4))
}

fn section_modulus(d_o: f64, t: f64) -> f64 {
    second_moment(d_o, t) / (d_o / 2.0)
}

/// What divides w L² in the moment, and what w L⁴ is a share of in the sag.
fn beam(ends: f64) -> (f64, f64) {
    if ends == 0.0 { (8.0, 5.0 / 384.0) } else { (12.0, 1.0 / 384.0) }
}

fn span_stress(d_o: f64, t: f64, w: f64, span: f64, ends: f64) -> f64 {
    w * span * span / beam(ends).0 / section_modulus(d_o, t)
}

fn span_deflection(d_o: f64, t: f64, w: f64, span: f64, modulus: f64, ends: f64) -> f64 {
    beam(ends).1 * w * span.powi(4) / (modulus * second_moment(d_o, t))
}

fn span_limit(
    d_o: f64,
    t: f64,
    w: f64,
    modulus: f64,
    stress: f64,
    deflection: f64,
    ends: f64,
) -> f64 {
    let (moment, sag) = beam(ends);
    let by_stress = (moment * stress * section_modulus(d_o, t) / w).sqrt();
    let by_sag = (deflection * modulus * second_moment(d_o, t) / (sag * w)).powf(0.25);
    // A wall that fills the pipe has no answer, which `min` would hide.
    if by_stress.is_nan() { f64::NAN } else { by_stress.min(by_sag) }
}

fn thermal_force(d_o: f64, t: f64, modulus: f64, change: f64, coefficient: f64) -> f64 {
    modulus * coefficient * change * (circle_area(d_o) - circle_area(bore(d_o, t)))
}

fn flotation_uplift(d_o: f64, t: f64, rho_p: f64, rho: f64, g: f64) -> f64 {
    let outside = circle_area(d_o);
    (rho * outside - rho_p * (outside - circle_area(bore(d_o, t)))) * g
}
