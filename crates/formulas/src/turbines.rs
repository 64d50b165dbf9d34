//! Power, speed and head of a turbine, and how they change with the head.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Kind, Limit, Output, Parameter, Source, Subject};
use crate::side_by_side::side_by_side;
use crate::sources::{DEFINITION, ESHA, GORLA, NAG, SUBRAMANYA};
use crate::usual::{DEGREE, DENSITY, GRAVITY, RADIAN, SHARE_ABOVE_ZERO};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "turbines",
    about: "Power, torque, speed and head of a turbine, at its own head and at another.",
    formulas: FORMULAS,
};

const RATE_OF_ENERGY: Source = Source::exact(DEFINITION, "power is the rate of energy");

/// Affinity of one runner under two heads.
const AFFINITY: Source = Source::read(NAG, "ch. 10, unit quantities");

const RUNAWAY: &str = "A turbine that loses its load runs up to its runaway speed in seconds: \
    runner, generator and coupling must stand that speed, and the voltage rises with it. Guards, \
    an overspeed trip and a brake or gate that needs no electricity are the maker's and a licensed \
    engineer's business (ISO 12100, IEC 61116, local code).";

const PLANNING: &str = "A figure for planning: diameter and speed of a runner come from its maker.";

const HEAD: Parameter =
    Parameter::new("head", Dimension::LENGTH, "net head of the turbine").positive();

const KNOWN_HEAD: Parameter =
    Parameter::new("head", Dimension::LENGTH, "net head at which the value is known").positive();

const NEW_HEAD: Parameter =
    Parameter::new("new_head", Dimension::LENGTH, "net head at which it is wanted").positive();

const EFFICIENCY: Parameter = Parameter::new(
    "efficiency",
    Dimension::NONE,
    "product of the efficiencies of all stages, each counted once",
)
.within(0.0, 1.0);

/// The runners that a least flow is tabled for.
const RUNNERS: &[&str] = &["propeller", "semi_kaplan", "kaplan", "francis", "cross_flow", "pelton"];

static FORMULAS: &[Formula] = &[
    Formula {
        name: "water_power",
        summary: "The power that a flow loses in falling through a head, before any efficiency.",
        equation: "P = ρ g Q H",
        parameters: &[
            Parameter::new("flow", Dimension::FLOW, "flow through the turbine").not_negative(),
            Parameter::new("head", Dimension::LENGTH, "head that the flow gives up").not_negative(),
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::POWER),
        limits: &[],
        caution: None,
        source: RATE_OF_ENERGY,
        hides: None,
        checks: &[
            Check {
                arguments: &[("flow", "95 m^3/s"), ("head", "40 m")],
                expected: "37265.27 kW",
                tolerance: 1e-9,
                source: "data of Chakrabarti, Soni, Gupta & Bhatnagar 2013, Ex. 3.1; ρ g Q H by \
                    hand (the book prints 37797 kW, electric mixed with metric horsepower)",
            },
            Check {
                arguments: &[
                    ("flow", "0.100 m^3/s"),
                    ("head", "30 m"),
                    ("density", "996 kg/m^3"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "29.3127 kW",
                tolerance: 5e-5,
                source: "Khan 2009, Ex. 11.1: 16.122 kW at an overall efficiency of 0.55, divided \
                    by it",
            },
        ],
        body: side_by_side!(water_power, a, b, c, d),
    },
    Formula {
        name: "plant_power",
        summary: "The power of a plant after the efficiency of all its stages.",
        equation: "P = η ρ g Q H",
        parameters: &[
            Parameter::new("flow", Dimension::FLOW, "flow through the turbine").not_negative(),
            Parameter::new("head", Dimension::LENGTH, "net head").not_negative(),
            EFFICIENCY,
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::POWER),
        limits: &[],
        caution: None,
        source: RATE_OF_ENERGY,
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("flow", "0.100 m^3/s"),
                    ("head", "30 m"),
                    ("efficiency", "0.55"),
                    ("density", "996 kg/m^3"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "16.122 kW",
                tolerance: 5e-5,
                source: "Khan 2009, Ex. 11.1",
            },
            Check {
                arguments: &[
                    ("flow", "94 m^3/s"),
                    ("head", "39 m"),
                    ("efficiency", "0.80"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "28770.768 kW",
                tolerance: 1e-6,
                source: "Mehta & Mehta 2005, Ex. 2.7",
            },
        ],
        body: side_by_side!(plant_power, a, b, c, d, e),
    },
    Formula {
        name: "flow_for_power",
        summary: "The flow that a plant needs for a power.",
        equation: "Q = P/(η ρ g H)",
        parameters: &[
            Parameter::new("power", Dimension::POWER, "power after all stages").not_negative(),
            HEAD,
            Parameter { must: SHARE_ABOVE_ZERO, ..EFFICIENCY },
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: None,
        source: RATE_OF_ENERGY,
        hides: None,
        checks: &[Check {
            arguments: &[
                ("power", "4 MW"),
                ("head", "20 m"),
                ("efficiency", "0.80"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "25.48 m^3/s",
            tolerance: 2e-4,
            source: "Mehta & Mehta 2005, Ex. 2.12(i): 10 MW at a load factor of 0.40",
        }],
        body: side_by_side!(flow_for_power, a, b, c, d, e),
    },
    Formula {
        name: "shaft_torque",
        summary: "The torque in a shaft from its power and speed of rotation.",
        equation: "T = P/ω, ω = 2π n",
        parameters: &[
            Parameter::new("power", Dimension::POWER, "power in the shaft"),
            Parameter::new("speed", Dimension::ROTATION, "speed of rotation of that shaft")
                .positive(),
        ],
        result: Output::new(Dimension::ENERGY).shown_in("Nm", "lbf_ft"),
        limits: &[],
        caution: Some(
            "The steady torque alone: starting, short circuit and jamming give several times as \
             much. A shaft is sized by its maker or a licensed engineer.",
        ),
        source: RATE_OF_ENERGY,
        hides: RADIAN,
        checks: &[Check {
            arguments: &[("power", "7.5 kW"), ("speed", "1450 rpm")],
            expected: "49.4 Nm",
            tolerance: 1e-3,
            source: "rated torque in makers' lists of four-pole motors, and the trade's rule T = \
                9550 P/n; from memory",
        }],
        body: side_by_side!(shaft_torque, a, b),
    },
    Formula {
        name: "runaway_speed",
        summary: "The speed that an unloaded turbine runs up to.",
        equation: "n_r = k n",
        parameters: &[
            Parameter::new("speed", Dimension::ROTATION, "normal speed under load").positive(),
            Parameter::new(
                "ratio",
                Dimension::NONE,
                "runaway to normal speed: Francis 1.6 to 2.2, propeller and Kaplan 2.0 to 3.2, \
                 impulse 1.8 to 2.0; the maker's figure where there is one",
            )
            .within(1.0, f64::INFINITY)
            .valid(1.6, 3.2),
        ],
        result: Output::new(Dimension::ROTATION).shown_in("rpm", "rpm"),
        limits: &[],
        caution: Some(RUNAWAY),
        source: Source::memory(ESHA, "table of runaway speeds"),
        hides: None,
        checks: &[Check {
            arguments: &[("speed", "600 rpm"), ("ratio", "2.2")],
            expected: "1320 rpm",
            tolerance: 1e-9,
            source: "by hand from the definition; ratio from the ESHA guide's table, from memory",
        }],
        body: side_by_side!(runaway_speed, a, b),
    },
    Formula {
        name: "scaled_speed",
        summary: "The speed of the same turbine, equally efficient, under another head.",
        equation: "n₂ = n₁ √(H₂/H₁)",
        parameters: &[
            Parameter::new("speed", Dimension::ROTATION, "speed at the known head").not_negative(),
            KNOWN_HEAD,
            NEW_HEAD,
        ],
        result: Output::new(Dimension::ROTATION).shown_in("rpm", "rpm"),
        limits: &[],
        caution: None,
        source: AFFINITY,
        hides: None,
        checks: &[Check {
            arguments: &[("speed", "135 rpm"), ("head", "25 m"), ("new_head", "20 m")],
            expected: "120.7 rpm",
            tolerance: 5e-4,
            source: "Nag 2001, Ex. 10.12",
        }],
        body: side_by_side!(scaled_speed, a, b, c),
    },
    Formula {
        name: "scaled_flow",
        summary: "The flow of the same turbine under another head, if its speed follows the head.",
        equation: "Q₂ = Q₁ √(H₂/H₁)",
        parameters: &[
            Parameter::new("flow", Dimension::FLOW, "flow at the known head").not_negative(),
            KNOWN_HEAD,
            NEW_HEAD,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: None,
        source: AFFINITY,
        hides: None,
        checks: &[Check {
            arguments: &[("flow", "3 m^3/s"), ("head", "19 m"), ("new_head", "5 m")],
            expected: "1.5 m^3/s",
            tolerance: 0.03,
            source: "Nag 2001, Ex. 10.16 (printed to one decimal)",
        }],
        body: side_by_side!(scaled_flow, a, b, c),
    },
    Formula {
        name: "scaled_power",
        summary: "The power of the same turbine under another head, if its speed follows the head.",
        equation: "P₂ = P₁ (H₂/H₁)^1.5",
        parameters: &[
            Parameter::new("power", Dimension::POWER, "power at the known head").not_negative(),
            KNOWN_HEAD,
            NEW_HEAD,
        ],
        result: Output::new(Dimension::POWER),
        limits: &[],
        caution: None,
        source: AFFINITY,
        hides: None,
        checks: &[Check {
            arguments: &[("power", "10000 kW"), ("head", "25 m"), ("new_head", "20 m")],
            expected: "7155 kW",
            tolerance: 1e-4,
            source: "Nag 2001, Ex. 10.12",
        }],
        body: Body::Three(scaled_power),
    },
    Formula {
        name: "net_head_between_sections",
        summary: "The head that a machine takes out of the flow between two gauged sections.",
        equation: "H = (p_A − p_B)/(ρg) + z + (V_A² − V_B²)/(2g)",
        parameters: &[
            Parameter::new(
                "pressure_in",
                Dimension::PRESSURE_DIFFERENCE,
                "gauge pressure in the section before the machine",
            ),
            Parameter::new(
                "pressure_out",
                Dimension::PRESSURE_DIFFERENCE,
                "gauge pressure in the section behind it; below zero under suction",
            ),
            Parameter::new(
                "height",
                Dimension::LENGTH,
                "height of the section before the machine above the one behind it",
            ),
            Parameter::new("velocity_in", Dimension::VELOCITY, "mean velocity before the machine")
                .not_negative(),
            Parameter::new("velocity_out", Dimension::VELOCITY, "mean velocity behind it")
                .not_negative(),
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: None,
        source: Source::read(SUBRAMANYA, "Ex. 4.20"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("pressure_in", "293.7 kPa"),
                ("pressure_out", "-39.16 kPa"),
                ("height", "2 m"),
                ("velocity_in", "3.97887 m/s"),
                ("velocity_out", "1.76839 m/s"),
                ("density", "997.9613 kg/m^3"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "36.649 m",
            tolerance: 1e-4,
            source: "Subramanya 2005, Ex. 4.20 (0.5 m³/s, bores 0.4 m and 0.6 m, pressure heads \
                30 m and −4 m): 161.46 kW divided by 0.90 · 9.79 kN/m³ · 0.5 m³/s",
        }],
        body: side_by_side!(net_head_between_sections, a, b, c, d, e, f, g),
    },
    Formula {
        name: "jet_velocity",
        summary: "The velocity of the jet from the nozzle of an impulse turbine.",
        equation: "V = C_v √(2 g H)",
        parameters: &[
            Parameter::new(
                "head",
                Dimension::LENGTH,
                "net head at the nozzle, down to its centre and not to the tailwater",
            )
            .not_negative(),
            Parameter::new("coefficient", Dimension::NONE, "velocity coefficient of the nozzle")
                .within(0.0, 1.0)
                .valid(0.96, 0.99)
                .or(0.97),
            GRAVITY,
        ],
        result: Output::new(Dimension::VELOCITY),
        limits: &[],
        caution: Some("A free jet cuts skin and eyes: keep its casing closed while water runs."),
        source: Source::read(SUBRAMANYA, "Ex. 16.11"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("head", "40 m"), ("coefficient", "0.98")],
                expected: "27.4493084211606 m/s",
                tolerance: 1e-9,
                source: "Torricelli's law by hand",
            },
            Check {
                arguments: &[("head", "300 m"), ("coefficient", "0.98"), ("gravity", "9.81 m/s^2")],
                expected: "75.19 m/s",
                tolerance: 7e-5,
                source: "Subramanya 2005, Ex. 16.11 (data as printed, jet velocity by hand)",
            },
        ],
        body: side_by_side!(jet_velocity, a, b, c),
    },
    Formula {
        name: "pelton_hydraulic_efficiency",
        summary: "The share of the net head that the buckets of an impulse wheel take out of a jet.",
        equation: "η_h = u (V − u)(1 − k cos θ)/(g H), V = C_v √(2 g H)",
        parameters: &[
            Parameter::new("head", Dimension::LENGTH, "net head at the nozzle").positive(),
            Parameter::new("bucket_velocity", Dimension::VELOCITY, "velocity of the buckets, u")
                .not_negative(),
            Parameter::new(
                "deflection",
                Dimension::ANGLE,
                "angle by which the bucket turns the jet, 160° to 170°",
            )
            .within(0.0, std::f64::consts::PI)
            .valid(160.0 * DEGREE, 170.0 * DEGREE),
            Parameter::new("velocity_coefficient", Dimension::NONE, "of the nozzle")
                .within(0.0, 1.0)
                .valid(0.96, 0.99)
                .or(0.97),
            Parameter::new(
                "bucket_coefficient",
                Dimension::NONE,
                "relative velocity out of the bucket to that into it, k",
            )
            .within(0.0, 1.0)
            .valid(0.8, 1.0)
            .or(0.95),
            GRAVITY,
        ],
        result: Output::new(Dimension::NONE),
        limits: &[Limit {
            says: "bucket velocity below the jet's",
            holds: |of| of[1] <= jet_velocity(of[0], of[3], of[5]),
        }],
        caution: None,
        source: Source::read(SUBRAMANYA, "Ex. 16.11"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("head", "300 m"),
                ("bucket_velocity", "39.270 m/s"),
                ("deflection", "165 deg"),
                ("velocity_coefficient", "0.98"),
                ("bucket_coefficient", "0.95"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "0.919",
            tolerance: 5e-4,
            source: "Subramanya 2005, Ex. 16.11 (wheel of 2.5 m at 300 rpm)",
        }],
        body: Body::Six(pelton_hydraulic_efficiency),
    },
    Formula {
        name: "guide_vane_angle",
        summary: "The angle of the guide vanes of an inward-flow runner that leaves no whirl \
            behind, from the tangent of the wheel.",
        equation: "tan α = v_r/v_u, v_u = η_h g H/u",
        parameters: &[
            HEAD,
            Parameter::new("rim_velocity", Dimension::VELOCITY, "velocity of the rim, u")
                .positive(),
            Parameter::new("hydraulic_efficiency", Dimension::NONE, "of the runner")
                .within(0.0, 1.0)
                .valid(0.6, 0.97),
            Parameter::new("radial_velocity", Dimension::VELOCITY, "of the water at the rim, v_r")
                .not_negative(),
            GRAVITY,
        ],
        result: Output::new(Dimension::ANGLE).shown_in("deg", "deg"),
        limits: &[],
        caution: Some(PLANNING),
        source: Source::read(GORLA, "ch. 3, Ex. 19"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("head", "5 m"),
                ("rim_velocity", "9.6 m/s"),
                ("hydraulic_efficiency", "0.80"),
                ("radial_velocity", "4 m/s"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "44.38 deg",
            tolerance: 1.2e-4,
            source: "Gorla & Khan 2003, ch. 3, Ex. 19",
        }],
        body: Body::Five(guide_vane_angle),
    },
    Formula {
        name: "least_flow_share",
        summary: "The least flow that a kind of runner works on, as a share of its design flow.",
        equation: "table",
        parameters: &[Parameter::of_kind("runner", Kind::Choice(RUNNERS), "kind of runner")],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::memory(ESHA, "table of least technical flows"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("runner", "propeller")],
                expected: "0.75",
                tolerance: 5e-3,
                source: "ESHA guide, table of least technical flows, from memory",
            },
            Check {
                arguments: &[("runner", "cross_flow")],
                expected: "0.15",
                tolerance: 5e-3,
                source: "ESHA guide, table of least technical flows, from memory",
            },
            Check {
                arguments: &[("runner", "semi_kaplan")],
                expected: "0.30",
                tolerance: 5e-3,
                source: "ESHA guide, table of least technical flows, from memory",
            },
            Check {
                arguments: &[("runner", "kaplan")],
                expected: "0.15",
                tolerance: 5e-3,
                source: "ESHA guide, table of least technical flows, from memory",
            },
            Check {
                arguments: &[("runner", "francis")],
                expected: "0.50",
                tolerance: 5e-3,
                source: "ESHA guide, table of least technical flows, from memory",
            },
            Check {
                arguments: &[("runner", "pelton")],
                expected: "0.10",
                tolerance: 5e-3,
                source: "ESHA guide, table of least technical flows, from memory",
            },
        ],
        body: Body::One(least_flow_share),
    },
];

fn water_power(flow: f64, head: f64, density: f64, gravity: f64) -> f64 {
    density * gravity * flow * head
}

fn plant_power(flow: f64, head: f64, efficiency: f64, density: f64, gravity: f64) -> f64 {
    efficiency * water_power(flow, head, density, gravity)
}

fn flow_for_power(power: f64, head: f64, efficiency: f64, density: f64, gravity: f64) -> f64 {
    power / (efficiency * density * gravity * head)
}

fn shaft_torque(power: f64, speed: f64) -> f64 {
    power / speed
}

fn runaway_speed(speed: f64, ratio: f64) -> f64 {
    ratio * speed
}

fn scaled_speed(speed: f64, head: f64, new_head: f64) -> f64 {
    speed * (new_head / head).sqrt()
}

fn scaled_flow(flow: f64, head: f64, new_head: f64) -> f64 {
    flow * (new_head / head).sqrt()
}

fn scaled_power(power: f64, head: f64, new_head: f64) -> f64 {
    power * (new_head / head).powf(1.5)
}

fn net_head_between_sections(
    pressure_in: f64,
    pressure_out: f64,
    height: f64,
    velocity_in: f64,
    velocity_out: f64,
    density: f64,
    gravity: f64,
) -> f64 {
    (pressure_in - pressure_out) / (density * gravity)
        + height
        + (velocity_in.powi(2) - velocity_out.powi(2)) / (2.0 * gravity)
}

fn jet_velocity(head: f64, coefficient: f64, gravity: f64) -> f64 {
    coefficient * (2.0 * gravity * head).sqrt()
}

fn pelton_hydraulic_efficiency(
    head: f64,
    bucket_velocity: f64,
    deflection: f64,
    velocity_coefficient: f64,
    bucket_coefficient: f64,
    gravity: f64,
) -> f64 {
    let u = bucket_velocity;
    let v = jet_velocity(head, velocity_coefficient, gravity);
    u * (v - u) * (1.0 - bucket_coefficient * deflection.cos()) / (gravity * head)
}

fn guide_vane_angle(
    head: f64,
    rim_velocity: f64,
    hydraulic_efficiency: f64,
    radial_velocity: f64,
    gravity: f64,
) -> f64 {
    let whirl = hydraulic_efficiency * gravity * head / rim_velocity;
    radial_velocity.atan2(whirl)
}

fn least_flow_share(runner: f64) -> f64 {
    // In the order of RUNNERS.
    const SHARES: [f64; RUNNERS.len()] = [0.75, 0.30, 0.15, 0.50, 0.15, 0.10];
    SHARES.iter().zip(0_u8..).find(|(_, i)| f64::from(*i) == runner).map_or(f64::NAN, |(s, _)| *s)
}
