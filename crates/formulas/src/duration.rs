//! How often a flow is there: the duration curve and its inverse, low flows, means of months.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::hydrology::NILE;
use crate::sources::{CUNNANE, DEFINITION, RIGGS};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "flow duration",
    about: "How often a flow is exceeded, how low a stream falls, and what each month brings.",
    formulas: FORMULAS,
};

const SHORT_RECORD: &str = "A record of few years says little about dry ones, and a curve that mixes \
    years hides them: look at the driest year too.";

const FLOWS: Parameter = Parameter::of_kind(
    "flows",
    Kind::Series(Dimension::FLOW),
    "mean flows over equal times, in any order; whole years, so that no season weighs more",
)
.not_negative();

const IN_ORDER: Parameter = Parameter::of_kind(
    "flows",
    Kind::Series(Dimension::FLOW),
    "mean flows of days, or of other equal times, in their order",
)
.not_negative();

const MONTHS: Parameter = Parameter::of_kind(
    "months",
    Kind::Series(Dimension::NONE),
    "the month of each flow, 1 to 12: `month(daily.date)`",
)
.within(1.0, 12.0);

/// Where the m-th largest of n flows is plotted.
const POSITIONS: &[&str] =
    &["weibull", "california", "hazen", "cunnane", "gringorten", "blom", "median"];

const METHOD: Parameter = Parameter::of_kind(
    "method",
    Kind::Choice(POSITIONS),
    "plotting position; they differ at the ends of the curve only",
)
.or(0.0);

const POSITION: &str = "p_m = (m − a)/(n + 1 − 2a), a: weibull 0, hazen ½, cunnane 0.4, gringorten \
    0.44, blom ⅜, median ⅓; california p_m = m/n";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "flow_duration",
        summary: "The duration curve: the flows that are exceeded for shares of the time.",
        equation: "flows in falling order, p_m = m/(n + 1) or another plotting position, linear in p \
                   between ranks",
        parameters: &[
            FLOWS,
            Parameter::of_kind(
                "shares",
                Kind::Series(Dimension::NONE),
                "of the time; left out: those of all flows, whose curve is then the flows in \
                 falling order. Beyond the first and the last rank nothing is known",
            )
            .within(0.0, 1.0)
            // Not of a table: it may be one share, or left out.
            .column()
            .or(0.0),
            METHOD,
        ],
        result: Output::new(Dimension::FLOW).series(),
        limits: &[],
        caution: Some(SHORT_RECORD),
        source: Source::memory(CUNNANE, POSITION),
        hides: None,
        checks: &[
            Check {
                arguments: &[("flows", NILE), ("shares", "[0.05, 0.25, 0.62, 0.95]")],
                expected: "[121.95, 103.75, 84.19, 69.42] km^3/yr",
                tolerance: 1e-9,
                source: "numpy 2.4.6, quantile with method weibull, on the data set nile of \
                         statsmodels 0.15.0",
            },
            Check {
                arguments: &[
                    ("flows", NILE),
                    ("shares", "[0.05, 0.25, 0.62, 0.95]"),
                    ("method", "california"),
                ],
                expected: "[122, 104, 84.5, 69.8] km^3/yr",
                tolerance: 1e-9,
                source: "numpy 2.4.6, quantile with method interpolated_inverted_cdf on the negated \
                         flows",
            },
            Check {
                arguments: &[
                    ("flows", NILE),
                    ("shares", "[0.05, 0.25, 0.62, 0.95]"),
                    ("method", "gringorten"),
                ],
                expected: "[121.554, 103.53, 84.2428, 69.5784] km^3/yr",
                tolerance: 1e-9,
                source: "scipy 1.17.1, mquantiles with alphap and betap 0.44",
            },
        ],
        body: Body::ToSeries(flow_duration),
    },
    Formula {
        name: "duration_shares",
        summary: "The shares of the time at which the flows in falling order stand: the other axis \
            of the duration curve.",
        equation: POSITION,
        parameters: &[FLOWS, METHOD],
        result: Output::new(Dimension::NONE).series(),
        limits: &[],
        caution: None,
        source: Source::memory(CUNNANE, "plotting positions"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("flows", "[3, 9, 4] m^3/s"), ("method", "gringorten")],
                expected: "[0.1794871794871795, 0.5, 0.8205128205128205]",
                tolerance: 1e-12,
                source: "by hand, 0.56/3.12, 1.56/3.12, 2.56/3.12",
            },
            Check {
                arguments: &[("flows", "[3, 9, 4, 7] m^3/s"), ("method", "hazen")],
                expected: "[0.125, 0.375, 0.625, 0.875]",
                tolerance: 1e-12,
                source: "by hand, (2m − 1)/(2n)",
            },
        ],
        body: Body::ToSeries(duration_shares),
    },
    Formula {
        name: "exceedance_share",
        summary: "The share of the time for which a flow is there or exceeded.",
        equation: "the duration curve read the other way, linear between ranks; of equal flows the \
                   last rank counts",
        parameters: &[
            FLOWS,
            Parameter::new("flow", Dimension::FLOW, "between the least and the greatest of them")
                .not_negative(),
            METHOD,
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(SHORT_RECORD),
        source: Source::memory(CUNNANE, POSITION),
        hides: None,
        checks: &[
            Check {
                arguments: &[("flows", NILE), ("flow", "90 km^3/yr")],
                expected: "0.4876237623762375",
                tolerance: 1e-9,
                source: "numpy 2.4.6, interp over the ranks of nile at m/(n + 1)",
            },
            Check {
                arguments: &[("flows", NILE), ("flow", "75.5 km^3/yr"), ("method", "cunnane")],
                expected: "0.8283433133732535",
                tolerance: 1e-9,
                source: "numpy 2.4.6, interp over the ranks of nile at (m − 0.4)/(n + 0.2)",
            },
            Check {
                arguments: &[("flows", "[5, 8, 5, 2] m^3/s"), ("flow", "5 m^3/s")],
                expected: "0.6",
                tolerance: 1e-12,
                source: "by hand: three of four are there or above, 3/5",
            },
        ],
        body: Body::Series(exceedance_share),
    },
    Formula {
        name: "least_running_mean",
        summary: "The lowest flow that a stretch of days has on the mean: with 7 days the usual \
            measure of low flow.",
        equation: "min over k of (Q_k + … + Q_{k+d−1})/d",
        parameters: &[
            IN_ORDER,
            Parameter::new("days", Dimension::NONE, "how many values in a row: 7").within(1.0, 1e6),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(SHORT_RECORD),
        source: Source::memory(RIGGS, "annual minimum of the mean over d days"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("flows", NILE), ("days", "7")],
                expected: "75.67142857142856 km^3/yr",
                tolerance: 1e-9,
                source: "numpy 2.4.6, sliding_window_view, on nile (7 years in place of 7 days)",
            },
            Check {
                arguments: &[("flows", "[4, 1, 3, 2, 6] L/s"), ("days", "2")],
                expected: "2 L/s",
                tolerance: 1e-12,
                source: "by hand: (4 + 1)/2, (1 + 3)/2, (3 + 2)/2, (2 + 6)/2",
            },
        ],
        body: Body::Series(least_running_mean),
    },
    Formula {
        name: "yearly_least_means",
        summary: "The lowest running mean of each year; its `exceeded_flow` at 0.9 is the low flow of \
            one year in ten.",
        equation: "for each year min over k of (Q_k + … + Q_{k+d−1})/d within the year",
        parameters: &[
            IN_ORDER,
            Parameter::of_kind(
                "years",
                Kind::Series(Dimension::NONE),
                "the year of each flow: `year(daily.date)`",
            ),
            Parameter::new("days", Dimension::NONE, "how many values in a row: 7").within(1.0, 1e6),
            Parameter::new("least_count", Dimension::NONE, "a year with fewer values is left out")
                .within(1.0, 1e6)
                .or(360.0),
        ],
        result: Output::new(Dimension::FLOW).series(),
        limits: &[],
        caution: Some(SHORT_RECORD),
        source: Source::memory(RIGGS, "annual minimum of the mean over d days"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("flows", "[4, 1, 3, 2, 6, 7, 9, 8, 5, 5, 3] L/s"),
                ("years", "[2001, 2001, 2001, 2001, 2002, 2002, 2002, 2002, 2003, 2003, 2003]"),
                ("days", "2"),
                ("least_count", "4"),
            ],
            expected: "[2, 6.5] L/s",
            tolerance: 1e-12,
            source: "by hand: (1 + 3)/2 and (6 + 7)/2; the third year is too short",
        }],
        body: Body::ToSeries(yearly_least_means),
    },
    Formula {
        name: "driest_month_mean",
        summary: "The mean flow of the driest single month of the record.",
        equation: "min over months of ΣQ/n",
        parameters: &[
            IN_ORDER,
            MONTHS,
            Parameter::new(
                "least_count",
                Dimension::NONE,
                "a month with fewer values is left out; 1 for monthly means",
            )
            .within(1.0, 1e6)
            .or(28.0),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(SHORT_RECORD),
        source: Source::exact(DEFINITION, "mean of a month"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("flows", "[5, 6, 7, 4, 2, 3, 1, 8, 9] L/s"),
                ("months", "[5, 5, 5, 6, 6, 6, 7, 5, 5]"),
                ("least_count", "2"),
            ],
            expected: "3 L/s",
            tolerance: 1e-12,
            source: "by hand: 18/3, 9/3, 17/2; the one value of July is too few",
        }],
        body: Body::Series(driest_month_mean),
    },
    Formula {
        name: "monthly_means",
        summary: "The mean flow of each calendar month over all years: twelve values from January.",
        equation: "Q̄_k = mean of all Q in month k",
        parameters: &[IN_ORDER, MONTHS],
        result: Output::new(Dimension::FLOW).series(),
        limits: &[],
        caution: Some(
            "A turbine's yield from mean months is too high: it takes less than the mean of uneven \
             days. Take the daily flows.",
        ),
        source: Source::exact(DEFINITION, "mean of a calendar month"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("flows", "[9, 8, 7, 6, 5, 4, 3, 2, 2.5, 4, 6, 8, 11, 8.6] L/s"),
                ("months", "[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 1, 2]"),
            ],
            expected: "[10, 8.3, 7, 6, 5, 4, 3, 2, 2.5, 4, 6, 8] L/s",
            tolerance: 1e-12,
            source: "by hand, two Januaries and two Februaries",
        }],
        body: Body::ToSeries(monthly_means),
    },
];

/// Flows in falling order, and where they are plotted.
struct Curve {
    falling: Vec<f64>,
    /// p = (m − a)/(n + b).
    less: f64,
    more: f64,
}

impl Curve {
    fn new(flows: &[f64], method: f64) -> Result<Self, Refusal> {
        if flows.is_empty() {
            return Err(Refusal("flows: the series is empty".to_owned()));
        }
        let mut falling = flows.to_vec();
        falling.sort_by(|a, b| b.total_cmp(a));
        // The index comes from the choice, which is as long as this list.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let symmetric = match POSITIONS.get(method as usize) {
            Some(&"california") => return Ok(Self { falling, less: 0.0, more: 0.0 }),
            Some(&"weibull") => 0.0,
            Some(&"hazen") => 0.5,
            Some(&"cunnane") => 0.4,
            Some(&"gringorten") => 0.44,
            Some(&"blom") => 0.375,
            Some(&"median") => 1.0 / 3.0,
            _ => return Err(Refusal("method: no plotting position".to_owned())),
        };
        Ok(Self { falling, less: symmetric, more: 1.0 - 2.0 * symmetric })
    }

    // A series is far shorter than 2^52.
    #[allow(clippy::cast_precision_loss)]
    fn count(&self) -> f64 {
        self.falling.len() as f64
    }

    fn share(&self, rank: f64) -> f64 {
        (rank - self.less) / (self.count() + self.more)
    }

    fn flow(&self, share: f64) -> Result<f64, Refusal> {
        let rank = share * (self.count() + self.more) + self.less;
        // Forgiven is the last digit of a share that lies on a rank.
        let on_rank = rank.round();
        let rank = if (rank - on_rank).abs() < 1e-9 * on_rank { on_rank } else { rank };
        if !(1.0..=self.count()).contains(&rank) {
            return Err(Refusal(format!(
                "shares: {} flows answer from {:.4} to {:.4}, found {share}; beyond their ends \
                 nothing is known",
                self.falling.len(),
                self.share(1.0),
                self.share(self.count()),
            )));
        }
        // In range by the line above.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let above = rank.floor() as usize - 1;
        let part = rank.fract();
        let next = self.falling.get(above + 1).copied().unwrap_or(self.falling[above]);
        Ok(self.falling[above] * (1.0 - part) + next * part)
    }
}

fn flow_duration(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[Argument::Series(flows), shares, Argument::Number(method)] = arguments else {
        return Err(Refusal("flows: expected a series".to_owned()));
    };
    let curve = Curve::new(flows, method)?;
    match shares {
        Argument::Series(shares) => shares.iter().map(|share| curve.flow(*share)).collect(),
        // No flow stands at 0: the shares were left out.
        Argument::Number(0.0) => Ok(curve.falling),
        Argument::Number(share) => Ok(vec![curve.flow(share)?]),
        Argument::Texts(_) => Err(Refusal("shares: expected a series".to_owned())),
    }
}

fn duration_shares(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[Argument::Series(flows), Argument::Number(method)] = arguments else {
        return Err(Refusal("flows: expected a series".to_owned()));
    };
    let curve = Curve::new(flows, method)?;
    // A series is far shorter than 2^52.
    #[allow(clippy::cast_precision_loss)]
    Ok((1..=flows.len()).map(|rank| curve.share(rank as f64)).collect())
}

// Ranks are far below 2^52.
#[allow(clippy::cast_precision_loss)]
fn exceedance_share(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(flows), Argument::Number(flow), Argument::Number(method)] = arguments
    else {
        return Err(Refusal("flows: expected a series; flow: expected a number".to_owned()));
    };
    let curve = Curve::new(flows, method)?;
    let there = curve.falling.partition_point(|each| *each >= flow);
    let (Some(above), Some(last)) =
        (there.checked_sub(1).and_then(|at| curve.falling.get(at)), curve.falling.last())
    else {
        return Err(Refusal("flow: above the greatest flow, where nothing is known".to_owned()));
    };
    if flow < *last {
        return Err(Refusal("flow: below the least flow, where nothing is known".to_owned()));
    }
    let part = curve.falling.get(there).map_or(0.0, |below| (above - flow) / (above - below));
    Ok(curve.share(there as f64 + part))
}

/// A number of values in a row.
fn whole(name: &str, number: f64) -> Result<usize, Refusal> {
    if number.fract() != 0.0 || !(1.0..=1e6).contains(&number) {
        return Err(Refusal(format!("{name}: must be a whole number")));
    }
    // In range by the line above.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    Ok(number as usize)
}

/// The least mean of so many values in a row; none where there are not so many.
// A window is far shorter than 2^52.
#[allow(clippy::cast_precision_loss)]
fn least_mean(flows: &[f64], days: usize) -> Option<f64> {
    let mut least = f64::INFINITY;
    let mut sum = 0.0;
    for (at, window) in flows.windows(days).enumerate() {
        // Summed afresh now and then, so that rounding does not pile up.
        if at % days == 0 {
            sum = window.iter().sum();
        } else {
            sum += window[days - 1] - flows[at - 1];
        }
        least = least.min(sum / days as f64);
    }
    least.is_finite().then_some(least)
}

fn least_running_mean(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(flows), Argument::Number(days)] = arguments else {
        return Err(Refusal("flows: expected a series; days: expected a number".to_owned()));
    };
    let days = whole("days", days)?;
    least_mean(flows, days)
        .ok_or_else(|| Refusal(format!("days: {days} in a row, but there are {}", flows.len())))
}

/// The flows of each run of the same year or month, the number first.
fn runs<'a>(
    flows: &'a [f64],
    marks: &'a [f64],
    name: &str,
) -> Result<impl Iterator<Item = (f64, &'a [f64])>, Refusal> {
    if flows.len() != marks.len() {
        return Err(Refusal(format!("{name}: {} values for {} flows", marks.len(), flows.len())));
    }
    if marks.iter().any(|mark| mark.fract() != 0.0) {
        return Err(Refusal(format!("{name}: must be whole numbers")));
    }
    let mut from = 0;
    Ok(marks.chunk_by(|a, b| a == b).map(move |run| {
        let part = &flows[from..from + run.len()];
        from += run.len();
        (run[0], part)
    }))
}

fn yearly_least_means(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[
        Argument::Series(flows),
        Argument::Series(years),
        Argument::Number(days),
        Argument::Number(least_count),
    ] = arguments
    else {
        return Err(Refusal("flows, years: expected series".to_owned()));
    };
    let (days, least_count) = (whole("days", days)?, whole("least_count", least_count)?);
    if years.windows(2).any(|pair| pair[1] < pair[0]) {
        return Err(Refusal("years: must not fall; give the flows in their order".to_owned()));
    }
    let least: Vec<f64> = runs(flows, years, "years")?
        .filter(|(_, flows)| flows.len() >= least_count)
        .filter_map(|(_, flows)| least_mean(flows, days))
        .collect();
    if least.is_empty() {
        return Err(Refusal(format!(
            "least_count: no year has {least_count} values, and {days} in a row"
        )));
    }
    Ok(least)
}

// A month is far shorter than 2^52.
#[allow(clippy::cast_precision_loss)]
fn mean(flows: &[f64]) -> f64 {
    flows.iter().sum::<f64>() / flows.len() as f64
}

fn driest_month_mean(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(flows), Argument::Series(months), Argument::Number(least_count)] =
        arguments
    else {
        return Err(Refusal("flows, months: expected series".to_owned()));
    };
    let least_count = whole("least_count", least_count)?;
    runs(flows, months, "months")?
        .filter(|(_, flows)| flows.len() >= least_count)
        .map(|(_, flows)| mean(flows))
        .min_by(f64::total_cmp)
        .ok_or_else(|| Refusal(format!("least_count: no month has {least_count} values")))
}

fn monthly_means(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[Argument::Series(flows), Argument::Series(months)] = arguments else {
        return Err(Refusal("flows, months: expected series".to_owned()));
    };
    let (mut sums, mut counts) = ([0.0; 12], [0.0; 12]);
    for (month, flows) in runs(flows, months, "months")? {
        for flow in flows {
            let at = month_place(month)?;
            sums[at] += flow;
            counts[at] += 1.0;
        }
    }
    match counts.iter().position(|count| *count == 0.0) {
        Some(at) => Err(Refusal(format!("months: there is no flow of month {}", at + 1))),
        None => Ok(sums.iter().zip(counts).map(|(sum, count)| sum / count).collect()),
    }
}

/// Where a month stands among twelve.
pub(crate) fn month_place(month: f64) -> Result<usize, Refusal> {
    if month.fract() != 0.0 || !(1.0..=12.0).contains(&month) {
        return Err(Refusal("months: must be whole numbers from 1 to 12".to_owned()));
    }
    // In range by the line above.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    Ok(month as usize - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_and_its_inverse_agree_and_end_where_the_flows_end() {
        let flows = Argument::Series(&[4.0, 9.0, 6.0, 6.0]);
        for method in 0..POSITIONS.len() {
            let method = Argument::Number(method as f64);
            let shares = duration_shares(&[flows, method]).unwrap();
            let at = |shares: &[f64]| flow_duration(&[flows, Argument::Series(shares), method]);
            assert_eq!(at(&shares).unwrap(), [9.0, 6.0, 6.0, 4.0]);
            assert!(at(&[shares[0] - 1e-3]).is_err());
            let share = |flow| exceedance_share(&[flows, Argument::Number(flow), method]);
            assert!((share(6.0).unwrap() - shares[2]).abs() < 1e-15);
            let between = share(5.0).unwrap();
            assert!((at(&[between]).unwrap()[0] - 5.0).abs() < 1e-12);
            assert!(share(9.01).is_err() && share(3.99).is_err());
        }
        let all = flow_duration(&[flows, Argument::Number(0.0), Argument::Number(0.0)]);
        assert_eq!(all.unwrap(), [9.0, 6.0, 6.0, 4.0]);
    }

    #[test]
    fn running_means_are_those_of_each_window() {
        let flows: Vec<f64> = (0..200_u32).map(|k| f64::from(k * 7919 % 1009)).collect();
        for days in [1, 2, 7, 31, 200] {
            let plain = flows.windows(days).map(mean).min_by(f64::total_cmp).unwrap();
            assert!((least_mean(&flows, days).unwrap() - plain).abs() < 1e-9);
        }
        assert_eq!(least_mean(&flows, 201), None);
    }

    #[test]
    fn what_is_missing_is_told() {
        let flows = Argument::Series(&[1.0, 2.0]);
        let months = monthly_means(&[flows, Argument::Series(&[1.0, 3.0])]);
        assert!(months.unwrap_err().0.contains("no flow of month 2"));
        let months = monthly_means(&[flows, Argument::Series(&[1.0])]);
        assert!(months.unwrap_err().0.contains("1 values for 2 flows"));
        let days = least_running_mean(&[flows, Argument::Number(2.5)]);
        assert!(days.unwrap_err().0.contains("whole number"));
    }
}
