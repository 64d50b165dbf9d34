//! Variants of an exercise: for each learner the same questions with other figures.

pub(crate) mod draw;
mod handout;
mod key;

pub use handout::{Asked, Figure, Handout, Printed, handouts};
pub use key::{Key, KeyLearner};

use std::collections::{BTreeMap, HashSet};

use forebay_sheet::exercise::{Accepted, Draw, Exercise, Question, Rounding, Wanted};
use forebay_sheet::worksheet::Level;
use forebay_sheet::{Severity, Sheet, Value, Verdict};

use crate::GoOn;
use crate::fault::Fault;
use crate::rows::{Rows, Seen, seen};
use crate::spread::draw::Stream;

/// So often figures are drawn for one learner before the exercise is called unsolvable.
const MOST_TRIES: u32 = 2000;
/// More learners than this are a slip of the pen.
pub const MOST_LEARNERS: u32 = 5000;
/// A check is only asked for where its two sides differ by this share: nobody should be wrong for
/// having rounded on the way. Common practice, no source.
const CLEAR_MARGIN: f64 = 0.03;

/// The figures of one learner.
#[derive(Clone, Debug, PartialEq)]
pub struct Variant {
    /// Its number, from 1.
    pub number: u32,
    /// The knowns that vary, each as written; hidden ones too.
    pub given: Vec<(String, String)>,
    /// The right answers, in the order of the questions.
    pub right: Vec<Right>,
    /// How often figures were drawn until these were fit.
    pub tries: u32,
}

/// A right answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Right {
    /// The cell.
    pub cell: String,
    /// Its value; a number in SI.
    pub value: Value,
    /// The same in words, in the unit asked for.
    pub shown: String,
    /// For a number, the ends in SI of what is accepted.
    pub accepted: Option<(f64, f64)>,
}

/// The exercise of a sheet.
///
/// # Errors
/// A sheet without an exercise, or one that is wrong somewhere or asks nothing.
pub fn exercise_of(sheet: &Sheet) -> Result<Exercise, Fault> {
    let Some(exercise) = sheet.exercise() else {
        return Err(Fault::call(
            "the sheet has no exercise",
            "add `exercise:` at its end, with `vary:` and `ask:` below it",
        ));
    };
    if sheet.has_errors() {
        return Err(Fault::call(
            "the sheet is wrong somewhere, and an exercise must be sound",
            "mend what is told above",
        ));
    }
    if exercise.questions.is_empty() {
        return Err(Fault::call("the exercise asks nothing", "name cells under `ask:`"));
    }
    Ok(exercise.clone())
}

/// Draws figures for so many learners. They follow from the seed and the number alone: the same on
/// every machine, and the first ten of thirty are the ten of ten. Every question of a variant has an
/// answer, all conditions and `stop` checks hold, no formula is used outside its range, and no two
/// variants have the same figures.
///
/// # Errors
/// A sheet without a sound exercise, or one whose ranges and conditions give too few variants.
pub fn variants(
    sheet: &mut Sheet,
    count: u32,
    seed: u64,
    go_on: &mut GoOn<'_>,
) -> Result<Vec<Variant>, Fault> {
    let exercise = exercise_of(sheet)?;
    if !(1..=MOST_LEARNERS).contains(&count) {
        return Err(Fault::call(
            format!("an exercise for {count} learners cannot be made"),
            format!("say from 1 to {MOST_LEARNERS}"),
        ));
    }
    enough(&exercise, count)?;
    let names = exercise.varied.iter().map(|varied| varied.known.clone()).collect();
    // Leaves the sheet as it was.
    let mut rows = Rows::new(sheet, names, &[])?;
    let sheet = rows.sheet();
    let mut found: Vec<Variant> = Vec::new();
    let mut taken: HashSet<Vec<String>> = HashSet::new();
    for number in 1..=count {
        let mut stream = Stream::new(seed, u64::from(number));
        let mut unfit: BTreeMap<String, (u32, String)> = BTreeMap::new();
        let mut variant = None;
        for tries in 1..=MOST_TRIES {
            let given = draw::given(sheet, &exercise, &mut stream)?;
            let texts: Vec<String> = given.iter().map(|(_, text)| text.clone()).collect();
            let fit = if taken.contains(&texts) {
                Err("the figures are those of another learner".to_owned())
            } else {
                right_answers(sheet, &exercise)
            };
            match fit {
                Ok(right) => {
                    taken.insert(texts);
                    variant = Some(Variant { number, given, right, tries });
                    break;
                }
                Err(why) => {
                    // The same reason with other figures is the same reason.
                    let kind = why.chars().filter(|letter| !letter.is_ascii_digit()).collect();
                    unfit.entry(kind).or_insert((0, why)).0 += 1;
                }
            }
        }
        let Some(variant) = variant else { return Err(none_fit(number, &unfit)) };
        found.push(variant);
        if !go_on(u64::from(number), u64::from(count)) {
            break;
        }
    }
    Ok(found)
}

/// The answers to the questions as the sheet stands, or why these figures are not fit.
fn right_answers(sheet: &mut Sheet, exercise: &Exercise) -> Result<Vec<Right>, String> {
    for condition in &exercise.conditions {
        match sheet.eval(&condition.that).ok().and_then(|answer| answer.value.as_truth()) {
            Some(true) => {}
            Some(false) => return Err(format!("the condition `{}` does not hold", condition.name)),
            None => return Err(format!("the condition `{}` cannot be told", condition.name)),
        }
    }
    let asked = |name: &str| exercise.questions.iter().any(|question| question.cell == name);
    for check in sheet.checks() {
        let stop = check.check().is_some_and(|check| check.level == Level::Stop);
        if stop && !asked(check.name()) && check.verdict() != Verdict::Holds {
            return Err(format!("the check `{}` of level stop fails", check.name()));
        }
    }
    let mut right = Vec::with_capacity(exercise.questions.len());
    for question in &exercise.questions {
        right.push(right_answer(sheet, question)?);
        if let Some(why) = unfair(sheet, question) {
            return Err(why);
        }
    }
    Ok(right)
}

/// The answer to one question as the sheet stands.
pub(crate) fn right_answer(sheet: &mut Sheet, question: &Question) -> Result<Right, String> {
    let name = &question.cell;
    let value = match seen(sheet, name) {
        Seen::Value(value) => value,
        Seen::Missing(why) => return Err(format!("`{name}` has no value: {why}")),
    };
    let Some(cell) = sheet.cell(name) else { return Err(format!("`{name}` is no cell")) };
    let shown = match &question.wanted {
        Wanted::Number { unit: Some(unit), .. } => {
            cell.ty().map_or_else(String::new, |ty| sheet.style().value(&value, ty, Some(unit)))
        }
        _ => cell.shown(),
    };
    let accepted = accepted(sheet, question, &value)?;
    Ok(Right { cell: name.clone(), value, shown, accepted })
}

/// Why a question should not be put with these figures, if there is a reason.
fn unfair(sheet: &Sheet, question: &Question) -> Option<String> {
    let name = question.cell.as_str();
    let behind = sheet.behind(name);
    // In the order of the sheet, so that the same reason is told every time.
    let doubtful = sheet.cells().filter(|cell| cell.name() == name || behind.contains(cell.name()));
    for cell in doubtful {
        let mut warnings = cell.warnings().iter();
        if let Some(first) = warnings.find(|w| w.code.severity != Severity::Note) {
            return Some(format!("`{}` is doubtful: {}", cell.name(), first.message));
        }
    }
    let cell = sheet.cell(name)?;
    for margin in cell.margins() {
        let size = margin.left.abs().max(margin.right.abs());
        if margin.margin_si.abs() < CLEAR_MARGIN * size {
            return Some(format!("`{name}` is too close to call"));
        }
    }
    match (&question.wanted, cell.value()) {
        (Wanted::Choice(words), Some(Value::Text(text)))
            if !words.iter().any(|word| word.as_str() == &**text) =>
        {
            Some(format!("`{name}` is `{text}`, which is none of the words to choose from"))
        }
        _ => None,
    }
}

/// The ends in SI of what is accepted for a number.
pub(crate) fn accepted(
    sheet: &mut Sheet,
    question: &Question,
    value: &Value,
) -> Result<Option<(f64, f64)>, String> {
    let Wanted::Number { accepted, .. } = &question.wanted else { return Ok(None) };
    let name = &question.cell;
    let Some(number) = value.as_number() else { return Ok(None) };
    let ends = match accepted {
        Accepted::Share(_) if number == 0.0 => {
            return Err(format!("`{name}` is zero, and a tolerance in per cent accepts nothing"));
        }
        Accepted::Share(share) => {
            let off = (share * number).abs();
            (number - off, number + off)
        }
        Accepted::Amount(off) => (number - off, number + off),
        Accepted::Band(low, high) => {
            let mut end = |text: &str| {
                let answer = sheet.eval(text).ok();
                answer.and_then(|answer| answer.value.as_number())
            };
            match (end(low), end(high)) {
                (Some(one), Some(other)) => (one.min(other), one.max(other)),
                _ => return Err(format!("what is accepted for `{name}` cannot be told")),
            }
        }
    };
    if number >= ends.0 && number <= ends.1 {
        Ok(Some(ends))
    } else {
        Err(format!("the right answer for `{name}` lies outside what is accepted"))
    }
}

/// Whether two texts name the same learner: capitals, and zeros before a number, do not count.
#[must_use]
pub fn same_learner(one: &str, other: &str) -> bool {
    let (one, other) = (one.trim(), other.trim());
    let number = |text: &str| text.parse::<u64>().ok();
    one.to_lowercase() == other.to_lowercase()
        || (number(one).is_some() && number(one) == number(other))
}

/// Refuses beforehand what cannot give so many variants.
fn enough(exercise: &Exercise, count: u32) -> Result<(), Fault> {
    let mut all = 1_f64;
    for varied in &exercise.varied {
        all *= match &varied.draw {
            Draw::List(values) => values.len() as f64,
            Draw::Range { low, high, rounding: Rounding::Step { step, .. }, .. } => {
                draw::steps(*low, *high, *step) as f64
            }
            _ => return Ok(()),
        };
    }
    if all >= f64::from(count) {
        return Ok(());
    }
    Err(Fault::call(
        format!("what varies gives {all:.0} different variants, and {count} are asked for"),
        "let more vary, or take smaller steps",
    ))
}

fn none_fit(number: u32, unfit: &BTreeMap<String, (u32, String)>) -> Fault {
    let most = unfit.values().max_by_key(|(times, _)| *times);
    let (times, why) = most.map_or((0, ""), |(times, why)| (*times, why.as_str()));
    Fault::call(
        format!(
            "no fit figures were found for learner {number} in {MOST_TRIES} tries; in {times} of \
             them {why}"
        ),
        "widen what varies, or ease that condition",
    )
}

#[cfg(test)]
mod tests;
