//! What a pipe must stand besides its inner pressure: vacuum, and thrust at its bends.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Limit, Output, Parameter, Source, Subject};
use crate::pipes::circle_area;
use crate::sources::{BERNOULLI, TIMOSHENKO};
use crate::usual::{DENSITY, RADIAN};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "pipe_strength",
    about: "Pipes under vacuum, and the thrust of their bends.",
    formulas: FORMULAS,
};

static FORMULAS: &[Formula] = &[
    Formula {
        name: "collapse_pressure",
        summary: "Pressure from outside, above that inside, at which a long thin pipe flattens.",
        equation: "p = 2E/(1 − ν²) · (t/D_m)³, D_m = D_o − t",
        parameters: &[
            Parameter::new("outside_diameter", Dimension::LENGTH, "outside diameter").positive(),
            Parameter::new("wall", Dimension::LENGTH, "thickness of the wall").positive(),
            Parameter::new(
                "modulus",
                Dimension::PRESSURE_DIFFERENCE,
                "elastic modulus; for a vacuum that lasts, as in a siphon, the long-term one: PVC \
                 about 1.2 GPa against 2.8 GPa short-term (from memory)",
            )
            .positive(),
            Parameter::new(
                "poisson_ratio",
                Dimension::NONE,
                "Poisson's ratio: steel 0.30, PVC 0.38, polyethylene 0.45",
            )
            .within(0.0, 0.5)
            .valid(0.2, 0.5),
        ],
        result: Output::new(Dimension::PRESSURE_DIFFERENCE).shown_in("kPa", "psi"),
        limits: &[
            Limit { says: "outside_diameter ≥ 15 × wall", holds: |a| a[0] >= 15.0 * a[1] },
            Limit { says: "outside_diameter > 2 × wall", holds: |a| a[0] > 2.0 * a[1] },
        ],
        caution: Some(
            "For a perfectly round pipe: a deflection of 3 % takes off about a quarter (from \
             memory), heat softens plastic, and an exposed siphon has no soil to hold it. A full \
             vacuum is 101 kPa at the sea. Thin drain pipe has no margin at all. Let the maker \
             confirm the pipe for vacuum.",
        ),
        source: Source::read(
            TIMOSHENKO,
            "long tubes under outer pressure (Bresse, Levy); also Moser, Buried Pipe Design, eq. \
             3.14",
        ),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("outside_diameter", "13.875 in"),
                    ("wall", "0.375 in"),
                    ("modulus", "29e6 psi"),
                    ("poisson_ratio", "0.29"),
                ],
                expected: "1357 psi",
                tolerance: 4e-4,
                source: "Roark's Formulas for Stress and Strain, table 35, case 19a, worked with \
                         mean radius 6.75 in",
            },
            Check {
                arguments: &[
                    ("outside_diameter", "260 mm"),
                    ("wall", "10 mm"),
                    ("modulus", "2.76 GPa"),
                    ("poisson_ratio", "0.38"),
                ],
                expected: "412.9032 kPa",
                tolerance: 1e-6,
                source: "the form used for PVC by AWWA M23 (from memory), DR 26, by hand",
            },
            Check {
                arguments: &[
                    ("outside_diameter", "302 mm"),
                    ("wall", "2 mm"),
                    ("modulus", "200 GPa"),
                    ("poisson_ratio", "0.3"),
                ],
                expected: "130.2401 kPa",
                tolerance: 1e-6,
                source: "Bresse and Levy, 2E/(1 − ν²) (t/D_m)³, by hand",
            },
        ],
        body: Body::Four(collapse_pressure),
    },
    Formula {
        name: "bend_thrust",
        summary: "Force outward on a bend, from the pressure and from turning the flow.",
        equation: "F = 2 (p A + ρ Q²/A) sin(θ/2)",
        parameters: &[
            Parameter::new(
                "pressure",
                Dimension::PRESSURE_DIFFERENCE,
                "gauge pressure at the bend, surge included; negative on a suction leg, where the \
                 force turns round",
            ),
            Parameter::new("bore", Dimension::LENGTH, "inside diameter of the pipe").positive(),
            Parameter::new("angle", Dimension::ANGLE, "how far the bend turns the pipe")
                .within(0.0, std::f64::consts::PI),
            Parameter::new("flow", Dimension::FLOW, "flow in the pipe; none unless given")
                .not_negative()
                .or(0.0),
            DENSITY,
        ],
        result: Output::new(Dimension::FORCE),
        limits: &[],
        caution: Some(
            "Test pressure and surge count, not the pressure of every day. Thrust blocks depend \
             on the soil: let a licensed engineer size them (AWWA M11, M23).",
        ),
        source: Source::exact(BERNOULLI, "balance of momentum"),
        hides: RADIAN,
        checks: &[
            Check {
                arguments: &[("pressure", "60 kPa"), ("bore", "0.3 m"), ("angle", "45 deg")],
                expected: "3246.0357 N",
                tolerance: 3e-8,
                source: "AWWA thrust at rest, 2 p A sin(θ/2), by hand",
            },
            Check {
                arguments: &[
                    ("pressure", "60 kPa"),
                    ("bore", "0.3 m"),
                    ("angle", "45 deg"),
                    ("flow", "120 L/s"),
                    ("density", "998 kg/m^3"),
                ],
                expected: "3401.643 N",
                tolerance: 1e-6,
                source: "the thrust at rest and 2 ρ Q²/A sin(θ/2), by arithmetic apart from this \
                         code",
            },
        ],
        body: Body::Five(bend_thrust),
    },
];

pub(crate) fn collapse_pressure(d_o: f64, t: f64, e: f64, nu: f64) -> f64 {
    let d_m = d_o - t;
    if d_o <= 2.0 * t {
        return f64::NAN;
    }
    2.0 * e / (1.0 - nu * nu) * (t / d_m).powi(3)
}

fn bend_thrust(p: f64, d: f64, theta: f64, q: f64, rho: f64) -> f64 {
    let a = circle_area(d);
    2.0 * (p * a + rho * q * q / a) * (theta / 2.0).sin()
}
