//! Pipes that rise above the pond: pressure at the crest, priming, and the air inside.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Kind, Limit, Output, Parameter, Source, Subject};
use crate::pipes::velocity_head;
use crate::sources::{BERNOULLI, HR_WALLINGFORD, KALINSKE_ROBERTSON, VACUUM, WISNER};
use crate::usual::{ALTITUDE, ALTITUDE_OR_SEA, DENSITY, GRAVITY, TEMPERATURE, TEMPERATURE_OR_15};
use crate::water::atmospheric_pressure;
use crate::water_properties::{density, vapour_pressure};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "siphon",
    about: "Pipes that rise above the pond: pressure at the crest, priming, and the air inside.",
    formulas: FORMULAS,
};

const SITE: Option<&str> =
    Some("metre, kelvin and pascal: the standard atmosphere and the properties of water");

pub(crate) const BREAKS: &str = "Air comes out of solution below roughly 0.3 to 0.5 bar absolute: keep 2.5 to \
    3 m of absolute head at the crest (from memory), and count on a day of low pressure. A siphon \
    over a dam can wash it out on a burst or leak: ask the dam's owner and the dam-safety office.";

const CREST_RISE: Parameter = Parameter::new(
    "crest_rise",
    Dimension::LENGTH,
    "crown of the bore at the crest above the pond's level; not the axis",
);

const VELOCITY: Parameter =
    Parameter::new("velocity", Dimension::VELOCITY, "mean velocity at the crest").not_negative();

const HEAD_LOSS: Parameter = Parameter::new(
    "head_loss",
    Dimension::LENGTH,
    "head lost from the pond to the crest only, inlet and rack included",
)
.not_negative();

/// How an air pocket may be told to clear, on V/√(g D) and the slope of the pipe.
pub(crate) const CLEARING: &[&str] =
    &["largest", "kalinske_bliss", "kalinske_slope", "wisner", "wallingford"];

pub(crate) const CLEARING_SLOPE: Parameter = Parameter::new(
    "slope",
    Dimension::NONE,
    "fall of the pipe in the direction of flow over its horizontal run, tan θ",
)
.not_negative()
.valid(0.0, 1.0);

pub(crate) const DISAGREE: &str = "Three literatures disagree: take the upper end of the band, which is not \
    a promise. It counts in each reach that falls; in one that rises, pockets move by themselves.";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "crest_pressure",
        summary: "Absolute pressure at the crown of a siphon's crest.",
        equation: "p = p_atm(altitude) − ρ g (Δz + V²/2g + h_L), ρ from the temperature",
        parameters: &[CREST_RISE, VELOCITY, HEAD_LOSS, ALTITUDE_OR_SEA, TEMPERATURE_OR_15, GRAVITY],
        result: Output::new(Dimension::PRESSURE).shown_in("kPa_abs", "psia"),
        limits: &[Limit {
            says: "a pressure above that of vapour: below it the water column breaks",
            holds: |a| crest_pressure(a[0], a[1], a[2], a[3], a[4], a[5]) > vapour_pressure(a[4]),
        }],
        caution: Some(BREAKS),
        source: Source::exact(BERNOULLI, "from the pond to the crest"),
        hides: SITE,
        checks: &[Check {
            arguments: &[
                ("crest_rise", "4.0 m"),
                ("velocity", "2.0 m/s"),
                ("head_loss", "0.35 m"),
                ("altitude", "1200 m"),
                ("temperature", "15 degC"),
            ],
            expected: "43.09673 kPa_abs",
            tolerance: 1e-4,
            source: "ISO 2533 and IAPWS-95: 4.398591 m of absolute head, by 999.103 kg/m³ and \
                     9.80665 m/s²",
        }],
        body: Body::Six(crest_pressure),
    },
    Formula {
        name: "crest_pressure_of_liquid",
        summary: "Absolute pressure at a crest for any liquid and any pressure on its surface.",
        equation: "p = p₀ − ρ g (Δz + V²/2g + h_L)",
        parameters: &[
            Parameter::new(
                "surface_pressure",
                Dimension::PRESSURE,
                "absolute pressure on the surface upstream",
            )
            .not_negative(),
            CREST_RISE,
            VELOCITY,
            HEAD_LOSS,
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::PRESSURE).shown_in("kPa_abs", "psia"),
        limits: &[],
        caution: Some(BREAKS),
        source: Source::exact(BERNOULLI, "from the surface to the crest"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("surface_pressure", "101.3 kPa_abs"),
                    ("crest_rise", "2 m"),
                    ("velocity", "3.836 m/s"),
                    ("head_loss", "0 m"),
                    ("density", "750 kg/m^3"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "81.1 kPa_abs",
                tolerance: 1e-3,
                source: "Cengel & Cimbala 2010, Ex. 5-7 (petrol, 0.75 m of fall, 2.75 m in all)",
            },
            Check {
                arguments: &[
                    ("surface_pressure", "100.837 kPa_abs"),
                    ("crest_rise", "-2 m"),
                    ("velocity", "1.534405 m/s"),
                    ("head_loss", "9.6 m"),
                    ("density", "997.961 kg/m^3"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "25.26 kPa_abs",
                tolerance: 1e-3,
                source: "Subramanya 2005, Ex. 11.17(a): 10.3 m of 9.79 kN/m³, summit 2 m under the \
                         level, 80 velocity heads of 0.12 m to it",
            },
        ],
        body: Body::Six(crest),
    },
    Formula {
        name: "siphon_lift_limit",
        summary: "Highest crest above the pond before velocity and losses take their part.",
        equation: "Δz = (p_atm − p_v)/(ρ g) − margin",
        parameters: &[
            ALTITUDE,
            TEMPERATURE,
            Parameter::new(
                "margin",
                Dimension::LENGTH,
                "absolute head to keep at the crest above that of vapour: 2.5 to 3 m",
            )
            .not_negative()
            .valid(2.0, 8.0),
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(BREAKS),
        source: Source::exact(BERNOULLI, "hydrostatics; ISO 2533 and IAPWS"),
        hides: SITE,
        checks: &[
            Check {
                arguments: &[("altitude", "0 m"), ("temperature", "20 degC"), ("margin", "0 m")],
                expected: "10.11187 m",
                tolerance: 2e-5,
                source: "ISO 2533 and IAPWS at sea level, by hand",
            },
            Check {
                arguments: &[
                    ("altitude", "1500 m"),
                    ("temperature", "20 degC"),
                    ("margin", "2.5 m"),
                ],
                expected: "5.898837 m",
                tolerance: 5e-4,
                source: "8.637799 m (ISO 2533, IAPWS-95) less 0.238962 m (IF97) less 2.5 m",
            },
        ],
        body: Body::Four(lift_limit),
    },
    Formula {
        name: "priming_time",
        summary: "Time a vacuum pump takes to draw a closed volume of air down.",
        equation: "t = V/S · ln(p₀/p₁)",
        parameters: &[
            Parameter::new(
                "volume",
                Dimension::VOLUME,
                "air to be drawn; taken as constant, though the rising water makes it less",
            )
            .positive(),
            Parameter::new(
                "pump_flow",
                Dimension::FLOW,
                "volume flow at the pump's inlet, the same at every pressure",
            )
            .positive(),
            Parameter::new("start_pressure", Dimension::PRESSURE, "absolute pressure at the start")
                .positive(),
            Parameter::new("end_pressure", Dimension::PRESSURE, "absolute pressure at the end")
                .positive(),
        ],
        result: Output::new(Dimension::TIME),
        limits: &[Limit { says: "end_pressure ≤ start_pressure", holds: |a| a[3] <= a[2] }],
        caution: Some(
            "A real pump draws less the lower the pressure, and pipes leak: take the maker's \
             curve. Where the mass flow is constant the time is linear in the pressure.",
        ),
        source: Source::exact(VACUUM, ""),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("volume", "0.50 m^3"),
                ("pump_flow", "20 m^3/h"),
                ("start_pressure", "100 kPa_abs"),
                ("end_pressure", "60 kPa_abs"),
            ],
            expected: "45.9743061 s",
            tolerance: 1e-8,
            source: "pump-down of an isothermal gas: 90 s · ln(100/60), by hand",
        }],
        body: Body::Four(priming_time),
    },
    Formula {
        name: "air_clearing_velocity",
        summary: "Velocity that carries an air pocket down a sloping pipe.",
        equation: "V = √(g D) · k; kalinske_bliss 1.07 √tan θ; kalinske_slope 1.273 √tan θ; \
                   wisner 0.825 + 0.25 √sin θ; wallingford 1.1 (0.56 √sin θ + 0.61); largest of all",
        parameters: &[
            Parameter::new("bore", Dimension::LENGTH, "inside diameter of the pipe").positive(),
            CLEARING_SLOPE,
            Parameter::of_kind(
                "method",
                Kind::Choice(CLEARING),
                "whose criterion; the largest of them unless given",
            )
            .or(0.0),
            GRAVITY,
        ],
        result: Output::new(Dimension::VELOCITY),
        limits: &[Limit {
            says: "a slope up to 0.414 (22.5°) for wallingford",
            holds: |a| !(a[2] == 0.0 || a[2] == 4.0) || a[1] <= 0.4143,
        }],
        caution: Some(DISAGREE),
        source: Source::memory(
            WISNER,
            "as quoted from Sanks, Pumping Station Design; the other three and HR Wallingford's 0.61 \
             from memory",
        ),
        hides: None,
        checks: &[
            Check {
                arguments: &[("bore", "0.3 m"), ("slope", "0.577350269"), ("method", "wisner")],
                expected: "1.718272 m/s",
                tolerance: 1e-6,
                source: "Wisner et al. 1975 (as quoted from Sanks): 1.001777 √(g D) at 30°, by hand",
            },
            Check {
                arguments: &[("bore", "0.2 m"), ("slope", "0.1")],
                expected: "1.265834 m/s",
                tolerance: 1e-6,
                source: "Wisner et al. 1975 (as quoted from Sanks), the largest there: 0.903861 √(g D) at \
                         tan θ 0.1, by arithmetic apart from this code",
            },
            Check {
                arguments: &[("bore", "0.2 m"), ("slope", "0.1"), ("method", "wallingford")],
                expected: "1.211848 m/s",
                tolerance: 1e-6,
                source: "HR Wallingford 2005 (from memory): 1.1 (0.56 √sin θ + 0.61) √(g D), by \
                         arithmetic apart from this code",
            },
        ],
        body: Body::Four(air_clearing),
    },
    Formula {
        name: "air_pocket_clearing",
        summary: "Velocity over √(g D) that carries a pocket of a given size down a pipe.",
        equation: "V/√(g D) = 1.1 (0.56 √sin θ + a), a = 0.45, 0.50, 0.57, 0.61 for n < 0.06, \
                   0.12, 0.30, 2; n = 4 V_pocket/(π D³)",
        parameters: &[
            Parameter::new("pocket", Dimension::VOLUME, "volume of the pocket at its pressure")
                .positive(),
            Parameter::new("bore", Dimension::LENGTH, "inside diameter of the pipe").positive(),
            Parameter::new("slope", Dimension::NONE, "fall over horizontal run, tan θ")
                .not_negative()
                .valid(0.0, 0.4143),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[Limit {
            says: "a pocket up to 2 π D³/4",
            holds: |a| pocket_number(a[0], a[1]) <= 2.0,
        }],
        caution: None,
        source: Source::memory(HR_WALLINGFORD, "safety factor 1.1 inside"),
        hides: None,
        checks: &[Check {
            arguments: &[("pocket", "1.5 L"), ("bore", "0.3 m"), ("slope", "0.2")],
            expected: "0.8227956",
            tolerance: 1e-7,
            source: "HR Wallingford 2005 (from memory): 1.1 (0.56 √0.196116 + 0.50), by arithmetic \
                     apart from this code",
        }],
        body: Body::Three(pocket_clearing),
    },
    Formula {
        name: "air_entrainment",
        summary: "Air that a hydraulic jump in a pipe carries off, over the water's flow.",
        equation: "Q_a/Q_w = 0.0066 (Fr₁ − 1)^1.4",
        parameters: &[Parameter::new(
            "froude",
            Dimension::NONE,
            "Froude number in the flow upstream of the jump",
        )
        .within(1.0, 100.0)
        .valid(1.5, 30.0)],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: None,
        source: Source::memory(KALINSKE_ROBERTSON, ""),
        hides: None,
        checks: &[Check {
            arguments: &[("froude", "4.0")],
            expected: "0.0307265424",
            tolerance: 1e-8,
            source: "Kalinske & Robertson 1943 (equation from memory), by hand",
        }],
        body: Body::One(air_entrainment),
    },
];

fn crest_pressure(rise: f64, v: f64, loss: f64, altitude: f64, t: f64, g: f64) -> f64 {
    crest(atmospheric_pressure(altitude), rise, v, loss, density(t), g)
}

fn crest(p0: f64, rise: f64, v: f64, loss: f64, rho: f64, g: f64) -> f64 {
    let p = p0 - rho * g * (rise + velocity_head(v, g) + loss);
    // There is no pressure below the perfect vacuum: the column has broken long before.
    if p >= 0.0 { p } else { f64::NAN }
}

fn lift_limit(altitude: f64, t: f64, margin: f64, g: f64) -> f64 {
    (atmospheric_pressure(altitude) - vapour_pressure(t)) / (density(t) * g) - margin
}

fn priming_time(v: f64, s: f64, p0: f64, p1: f64) -> f64 {
    if p1 > p0 { f64::NAN } else { v / s * (p0 / p1).ln() }
}

pub(crate) fn air_clearing(d: f64, slope: f64, method: f64, g: f64) -> f64 {
    let sine = slope / slope.hypot(1.0);
    let kalinske_bliss = 1.07 * slope.sqrt();
    let kalinske_slope = 1.273 * slope.sqrt();
    let wisner = 0.825 + 0.25 * sine.sqrt();
    let wallingford = 1.1 * (0.56 * sine.sqrt() + 0.61);
    let largest = kalinske_bliss.max(kalinske_slope).max(wisner).max(wallingford);
    let all = [largest, kalinske_bliss, kalinske_slope, wisner, wallingford];
    // The index comes from the choice, which is as long as this list.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let k = all.get(method as usize).copied().unwrap_or(f64::NAN);
    k * (g * d).sqrt()
}

fn pocket_number(pocket: f64, d: f64) -> f64 {
    4.0 * pocket / (std::f64::consts::PI * d.powi(3))
}

fn pocket_clearing(pocket: f64, d: f64, slope: f64) -> f64 {
    let a = match pocket_number(pocket, d) {
        n if n < 0.06 => 0.45,
        n if n < 0.12 => 0.50,
        n if n < 0.30 => 0.57,
        _ => 0.61,
    };
    let sine = slope / slope.hypot(1.0);
    1.1 * (0.56 * sine.sqrt() + a)
}

fn air_entrainment(froude: f64) -> f64 {
    0.0066 * (froude - 1.0).powf(1.4)
}
