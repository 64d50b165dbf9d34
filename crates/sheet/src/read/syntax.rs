//! Texts that are not YAML: what is said about them, and how the rest is still read.
//!
//! The piece around an error is blanked out, byte for byte, so that every place in what remains
//! stays what it was; then the text is read again. The number of attempts is bounded.

use std::collections::HashSet;

use super::tree::{self, Node, offset};
use super::{names, torn};
use crate::bounds::MOST_BYTES;
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::worksheet::Text;

/// How often a text is read again after an error was blanked out.
const MAX_ATTEMPTS: usize = 12;
/// How many bytes all attempts together may read.
const MAX_READ: usize = 4 * MOST_BYTES;
/// How many lines before an error are searched for its cause.
const MAX_LINES: usize = 64;

/// A text that was read: its tree, and the names that stood in pieces that could not be read.
#[derive(Default)]
pub(crate) struct Read {
    /// The tree, without what is broken.
    pub(crate) root: Option<Node>,
    /// Words before a colon in the pieces that were taken out.
    pub(crate) lost_names: Vec<Text>,
}

/// Reads a text, and after an error in it the rest.
pub(crate) fn read(text: &str, source: u16, found: &mut Vec<Diagnostic>) -> Read {
    if text.len() > MOST_BYTES {
        found.push(Diagnostic::new(
            Code::TOO_LARGE,
            format!("{} bytes are more than the {} that are read", text.len(), MOST_BYTES),
            Span { source, start: 0, end: 0 },
        ));
        return Read::default();
    }
    let mut patient = Patient {
        text,
        source,
        rest: text.to_owned(),
        lost: HashSet::new(),
        lost_names: Vec::new(),
        told: HashSet::new(),
    };
    let attempts = MAX_ATTEMPTS.min(MAX_READ / text.len().max(1)).max(1);
    for attempt in 1.. {
        let pass = tree::pass(&patient.rest, source, &patient.lost);
        match pass.error {
            Some((at, words)) if patient.operate(at, &words, found) && attempt < attempts => {}
            _ => {
                found.extend(pass.found);
                return Read { root: pass.root, lost_names: patient.lost_names };
            }
        }
    }
    Read::default()
}

/// A line of the text, by bytes; without its line break.
#[derive(Clone, Copy)]
struct Line {
    start: usize,
    end: usize,
}

/// What is to be blanked out, and the key that keeps standing before it.
struct Cut {
    start: usize,
    end: usize,
    key: Option<usize>,
}

struct Patient<'t> {
    /// The text as the user wrote it.
    text: &'t str,
    source: u16,
    /// The same, with blanks where it was broken.
    rest: String,
    /// First bytes of the keys whose value was blanked out.
    lost: HashSet<u32>,
    lost_names: Vec<Text>,
    /// Starts of the lines about which something was said.
    told: HashSet<usize>,
}

impl Patient<'_> {
    /// Says what is wrong at byte `at` and blanks it out; false where nothing more can be done.
    fn operate(&mut self, at: usize, words: &str, found: &mut Vec<Diagnostic>) -> bool {
        let here = self.line_at(at.min(self.rest.len()));
        let next = self.line_after(here).filter(|_| words.contains("tab"));
        let tab =
            [Some(here), next].into_iter().flatten().find_map(|line| self.tab_in_indent(line));
        if let Some(tab) = tab {
            found.push(
                Diagnostic::new(Code::YAML, "a tab stands in the indent", self.span(tab, tab + 1))
                    .help("indent with spaces only"),
            );
            self.take_tabs_out();
            return true;
        }
        let (line, diagnostic) = self.explain(at, here, words);
        let fresh = self.told.insert(line.start);
        if fresh {
            found.push(diagnostic);
        }
        let cut = self.cut(line, here, fresh);
        if self.rest[cut.start..cut.end].trim().is_empty() {
            return false;
        }
        for (start, name) in names::before_colons(&self.rest[cut.start..cut.end]) {
            let start = cut.start + start;
            let span = self.span(start, start + name.len());
            self.lost_names.push(Text { span, text: name.to_owned() });
        }
        self.lost.extend(cut.key.map(offset));
        let blank = blanked(&self.rest[cut.start..cut.end]);
        self.rest.replace_range(cut.start..cut.end, &blank);
        true
    }

    /// The line to blame and the diagnostic, for an error that the parser saw at byte `at`.
    fn explain(&self, at: usize, here: Line, words: &str) -> (Line, Diagnostic) {
        if words.contains("recursion limit") {
            let diagnostic = Diagnostic::new(
                Code::TOO_LARGE,
                "brackets are nested too deeply",
                self.line_span(here),
            );
            return (here, diagnostic);
        }
        if words.contains("unknown anchor") {
            let diagnostic = Diagnostic::new(
                Code::MERGE_KEY,
                "a value that begins with `*` is an alias",
                self.span(at, at + 1),
            )
            .help("write the value out, or put it in quotes if it is a text");
            return (here, diagnostic);
        }
        if words.contains("document") && self.rest[here.start..].starts_with(['.', '-', '%']) {
            let diagnostic =
                Diagnostic::new(Code::YAML, "a second document begins here", self.line_span(here))
                    .help("a worksheet is one document: take out the line `---`, `...` or `%`");
            return (here, diagnostic);
        }
        if let Some((line, open, sign)) = self.open_bracket(at, here) {
            return (line, self.open_diagnostic(open, sign, at, here));
        }
        let ends_early = ["end of stream", "invalid indentation", "document indicator"];
        if words.contains("quoted scalar") && ends_early.iter().any(|end| words.contains(end)) {
            let diagnostic =
                Diagnostic::new(Code::YAML, "this quote is not closed", self.span(at, at + 1))
                    .help("put the same quote at the end");
            return (here, diagnostic);
        }
        if let Some(orphan) = self.orphan_before(here) {
            let diagnostic =
                Diagnostic::new(Code::YAML, "this line has no `key:`", self.line_span(orphan))
                    .help("write `name: value`, or indent the line if it continues the one above");
            return (orphan, diagnostic);
        }
        (here, self.value_diagnostic(at, here, words))
    }

    fn open_diagnostic(&self, open: usize, sign: u8, at: usize, here: Line) -> Diagnostic {
        if sign == b'(' {
            // The whole formula: from its key's colon to where its brackets close.
            let start = self.rest[..open].rfind([':', ',', '{']).map_or(open, |colon| colon + 1);
            let start = start + blanks(&self.rest[start..]);
            let mut depth = 0_usize;
            let end = self.rest[open..here.end.max(open)]
                .char_indices()
                .find_map(|(place, c)| {
                    match c {
                        '(' => depth += 1,
                        ')' => depth = depth.saturating_sub(1),
                        _ => {}
                    }
                    (depth == 0).then_some(open + place + 1)
                })
                .unwrap_or_else(|| at.clamp(open, here.end.max(open)));
            return torn::explain(self.text, self.span(start, end));
        }
        Diagnostic::new(
            Code::YAML,
            format!("this `{}` is not closed, or what stands in it is torn apart", char::from(sign)),
            self.span(open, open + 1),
        )
        .help("close the bracket; put a formula in quotes or on a line of its own; write `~` for a gap")
    }

    fn value_diagnostic(&self, at: usize, here: Line, words: &str) -> Diagnostic {
        let Some((_, value)) = self.key_and_value(here) else {
            return self.unexplained(at, here, words);
        };
        let text = &self.rest[value..here.end];
        let whole = self.span(value, value + text.trim_end().len());
        let quoted = "put the value in quotes";
        match text.chars().next() {
            Some(sign @ ('%' | '@' | '`' | '&' | '!' | '*')) => {
                Diagnostic::new(Code::YAML, format!("a value cannot begin with `{sign}`"), whole)
                    .help(quoted)
            }
            Some(sign @ ('|' | '>')) => Diagnostic::new(
                Code::YAML,
                format!("`{sign}` begins a block, whose text stands in the lines below"),
                whole,
            )
            .help("put the value in quotes, or into indented lines below"),
            Some(sign @ ('[' | '{' | '"' | '\'')) => Diagnostic::new(
                Code::YAML,
                format!("a value that begins with `{sign}` must end where that closes"),
                whole,
            )
            .help(if matches!(sign, '"' | '\'') {
                "put other quotes around the whole value"
            } else {
                quoted
            }),
            _ if words.contains("mapping values are not allowed") => Diagnostic::new(
                Code::YAML,
                "a colon followed by a blank stands inside a value",
                whole,
            )
            .help(quoted),
            _ => self.unexplained(at, here, words),
        }
    }

    /// The parser's own words, for want of better.
    fn unexplained(&self, at: usize, here: Line, words: &str) -> Diagnostic {
        let words = words.rsplit(", ").next().unwrap_or(words);
        let at = at.min(here.end);
        let length = self.rest[at..here.end].chars().next().map_or(0, char::len_utf8);
        Diagnostic::new(
            Code::YAML,
            format!("this cannot be read: {words}"),
            self.span(at, at + length),
        )
    }

    /// The outermost bracket or brace that is still open at byte `at` and was opened in this
    /// entry; `(` instead where one is open inside braces.
    fn open_bracket(&self, at: usize, here: Line) -> Option<(Line, usize, u8)> {
        // The entry: back to a line that is less indented than all behind it and has a key, but
        // at least to one that opens a bracket.
        let mut line = here;
        for _ in 0..MAX_LINES {
            let open = open_signs(&self.rest[line.start..at.clamp(line.start, here.end)]);
            if let Some(&(outer, sign)) = open.iter().find(|(_, sign)| *sign != b'(') {
                let inner = (sign == b'{')
                    .then(|| open.iter().find(|(place, sign)| *place > outer && *sign == b'('))
                    .flatten();
                let (place, sign) = inner.copied().unwrap_or((outer, sign));
                return Some((line, line.start + place, sign));
            }
            line = self.line_before(line)?;
        }
        None
    }

    /// The nearest line before that is no deeper than `here`, where it has no key.
    fn orphan_before(&self, here: Line) -> Option<Line> {
        let mut line = here;
        for _ in 0..MAX_LINES {
            line = self.line_before(line)?;
            let text = self.line(line).trim();
            if text.is_empty() || text.starts_with('#') {
                continue;
            }
            let as_deep = self.indent(line) == self.indent(here);
            let keyless = self.key_and_value(line).is_none()
                && !text.starts_with(['-', '{', '[', '}', ']', '.']);
            return (as_deep && keyless).then_some(line);
        }
        None
    }

    /// What to blank out: the value of the line to blame and all deeper lines behind it; the
    /// whole of it where that was done before or there is no key.
    fn cut(&self, line: Line, here: Line, fresh: bool) -> Cut {
        let mut end = line.end;
        let mut next = self.line_after(line);
        while let Some(line_after) = next {
            let blank = self.line(line_after).trim().is_empty();
            if !blank && self.indent(line_after) <= self.indent(line) {
                break;
            }
            if !blank {
                end = line_after.end;
            }
            next = self.line_after(line_after);
        }
        match self.key_and_value(line) {
            // A line that only opens a section is not to blame for what stands in it.
            Some((_, value)) if value >= line.end && fresh => {
                Cut { start: here.start, end: here.end, key: None }
            }
            Some((key, value)) if fresh => Cut { start: value, end, key: Some(key) },
            _ => Cut { start: line.start, end, key: None },
        }
    }

    /// Where the key of a line such as `  - key: value` begins, and where its value does.
    fn key_and_value(&self, line: Line) -> Option<(usize, usize)> {
        let text = self.line(line);
        let mut start = blanks(text);
        while text[start..].starts_with("- ") {
            start += 2;
            start += blanks(&text[start..]);
        }
        let length =
            text[start..].find(|c: char| !c.is_alphanumeric() && !matches!(c, '_' | '-' | ' '))?;
        let behind = text[start + length..].strip_prefix(':')?;
        if length == 0 || !(behind.is_empty() || behind.starts_with([' ', '\t', '\r'])) {
            return None;
        }
        let value = start + length + 1;
        Some((line.start + start, line.start + value + blanks(&text[value..])))
    }

    fn tab_in_indent(&self, line: Line) -> Option<usize> {
        let text = self.line(line);
        text[..blanks(text)].find('\t').map(|at| line.start + at)
    }

    /// In a text that is indented by tabs alone, turns each of them into one space, which keeps
    /// all places. In others blanks the lines that are indented by tabs.
    fn take_tabs_out(&mut self) {
        let mixed = self.rest.lines().any(|line| line.starts_with(' ') && !line.trim().is_empty());
        let mut mended = String::with_capacity(self.rest.len());
        let mut lost = Vec::new();
        for line in self.rest.split_inclusive('\n') {
            let indent = blanks(line);
            if !line[..indent].contains('\t') {
                mended.push_str(line);
            } else if mixed {
                lost.extend(names::before_colons(line).map(|(at, name)| (mended.len() + at, name)));
                mended.push_str(&blanked(line));
            } else {
                mended.push_str(&" ".repeat(indent));
                mended.push_str(&line[indent..]);
            }
        }
        for (start, name) in lost {
            let span = self.span(start, start + name.len());
            self.lost_names.push(Text { span, text: name.to_owned() });
        }
        self.rest = mended;
    }

    fn line(&self, line: Line) -> &str {
        &self.rest[line.start..line.end]
    }

    fn line_at(&self, at: usize) -> Line {
        let at = (0..=at).rev().find(|at| self.rest.is_char_boundary(*at)).unwrap_or(0);
        let start = self.rest[..at].rfind('\n').map_or(0, |line_break| line_break + 1);
        let end = self.rest[at..].find('\n').map_or(self.rest.len(), |length| at + length);
        let line = Line { start, end };
        // At the end of the text the last line that has something is meant.
        if at == self.rest.len() && self.line(line).trim().is_empty() && start > 0 {
            let end = self.rest.trim_end().len();
            return if end < at { self.line_at(end) } else { line };
        }
        line
    }

    fn line_before(&self, line: Line) -> Option<Line> {
        let end = line.start.checked_sub(1)?;
        let start = self.rest[..end].rfind('\n').map_or(0, |line_break| line_break + 1);
        Some(Line { start, end })
    }

    fn line_after(&self, line: Line) -> Option<Line> {
        let start = line.end + 1;
        let rest = self.rest.get(start..)?;
        Some(Line { start, end: rest.find('\n').map_or(self.rest.len(), |length| start + length) })
    }

    fn indent(&self, line: Line) -> usize {
        blanks(self.line(line))
    }

    fn line_span(&self, line: Line) -> Span {
        let text = self.line(line);
        self.span(line.start + blanks(text), line.start + text.trim_end().len())
    }

    fn span(&self, start: usize, end: usize) -> Span {
        let end = end.min(self.rest.len());
        Span { source: self.source, start: offset(start.min(end)), end: offset(end) }
    }
}

/// As many bytes, all of them blanks and line breaks.
fn blanked(text: &str) -> String {
    text.bytes().map(|byte| if byte == b'\n' { '\n' } else { ' ' }).collect()
}

/// How many blanks a text begins with.
fn blanks(text: &str) -> usize {
    text.len() - text.trim_start_matches([' ', '\t']).len()
}

/// The brackets that a text leaves open, outermost first; quotes and comments are passed over.
fn open_signs(text: &str) -> Vec<(usize, u8)> {
    let mut open = Vec::new();
    let mut before = b' ';
    let mut bytes = text.bytes().enumerate();
    while let Some((at, byte)) = bytes.next() {
        match byte {
            b'(' | b'[' | b'{' => open.push((at, byte)),
            b')' | b']' | b'}' => {
                open.pop();
            }
            b'"' | b'\'' if !before.is_ascii_alphanumeric() => {
                bytes.find(|(_, other)| *other == byte);
            }
            b'#' if before.is_ascii_whitespace() => {
                bytes.find(|(_, other)| *other == b'\n');
            }
            _ => {}
        }
        before = byte;
    }
    open
}
