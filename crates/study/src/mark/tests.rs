//! Marking: each slip named rightly, errors carried forward, nothing lost, nobody accused.
//!
//! The right answers are worked out by hand beside the sheet; the wrong ones are what the slip
//! gives by hand.

use proptest::prelude::*;

use super::*;
use crate::exercise::KeyLearner;
use crate::spread::draw::Stream;

/// By hand: velocity 0.040/(π/4·0.2²) = 1.2732 m/s; power 1000·9.80665·0.040·5 = 1961.3 W; rise
/// 10·sin 30° = 5 m; torque 1961.3/(2π·1500/60) = 12.486 N m; crest 101.325 − 30 = 71.325 kPa; weight
/// 50·9.80665 = 490.33 N; column 9806.65·5 = 49.033 kPa; filling 12·4.54609/30 = 1.8184 L/s; fall
/// 96.2 − 100 = −3.8 m; warm 8 + 5 = 13 °C; opening 2·30 = 60°.
const SHEET: &str = "forebay: 1
known:
  flow: 40 L/s
  bore: 200 mm
  head: 5 m
  altitude: 0 m
  speed: 1500 rpm
  slope: 30 deg
  length: 10 m
  tank: 12 gal_UK
  time: 30 s
  mass: 50 kg
  pond: 100 m
  tail: 96.2 m
  water: 8 degC
work:
  velocity: flow / circle_area(bore)
  power: water_power(flow, head)
  rise: length * sin(slope)
  torque: shaft_torque(power, speed)
  crest: atmospheric_pressure(altitude) - 30 kPa
  weight: { is: mass * standard_gravity, in: N }
  column: { is: 1000 kg/m^3 * standard_gravity * head, in: kPa }
  filling: { is: tank / time, in: L/s }
  fall: tail - pond
  warm: water + 5 K
  opening: 2 * slope
  fast: velocity > 2 m/s
  kind: 'if velocity > 2 m/s { \"quick\" } else { \"slow\" }'
exercise:
  ask:
    velocity: { in: m/s, figures: 3 }
    power: { points: 2 }
    rise:
    torque: { in: Nm }
    crest: { in: kPa_abs, tolerance: 1 kPa }
    weight: { in: N }
    column:
    filling:
    fall: { in: m }
    warm: { in: degC, tolerance: 0.5 K }
    opening:
    fast:
    kind: { choose: [slow, quick] }
";

fn key(learners: usize) -> Key {
    let one = |number: usize| KeyLearner {
        learner: format!("{number:02}"),
        given: vec![("flow".to_owned(), "40 L/s".to_owned())],
        right: Vec::new(),
    };
    Key {
        name: "sheet".to_owned(),
        title: "A test".to_owned(),
        text: SHEET.to_owned(),
        files: std::collections::BTreeMap::new(),
        seed: 1,
        learners: (1..=learners).map(one).collect(),
    }
}

fn handed(learner: &str, question: &str, answer: &str) -> Handed {
    let (learner, question, answer) = (learner.into(), question.into(), answer.into());
    Handed { line: 2, learner, question, answer }
}

/// The verdict on one answer alone.
fn verdict(question: &str, answer: &str) -> Verdict {
    let marked = mark(&key(1), &[handed("1", question, answer)]).unwrap();
    item(&marked.learners[0], question).verdict.clone()
}

fn item<'m>(marks: &'m Marks, question: &str) -> &'m Item {
    marks.items.iter().find(|item| item.cell == question).expect("the question")
}

#[track_caller]
fn is(question: &str, answer: &str, word: &str) {
    let found = verdict(question, answer);
    assert_eq!(found.word(), word, "{question} = {answer}: {found:?}");
}

#[track_caller]
fn slips(question: &str, answer: &str, name: &str, words: &str) {
    match verdict(question, answer) {
        Verdict::Slip { name: found, says, .. } => {
            assert_eq!(found, name, "{question} = {answer}: {says}");
            assert!(says.contains(words), "{question} = {answer}: {says}");
        }
        other => panic!("{question} = {answer}: {other:?} instead of {name}"),
    }
}

#[test]
fn right_answers_however_they_are_written() {
    for (question, answer) in [
        ("velocity", "1.27 m/s"),
        ("velocity", "1.27"),
        ("velocity", "1,27 m/s"),
        ("velocity", "v = 4.18 ft/s"),
        ("velocity", "127 cm/s"),
        ("power", "1,961 W"),
        ("power", "1.961 kW"),
        ("power", "1961 watts"),
        ("power", "1.96 KW"),
        ("torque", "12.5 N*m"),
        ("torque", "12.5"),
        ("crest", "71.3 kPa_abs"),
        ("crest", "71.3 kPa"),
        ("crest", "71.3 kPa absolute"),
        ("crest", "0.713 bar_abs"),
        ("weight", "490 N"),
        ("column", "49.0 kPa"),
        ("filling", "1.82 l/s"),
        ("fall", "-3.8 m"),
        ("warm", "13.2 °C"),
        ("warm", "286 K_abs"),
        ("opening", "60 degrees"),
        ("opening", "60°"),
        ("opening", "1.047 rad"),
        ("fast", "No"),
        ("kind", "a"),
        ("kind", "Slow"),
    ] {
        is(question, answer, "right");
    }
}

#[test]
fn each_slip_is_named_rightly() {
    slips("fall", "3.8 m", "sign", "sign");
    slips("power", "1.961 W", "factor-1000", "1000");
    slips("power", "1961 kW", "factor-1000", "1000");
    slips("velocity", "1.27 ft/s", "wrong-unit", "right in m/s");
    slips("velocity", "1.27 kg", "wrong-unit", "right in m/s");
    slips("velocity", "4.18 m/s", "wrong-unit", "right in ft/s");
    slips("crest", "-30.0 kPa_gauge", "gauge-for-absolute", "gauge");
    slips("crest", "172.7 kPa_abs", "gauge-for-absolute", "gauge");
    // 0.040/(π/4·0.1²), and 0.040/(π/4·0.4²).
    slips("velocity", "5.09 m/s", "radius-for-bore", "the bore of 200 mm");
    slips("velocity", "0.318 m/s", "radius-for-bore", "the bore of 200 mm");
    // 10·sin(30 rad).
    slips("rise", "-9.88 m", "degrees-for-radians", "the slope of 30 deg");
    // 1961.3/1500.
    slips("torque", "1.308 Nm", "rpm-for-radians", "the speed of 1500 rpm");
    // 12·3.785412/30.
    slips("filling", "1.514 L/s", "gallons", "the tank of 12 gal_UK");
    slips("weight", "50.0 N", "mass-for-weight", "g");
    slips("weight", "4809 N", "mass-for-weight", "g");
    slips("column", "5.00 kPa", "head-for-pressure", "head");
    slips("column", "5.00 m", "head-for-pressure", "head");
    slips("opening", "60.0 rad", "wrong-unit", "right in deg");
    slips("opening", "1.047 deg", "degrees-for-radians", "radians");
    slips("filling", "109 L/s", "time-unit", "minutes");
    slips("warm", "286.2 degC", "celsius-for-kelvin", "Celsius");
    slips("velocity", "12.7 m/s", "power-of-ten", "ten");
    slips("rise", "-3.80 m", "another-question", "`fall`");
    slips("power", "1961", "no-unit", "right in W");
}

#[test]
fn a_word_that_several_units_claim_is_no_right_unit() {
    slips("filling", "0.480 gal/s", "unclear-unit", "gal");
    // Where one of them is asked for, that one is meant: 1961.3/745.70.
    let mut key = key(1);
    key.text = key.text.replace("power: { points: 2 }", "power: { in: hp_mechanical }");
    let marked = mark(&key, &[handed("1", "power", "2.63 hp")]).unwrap();
    assert_eq!(item(&marked.learners[0], "power").verdict, Verdict::Right);
}

#[test]
fn wrong_answers_are_wrong_and_nothing_else() {
    for (question, answer) in [
        ("velocity", "1.74 m/s"),
        ("velocity", "0.9"),
        ("power", "1400 W"),
        ("power", "3 m"),
        ("torque", "22 Nm"),
        ("crest", "64 kPa_abs"),
        ("fast", "yes"),
        ("kind", "quick"),
        ("column", "37 kPa"),
        ("velocity", "0 m/s"),
    ] {
        is(question, answer, "wrong");
    }
}

#[test]
fn figures_count_where_they_are_asked_for() {
    is("velocity", "1.3 m/s", "rounded");
    is("velocity", "1.2 m/s", "rounded");
    is("velocity", "1.28 m/s", "right");
    is("velocity", "1.2732 m/s", "right");
    is("power", "2 kW", "right");
    is("column", "50 kPa", "right");
}

#[test]
fn what_cannot_be_read_is_kept() {
    is("velocity", "dunno", "unread");
    is("velocity", "12 flurbs", "unread");
    is("fast", "perhaps", "unread");
    is("kind", "swift", "unread");
    is("velocity", " - ", "blank");
}

#[test]
fn an_error_is_carried_forward() {
    // 2500/(2π·25) = 15.915 N m follows from the wrong power.
    let marked = |torque: &str| {
        let all = [handed("1", "power", "2500 W"), handed("1", "torque", torque)];
        mark(&key(1), &all).unwrap().learners.remove(0)
    };
    let marks = marked("15.9 Nm");
    assert_eq!(item(&marks, "power").verdict, Verdict::Wrong);
    let carried = Verdict::Carried { from: vec!["power".to_owned()] };
    assert_eq!(item(&marks, "torque").verdict, carried);
    assert_eq!(item(&marks, "torque").points, 1.0);
    // The right one is right all the same, and a third one is wrong.
    assert_eq!(item(&marked("12.5 Nm"), "torque").verdict, Verdict::Right);
    assert_eq!(item(&marked("9.1 Nm"), "torque").verdict, Verdict::Wrong);
    // A slip on the way from the wrong one: 2500/1500.
    let marks = marked("1.667 Nm");
    let Verdict::Slip { name, from, .. } = &item(&marks, "torque").verdict else { panic!() };
    assert_eq!((*name, from.as_slice()), ("rpm-for-radians", &["power".to_owned()][..]));
    // A truth follows as well: 5.09 m/s is fast.
    let all = [handed("1", "velocity", "5.09 m/s"), handed("1", "fast", "yes")];
    let marks = mark(&key(1), &all).unwrap().learners.remove(0);
    assert_eq!(item(&marks, "fast").verdict.word(), "carried");
}

#[test]
fn a_unit_slip_that_is_mended_later_costs_once() {
    // 1961 kW was written, 1961 W was reckoned with.
    let all = [handed("1", "power", "1961 kW"), handed("1", "torque", "12.5 Nm")];
    let marks = mark(&key(1), &all).unwrap().learners.remove(0);
    assert_eq!(item(&marks, "power").verdict.word(), "slip");
    assert_eq!(item(&marks, "torque").verdict, Verdict::Right);
    assert_eq!(item(&marks, "power").points, 1.0);
}

#[test]
fn nothing_is_lost() {
    let all = [
        handed("1", "velocity", "1.27"),
        handed("01", "Velocity", "1.27"),
        handed("2", "Q2", "1961 W"),
        handed("2", "power", "1400 W"),
        handed("9", "velocity", "1.27"),
        handed("", "velocity", "1.27"),
        handed("1", "velocty", "1.27"),
        handed("1", "99", "1.27"),
    ];
    let marked = mark(&key(2), &all).unwrap();
    let strays: Vec<&str> = marked.strays.iter().map(|stray| stray.why.as_str()).collect();
    assert_eq!(
        strays,
        [
            "nobody is called `9`",
            "it does not say whose it is",
            "there is no question `velocty`; perhaps `velocity`",
            "there is no question `99`",
        ]
    );
    let counted: usize = marked
        .learners
        .iter()
        .flat_map(|marks| &marks.items)
        .map(|item| item.handed.len())
        .sum::<usize>()
        + marked.strays.len();
    assert_eq!(counted, all.len());
    // The same twice is once; two different ones are nobody's to choose.
    assert_eq!(item(&marked.learners[0], "velocity").verdict, Verdict::Right);
    assert_eq!(item(&marked.learners[1], "power").verdict, Verdict::Twice);
    assert_eq!(item(&marked.learners[1], "velocity").verdict, Verdict::Blank);
}

#[test]
fn the_class_is_summed_up() {
    let mut all = Vec::new();
    for learner in ["1", "2", "3"] {
        all.push(handed(learner, "velocity", "5.09 m/s"));
        all.push(handed(learner, "weight", "490 N"));
    }
    all.push(handed("4", "velocity", "1.27 m/s"));
    let class = mark(&key(5), &all).unwrap().class;
    assert_eq!(class.answered, 4);
    let hardest = class.hardest().unwrap();
    assert_eq!((hardest.cell.as_str(), hardest.went_wrong()), ("velocity", 3));
    assert_eq!(hardest.slips, [("radius-for-bore", 3)]);
    // Three halves and a whole, over four.
    assert!((hardest.share - 0.625).abs() < 1e-12);
}

#[test]
fn the_working_stands_beside_what_is_wrong() {
    let all = [handed("1", "torque", "22 Nm"), handed("1", "velocity", "1.27")];
    let marks = mark(&key(1), &all).unwrap().learners.remove(0);
    let working = &item(&marks, "torque").working;
    let last = working.last().expect("a step");
    assert_eq!(last.name, "torque");
    assert!(last.with_numbers.as_deref().unwrap().contains("1500 rpm"), "{last:?}");
    // That of the power stands with the question for it.
    assert_eq!(working.len(), 1);
    assert!(item(&marks, "velocity").working.is_empty());
}

#[test]
fn a_key_that_gives_other_answers_says_so() {
    let mut key = key(1);
    assert_eq!(mark(&key, &[]).unwrap().differs.len(), 13);
    key.learners[0].right = vec![("power".to_owned(), String::new(), Some(1961.33))];
    assert_eq!(mark(&key, &[]).unwrap().differs.len(), 12);
    key.learners[0].given[0].1 = "many".to_owned();
    assert!(mark(&key, &[]).is_err());
}

/// The share of random wrong answers that are called a slip. They lie between a fifth and five
/// times the right one with three figures, as a wrong method would give, and are drawn anew for each
/// question.
#[test]
fn hardly_anybody_is_accused_falsely() {
    let mut stream = Stream::new(11, 0);
    let questions = [
        ("velocity", 1.2732, "m/s"),
        ("power", 1961.33, "W"),
        ("torque", 12.486, "Nm"),
        ("crest", 71.325, "kPa_abs"),
        ("weight", 490.33, "N"),
        ("column", 49.033, "kPa"),
        ("filling", 1.8184, "L/s"),
    ];
    let (mut tried, mut accused, mut by_name) =
        (0_u32, 0_u32, std::collections::BTreeMap::<&str, u32>::new());
    let each = 150;
    let key = key(each);
    for (question, right, unit) in questions {
        let all: Vec<Handed> = (1..=each)
            .map(|learner| {
                let factor = 25_f64.powf(stream.between_0_and_1() - 0.5);
                handed(&learner.to_string(), question, &format!("{:.2e} {unit}", right * factor))
            })
            .collect();
        for marks in mark(&key, &all).unwrap().learners {
            match &item(&marks, question).verdict {
                Verdict::Wrong => tried += 1,
                Verdict::Slip { name, .. } => {
                    tried += 1;
                    accused += 1;
                    *by_name.entry(name).or_default() += 1;
                }
                _ => {}
            }
        }
    }
    let share = f64::from(accused) / f64::from(tried);
    assert!(tried > 900, "{tried}");
    assert!(share < 0.03, "{accused} of {tried}: {by_name:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn whatever_is_handed_in_is_marked_and_kept(answer in "\\PC{0,24}", learner in "\\PC{0,6}") {
        let all = [handed(&learner, "velocity", &answer), handed("1", "power", &answer)];
        let marked = mark(&key(1), &all).unwrap();
        let kept: usize = marked.learners[0].items.iter().map(|item| item.handed.len()).sum();
        prop_assert_eq!(kept + marked.strays.len(), 2);
        prop_assert!(marked.learners[0].points <= marked.learners[0].of);
    }

    #[test]
    fn a_right_answer_is_right_in_any_unit(at in 0_usize..6, figures in 3_usize..7) {
        let unit = ["m/s", "ft/s", "km/h", "cm/s", "mph", "mm/s"][at];
        let unit = forebay_units::Unit::parse(unit).unwrap();
        // 0.040/(π/4·0.2²)
        let right = 0.040 / (std::f64::consts::PI * 0.01);
        let number = forebay_units::format_significant(unit.from_si(right), figures).unwrap();
        let found = verdict("velocity", &format!("{number} {unit}"));
        prop_assert_eq!(found, Verdict::Right);
    }
}

/// In thirty variants of the siphon, with numbers rounded to three figures as learners write them:
/// right answers are right, and slips are named.
#[test]
fn slips_are_named_in_thirty_variants() {
    let mut sheet = Sheet::open(forebay_sheet::template("exercise-siphon").unwrap().text);
    let drawn = crate::variants(&mut sheet, 30, 7, &mut |_, _| true).unwrap();
    let key = Key::new(&sheet, 7, &drawn, &[]).unwrap();
    let si = |learner: &KeyLearner, cell: &str| {
        let (.., si) = learner.right.iter().find(|(name, ..)| name == cell).unwrap();
        si.unwrap()
    };
    let three = |number: f64| forebay_units::format_significant(number, 3).unwrap();
    type Wrong = fn(f64) -> f64;
    // What is handed in instead of the right velocity in m/s, head in m, pressure in kPa, power in kW.
    let slips: [(&str, &str, &str, Wrong); 8] = [
        ("velocity", "m/s", "radius-for-bore", |v| 4.0 * v),
        ("velocity", "ft/s", "wrong-unit", |v| v),
        ("velocity", "m/s", "factor-1000", |v| 1000.0 * v),
        ("loss_to_crest", "m", "sign", |h| -h),
        ("loss_to_crest", "m", "power-of-ten", |h| 10.0 * h),
        ("loss_to_crest", "kPa", "head-for-pressure", |h| 9.81 * h),
        ("power", "kW", "mass-for-weight", |p| p / 9.81),
        ("power", "MW", "factor-1000", |p| p),
    ];
    for (cell, unit, name, wrong) in slips {
        let scale = if cell == "power" { 1e3 } else { 1.0 };
        let all: Vec<Handed> = key
            .learners
            .iter()
            .map(|learner| {
                let answer = three(wrong(si(learner, cell) / scale));
                handed(&learner.learner, cell, &format!("{answer} {unit}"))
            })
            .collect();
        for marks in mark(&key, &all).unwrap().learners {
            let verdict = &item(&marks, cell).verdict;
            let named = matches!(verdict, Verdict::Slip { name: found, .. } if *found == name);
            assert!(named, "{}: {cell} with {name}: {verdict:?}", marks.learner);
        }
    }
    let right: Vec<Handed> = key
        .learners
        .iter()
        .flat_map(|learner| {
            ["velocity", "loss_to_crest", "crest_pressure"].map(|cell| {
                let (unit, scale) = match cell {
                    "velocity" => ("m/s", 1.0),
                    "loss_to_crest" => ("m", 1.0),
                    _ => ("kPa_abs", 1e3),
                };
                handed(
                    &learner.learner,
                    cell,
                    &format!("{} {unit}", three(si(learner, cell) / scale)),
                )
            })
        })
        .collect();
    for marks in mark(&key, &right).unwrap().learners {
        assert_eq!(marks.points, 7.0, "{}", marks.learner);
    }
}
