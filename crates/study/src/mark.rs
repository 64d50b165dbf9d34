//! Marking: answers held against the key, slips told apart from wrong methods, errors carried
//! forward, nothing lost.

mod answer;
mod class;
mod judge;
mod slips;

pub use class::{Class, QuestionCount};
pub use slips::{SLIPS, Slip};

use forebay_sheet::exercise::{Exercise, Question};
use forebay_sheet::{Sheet, Step, Value};
use forebay_units::nearest;

use crate::exercise::{Key, KeyLearner, Right, draw, exercise_of, right_answer, same_learner};
use crate::fault::Fault;
use judge::{Case, Judged, judge};

/// How many steps of working are shown.
const MOST_STEPS: usize = 6;
/// How far behind the answer they go.
const DEEPEST: usize = 3;

/// An answer as it was handed in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Handed {
    /// Where it stands, a line from 1.
    pub line: u64,
    /// Whose it is.
    pub learner: String,
    /// The question: its cell or its number.
    pub question: String,
    /// The answer.
    pub answer: String,
}

/// What marking gave.
#[derive(Clone, Debug)]
pub struct Marked {
    /// What the exercise is about.
    pub title: String,
    /// The questions.
    pub questions: Vec<Question>,
    /// The learners, in the order of the key.
    pub learners: Vec<Marks>,
    /// What could not be told whose or to what it is.
    pub strays: Vec<Stray>,
    /// The whole class.
    pub class: Class,
    /// Right answers that are not those of the key, because the key was made by another version.
    pub differs: Vec<String>,
}

/// One learner's marks.
#[derive(Clone, Debug)]
pub struct Marks {
    /// Who.
    pub learner: String,
    /// The figures that were given.
    pub given: Vec<(String, String)>,
    /// One for each question.
    pub items: Vec<Item>,
    /// The points reached.
    pub points: f64,
    /// The points there are.
    pub of: f64,
}

/// One answer, marked.
#[derive(Clone, Debug)]
pub struct Item {
    /// The cell that was asked for.
    pub cell: String,
    /// What was handed in; several where it was answered several times.
    pub handed: Vec<(u64, String)>,
    /// The right answer in words.
    pub right: String,
    /// What was made of it.
    pub verdict: Verdict,
    /// What is told besides; may be empty.
    pub remark: String,
    /// The points reached.
    pub points: f64,
    /// The points there are.
    pub of: f64,
    /// How it is worked out, where the answer was wrong.
    pub working: Vec<Step>,
}

/// What an answer is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Right.
    Right,
    /// Right for the learner's own earlier answers, which are wrong.
    Carried {
        /// The cells of those answers.
        from: Vec<String>,
    },
    /// Right but for its rounding.
    Rounded {
        /// How.
        how: String,
    },
    /// A slip.
    Slip {
        /// The name it is counted under.
        name: &'static str,
        /// What happened.
        says: String,
        /// The cells of wrong answers that it follows from as well.
        from: Vec<String>,
    },
    /// Wrong, and no slip explains it.
    Wrong,
    /// It cannot be read.
    Unread {
        /// Why.
        why: String,
    },
    /// Two different answers were handed in.
    Twice,
    /// Nothing was handed in.
    Blank,
}

/// A line of the answers that belongs to nobody or to no question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stray {
    /// The line.
    pub handed: Handed,
    /// Why it was not marked.
    pub why: String,
}

impl Verdict {
    /// The word for it.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Carried { .. } => "carried",
            Self::Rounded { .. } => "rounded",
            Self::Slip { .. } => "slip",
            Self::Wrong => "wrong",
            Self::Unread { .. } => "unread",
            Self::Twice => "twice",
            Self::Blank => "blank",
        }
    }

    /// Whether somebody has to look at it before points can be given.
    #[must_use]
    pub fn is_open(&self) -> bool {
        matches!(self, Self::Unread { .. } | Self::Twice)
    }

    /// The share of the points.
    fn credit(&self, exercise: &Exercise) -> f64 {
        match self {
            Self::Right | Self::Carried { .. } => 1.0,
            Self::Rounded { .. } => exercise.rounding_credit,
            Self::Slip { .. } => exercise.slip_credit,
            Self::Wrong | Self::Unread { .. } | Self::Twice | Self::Blank => 0.0,
        }
    }

    /// Of several readings of one answer the best one is taken.
    fn rank(&self) -> u8 {
        match self {
            Self::Right => 5,
            Self::Carried { .. } => 4,
            Self::Rounded { .. } => 3,
            Self::Slip { .. } => 2,
            Self::Wrong => 1,
            Self::Unread { .. } | Self::Twice | Self::Blank => 0,
        }
    }
}

/// Marks answers with a key. An answer that is right for the learner's own earlier wrong one gets
/// its points; a slip gets the share that the exercise says.
///
/// # Errors
/// A key whose sheet has no sound exercise, or whose figures do not fit the sheet.
pub fn mark(key: &Key, handed: &[Handed]) -> Result<Marked, Fault> {
    let mut sheet = key.sheet();
    let exercise = exercise_of(&sheet)?;
    let mut strays = Vec::new();
    let mut sorted: Vec<Vec<Vec<&Handed>>> =
        vec![vec![Vec::new(); exercise.questions.len()]; key.learners.len()];
    for one in handed {
        match place(key, &exercise, one) {
            Ok((learner, question)) => sorted[learner][question].push(one),
            Err(why) => strays.push(Stray { handed: one.clone(), why }),
        }
    }
    let mut learners = Vec::with_capacity(key.learners.len());
    let mut differs = Vec::new();
    for (learner, handed) in key.learners.iter().zip(&sorted) {
        draw::set(&mut sheet, &learner.given)?;
        let right = right_answers(&mut sheet, &exercise, learner)?;
        differs.extend(differences(learner, &right));
        learners.push(marks(&mut sheet, &exercise, learner, &right, handed));
    }
    let class = Class::of(&exercise, &learners);
    let title = key.title.clone();
    Ok(Marked { title, questions: exercise.questions, learners, strays, class, differs })
}

/// Whose an answer is and to which question.
fn place(key: &Key, exercise: &Exercise, handed: &Handed) -> Result<(usize, usize), String> {
    let wanted = handed.learner.trim();
    if wanted.is_empty() {
        return Err("it does not say whose it is".to_owned());
    }
    let learner = key.learners.iter().position(|one| same_learner(&one.learner, wanted));
    let Some(learner) = learner else {
        let names = key.learners.iter().map(|one| one.learner.as_str());
        return Err(match nearest(wanted, names).first() {
            Some(near) => format!("nobody is called `{wanted}`; perhaps `{near}`"),
            None => format!("nobody is called `{wanted}`"),
        });
    };
    let wanted = handed.question.trim();
    let plain = wanted.trim_start_matches(['Q', 'q']).trim_end_matches(['.', ')', ':']).trim();
    let by_number = plain.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
    let by_number = by_number.filter(|at| *at < exercise.questions.len());
    let by_name = exercise
        .questions
        .iter()
        .position(|question| question.cell.eq_ignore_ascii_case(&wanted.replace(' ', "_")));
    match by_name.or(by_number) {
        Some(question) => Ok((learner, question)),
        None => {
            let names = exercise.questions.iter().map(|question| question.cell.as_str());
            Err(match nearest(wanted, names).first() {
                Some(near) => format!("there is no question `{wanted}`; perhaps `{near}`"),
                None => format!("there is no question `{wanted}`"),
            })
        }
    }
}

fn right_answers(
    sheet: &mut Sheet,
    exercise: &Exercise,
    learner: &KeyLearner,
) -> Result<Vec<Right>, Fault> {
    let mut right = Vec::with_capacity(exercise.questions.len());
    for question in &exercise.questions {
        right.push(right_answer(sheet, question).map_err(|why| {
            let who = &learner.learner;
            Fault::call(
                format!("the key gives learner {who} figures without an answer: {why}"),
                "the key was changed, or was made by another version; make it again",
            )
        })?);
    }
    Ok(right)
}

/// What is not as it was when the key was made.
fn differences(learner: &KeyLearner, right: &[Right]) -> Vec<String> {
    let mut found = Vec::new();
    for right in right {
        let then = learner.right.iter().find(|(cell, ..)| *cell == right.cell);
        let same = match (then, right.value.as_number()) {
            (Some((_, _, Some(then))), Some(now)) => (then - now).abs() <= 1e-9 * now.abs(),
            (Some((_, then, None)), None) => *then == right.shown,
            _ => false,
        };
        if !same {
            let (who, cell, now) = (&learner.learner, &right.cell, &right.shown);
            found.push(format!("learner {who}: `{cell}` is {now} now"));
        }
    }
    found
}

fn marks(
    sheet: &mut Sheet,
    exercise: &Exercise,
    learner: &KeyLearner,
    right: &[Right],
    handed: &[Vec<&Handed>],
) -> Marks {
    let answers: Vec<Given<'_>> = handed.iter().map(|all| given(all)).collect();
    let cases: Vec<Case<'_>> = exercise
        .questions
        .iter()
        .zip(right)
        .map(|(question, one)| Case::new(sheet, question, one, right))
        .collect();
    // First each answer for itself, then those that are not right once more, with the learner's
    // own answers in place of the right ones.
    let mut judged: Vec<Judged> = Vec::with_capacity(cases.len());
    for (case, answer) in cases.iter().zip(&answers) {
        judged.push(match answer {
            Given::Blank => just(Verdict::Blank),
            Given::Twice => just(Verdict::Twice),
            Given::One(text) => judge(sheet, case, text, &[]),
        });
    }
    let own: Vec<(String, Value, bool)> = cases
        .iter()
        .zip(&judged)
        .filter_map(|(case, judged)| {
            let right = judged.verdict == Verdict::Right;
            Some((case.question.cell.clone(), judged.value.clone()?, right))
        })
        .collect();
    for ((case, answer), judged) in cases.iter().zip(&answers).zip(&mut judged) {
        if let Given::One(text) = answer
            && judged.verdict != Verdict::Right
        {
            *judged = judge(sheet, case, text, &own);
        }
    }
    let mut items = Vec::with_capacity(cases.len());
    for ((case, judged), handed) in cases.iter().zip(judged).zip(handed) {
        let of = case.question.points;
        let shown = matches!(judged.verdict, Verdict::Slip { .. } | Verdict::Wrong);
        let working =
            if shown { working(sheet, exercise, &case.question.cell) } else { Vec::new() };
        items.push(Item {
            cell: case.question.cell.clone(),
            handed: handed.iter().map(|one| (one.line, one.answer.clone())).collect(),
            right: case.right.shown.clone(),
            points: of * judged.verdict.credit(exercise),
            verdict: judged.verdict,
            remark: judged.remark,
            of,
            working,
        });
    }
    let points = items.iter().map(|item| item.points).sum();
    let of = items.iter().map(|item| item.of).sum();
    Marks { learner: learner.learner.clone(), given: learner.given.clone(), items, points, of }
}

fn just(verdict: Verdict) -> Judged {
    Judged { verdict, remark: String::new(), value: None }
}

/// What a learner says to a question.
enum Given<'h> {
    Blank,
    One(&'h str),
    Twice,
}

fn given<'h>(all: &[&'h Handed]) -> Given<'h> {
    let plain = |text: &str| text.split_whitespace().collect::<String>().to_lowercase();
    let mut written = all.iter().map(|one| one.answer.trim()).filter(|text| !is_blank(text));
    let Some(first) = written.next() else { return Given::Blank };
    if written.all(|other| plain(other) == plain(first)) { Given::One(first) } else { Given::Twice }
}

fn is_blank(text: &str) -> bool {
    matches!(text.to_lowercase().as_str(), "" | "-" | "–" | "?" | "n/a" | "none" | "blank")
}

/// The steps that lead to the right answer; those of other questions stand there.
fn working(sheet: &Sheet, exercise: &Exercise, cell: &str) -> Vec<Step> {
    let elsewhere =
        |name: &str| name != cell && exercise.questions.iter().any(|asked| asked.cell == name);
    let steps = sheet.working(cell, DEEPEST).unwrap_or_default();
    let mut worked: Vec<Step> =
        steps.into_iter().filter(|step| step.with_numbers.is_some()).collect();
    worked.retain(|step| !elsewhere(&step.name));
    worked.truncate(MOST_STEPS);
    // What is reckoned first comes first: more lies behind what follows from it.
    worked.sort_by_cached_key(|step| sheet.behind(&step.name).len());
    worked
}

#[cfg(test)]
mod tests;
