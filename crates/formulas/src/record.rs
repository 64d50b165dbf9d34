//! The energy of a year from a record that has gaps, and how much of the year the record covers.

use forebay_units::Dimension;

use crate::call::YEAR;
use crate::formula::{
    Argument, Body, Check, Doubted, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::sources::DEFINITION;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "record",
    about: "The energy of a year from a record with gaps, and how much of the year it covers.",
    formulas: FORMULAS,
};

/// Less of a year than this is told.
const ENOUGH: f64 = 0.9;

const SEASONS: &str = "Days that are missing count as the mean of those that are there: where they \
    are missing in one season, as of drought or flood, the year comes out wrong. Look at \
    record_coverage first.";

const POWERS: Parameter = Parameter::of_kind(
    "powers",
    Kind::Series(Dimension::POWER),
    "those that were read, of equal intervals: `present(powers)` of a record with gaps; standstill \
     is 0, no gap",
);

const INTERVAL: Parameter =
    Parameter::new("interval", Dimension::TIME, "that each value stands for: 1 d, 1 h").positive();

const YEAR_LENGTH: Parameter =
    Parameter::new("year_length", Dimension::TIME, "365 d unless given; 366 d of a leap year")
        .positive()
        .valid(YEAR, YEAR + 86_400.0)
        .or(YEAR);

static FORMULAS: &[Formula] = &[
    Formula {
        name: "energy_for_year",
        summary: "The energy of a year from a record with gaps: the mean of the powers that are \
            there, over the whole year.",
        equation: "E = (Σ P_k/n) T",
        parameters: &[POWERS, INTERVAL, YEAR_LENGTH],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: Some(SEASONS),
        source: Source::exact(DEFINITION, "energy is mean power times time"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("powers", "[2, 3.5, 0, 1] kW"), ("interval", "91.25 d")],
                expected: "14235 kWh",
                tolerance: 1e-12,
                source: "by hand, 1.625 kW · 8760 h",
            },
            Check {
                arguments: &[
                    ("powers", "[4.2, 0, 2.7] kW"),
                    ("interval", "100 d"),
                    ("year_length", "366 d"),
                ],
                expected: "20203.2 kWh",
                tolerance: 1e-12,
                source: "by hand, 2.3 kW · 8784 h",
            },
        ],
        body: Body::SeriesDoubted(energy_for_year),
    },
    Formula {
        name: "record_coverage",
        summary: "The share of a year that the values of a record cover; more than 1 of several \
            years.",
        equation: "c = n Δt/T",
        parameters: &[POWERS, INTERVAL, YEAR_LENGTH],
        result: Output::new(Dimension::NONE).shown_in("%", "%"),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "share of the time"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("powers", "[4.2, 0, 2.7] kW"),
                ("interval", "73 d"),
                ("year_length", "365 d"),
            ],
            expected: "0.6",
            tolerance: 1e-12,
            source: "by hand, 219 d of 365 d",
        }],
        body: Body::Series(|arguments| record(arguments).map(|record| record.coverage)),
    },
];

/// What there is of a year.
struct Record<'a> {
    powers: &'a [f64],
    year: f64,
    coverage: f64,
}

#[allow(clippy::cast_precision_loss)] // No record has 2^53 values.
fn record<'a>(arguments: &[Argument<'a>]) -> Result<Record<'a>, Refusal> {
    let &[Argument::Series(powers), Argument::Number(interval), Argument::Number(year)] = arguments
    else {
        return Err(Refusal("powers: expected a series".to_owned()));
    };
    Ok(Record { powers, year, coverage: powers.len() as f64 * interval / year })
}

#[allow(clippy::cast_precision_loss)] // As above.
fn energy_for_year(arguments: &[Argument<'_>]) -> Doubted<f64> {
    let Record { powers, year, coverage } = record(arguments)?;
    if powers.is_empty() {
        return Err(Refusal("powers: the series is empty".to_owned()));
    }
    let mean = powers.iter().sum::<f64>() / powers.len() as f64;
    let doubt = (coverage < ENOUGH).then_some("record_coverage ≥ 90 % of the year");
    Ok((mean * year, doubt))
}
