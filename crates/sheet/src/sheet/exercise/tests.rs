//! Exercises with their faults: each the underlined text, the words and the way out.

use crate::exercise::{Accepted, Draw, Noise, Rounding, Wanted};
use crate::{Sheet, Value};

const SHEET: &str = "forebay: 1
currency: EUR
known:
  bore: { is: 200 mm, choose: [150 mm, 200 mm, 237.6 mm] }
  flow: { is: 40 L/s, between: [20 L/s, 60 L/s] }
  water: 8 degC
  price: 0.30 EUR
  stuff: steel
  true_flow: 31 L/s
  times: [3.1 s, 3.3 s]
work:
  velocity: { is: flow / circle_area(bore), about: Speed of the water in the pipe }
  fast: velocity > 1 m/s
  kind: 'if fast { \"fast\" } else { \"slow\" }'
  filled: 100 L / mean(times)
  cost: 3 * price
  warm: water + 5 K
check:
  calm: velocity < 3 m/s
tables:
  pipes: { columns: { size: mm, price: EUR }, rows: [[150, 3.00], [188.2, 4.00]] }
exercise:
";

fn with(block: &str) -> Sheet {
    let block: String = block.lines().map(|line| format!("  {line}\n")).collect();
    Sheet::open(&format!("{SHEET}{block}"))
}

/// What is told: the text underlined, the message and the way out.
fn told(block: &str) -> Vec<(String, String, String)> {
    let sheet = with(block);
    let told = sheet.diagnostics().into_iter().map(|d| {
        let piece = d.span().map(|span| sheet.sources().piece(span).to_owned());
        (piece.unwrap_or_default(), d.message.clone(), d.way_out().to_owned())
    });
    told.collect()
}

#[track_caller]
fn refused(block: &str, underlined: &str, words: &str, way_out: &str) {
    let told = told(block);
    let fits = told.iter().any(|(piece, message, help)| {
        piece == underlined && message.contains(words) && help.contains(way_out)
    });
    assert!(fits && told.len() == 1, "{block}\n{told:#?}");
}

#[track_caller]
fn sound(block: &str) -> crate::exercise::Exercise {
    assert_eq!(told(block), [], "{block}");
    with(block).exercise().expect("an exercise").clone()
}

#[test]
fn a_whole_exercise_is_read() {
    let exercise = sound(
        "title: A pipe
text: The pipe has a bore of {bore}.
caution: Only on paper.
vary:
  flow:
    between: [20 L/s, 60 L/s]
    step: 0.5 L/s
  bore:
  price:
    between: [0.20 EUR, 0.40 EUR]
  true_flow:
    between: [10 L/s, 30 L/s]
    figures: 2
    hidden: yes
readings:
  times:
    around: 100 L / true_flow
    count: 5
    noise: 2 %
    step: 0.1 s
where:
  calm: velocity < 4 m/s
ask:
  velocity:
    in: m/s
    tolerance: 1 %
    figures: 3
    points: 2
    hint: Area first, from {bore}.
  fast: Is it fast?
  kind:
    choose: [slow, fast]
  filled:
    between: ['0.9 * filled', '1.1 * filled']
  calm:
  cost:
    tolerance: 0.01 EUR
  warm:
    tolerance: 0.5 K
credit:
  slip: 40 %
  rounding: 0.9",
    );
    let draws: Vec<&Draw> = exercise.varied.iter().map(|varied| &varied.draw).collect();
    let Draw::Range { low, high, unit, rounding } = draws[0] else { panic!("{draws:?}") };
    assert_eq!((*low, *high, unit.symbol()), (20.0, 60.0, "L/s"));
    assert_eq!(*rounding, Rounding::Step { step: 0.5, decimals: 1 });
    let sizes = ["150 mm", "200 mm", "237.6 mm"].map(str::to_owned);
    assert_eq!(*draws[1], Draw::List(sizes.to_vec()));
    let Draw::Range { rounding, .. } = draws[2] else { panic!("{draws:?}") };
    assert_eq!(*rounding, Rounding::Step { step: 0.01, decimals: 2 });
    assert!(exercise.varied[3].hidden);
    let Draw::Readings { around, count, noise, unit, rounding } = draws[4] else { panic!() };
    assert_eq!((around.as_deref(), *count, unit.symbol()), (Some("100 L / true_flow"), 5, "s"));
    assert_eq!(*noise, Noise::Relative(0.02));
    assert_eq!(*rounding, Rounding::Step { step: 0.1, decimals: 1 });
    let first = &exercise.questions[0];
    assert_eq!(first.text, "Speed of the water in the pipe");
    let Wanted::Number { accepted, figures, .. } = &first.wanted else { panic!("{first:?}") };
    assert_eq!((accepted, *figures, first.points), (&Accepted::Share(0.01), Some(3), 2.0));
    assert_eq!(exercise.questions[1].wanted, Wanted::YesNo);
    assert_eq!(exercise.questions[4].text, "calm: yes or no?");
    assert_eq!((exercise.slip_credit, exercise.rounding_credit), (0.4, 0.9));
}

#[test]
fn a_list_may_be_a_column_of_a_table() {
    let exercise = sound("vary:\n  bore:\n    choose: pipes.size\nask:\n  velocity:");
    let sizes = ["150 mm", "188.2 mm"].map(str::to_owned);
    assert_eq!(exercise.varied[0].draw, Draw::List(sizes.to_vec()));
    let mut sheet = with("vary:\n  bore:\n    choose: pipes.size\nask:\n  velocity:");
    assert_eq!(sheet.value_for("bore", "188.2 mm"), Ok(Value::Number(0.1882)));
}

#[test]
fn what_varies_is_held_against_the_sheet() {
    let ask = "\nask:\n  velocity:";
    let vary = |entry: &str| format!("vary:\n  {entry}{ask}");
    refused(&vary("boar: { choose: [1 mm] }"), "boar", "no known `boar`", "`bore`");
    refused(&vary("velocity: { choose: [1 m/s] }"), "velocity", "worked out", "knowns");
    refused(&vary("water:"), "water", "not said", "between");
    refused(&vary("times: { choose: [1 s] }"), "times", "series", "readings");
    refused(&vary("bore: { between: [1 L, 2 L] }"), "1 L", "cannot become a volume", "");
    refused(&vary("bore: { between: [2 mm, 1 mm] }"), "2 mm, 1 mm", "no width", "lower end");
    refused(&vary("bore: { between: [1 mm, 2 mm], step: 1 L }"), "1 L", "is length", "5 mm");
    refused(&vary("bore: { between: [1 mm, 2 mm], step: 1 m }"), "1 m", "wider", "smaller");
    refused(
        &vary("bore: { between: [1 mm, 2 mm], step: 1e-12 mm }"),
        "1e-12 mm",
        "digits",
        "larger",
    );
    refused(&vary("bore: { choose: [1 L] }"), "[1 L]", "of volume", "same kind");
    refused(&vary("bore: { choose: [] }"), "[]", "", "");
    refused(&vary("bore: { between: [1 mm, 2 mm], choose: [1 mm] }"), "[1 mm]", "both", "keep");
    refused(&vary("stuff: { between: [1 mm, 2 mm] }"), "1 mm", "no range", "choose");
    refused(&vary("bore: { range: [1 mm, 2 mm] }"), "range", "no key", "`between`");
    refused(&vary("bore: 3 mm"), "3 mm", "expected", "");
    refused(&vary("flow: { figures: many }"), "many", "whole number", "");
    refused(&vary("price:\n    between: [0.20 EUR, 0.30 EUR]"), "price", "no answer depends", "");
}

#[test]
fn readings_are_held_against_the_sheet() {
    let readings = |entry: &str| format!("readings:\n  {entry}\nask:\n  filled:");
    refused(&readings("times: { noise: 1 mm }"), "1 mm", "is time or a percentage", "1.5 %");
    refused(&readings("times: { noise: -1 s }"), "-1 s", "not negative", "sign");
    refused(&readings("times: { count: 3 }"), "times", "no `noise`", "add `noise:`");
    refused(&readings("bore: { noise: 1 mm }"), "bore", "list of numbers", "[152 mm, 149 mm]");
    let around = "times: { noise: 1 s, around: '2 * flow' }";
    refused(&readings(around), "2 * flow", "are time", "without any error");
}

#[test]
fn questions_are_held_against_the_sheet() {
    let ask = |entry: &str| format!("ask:\n  {entry}");
    refused(&ask("velocty:"), "velocty", "no such cell", "`velocity`");
    refused(&ask("bore:"), "bore", "given to the learner", "work");
    refused(&ask("kind:"), "kind", "choose from", "choose");
    refused(&ask("kind: { choose: [slow] }"), "[slow]", "two words", "list");
    refused(&ask("velocity: { in: mm }"), "mm", "unit of length", "fits");
    refused(&ask("velocity: { in: m/sec }"), "sec", "unknown unit", "");
    refused(&ask("velocity: { tolerance: 1 mm }"), "1 mm", "is velocity or a percentage", "2 %");
    refused(&ask("velocity: { tolerance: 0 % }"), "0 %", "larger than zero", "rounding");
    refused(&ask("warm: { tolerance: 2 % }"), "2 %", "where its scale begins", "0.5 K");
    refused(&ask("velocity: { between: [1 m, 2 m] }"), "1 m", "this is length", "units");
    refused(&ask("fast: { tolerance: 2 % }"), "2 %", "only a number", "leave");
    refused(&ask("velocity: { points: none }"), "none", "above 0", "");
    refused("title: Nothing", "exercise", "asks nothing", "`ask:`");
    refused("ask:\n  velocity:\ncredit:\n  slip: 300 %", "300 %", "between 0 %", "50 %");
    refused(
        "ask:\n  velocity:\nwhere:\n  a: velocity + 1 m/s",
        "velocity + 1 m/s",
        "yes or no",
        "",
    );
    refused("ask:\n  velocity:\nwhere:\n  a: velocity > 1 m", "velocity", "compared", "");
}

#[test]
fn a_text_tells_what_is_given_and_nothing_else() {
    refused("text: Find {velocity}.\nask:\n  velocity:", "velocity", "not given", "knowns");
    refused("text: A {boar} of\nask:\n  velocity:", "boar", "no known", "`bore`");
    let hidden = "text: A {flow}\nvary:\n  flow: { hidden: yes }\nask:\n  filled:";
    assert!(
        told(hidden)
            .iter()
            .any(|(piece, message, _)| piece == "flow" && message.contains("not given"))
    );
    refused("vary:\n  flow: { hidden: yes }\nask:\n  velocity:", "flow", "is hidden", "readings");
}
