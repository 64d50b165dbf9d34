//! What a plant costs and earns.

use forebay_units::Dimension;

use crate::call::YEAR;
use crate::formula::{
    Argument, Body, Check, Doubted, Formula, Kind, Output, Parameter, Range, Refusal, Source,
    Subject,
};
use crate::internal_rate::internal_rate;
use crate::side_by_side::side_by_side;
use crate::sources::{DEFINITION, FISHER, KHAN, PANNEERSELVAM};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "money",
    about: "What a plant costs and earns: present value, rates, payback, cost of energy.",
    formulas: FORMULAS,
};

const ADVICE: &str = "A figure for planning: taxes are left out, and real and nominal rates must not \
    be mixed.";

const ENGINEERING_ECONOMICS: Source = Source::read(PANNEERSELVAM, "ch. 3, interest formulas");

const RATE: Parameter = Parameter {
    must: Range { from: -1.0, to: f64::INFINITY, above: true },
    valid: Range::between(0.0, 0.5),
    ..Parameter::new("rate", Dimension::NONE, "of interest in a year: 6 % or 0.06")
};

const YEARS: Parameter =
    Parameter::of_kind("years", Kind::Years, "number of years").positive().valid(0.5, 100.0);

const FLOWS: Parameter = Parameter::of_kind(
    "flows",
    Kind::Series(Dimension::MONEY),
    "at the ends of the years, the first now; money spent below zero",
);

static FORMULAS: &[Formula] = &[
    Formula {
        name: "net_present_value",
        summary: "What flows of money are worth today; the first is not discounted.",
        equation: "NPV = Σ F_t/(1 + i)^t, t = 0, 1, 2 …",
        parameters: &[RATE, FLOWS],
        result: Output::new(Dimension::MONEY),
        limits: &[],
        caution: Some(
            "A figure for planning: taxes are left out, real and nominal rates must not be mixed. A \
             spreadsheet's NPV discounts the first flow too, and so gives less.",
        ),
        source: ENGINEERING_ECONOMICS,
        hides: None,
        checks: &[Check {
            arguments: &[
                ("rate", "10 %"),
                ("flows", "[-100000, 30000, 30000, 30000, 30000, 30000] EUR"),
            ],
            expected: "13723.603 EUR",
            tolerance: 1e-7,
            source: "Panneerselvam 2010, Ex. 7.1; numpy-financial 1.0.0",
        }],
        body: Body::Series(net_present_value),
    },
    Formula {
        name: "internal_rate",
        summary: "The rate of interest at which flows of money are worth nothing today.",
        equation: "Σ F_t/(1 + i)^t = 0",
        parameters: &[FLOWS],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(ADVICE),
        source: ENGINEERING_ECONOMICS,
        hides: None,
        checks: &[Check {
            arguments: &[("flows", "[-100000, 30000, 30000, 30000, 30000, 30000] EUR")],
            expected: "15.2382371166307 %",
            tolerance: 1e-9,
            source: "numpy-financial 1.0.0 on Panneerselvam 2010, Ex. 7.1 (the book interpolates to \
                15.25 %)",
        }],
        body: Body::Series(internal_rate_of),
    },
    Formula {
        name: "capital_recovery_factor",
        summary: "The share of a sum that pays it back with interest, once a year.",
        equation: "CRF = i (1 + i)ⁿ/((1 + i)ⁿ − 1); 1/n at i = 0",
        parameters: &[RATE, YEARS],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: ENGINEERING_ECONOMICS,
        hides: None,
        checks: &[
            Check {
                arguments: &[("rate", "18 %"), ("years", "15")],
                expected: "0.196403",
                tolerance: 2e-6,
                source: "Panneerselvam 2010, Ex. 3.6; numpy-financial 1.0.0",
            },
            Check {
                arguments: &[("rate", "0 %"), ("years", "8 yr")],
                expected: "0.125",
                tolerance: 1e-12,
                source: "by hand, 1/8",
            },
        ],
        body: Body::Two(capital_recovery_factor),
    },
    Formula {
        name: "loan_instalment",
        summary: "What pays a sum back with interest in equal amounts at the end of each year.",
        equation: "A = P · CRF(i, n)",
        parameters: &[
            Parameter::new("cost", Dimension::MONEY, "the sum lent or invested now"),
            RATE,
            YEARS,
        ],
        result: Output::new(Dimension::MONEY),
        limits: &[],
        caution: Some(ADVICE),
        source: ENGINEERING_ECONOMICS,
        hides: None,
        checks: &[Check {
            arguments: &[("cost", "1000000 INR"), ("rate", "18 %"), ("years", "15")],
            expected: "196403 INR",
            tolerance: 2e-6,
            source: "Panneerselvam 2010, Ex. 3.6",
        }],
        body: Body::Three(loan_instalment),
    },
    Formula {
        name: "sinking_fund_deposit",
        summary: "What must be put by at the end of each year to have a sum at the end, for a \
            replacement for example.",
        equation: "A = F i/((1 + i)ⁿ − 1); F/n at i = 0",
        parameters: &[
            Parameter::new("amount", Dimension::MONEY, "wanted at the end of the years"),
            RATE,
            YEARS,
        ],
        result: Output::new(Dimension::MONEY),
        limits: &[],
        caution: Some(ADVICE),
        source: ENGINEERING_ECONOMICS,
        hides: None,
        checks: &[
            Check {
                arguments: &[("amount", "500000 INR"), ("rate", "18 %"), ("years", "15")],
                expected: "8201.391 INR",
                tolerance: 1e-7,
                source: "Panneerselvam 2010, Ex. 3.4; numpy-financial 1.0.0",
            },
            Check {
                arguments: &[("amount", "3000 EUR"), ("rate", "0 %"), ("years", "12")],
                expected: "250 EUR",
                tolerance: 1e-12,
                source: "by hand, 3000/12",
            },
        ],
        body: Body::Three(sinking_fund_deposit),
    },
    Formula {
        name: "annuity_present_value",
        summary: "What yearly amounts at the ends of the years, growing or not, are worth today.",
        equation: "P = A (1 − ((1 + g)/(1 + i))ⁿ)/(i − g); A n/(1 + i) at i = g",
        parameters: &[
            Parameter::of_kind(
                "yearly_amount",
                Kind::Yearly(Dimension::MONEY),
                "at the end of the first year",
            ),
            RATE,
            YEARS,
            Parameter {
                name: "growth",
                about: "by which the amount grows from one year to the next",
                ..RATE
            }
            .valid(-0.2, 0.2)
            .or(0.0),
        ],
        result: Output::new(Dimension::MONEY),
        limits: &[],
        caution: Some(ADVICE),
        source: ENGINEERING_ECONOMICS,
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("yearly_amount", "1000000 INR/yr"),
                    ("rate", "15 %"),
                    ("years", "20"),
                ],
                expected: "6259331.474 INR",
                tolerance: 1e-9,
                source: "numpy-financial 1.0.0 on Panneerselvam 2010, Ex. 3.5",
            },
            Check {
                arguments: &[
                    ("yearly_amount", "1000 EUR"),
                    ("rate", "5 %"),
                    ("years", "15"),
                    ("growth", "2 %"),
                ],
                expected: "11753.8105828937 EUR",
                tolerance: 1e-9,
                source: "numpy-financial 1.0.0, year by year",
            },
        ],
        body: Body::Four(annuity_present_value),
    },
    Formula {
        name: "real_rate",
        summary: "The rate of interest over and above the rise of prices.",
        equation: "r = (1 + i)/(1 + f) − 1",
        parameters: &[
            RATE,
            Parameter { name: "inflation", about: "rise of prices in a year", ..RATE }
                .valid(-0.1, 0.3),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(FISHER, "real and nominal interest"),
        hides: None,
        checks: &[Check {
            arguments: &[("rate", "8.12 %"), ("inflation", "2 %")],
            expected: "6 %",
            tolerance: 1e-9,
            source: "by hand, 1.06 · 1.02 = 1.0812",
        }],
        body: side_by_side!(real_rate, a, b),
    },
    Formula {
        name: "simple_payback",
        summary: "How long equal yearly savings take to pay a cost back, without interest.",
        equation: "t = I/S",
        parameters: &[
            Parameter::new("cost", Dimension::MONEY, "paid at the start").not_negative(),
            Parameter::of_kind(
                "yearly_saving",
                Kind::Yearly(Dimension::MONEY),
                "saved in one year, less what the year costs",
            ),
        ],
        result: Output::new(Dimension::TIME).shown_in("yr", "yr"),
        limits: &[],
        caution: Some(ADVICE),
        source: Source::exact(DEFINITION, "simple payback"),
        hides: Some("a year of 365 days, in s"),
        checks: &[
            Check {
                arguments: &[("cost", "10000 INR"), ("yearly_saving", "900 INR")],
                expected: "11.11 yr",
                tolerance: 4e-4,
                source: "Khan 2009, Ex. 14.11",
            },
            Check {
                arguments: &[("cost", "10000 INR"), ("yearly_saving", "900 INR/yr")],
                expected: "11.11 yr",
                tolerance: 4e-4,
                source: "the same, with the saving as a rate",
            },
        ],
        body: Body::Series(simple_payback),
    },
    Formula {
        name: "payback",
        summary: "When the sum of uneven flows first comes back to zero, without interest; within \
            the year of recovery the flow is taken as even.",
        equation: "Σ F_t = 0",
        parameters: &[FLOWS],
        result: Output::new(Dimension::TIME).shown_in("yr", "yr"),
        limits: &[],
        caution: Some(ADVICE),
        source: Source::read(KHAN, "ch. 14"),
        hides: Some("a year of 365 days, in s"),
        checks: &[Check {
            arguments: &[("flows", "[-2400, 500, 700, 900, 1100, 1300] INR")],
            expected: "3.27 yr",
            tolerance: 1.5e-3,
            source: "Khan 2009, Ex. 14.12 C",
        }],
        body: Body::SeriesDoubted(payback),
    },
    Formula {
        name: "discounted_payback",
        summary: "When the sum of discounted flows first comes back to zero; within the year of \
            recovery the flow is taken as even.",
        equation: "Σ F_t/(1 + i)^t = 0",
        parameters: &[RATE, FLOWS],
        result: Output::new(Dimension::TIME).shown_in("yr", "yr"),
        limits: &[],
        caution: Some(ADVICE),
        source: Source::read(KHAN, "ch. 14"),
        hides: Some("a year of 365 days, in s"),
        checks: &[Check {
            arguments: &[("rate", "12 %"), ("flows", "[-2400, 800, 800, 800, 800, 800] INR")],
            expected: "3.94 yr",
            tolerance: 1.3e-3,
            source: "Khan 2009, Ex. 14.13 B",
        }],
        body: Body::SeriesDoubted(discounted_payback),
    },
    Formula {
        name: "levelised_cost",
        summary: "What a unit of energy costs over the life of a plant with equal years.",
        equation: "LCOE = (CRF(i, n) I + O)/E",
        parameters: &[
            Parameter::new("cost", Dimension::MONEY, "of building, paid at the start")
                .not_negative(),
            Parameter::of_kind("yearly_cost", Kind::Yearly(Dimension::MONEY), "of running"),
            Parameter::of_kind(
                "yearly_energy",
                Kind::Yearly(Dimension::ENERGY),
                "delivered in one year",
            )
            .positive(),
            RATE,
            YEARS,
        ],
        result: Output::new(Dimension::PRICE_OF_ENERGY),
        limits: &[],
        caution: Some(ADVICE),
        source: Source::exact(
            DEFINITION,
            "annuity method; energy that falls is discounted as well",
        ),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("cost", "12000 EUR"),
                ("yearly_cost", "300 EUR/yr"),
                ("yearly_energy", "9000 kWh"),
                ("rate", "6 %"),
                ("years", "20"),
            ],
            expected: "0.149579409302469 EUR/kWh",
            tolerance: 1e-9,
            source: "numpy-financial 1.0.0: (1046.2146837 + 300)/9000",
        }],
        body: Body::Five(levelised_cost),
    },
];

fn net_present_value(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Number(rate), Argument::Series(flows)] = arguments else {
        return Err(Refusal("rate: expected a number; flows: expected a series".to_owned()));
    };
    Ok(discounted(rate, flows).sum())
}

fn internal_rate_of(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(flows)] = arguments else {
        return Err(Refusal("flows: expected a series".to_owned()));
    };
    internal_rate(flows)
}

/// The flows as they are worth today.
fn discounted(rate: f64, flows: &[f64]) -> impl Iterator<Item = f64> {
    let mut factor = 1.0;
    flows.iter().map(move |flow| {
        let worth = flow * factor;
        factor /= 1.0 + rate;
        worth
    })
}

fn capital_recovery_factor(rate: f64, years: f64) -> f64 {
    if rate == 0.0 {
        return 1.0 / years;
    }
    // i/(1 − (1 + i)^−n), exact for small rates too.
    rate / -(-years * rate.ln_1p()).exp_m1()
}

fn loan_instalment(cost: f64, rate: f64, years: f64) -> f64 {
    cost * capital_recovery_factor(rate, years)
}

fn sinking_fund_deposit(amount: f64, rate: f64, years: f64) -> f64 {
    if rate == 0.0 {
        return amount / years;
    }
    amount * rate / (years * rate.ln_1p()).exp_m1()
}

fn annuity_present_value(yearly_amount: f64, rate: f64, years: f64, growth: f64) -> f64 {
    // Discounting a growing amount is discounting a steady one at this rate, a year early.
    let net = (rate - growth) / (1.0 + growth);
    yearly_amount / ((1.0 + growth) * capital_recovery_factor(net, years))
}

fn real_rate(rate: f64, inflation: f64) -> f64 {
    (1.0 + rate) / (1.0 + inflation) - 1.0
}

fn simple_payback(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Number(cost), Argument::Number(yearly_saving)] = arguments else {
        return Err(Refusal("cost, yearly_saving: expected numbers".to_owned()));
    };
    if yearly_saving <= 0.0 {
        return Err(Refusal("never pays back: nothing is saved in a year".to_owned()));
    }
    Ok(cost / yearly_saving * YEAR)
}

fn payback(arguments: &[Argument<'_>]) -> Doubted<f64> {
    let &[Argument::Series(flows)] = arguments else {
        return Err(Refusal("flows: expected a series".to_owned()));
    };
    recovery(flows.iter().copied())
}

fn discounted_payback(arguments: &[Argument<'_>]) -> Doubted<f64> {
    let &[Argument::Number(rate), Argument::Series(flows)] = arguments else {
        return Err(Refusal("rate: expected a number; flows: expected a series".to_owned()));
    };
    recovery(discounted(rate, flows))
}

/// When a sum of yearly flows first reaches zero, in s.
fn recovery(mut flows: impl Iterator<Item = f64>) -> Doubted<f64> {
    let mut sum = 0.0;
    let mut years = 0.0;
    while let Some(flow) = flows.next() {
        let before = sum;
        sum += flow;
        if sum >= 0.0 {
            // Nothing is owed before the first flow.
            let whole = if before < 0.0 { years - 1.0 + -before / flow } else { 0.0 };
            let paid_back = whole * YEAR;
            // Sums of money in floating point: what is lost in the last digits is no debt.
            let nothing = 1e-9 * (sum + before.abs());
            let falls = flows.any(|flow| {
                sum += flow;
                sum < -nothing
            });
            let doubt = falls.then_some(
                "a sum that stays above zero: the sum falls below zero again: a later replacement?",
            );
            return Ok((paid_back, doubt));
        }
        years += 1.0;
    }
    Err(Refusal("never pays back: the sum of the flows stays below zero".to_owned()))
}

fn levelised_cost(cost: f64, yearly_cost: f64, yearly_energy: f64, rate: f64, years: f64) -> f64 {
    (capital_recovery_factor(rate, years) * cost + yearly_cost) / yearly_energy
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_never_pays_back_is_refused() {
        let refused = payback(&[Argument::Series(&[-100.0, 30.0, 30.0])]).unwrap_err();
        assert!(refused.0.contains("never"), "{}", refused.0);
        // It pays back without interest, and does not with.
        let flows = [-100.0, 50.0, 51.0];
        assert!(payback(&[Argument::Series(&flows)]).is_ok());
        let at_20 = [Argument::Number(0.20), Argument::Series(&flows)];
        assert!(discounted_payback(&at_20).is_err());
    }

    #[test]
    fn a_growth_equal_to_the_rate_is_no_pole() {
        // Each year is then worth A/(1 + i) today.
        let worth = annuity_present_value(1050.0, 0.05, 12.0, 0.05);
        assert!((worth - 12_000.0).abs() < 1e-6, "{worth}");
    }
}
