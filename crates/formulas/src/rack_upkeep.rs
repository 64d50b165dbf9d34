//! A screen that clogs: how its loss grows, and how often cleaning pays.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Limit, Output, Parameter, Refusal, Source, Standing, Subject,
};
use crate::sources::COMMON_PRACTICE;
use crate::usual::{DENSITY, GRAVITY, SHARE_ABOVE_ZERO};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "rack upkeep",
    about: "How the loss at a screen grows as it clogs, and how often cleaning pays.",
    formulas: FORMULAS,
};

const AUTUMN: &str = "A planning figure from a simple picture: in leaf fall, flood or frazil ice a \
    screen closes within hours. A clogged screen can break under the water's load: ask its maker. \
    Never rake it alone or from the water.";

const STEADY_CLOGGING: Source = Source {
    work: COMMON_PRACTICE,
    place: "the free area shrinks at a steady rate, and the loss goes with the square of the velocity \
            through it",
    standing: Standing::CommonPractice,
};

const CLEAN_LOSS: Parameter =
    Parameter::new("clean_loss", Dimension::LENGTH, "head lost at the clean screen").not_negative();

const BLOCKING_RATE: Parameter = Parameter::new(
    "blocking_rate",
    Dimension::FREQUENCY,
    "share of the clean openings that closes in a time: 5 % / (1 d)",
)
.not_negative();

static FORMULAS: &[Formula] = &[
    Formula {
        name: "rack_loss_growth",
        summary: "The head lost at a screen some time after it was cleaned.",
        equation: "h = h₀/(1 − r t)²",
        parameters: &[
            CLEAN_LOSS,
            BLOCKING_RATE,
            Parameter::new("time", Dimension::TIME, "since it was cleaned").not_negative(),
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[Limit {
            says: "less than 70 % of the openings closed",
            holds: |of| of[1] * of[2] < 0.7,
        }],
        caution: Some(AUTUMN),
        source: STEADY_CLOGGING,
        hides: None,
        checks: &[Check {
            arguments: &[("clean_loss", "3 cm"), ("blocking_rate", "0.06 1/d"), ("time", "5 d")],
            expected: "6.12244897959184 cm",
            tolerance: 1e-12,
            source: "by hand, 3/0.49",
        }],
        body: Body::Three(loss_growth),
    },
    Formula {
        name: "rack_mean_loss",
        summary: "The head lost at a screen on the mean between two cleanings.",
        equation: "h̄ = h₀/(1 − r T)",
        parameters: &[
            CLEAN_LOSS,
            BLOCKING_RATE,
            Parameter::new("interval", Dimension::TIME, "from one cleaning to the next")
                .not_negative(),
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[Limit {
            says: "less than 70 % of the openings closed",
            holds: |of| of[1] * of[2] < 0.7,
        }],
        caution: Some(AUTUMN),
        source: STEADY_CLOGGING,
        hides: None,
        checks: &[Check {
            arguments: &[
                ("clean_loss", "3 cm"),
                ("blocking_rate", "0.06 1/d"),
                ("interval", "5 d"),
            ],
            expected: "4.285714285714286 cm",
            tolerance: 1e-12,
            source: "scipy 1.17.1, quad of h₀/(1 − r t)² over the interval",
        }],
        body: Body::Three(mean_loss),
    },
    Formula {
        name: "cleaning_interval",
        summary: "The time between two cleanings of a screen at which cleaning and lost energy cost \
            least together.",
        equation: "T = 1/(r + √(ρ g Q η h₀ r k/c)), the least of c/T + ρ g Q η k (h̄ − h₀)",
        parameters: &[
            CLEAN_LOSS.positive(),
            BLOCKING_RATE.positive(),
            Parameter::new("flow", Dimension::FLOW, "through the turbine").positive(),
            Parameter {
                must: SHARE_ABOVE_ZERO,
                ..Parameter::new("efficiency", Dimension::NONE, "of all stages")
            },
            Parameter::new("price", Dimension::PRICE_OF_ENERGY, "of a unit of energy").positive(),
            Parameter::new(
                "cleaning_cost",
                Dimension::MONEY,
                "of one cleaning, the own hour priced",
            )
            .positive(),
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::TIME),
        limits: &[],
        caution: Some(AUTUMN),
        source: STEADY_CLOGGING,
        hides: None,
        checks: &[Check {
            arguments: &[
                ("clean_loss", "3 cm"),
                ("blocking_rate", "0.06 1/d"),
                ("flow", "0.4 m^3/s"),
                ("efficiency", "0.7"),
                ("price", "0.25 EUR/kWh"),
                ("cleaning_cost", "12 EUR"),
            ],
            expected: "9.1147791940 d",
            tolerance: 1e-8,
            source: "scipy 1.17.1, minimize_scalar of the cost, its loss by quad",
        }],
        body: Body::Series(cleaning_interval),
    },
];

fn loss_growth(h0: f64, r: f64, t: f64) -> f64 {
    let free = 1.0 - r * t;
    // No water passes a screen that is closed.
    if free <= 0.0 { f64::NAN } else { h0 / (free * free) }
}

fn mean_loss(h0: f64, r: f64, t: f64) -> f64 {
    let free = 1.0 - r * t;
    if free <= 0.0 { f64::NAN } else { h0 / free }
}

fn cleaning_interval(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[
        Argument::Number(clean_loss),
        Argument::Number(rate),
        Argument::Number(flow),
        Argument::Number(efficiency),
        Argument::Number(price),
        Argument::Number(cost),
        Argument::Number(density),
        Argument::Number(gravity),
    ] = arguments
    else {
        return Err(Refusal("clean_loss, blocking_rate: expected numbers".to_owned()));
    };
    // What the clean screen's loss costs in a time.
    let worth = density * gravity * flow * efficiency * clean_loss * price;
    Ok(1.0 / (rate + (worth * rate / cost).sqrt()))
}
