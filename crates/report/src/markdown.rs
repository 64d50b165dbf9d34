//! A report as Markdown: headings, tables and lists that any reader of it takes.

use forebay_sheet::Sheet;

use crate::document::{Block, Checked, Document, Grid, PLANNING, Row, Worked};
use crate::formats::Options;
use crate::page::one_line;

/// The whole report. Drawings stand as their data.
pub(crate) fn write(sheet: &mut Sheet, _options: &Options) -> String {
    let document = Document::of(sheet);
    let mut out = format!("# {}\n\n", text(&document.title));
    for section in &document.sections {
        out.push_str(&format!("## {}\n\n", section.heading));
        for block in &section.blocks {
            put(&mut out, block);
        }
    }
    out.push_str(&format!("---\n\n{PLANNING}\n"));
    out
}

fn put(out: &mut String, block: &Block) {
    match block {
        Block::Heading(words) => out.push_str(&format!("### {}\n\n", text(words))),
        Block::Paragraph(words) => paragraph(out, &text(words)),
        Block::Verdict(words) => paragraph(out, &format!("**{}**", text(words))),
        Block::Finding(word, words) => paragraph(out, &format!("**{word}** {}", text(words))),
        Block::Values(rows) => values(out, rows),
        Block::Table(grid) => table(out, grid),
        Block::Work(work) => worked(out, work),
        Block::Check(check) => checked(out, check),
        Block::Drawing(drawing) => {
            paragraph(out, &format!("**{}**", text(&drawing.title)));
            paragraph(out, &text(drawing.about.as_deref().unwrap_or_default()));
            match &drawing.picture {
                Ok(picture) => grid(out, &picture.table.heads, &picture.table.rows),
                Err(why) => paragraph(out, &format!("Not drawn: {}", text(why))),
            }
        }
        Block::Formula(explained) => {
            let formula = explained.formula;
            paragraph(out, &format!("**{}**: {}", formula.name, text(formula.summary)));
            paragraph(out, &code(formula.equation));
            if !explained.limits.is_empty() {
                paragraph(out, &text(&format!("Vouched for: {}.", explained.limits.join("; "))));
            }
            if !explained.caution.is_empty() {
                paragraph(out, &format!("**Caution:** {}", text(&explained.caution)));
            }
            let (number, place) = (explained.source, text(&explained.place));
            paragraph(out, &format!("Source: \\[{number}\\] {place}"));
        }
        Block::Code(lines) => {
            // Longer than any fence inside.
            let fence = "`".repeat(3.max(longest_ticks(lines) + 1));
            out.push_str(&format!("{fence}\n{}\n{fence}\n\n", crate::visible(lines).trim_end()));
        }
        Block::Sources(works) => {
            for (at, work) in works.iter().enumerate() {
                out.push_str(&format!("{}. {}\n", at + 1, text(work)));
            }
            out.push('\n');
        }
    }
}

fn paragraph(out: &mut String, words: &str) {
    if !words.is_empty() {
        out.push_str(words);
        out.push_str("\n\n");
    }
}

fn values(out: &mut String, rows: &[Row]) {
    let columns = Row::columns(rows);
    let heads: Vec<String> = columns.iter().map(|(head, _)| (*head).to_owned()).collect();
    let fields: Vec<Vec<String>> =
        rows.iter().map(|row| columns.iter().map(|(_, of)| of(row).to_owned()).collect()).collect();
    grid(out, &heads, &fields);
}

fn table(out: &mut String, table: &Grid) {
    let head = format!("**{}** {}", text(&table.name), text(&table.about));
    paragraph(out, head.trim_end());
    grid(out, &table.heads, &table.rows);
    if table.more > 0 {
        paragraph(out, &format!("And {} more rows.", table.more));
    }
}

fn grid(out: &mut String, heads: &[String], rows: &[Vec<String>]) {
    let line = |fields: &[String]| {
        let fields: Vec<String> = fields.iter().map(|field| text(field)).collect();
        format!("| {} |\n", fields.join(" | "))
    };
    out.push_str(&line(heads));
    out.push_str(&format!("|{}\n", " --- |".repeat(heads.len())));
    for row in rows {
        out.push_str(&line(row));
    }
    out.push('\n');
}

fn worked(out: &mut String, work: &Worked) {
    let mut words = format!("**{}** = {}", text(&work.name), text(&work.result));
    if !work.about.is_empty() {
        words.push_str(&format!("  \n{}", text(&work.about)));
    }
    words.push_str(&format!("  \n{}", code(&work.formula)));
    if !work.with_numbers.is_empty() {
        words.push_str(&format!("  \n{}", code(&work.with_numbers)));
    }
    if !work.values.is_empty() {
        words.push_str(&format!("  \nvalues: {}", text(&work.values)));
    }
    for warning in &work.warnings {
        words.push_str(&format!("  \n**doubtful** {}", text(warning)));
    }
    paragraph(out, &words);
}

fn checked(out: &mut String, check: &Checked) {
    let mut words = format!("**{}**: {} ({})", check.word, text(&check.name), check.level);
    words.push_str(&format!("  \n{}", code(&check.formula)));
    for line in check.margins.iter().chain([&check.about, &check.otherwise]) {
        if !line.is_empty() {
            words.push_str(&format!("  \n{}", text(line)));
        }
    }
    if !check.caution.is_empty() {
        words.push_str(&format!("  \n**Caution:** {}", text(&check.caution)));
    }
    paragraph(out, &words);
}

/// A text with the signs that Markdown or HTML would take for their own escaped.
fn text(words: &str) -> String {
    let words = one_line(words);
    let mut out = String::with_capacity(words.len());
    for (at, letter) in words.char_indices() {
        let first = at == 0 && matches!(letter, '#' | '-' | '+' | '>' | '=');
        if first || matches!(letter, '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '|' | '~' | '&') {
            out.push('\\');
        }
        out.push(letter);
    }
    out
}

/// A formula as code.
fn code(formula: &str) -> String {
    let formula = one_line(formula);
    let ticks = "`".repeat(longest_ticks(&formula) + 1);
    let gap = if formula.starts_with('`') || formula.ends_with('`') { " " } else { "" };
    format!("{ticks}{gap}{formula}{gap}{ticks}")
}

fn longest_ticks(text: &str) -> usize {
    let mut longest = 0;
    let mut run = 0;
    for letter in text.chars() {
        run = if letter == '`' { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    longest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_of_markdown_are_text() {
        assert_eq!(text("a_b <script> |x|"), "a\\_b \\<script> \\|x\\|");
        assert_eq!(text("# no head"), "\\# no head");
        assert_eq!(code("a `b` c"), "``a `b` c``");
    }
}
