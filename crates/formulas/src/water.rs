//! Water, the air above it, and gravity.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Output, Parameter, Source, Subject};
use crate::side_by_side::side_by_side;
use crate::sources::{BERNOULLI, IAPWS_95, IF97, ISO_2533, SI_BROCHURE, SR6, WGS_84};
use crate::usual::{ALTITUDE, DENSITY, GRAVITY, STANDARD_GRAVITY, TEMPERATURE};
use crate::water_properties;

/// The subject.
pub(crate) static SUBJECT: Subject =
    Subject { name: "water", about: "Water, the air above it, and gravity.", formulas: FORMULAS };

const IAPWS_CHECK: &str = "IAPWS-95 by the reference library iapws 1.5.5; CoolProp agrees";
const VISCOSITY_CHECK: &str = "IAPWS R12-08 by the reference library iapws 1.5.5";
const ATMOSPHERE_CHECK: &str = "ISO 2533 formula by hand; also US Standard Atmosphere 1976";

/// Sea-level pressure of the standard atmosphere, Pa.
const SEA_LEVEL_PRESSURE: f64 = 101_325.0;
/// Sea-level temperature of the standard atmosphere, K.
const SEA_LEVEL_TEMPERATURE: f64 = 288.15;
/// Fall of temperature with height, K/m.
const LAPSE: f64 = 0.0065;
/// Gas constant of dry air, J/(kg K).
const R_AIR: f64 = 287.052_87;

/// What the fits of water's properties have in their constants.
const SI_FIT: Option<&str> = Some("kelvin and the SI unit of the result: a fit to water itself");
/// What the standard atmosphere has in its constants.
const ATMOSPHERE: Option<&str> = Some("metre, kelvin and pascal: the standard atmosphere");

/// The air weighs less on a stormy day.
const WEATHER: &str = "Weather moves the pressure by about 3 % either way. Where a lack of it \
    breaks something, as in a siphon, take 3 kPa less for a low-pressure day, 5 kPa for a winter \
    storm (from memory).";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "standard_gravity",
        summary: "The standard acceleration of free fall.",
        equation: "g = 9.80665 m/s²",
        parameters: &[],
        result: Output::new(Dimension::ACCELERATION),
        limits: &[],
        caution: None,
        source: Source::exact(SI_BROCHURE, "3rd CGPM, 1901"),
        hides: Some("metre and second: a value by convention"),
        checks: &[Check {
            arguments: &[],
            expected: "32.17405 ft/s^2",
            tolerance: 2e-7,
            source: "NIST SP 811, appendix B (from memory)",
        }],
        body: Body::Constant(STANDARD_GRAVITY),
    },
    Formula {
        name: "gravity_at_latitude",
        summary: "Acceleration of free fall at sea level by the latitude; 0.003 m/s² less per km of \
            height.",
        equation: "g = 9.7803253359 m/s² (1 + 0.00193185265241 sin²φ)/√(1 − 0.00669437999013 sin²φ)",
        parameters: &[Parameter::new(
            "latitude",
            Dimension::ANGLE,
            "north or south, south below zero",
        )
        .within(-std::f64::consts::FRAC_PI_2, std::f64::consts::FRAC_PI_2)],
        result: Output::new(Dimension::ACCELERATION),
        limits: &[],
        caution: None,
        source: Source::memory(WGS_84, "Somigliana's formula"),
        hides: Some("metre and second: the Earth itself; and the radian"),
        checks: &[
            Check {
                arguments: &[("latitude", "45 deg")],
                expected: "9.80619777 m/s^2",
                tolerance: 1e-9,
                source: "WGS 84 (constants from memory), by arithmetic apart from this code",
            },
            Check {
                arguments: &[("latitude", "-90 deg")],
                expected: "9.8321849378 m/s^2",
                tolerance: 1e-10,
                source: "WGS 84, gravity at the pole (from memory)",
            },
        ],
        body: Body::One(gravity_at_latitude),
    },
    Formula {
        name: "water_density",
        summary: "Density of clean water at the pressure of the air.",
        equation: "ρ = p / (R T π γ_π), region 1 of IF97 at 101 325 Pa",
        parameters: &[TEMPERATURE],
        result: Output::new(Dimension::DENSITY),
        limits: &[],
        caution: None,
        source: Source::library(IF97, "equation 7, table 2"),
        hides: SI_FIT,
        checks: &[
            Check {
                arguments: &[("temperature", "4 degC")],
                expected: "999.974869 kg/m^3",
                tolerance: 1e-5,
                source: IAPWS_CHECK,
            },
            Check {
                arguments: &[("temperature", "30 degC")],
                expected: "995.649454 kg/m^3",
                tolerance: 1e-5,
                source: IAPWS_CHECK,
            },
        ],
        body: Body::One(water_properties::density),
    },
    Formula {
        name: "water_viscosity",
        summary: "Dynamic viscosity of clean water.",
        equation: "μ = 10⁻⁶ Pa·s · Σ aᵢ (T/300 K)^bᵢ, four terms",
        parameters: &[TEMPERATURE],
        result: Output::new(Dimension::DYNAMIC_VISCOSITY),
        limits: &[],
        caution: None,
        source: Source::memory(SR6, "viscosity at 0.1 MPa; held against R12-08 at 10 to 40 °C"),
        hides: SI_FIT,
        checks: &[
            Check {
                arguments: &[("temperature", "10 degC")],
                expected: "1.30589966e-3 Pa s",
                tolerance: 5e-4,
                source: VISCOSITY_CHECK,
            },
            Check {
                arguments: &[("temperature", "40 degC")],
                expected: "0.652728727e-3 Pa s",
                tolerance: 5e-4,
                source: VISCOSITY_CHECK,
            },
        ],
        body: Body::One(water_properties::viscosity),
    },
    Formula {
        name: "water_kinematic_viscosity",
        summary: "Kinematic viscosity of clean water, which a Reynolds number wants.",
        equation: "ν = μ / ρ",
        parameters: &[TEMPERATURE],
        result: Output::new(Dimension::KINEMATIC_VISCOSITY).shown_in("mm^2/s", "ft^2/s"),
        limits: &[],
        caution: None,
        source: Source::exact(SR6, "water_viscosity over water_density"),
        hides: SI_FIT,
        checks: &[
            Check {
                arguments: &[("temperature", "10 degC")],
                expected: "1.30628832e-6 m^2/s",
                tolerance: 5e-4,
                source: VISCOSITY_CHECK,
            },
            Check {
                arguments: &[("temperature", "20 degC")],
                expected: "1.00339508e-6 m^2/s",
                tolerance: 5e-4,
                source: VISCOSITY_CHECK,
            },
        ],
        body: Body::One(water_properties::kinematic_viscosity),
    },
    Formula {
        name: "vapour_pressure",
        summary: "Absolute pressure at which water boils at its own temperature.",
        equation: "p_v = (2C / (−B + √(B² − 4AC)))⁴ MPa, region 4 of IF97",
        parameters: &[TEMPERATURE],
        result: Output::new(Dimension::PRESSURE).shown_in("kPa_abs", "psia"),
        limits: &[],
        caution: None,
        source: Source::library(IF97, "equation 30, table 34"),
        hides: SI_FIT,
        checks: &[
            Check {
                arguments: &[("temperature", "5 degC")],
                expected: "0.872574861 kPa_abs",
                tolerance: 1e-4,
                source: IAPWS_CHECK,
            },
            Check {
                arguments: &[("temperature", "30 degC")],
                expected: "4.246688341 kPa_abs",
                tolerance: 1e-4,
                source: IAPWS_CHECK,
            },
        ],
        body: Body::One(water_properties::vapour_pressure),
    },
    Formula {
        name: "water_sound_speed",
        summary: "Speed of sound in clean water without air and without a pipe around it.",
        equation: "c = Σ a_i ((t − 50 °C)/50 K)^i, i from 0 to 8, fitted to IAPWS-95 at 101 325 Pa",
        parameters: &[TEMPERATURE],
        result: Output::new(Dimension::VELOCITY),
        limits: &[],
        caution: None,
        source: Source::library(
            IAPWS_95,
            "a polynomial fitted to values by iapws 1.5.5 from 0 to 99 °C, off by less than 2e-7",
        ),
        hides: SI_FIT,
        checks: &[
            Check {
                arguments: &[("temperature", "0.01 degC")],
                expected: "1402.43296 m/s",
                tolerance: 1e-6,
                source: "IAPWS-95 by the reference library iapws 1.5.5, class IAPWS95",
            },
            Check {
                arguments: &[("temperature", "5 degC")],
                expected: "1426.16940 m/s",
                tolerance: 1e-6,
                source: "IAPWS-95 by the reference library iapws 1.5.5, class IAPWS95",
            },
            Check {
                arguments: &[("temperature", "12.5 degC")],
                expected: "1456.89304 m/s",
                tolerance: 1e-6,
                source: "IAPWS-95 by the reference library iapws 1.5.5, class IAPWS95",
            },
            Check {
                arguments: &[("temperature", "20 degC")],
                expected: "1482.34617 m/s",
                tolerance: 1e-6,
                source: "IAPWS-95 by the reference library iapws 1.5.5, class IAPWS95",
            },
            Check {
                arguments: &[("temperature", "33.3 degC")],
                expected: "1516.39958 m/s",
                tolerance: 1e-6,
                source: "IAPWS-95 by the reference library iapws 1.5.5, class IAPWS95",
            },
            Check {
                arguments: &[("temperature", "40 degC")],
                expected: "1528.90448 m/s",
                tolerance: 1e-6,
                source: "IAPWS-95 by the reference library iapws 1.5.5, class IAPWS95",
            },
        ],
        body: Body::One(water_properties::sound_speed),
    },
    Formula {
        name: "water_bulk_modulus",
        summary: "Isentropic bulk modulus of clean water without air, for pressure waves.",
        equation: "K = ρ c²",
        parameters: &[TEMPERATURE],
        result: Output::new(Dimension::PRESSURE_DIFFERENCE).shown_in("GPa", "psi"),
        limits: &[],
        caution: None,
        source: Source::exact(IAPWS_95, "from water_density and water_sound_speed"),
        hides: SI_FIT,
        checks: &[
            Check {
                arguments: &[("temperature", "0.01 degC")],
                expected: "1.96651092 GPa",
                tolerance: 2e-5,
                source: "IAPWS-95 by the reference library iapws 1.5.5, class IAPWS95",
            },
            Check {
                arguments: &[("temperature", "5 degC")],
                expected: "2.03389130 GPa",
                tolerance: 2e-5,
                source: "IAPWS-95 by the reference library iapws 1.5.5, class IAPWS95",
            },
            Check {
                arguments: &[("temperature", "20 degC")],
                expected: "2.19341066 GPa",
                tolerance: 2e-5,
                source: "IAPWS-95 by the reference library iapws 1.5.5, class IAPWS95",
            },
            Check {
                arguments: &[("temperature", "40 degC")],
                expected: "2.31935426 GPa",
                tolerance: 2e-5,
                source: "IAPWS-95 by the reference library iapws 1.5.5, class IAPWS95",
            },
        ],
        body: Body::One(water_properties::bulk_modulus),
    },
    Formula {
        name: "atmospheric_pressure",
        summary: "Absolute pressure of the air in the standard atmosphere.",
        equation: "p = 101 325 Pa (1 − 0.0065 h / 288.15)^5.25588",
        parameters: &[ALTITUDE],
        result: Output::new(Dimension::PRESSURE).shown_in("kPa_abs", "psia"),
        limits: &[],
        caution: Some(WEATHER),
        source: Source::memory(ISO_2533, "lowest layer"),
        hides: ATMOSPHERE,
        checks: &[
            Check {
                arguments: &[("altitude", "1000 m")],
                expected: "89.87457 kPa_abs",
                tolerance: 2e-5,
                source: ATMOSPHERE_CHECK,
            },
            Check {
                arguments: &[("altitude", "3000 m")],
                expected: "70.10854 kPa_abs",
                tolerance: 2e-5,
                source: ATMOSPHERE_CHECK,
            },
        ],
        body: Body::One(atmospheric_pressure),
    },
    Formula {
        name: "standard_temperature",
        summary: "Temperature of the air in the standard atmosphere.",
        equation: "T = 288.15 K − 0.0065 h",
        parameters: &[ALTITUDE],
        result: Output::new(Dimension::TEMPERATURE),
        limits: &[],
        caution: None,
        source: Source::memory(ISO_2533, "lowest layer"),
        hides: ATMOSPHERE,
        checks: &[Check {
            arguments: &[("altitude", "1500 m")],
            expected: "278.4 K_abs",
            tolerance: 1e-5,
            source: ATMOSPHERE_CHECK,
        }],
        body: side_by_side!(standard_temperature, a),
    },
    Formula {
        name: "air_density",
        summary: "Density of dry air in the standard atmosphere.",
        equation: "ρ = p / (287.053 T)",
        parameters: &[ALTITUDE],
        result: Output::new(Dimension::DENSITY),
        limits: &[],
        caution: None,
        source: Source::memory(ISO_2533, "lowest layer"),
        hides: ATMOSPHERE,
        checks: &[Check {
            arguments: &[("altitude", "1000 m")],
            expected: "1.111642 kg/m^3",
            tolerance: 2e-5,
            source: ATMOSPHERE_CHECK,
        }],
        body: Body::One(air_density),
    },
    Formula {
        name: "absolute",
        summary: "Absolute pressure of a gauge reading at a site of this height.",
        equation: "p = p_gauge + p_atm(h)",
        parameters: &[
            Parameter::new(
                "gauge",
                Dimension::PRESSURE_DIFFERENCE,
                "gauge reading; negative under vacuum",
            ),
            ALTITUDE,
        ],
        result: Output::new(Dimension::PRESSURE).shown_in("kPa_abs", "psia"),
        limits: &[],
        caution: Some(WEATHER),
        source: Source::exact(ISO_2533, "atmospheric_pressure plus the reading"),
        hides: ATMOSPHERE,
        checks: &[Check {
            arguments: &[("gauge", "-40 kPa"), ("altitude", "1000 m")],
            expected: "49.87457 kPa_abs",
            tolerance: 2e-5,
            source: "ISO 2533 pressure at 1000 m, less 40 kPa",
        }],
        body: Body::Two(absolute),
    },
    Formula {
        name: "pressure_head",
        summary: "Height of a column of water that makes a pressure difference.",
        equation: "h = p / (ρ g)",
        parameters: &[
            Parameter::new(
                "pressure",
                Dimension::PRESSURE_DIFFERENCE,
                "pressure difference or gauge reading",
            ),
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: None,
        source: Source::exact(BERNOULLI, "hydrostatics"),
        hides: None,
        checks: &[Check {
            arguments: &[("pressure", "3.5 psi")],
            expected: "8.073 ft",
            tolerance: 1e-4,
            source: "1 psi is 2.3067 ft of water of 1000 kg/m³: NIST SP 811, ratio of psi to ftH2O",
        }],
        body: side_by_side!(pressure_head, a, b, c),
    },
    Formula {
        name: "absolute_pressure_head",
        summary: "Height of a column of water with a vacuum above that an absolute pressure holds.",
        equation: "h = p / (ρ g)",
        parameters: &[
            Parameter::new(
                "pressure",
                Dimension::PRESSURE,
                "absolute pressure: of the air, of vapour, at a crest",
            )
            .not_negative(),
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: None,
        source: Source::exact(BERNOULLI, "hydrostatics"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("pressure", "84.556005 kPa_abs"), ("density", "998.20715 kg/m^3")],
                expected: "8.637799 m",
                tolerance: 3e-7,
                source: "ISO 2533 at 1500 m over IAPWS-95 density at 20 °C, by hand",
            },
            Check {
                arguments: &[("pressure", "2.3392148 kPa_abs"), ("density", "998.20715 kg/m^3")],
                expected: "0.2389619 m",
                tolerance: 3e-7,
                source: "IAPWS-IF97 at 20 °C by the reference library iapws 1.5.5",
            },
        ],
        body: side_by_side!(pressure_head, a, b, c),
    },
];

/// Standard atmosphere below 11 km; `h` geopotential, m.
pub(crate) fn atmospheric_pressure(h: f64) -> f64 {
    // g M / (R L) of the standard: 9.80665 / (287.05287 · 0.0065).
    let n = STANDARD_GRAVITY / (R_AIR * LAPSE);
    SEA_LEVEL_PRESSURE * (1.0 - LAPSE * h / SEA_LEVEL_TEMPERATURE).powf(n)
}

/// Somigliana's formula on the ellipsoid of WGS 84.
fn gravity_at_latitude(latitude: f64) -> f64 {
    let square = latitude.sin().powi(2);
    9.780_325_335_9 * (1.0 + 0.001_931_852_652_41 * square)
        / (1.0 - 0.006_694_379_990_13 * square).sqrt()
}

fn standard_temperature(h: f64) -> f64 {
    SEA_LEVEL_TEMPERATURE - LAPSE * h
}

fn air_density(h: f64) -> f64 {
    atmospheric_pressure(h) / (R_AIR * standard_temperature(h))
}

fn absolute(gauge: f64, h: f64) -> f64 {
    let p = atmospheric_pressure(h) + gauge;
    // Below the perfect vacuum there is nothing to read.
    if p >= 0.0 { p } else { f64::NAN }
}

fn pressure_head(p: f64, rho: f64, g: f64) -> f64 {
    p / (rho * g)
}
