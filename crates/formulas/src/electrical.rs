//! Generators and six-pulse diode bridges.

use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Limit, Output, Parameter, Range, Source, Subject};
use crate::side_by_side::side_by_side;
use crate::sources::{BIMBHRA, DEFINITION, MOHAN};
use crate::usual::{RADIAN, SHARE_ABOVE_ZERO};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "electrical",
    about: "Frequency and voltage of a generator, six-pulse diode bridges, power factor.",
    formulas: FORMULAS,
};

const OVER_VOLTAGE: &str = "Voltage rises with speed: rate diodes, capacitors and the inverter's \
    input for the runaway speed without load. A capacitor behind the bridge charges up to √2 times \
    the line voltage at light load. These voltages kill: wiring is for a licensed person under the \
    local electrical code (NFPA 70, IEC 60364).";

const BRIDGE: Source = Source::memory(MOHAN, "ch. 5, three-phase bridge");

const RECTIFIERS: Source = Source::read(BIMBHRA, "ch. 3");

const LINE_VOLTAGE: Parameter = Parameter::new(
    "line_voltage",
    Dimension::VOLTAGE,
    "rms between two lines (not line to neutral) at the bridge",
)
.not_negative();

const FREQUENCY: Parameter =
    Parameter::new("frequency", Dimension::FREQUENCY, "of the alternating side").not_negative();

const INDUCTANCE: Parameter = Parameter::new(
    "inductance",
    Dimension::INDUCTANCE,
    "of one phase, line to neutral: generator and cable together",
)
.not_negative();

const DC_CURRENT: Parameter =
    Parameter::new("dc_current", Dimension::CURRENT, "smooth direct current").not_negative();

const POLES: Parameter = Parameter {
    must: Range::between(2.0, 1000.0),
    ..Parameter::new("poles", Dimension::NONE, "number of poles, not of pole pairs")
};

const POWER_FACTOR: Parameter = Parameter {
    must: SHARE_ABOVE_ZERO,
    ..Parameter::new("power_factor", Dimension::NONE, "cos φ of the load before, lagging")
};

static FORMULAS: &[Formula] = &[
    Formula {
        name: "generator_frequency",
        summary: "The frequency of a synchronous or permanent-magnet generator.",
        equation: "f = n p/120, n in rpm, p poles",
        parameters: &[
            Parameter::new("speed", Dimension::ROTATION, "of the generator's shaft").not_negative(),
            POLES,
        ],
        result: Output::new(Dimension::FREQUENCY),
        limits: &[Limit { says: "an even number of poles", holds: |of| of[1] % 2.0 == 0.0 }],
        caution: None,
        source: Source::exact(DEFINITION, "pole pairs pass"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[("speed", "500 rpm"), ("poles", "12")],
            expected: "50 Hz",
            tolerance: 1e-12,
            source: "definition, by hand; every table of synchronous speeds has it",
        }],
        body: side_by_side!(generator_frequency, a, b),
    },
    Formula {
        name: "synchronous_speed",
        summary: "The speed at which a generator gives a frequency.",
        equation: "n = 120 f/p, n in rpm, p poles",
        parameters: &[
            Parameter::new("frequency", Dimension::FREQUENCY, "wanted frequency").not_negative(),
            POLES,
        ],
        result: Output::new(Dimension::ROTATION).shown_in("rpm", "rpm"),
        limits: &[Limit { says: "an even number of poles", holds: |of| of[1] % 2.0 == 0.0 }],
        caution: None,
        source: Source::exact(DEFINITION, "pole pairs pass"),
        hides: RADIAN,
        checks: &[Check {
            arguments: &[("frequency", "50 Hz"), ("poles", "36")],
            expected: "166.7 rpm",
            tolerance: 3e-4,
            source: "Nag 2001, Ex. 10.11",
        }],
        body: side_by_side!(synchronous_speed, a, b),
    },
    Formula {
        name: "emf_line_voltage",
        summary: "The open-circuit voltage of a permanent-magnet generator.",
        equation: "E = K_e ω",
        parameters: &[
            Parameter::new(
                "emf_constant",
                Dimension::EMF_CONSTANT,
                "rms voltage between two lines per mechanical speed of rotation; convert a \
                 constant that is stated per phase, as a peak value or on electrical speed",
            )
            .not_negative(),
            Parameter::new("speed", Dimension::ROTATION, "of the generator's shaft").not_negative(),
        ],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[],
        caution: Some(
            "At runaway the voltage is as many times higher as the speed, and it is there as long \
             as the rotor turns: no switch takes it away. It kills; work on it only with the rotor \
             locked, by a licensed person under the local electrical code.",
        ),
        source: Source::exact(DEFINITION, "K_e"),
        hides: None,
        checks: &[Check {
            arguments: &[("emf_constant", "0.85 V*s/rad"), ("speed", "450 rpm")],
            expected: "40.0553063332699 V",
            tolerance: 1e-9,
            source: "by hand from the definition, 0.85 · 15 π",
        }],
        body: side_by_side!(emf_line_voltage, a, b),
    },
    Formula {
        name: "bridge_dc_voltage",
        summary: "The mean voltage behind a six-pulse diode bridge under smooth direct current.",
        equation: "V_dc = 3√2/π V_LL − 2 V_D",
        parameters: &[
            LINE_VOLTAGE,
            Parameter::new(
                "diode_drop",
                Dimension::VOLTAGE,
                "of one diode, two of which carry the current at any time; 0.7 V to 1.1 V for \
                 silicon",
            )
            .not_negative()
            .valid(0.0, 1.5)
            .or(0.0),
        ],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[],
        caution: Some(OVER_VOLTAGE),
        source: RECTIFIERS,
        hides: None,
        checks: &[
            Check {
                arguments: &[("line_voltage", "230 V")],
                expected: "310.609129074202 V",
                tolerance: 1e-9,
                source: "Bimbhra 2012, Ex. 3.20, carried to more digits by hand",
            },
            Check {
                arguments: &[("line_voltage", "208 V")],
                expected: "280.7 V",
                tolerance: 8e-4,
                source: "Rashid 2004, example on line inductance (from memory; 120 V per phase)",
            },
            Check {
                arguments: &[("line_voltage", "230 V"), ("diode_drop", "0.9 V")],
                expected: "308.809129074202 V",
                tolerance: 1e-9,
                source: "Bimbhra 2012, Ex. 3.20, less two drops by hand",
            },
        ],
        body: side_by_side!(bridge_dc_voltage, a, b),
    },
    Formula {
        name: "bridge_line_current",
        summary: "The rms current in each line into a six-pulse bridge under smooth direct current.",
        equation: "I = √(2/3) I_dc",
        parameters: &[DC_CURRENT],
        result: Output::new(Dimension::CURRENT),
        limits: &[],
        caution: Some(
            "With a capacitor behind the bridge the current comes in peaks, and its rms value is \
             higher. Whether a cable stands a current is not computed here: see NEC 310 or IEC \
             60364-5-52.",
        ),
        source: BRIDGE,
        hides: None,
        checks: &[Check {
            arguments: &[("dc_current", "10 A")],
            expected: "8.16496580927726 A",
            tolerance: 1e-9,
            source: "by hand: 120° blocks of the direct current; every power-electronics text has \
                0.816",
        }],
        body: side_by_side!(bridge_line_current, a),
    },
    Formula {
        name: "bridge_commutation_drop",
        summary: "The mean direct voltage that a six-pulse bridge loses while the current changes \
            from one diode to the next.",
        equation: "ΔV = 3 ω L I_dc/π = 6 f L I_dc",
        parameters: &[FREQUENCY, INDUCTANCE, DC_CURRENT],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[],
        caution: Some(
            "Holds up to 60° of overlap only: hold bridge_overlap_angle against it. A generator's \
             own inductance often goes beyond.",
        ),
        source: BRIDGE,
        hides: None,
        checks: &[Check {
            arguments: &[("frequency", "60 Hz"), ("inductance", "0.5 mH"), ("dc_current", "60 A")],
            expected: "10.8 V",
            tolerance: 1e-9,
            source: "Rashid 2004, example on line inductance (from memory)",
        }],
        body: side_by_side!(bridge_commutation_drop, a, b, c),
    },
    Formula {
        name: "bridge_overlap_angle",
        summary: "The angle over which two diodes of a six-pulse bridge share the current while it \
            changes over.",
        equation: "cos μ = 1 − 2 ω L I_dc/(√2 V_LL)",
        parameters: &[
            Parameter { must: Range::POSITIVE, ..LINE_VOLTAGE },
            FREQUENCY,
            INDUCTANCE,
            DC_CURRENT,
        ],
        result: Output::new(Dimension::ANGLE).shown_in("deg", "deg"),
        limits: &[Limit {
            says: "overlap ≤ 60°: beyond it the bridge works in another mode, and neither this \
                angle nor the commutation drop holds",
            holds: |of| bridge_overlap_cosine(of[0], of[1], of[2], of[3]) >= 0.5 - 1e-12,
        }],
        caution: None,
        source: BRIDGE,
        hides: RADIAN,
        checks: &[Check {
            arguments: &[
                ("line_voltage", "207.85 V"),
                ("frequency", "60 Hz"),
                ("inductance", "0.5 mH"),
                ("dc_current", "60 A"),
            ],
            expected: "22.63 deg",
            tolerance: 2e-3,
            source: "Rashid 2004, example on line inductance (from memory): a loss of 3.85 % is \
                cos μ = 1 − 2 · 0.0385",
        }],
        body: Body::Four(bridge_overlap_angle),
    },
    Formula {
        name: "bridge_peak_inverse_voltage",
        summary: "The highest reverse voltage on each diode of a six-pulse bridge.",
        equation: "V_PI = √2 V_LL = π/3 V_dc",
        parameters: &[LINE_VOLTAGE],
        result: Output::new(Dimension::VOLTAGE),
        limits: &[],
        caution: Some(OVER_VOLTAGE),
        source: RECTIFIERS,
        hides: None,
        checks: &[Check {
            arguments: &[("line_voltage", "296.1922 V")],
            expected: "418.88 V",
            tolerance: 1.2e-5,
            source: "Bimbhra 2012, Ex. 3.19: 400 V direct, that is 400/1.350474 V between lines",
        }],
        body: side_by_side!(bridge_peak_inverse_voltage, a),
    },
    Formula {
        name: "bridge_power_factor",
        summary: "The power factor of a six-pulse bridge under smooth direct current, without \
            overlap.",
        equation: "3/π",
        parameters: &[],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: RECTIFIERS,
        hides: None,
        checks: &[Check {
            arguments: &[],
            expected: "0.955",
            tolerance: 5.3e-4,
            source: "Bimbhra 2012, Ex. 3.20",
        }],
        body: Body::Constant(3.0 / PI),
    },
    Formula {
        name: "bridge_ripple_factor",
        summary: "The rms ripple of the unfiltered voltage behind a six-pulse bridge, as a share of \
            its mean.",
        equation: "√((V_rms/V_dc)² − 1), V_rms² = V_m² (1/2 + 3√3/(4π)), V_dc = 3 V_m/π",
        parameters: &[],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: BRIDGE,
        hides: None,
        checks: &[Check {
            arguments: &[],
            expected: "0.042",
            tolerance: 0.012,
            source: "4.2 % in every power-electronics text, from memory",
        }],
        // The digits of the equation, since a square root is not known when a table is built.
        body: Body::Constant(0.041_966_613_809_432_36),
    },
    Formula {
        name: "bridge_ripple_frequency",
        summary: "The lowest frequency of the ripple behind a six-pulse bridge.",
        equation: "f_r = 6 f",
        parameters: &[FREQUENCY],
        result: Output::new(Dimension::FREQUENCY),
        limits: &[],
        caution: None,
        source: BRIDGE,
        hides: None,
        checks: &[Check {
            arguments: &[("frequency", "80 Hz")],
            expected: "480 Hz",
            tolerance: 1e-12,
            source: "six pulses in a period, by hand",
        }],
        body: side_by_side!(bridge_ripple_frequency, a),
    },
    Formula {
        name: "capacitor_reactive_power",
        summary: "The reactive power of the capacitors that raise a power factor.",
        equation: "Q = P (tan φ₁ − tan φ₂)",
        parameters: &[
            Parameter::new("power", Dimension::POWER, "active power of the load").not_negative(),
            POWER_FACTOR,
            Parameter {
                must: SHARE_ABOVE_ZERO,
                ..Parameter::new("new_power_factor", Dimension::NONE, "cos φ wanted, lagging")
            },
        ],
        result: Output::new(Dimension::POWER).shown_in("kvar", "kvar"),
        limits: &[Limit { says: "power_factor ≤ new_power_factor", holds: |of| of[1] <= of[2] }],
        caution: Some(
            "Capacitors on an induction generator or motor can go on exciting it after it is cut \
             off, with dangerous voltage; they also hold their charge. Defer to a licensed person.",
        ),
        source: Source::exact(DEFINITION, "reactive power"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("power", "10 kW"),
                ("power_factor", "0.75"),
                ("new_power_factor", "0.95"),
            ],
            expected: "5.53232998509334 kvar",
            tolerance: 1e-9,
            source: "by hand from the definition",
        }],
        body: Body::Three(capacitor_reactive_power),
    },
];

fn generator_frequency(speed: f64, poles: f64) -> f64 {
    let revolutions_per_second = speed / (2.0 * PI);
    revolutions_per_second * poles / 2.0
}

fn synchronous_speed(frequency: f64, poles: f64) -> f64 {
    let revolutions_per_second = frequency / (poles / 2.0);
    2.0 * PI * revolutions_per_second
}

fn emf_line_voltage(emf_constant: f64, speed: f64) -> f64 {
    emf_constant * speed
}

fn bridge_dc_voltage(line_voltage: f64, diode_drop: f64) -> f64 {
    3.0 * SQRT_2 / PI * line_voltage - 2.0 * diode_drop
}

fn bridge_line_current(dc_current: f64) -> f64 {
    (2.0_f64 / 3.0).sqrt() * dc_current
}

fn bridge_commutation_drop(frequency: f64, inductance: f64, dc_current: f64) -> f64 {
    let omega = 2.0 * PI * frequency;
    3.0 * omega * inductance * dc_current / PI
}

fn bridge_overlap_cosine(
    line_voltage: f64,
    frequency: f64,
    inductance: f64,
    dc_current: f64,
) -> f64 {
    let omega = 2.0 * PI * frequency;
    1.0 - 2.0 * omega * inductance * dc_current * FRAC_1_SQRT_2 / line_voltage
}

fn bridge_overlap_angle(
    line_voltage: f64,
    frequency: f64,
    inductance: f64,
    dc_current: f64,
) -> f64 {
    bridge_overlap_cosine(line_voltage, frequency, inductance, dc_current).acos()
}

fn bridge_peak_inverse_voltage(line_voltage: f64) -> f64 {
    SQRT_2 * line_voltage
}

fn bridge_ripple_frequency(frequency: f64) -> f64 {
    6.0 * frequency
}

fn capacitor_reactive_power(power: f64, power_factor: f64, new_power_factor: f64) -> f64 {
    power * (power_factor.acos().tan() - new_power_factor.acos().tan())
}
