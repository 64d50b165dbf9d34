//! Cavitation: Thoma's number of a plant, the critical one of a runner, and how high a runner may
//! stand.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Kind, Output, Parameter, Source, Subject};
use crate::side_by_side::side_by_side;
use crate::sources::{DAUGHERTY, DE_SIERVO_1976, DE_SIERVO_1977, MASSEY};
use crate::usual::{ALTITUDE, DENSITY, GRAVITY, TEMPERATURE};
use crate::water;
use crate::water_properties;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "cavitation",
    about: "Thoma's number, and how high above the tailwater a runner may stand.",
    formulas: FORMULAS,
};

const MARGIN: &str = "The limit itself, without a margin: published critical values lie a factor of \
    1.5 apart, air pressure drops by some 3 % with the weather, and pitting starts before the \
    efficiency drops. The maker's curve and setting come first (IEC 60609 for pitting).";

pub(crate) const FITS: &str = "Published fits disagree by 10 % (Kaplan) to a factor of 1.5 (Francis): compute \
    with each, and take the maker's curve where there is one.";

pub(crate) const DE_SIERVO: f64 = 0.0;
pub(crate) const MOODY: f64 = 1.0;
pub(crate) const USBR: f64 = 2.0;

pub(crate) const SPECIFIC_SPEED: Parameter =
    Parameter::new("specific_speed", Dimension::NONE, "n_s in rpm, kW and m").positive();

const AIR_PRESSURE: Parameter =
    Parameter::new("air_pressure", Dimension::PRESSURE, "air pressure on the tailwater, absolute")
        .not_negative()
        .valid(5e4, 1.1e5);

const LEAST_PRESSURE: Parameter = Parameter::new(
    "least_pressure",
    Dimension::PRESSURE,
    "least pressure allowed at the runner, absolute; the vapour pressure or above it",
)
.not_negative();

const HEAD: Parameter = Parameter::new("head", Dimension::LENGTH, "net head").positive();

const THOMA: Parameter =
    Parameter::new("thoma", Dimension::NONE, "critical Thoma number, with any margin").positive();

const SETTING: Parameter = Parameter::new(
    "setting",
    Dimension::LENGTH,
    "runner above the tailwater: its centre if the shaft lies, its blades' exit if it stands",
);

const SETTING_SOURCE: Source = Source::read(MASSEY, "ch. 13");

static FORMULAS: &[Formula] = &[
    Formula {
        name: "thoma_critical_kaplan",
        summary: "The Thoma number below which a Kaplan or propeller runner is expected to \
            cavitate.",
        equation: "de_siervo_de_leva: σ_c = 6.40·10⁻⁵ n_s^1.46; moody: σ_c = 0.28 + \
            (n_s/380.78)³/7.5",
        parameters: &[
            SPECIFIC_SPEED.valid(300.0, 1000.0),
            Parameter::of_kind(
                "method",
                Kind::Choice(&["de_siervo_de_leva", "moody"]),
                "whose fit; de Siervo & de Leva 1977 unless given",
            )
            .or(DE_SIERVO),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(FITS),
        source: Source::read(
            DE_SIERVO_1977,
            "quoted in secondary texts, original not seen; moody as in Indian textbooks",
        ),
        hides: None,
        checks: &[
            Check {
                arguments: &[("specific_speed", "600")],
                expected: "0.73",
                tolerance: 5e-3,
                source: "de Siervo & de Leva 1977, quoted in a secondary text",
            },
            Check {
                arguments: &[("specific_speed", "571.2"), ("method", "moody")],
                expected: "0.73",
                tolerance: 7e-3,
                source: "Handbook of Turbomachinery, 2nd ed., Marcel Dekker 2003, table of critical \
                    values, propeller n_s 150 in rpm, hp and ft",
            },
        ],
        body: Body::Two(thoma_critical_kaplan),
    },
    Formula {
        name: "thoma_critical_francis",
        summary: "The Thoma number below which a Francis runner is expected to cavitate.",
        equation: "de_siervo_de_leva: σ_c = 7.54·10⁻⁵ n_s^1.41; moody: σ_c = 0.625 \
            (n_s/380.78)²; usbr: σ_c = n_s^1.64/50327",
        parameters: &[
            SPECIFIC_SPEED.valid(60.0, 400.0),
            Parameter::of_kind(
                "method",
                Kind::Choice(&["de_siervo_de_leva", "moody", "usbr"]),
                "whose fit; de Siervo & de Leva 1976 unless given",
            )
            .or(DE_SIERVO),
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(FITS),
        source: Source::read(
            DE_SIERVO_1976,
            "quoted in secondary texts, original not seen; usbr: Engineering Monograph 20",
        ),
        hides: None,
        checks: &[
            Check {
                arguments: &[("specific_speed", "200")],
                expected: "0.132",
                tolerance: 4e-3,
                source: "de Siervo & de Leva 1976, quoted in a secondary text",
            },
            Check {
                arguments: &[("specific_speed", "200"), ("method", "usbr")],
                expected: "0.118",
                tolerance: 5e-3,
                source: "USBR Engineering Monograph 20, 1976, quoted in a secondary text",
            },
            Check {
                arguments: &[("specific_speed", "304.6"), ("method", "moody")],
                expected: "0.40",
                tolerance: 0.0125,
                source: "Handbook of Turbomachinery, 2nd ed., Marcel Dekker 2003, table of critical \
                    values, Francis n_s 80 in rpm, hp and ft",
            },
        ],
        body: Body::Two(thoma_critical_francis),
    },
    Formula {
        name: "setting_limit",
        summary: "The greatest height of a runner above the tailwater; below zero it must stand \
            under water.",
        equation: "H_s = (p_atm − p_v)/(ρ g) − σ H",
        parameters: &[ALTITUDE, TEMPERATURE, THOMA, HEAD, GRAVITY],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(MARGIN),
        source: SETTING_SOURCE,
        hides: Some("the standard atmosphere in m and Pa, water's properties in K, Pa and kg/m³"),
        checks: &[Check {
            arguments: &[
                ("altitude", "1000 m"),
                ("temperature", "20 degC"),
                ("thoma", "0.7282505"),
                ("head", "6 m"),
            ],
            expected: "4.57265100081315 m",
            tolerance: 2e-3,
            source: "by hand: standard atmosphere at 1000 m geopotential 89 874.6 Pa (ISO 2533), \
                water at 20 °C 998.207 kg/m³ and 2339.2 Pa (IAPWS)",
        }],
        body: Body::Five(setting_limit),
    },
    Formula {
        name: "setting_limit_from_pressures",
        summary: "The greatest height of a runner above the tailwater, from the pressures.",
        equation: "H_s = (p_atm − p_min)/(ρ g) − σ H",
        parameters: &[AIR_PRESSURE, LEAST_PRESSURE, THOMA, HEAD, DENSITY, GRAVITY],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(MARGIN),
        source: SETTING_SOURCE,
        hides: None,
        checks: &[Check {
            arguments: &[
                ("air_pressure", "101.3 kPa_abs"),
                ("least_pressure", "35 kPa_abs"),
                ("thoma", "0.0331"),
                ("head", "27.5 m"),
                ("gravity", "9.81 m/s^2"),
            ],
            expected: "5.85 m",
            tolerance: 9e-4,
            source: "Massey & Ward-Smith 2006, ch. 13, Ex. 2",
        }],
        body: side_by_side!(setting_limit_from_pressures, a, b, c, d, e, f),
    },
    Formula {
        name: "head_limit_of_setting",
        summary: "The greatest net head at which a runner standing at this height stays above its \
            critical Thoma number.",
        equation: "H = ((p_atm − p_min)/(ρ g) − H_s)/σ",
        parameters: &[AIR_PRESSURE, LEAST_PRESSURE, THOMA, SETTING, DENSITY, GRAVITY],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(MARGIN),
        source: Source::read(DAUGHERTY, "ch. 16"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("air_pressure", "12.2 psia"),
                ("least_pressure", "0.26 psia"),
                ("thoma", "0.31"),
                ("setting", "10 ft"),
                ("density", "62.4 lb/ft^3"),
            ],
            expected: "57 ft",
            tolerance: 9e-3,
            source: "Daugherty & Franzini 1985, Ex. 16.3 (at 5000 ft)",
        }],
        body: side_by_side!(head_limit_of_setting, a, b, c, d, e, f),
    },
    Formula {
        name: "plant_thoma",
        summary: "The Thoma number of a plant, to be held against the critical one of its runner.",
        equation: "σ = ((p_atm − p_min)/(ρ g) − H_s)/H",
        parameters: &[AIR_PRESSURE, LEAST_PRESSURE, SETTING, HEAD, DENSITY, GRAVITY],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(MARGIN),
        source: SETTING_SOURCE,
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("air_pressure", "12.2 psia"),
                    ("least_pressure", "0.26 psia"),
                    ("setting", "10 ft"),
                    ("head", "57 ft"),
                    ("density", "62.4 lb/ft^3"),
                ],
                expected: "0.31",
                tolerance: 1e-2,
                source: "Daugherty & Franzini 1985, Ex. 16.3 (at 5000 ft), read backwards",
            },
            Check {
                arguments: &[
                    ("air_pressure", "101.3 kPa_abs"),
                    ("least_pressure", "35 kPa_abs"),
                    ("setting", "5.848 m"),
                    ("head", "27.5 m"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "0.0331",
                tolerance: 1.5e-3,
                source: "Massey & Ward-Smith 2006, ch. 13, Ex. 2, read backwards",
            },
        ],
        body: side_by_side!(plant_thoma, a, b, c, d, e, f),
    },
];

pub(crate) fn thoma_critical_kaplan(specific_speed: f64, method: f64) -> f64 {
    if method == MOODY {
        0.28 + (specific_speed / 380.78).powi(3) / 7.5
    } else {
        6.40e-5 * specific_speed.powf(1.46)
    }
}

pub(crate) fn thoma_critical_francis(specific_speed: f64, method: f64) -> f64 {
    if method == MOODY {
        0.625 * (specific_speed / 380.78).powi(2)
    } else if method == USBR {
        specific_speed.powf(1.64) / 50_327.0
    } else {
        7.54e-5 * specific_speed.powf(1.41)
    }
}

fn setting_limit(altitude: f64, temperature: f64, thoma: f64, head: f64, gravity: f64) -> f64 {
    setting_limit_from_pressures(
        water::atmospheric_pressure(altitude),
        water_properties::vapour_pressure(temperature),
        thoma,
        head,
        water_properties::density(temperature),
        gravity,
    )
}

fn setting_limit_from_pressures(
    air_pressure: f64,
    least_pressure: f64,
    thoma: f64,
    head: f64,
    density: f64,
    gravity: f64,
) -> f64 {
    (air_pressure - least_pressure) / (density * gravity) - thoma * head
}

fn head_limit_of_setting(
    air_pressure: f64,
    least_pressure: f64,
    thoma: f64,
    setting: f64,
    density: f64,
    gravity: f64,
) -> f64 {
    ((air_pressure - least_pressure) / (density * gravity) - setting) / thoma
}

fn plant_thoma(
    air_pressure: f64,
    least_pressure: f64,
    setting: f64,
    head: f64,
    density: f64,
    gravity: f64,
) -> f64 {
    ((air_pressure - least_pressure) / (density * gravity) - setting) / head
}
