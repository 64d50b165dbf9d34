//! A report as one HTML file that needs nothing beside it: readable on a narrow screen and printed.
//!
//! Every text of the sheet goes through [`escaped`]; the file forbids scripts and everything from
//! elsewhere by its own policy.

use forebay_sheet::{Equation, Sheet};

use crate::document::{Block, Checked, Document, Explained, Grid, PLANNING, Row, Worked};
use crate::drawings::Drawing;
use crate::equations::{cell_equation, condition, library_equation};
use crate::formats::Options;
use crate::markup::{escaped, escaped_lines};

const STYLE: &str = include_str!("html.css");

/// The whole report.
pub(crate) fn write(sheet: &mut Sheet, _options: &Options) -> String {
    let document = Document::of(sheet);
    let title = escaped(&document.title);
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" \
         content=\"default-src 'none'; style-src 'unsafe-inline'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<header>\n\
         <h1>{title}</h1>\n"
    );
    out.push_str("<nav aria-label=\"Sections\">");
    for section in &document.sections {
        out.push_str(&format!("<a href=\"#{}\">{}</a> ", section.id, section.heading));
    }
    out.push_str("</nav>\n</header>\n<main>\n");
    for section in &document.sections {
        let (id, heading) = (section.id, section.heading);
        out.push_str(&format!(
            "<section aria-labelledby=\"{id}\">\n<h2 id=\"{id}\">{heading}</h2>\n"
        ));
        for block in &section.blocks {
            put(&mut out, block);
        }
        out.push_str("</section>\n");
    }
    out.push_str(&format!(
        "</main>\n<footer><p class=\"soft\">{PLANNING}</p></footer>\n</body>\n</html>\n"
    ));
    out
}

fn put(out: &mut String, block: &Block) {
    match block {
        Block::Heading(text) => out.push_str(&format!("<h3>{}</h3>\n", escaped(text))),
        Block::Paragraph(text) => paragraph(out, "", text),
        Block::Verdict(text) => paragraph(out, "verdict", text),
        Block::Finding(word, text) => marked(out, "finding", word, text),
        Block::Values(rows) => values(out, rows),
        Block::Table(grid) => table(out, grid),
        Block::Work(work) => step(out, work),
        Block::Check(check) => checked(out, check),
        Block::Drawing(drawing) => figure(out, drawing),
        Block::Formula(formula) => explained(out, formula),
        Block::Code(text) => out.push_str(&format!("<pre>{}</pre>\n", escaped_lines(text))),
        Block::Sources(works) => {
            out.push_str("<ol class=\"sources\">\n");
            for (at, work) in works.iter().enumerate() {
                out.push_str(&format!("<li id=\"source-{}\">{}</li>\n", at + 1, escaped(work)));
            }
            out.push_str("</ol>\n");
        }
    }
}

/// A paragraph; nothing where there is no text.
fn paragraph(out: &mut String, class: &str, text: &str) {
    if text.trim().is_empty() {
        return;
    }
    let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
    out.push_str(&format!("<p{class}>{}</p>\n", escaped(text)));
}

fn marked(out: &mut String, class: &str, word: &str, text: &str) {
    if text.trim().is_empty() {
        return;
    }
    out.push_str(&format!(
        "<p class=\"{class}\"><span class=\"word\">{}</span> {}</p>\n",
        escaped(word),
        escaped(text)
    ));
}

fn values(out: &mut String, rows: &[Row]) {
    let columns = Row::columns(rows);
    out.push_str("<table class=\"values\">\n<thead><tr>");
    for (head, _) in &columns {
        out.push_str(&format!("<th scope=\"col\">{head}</th>"));
    }
    out.push_str("</tr></thead>\n<tbody>\n");
    for row in rows {
        out.push_str("<tr>");
        for (head, of) in &columns {
            let text = of(row);
            let class = match *head {
                // A quantity keeps to its line, a sentence does not.
                "value" | "uncertainty" if text.len() <= 24 => " class=\"number\"",
                "about" => " class=\"soft\"",
                _ => "",
            };
            out.push_str(&format!("<td{class}>{}</td>", escaped(text)));
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n");
}

fn table(out: &mut String, grid: &Grid) {
    let name = escaped(&grid.name);
    out.push_str(&format!(
        "<div class=\"scroll\">\n<table class=\"data\">\n<caption>{name}</caption>\n<thead><tr>"
    ));
    for head in &grid.heads {
        out.push_str(&format!("<th scope=\"col\">{}</th>", escaped(head)));
    }
    out.push_str("</tr></thead>\n<tbody>\n");
    for row in &grid.rows {
        out.push_str("<tr>");
        for field in row {
            let text = if field.is_empty() { "–" } else { field };
            out.push_str(&format!("<td>{}</td>", escaped(text)));
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n</div>\n");
    if grid.more > 0 {
        paragraph(out, "soft", &format!("And {} more rows.", grid.more));
    }
    paragraph(out, "soft", &grid.about);
}

fn step(out: &mut String, work: &Worked) {
    let name = escaped(&work.name);
    out.push_str(&format!(
        "<div class=\"step\">\n<p class=\"name\">{name} = <span class=\"given\">{}</span></p>\n",
        escaped(&work.result)
    ));
    paragraph(out, "soft", &work.about);
    let set = work.equation.as_ref().and_then(|tree| cell_equation(&work.name, tree));
    formula(out, set, &format!("{} = {}", work.name, work.formula));
    let links: Vec<String> = (work.formulas.iter())
        .map(|name| format!("<a href=\"#formula-{name}\">{name}</a>"))
        .collect();
    let by = match links.is_empty() {
        true => String::new(),
        false => format!(" <span class=\"by\">by {}</span>", links.join(", ")),
    };
    if !work.with_numbers.is_empty() || !by.is_empty() {
        let numbers = match work.with_numbers.as_str() {
            "" => String::new(),
            numbers => format!("= {}", escaped(numbers)),
        };
        out.push_str(&format!("<p class=\"formula given soft\">{numbers}{by}</p>\n"));
    }
    if !work.values.is_empty() {
        paragraph(out, "formula given soft", &format!("values: {}", work.values));
    }
    for warning in &work.warnings {
        marked(out, "finding", "doubtful", warning);
    }
    out.push_str("</div>\n");
}

fn formula(out: &mut String, set: Option<String>, text: &str) {
    match set {
        Some(math) => out.push_str(&format!("<p class=\"formula\">{math}</p>\n")),
        None => {
            out.push_str(&format!("<p class=\"formula\"><code>{}</code></p>\n", escaped(text)));
        }
    }
}

fn checked(out: &mut String, check: &Checked) {
    let class = if check.holds { "check" } else { "check finding" };
    out.push_str(&format!(
        "<div class=\"{class}\">\n<p class=\"name\"><span class=\"word\">{}</span>: {} ({})</p>\n",
        check.word,
        escaped(&check.name),
        check.level
    ));
    paragraph(out, "soft", &check.about);
    let set: Option<&Equation> = check.equation.as_ref();
    formula(out, set.and_then(condition), &check.formula);
    for margin in &check.margins {
        paragraph(out, "formula given", margin);
    }
    paragraph(out, "", &check.otherwise);
    marked(out, "caution", "Caution:", &check.caution);
    out.push_str("</div>\n");
}

fn figure(out: &mut String, drawing: &Drawing) {
    out.push_str(&format!("<figure>\n<figcaption>{}</figcaption>\n", escaped(&drawing.title)));
    match &drawing.picture {
        Ok(picture) => {
            out.push_str(&picture.svg);
            paragraph(out, "soft", drawing.about.as_deref().unwrap_or_default());
            out.push_str(
                "<details><summary>the data as a table</summary>\n<div class=\"scroll\">\n",
            );
            out.push_str(&picture.table.html());
            out.push_str("</div></details>\n");
        }
        Err(why) => {
            paragraph(out, "soft", drawing.about.as_deref().unwrap_or_default());
            marked(out, "finding", "not drawn:", why);
        }
    }
    out.push_str("</figure>\n");
}

fn explained(out: &mut String, explained: &Explained) {
    let formula = explained.formula;
    out.push_str(&format!(
        "<div class=\"step\" id=\"formula-{0}\">\n<p class=\"name\">{0}</p>\n<p>{1}</p>\n\
         <p class=\"formula\">{2}</p>\n",
        formula.name,
        escaped(formula.summary),
        library_equation(formula.equation)
    ));
    if !explained.limits.is_empty() {
        paragraph(out, "soft", &format!("Vouched for: {}.", explained.limits.join("; ")));
    }
    marked(out, "caution", "Caution:", &explained.caution);
    let number = explained.source;
    out.push_str(&format!(
        "<p class=\"soft\">Source: <a href=\"#source-{number}\">[{number}]</a> {}</p>\n</div>\n",
        escaped(&explained.place)
    ));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hostile_sheet_cannot_put_anything_into_the_page() {
        let hostile = "\"'><script>alert(1)</script><img src=x onerror=alert(2)>";
        let quoted = hostile.replace('\'', "''");
        let mut sheet = Sheet::open(&format!(
            "forebay: 1
title: '{quoted}'
show: [a]
known:
  a: {{ is: 3 m, about: '{quoted}' }}
tables:
  x: {{ about: '{quoted}', columns: {{ n: text, v: m }}, rows: [['{quoted}', 1], [b, 2]] }}
work:
  b: {{ is: 2 * a, about: '{quoted}' }}
check:
  c: {{ that: b < 1 m, else: '{quoted}', caution: '{quoted}' }}
draw:
  d: {{ kind: bars, title: '{quoted}', about: '{quoted}', x: x.n, x_label: '{quoted}', y: x.v, y_label: '{quoted}' }}
functions: |
  fn f(x) {{ if x == \"</pre><script>\" {{ 1 }} else {{ 2 }} }}
"
        ));
        assert!(!sheet.has_errors(), "{:?}", sheet.diagnostics());
        let page = write(&mut sheet, &Options::default());
        assert!(page.matches("alert(1)").count() >= 9, "every text is shown");
        assert!(page.contains("<svg"));
        assert!(!page.contains("<script") && !page.contains("<img"), "{page}");
        assert_eq!(page.matches("<h1>").count(), 1);
    }

    #[test]
    fn the_summary_comes_first_and_says_whether_it_passes() {
        let sheet = |least: &str| {
            format!(
                "forebay: 1\nshow: [b]\nknown:\n  a: {{ is: 3 m, from: measured }}\nwork:\n  b: 2 * a\ncheck:\n  c: {{ that: b > {least}, else: Dig deeper., level: stop }}\n"
            )
        };
        let page = |least| write(&mut Sheet::open(&sheet(least)), &Options::default());
        let (good, bad) = (page("5 m"), page("7 m"));
        assert!(good.contains("Passes. 1 check: 1 holds."), "{good}");
        assert!(bad.contains("Does not pass"), "{bad}");
        let at = |text: &str, what: &str| text.find(what).unwrap_or(usize::MAX);
        assert!(at(&bad, "Dig deeper.") < at(&bad, "What is known</h2>"));
        let order = ["Summary</h2>", "What is known</h2>", "Working</h2>", "Checks</h2>"];
        assert!(order.windows(2).all(|two| at(&bad, two[0]) < at(&bad, two[1])));
        // What was set from outside is said.
        let mut sheet = Sheet::open(&sheet("5 m"));
        sheet.set("a", "2 m").unwrap();
        let page = write(&mut sheet, &Options::default());
        assert!(page.contains("other than in the file: a = 2 m"), "{page}");
    }
}
