//! Self-use: how much of a plant's energy meets the load of the house as it comes.

use std::collections::VecDeque;

use forebay_units::Dimension;

use crate::bills::whole;
use crate::formula::{
    Argument, Body, Check, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::sources::DEFINITION;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "self_use",
    about: "Interval by interval: how much of what is generated is used on the spot.",
    formulas: FORMULAS,
};

const GENERATION: Parameter = Parameter::of_kind(
    "generation",
    Kind::Series(Dimension::ENERGY),
    "generated, interval after interval: an hour or less, for longer intervals hide what is fed in \
     and drawn within them",
)
.not_negative();

const LOAD: Parameter =
    Parameter::of_kind("load", Kind::Series(Dimension::ENERGY), "used in the same intervals")
        .not_negative();

const WAITING_LOAD: Parameter = Parameter::of_kind(
    "waiting_load",
    Kind::Series(Dimension::ENERGY),
    "energy wanted in each interval that can wait, such as hot water; beside the load, not part \
     of it",
)
.not_negative();

const WAITS: Parameter = Parameter::new(
    "waits",
    Dimension::NONE,
    "how many intervals it can wait; what is not met by then is drawn from the grid",
)
.within(0.0, 1e9);

const MOST: Parameter = Parameter::new(
    "most",
    Dimension::ENERGY,
    "the most that the waiting load can take in one interval: power of the heater times interval",
)
.not_negative();

static FORMULAS: &[Formula] = &[
    Formula {
        name: "self_used",
        summary: "The generated energy that is used on the spot.",
        equation: "Σ min(G_k, L_k)",
        parameters: &[GENERATION, LOAD],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "self-use"),
        hides: None,
        checks: &[Check {
            arguments: &[("generation", "[1, 2, 3, 0.5] kWh"), ("load", "[2, 1.25, 1, 2] kWh")],
            expected: "3.75 kWh",
            tolerance: 1e-12,
            source: "by hand, 1 + 1.25 + 1 + 0.5",
        }],
        body: Body::Series(|arguments| {
            let (generation, load) = pair(arguments)?;
            Ok(generation.iter().zip(load).map(|(g, l)| g.min(*l)).sum())
        }),
    },
    Formula {
        name: "self_used_each",
        summary: "The generated energy that is used on the spot, interval by interval.",
        equation: "min(G_k, L_k)",
        parameters: &[GENERATION, LOAD],
        result: Output::new(Dimension::ENERGY).series(),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "self-use"),
        hides: None,
        checks: &[Check {
            arguments: &[("generation", "[1, 2, 3, 0.5] kWh"), ("load", "[2, 1.25, 1, 2] kWh")],
            expected: "[1, 1.25, 1, 0.5] kWh",
            tolerance: 1e-12,
            source: "by hand",
        }],
        body: Body::ToSeries(|arguments| {
            let (generation, load) = pair(arguments)?;
            Ok(generation.iter().zip(load).map(|(g, l)| g.min(*l)).collect())
        }),
    },
    Formula {
        name: "self_used_with_waiting_load",
        summary: "The generated energy that is used on the spot when part of the load waits for a \
            surplus, the oldest first.",
        equation: "Σ min(G_k, L_k) + what the surpluses G_k − L_k, each up to the most, bring to \
            loads that wait",
        parameters: &[GENERATION, LOAD, WAITING_LOAD, WAITS, MOST],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: Some(
            "Stored hot water must be held hot enough, and heated through often enough, that \
             legionella do not grow: follow the local health rules before letting it wait.",
        ),
        source: Source::exact(DEFINITION, "self-use"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("generation", "[1, 2, 3, 0.5] kWh"),
                ("load", "[2, 1, 1, 2] kWh"),
                ("waiting_load", "[3, 0, 0, 1] kWh"),
                ("waits", "2"),
                ("most", "1.5 kWh"),
            ],
            expected: "6 kWh",
            tolerance: 1e-12,
            source: "by hand: 1 + 1 + 1 + 0.5 at once, then 1 and 1.5 to what waits; 0.5 runs out \
                of time",
        }],
        body: Body::Series(|arguments| {
            let waited = waiting(arguments)?;
            Ok(waited.at_once + waited.later)
        }),
    },
    Formula {
        name: "waiting_load_from_grid",
        summary: "The energy of a load that can wait which must be drawn from the grid after all, \
            because no surplus came in time; what still waits at the end is not counted.",
        equation: "Σ of waiting load not met within its time",
        parameters: &[GENERATION, LOAD, WAITING_LOAD, WAITS, MOST],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "self-use"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("generation", "[1, 2, 3, 0.5] kWh"),
                ("load", "[2, 1, 1, 2] kWh"),
                ("waiting_load", "[3, 0, 0, 1] kWh"),
                ("waits", "2"),
                ("most", "1.5 kWh"),
            ],
            expected: "0.5 kWh",
            tolerance: 1e-12,
            source: "by hand: 3 − 1 − 1.5 after two intervals",
        }],
        body: Body::Series(|arguments| Ok(waiting(arguments)?.from_grid)),
    },
];

fn pair<'a>(arguments: &[Argument<'a>]) -> Result<(&'a [f64], &'a [f64]), Refusal> {
    let &[Argument::Series(generation), Argument::Series(load)] = arguments else {
        return Err(Refusal("generation, load: expected series".to_owned()));
    };
    same_length(generation, load, "load")?;
    Ok((generation, load))
}

fn same_length(generation: &[f64], other: &[f64], name: &str) -> Result<(), Refusal> {
    if generation.len() == other.len() {
        return Ok(());
    }
    Err(Refusal(format!("{name}: has {} values, generation has {}", other.len(), generation.len())))
}

/// Energies of a run with a load that waits.
struct Waited {
    at_once: f64,
    later: f64,
    from_grid: f64,
}

fn waiting(arguments: &[Argument<'_>]) -> Result<Waited, Refusal> {
    let &[
        Argument::Series(generation),
        Argument::Series(load),
        Argument::Series(waiting_load),
        Argument::Number(waits),
        Argument::Number(most),
    ] = arguments
    else {
        return Err(Refusal("generation, load, waiting_load: expected series".to_owned()));
    };
    same_length(generation, load, "load")?;
    same_length(generation, waiting_load, "waiting_load")?;
    let waits = whole("waits", waits)?;
    // The last interval of each load that waits and what is left of it, oldest first.
    let mut queue: VecDeque<(usize, f64)> = VecDeque::new();
    let mut energy = Waited { at_once: 0.0, later: 0.0, from_grid: 0.0 };
    let intervals = generation.iter().zip(load).zip(waiting_load).enumerate();
    for (interval, ((generated, used), wanted)) in intervals {
        if *wanted > 0.0 {
            queue.push_back((interval.saturating_add(waits), *wanted));
        }
        energy.at_once += generated.min(*used);
        let mut surplus = (generated - used).max(0.0).min(most);
        while surplus > 0.0
            && let Some((_, amount)) = queue.front_mut()
        {
            let met = surplus.min(*amount);
            surplus -= met;
            energy.later += met;
            *amount -= met;
            if *amount <= 0.0 {
                queue.pop_front();
            }
        }
        while queue.front().is_some_and(|(last, _)| *last <= interval)
            && let Some((_, amount)) = queue.pop_front()
        {
            energy.from_grid += amount;
        }
    }
    Ok(energy)
}
