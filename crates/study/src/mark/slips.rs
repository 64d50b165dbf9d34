//! The slips that are told apart from a wrong method: one row each.
//!
//! A slip says what the right answer becomes by it, or what a figure that was given becomes by it;
//! from the figure the answer follows through the sheet. That they are the usual ones is common
//! practice of teaching, no source.

use std::f64::consts::PI;

use forebay_units::{Dimension, Unit};

/// A kind of slip.
pub struct Slip {
    /// The name that it is counted under.
    pub name: &'static str,
    /// What happened, as a sentence without its end.
    pub says: &'static str,
    /// What the right answer becomes.
    of_answer: Option<fn(&Asked<'_>) -> Led>,
    /// What a figure that was given becomes, in SI.
    of_given: Option<fn(&Given<'_>) -> Vec<f64>>,
}

/// Where a slip leads: an answer in the SI unit of what was written, and a word on it.
type Led = Vec<(f64, String)>;

/// A right answer and how it was written.
pub(super) struct Asked<'a> {
    /// The right answer in SI.
    pub(super) si: f64,
    /// What it measures.
    pub(super) dimension: Dimension,
    /// The unit that was written, or is taken where none was.
    pub(super) written: &'a Unit,
    /// Units that the answer may well be worked out in.
    pub(super) others: &'a [Unit],
    /// The name of the cell and what is said of it.
    pub(super) words: &'a str,
    /// Pressures of the air outside that the sheet knows, in Pa.
    pub(super) air: &'a [f64],
    /// The answers to other questions that measure the same.
    pub(super) elsewhere: &'a [(String, f64)],
}

/// A figure that was given.
pub(super) struct Given<'a> {
    /// Its name and what is said of it.
    pub(super) words: &'a str,
    /// The figure in SI.
    pub(super) si: f64,
    /// What it measures.
    pub(super) dimension: Dimension,
    /// The unit it is given in.
    pub(super) unit: &'a Unit,
}

/// Every slip; where several would explain an answer, the first one is told.
pub static SLIPS: &[Slip] = &[
    Slip {
        name: "sign",
        says: "the sign is turned",
        of_answer: Some(|asked| asked.only(!asked.dimension.is_absolute(), &[-asked.si])),
        of_given: None,
    },
    Slip {
        name: "factor-1000",
        says: "off by a factor of 1000",
        of_answer: Some(|asked| asked.times(asked.scales(), &[1e3, 1e-3])),
        of_given: None,
    },
    Slip {
        name: "celsius-for-kelvin",
        says: "degrees Celsius and kelvins are mixed up",
        of_answer: Some(|asked| {
            let warm = asked.dimension == Dimension::TEMPERATURE;
            asked.only(warm, &[asked.si + ICE, asked.si - ICE])
        }),
        of_given: Some(|given| {
            let warm = given.dimension == Dimension::TEMPERATURE;
            if warm { vec![given.si + ICE, given.si - ICE] } else { Vec::new() }
        }),
    },
    Slip {
        name: "wrong-unit",
        says: "the right number with another unit",
        of_answer: Some(|asked| {
            let differs = |unit: &&Unit| {
                unit.symbol() != asked.written.symbol()
                    && (unit.dimension() != asked.written.dimension()
                        || unit.factor() != asked.written.factor()
                        || unit.offset() != asked.written.offset())
            };
            let led = |unit: &Unit| {
                let number = unit.from_si(asked.si);
                (asked.written.to_si(number), format!("right in {}", unit_in_words(unit)))
            };
            asked.others.iter().filter(differs).map(led).collect()
        }),
        of_given: None,
    },
    Slip {
        name: "gauge-for-absolute",
        says: "a gauge pressure and an absolute one are mixed up",
        of_answer: Some(|asked| {
            let pressure = asked.dimension.as_difference() == Dimension::PRESSURE_DIFFERENCE;
            let shifts = asked.air.iter().flat_map(|air| [asked.si - air, asked.si + air]);
            asked.only(pressure, &shifts.collect::<Vec<f64>>())
        }),
        of_given: None,
    },
    Slip {
        name: "radius-for-bore",
        says: "a radius and a bore (diameter) are mixed up",
        of_answer: Some(|asked| asked.times(is_bore(asked.dimension, asked.words), &[0.5, 2.0])),
        of_given: Some(|given| given.times(is_bore(given.dimension, given.words), &[0.5, 2.0])),
    },
    Slip {
        name: "degrees-for-radians",
        says: "degrees and radians are mixed up",
        of_answer: Some(|asked| {
            asked.times(asked.dimension == Dimension::ANGLE, &[180.0 / PI, PI / 180.0])
        }),
        of_given: Some(|given| {
            given.times(given.dimension == Dimension::ANGLE, &[180.0 / PI, PI / 180.0])
        }),
    },
    Slip {
        name: "rpm-for-radians",
        says: "revolutions a minute (or a second) and radians a second are mixed up",
        of_answer: Some(|asked| asked.times(asked.dimension == Dimension::ROTATION, TURNS)),
        of_given: Some(|given| given.times(given.dimension == Dimension::ROTATION, TURNS)),
    },
    Slip {
        name: "gallons",
        says: "US gallons and imperial ones are mixed up",
        of_answer: Some(|asked| asked.times(in_gallons(asked.written), &[GALLONS, 1.0 / GALLONS])),
        of_given: Some(|given| given.times(in_gallons(given.unit), &[GALLONS, 1.0 / GALLONS])),
    },
    Slip {
        name: "head-for-pressure",
        says: "a head and a pressure are mixed up (a factor of ρ g)",
        of_answer: Some(head_for_pressure),
        of_given: None,
    },
    Slip {
        name: "mass-for-weight",
        says: "a mass and a weight are mixed up (a factor of g, 9.81 m/s²)",
        of_answer: Some(|asked| {
            let pressure = asked.dimension.as_difference() == Dimension::PRESSURE_DIFFERENCE;
            let heavy = asked.dimension.exponents()[1] == 1.0 && !pressure;
            asked.times(heavy, &[GRAVITY, 1.0 / GRAVITY])
        }),
        of_given: Some(|given| {
            let heavy = [Dimension::MASS, Dimension::FORCE].contains(&given.dimension);
            given.times(heavy, &[GRAVITY, 1.0 / GRAVITY])
        }),
    },
    Slip {
        name: "time-unit",
        says: "seconds, minutes and hours are mixed up",
        of_answer: Some(|asked| {
            let timed = asked.dimension.exponents()[2] != 0.0;
            asked.times(timed, &[60.0, 1.0 / 60.0, 3600.0, 1.0 / 3600.0])
        }),
        of_given: None,
    },
    Slip {
        name: "power-of-ten",
        says: "off by a power of ten",
        of_answer: Some(|asked| {
            let tens = [1e1, 1e-1, 1e2, 1e-2, 1e4, 1e-4, 1e5, 1e-5, 1e6, 1e-6, 1e9, 1e-9];
            asked.times(asked.scales(), &tens)
        }),
        of_given: None,
    },
    Slip {
        name: "another-question",
        says: "this is the answer to another question",
        of_answer: Some(|asked| {
            asked.elsewhere.iter().map(|(cell, si)| (*si, format!("to `{cell}`"))).collect()
        }),
        of_given: None,
    },
];

/// 1 rpm is 2π/60 rad/s, 1 turn a second is 2π rad/s.
const TURNS: &[f64] =
    &[60.0 / (2.0 * PI), 2.0 * PI / 60.0, 2.0 * PI, 1.0 / (2.0 * PI), 60.0, 1.0 / 60.0];
/// An imperial gallon in US ones: 4.546 09 L over 231 in³ (NIST SP 811, appendix B).
const GALLONS: f64 = 4.546_09e-3 / (231.0 * 0.0254 * 0.0254 * 0.0254);
const GRAVITY: f64 = 9.806_65;
/// Of water, as it is reckoned with by hand.
const DENSITY: f64 = 1000.0;
const ICE: f64 = 273.15;

impl Slip {
    /// The answers that the slip leads to when it happens at the end.
    pub(super) fn of_answer(&self, asked: &Asked<'_>) -> Led {
        self.of_answer.map_or_else(Vec::new, |of| of(asked))
    }

    /// What a figure becomes by the slip.
    pub(super) fn of_given(&self, given: &Given<'_>) -> Vec<f64> {
        self.of_given.map_or_else(Vec::new, |of| of(given))
    }
}

impl Asked<'_> {
    /// Whether what was written measures what was asked for.
    pub(super) fn fits(&self) -> bool {
        alike(self.dimension, self.written.dimension())
    }

    /// Whether a factor makes sense: not on a temperature that counts from the true zero.
    fn scales(&self) -> bool {
        self.dimension != Dimension::TEMPERATURE
    }

    fn times(&self, applies: bool, factors: &[f64]) -> Led {
        let all: Vec<f64> = factors.iter().map(|factor| self.si * factor).collect();
        self.only(applies, &all)
    }

    fn only(&self, applies: bool, all: &[f64]) -> Led {
        if !(applies && self.fits()) {
            return Vec::new();
        }
        all.iter().map(|si| (*si, String::new())).collect()
    }
}

impl Given<'_> {
    fn times(&self, applies: bool, factors: &[f64]) -> Vec<f64> {
        if applies { factors.iter().map(|factor| self.si * factor).collect() } else { Vec::new() }
    }
}

/// Whether two dimensions measure the same, a pressure from wherever it counts.
pub(super) fn alike(one: Dimension, other: Dimension) -> bool {
    one == other
        || (one.as_difference() == other.as_difference()
            && one.as_difference() == Dimension::PRESSURE_DIFFERENCE)
}

fn is_bore(dimension: Dimension, words: &str) -> bool {
    let words = words.to_lowercase();
    dimension == Dimension::LENGTH
        && ["bore", "diameter", "throat", "radius"].iter().any(|word| words.contains(word))
}

fn in_gallons(unit: &Unit) -> bool {
    ["gal_", "gpm", "MGD", "quart_", "pint_"].iter().any(|word| unit.symbol().contains(word))
}

fn head_for_pressure(asked: &Asked<'_>) -> Led {
    let weight = DENSITY * GRAVITY;
    let pressure = asked.dimension.as_difference() == Dimension::PRESSURE_DIFFERENCE;
    let head = asked.dimension == Dimension::LENGTH;
    let written = asked.written.dimension();
    let mut all = Vec::new();
    if pressure && written == Dimension::LENGTH {
        all.push(asked.si / weight);
    } else if head && alike(written, Dimension::PRESSURE_DIFFERENCE) {
        all.push(asked.si * weight);
    } else if pressure && asked.fits() {
        // Metres called by the name of a pressure, and ρ g in one time too often or too few.
        all.extend([asked.written.to_si(asked.si / weight), asked.si / weight, asked.si * weight]);
    } else if head && asked.fits() {
        let kilopascals = asked.si * weight / 1000.0;
        all.extend([asked.written.to_si(kilopascals), asked.si / weight, asked.si * weight]);
    }
    all.into_iter().map(|si| (si, String::new())).collect()
}

fn unit_in_words(unit: &Unit) -> String {
    if *unit == Unit::ONE { "plain numbers".to_owned() } else { unit.symbol().to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_slip_has_a_name_of_its_own_and_leads_somewhere() {
        for (at, slip) in SLIPS.iter().enumerate() {
            assert!(SLIPS[..at].iter().all(|other| other.name != slip.name), "{}", slip.name);
            assert!(slip.of_answer.is_some() || slip.of_given.is_some(), "{}", slip.name);
        }
    }

    #[test]
    fn an_imperial_gallon_in_us_gallons() {
        // NIST SP 811 (2008), appendix B.8: gallon (imperial) 4.546 09 E-03 m³, gallon (US) 3.785 412
        // E-03 m³.
        assert!((GALLONS - 4.546_09 / 3.785_412).abs() < 1e-6);
    }
}
