//! The whole class: which question went wrong most, and how.

use std::collections::BTreeMap;

use forebay_sheet::exercise::Exercise;

use super::{Marks, Verdict};

/// What a class did.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Class {
    /// One for each question, in their order.
    pub questions: Vec<QuestionCount>,
    /// How many handed in anything.
    pub answered: usize,
    /// The mean of the points of those.
    pub mean: f64,
    /// The points there are.
    pub of: f64,
}

/// How a question was answered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct QuestionCount {
    /// The cell that was asked for.
    pub cell: String,
    /// How many answers are right, carried or only rounded.
    pub right: usize,
    /// How many are right for an own wrong answer.
    pub carried: usize,
    /// How many are right but for their rounding.
    pub rounded: usize,
    /// How many are wrong by no known slip.
    pub wrong: usize,
    /// How many somebody has to look at.
    pub open: usize,
    /// How many are missing.
    pub blank: usize,
    /// The slips, each with how often; the most frequent one first.
    pub slips: Vec<(&'static str, usize)>,
    /// The mean share of the points, over those who handed in anything; from 0 to 1.
    pub share: f64,
}

impl QuestionCount {
    /// How many answers went wrong, slips among them.
    #[must_use]
    pub fn went_wrong(&self) -> usize {
        self.wrong + self.slips.iter().map(|(_, times)| times).sum::<usize>()
    }
}

impl Class {
    pub(super) fn of(exercise: &Exercise, learners: &[Marks]) -> Self {
        // Who was away is no measure of the questions.
        let present: Vec<&Marks> = learners
            .iter()
            .filter(|marks| marks.items.iter().any(|item| item.verdict != Verdict::Blank))
            .collect();
        let count = present.len().max(1) as f64;
        let questions = exercise.questions.iter().enumerate().map(|(at, question)| {
            let mut counted =
                QuestionCount { cell: question.cell.clone(), ..QuestionCount::default() };
            let mut slips: BTreeMap<&'static str, usize> = BTreeMap::new();
            for item in present.iter().filter_map(|marks| marks.items.get(at)) {
                match &item.verdict {
                    Verdict::Right => counted.right += 1,
                    Verdict::Carried { .. } => counted.carried += 1,
                    Verdict::Rounded { .. } => counted.rounded += 1,
                    Verdict::Slip { name, .. } => *slips.entry(name).or_default() += 1,
                    Verdict::Wrong => counted.wrong += 1,
                    Verdict::Unread { .. } | Verdict::Twice => counted.open += 1,
                    Verdict::Blank => counted.blank += 1,
                }
                counted.share += item.points / item.of / count;
            }
            counted.slips = slips.into_iter().collect();
            counted.slips.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
            counted
        });
        Self {
            questions: questions.collect(),
            answered: present.len(),
            mean: present.iter().map(|marks| marks.points).sum::<f64>() / count,
            of: exercise.questions.iter().map(|question| question.points).sum(),
        }
    }

    /// The question that went wrong most, if any did.
    #[must_use]
    pub fn hardest(&self) -> Option<&QuestionCount> {
        let wrong = self.questions.iter().filter(|question| question.went_wrong() > 0);
        // The first one among equals.
        wrong.rev().max_by_key(|question| question.went_wrong())
    }
}
