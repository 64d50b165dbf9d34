//! Intakes: depth of water over the pipe, and the rack before it.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Kind, Output, Parameter, Source, Subject};
use crate::pipes::velocity_head;
use crate::side_by_side::side_by_side;
use crate::sources::{DEFINITION, DESIGN_OF_SMALL_DAMS, GORDON, HI_9_8, KIRSCHMER, NMFS_SCREENS};
use crate::usual::{DEGREE, GRAVITY, RADIAN};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "intake",
    about: "Intakes: depth of water over the pipe, and the rack before it.",
    formulas: FORMULAS,
};

/// s/m^½, in which Gordon's coefficient is given.
const GORDON_COEFFICIENT: Dimension = Dimension::of(-1, 0, 2, 0, 0, 0, 0).halved();

/// Gordon's coefficients of 0.3 and 0.4 s/ft^½ in s/m^½: straight and from the side.
pub(crate) const GORDON_STRAIGHT: f64 = 0.3 / 0.552_086_949_673_690_4;
pub(crate) const GORDON_LATERAL: f64 = 0.4 / 0.552_086_949_673_690_4;

pub(crate) const VORTEX: &str = "Take the largest of the rules that apply, at the lowest pond level. Less \
    draws air, and an intake without rack or with little water over it can hold a swimmer fast: \
    barrier, rack and signs as local rules ask.";

const CLOGS: &str = "A rack clogs: allow for 30 to 50 % of it, clean it from a safe stand, and \
    size its gap for fish, eel and swimmers as local law asks. A permit is needed for most intakes.";

/// Shapes of rack bars with Kirschmer's β.
const BARS: &[&str] = &["sharp", "rounded_nose", "round", "rounded_ends", "streamlined", "drop"];
const BAR_BETA: [f64; 6] = [2.42, 1.83, 1.79, 1.67, 1.03, 0.76];

const FLOW: Parameter =
    Parameter::new("flow", Dimension::FLOW, "flow drawn through the rack").positive();

static FORMULAS: &[Formula] = &[
    Formula {
        name: "submergence_gordon",
        summary: "Depth of water over the crown of an intake that keeps vortices away, by Gordon.",
        equation: "S = C V √D",
        parameters: &[
            Parameter::new("velocity", Dimension::VELOCITY, "mean velocity in the intake")
                .positive(),
            Parameter::new(
                "height",
                Dimension::LENGTH,
                "height of the opening; of a pipe its bore",
            )
            .positive()
            .valid(0.5, 15.0),
            Parameter::new(
                "coefficient",
                GORDON_COEFFICIENT,
                "0.543 s/m^½ where the water comes straight, which is 0.3 s/ft^½; 0.725 where it \
                 comes from the side, which is 0.4",
            )
            .positive()
            .valid(0.5, 0.8)
            .or(GORDON_STRAIGHT),
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(VORTEX),
        source: Source::read(GORDON, "coefficients from secondary texts; from 29 large intakes"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("velocity", "1.2 m/s"),
                    ("height", "0.40 m"),
                    ("coefficient", "0.4 s/ft^0.5"),
                ],
                expected: "0.5498747 m",
                tolerance: 3e-7,
                source: "Gordon 1970, lateral approach (coefficient from secondary texts), by hand",
            },
            Check {
                arguments: &[("velocity", "2.0 m/s"), ("height", "0.30 m")],
                expected: "0.5952568 m",
                tolerance: 3e-3,
                source: "Gordon 1970, straight approach (0.54 to 0.55 in print), by hand",
            },
        ],
        body: side_by_side!(gordon, a, b, c),
    },
    Formula {
        name: "submergence_hydraulic_institute",
        summary: "Depth of water over the mouth of a pump intake by the Hydraulic Institute.",
        equation: "S = D (1 + 2.3 V/√(g D))",
        parameters: &[
            Parameter::new(
                "velocity",
                Dimension::VELOCITY,
                "velocity in the mouth, the bell's rim",
            )
            .not_negative()
            .valid(0.3, 3.0),
            Parameter::new("bore", Dimension::LENGTH, "diameter of the mouth").positive(),
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(VORTEX),
        source: Source::read(HI_9_8, "Hecker's equation; often credited to Knauss by mistake"),
        hides: None,
        checks: &[Check {
            arguments: &[("velocity", "1.5 m/s"), ("bore", "0.30 m")],
            expected: "0.903419561 m",
            tolerance: 1e-9,
            source: "ANSI/HI 9.8 (equation from secondary texts), by hand",
        }],
        body: side_by_side!(hydraulic_institute, a, b, c),
    },
    Formula {
        name: "rack_head_loss",
        summary: "Head lost in a clean rack by Kirschmer.",
        equation: "h = β (s/b)^(4/3) V²/2g sin α; β: sharp 2.42, rounded nose 1.83, round 1.79, \
                   both ends rounded 1.67, streamlined 1.03, drop 0.76",
        parameters: &[
            Parameter::new(
                "velocity",
                Dimension::VELOCITY,
                "velocity of approach, on the gross area before the rack",
            )
            .not_negative()
            .valid(0.0, 1.5),
            Parameter::new("bar", Dimension::LENGTH, "thickness of a bar across the flow")
                .positive(),
            Parameter::new("gap", Dimension::LENGTH, "clear gap between bars").positive(),
            Parameter::of_kind("shape", Kind::Choice(BARS), "shape of the bars along the flow"),
            Parameter::new("angle", Dimension::ANGLE, "angle of the rack from the horizontal")
                .within(0.0, std::f64::consts::PI)
                .valid(30.0 * DEGREE, std::f64::consts::FRAC_PI_2)
                .or(std::f64::consts::FRAC_PI_2),
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(CLOGS),
        source: Source::memory(KIRSCHMER, "form from secondary texts, β from memory"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("velocity", "0.5 m/s"),
                ("bar", "8 mm"),
                ("gap", "20 mm"),
                ("shape", "sharp"),
                ("angle", "70 deg"),
            ],
            expected: "8.54287087 mm",
            tolerance: 1e-8,
            source: "Kirschmer 1926 (β from memory), by hand",
        }],
        body: Body::Six(rack_head_loss),
    },
    Formula {
        name: "rack_head_loss_net",
        summary: "Head lost in a rack by the share of it that is open, clean or clogged.",
        equation: "h = (1.45 − 0.45 R − R²) V_n²/2g, R = net over gross area",
        parameters: &[
            Parameter::new("net_velocity", Dimension::VELOCITY, "velocity in the openings")
                .not_negative()
                .valid(0.0, 3.0),
            Parameter::new("open_share", Dimension::NONE, "net over gross area, dirt taken off")
                .within(0.0, 1.0)
                .valid(0.2, 0.95),
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(CLOGS),
        source: Source::memory(DESIGN_OF_SMALL_DAMS, "trash-rack losses"),
        hides: None,
        checks: &[Check {
            arguments: &[("net_velocity", "0.9 m/s"), ("open_share", "0.6")],
            expected: "33.8647754 mm",
            tolerance: 1e-8,
            source: "USBR Design of Small Dams (equation from memory), by hand",
        }],
        body: side_by_side!(rack_head_loss_net, a, b, c),
    },
    Formula {
        name: "rack_area",
        summary: "Gross area of a rack before which the water may approach at a velocity, with what frame \
            and dirt take of it added.",
        equation: "A = Q / (V · open_share · (1 − clogged_share)); V = Q / (A · open_share · (1 − clogged_share))",
        parameters: &[
            FLOW,
            Parameter::new(
                "approach_velocity",
                Dimension::VELOCITY,
                "velocity allowed square on to the rack just before it, over the part of its gross \
                 area that is neither frame nor clogged: the openings between clean bars are faster \
                 by (gap + bar)/gap",
            )
            .positive()
            .valid(0.03, 1.0),
            Parameter::new(
                "open_share",
                Dimension::NONE,
                "share of the gross area that frame and supports leave, bars and gaps counted as \
                 open: 1 for a bare grid. Where a rule limits the velocity in the gaps instead, \
                 multiply it by gap/(gap + bar) and give that velocity as approach_velocity",
            )
            .within(0.01, 1.0),
            Parameter::new(
                "clogged_share",
                Dimension::NONE,
                "share taken by dirt before it is cleaned; 30 % unless given (common practice, no \
                 source)",
            )
            .within(0.0, 0.95)
            .valid(0.2, 0.9)
            .or(0.3),
        ],
        result: Output::new(Dimension::AREA),
        limits: &[],
        caution: Some(CLOGS),
        source: Source::exact(DEFINITION, "continuity"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("flow", "1.0 ft^3/s"),
                    ("approach_velocity", "0.4 ft/s"),
                    ("open_share", "0.5"),
                ],
                expected: "7.142857 ft^2",
                tolerance: 1e-7,
                source: "2.5 ft² by NMFS 1996, over 0.5 · 0.7, by hand",
            },
            Check {
                arguments: &[
                    ("flow", "1.0 ft^3/s"),
                    ("approach_velocity", "0.4 ft/s"),
                    ("open_share", "1"),
                    ("clogged_share", "0"),
                ],
                expected: "2.5 ft^2",
                tolerance: 1e-9,
                source: "NMFS 1996, pump intakes, active screen: its area is without frame, and \
                    cleans itself",
            },
        ],
        body: side_by_side!(rack_area, a, b, c, d),
    },
    Formula {
        name: "screen_area",
        summary: "Effective wetted area of a fish screen for a velocity of approach.",
        equation: "A = Q / V",
        parameters: &[
            FLOW,
            Parameter::new(
                "approach_velocity",
                Dimension::VELOCITY,
                "velocity square on to the screen, just before it: NMFS 1996 allowed 0.4 ft/s for \
                 a screen that cleans itself, 0.2 ft/s for one that does not",
            )
            .positive()
            .valid(0.03, 0.122),
        ],
        result: Output::new(Dimension::AREA),
        limits: &[],
        caution: Some(
            "The velocity and the openings are law, and differ by place and fish: ask the \
             fisheries office before you draw water.",
        ),
        source: Source::read(NMFS_SCREENS, "approach velocity"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("flow", "1.0 ft^3/s"), ("approach_velocity", "0.4 ft/s")],
                expected: "2.5 ft^2",
                tolerance: 1e-9,
                source: "NMFS 1996, pump intakes, active screen",
            },
            Check {
                arguments: &[("flow", "0.5 ft^3/s"), ("approach_velocity", "0.2 ft/s")],
                expected: "2.5 ft^2",
                tolerance: 1e-9,
                source: "NMFS 1996, pump intakes, passive screen",
            },
        ],
        body: side_by_side!(screen_area, a, b),
    },
];

pub(crate) fn gordon(v: f64, d: f64, c: f64) -> f64 {
    c * v * d.sqrt()
}

pub(crate) fn hydraulic_institute(v: f64, d: f64, g: f64) -> f64 {
    d * (1.0 + 2.3 * v / (g * d).sqrt())
}

fn rack_head_loss(v: f64, s: f64, b: f64, shape: f64, alpha: f64, g: f64) -> f64 {
    // The index comes from the choice, which is as long as the table.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let beta = BAR_BETA.get(shape as usize).copied().unwrap_or(f64::NAN);
    beta * (s / b).powf(4.0 / 3.0) * velocity_head(v, g) * alpha.sin()
}

fn rack_head_loss_net(v: f64, r: f64, g: f64) -> f64 {
    (1.45 - 0.45 * r - r * r) * velocity_head(v, g)
}

fn rack_area(q: f64, v: f64, open: f64, clogged: f64) -> f64 {
    q / (v * open * (1.0 - clogged))
}

fn screen_area(q: f64, v: f64) -> f64 {
    q / v
}
