//! The piece of a source around a diagnostic's labels: cut to the width, nothing hidden in it.

use std::collections::BTreeMap;
use std::ops::Range;

use forebay_report::is_hidden;
use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};

/// What stands left of a source line: its number, bars and spaces.
const GUTTER: usize = 10;
/// How far the words of a label stand from the middle of its line.
const LABEL_OFFSET: usize = 5;

/// Lines of a source, ready to be drawn.
#[derive(Debug)]
pub(crate) struct Excerpt {
    name: String,
    text: String,
    /// How many lines of the source stand before it.
    first_line: usize,
}

/// A label in the source: bytes, and how many columns its words take.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    pub(crate) range: Range<usize>,
    pub(crate) words: usize,
}

impl Excerpt {
    /// The lines of `text` that `places` lie in and one around them, and the places in them.
    pub(crate) fn of(
        name: &str,
        text: &str,
        places: &[Place],
        width: usize,
    ) -> (Self, Vec<Range<usize>>) {
        let start = places.iter().map(|p| p.range.start).min().unwrap_or(0).min(text.len());
        let end = places.iter().map(|p| p.range.end).max().unwrap_or(0).clamp(start, text.len());
        let from = line_start(text, line_start(text, start).saturating_sub(1));
        let to = line_end(text, (line_end(text, end) + 1).min(text.len()));
        let room = width.saturating_sub(GUTTER).max(20);

        let mut moved: BTreeMap<usize, usize> =
            places.iter().flat_map(|p| [(p.range.start, 0), (p.range.end, 0)]).collect();
        let mut out = String::new();
        let mut at = from;
        for line in text[from..to].split_inclusive('\n') {
            cut_line(line, at, places, room, &mut out, &mut moved);
            at += line.len();
        }
        for (_, new) in moved.range_mut(at..) {
            *new = out.len();
        }
        let ranges = places.iter().map(|p| moved[&p.range.start]..moved[&p.range.end]).collect();
        let first_line = text[..from].matches('\n').count();
        (Self { name: name.to_owned(), text: out, first_line }, ranges)
    }
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let read = self.text.read_span(span, before, after)?;
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            read.data(),
            *read.span(),
            read.line() + self.first_line,
            read.column(),
            read.line_count(),
        )))
    }
}

fn line_start(text: &str, at: usize) -> usize {
    text.as_bytes()[..at].iter().rposition(|b| *b == b'\n').map_or(0, |found| found + 1)
}

fn line_end(text: &str, at: usize) -> usize {
    text.as_bytes()[at..].iter().position(|b| *b == b'\n').map_or(text.len(), |found| at + found)
}

/// One line, cut on the left so that the words of its labels have room, and on the right.
fn cut_line(
    line: &str,
    start: usize,
    places: &[Place],
    room: usize,
    out: &mut String,
    moved: &mut BTreeMap<usize, usize>,
) {
    let column = |byte: usize| {
        let within = byte.saturating_sub(start).min(line.len());
        line.get(..within).map_or(within, |before| before.chars().map(columns).sum::<usize>())
    };
    let end = start + line.len();
    let here: Vec<(usize, usize, usize)> = places
        .iter()
        .filter(|p| p.range.start < end && p.range.end >= start && p.range.start >= start)
        .map(|p| (column(p.range.start), column(p.range.end), p.words))
        .collect();
    let needed = here
        .iter()
        .map(
            |(from, to, words)| {
                if *words == 0 { *to } else { (*to).max((from + to) / 2 + LABEL_OFFSET + words) }
            },
        )
        .max()
        .unwrap_or(0);
    // The last label stays whole if it can; one on its left may lose its beginning.
    let last = here.iter().map(|(from, ..)| *from).max().unwrap_or(0);
    let cut = needed.saturating_sub(room).min(last.saturating_sub(2));
    let mut at = 0;
    if cut > 0 {
        out.push('…');
    }
    let mut full = false;
    for (offset, letter) in line.char_indices() {
        if let Some(new) = moved.get_mut(&(start + offset)) {
            *new = out.len();
        }
        if letter == '\n' {
            break;
        }
        let wide = columns(letter);
        at += wide;
        if at <= cut || full || letter == '\r' && matches!(&line[offset..], "\r" | "\r\n") {
            continue;
        }
        if at - cut > room {
            out.push('…');
            full = true;
        } else if letter == '\t' {
            out.push(' ');
        } else if is_hidden(letter) {
            out.extend(letter.escape_unicode());
        } else {
            out.push(letter);
        }
    }
    if line.ends_with('\n') {
        out.push('\n');
    }
}

/// How many columns a letter takes when it is drawn.
fn columns(letter: char) -> usize {
    match letter {
        '\n' | '\r' => 0,
        letter if is_hidden(letter) => letter.escape_unicode().len(),
        letter if letter.is_ascii() => 1,
        // Wide letters are rare in worksheets; too much room does no harm.
        letter if u32::from(letter) >= 0x1100 => 2,
        _ => 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, piece: &str, words: usize, width: usize, line: &str) {
        let start = text.find(piece).unwrap();
        let place = Place { range: start..start + piece.len(), words };
        let (excerpt, ranges) = Excerpt::of("s.yaml", text, &[place], width);
        let range = ranges[0].clone();
        let shown = &excerpt.text[line_start(&excerpt.text, range.start)..];
        assert_eq!(shown.lines().next().unwrap(), line);
    }

    #[test]
    fn lines_are_cut_to_the_width_and_nothing_is_hidden() {
        check("a: 1\nb: pond + flow\nc: 2\n", "flow", 10, 80, "b: pond + flow");
        let long = format!("b: {}flow{}", "x + ".repeat(40), " + y".repeat(40));
        check(&long, "flow", 6, 50, "… + x + x + x + x + x + x + flow + y + y …");
        check("b: \u{1b}[2J + flow\r\nc", "flow", 0, 80, r"b: \u{1b}[2J + flow");
    }

    #[test]
    fn line_ends_of_other_systems_are_no_hidden_letters() {
        let text = "a: x\r\nb: flow\r\nc: y\r\nd";
        let place = Place { range: 9..13, words: 0 };
        let (excerpt, _) = Excerpt::of("s", text, &[place], 80);
        assert_eq!(excerpt.text, "a: x\nb: flow\nc: y");
    }

    #[test]
    fn places_move_with_the_text() {
        let text = "one\nb: \u{1b}x + flow\n";
        let start = text.find("flow").unwrap();
        let place = Place { range: start..start + 4, words: 3 };
        let (excerpt, ranges) = Excerpt::of("s", text, &[place], 80);
        assert_eq!(&excerpt.text[ranges[0].clone()], "flow");
        let end = Place { range: text.len()..text.len(), words: 0 };
        let (excerpt, ranges) = Excerpt::of("s", text, &[end], 80);
        assert_eq!(ranges[0], excerpt.text.len()..excerpt.text.len());
    }
}
