//! Tables: columns with their units, and rows written in the sheet or as comma separated values.

use super::document::Reader;
use super::names;
use super::tree::{Entry, Kind, Node, Style, offset};
use crate::bounds::MOST_BYTES;
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::worksheet::{Column, Table, Text};

/// How many rows of one table are complained about singly.
const MAX_ROWS_TOLD: usize = 8;

const ROWS: &str = "rows, such as `[[310, 31], [290, 28]]`";
const COLUMNS: &str = "names with units, such as `{ stream: L/s, days: 1 }`";

type Row = Vec<Option<Text>>;

impl Reader<'_> {
    /// The tables of a sheet.
    pub(super) fn tables(&mut self, section: &Entry) {
        for entry in self.named(section, "months: { columns: { stream: L/s }, rows: [[310]] }") {
            if !self.claim(&entry.key) {
                continue;
            }
            match self.table(entry) {
                // One with a broken row too: the rest of its rows is looked at all the same.
                Some(table) => self.sheet.tables.push(table),
                None => self.lose(&entry.key),
            }
        }
    }

    /// One table; nothing where any of it is broken, so that nothing is computed from half of it.
    fn table(&mut self, entry: &Entry) -> Option<Table> {
        let Kind::Mapping { entries, .. } = &entry.value.kind else {
            let node = Node { span: entry.key.span, ..entry.value.clone() };
            self.wrong_shape(&node, "`columns:` and `rows:`");
            return None;
        };
        let find = |key: &str| entries.iter().find(|entry| entry.key.text == key);
        for key in entries {
            if !names::TABLE.has(&key.key.text) {
                self.unknown_key(key, names::TABLE);
            }
        }
        let about = find("about").and_then(|about| self.human(about));
        let Some(columns) = find("columns") else {
            self.missing(entry, "`columns:`", COLUMNS);
            return None;
        };
        let columns = self.columns(columns);
        let rows = match (find("rows"), find("csv")) {
            (Some(rows), Some(csv)) => {
                self.report(
                    Diagnostic::new(
                        Code::WRONG_SHAPE,
                        "a table has either `rows` or `csv`",
                        csv.key.span,
                    )
                    .and(rows.key.span, "the other")
                    .help("take one of them out"),
                );
                None
            }
            (Some(rows), None) => self.rows(rows, columns.as_ref()?.len()),
            (None, Some(csv)) => self.csv(csv, columns.as_ref()?),
            (None, None) => {
                self.missing(entry, "`rows:` or `csv:`", ROWS);
                None
            }
        };
        Some(Table {
            name: entry.key.clone(),
            columns: columns?,
            rows: rows?,
            broken: std::mem::take(&mut self.broken_rows),
            about,
            part: self.part,
        })
    }

    fn missing(&mut self, entry: &Entry, what: &str, example: &str) {
        let message = format!("the table `{}` has no {what}", entry.key.text);
        self.report(
            Diagnostic::new(Code::MISSING_KEY, message, entry.key.span)
                .help(format!("add {example}")),
        );
    }

    fn columns(&mut self, entry: &Entry) -> Option<Vec<Column>> {
        let Kind::Mapping { entries, doubled, .. } = &entry.value.kind else {
            self.wrong_shape(&entry.value, COLUMNS);
            return None;
        };
        let mut columns = Vec::with_capacity(entries.len());
        let mut sound = doubled.is_empty();
        for column in entries {
            let good = !self.bad_name(&column.key);
            let unit = self.formula(column, "a unit, or `1` for plain numbers");
            match unit {
                Some(unit) if good => columns.push(Column { name: column.key.clone(), unit }),
                _ => sound = false,
            }
        }
        if sound && columns.is_empty() {
            self.wrong_shape(&entry.value, COLUMNS);
            return None;
        }
        sound.then_some(columns)
    }

    fn rows(&mut self, entry: &Entry, columns: usize) -> Option<Vec<Row>> {
        let Kind::Sequence { items, .. } = &entry.value.kind else {
            self.wrong_shape(&entry.value, ROWS);
            return None;
        };
        let mut rows = Vec::with_capacity(items.len());
        let mut lengths = Lengths::new(columns);
        let mut sound = true;
        for (at, item) in items.iter().enumerate() {
            let Kind::Sequence { items: cells, .. } = &item.kind else {
                if sound {
                    self.wrong_shape(item, "a row in brackets, such as `[310, 31]`");
                }
                sound = false;
                continue;
            };
            if let Some(diagnostic) = lengths.hold(at + 1, cells.len(), item.span) {
                self.report(diagnostic);
            }
            let mut row = Row::with_capacity(cells.len());
            for cell in cells {
                match &cell.kind {
                    Kind::Scalar { text, style } => {
                        let gap = *style == Style::Plain && is_gap(text);
                        row.push((!gap).then(|| Text { span: cell.span, text: text.clone() }));
                    }
                    _ => {
                        self.wrong_shape(cell, "one value");
                        sound = false;
                    }
                }
            }
            rows.push(row);
        }
        if let Some(diagnostic) = lengths.rest(entry.key.span) {
            self.report(diagnostic);
        }
        self.broken_rows |= !sound || lengths.wrong > 0;
        Some(rows)
    }

    /// Comma separated values below the key, or in a file beside the sheet.
    fn csv(&mut self, entry: &Entry, columns: &[Column]) -> Option<Vec<Row>> {
        let node = &entry.value;
        let is_file =
            |text: &str| !text.contains('\n') && text.trim().to_ascii_lowercase().ends_with(".csv");
        match &node.kind {
            Kind::Scalar { text, style } if *style != Style::Literal && is_file(text) => {
                self.csv_file(text.trim(), node.span, columns)
            }
            Kind::Scalar { style: Style::Literal, .. } => {
                let text = self.piece(node.span).to_owned();
                self.csv_rows(&text, node.span, node.span, columns)
            }
            _ => {
                self.wrong_shape(node, "a block of rows behind `|`, or the name of a `.csv` file");
                None
            }
        }
    }

    fn csv_file(&mut self, name: &str, span: Span, columns: &[Column]) -> Option<Vec<Row>> {
        let text = self.loader.load(name).and_then(|text| {
            if text.len() > MOST_BYTES { Err("it is too large".to_owned()) } else { Ok(text) }
        });
        match text {
            Ok(text) => {
                let source = self.sources.add(name, &text);
                let place = Span { source, start: 0, end: offset(text.len()) };
                self.csv_rows(&text, place, span, columns)
            }
            Err(reason) => {
                let message = format!("`{name}` cannot be read: {reason}");
                self.report(Diagnostic::new(Code::NOT_FOUND, message, span));
                None
            }
        }
    }

    /// Rows of comma separated values, the first of them naming the columns. `place` is where
    /// `text` stands, `asked` where the sheet asks for it.
    fn csv_rows(
        &mut self,
        text: &str,
        place: Span,
        asked: Span,
        columns: &[Column],
    ) -> Option<Vec<Row>> {
        let mut lines = csv_lines(text, place);
        let head = lines.next().unwrap_or_default();
        let mut places = Vec::with_capacity(columns.len());
        for column in columns {
            let mut same =
                head.iter().enumerate().filter(|(_, cell)| cell.text == column.name.text);
            match (same.next(), same.next()) {
                (Some((at, _)), None) => places.push(at),
                (Some((_, first)), Some((_, second))) => {
                    let message = format!("the column `{}` stands twice", column.name.text);
                    self.report(
                        Diagnostic::new(Code::DUPLICATE_KEY, message, second.span)
                            .and(first.span, "and here"),
                    );
                }
                (None, _) => {
                    let span = match (head.first(), head.last()) {
                        (Some(first), Some(last)) => first.span.to(last.span),
                        _ => asked,
                    };
                    let message = format!("the first line names no column `{}`", column.name.text);
                    let diagnostic = Diagnostic::new(Code::MISSING_KEY, message, span)
                        .and(column.name.span, "wanted here");
                    let semicolons = head.len() == 1 && head[0].text.contains(';');
                    self.report(diagnostic.help(if semicolons {
                        "separate the values by commas, and write decimals with a point"
                    } else {
                        "begin with a line of column names, separated by commas"
                    }));
                }
            }
        }
        if places.len() < columns.len() {
            return None;
        }
        let mut rows = Vec::new();
        let mut lengths = Lengths::new(head.len());
        for (at, line) in lines.enumerate() {
            let span = line.first().map_or(place, |first| first.span);
            let span = line.last().map_or(span, |last| span.to(last.span));
            if let Some(diagnostic) = lengths.hold(at + 1, line.len(), span) {
                self.report(diagnostic);
            }
            if line.len() == head.len() {
                let mut line: Vec<Option<Cell>> = line.into_iter().map(Some).collect();
                rows.push(places.iter().map(|at| line[*at].take().and_then(Cell::value)).collect());
            }
        }
        if let Some(diagnostic) = lengths.rest(asked) {
            self.report(diagnostic);
        }
        self.broken_rows |= lengths.wrong > 0;
        Some(rows)
    }
}

/// Holds the lengths of rows against the number of columns.
struct Lengths {
    columns: usize,
    wrong: usize,
}

impl Lengths {
    fn new(columns: usize) -> Self {
        Self { columns, wrong: 0 }
    }

    /// Says so where row `number` is too short or too long, for the first few rows.
    fn hold(&mut self, number: usize, length: usize, span: Span) -> Option<Diagnostic> {
        if length == self.columns {
            return None;
        }
        self.wrong += 1;
        if self.wrong > MAX_ROWS_TOLD {
            return None;
        }
        let message = format!(
            "row {number} has {}, and the table has {}",
            counted(length, "value"),
            counted(self.columns, "column")
        );
        let diagnostic = Diagnostic::new(Code::SHORT_ROW, message, span);
        Some(if length > self.columns {
            diagnostic.help("take out what is too much; a decimal is written with a point")
        } else {
            diagnostic
        })
    }

    /// How many more rows are wrong than were told.
    fn rest(&self, span: Span) -> Option<Diagnostic> {
        let more = self.wrong.checked_sub(MAX_ROWS_TOLD).filter(|more| *more > 0)?;
        let message = format!("{more} more rows have not as many values as there are columns");
        Some(Diagnostic::new(Code::SHORT_ROW, message, span))
    }
}

/// A value between commas.
struct Cell {
    span: Span,
    text: String,
    quoted: bool,
}

impl Cell {
    fn value(self) -> Option<Text> {
        let gap = !self.quoted && is_gap(&self.text);
        (!gap).then_some(Text { span: self.span, text: self.text })
    }
}

/// What stands for a value that is missing.
fn is_gap(text: &str) -> bool {
    matches!(text, "" | "~" | "null" | "-")
}

fn counted(number: usize, word: &str) -> String {
    format!("{number} {word}{}", if number == 1 { "" } else { "s" })
}

/// The lines of comma separated values that have something in them.
fn csv_lines(text: &str, place: Span) -> impl Iterator<Item = Vec<Cell>> {
    let mut start = 0;
    text.split('\n').filter_map(move |line| {
        let from = start;
        start += line.len() + 1;
        let sound = line.trim_start_matches('\u{feff}');
        let from = from + line.len() - sound.len();
        (!sound.trim().is_empty()).then(|| csv_cells(sound, place, from))
    })
}

/// The values of one line; a value in double quotes may hold commas, and `""` for a quote.
fn csv_cells(line: &str, place: Span, from: usize) -> Vec<Cell> {
    let mut cells = Vec::new();
    let mut at = 0;
    loop {
        let rest = &line[at..];
        let blank = rest.len() - rest.trim_start().len();
        let body = &rest[blank..];
        let (start, end, next, text, quoted) = if body.starts_with('"') {
            let close = closing_quote(body);
            let end = at + blank + close;
            let next = line[end..].find(',').map(|comma| end + comma + 1);
            (at + blank + 1, end, next, body[1..close].replace("\"\"", "\""), true)
        } else {
            let comma = rest.find(',');
            let value = rest[..comma.unwrap_or(rest.len())].trim();
            let start = at + blank.min(comma.unwrap_or(rest.len()));
            (start, start + value.len(), comma.map(|comma| at + comma + 1), value.to_owned(), false)
        };
        let byte = |at: usize| place.start + offset(from + at);
        cells.push(Cell {
            span: Span { start: byte(start), end: byte(end), ..place },
            text,
            quoted,
        });
        match next {
            Some(next) => at = next,
            None => return cells,
        }
    }
}

/// Where the quotes that `body` begins with close; its end where they do not.
fn closing_quote(body: &str) -> usize {
    let mut bytes = body.bytes().enumerate().skip(1).peekable();
    while let Some((at, byte)) = bytes.next() {
        if byte == b'"' && bytes.next_if(|(_, next)| *next == b'"').is_none() {
            return at;
        }
    }
    body.len()
}
