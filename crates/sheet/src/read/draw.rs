//! Drawings: what kind each is, and the names and formulas it is drawn from.

use super::document::Reader;
use super::names;
use super::torn;
use super::tree::{Entry, Kind, Node};
use crate::bounds::MOST_POINTS;
use crate::diagnostic::{Code, Diagnostic};
use crate::drawing::{DRAWING_KINDS, DrawingKey, DrawingKind, Wants};
use crate::worksheet::{Draw, DrawInput, Over, Text};

/// How many points a curve over a range has, where the sheet does not say.
const USUAL_POINTS: usize = 41;

const EXAMPLE: &str = "year: { kind: bars, x: months.month, y: months.energy }";
const CURVES: &str = "names with formulas, such as `stream: months.stream`, one a line";
const RANGE: &str = "a known and its range, such as `flow = 10 L/s..80 L/s`";

impl Reader<'_> {
    /// What is to be drawn.
    pub(super) fn draw(&mut self, section: &Entry) {
        for entry in self.named(section, EXAMPLE) {
            if self.claim_drawing(&entry.key)
                && let Some(draw) = self.drawing(entry)
            {
                self.sheet.draw.push(draw);
            }
        }
    }

    fn drawing(&mut self, entry: &Entry) -> Option<Draw> {
        let Kind::Mapping { entries, .. } = &entry.value.kind else {
            let node = Node { span: entry.key.span, ..entry.value.clone() };
            self.wrong_shape(&node, "`kind:` and what is drawn");
            return None;
        };
        let kind = self.kind_of(entry, entries)?;
        let mut draw = Draw {
            name: entry.key.clone(),
            kind,
            title: None,
            about: None,
            unit: None,
            x_label: None,
            y_label: None,
            over: None,
            inputs: Vec::new(),
            part: self.part,
        };
        let mut sound = true;
        for key in entries {
            match key.key.text.as_str() {
                "kind" => {}
                "title" => draw.title = self.human(key),
                "about" => draw.about = self.human(key),
                "x_label" => draw.x_label = self.human(key),
                "y_label" => draw.y_label = self.human(key),
                "in" => draw.unit = self.formula(key, "a unit, such as `L/s`"),
                other => match kind.key(other) {
                    Some(data) => sound &= self.data(key, data, &mut draw).is_some(),
                    None => self.unknown_drawing_key(key, kind),
                },
            }
        }
        for key in kind.keys.iter().filter(|key| key.needed) {
            if !entries.iter().any(|entry| entry.key.text == key.name) {
                let message = format!("the drawing `{}` has no `{}`", entry.key.text, key.name);
                self.report(
                    Diagnostic::new(Code::MISSING_KEY, message, entry.key.span)
                        .help(format!("add `{}:` with {}", key.name, key.about)),
                );
                sound = false;
            }
        }
        if let (Some(over), Some(x)) =
            (&draw.over, draw.inputs.iter().find(|input| input.key.wants == Wants::Places))
        {
            let message = format!("the drawing `{}` has both `x` and `over`", entry.key.text);
            self.report(
                Diagnostic::new(Code::WRONG_SHAPE, message, over.known.span)
                    .and(x.is.span, "the other")
                    .help("take one of them out: `x` draws a series, `over` varies a known"),
            );
            return None;
        }
        sound.then_some(draw)
    }

    fn kind_of(&mut self, entry: &Entry, entries: &[Entry]) -> Option<&'static DrawingKind> {
        let choices: Vec<(&str, &'static DrawingKind)> =
            DRAWING_KINDS.iter().map(|kind| (kind.name, kind)).collect();
        if let Some(kind) = entries.iter().find(|entry| entry.key.text == "kind") {
            return self.one_of(kind, &choices);
        }
        let words: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
        let message = format!("the drawing `{}` has no `kind`", entry.key.text);
        self.report(
            Diagnostic::new(Code::MISSING_KEY, message, entry.key.span)
                .help(format!("add `kind:` with {}", names::listed(&words))),
        );
        None
    }

    fn unknown_drawing_key(&mut self, entry: &Entry, kind: &DrawingKind) {
        let keys: Vec<&str> =
            (kind.keys.iter().map(|key| key.name)).chain(names::DRAWING.names()).collect();
        let key = &entry.key;
        let help = match forebay_units::nearest(&key.text, keys.iter().copied()).first() {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("here may stand {}", names::listed(&keys)),
        };
        let message = format!("`{}` is no key of a drawing of kind `{}`", key.text, kind.name);
        self.report(Diagnostic::new(Code::UNKNOWN_KEY, message, key.span).help(help));
    }

    /// Takes in what stands under one key; `None` where it cannot be read.
    fn data(&mut self, entry: &Entry, key: &'static DrawingKey, draw: &mut Draw) -> Option<()> {
        if key.wants == Wants::Range {
            draw.over = Some(self.over(entry)?);
            return Some(());
        }
        let several = matches!(key.wants, Wants::Curves | Wants::Amounts(_));
        match &entry.value.kind {
            Kind::Mapping { entries, doubled, .. } if several => {
                let mut sound = doubled.is_empty();
                for one in entries {
                    match self.formula(one, "a formula, such as `months.stream`") {
                        Some(is) => {
                            let label = Some(one.key.clone());
                            draw.inputs.push(DrawInput { key, label, is });
                        }
                        None => sound = false,
                    }
                }
                if entries.is_empty() {
                    self.wrong_shape(&entry.value, CURVES);
                }
                (sound && !entries.is_empty()).then_some(())
            }
            Kind::Sequence { items, .. } if several => self.listed_curves(items, key, draw),
            _ => {
                let is = self.formula(entry, key.about)?;
                draw.inputs.push(DrawInput { key, label: None, is });
                Some(())
            }
        }
    }

    /// Curves without names of their own, in a list.
    fn listed_curves(
        &mut self,
        items: &[Node],
        key: &'static DrawingKey,
        draw: &mut Draw,
    ) -> Option<()> {
        for item in items {
            match &item.kind {
                Kind::Scalar { text, .. } if !item.is_absent() && !torn::is_open(text) => {
                    let is = Text { span: item.span, text: text.clone() };
                    draw.inputs.push(DrawInput { key, label: None, is });
                }
                Kind::Scalar { .. } if !item.is_absent() => {
                    let message = "a comma inside brackets ends an item of the list";
                    let help = format!("write {CURVES}");
                    self.report(Diagnostic::new(Code::TORN_FORMULA, message, item.span).help(help));
                    return None;
                }
                _ => {
                    self.wrong_shape(item, "a formula");
                    return None;
                }
            }
        }
        Some(())
    }

    /// `flow = 10 L/s..80 L/s`, and how many points behind a stroke.
    fn over(&mut self, entry: &Entry) -> Option<Over> {
        let text = self.formula(entry, RANGE)?;
        let whole = text.text.as_str();
        let (equals, dots) = (whole.find('='), whole.find(".."));
        let (Some(equals), Some(dots)) = (equals, dots) else {
            self.wrong_range(&text);
            return None;
        };
        let stroke = whole.rfind('/').filter(|at| {
            let behind = whole[at + 1..].trim();
            *at > dots && !behind.is_empty() && behind.bytes().all(|byte| byte.is_ascii_digit())
        });
        let points = match stroke {
            Some(at) => whole[at + 1..].trim().parse().unwrap_or(usize::MAX),
            None => USUAL_POINTS,
        };
        if dots < equals || whole.contains('\n') {
            self.wrong_range(&text);
            return None;
        }
        if !(2..=MOST_POINTS).contains(&points) {
            let message = format!("a curve has from 2 to {MOST_POINTS} points");
            self.report(
                Diagnostic::new(Code::WRONG_SHAPE, message, text.span)
                    .help("say how many behind the range: `flow = 10 L/s..80 L/s/29`"),
            );
            return None;
        }
        Some(Over {
            known: self.part_of(&text, 0, equals),
            from: self.part_of(&text, equals + 1, dots),
            to: self.part_of(&text, dots + 2, stroke.unwrap_or(whole.len())),
            points,
        })
    }

    fn wrong_range(&mut self, text: &Text) {
        let message = format!("expected {RANGE}, found something else");
        self.report(
            Diagnostic::new(Code::WRONG_SHAPE, message, text.span)
                .help("write the known, `=`, and the two ends with `..` between them"),
        );
    }
}
