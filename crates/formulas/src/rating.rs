//! Rating curves: the power law between level and flow fitted to readings, never extended.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Limit, Output, Parameter, Refusal, Source, Subject,
};
use crate::sources::{ISO_18320, WMO_STREAMS};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "rating curves",
    about: "Level and flow of a stream, pond or tailwater, from readings of both.",
    formulas: FORMULAS,
};

const SHIFTS: &str = "A rating holds for one bed: gravel, weed and ice shift it, and a flood may lie \
    far above the highest reading. Gauge again after each flood.";

const POWER_LAW: Source =
    Source::memory(ISO_18320, "stage–discharge relationship, least squares of the logarithms");

const EQUATION: &str = "Q = C (h − h₀)^n, least squares of ln Q over ln(h − h₀)";

const LEVEL: Parameter = Parameter::of_kind(
    "level",
    Kind::Series(Dimension::LENGTH),
    "readings of the level, all above the zero level; three or more",
)
.column();

const READ_FLOW: Parameter =
    Parameter::of_kind("flow", Kind::Series(Dimension::FLOW), "the flow measured at each of them")
        .positive()
        .column();

const ZERO_LEVEL: Parameter = Parameter::new(
    "zero_level",
    Dimension::LENGTH,
    "at which nothing flows: the lowest point of the section that controls the level",
);

/// Searching the zero level runs through the readings some hundred times.
const MOST_READINGS: usize = 20_000;

const LEVELS: (&str, &str) = ("level", "[0.35, 0.42, 0.55, 0.70, 0.96, 1.20] m");
const FLOWS: (&str, &str) = ("flow", "[0.061, 0.118, 0.29, 0.57, 1.26, 2.05] m^3/s");
const ZERO: (&str, &str) = ("zero_level", "0.22 m");

static FORMULAS: &[Formula] = &[
    Formula {
        name: "rating_flow",
        summary: "The flow at a level, by the power law through readings.",
        equation: EQUATION,
        parameters: &[
            LEVEL,
            READ_FLOW,
            Parameter::new(
                "at",
                Dimension::LENGTH,
                "level, between the lowest and highest reading",
            ),
            ZERO_LEVEL,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(SHIFTS),
        source: POWER_LAW,
        hides: None,
        checks: &[Check {
            arguments: &[LEVELS, FLOWS, ("at", "0.8 m"), ZERO],
            expected: "0.8043382373628637 m^3/s",
            tolerance: 1e-9,
            source: "numpy 2.4.6, polyfit of the logarithms, on invented readings",
        }],
        body: Body::Series(rating_flow),
    },
    Formula {
        name: "rating_level",
        summary: "The level at a flow, by the power law through readings: the tailwater of each day.",
        equation: "h = h₀ + (Q/C)^(1/n), least squares of ln Q over ln(h − h₀)",
        parameters: &[
            LEVEL,
            READ_FLOW,
            Parameter::new(
                "at",
                Dimension::FLOW,
                "flow, between those that the law gives at the lowest and highest reading",
            )
            .not_negative(),
            ZERO_LEVEL,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(SHIFTS),
        source: POWER_LAW,
        hides: None,
        checks: &[Check {
            arguments: &[LEVELS, FLOWS, ("at", "1.0 m^3/s"), ZERO],
            expected: "0.8763997173916986 m",
            tolerance: 1e-9,
            source: "numpy 2.4.6, polyfit of the logarithms, on invented readings",
        }],
        body: Body::Series(rating_level),
    },
    Formula {
        name: "rating_exponent",
        summary: "The exponent of the power law through readings: near 1.5 for a wide section or a \
            weir, 1.67 for a channel, 2.5 for a notch.",
        equation: EQUATION,
        parameters: &[LEVEL, READ_FLOW, ZERO_LEVEL],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(SHIFTS),
        source: POWER_LAW,
        hides: None,
        checks: &[Check {
            arguments: &[LEVELS, FLOWS, ZERO],
            expected: "1.7595942584417505",
            tolerance: 1e-9,
            source: "numpy 2.4.6, polyfit of the logarithms, on invented readings",
        }],
        body: Body::Series(|of| Ok(readings(of)?.2.exponent)),
    },
    Formula {
        name: "rating_standard_error",
        summary: "How far the readings lie from the power law, relative: the standard error of \
            estimate.",
        equation: "s = √(Σ(ln Q − ln Q_c)²/(N − 2))",
        parameters: &[LEVEL, READ_FLOW, ZERO_LEVEL],
        result: Output::new(Dimension::NONE).shown_in("%", "%"),
        limits: &[],
        caution: Some(SHIFTS),
        source: POWER_LAW,
        hides: None,
        checks: &[Check {
            arguments: &[LEVELS, FLOWS, ZERO],
            expected: "0.03972670396165781",
            tolerance: 1e-8,
            source: "numpy 2.4.6, residuals of polyfit of the logarithms, on invented readings",
        }],
        body: Body::Series(standard_error),
    },
    Formula {
        name: "rating_zero_level",
        summary: "The level of no flow that makes the power law fit the readings best.",
        equation: "h₀ of the least Σ(ln Q − ln C − n ln(h − h₀))²",
        parameters: &[LEVEL, READ_FLOW],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(
            "A fit may put it anywhere: survey the lowest point of the section and hold it against \
             this.",
        ),
        source: POWER_LAW,
        hides: None,
        checks: &[Check {
            arguments: &[LEVELS, FLOWS],
            expected: "0.19278999537829292 m",
            tolerance: 1e-6,
            source: "scipy 1.17.1, minimize_scalar of the squares left by numpy's polyfit",
        }],
        body: Body::Series(zero_level),
    },
    Formula {
        name: "rating_zero_level_of_three",
        summary: "The level of no flow from three levels of a smooth curve whose flows grow in one \
            ratio.",
        equation: "h₀ = (h₁ h₃ − h₂²)/(h₁ + h₃ − 2 h₂), with Q₂² = Q₁ Q₃",
        parameters: &[
            Parameter::new("low_level", Dimension::LENGTH, "at the flow Q₁"),
            Parameter::new("middle_level", Dimension::LENGTH, "at the flow Q₂ = √(Q₁ Q₃)"),
            Parameter::new("high_level", Dimension::LENGTH, "at the flow Q₃"),
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[Limit {
            says: "h₁ < h₂ < h₃ and h₃ − h₂ > h₂ − h₁: the levels of a power law",
            holds: |of| of[0] < of[1] && of[2] - of[1] > of[1] - of[0],
        }],
        caution: None,
        source: Source::memory(WMO_STREAMS, "stage of zero flow by three points"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("low_level", "1.4 m"),
                ("middle_level", "2.4 m"),
                ("high_level", "4.4 m"),
            ],
            expected: "0.4 m",
            tolerance: 1e-12,
            source: "by hand: any power of h − 0.4 m, here 1, 2 and 4 m, grows in one ratio",
        }],
        body: Body::Three(zero_level_of_three),
    },
];

/// ln Q = constant + exponent · ln(h − h₀).
struct Law {
    constant: f64,
    exponent: f64,
    /// Sum of the squares left.
    left: f64,
}

/// The least squares through the readings.
fn fitted(levels: &[f64], flows: &[f64], zero: f64) -> Law {
    // Far fewer than 2^52.
    #[allow(clippy::cast_precision_loss)]
    let count = levels.len() as f64;
    let points = || levels.iter().zip(flows).map(|(h, q)| ((h - zero).ln(), q.ln()));
    let (sum_x, sum_y) = points().fold((0.0, 0.0), |(sx, sy), (x, y)| (sx + x, sy + y));
    let (mean_x, mean_y) = (sum_x / count, sum_y / count);
    let (mut xx, mut xy) = (0.0, 0.0);
    for (x, y) in points() {
        xx += (x - mean_x) * (x - mean_x);
        xy += (x - mean_x) * (y - mean_y);
    }
    let exponent = xy / xx;
    let constant = mean_y - exponent * mean_x;
    let left = points().map(|(x, y)| (y - constant - exponent * x).powi(2)).sum();
    Law { constant, exponent, left }
}

/// The lowest and the highest level of sound readings.
fn span(levels: &[f64], flows: &[f64]) -> Result<(f64, f64), Refusal> {
    if levels.len() != flows.len() {
        return Err(Refusal("flow: must have one value for each level".to_owned()));
    }
    if levels.len() < 3 {
        return Err(Refusal("level: a fit needs three readings or more".to_owned()));
    }
    let lowest = levels.iter().copied().fold(f64::INFINITY, f64::min);
    let highest = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if lowest >= highest {
        return Err(Refusal("level: all readings are at one level".to_owned()));
    }
    Ok((lowest, highest))
}

/// Lowest and highest level, the law, and its zero level, from arguments that end with it.
fn readings(arguments: &[Argument<'_>]) -> Result<(f64, f64, Law, f64), Refusal> {
    let (Some(&Argument::Series(levels)), Some(&Argument::Series(flows))) =
        (arguments.first(), arguments.get(1))
    else {
        return Err(Refusal("level, flow: expected series".to_owned()));
    };
    let Some(&Argument::Number(zero)) = arguments.last() else {
        return Err(Refusal("zero_level: expected a number".to_owned()));
    };
    let (lowest, highest) = span(levels, flows)?;
    if lowest <= zero {
        return Err(Refusal(
            "zero_level: must lie below all readings, since they have a flow".to_owned(),
        ));
    }
    Ok((lowest, highest, fitted(levels, flows, zero), zero))
}

fn rating_flow(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let (lowest, highest, law, zero) = readings(arguments)?;
    let Some(&Argument::Number(at)) = arguments.get(2) else {
        return Err(Refusal("at: expected a number".to_owned()));
    };
    if !(lowest..=highest).contains(&at) {
        return Err(Refusal(format!(
            "at: {} is beyond the readings, which go from {} to {}",
            LEVEL.shown(at),
            LEVEL.shown(lowest),
            LEVEL.shown(highest)
        )));
    }
    Ok((law.constant + law.exponent * (at - zero).ln()).exp())
}

fn rating_level(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let (lowest, highest, law, zero) = readings(arguments)?;
    let Some(&Argument::Number(at)) = arguments.get(2) else {
        return Err(Refusal("at: expected a number".to_owned()));
    };
    if law.exponent <= 0.0 {
        return Err(Refusal("flow: does not grow with the level".to_owned()));
    }
    let flow = |level: f64| (law.constant + law.exponent * (level - zero).ln()).exp();
    let (least, most) = (flow(lowest), flow(highest));
    // Forgiven is the last digit of a flow that came from the law itself.
    if !(least * (1.0 - 1e-9)..=most * (1.0 + 1e-9)).contains(&at) {
        return Err(Refusal(format!(
            "at: {} is beyond the readings, which go from {} to {}",
            READ_FLOW.shown(at),
            READ_FLOW.shown(least),
            READ_FLOW.shown(most)
        )));
    }
    Ok(zero + ((at.ln() - law.constant) / law.exponent).exp())
}

fn standard_error(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let (.., law, _) = readings(arguments)?;
    let count = arguments[0].values().len();
    // Three readings or more, far fewer than 2^52.
    #[allow(clippy::cast_precision_loss)]
    Ok((law.left / (count as f64 - 2.0)).sqrt())
}

fn zero_level(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(levels), Argument::Series(flows)] = arguments else {
        return Err(Refusal("level, flow: expected series".to_owned()));
    };
    let (lowest, highest) = span(levels, flows)?;
    if levels.len() > MOST_READINGS {
        return Err(Refusal(format!("level: more than {MOST_READINGS} readings")));
    }
    // The zero level lies a depth below the lowest reading, e^d of the readings' span.
    let left = |d: f64| fitted(levels, flows, lowest - d.exp() * (highest - lowest)).left;
    const STEPS: u32 = 120;
    let (from, to) = (1e-4_f64.ln(), 10.0_f64.ln());
    let step = (to - from) / f64::from(STEPS);
    let best = (0..=STEPS)
        .map(|k| (k, left(from + f64::from(k) * step)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(0, |(k, _)| k);
    if best == 0 || best == STEPS {
        return Err(Refusal(
            "level: these readings do not tell the zero level; survey it".to_owned(),
        ));
    }
    // Golden section about the best of them.
    let ratio = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut a, mut b) = (from + f64::from(best - 1) * step, from + f64::from(best + 1) * step);
    let (mut c, mut d) = (b - ratio * (b - a), a + ratio * (b - a));
    let (mut at_c, mut at_d) = (left(c), left(d));
    for _ in 0..25 {
        if at_c < at_d {
            (b, d, at_d) = (d, c, at_c);
            c = b - ratio * (b - a);
            at_c = left(c);
        } else {
            (a, c, at_c) = (c, d, at_d);
            d = a + ratio * (b - a);
            at_d = left(d);
        }
    }
    // The squares are flat at their least, so that its place is where their slope changes sign.
    let zero = |d: f64| lowest - d.exp() * (highest - lowest);
    let grows = |d: f64| slope_of_squares(levels, flows, zero(d)) < 0.0;
    if grows(a) != grows(b) {
        let at_a = grows(a);
        for _ in 0..50 {
            let middle = 0.5 * (a + b);
            if grows(middle) == at_a { a = middle } else { b = middle }
        }
    }
    Ok(zero(0.5 * (a + b)))
}

/// How fast the sum of the squares left grows with the zero level, but for a factor above zero.
fn slope_of_squares(levels: &[f64], flows: &[f64], zero: f64) -> f64 {
    let law = fitted(levels, flows, zero);
    let left = |h: f64, q: f64| q.ln() - law.constant - law.exponent * (h - zero).ln();
    let sum: f64 = levels.iter().zip(flows).map(|(h, q)| left(*h, *q) / (h - zero)).sum();
    law.exponent * sum
}

fn zero_level_of_three(low: f64, middle: f64, high: f64) -> f64 {
    // About the middle level, without the difference of near squares.
    let (below, above) = (middle - low, high - middle);
    if below <= 0.0 || above <= below { f64::NAN } else { middle - above * below / (above - below) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEVELS: &[f64] = &[10.5, 10.8, 11.4, 12.0];

    fn law(level: &f64) -> f64 {
        3.0 * (level - 10.2).powf(1.6)
    }

    #[test]
    fn a_law_is_found_again() {
        let flows: Vec<f64> = LEVELS.iter().map(law).collect();
        let table = [Argument::Series(LEVELS), Argument::Series(&flows)];
        let zero = zero_level(&table).unwrap();
        assert!((zero - 10.2).abs() < 1e-6, "{zero}");
        let at = |f: fn(&[Argument<'_>]) -> Result<f64, Refusal>, at| {
            f(&[table[0], table[1], Argument::Number(at), Argument::Number(10.2)])
        };
        assert!((at(rating_flow, 11.0).unwrap() - law(&11.0)).abs() < 1e-9);
        assert!((at(rating_level, law(&11.0)).unwrap() - 11.0).abs() < 1e-9);
        assert!(at(rating_flow, 12.01).unwrap_err().0.contains("from 10.5 m to 12 m"));
        assert!(at(rating_level, law(&12.0) * 1.01).is_err());
        assert!((at(rating_level, law(&12.0)).unwrap() - 12.0).abs() < 1e-9);
    }

    #[test]
    fn what_tells_nothing_is_refused() {
        let table = |levels, flows| [Argument::Series(levels), Argument::Series(flows)];
        assert!(zero_level(&table(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0])).is_err());
        assert!(zero_level(&table(&[1.0, 2.0], &[1.0, 2.0])).is_err());
        // An exponential is no power law of any zero level near by.
        let flows: Vec<f64> = LEVELS.iter().map(|level| (level * 2.0).exp()).collect();
        assert!(zero_level(&table(LEVELS, &flows)).unwrap_err().0.contains("survey"));
    }
}
