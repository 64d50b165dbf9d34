//! The tree of a document turned into a worksheet: its top, its parts, and what all sections
//! share. The sections themselves are in `entries` and `tables`.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use forebay_units::{Currency, System, nearest};

use super::Loader;
use super::names::{self, Place};
use super::syntax::Read;
use super::tree::{Entry, Kind, Node, Style};
use crate::diagnostic::{Code, Diagnostic, Sources, Span};
use crate::keys::VERSION;
use crate::worksheet::{Part, Text, Worksheet};

/// Reads one sheet.
pub(super) struct Reader<'r> {
    pub(super) sources: &'r mut Sources,
    pub(super) loader: &'r dyn Loader,
    pub(super) sheet: Worksheet,
    /// Which part is being read.
    pub(super) part: Option<usize>,
    text: Arc<str>,
    source: u16,
    found: Vec<Diagnostic>,
    /// Where each name of the sheet stands.
    names: HashMap<String, Span>,
    /// The names of what is left out.
    lost: Vec<Text>,
    /// Where each name of a check stands.
    checks: HashMap<String, Span>,
    /// Where each name of a drawing stands.
    drawings: HashMap<String, Span>,
    /// Whether the sheet is of a later version, whose keys are not all known here.
    later: bool,
    /// Whether a row of the table being read has been complained about.
    pub(super) broken_rows: bool,
}

impl<'r> Reader<'r> {
    /// A reader that has found something already.
    pub(super) fn new(
        sources: &'r mut Sources,
        loader: &'r dyn Loader,
        text: Arc<str>,
        source: u16,
        found: Vec<Diagnostic>,
    ) -> Self {
        Self {
            sources,
            loader,
            sheet: Worksheet::default(),
            part: None,
            text,
            source,
            found,
            names: HashMap::new(),
            lost: Vec::new(),
            checks: HashMap::new(),
            drawings: HashMap::new(),
            later: false,
            broken_rows: false,
        }
    }

    /// What was read and what was found.
    pub(super) fn finish(mut self) -> (Worksheet, Vec<Diagnostic>) {
        if self.lost.is_empty() {
            return (self.sheet, self.found);
        }
        let sheet = &self.sheet;
        let mut seen: HashSet<String> = (sheet.known.iter().map(|known| &known.name))
            .chain(sheet.work.iter().map(|work| &work.name))
            .chain(sheet.tables.iter().map(|table| &table.name))
            .chain(sheet.uses.iter().map(|other| &other.name))
            .map(|name| name.text.clone())
            .collect();
        self.lost.retain(|name| seen.insert(name.text.clone()));
        self.sheet.broken = self.lost;
        (self.sheet, self.found)
    }

    /// Reads the whole document.
    pub(super) fn sheet(&mut self, read: Read) {
        let root = read.root.filter(|root| !root.is_absent());
        match root.as_ref().map(|root| &root.kind) {
            Some(Kind::Mapping { entries, doubled, .. }) => {
                self.version(entries);
                for entry in entries {
                    self.top_entry(entry);
                }
                self.lose_doubled(doubled);
            }
            Some(Kind::Broken) => {}
            Some(_) => {
                let span = root.as_ref().map_or_else(|| self.start(), |root| root.span);
                self.found.push(
                    Diagnostic::new(Code::WRONG_SHAPE, "a sheet is a set of keys", span)
                        .help("begin with `forebay: 1`, then `known:` and `work:`"),
                );
            }
            None => self.version(&[]),
        }
        for name in read.lost_names {
            self.lose(&name);
        }
    }

    fn top_entry(&mut self, entry: &Entry) {
        match entry.key.text.as_str() {
            "forebay" => {}
            "title" => self.sheet.title = self.human(entry),
            "units" => {
                let choices = [("si", System::Si), ("us", System::Us)];
                self.sheet.units = self.one_of(entry, &choices).unwrap_or_default();
            }
            "currency" => self.sheet.currency = self.currency(entry),
            "show" => self.sheet.show = self.show(entry),
            "cases" => self.cases(entry),
            "parts" => self.parts(entry),
            "exercise" => self.exercise(entry),
            _ => self.section(entry, names::SHEET),
        }
    }

    /// An entry that may stand at the top and in a part.
    fn section(&mut self, entry: &Entry, place: &Place) {
        match entry.key.text.as_str() {
            "known" => self.known(entry),
            "work" => self.work(entry),
            "check" => self.check(entry),
            "tables" => self.tables(entry),
            "functions" => {
                if let Some(text) = self.formula(entry, "`functions: |`, and the functions below") {
                    self.sheet.functions.push(text);
                }
            }
            "use" => self.uses(entry),
            "tied" => self.tied(entry),
            "draw" => self.draw(entry),
            _ => self.unknown_key(entry, place),
        }
    }

    fn version(&mut self, entries: &[Entry]) {
        let Some(entry) = entries.iter().find(|entry| entry.key.text == "forebay") else {
            self.found.push(Diagnostic::new(
                Code::VERSION,
                "the sheet does not say which format version it is written in",
                self.start(),
            ));
            return;
        };
        let text = match &entry.value.kind {
            Kind::Broken => return,
            Kind::Scalar { text, .. } => text.as_str(),
            _ => "",
        };
        let span = if entry.value.span.start == entry.value.span.end {
            entry.key.span
        } else {
            entry.value.span
        };
        match text.parse::<u32>() {
            Ok(VERSION) => {}
            Ok(version) if version > VERSION => {
                self.later = true;
                self.found.push(
                    Diagnostic::new(
                        Code::VERSION,
                        format!("this sheet is written in format {version}, which is newer than this program"),
                        span,
                    )
                    .help(format!(
                        "please use a newer forebay; this one knows format {VERSION} and reads what it can"
                    )),
                );
            }
            _ => self.found.push(Diagnostic::new(
                Code::VERSION,
                format!("`{text}` is no format version"),
                span,
            )),
        }
    }

    fn currency(&mut self, entry: &Entry) -> Option<Currency> {
        let code = self.word(entry, "a currency code such as `EUR`")?;
        let currency = Currency::by_code(&code.text);
        if currency.is_none() {
            self.found.push(
                Diagnostic::new(
                    Code::WRONG_SHAPE,
                    format!("`{}` is no currency code of ISO 4217", code.text),
                    code.span,
                )
                .help("three capital letters, such as `EUR` or `USD`"),
            );
        }
        currency
    }

    fn show(&mut self, entry: &Entry) -> Vec<Text> {
        match &entry.value.kind {
            Kind::Sequence { items, .. } => items
                .iter()
                .filter_map(|item| match &item.kind {
                    Kind::Scalar { text, .. } if !item.is_absent() => {
                        Some(Text { span: item.span, text: text.clone() })
                    }
                    _ => {
                        self.wrong_shape(item, "a name");
                        None
                    }
                })
                .collect(),
            Kind::Scalar { text, .. } if !entry.value.is_absent() => {
                vec![Text { span: entry.value.span, text: text.clone() }]
            }
            _ => {
                self.wrong_shape(&entry.value, "a list of names, such as `[net_power, payback]`");
                Vec::new()
            }
        }
    }

    fn parts(&mut self, entry: &Entry) {
        let Kind::Sequence { items, .. } = &entry.value.kind else {
            if !entry.value.is_absent() {
                self.wrong_shape(&entry.value, "a list of parts, each beginning with `- title:`");
            }
            return;
        };
        for item in items {
            let Kind::Mapping { entries, doubled, .. } = &item.kind else {
                self.wrong_shape(item, "a part with `title:`, `known:`, `work:` or `check:`");
                continue;
            };
            let number = self.sheet.parts.len();
            self.part = Some(number);
            self.sheet.parts.push(Part { title: format!("Part {}", number + 1), about: None });
            if !entries.iter().any(|entry| entry.key.text == "title") {
                let span = entries.first().map_or(item.span, |entry| entry.key.span);
                self.found.push(
                    Diagnostic::new(Code::MISSING_KEY, "a part needs a `title`", span)
                        .help("begin the part with `- title: …`"),
                );
            }
            for entry in entries {
                let text = match entry.key.text.as_str() {
                    "title" | "about" => self.human(entry),
                    _ => {
                        self.section(entry, names::PART);
                        continue;
                    }
                };
                if let Some(part) = self.sheet.parts.last_mut() {
                    match (entry.key.text.as_str(), text) {
                        ("title", Some(title)) => part.title = title,
                        ("about", about) => part.about = about,
                        _ => {}
                    }
                }
            }
            self.lose_doubled(doubled);
            self.part = None;
        }
    }
}

// What all sections share.
impl Reader<'_> {
    /// Reports a diagnostic.
    pub(super) fn report(&mut self, diagnostic: Diagnostic) {
        self.found.push(diagnostic);
    }

    /// Refuses a key that means nothing at its place.
    pub(super) fn unknown_key(&mut self, entry: &Entry, place: &Place) {
        // A later version may well know it.
        if !self.later {
            self.found.push(names::unknown_key(entry, place));
        }
    }

    /// Says that something else is expected than what stands there.
    pub(super) fn wrong_shape(&mut self, node: &Node, expected: &str) {
        if !node.is_broken() {
            let message = format!("expected {expected}, found {}", node.describe());
            self.found.push(Diagnostic::new(Code::WRONG_SHAPE, message, node.span));
        }
    }

    /// The entries of a section that is a set of names; what is doubled in it counts as broken.
    pub(super) fn named<'n>(&mut self, entry: &'n Entry, example: &str) -> &'n [Entry] {
        match &entry.value.kind {
            Kind::Mapping { entries, doubled, .. } => {
                for other in doubled {
                    self.lose(&other.key);
                }
                entries
            }
            _ => {
                if !entry.value.is_absent() {
                    let node = Node { span: entry.key.span, ..entry.value.clone() };
                    self.wrong_shape(&node, &format!("names with values, such as `{example}`"));
                }
                &[]
            }
        }
    }

    /// Takes a name for the whole sheet; false where it cannot be had.
    pub(super) fn claim(&mut self, name: &Text) -> bool {
        if self.bad_name(name) {
            self.lose(name);
            return false;
        }
        let taken = self.names.get(&name.text).copied();
        self.twice(name, taken);
        if taken.is_none() {
            self.names.insert(name.text.clone(), name.span);
        }
        taken.is_none()
    }

    /// Takes a name among the checks; false where it cannot be had.
    pub(super) fn claim_check(&mut self, name: &Text) -> bool {
        if self.bad_name(name) {
            return false;
        }
        let taken = self.checks.get(&name.text).copied();
        self.twice(name, taken);
        if taken.is_none() {
            self.checks.insert(name.text.clone(), name.span);
        }
        taken.is_none()
    }

    /// Takes a name among the drawings; false where it cannot be had.
    pub(super) fn claim_drawing(&mut self, name: &Text) -> bool {
        if self.bad_name(name) {
            return false;
        }
        let taken = self.drawings.get(&name.text).copied();
        self.twice(name, taken);
        if taken.is_none() {
            self.drawings.insert(name.text.clone(), name.span);
        }
        taken.is_none()
    }

    /// Says so where a word cannot be a name.
    pub(super) fn bad_name(&mut self, name: &Text) -> bool {
        let refused = names::refuse_name(&name.text);
        let bad = refused.is_some();
        if let Some((message, help)) = refused {
            self.found.push(Diagnostic::new(Code::BAD_NAME, message, name.span).help(help));
        }
        bad
    }

    fn twice(&mut self, name: &Text, earlier: Option<Span>) {
        if let Some(earlier) = earlier {
            self.found.push(
                Diagnostic::new(
                    Code::NAME_TWICE,
                    format!("`{}` is the name of two things", name.text),
                    name.span,
                )
                .here("not used")
                .and(earlier, "in use"),
            );
        }
    }

    /// Keeps the name of an entry that is left out.
    pub(super) fn lose(&mut self, name: &Text) {
        self.lost.push(name.clone());
    }

    /// Keeps the names in sections that stand there a second time.
    fn lose_doubled(&mut self, doubled: &[Entry]) {
        for section in doubled {
            if let Kind::Mapping { entries, .. } = &section.value.kind {
                for entry in entries {
                    self.lose(&entry.key);
                }
            }
        }
    }

    /// A text for people, in any style.
    pub(super) fn human(&mut self, entry: &Entry) -> Option<String> {
        match &entry.value.kind {
            Kind::Scalar { text, .. } if !entry.value.is_absent() => {
                Some(text.trim_end().to_owned())
            }
            Kind::Scalar { .. } => None,
            _ => {
                self.wrong_shape(&entry.value, "a text");
                None
            }
        }
    }

    /// One word, in any style.
    pub(super) fn word(&mut self, entry: &Entry, expected: &str) -> Option<Text> {
        match &entry.value.kind {
            Kind::Scalar { text, .. } if !entry.value.is_absent() => {
                Some(Text { span: entry.value.span, text: text.trim().to_owned() })
            }
            _ => {
                let node =
                    Node { span: entry.key.span.to(entry.value.span), ..entry.value.clone() };
                self.wrong_shape(&node, expected);
                None
            }
        }
    }

    /// One of a few words.
    pub(super) fn one_of<T: Copy>(&mut self, entry: &Entry, choices: &[(&str, T)]) -> Option<T> {
        let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
        let word = self.word(entry, &names::listed(&words))?;
        let choice = choices.iter().find(|(name, _)| *name == word.text).map(|(_, choice)| *choice);
        if choice.is_none() {
            let help = match nearest(&word.text, words.iter().copied()).first() {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("choose {}", names::listed(&words)),
            };
            let message = format!("`{}` is none of {}", word.text, names::listed(&words));
            self.found.push(Diagnostic::new(Code::WRONG_SHAPE, message, word.span).help(help));
        }
        choice
    }

    /// A formula: a text whose source reads as the formula does, or a list in brackets.
    /// `example` says how it is written, for where nothing stands there.
    pub(super) fn formula(&mut self, entry: &Entry, example: &str) -> Option<Text> {
        let (key, node) = (&entry.key, &entry.value);
        match &node.kind {
            Kind::Broken => None,
            _ if node.is_absent() => {
                let message = format!("nothing stands behind `{}`", key.text);
                self.found.push(
                    Diagnostic::new(Code::MISSING_KEY, message, key.span)
                        .help(format!("write {example}")),
                );
                None
            }
            Kind::Scalar { style: style @ (Style::Escaped | Style::Folded), .. } => {
                let message = if *style == Style::Folded {
                    "a formula stands in a folded block (`>`)"
                } else {
                    "a formula stands in quotes with escapes in them"
                };
                self.found.push(Diagnostic::new(Code::FOLDED, message, node.span));
                None
            }
            Kind::Scalar { text, .. } => Some(Text { span: node.span, text: text.clone() }),
            Kind::Sequence { items, flow: true } => self.list(items, node.span),
            Kind::Sequence { items, .. } => {
                let items: Vec<&str> =
                    items.iter().take(3).map(|item| self.piece(item.span)).collect();
                let help = format!("write it in brackets: `{}: [{}]`", key.text, items.join(", "));
                self.found.push(
                    Diagnostic::new(
                        Code::WRONG_SHAPE,
                        "a list of values stands one a line",
                        node.span,
                    )
                    .help(help),
                );
                None
            }
            Kind::Mapping { .. } => {
                self.wrong_shape(node, &format!("a formula, such as {example}"));
                None
            }
        }
    }

    /// A list in brackets, as one text.
    fn list(&mut self, items: &[Node], span: Span) -> Option<Text> {
        let mut leaves = Vec::with_capacity(items.len());
        if !items.iter().all(|item| item.leaves(&mut leaves)) {
            return None;
        }
        // A `#` between two items can only begin a comment.
        let mut from = span.start;
        for item in leaves.into_iter().chain([Span { start: span.end, ..span }]) {
            let gap = self.piece(Span { start: from, end: item.start.max(from), ..span });
            if let Some(at) = gap.find('#') {
                let start = from + super::tree::offset(at);
                let length = gap[at..].find('\n').unwrap_or(gap.len() - at);
                let comment = Span { start, end: start + super::tree::offset(length), ..span };
                self.found.push(
                    Diagnostic::new(Code::WRONG_SHAPE, "a comment stands inside a list", comment)
                        .help("put it above the list or behind it"),
                );
                return None;
            }
            from = item.end;
        }
        Some(Text { span, text: self.piece(span).to_owned() })
    }

    /// The piece of the sheet's own text under a span.
    pub(super) fn piece(&self, span: Span) -> &str {
        self.text.get(span.start as usize..span.end as usize).unwrap_or_default()
    }

    /// A part of a text that is a piece of the source, with its place.
    pub(super) fn part_of(&self, whole: &Text, start: usize, end: usize) -> Text {
        let piece = whole.text.get(start..end).unwrap_or_default();
        let trimmed = piece.trim_start();
        let start = start + piece.len() - trimmed.len();
        let text = trimmed.trim_end();
        let at = whole.span.start + super::tree::offset(start);
        let span = Span { start: at, end: at + super::tree::offset(text.len()), ..whole.span };
        Text { span, text: text.to_owned() }
    }

    fn start(&self) -> Span {
        Span { source: self.source, start: 0, end: 0 }
    }
}
