//! Bores of pipes as they are sold: by nominal size and schedule, by dimension ratio.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Kind, Output, Parameter, Source, Subject};
use crate::side_by_side::side_by_side;
use crate::sources::{ASME_B36_10, DEFINITION};

/// The subject.
pub(crate) static SUBJECT: Subject =
    Subject { name: "pipe_sizes", about: "Bores of pipes as they are sold.", formulas: FORMULAS };

static FORMULAS: &[Formula] = &[
    Formula {
        name: "nominal_bore",
        summary: "Inside diameter of a steel pipe of a nominal size in inches.",
        equation: "table of ASME B36.10M",
        parameters: &[
            Parameter::of_kind("size", Kind::Choice(SIZES), "nominal pipe size, NPS, in inches"),
            Parameter::of_kind("schedule", Kind::Choice(&["40", "80"]), "schedule of the wall"),
        ],
        result: Output::new(Dimension::LENGTH).shown_in("mm", "in"),
        limits: &[],
        caution: Some("Plastic and tubing have other bores under the same nominal size."),
        source: Source::memory(ASME_B36_10, "inch bores; held against fluids 1.3.1"),
        hides: Some("inch: a table of sizes"),
        checks: &[
            Check {
                arguments: &[("size", "3"), ("schedule", "40")],
                expected: "3.068 in",
                tolerance: 1e-3,
                source: "ASME B36.10M (inch figure from memory); fluids 1.3.1 nearest_pipe",
            },
            Check {
                arguments: &[("size", "8"), ("schedule", "40")],
                expected: "7.981 in",
                tolerance: 1e-3,
                source: "ASME B36.10M (inch figure from memory); fluids 1.3.1 nearest_pipe",
            },
            Check {
                arguments: &[("size", "4"), ("schedule", "80")],
                expected: "3.826 in",
                tolerance: 1e-3,
                source: "ASME B36.10M (inch figure from memory); fluids 1.3.1 nearest_pipe",
            },
        ],
        body: Body::Two(nominal_bore),
    },
    Formula {
        name: "sdr_bore",
        summary: "Inside diameter of a plastic pipe from its outside diameter and dimension ratio.",
        equation: "D = D_o (1 − 2/DR)",
        parameters: &[
            Parameter::new("outside_diameter", Dimension::LENGTH, "outside diameter").positive(),
            Parameter::new(
                "dimension_ratio",
                Dimension::NONE,
                "outside diameter over the least wall",
            )
            .within(3.0, 200.0)
            .valid(7.0, 65.0),
        ],
        result: Output::new(Dimension::LENGTH).shown_in("mm", "in"),
        limits: &[],
        caution: Some("The wall is the least one: the mean bore is a little smaller."),
        source: Source::exact(DEFINITION, "dimension ratio"),
        hides: None,
        checks: &[Check {
            arguments: &[("outside_diameter", "200 mm"), ("dimension_ratio", "26")],
            expected: "184.615 mm",
            tolerance: 1e-5,
            source: "definition of the dimension ratio: 200 · 24/26, by hand",
        }],
        body: side_by_side!(sdr_bore, a, b),
    },
];

/// Nominal sizes that the table of bores holds.
const SIZES: &[&str] =
    &["1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "4", "5", "6", "8", "10", "12"];

/// Bores of schedule 40 and 80, in, in the order of the sizes.
const BORES: [[f64; 2]; 14] = [
    [0.622, 0.546],
    [0.824, 0.742],
    [1.049, 0.957],
    [1.380, 1.278],
    [1.610, 1.500],
    [2.067, 1.939],
    [2.469, 2.323],
    [3.068, 2.900],
    [4.026, 3.826],
    [5.047, 4.813],
    [6.065, 5.761],
    [7.981, 7.625],
    [10.020, 9.562],
    [11.938, 11.374],
];

// The indices come from the choices, which are as long as the table.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn nominal_bore(size: f64, schedule: f64) -> f64 {
    const INCH: f64 = 0.0254;
    BORES
        .get(size as usize)
        .and_then(|bores| bores.get(schedule as usize))
        .map_or(f64::NAN, |inches| inches * INCH)
}

fn sdr_bore(outside: f64, ratio: f64) -> f64 {
    outside * (1.0 - 2.0 / ratio)
}
