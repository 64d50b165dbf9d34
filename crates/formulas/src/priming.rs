//! Drawing the air out of a siphon: how much, how long, and what leaks cost afterwards.

use forebay_units::Dimension;

use crate::formula::{
    Argument, Body, Check, Formula, Kind, Limit, Output, Parameter, Refusal, Source, Subject,
};
use crate::line::POND_LEVEL;
use crate::line_pieces::{BORE, LENGTH, Piece, RISE, numbers, shape};
use crate::pipes::circle_area;
use crate::side_by_side::side_by_side;
use crate::sources::{DEFINITION, VACUUM};
use crate::usual::{DENSITY, GRAVITY};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "priming",
    about: "Drawing the air out of a siphon: how much, how long, and what leaks cost afterwards.",
    formulas: FORMULAS,
};

/// Steps from the outside pressure to the one that lifts the water over the crest.
const STEPS: u32 = 2000;

const DAY: f64 = 86_400.0;

const VACUUM_HURTS: &str = "Thin plastic pipe collapses under vacuum: hold the pressure outside \
    against collapse_pressure with the long-term modulus. Keep water out of the pump by a trap. \
    Never put a hand or a face to an open suction.";

/// How the lower end is closed while the air is drawn.
const OUTLETS: &[&str] = &["closed", "under_water"];

const OUTSIDE: Parameter = Parameter::new(
    "outside_pressure",
    Dimension::PRESSURE,
    "absolute pressure of the air: atmospheric_pressure of the altitude; 101.325 kPa unless given",
)
.positive()
.or(101_325.0);

const PUMP_FLOW: Parameter = Parameter::new(
    "pump_flow",
    Dimension::FLOW,
    "of the vacuum pump at its inlet, open to the air outside: the maker's free air flow",
)
.positive();

const END_PRESSURE: Parameter = Parameter::new(
    "end_pressure",
    Dimension::PRESSURE,
    "absolute pressure at which the pump draws nothing any more: its end vacuum",
)
.not_negative();

const LEAK: Parameter = Parameter::new(
    "leak",
    Dimension::FLOW,
    "air that leaks in, as a volume flow at the outside pressure, taken as constant: \
     vacuum_leak_rate; 0 unless given",
)
.not_negative()
.or(0.0);

const PUMP_DOWN: Source = Source::exact(
    VACUUM,
    "integrated; the pump's flow falls linearly from the free one to nothing at its end vacuum",
);

const EQUATION: &str = "d(p V)/dt = −p S(p) + p_out Q_leak; S = S₀ (p − p_end)/(p_out − p_end); the \
    water stands (p_out − p)/(ρ g) high in the legs and takes its share of V; over the crest the \
    rest of the air is drawn at a constant pressure";

const APART: &str = "scipy 1.17, quad of the same differential equation, by a program apart from \
    this code";

static FORMULAS: &[Formula] = &[
    Formula {
        name: "priming_air",
        summary: "Volume of the bores of a line: the air that must be drawn to fill it, at the \
                  pressure outside.",
        equation: "V = Σ π D²/4 · L",
        parameters: &[BORE, LENGTH],
        result: Output::new(Dimension::VOLUME),
        limits: &[],
        caution: None,
        source: Source::exact(DEFINITION, "geometry"),
        hides: None,
        checks: &[
            Check {
                arguments: &[("bore", "0.3 m"), ("length", "12 m")],
                expected: "0.848230016 m^3",
                tolerance: 1e-9,
                source: "geometry: 12 m of 0.3 m, by hand",
            },
            Check {
                arguments: &[("bore", "[0.3, 0.2] m"), ("length", "[12, 5] m")],
                expected: "1.00530965 m^3",
                tolerance: 1e-8,
                source: "geometry: 0.32 π, by hand",
            },
        ],
        body: Body::Series(priming_air),
    },
    Formula {
        name: "priming_time_of_pump",
        summary: "Time in which a real vacuum pump primes a siphon, while the water rises behind \
                  the falling pressure.",
        equation: EQUATION,
        parameters: &[
            Parameter::new(
                "volume",
                Dimension::VOLUME,
                "air in the pipe at the start: above the pond's level on one side, down to the \
                 closed valve or the tailwater on the other",
            )
            .positive(),
            Parameter::new(
                "leg_area",
                Dimension::AREA,
                "volume of the legs that stand in water for each unit of height, taken together: of \
                 a slanting leg its area over the sine of its slope",
            )
            .not_negative(),
            Parameter::new(
                "crest_rise",
                Dimension::LENGTH,
                "crown of the bore at the crest above the pond's level",
            )
            .not_negative(),
            PUMP_FLOW,
            END_PRESSURE,
            LEAK,
            OUTSIDE,
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::TIME),
        limits: &[Limit {
            says: "leg_area · crest_rise ≤ volume",
            holds: |a| a[1] * a[2] <= a[0],
        }],
        caution: Some(VACUUM_HURTS),
        source: PUMP_DOWN,
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("volume", "0.85 m^3"),
                    ("leg_area", "0.09 m^2"),
                    ("crest_rise", "3.2 m"),
                    ("pump_flow", "12 m^3/h"),
                    ("end_pressure", "15 kPa_abs"),
                    ("leak", "0.4 m^3/h"),
                    ("outside_pressure", "96.6 kPa_abs"),
                ],
                expected: "522.516694 s",
                tolerance: 1e-6,
                source: APART,
            },
            Check {
                arguments: &[
                    ("volume", "0.50 m^3"),
                    ("leg_area", "0 m^2"),
                    ("crest_rise", "4.0788648 m"),
                    ("pump_flow", "20 m^3/h"),
                    ("end_pressure", "0 kPa_abs"),
                    ("outside_pressure", "100 kPa_abs"),
                ],
                expected: "210 s",
                tolerance: 1e-6,
                source: "closed form for p_end = 0 and no leg: V/S₀ (1/0.6 − 1) = 60 s down to \
                         60 kPa, V/(0.6 S₀) = 150 s for the rest there, by hand",
            },
        ],
        body: Body::Series(priming_time_of_pump),
    },
    Formula {
        name: "line_priming_time",
        summary: "Time in which a real vacuum pump primes a line over its crest, while the water \
                  rises in the legs of the table's pieces.",
        equation: EQUATION,
        parameters: &[
            BORE,
            LENGTH,
            RISE,
            Parameter::new(
                "start_level",
                Dimension::LENGTH,
                "level of the pipe's axis at the mouth, which must be under water",
            ),
            POND_LEVEL,
            PUMP_FLOW,
            END_PRESSURE,
            Parameter::of_kind(
                "outlet",
                Kind::Choice(OUTLETS),
                "how the lower end keeps the air out: a closed valve, or its mouth under the \
                 tailwater, which then rises in that leg as well",
            )
            .or(0.0),
            Parameter::new(
                "tail_level",
                Dimension::LENGTH,
                "level of the tailwater, where the outlet is under water; no matter where it is \
                 closed",
            )
            .or(0.0),
            LEAK,
            OUTSIDE,
            DENSITY,
            GRAVITY,
        ],
        result: Output::new(Dimension::TIME),
        limits: &[],
        caution: Some(
            "One crest is meant: air that a second one holds back is not seen. 0 where no crown \
             rises above the pond. Thin plastic pipe collapses under vacuum: hold the pressure \
             outside against collapse_pressure with the long-term modulus.",
        ),
        source: PUMP_DOWN,
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("bore", "[250, 250, 250, 200] mm"),
                    ("length", "[5, 3, 6, 4] m"),
                    ("rise", "[3.5, 0, -4, -1] m"),
                    ("start_level", "-1 m"),
                    ("pond_level", "0 m"),
                    ("pump_flow", "10 m^3/h"),
                    ("end_pressure", "20 kPa_abs"),
                    ("leak", "0.2 m^3/h"),
                    ("outside_pressure", "98 kPa_abs"),
                ],
                expected: "481.073718 s",
                tolerance: 1e-4,
                source: APART,
            },
            Check {
                arguments: &[
                    ("bore", "[250, 250, 250, 200] mm"),
                    ("length", "[5, 3, 6, 4] m"),
                    ("rise", "[3.5, 0, -4, -1] m"),
                    ("start_level", "-1 m"),
                    ("pond_level", "0 m"),
                    ("pump_flow", "10 m^3/h"),
                    ("end_pressure", "20 kPa_abs"),
                    ("outlet", "under_water"),
                    ("tail_level", "-2.2 m"),
                    ("outside_pressure", "98 kPa_abs"),
                ],
                expected: "394.139260 s",
                tolerance: 1e-4,
                source: APART,
            },
        ],
        body: Body::Series(line_priming_time),
    },
    Formula {
        name: "vacuum_leak_rate",
        summary: "Air that leaks into a closed pipe, from the rise of its pressure in a \
                  vacuum-decay test.",
        equation: "Q = V Δp/(p_out t)",
        parameters: &[
            Parameter::new("volume", Dimension::VOLUME, "air space in the pipe during the test")
                .positive(),
            Parameter::new(
                "pressure_rise",
                Dimension::PRESSURE_DIFFERENCE,
                "by how much the pressure rose; water must not rise or fall meanwhile",
            )
            .not_negative(),
            Parameter::new("time", Dimension::TIME, "that the rise took").positive(),
            OUTSIDE,
        ],
        result: Output::new(Dimension::FLOW).shown_in("L/h", "ft^3/h"),
        limits: &[Limit { says: "pressure_rise ≤ outside_pressure", holds: |a| a[1] <= a[3] }],
        caution: Some(
            "As a volume flow at the outside pressure. Air that cools or warms by 3 K moves the \
             pressure by 1 %: test at a steady temperature. Dissolved gas that comes out adds to \
             it.",
        ),
        source: Source::exact(VACUUM, "rate-of-rise test of an isothermal gas"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("volume", "0.42 m^3"),
                ("pressure_rise", "6 kPa"),
                ("time", "35 min"),
                ("outside_pressure", "98 kPa_abs"),
            ],
            expected: "44.0816327 L/h",
            tolerance: 1e-8,
            source: "isothermal gas: 0.42 · 6/98 m³ in 35/60 h, by hand",
        }],
        body: side_by_side!(vacuum_leak_rate, a, b, c, d),
    },
    Formula {
        name: "leak_pump_minutes",
        summary: "Time in a day that a vacuum pump runs to carry off what leaks into a siphon.",
        equation: "t = 1 d · Q_leak p_out/(p S(p)); S = S₀ (p − p_end)/(p_out − p_end)",
        parameters: &[
            Parameter::new(
                "leak",
                Dimension::FLOW,
                "air that leaks in, as a volume flow at the outside pressure: vacuum_leak_rate",
            )
            .not_negative(),
            PUMP_FLOW,
            Parameter::new(
                "pressure",
                Dimension::PRESSURE,
                "absolute pressure at the crest, where the pump draws: lowest_pressure",
            )
            .positive(),
            END_PRESSURE,
            OUTSIDE,
        ],
        result: Output::new(Dimension::TIME).shown_in("min", "min"),
        limits: &[],
        caution: Some(
            "Air that comes out of solution at low pressure is to be carried off as well, and is \
             not in the leak rate of a dry test.",
        ),
        source: Source::exact(VACUUM, "balance of air over a day"),
        hides: Some("the day of 24 h"),
        checks: &[Check {
            arguments: &[
                ("leak", "45 L/h"),
                ("pump_flow", "12 m^3/h"),
                ("pressure", "62 kPa_abs"),
                ("end_pressure", "15 kPa_abs"),
                ("outside_pressure", "98 kPa_abs"),
            ],
            expected: "15.0733013 min",
            tolerance: 1e-7,
            source: "balance of air: 1440 min · 0.045 · 98/62 over 12 · 47/83, by hand",
        }],
        body: Body::Series(leak_pump_minutes),
    },
];

/// A vacuum pump on a leaking pipe.
struct Pump {
    flow: f64,
    end_pressure: f64,
    leak: f64,
    outside: f64,
}

impl Pump {
    /// Volume flow at its inlet.
    fn draws(&self, pressure: f64) -> f64 {
        self.flow * (pressure - self.end_pressure) / (self.outside - self.end_pressure)
    }

    /// What leaves the pipe, as pressure times volume per time.
    fn net(&self, pressure: f64) -> f64 {
        pressure * self.draws(pressure) - self.outside * self.leak
    }

    /// The pressure at which pump and leak hold one another.
    fn stall(&self) -> f64 {
        let constant = self.outside * self.leak * (self.outside - self.end_pressure) / self.flow;
        (self.end_pressure + (self.end_pressure.powi(2) + 4.0 * constant).sqrt()) / 2.0
    }

    /// The time until the water goes over the crest and all air is gone. `volume` gives the air
    /// that is left when the water stands at a height.
    fn primes(&self, rise: f64, weight: f64, volume: impl Fn(f64) -> f64) -> Result<f64, Refusal> {
        let last = self.outside - weight * rise;
        if self.end_pressure >= self.outside {
            return Err(Refusal("end_pressure: is not below the pressure outside".to_owned()));
        }
        let stall = self.stall();
        if last <= stall {
            let (last, stall) = (last / 1000.0, stall / 1000.0);
            return Err(Refusal(format!(
                "crest_rise: the water gets over the crest at {last:.1} kPa_abs; the pump, with \
                 the leak, comes down to {stall:.1} kPa_abs only"
            )));
        }
        // Equal steps in the logarithm of what is left above the stall: there the pump is slowest.
        let ratio = ((last - stall) / (self.outside - stall)).powf(1.0 / f64::from(STEPS));
        let (mut time, mut above) = (0.0, self.outside - stall);
        let content = |pressure: f64| pressure * volume((self.outside - pressure) / weight);
        let mut before = content(self.outside);
        for step in 1..=STEPS {
            let middle = stall + above * ratio.sqrt();
            above *= ratio;
            // The last step ends just where the water goes over.
            let pressure = if step == STEPS { last } else { stall + above };
            let now = content(pressure);
            time += (before - now) / self.net(middle);
            before = now;
        }
        Ok(time + before / self.net(last))
    }
}

fn priming_air(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let &[bore, length] = arguments else {
        return Err(Refusal("bore and length: expected".to_owned()));
    };
    let (line, _) = shape(&[bore, length, Argument::Number(0.0)])?;
    Ok(line.iter().map(|piece| circle_area(piece.bore) * piece.length).sum())
}

fn priming_time_of_pump(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let [volume, leg_area, rise, flow, end_pressure, leak, outside, density, gravity] =
        numbers(arguments)?;
    if leg_area * rise > volume {
        return Err(Refusal("volume: is less than what the legs hold up to the crest".to_owned()));
    }
    let pump = Pump { flow, end_pressure, leak, outside };
    pump.primes(rise, density * gravity, |height| volume - leg_area * height)
}

fn line_priming_time(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let (line, rest) = shape(arguments)?;
    let [start, pond, flow, end_pressure, outlet, tail, leak, outside, density, gravity] =
        numbers(rest)?;
    if start > pond {
        return Err(Refusal("start_level: the mouth is not under water".to_owned()));
    }
    let reaches = reaches(&line, start);
    let top = |of: fn(&Reach) -> f64| reaches.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let crest = top(|reach| reach.from.max(reach.to) + reach.bore / 2.0);
    let axis = top(|reach| reach.from.max(reach.to));
    // A level crest belongs to the upper leg. Levels have been added up: they meet nearly.
    let nearly = 1e-9 * (axis - start).abs();
    let behind = reaches.iter().rposition(|reach| reach.to >= axis - nearly).map_or(0, |at| at + 1);
    if crest <= pond {
        return Ok(0.0);
    }
    let (upper, lower) = reaches.split_at(behind);
    let volume = |height: f64| {
        let in_upper: f64 = upper.iter().map(|reach| reach.above(pond + height)).sum();
        let stands = if outlet == 0.0 { f64::NEG_INFINITY } else { tail + height };
        in_upper + lower.iter().map(|reach| reach.above(stands)).sum::<f64>()
    };
    Pump { flow, end_pressure, leak, outside }.primes(crest - pond, density * gravity, volume)
}

/// A piece between two levels of its axis.
struct Reach {
    from: f64,
    to: f64,
    bore: f64,
    volume: f64,
}

impl Reach {
    /// The part of its volume above a level; a level piece fills when the water meets its axis.
    fn above(&self, level: f64) -> f64 {
        let (low, high) = (self.from.min(self.to), self.from.max(self.to));
        let share = if level >= high {
            0.0
        } else if level <= low {
            1.0
        } else {
            (high - level) / (high - low)
        };
        share * self.volume
    }
}

fn reaches(line: &[Piece], start: f64) -> Vec<Reach> {
    let mut axis = start;
    line.iter()
        .map(|piece| {
            let from = axis;
            axis += piece.rise;
            Reach { from, to: axis, bore: piece.bore, volume: piece.area() * piece.length }
        })
        .collect()
}

fn vacuum_leak_rate(volume: f64, rise: f64, time: f64, outside: f64) -> f64 {
    volume * rise / (outside * time)
}

fn leak_pump_minutes(arguments: &[Argument<'_>]) -> Result<f64, Refusal> {
    let [leak, flow, pressure, end_pressure, outside] = numbers(arguments)?;
    let pump = Pump { flow, end_pressure, leak, outside };
    if pressure <= end_pressure || end_pressure >= outside {
        return Err(Refusal(
            "pressure: the pump draws nothing there, it is not above its end vacuum".to_owned(),
        ));
    }
    let share = leak * outside / (pressure * pump.draws(pressure));
    if share > 1.0 {
        return Err(Refusal(
            "leak: is more than the pump carries off when it never rests".to_owned(),
        ));
    }
    Ok(share * DAY)
}
