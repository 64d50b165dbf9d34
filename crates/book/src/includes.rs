//! What a chapter takes from the library while it is built: a template's text, what it says, its
//! checks, its drawings, one of its values, and pieces of Rust that are compiled and run as tests.
//!
//! A marker stands in double braces: `{{template NAME}}`, `{{output NAME}}`, `{{checks NAME}}`,
//! `{{drawings NAME}}` and `{{rust PIECE}}` on a line of their own, `{{value NAME CELL}}` anywhere.

use std::collections::HashMap;

use forebay_report::{Options, drawings, format};
use forebay_sheet::worksheet::Level;
use forebay_sheet::{Sheet, Template, template};

use crate::fault::{Fault, line_at};
use crate::markdown::{code, escaped, fenced};

/// The Rust that the book shows.
const RUST: &str = include_str!("../tests/shown_in_the_book.rs");

/// Fills in markers; sheets are opened once.
#[derive(Debug, Default)]
pub(crate) struct Includes {
    opened: HashMap<&'static str, Sheet>,
}

impl Includes {
    /// The chapter with its markers filled in; what cannot be filled in is told and left.
    pub(crate) fn filled(&mut self, name: &str, text: &str, faults: &mut Vec<Fault>) -> String {
        let mut out = String::with_capacity(text.len());
        let mut rest = 0;
        while let Some(found) = text[rest..].find("{{") {
            let start = rest + found;
            let Some(length) = text[start..].find("}}") else { break };
            let end = start + length + 2;
            out.push_str(&text[rest..start]);
            match self.one(text[start + 2..end - 2].trim()) {
                Ok(filling) => out.push_str(&filling),
                Err(why) => {
                    faults.push(Fault::new(name, line_at(text, start), why));
                    out.push_str(&text[start..end]);
                }
            }
            rest = end;
        }
        out.push_str(&text[rest..]);
        out
    }

    fn one(&mut self, marker: &str) -> Result<String, String> {
        let words: Vec<&str> = marker.split_whitespace().collect();
        match words[..] {
            ["template", name] => Ok(template_text(known(name)?)),
            ["output", name] => self.output(known(name)?),
            ["checks", name] => Ok(checks(self.sheet(known(name)?)?)),
            ["drawings", name] => self.drawings(known(name)?),
            ["value", name, cell] => self.value(known(name)?, cell),
            ["rust", piece] => rust(piece),
            _ => Err(format!("`{{{{{marker}}}}}` is no marker")),
        }
    }

    fn sheet(&mut self, template: &'static Template) -> Result<&mut Sheet, String> {
        let sheet = self
            .opened
            .entry(template.name)
            .or_insert_with(|| Sheet::open_with(template.name, template.text, &Nothing));
        if sheet.has_errors() {
            return Err(format!("the template `{}` does not run", template.name));
        }
        Ok(sheet)
    }

    fn output(&mut self, template: &'static Template) -> Result<String, String> {
        let format = format("text").ok_or("there is no format `text`")?;
        let text = (format.write)(self.sheet(template)?, &Options::default());
        Ok(folded(&format!("What {} says", code(template.name)), &fenced("text", &text)))
    }

    fn drawings(&mut self, template: &'static Template) -> Result<String, String> {
        let mut out = String::new();
        for drawing in drawings(self.sheet(template)?) {
            let picture = drawing.picture.map_err(|why| {
                format!("`{}` of `{}` is not drawn: {why}", drawing.name, template.name)
            })?;
            // A blank line would end the element for Markdown.
            let svg: Vec<&str> = picture.svg.lines().filter(|l| !l.trim().is_empty()).collect();
            out.push_str(&format!(
                "<figure class=\"drawing\">\n{}\n<figcaption>{}</figcaption>\n</figure>\n\n",
                svg.join("\n"),
                escaped(&drawing.title)
            ));
        }
        Ok(out)
    }

    fn value(&mut self, template: &'static Template, cell: &str) -> Result<String, String> {
        let sheet = self.sheet(template)?;
        let found = sheet.cell(cell).ok_or(format!("`{}` has no `{cell}`", template.name))?;
        Ok(found.shown())
    }
}

/// Templates read nothing beside themselves.
struct Nothing;

impl forebay_sheet::Loader for Nothing {
    fn load(&self, name: &str) -> Result<String, String> {
        Err(format!("`{name}` is not read here"))
    }
}

fn known(name: &str) -> Result<&'static Template, String> {
    template(name).ok_or_else(|| format!("there is no template `{name}`"))
}

fn template_text(template: &Template) -> String {
    let title =
        format!("The sheet, as {} writes it", code(&format!("forebay new {}", template.name)));
    folded(&title, &fenced("yaml", template.text))
}

/// A long text that the reader opens when he wants it.
fn folded(title: &str, text: &str) -> String {
    format!("<details>\n<summary>{title}</summary>\n\n{text}\n</details>\n")
}

/// The checks of a sheet with the words for the day on which they fail, the gravest first.
fn checks(sheet: &Sheet) -> String {
    let mut out = String::new();
    for level in [Level::Stop, Level::Care, Level::Note] {
        for cell in sheet.checks() {
            let Some(check) = cell.check().filter(|check| check.level == level) else { continue };
            let word = match level {
                Level::Stop => "stop",
                Level::Care => "care",
                Level::Note => "note",
            };
            let said =
                check.otherwise.as_deref().map(|text| escaped(text.trim())).unwrap_or_default();
            let caution =
                check.caution.as_deref().map(|text| escaped(text.trim())).unwrap_or_default();
            let caution =
                if caution.is_empty() { caution } else { format!(" **Caution:** {caution}") };
            out.push_str(&format!("- {} ({word}). {said}{caution}\n", code(cell.name())));
        }
    }
    out
}

/// A piece of the tested Rust, from `// begin PIECE` to `// end PIECE`, without its indent.
fn rust(piece: &str) -> Result<String, String> {
    let mut lines = RUST.lines().skip_while(|line| line.trim() != format!("// begin {piece}"));
    if lines.next().is_none() {
        return Err(format!("there is no piece of Rust `{piece}`"));
    }
    let lines: Vec<&str> =
        lines.take_while(|line| line.trim() != format!("// end {piece}")).collect();
    let indent = lines
        .iter()
        .filter(|line| !line.trim().is_empty())
        .map(|line| line.len() - line.trim_start().len())
        .min()
        .unwrap_or(0);
    let lines: Vec<&str> = lines.iter().map(|line| line.get(indent..).unwrap_or("")).collect();
    Ok(fenced("rust", &lines.join("\n")))
}
