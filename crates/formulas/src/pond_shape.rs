//! A pond whose area varies with its level: volume, level, and how long it lasts.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Limit, Output, Parameter, Refusal, Source, Subject,
};
use crate::sources::{CENGEL, DEFINITION};
use crate::usual::GRAVITY;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "pond shape",
    about: "Volume, level and drawdown of a pond whose area varies with its level.",
    formulas: FORMULAS,
};

const DAM: &str = "A pond that rises or fails floods neighbours, and one that falls fast can slide \
    its banks: neither spillway nor dam is checked here. Defer to the dam's owner, its engineer and \
    the dam-safety authority.";

/// Levels of the pond's table.
pub(crate) const LEVEL: Parameter = Parameter::of_kind(
    "level",
    Kind::Series(Dimension::LENGTH),
    "rising, on the datum of all other levels; beyond the table nothing is known",
)
.column();

/// Areas of the pond's table.
pub(crate) const AREA: Parameter = Parameter::of_kind(
    "area",
    Kind::Series(Dimension::AREA),
    "of the water surface at each level, linear between them; one value if it is the same",
)
.not_negative()
.column();

static FORMULAS: &[Formula] = &[
    Formula {
        name: "pond_volume",
        summary: "The water in a pond above the lowest level of its table.",
        equation: "V = ∫ A dz from the lowest level, A linear between the levels",
        parameters: &[
            LEVEL,
            AREA,
            Parameter::new("at", Dimension::LENGTH, "level of the water, within the table"),
        ],
        result: Output::new(Dimension::VOLUME),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "volume under a surface of varying area"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("level", "[100, 101, 101.8, 102.5] m"),
                ("area", "[300, 900, 1400, 2000] m^2"),
                ("at", "102.1 m"),
            ],
            expected: "1978.5714285714223 m^3",
            tolerance: 1e-9,
            source: "scipy 1.17.1, quad of the area over the level",
        }],
        body: Body::Series(pond_volume),
    },
    Formula {
        name: "pond_level",
        summary: "The level of a pond that holds a volume above the lowest level of its table.",
        equation: "V = ∫ A dz solved for the level, A linear between the levels",
        parameters: &[
            LEVEL,
            AREA,
            Parameter::new("volume", Dimension::VOLUME, "above the table's lowest level")
                .not_negative(),
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "volume under a surface of varying area"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("level", "[100, 101, 101.8, 102.5] m"),
                    ("area", "[300, 900, 1400, 2000] m^2"),
                    ("volume", "1128.125 m^3"),
                ],
                expected: "101.5 m",
                tolerance: 1e-12,
                source: "scipy 1.17.1, quad: that volume lies under 101.5 m",
            },
            Check {
                arguments: &[("level", "[0.5, 3] m"), ("area", "800 m^2"), ("volume", "320 m^3")],
                expected: "0.9 m",
                tolerance: 1e-12,
                source: "by hand, 320 m³ over 800 m² above 0.5 m",
            },
        ],
        body: Body::Series(pond_level),
    },
    Formula {
        name: "drawdown_time_varying",
        summary: "How long a pond of varying area lasts above its inflow between two levels.",
        equation: "t = ∫ A dz/(Q_out − Q_in) from the end level to the start level",
        parameters: &[
            LEVEL,
            AREA,
            Parameter::new("start_level", Dimension::LENGTH, "at the start, within the table"),
            Parameter::new("end_level", Dimension::LENGTH, "at the end, within the table"),
            Parameter::new("outflow", Dimension::FLOW, "steady: turbine, residual flow and leaks")
                .not_negative(),
            Parameter::new("inflow", Dimension::FLOW, "steady").not_negative(),
        ],
        result: Output::new(Dimension::TIME),
        limits: &[],
        caution: Some(DAM),
        source: Source::exact(DEFINITION, "balance of volume"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("level", "[100, 101, 101.8, 102.5] m"),
                    ("area", "[300, 900, 1400, 2000] m^2"),
                    ("start_level", "102 m"),
                    ("end_level", "100.4 m"),
                    ("outflow", "45 L/s"),
                    ("inflow", "12 L/s"),
                ],
                expected: "49974.02597402606 s",
                tolerance: 1e-9,
                source: "scipy 1.17.1, quad of the area over the level, by 33 L/s",
            },
            Check {
                arguments: &[
                    ("level", "[7, 8] m"),
                    ("area", "800 m^2"),
                    ("start_level", "7.9 m"),
                    ("end_level", "7.5 m"),
                    ("outflow", "60 L/s"),
                    ("inflow", "25 L/s"),
                ],
                expected: "2.53968253968254 h",
                tolerance: 1e-9,
                source: "by hand, 320 m³ at 35 L/s",
            },
        ],
        body: Body::Series(drawdown_time_varying),
    },
    Formula {
        name: "orifice_drain_time_varying",
        summary: "How long a pond of varying area, without inflow, takes to fall between two levels \
            through an opening under water.",
        equation: "t = ∫ A dz/(C_d a √(2 g (z − z₀))) from the end level to the start level",
        parameters: &[
            LEVEL,
            AREA,
            Parameter::new("start_level", Dimension::LENGTH, "at the start, within the table"),
            Parameter::new("end_level", Dimension::LENGTH, "at the end, within the table"),
            Parameter::new(
                "outlet_level",
                Dimension::LENGTH,
                "centre of the opening, or the water behind it if that stands higher",
            ),
            Parameter::new("opening", Dimension::AREA, "area of the opening").positive(),
            Parameter::new(
                "coefficient",
                Dimension::NONE,
                "of discharge: 0.61 for a sharp edge, near 1 for a rounded one",
            )
            .positive()
            .valid(0.5, 1.0)
            .or(0.61),
            GRAVITY,
        ],
        result: Output::new(Dimension::TIME),
        limits: &[Limit {
            says: "end_level above outlet_level",
            // The area may be one number, the levels may not; both stand before.
            holds: |of| of[3] >= of[4],
        }],
        caution: Some(DAM),
        source: Source::read(CENGEL, "ch. 5, Ex. 5-2, with a varying area"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("level", "[0, 1.5] m"),
                    ("area", "0.636173 m^2"),
                    ("start_level", "1.2 m"),
                    ("end_level", "0.6 m"),
                    ("outlet_level", "0 m"),
                    ("opening", "1.327323 cm^2"),
                    ("coefficient", "1"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "11.6 min",
                tolerance: 3e-3,
                source: "Cengel & Cimbala 2010, Ex. 5-2 (tank of 0.9 m, jet of 13 mm)",
            },
            Check {
                arguments: &[
                    ("level", "[100, 101, 101.8, 102.5] m"),
                    ("area", "[300, 900, 1400, 2000] m^2"),
                    ("start_level", "102.2 m"),
                    ("end_level", "100.5 m"),
                    ("outlet_level", "100.1 m"),
                    ("opening", "0.03 m^2"),
                ],
                expected: "21362.41294719 s",
                tolerance: 1e-9,
                source: "scipy 1.17.1, quad of A dz/Q(z) over the level",
            },
        ],
        body: Body::Series(orifice_drain_time_varying),
    },
];

/// The table of a pond, with the volume below each level.
pub(crate) struct Shape {
    levels: Vec<f64>,
    areas: Vec<f64>,
    volumes: Vec<f64>,
}

impl Shape {
    /// Reads the columns `level` and `area`.
    ///
    /// # Errors
    /// Fewer than two levels, levels that do not rise, columns of unlike length, no area at all
    /// between two levels.
    pub(crate) fn read(level: Argument<'_>, area: Argument<'_>) -> Result<Self, Refusal> {
        let Argument::Series(levels) = level else {
            return Err(Refusal("level: expected a series, one value for each row".to_owned()));
        };
        if levels.len() < 2 {
            return Err(Refusal("level: a pond needs two levels or more".to_owned()));
        }
        if levels.windows(2).any(|pair| pair[1] <= pair[0]) {
            return Err(Refusal("level: must rise from row to row".to_owned()));
        }
        let areas = match area {
            Argument::Number(area) => vec![area; levels.len()],
            Argument::Series(areas) if areas.len() == levels.len() => areas.to_vec(),
            _ => return Err(Refusal("area: must have one value for each level".to_owned())),
        };
        let mut volumes = vec![0.0];
        let mut volume = 0.0;
        for (z, a) in levels.windows(2).zip(areas.windows(2)) {
            let slice = 0.5 * (a[0] + a[1]) * (z[1] - z[0]);
            if slice <= 0.0 {
                return Err(Refusal("area: is 0 on two levels in a row".to_owned()));
            }
            volume += slice;
            volumes.push(volume);
        }
        Ok(Self { levels: levels.to_vec(), areas, volumes })
    }

    pub(crate) fn lowest(&self) -> f64 {
        self.levels[0]
    }

    pub(crate) fn highest(&self) -> f64 {
        self.levels[self.levels.len() - 1]
    }

    /// The levels of the table.
    pub(crate) fn levels(&self) -> &[f64] {
        &self.levels
    }

    /// The volume below each level of the table.
    pub(crate) fn volumes(&self) -> &[f64] {
        &self.volumes
    }

    /// The volume below a level.
    ///
    /// # Errors
    /// A level beyond the table, under the name of its parameter.
    pub(crate) fn volume(&self, name: &str, level: f64) -> Result<f64, Refusal> {
        if !(self.lowest()..=self.highest()).contains(&level) {
            let shown = |level| LEVEL.shown(level);
            return Err(Refusal(format!(
                "{name}: {} is beyond the table, which goes from {} to {}",
                shown(level),
                shown(self.lowest()),
                shown(self.highest()),
            )));
        }
        let at = self.row(&self.levels, level);
        let x = level - self.levels[at];
        Ok(self.volumes[at] + x * (self.areas[at] + 0.5 * self.slope(at) * x))
    }

    /// The level above a volume; that of the table's end beyond it.
    pub(crate) fn level(&self, volume: f64) -> f64 {
        let at = self.row(&self.volumes, volume);
        let v = (volume - self.volumes[at]).max(0.0);
        let (a, s) = (self.areas[at], self.slope(at));
        // a x + s x²/2 = v, without the difference of near numbers.
        let root = (a * a + 2.0 * s * v).max(0.0).sqrt();
        let x = if v == 0.0 { 0.0 } else { 2.0 * v / (a + root) };
        (self.levels[at] + x).min(self.levels[at + 1])
    }

    /// How fast the area grows with the level above a row.
    fn slope(&self, at: usize) -> f64 {
        (self.areas[at + 1] - self.areas[at]) / (self.levels[at + 1] - self.levels[at])
    }

    /// The row below a value, never the last one.
    fn row(&self, column: &[f64], value: f64) -> usize {
        column.partition_point(|each| *each <= value).clamp(1, column.len() - 1) - 1
    }
}

fn pond_volume(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[level, area, Argument::Number(at)] = arguments else {
        return Err(Refusal("at: expected a number".to_owned()));
    };
    Shape::read(level, area)?.volume("at", at)
}

fn pond_level(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[level, area, Argument::Number(volume)] = arguments else {
        return Err(Refusal("volume: expected a number".to_owned()));
    };
    let shape = Shape::read(level, area)?;
    let most = shape.volumes[shape.volumes.len() - 1];
    if volume > most {
        return Err(Refusal("volume: more than the pond holds below its highest level".to_owned()));
    }
    Ok(shape.level(volume))
}

fn drawdown_time_varying(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[
        level,
        area,
        Argument::Number(start_level),
        Argument::Number(end_level),
        Argument::Number(outflow),
        Argument::Number(inflow),
    ] = arguments
    else {
        return Err(Refusal(
            "start_level, end_level, outflow, inflow: expected numbers".to_owned(),
        ));
    };
    let shape = Shape::read(level, area)?;
    let volume =
        shape.volume("start_level", start_level)? - shape.volume("end_level", end_level)?;
    if volume < 0.0 {
        return Err(Refusal("end_level: is above the start level".to_owned()));
    }
    if inflow >= outflow {
        return Err(Refusal(
            "outflow: does not exceed the inflow, so that the pond never falls".to_owned(),
        ));
    }
    Ok(volume / (outflow - inflow))
}

fn orifice_drain_time_varying(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[
        level,
        area,
        Argument::Number(start_level),
        Argument::Number(end_level),
        Argument::Number(outlet_level),
        Argument::Number(opening),
        Argument::Number(coefficient),
        Argument::Number(gravity),
    ] = arguments
    else {
        return Err(Refusal("start_level, end_level: expected numbers".to_owned()));
    };
    let shape = Shape::read(level, area)?;
    shape.volume("start_level", start_level)?;
    shape.volume("end_level", end_level)?;
    if end_level > start_level {
        return Err(Refusal("end_level: is above the start level".to_owned()));
    }
    if end_level < outlet_level {
        return Err(Refusal("end_level: the pond does not fall below its outlet".to_owned()));
    }
    let mut sum = 0.0;
    for at in 0..shape.levels.len() - 1 {
        let from = end_level.max(shape.levels[at]);
        let to = start_level.min(shape.levels[at + 1]);
        if from >= to {
            continue;
        }
        // A = α + β x over the head x, so that ∫ A/√x dx = 2 α √x + ⅔ β x^1.5.
        let beta = shape.slope(at);
        let alpha = shape.areas[at] + beta * (outlet_level - shape.levels[at]);
        let integral = |z: f64| {
            let x = z - outlet_level;
            x.sqrt() * (2.0 * alpha + 2.0 / 3.0 * beta * x)
        };
        sum += integral(to) - integral(from);
    }
    Ok(sum / (coefficient * opening * (2.0 * gravity).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEVELS: Argument<'_> = Argument::Series(&[2.0, 3.0, 5.0]);

    #[test]
    fn level_and_volume_are_each_other_s_inverse() {
        let shape = Shape::read(LEVELS, Argument::Series(&[0.0, 40.0, 10.0])).unwrap();
        for k in 0..=30 {
            let level = 2.0 + f64::from(k) / 10.0;
            let volume = shape.volume("at", level).unwrap();
            assert!((shape.level(volume) - level).abs() < 1e-12, "{level}");
        }
    }

    #[test]
    fn beyond_the_table_nothing_is_known() {
        let at = |at| pond_volume(&[LEVELS, Argument::Number(8.0), Argument::Number(at)]);
        assert_eq!(at(5.0), Ok(24.0));
        assert!(at(5.1).unwrap_err().0.contains("from 2 m to 5 m"), "{:?}", at(5.1));
        let falling = Argument::Series(&[2.0, 2.0]);
        assert!(pond_volume(&[falling, Argument::Number(8.0), Argument::Number(2.0)]).is_err());
    }
}
