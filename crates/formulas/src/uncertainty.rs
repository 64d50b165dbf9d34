//! How far a result can be trusted: standard uncertainties and how they combine.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::side_by_side::side_by_side;
use crate::sources::{GUM, JCGM_101};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "uncertainty",
    about: "Standard uncertainties, how they combine, and what stands behind them.",
    formulas: FORMULAS,
};

const HALF_WIDTH: Parameter = Parameter::new(
    "half_width",
    Dimension::NONE,
    "half the distance between the bounds, as a share of the value",
)
.not_negative();

static FORMULAS: &[Formula] = &[
    Formula {
        name: "combined_relative_uncertainty",
        summary: "The relative standard uncertainty of a product of independent factors.",
        equation: "u(y)/y = √Σ(pᵢ u(xᵢ)/xᵢ)², pᵢ the exponent of xᵢ",
        parameters: &[Parameter::of_kind(
            "uncertainties",
            Kind::Series(Dimension::NONE),
            "relative standard uncertainties, each times the exponent of its factor: 2.5 u(h)/h for \
             the head of a V-notch, 1.5 u(h)/h for a rectangular weir",
        )],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(
            "Two factors read with one gauge or one rating curve are not independent: their \
             uncertainties add, or cancel, and this formula is wrong for them.",
        ),
        source: Source::read(GUM, "5.1.6"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("uncertainties", "[5, 1, 4] %")],
                expected: "6.48074069840786 %",
                tolerance: 1e-9,
                source: "uncertainties 3.2.3, P = ρ g Q H η",
            },
            Check {
                arguments: &[("uncertainties", "[0.0166666666666667, 0.01]")],
                expected: "1.9436506316151 %",
                tolerance: 1e-9,
                source: "uncertainties 3.2.3, V-notch: 2.5 · 1 mm/150 mm with 1 % of the coefficient",
            },
        ],
        body: Body::Series(combined_relative_uncertainty),
    },
    Formula {
        name: "effective_degrees_of_freedom",
        summary: "The degrees of freedom of a combined standard uncertainty, as a real number: for a table \
            of t JCGM 100 takes the next lower whole number, floor(…).",
        equation: "ν = (Σuᵢ²)²/Σ(uᵢ⁴/νᵢ)",
        parameters: &[
            Parameter::of_kind(
                "uncertainties",
                Kind::Series(Dimension::NONE),
                "the components, each as it contributes to the result, in one unit or relative",
            ),
            Parameter::of_kind(
                "degrees_of_freedom",
                Kind::Series(Dimension::NONE),
                "of each component, in the same order",
            )
            .positive(),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::read(GUM, "annex G.4, Welch–Satterthwaite"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("uncertainties", "[25, 9.7, 2.9, 16.6]"),
                    ("degrees_of_freedom", "[18, 25.6, 50, 2]"),
                ],
                expected: "16.7",
                tolerance: 5e-3,
                source: "GUM (JCGM 100:2008), H.1.6, inputs from memory (nm); the guide rounds the \
                combined 31.7 to 32 before",
            },
            Check {
                arguments: &[
                    ("uncertainties", "[0.25, 0.57, 0.82] %"),
                    ("degrees_of_freedom", "[9, 4, 14]"),
                ],
                expected: "19.0",
                tolerance: 3e-3,
                source: "GUM (JCGM 100:2008), G.4.1, example (from memory): three means of 10, 5 and \
                15 readings",
            },
        ],
        body: Body::Series(effective_degrees_of_freedom),
    },
    Formula {
        name: "rectangular_uncertainty",
        summary: "The standard uncertainty of a value that lies anywhere between two bounds.",
        equation: "u = a/√3",
        parameters: &[HALF_WIDTH],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::read(GUM, "4.3.7"),
        hides: None,
        checks: &[Check {
            arguments: &[("half_width", "0.5")],
            expected: "0.288675134594813",
            tolerance: 1e-9,
            source: "by hand, 1/√12",
        }],
        body: side_by_side!(rectangular_uncertainty, a),
    },
    Formula {
        name: "triangular_uncertainty",
        summary: "The standard uncertainty of a value between two bounds, more likely in the middle.",
        equation: "u = a/√6",
        parameters: &[HALF_WIDTH],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::read(GUM, "4.3.9"),
        hides: None,
        checks: &[Check {
            arguments: &[("half_width", "0.3")],
            expected: "0.122474487139159",
            tolerance: 1e-9,
            source: "by hand, √0.015",
        }],
        body: side_by_side!(triangular_uncertainty, a),
    },
    Formula {
        name: "u_shaped_uncertainty",
        summary: "The standard uncertainty of a value that swings evenly between two bounds and is \
            mostly near one of them, as a room's temperature under a thermostat.",
        equation: "u = a/√2",
        parameters: &[HALF_WIDTH],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::memory(JCGM_101, "6.4.6, arc sine distribution"),
        hides: None,
        checks: &[Check {
            arguments: &[("half_width", "0.35")],
            expected: "0.247487373415292",
            tolerance: 1e-9,
            source: "by hand, √0.06125: the mean square of a sine is one half",
        }],
        body: Body::One(|half_width| half_width / 2.0_f64.sqrt()),
    },
];

fn combined_relative_uncertainty(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(uncertainties)] = arguments else {
        return Err(Refusal("uncertainties: expected a series".to_owned()));
    };
    if uncertainties.is_empty() {
        return Err(Refusal("uncertainties: the series is empty".to_owned()));
    }
    Ok(uncertainties.iter().map(|u| u.powi(2)).sum::<f64>().sqrt())
}

fn effective_degrees_of_freedom(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Series(uncertainties), Argument::Series(degrees)] = arguments else {
        return Err(Refusal("uncertainties, degrees_of_freedom: expected series".to_owned()));
    };
    if uncertainties.len() != degrees.len() {
        return Err(Refusal(format!(
            "degrees_of_freedom: {} values for {} uncertainties",
            degrees.len(),
            uncertainties.len()
        )));
    }
    let variance: f64 = uncertainties.iter().map(|u| u.powi(2)).sum();
    let shares: f64 = uncertainties.iter().zip(degrees).map(|(u, nu)| u.powi(4) / nu).sum();
    Ok(variance.powi(2) / shares)
}

fn rectangular_uncertainty(half_width: f64) -> f64 {
    half_width / 3.0_f64.sqrt()
}

fn triangular_uncertainty(half_width: f64) -> f64 {
    half_width / 6.0_f64.sqrt()
}
