//! The sections of a sheet whose entries are formulas: known, work, check, use and cases.

use super::document::Reader;
use super::names;
use super::torn;
use super::tree::{Entry, Kind, Node};
use crate::diagnostic::{Code, Diagnostic};
use crate::worksheet::{Case, Check, Distribution, Known, Level, Origin, Text, Use, Work};

const VALUE: &str = "a value, such as `14 m`";
const FORMULA: &str = "a formula, such as `pond_level - tail_level`";
const CONDITION: &str = "a condition, such as `velocity < 3 m/s`";

impl Reader<'_> {
    /// What is known.
    pub(super) fn known(&mut self, section: &Entry) {
        for entry in self.named(section, "bore: 188 mm") {
            if !self.claim(&entry.key) {
                continue;
            }
            match self.known_entry(entry) {
                Some(known) => self.sheet.known.push(known),
                None => self.lose(&entry.key),
            }
        }
    }

    fn known_entry(&mut self, entry: &Entry) -> Option<Known> {
        let mut is = None;
        let mut known = Known {
            name: entry.key.clone(),
            is: entry.key.clone(),
            plus_minus: None,
            distribution: Distribution::default(),
            degrees_of_freedom: None,
            from: None,
            about: None,
            between: None,
            choose: None,
            unit: None,
            part: self.part,
        };
        let Kind::Mapping { entries, .. } = &entry.value.kind else {
            known.is = self.formula(entry, VALUE)?;
            return Some(known);
        };
        for key in entries {
            match key.key.text.as_str() {
                "is" => is = Some(self.formula(key, VALUE)),
                "plus_minus" => {
                    known.plus_minus = self.formula(key, "an uncertainty, such as `2 cm`")
                }
                "distribution" => {
                    let choices = [
                        ("normal", Distribution::Normal),
                        ("rectangular", Distribution::Rectangular),
                        ("triangular", Distribution::Triangular),
                    ];
                    known.distribution = self.one_of(key, &choices).unwrap_or_default();
                }
                "degrees_of_freedom" => known.degrees_of_freedom = self.degrees_of_freedom(key),
                "from" => {
                    let choices =
                        [Origin::Measured, Origin::Assumed, Origin::Quoted, Origin::Standard]
                            .map(|origin| (origin.word(), origin));
                    known.from = self.one_of(key, &choices);
                }
                "about" => known.about = self.human(key),
                "between" => known.between = self.between(key),
                "choose" => known.choose = self.formula(key, "a list, such as `[150 mm, 188 mm]`"),
                "in" => known.unit = self.formula(key, "a unit, such as `mm`"),
                _ => self.unknown_key(key, names::KNOWN),
            }
        }
        known.is = self.needed(entry, is, "is", VALUE)?;
        Some(known)
    }

    /// What stands behind a key without which the entry means nothing.
    pub(super) fn needed(
        &mut self,
        entry: &Entry,
        value: Option<Option<Text>>,
        key: &str,
        example: &str,
    ) -> Option<Text> {
        if value.is_none() {
            let message = format!("`{}` has no `{key}`", entry.key.text);
            self.report(
                Diagnostic::new(Code::MISSING_KEY, message, entry.key.span)
                    .help(format!("add `{key}:` with {example}")),
            );
        }
        value.flatten()
    }

    /// The two ends of a range.
    pub(super) fn between(&mut self, entry: &Entry) -> Option<(Text, Text)> {
        if let Kind::Sequence { items, .. } = &entry.value.kind {
            let ends: Vec<Text> = items
                .iter()
                .filter_map(|item| match &item.kind {
                    Kind::Scalar { text, .. } if !item.is_absent() => {
                        Some(Text { span: item.span, text: text.clone() })
                    }
                    _ => None,
                })
                .collect();
            if let Some(open) = ends.iter().find(|end| torn::is_open(&end.text)) {
                let span = open.span.to(items.last().map_or(open.span, |last| last.span));
                let message = "a comma inside brackets ends an item of the list";
                self.report(
                    Diagnostic::new(Code::TORN_FORMULA, message, span)
                        .help("put each end of the range in quotes"),
                );
                return None;
            }
            if items.len() == 2
                && let Ok([low, high]) = <[Text; 2]>::try_from(ends)
            {
                return Some((low, high));
            }
        }
        self.wrong_shape(&entry.value, "two ends of a range, such as `[0.5 m, 2 m]`");
        None
    }

    /// What is worked out.
    pub(super) fn work(&mut self, section: &Entry) {
        for entry in self.named(section, "gross_head: pond_level - tail_level") {
            if !self.claim(&entry.key) {
                continue;
            }
            match self.work_entry(entry) {
                Some(work) => self.sheet.work.push(work),
                None => self.lose(&entry.key),
            }
        }
    }

    fn work_entry(&mut self, entry: &Entry) -> Option<Work> {
        let (mut is, mut unit, mut about) = (None, None, None);
        if let Kind::Mapping { entries, .. } = &entry.value.kind {
            for key in entries {
                match key.key.text.as_str() {
                    "is" => is = Some(self.formula(key, FORMULA)),
                    "in" => unit = self.formula(key, "a unit, such as `m/s`"),
                    "about" => about = self.human(key),
                    _ => self.unknown_key(key, names::WORK),
                }
            }
        } else {
            is = Some(self.formula(entry, FORMULA));
        }
        let is = self.needed(entry, is, "is", FORMULA)?;
        Some(Work { name: entry.key.clone(), is, unit, about, part: self.part })
    }

    /// What must hold.
    pub(super) fn check(&mut self, section: &Entry) {
        for entry in self.named(section, "not_too_fast: velocity < 3 m/s") {
            if self.claim_check(&entry.key)
                && let Some(check) = self.check_entry(entry)
            {
                self.sheet.check.push(check);
            }
        }
    }

    fn check_entry(&mut self, entry: &Entry) -> Option<Check> {
        let mut that = None;
        let (mut otherwise, mut caution, mut about) = (None, None, None);
        let mut level = Level::default();
        if let Kind::Mapping { entries, .. } = &entry.value.kind {
            for key in entries {
                match key.key.text.as_str() {
                    "that" => that = Some(self.formula(key, CONDITION)),
                    "else" => otherwise = self.human(key),
                    "caution" => caution = self.human(key),
                    "level" => {
                        let choices = [Level::Stop, Level::Care, Level::Note]
                            .map(|level| (level.word(), level));
                        level = self.one_of(key, &choices).unwrap_or_default();
                    }
                    "about" => about = self.human(key),
                    _ => self.unknown_key(key, names::CHECK),
                }
            }
        } else {
            that = Some(self.formula(entry, CONDITION));
        }
        let that = self.needed(entry, that, "that", CONDITION)?;
        Some(Check {
            name: entry.key.clone(),
            that,
            otherwise,
            caution,
            level,
            about,
            part: self.part,
        })
    }

    /// Other sheets as components.
    pub(super) fn uses(&mut self, section: &Entry) {
        for entry in self.named(section, "siphon: { sheet: siphon.yaml }") {
            if !self.claim(&entry.key) {
                continue;
            }
            match self.use_entry(entry) {
                Some(other) => self.sheet.uses.push(other),
                None => self.lose(&entry.key),
            }
        }
    }

    fn use_entry(&mut self, entry: &Entry) -> Option<Use> {
        let (mut sheet, mut set, mut same) = (None, Some(Vec::new()), Some(Vec::new()));
        match &entry.value.kind {
            Kind::Mapping { entries, .. } => {
                for key in entries {
                    match key.key.text.as_str() {
                        "sheet" => sheet = Some(self.word(key, "the name of a sheet")),
                        "set" => {
                            set = {
                                let (set, sound) = self.settings(key);
                                sound.then_some(set)
                            }
                        }
                        "same" => same = self.same(key),
                        _ => self.unknown_key(key, names::USE),
                    }
                }
            }
            Kind::Scalar { .. } if !entry.value.is_absent() => {
                sheet = Some(self.word(entry, "the name of a sheet"));
            }
            _ => {
                let node = Node { span: entry.key.span, ..entry.value.clone() };
                self.wrong_shape(&node, "`sheet:`, and `set:` or `same:` if wanted");
                return None;
            }
        }
        let sheet = self.needed(entry, sheet, "sheet", "the name of a file or a template")?;
        // With a setting left out the other sheet would compute something else.
        let (mut set, same) = (set?, same?);
        for name in same {
            if let Some((other, _)) = set.iter().find(|(other, _)| other.text == name.text) {
                let message = format!("`{}` is set twice", name.text);
                self.report(
                    Diagnostic::new(Code::DUPLICATE_KEY, message, name.span)
                        .and(other.span, "and here")
                        .help("take one of them out"),
                );
                return None;
            }
            set.push((name.clone(), name));
        }
        Some(Use { name: entry.key.clone(), sheet, set, part: self.part })
    }

    /// Names that are passed on as they are.
    fn same(&mut self, entry: &Entry) -> Option<Vec<Text>> {
        let Kind::Sequence { items, .. } = &entry.value.kind else {
            self.wrong_shape(&entry.value, "a list of names, such as `[pond_level, water]`");
            return None;
        };
        let name = |item: &Node| match &item.kind {
            Kind::Scalar { text, .. } if !item.is_absent() => {
                Some(Text { span: item.span, text: text.trim().to_owned() })
            }
            _ => None,
        };
        let found: Option<Vec<Text>> = items.iter().map(name).collect();
        if found.is_none() {
            self.wrong_shape(&entry.value, "a list of names, such as `[pond_level, water]`");
        }
        found
    }

    /// Named sets of changed knowns.
    pub(super) fn cases(&mut self, section: &Entry) {
        for entry in self.named(section, "bigger_pipe: { bore: 237.6 mm }") {
            if self.bad_name(&entry.key) {
                continue;
            }
            let (set, sound) = self.settings(entry);
            self.sheet.cases.push(Case { name: entry.key.clone(), set, broken: !sound });
        }
    }

    /// Names with values, and whether all of them could be read.
    fn settings(&mut self, entry: &Entry) -> (Vec<(Text, Text)>, bool) {
        match &entry.value.kind {
            Kind::Mapping { entries, doubled, .. } => {
                let mut set = Vec::with_capacity(entries.len());
                let mut sound = doubled.is_empty();
                for one in entries {
                    match self.formula(one, VALUE) {
                        Some(value) => set.push((one.key.clone(), value)),
                        None => sound = false,
                    }
                }
                (set, sound)
            }
            _ if entry.value.is_absent() => (Vec::new(), true),
            _ => {
                self.wrong_shape(&entry.value, "names with values, such as `{ bore: 237.6 mm }`");
                (Vec::new(), false)
            }
        }
    }
}
