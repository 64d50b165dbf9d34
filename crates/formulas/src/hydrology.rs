//! Stream flows: their duration, their transfer from elsewhere, and what a turbine takes of them.

use forebay_units::Dimension;

use crate::call::YEAR;
use crate::formula::{
    Argument, Body, Check, Formula, Kind, Limit, Output, Parameter, Refusal, Source, Subject,
};
use crate::side_by_side::side_by_side;
use crate::sources::{AREA_RATIO, DEFINITION, NAG, WEIBULL};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "hydrology",
    about: "How much water a stream brings, how often, and what a turbine takes of it.",
    formulas: FORMULAS,
};

const RESIDUAL: &str = "How much must stay in the stream is for the water-right permit and the \
    fisheries authority to say; diverting water is a legal act.";

const FEW_YEARS: &str = "A few years say little about dry ones: look at the driest year too.";

/// Annual flow of the Nile at Aswan, 1871 to 1970, in km³/yr (public domain).
pub(crate) const NILE: &str = "[112.0, 116.0, 96.3, 121.0, 116.0, 116.0, 81.3, 123.0, 137.0, 114.0, \
    99.5, 93.5, 111.0, 99.4, 102.0, 96.0, 118.0, 79.9, 95.8, 114.0, \
    110.0, 121.0, 115.0, 125.0, 126.0, 122.0, 103.0, 110.0, 77.4, 84.0, \
    87.4, 69.4, 94.0, 83.3, 70.1, 91.6, 69.2, 102.0, 105.0, 96.9, \
    83.1, 72.6, 45.6, 82.4, 70.2, 112.0, 110.0, 83.2, 76.4, 82.1, \
    76.8, 84.5, 86.4, 86.2, 69.8, 84.5, 74.4, 79.6, 104.0, 75.9, \
    78.1, 86.5, 84.5, 94.4, 98.4, 89.7, 82.2, 101.0, 77.1, 67.6, \
    64.9, 84.6, 81.2, 74.2, 80.1, 104.0, 86.0, 87.4, 84.8, 89.0, \
    74.4, 74.9, 83.8, 105.0, 91.8, 98.6, 79.7, 92.3, 97.5, 81.5, \
    102.0, 90.6, 90.1, 117.0, 91.2, 74.6, 91.9, 71.8, 71.4, 74.0] km^3/yr";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "exceeded_flow",
        summary: "The flow that is exceeded for a share of the time.",
        equation: "flows in falling order, p_m = m/(n + 1), linear in p between ranks",
        parameters: &[
            Parameter::of_kind(
                "flows",
                Kind::Series(Dimension::FLOW),
                "mean flows over equal times, in any order; whole years, so that no season weighs \
                 more",
            )
            .not_negative(),
            Parameter::new(
                "share",
                Dimension::NONE,
                "of the time; n flows answer from 1/(n + 1) to n/(n + 1)",
            )
            .within(0.0, 1.0),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(FEW_YEARS),
        source: Source::memory(WEIBULL, "plotting position m/(n + 1)"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("flows", NILE), ("share", "0.50")],
                expected: "89.35 km^3/yr",
                tolerance: 1e-9,
                source: "statsmodels 0.15.0, data set nile; median 893.5 of its 10⁸ m³",
            },
            Check {
                arguments: &[("flows", NILE), ("share", "0.90")],
                expected: "71.88 km^3/yr",
                tolerance: 1e-9,
                source: "numpy 2, quantile with method weibull, on the same data",
            },
            Check {
                arguments: &[("flows", NILE), ("share", "0.30")],
                expected: "100.55 km^3/yr",
                tolerance: 1e-9,
                source: "numpy 2, quantile with method weibull, on the same data",
            },
        ],
        body: Body::Series(exceeded_flow),
    },
    Formula {
        name: "weibull_share",
        summary: "The share of the time for which the m-th largest of n values is exceeded.",
        equation: "p = m/(n + 1)",
        parameters: &[
            Parameter::new("rank", Dimension::NONE, "1 for the largest").within(1.0, 1e9),
            Parameter::new("count", Dimension::NONE, "how many values there are").within(1.0, 1e9),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[Limit { says: "rank ≤ count", holds: |of| of[0] <= of[1] }],
        caution: None,
        source: Source::memory(WEIBULL, "plotting position m/(n + 1)"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("rank", "1"), ("count", "100")],
                expected: "0.0099009900990099",
                tolerance: 1e-9,
                source: "by hand, 1/101",
            },
            Check {
                arguments: &[("rank", "3"), ("count", "11")],
                expected: "0.25",
                tolerance: 1e-12,
                source: "by hand, 3/12",
            },
        ],
        body: side_by_side!(weibull_share, a, b),
    },
    Formula {
        name: "catchment_flow",
        summary: "The mean flow from a catchment, its yearly rain and the share that runs off.",
        equation: "Q = A P C/year",
        parameters: &[
            Parameter::new("area", Dimension::AREA, "of the catchment above the site")
                .not_negative(),
            Parameter::of_kind(
                "rain",
                Kind::Yearly(Dimension::LENGTH),
                "in one year: 1500 mm, or 1500 mm/yr",
            )
            .not_negative()
            .valid(0.0, 12.0),
            Parameter::new("runoff_share", Dimension::NONE, "share of the rain that runs off")
                .within(0.0, 1.0)
                .valid(0.2, 0.8),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some("A first guess: hold it against a gauge in the region and own measurements."),
        source: Source::read(NAG, "ch. 10, Ex. 10.18"),
        hides: Some("a year of 365 days, in s"),
        checks: &[
            Check {
                arguments: &[("area", "430 km^2"), ("rain", "1.5 m"), ("runoff_share", "0.65")],
                expected: "13.2943302891933 m^3/s",
                tolerance: 1e-9,
                source: "Nag 2001, Ex. 10.18, year of 365 days, carried to more digits by hand",
            },
            Check {
                arguments: &[
                    ("area", "430 km^2"),
                    ("rain", "1500 mm/yr"),
                    ("runoff_share", "0.65"),
                ],
                expected: "13.2943302891933 m^3/s",
                tolerance: 1e-9,
                source: "the same, with the rain as a rate",
            },
        ],
        body: side_by_side!(catchment_flow, a, b, c),
    },
    Formula {
        name: "area_ratio_flow",
        summary: "The flow at a site from a gauge nearby, by the areas that drain to them.",
        equation: "Q₂ = Q₁ (A₂/A₁)^x",
        parameters: &[
            Parameter::new("gauged_flow", Dimension::FLOW, "at the gauge").not_negative(),
            Parameter::new("gauged_area", Dimension::AREA, "that drains to the gauge").positive(),
            Parameter::new("site_area", Dimension::AREA, "that drains to the site").not_negative(),
            Parameter::new("exponent", Dimension::NONE, "0.7 to 1")
                .within(0.0, 2.0)
                .valid(0.7, 1.0)
                .or(1.0),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[Limit {
            says: "site_area/gauged_area from 0.3 to 3, with similar rain and ground",
            holds: |of| (0.3..=3.0).contains(&(of[2] / of[1])),
        }],
        caution: Some("A first guess: hold it against own measurements, in a dry season too."),
        source: Source::memory(AREA_RATIO, ""),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("gauged_flow", "1.33 m^3/s"),
                    ("gauged_area", "1611 km^2"),
                    ("site_area", "120 km^2"),
                ],
                expected: "0.0990689013035382 m^3/s",
                tolerance: 1e-9,
                source: "by hand, 1.33 · 120/1611 (outside the range of ratios, as the warning says)",
            },
            Check {
                arguments: &[
                    ("gauged_flow", "3 m^3/s"),
                    ("gauged_area", "100 km^2"),
                    ("site_area", "64 km^2"),
                    ("exponent", "0.5"),
                ],
                expected: "2.4 m^3/s",
                tolerance: 1e-9,
                source: "by hand, 3 · √0.64",
            },
        ],
        body: Body::Four(area_ratio_flow),
    },
    Formula {
        name: "turbined_flow",
        summary: "What a turbine that can throttle takes of a stream: what is left above the \
            residual flow, up to its design flow, and nothing below its least flow.",
        equation: "q = min(max(Q − Q_r, 0), Q_d), and 0 where q < Q_min",
        parameters: &[
            Parameter::new("flow", Dimension::FLOW, "of the stream").not_negative(),
            Parameter::new("design_flow", Dimension::FLOW, "greatest flow of the turbine")
                .not_negative(),
            Parameter::new("least_flow", Dimension::FLOW, "least flow that it runs on")
                .not_negative(),
            Parameter::new("residual_flow", Dimension::FLOW, "that stays in the stream")
                .not_negative(),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[Limit { says: "least_flow ≤ design_flow", holds: |of| of[2] <= of[1] }],
        caution: Some(RESIDUAL),
        source: Source::exact(DEFINITION, "operation of a throttled turbine"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("flow", "0.668 m^3/s"),
                    ("design_flow", "0.60 m^3/s"),
                    ("least_flow", "0.15 m^3/s"),
                    ("residual_flow", "0.20 m^3/s"),
                ],
                expected: "0.468 m^3/s",
                tolerance: 1e-9,
                source: "by hand, on the median daily flow of USGS 09447000, 2001 to 2010",
            },
            Check {
                arguments: &[
                    ("flow", "0.821 m^3/s"),
                    ("design_flow", "0.60 m^3/s"),
                    ("least_flow", "0.15 m^3/s"),
                    ("residual_flow", "0.20 m^3/s"),
                ],
                expected: "0.60 m^3/s",
                tolerance: 1e-9,
                source: "by hand, on the flow exceeded for 30 % of the time there",
            },
            Check {
                arguments: &[
                    ("flow", "0.34 m^3/s"),
                    ("design_flow", "0.60 m^3/s"),
                    ("least_flow", "0.15 m^3/s"),
                    ("residual_flow", "0.20 m^3/s"),
                ],
                expected: "0 m^3/s",
                tolerance: 0.0,
                source: "by hand: 0.14 m³/s is below the least flow",
            },
        ],
        body: side_by_side!(turbined_flow, a, b, c, d),
    },
    Formula {
        name: "plant_factor",
        summary: "The mean power of a plant as a share of its rated power.",
        equation: "PF = P_mean/P_rated",
        parameters: &[
            Parameter::new(
                "mean_power",
                Dimension::POWER,
                "over the whole time, standstill and all",
            )
            .not_negative(),
            Parameter::new("rated_power", Dimension::POWER, "of the plant").positive(),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[Limit { says: "mean_power ≤ rated_power", holds: |of| of[0] <= of[1] }],
        caution: None,
        source: Source::exact(DEFINITION, "on power; on flow it is another figure"),
        hides: None,
        checks: &[Check {
            arguments: &[("mean_power", "3.2 kW"), ("rated_power", "5 kW")],
            expected: "0.64",
            tolerance: 1e-9,
            source: "by hand from the definition",
        }],
        body: side_by_side!(plant_factor, a, b),
    },
];

fn exceeded_flow(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(flows), Argument::Number(share)] = arguments else {
        return Err(Refusal("flows: expected a series; share: expected a number".to_owned()));
    };
    if flows.is_empty() {
        return Err(Refusal("flows: the series is empty".to_owned()));
    }
    let mut falling = flows.to_vec();
    falling.sort_by(|a, b| b.total_cmp(a));
    // A series is far shorter than 2^52.
    #[allow(clippy::cast_precision_loss)]
    let count = falling.len() as f64;
    // The rank counts from 1; forgiven is the last digit of a share that lies on a rank.
    let rank = share * (count + 1.0);
    let on_rank = rank.round();
    let rank = if (rank - on_rank).abs() < 1e-9 * on_rank { on_rank } else { rank };
    if !(1.0..=count).contains(&rank) {
        return Err(Refusal(format!(
            "share: {} flows answer from {:.4} to {:.4}; beyond their ends nothing is known",
            falling.len(),
            weibull_share(1.0, count),
            weibull_share(count, count),
        )));
    }
    // In range by the line above.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let above = rank.floor() as usize - 1;
    let part = rank.fract();
    let next = falling.get(above + 1).copied().unwrap_or(falling[above]);
    Ok(falling[above] * (1.0 - part) + next * part)
}

fn weibull_share(rank: f64, count: f64) -> f64 {
    rank / (count + 1.0)
}

fn catchment_flow(area: f64, rain: f64, runoff_share: f64) -> f64 {
    area * rain * runoff_share / YEAR
}

fn area_ratio_flow(gauged_flow: f64, gauged_area: f64, site_area: f64, exponent: f64) -> f64 {
    gauged_flow * (site_area / gauged_area).powf(exponent)
}

fn turbined_flow(flow: f64, design_flow: f64, least_flow: f64, residual_flow: f64) -> f64 {
    let taken = (flow - residual_flow).max(0.0).min(design_flow);
    if taken < least_flow { 0.0 } else { taken }
}

fn plant_factor(mean_power: f64, rated_power: f64) -> f64 {
    mean_power / rated_power
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_known_beyond_the_ends() {
        let at =
            |share| exceeded_flow(&[Argument::Series(&[4.0, 9.0, 6.0]), Argument::Number(share)]);
        // Ranks 1, 2 and 3 of 3 stand at 1/4, 2/4 and 3/4.
        assert_eq!(at(0.25).unwrap(), 9.0);
        assert_eq!(at(0.5).unwrap(), 6.0);
        assert_eq!(at(0.625).unwrap(), 5.0);
        assert_eq!(at(0.75).unwrap(), 4.0);
        assert!(at(0.24).unwrap_err().0.contains("from 0.2500 to 0.7500"));
        assert!(at(0.76).is_err());
    }
}
