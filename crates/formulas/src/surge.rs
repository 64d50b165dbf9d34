//! Water hammer: what a valve that closes, or a machine that trips, does to the pressure.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Limit, Output, Parameter, Source, Subject};
use crate::side_by_side::side_by_side;
use crate::sources::{SUBRAMANYA, WYLIE};
use crate::usual::{DENSITY, GRAVITY};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "surge",
    about: "Water hammer: what a valve that closes does to the pressure.",
    formulas: FORMULAS,
};

const HAMMER: &str = "Water hammer bursts pipes, and the wave of low pressure behind it opens \
    cavities that collapse: hold the fall against vapour pressure as well. Never close a valve \
    fast. Relief and vacuum-break valves, and the classes of pipe, belong to a licensed engineer \
    and the code in force (AWWA M11/M23, ASME B31, EN 13480, ISO 4422).";

const VELOCITY_CHANGE: Parameter = Parameter::new(
    "velocity_change",
    Dimension::VELOCITY,
    "velocity taken away; negative where flow is added, which gives a fall of pressure",
);

const WAVE_SPEED: Parameter = Parameter::new(
    "wave_speed",
    Dimension::VELOCITY,
    "speed of the pressure wave in this pipe: pressure_wave_speed",
)
.positive()
.valid(100.0, 1500.0);

const LENGTH: Parameter = Parameter::new(
    "length",
    Dimension::LENGTH,
    "length of the pipe from the valve to the open water",
)
.positive();

const CLOSING_TIME: Parameter =
    Parameter::new("closing_time", Dimension::TIME, "time in which the velocity is taken away");

static FORMULAS: &[Formula] = &[
    Formula {
        name: "pressure_wave_speed",
        summary: "Speed of a pressure wave in a pipe with an elastic wall.",
        equation: "c = √(K/ρ) / √(1 + ψ K D / (E t))",
        parameters: &[
            Parameter::new("bore", Dimension::LENGTH, "inside diameter of the pipe").positive(),
            Parameter::new("wall", Dimension::LENGTH, "thickness of the wall").positive(),
            Parameter::new(
                "pipe_modulus",
                Dimension::PRESSURE_DIFFERENCE,
                "elastic modulus of the wall: steel 207 GPa, PVC 2.8 GPa short-term at 23 °C and \
                 about 1 % less per kelvin above, polyethylene 0.8 to 1.1 GPa (from memory)",
            )
            .positive()
            .valid(1e8, 4e11),
            Parameter::new(
                "water_modulus",
                Dimension::PRESSURE_DIFFERENCE,
                "bulk modulus of the water; 2.19 GPa unless given (clean, 20 °C); a little free \
                 air lowers it greatly",
            )
            .positive()
            .valid(1e8, 2.3e9)
            .or(2.19e9),
            DENSITY,
            Parameter::new(
                "restraint",
                Dimension::NONE,
                "ψ: 1 with expansion joints, 1 − ν² anchored all along, 1.25 − ν anchored at one \
                 end",
            )
            .positive()
            .valid(0.7, 1.25)
            .or(1.0),
        ],
        result: Output::new(Dimension::VELOCITY),
        limits: &[Limit { says: "bore ≥ 10 × wall", holds: |a| a[0] >= 10.0 * a[1] }],
        caution: None,
        source: Source::read(WYLIE, "Korteweg's equation for thin walls"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("bore", "2.5 m"),
                    ("wall", "20 mm"),
                    ("pipe_modulus", "207 GPa"),
                    ("water_modulus", "1.43 GPa"),
                    ("density", "798.4 kg/m^3"),
                ],
                expected: "980.4 m/s",
                tolerance: 1e-3,
                source: "Subramanya 2005, Ex. 14.12",
            },
            Check {
                arguments: &[
                    ("bore", "0.2 m"),
                    ("wall", "7.7 mm"),
                    ("pipe_modulus", "2.8 GPa"),
                    ("density", "998 kg/m^3"),
                ],
                expected: "320.8559 m/s",
                tolerance: 1e-6,
                source: "Korteweg's equation for PVC, by hand",
            },
        ],
        body: side_by_side!(wave_speed, a, b, c, d, e, f),
    },
    Formula {
        name: "critical_closing_time",
        summary: "Time of a wave to the open end and back; a faster closure is instant.",
        equation: "T_c = 2L/c",
        parameters: &[LENGTH, WAVE_SPEED],
        result: Output::new(Dimension::TIME),
        limits: &[],
        caution: Some(HAMMER),
        source: Source::exact(SUBRAMANYA, "chapter 14"),
        hides: None,
        checks: &[Check {
            arguments: &[("length", "1000 m"), ("wave_speed", "1295.0 m/s")],
            expected: "1.544 s",
            tolerance: 1e-3,
            source: "Subramanya 2005, Ex. 14.16 (c from K 1.43 GPa, E 210 GPa, D/t 10, ρ 798.4)",
        }],
        body: side_by_side!(critical_closing_time, a, b),
    },
    Formula {
        name: "surge_head",
        summary: "Rise of head when a valve takes away velocity in a given time.",
        equation: "T ≤ 2L/c: ΔH = c ΔV/g (Joukowsky); slower: ΔH = 2 L ΔV/(g T) (Michaud)",
        parameters: &[VELOCITY_CHANGE, WAVE_SPEED, LENGTH, CLOSING_TIME.not_negative(), GRAVITY],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(HAMMER),
        source: Source::read(SUBRAMANYA, "chapter 14; closure at a steady rate"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("velocity_change", "3.0 m/s"),
                    ("wave_speed", "1484.72 m/s"),
                    ("length", "600 m"),
                    ("closing_time", "0.5 s"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "454.0 m",
                tolerance: 1e-3,
                source: "Subramanya 2005, Ex. 14.13: 4.445 MPa over 998 kg/m³ and 9.81 m/s², in a \
                         rigid pipe with K 2.2 GPa",
            },
            Check {
                arguments: &[
                    ("velocity_change", "3.0 m/s"),
                    ("wave_speed", "1080.7 m/s"),
                    ("length", "800 m"),
                    ("closing_time", "2.0 s"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "244.5 m",
                tolerance: 2e-3,
                source: "Subramanya 2005, Ex. 14.18(b): 2.394 MPa over 998 kg/m³ and 9.81 m/s²",
            },
        ],
        body: side_by_side!(surge_head, a, b, c, d, e),
    },
    Formula {
        name: "allievi_number",
        summary: "Rise of head of an instant closure over twice the head at rest: below 1 of a high \
            head, where the first wave is the worst.",
        equation: "ρ_A = c V/(2 g H₀)",
        parameters: &[
            Parameter::new("velocity", Dimension::VELOCITY, "in the pipe before the closure")
                .not_negative(),
            WAVE_SPEED,
            Parameter::new("head", Dimension::LENGTH, "gross head at rest, at the valve")
                .positive(),
            GRAVITY,
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(HAMMER),
        source: Source::memory(WYLIE, "Allievi's pipe-line constant"),
        hides: None,
        checks: &[Check {
            arguments: &[("velocity", "1.5 m/s"), ("wave_speed", "1000 m/s"), ("head", "62 m")],
            expected: "1.23352768",
            tolerance: 1e-8,
            source: "by arithmetic apart from this code, 1500/(2 · 9.80665 · 62)",
        }],
        body: Body::Four(|velocity, speed, head, gravity| {
            speed * velocity / (2.0 * gravity * head)
        }),
    },
    Formula {
        name: "surge_pressure",
        summary: "Rise of pressure when a velocity is taken away at once.",
        equation: "Δp = ρ c ΔV",
        parameters: &[VELOCITY_CHANGE, WAVE_SPEED, DENSITY],
        result: Output::new(Dimension::PRESSURE_DIFFERENCE),
        limits: &[],
        caution: Some(HAMMER),
        source: Source::read(WYLIE, "Joukowsky's equation"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("velocity_change", "2.387324 ft/s"),
                ("wave_speed", "3200 ft/s"),
                ("density", "999.835 kg/m^3"),
            ],
            expected: "102.9 psi",
            tolerance: 1e-3,
            source: "Daugherty & Franzini, Fluid Mechanics with Engineering Applications, 8th ed., \
                     McGraw-Hill 1985, Ex. 13.4 (30 ft³/s in 4 ft; 1.94 slug/ft³)",
        }],
        body: side_by_side!(surge_pressure, a, b, c),
    },
    Formula {
        name: "surge_head_rigid_column",
        summary: "Rise of head when a column of water slows down evenly and nothing is elastic.",
        equation: "ΔH = L ΔV/(g T)",
        parameters: &[VELOCITY_CHANGE, LENGTH, CLOSING_TIME.positive(), GRAVITY],
        result: Output::new(Dimension::LENGTH),
        limits: &[Limit {
            says: "closing_time ≥ 2 length/c, with a wave speed c of 1400 m/s at most: a rigid \
                column needs a time much longer than 2L/c",
            holds: |of| of[2] >= critical_closing_time(of[1], 1400.0),
        }],
        caution: Some(
            "Half of Michaud's figure: for a slow and even closure only, many times longer than \
             2L/c. In doubt take surge_head.",
        ),
        source: Source::read(SUBRAMANYA, "chapter 14"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("velocity_change", "0.2546479 m/s"),
                ("length", "100 m"),
                ("closing_time", "1 s"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "2.595 m",
            tolerance: 1e-3,
            source: "Subramanya 2005, Ex. 14.17: 25.41 kPa over 998 kg/m³ and 9.81 m/s² (50 L/s in \
                     0.5 m)",
        }],
        body: side_by_side!(rigid_column, a, b, c, d),
    },
];

fn wave_speed(d: f64, t: f64, e: f64, k: f64, rho: f64, psi: f64) -> f64 {
    (k / rho).sqrt() / (1.0 + psi * k * d / (e * t)).sqrt()
}

fn critical_closing_time(l: f64, c: f64) -> f64 {
    2.0 * l / c
}

fn surge_head(dv: f64, c: f64, l: f64, t: f64, g: f64) -> f64 {
    // Michaud's rise would be more than Joukowsky's for a fast closure, which no wave can give.
    if t <= critical_closing_time(l, c) { c * dv / g } else { 2.0 * rigid_column(dv, l, t, g) }
}

fn surge_pressure(dv: f64, c: f64, rho: f64) -> f64 {
    rho * c * dv
}

fn rigid_column(dv: f64, l: f64, t: f64, g: f64) -> f64 {
    l * dv / (g * t)
}
