//! Conductors: the resistance of wires by the area of their metal, by standard size and by gauge.

use std::f64::consts::FRAC_PI_4;

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::side_by_side::side_by_side;
use crate::sources::{ASTM_B258, IEC_60028, IEC_60228};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "conductors",
    about: "The resistance of wires by area, by standard size and by gauge.",
    formulas: FORMULAS,
};

const NOT_AMPACITY: &str = "Resistance only. Whether the conductor stands its current is not \
    computed: follow the local code (NEC 310, IEC 60364-5-52) and have a licensed person check it.";

/// The metals; bodies receive the index.
const MATERIALS: &[&str] = &["copper", "aluminium"];
const ALUMINIUM: f64 = 1.0;

const MATERIAL: Parameter =
    Parameter::of_kind("material", Kind::Choice(MATERIALS), "metal; copper unless given").or(0.0);

const TEMPERATURE: Parameter = Parameter::new(
    "temperature",
    Dimension::TEMPERATURE,
    "of the conductor under load: 70 °C is 20 % above 20 °C",
)
.positive()
.valid(233.15, 423.15);

const GAUGE: Parameter = Parameter::new(
    "gauge",
    Dimension::NONE,
    "gauge number; 0 for 1/0, −1 for 2/0, −2 for 3/0, −3 for 4/0",
)
.within(-3.0, 56.0)
.valid(-3.0, 40.0);

const HIDDEN: &str = "resistivity in Ω·m at 20 °C and temperature in K";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "conductor_resistivity",
        summary: "The resistivity of annealed copper or hard aluminium at a temperature.",
        equation: "ρ = ρ₂₀ (1 + α (t − 20 °C)); copper ρ₂₀ = 1/58 Ω mm²/m, α = 0.00393 /K; \
            aluminium 1/35.38 Ω mm²/m, 0.00403 /K",
        parameters: &[TEMPERATURE, MATERIAL],
        result: Output::new(Dimension::RESISTIVITY),
        limits: &[],
        caution: None,
        source: Source::read(IEC_60028, "copper; aluminium 61 % IACS"),
        hides: Some(HIDDEN),
        checks: &[
            Check {
                arguments: &[("temperature", "20 degC")],
                expected: "0.0172414 ohm*mm^2/m",
                tolerance: 2e-6,
                source: "IEC 60028, quoted in a secondary text",
            },
            Check {
                arguments: &[("temperature", "75 degC")],
                expected: "0.0209681034482759 ohm*mm^2/m",
                tolerance: 1e-9,
                source: "by hand: 1/58 · 1.21615",
            },
            Check {
                arguments: &[("temperature", "20 degC"), ("material", "aluminium")],
                expected: "0.028264 ohm*mm^2/m",
                tolerance: 5e-5,
                source: "IEC 60889, hard-drawn aluminium wire (from memory)",
            },
        ],
        body: side_by_side!(conductor_resistivity, a, b),
    },
    Formula {
        name: "conductor_resistance",
        summary: "The resistance of one conductor from the area of its metal. A stranded cable has \
            2 % more, and one sold by nominal area up to 11 % more: see iec_conductor_resistance.",
        equation: "R = ρ₂₀ L/A (1 + α (t − 20 °C))",
        parameters: &[
            Parameter::new("area", Dimension::AREA, "cross-section of the metal").positive(),
            Parameter::new("length", Dimension::LENGTH, "of the conductor, one way").not_negative(),
            TEMPERATURE,
            MATERIAL,
        ],
        result: Output::new(Dimension::RESISTANCE),
        limits: &[],
        caution: Some(NOT_AMPACITY),
        source: Source::read(IEC_60028, "resistivity of copper; aluminium 61 % IACS"),
        hides: Some(HIDDEN),
        checks: &[
            Check {
                arguments: &[("area", "10 mm^2"), ("length", "100 m"), ("temperature", "75 degC")],
                expected: "0.209681034482759 ohm",
                tolerance: 1e-9,
                source: "by hand: 10/58 · 1.21615",
            },
            Check {
                arguments: &[
                    ("area", "2.08091 mm^2"),
                    ("length", "1000 ft"),
                    ("temperature", "75 degC"),
                ],
                expected: "3.07 ohm",
                tolerance: 2e-3,
                source: "NEC ch. 9, table 8, 14 AWG solid, read in two secondary texts",
            },
            Check {
                arguments: &[
                    ("area", "13.3018 mm^2"),
                    ("length", "1000 ft"),
                    ("temperature", "75 degC"),
                ],
                expected: "0.491 ohm",
                tolerance: 0.025,
                source: "NEC ch. 9, table 8, 6 AWG, read in two secondary texts; the table's \
                    stranding is 2 %",
            },
        ],
        body: side_by_side!(conductor_resistance, a, b, c, d),
    },
    Formula {
        name: "iec_conductor_resistance",
        summary: "The greatest resistance per length that a stranded conductor of a nominal area \
            may have (class 2), at its running temperature.",
        equation: "R' = R'₂₀ (1 + α (t − 20 °C)), R'₂₀ from the table",
        parameters: &[
            Parameter::new("area", Dimension::AREA, "nominal cross-section, one of the table's")
                .within(0.5e-6, 630e-6),
            TEMPERATURE,
            MATERIAL,
        ],
        result: Output::new(Dimension::RESISTANCE_PER_LENGTH).shown_in("ohm/km", "mohm/ft"),
        limits: &[],
        caution: Some(NOT_AMPACITY),
        source: Source::read(
            IEC_60228,
            "table 2, class 2, plain copper and aluminium, quoted by makers",
        ),
        hides: Some("nominal areas in mm², resistance in Ω/km, temperature in K"),
        checks: &[
            Check {
                arguments: &[("area", "16 mm^2"), ("temperature", "20 degC")],
                expected: "1.15 ohm/km",
                tolerance: 1e-9,
                source: "IEC 60228, table 2, quoted by cable makers",
            },
            Check {
                arguments: &[("area", "50 mm^2"), ("temperature", "20 degC")],
                expected: "0.387 ohm/km",
                tolerance: 1e-9,
                source: "IEC 60228, table 2, quoted by cable makers",
            },
            Check {
                arguments: &[("area", "2.5 mm^2"), ("temperature", "20 degC")],
                expected: "7.41 ohm/km",
                tolerance: 1e-9,
                source: "IEC 60228, table 2, quoted by cable makers",
            },
            Check {
                arguments: &[("area", "6 mm^2"), ("temperature", "20 degC")],
                expected: "3.08 ohm/km",
                tolerance: 1e-9,
                source: "IEC 60228, table 2, quoted by cable makers",
            },
            Check {
                arguments: &[("area", "25 mm^2"), ("temperature", "20 degC")],
                expected: "0.727 ohm/km",
                tolerance: 1e-9,
                source: "IEC 60228, table 2, quoted by cable makers",
            },
            Check {
                arguments: &[("area", "70 mm^2"), ("temperature", "20 degC")],
                expected: "0.268 ohm/km",
                tolerance: 1e-9,
                source: "IEC 60228, table 2, quoted by cable makers",
            },
            Check {
                arguments: &[("area", "1.5 mm^2"), ("temperature", "20 degC")],
                expected: "12.1 ohm/km",
                tolerance: 1e-9,
                source: "IEC 60228, table 2, quoted by cable makers",
            },
            Check {
                arguments: &[("area", "10 mm^2"), ("temperature", "70 degC")],
                expected: "2.2 ohm/km",
                tolerance: 0.0114,
                source: "BS 7671, appendix 4, 10 mm² at 70 °C: 4.4 mV/A/m out and back (from memory)",
            },
            Check {
                arguments: &[
                    ("area", "50 mm^2"),
                    ("temperature", "20 degC"),
                    ("material", "aluminium"),
                ],
                expected: "0.641 ohm/km",
                tolerance: 1e-9,
                source: "IEC 60228, table 2, quoted by cable makers",
            },
        ],
        body: Body::Series(iec_conductor_resistance),
    },
    Formula {
        name: "awg_diameter",
        summary: "The diameter of the metal of a wire by American wire gauge.",
        equation: "d = 0.005 in · 92^((36 − n)/39)",
        parameters: &[GAUGE],
        result: Output::new(Dimension::LENGTH).shown_in("mm", "in"),
        limits: &[],
        caution: None,
        source: Source::read(ASTM_B258, "definition of the gauge"),
        hides: Some("a diameter of 0.005 in for gauge 36"),
        checks: &[
            Check {
                arguments: &[("gauge", "14")],
                expected: "0.0641 in",
                tolerance: 8e-4,
                source: "ASTM B258 table, from memory",
            },
            Check {
                arguments: &[("gauge", "-3")],
                expected: "0.4600 in",
                tolerance: 1.1e-4,
                source: "ASTM B258 table, 4/0, from memory",
            },
        ],
        body: Body::One(awg_diameter),
    },
    Formula {
        name: "awg_area",
        summary: "The cross-section of the metal of a wire by American wire gauge.",
        equation: "A = π/4 d², d = 0.005 in · 92^((36 − n)/39)",
        parameters: &[GAUGE],
        result: Output::new(Dimension::AREA).shown_in("mm^2", "kcmil"),
        limits: &[],
        caution: None,
        source: Source::read(ASTM_B258, "definition of the gauge"),
        hides: Some("a diameter of 0.005 in for gauge 36"),
        checks: &[
            Check {
                arguments: &[("gauge", "10")],
                expected: "5.261 mm^2",
                tolerance: 1e-4,
                source: "ASTM B258 table, from memory",
            },
            Check {
                arguments: &[("gauge", "-3")],
                expected: "211600 cmil",
                tolerance: 5e-5,
                source: "ASTM B258 table, 4/0, from memory",
            },
        ],
        body: Body::One(awg_area),
    },
];

/// IEC 60228 table 2: nominal area in mm², then Ω/km at 20 °C of copper and of aluminium.
#[rustfmt::skip]
const CLASS_2: &[(f64, f64, Option<f64>)] = &[
    (0.5, 36.0, None), (0.75, 24.5, None), (1.0, 18.1, None), (1.5, 12.1, None),
    (2.5, 7.41, None), (4.0, 4.61, None), (6.0, 3.08, None), (10.0, 1.83, Some(3.08)),
    (16.0, 1.15, Some(1.91)), (25.0, 0.727, Some(1.20)), (35.0, 0.524, Some(0.868)),
    (50.0, 0.387, Some(0.641)), (70.0, 0.268, Some(0.443)), (95.0, 0.193, Some(0.320)),
    (120.0, 0.153, Some(0.253)), (150.0, 0.124, Some(0.206)), (185.0, 0.0991, Some(0.164)),
    (240.0, 0.0754, Some(0.125)), (300.0, 0.0601, Some(0.100)), (400.0, 0.0470, Some(0.0778)),
    (500.0, 0.0366, Some(0.0605)), (630.0, 0.0283, Some(0.0469)),
];

/// How much more a conductor resists than at 20 °C.
fn temperature_factor(temperature: f64, material: f64) -> f64 {
    let alpha = if material == ALUMINIUM { 0.004_03 } else { 0.003_93 };
    1.0 + alpha * (temperature - 293.15)
}

fn conductor_resistivity(temperature: f64, material: f64) -> f64 {
    let at_20_degrees = if material == ALUMINIUM { 1e-6 / 35.38 } else { 1e-6 / 58.0 };
    at_20_degrees * temperature_factor(temperature, material)
}

fn conductor_resistance(area: f64, length: f64, temperature: f64, material: f64) -> f64 {
    conductor_resistivity(temperature, material) * length / area
}

fn iec_conductor_resistance(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[Argument::Number(area), Argument::Number(temperature), Argument::Number(material)] =
        arguments
    else {
        return Err(Refusal("area, temperature, material: expected numbers".to_owned()));
    };
    let square_millimetres = area * 1e6;
    let row = CLASS_2.iter().find(|row| (row.0 - square_millimetres).abs() < 1e-6 * row.0);
    let at_20_degrees = match row {
        Some((_, copper, _)) if material != ALUMINIUM => *copper,
        Some((_, _, Some(aluminium))) => *aluminium,
        _ => {
            let sizes: Vec<String> = CLASS_2
                .iter()
                .filter(|row| material != ALUMINIUM || row.2.is_some())
                .map(|row| row.0.to_string())
                .collect();
            return Err(Refusal(format!(
                "area: no standard size; the table has {} mm²",
                sizes.join(", ")
            )));
        }
    };
    Ok(at_20_degrees / 1000.0 * temperature_factor(temperature, material))
}

fn awg_diameter(gauge: f64) -> f64 {
    0.005 * 0.0254 * 92.0_f64.powf((36.0 - gauge) / 39.0)
}

fn awg_area(gauge: f64) -> f64 {
    FRAC_PI_4 * awg_diameter(gauge).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn size(square_millimetres: f64, material: f64) -> Result<f64, Refusal> {
        iec_conductor_resistance(&[
            Argument::Number(square_millimetres * 1e-6),
            Argument::Number(293.15),
            Argument::Number(material),
        ])
    }

    #[test]
    fn a_size_that_is_not_made_is_refused() {
        assert!(size(35.0, 0.0).is_ok());
        let refused = size(36.0, 0.0).unwrap_err().0;
        assert!(refused.contains("35, 50"), "{refused}");
        // Aluminium begins at 10 mm².
        assert!(size(6.0, 0.0).is_ok());
        assert!(size(6.0, ALUMINIUM).is_err());
    }

    #[test]
    fn areas_typed_in_any_unit_find_their_size() {
        for (area, copper, _) in CLASS_2 {
            // As the reader of units computes it: 1 mm² is (1/1000)² m².
            let typed = area * (1.0 / 1000.0) * (1.0 / 1000.0) * 1e6;
            assert_eq!(size(typed, 0.0).unwrap(), copper / 1000.0);
        }
    }
}
