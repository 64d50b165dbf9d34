//! The pond: how long it lasts, how far it falls, how much it must hold.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Limit, Output, Parameter, Refusal, Source, Subject,
};
use crate::side_by_side::side_by_side;
use crate::sources::{CENGEL, DEFINITION, MEHTA};
use crate::usual::{DENSITY, GRAVITY, SHARE_ABOVE_ZERO};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "pond",
    about: "How long a pond lasts, how far it falls, and how much it must hold.",
    formulas: FORMULAS,
};

const DAM: &str = "A pond that rises or fails floods neighbours, and one that falls fast can slide \
    its banks: neither spillway nor dam is checked here. Defer to the dam's owner, its engineer and \
    the dam-safety authority.";

const AREA: Parameter =
    Parameter::new("area", Dimension::AREA, "of the water surface, the same at every level")
        .positive();

const START_HEAD: Parameter =
    Parameter::new("start_head", Dimension::LENGTH, "head on the outlet at the start").positive();

const END_HEAD: Parameter =
    Parameter::new("end_head", Dimension::LENGTH, "head on the outlet at the end");

const FALLS: Limit = Limit { says: "end_head ≤ start_head", holds: |of| of[2] <= of[1] };

static FORMULAS: &[Formula] = &[
    Formula {
        name: "drawdown_time",
        summary: "How long a pond lasts above its inflow.",
        equation: "t = A h/(Q_out − Q_in)",
        parameters: &[
            AREA,
            Parameter::new("depth", Dimension::LENGTH, "by which the level may fall")
                .not_negative(),
            Parameter::new("outflow", Dimension::FLOW, "steady").not_negative(),
            Parameter::new("inflow", Dimension::FLOW, "steady").not_negative(),
        ],
        result: Output::new(Dimension::TIME),
        limits: &[],
        caution: Some(DAM),
        source: Source::exact(DEFINITION, "balance of volume"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("area", "800 m^2"),
                ("depth", "0.4 m"),
                ("outflow", "60 L/s"),
                ("inflow", "25 L/s"),
            ],
            expected: "2.53968253968254 h",
            tolerance: 1e-9,
            source: "by hand, 320 m³ at 35 L/s",
        }],
        body: Body::Series(drawdown_time),
    },
    Formula {
        name: "orifice_drain_time",
        summary: "How long a pond without inflow takes to fall from one level to another through an \
            opening under water.",
        equation: "t = 2 A (√h₁ − √h₂)/(C_d a √(2 g))",
        parameters: &[
            AREA,
            START_HEAD,
            END_HEAD.not_negative(),
            Parameter::new("opening", Dimension::AREA, "area of the opening").positive(),
            Parameter::new(
                "coefficient",
                Dimension::NONE,
                "of discharge: 0.61 for a sharp edge, near 1 for a rounded one",
            )
            .positive()
            .valid(0.5, 1.0)
            .or(0.61),
            GRAVITY,
        ],
        result: Output::new(Dimension::TIME),
        limits: &[FALLS],
        caution: Some(DAM),
        source: Source::read(CENGEL, "ch. 5, Ex. 5-2"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("area", "0.636173 m^2"),
                    ("start_head", "1.2 m"),
                    ("end_head", "0.6 m"),
                    ("opening", "1.327323 cm^2"),
                    ("coefficient", "1"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "11.6 min",
                tolerance: 3e-3,
                source: "Cengel & Cimbala 2010, Ex. 5-2 (tank of 0.9 m, jet of 13 mm)",
            },
            Check {
                arguments: &[
                    ("area", "0.636173 m^2"),
                    ("start_head", "1.2 m"),
                    ("end_head", "0.6 m"),
                    ("opening", "1.327323 cm^2"),
                    ("coefficient", "0.8"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "14.5 min",
                tolerance: 4e-3,
                source: "the same, divided by a coefficient of 0.8",
            },
        ],
        body: side_by_side!(orifice_drain_time, a, b, c, d, e, f),
    },
    Formula {
        name: "weir_drain_time",
        summary: "How long a pond without inflow takes to fall from one level to another over a \
            rectangular weir.",
        equation: "t = 3 A (1/√h₂ − 1/√h₁)/(C_d b √(2 g))",
        parameters: &[
            AREA,
            START_HEAD,
            END_HEAD.positive(),
            Parameter::new("width", Dimension::LENGTH, "of the crest").positive(),
            Parameter::new(
                "coefficient",
                Dimension::NONE,
                "of discharge, in Q = ⅔ C_d b √(2 g) h^1.5",
            )
            .positive()
            .valid(0.5, 0.8)
            .or(0.62),
            GRAVITY,
        ],
        result: Output::new(Dimension::TIME),
        limits: &[FALLS],
        caution: Some(DAM),
        source: Source::exact(DEFINITION, "balance of volume under the weir equation"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("area", "1500 m^2"),
                ("start_head", "0.35 m"),
                ("end_head", "0.10 m"),
                ("width", "1.2 m"),
                ("coefficient", "0.62"),
            ],
            expected: "2010.3096 s",
            tolerance: 1e-6,
            source: "scipy 1, quad of A dh/Q(h) over the head",
        }],
        body: Body::Six(weir_drain_time),
    },
    Formula {
        name: "pond_fall",
        summary: "How far a pond without inflow falls while a plant gives a power.",
        equation: "Δh = P t/(η ρ g H A)",
        parameters: &[
            AREA,
            Parameter::new("power", Dimension::POWER, "after all stages").not_negative(),
            Parameter::new("time", Dimension::TIME, "for which it runs").not_negative(),
            Parameter::new("head", Dimension::LENGTH, "net, taken as constant").positive(),
            Parameter {
                must: SHARE_ABOVE_ZERO,
                ..Parameter::new("efficiency", Dimension::NONE, "of all stages")
            },
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[Limit {
            says: "fall ≤ 10 % of the head, which is taken as constant",
            holds: |of| pond_fall(of[0], of[1], of[2], of[3], of[4], of[5], of[6]) <= 0.1 * of[3],
        }],
        caution: Some(DAM),
        source: Source::read(MEHTA, "ch. 2, Ex. 2.10"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("area", "2.4 km^2"),
                ("power", "15000 kW"),
                ("time", "3 h"),
                ("head", "100 m"),
                ("efficiency", "0.726"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "9.478 cm",
            tolerance: 6e-5,
            source: "Mehta & Mehta 2005, Ex. 2.10",
        }],
        body: side_by_side!(pond_fall, a, b, c, d, e, f, g),
    },
    Formula {
        name: "pondage",
        summary: "The volume that lets a plant take the mean of uneven inflows at a steady rate.",
        equation: "S = max Σ(Q − Q̄) Δt − min Σ(Q − Q̄) Δt, summed from the start",
        parameters: &[
            Parameter::of_kind(
                "flows",
                Kind::Series(Dimension::FLOW),
                "mean inflows over equal times, in their order",
            )
            .not_negative(),
            Parameter::new("interval", Dimension::TIME, "over which each flow lasts").positive(),
        ],
        result: Output::new(Dimension::VOLUME),
        limits: &[],
        caution: Some(DAM),
        source: Source::read(MEHTA, "ch. 2, Ex. 2.13"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("flows", "[500, 520, 850, 800, 875, 900, 546] m^3/s"),
                ("interval", "1 d"),
            ],
            expected: "4.95e7 m^3",
            tolerance: 1e-3,
            source: "Mehta & Mehta 2005, Ex. 2.13",
        }],
        body: Body::Series(pondage),
    },
];

fn drawdown_time(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[
        Argument::Number(area),
        Argument::Number(depth),
        Argument::Number(outflow),
        Argument::Number(inflow),
    ] = arguments
    else {
        return Err(Refusal("area, depth, outflow, inflow: expected numbers".to_owned()));
    };
    if inflow >= outflow {
        return Err(Refusal(
            "outflow: does not exceed the inflow, so that the pond never falls".to_owned(),
        ));
    }
    Ok(area * depth / (outflow - inflow))
}

fn orifice_drain_time(
    area: f64,
    start_head: f64,
    end_head: f64,
    opening: f64,
    coefficient: f64,
    gravity: f64,
) -> f64 {
    2.0 * area * (start_head.sqrt() - end_head.sqrt())
        / (coefficient * opening * (2.0 * gravity).sqrt())
}

fn weir_drain_time(
    area: f64,
    start_head: f64,
    end_head: f64,
    width: f64,
    coefficient: f64,
    gravity: f64,
) -> f64 {
    3.0 * area * (end_head.powf(-0.5) - start_head.powf(-0.5))
        / (coefficient * width * (2.0 * gravity).sqrt())
}

fn pond_fall(
    area: f64,
    power: f64,
    time: f64,
    head: f64,
    efficiency: f64,
    density: f64,
    gravity: f64,
) -> f64 {
    let volume = power * time / (efficiency * density * gravity * head);
    volume / area
}

fn pondage(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(flows), Argument::Number(interval)] = arguments else {
        return Err(Refusal("flows: expected a series; interval: expected a number".to_owned()));
    };
    if flows.is_empty() {
        return Err(Refusal("flows: the series is empty".to_owned()));
    }
    // A series is far shorter than 2^52.
    #[allow(clippy::cast_precision_loss)]
    let mean = flows.iter().sum::<f64>() / flows.len() as f64;
    let (mut sum, mut least, mut greatest) = (0.0_f64, 0.0_f64, 0.0_f64);
    for flow in flows {
        sum += (flow - mean) * interval;
        least = least.min(sum);
        greatest = greatest.max(sum);
    }
    Ok(greatest - least)
}
