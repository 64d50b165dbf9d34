//! Belts between turbine and generator.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Output, Parameter, Range, Source, Subject};
use crate::sources::{DEFINITION, KHURMI};
use crate::usual::RADIAN;

/// The subject.
pub(crate) static SUBJECT: Subject =
    Subject { name: "belts", about: "Belts between turbine and generator.", formulas: FORMULAS };

const GUARD: &str = "A belt takes hold of hands, hair and clothes: guard it on all sides (ISO 14120) \
    and lock the machine before touching it. A belt can come off or tear: the turbine then runs \
    away without the generator's brake.";

const SPEED: Parameter =
    Parameter::new("speed", Dimension::ROTATION, "of the driving pulley").not_negative();

const DRIVING: Parameter = Parameter::new(
    "driving_diameter",
    Dimension::LENGTH,
    "of the driving pulley, on which the belt runs: pitch diameter, for a V-belt",
)
.positive();

const SLIP: Parameter = Parameter {
    must: Range { from: 0.0, to: 0.5, above: false },
    ..Parameter::new(
        "slip",
        Dimension::NONE,
        "of the belt: 1 % to 2 % flat or V, none toothed (common practice, no source)",
    )
}
.valid(0.0, 0.05)
.or(0.0);

static FORMULAS: &[Formula] = &[
    Formula {
        name: "belt_speed",
        summary: "The speed of the driven pulley of a belt.",
        equation: "n₂ = n₁ D₁/D₂ (1 − s)",
        parameters: &[
            SPEED,
            DRIVING,
            Parameter {
                name: "driven_diameter",
                about: "of the driven pulley, likewise",
                ..DRIVING
            },
            SLIP,
        ],
        result: Output::new(Dimension::ROTATION).shown_in("rpm", "rpm"),
        limits: &[],
        caution: Some(GUARD),
        source: Source::read(KHURMI, "ch. 11"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("speed", "245 rpm"),
                    ("driving_diameter", "900 mm"),
                    ("driven_diameter", "150 mm"),
                    ("slip", "2 %"),
                ],
                expected: "1440 rpm",
                tolerance: 5e-4,
                source: "Khurmi & Gupta, Ex. 11.1, second drive: 250 rpm of the first less 2 % go \
                    in; the book rounds 1440.6",
            },
            Check {
                arguments: &[
                    ("speed", "250 rpm"),
                    ("driving_diameter", "900 mm"),
                    ("driven_diameter", "150 mm"),
                ],
                expected: "1500 rpm",
                tolerance: 1e-12,
                source: "Khurmi & Gupta, Ex. 11.1, without slip",
            },
        ],
        body: Body::Four(|speed, driving, driven, slip| speed * driving / driven * (1.0 - slip)),
    },
    Formula {
        name: "belt_pulley_diameter",
        summary: "The diameter of the driven pulley for a wanted speed.",
        equation: "D₂ = D₁ n₁ (1 − s)/n₂",
        parameters: &[
            SPEED,
            DRIVING,
            Parameter::new("driven_speed", Dimension::ROTATION, "wanted of the driven pulley")
                .positive(),
            SLIP,
        ],
        result: Output::new(Dimension::LENGTH).shown_in("mm", "in"),
        limits: &[],
        caution: Some(GUARD),
        source: Source::read(KHURMI, "ch. 11"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("speed", "245 rpm"),
                ("driving_diameter", "900 mm"),
                ("driven_speed", "1440.6 rpm"),
                ("slip", "2 %"),
            ],
            expected: "150 mm",
            tolerance: 1e-9,
            source: "Khurmi & Gupta, Ex. 11.1, turned round",
        }],
        body: Body::Four(|speed, driving, driven_speed, slip| {
            driving * speed * (1.0 - slip) / driven_speed
        }),
    },
    Formula {
        name: "belt_velocity",
        summary: "How fast a belt runs; flat belts and cast-iron pulleys are at home up to about \
            30 m/s (common practice, no source).",
        equation: "v = π D n",
        parameters: &[SPEED, DRIVING],
        result: Output::new(Dimension::VELOCITY),
        limits: &[],
        caution: Some(GUARD),
        source: Source::exact(DEFINITION, "path on a circle"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[("speed", "240 rpm"), ("driving_diameter", "900 mm")],
            expected: "11.3097335529233 m/s",
            tolerance: 1e-12,
            source: "by hand, π · 0.9 · 4",
        }],
        body: Body::Two(|speed, diameter| speed * diameter / 2.0),
    },
];
