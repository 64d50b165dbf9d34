//! The likeliest cause of readings that differ from the plan: a short decision table.

use forebay_units::Dimension;

use crate::formula::{Body, Check, Formula, Output, Parameter, Range, Source, Standing};
use crate::sources::COMMON_PRACTICE;

/// What a machine may suffer from, in the order of [`Cause`].
const CAUSES: &[&str] = &[
    "as_planned",
    "blocked_screen",
    "vortex",
    "low_pond",
    "raised_tailwater",
    "air_leak",
    "wrong_dc_voltage",
    "blocked_runner",
    "worn_runner",
    "electrical_fault",
    "readings_contradict",
];

#[derive(Clone, Copy)]
enum Cause {
    AsPlanned,
    BlockedScreen,
    Vortex,
    LowPond,
    RaisedTailwater,
    AirLeak,
    WrongDcVoltage,
    BlockedRunner,
    WornRunner,
    ElectricalFault,
    ReadingsContradict,
}

/// A reading within this of the plan is as planned: what gauges and a weir can tell.
const AS_PLANNED: Range = Range::between(0.93, 1.07);
/// A voltage is read more closely than a flow.
const VOLTAGE_AS_PLANNED: Range = Range::between(0.95, 1.05);

const BY_HAND: &str = "common practice, no source: the table of the equation, by hand";

pub(crate) const LIKELIEST_CAUSE: Formula = Formula {
    name: "likeliest_cause",
    summary: "The likeliest cause of readings that differ from the plan, each given as what was \
        read over what the plan says: one of as_planned, blocked_screen, vortex (air drawn in at \
        the intake), low_pond, raised_tailwater, air_leak (or air at the crest), wrong_dc_voltage \
        (the runner is off its speed), blocked_runner, worn_runner, electrical_fault (or a worn \
        runner that takes its flow), readings_contradict. It names one: mend it, then read again.",
    equation: "η = power/(flow head), q = flow/√head; from the intake down, the first that holds: \
        η > 1.15 or q > 1.25: readings_contradict; screen_resistance ≥ 2: blocked_screen; \
        submergence ≤ 0.8 and η or q < 0.93: vortex; head < 0.93 and submergence ≤ 0.9: low_pond; \
        head < 0.93: raised_tailwater; crest_vacuum < 0.93 and η or q < 0.93: air_leak; \
        dc_voltage off by 5 % and η or q by 7 %: wrong_dc_voltage; q < 0.93: blocked_runner; \
        q > 1.07 and η < 0.93: worn_runner; η < 0.93: electrical_fault; q > 1.07, crest_vacuum \
        off by 7 % or screen_resistance < 0.5: readings_contradict; else as_planned",
    parameters: &[
        Parameter::new("power", Dimension::NONE, "at the meter or on the DC side, over the plan's")
            .not_negative(),
        Parameter::new(
            "flow",
            Dimension::NONE,
            "measured apart from the machine, over the plan's at the plan's head",
        )
        .positive(),
        Parameter::new(
            "head",
            Dimension::NONE,
            "pond's level less tailwater's, over the plan's; both on the day",
        )
        .positive(),
        Parameter::new(
            "dc_voltage",
            Dimension::NONE,
            "of the bus over the plan's; 1 where it is not read",
        )
        .positive()
        .or(1.0),
        Parameter::new(
            "screen_resistance",
            Dimension::NONE,
            "resistance_ratio of the screen against the clean one; 1 where its loss is not read",
        )
        .not_negative()
        .or(1.0),
        Parameter::new(
            "crest_vacuum",
            Dimension::NONE,
            "of a siphon's crest, over what crest_pressure says for the flow measured: both as air \
             pressure less the pressure there; 1 where it is not read",
        )
        .not_negative()
        .or(1.0),
        Parameter::new(
            "submergence",
            Dimension::NONE,
            "depth of water over the intake's crown, over the plan's; 1 where it is not read",
        )
        .not_negative()
        .or(1.0),
    ],
    result: Output::word_of(CAUSES),
    limits: &[],
    caution: Some(
        "A first guess from a table of rules of thumb, not a finding: several causes give the same \
         readings, and two may act at once. Check before you act, stop the machine before you \
         reach into screen, intake or runner, and leave live parts to a licensed person.",
    ),
    source: Source {
        work: COMMON_PRACTICE,
        place: "order and thresholds of the table, no source",
        standing: Standing::CommonPractice,
    },
    hides: None,
    checks: CHECKS,
    body: Body::Seven(likeliest_cause),
};

/// One for each answer, and one for each way in which readings contradict.
const CHECKS: &[Check] = &[
    Check {
        arguments: &[
            ("power", "0.71"),
            ("flow", "0.8"),
            ("head", "1.0"),
            ("screen_resistance", "2.4"),
            ("crest_vacuum", "1.1"),
            ("submergence", "0.75"),
        ],
        expected: "blocked_screen",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[
            ("power", "0.96"),
            ("flow", "1.02"),
            ("head", "0.98"),
            ("dc_voltage", "1.03"),
            ("screen_resistance", "1.3"),
            ("crest_vacuum", "0.97"),
            ("submergence", "0.95"),
        ],
        expected: "as_planned",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "0.68"), ("flow", "0.92"), ("head", "0.96"), ("submergence", "0.6")],
        expected: "vortex",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[
            ("power", "0.81"),
            ("flow", "0.94"),
            ("head", "0.88"),
            ("submergence", "0.85"),
        ],
        expected: "low_pond",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "0.74"), ("flow", "0.9"), ("head", "0.82"), ("submergence", "1.1")],
        expected: "raised_tailwater",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "0.7"), ("flow", "0.78"), ("head", "1"), ("crest_vacuum", "0.85")],
        expected: "air_leak",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "0.84"), ("flow", "1.03"), ("head", "1"), ("dc_voltage", "1.15")],
        expected: "wrong_dc_voltage",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "0.75"), ("flow", "0.82"), ("head", "1.01")],
        expected: "blocked_runner",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "0.88"), ("flow", "1.1"), ("head", "1")],
        expected: "worn_runner",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "0.66"), ("flow", "0.99"), ("head", "1"), ("dc_voltage", "1.01")],
        expected: "electrical_fault",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "1"), ("flow", "0.7"), ("head", "1"), ("screen_resistance", "3")],
        expected: "readings_contradict",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "1"), ("flow", "1"), ("head", "1"), ("crest_vacuum", "0.8")],
        expected: "readings_contradict",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "1"), ("flow", "1.3"), ("head", "1")],
        expected: "readings_contradict",
        tolerance: 0.0,
        source: BY_HAND,
    },
    Check {
        arguments: &[("power", "1.1"), ("flow", "1.1"), ("head", "1")],
        expected: "readings_contradict",
        tolerance: 0.0,
        source: BY_HAND,
    },
];

fn likeliest_cause(
    power: f64,
    flow: f64,
    head: f64,
    dc_voltage: f64,
    screen_resistance: f64,
    crest_vacuum: f64,
    submergence: f64,
) -> f64 {
    let efficiency = power / (flow * head);
    let opening = flow / head.sqrt();
    let falls_short = efficiency < AS_PLANNED.from || opening < AS_PLANNED.from;
    let differs = !AS_PLANNED.holds(efficiency) || !AS_PLANNED.holds(opening);
    // From the intake down: what stands before alters every reading behind it.
    let cause = if efficiency > 1.15 || opening > 1.25 {
        Cause::ReadingsContradict
    } else if screen_resistance >= 2.0 {
        Cause::BlockedScreen
    } else if submergence <= 0.8 && falls_short {
        Cause::Vortex
    } else if head < AS_PLANNED.from && submergence <= 0.9 {
        Cause::LowPond
    } else if head < AS_PLANNED.from {
        Cause::RaisedTailwater
    } else if crest_vacuum < AS_PLANNED.from && falls_short {
        Cause::AirLeak
    } else if !VOLTAGE_AS_PLANNED.holds(dc_voltage) && differs {
        Cause::WrongDcVoltage
    } else if opening < AS_PLANNED.from {
        Cause::BlockedRunner
    } else if opening > AS_PLANNED.to && efficiency < AS_PLANNED.from {
        Cause::WornRunner
    } else if efficiency < AS_PLANNED.from {
        Cause::ElectricalFault
    } else if opening > AS_PLANNED.to || !AS_PLANNED.holds(crest_vacuum) || screen_resistance < 0.5
    {
        Cause::ReadingsContradict
    } else {
        Cause::AsPlanned
    };
    f64::from(cause as u8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_cause_stands_at_the_place_of_its_word() {
        let places = [
            (Cause::AsPlanned, "as_planned"),
            (Cause::BlockedScreen, "blocked_screen"),
            (Cause::ReadingsContradict, "readings_contradict"),
        ];
        for (cause, word) in places {
            assert_eq!(CAUSES[cause as usize], word);
        }
        assert_eq!(CAUSES.len(), Cause::ReadingsContradict as usize + 1);
    }

    #[test]
    fn every_word_has_a_check() {
        for word in CAUSES {
            assert!(CHECKS.iter().any(|check| check.expected == *word), "{word}");
        }
    }
}
