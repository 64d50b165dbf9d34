//! A runner with fixed blades under less than its flow: cycling from the pond, throttling, standing.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Kind, Limit, Output, Parameter, Source, Subject};
use crate::side_by_side::side_by_side;
use crate::sources::{DEFINITION, GORLA};

/// The subject.
pub(crate) static SUBJECT: Subject = Subject {
    name: "cycling",
    about: "What a runner that takes all or nothing makes of a small flow: from the pond in turns, \
        throttled, or not at all.",
    formulas: FORMULAS,
};

const WEAR: &str = "Each start wears belts, valves and switchgear, and a siphon must be primed anew; a \
    stream that swings each hour strands fish and surprises people on its banks. How much must stay in \
    it, and how fast it may change, is for the water-right permit to say.";

const FLOW: Parameter =
    Parameter::new("flow", Dimension::FLOW, "of the stream, steady over some cycles")
        .not_negative();

const TURBINE_FLOW: Parameter =
    Parameter::new("turbine_flow", Dimension::FLOW, "of the turbine while it runs").positive();

const VOLUME: Parameter = Parameter::new(
    "volume",
    Dimension::VOLUME,
    "of the pond between the levels at which it starts and stops",
)
.positive();

const RESIDUAL_FLOW: Parameter =
    Parameter::new("residual_flow", Dimension::FLOW, "that stays in the stream")
        .not_negative()
        .or(0.0);

const START_LOSS: Parameter = Parameter::new(
    "start_loss",
    Dimension::TIME,
    "at each start, for which water runs and no power comes: priming, running up, connecting",
)
.not_negative()
.or(0.0);

const CYCLES: Limit = Limit {
    says: "a flow above the residual flow, and less than the turbine's above it: else it does not cycle",
    holds: |of| {
        let [volume, flow, turbine_flow, residual_flow] = [of[0], of[1], of[2], of[3]];
        cycle_time(volume, flow, turbine_flow, residual_flow).is_finite()
    },
};

const WAYS: &[&str] = &["best", "cycled", "throttled", "standing"];

static FORMULAS: &[Formula] = &[
    Formula {
        name: "cycled_share",
        summary: "The share of the time for which a turbine runs that takes all or nothing.",
        equation: "min(max(Q − Q_r, 0)/Q_t, 1)",
        parameters: &[FLOW, TURBINE_FLOW, RESIDUAL_FLOW],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(WEAR),
        source: Source::exact(DEFINITION, "balance of volume over a cycle"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("flow", "32 L/s"),
                    ("turbine_flow", "60 L/s"),
                    ("residual_flow", "8 L/s"),
                ],
                expected: "0.4",
                tolerance: 1e-12,
                source: "by hand, 24/60",
            },
            Check {
                arguments: &[("flow", "90 L/s"), ("turbine_flow", "60 L/s")],
                expected: "1",
                tolerance: 0.0,
                source: "by hand: there is enough for the whole time",
            },
        ],
        body: side_by_side!(cycled_share, a, b, c),
    },
    Formula {
        name: "cycle_time",
        summary: "The time from one start of a turbine that cycles to the next.",
        equation: "T = V/q + V/(Q_t − q), q = Q − Q_r",
        parameters: &[VOLUME, FLOW, TURBINE_FLOW, RESIDUAL_FLOW],
        result: Output::new(Dimension::TIME),
        limits: &[CYCLES],
        caution: Some(WEAR),
        source: Source::exact(DEFINITION, "balance of volume over a cycle"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("volume", "200 m^3"),
                ("flow", "45 L/s"),
                ("turbine_flow", "60 L/s"),
                ("residual_flow", "5 L/s"),
            ],
            expected: "15000 s",
            tolerance: 1e-12,
            source: "by hand: fills at 40 L/s in 5000 s, empties at 20 L/s in 10 000 s",
        }],
        body: side_by_side!(cycle_time, a, b, c, d),
    },
    Formula {
        name: "cycle_starts",
        summary: "How often a turbine that cycles starts; none where it runs on or stands.",
        equation: "n = q (Q_t − q)/(V Q_t), q = Q − Q_r",
        parameters: &[VOLUME, FLOW, TURBINE_FLOW, RESIDUAL_FLOW],
        result: Output::new(Dimension::FREQUENCY).shown_in("1/d", "1/d"),
        limits: &[],
        caution: Some(WEAR),
        source: Source::exact(DEFINITION, "balance of volume over a cycle"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("volume", "200 m^3"),
                    ("flow", "45 L/s"),
                    ("turbine_flow", "60 L/s"),
                    ("residual_flow", "5 L/s"),
                ],
                expected: "5.76 1/d",
                tolerance: 1e-12,
                source: "by hand, 86 400 s by 15 000 s",
            },
            Check {
                arguments: &[
                    ("volume", "200 m^3"),
                    ("flow", "70 L/s"),
                    ("turbine_flow", "60 L/s"),
                    ("residual_flow", "5 L/s"),
                ],
                expected: "0 1/d",
                tolerance: 0.0,
                source: "by hand: it runs on",
            },
        ],
        body: side_by_side!(cycle_starts, a, b, c, d),
    },
    Formula {
        name: "cycled_flow",
        summary: "The flow that makes power, on the mean over its cycles, of a turbine that takes all \
            or nothing.",
        equation: "q − Q_t t_start/T, q = min(max(Q − Q_r, 0), Q_t); not below 0",
        parameters: &[FLOW, TURBINE_FLOW, VOLUME, RESIDUAL_FLOW, START_LOSS],
        result: Output::new(Dimension::FLOW),
        limits: &[],
        caution: Some(WEAR),
        source: Source::exact(DEFINITION, "balance of volume over a cycle"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("flow", "45 L/s"),
                    ("turbine_flow", "60 L/s"),
                    ("volume", "200 m^3"),
                    ("residual_flow", "5 L/s"),
                    ("start_loss", "5 min"),
                ],
                expected: "38.8 L/s",
                tolerance: 1e-12,
                source: "by hand: 40 L/s less 18 m³ each 15 000 s",
            },
            Check {
                arguments: &[
                    ("flow", "90 L/s"),
                    ("turbine_flow", "60 L/s"),
                    ("volume", "200 m^3"),
                    ("residual_flow", "5 L/s"),
                    ("start_loss", "5 min"),
                ],
                expected: "60 L/s",
                tolerance: 1e-12,
                source: "by hand: it runs on, without starts",
            },
        ],
        body: side_by_side!(cycled_flow, a, b, c, d, e),
    },
    Formula {
        name: "cycled_energy_share",
        summary: "What a turbine that cycles makes over what it would make running on; at the mean \
            head between its two levels.",
        equation: "(q − Q_t t_start/T)/Q_t",
        parameters: &[FLOW, TURBINE_FLOW, VOLUME, RESIDUAL_FLOW, START_LOSS],
        result: Output::new(Dimension::NONE),
        limits: &[],
        caution: Some(WEAR),
        source: Source::exact(DEFINITION, "balance of volume over a cycle"),
        hides: None,
        checks: &[Check {
            arguments: &[
                ("flow", "45 L/s"),
                ("turbine_flow", "60 L/s"),
                ("volume", "200 m^3"),
                ("residual_flow", "5 L/s"),
                ("start_loss", "5 min"),
            ],
            expected: "0.646666666666667",
            tolerance: 1e-12,
            source: "by hand: 10 000 s less 300 s, of 15 000 s",
        }],
        body: side_by_side!(cycled_energy_share, a, b, c, d, e),
    },
    Formula {
        name: "throttled_power",
        summary: "The most that a runner with fixed blades gives when a valve lets through less than \
            its flow and its speed follows.",
        equation: "P = P_d (q/Q_d)³: the runner's own head falls with the square of its flow",
        parameters: &[
            Parameter::new("flow", Dimension::FLOW, "through the runner").not_negative(),
            Parameter::new("design_flow", Dimension::FLOW, "of the runner under the whole head")
                .positive(),
            Parameter::new("design_power", Dimension::POWER, "at the design flow").not_negative(),
        ],
        result: Output::new(Dimension::POWER),
        limits: &[Limit { says: "flow ≤ design_flow", holds: |of| of[0] <= of[1] }],
        caution: Some(
            "At a speed that the grid holds it gives less, and below some flow it takes power: \
             a maker's curve is worth more than this law.",
        ),
        source: Source::memory(GORLA, "affinity laws at one unit speed, Q ∝ √H and P ∝ H^1.5"),
        hides: None,
        checks: &[Check {
            arguments: &[("flow", "45 L/s"), ("design_flow", "60 L/s"), ("design_power", "3.2 kW")],
            expected: "1.35 kW",
            tolerance: 1e-12,
            source: "by hand, 3.2 · 27/64",
        }],
        body: side_by_side!(throttled_power, a, b, c),
    },
    Formula {
        name: "fixed_blade_power",
        summary: "The mean power of a runner with fixed blades from a stream that may bring less than \
            its flow: in turns from the pond, throttled, standing, or the best of them.",
        equation: "cycled P_d (q − Q_d t_start/T)/Q_d; throttled P_d (q/Q_d)³; standing 0; where q = \
                   min(max(Q − Q_r, 0), Q_d) reaches Q_d, P_d in each way",
        parameters: &[
            FLOW,
            Parameter::new("design_flow", Dimension::FLOW, "of the runner").positive(),
            Parameter::new("design_power", Dimension::POWER, "at the design flow").not_negative(),
            VOLUME,
            RESIDUAL_FLOW,
            START_LOSS,
            Parameter::of_kind(
                "way",
                Kind::Choice(WAYS),
                "how it meets a small flow; the best way unless given",
            )
            .or(0.0),
        ],
        result: Output::new(Dimension::POWER),
        limits: &[],
        caution: Some(WEAR),
        source: Source::exact(DEFINITION, "balance of volume; throttling by the affinity laws"),
        hides: None,
        checks: &[
            Check {
                arguments: &[
                    ("flow", "45 L/s"),
                    ("design_flow", "60 L/s"),
                    ("design_power", "3 kW"),
                    ("volume", "200 m^3"),
                    ("residual_flow", "5 L/s"),
                    ("start_loss", "5 min"),
                ],
                expected: "1.94 kW",
                tolerance: 1e-12,
                source: "by hand: 9700 s of 15 000 s at 3 kW; throttled it would be 3 · 8/27 kW",
            },
            Check {
                arguments: &[
                    ("flow", "59 L/s"),
                    ("design_flow", "60 L/s"),
                    ("design_power", "3 kW"),
                    ("volume", "0.1 m^3"),
                    ("residual_flow", "5 L/s"),
                    ("start_loss", "1 min"),
                ],
                expected: "2.187 kW",
                tolerance: 1e-12,
                source: "by hand: so small a pond gives no time to start, 3 · 0.9³ throttled",
            },
            Check {
                arguments: &[
                    ("flow", "59 L/s"),
                    ("design_flow", "60 L/s"),
                    ("design_power", "3 kW"),
                    ("volume", "200 m^3"),
                    ("residual_flow", "5 L/s"),
                    ("way", "standing"),
                ],
                expected: "0 kW",
                tolerance: 0.0,
                source: "by hand: it stands below its flow",
            },
        ],
        body: Body::Seven(fixed_blade_power),
    },
];

/// What the turbine may take of the stream.
fn usable(flow: f64, turbine_flow: f64, residual_flow: f64) -> f64 {
    (flow - residual_flow).max(0.0).min(turbine_flow)
}

fn cycled_share(flow: f64, turbine_flow: f64, residual_flow: f64) -> f64 {
    usable(flow, turbine_flow, residual_flow) / turbine_flow
}

fn cycle_time(volume: f64, flow: f64, turbine_flow: f64, residual_flow: f64) -> f64 {
    // Infinite where it runs on or stands: no answer then.
    1.0 / cycle_starts(volume, flow, turbine_flow, residual_flow)
}

fn cycle_starts(volume: f64, flow: f64, turbine_flow: f64, residual_flow: f64) -> f64 {
    let q = usable(flow, turbine_flow, residual_flow);
    q * (turbine_flow - q) / (volume * turbine_flow)
}

fn cycled_flow(
    flow: f64,
    turbine_flow: f64,
    volume: f64,
    residual_flow: f64,
    start_loss: f64,
) -> f64 {
    let starts = cycle_starts(volume, flow, turbine_flow, residual_flow);
    let lost = turbine_flow * start_loss * starts;
    (usable(flow, turbine_flow, residual_flow) - lost).max(0.0)
}

fn cycled_energy_share(
    flow: f64,
    turbine_flow: f64,
    volume: f64,
    residual_flow: f64,
    start_loss: f64,
) -> f64 {
    cycled_flow(flow, turbine_flow, volume, residual_flow, start_loss) / turbine_flow
}

fn throttled_power(flow: f64, design_flow: f64, design_power: f64) -> f64 {
    design_power * (flow / design_flow).powi(3)
}

fn fixed_blade_power(
    flow: f64,
    design_flow: f64,
    design_power: f64,
    volume: f64,
    residual_flow: f64,
    start_loss: f64,
    way: f64,
) -> f64 {
    let q = usable(flow, design_flow, residual_flow);
    if q >= design_flow {
        return design_power;
    }
    let cycled =
        design_power * cycled_energy_share(flow, design_flow, volume, residual_flow, start_loss);
    let throttled = throttled_power(q, design_flow, design_power);
    let all = [cycled.max(throttled), cycled, throttled, 0.0];
    // The index comes from the choice, which is as long as this list.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    all.get(way as usize).copied().unwrap_or(f64::NAN)
}
