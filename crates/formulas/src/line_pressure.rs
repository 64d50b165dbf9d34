//! Pressures along a pipe line, where they are lowest, and whether the air leaves it.

use forebay_units::Dimension;

use crate::bracketed::root;
use crate::formula::{
    Argument, Body, Check, Doubted, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::line::{FLOW, HIDDEN, POND_LEVEL, water_at};
use crate::line_pieces::{
    BORE, CONE, FITTINGS, LENGTH, LOSS, Piece, RISE, ROUGHNESS, Water, between_regimes, numbers,
    rising_line, shape,
};
use crate::pipes::{circle_area, velocity_head};
use crate::siphon::{BREAKS, CLEARING, air_clearing};
use crate::sources::{BERNOULLI, WISNER};
use crate::usual::{ALTITUDE_OR_SEA, GRAVITY, TEMPERATURE_OR_15};
use crate::water::atmospheric_pressure;
use crate::water_properties::{density, vapour_pressure};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "line_pressure",
    about: "Pressures along a pipe line, where they are lowest, and whether the air leaves it.",
    formulas: FORMULAS,
};

/// The ratio that stands for "plenty": where nothing is needed, or ten times enough is there.
const PLENTY: f64 = 10.0;

/// Steeper falls are taken as this one, tan 45°: no source goes beyond.
const STEEPEST: f64 = 1.0;

const EQUATION: &str = "p = p_atm(altitude) − ρ g (z_axis + D/2 − z_pond + V²/2g + Σ h)";

const LOWEST: &str = "Also looks at the beginning of each piece, behind its change of bore and its \
    fittings, which are taken as standing there: the worse case. The pressure on the runner's \
    blades is lower still than the mean under it: see setting_limit. Air comes out of solution \
    below roughly 0.3 to 0.5 bar absolute (from memory); count on a day of low pressure, 3 kPa \
    less, in a winter storm 5 (from memory). A siphon over a dam can wash it out on a burst or \
    leak: ask the dam's owner and the dam-safety office.";

const ENERGY: Source =
    Source::exact(BERNOULLI, "from the pond to the section; losses as line_loss");

const START_LEVEL: Parameter = Parameter::new(
    "start_level",
    Dimension::LENGTH,
    "level of the pipe's axis at the mouth, where the first piece begins",
);

const RUNNER_HEIGHT: Parameter = Parameter::new(
    "runner_height",
    Dimension::LENGTH,
    "highest point of the section under the runner above the tailwater",
)
.or(0.0);

const RUNNER_BORE: Parameter = Parameter::new(
    "runner_bore",
    Dimension::LENGTH,
    "bore of the draft tube under the runner; 0 and unless given: the runner is left out",
)
.not_negative()
.or(0.0);

const MOUTH_BORE: Parameter = Parameter::new(
    "mouth_bore",
    Dimension::LENGTH,
    "bore at the draft tube's mouth, which is under water; 0 and unless given: as under the runner",
)
.not_negative()
.or(0.0);

const TUBE_LOSS: Parameter = Parameter::new(
    "tube_loss",
    Dimension::NONE,
    "loss coefficient of the draft tube on the velocity under the runner, as \
     diffuser_loss_coefficient gives it; 0 unless given, which is the safe side: a loss raises the \
     pressure under the runner",
)
.not_negative()
.or(0.0);

const MARGIN: Parameter = Parameter::new(
    "margin",
    Dimension::PRESSURE_DIFFERENCE,
    "to keep above the vapour pressure at the lowest place; 25 kPa unless given (2.5 m of water, \
     from memory), 3 to 5 kPa more for days of low pressure",
)
.not_negative()
.or(25e3);

const METHOD: Parameter = Parameter::of_kind(
    "method",
    Kind::Choice(CLEARING),
    "whose criterion, as in air_clearing_velocity; the largest of them unless given",
)
.or(0.0);

const CLEARS: Source = Source::memory(
    WISNER,
    "as quoted from Sanks, Pumping Station Design; the other criteria of air_clearing_velocity from \
     memory",
);

const UPPER_END: &str = "Three literatures disagree: the largest is the upper end of a band, not a \
    promise. Falls steeper than 45° are taken as 45°, since no source goes beyond.";

const APART: &str = "fluids 1.3.1, iapws 1.5.5 and ISO 2533, summed by arithmetic apart from this \
    code";

/// The line of the checks: over a dam and down, the narrow piece behind the crest.
const LINE: [(&str, &str); 6] = [
    ("bore", "[253.2, 253.2, 226.2, 300] mm"),
    ("length", "[4.4, 3.2, 8.1, 2.5] m"),
    ("rise", "[2.2, 0, -3.1, -0.42] m"),
    ("roughness", "[0.007, 0.007, 0.05, 0.007] mm"),
    ("loss", "[0.3, 0.21, 0, 0.1]"),
    ("fittings", "bellmouth; ; 2 elbow + gate_valve; "),
];

const SITE: [(&str, &str); 5] = [
    ("flow", "95 L/s"),
    ("start_level", "212.3 m"),
    ("pond_level", "213.1 m"),
    ("altitude", "400 m"),
    ("temperature", "12 degC"),
];

static FORMULAS: &[Formula] = &[
    Formula {
        name: "line_pressures",
        summary: "Absolute pressure under the crown of the bore at the end of each piece.",
        equation: EQUATION,
        parameters: &[
            BORE,
            LENGTH,
            RISE,
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            FLOW,
            START_LEVEL,
            POND_LEVEL,
            ALTITUDE_OR_SEA,
            TEMPERATURE_OR_15,
            GRAVITY,
        ],
        result: Output::new(Dimension::PRESSURE).series().shown_in("kPa_abs", "psia"),
        limits: &[],
        caution: Some(BREAKS),
        source: ENERGY,
        hides: HIDDEN,
        checks: &[
            Check {
                arguments: &[
                    LINE[0], LINE[1], LINE[2], LINE[3], LINE[4], LINE[5], SITE[0], SITE[1],
                    SITE[2], SITE[3], SITE[4],
                ],
                expected: "[78.827328, 78.136203, 103.163004, 108.089008] kPa_abs",
                tolerance: 1e-5,
                source: APART,
            },
            Check {
                arguments: &[
                    ("bore", "15 cm"),
                    ("length", "2.1 m"),
                    ("rise", "-2.075 m"),
                    ("roughness", "0 mm"),
                    ("loss", "79.8"),
                    ("flow", "27.115 L/s"),
                    ("start_level", "100 m"),
                    ("pond_level", "100 m"),
                    ("altitude", "40 m"),
                    ("temperature", "20.5 degC"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "[25.26] kPa_abs",
                tolerance: 2e-2,
                source: "Subramanya 2005, Ex. 11.17(a): summit 2 m under the level, 80 velocity heads \
                     of 0.12 m to it (its f is 0.02; here most of them stand in `loss`)",
            },
        ],
        body: Body::ToSeriesDoubted(line_pressures),
    },
    Formula {
        name: "lowest_pressure",
        summary: "Lowest absolute pressure under the crown of the bore anywhere in a line, and \
                  under the runner if its bore is given.",
        equation: "least of p = p_atm − ρ g (z_axis + D/2 − z_pond + V²/2g + Σ h) and p₃ = p_atm − \
                   ρ g (height + (V₃² − V₄²)/2g − K V₃²/2g)",
        parameters: &[
            BORE,
            LENGTH,
            RISE,
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            FLOW,
            START_LEVEL,
            POND_LEVEL,
            ALTITUDE_OR_SEA,
            TEMPERATURE_OR_15,
            RUNNER_HEIGHT,
            RUNNER_BORE,
            MOUTH_BORE,
            TUBE_LOSS,
            GRAVITY,
        ],
        result: Output::new(Dimension::PRESSURE).shown_in("kPa_abs", "psia"),
        limits: &[],
        caution: Some(LOWEST),
        source: ENERGY,
        hides: HIDDEN,
        checks: &[
            Check {
                arguments: &[
                    LINE[0], LINE[1], LINE[2], LINE[3], LINE[4], LINE[5], SITE[0], SITE[1],
                    SITE[2], SITE[3], SITE[4],
                ],
                expected: "74.359604 kPa_abs",
                tolerance: 1e-5,
                source: APART,
            },
            Check {
                arguments: &[
                    LINE[0],
                    LINE[1],
                    LINE[2],
                    LINE[3],
                    LINE[4],
                    LINE[5],
                    SITE[0],
                    SITE[1],
                    SITE[2],
                    SITE[3],
                    SITE[4],
                    ("runner_height", "1.9 m"),
                    ("runner_bore", "180 mm"),
                    ("mouth_bore", "300 mm"),
                    ("tube_loss", "0.15"),
                ],
                expected: "72.970088 kPa_abs",
                tolerance: 1e-5,
                source: APART,
            },
        ],
        body: Body::SeriesDoubted(lowest_pressure),
    },
    Formula {
        name: "lowest_pressure_place",
        summary: "The piece in which the pressure is lowest, by its number from 1; 0 where it is \
                  under the runner.",
        equation: "place of lowest_pressure",
        parameters: &[
            BORE,
            LENGTH,
            RISE,
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            FLOW,
            START_LEVEL,
            POND_LEVEL,
            ALTITUDE_OR_SEA,
            TEMPERATURE_OR_15,
            RUNNER_HEIGHT,
            RUNNER_BORE,
            MOUTH_BORE,
            TUBE_LOSS,
            GRAVITY,
        ],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(LOWEST),
        source: ENERGY,
        hides: HIDDEN,
        checks: &[
            Check {
                arguments: &[
                    LINE[0], LINE[1], LINE[2], LINE[3], LINE[4], LINE[5], SITE[0], SITE[1],
                    SITE[2], SITE[3], SITE[4],
                ],
                expected: "3",
                tolerance: 0.0,
                source: APART,
            },
            Check {
                arguments: &[
                    LINE[0],
                    LINE[1],
                    LINE[2],
                    LINE[3],
                    LINE[4],
                    LINE[5],
                    SITE[0],
                    SITE[1],
                    SITE[2],
                    SITE[3],
                    SITE[4],
                    ("runner_height", "1.9 m"),
                    ("runner_bore", "180 mm"),
                    ("mouth_bore", "300 mm"),
                    ("tube_loss", "0.15"),
                ],
                expected: "0",
                tolerance: 0.0,
                source: APART,
            },
            Check {
                arguments: &[
                    ("bore", "0.1023 m"),
                    ("length", "[2, 50] m"),
                    ("rise", "[1, -0.64] m"),
                    ("roughness", "0.0015 mm"),
                    ("flow", "10 L/s"),
                    ("start_level", "99 m"),
                    ("pond_level", "100 m"),
                    ("temperature", "10 degC"),
                ],
                expected: "2",
                tolerance: 0.0,
                source: "fluids 1.3.1 and iapws: 0.673 m are lost on a fall of 0.64 m, so that the \
                         pressure goes on falling",
            },
        ],
        body: Body::SeriesDoubted(lowest_pressure_place),
    },
    Formula {
        name: "line_flow_limit",
        summary: "Greatest flow at which the lowest pressure in a line stays above that of vapour \
                  by a margin: beyond it the siphon breaks.",
        equation: "lowest_pressure(Q) = p_v(temperature) + margin, solved for Q",
        parameters: &[
            BORE,
            LENGTH,
            RISE,
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            START_LEVEL,
            POND_LEVEL,
            ALTITUDE_OR_SEA,
            TEMPERATURE_OR_15,
            MARGIN,
            GRAVITY,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(LOWEST),
        source: ENERGY,
        hides: HIDDEN,
        checks: &[Check {
            arguments: &[
                LINE[0],
                LINE[1],
                LINE[2],
                LINE[3],
                LINE[4],
                LINE[5],
                SITE[1],
                SITE[2],
                SITE[3],
                SITE[4],
                ("margin", "30 kPa"),
            ],
            expected: "249.25134 L/s",
            tolerance: 1e-4,
            source: "scipy 1.17, brentq on the pressures by fluids 1.3.1, iapws 1.5.5 and ISO 2533",
        }],
        body: Body::Series(line_flow_limit),
    },
    Formula {
        name: "line_air_clearing",
        summary: "Velocity in each piece over the velocity that carries an air pocket down it: above \
                  1 it clears; at most 10, which also stands where a piece does not fall.",
        equation: "min(V/V_clear(D, tan θ), 10); 10 where the piece is level or rises",
        parameters: &[BORE, LENGTH, RISE, FLOW, METHOD, GRAVITY],
        result: Output::new(Dimension::NONE).series(),
        limits: &[],
        caution: Some(UPPER_END),
        source: CLEARS,
        hides: None,
        checks: &[Check {
            arguments: &[
                ("bore", "[0.3, 0.3, 0.2] m"),
                ("length", "[6, 6, 10.04987562] m"),
                ("rise", "[2, -3, -1] m"),
                ("flow", "90 L/s"),
                ("method", "wisner"),
            ],
            expected: "[10, 0.7410000, 2.2631632]",
            tolerance: 1e-6,
            source: "Wisner et al. 1975 (as quoted from Sanks): 1.718272 m/s at 30° in 0.3 m \
                         and 1.265834 m/s at tan θ 0.1 in 0.2 m, by arithmetic apart from this code",
        }],
        body: Body::ToSeries(line_air_clearing),
    },
    Formula {
        name: "line_clearing_flow",
        summary: "Least flow that carries air pockets down every falling piece of a line; 0 where \
                  none falls.",
        equation: "Q = max(V_clear(D, tan θ) π D²/4) over the pieces that fall",
        parameters: &[BORE, LENGTH, RISE, METHOD, GRAVITY],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(UPPER_END),
        source: CLEARS,
        hides: None,
        checks: &[Check {
            arguments: &[
                ("bore", "[0.3, 0.3, 0.2] m"),
                ("length", "[6, 6, 10.04987562] m"),
                ("rise", "[2, -3, -1] m"),
                ("method", "wisner"),
            ],
            expected: "121.457484 L/s",
            tolerance: 1e-6,
            source: "Wisner et al. 1975 (as quoted from Sanks): 1.718272 m/s in 0.0706858347 m²",
        }],
        body: Body::Series(line_clearing_flow),
    },
];

/// A line in its place: what pressures depend on beside the flow.
pub(crate) struct Site<'a> {
    pub(crate) line: &'a [Piece],
    /// Of the axis at the mouth over the pond.
    pub(crate) start: f64,
    /// Of the air, absolute.
    pub(crate) outside: f64,
    pub(crate) density: f64,
    pub(crate) water: Water,
}

impl<'a> Site<'a> {
    /// At an altitude, with water of a temperature.
    pub(crate) fn new(
        line: &'a [Piece],
        start: f64,
        altitude: f64,
        temperature: f64,
        gravity: f64,
    ) -> Self {
        Self {
            line,
            start,
            outside: atmospheric_pressure(altitude),
            density: density(temperature),
            water: water_at(temperature, gravity),
        }
    }

    /// Pressure where the crown, the velocity head and the loss together take this head.
    fn pressure(&self, head: f64) -> f64 {
        self.outside - self.density * self.water.gravity * head
    }

    /// Pressures at the beginning and the end of each piece; below zero where no water column
    /// could be.
    fn pressures(&self, flow: f64) -> impl Iterator<Item = (f64, f64)> {
        let (mut axis, mut lost) = (self.start, 0.0);
        self.line.iter().map(move |piece| {
            let above = piece.bore / 2.0 + piece.velocity_head(flow, self.water);
            let begin = axis + above + lost + piece.local_loss(flow, self.water);
            axis += piece.rise;
            lost += piece.loss(flow, self.water);
            (self.pressure(begin), self.pressure(axis + above + lost))
        })
    }

    /// The lowest pressure in the line and its piece, from 1.
    pub(crate) fn lowest(&self, flow: f64) -> (f64, usize) {
        let each = self.pressures(flow).map(|(begin, end)| begin.min(end)).zip(1..);
        each.fold((f64::INFINITY, 0), |least, here| if here.0 < least.0 { here } else { least })
    }

    /// What the sources do not vouch for, where this is the lowest pressure.
    fn doubt(&self, lowest: f64, flow: f64, temperature: f64) -> Option<&'static str> {
        if lowest < vapour_pressure(temperature) {
            return Some(
                "pressure ≥ that of vapour: below the vapour pressure the water column breaks",
            );
        }
        between_regimes(self.line, flow, self.water)
    }

    /// The greatest flow at which the lowest pressure is at least this; nothing where it is lower
    /// without flow already.
    pub(crate) fn flow_limit(&self, least: f64) -> Option<f64> {
        if self.lowest(0.0).0 < least {
            return None;
        }
        // At this flow the velocity head alone takes all that the pressure of the air and the
        // deepest place could give.
        let area = self.line.iter().map(Piece::area).fold(f64::INFINITY, f64::min);
        let fall: f64 = self.line.iter().map(|piece| piece.rise.abs()).sum();
        let head = self.outside / (self.density * self.water.gravity) + fall + self.start.abs();
        let most = area * (2.0 * self.water.gravity * head).sqrt() * 1.01;
        root(|flow| self.lowest(flow).0 - least, 0.0, most)
    }
}

fn line_pressures(arguments: &[Argument<'_>]) -> Doubted<Vec<f64>> {
    let (line, rest) = rising_line(arguments)?;
    let [flow, start_level, pond_level, altitude, temperature, gravity] = numbers(rest)?;
    let site = Site::new(&line, start_level - pond_level, altitude, temperature, gravity);
    let whole = |((_, end), row)| {
        if end < 0.0 { Err(broken(&format!("at the end of piece {row}"))) } else { Ok(end) }
    };
    let pressures = site.pressures(flow).zip(1..).map(whole).collect::<Result<Vec<f64>, _>>()?;
    Ok((pressures, site.doubt(site.lowest(flow).0, flow, temperature)))
}

fn lowest_pressure(arguments: &[Argument<'_>]) -> Doubted<f64> {
    match lowest(arguments)? {
        ((least, 0), _) if least < 0.0 => Err(broken("under the runner")),
        ((least, row), _) if least < 0.0 => Err(broken(&format!("in piece {row}"))),
        ((least, _), doubt) => Ok((least, doubt)),
    }
}

#[allow(clippy::cast_precision_loss)] // A line has few pieces.
fn lowest_pressure_place(arguments: &[Argument<'_>]) -> Doubted<f64> {
    lowest(arguments).map(|((_, row), doubt)| (row as f64, doubt))
}

fn broken(place: &str) -> Refusal {
    Refusal(format!(
        "flow: {place} the pressure would be below a perfect vacuum: the water column breaks before"
    ))
}

/// The lowest pressure and its piece, 0 for the runner, and what is doubtful about them.
fn lowest(arguments: &[Argument<'_>]) -> Doubted<(f64, usize)> {
    let (line, rest) = rising_line(arguments)?;
    let [flow, start, pond, altitude, temperature, height, bore, mouth, tube_loss, gravity] =
        numbers(rest)?;
    let site = Site::new(&line, start - pond, altitude, temperature, gravity);
    let in_line = site.lowest(flow);
    if bore == 0.0 {
        return Ok((in_line, site.doubt(in_line.0, flow, temperature)));
    }
    let head = |bore: f64| velocity_head(flow / circle_area(bore), gravity);
    let at_mouth = head(if mouth == 0.0 { bore } else { mouth });
    let under_runner = site.pressure(height + head(bore) * (1.0 - tube_loss) - at_mouth);
    let least = if under_runner < in_line.0 { (under_runner, 0) } else { in_line };
    Ok((least, site.doubt(least.0, flow, temperature)))
}

fn line_flow_limit(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let (line, rest) = rising_line(arguments)?;
    let [start_level, pond_level, altitude, temperature, margin, gravity] = numbers(rest)?;
    let site = Site::new(&line, start_level - pond_level, altitude, temperature, gravity);
    site.flow_limit(vapour_pressure(temperature) + margin).ok_or_else(|| {
        Refusal(format!(
            "rise: in piece {} the pressure is too low without any flow: the line rises too far \
             above the pond",
            site.lowest(0.0).1
        ))
    })
}

fn line_air_clearing(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let (line, rest) = shape(arguments)?;
    let [flow, method, gravity] = numbers(rest)?;
    let each = line.iter().map(|piece| match clearing_velocity(piece, method, gravity) {
        Some(needed) => (piece.velocity(flow) / needed).min(PLENTY),
        None => PLENTY,
    });
    Ok(each.collect())
}

fn line_clearing_flow(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let (line, rest) = shape(arguments)?;
    let [method, gravity] = numbers(rest)?;
    let each = line.iter().filter_map(|piece| {
        clearing_velocity(piece, method, gravity).map(|needed| needed * piece.area())
    });
    Ok(each.fold(0.0, f64::max))
}

/// The velocity that carries a pocket down a piece; nothing where it does not fall.
fn clearing_velocity(piece: &Piece, method: f64, gravity: f64) -> Option<f64> {
    let fall = piece.fall()?;
    Some(air_clearing(piece.bore, fall.min(STEEPEST), method, gravity))
}
