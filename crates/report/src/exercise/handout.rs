//! A learner's handout as Markdown and as a page of HTML that prints.

use forebay_study::{Asked, Figure, Handout};

use super::points;
use crate::markup::escaped;
use crate::visible::visible;

/// As Markdown (CommonMark). Texts of the sheet stay what they are: nothing in them is markup.
#[must_use]
pub fn handout_markdown(handout: &Handout) -> String {
    let mut out = format!("# {}\n\nFor {}\n", plain(&handout.title), plain(&handout.learner));
    if let Some(text) = &handout.text {
        for paragraph in paragraphs(text) {
            out.push_str(&format!("\n{}\n", plain(&paragraph)));
        }
    }
    out.push_str("\n## Given\n\n");
    for figure in &handout.given {
        out.push_str(&format!("- {}: **{}**\n", plain(&label(figure)), plain(&values(figure))));
    }
    for table in &handout.tables {
        out.push_str(&format!("\n### {}\n\n", plain(&table.title)));
        let row = |fields: &[String]| {
            let fields: Vec<String> = fields.iter().map(|field| plain(&set(field))).collect();
            format!("| {} |\n", fields.join(" | "))
        };
        out.push_str(&row(&table.heads));
        out.push_str(&format!("|{}\n", "--:|".repeat(table.heads.len())));
        table.rows.iter().for_each(|fields| out.push_str(&row(fields)));
    }
    out.push_str(&format!("\n## Questions\n\n{}\n", plain(&handout.hand_in)));
    for (at, asked) in handout.questions.iter().enumerate() {
        out.push_str(&format!(
            "\n{}. {} *({}; {})*\n",
            at + 1,
            plain(&set(&asked.text)),
            plain(&wanted(asked)),
            worth(asked)
        ));
        for (letter, choice) in letters().zip(&asked.choices) {
            out.push_str(&format!("   - {letter}) {}\n", plain(choice)));
        }
        if let Some(hint) = &asked.hint {
            out.push_str(&format!("\n   Hint: {}\n", plain(&set(hint))));
        }
    }
    out.push_str("\n## Please note\n\n");
    for caution in &handout.cautions {
        out.push_str(&format!("- {}\n", plain(caution)));
    }
    out
}

/// As one HTML page without anything from elsewhere, for the screen and for paper.
#[must_use]
pub fn handout_html(handout: &Handout) -> String {
    let title = escaped(&handout.title);
    let learner = escaped(&handout.learner);
    let mut body = format!("<h1>{title}</h1>\n<p class=\"for\">For {learner}</p>\n");
    if let Some(text) = &handout.text {
        for paragraph in paragraphs(text) {
            body.push_str(&format!("<p>{}</p>\n", escaped(&paragraph)));
        }
    }
    body.push_str("<h2>Given</h2>\n<table>\n");
    for figure in &handout.given {
        let (label, values) = (escaped(&label(figure)), escaped(&values(figure)));
        body.push_str(&format!("<tr><th scope=\"row\">{label}</th><td>{values}</td></tr>\n"));
    }
    body.push_str("</table>\n");
    for table in &handout.tables {
        body.push_str(&format!(
            "<table class=\"table\">\n<caption>{}</caption>\n<tr>",
            escaped(&table.title)
        ));
        for head in &table.heads {
            body.push_str(&format!("<th scope=\"col\">{}</th>", escaped(&set(head))));
        }
        body.push_str("</tr>\n");
        for row in &table.rows {
            let fields = row.iter().map(|field| format!("<td>{}</td>", escaped(field)));
            body.push_str(&format!("<tr>{}</tr>\n", fields.collect::<String>()));
        }
        body.push_str("</table>\n");
    }
    let hand_in = escaped(&handout.hand_in);
    body.push_str(&format!("<h2>Questions</h2>\n<p>{hand_in}</p>\n<ol>\n"));
    for asked in &handout.questions {
        let (text, wanted) = (escaped(&set(&asked.text)), escaped(&wanted(asked)));
        body.push_str(&format!(
            "<li><p>{text} <span class=\"wanted\">({wanted}; {})</span></p>\n",
            worth(asked)
        ));
        if !asked.choices.is_empty() {
            body.push_str("<ul>\n");
            for (letter, choice) in letters().zip(&asked.choices) {
                body.push_str(&format!("<li>{letter}) {}</li>\n", escaped(choice)));
            }
            body.push_str("</ul>\n");
        }
        if let Some(hint) = &asked.hint {
            body.push_str(&format!("<p class=\"hint\">Hint: {}</p>\n", escaped(&set(hint))));
        }
        body.push_str("<div class=\"room\"></div></li>\n");
    }
    body.push_str("</ol>\n<h2>Please note</h2>\n");
    for caution in &handout.cautions {
        body.push_str(&format!("<p class=\"caution\">{}</p>\n", escaped(caution)));
    }
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta \
         name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title}: \
         {learner}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n{body}</body>\n</html>\n"
    )
}

const STYLE: &str = "\
:root { color-scheme: light dark; }
body { font: 1rem/1.5 system-ui, sans-serif; max-width: 42rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.4rem; margin: 0; }
h2 { font-size: 1.1rem; margin: 1.6rem 0 0.4rem; break-after: avoid; }
.for { margin: 0.2rem 0 1rem; }
table { border-collapse: collapse; }
th { font-weight: normal; text-align: left; padding: 0.1rem 1.5rem 0.1rem 0; }
td { font-variant-numeric: tabular-nums; font-weight: 600; }
tr { border-bottom: 1px solid color-mix(in srgb, currentColor 20%, transparent); }
.table { margin-top: 1rem; }
.table caption { text-align: left; }
.table th, .table td { font-weight: normal; padding: 0.1rem 1rem 0.1rem 0; text-align: right; }
ul { list-style: none; padding-left: 1rem; }
ol > li { break-inside: avoid; margin: 0.6rem 0; }
.wanted { font-size: 0.9em; }
.hint { font-style: italic; }
.room { height: 0; }
.caution { border-left: 3px solid; padding-left: 0.6rem; }
@media print {
  body { margin: 0; max-width: none; font-size: 10.5pt; line-height: 1.35; }
  .room { height: 2.2rem; }
  p { margin: 0.4rem 0; }
  .caution, h2 { break-inside: avoid; }
}
@page { margin: 18mm; }
";

fn label(figure: &Figure) -> String {
    let words = figure.name.replace('_', " ");
    match &figure.about {
        Some(about) => about.clone(),
        None => words,
    }
}

fn values(figure: &Figure) -> String {
    let values: Vec<String> = figure.values.iter().map(|value| set(value)).collect();
    values.join(", ")
}

/// Quantities and units as they are set in print. They are read back just the same.
fn set(text: &str) -> String {
    let text = text.replace("degC", "°C").replace("degF", "°F");
    powers_of_ten(&text.replace("^2", "²").replace("^3", "³"))
}

/// `1.23e-6` as `1.23·10⁻⁶`.
fn powers_of_ten(text: &str) -> String {
    const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let letters: Vec<char> = text.chars().collect();
    let digit = |at: usize| letters.get(at).and_then(|letter| letter.to_digit(10));
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    while let Some(letter) = letters.get(at) {
        let behind_number = at > 0 && digit(at - 1).is_some();
        let sign = usize::from(letters.get(at + 1).is_some_and(|next| matches!(next, '-' | '+')));
        if matches!(letter, 'e' | 'E') && behind_number && digit(at + 1 + sign).is_some() {
            out.push_str("·10");
            if letters.get(at + 1) == Some(&'-') {
                out.push('⁻');
            }
            at += 1 + sign;
            while let Some(digit) = digit(at) {
                out.extend(RAISED.get(digit as usize));
                at += 1;
            }
            continue;
        }
        out.push(*letter);
        at += 1;
    }
    out
}

/// How the answer is wanted, in words.
fn wanted(asked: &Asked) -> String {
    set(&asked.wanted)
}

fn worth(asked: &Asked) -> String {
    let word = if (asked.points - 1.0).abs() < 1e-9 { "point" } else { "points" };
    format!("{} {word}", points(asked.points))
}

fn letters() -> impl Iterator<Item = char> {
    'a'..='z'
}

/// The paragraphs of a text, each on one line.
fn paragraphs(text: &str) -> Vec<String> {
    let all = text.split("\n\n").map(|part| part.split_whitespace().collect::<Vec<_>>().join(" "));
    all.filter(|part| !part.is_empty()).map(|part| set(&part)).collect()
}

/// A text of the sheet in which nothing is Markdown.
pub(crate) fn plain(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    let text = words.join(" ");
    let mut out = String::with_capacity(text.len() + 8);
    for letter in visible(&text).chars() {
        if matches!(letter, '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '#' | '|' | '&' | '~')
        {
            out.push('\\');
        }
        out.push(letter);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_are_set_as_in_print() {
        assert_eq!(set("1.23e-6 m^2/s"), "1.23·10⁻⁶ m²/s");
        assert_eq!(set("2e10 degC, 4 steel, e-3"), "2·10¹⁰ °C, 4 steel, e-3");
    }

    #[test]
    fn a_hostile_text_is_no_markup() {
        let handout = Handout {
            learner: "<script>x</script>".to_owned(),
            title: "# a `b` <i>".to_owned(),
            text: Some("**bold**\n\n[link](x)".to_owned()),
            given: vec![Figure {
                name: "bore".to_owned(),
                about: Some("<b>".to_owned()),
                values: vec!["1 mm".to_owned()],
            }],
            tables: Vec::new(),
            questions: Vec::new(),
            hand_in: String::new(),
            cautions: vec!["\u{1b}[31m".to_owned()],
        };
        let html = handout_html(&handout);
        assert!(!html.contains("<script") && !html.contains("<i>") && !html.contains("<b>"));
        let markdown = handout_markdown(&handout);
        assert!(!markdown.contains(" **bold") && markdown.contains(r"\*\*bold"), "{markdown}");
        assert!(!markdown.contains("[link](") && !markdown.contains('\u{1b}'), "{markdown}");
    }
}
