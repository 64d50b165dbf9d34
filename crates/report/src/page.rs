//! A page of text as it grows: headings, wrapped paragraphs, aligned columns.
//!
//! Every text that comes in is made visible here, so that nothing else has to think of it.

use unicode_width::UnicodeWidthStr;

use crate::formats::Options;
use crate::visible::visible;

/// The narrowest a paragraph gets, however deep it is indented.
const NARROWEST: usize = 24;
/// A name longer than this does not push the values of all others to the right.
const WIDEST_NAME: usize = 32;

/// A page of text.
pub(crate) struct Page {
    out: String,
    options: Options,
}

/// How a word stands out on a terminal that shows colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Mark {
    Plain,
    Heading,
    Bad,
    Doubtful,
}

/// A row of a list of values.
#[derive(Clone, Debug, Default)]
pub(crate) struct Row {
    /// What it is called.
    pub(crate) name: String,
    /// Its value in words.
    pub(crate) value: String,
    /// `± 2 cm`; may be empty.
    pub(crate) tolerance: String,
    /// What follows in the last column; may be empty.
    pub(crate) remark: String,
    /// What stands under it, wrapped; may be empty.
    pub(crate) below: String,
}

impl Page {
    pub(crate) fn new(options: &Options) -> Self {
        Self { out: String::new(), options: *options }
    }

    pub(crate) fn finish(self) -> String {
        self.out
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.out.is_empty()
    }

    /// An empty line, unless the page is empty or one is there.
    pub(crate) fn gap(&mut self) {
        if !self.out.is_empty() && !self.out.ends_with("\n\n") {
            self.out.push('\n');
        }
    }

    /// A heading after a gap.
    pub(crate) fn heading(&mut self, text: &str) {
        self.gap();
        for line in wrap(&one_line(text), self.options.width) {
            self.marked(Mark::Heading, &line);
            self.out.push('\n');
        }
    }

    /// The title of the page, underlined.
    pub(crate) fn title(&mut self, text: &str) {
        self.heading(text);
        let line =
            self.out.lines().last().map_or(0, |line| width(&one_line(text)).min(width(line)));
        self.out.push_str(&"=".repeat(line.min(self.options.width)));
        self.out.push('\n');
    }

    /// A paragraph, each line after `indent` spaces.
    pub(crate) fn paragraph(&mut self, indent: usize, text: &str) {
        self.hanging(indent, "", indent, text);
    }

    /// A paragraph whose first line begins with `head`; the text keeps to the column `column`.
    pub(crate) fn hanging(&mut self, indent: usize, head: &str, column: usize, text: &str) {
        self.hanging_marked(indent, Mark::Plain, head, column, text);
    }

    /// The same with a head that stands out.
    pub(crate) fn hanging_marked(
        &mut self,
        indent: usize,
        mark: Mark,
        head: &str,
        column: usize,
        text: &str,
    ) {
        let head = one_line(head);
        let room = self.options.width.saturating_sub(column).max(NARROWEST);
        let lines = wrap(&one_line(text), room);
        self.spaces(indent);
        self.marked(mark, &head);
        let mut at = indent + width(&head);
        let fits = at < column || (at == column && head.is_empty());
        if !fits && !lines.is_empty() {
            self.out.push('\n');
            at = 0;
        }
        for (i, line) in lines.iter().enumerate() {
            self.spaces(if i == 0 { column.saturating_sub(at) } else { column });
            self.out.push_str(line);
            self.out.push('\n');
        }
        if lines.is_empty() {
            self.end_line();
        }
    }

    /// Fields that are aligned already, and a text that keeps to the column behind them.
    pub(crate) fn aligned_then(&mut self, indent: usize, fields: &str, text: &str) {
        let fields = visible(fields);
        let column = indent + width(&fields) + 2;
        let room = self.options.width.saturating_sub(column).max(NARROWEST);
        self.spaces(indent);
        self.out.push_str(&fields);
        for (i, line) in wrap(&one_line(text), room).iter().enumerate() {
            self.spaces(if i == 0 { 2 } else { column });
            self.out.push_str(line);
            self.end_line();
        }
        if text.trim().is_empty() {
            self.end_line();
        }
    }

    /// One line as it is, after `indent` spaces; longer ones are wrapped with a deeper indent.
    pub(crate) fn line(&mut self, indent: usize, text: &str) {
        let text = one_line(text);
        if indent + width(&text) <= self.options.width {
            self.spaces(indent);
            self.out.push_str(&text);
            self.end_line();
            return;
        }
        let room = self.options.width.saturating_sub(indent + 2).max(NARROWEST);
        for (i, line) in wrap(&text, room).iter().enumerate() {
            self.spaces(indent + if i == 0 { 0 } else { 2 });
            self.out.push_str(line);
            self.end_line();
        }
    }

    /// How many columns a line may take.
    pub(crate) fn width(&self) -> usize {
        self.options.width
    }

    /// A line whose fields are aligned already, and a remark behind it or, where there is no room,
    /// under it.
    pub(crate) fn aligned(&mut self, indent: usize, fields: &str, remark: &str) {
        let fields = visible(fields);
        let remark = one_line(remark);
        self.spaces(indent);
        self.out.push_str(&fields);
        let at = indent + width(&fields);
        if !remark.is_empty() && at + 2 + width(&remark) <= self.options.width {
            self.out.push_str("  ");
            self.out.push_str(&remark);
            self.end_line();
            return;
        }
        self.end_line();
        if !remark.is_empty() {
            self.paragraph(indent + 4, &remark);
        }
    }

    /// Rows of values: names, numbers with their points of the unit under one another, tolerances,
    /// remarks.
    pub(crate) fn rows(&mut self, indent: usize, rows: &[Row]) {
        let clean = |text: &str| one_line(text);
        let rows: Vec<Row> = rows
            .iter()
            .map(|row| Row {
                name: clean(&row.name),
                value: clean(&row.value),
                tolerance: clean(&row.tolerance),
                remark: clean(&row.remark),
                below: clean(&row.below),
            })
            .collect();
        let names = widest(rows.iter().map(|row| width(&row.name)), WIDEST_NAME);
        let numbers = widest(rows.iter().filter_map(|row| number(&row.value)).map(width), 16);
        let padded = |value: &str| match number(value) {
            Some(digits) => " ".repeat(numbers.saturating_sub(width(digits))) + value,
            None => value.to_owned(),
        };
        let column = indent + names + 2;
        let values = widest(rows.iter().map(|row| width(&padded(&row.value))), 24);
        let tolerances = widest(rows.iter().map(|row| width(&row.tolerance)), 16);
        for row in &rows {
            let mut line = padded(&row.value);
            if !row.tolerance.is_empty() || !row.remark.is_empty() {
                pad(&mut line, values);
            }
            if tolerances > 0 && (!row.tolerance.is_empty() || !row.remark.is_empty()) {
                line.push_str("  ");
                line.push_str(&row.tolerance);
                pad(&mut line, values + 2 + tolerances);
            }
            if !row.remark.is_empty() {
                line.push_str("  ");
                line.push_str(&row.remark);
            }
            let room = self.options.width.saturating_sub(indent).max(NARROWEST);
            let mut at = 0;
            for (i, line) in wrap(&row.name, room).iter().enumerate() {
                if i > 0 {
                    self.out.push('\n');
                }
                self.spaces(indent);
                self.out.push_str(line);
                at = indent + width(line);
            }
            if at + 2 > column {
                self.out.push('\n');
                at = 0;
            }
            let room = self.options.width.saturating_sub(column).max(NARROWEST);
            let lines = if width(line.trim_end()) <= room {
                vec![line]
            } else {
                wrap(&one_line(&line), room)
            };
            for (i, line) in lines.iter().enumerate() {
                self.spaces(if i == 0 { column.saturating_sub(at) } else { column });
                self.out.push_str(line);
                self.end_line();
            }
            if lines.is_empty() {
                self.end_line();
            }
            if !row.below.is_empty() {
                self.paragraph(column, &row.below);
            }
        }
    }

    fn marked(&mut self, mark: Mark, text: &str) {
        let code = match mark {
            _ if !self.options.colour || text.is_empty() => "",
            Mark::Plain => "",
            Mark::Heading => "1",
            Mark::Bad => "1;31",
            Mark::Doubtful => "33",
        };
        if code.is_empty() {
            self.out.push_str(text);
        } else {
            self.out.push_str(&format!("\u{1b}[{code}m{text}\u{1b}[0m"));
        }
    }

    fn spaces(&mut self, count: usize) {
        self.out.extend(std::iter::repeat_n(' ', count));
    }

    fn end_line(&mut self) {
        let trimmed = self.out.trim_end_matches(' ').len();
        self.out.truncate(trimmed);
        self.out.push('\n');
    }
}

/// How many columns a text takes.
pub(crate) fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// The text on one line, visible.
pub(crate) fn one_line(text: &str) -> String {
    // Runs of spaces that we aligned ourselves never come through here.
    let words: Vec<&str> = text.split_whitespace().collect();
    visible(&words.join(" ")).into_owned()
}

/// Lines of at most `room` columns; a word that is longer is cut, behind an underscore if it can be.
pub(crate) fn wrap(text: &str, room: usize) -> Vec<String> {
    let room = room.max(1);
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    let mut at = 0;
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let wide = width(word);
        if at > 0 && at + 1 + wide > room {
            lines.push(std::mem::take(&mut line));
            at = 0;
        }
        if at > 0 {
            line.push(' ');
            at += 1;
        }
        if wide <= room {
            line.push_str(word);
            at += wide;
            continue;
        }
        for letter in word.chars() {
            let mut bytes = [0; 4];
            let wide = width(letter.encode_utf8(&mut bytes));
            if at + wide > room && at > 0 {
                // Names are cut where one of their words ends, unless that leaves half a line.
                let end = line.rfind('_').map(|end| end + 1).filter(|end| *end > line.len() / 2);
                let rest = line.split_off(end.unwrap_or(line.len()));
                lines.push(std::mem::replace(&mut line, rest));
                at = width(&line);
            }
            line.push(letter);
            at += wide;
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// The number that a value begins with, if it is a quantity.
fn number(value: &str) -> Option<&str> {
    let mut words = value.split(' ');
    let first = words.next().filter(|word| word.parse::<f64>().is_ok_and(f64::is_finite))?;
    // `12 values, …` is no quantity.
    let rest = value.get(first.len()..).unwrap_or_default();
    (!rest.starts_with(" values")).then_some(first)
}

fn pad(line: &mut String, to: usize) {
    let missing = to.saturating_sub(width(line));
    line.extend(std::iter::repeat_n(' ', missing));
}

fn widest(widths: impl Iterator<Item = usize>, most: usize) -> usize {
    widths.filter(|width| *width <= most).max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, room: usize, expected: &[&str]) {
        assert_eq!(wrap(text, room), expected);
    }

    #[test]
    fn lines_keep_to_the_room() {
        check("the siphon may break", 10, &["the siphon", "may break"]);
        check("abcdefghijkl mn", 5, &["abcde", "fghij", "kl mn"]);
        check("a gross_head_of_today", 10, &["a", "gross_", "head_of_", "today"]);
        check("", 5, &[]);
        // A Chinese character takes two columns.
        check("水水水", 4, &["水水", "水"]);
    }

    #[test]
    fn numbers_stand_under_one_another() {
        let row = |name: &str, value: &str, remark: &str| Row {
            name: name.into(),
            value: value.into(),
            remark: remark.into(),
            ..Row::default()
        };
        let mut page = Page::new(&Options::default());
        page.rows(
            2,
            &[
                row("pond", "103.42 m", "measured"),
                row("bore", "8 mm", ""),
                row("kind", "steel", ""),
            ],
        );
        assert_eq!(
            page.finish(),
            "  pond  103.42 m   measured\n  bore       8 mm\n  kind  steel\n"
        );
    }

    #[test]
    fn a_text_cannot_steer_the_terminal() {
        let mut page = Page::new(&Options { width: 40, colour: false });
        page.title("\u{1b}[31mred");
        page.rows(0, &[Row { name: "a".into(), value: "\u{7}".into(), ..Row::default() }]);
        page.line(0, "x\u{202e}y");
        page.hanging(0, "\u{8}", 4, "z\u{9b}");
        let out = page.finish();
        assert!(!out.chars().any(|c| c != '\n' && crate::visible::is_hidden(c)), "{out:?}");
    }
}
