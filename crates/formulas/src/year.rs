//! The year: what is turbined day by day, energy from series and from the duration curve.

use forebay_units::Dimension;

use crate::call::YEAR;
use crate::duration::month_place;
use crate::formula::{
    Argument, Body, Check, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::sources::{DEFINITION, IEEE_762};
use crate::usual::{DENSITY, GRAVITY};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "year",
    about: "What is turbined day by day, the energy of series and of the duration curve, and the \
        share of the time for which a plant is ready.",
    formulas: FORMULAS,
};

const RESIDUAL: &str = "How much must stay in the stream is for the water-right permit and the \
    fisheries authority to say; diverting water is a legal act.";

const MEAN_FLOW: &str = "Never take the power of the mean flow for the mean power: it is too high. The \
    head falls when the stream rises: give it with the flow.";

const INTERVAL: Parameter =
    Parameter::new("interval", Dimension::TIME, "between two values: 1 d, 1 h").positive();

const POWERS: Parameter = Parameter::of_kind(
    "powers",
    Kind::Series(Dimension::POWER),
    "of equal intervals in their order, standstill as 0 and without gaps",
);

const MONTHS: Parameter = Parameter::of_kind(
    "months",
    Kind::Series(Dimension::NONE),
    "the month of each value, 1 to 12: `month(daily.date)`",
)
.within(1.0, 12.0);

const SHARE: Parameter = Parameter::of_kind(
    "share",
    Kind::Series(Dimension::NONE),
    "of the time for which the flow of the row is exceeded, rising",
)
.within(0.0, 1.0)
.column();

const ENDS: &[&str] = &["held", "left_out"];

const ENDS_OF_CURVE: Parameter = Parameter::of_kind(
    "ends",
    Kind::Choice(ENDS),
    "what holds before the first share and behind the last: the value there, which may make up 5 % of \
     the time at each end, or nothing",
)
.or(0.0);

static FORMULAS: &[Formula] = &[
    Formula {
        name: "turbined_flows",
        summary: "What one or more equal turbines take of a stream day by day, switched on as the \
            flow allows.",
        equation: "a = max(Q − Q_r, 0); with j turbines min(a, j Q_d) if a ≥ j Q_min; the greatest of \
                   all j up to their number",
        parameters: &[
            Parameter::of_kind("flows", Kind::Series(Dimension::FLOW), "of the stream, no gaps")
                .not_negative(),
            Parameter::new("design_flow", Dimension::FLOW, "greatest flow of one turbine")
                .not_negative(),
            Parameter::new("least_flow", Dimension::FLOW, "least flow that one turbine runs on")
                .not_negative(),
            Parameter::new("residual_flow", Dimension::FLOW, "that stays in the stream")
                .not_negative(),
            Parameter::new("machines", Dimension::NONE, "how many equal turbines")
                .within(1.0, 100.0)
                .or(1.0),
        ],
        result: Output::new(Dimension::FLOW).series(),
        limits: &[],
        caution: Some(RESIDUAL),
        source: Source::exact(DEFINITION, "operation of throttled turbines"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("flows", "[0.34, 0.668, 0.821] m^3/s"),
                    ("design_flow", "0.60 m^3/s"),
                    ("least_flow", "0.15 m^3/s"),
                    ("residual_flow", "0.20 m^3/s"),
                ],
                expected: "[0, 0.468, 0.60] m^3/s",
                tolerance: 1e-12,
                source: "by hand, on flows of USGS 09447000",
            },
            Check {
                arguments: &[
                    ("flows", "[50, 130, 150, 190, 260, 400] L/s"),
                    ("design_flow", "100 L/s"),
                    ("least_flow", "60 L/s"),
                    ("residual_flow", "20 L/s"),
                    ("machines", "3"),
                ],
                expected: "[0, 100, 130, 170, 240, 300] L/s",
                tolerance: 1e-12,
                source: "by hand: 110 L/s are too little for two turbines of 60 L/s",
            },
        ],
        body: Body::ToSeries(turbined_flows),
    },
    Formula {
        name: "energy_of_series",
        summary: "The energy of a series of powers at equal intervals.",
        equation: "step Σ P_k Δt; trapezoid Σ ½(P_k + P_{k+1}) Δt",
        parameters: &[
            POWERS,
            INTERVAL,
            Parameter::of_kind(
                "method",
                Kind::Choice(&["step", "trapezoid"]),
                "step for means of intervals, trapezoid for readings at their ends",
            )
            .or(0.0),
        ],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: Some(
            "Of a record with gaps take energy_for_year(present(powers), …) and look at \
             record_coverage: summed over present(powers) alone, missing days count as standstill.",
        ),
        source: Source::exact(DEFINITION, "energy is power summed over time"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("powers", "[2, 3.5, 0, 1] kW"), ("interval", "6 h")],
                expected: "39 kWh",
                tolerance: 1e-12,
                source: "by hand, 6.5 kW · 6 h",
            },
            Check {
                arguments: &[
                    ("powers", "[2, 3.5, 0, 1] kW"),
                    ("interval", "6 h"),
                    ("method", "trapezoid"),
                ],
                expected: "30 kWh",
                tolerance: 1e-12,
                source: "by hand, (1 + 3.5 + 0 + 0.5) kW · 6 h",
            },
        ],
        body: Body::Series(energy_of_series),
    },
    Formula {
        name: "monthly_energy",
        summary: "The energy of each calendar month over the whole record: twelve values from \
            January.",
        equation: "E_k = Σ P Δt over all values of month k",
        parameters: &[POWERS, MONTHS, INTERVAL],
        result: Output::new(Dimension::ENERGY).series(),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "energy is power summed over time"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("powers", "[2, 3, 1, 4, 0.5] kW"),
                ("months", "[11, 11, 12, 1, 11]"),
                ("interval", "1 d"),
            ],
            expected: "[96, 0, 0, 0, 0, 0, 0, 0, 0, 0, 132, 24] kWh",
            tolerance: 1e-12,
            source: "by hand, 24 h at 4 kW, at 5.5 kW and at 1 kW",
        }],
        body: Body::ToSeries(monthly_energy),
    },
    Formula {
        name: "duration_power",
        summary: "The mean power under a curve of powers over the share of the time.",
        equation: "P̄ = ∫ P dp from 0 to 1, linear between the rows",
        parameters: &[
            SHARE,
            Parameter::of_kind("power", Kind::Series(Dimension::POWER), "at each share")
                .not_negative()
                .column(),
            ENDS_OF_CURVE,
        ],
        result: Output::new(Dimension::POWER),
        limits: &[],
        caution: Some(MEAN_FLOW),
        source: Source::exact(DEFINITION, "mean over the time by the duration curve"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("share", "[0.02, 0.5, 0.96]"), ("power", "[4, 3, 1] kW")],
                expected: "2.72 kW",
                tolerance: 1e-12,
                source: "by hand, 0.08 + 0.48 · 3.5 + 0.46 · 2 + 0.04",
            },
            Check {
                arguments: &[
                    ("share", "[0.02, 0.5, 0.96]"),
                    ("power", "[4, 3, 1] kW"),
                    ("ends", "left_out"),
                ],
                expected: "2.6 kW",
                tolerance: 1e-12,
                source: "by hand, 0.48 · 3.5 + 0.46 · 2",
            },
        ],
        body: Body::Series(duration_power),
    },
    Formula {
        name: "duration_energy",
        summary: "The energy of a throttled turbine by the flow-duration route, head and efficiency \
            varying along the curve.",
        equation: "E = T ∫ ρ g q H η dp; q = min(max(Q − Q_r, 0), Q_d), 0 below Q_min; Q, H and η \
                   linear between the rows, the bends of q met exactly",
        parameters: &[
            SHARE,
            Parameter::of_kind("flow", Kind::Series(Dimension::FLOW), "of the stream, not rising")
                .not_negative()
                .column(),
            Parameter::of_kind(
                "head",
                Kind::Series(Dimension::LENGTH),
                "net head at that flow: less when the stream is high",
            )
            .not_negative()
            .column(),
            Parameter::of_kind(
                "efficiency",
                Kind::Series(Dimension::NONE),
                "of all stages, at what is turbined at that flow",
            )
            .within(0.0, 1.0)
            .column(),
            Parameter::new("design_flow", Dimension::FLOW, "greatest flow of the turbine")
                .not_negative(),
            Parameter::new("least_flow", Dimension::FLOW, "least flow that it runs on")
                .not_negative(),
            Parameter::new("residual_flow", Dimension::FLOW, "that stays in the stream")
                .not_negative(),
            Parameter::new(
                "time",
                Dimension::TIME,
                "that the curve stands for: 365 d unless given",
            )
            .positive()
            .or(YEAR),
            ENDS_OF_CURVE,
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::ENERGY),
        limits: &[],
        caution: Some(MEAN_FLOW),
        source: Source::exact(DEFINITION, "energy by the duration curve"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("share", "[0.02, 0.1, 0.3, 0.5, 0.75, 0.98]"),
                    ("flow", "[1.9, 1.1, 0.72, 0.50, 0.31, 0.16] m^3/s"),
                    ("head", "[2.6, 2.9, 3.05, 3.12, 3.18, 3.2] m"),
                    ("efficiency", "[0.70, 0.74, 0.76, 0.75, 0.70, 0.60]"),
                    ("design_flow", "0.5 m^3/s"),
                    ("least_flow", "0.12 m^3/s"),
                    ("residual_flow", "0.1 m^3/s"),
                    ("time", "8760 h"),
                    ("gravity", "9.80665 m/s^2"),
                    ("density", "1000 kg/m^3"),
                ],
                expected: "65824.95130664 kWh",
                tolerance: 1e-9,
                source: "scipy 1.17.1, quad of the power over the share, on invented figures",
            },
            Check {
                arguments: &[
                    ("share", "[0.02, 0.1, 0.3, 0.5, 0.75, 0.98]"),
                    ("flow", "[1.9, 1.1, 0.72, 0.50, 0.31, 0.16] m^3/s"),
                    ("head", "[2.6, 2.9, 3.05, 3.12, 3.18, 3.2] m"),
                    ("efficiency", "0.7"),
                    ("design_flow", "0.5 m^3/s"),
                    ("least_flow", "0.12 m^3/s"),
                    ("residual_flow", "0.1 m^3/s"),
                    ("time", "8760 h"),
                ],
                expected: "62560.75130662 kWh",
                tolerance: 1e-9,
                source: "scipy 1.17.1, quad of the power over the share, on invented figures",
            },
        ],
        body: Body::Series(duration_energy),
    },
    Formula {
        name: "share_of_month",
        summary: "A share given for each month, laid on the days: how ready the plant is on each.",
        equation: "s_k of the month k of each day",
        parameters: &[
            MONTHS,
            Parameter::of_kind(
                "shares",
                Kind::Series(Dimension::NONE),
                "twelve values from January: ready in spite of leaves, ice and upkeep",
            )
            .within(0.0, 1.0),
        ],
        result: Output::new(Dimension::NONE).series(),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, ""),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("months", "[1, 12, 10, 10]"),
                (
                    "shares",
                    "[0.9, 0.92, 0.97, 0.98, 0.99, 0.99, 0.99, 0.98, 0.97, 0.85, 0.88, 0.93]",
                ),
            ],
            expected: "[0.9, 0.93, 0.85, 0.85]",
            tolerance: 0.0,
            source: "by hand, read from the list",
        }],
        body: Body::ToSeries(share_of_month),
    },
    Formula {
        name: "availability_factor",
        summary: "The share of a time for which a plant is ready to run, whether there is water or \
            not.",
        equation: "AF = (T − t_planned − t_forced)/T",
        parameters: &[
            Parameter::new("time", Dimension::TIME, "whole time, such as a month").positive(),
            Parameter::new("planned_outage", Dimension::TIME, "upkeep, cleaning").not_negative(),
            Parameter::new("forced_outage", Dimension::TIME, "ice, leaves, faults, no grid")
                .not_negative(),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::memory(IEEE_762, "availability factor"),
        hides: None,
        checks: &[Check {
            arguments: &[("time", "30 d"), ("planned_outage", "18 h"), ("forced_outage", "54 h")],
            expected: "0.9",
            tolerance: 1e-12,
            source: "by hand, 648 h of 720 h",
        }],
        body: Body::Three(availability_factor),
    },
];

fn turbined_flows(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[
        Argument::Series(flows),
        Argument::Number(design_flow),
        Argument::Number(least_flow),
        Argument::Number(residual_flow),
        Argument::Number(machines),
    ] = arguments
    else {
        return Err(Refusal("flows: expected a series".to_owned()));
    };
    if machines.fract() != 0.0 || !(1.0..=100.0).contains(&machines) {
        return Err(Refusal("machines: must be a whole number".to_owned()));
    }
    if least_flow > design_flow {
        return Err(Refusal("least_flow: is above the design flow".to_owned()));
    }
    // In range by the lines above.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let machines = machines as u32;
    let taken = |flow: &f64| {
        let usable = (flow - residual_flow).max(0.0);
        (1..=machines)
            .map(f64::from)
            .filter(|running| usable >= running * least_flow)
            .map(|running| usable.min(running * design_flow))
            .fold(0.0, f64::max)
    };
    Ok(flows.iter().map(taken).collect())
}

fn energy_of_series(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(powers), Argument::Number(interval), Argument::Number(method)] =
        arguments
    else {
        return Err(Refusal("powers: expected a series".to_owned()));
    };
    let sum: f64 = powers.iter().sum();
    match (powers, method) {
        (&[], _) => Err(Refusal("powers: the series is empty".to_owned())),
        (_, 0.0) => Ok(sum * interval),
        (&[_], _) => Err(Refusal("powers: a trapezoid needs two readings or more".to_owned())),
        (&[first, .., last], _) => Ok((sum - 0.5 * (first + last)) * interval),
    }
}

fn monthly_energy(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[Argument::Series(powers), Argument::Series(months), Argument::Number(interval)] =
        arguments
    else {
        return Err(Refusal("powers, months: expected series".to_owned()));
    };
    if powers.len() != months.len() {
        return Err(Refusal("months: must have one value for each power".to_owned()));
    }
    let mut sums = vec![0.0; 12];
    for (power, month) in powers.iter().zip(months) {
        sums[month_place(*month)?] += power * interval;
    }
    Ok(sums)
}

/// The shares of a curve that may be integrated.
fn curve<'a>(share: Argument<'a>, ends: f64) -> Result<&'a [f64], Refusal> {
    let Argument::Series(shares) = share else {
        return Err(Refusal("share: expected a series".to_owned()));
    };
    let &[first, .., last] = shares else {
        return Err(Refusal("share: a curve needs two rows or more".to_owned()));
    };
    if shares.windows(2).any(|pair| pair[1] <= pair[0]) {
        return Err(Refusal("share: must rise from row to row".to_owned()));
    }
    if ends == 0.0 && (first > 0.05 || last < 0.95) {
        return Err(Refusal(format!(
            "share: the curve goes from {first} to {last}, so that more than 5 % of the time is \
             unknown at an end; give more rows, or ends = \"left_out\""
        )));
    }
    Ok(shares)
}

/// A column, one value for each share.
fn column(name: &str, argument: Argument<'_>, rows: usize) -> Result<Vec<f64>, Refusal> {
    match argument {
        Argument::Number(value) => Ok(vec![value; rows]),
        Argument::Series(values) if values.len() == rows => Ok(values.to_vec()),
        _ => Err(Refusal(format!("{name}: must have one value for each share"))),
    }
}

fn duration_power(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[share, power, Argument::Number(ends)] = arguments else {
        return Err(Refusal("share, power: expected series".to_owned()));
    };
    let shares = curve(share, ends)?;
    let powers = column("power", power, shares.len())?;
    let between: f64 = shares
        .windows(2)
        .zip(powers.windows(2))
        .map(|(p, power)| (p[1] - p[0]) * 0.5 * (power[0] + power[1]))
        .sum();
    let held = if ends == 0.0 {
        shares[0] * powers[0] + (1.0 - shares[shares.len() - 1]) * powers[powers.len() - 1]
    } else {
        0.0
    };
    Ok(between + held)
}

fn duration_energy(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[
        share,
        flow,
        head,
        efficiency,
        Argument::Number(design_flow),
        Argument::Number(least_flow),
        Argument::Number(residual_flow),
        Argument::Number(time),
        Argument::Number(ends),
        Argument::Number(density),
        Argument::Number(gravity),
    ] = arguments
    else {
        return Err(Refusal("share, flow: expected series".to_owned()));
    };
    let shares = curve(share, ends)?;
    let rows = shares.len();
    let flows = column("flow", flow, rows)?;
    let heads = column("head", head, rows)?;
    let efficiencies = column("efficiency", efficiency, rows)?;
    if flows.windows(2).any(|pair| pair[1] > pair[0]) {
        return Err(Refusal("flow: must not rise where the share rises".to_owned()));
    }
    if least_flow > design_flow {
        return Err(Refusal("least_flow: is above the design flow".to_owned()));
    }
    let turbined = |flow: f64| {
        let taken = (flow - residual_flow).max(0.0).min(design_flow);
        if taken < least_flow { 0.0 } else { taken }
    };
    // Turbined flow times head times efficiency, over the share.
    let mut sum = 0.0;
    for at in 0..rows - 1 {
        let part = |column: &[f64], x: f64| column[at] + (column[at + 1] - column[at]) * x;
        let work = |x: f64| turbined(part(&flows, x)) * part(&heads, x) * part(&efficiencies, x);
        // Where the turbined flow bends or breaks off; elsewhere it is linear, the product cubic.
        let fall = flows[at] - flows[at + 1];
        let mut bends = [0.0, 1.0, 1.0, 1.0];
        if fall > 0.0 {
            let bend = |taken: f64| ((flows[at] - residual_flow - taken) / fall).clamp(0.0, 1.0);
            bends = [0.0, bend(design_flow), bend(least_flow), 1.0];
        }
        for pair in bends.windows(2) {
            // Gauss's two points are exact for a cubic.
            let (middle, half) = (0.5 * (pair[0] + pair[1]), 0.5 * (pair[1] - pair[0]));
            let off = half / 3.0_f64.sqrt();
            sum += (shares[at + 1] - shares[at]) * half * (work(middle - off) + work(middle + off));
        }
    }
    if ends == 0.0 {
        let end = |at: usize| turbined(flows[at]) * heads[at] * efficiencies[at];
        sum += shares[0] * end(0) + (1.0 - shares[rows - 1]) * end(rows - 1);
    }
    Ok(sum * density * gravity * time)
}

fn share_of_month(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[Argument::Series(months), Argument::Series(shares)] = arguments else {
        return Err(Refusal("months, shares: expected series".to_owned()));
    };
    if shares.len() != 12 {
        return Err(Refusal("shares: must be twelve, one for each month".to_owned()));
    }
    months.iter().map(|month| Ok(shares[month_place(*month)?])).collect()
}

fn availability_factor(time: f64, planned_outage: f64, forced_outage: f64) -> f64 {
    let ready = time - planned_outage - forced_outage;
    if ready < 0.0 { f64::NAN } else { ready / time }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_with_wide_ends_must_leave_them_out() {
        let at = |ends| {
            duration_power(&[
                Argument::Series(&[0.1, 0.9]),
                Argument::Series(&[5.0, 3.0]),
                Argument::Number(ends),
            ])
        };
        assert!(at(0.0).unwrap_err().0.contains("left_out"));
        assert!((at(1.0).unwrap() - 3.2).abs() < 1e-12);
    }

    #[test]
    fn the_duration_route_comes_to_the_daily_sum() {
        // 1000 days in falling order, each its own row: at steady head and efficiency the two
        // routes differ by what lies between two days only.
        let flows: Vec<f64> = (0..1000).map(|k| 2.0 * (1.0 - f64::from(k) / 1000.0)).collect();
        let shares: Vec<f64> = (1..=1000).map(|m| f64::from(m) / 1001.0).collect();
        let number = Argument::Number;
        let route = duration_energy(&[
            Argument::Series(&shares),
            Argument::Series(&flows),
            number(3.0),
            number(0.7),
            number(0.6),
            number(0.15),
            number(0.2),
            number(1000.0 * 86_400.0),
            number(0.0),
            number(1000.0),
            number(9.81),
        ]);
        let taken = turbined_flows(&[
            Argument::Series(&flows),
            number(0.6),
            number(0.15),
            number(0.2),
            number(1.0),
        ]);
        let daily: f64 =
            taken.unwrap().iter().map(|q| 1000.0 * 9.81 * q * 3.0 * 0.7 * 86_400.0).sum();
        assert!((route.unwrap() / daily - 1.0).abs() < 1e-3);
    }
}
