//! A pond through time: inflow, a turbine that stops and starts, an overflow weir, residual flow.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::pond_run::{Outlets, Run, run};
use crate::pond_shape::{AREA, LEVEL, Shape};
use crate::sources::DEFINITION;
use crate::usual::GRAVITY;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "pond balance",
    about: "The level of a pond through time, what its turbine takes, and what spills.",
    formulas: FORMULAS,
};

const DAM: &str = "Not a design of a spillway: floods outside this record come, and a weir blocked by \
    debris passes less. How much must stay in the stream is for the water-right permit to say. Defer \
    to the dam's owner, its engineer and the dam-safety authority.";

const EQUATION: &str = "dV/dt = Q_in − Q_r − Q_t − ⅔ C_d b √(2 g) (z − z_c)^1.5, within each interval \
    at constant inflow; V(z) = ∫ A dz. The turbine stops at its least level and starts again at its \
    restart level; where both are one level it throttles to hold it. Spill does not count as residual \
    flow. At the table's lowest level the pond is empty, and what comes goes on as residual flow";

const BALANCE: Source = Source::exact(DEFINITION, "balance of volume under the weir equation");

const PARAMETERS: &[Parameter] = &[
    LEVEL,
    AREA,
    Parameter::of_kind(
        "inflow",
        Kind::Series(Dimension::FLOW),
        "mean inflow of each interval, in their order",
    )
    .not_negative(),
    Parameter::new("interval", Dimension::TIME, "over which each inflow lasts").positive(),
    Parameter::new(
        "start_level",
        Dimension::LENGTH,
        "at the start, within the table; above the least level the turbine runs",
    ),
    Parameter::of_kind(
        "turbine_flow",
        Kind::Series(Dimension::FLOW),
        "while it runs: one flow, or one for each interval (0 for upkeep)",
    )
    .not_negative()
    .column(),
    Parameter::new("least_level", Dimension::LENGTH, "at which the turbine stops"),
    Parameter::new(
        "restart_level",
        Dimension::LENGTH,
        "at which it starts again; the least level itself for a turbine that throttles",
    ),
    Parameter::new("crest_level", Dimension::LENGTH, "of the overflow weir, within the table"),
    Parameter::new("crest_width", Dimension::LENGTH, "of the overflow weir").positive(),
    Parameter::new("coefficient", Dimension::NONE, "of the weir, in Q = ⅔ C_d b √(2 g) h^1.5")
        .positive()
        .valid(0.5, 0.8)
        .or(0.62),
    Parameter::of_kind(
        "residual_flow",
        Kind::Series(Dimension::FLOW),
        "that leaves at all times, beside turbine and weir: one flow, or one for each interval",
    )
    .not_negative()
    .column()
    .or(0.0),
    GRAVITY,
];

const POND: (&str, &str) = ("level", "[100, 101, 101.8, 102.5] m");
const AREAS: (&str, &str) = ("area", "[300, 900, 1400, 2000] m^2");

/// A week-end's figures: falls, cycles, fills and spills.
const CYCLED: &[(&str, &str)] = &[
    POND,
    AREAS,
    ("inflow", "[20, 15, 40, 110, 180, 60, 30] L/s"),
    ("interval", "6 h"),
    ("start_level", "101.7 m"),
    ("turbine_flow", "60 L/s"),
    ("least_level", "101 m"),
    ("restart_level", "101.4 m"),
    ("crest_level", "102 m"),
    ("crest_width", "1.5 m"),
    ("residual_flow", "8 L/s"),
];

/// The same pond with a turbine that throttles.
const THROTTLED: &[(&str, &str)] = &[
    POND,
    AREAS,
    ("inflow", "[20, 15, 40, 110, 180, 60, 30] L/s"),
    ("interval", "6 h"),
    ("start_level", "101.3 m"),
    ("turbine_flow", "60 L/s"),
    ("least_level", "101 m"),
    ("restart_level", "101 m"),
    ("crest_level", "102 m"),
    ("crest_width", "1.5 m"),
    ("residual_flow", "8 L/s"),
];

/// Turbine and residual flow of each interval.
const SERIES: &[(&str, &str)] = &[
    POND,
    AREAS,
    ("inflow", "[20, 150, 40] L/s"),
    ("interval", "6 h"),
    ("start_level", "101.7 m"),
    ("turbine_flow", "[60, 60, 30] L/s"),
    ("least_level", "101 m"),
    ("restart_level", "101.4 m"),
    ("crest_level", "102 m"),
    ("crest_width", "1.5 m"),
    ("residual_flow", "[8, 10, 12] L/s"),
];

const SCIPY: &str = "scipy 1.17.1, solve_ivp with events, relative tolerance 1e-11";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "pond_balance",
        summary: "The level of a pond at the end of each interval.",
        equation: EQUATION,
        parameters: PARAMETERS,
        result: Output::new(Dimension::LENGTH).series(),
        limits: &[],
        caution: Some(DAM),
        source: BALANCE,
        hides: None,
        checks: &[
            Check {
                arguments: CYCLED,
                expected: "[101.06882073045, 101.221439134195, 101.029963069246, \
                           101.963006002689, 102.118495171873, 101.921641285220, \
                           101.279385207642] m",
                tolerance: 2e-7,
                source: SCIPY,
            },
            Check {
                arguments: THROTTLED,
                expected: "[101, 101, 101, 101.790838407415, 102.11849515648, \
                           101.921641284118, 101.279385206099] m",
                tolerance: 2e-7,
                source: SCIPY,
            },
            Check {
                arguments: SERIES,
                expected: "[101.06882073045, 102.094562885522, 101.987497391718] m",
                tolerance: 2e-7,
                source: SCIPY,
            },
        ],
        body: Body::ToSeries(|of| each(of, |run| run.level)),
    },
    Formula {
        name: "pond_turbine_flow",
        summary: "What the turbine takes from a pond, on the mean of each interval.",
        equation: EQUATION,
        parameters: PARAMETERS,
        result: Output::new(Dimension::FLOW).series(),
        limits: &[],
        caution: Some(DAM),
        source: BALANCE,
        hides: None,
        checks: &[
            Check {
                arguments: CYCLED,
                expected: "[45.3197340396689, 0, 40.674603181693, 49.576452077767, 60, 60, 60] L/s",
                tolerance: 1e-6,
                source: SCIPY,
            },
            Check {
                arguments: THROTTLED,
                expected: "[25.8020833785399, 7, 32, 60, 60, 60, 60] L/s",
                tolerance: 1e-6,
                source: SCIPY,
            },
            Check {
                arguments: SERIES,
                expected: "[45.3197340396689, 53.1233878759598, 30] L/s",
                tolerance: 1e-6,
                source: SCIPY,
            },
        ],
        body: Body::ToSeries(|of| each(of, |run| run.turbined / run.interval)),
    },
    Formula {
        name: "pond_spill",
        summary: "What spills over a pond's weir, on the mean of each interval.",
        equation: EQUATION,
        parameters: PARAMETERS,
        result: Output::new(Dimension::FLOW).series(),
        limits: &[],
        caution: Some(DAM),
        source: BALANCE,
        hides: None,
        checks: &[
            Check {
                arguments: CYCLED,
                expected: "[0, 0, 0, 0, 100.436517785885, 6.47814686447, 0] L/s",
                tolerance: 1e-4,
                source: SCIPY,
            },
            Check {
                arguments: SERIES,
                expected: "[0, 26.406459065515, 5.963478202124] L/s",
                tolerance: 2e-4,
                source: SCIPY,
            },
        ],
        body: Body::ToSeries(|of| each(of, |run| run.spilled / run.interval)),
    },
    Formula {
        name: "pond_starts",
        summary: "How often the turbine starts in each interval, fed from a pond.",
        equation: EQUATION,
        parameters: PARAMETERS,
        result: Output::new(Dimension::NONE).series(),
        limits: &[],
        caution: Some(DAM),
        source: BALANCE,
        hides: None,
        checks: &[
            Check {
                arguments: CYCLED,
                expected: "[0, 0, 1, 1, 0, 0, 0]",
                tolerance: 0.0,
                source: SCIPY,
            },
            Check {
                arguments: &[
                    POND,
                    ("area", "500 m^2"),
                    ("inflow", "[40] L/s"),
                    ("interval", "10 d"),
                    ("start_level", "101.4 m"),
                    ("turbine_flow", "60 L/s"),
                    ("least_level", "101 m"),
                    ("restart_level", "101.4 m"),
                    ("crest_level", "102 m"),
                    ("crest_width", "1.5 m"),
                ],
                expected: "[57]",
                tolerance: 0.0,
                source: "by hand: 200 m³ fall at 20 L/s in 10 000 s and rise at 40 L/s in 5000 s; the \
                         start at 15 000 s and each 15 000 s after that, 57.6 of them in 864 000 s",
            },
        ],
        body: Body::ToSeries(|of| each(of, |run| run.starts)),
    },
];

/// What of one interval is asked for.
fn each(arguments: &[Argument<'_>], of: fn(&Run) -> f64) -> Result<Vec<f64>, Refusal> {
    let &[
        level,
        area,
        Argument::Series(inflow),
        Argument::Number(interval),
        Argument::Number(start_level),
        turbine_flow,
        Argument::Number(least_level),
        Argument::Number(restart_level),
        Argument::Number(crest_level),
        Argument::Number(crest_width),
        Argument::Number(coefficient),
        residual_flow,
        Argument::Number(gravity),
    ] = arguments
    else {
        return Err(Refusal("inflow: expected a series".to_owned()));
    };
    let shape = Shape::read(level, area)?;
    let outlets = Outlets {
        least_level,
        restart_level,
        crest_level,
        weir: 2.0 / 3.0 * coefficient * crest_width * (2.0 * gravity).sqrt(),
    };
    let turbine_flow = Flow::read("turbine_flow", turbine_flow, inflow.len())?;
    let residual_flow = Flow::read("residual_flow", residual_flow, inflow.len())?;
    let flows = inflow
        .iter()
        .enumerate()
        .map(|(at, inflow)| [*inflow, turbine_flow.at(at), residual_flow.at(at)]);
    Ok(run(&shape, &outlets, start_level, interval, flows)?.iter().map(of).collect())
}

/// One flow for all intervals, or one for each.
enum Flow<'a> {
    Steady(f64),
    Each(&'a [f64]),
}

impl<'a> Flow<'a> {
    fn read(name: &str, argument: Argument<'a>, count: usize) -> Result<Self, Refusal> {
        match argument {
            Argument::Number(flow) => Ok(Self::Steady(flow)),
            Argument::Series(flows) if flows.len() == count => Ok(Self::Each(flows)),
            _ => Err(Refusal(format!("{name}: must be one flow, or one for each inflow"))),
        }
    }

    fn at(&self, interval: usize) -> f64 {
        match self {
            Self::Steady(flow) => *flow,
            Self::Each(flows) => flows[interval],
        }
    }
}
