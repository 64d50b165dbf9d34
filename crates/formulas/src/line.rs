//! The pipe line as a whole: a table of pieces, what it loses and where its grade lines run.

use forebay_units::Dimension;

use crate::bracketed::root;
use crate::formula::{
    Argument, Body, Check, Doubted, Formula, Kind, Output, Parameter, Refusal, Source, Subject,
};
use crate::line_fittings::coefficient;
use crate::line_pieces::{
    BORE, CONE, FITTINGS, LENGTH, LOSS, Piece, ROUGHNESS, Water, between_regimes, line, numbers,
};
use crate::pipes::circle_area;
use crate::sources::{BERNOULLI, CRANE, DEFINITION};
use crate::usual::{GRAVITY, TEMPERATURE_OR_15};
use crate::water_properties::kinematic_viscosity;

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "line",
    about: "The pipe line as a whole: a table of pieces, what it loses and where its grade lines \
            run.",
    formulas: FORMULAS,
};

/// What hides in a loss that goes by the water's temperature.
pub(crate) const HIDDEN: Option<&str> =
    Some("kelvin, metre and second: viscosity and default roughness; foot: the fittings' f_T");

const COUNTED: &str = "Counted: friction of each piece (laminar, Colebrook–White), its column \
    `loss`, its `fittings`, and each change of bore between pieces. Not counted unless named: \
    entrance, exit, rack. Fittings close together, or half open, lose more than their sum.";

const EQUATION: &str = "h = Σ (f L/D + K + K_change) V²/2g; K_change on the velocity behind: sudden widening \
    (A₂/A₁ − 1)², narrowing 0.5 (1 − A₂/A₁); cones: Crane";

const DARCY: Source = Source::exact(
    BERNOULLI,
    "Darcy–Weisbach with Colebrook–White; Borda–Carnot; Crane TP-410 for fittings, narrowings and \
     cones",
);

/// The flow through the whole line.
pub(crate) const FLOW: Parameter =
    Parameter::new("flow", Dimension::FLOW, "the same through every piece").not_negative();

/// The level from which the grade lines fall.
pub(crate) const POND_LEVEL: Parameter = Parameter::new(
    "pond_level",
    Dimension::LENGTH,
    "level of the still water that feeds the line, on the same zero as all levels",
);

const TO: Parameter = Parameter::of_kind(
    "to",
    Kind::Row,
    "the piece at whose end to stop, by its number from 1 or its name in the table's first column \
     of texts; 0 and unless given: the whole line",
)
.not_negative()
.or(0.0);

const APART: &str = "fluids 1.3.1 (Colebrook, Crane's contraction, Borda–Carnot) and iapws 1.5.5, \
    summed by arithmetic apart from this code";

/// The line of the checks: an invented one of four bores.
const LINE: [(&str, &str); 6] = [
    ("bore", "[253.2, 253.2, 226.2, 300] mm"),
    ("length", "[4.4, 3.2, 8.1, 2.5] m"),
    ("roughness", "[0.007, 0.007, 0.05, 0.007] mm"),
    ("loss", "[0.3, 0.21, 0, 0.1]"),
    ("fittings", "bellmouth; ; 2 elbow + gate_valve; exit"),
    ("flow", "95 L/s"),
];

static FORMULAS: &[Formula] = &[
    Formula {
        name: "line_loss",
        summary: "Head that a line of pieces loses, whole or up to the end of one piece.",
        equation: EQUATION,
        parameters: &[
            BORE,
            LENGTH,
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            FLOW,
            TEMPERATURE_OR_15,
            TO,
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH),
        limits: &[],
        caution: Some(COUNTED),
        source: DARCY,
        hides: HIDDEN,
        checks: &[
            Check {
                arguments: &[
                    LINE[0],
                    LINE[1],
                    LINE[2],
                    LINE[3],
                    LINE[4],
                    LINE[5],
                    ("temperature", "8 degC"),
                ],
                expected: "0.802468475 m",
                tolerance: 1e-4,
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
                    ("temperature", "8 degC"),
                    ("to", "2"),
                ],
                expected: "0.178264206 m",
                tolerance: 1e-4,
                source: APART,
            },
            Check {
                arguments: &[
                    ("bore", "[8, 6, 4] cm"),
                    ("length", "[100, 150, 80] m"),
                    ("roughness", "[0.24, 0.12, 0.20] mm"),
                    ("cone", "[0, 0, 0] deg"),
                    ("flow", "10.22 m^3/h"),
                    ("temperature", "19.4 degC"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "20.3 m",
                tolerance: 5e-3,
                source: "White, Fluid Mechanics, three pipes in series without minor losses: \
                         20.3 m drive 10.22 m³/h at 1.02e-6 m²/s (from memory)",
            },
            Check {
                arguments: &[
                    ("bore", "0.05 m"),
                    ("length", "89 m"),
                    ("roughness", "0.26 mm"),
                    ("loss", "2.36"),
                    ("flow", "6 L/s"),
                    ("temperature", "10 degC"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "27.8 m",
                tolerance: 6e-3,
                source: "Cengel & Cimbala 2010, Ex. 8-8 (31.8 m above an outlet at 4 m): K 0.5 + \
                         2 · 0.3 + 0.2 + 1.06",
            },
            Check {
                arguments: &[
                    ("bore", "0.1023 m"),
                    ("length", "50 m"),
                    ("roughness", "0.0015 mm"),
                    ("flow", "10 L/s"),
                    ("temperature", "10 degC"),
                ],
                expected: "0.673152992 m",
                tolerance: 2e-3,
                source: "fluids 1.3.1 and iapws: PVC pressure pipe",
            },
        ],
        body: Body::SeriesDoubted(line_loss),
    },
    Formula {
        name: "line_losses",
        summary: "Head lost in each piece of a line, with the change of bore at its beginning.",
        equation: EQUATION,
        parameters: &[
            BORE,
            LENGTH,
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            FLOW,
            TEMPERATURE_OR_15,
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH).series(),
        limits: &[],
        caution: Some(COUNTED),
        source: DARCY,
        hides: HIDDEN,
        checks: &[Check {
            arguments: &[
                LINE[0],
                LINE[1],
                LINE[2],
                LINE[3],
                LINE[4],
                LINE[5],
                ("temperature", "8 degC"),
            ],
            expected: "[0.10712204, 0.07114217, 0.45850649, 0.16569778] m",
            tolerance: 1e-4,
            source: APART,
        }],
        body: Body::ToSeriesDoubted(line_losses),
    },
    Formula {
        name: "line_velocities",
        summary: "Mean velocity in each piece of a line.",
        equation: "V = 4 Q/(π D²)",
        parameters: &[BORE, FLOW],
        result: Output::new(Dimension::VELOCITY).series(),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "continuity"),
        hides: None,
        checks: &[Check {
            arguments: &[("bore", "[60, 90] mm"), ("flow", "7.5 L/s")],
            expected: "[2.6526, 1.1789] m/s",
            tolerance: 5e-5,
            source: "data of Subramanya 2005, Ex. 11.1, by hand",
        }],
        body: Body::ToSeries(line_velocities),
    },
    Formula {
        name: "line_energy_profile",
        summary: "Level of the energy grade line at the end of each piece.",
        equation: "E = z_pond − Σ h",
        parameters: &[
            BORE,
            LENGTH,
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            FLOW,
            POND_LEVEL,
            TEMPERATURE_OR_15,
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH).series(),
        limits: &[],
        caution: Some(COUNTED),
        source: DARCY,
        hides: HIDDEN,
        checks: &[Check {
            arguments: &[
                LINE[0],
                LINE[1],
                LINE[2],
                LINE[3],
                LINE[4],
                LINE[5],
                ("pond_level", "103.42 m"),
                ("temperature", "8 degC"),
            ],
            expected: "[103.31287796, 103.24173579, 102.78322931, 102.61753153] m",
            tolerance: 1e-6,
            source: APART,
        }],
        body: Body::ToSeriesDoubted(line_energy_profile),
    },
    Formula {
        name: "line_profile",
        summary: "Level of the pressure grade line at the end of each piece: where the water would \
                  stand in a tube set on the pipe.",
        equation: "z + p/(ρ g) = z_pond − Σ h − V²/2g",
        parameters: &[
            BORE,
            LENGTH,
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            FLOW,
            POND_LEVEL,
            TEMPERATURE_OR_15,
            GRAVITY,
        ],
        result: Output::new(Dimension::LENGTH).series(),
        limits: &[],
        caution: Some(COUNTED),
        source: DARCY,
        hides: HIDDEN,
        checks: &[Check {
            arguments: &[
                LINE[0],
                LINE[1],
                LINE[2],
                LINE[3],
                LINE[4],
                LINE[5],
                ("pond_level", "103.42 m"),
                ("temperature", "8 degC"),
            ],
            expected: "[103.13138408, 103.06024192, 102.49829393, 102.52543744] m",
            tolerance: 1e-6,
            source: APART,
        }],
        body: Body::ToSeriesDoubted(line_profile),
    },
    Formula {
        name: "line_flow",
        summary: "Flow that a head drives through a line that nothing else holds back.",
        equation: "head = Σ h(Q) + V_end²/2g, solved for Q",
        parameters: &[
            BORE,
            LENGTH,
            ROUGHNESS,
            LOSS,
            FITTINGS,
            CONE,
            Parameter::new(
                "head",
                Dimension::LENGTH,
                "from the pond to the tailwater, or to the axis of an end that pours freely; the \
                 velocity head at the end is lost: do not name `exit` as well",
            )
            .not_negative(),
            TEMPERATURE_OR_15,
            GRAVITY,
        ],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(
            "Whether the water gets there is another question: hold lowest_pressure of this flow \
             against the vapour pressure.",
        ),
        source: DARCY,
        hides: HIDDEN,
        checks: &[
            Check {
                arguments: &[
                    LINE[0],
                    LINE[1],
                    LINE[2],
                    LINE[3],
                    ("fittings", "bellmouth; ; 2 elbow + gate_valve; "),
                    ("head", "3.32 m"),
                    ("temperature", "8 degC"),
                ],
                expected: "195.538283 L/s",
                tolerance: 1e-4,
                source: "scipy 1.17, brentq on the losses by fluids 1.3.1 and iapws 1.5.5",
            },
            Check {
                arguments: &[
                    ("bore", "0.05 m"),
                    ("length", "89 m"),
                    ("roughness", "0.26 mm"),
                    ("loss", "1.36"),
                    ("head", "27.8 m"),
                    ("temperature", "10 degC"),
                    ("gravity", "9.81 m/s^2"),
                ],
                expected: "6 L/s",
                tolerance: 3e-3,
                source: "Cengel & Cimbala 2010, Ex. 8-8 read backwards; of its K 1.06 at the \
                         outlet 1 is the velocity head that this formula counts by itself (the \
                         other 0.06, an energy factor, is in `loss`)",
            },
        ],
        body: Body::SeriesDoubted(line_flow),
    },
    Formula {
        name: "fittings_loss_coefficient",
        summary: "Loss coefficient of the fittings of each piece, by count and name.",
        equation: "K = Σ n K_fitting(bore)",
        parameters: &[
            Parameter::of_kind(
                "fittings",
                Kind::Texts,
                "of each piece by count and name, such as \"flush + 2 elbow + gate_valve\": the \
                 entrances of entrance_loss_coefficient, the fittings of fitting_loss_coefficient, \
                 and exit",
            )
            .column(),
            BORE,
        ],
        result: Output::new(Dimension::NONE).series(),
        limits: &[],
        caution: Some(
            "Makes differ by a factor of two, and fittings close together lose more than their \
             sum.",
        ),
        source: Source::memory(CRANE, "appendix A; multiples of f_T partly from memory"),
        hides: Some("foot: the roughness of steel"),
        checks: &[Check {
            arguments: &[
                ("fittings", "bend + gate_valve; 2 swing_check_valve; flush + exit"),
                ("bore", "[0.1, 0.1, 0.1] m"),
            ],
            expected: "[0.3593303, 1.6288460, 1.5]",
            tolerance: 2e-2,
            source: "Crane TP-410 by the reference library fluids 1.3.1, summed by hand",
        }],
        body: Body::ToSeries(fittings_loss_coefficient),
    },
];

/// Water at a temperature.
pub(crate) fn water_at(temperature: f64, gravity: f64) -> Water {
    Water { viscosity: kinematic_viscosity(temperature), gravity }
}

/// What the whole line loses.
pub(crate) fn whole_loss(line: &[Piece], flow: f64, water: Water) -> f64 {
    line.iter().map(|piece| piece.loss(flow, water)).sum()
}

fn line_loss(arguments: &[Argument<'_>]) -> Doubted<f64> {
    let (line, rest) = line(arguments)?;
    let [flow, temperature, to, gravity] = numbers(rest)?;
    let water = water_at(temperature, gravity);
    if to == 0.0 {
        return Ok((whole_loss(&line, flow, water), between_regimes(&line, flow, water)));
    }
    // Whole numbers of rows are exact, and a number too large is cut to one that is no row.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let reach = line.get(..to as usize).filter(|_| to.fract() == 0.0).ok_or_else(|| {
        Refusal(format!("to: there is no piece {to}; the line has {} pieces", line.len()))
    })?;
    Ok((whole_loss(reach, flow, water), between_regimes(reach, flow, water)))
}

fn line_losses(arguments: &[Argument<'_>]) -> Doubted<Vec<f64>> {
    let (line, rest) = line(arguments)?;
    let [flow, temperature, gravity] = numbers(rest)?;
    let water = water_at(temperature, gravity);
    let losses = line.iter().map(|piece| piece.loss(flow, water)).collect();
    Ok((losses, between_regimes(&line, flow, water)))
}

fn line_velocities(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let [bore, flow] = arguments else {
        return Err(Refusal("bore and flow: expected".to_owned()));
    };
    let [flow] = numbers(&[*flow])?;
    Ok(bore.values().iter().map(|bore| flow / circle_area(*bore)).collect())
}

fn line_energy_profile(arguments: &[Argument<'_>]) -> Doubted<Vec<f64>> {
    grade_line(arguments, |_, _, _| 0.0)
}

fn line_profile(arguments: &[Argument<'_>]) -> Doubted<Vec<f64>> {
    grade_line(arguments, Piece::velocity_head)
}

/// The energy line less something at the end of each piece.
fn grade_line(
    arguments: &[Argument<'_>],
    below: fn(&Piece, f64, Water) -> f64,
) -> Doubted<Vec<f64>> {
    let (line, rest) = line(arguments)?;
    let [flow, pond_level, temperature, gravity] = numbers(rest)?;
    let water = water_at(temperature, gravity);
    let mut energy = pond_level;
    let levels = line.iter().map(|piece| {
        energy -= piece.loss(flow, water);
        energy - below(piece, flow, water)
    });
    Ok((levels.collect(), between_regimes(&line, flow, water)))
}

fn line_flow(arguments: &[Argument<'_>]) -> Doubted<f64> {
    let (line, rest) = line(arguments)?;
    let [head, temperature, gravity] = numbers(rest)?;
    let water = water_at(temperature, gravity);
    let Some(end) = line.last() else { return Ok((f64::NAN, None)) };
    let left = |flow| head - whole_loss(&line, flow, water) - end.velocity_head(flow, water);
    // Without any loss all of the head would be velocity at the end.
    let most = end.area() * (2.0 * gravity * head).sqrt();
    let flow = root(left, 0.0, most).unwrap_or(f64::NAN);
    Ok((flow, between_regimes(&line, flow, water)))
}

fn fittings_loss_coefficient(arguments: &[Argument<'_>]) -> Result<Vec<f64>, Refusal> {
    let &[Argument::Texts(texts), bore] = arguments else {
        return Err(Refusal("fittings: expected a series of texts".to_owned()));
    };
    let bore_of = |row: usize| match bore {
        Argument::Number(bore) => Some(bore),
        _ => bore.values().get(row).copied(),
    };
    if !matches!(bore, Argument::Number(_)) && bore.values().len() != texts.len() {
        return Err(Refusal("fittings: has not as many values as bore".to_owned()));
    }
    texts
        .iter()
        .enumerate()
        .map(|(row, text)| {
            let bore = bore_of(row).unwrap_or(f64::NAN);
            coefficient(text, bore)
                .map_err(|why| Refusal(format!("fittings: piece {}: {why}", row + 1)))
        })
        .collect()
}
