//! Every formula, a page for each subject, and a list of all of them.

use forebay_formulas::{SUBJECTS, Subject};
use forebay_report::{Options, formula_page};

use super::{Page, page};
use crate::markdown::{code, escaped, fenced, table};

/// The list, then the subjects.
pub(super) fn pages() -> Vec<Page> {
    let mut pages = vec![list()];
    pages.extend(SUBJECTS.iter().map(|subject| of(subject)));
    pages
}

fn list() -> Page {
    let count: usize = SUBJECTS.iter().map(|subject| subject.formulas.len()).sum();
    let mut text = format!(
        "{count} formulas in {} subjects, in the order in which water goes through a plant. Each \
         has its equation, what it takes and within which limits, its source, and an example with \
         the value that is printed there. `forebay formulas NAME` shows the same in the \
         terminal, and `forebay formulas --search WORD` finds one.\n\n\
         What is \"from memory\" or \"common practice\" says so. Treat it as a hint.\n",
        SUBJECTS.len()
    );
    for subject in SUBJECTS {
        let file = file_of(subject);
        text.push_str(&format!(
            "\n## [{}](formulas/{file}.md)\n\n",
            escaped(&subject.name.replace('_', " "))
        ));
        let rows = subject.formulas.iter().map(|formula| {
            let name = format!("[{}](formulas/{file}.md#{})", code(formula.name), formula.name);
            vec![name, escaped(formula.summary)]
        });
        text.push_str(&table(&["formula", "gives"], rows));
    }
    page("formulas", "Every formula", &text)
}

fn of(subject: &Subject) -> Page {
    let mut text = format!("{}\n", escaped(subject.about));
    for formula in subject.formulas {
        let whole = formula_page(formula, &Options::default());
        // The name is the heading, the summary a paragraph, and the subject the page.
        let body: Vec<&str> = whole
            .lines()
            .skip_while(|line| !line.starts_with(' '))
            .take_while(|line| !line.starts_with("Subject: "))
            .collect();
        text.push_str(&format!("\n## {}\n\n{}\n\n", formula.name, escaped(formula.summary)));
        text.push_str(&fenced("text", body.join("\n").trim_end()));
    }
    page(
        &format!("formulas/{}", file_of(subject)),
        &capital(&subject.name.replace('_', " ")),
        &text,
    )
}

fn file_of(subject: &Subject) -> String {
    let letters = subject.name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' });
    let name: String = letters.collect();
    let parts: Vec<&str> = name.split('-').filter(|part| !part.is_empty()).collect();
    parts.join("-").to_lowercase()
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
