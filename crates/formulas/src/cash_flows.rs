//! Flows of money over the years of a plant: savings that grow, parts that are replaced, own hours.

use forebay_units::Dimension;

use crate::bills::whole;
use crate::formula::{
    Argument, Body, Check, Formula, Kind, Output, Parameter, Range, Refusal, Source, Subject,
};
use crate::side_by_side::side_by_side;
use crate::sources::{DEFINITION, PANNEERSELVAM};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "cash_flows",
    about: "Flows of money over the years: savings that grow, parts replaced, own hours.",
    formulas: FORMULAS,
};

const ADVICE: &str = "A figure for planning: taxes are left out, and real and nominal rates must not \
    be mixed: with growth of prices in the flows, the rate of interest is nominal.";

const COST: Parameter =
    Parameter::new("cost", Dimension::MONEY, "of the part at today's price").not_negative();

const EVERY: Parameter = Parameter {
    must: Range { from: 0.0, to: 1000.0, above: true },
    ..Parameter::of_kind("every", Kind::Years, "years that the part lasts")
};

const YEARS: Parameter = Parameter {
    must: Range { from: 0.0, to: 1000.0, above: true },
    valid: Range::between(0.5, 100.0),
    ..Parameter::of_kind("years", Kind::Years, "that the plant runs")
};

const GROWTH: Parameter = Parameter {
    must: Range { from: -1.0, to: f64::INFINITY, above: true },
    valid: Range::between(-0.2, 0.2),
    default: Some(0.0),
    ..Parameter::new("growth", Dimension::NONE, "of the price from one year to the next")
};

const RATE: Parameter = Parameter {
    must: Range { from: -1.0, to: f64::INFINITY, above: true },
    valid: Range::between(0.0, 0.5),
    ..Parameter::new("rate", Dimension::NONE, "of interest in a year: 6 % or 0.06")
};

static FORMULAS: &[Formula] = &[
    Formula {
        name: "cash_flows",
        summary: "The flows of money of a plant, the cost now and then what each year saves less \
            what it costs: for net_present_value, internal_rate and payback.",
        equation: "F_0 = −I; F_t = S (1 + g)^(t−1) − O (1 + c)^(t−1)",
        parameters: &[
            Parameter::new("cost", Dimension::MONEY, "paid at the start, own hours at their price")
                .not_negative(),
            Parameter::of_kind(
                "yearly_saving",
                Kind::Yearly(Dimension::MONEY),
                "in the first year",
            ),
            YEARS,
            Parameter::of_kind(
                "yearly_cost",
                Kind::Yearly(Dimension::MONEY),
                "of running in the first year, own hours at their price",
            )
            .or(0.0),
            Parameter { about: "of the saving from one year to the next", ..GROWTH },
            Parameter {
                name: "cost_growth",
                about: "of the yearly cost from one year to the next",
                ..GROWTH
            },
        ],
        result: Output::new(Dimension::MONEY).series(),
        limits: &[],
        caution: Some(ADVICE),
        source: Source::read(PANNEERSELVAM, "ch. 4, cash-flow diagrams"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("cost", "9000 EUR"),
                ("yearly_saving", "1000 EUR/yr"),
                ("years", "3"),
                ("yearly_cost", "200 EUR"),
                ("growth", "10 %"),
                ("cost_growth", "5 %"),
            ],
            expected: "[-9000, 800, 890, 989.5] EUR",
            tolerance: 1e-12,
            source: "by hand: 1000 − 200, 1100 − 210, 1210 − 220.5",
        }],
        body: Body::ToSeries(cash_flows),
    },
    Formula {
        name: "replacement_flows",
        summary: "The flows of money of a part that is replaced whenever its life is over, of as \
            many years as cash_flows: add the two series. Not replaced at the very end.",
        equation: "F_t = −C (1 + g)^t at t = m, 2 m … < n, else 0",
        parameters: &[COST, EVERY, YEARS, GROWTH],
        result: Output::new(Dimension::MONEY).series(),
        limits: &[],
        caution: Some(ADVICE),
        source: Source::exact(DEFINITION, "replacement at the end of each life"),
        hides: None,
        checks: &[Check {
            arguments: &[("cost", "500 EUR"), ("every", "2"), ("years", "6"), ("growth", "10 %")],
            expected: "[0, 0, -605, 0, -732.05, 0, 0] EUR",
            tolerance: 1e-12,
            source: "by hand: 500 · 1.1², 500 · 1.1⁴",
        }],
        body: Body::ToSeries(replacement_flows),
    },
    Formula {
        name: "replacements_present_value",
        summary: "What all replacements of a part are worth today; not replaced at the very end.",
        equation: "Σ C ((1 + g)/(1 + i))^(k m), k m < n",
        parameters: &[RATE, COST, EVERY, YEARS, GROWTH],
        result: Output::new(Dimension::MONEY),
        limits: &[],
        caution: Some(ADVICE),
        source: Source::read(PANNEERSELVAM, "ch. 3, interest formulas"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("rate", "5 %"),
                    ("cost", "2000 EUR"),
                    ("every", "8"),
                    ("years", "20"),
                ],
                expected: "2269.901768040174 EUR",
                tolerance: 1e-12,
                source: "by arithmetic apart from this code, 2000 (1.05^−8 + 1.05^−16)",
            },
            Check {
                arguments: &[
                    ("rate", "5 %"),
                    ("cost", "2000 EUR"),
                    ("every", "8 yr"),
                    ("years", "24 yr"),
                    ("growth", "2 %"),
                ],
                expected: "2843.828273359195 EUR",
                tolerance: 1e-12,
                source: "by arithmetic apart from this code; none at 24 years, when the plant ends",
            },
        ],
        body: Body::Five(replacements_present_value),
    },
    Formula {
        name: "earned_per_own_hour",
        summary: "What the plant pays for each hour of one's own work: hold it against what the \
            hour is worth elsewhere. Money by the hour: 20.83 EUR/h are 182 500 EUR/yr.",
        equation: "w = (S − O)/h",
        parameters: &[
            Parameter::of_kind("yearly_saving", Kind::Yearly(Dimension::MONEY), "of one year"),
            Parameter::of_kind(
                "yearly_cost",
                Kind::Yearly(Dimension::MONEY),
                "of one year without one's own hours: parts, charges, and the instalment of the \
                 cost (loan_instalment)",
            ),
            Parameter::new("yearly_hours", Dimension::TIME, "of own work in one year").positive(),
        ],
        result: Output::new(Dimension::of(0, 0, -1, 0, 0, 0, 1)).shown_in("money/h", "money/h"),
        limits: &[],
        caution: Some(ADVICE),
        source: Source::exact(DEFINITION, "earnings by the hour"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("yearly_saving", "1450 EUR/yr"),
                ("yearly_cost", "200 EUR/yr"),
                ("yearly_hours", "60 h"),
            ],
            expected: "20.8333333333333 EUR/h",
            tolerance: 1e-12,
            source: "by hand, 1250/60",
        }],
        body: side_by_side!(earned_per_own_hour, a, b, c),
    },
];

fn cash_flows(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[
        Argument::Number(cost),
        Argument::Number(saving),
        Argument::Number(years),
        Argument::Number(yearly_cost),
        Argument::Number(growth),
        Argument::Number(cost_growth),
    ] = arguments
    else {
        return Err(Refusal("cost: expected one amount".to_owned()));
    };
    let years = whole("years", years)?;
    let mut flows = Vec::with_capacity(years + 1);
    flows.push(-cost);
    let (mut saved, mut spent) = (saving, yearly_cost);
    for _ in 0..years {
        flows.push(saved - spent);
        saved *= 1.0 + growth;
        spent *= 1.0 + cost_growth;
    }
    Ok(flows)
}

fn replacement_flows(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[
        Argument::Number(cost),
        Argument::Number(every),
        Argument::Number(years),
        Argument::Number(growth),
    ] = arguments
    else {
        return Err(Refusal("cost: expected one amount".to_owned()));
    };
    let (every, years) = (whole("every", every)?, whole("years", years)?);
    let mut price = cost;
    let mut flows = Vec::with_capacity(years + 1);
    for year in 0..=years {
        let replaced = year > 0 && year < years && year % every == 0;
        flows.push(if replaced { -price } else { 0.0 });
        price *= 1.0 + growth;
    }
    Ok(flows)
}

fn replacements_present_value(rate: f64, cost: f64, every: f64, years: f64, growth: f64) -> f64 {
    let times = (years / every).ceil() - 1.0;
    let factor = ((1.0 + growth) / (1.0 + rate)).powf(every);
    if factor == 1.0 {
        return cost * times;
    }
    // A geometric series, from the first replacement on.
    cost * factor * (1.0 - factor.powf(times)) / (1.0 - factor)
}

fn earned_per_own_hour(yearly_saving: f64, yearly_cost: f64, yearly_hours: f64) -> f64 {
    (yearly_saving - yearly_cost) / yearly_hours
}
