//! The exercise of a sheet, held against its cells: every name, unit and range is looked at when
//! the sheet is opened.

mod questions;
#[cfg(test)]
mod tests;
mod varied;

use std::collections::HashSet;

use forebay_units::Unit;

use super::Sheet;
use crate::compile::outside::{FromOutside, formula_from_outside};
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::exercise::{Condition, Exercise};
use crate::value::{Type, Value};
use crate::worksheet::{Readings, Text, Vary};

/// What a slip leaves of the points where nothing is said; common practice, no source.
const SLIP_CREDIT: f64 = 0.5;
/// What rounding too far leaves of them; common practice, no source.
const ROUNDING_CREDIT: f64 = 0.8;

/// A formula of the exercise, looked at.
struct Looked {
    ty: Type,
    value: Option<Value>,
    typed: Option<(String, Unit)>,
    reads: Vec<u32>,
}

type Result<T> = std::result::Result<T, Box<Diagnostic>>;

impl Sheet {
    /// What an instructor makes of the sheet, as far as it is sound; the diagnostics say what is
    /// not.
    #[must_use]
    pub fn exercise(&self) -> Option<&Exercise> {
        self.exercise.as_ref()
    }

    /// The names of the cells that a cell reads, and those that they read, itself not among them.
    #[must_use]
    pub fn behind(&self, name: &str) -> HashSet<&str> {
        let mut found = HashSet::new();
        let mut open: Vec<usize> = self.by_name.get(name).copied().into_iter().collect();
        while let Some(at) = open.pop() {
            for read in &self.compiled.cells[at].reads {
                let cell = &self.compiled.cells[*read as usize];
                if found.insert(cell.name.as_str()) {
                    open.push(*read as usize);
                }
            }
        }
        found
    }

    /// Looks at the exercise; what is wrong goes to the diagnostics.
    pub(super) fn look_over_exercise(&mut self) {
        let Some(written) = self.worksheet.exercise.clone() else { return };
        let mut exercise = Exercise {
            title: written.title.clone(),
            text: written.text.as_ref().map(|text| text.text.clone()),
            caution: written.caution.clone(),
            varied: Vec::new(),
            conditions: Vec::new(),
            questions: Vec::new(),
            slip_credit: self.share(written.slip_credit.as_ref(), SLIP_CREDIT),
            rounding_credit: self.share(written.rounding_credit.as_ref(), ROUNDING_CREDIT),
        };
        // Cells that what varies or is accepted reads beside what is asked.
        let mut read_besides: HashSet<u32> = HashSet::new();
        for vary in &written.vary {
            let varied = self.varied(vary);
            exercise.varied.extend(self.kept(varied));
        }
        for readings in &written.readings {
            let varied = self.readings_of(readings, &mut read_besides);
            exercise.varied.extend(self.kept(varied));
        }
        for (name, that) in &written.conditions {
            let looked = self.condition(name, that, &mut read_besides);
            exercise.conditions.extend(self.kept(looked));
        }
        for ask in &written.ask {
            // What is broken has been told where it stands.
            if self.is_broken(&ask.cell.text) {
                continue;
            }
            let question = self.question(ask, &mut read_besides);
            exercise.questions.extend(self.kept(question));
        }
        self.look_over_varied(&written.vary, &written.readings, &exercise, &read_besides);
        let hidden: Vec<&str> = exercise
            .varied
            .iter()
            .filter(|varied| varied.hidden)
            .map(|varied| varied.known.as_str())
            .collect();
        let texts = written
            .text
            .iter()
            .chain(written.ask.iter().flat_map(|ask| ask.text.iter().chain(&ask.hint)));
        let mut found = Vec::new();
        for text in texts {
            self.look_over_text(text, &hidden, &mut found);
        }
        self.reading.extend(found);
        self.exercise = Some(exercise);
    }

    fn is_broken(&self, name: &str) -> bool {
        match self.by_name.get(name) {
            Some(at) => self.compiled.cells[*at].ty.is_none() && !self.is_settable(*at),
            None => self.worksheet.broken.iter().any(|broken| broken.text == name),
        }
    }

    fn kept<T>(&mut self, result: Result<T>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(diagnostic) => {
                self.reading.push(*diagnostic);
                None
            }
        }
    }

    /// A share from 0 to 1, written in per cent or as a number.
    fn share(&mut self, text: Option<&Text>, usual: f64) -> f64 {
        let Some(text) = text else { return usual };
        let looked = self.look(text, true);
        let share = looked.and_then(|looked| {
            let number = looked.value.as_ref().and_then(Value::as_number);
            match number.filter(|share| looked.ty == Type::PLAIN && (0.0..=1.0).contains(share)) {
                Some(share) => Ok(share),
                None => Err(Box::new(
                    Diagnostic::new(Code::REFUSED, "a share lies between 0 % and 100 %", text.span)
                        .help("write it as `50 %`"),
                )),
            }
        });
        self.kept(share).unwrap_or(usual)
    }

    /// Reads a formula or a value of the exercise at its place in the file.
    fn look(&mut self, text: &Text, as_value: bool) -> Result<Looked> {
        let mark = self.compiled.terms.mark();
        let lowered = formula_from_outside(&mut self.compiled, &self.sources, text.span, as_value);
        let result = match lowered {
            Ok(FromOutside { lowered, slots, typed, reads }) => {
                let missing = reads.iter().any(|read| self.values[*read as usize].is_none());
                let value = if missing {
                    None
                } else {
                    let mut machine = self.machine();
                    machine.cell(lowered.id, slots).0.ok()
                };
                Ok(Looked { ty: lowered.ty, value, typed, reads })
            }
            Err(mut diagnostics) => Err(Box::new(diagnostics.swap_remove(0))),
        };
        self.compiled.terms.back_to(mark);
        result
    }

    fn condition(
        &mut self,
        name: &Text,
        that: &Text,
        besides: &mut HashSet<u32>,
    ) -> Result<Condition> {
        let looked = self.look(that, false)?;
        if looked.ty != Type::TRUTH {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    format!(
                        "the condition `{}` is {}, and yes or no is wanted",
                        name.text, looked.ty
                    ),
                    that.span,
                )
                .help("compare it with something, such as `velocity < 3 m/s`"),
            ));
        }
        besides.extend(&looked.reads);
        Ok(Condition { name: name.text.clone(), that: self.one_line(that) })
    }

    /// Says what varies to no purpose, twice, or out of the learner's sight.
    fn look_over_varied(
        &mut self,
        vary: &[Vary],
        readings: &[Readings],
        exercise: &Exercise,
        besides: &HashSet<u32>,
    ) {
        let mut asked: HashSet<String> = HashSet::new();
        for question in &exercise.questions {
            asked.extend(self.behind(&question.cell).into_iter().map(str::to_owned));
        }
        let mut read: HashSet<String> = asked.clone();
        for at in besides {
            let name = self.compiled.cells[*at as usize].name.clone();
            read.extend(self.behind(&name).into_iter().map(str::to_owned));
            read.insert(name);
        }
        // A question that is left out would make idle what it depends on.
        let asks = self.worksheet.exercise.as_ref().map_or(0, |written| written.ask.len());
        let whole = asks > 0 && exercise.questions.len() == asks;
        let mut seen: HashSet<&str> = HashSet::new();
        let names = vary.iter().map(|vary| &vary.known).chain(readings.iter().map(|r| &r.known));
        for name in names {
            let Some(varied) = exercise.varied.iter().find(|v| v.known == name.text) else {
                continue;
            };
            let found = if !seen.insert(&name.text) {
                Diagnostic::new(
                    Code::NAME_TWICE,
                    format!("`{}` varies twice", name.text),
                    name.span,
                )
                .help("keep it under `vary` or under `readings`")
            } else if whole && !read.contains(&name.text) {
                let message = format!("`{}` varies, and no answer depends on it", name.text);
                Diagnostic::new(Code::IDLE_VARIATION, message, name.span)
            } else if varied.hidden && asked.contains(&name.text) {
                let message =
                    format!("`{}` is hidden, and an answer cannot be found without it", name.text);
                Diagnostic::new(Code::REFUSED, message, name.span)
                    .help("show it, or ask only for what follows from the readings")
            } else {
                continue;
            };
            self.reading.push(found);
        }
    }

    /// Looks at the names in braces of a text that learners read.
    fn look_over_text(&self, text: &Text, hidden: &[&str], found: &mut Vec<Diagnostic>) {
        let source = self.sources.piece(text.span);
        for (start, name) in placeholders(source) {
            let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
            let start = text.span.start + place(start);
            let span = Span { start, end: start + place(name.len()), ..text.span };
            match self.by_name.get(name) {
                Some(at) if self.is_settable(*at) && !hidden.contains(&name) => {}
                Some(_) => found.push(
                    Diagnostic::new(
                        Code::WRONG_KIND,
                        format!("`{{{name}}}` would tell the learner what is not given"),
                        span,
                    )
                    .help("only knowns that are given stand in braces"),
                ),
                None => found.push(self.no_such_known(name, span)),
            }
        }
    }

    fn one_line(&self, text: &Text) -> String {
        self.sources.piece(text.span).split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// The names in braces in a text, with the places of their first letters.
pub(crate) fn placeholders(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.match_indices('{').filter_map(|(brace, _)| {
        let inside = text.get(brace + 1..)?;
        let name = inside.get(..inside.find('}')?)?;
        let sound = name.starts_with(|c: char| c.is_ascii_alphabetic())
            && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
        sound.then_some((brace + 1, name))
    })
}
