//! What a sheet says about the uncertainty of its knowns besides `plus_minus`: which of them have a
//! cause in common, and how well an uncertainty is known itself.

use super::document::Reader;
use super::names;
use super::tree::{Entry, Kind, Node};
use crate::diagnostic::{Code, Diagnostic};
use crate::worksheet::{Text, Tie};

const KNOWNS: &str = "a list of knowns, such as `[pond_level, tail_level]`";
const COEFFICIENT: &str = "a number from -1 to 1";

impl Reader<'_> {
    /// Knowns whose uncertainties have a cause in common.
    pub(super) fn tied(&mut self, section: &Entry) {
        for entry in self.named(section, "one_staff: [pond_level, tail_level]") {
            if self.bad_name(&entry.key) {
                continue;
            }
            let tie = self.tie(entry);
            self.sheet.tied.push(tie);
        }
    }

    fn tie(&mut self, entry: &Entry) -> Tie {
        let mut tie = Tie {
            name: entry.key.clone(),
            knowns: Vec::new(),
            correlation: 1.0,
            span: entry.key.span,
            broken: false,
        };
        let mut knowns = None;
        if let Kind::Mapping { entries, doubled, .. } = &entry.value.kind {
            tie.broken = !doubled.is_empty();
            for key in entries {
                match key.key.text.as_str() {
                    "knowns" => knowns = Some(self.names_in(&key.value)),
                    "correlation" => {
                        tie.span = key.value.span;
                        let sound = |number: &f64| (-1.0..=1.0).contains(number);
                        match self.plain_number(key, COEFFICIENT, sound) {
                            Some(number) => tie.correlation = number,
                            None => tie.broken = true,
                        }
                    }
                    _ => {
                        tie.broken = true;
                        self.unknown_key(key, names::TIE);
                    }
                }
            }
            if knowns.is_none() {
                let message = format!("`{}` has no `knowns`", entry.key.text);
                self.report(
                    Diagnostic::new(Code::MISSING_KEY, message, entry.key.span)
                        .help(format!("add `knowns:` with {KNOWNS}")),
                );
            }
        } else {
            knowns = Some(self.names_in(&entry.value));
        }
        match knowns.flatten() {
            Some(knowns) => tie.knowns = knowns,
            None => tie.broken = true,
        }
        tie
    }

    /// Two names or more.
    fn names_in(&mut self, node: &Node) -> Option<Vec<Text>> {
        if let Kind::Sequence { items, .. } = &node.kind {
            let names: Vec<Text> = items
                .iter()
                .filter_map(|item| match &item.kind {
                    Kind::Scalar { text, .. } if !item.is_absent() => {
                        Some(Text { span: item.span, text: text.trim().to_owned() })
                    }
                    _ => None,
                })
                .collect();
            if names.len() == items.len() && names.len() > 1 {
                return Some(names);
            }
        }
        self.wrong_shape(node, &format!("{KNOWNS}, at least two"));
        None
    }

    /// By how many degrees of freedom an uncertainty is known.
    pub(super) fn degrees_of_freedom(&mut self, entry: &Entry) -> Option<f64> {
        self.plain_number(entry, "a number of 1 or more, such as `9`", |number| *number >= 1.0)
    }

    fn plain_number(
        &mut self,
        entry: &Entry,
        expected: &str,
        sound: impl Fn(&f64) -> bool,
    ) -> Option<f64> {
        let word = self.word(entry, expected)?;
        let number = word.text.parse::<f64>().ok().filter(|number| number.is_finite());
        let number = number.filter(sound);
        if number.is_none() {
            let message = format!("expected {expected}, found `{}`", word.text);
            self.report(Diagnostic::new(Code::WRONG_SHAPE, message, word.span));
        }
        number
    }
}
