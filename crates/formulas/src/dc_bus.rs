//! A permanent-magnet generator on a six-pulse bridge into a DC bus: current, and the speed at
//! which turbine and bus balance.

use std::f64::consts::{PI, SQRT_2};

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Limit, Output, Parameter, Range, Refusal, Source, Subject,
};
use crate::side_by_side::side_by_side;
use crate::sources::{DEFINITION, IEC_60034, MOHAN};
use crate::usual::{RADIAN, ZERO_CELSIUS};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "dc_bus",
    about: "A permanent-magnet generator on a diode bridge into a DC bus: current and speed.",
    formulas: FORMULAS,
};

const OVER_VOLTAGE: &str = "Without load the speed goes up to runaway and the voltage with it: rate \
    every part on the bus for runaway_bus_voltage. These voltages kill: wiring is for a licensed \
    person under the local electrical code (NFPA 70, IEC 60364).";

const BRIDGE: Source = Source::memory(MOHAN, "ch. 5, three-phase bridge with line inductance");

const EMF: Parameter = Parameter::new(
    "emf",
    Dimension::VOLTAGE,
    "rms between two lines, of the generator without load at this speed (emf_line_voltage)",
)
.positive();

const FREQUENCY: Parameter =
    Parameter::new("frequency", Dimension::FREQUENCY, "of the generator at this speed").positive();

const INDUCTANCE: Parameter = Parameter::new(
    "inductance",
    Dimension::INDUCTANCE,
    "of one phase, line to neutral: winding and cable up to the bridge",
)
.not_negative();

const RESISTANCE: Parameter = Parameter::new(
    "resistance",
    Dimension::RESISTANCE,
    "of one phase, line to neutral, at running temperature: winding and cable up to the bridge, and \
     one conductor of the cable between bridge and bus, since two phases carry the current at any \
     time",
)
.not_negative();

const DIODE_DROP: Parameter = Parameter::new(
    "diode_drop",
    Dimension::VOLTAGE,
    "of one diode, two of which carry the current at any time; 0.7 V to 1.1 V for silicon",
)
.not_negative()
.valid(0.0, 1.5)
.or(0.0);

const EMF_CONSTANT: Parameter = Parameter::new(
    "emf_constant",
    Dimension::EMF_CONSTANT,
    "rms voltage between two lines per mechanical speed of rotation (emf_constant_of_lines)",
)
.positive();

const POLES: Parameter =
    Parameter::new("poles", Dimension::NONE, "number of poles, not of pole pairs")
        .within(2.0, 1000.0);

const BUS_VOLTAGE: Parameter = Parameter::new(
    "dc_voltage",
    Dimension::VOLTAGE,
    "of the bus, held by the inverter or a battery",
)
.not_negative();

const TURBINE_POWER: Parameter = Parameter::new(
    "power",
    Dimension::POWER,
    "of the turbine's shaft at its best speed and today's head, friction of generator and belt \
     taken off",
)
.positive();

const TURBINE_SPEED: Parameter = Parameter::new(
    "speed",
    Dimension::ROTATION,
    "at which the turbine gives this power, on the generator's shaft",
)
.positive();

const RUNAWAY_SPEED: Parameter = Parameter::new(
    "runaway_speed",
    Dimension::ROTATION,
    "of the turbine without load, on the generator's shaft",
)
.positive();

const ABOVE_SPEED: Limit = Limit { says: "runaway_speed > speed", holds: |of| of[7] > of[6] };

const ON_BUS: &[Parameter] = &[
    EMF_CONSTANT,
    POLES,
    INDUCTANCE,
    RESISTANCE,
    BUS_VOLTAGE,
    TURBINE_POWER,
    TURBINE_SPEED,
    RUNAWAY_SPEED,
    DIODE_DROP,
];

const OVERLAP: &str = "overlap ≤ 60°: beyond it the bridge works in another mode and carries less \
    voltage than this says";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "emf_constant_of_lines",
        summary: "A generator's EMF constant as the formulas here take it, rms between two lines on \
            mechanical speed, from however the maker states it.",
        equation: "K = k · (√3 if per phase) · (1/√2 if peak) · (p if on electrical speed)",
        parameters: &[
            Parameter::new("constant", Dimension::EMF_CONSTANT, "as the maker states it")
                .positive(),
            Parameter::of_kind(
                "between",
                Kind::Choice(&["lines", "phase"]),
                "lines: between two lines; phase: line to neutral",
            ),
            Parameter::of_kind("value", Kind::Choice(&["rms", "peak"]), "rms or peak, of a sine"),
            Parameter::new(
                "pole_pairs",
                Dimension::NONE,
                "only for a constant on electrical speed; else left out",
            )
            .within(1.0, 500.0)
            .or(1.0),
        ],
        result: Output::new(Dimension::EMF_CONSTANT),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "K_e"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("constant", "0.6 V*s/rad"),
                ("between", "phase"),
                ("value", "peak"),
                ("pole_pairs", "6"),
            ],
            expected: "4.40908153700972 V*s/rad",
            tolerance: 1e-12,
            source: "by hand, 0.6 √3/√2 · 6",
        }],
        body: side_by_side!(emf_constant_of_lines, a, b, c, d),
    },
    Formula {
        name: "winding_resistance",
        summary: "The resistance of a copper winding at its running temperature, from one measured \
            cold.",
        equation: "R₂ = R₁ (235 + t₂)/(235 + t₁), t in °C",
        parameters: &[
            Parameter::new("resistance", Dimension::RESISTANCE, "as measured").not_negative(),
            Parameter::new(
                "measured_at",
                Dimension::TEMPERATURE,
                "temperature of the winding then",
            )
            .within(ZERO_CELSIUS - 100.0, ZERO_CELSIUS + 250.0),
            Parameter::new("temperature", Dimension::TEMPERATURE, "of the running winding")
                .within(ZERO_CELSIUS - 100.0, ZERO_CELSIUS + 250.0)
                .valid(ZERO_CELSIUS - 30.0, ZERO_CELSIUS + 180.0),
        ],
        result: Output::new(Dimension::RESISTANCE),
        limits: &[],
        caution: None,
        source: Source::memory(IEC_60034, "part 1, resistance method"),
        hides: Some("degrees Celsius"),
        checks: &[Check {
            arguments: &[
                ("resistance", "1.8 ohm"),
                ("measured_at", "20 degC"),
                ("temperature", "75 degC"),
            ],
            expected: "2.18823529411765 ohm",
            tolerance: 1e-12,
            source: "by hand, 1.8 · 310/255",
        }],
        body: side_by_side!(winding_resistance, a, b, c),
    },
    Formula {
        name: "bridge_dc_current",
        summary: "The direct current that a generator gives through a six-pulse bridge at a power \
            on the DC side: the smaller of two; refused where the generator cannot give the power \
            at this speed.",
        equation: "(A − B I) I = P: I = (A − √(A² − 4 B P))/(2 B), A = 3√2/π E − 2 V_D, \
            B = 6 f L + 2 R",
        parameters: &[
            EMF,
            FREQUENCY,
            INDUCTANCE,
            RESISTANCE,
            Parameter::new("power", Dimension::POWER, "behind the bridge and its cable")
                .not_negative(),
            DIODE_DROP,
        ],
        result: Output::new(Dimension::CURRENT),
        limits: &[
            Limit {
                says: "power ≤ A²/(4 B): above it the generator is pulled out",
                holds: |of| {
                    let (a, b) = source_of(of[0], of[1], of[2], of[3], of[5]);
                    a > 0.0 && 4.0 * b * of[4] <= a * a
                },
            },
            Limit {
                says: OVERLAP,
                holds: |of| {
                    let current = bridge_dc_current(of[0], of[1], of[2], of[3], of[4], of[5]);
                    current <= bridge_overlap_current(of[0], of[1], of[2])
                },
            },
        ],
        caution: Some(OVER_VOLTAGE),
        source: BRIDGE,
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("emf", "120 V"),
                    ("frequency", "80 Hz"),
                    ("inductance", "2 mH"),
                    ("resistance", "0.4 ohm"),
                    ("power", "2 kW"),
                ],
                expected: "14.682612733125842 A",
                tolerance: 1e-10,
                source: "the power halved in on by bisection apart from this code",
            },
            Check {
                arguments: &[
                    ("emf", "120 V"),
                    ("frequency", "80 Hz"),
                    ("inductance", "2 mH"),
                    ("resistance", "0.4 ohm"),
                    ("power", "2 kW"),
                    ("diode_drop", "0.9 V"),
                ],
                expected: "14.926997045972003 A",
                tolerance: 1e-10,
                source: "the power halved in on by bisection apart from this code",
            },
        ],
        body: Body::Six(bridge_dc_current),
    },
    Formula {
        name: "bridge_current_into_bus",
        summary: "The direct current that a generator drives through a six-pulse bridge into a bus \
            of fixed voltage; none while its voltage is lower.",
        equation: "I = (3√2/π E − 2 V_D − V)/(6 f L + 2 R)",
        parameters: &[
            EMF,
            FREQUENCY,
            Parameter { must: Range::POSITIVE, ..INDUCTANCE },
            RESISTANCE,
            BUS_VOLTAGE,
            DIODE_DROP,
        ],
        result: Output::new(Dimension::CURRENT),
        limits: &[Limit {
            says: OVERLAP,
            holds: |of| {
                let current = bridge_current_into_bus(of[0], of[1], of[2], of[3], of[4], of[5]);
                current <= bridge_overlap_current(of[0], of[1], of[2])
            },
        }],
        caution: Some(OVER_VOLTAGE),
        source: BRIDGE,
        hides: None,
        checks: &[Check {
            arguments: &[
                ("emf", "120 V"),
                ("frequency", "80 Hz"),
                ("inductance", "2 mH"),
                ("resistance", "0.4 ohm"),
                ("dc_voltage", "130 V"),
                ("diode_drop", "0.9 V"),
            ],
            expected: "17.19144142515858 A",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code, (162.0569 − 1.8 − 130)/1.76",
        }],
        body: Body::Six(bridge_current_into_bus),
    },
    Formula {
        name: "bridge_overlap_current",
        summary: "The direct current at which the overlap of a six-pulse bridge reaches 60°, beyond \
            which its simple law fails. For a permanent-magnet generator it is the same at every \
            speed.",
        equation: "I = √2 E/(4 ω L)",
        parameters: &[EMF, FREQUENCY, Parameter { must: Range::POSITIVE, ..INDUCTANCE }],
        result: Output::new(Dimension::CURRENT),
        limits: &[],
        caution: None,
        source: BRIDGE,
        hides: None,
        checks: &[Check {
            arguments: &[("emf", "120 V"), ("frequency", "80 Hz"), ("inductance", "2 mH")],
            expected: "42.202327319864345 A",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code: cos 60° = 1 − 2 ω L I/(√2 E)",
        }],
        body: side_by_side!(bridge_overlap_current, a, b, c),
    },
    Formula {
        name: "speed_at_bus_voltage",
        summary: "The speed at which a generator behind a six-pulse bridge holds a DC voltage under \
            a direct current; with no current, the speed at which it begins to charge.",
        equation: "ω = (V + 2 R I + 2 V_D)/(3√2/π K − 3 p L I/(2π)), p poles",
        parameters: &[
            EMF_CONSTANT,
            POLES,
            INDUCTANCE,
            RESISTANCE,
            BUS_VOLTAGE,
            Parameter::new("dc_current", Dimension::CURRENT, "into the bus").not_negative(),
            DIODE_DROP,
        ],
        result: Output::new(Dimension::ROTATION).shown_in("rpm", "rpm"),
        limits: &[
            Limit {
                says: "dc_current < 2√2 K/(p L): above it no speed is enough",
                holds: |of| bus_slope(of[0], of[1], of[2], of[5]) > 0.0,
            },
            Limit { says: OVERLAP, holds: |of| of[1] * of[2] * of[5] <= SQRT_2 * of[0] / 2.0 },
        ],
        caution: Some(OVER_VOLTAGE),
        source: BRIDGE,
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("emf_constant", "2.4 V*s/rad"),
                ("poles", "12"),
                ("inductance", "8 mH"),
                ("resistance", "0.9 ohm"),
                ("dc_voltage", "150 V"),
                ("dc_current", "9 A"),
                ("diode_drop", "0.9 V"),
            ],
            expected: "567.1627839302533 rpm",
            tolerance: 1e-12,
            source: "by arithmetic apart from this code",
        }],
        body: Body::Seven(speed_at_bus_voltage),
    },
    Formula {
        name: "speed_on_dc_bus",
        summary: "The speed at which a turbine and a generator behind a six-pulse bridge balance \
            into a DC bus, with the turbine's torque falling in a straight line to nothing at \
            runaway.",
        equation: "T_n (ω_r − ω)/(ω_r − ω_n) = (3√2/π K − 3 p L I/(2π)) I, I from \
            speed_at_bus_voltage, T_n = P/ω_n",
        parameters: ON_BUS,
        result: Output::new(Dimension::ROTATION).shown_in("rpm", "rpm"),
        limits: &[ABOVE_SPEED],
        caution: Some(OVER_VOLTAGE),
        source: BRIDGE,
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("emf_constant", "2.4 V*s/rad"),
                ("poles", "12"),
                ("inductance", "8 mH"),
                ("resistance", "0.9 ohm"),
                ("dc_voltage", "150 V"),
                ("power", "1.5 kW"),
                ("speed", "450 rpm"),
                ("runaway_speed", "855 rpm"),
                ("diode_drop", "0.9 V"),
            ],
            expected: "555.4101484907109 rpm",
            tolerance: 1e-9,
            source: "by bisection over the speed, apart from this code: the shaft's 1369.51 W are \
                1233.07 W on the bus, 14.80 W in the diodes and 121.64 W in the windings",
        }],
        body: Body::Series(|arguments| Ok(on_dc_bus(arguments)?.0)),
    },
    Formula {
        name: "current_on_dc_bus",
        summary: "The direct current at which a turbine and a generator behind a six-pulse bridge \
            balance into a DC bus; times the bus voltage it is the power delivered.",
        equation: "as speed_on_dc_bus",
        parameters: ON_BUS,
        result: Output::new(Dimension::CURRENT),
        limits: &[ABOVE_SPEED],
        caution: Some(OVER_VOLTAGE),
        source: BRIDGE,
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("emf_constant", "2.4 V*s/rad"),
                ("poles", "12"),
                ("inductance", "8 mH"),
                ("resistance", "0.9 ohm"),
                ("dc_voltage", "150 V"),
                ("power", "1.5 kW"),
                ("speed", "450 rpm"),
                ("runaway_speed", "855 rpm"),
                ("diode_drop", "0.9 V"),
            ],
            expected: "8.220490980421912 A",
            tolerance: 1e-9,
            source: "by bisection over the speed, apart from this code",
        }],
        body: Body::Series(|arguments| Ok(on_dc_bus(arguments)?.1)),
    },
];

fn emf_constant_of_lines(constant: f64, between: f64, value: f64, pole_pairs: f64) -> f64 {
    let lines = if between == 0.0 { 1.0 } else { 3.0_f64.sqrt() };
    let rms = if value == 0.0 { 1.0 } else { SQRT_2 };
    constant * lines / rms * pole_pairs
}

fn winding_resistance(resistance: f64, measured_at: f64, temperature: f64) -> f64 {
    let copper = 235.0 - ZERO_CELSIUS;
    resistance * (copper + temperature) / (copper + measured_at)
}

/// Voltage behind the bridge without current, and what it loses per current.
fn source_of(
    emf: f64,
    frequency: f64,
    inductance: f64,
    resistance: f64,
    diode_drop: f64,
) -> (f64, f64) {
    (3.0 * SQRT_2 / PI * emf - 2.0 * diode_drop, 6.0 * frequency * inductance + 2.0 * resistance)
}

fn bridge_dc_current(
    emf: f64,
    frequency: f64,
    inductance: f64,
    resistance: f64,
    power: f64,
    diode_drop: f64,
) -> f64 {
    let (a, b) = source_of(emf, frequency, inductance, resistance, diode_drop);
    if a <= 0.0 {
        return f64::NAN;
    }
    // The smaller root in the form that does not cancel, and that holds for b = 0.
    2.0 * power / (a + (a * a - 4.0 * b * power).sqrt())
}

fn bridge_current_into_bus(
    emf: f64,
    frequency: f64,
    inductance: f64,
    resistance: f64,
    dc_voltage: f64,
    diode_drop: f64,
) -> f64 {
    let (a, b) = source_of(emf, frequency, inductance, resistance, diode_drop);
    (a - dc_voltage).max(0.0) / b
}

fn bridge_overlap_current(emf: f64, frequency: f64, inductance: f64) -> f64 {
    let omega = 2.0 * PI * frequency;
    SQRT_2 * emf / (4.0 * omega * inductance)
}

/// Direct voltage per speed of the shaft, less what commutation takes of it.
fn bus_slope(emf_constant: f64, poles: f64, inductance: f64, dc_current: f64) -> f64 {
    3.0 * SQRT_2 / PI * emf_constant - 3.0 * poles * inductance * dc_current / (2.0 * PI)
}

fn speed_at_bus_voltage(
    emf_constant: f64,
    poles: f64,
    inductance: f64,
    resistance: f64,
    dc_voltage: f64,
    dc_current: f64,
    diode_drop: f64,
) -> f64 {
    let slope = bus_slope(emf_constant, poles, inductance, dc_current);
    if slope <= 0.0 {
        return f64::NAN;
    }
    (dc_voltage + 2.0 * resistance * dc_current + 2.0 * diode_drop) / slope
}

/// Speed and current of the balance of torques.
fn on_dc_bus(arguments: &[Argument<'_>]) -> Result<(f64, f64), Refusal> {
    let &[
        Argument::Number(emf_constant),
        Argument::Number(poles),
        Argument::Number(inductance),
        Argument::Number(resistance),
        Argument::Number(dc_voltage),
        Argument::Number(power),
        Argument::Number(speed),
        Argument::Number(runaway),
        Argument::Number(diode_drop),
    ] = arguments
    else {
        return Err(Refusal("emf_constant: expected one value".to_owned()));
    };
    if runaway <= speed {
        return Err(Refusal("runaway_speed: must be above speed".to_owned()));
    }
    let speed_at = |current: f64| {
        speed_at_bus_voltage(
            emf_constant,
            poles,
            inductance,
            resistance,
            dc_voltage,
            current,
            diode_drop,
        )
    };
    // What the turbine has over at the speed that goes with a current.
    let torque_over = |current: f64| {
        let turbine = power / speed * (runaway - speed_at(current)) / (runaway - speed);
        turbine - bus_slope(emf_constant, poles, inductance, current) * current
    };
    let slope = bus_slope(emf_constant, poles, inductance, 0.0);
    if torque_over(0.0) < 0.0 {
        return Err(Refusal(
            "dc_voltage: is not reached even at runaway; take a lower voltage, a belt or another \
             winding"
                .to_owned(),
        ));
    }
    // The torque of the generator has its peak at this current; without inductance it has none, and
    // the turbine's own torque bounds the current.
    let pull_out = slope * PI / (3.0 * poles * inductance);
    let stalled = 2.0 * (power / speed * runaway / (runaway - speed)) / slope;
    let (mut low, mut high) = (0.0, pull_out.min(stalled));
    if torque_over(high) > 0.0 {
        return Err(Refusal(
            "power: more than the generator can take at this dc_voltage; it is pulled out"
                .to_owned(),
        ));
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if torque_over(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok((speed_at(low), low))
}
