//! Inverters: their voltage window, efficiency from the maker's table, output and waiting times.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Limit, Output, Parameter, Range, Refusal, Source, Subject,
};
use crate::sources::{DEFINITION, EN_50530};
use crate::usual::SHARE_ABOVE_ZERO;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "inverters",
    about: "Voltage window, efficiency, output and waiting times of inverters.",
    formulas: FORMULAS,
};

const GRID: &str = "Only an inverter certified for the grid it feeds, with the network operator's \
    consent and settings (EN 50549, IEEE 1547, UL 1741); wiring is for a licensed person.";

const SHARE: Parameter = Parameter::of_kind(
    "share",
    Kind::Series(Dimension::NONE),
    "of the rated power, rising, as the maker's table has it",
)
.not_negative()
.column();

const EFFICIENCY: Parameter = Parameter {
    must: Range { from: 0.0, to: 1.0, above: false },
    ..Parameter::of_kind(
        "efficiency",
        Kind::Series(Dimension::NONE),
        "at these shares, at the voltage of the bus",
    )
}
.column();

/// An efficiency at one share of the load.
const fn at(name: &'static str, about: &'static str) -> Parameter {
    Parameter { must: SHARE_ABOVE_ZERO, ..Parameter::new(name, Dimension::NONE, about) }
}

const SUN: &str = "Weights of sunshine. A water turbine runs at nearly the same power for months: \
    take inverter_efficiency at that power instead.";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "inverter_window_margin",
        summary: "How far a voltage is inside the window of an inverter: the distance to its nearer \
            end, below zero outside.",
        equation: "min(V − V_min, V_max − V)",
        parameters: &[
            Parameter::new("voltage", Dimension::VOLTAGE, "on the bus").not_negative(),
            Parameter::new("lowest", Dimension::VOLTAGE, "of the window").not_negative(),
            Parameter::new("highest", Dimension::VOLTAGE, "of the window").not_negative(),
        ],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[Limit { says: "lowest < highest", holds: |of| of[1] < of[2] }],
        caution: Some(
            "The window for tracking is narrower than the voltage that the input stands; hold the \
             latter against runaway_bus_voltage. Above it the inverter is destroyed and may burn.",
        ),
        source: Source::exact(DEFINITION, "distance to a limit"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("voltage", "310 V"), ("lowest", "120 V"), ("highest", "450 V")],
                expected: "140 V",
                tolerance: 1e-12,
                source: "by hand, 450 − 310",
            },
            Check {
                arguments: &[("voltage", "95 V"), ("lowest", "120 V"), ("highest", "450 V")],
                expected: "-25 V",
                tolerance: 1e-12,
                source: "by hand, 95 − 120",
            },
        ],
        body: Body::Three(|voltage, lowest, highest| {
            if lowest < highest { (voltage - lowest).min(highest - voltage) } else { f64::NAN }
        }),
    },
    Formula {
        name: "inverter_efficiency",
        summary: "The efficiency of an inverter at a share of its rated power, between the points \
            of the maker's table; refused outside them.",
        equation: "η = η_i + (η_{i+1} − η_i)(x − x_i)/(x_{i+1} − x_i)",
        parameters: &[
            SHARE,
            EFFICIENCY,
            Parameter::new("at", Dimension::NONE, "share of the rated power").not_negative(),
        ],
        result: Output::new(Dimension::NONE).shown_in("%", "%"),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "interpolation in a straight line"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("share", "[0.05, 0.1, 0.2, 0.5, 1]"),
                ("efficiency", "[0.862, 0.914, 0.943, 0.956, 0.948]"),
                ("at", "0.3"),
            ],
            expected: "0.947333333333333",
            tolerance: 1e-12,
            source: "by hand, 0.943 + 0.013/3",
        }],
        body: Body::Series(inverter_efficiency),
    },
    Formula {
        name: "inverter_output",
        summary: "The power that an inverter feeds out, by its maker's table; what is offered above \
            its rated power is not taken.",
        equation: "P = η(x) x P_r, x = min(P_dc/P_r, 1)",
        parameters: &[
            SHARE,
            EFFICIENCY,
            Parameter::new("dc_power", Dimension::POWER, "offered on the DC side").not_negative(),
            Parameter::new(
                "rated_power",
                Dimension::POWER,
                "on the DC side, of which the table gives the shares",
            )
            .positive(),
        ],
        result: Output::new(Dimension::POWER),
        limits: &[Limit {
            says: "dc_power ≤ rated_power: the rest is not taken, and the turbine speeds up",
            holds: |of| of[2] <= of[3],
        }],
        caution: Some(
            "Power that is not taken speeds the turbine up, and the voltage with it: provide a dump \
             load or a brake that needs no inverter.",
        ),
        source: Source::exact(DEFINITION, "efficiency"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("share", "[0.05, 0.1, 0.2, 0.5, 1]"),
                    ("efficiency", "[0.862, 0.914, 0.943, 0.956, 0.948]"),
                    ("dc_power", "900 W"),
                    ("rated_power", "3 kW"),
                ],
                expected: "852.6 W",
                tolerance: 1e-12,
                source: "by hand, 900 · 0.947333",
            },
            Check {
                arguments: &[
                    ("share", "[0.05, 0.1, 0.2, 0.5, 1]"),
                    ("efficiency", "[0.862, 0.914, 0.943, 0.956, 0.948]"),
                    ("dc_power", "3.6 kW"),
                    ("rated_power", "3 kW"),
                ],
                expected: "2844 W",
                tolerance: 1e-12,
                source: "by hand, 3000 · 0.948",
            },
        ],
        body: Body::Series(inverter_output),
    },
    Formula {
        name: "inverter_efficiency_european",
        summary: "The European weighted efficiency of an inverter, for sunshine of central Europe.",
        equation: "0.03 η₅ + 0.06 η₁₀ + 0.13 η₂₀ + 0.10 η₃₀ + 0.48 η₅₀ + 0.20 η₁₀₀",
        parameters: &[
            at("at_5", "efficiency at 5 % of the rated power"),
            at("at_10", "at 10 %"),
            at("at_20", "at 20 %"),
            at("at_30", "at 30 %"),
            at("at_50", "at 50 %"),
            at("at_100", "at 100 %"),
        ],
        result: Output::new(Dimension::NONE).shown_in("%", "%"),
        limits: &[],
        caution: Some(SUN),
        source: Source::read(EN_50530, "weights, as secondary texts quote them"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("at_5", "0.862"),
                ("at_10", "0.914"),
                ("at_20", "0.943"),
                ("at_30", "0.951"),
                ("at_50", "0.956"),
                ("at_100", "0.948"),
            ],
            expected: "0.94687",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code on the published weights",
        }],
        body: Body::Six(|at_5, at_10, at_20, at_30, at_50, at_100| {
            0.03 * at_5 + 0.06 * at_10 + 0.13 * at_20 + 0.10 * at_30 + 0.48 * at_50 + 0.20 * at_100
        }),
    },
    Formula {
        name: "inverter_efficiency_californian",
        summary: "The weighted efficiency of an inverter by the California Energy Commission, for \
            strong sunshine.",
        equation: "0.04 η₁₀ + 0.05 η₂₀ + 0.12 η₃₀ + 0.21 η₅₀ + 0.53 η₇₅ + 0.05 η₁₀₀",
        parameters: &[
            at("at_10", "efficiency at 10 % of the rated power"),
            at("at_20", "at 20 %"),
            at("at_30", "at 30 %"),
            at("at_50", "at 50 %"),
            at("at_75", "at 75 %"),
            at("at_100", "at 100 %"),
        ],
        result: Output::new(Dimension::NONE).shown_in("%", "%"),
        limits: &[],
        caution: Some(SUN),
        source: Source::read(EN_50530, "weights of the CEC, as secondary texts quote them"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("at_10", "0.914"),
                ("at_20", "0.943"),
                ("at_30", "0.951"),
                ("at_50", "0.956"),
                ("at_75", "0.954"),
                ("at_100", "0.948"),
            ],
            expected: "0.95161",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code on the published weights",
        }],
        body: Body::Six(|at_10, at_20, at_30, at_50, at_75, at_100| {
            0.04 * at_10 + 0.05 * at_20 + 0.12 * at_30 + 0.21 * at_50 + 0.53 * at_75 + 0.05 * at_100
        }),
    },
    Formula {
        name: "reconnect_energy_lost",
        summary: "The energy lost while an inverter waits to reconnect after each loss of the grid.",
        equation: "E = n P t",
        parameters: &[
            Parameter::new("trips", Dimension::NONE, "how many times the grid is lost")
                .not_negative(),
            Parameter::new(
                "wait",
                Dimension::TIME,
                "until it feeds again: 60 s in much of Europe, 300 s under IEEE 1547 (from memory), \
                 and what the turbine needs to come up",
            )
            .not_negative(),
            Parameter::new("power", Dimension::POWER, "not fed in meanwhile").not_negative(),
        ],
        result: Output::new(Dimension::ENERGY).shown_in("kWh", "kWh"),
        limits: &[],
        caution: Some(GRID),
        source: Source::exact(DEFINITION, "power times time"),
        hides: None,
        checks: &[Check {
            arguments: &[("trips", "24"), ("wait", "300 s"), ("power", "4 kW")],
            expected: "8 kWh",
            tolerance: 1e-12,
            source: "by hand, 24 · 5 min · 4 kW",
        }],
        body: Body::Three(|trips, wait, power| trips * power * wait),
    },
];

fn inverter_efficiency(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let [shares, efficiencies, Argument::Number(at)] = arguments else {
        return Err(Refusal("at: expected one share".to_owned()));
    };
    interpolated(shares, efficiencies, *at)
}

fn inverter_output(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let [shares, efficiencies, Argument::Number(dc_power), Argument::Number(rated)] = arguments
    else {
        return Err(Refusal("dc_power: expected one power".to_owned()));
    };
    let taken = dc_power.min(*rated);
    Ok(taken * interpolated(shares, efficiencies, taken / rated)?)
}

/// The efficiency between the points of a table.
fn interpolated(
    shares: &Argument<'_>,
    efficiencies: &Argument<'_>,
    at: f64,
) -> Result<f64, Refusal> {
    let (shares, efficiencies) = (shares.values(), efficiencies.values());
    if shares.len() != efficiencies.len() {
        return Err(Refusal("efficiency: as many values as shares".to_owned()));
    }
    if shares.windows(2).any(|pair| pair[1] <= pair[0]) {
        return Err(Refusal("share: must rise from row to row".to_owned()));
    }
    let (Some(first), Some(last)) = (shares.first(), shares.last()) else {
        return Err(Refusal("share: the table is empty".to_owned()));
    };
    // A share computed from two powers may miss the end by rounding.
    let at = if (at - last).abs() <= 1e-12 * last { *last } else { at };
    if at < *first || at > *last {
        return Err(Refusal(format!(
            "share: {at:.4} is outside the table, which goes from {first} to {last}"
        )));
    }
    let above = shares.partition_point(|share| *share < at);
    let below = above.saturating_sub(1);
    let (x0, x1) = (shares[below], shares[above]);
    let (y0, y1) = (efficiencies[below], efficiencies[above]);
    Ok(if x1 > x0 { y0 + (y1 - y0) * (at - x0) / (x1 - x0) } else { y1 })
}
