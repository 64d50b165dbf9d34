//! A flood through a pond with a level surface: storage-indication routing.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::pond_shape::{AREA, LEVEL, Shape};
use crate::sources::CHOW;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "level pool",
    about: "How a pond with a level surface delays and lowers a flood.",
    formulas: FORMULAS,
};

const DAM: &str = "A figure for planning, no design of a spillway: which flood a dam must pass is for \
    the dam-safety authority and a licensed engineer to say, and a weir blocked by debris passes less.";

const EQUATION: &str = "(2S/Δt + Q)_{k+1} = I_k + I_{k+1} + (2S/Δt − Q)_k; S = ∫ A dz; linear in \
    2S/Δt + Q between the rows";

const ROUTING: Source = Source::memory(CHOW, "sec. 8.2, level pool routing");

const PARAMETERS: &[Parameter] = &[
    LEVEL,
    AREA,
    Parameter::of_kind(
        "outflow",
        Kind::Series(Dimension::FLOW),
        "through all outlets at each level, not falling",
    )
    .not_negative()
    .column(),
    Parameter::of_kind(
        "inflow",
        Kind::Series(Dimension::FLOW),
        "readings at the ends of the intervals, the first at the start",
    )
    .not_negative(),
    Parameter::new(
        "interval",
        Dimension::TIME,
        "between two readings; short against the rise of the flood",
    )
    .positive(),
    Parameter::new("start_level", Dimension::LENGTH, "at the first reading, within the table"),
];

/// The pond of 1 acre and its flood.
const FLOOD: &[(&str, &str)] = &[
    (
        "level",
        "[0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5, 6, 6.5, 7, 7.5, 8, 8.5, 9, 9.5, 10] ft",
    ),
    ("area", "43560 ft^2"),
    (
        "outflow",
        "[0, 3, 8, 17, 30, 43, 60, 78, 97, 117, 137, 156, 173, 190, 205, 218, 231, 242, 253, 264, \
         275] ft^3/s",
    ),
    ("inflow", "[0, 60, 120, 180, 240, 300, 360, 320, 280, 240, 200, 160, 120, 80, 40, 0] ft^3/s"),
    ("interval", "10 min"),
    ("start_level", "0 ft"),
];

static FORMULAS: &[Formula] = &[
    Formula {
        name: "level_pool",
        summary: "The outflow of a pond at each reading of its inflow.",
        equation: EQUATION,
        parameters: PARAMETERS,
        result: Output::new(Dimension::FLOW).series(),
        limits: &[],
        caution: Some(DAM),
        source: ROUTING,
        hides: None,
        checks: &[
            Check {
                arguments: FLOOD,
                expected: "[0, 2.38095238, 17.06653316, 61.09371436, 123.1593089, 182.1828426, \
                           230.3368325, 259.2841621, 269.9988563, 267.3675783, 254.9024261, \
                           235.1912614, 206.9243438, 168.4506741, 124.1103732, 79.84612827] ft^3/s",
                tolerance: 1e-8,
                source: "Chow, Maidment & Mays 1988, Ex. 8.2.1 (data and printed peak of 270 cfs \
                         from memory), routed apart from this code with numpy 2.4.6, interp",
            },
            Check {
                arguments: &[
                    ("level", "[2, 4] m"),
                    ("area", "[300, 500] m^2"),
                    ("outflow", "[0, 4] m^3/s"),
                    ("inflow", "[1, 3] m^3/s"),
                    ("interval", "200 s"),
                    ("start_level", "2.5 m"),
                ],
                expected: "[1, 1.6666666666666667] m^3/s",
                tolerance: 1e-12,
                source: "by hand: 2S/Δt + Q is 12 at the top, 3 at 2.5 m; 1 + 3 + (2 − 1) = 5 of 12",
            },
        ],
        body: Body::ToSeries(|of| Ok(route(of)?.into_iter().map(|step| step.outflow).collect())),
    },
    Formula {
        name: "level_pool_level",
        summary: "The level of a pond at each reading of its inflow, by the same routing.",
        equation: EQUATION,
        parameters: PARAMETERS,
        result: Output::new(Dimension::LENGTH).series(),
        limits: &[],
        caution: Some(DAM),
        source: ROUTING,
        hides: None,
        checks: &[Check {
            arguments: FLOOD,
            expected: "[0, 0.3968253968, 1.502558968, 3.030380954, 4.653982723, 6.270083607, \
                       7.974493558, 9.285643733, 9.772675286, 9.653071742, 9.086473915, \
                       8.19051188, 7.074013222, 5.866196295, 4.677759331, 3.548582323] ft",
            tolerance: 1e-8,
            source: "Chow, Maidment & Mays 1988, Ex. 8.2.1 (data and printed greatest depth of 9.77 \
                     ft from memory), routed apart from this code with numpy 2.4.6, interp",
        }],
        body: Body::ToSeries(|of| Ok(route(of)?.into_iter().map(|step| step.level).collect())),
    },
];

struct Step {
    outflow: f64,
    level: f64,
}

fn route(arguments: &[Argument<'_>]) -> Result<Vec<Step>, Refusal> {
    let &[
        level,
        area,
        Argument::Series(outflows),
        Argument::Series(inflow),
        Argument::Number(interval),
        Argument::Number(start_level),
    ] = arguments
    else {
        return Err(Refusal("outflow, inflow: expected series".to_owned()));
    };
    let shape = Shape::read(level, area)?;
    let levels = shape.levels();
    if outflows.len() != levels.len() {
        return Err(Refusal("outflow: must have one value for each level".to_owned()));
    }
    if outflows.windows(2).any(|pair| pair[1] < pair[0]) {
        return Err(Refusal("outflow: must not fall where the level rises".to_owned()));
    }
    let indications: Vec<f64> =
        shape.volumes().iter().zip(outflows).map(|(s, q)| 2.0 * s / interval + q).collect();
    shape.volume("start_level", start_level)?;
    let mut indication = between(levels, &indications, start_level);
    let step = |indication| Step {
        outflow: between(&indications, outflows, indication),
        level: between(&indications, levels, indication),
    };
    let mut steps = Vec::with_capacity(inflow.len());
    if !inflow.is_empty() {
        steps.push(step(indication));
    }
    let (least, most) = (indications[0], indications[indications.len() - 1]);
    for (at, pair) in inflow.windows(2).enumerate() {
        let outflow = between(&indications, outflows, indication);
        indication = pair[0] + pair[1] + indication - 2.0 * outflow;
        if indication > most * (1.0 + 1e-12) {
            return Err(Refusal(format!(
                "inflow: raises the pool above the table's highest level, {}, by reading {}",
                LEVEL.shown(shape.highest()),
                at + 2,
            )));
        }
        if indication < least - 1e-12 * most {
            return Err(Refusal(format!(
                "interval: so long that the pool would fall below the table's lowest level, {}, by \
                 reading {}",
                LEVEL.shown(shape.lowest()),
                at + 2,
            )));
        }
        indication = indication.clamp(least, most);
        steps.push(step(indication));
    }
    if steps.is_empty() {
        return Err(Refusal("inflow: the series is empty".to_owned()));
    }
    Ok(steps)
}

/// Linear between rising xs; at their ends beyond them, which is refused before.
fn between(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let above = xs.partition_point(|each| *each <= x).clamp(1, xs.len() - 1);
    let (x0, x1) = (xs[above - 1], xs[above]);
    let part = ((x - x0) / (x1 - x0)).clamp(0.0, 1.0);
    ys[above - 1] * (1.0 - part) + ys[above] * part
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pool(inflow: &[f64], interval: f64) -> Result<Vec<Step>, Refusal> {
        route(&[
            Argument::Series(&[0.0, 1.0, 2.0]),
            Argument::Number(100.0),
            Argument::Series(&[0.0, 1.0, 3.0]),
            Argument::Series(inflow),
            Argument::Number(interval),
            Argument::Number(0.5),
        ])
    }

    #[test]
    fn the_table_is_not_left() {
        let Err(high) = pool(&[1.0, 5.0, 9.0], 60.0) else { panic!("above the table") };
        assert!(high.0.contains("by reading 3"), "{high:?}");
        let Err(low) = pool(&[0.0, 0.0, 0.0], 900.0) else { panic!("below the table") };
        assert!(low.0.starts_with("interval"), "{low:?}");
    }

    #[test]
    fn a_steady_inflow_comes_to_flow_out() {
        let steps = pool(&[2.0; 500], 10.0).unwrap();
        let last = steps.last().unwrap();
        assert!((last.outflow - 2.0).abs() < 1e-9 && (last.level - 1.5).abs() < 1e-9);
    }
}
