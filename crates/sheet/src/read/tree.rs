//! The YAML text as a tree in which every scalar and every key knows its bytes in the source.
//!
//! One pass over the parser's events, bounded in bytes, depth and number of nodes. Scalars stay
//! text: `yes`, `010` and `1_000` are what was written, and what they mean is decided elsewhere.

use std::collections::{HashMap, HashSet};

use saphyr_parser::{Event, Marker, Parser, ScalarStyle, ScanError, Span as Place};

use super::torn;
use crate::bounds::{DEEPEST_YAML, MOST_NODES};
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::worksheet::Text;

/// A piece of the document.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    /// Its bytes: a scalar without quotes, a list or a set of keys with its brackets.
    pub(crate) span: Span,
    /// What it is.
    pub(crate) kind: Kind,
}

/// What a node is.
#[derive(Clone, Debug)]
pub(crate) enum Kind {
    /// A text; an absent value is an empty plain one.
    Scalar { text: String, style: Style },
    /// A list, in brackets (`flow`) or one item a line.
    Sequence { items: Vec<Node>, flow: bool },
    /// A set of keys, in braces or one key a line. `doubled` holds the entries whose
    /// key stood there before: they are out of use, but their names are not unknown.
    Mapping { entries: Vec<Entry>, doubled: Vec<Entry> },
    /// Something that was refused, and for which a diagnostic exists.
    Broken,
}

/// How a scalar is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Style {
    /// Without quotes.
    Plain,
    /// In quotes, and nothing in them is escaped: the source reads as the text does.
    Quoted,
    /// In quotes, with escapes: the source reads differently from the text.
    Escaped,
    /// A block after `|`.
    Literal,
    /// A block after `>`.
    Folded,
}

/// A key with its value.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    /// The key.
    pub(crate) key: Text,
    /// The value.
    pub(crate) value: Node,
}

/// What one pass gives: the tree as far as it was read, what was found, and where it ended early.
pub(crate) struct Pass {
    /// The tree; everything before the error, if there was one.
    pub(crate) root: Option<Node>,
    /// What is wrong in it.
    pub(crate) found: Vec<Diagnostic>,
    /// Where the text stopped being YAML: byte and the parser's words.
    pub(crate) error: Option<(usize, String)>,
}

impl Node {
    /// Whether there is no value here: nothing at all, `~` or `null`.
    pub(crate) fn is_absent(&self) -> bool {
        matches!(&self.kind, Kind::Scalar { text, style: Style::Plain }
            if matches!(text.as_str(), "" | "~" | "null"))
    }

    /// Whether it was refused already.
    pub(crate) fn is_broken(&self) -> bool {
        matches!(self.kind, Kind::Broken)
    }

    /// Adds the places of the scalars in it, in order; false where something in it is broken.
    pub(crate) fn leaves(&self, leaves: &mut Vec<Span>) -> bool {
        match &self.kind {
            Kind::Scalar { .. } => leaves.push(self.span),
            Kind::Sequence { items, .. } => return items.iter().all(|item| item.leaves(leaves)),
            Kind::Mapping { entries, .. } => {
                return entries.iter().all(|entry| {
                    leaves.push(entry.key.span);
                    entry.value.leaves(leaves)
                });
            }
            Kind::Broken => return false,
        }
        true
    }

    /// What it is, in words.
    pub(crate) fn describe(&self) -> &'static str {
        match &self.kind {
            _ if self.is_absent() => "nothing",
            Kind::Scalar { .. } => "a text",
            Kind::Sequence { .. } => "a list",
            Kind::Mapping { .. } => "a set of keys",
            Kind::Broken => "something broken",
        }
    }
}

/// Reads `text` once. `lost` holds the first bytes of keys whose value was taken out of the text
/// because it was not YAML; those values come back as [`Kind::Broken`].
pub(crate) fn pass(text: &str, source: u16, lost: &HashSet<u32>) -> Pass {
    let mut builder = Builder {
        text,
        // The parser counts characters, not bytes.
        offsets: (!text.is_ascii())
            .then(|| text.char_indices().map(|(byte, _)| offset(byte)).collect()),
        source,
        lost,
        frames: Vec::new(),
        skipping: 0,
        nodes: 0,
        documents: 0,
        root: None,
        found: Vec::new(),
    };
    let mut parser = Parser::new_from_str(text);
    let mut error = None;
    while let Some(event) = parser.next_event() {
        match event {
            Ok((Event::StreamEnd, _)) => break,
            Ok((event, place)) => {
                if !builder.take(event, place) {
                    break;
                }
            }
            Err(problem) => {
                error = Some(builder.problem(&problem));
                break;
            }
        }
    }
    builder.finish();
    Pass { root: builder.root, found: builder.found, error }
}

/// A collection that is not closed yet.
struct Frame {
    start: u32,
    flow: bool,
    open: Open,
}

enum Open {
    Sequence(Vec<Node>),
    Mapping { entries: Vec<Entry>, key: Option<Node> },
}

struct Builder<'t> {
    text: &'t str,
    offsets: Option<Vec<u32>>,
    source: u16,
    lost: &'t HashSet<u32>,
    frames: Vec<Frame>,
    /// How many levels below the deepest allowed one we are.
    skipping: usize,
    nodes: usize,
    documents: usize,
    root: Option<Node>,
    found: Vec<Diagnostic>,
}

impl Builder<'_> {
    /// Takes one event; false where reading must end.
    fn take(&mut self, event: Event<'_>, place: Place) -> bool {
        let span = self.span(self.byte(place.start), self.byte(place.end));
        if self.skipping > 0 {
            match event {
                Event::SequenceStart(..) | Event::MappingStart(..) => self.skipping += 1,
                Event::SequenceEnd | Event::MappingEnd => self.skipping -= 1,
                _ => {}
            }
            return true;
        }
        match event {
            Event::DocumentStart(_) => {
                self.documents += 1;
                if self.documents > 1 {
                    self.found.push(
                        Diagnostic::new(Code::YAML, "a second document begins here", span)
                            .help("a worksheet is one document: take out the line `---` or `...`"),
                    );
                    return false;
                }
            }
            Event::Scalar(text, style, anchor, tag) => {
                let (span, mut broken) = self.refuse_marks(span, anchor != 0, tag.as_deref());
                // Behind a mark the parser does not say where a block begins.
                broken |= (anchor != 0 || tag.is_some())
                    && matches!(style, ScalarStyle::Literal | ScalarStyle::Folded);
                let node = self.scalar(span, text.into_owned(), style);
                return self.add(if broken { Node { kind: Kind::Broken, ..node } } else { node });
            }
            Event::Alias(_) => {
                // Under a merge key one diagnostic is enough.
                if !self.under_merge_key() {
                    self.found.push(
                        Diagnostic::new(Code::MERGE_KEY, "an alias stands for a value", span)
                            .here("begins with `*`")
                            .help("write the value out, or put it in quotes if it is a text"),
                    );
                }
                return self.add(Node { span, kind: Kind::Broken });
            }
            Event::SequenceStart(anchor, tag) => {
                let (span, _) = self.refuse_marks(span, anchor != 0, tag.as_deref());
                self.open(span, Open::Sequence(Vec::new()));
            }
            Event::MappingStart(anchor, tag) => {
                let (span, _) = self.refuse_marks(span, anchor != 0, tag.as_deref());
                self.open(span, Open::Mapping { entries: Vec::new(), key: None });
            }
            Event::SequenceEnd | Event::MappingEnd => {
                let end = closing_bracket(self.text, span.start);
                return self.close(end);
            }
            Event::Nothing | Event::StreamStart | Event::StreamEnd | Event::DocumentEnd => {}
        }
        true
    }

    fn open(&mut self, span: Span, open: Open) {
        if self.frames.len() >= DEEPEST_YAML {
            self.found.push(Diagnostic::new(
                Code::TOO_LARGE,
                format!("nested more than {DEEPEST_YAML} deep"),
                self.span(span.start, span.start.saturating_add(1)),
            ));
            self.skipping = 1;
            self.add(Node { span, kind: Kind::Broken });
            return;
        }
        let flow = matches!(self.text.as_bytes().get(span.start as usize), Some(b'[' | b'{'))
            && span.end > span.start;
        self.frames.push(Frame { start: span.start, flow, open });
    }

    /// Closes the innermost collection; false where reading must end.
    fn close(&mut self, end: u32) -> bool {
        let Some(frame) = self.frames.pop() else { return true };
        let flow = frame.flow;
        // A block collection "ends" where the next thing begins: take its last piece instead.
        let end_of = |last: Option<u32>| if flow { end } else { last.unwrap_or(frame.start) };
        let (end, kind) = match frame.open {
            Open::Sequence(items) => {
                (end_of(items.last().map(|item| item.span.end)), Kind::Sequence { items, flow })
            }
            Open::Mapping { entries, .. } => {
                let last = entries.last().map(|entry| entry.value.span.end.max(entry.key.span.end));
                let entries =
                    if flow { torn::mend(entries, self.text, &mut self.found) } else { entries };
                let (entries, doubled) = self.separate_doubled(entries);
                (end_of(last), Kind::Mapping { entries, doubled })
            }
        };
        self.add(Node { span: self.span(frame.start, end), kind })
    }

    /// Puts a finished node where it belongs; false where there are too many.
    fn add(&mut self, node: Node) -> bool {
        self.nodes += 1;
        if self.nodes > MOST_NODES {
            self.found.push(Diagnostic::new(
                Code::TOO_LARGE,
                format!("more than {MOST_NODES} values; what follows is not read"),
                node.span,
            ));
            return false;
        }
        match self.frames.last_mut().map(|frame| &mut frame.open) {
            None => self.root = Some(node),
            Some(Open::Sequence(items)) => items.push(node),
            Some(Open::Mapping { key, .. }) if key.is_none() => *key = Some(node),
            Some(Open::Mapping { entries, key }) => {
                let Some(key) = key.take() else { return true };
                let mut value = node;
                if matches!(&value.kind, Kind::Scalar { text, style: Style::Plain } if text.is_empty())
                {
                    // Nothing has no place of its own; the parser says where the next thing is.
                    value.span = Span { start: key.span.end, ..key.span };
                    if self.lost.contains(&key.span.start) {
                        value.kind = Kind::Broken;
                    }
                }
                match key.kind {
                    Kind::Scalar { text, style: Style::Plain } if text == "<<" => {
                        self.found.push(
                            Diagnostic::new(
                                Code::MERGE_KEY,
                                "a merge key takes in other keys",
                                key.span,
                            )
                            .help("write the keys out"),
                        );
                    }
                    Kind::Scalar { text, .. } if !text.is_empty() => {
                        entries.push(Entry { key: Text { span: key.span, text }, value });
                    }
                    Kind::Broken => {}
                    _ => self.found.push(
                        Diagnostic::new(Code::WRONG_SHAPE, "a key must be a word", key.span)
                            .help("write `key: value`"),
                    ),
                }
            }
        }
        true
    }

    fn under_merge_key(&self) -> bool {
        matches!(
            self.frames.last().map(|frame| &frame.open),
            Some(Open::Mapping { key: Some(Node { kind: Kind::Scalar { text, .. }, .. }), .. })
                if text == "<<"
        )
    }

    /// Refuses what a key is given a second time; the first stays in use.
    fn separate_doubled(&mut self, entries: Vec<Entry>) -> (Vec<Entry>, Vec<Entry>) {
        let same = |a: &Entry, b: &Entry| a.key.text == b.key.text;
        let single = if entries.len() <= 8 {
            (1..entries.len())
                .all(|at| !entries[..at].iter().any(|other| same(other, &entries[at])))
        } else {
            let mut seen = HashSet::with_capacity(entries.len());
            entries.iter().all(|entry| seen.insert(entry.key.text.as_str()))
        };
        if single {
            return (entries, Vec::new());
        }
        let mut first: HashMap<String, Span> = HashMap::with_capacity(entries.len());
        let (mut kept, mut doubled) = (Vec::with_capacity(entries.len()), Vec::new());
        for entry in entries {
            if let Some(&earlier) = first.get(&entry.key.text) {
                self.found.push(
                    Diagnostic::new(
                        Code::DUPLICATE_KEY,
                        format!("`{}` stands here a second time", entry.key.text),
                        entry.key.span,
                    )
                    .here("not used")
                    .and(earlier, "in use"),
                );
                doubled.push(entry);
            } else {
                first.insert(entry.key.text.clone(), entry.key.span);
                kept.push(entry);
            }
        }
        (kept, doubled)
    }

    /// Refuses an anchor or a tag before a node. Gives the place of the node without it, and
    /// whether the tag is likely to be part of what the user meant, so that the rest is no value.
    fn refuse_marks(
        &mut self,
        place: Span,
        anchor: bool,
        tag: Option<&saphyr_parser::Tag>,
    ) -> (Span, bool) {
        if !anchor && tag.is_none() {
            return (place, false);
        }
        let mut start = place.start as usize;
        let end = place.end as usize;
        let mut marks = Vec::new();
        while self.text[start..end.max(start)].starts_with(['&', '!']) {
            let rest = &self.text[start..end];
            let length = rest.find(char::is_whitespace).unwrap_or(rest.len());
            marks.push(self.span(offset(start), offset(start + length)));
            start = end - rest[length..].trim_start().len();
        }
        if marks.is_empty() {
            marks.push(self.span(place.start, place.start));
        }
        for mark in marks {
            let tagged = self.text[mark.start as usize..].starts_with('!') || !anchor;
            self.found.push(if tagged {
                Diagnostic::new(Code::YAML, "a tag says how to read a value", mark)
                    .help("take it out, or put the value in quotes if it begins with `!`")
            } else {
                Diagnostic::new(Code::MERGE_KEY, "an anchor names a value", mark)
                    .help("take it out, or put the value in quotes if it begins with `&`")
            });
        }
        (self.span(offset(start), place.end), tag.is_some_and(|tag| !tag.is_yaml_core_schema()))
    }

    fn scalar(&self, place: Span, text: String, style: ScalarStyle) -> Node {
        let raw = &self.text[place.start as usize..place.end as usize];
        let (style, start, length) = match style {
            ScalarStyle::Plain => (Style::Plain, 0, raw.trim_end().len()),
            ScalarStyle::Literal => (Style::Literal, 0, raw.trim_end().len()),
            ScalarStyle::Folded => (Style::Folded, 0, raw.trim_end().len()),
            ScalarStyle::SingleQuoted | ScalarStyle::DoubleQuoted => {
                let (length, escaped) = inside_quotes(raw);
                (if escaped { Style::Escaped } else { Style::Quoted }, 1, length)
            }
        };
        let start = (place.start as usize + start).min(self.text.len());
        let span = self.span(offset(start), offset(start + length));
        Node { span, kind: Kind::Scalar { text, style } }
    }

    /// Closes what the error left open.
    fn finish(&mut self) {
        self.skipping = 0;
        while let Some(frame) = self.frames.last() {
            let end = frame.start;
            if !self.close(end) {
                break;
            }
        }
    }

    fn problem(&self, problem: &ScanError) -> (usize, String) {
        (self.byte(*problem.marker()) as usize, problem.info().to_owned())
    }

    fn byte(&self, marker: Marker) -> u32 {
        let end = offset(self.text.len());
        match &self.offsets {
            Some(offsets) => offsets.get(marker.index()).copied().unwrap_or(end),
            None => offset(marker.index()).min(end),
        }
    }

    fn span(&self, start: u32, end: u32) -> Span {
        Span {
            source: self.source,
            start,
            end: end.max(start).min(offset(self.text.len()).max(start)),
        }
    }
}

/// One past the bracket that stands at `at` or behind a last comma there. The parser's own end
/// lies behind the comment that follows, or at the comma.
fn closing_bracket(text: &str, at: u32) -> u32 {
    let mut place = at as usize;
    while let Some(byte) = text.as_bytes().get(place) {
        match byte {
            b']' | b'}' => return offset(place + 1),
            b'#' => place += text[place..].find('\n').unwrap_or(text.len() - place),
            b',' | b' ' | b'\t' | b'\r' | b'\n' => place += 1,
            _ => break,
        }
    }
    at
}

/// How many bytes stand inside the quotes that `raw` begins with, and whether any of them are
/// escapes. The parser's own end lies behind a comment that follows.
fn inside_quotes(raw: &str) -> (usize, bool) {
    let mut bytes = raw.bytes().enumerate();
    let Some((_, quote)) = bytes.next() else { return (0, false) };
    let mut escaped = false;
    while let Some((at, byte)) = bytes.next() {
        if byte == b'\\' && quote == b'"' {
            escaped = true;
            bytes.next();
        } else if byte == quote {
            if quote == b'\'' && raw.as_bytes().get(at + 1) == Some(&b'\'') {
                escaped = true;
                bytes.next();
            } else {
                return (at - 1, escaped);
            }
        }
    }
    (raw.len().saturating_sub(1), true)
}

/// A byte offset as spans hold it; texts are bounded by `MOST_BYTES` of `bounds.rs`.
pub(crate) fn offset(byte: usize) -> u32 {
    u32::try_from(byte).unwrap_or(u32::MAX)
}
