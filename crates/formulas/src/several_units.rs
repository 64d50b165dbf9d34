//! Several units alike, switched by flow.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Output, Parameter, Source, Subject};
use crate::sources::DEFINITION;
use crate::usual::SHARE_ABOVE_ZERO;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "several_units",
    about: "Several units alike, switched by flow.",
    formulas: FORMULAS,
};

/// A flow that misses a whole number of units by rounding alone.
const NEARLY: f64 = 1e-9;

static FORMULAS: &[Formula] = &[
    Formula {
        name: "units_running",
        summary: "How many of several units alike run at a flow: as few as can take it, and no more \
                  than it can keep above their least share.",
        equation: "n = min(units, ⌈Q/Q_d⌉, ⌊Q/(share Q_d)⌋)",
        parameters: &[
            Parameter::new(
                "flow",
                Dimension::FLOW,
                "that may be turbined: residual flow taken off",
            )
            .not_negative(),
            Parameter {
                must: SHARE_ABOVE_ZERO,
                ..Parameter::new(
                    "least_share",
                    Dimension::NONE,
                    "of its design flow on which a unit still runs: least_flow_share; 1 for fixed \
                     blades that do not throttle",
                )
            },
            Parameter::new("design_flow", Dimension::FLOW, "of one unit").positive(),
            Parameter::new("units", Dimension::NONE, "that are there").within(1.0, 1000.0),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "operation of several units alike"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("flow", "175 L/s"),
                    ("least_share", "0.75"),
                    ("design_flow", "100 L/s"),
                    ("units", "3"),
                ],
                expected: "2",
                tolerance: 0.0,
                source: "by hand: two at 0.875 of their flow",
            },
            Check {
                arguments: &[
                    ("flow", "120 L/s"),
                    ("least_share", "0.75"),
                    ("design_flow", "100 L/s"),
                    ("units", "3"),
                ],
                expected: "1",
                tolerance: 0.0,
                source: "by hand: two would have 0.60 of their flow each",
            },
            Check {
                arguments: &[
                    ("flow", "0.3 m^3/s"),
                    ("least_share", "1"),
                    ("design_flow", "0.1 m^3/s"),
                    ("units", "4"),
                ],
                expected: "3",
                tolerance: 0.0,
                source: "by hand: three at their flow",
            },
            Check {
                arguments: &[
                    ("flow", "0.30000000000000004 m^3/s"),
                    ("least_share", "0.5"),
                    ("design_flow", "0.1 m^3/s"),
                    ("units", "4"),
                ],
                expected: "3",
                tolerance: 0.0,
                source: "by hand: three at their flow; 3 · 0.1 in binary is a last digit more",
            },
        ],
        body: Body::Four(units_running),
    },
    Formula {
        name: "units_flow",
        summary: "Flow that several units alike take together, switched by flow.",
        equation: "q = min(Q, n Q_d), n = units_running",
        parameters: &[
            Parameter::new(
                "flow",
                Dimension::FLOW,
                "that may be turbined: residual flow taken off",
            )
            .not_negative(),
            Parameter {
                must: SHARE_ABOVE_ZERO,
                ..Parameter::new(
                    "least_share",
                    Dimension::NONE,
                    "of its design flow on which a unit still runs; 1 for fixed blades",
                )
            },
            Parameter::new("design_flow", Dimension::FLOW, "of one unit").positive(),
            Parameter::new("units", Dimension::NONE, "that are there").within(1.0, 1000.0),
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "operation of several units alike"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("flow", "120 L/s"),
                    ("least_share", "0.75"),
                    ("design_flow", "100 L/s"),
                    ("units", "3"),
                ],
                expected: "100 L/s",
                tolerance: 1e-12,
                source: "by hand: one at its full flow",
            },
            Check {
                arguments: &[
                    ("flow", "175 L/s"),
                    ("least_share", "0.75"),
                    ("design_flow", "100 L/s"),
                    ("units", "3"),
                ],
                expected: "175 L/s",
                tolerance: 1e-12,
                source: "by hand: two share it",
            },
        ],
        body: Body::Four(units_flow),
    },
];

fn units_running(flow: f64, least_share: f64, design_flow: f64, units: f64) -> f64 {
    let enough = (flow / design_flow - NEARLY).ceil().max(0.0);
    let kept = (flow / (least_share * design_flow) + NEARLY).floor();
    units.floor().min(enough).min(kept)
}

fn units_flow(flow: f64, least_share: f64, design_flow: f64, units: f64) -> f64 {
    flow.min(units_running(flow, least_share, design_flow, units) * design_flow)
}
