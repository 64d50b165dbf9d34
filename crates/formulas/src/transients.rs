//! Start, stop and loss of the grid: how fast a turbine runs away, and what braking it takes.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Limit, Output, Parameter, Range, Source, Subject};
use crate::sources::{DEFINITION, GORDON_WHITMAN, ROTATION, SPEED_RISE};
use crate::usual::RADIAN;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "transients",
    about: "Start, stop and loss of the grid: speed, voltage and braking energy.",
    formulas: FORMULAS,
};

const RUNAWAY: &str = "At runaway a rotor may burst: let its maker confirm that it stands the speed, \
    and keep a brake or gate that works without electricity (IEC 61116). Keep people away.";

const OVER_VOLTAGE: &str = "Diodes, capacitors, cables and the inverter must all stand this voltage, \
    with a margin, or be parted from the generator before it comes. It kills; a capacitor keeps it \
    after the machine has stopped. Wiring is for a licensed person (NFPA 70, IEC 60364).";

const INERTIA: Parameter = Parameter::new(
    "inertia",
    Dimension::INERTIA,
    "mass moment of inertia of everything that turns, on this shaft; behind a belt times the square \
     of the ratio of speeds; J = G D²/4 of old catalogues with G in kg",
)
.positive();

const SPEED: Parameter =
    Parameter::new("speed", Dimension::ROTATION, "before the load is lost").positive();

const RUNAWAY_SPEED: Parameter =
    Parameter::new("runaway_speed", Dimension::ROTATION, "without load").positive();

const POWER: Parameter =
    Parameter::new("power", Dimension::POWER, "of the shaft before the load is lost").positive();

const ABOVE: Limit = Limit { says: "runaway_speed > speed", holds: |of| of[2] > of[1] };

static FORMULAS: &[Formula] = &[
    Formula {
        name: "runaway_time",
        summary: "How long after the load is lost the speed has gone this share of the way up to \
            runaway, with a torque that falls in a straight line to nothing there; runaway itself is \
            only ever approached.",
        equation: "J dω/dt = P/ω_n · (ω_r − ω)/(ω_r − ω_n): t = −τ ln(1 − x), τ = J (ω_r − ω_n) \
            ω_n/P",
        parameters: &[
            INERTIA,
            SPEED,
            RUNAWAY_SPEED,
            POWER,
            Parameter {
                must: Range { from: 0.0, to: 0.999_999, above: false },
                ..Parameter::new("share", Dimension::NONE, "of the way from speed to runaway_speed")
            }
            .or(0.95),
        ],
        result: Output::new(Dimension::TIME),
        limits: &[ABOVE],
        caution: Some(RUNAWAY),
        source: Source::exact(ROTATION, "integrated over the straight line"),
        hides: RADIAN,
        checks: &[
            Check {
                arguments: &[
                    ("inertia", "10 kg*m^2"),
                    ("speed", "600 rpm"),
                    ("runaway_speed", "1140 rpm"),
                    ("power", "15 kW"),
                ],
                expected: "7.096 s",
                tolerance: 1e-5,
                source: "the equation of motion integrated in steps of 10 µs, apart from this code",
            },
            Check {
                arguments: &[
                    ("inertia", "10 kg*m^2"),
                    ("speed", "600 rpm"),
                    ("runaway_speed", "1140 rpm"),
                    ("power", "15 kW"),
                    ("share", "0.5555555555555556"),
                ],
                expected: "1.9208545034268 s",
                tolerance: 1e-12,
                source: "by hand, 2.3687 ln(9/4): until one and a half times the speed",
            },
        ],
        body: Body::Five(runaway_time),
    },
    Formula {
        name: "speed_after_load_loss",
        summary: "The speed some time after the load is lost, with a torque that falls in a \
            straight line to nothing at runaway.",
        equation: "ω = ω_r − (ω_r − ω_n) e^(−t/τ), τ = J (ω_r − ω_n) ω_n/P",
        parameters: &[
            INERTIA,
            SPEED,
            RUNAWAY_SPEED,
            POWER,
            Parameter::new("time", Dimension::TIME, "since the load was lost").not_negative(),
        ],
        result: Output::new(Dimension::ROTATION).shown_in("rpm", "rpm"),
        limits: &[ABOVE],
        caution: Some(RUNAWAY),
        source: Source::exact(ROTATION, "integrated over the straight line"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("inertia", "10 kg*m^2"),
                ("speed", "600 rpm"),
                ("runaway_speed", "1140 rpm"),
                ("power", "15 kW"),
                ("time", "2 s"),
            ],
            expected: "907.8866238636897 rpm",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code, 1140 − 540 e^(−2/2.368705)",
        }],
        body: Body::Five(speed_after_load_loss),
    },
    Formula {
        name: "speed_while_closing",
        summary: "The highest speed when a gate closes after the load is lost and the power falls \
            in a straight line while it does; the head that the closing adds raises the power.",
        equation: "ω = ω_n √(1 + P T (1 + h/H)^1.5/(J ω_n²))",
        parameters: &[
            INERTIA,
            SPEED,
            POWER,
            Parameter::new("closing_time", Dimension::TIME, "of the gate, dead time included")
                .not_negative(),
            Parameter::new(
                "head_rise",
                Dimension::NONE,
                "head added by the closing as a share of the head (surge_head)",
            )
            .not_negative()
            .valid(0.0, 0.5)
            .or(0.0),
        ],
        result: Output::new(Dimension::ROTATION).shown_in("rpm", "rpm"),
        limits: &[],
        caution: Some(RUNAWAY),
        source: Source::read(
            SPEED_RISE,
            "with 1 620 000 in lb, ft, rpm and hp, 365 000 in kW and kg",
        ),
        hides: RADIAN,
        checks: &[
            Check {
                arguments: &[
                    ("inertia", "10 kg*m^2"),
                    ("speed", "600 rpm"),
                    ("power", "15 kW"),
                    ("closing_time", "4 s"),
                ],
                expected: "952.63 rpm",
                tolerance: 3e-4,
                source: "the published form with 365 000 and G D² = 40 kg m², by hand; its constant \
                    is rounded from 364 756",
            },
            Check {
                arguments: &[
                    ("inertia", "10 kg*m^2"),
                    ("speed", "600 rpm"),
                    ("power", "15 kW"),
                    ("closing_time", "4 s"),
                    ("head_rise", "20 %"),
                ],
                expected: "1039.09 rpm",
                tolerance: 3e-4,
                source: "the published form with 365 000, by hand",
            },
        ],
        body: Body::Five(speed_while_closing),
    },
    Formula {
        name: "mechanical_starting_time",
        summary: "How long full torque takes to bring the machine from rest to its speed: the \
            measure of how steady it is. Twice the inertia constant H.",
        equation: "T_m = J ω²/P",
        parameters: &[INERTIA, SPEED, POWER],
        result: Output::new(Dimension::TIME),
        limits: &[],
        caution: None,
        source: Source::memory(GORDON_WHITMAN, "definition of the starting time"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[("inertia", "10 kg*m^2"), ("speed", "600 rpm"), ("power", "15 kW")],
            expected: "2.654 s",
            tolerance: 1e-2,
            source: "WR² n²/(1.6e6 P) of the US Bureau of Reclamation (from memory) with 237.30 lb \
                ft² and 20.115 hp, by hand; its constant is rounded by 0.9 %",
        }],
        body: Body::Three(|inertia, speed, power| inertia * speed * speed / power),
    },
    Formula {
        name: "disc_inertia",
        summary: "The mass moment of inertia of a flat disc: a flywheel or pulley without its rim \
            counts about so.",
        equation: "J = m D²/8",
        parameters: &[
            Parameter::new("mass", Dimension::MASS, "of the disc").not_negative(),
            Parameter::new("diameter", Dimension::LENGTH, "of the disc").not_negative(),
        ],
        result: Output::new(Dimension::INERTIA),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "moment of inertia"),
        hides: None,
        checks: &[Check {
            arguments: &[("mass", "600 kg"), ("diameter", "1 m")],
            expected: "75 kg*m^2",
            tolerance: 1e-12,
            source: "a published lecture on moment of inertia: solid wheel of 600 kg and 0.5 m \
                radius",
        }],
        body: Body::Two(|mass, diameter| mass * diameter * diameter / 8.0),
    },
    Formula {
        name: "rotation_energy",
        summary: "The kinetic energy of what turns.",
        equation: "E = J ω²/2",
        parameters: &[
            INERTIA,
            Parameter::new("speed", Dimension::ROTATION, "of the shaft").not_negative(),
        ],
        result: Output::new(Dimension::ENERGY).shown_in("kJ", "ft_lbf"),
        limits: &[],
        caution: None,
        source: Source::exact(ROTATION, "kinetic energy"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[("inertia", "1067 kg*m^2"), ("speed", "300 rpm")],
            expected: "526000 J",
            tolerance: 2e-3,
            source: "OpenStax, College Physics, Ex. 10.9 (blades of a helicopter); with 31.4 rad/s; the \
                result from memory",
        }],
        body: Body::Two(|inertia, speed| 0.5 * inertia * speed * speed),
    },
    Formula {
        name: "flywheel_inertia",
        summary: "The moment of inertia that takes up an energy between two speeds.",
        equation: "J = 2 E/(ω₂² − ω₁²)",
        parameters: &[
            Parameter::new("energy", Dimension::ENERGY, "to be taken up").not_negative(),
            Parameter::new("lower_speed", Dimension::ROTATION, "before").not_negative(),
            Parameter::new("upper_speed", Dimension::ROTATION, "after").positive(),
        ],
        result: Output::new(Dimension::INERTIA),
        limits: &[Limit { says: "lower_speed < upper_speed", holds: |of| of[1] < of[2] }],
        caution: Some(
            "A flywheel that bursts kills: balanced, guarded, and rated by its maker for runaway.",
        ),
        source: Source::exact(ROTATION, "kinetic energy"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("energy", "5 kJ"),
                ("lower_speed", "600 rpm"),
                ("upper_speed", "660 rpm"),
            ],
            expected: "12.06204567170689 kg*m^2",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code",
        }],
        body: Body::Three(flywheel_inertia),
    },
    Formula {
        name: "runaway_bus_voltage",
        summary: "The voltage up to which a permanent-magnet generator charges a bus with \
            capacitors behind a diode bridge without load: the peak between two lines.",
        equation: "V = √2 K ω",
        parameters: &[
            Parameter::new(
                "emf_constant",
                Dimension::EMF_CONSTANT,
                "rms voltage between two lines per mechanical speed of rotation",
            )
            .not_negative(),
            Parameter::new("speed", Dimension::ROTATION, "of the generator at runaway")
                .not_negative(),
        ],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[],
        caution: Some(OVER_VOLTAGE),
        source: Source::exact(DEFINITION, "peak of a sine"),
        hides: None,
        checks: &[Check {
            arguments: &[("emf_constant", "0.85 V*s/rad"), ("speed", "900 rpm")],
            expected: "113.293514923038 V",
            tolerance: 1e-12,
            source: "by hand, 0.85 · 30 π · √2",
        }],
        body: Body::Two(|emf_constant, speed| std::f64::consts::SQRT_2 * emf_constant * speed),
    },
    Formula {
        name: "brake_energy",
        summary: "What a brake or its resistor must take up: the power of the turbine while the \
            gate waits and closes, and the energy of what turns from one speed to another.",
        equation: "E = P (t_w + t_c/2) + J (ω₁² − ω₂²)/2",
        parameters: &[
            POWER,
            Parameter::new("waiting_time", Dimension::TIME, "until the gate begins to close")
                .not_negative(),
            Parameter::new(
                "closing_time",
                Dimension::TIME,
                "of the gate, over which the power falls in a straight line",
            )
            .not_negative(),
            INERTIA,
            SPEED,
            Parameter::new("end_speed", Dimension::ROTATION, "at which the brake lets go")
                .not_negative()
                .or(0.0),
        ],
        result: Output::new(Dimension::ENERGY).shown_in("kJ", "ft_lbf"),
        limits: &[Limit { says: "end_speed ≤ speed", holds: |of| of[5] <= of[4] }],
        caution: Some(
            "A brake resistor glows: mount it clear of anything that burns, rate it for repeated \
             stops, and do not trust it alone to hold a turbine whose gate fails.",
        ),
        source: Source::exact(ROTATION, "balance of energy"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("power", "3 kW"),
                ("waiting_time", "2 s"),
                ("closing_time", "5 s"),
                ("inertia", "8 kg*m^2"),
                ("speed", "700 rpm"),
                ("end_speed", "300 rpm"),
            ],
            expected: "31045.96337971441 J",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code, 13.5 kJ and 17.546 kJ",
        }],
        body: Body::Six(brake_energy),
    },
    Formula {
        name: "resistor_temperature_rise",
        summary: "How much hotter a resistor gets that takes up an energy too fast to give any off.",
        equation: "ΔT = E/(m c)",
        parameters: &[
            Parameter::new("energy", Dimension::ENERGY, "taken up").not_negative(),
            Parameter::new("mass", Dimension::MASS, "of what gets hot").positive(),
            Parameter::new(
                "specific_heat",
                Dimension::of(2, 0, -2, 0, -1, 0, 0),
                "about 460 J/(kg K) for resistance wire and steel, 900 for aluminium (from memory)",
            )
            .positive()
            .valid(100.0, 5000.0),
        ],
        result: Output::new(Dimension::TEMPERATURE_DIFFERENCE).shown_in("K", "delta_degF"),
        limits: &[],
        caution: Some("Hot enough to burn skin and to set wood alight: keep both away."),
        source: Source::exact(DEFINITION, "specific heat"),
        hides: None,
        checks: &[Check {
            arguments: &[("energy", "35 kJ"), ("mass", "6 kg"), ("specific_heat", "500 J/kg/K")],
            expected: "11.6666666666667 K",
            tolerance: 1e-12,
            source: "by hand, 35000/3000",
        }],
        body: Body::Three(|energy, mass, specific_heat| energy / (mass * specific_heat)),
    },
    Formula {
        name: "capacitor_discharge_time",
        summary: "How long a resistor takes to bring a capacitor down to a voltage.",
        equation: "t = R C ln(V₁/V₂)",
        parameters: &[
            Parameter::new("resistance", Dimension::RESISTANCE, "across the capacitor").positive(),
            Parameter::new("capacitance", Dimension::CAPACITANCE, "of the bus").positive(),
            Parameter::new("voltage", Dimension::VOLTAGE, "at the start").positive(),
            Parameter::new("end_voltage", Dimension::VOLTAGE, "wanted").positive(),
        ],
        result: Output::new(Dimension::TIME),
        limits: &[Limit { says: "end_voltage ≤ voltage", holds: |of| of[3] <= of[2] }],
        caution: Some(
            "Measure before touching: a bleeder may be open, and a turning rotor charges the bus \
             again.",
        ),
        source: Source::exact(DEFINITION, "discharge over a resistor"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("resistance", "47 kohm"),
                ("capacitance", "2.2 mF"),
                ("voltage", "380 V"),
                ("end_voltage", "50 V"),
            ],
            expected: "209.7105287700223 s",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code, 103.4 ln 7.6",
        }],
        body: Body::Four(|resistance, capacitance, voltage, end| {
            if end <= voltage { resistance * capacitance * (voltage / end).ln() } else { f64::NAN }
        }),
    },
];

/// How fast the gap to runaway shrinks: τ of the straight line of torque.
fn time_constant(inertia: f64, speed: f64, runaway_speed: f64, power: f64) -> f64 {
    if runaway_speed <= speed {
        return f64::NAN;
    }
    inertia * (runaway_speed - speed) * speed / power
}

fn runaway_time(inertia: f64, speed: f64, runaway_speed: f64, power: f64, share: f64) -> f64 {
    -time_constant(inertia, speed, runaway_speed, power) * (-share).ln_1p()
}

fn speed_after_load_loss(
    inertia: f64,
    speed: f64,
    runaway_speed: f64,
    power: f64,
    time: f64,
) -> f64 {
    let tau = time_constant(inertia, speed, runaway_speed, power);
    runaway_speed - (runaway_speed - speed) * (-time / tau).exp()
}

fn speed_while_closing(
    inertia: f64,
    speed: f64,
    power: f64,
    closing_time: f64,
    head_rise: f64,
) -> f64 {
    let added = power * closing_time * (1.0 + head_rise).powf(1.5);
    speed * (1.0 + added / (inertia * speed * speed)).sqrt()
}

fn flywheel_inertia(energy: f64, lower: f64, upper: f64) -> f64 {
    if lower >= upper {
        return f64::NAN;
    }
    2.0 * energy / (upper * upper - lower * lower)
}

fn brake_energy(
    power: f64,
    waiting_time: f64,
    closing_time: f64,
    inertia: f64,
    speed: f64,
    end_speed: f64,
) -> f64 {
    if end_speed > speed {
        return f64::NAN;
    }
    power * (waiting_time + closing_time / 2.0)
        + 0.5 * inertia * (speed * speed - end_speed * end_speed)
}
