//! The key of an exercise: all that is needed to mark answers later.

use std::collections::BTreeMap;

use forebay_sheet::{Loader, Sheet};

use super::{Right, Variant, exercise_of};
use crate::fault::Fault;

/// Whose figures were which, and the sheet that the right answers follow from.
#[derive(Clone, Debug, PartialEq)]
pub struct Key {
    /// The name of the sheet.
    pub name: String,
    /// What the exercise is about.
    pub title: String,
    /// The text of the sheet.
    pub text: String,
    /// The files that it read beside itself.
    pub files: BTreeMap<String, String>,
    /// The seed that the figures were drawn with.
    pub seed: u64,
    /// The learners.
    pub learners: Vec<KeyLearner>,
}

/// A learner in the key.
#[derive(Clone, Debug, PartialEq)]
pub struct KeyLearner {
    /// A number or a name.
    pub learner: String,
    /// The figures, each as written.
    pub given: Vec<(String, String)>,
    /// The right answers as they were when the key was made: cell, value in words, and the number
    /// in SI where it is one.
    pub right: Vec<(String, String, Option<f64>)>,
}

impl Key {
    /// The key of variants of a sheet. Learners without a name are called by their numbers, which
    /// have as many digits as the last one.
    ///
    /// # Errors
    /// A sheet without a sound exercise, or names that are not as many as variants or not different
    /// from one another.
    pub fn new(
        sheet: &Sheet,
        seed: u64,
        variants: &[Variant],
        names: &[String],
    ) -> Result<Self, Fault> {
        let exercise = exercise_of(sheet)?;
        if !names.is_empty() && names.len() != variants.len() {
            let (names, variants) = (names.len(), variants.len());
            return Err(Fault::call(
                format!("{names} names are given for {variants} learners"),
                "give one name a line, as many as there are learners",
            ));
        }
        for (at, name) in names.iter().enumerate() {
            if names[..at].iter().any(|other| super::same_learner(other, name)) {
                return Err(Fault::call(
                    format!("two learners are called `{name}`"),
                    "tell them apart, or leave the names out and go by numbers",
                ));
            }
        }
        let first = sheet.sources().source(forebay_sheet::Span { source: 0, start: 0, end: 0 });
        let digits = variants.len().to_string().len().max(2);
        let learner = |at: usize, variant: &Variant| KeyLearner {
            learner: names
                .get(at)
                .cloned()
                .unwrap_or_else(|| format!("{:0digits$}", variant.number)),
            given: variant.given.clone(),
            right: variant.right.iter().map(written).collect(),
        };
        Ok(Self {
            name: first.map(|source| source.name.to_string()).unwrap_or_default(),
            title: exercise
                .title
                .or_else(|| sheet.title().map(str::to_owned))
                .unwrap_or_else(|| "Exercise".to_owned()),
            text: first.map(|source| source.text.to_string()).unwrap_or_default(),
            files: sheet.files().map(|(n, t)| (n.to_owned(), t.to_owned())).collect(),
            seed,
            learners: variants.iter().enumerate().map(|(at, v)| learner(at, v)).collect(),
        })
    }

    /// The sheet that the key was made from; it reads nothing but what the key holds.
    #[must_use]
    pub fn sheet(&self) -> Sheet {
        Sheet::open_with(&self.name, &self.text, self)
    }
}

impl Loader for Key {
    fn load(&self, name: &str) -> Result<String, String> {
        self.files.get(name).cloned().ok_or_else(|| format!("`{name}` is not in the key"))
    }
}

fn written(right: &Right) -> (String, String, Option<f64>) {
    (right.cell.clone(), right.shown.clone(), right.value.as_number())
}
