//! The tables of a sheet for reading, as they were typed: names and units at the head.

use forebay_sheet::Sheet;
use forebay_sheet::worksheet::{Column, Table};

use crate::page::{Page, width};

/// A table of at most as many rows is written out.
const MOST_ROWS: usize = 24;
/// A table of one column is written along the line, and up to as many values.
const MOST_IN_LINE: usize = 60;
const INDENT: usize = 2;
const GAP: usize = 2;

/// Whether a part has tables; `None` are those outside of all parts.
pub(crate) fn any(sheet: &Sheet, part: Option<usize>) -> bool {
    of(sheet, part).next().is_some()
}

/// The tables of a part.
pub(crate) fn list(page: &mut Page, sheet: &Sheet, part: Option<usize>) {
    for table in of(sheet, part) {
        if part.is_none() {
            page.heading(&table.name.text);
        } else {
            page.gap();
            page.line(INDENT, &table.name.text);
        }
        if let Some(about) = &table.about {
            page.paragraph(INDENT + GAP, about);
        }
        if let [column] = table.columns.as_slice() {
            in_line(page, table, column);
        } else {
            in_rows(page, table);
        }
    }
}

fn of(sheet: &Sheet, part: Option<usize>) -> impl Iterator<Item = &Table> {
    sheet.worksheet().tables.iter().filter(move |table| table.part == part)
}

fn in_line(page: &mut Page, table: &Table, column: &Column) {
    let head = match unit(column) {
        "" => column.name.text.clone(),
        unit => format!("{} ({unit})", column.name.text),
    };
    if table.rows.len() > MOST_IN_LINE {
        page.line(INDENT + GAP, &format!("{head}, {} values", table.rows.len()));
    } else {
        let values: Vec<&str> = table.rows.iter().map(|row| typed(row, 0)).collect();
        page.paragraph(INDENT + GAP, &format!("{head}: {}", values.join(", ")));
    }
}

/// Rows under heads; numbers end, and texts begin, under one another. What is too long or too wide
/// for the page is named and counted.
fn in_rows(page: &mut Page, table: &Table) {
    let widths: Vec<usize> = (table.columns.iter().enumerate())
        .map(|(at, column)| {
            let cells = table.rows.iter().map(|row| width(typed(row, at)));
            cells.chain([width(&column.name.text), width(unit(column))]).max().unwrap_or(0)
        })
        .collect();
    let all = INDENT + GAP + widths.iter().sum::<usize>() + GAP * widths.len().saturating_sub(1);
    if table.rows.len() > MOST_ROWS || all > page.width() {
        let heads: Vec<&str> = table.columns.iter().map(|column| &*column.name.text).collect();
        let rows = format!("{} rows of {}", table.rows.len(), heads.join(", "));
        page.line(INDENT + GAP, &rows);
        return;
    }
    let line = |cell: &dyn Fn(usize, &Column) -> String| {
        let mut line = String::new();
        for ((at, column), room) in table.columns.iter().enumerate().zip(&widths) {
            let cell = cell(at, column);
            let free = " ".repeat(room.saturating_sub(width(&cell)));
            let (before, after) = if is_text(column) { ("", &*free) } else { (&*free, "") };
            let gap = if at == 0 { 0 } else { GAP };
            line.push_str(&format!("{:gap$}{before}{cell}{after}", ""));
        }
        line
    };
    page.aligned(INDENT + GAP, &line(&|_, column| column.name.text.clone()), "");
    if table.columns.iter().any(|column| !unit(column).is_empty()) {
        page.aligned(INDENT + GAP, &line(&|_, column| unit(column).to_owned()), "");
    }
    for row in &table.rows {
        page.aligned(INDENT + GAP, &line(&|at, _| typed(row, at).to_owned()), "");
    }
}

/// A cell as it was typed; a gap as a sheet writes it.
fn typed(row: &[Option<forebay_sheet::worksheet::Text>], at: usize) -> &str {
    row.get(at).and_then(Option::as_ref).map_or("~", |cell| cell.text.trim())
}

fn is_text(column: &Column) -> bool {
    matches!(column.unit.text.trim(), "text" | "date" | "truth")
}

/// The unit at the head of a column; nothing for plain numbers and words.
fn unit(column: &Column) -> &str {
    match column.unit.text.trim() {
        "1" | "text" | "date" | "truth" => "",
        unit => unit,
    }
}

#[cfg(test)]
mod tests {
    use forebay_sheet::Sheet;

    use crate::formats::Options;
    use crate::text;

    #[test]
    fn a_table_is_shown_as_it_was_typed() {
        let mut sheet = Sheet::open(
            "forebay: 1
tables:
  line:
    about: From the pond down
    columns: { piece: text, bore: mm, count: 1 }
    rows: [[bell, 253.2, 1], [falling leg, 90, ~]]
  probe:
    columns: { reading: uS/cm }
    rows: [[62], [140.5]]
",
        );
        let text = text::write(&mut sheet, &Options::default());
        let expected = "\
line
  From the pond down
  piece         bore  count
                  mm
  bell         253.2      1
  falling leg     90      ~

probe
  reading (uS/cm): 62, 140.5
";
        let shown = text.replace("\n    ", "\n  ");
        assert!(shown.contains(expected), "{text}");
    }

    #[test]
    fn a_long_table_is_counted() {
        let rows = "[1, 2], ".repeat(30);
        let mut sheet = Sheet::open(&format!(
            "forebay: 1\ntables:\n  long:\n    columns: {{ a: m, b: s }}\n    rows: [{}]\n",
            rows.trim_end_matches(", ")
        ));
        let text = text::write(&mut sheet, &Options::default());
        assert!(text.contains("30 rows of a, b"), "{text}");
    }
}
