//! The `exercise` block of a sheet.

use super::document::Reader;
use super::names;
use super::tree::{Entry, Kind, Node};
use crate::diagnostic::{Code, Diagnostic};
use crate::keys::{MOST_FIGURES, MOST_POINTS, MOST_READINGS};
use crate::worksheet::{Ask, Exercise, Readings, Rounded, Text, Vary};

impl Reader<'_> {
    /// The exercise; it stands at the top of the sheet.
    pub(super) fn exercise(&mut self, section: &Entry) {
        let Kind::Mapping { entries, .. } = &section.value.kind else {
            let node = Node { span: section.key.span, ..section.value.clone() };
            self.wrong_shape(&node, "what varies and what is asked: `vary:` and `ask:` below");
            return;
        };
        let mut exercise = Exercise {
            span: section.key.span,
            title: None,
            text: None,
            caution: None,
            vary: Vec::new(),
            readings: Vec::new(),
            conditions: Vec::new(),
            ask: Vec::new(),
            slip_credit: None,
            rounding_credit: None,
        };
        for entry in entries {
            match entry.key.text.as_str() {
                "title" => exercise.title = self.human(entry),
                "text" => exercise.text = self.told(entry),
                "caution" => exercise.caution = self.human(entry),
                "vary" => exercise.vary = self.vary(entry),
                "readings" => exercise.readings = self.readings(entry),
                "where" => exercise.conditions = self.conditions(entry),
                "ask" => exercise.ask = self.ask(entry),
                "credit" => self.credit(entry, &mut exercise),
                _ => self.unknown_key(entry, names::EXERCISE),
            }
        }
        if !entries.iter().any(|entry| entry.key.text == "ask") {
            self.report(
                Diagnostic::new(Code::MISSING_KEY, "the exercise asks nothing", section.key.span)
                    .help("add `ask:` with the cells that learners are to find below it"),
            );
        }
        self.sheet.exercise = Some(exercise);
    }

    /// A text for people whose place is kept.
    fn told(&mut self, entry: &Entry) -> Option<Text> {
        let text = self.human(entry)?;
        Some(Text { span: entry.value.span, text })
    }

    fn vary(&mut self, section: &Entry) -> Vec<Vary> {
        let mut found = Vec::new();
        for entry in self.named(section, "bore: { choose: [150 mm, 188 mm] }") {
            let mut vary = Vary {
                known: entry.key.clone(),
                between: None,
                choose: None,
                rounded: Rounded::default(),
                hidden: false,
            };
            match &entry.value.kind {
                Kind::Mapping { entries, .. } => {
                    for key in entries {
                        match key.key.text.as_str() {
                            "between" => vary.between = self.between(key),
                            "choose" => {
                                vary.choose =
                                    self.formula(key, "a list, such as `[150 mm, 188 mm]`");
                            }
                            "hidden" => {
                                let choices = [("yes", true), ("no", false)];
                                vary.hidden = self.one_of(key, &choices).unwrap_or_default();
                            }
                            "step" | "figures" => self.rounded(key, &mut vary.rounded),
                            _ => self.unknown_key(key, names::VARY),
                        }
                    }
                }
                // Its own `between` or `choose` says it all.
                _ if entry.value.is_absent() => {}
                _ => {
                    self.wrong_shape(
                        &entry.value,
                        "`between:` with the two ends of a range, or `choose:` with a list, below",
                    );
                    continue;
                }
            }
            found.push(vary);
        }
        found
    }

    fn readings(&mut self, section: &Entry) -> Vec<Readings> {
        let mut found = Vec::new();
        for entry in self.named(section, "heads: { noise: 2 mm }") {
            let Kind::Mapping { entries, .. } = &entry.value.kind else {
                let node = Node { span: entry.key.span, ..entry.value.clone() };
                self.wrong_shape(&node, "`noise:` with how far a reading may be off, below");
                continue;
            };
            let (mut noise, mut around, mut count) = (None, None, None);
            let mut rounded = Rounded::default();
            for key in entries {
                match key.key.text.as_str() {
                    "noise" => noise = Some(self.formula(key, "how far off, such as `2 mm`")),
                    "around" => around = self.formula(key, "a formula, such as `volume / flow`"),
                    "count" => {
                        count = self.whole_number(key, MOST_READINGS);
                    }
                    "step" | "figures" => self.rounded(key, &mut rounded),
                    _ => self.unknown_key(key, names::READINGS),
                }
            }
            let example = "how far a reading may be off, such as `2 mm` or `1.5 %`";
            if let Some(noise) = self.needed(entry, noise, "noise", example) {
                found.push(Readings { known: entry.key.clone(), noise, around, count, rounded });
            }
        }
        found
    }

    fn rounded(&mut self, key: &Entry, rounded: &mut Rounded) {
        if key.key.text == "step" {
            rounded.step = self.formula(key, "a step, such as `5 mm`");
        } else {
            rounded.figures = self.whole_number(key, MOST_FIGURES);
        }
    }

    fn conditions(&mut self, section: &Entry) -> Vec<(Text, Text)> {
        let mut found = Vec::new();
        for entry in self.named(section, "not_too_fast: velocity < 3 m/s") {
            if !self.bad_name(&entry.key)
                && let Some(condition) =
                    self.formula(entry, "a condition, such as `velocity < 3 m/s`")
            {
                found.push((entry.key.clone(), condition));
            }
        }
        found
    }

    fn ask(&mut self, section: &Entry) -> Vec<Ask> {
        let mut found = Vec::new();
        for entry in self.named(section, "velocity: { tolerance: 2 % }") {
            let mut ask = Ask {
                cell: entry.key.clone(),
                text: None,
                hint: None,
                unit: None,
                tolerance: None,
                between: None,
                figures: None,
                choose: None,
                points: None,
            };
            match &entry.value.kind {
                Kind::Mapping { entries, .. } => {
                    for key in entries {
                        self.ask_key(key, &mut ask);
                    }
                }
                // The question itself, and nothing else.
                Kind::Scalar { .. } => ask.text = self.told(entry),
                _ => {
                    self.wrong_shape(
                        &entry.value,
                        "a question, or `text:`, `tolerance:` and so on",
                    );
                    continue;
                }
            }
            found.push(ask);
        }
        found
    }

    fn ask_key(&mut self, key: &Entry, ask: &mut Ask) {
        match key.key.text.as_str() {
            "text" => ask.text = self.told(key),
            "hint" => ask.hint = self.told(key),
            "in" => ask.unit = self.formula(key, "a unit, such as `m/s`"),
            "tolerance" => ask.tolerance = self.formula(key, "a tolerance, such as `2 %`"),
            "between" => ask.between = self.between(key),
            "figures" => ask.figures = self.whole_number(key, MOST_FIGURES),
            "choose" => ask.choose = self.formula(key, "a list, such as `[laminar, turbulent]`"),
            "points" => ask.points = self.points(key),
            _ => self.unknown_key(key, names::ASK),
        }
    }

    fn credit(&mut self, section: &Entry, exercise: &mut Exercise) {
        for entry in self.named(section, "slip: 50 %") {
            match entry.key.text.as_str() {
                "slip" => exercise.slip_credit = self.formula(entry, "a share, such as `50 %`"),
                "rounding" => {
                    exercise.rounding_credit = self.formula(entry, "a share, such as `80 %`");
                }
                _ => self.unknown_key(entry, names::CREDIT),
            }
        }
    }

    fn whole_number(&mut self, entry: &Entry, most: usize) -> Option<usize> {
        let expected = format!("a whole number from 1 to {most}");
        let word = self.word(entry, &expected)?;
        let number = word.text.parse().ok().filter(|number| (1..=most).contains(number));
        if number.is_none() {
            self.not_a_number(entry, &word, &expected);
        }
        number
    }

    fn points(&mut self, entry: &Entry) -> Option<f64> {
        let expected = "a number above 0, such as `2`";
        let word = self.word(entry, expected)?;
        let number = word.text.parse().ok();
        let number = number.filter(|points: &f64| *points > 0.0 && *points <= MOST_POINTS);
        if number.is_none() {
            self.not_a_number(entry, &word, expected);
        }
        number
    }

    fn not_a_number(&mut self, entry: &Entry, word: &Text, expected: &str) {
        let message = format!("`{}` is `{}`, and {expected} is wanted", entry.key.text, word.text);
        self.report(Diagnostic::new(Code::WRONG_SHAPE, message, word.span).help("correct it"));
    }
}
