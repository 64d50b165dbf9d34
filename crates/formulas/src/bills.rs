//! Bills: tariffs in blocks, and what a meter counts when energy goes both ways.

use std::collections::VecDeque;

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::sources::{DEFINITION, THERAJA};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "bills",
    about: "Tariffs in blocks, and what a meter counts when energy goes both ways.",
    formulas: FORMULAS,
};

const METER: &str = "How a meter sums its phases, over which interval it balances, whether it sees \
    direction, and what is paid for export are matters of the meter's type and of the contract: \
    ask the network operator. Feed nothing into the grid without its consent.";

/// What is paid for energy that flows out.
const RULES: Kind = Kind::Choice(&["paid", "unpaid", "as_use"]);

const RULE: Parameter = Parameter::of_kind(
    "rule",
    RULES,
    "paid: export is counted apart and paid; unpaid: it is not counted; as_use: the meter does not \
     see direction and bills export as if it had been used",
);

const PHASES: Parameter = Parameter::of_kind(
    "phases",
    Kind::Choice(&["summed", "apart"]),
    "summed: export of one phase sets off the use of another; apart: each phase is counted alone",
);

const NET: Parameter = Parameter::of_kind(
    "net",
    Kind::Series(Dimension::ENERGY),
    "energy drawn from the grid less energy fed into it, interval after interval: below zero where \
     more is fed in",
);

const BALANCED_OVER: Parameter = Parameter::new(
    "balanced_over",
    Dimension::NONE,
    "how many values of the series are summed before the meter looks at the direction: 4 where \
     quarter hours are balanced over the hour",
)
.within(1.0, 1e9)
.or(1.0);

const EXPIRES_AFTER: Parameter = Parameter::new(
    "expires_after",
    Dimension::NONE,
    "in how many of the following periods a credit can be used; 0: in none",
)
.within(0.0, 1e9);

const ONE: Parameter = Parameter::of_kind(
    "phase_1",
    Kind::Series(Dimension::ENERGY),
    "energy drawn on the first phase less energy fed in, interval after interval",
)
.column();

const TWO: Parameter =
    Parameter::of_kind("phase_2", Kind::Series(Dimension::ENERGY), "the same on the second phase")
        .column();

const THREE: Parameter =
    Parameter::of_kind("phase_3", Kind::Series(Dimension::ENERGY), "the same on the third phase")
        .column();

static FORMULAS: &[Formula] = &[
    Formula {
        name: "block_bill",
        summary: "What energy costs under a tariff in blocks: each block at its own price, then \
            the standing charge, then tax on both. The last block has no end, whatever its limit \
            says. Nothing is rounded: use `rounded` once, at the end.",
        equation: "B = (Σ p_i (min(E, u_i) − u_{i−1}) + S)(1 + t), u_0 = 0, i up to the block of E",
        parameters: &[
            Parameter::new("energy", Dimension::ENERGY, "used in the billing period")
                .not_negative(),
            Parameter::of_kind(
                "up_to",
                Kind::Series(Dimension::ENERGY),
                "where each block ends, counted from zero and rising; not its width",
            )
            .not_negative()
            .column(),
            Parameter::of_kind(
                "price",
                Kind::Series(Dimension::PRICE_OF_ENERGY),
                "of energy in each block",
            )
            .column(),
            Parameter::new(
                "standing_charge",
                Dimension::MONEY,
                "of the billing period, whatever is used",
            )
            .or(0.0),
            Parameter::new("tax", Dimension::NONE, "on the whole, 20 % or 0.2")
                .not_negative()
                .valid(0.0, 1.0)
                .or(0.0),
        ],
        result: Output::new(Dimension::MONEY),
        limits: &[],
        caution: None,
        source: Source::read(THERAJA, "ch. 50, block-rate tariff"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("energy", "375 kWh"),
                    ("up_to", "[50, 100, 150, 200, 100000] kWh"),
                    ("price", "[0.60, 0.50, 0.40, 0.30, 0.25] INR/kWh"),
                ],
                expected: "133.75 INR",
                tolerance: 1e-12,
                source: "Theraja, A Textbook of Electrical Technology vol. III, Ex. 50.31",
            },
            Check {
                arguments: &[
                    ("energy", "375 kWh"),
                    ("up_to", "[50, 100, 150, 200, 250] kWh"),
                    ("price", "[0.60, 0.50, 0.40, 0.30, 0.25] INR/kWh"),
                    ("standing_charge", "20 INR"),
                    ("tax", "5 %"),
                ],
                expected: "161.4375 INR",
                tolerance: 1e-12,
                source: "the same, (133.75 + 20) · 1.05 by hand; the last limit does not bind",
            },
        ],
        body: Body::Series(block_bill),
    },
    Formula {
        name: "billed_import",
        summary: "The energy that a meter bills as used, of a series of what flows in less what \
            flows out.",
        equation: "Σ max(0, Σ_k net), k the values of one balancing interval; as_use: Σ |Σ_k net|",
        parameters: &[NET, RULE, BALANCED_OVER],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: Some(METER),
        source: Source::exact(DEFINITION, "what a meter counts"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("net", "[2, -3, 1, -1.5] kWh"), ("rule", "paid")],
                expected: "3 kWh",
                tolerance: 1e-12,
                source: "by hand, 2 + 1",
            },
            Check {
                arguments: &[("net", "[2, -3, 1, -1.5] kWh"), ("rule", "as_use")],
                expected: "7.5 kWh",
                tolerance: 1e-12,
                source: "by hand, 2 + 3 + 1 + 1.5",
            },
            Check {
                arguments: &[
                    ("net", "[2, -3, 1, -1.5, 0.25] kWh"),
                    ("rule", "as_use"),
                    ("balanced_over", "2"),
                ],
                expected: "1.75 kWh",
                tolerance: 1e-12,
                source: "by hand, |2 − 3| + |1 − 1.5| + 0.25",
            },
        ],
        body: Body::Series(billed_import),
    },
    Formula {
        name: "billed_export",
        summary: "The energy that a meter counts as fed in and that is paid, of a series of what \
            flows in less what flows out.",
        equation: "Σ max(0, −Σ_k net) where export is paid, else 0",
        parameters: &[NET, RULE, BALANCED_OVER],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: Some(METER),
        source: Source::exact(DEFINITION, "what a meter counts"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("net", "[2, -3, 1, -1.5] kWh"), ("rule", "paid")],
                expected: "4.5 kWh",
                tolerance: 1e-12,
                source: "by hand, 3 + 1.5",
            },
            Check {
                arguments: &[
                    ("net", "[2, -3, 1, -1.5] kWh"),
                    ("rule", "paid"),
                    ("balanced_over", "3"),
                ],
                expected: "1.5 kWh",
                tolerance: 1e-12,
                source: "by hand: 2 − 3 + 1 is nothing, then 1.5",
            },
        ],
        body: Body::Series(billed_export),
    },
    Formula {
        name: "billed_import_of_phases",
        summary: "The energy that a three-phase meter bills as used: phases summed, or each phase \
            apart, where feeding in on one phase pays for nothing drawn on another.",
        equation: "summed: as billed_import of Σ_phases net; apart: Σ_phases billed_import(net)",
        parameters: &[ONE, TWO, THREE, RULE, PHASES, BALANCED_OVER],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: Some(METER),
        source: Source::exact(DEFINITION, "what a meter counts"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("phase_1", "[-3, -2] kWh"),
                    ("phase_2", "[1, 0.5] kWh"),
                    ("phase_3", "[1, 2] kWh"),
                    ("rule", "paid"),
                    ("phases", "summed"),
                ],
                expected: "0.5 kWh",
                tolerance: 1e-12,
                source: "by hand: −1 and 0.5",
            },
            Check {
                arguments: &[
                    ("phase_1", "[-3, -2] kWh"),
                    ("phase_2", "[1, 0.5] kWh"),
                    ("phase_3", "[1, 2] kWh"),
                    ("rule", "paid"),
                    ("phases", "apart"),
                ],
                expected: "4.5 kWh",
                tolerance: 1e-12,
                source: "by hand: 1 + 0.5 + 1 + 2",
            },
        ],
        body: Body::Series(billed_import_of_phases),
    },
    Formula {
        name: "billed_export_of_phases",
        summary: "The energy that a three-phase meter counts as fed in and that is paid: phases \
            summed, or each phase apart.",
        equation: "summed: as billed_export of Σ_phases net; apart: Σ_phases billed_export(net)",
        parameters: &[ONE, TWO, THREE, RULE, PHASES, BALANCED_OVER],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: Some(METER),
        source: Source::exact(DEFINITION, "what a meter counts"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("phase_1", "[-3, -2] kWh"),
                    ("phase_2", "[1, 0.5] kWh"),
                    ("phase_3", "[1, 2] kWh"),
                    ("rule", "paid"),
                    ("phases", "summed"),
                ],
                expected: "1 kWh",
                tolerance: 1e-12,
                source: "by hand: −1 and 0.5",
            },
            Check {
                arguments: &[
                    ("phase_1", "[-3, -2] kWh"),
                    ("phase_2", "[1, 0.5] kWh"),
                    ("phase_3", "[1, 2] kWh"),
                    ("rule", "paid"),
                    ("phases", "apart"),
                ],
                expected: "5 kWh",
                tolerance: 1e-12,
                source: "by hand: 3 + 2",
            },
        ],
        body: Body::Series(billed_export_of_phases),
    },
    Formula {
        name: "net_within_export_limit",
        summary: "The series of what flows in less what flows out when the inverter holds back all \
            export above a limit.",
        equation: "max(net, −limit)",
        parameters: &[
            NET,
            Parameter::new(
                "limit",
                Dimension::ENERGY,
                "the most that may be fed in during one interval of the series: power times \
                 interval",
            )
            .not_negative(),
        ],
        result: Output::new(Dimension::ENERGY).series(),
        limits: &[],
        caution: Some(METER),
        source: Source::exact(DEFINITION, "a limit"),
        hides: None,
        checks: &[Check {
            arguments: &[("net", "[2, -3, 1, -1.5] kWh"), ("limit", "2 kWh")],
            expected: "[2, -2, 1, -1.5] kWh",
            tolerance: 1e-12,
            source: "by hand",
        }],
        body: Body::ToSeries(net_within_export_limit),
    },
    Formula {
        name: "billed_after_credits",
        summary: "The energy billed in each period when what was fed in beyond use is credited to \
            the periods that follow, oldest credit first, until it expires.",
        equation: "billed_k = max(0, net_k − credits still valid in period k)",
        parameters: &[NET, EXPIRES_AFTER],
        result: Output::new(Dimension::ENERGY).series(),
        limits: &[],
        caution: Some(METER),
        source: Source::exact(DEFINITION, "balance of credits"),
        hides: None,
        checks: &[Check {
            arguments: &[("net", "[-100, 60, 30, 50, -20, 45] kWh"), ("expires_after", "2")],
            expected: "[0, 0, 0, 50, 0, 25] kWh",
            tolerance: 1e-12,
            source: "by hand: of 100 credited, 90 are used and 10 expire; then 20 of 45",
        }],
        body: Body::ToSeries(|arguments| Ok(credits(arguments)?.billed)),
    },
    Formula {
        name: "credits_expired",
        summary: "The credited energy that expires unused.",
        equation: "Σ of credits older than their term",
        parameters: &[NET, EXPIRES_AFTER],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: Some(METER),
        source: Source::exact(DEFINITION, "balance of credits"),
        hides: None,
        checks: &[Check {
            arguments: &[("net", "[-100, 60, 30, 50, -20, 45] kWh"), ("expires_after", "2")],
            expected: "10 kWh",
            tolerance: 1e-12,
            source: "by hand, 100 − 60 − 30",
        }],
        body: Body::Series(|arguments| Ok(credits(arguments)?.expired)),
    },
    Formula {
        name: "credits_left",
        summary: "The credited energy that is still valid after the last period.",
        equation: "Σ of credits neither used nor expired",
        parameters: &[NET, EXPIRES_AFTER],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: Some(METER),
        source: Source::exact(DEFINITION, "balance of credits"),
        hides: None,
        checks: &[Check {
            arguments: &[("net", "[-40, 60, -70, 25] kWh"), ("expires_after", "12")],
            expected: "45 kWh",
            tolerance: 1e-12,
            source: "by hand, 70 − 25",
        }],
        body: Body::Series(|arguments| Ok(credits(arguments)?.left)),
    },
];

fn block_bill(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let [Argument::Number(energy), up_to, price, Argument::Number(standing), Argument::Number(tax)] =
        arguments
    else {
        return Err(Refusal("energy: expected one amount".to_owned()));
    };
    let (up_to, price) = (up_to.values(), price.values());
    if up_to.is_empty() || price.len() != 1 && price.len() != up_to.len() {
        return Err(Refusal("price: one is needed for each block".to_owned()));
    }
    let mut cost = 0.0;
    let mut from = 0.0;
    for (at, limit) in up_to.iter().enumerate() {
        if *limit <= from {
            return Err(Refusal(format!(
                "up_to: block {} must end above the one before; give limits, not widths",
                at + 1
            )));
        }
        let last = at + 1 == up_to.len();
        let to = if last { *energy } else { energy.min(*limit) };
        // One price may hold for all blocks.
        let price = price.get(at).or(price.first()).copied().unwrap_or(f64::NAN);
        cost += price * (to - from).max(0.0);
        from = *limit;
    }
    Ok((cost + standing) * (1.0 + tax))
}

fn billed_import(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(net), Argument::Number(rule), Argument::Number(over)] = arguments else {
        return Err(Refusal("net: expected a series".to_owned()));
    };
    Ok(balanced(net, over)?.map(|sum| counted_in(sum, rule)).sum())
}

fn billed_export(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(net), Argument::Number(rule), Argument::Number(over)] = arguments else {
        return Err(Refusal("net: expected a series".to_owned()));
    };
    Ok(balanced(net, over)?.map(|sum| counted_out(sum, rule)).sum())
}

fn billed_import_of_phases(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    of_phases(arguments, counted_in)
}

fn billed_export_of_phases(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    of_phases(arguments, counted_out)
}

/// What one balancing interval adds to the energy billed as used.
fn counted_in(sum: f64, rule: f64) -> f64 {
    if rule == 2.0 { sum.abs() } else { sum.max(0.0) }
}

/// What one balancing interval adds to the energy paid as fed in.
fn counted_out(sum: f64, rule: f64) -> f64 {
    if rule == 0.0 { (-sum).max(0.0) } else { 0.0 }
}

fn of_phases(arguments: &[Argument<'_>], counted: fn(f64, f64) -> f64) -> Result<f64, Refusal> {
    let [one, two, three, Argument::Number(rule), Argument::Number(phases), Argument::Number(over)] =
        arguments
    else {
        return Err(Refusal("phase_1: expected a series".to_owned()));
    };
    let (one, two, three) = (one.values(), two.values(), three.values());
    if one.len() != two.len() || one.len() != three.len() {
        return Err(Refusal("phase_2 and phase_3: as many values as phase_1".to_owned()));
    }
    if *phases == 0.0 {
        let net: Vec<f64> =
            one.iter().zip(two).zip(three).map(|((one, two), three)| one + two + three).collect();
        return Ok(balanced(&net, *over)?.map(|sum| counted(sum, *rule)).sum());
    }
    let mut energy = 0.0;
    for phase in [one, two, three] {
        energy += balanced(phase, *over)?.map(|sum| counted(sum, *rule)).sum::<f64>();
    }
    Ok(energy)
}

/// The sums over balancing intervals; the last may be short.
fn balanced(net: &[f64], over: f64) -> Result<impl Iterator<Item = f64>, Refusal> {
    let over = whole("balanced_over", over)?.max(1);
    Ok(net.chunks(over).map(|values| values.iter().sum()))
}

fn net_within_export_limit(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[Argument::Series(net), Argument::Number(limit)] = arguments else {
        return Err(Refusal("net: expected a series".to_owned()));
    };
    Ok(net.iter().map(|net| net.max(-limit)).collect())
}

struct Credits {
    billed: Vec<f64>,
    expired: f64,
    left: f64,
}

fn credits(arguments: &[Argument<'_>]) -> Result<Credits, Refusal> {
    let &[Argument::Series(net), Argument::Number(term)] = arguments else {
        return Err(Refusal("net: expected a series".to_owned()));
    };
    let term = whole("expires_after", term)?;
    // The last period of each credit and what is left of it, oldest first.
    let mut held: VecDeque<(usize, f64)> = VecDeque::new();
    let mut billed = Vec::with_capacity(net.len());
    let mut expired = 0.0;
    for (period, net) in net.iter().enumerate() {
        while held.front().is_some_and(|(last, _)| *last < period)
            && let Some((_, amount)) = held.pop_front()
        {
            expired += amount;
        }
        let mut due = net.max(0.0);
        while due > 0.0
            && let Some((_, amount)) = held.front_mut()
        {
            let used = due.min(*amount);
            due -= used;
            *amount -= used;
            if *amount <= 0.0 {
                held.pop_front();
            }
        }
        billed.push(due);
        if *net < 0.0 {
            held.push_back((period.saturating_add(term), -net));
        }
    }
    // A credit without any following period is lost at once.
    let (gone, valid): (Vec<_>, Vec<_>) = held.into_iter().partition(|(last, _)| *last < net.len());
    expired += gone.iter().map(|(_, amount)| amount).sum::<f64>();
    Ok(Credits { billed, expired, left: valid.iter().map(|(_, amount)| amount).sum() })
}

/// A count of intervals or periods.
pub(crate) fn whole(name: &str, value: f64) -> Result<usize, Refusal> {
    if value.fract() != 0.0 || !(0.0..=1e9).contains(&value) {
        return Err(Refusal(format!("{name}: must be a whole number")));
    }
    // Whole, and small enough for every machine.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    Ok(value as usize)
}
