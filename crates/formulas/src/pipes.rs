//! Flow and friction in full pipes.

use std::f64::consts::PI;

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Limit, Output, Parameter, Source, Subject};
use crate::friction::{churchill, friction_factor, haaland, swamee_jain};
use crate::side_by_side::side_by_side;
use crate::sources::{
    BERNOULLI, CHURCHILL, COLEBROOK, DEFINITION, HAALAND, MANNING, SWAMEE_JAIN, WILLIAMS_HAZEN,
};
use crate::usual::GRAVITY;

/// The subject.
pub(crate) static SUBJECT: Subject =
    Subject { name: "pipes", about: "Flow and friction in full pipes.", formulas: FORMULAS };

const FLUIDS: &str = "reference library fluids 1.3.1";

const BORE: Parameter =
    Parameter::new("bore", Dimension::LENGTH, "inside diameter of the pipe").positive();

const LENGTH: Parameter =
    Parameter::new("length", Dimension::LENGTH, "length of the pipe along its axis").not_negative();

const FLOW: Parameter = Parameter::new("flow", Dimension::FLOW, "flow in the pipe").not_negative();

const VELOCITY: Parameter =
    Parameter::new("velocity", Dimension::VELOCITY, "mean velocity in the pipe");

const REYNOLDS: Parameter =
    Parameter::new("reynolds", Dimension::NONE, "Reynolds number of the flow").positive();

const RELATIVE_ROUGHNESS: Parameter = Parameter::new(
    "relative_roughness",
    Dimension::NONE,
    "equivalent sand roughness over bore; 0 for a smooth pipe",
)
.within(0.0, 0.5)
.valid(0.0, 0.05);

const KINEMATIC_VISCOSITY: Parameter = Parameter::new(
    "kinematic_viscosity",
    Dimension::KINEMATIC_VISCOSITY,
    "that of the water at its temperature: water_kinematic_viscosity",
)
.positive();

const ROUGHNESS: Parameter = Parameter::new(
    "roughness",
    Dimension::LENGTH,
    "equivalent sand roughness: plastic 0.0015 to 0.007 mm, new steel 0.045 mm, rusted steel 0.15 \
     to 1 mm, cast iron 0.26 mm, concrete 0.3 to 3 mm (from memory)",
)
.not_negative();

const NOT_BETWEEN: Limit = Limit {
    says: "a Reynolds number below 2000 or above 4000: in between the flow is neither laminar nor \
           turbulent and no factor is certain",
    holds: |a| a[0] <= 2000.0 || a[0] >= 4000.0,
};

static FORMULAS: &[Formula] = &[
    Formula {
        name: "circle_area",
        summary: "Area of a circle, such as the bore of a pipe.",
        equation: "A = π D²/4",
        parameters: &[BORE],
        result: Output::new(Dimension::AREA),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "geometry"),
        hides: None,
        checks: &[Check {
            arguments: &[("bore", "226 mm")],
            expected: "0.0401149966 m^2",
            tolerance: 1e-8,
            source: "355/113 for π: 355/(113 · 4) · 0.226², by hand (to its 8.5e-8)",
        }],
        body: side_by_side!(circle_area, a),
    },
    Formula {
        name: "reynolds_number",
        summary: "Inertia over viscosity in a full pipe.",
        equation: "Re = V D / ν",
        parameters: &[VELOCITY.not_negative(), BORE, KINEMATIC_VISCOSITY],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, ""),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("velocity", "0.9 m/s"),
                ("bore", "3 mm"),
                ("kinematic_viscosity", "1.519e-6 m^2/s"),
            ],
            expected: "1777",
            tolerance: 3e-4,
            source: "Cengel & Cimbala 2010, Ex. 8-2 (laminar pipe at 5 °C)",
        }],
        body: side_by_side!(reynolds_number, a, b, c),
    },
    Formula {
        name: "friction_factor",
        summary: "Darcy friction factor of a full pipe, laminar or turbulent.",
        equation: "Re ≤ 2000: f = 64/Re; Re ≥ 4000: 1/√f = −2 lg(e/(3.7 D) + 2.51/(Re √f)); \
                   straight in between",
        parameters: &[REYNOLDS.valid(1.0, 1e8), RELATIVE_ROUGHNESS],
        result: Output::new(Dimension::NONE),
        limits: &[NOT_BETWEEN],
        caution: Some(
            "This is Darcy's factor. Older British and chemical texts use Fanning's, a quarter \
             of it.",
        ),
        source: Source::library(COLEBROOK, "Colebrook–White; laminar: Hagen–Poiseuille"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("reynolds", "1e5"), ("relative_roughness", "1e-4")],
                expected: "0.0185138661",
                tolerance: 1e-8,
                source: FLUIDS,
            },
            Check {
                arguments: &[("reynolds", "1500"), ("relative_roughness", "1e-3")],
                expected: "0.0426666667",
                tolerance: 1e-9,
                source: "Hagen–Poiseuille, 64/1500",
            },
            Check {
                arguments: &[("reynolds", "5e4"), ("relative_roughness", "0")],
                expected: "0.0208914435",
                tolerance: 1e-8,
                source: FLUIDS,
            },
        ],
        body: side_by_side!(friction_factor, a, b),
    },
    Formula {
        name: "friction_factor_swamee_jain",
        summary: "Darcy friction factor of turbulent flow, explicit, within 3 %.",
        equation: "f = 0.25 / lg²(e/(3.7 D) + 5.74/Re^0.9)",
        parameters: &[REYNOLDS.valid(5e3, 1e8), RELATIVE_ROUGHNESS.valid(1e-6, 1e-2)],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::library(SWAMEE_JAIN, ""),
        hides: None,
        checks: &[
            Check {
                arguments: &[("reynolds", "1e5"), ("relative_roughness", "1e-4")],
                expected: "0.0184524244",
                tolerance: 1e-8,
                source: FLUIDS,
            },
            Check {
                arguments: &[("reynolds", "2e4"), ("relative_roughness", "1e-3")],
                expected: "0.0281188665",
                tolerance: 1e-8,
                source: FLUIDS,
            },
        ],
        body: Body::Two(swamee_jain),
    },
    Formula {
        name: "friction_factor_haaland",
        summary: "Darcy friction factor of turbulent flow, explicit, within 2 %.",
        equation: "1/√f = −1.8 lg((e/(3.7 D))^1.11 + 6.9/Re)",
        parameters: &[REYNOLDS.valid(4e3, 1e8), RELATIVE_ROUGHNESS],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::library(HAALAND, ""),
        hides: None,
        checks: &[
            Check {
                arguments: &[("reynolds", "1e5"), ("relative_roughness", "1e-4")],
                expected: "0.0182650530",
                tolerance: 1e-8,
                source: FLUIDS,
            },
            Check {
                arguments: &[("reynolds", "2e4"), ("relative_roughness", "1e-3")],
                expected: "0.0276257181",
                tolerance: 1e-8,
                source: FLUIDS,
            },
        ],
        body: Body::Two(haaland),
    },
    Formula {
        name: "friction_factor_churchill",
        summary: "Darcy friction factor of laminar, turbulent and in-between flow in one equation.",
        equation: "f = 8 ((8/Re)¹² + (A + B)^−1.5)^(1/12), A = (2.457 ln(1/((7/Re)^0.9 + \
                   0.27 e/D)))¹⁶, B = (37530/Re)¹⁶",
        parameters: &[REYNOLDS.valid(1.0, 1e8), RELATIVE_ROUGHNESS],
        result: Output::new(Dimension::NONE),
        limits: &[NOT_BETWEEN],
        caution: None,
        source: Source::library(CHURCHILL, ""),
        hides: None,
        checks: &[
            Check {
                arguments: &[("reynolds", "2e4"), ("relative_roughness", "1e-3")],
                expected: "0.0281342885",
                tolerance: 1e-8,
                source: FLUIDS,
            },
            Check {
                arguments: &[("reynolds", "1500"), ("relative_roughness", "1e-3")],
                expected: "0.0426666685",
                tolerance: 1e-8,
                source: FLUIDS,
            },
        ],
        body: Body::Two(churchill),
    },
    Formula {
        name: "friction_head",
        summary: "Head lost to friction in a pipe by Darcy and Weisbach.",
        equation: "h = f L/D · V²/2g",
        parameters: &[
            Parameter::new("friction_factor", Dimension::NONE, "Darcy's friction factor")
                .positive()
                .valid(0.005, 0.2),
            LENGTH,
            BORE,
            VELOCITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: None,
        source: Source::read("Cengel & Cimbala 2010", "chapter 8"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("friction_factor", "0.03602"),
                    ("length", "9 m"),
                    ("bore", "3 mm"),
                    ("velocity", "0.9 m/s"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "4.46 m",
                tolerance: 1e-3,
                source: "Cengel & Cimbala 2010, Ex. 8-2 (f = 64/1777)",
            },
            Check {
                arguments: &[
                    ("friction_factor", "0.0172"),
                    ("length", "60 m"),
                    ("bore", "50 mm"),
                    ("velocity", "3.056 m/s"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "9.85 m",
                tolerance: 5e-3,
                source: "Cengel & Cimbala 2010, Ex. 8-3 (f read as 0.0172)",
            },
        ],
        body: side_by_side!(friction_head, a, b, c, d, e),
    },
    Formula {
        name: "minor_head",
        summary: "Head lost at a fitting, inlet or change of bore.",
        equation: "h = K V²/2g",
        parameters: &[
            Parameter::new(
                "loss_coefficient",
                Dimension::NONE,
                "K, or the sum of several that share one velocity",
            )
            .not_negative(),
            Parameter::new(
                "velocity",
                Dimension::VELOCITY,
                "the one that the coefficient refers to: mostly that of the smaller bore",
            ),
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: None,
        source: Source::exact(BERNOULLI, "definition of a loss coefficient"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("loss_coefficient", "0.133"),
                ("velocity", "7 m/s"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "0.333 m",
            tolerance: 3e-3,
            source: "Cengel & Cimbala 2010, Ex. 8-6 (gradual expansion, K on the inlet velocity)",
        }],
        body: side_by_side!(minor_head, a, b, c),
    },
    Formula {
        name: "velocity_head",
        summary: "Height that a velocity is worth.",
        equation: "h = V²/2g",
        parameters: &[
            Parameter::new("velocity", Dimension::VELOCITY, "mean velocity of the section"),
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "energy per weight"),
        hides: None,
        checks: &[Check {
            arguments: &[("velocity", "8.02 ft/s"), ("gravity", "32.2 ft/s^2")],
            expected: "0.99876 ft",
            tolerance: 1e-5,
            source: "8.02² / (2 · 32.2), by hand",
        }],
        body: side_by_side!(velocity_head, a, b),
    },
    Formula {
        name: "hazen_williams_head",
        summary: "Head lost to friction in a water pipe by Hazen and Williams.",
        equation: "h = 10.67 L Q^1.852 / (C^1.852 D^4.8704)",
        parameters: &[
            FLOW,
            BORE.valid(0.05, 2.0),
            LENGTH,
            Parameter::new(
                "coefficient",
                Dimension::NONE,
                "C: 150 plastic, 140 new steel, 100 old steel; it falls with the velocity and \
                 rises with the bore",
            )
            .positive()
            .valid(60.0, 160.0),
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[Limit {
            says: "a velocity up to 3 m/s",
            holds: |a| a[0] / circle_area(a[1]) <= 3.0,
        }],
        caution: Some("For water of 5 to 25 °C in turbulent flow only."),
        source: Source::memory(WILLIAMS_HAZEN, "10.67; some texts have 10.65 or 10.69"),
        hides: Some("metre and second"),
        checks: &[
            Check {
                arguments: &[
                    ("flow", "30 L/s"),
                    ("bore", "0.2 m"),
                    ("length", "100 m"),
                    ("coefficient", "150"),
                ],
                expected: "0.3818875 m",
                tolerance: 1e-6,
                source: "Hazen–Williams SI form, by hand",
            },
            Check {
                arguments: &[
                    ("flow", "200 gpm"),
                    ("bore", "4.026 in"),
                    ("length", "100 ft"),
                    ("coefficient", "150"),
                ],
                expected: "2.0116 ft",
                tolerance: 3e-3,
                source: "NFPA 13 form 4.52 Q^1.85/(C^1.85 d^4.87) psi/ft (from memory): 0.872047 \
                         psi at 2.30672 ft/psi",
            },
        ],
        body: Body::Four(hazen_williams_head),
    },
    Formula {
        name: "manning_pipe_head",
        summary: "Head lost to friction in a full pipe by Manning; the way to treat corrugated pipe.",
        equation: "h = n² L V² / R^(4/3), R = D/4",
        parameters: &[
            FLOW,
            BORE,
            LENGTH,
            Parameter::new(
                "roughness",
                Dimension::NONE,
                "Manning's n: smooth plastic 0.009, corrugated plastic 0.018 to 0.025, with a \
                 smooth inner wall 0.010 to 0.012 (from memory)",
            )
            .positive()
            .valid(0.008, 0.03),
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: None,
        source: Source::read(MANNING, "n in s/m^(1/3), the same number in US units"),
        hides: Some("metre and second: n is given as a bare number"),
        checks: &[Check {
            arguments: &[
                ("flow", "50 L/s"),
                ("bore", "0.25 m"),
                ("length", "40 m"),
                ("roughness", "0.009"),
            ],
            expected: "0.1355310 m",
            tolerance: 1e-3,
            source: "10.29 n² L Q²/D^(16/3), Manning in a full circle, by hand",
        }],
        body: Body::Four(manning_pipe_head),
    },
    Formula {
        name: "pipe_flow",
        summary: "Flow that a head drives through a pipe with friction and minor losses.",
        equation: "H = (f L/D + K) V²/2g, solved for V; Q = V π D²/4",
        parameters: &[
            Parameter::new(
                "head",
                Dimension::LENGTH,
                "head that the line may lose; of a free outlet count its velocity head in K",
            )
            .not_negative(),
            BORE,
            LENGTH.positive(),
            ROUGHNESS,
            KINEMATIC_VISCOSITY,
            Parameter::new(
                "loss_coefficient",
                Dimension::NONE,
                "sum of the minor losses on the pipe's own velocity",
            )
            .not_negative()
            .or(0.0),
            GRAVITY,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[Limit {
            says: "a flow that is laminar or turbulent, with no Reynolds number from 2000 to 4000",
            holds: |a| {
                let q = pipe_flow(a[0], a[1], a[2], a[3], a[4], a[5], a[6]);
                let re = q / circle_area(a[1]) * a[1] / a[4];
                re <= 2000.0 || re >= 4000.0
            },
        }],
        caution: None,
        source: Source::library(COLEBROOK, "inverse of friction_head with friction_factor"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("head", "0.673152992 m"),
                    ("bore", "102.3 mm"),
                    ("length", "50 m"),
                    ("roughness", "0.0015 mm"),
                    ("kinematic_viscosity", "1.30628832e-6 m^2/s"),
                ],
                expected: "10 L/s",
                tolerance: 1e-4,
                source: "fluids 1.3.1 and iapws 1.5.5: the loss of 10 L/s at 10 °C, read backwards",
            },
            Check {
                arguments: &[
                    ("head", "27.8 m"),
                    ("bore", "50 mm"),
                    ("length", "89 m"),
                    ("roughness", "0.26 mm"),
                    ("kinematic_viscosity", "1.30739e-6 m^2/s"),
                    ("loss_coefficient", "2.36"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "6 L/s",
                tolerance: 6e-3,
                source: "Cengel & Cimbala 2010, Ex. 8-8 (31.8 m above an outlet at 4 m), read \
                         backwards: K 0.5 + 2 · 0.3 + 0.2 + 1.06",
            },
        ],
        body: Body::Seven(pipe_flow),
    },
];

/// Area of a circle, which other subjects need as well.
pub(crate) fn circle_area(d: f64) -> f64 {
    PI * d * d / 4.0
}

fn reynolds_number(v: f64, d: f64, nu: f64) -> f64 {
    v * d / nu
}

fn friction_head(f: f64, l: f64, d: f64, v: f64, g: f64) -> f64 {
    f * l / d * velocity_head(v, g)
}

fn minor_head(k: f64, v: f64, g: f64) -> f64 {
    k * velocity_head(v, g)
}

/// V²/2g, which other subjects need as well.
pub(crate) fn velocity_head(v: f64, g: f64) -> f64 {
    v * v / (2.0 * g)
}

fn hazen_williams_head(q: f64, d: f64, l: f64, c: f64) -> f64 {
    10.67 * l * q.powf(1.852) / (c.powf(1.852) * d.powf(4.8704))
}

fn manning_pipe_head(q: f64, d: f64, l: f64, n: f64) -> f64 {
    let v = q / circle_area(d);
    n * n * l * v * v / (d / 4.0).powf(4.0 / 3.0)
}

fn pipe_flow(h: f64, d: f64, l: f64, e: f64, nu: f64, k: f64, g: f64) -> f64 {
    if h == 0.0 {
        return 0.0;
    }
    // Each turn takes the factor at the last velocity. The new velocity depends on the old one by
    // less than its square root in every regime (laminar: f ∝ 1/V, so just that; turbulent: f
    // hardly moves), so the steps shrink by half or better.
    let mut v = (2.0 * g * h / (0.02 * l / d + k)).sqrt();
    for _ in 0..100 {
        let f = friction_factor(v * d / nu, e / d);
        let next = (2.0 * g * h / (f * l / d + k)).sqrt();
        let settled = (next - v).abs() <= 1e-15 * next;
        v = next;
        if settled {
            break;
        }
    }
    v * circle_area(d)
}
