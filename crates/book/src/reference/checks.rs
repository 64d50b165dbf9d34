//! How the numbers are known to be right: the values from outside that they are held against.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use forebay_formulas::{SUBJECTS, Standing, all};

use super::{Page, page as written};
use crate::markdown::{code, escaped, table};

pub(super) fn page(root: &Path) -> Result<Page, String> {
    let checks = root.join("tests/checks");
    let open = rows(&checks.join("open.csv"))?;
    let expressions = rows(&checks.join("expressions.csv"))?;
    let mut text = "A program that is wrong looks like one that is right. So every formula of \
         Forebay is held against numbers that it did not make: a value printed in a book or \
         a standard, a worked example, a reference library, or arithmetic that you can follow by \
         hand. All of them are computed again whenever the project is tested, and a difference \
         larger than the tolerance fails the test. Where a source or a value is from memory only, \
         it says so.\n\n"
        .to_owned();
    text.push_str(&in_figures(&open));
    text.push_str(&standings());
    text.push_str(&of_formulas());
    text.push_str(&of_templates(&checks.join("templates"))?);
    text.push_str(&of_sheets(&open, &expressions));
    Ok(written("checks", "How we know it is right", &text))
}

type Row = BTreeMap<String, String>;

fn rows(file: &Path) -> Result<Vec<Row>, String> {
    let told = |why: csv::Error| format!("{}: {why}", file.display());
    let mut reader = csv::Reader::from_path(file).map_err(told)?;
    reader.deserialize().collect::<Result<_, _>>().map_err(told)
}

fn get<'a>(row: &'a Row, key: &str) -> &'a str {
    row.get(key).map_or("", String::as_str)
}

fn in_figures(open: &[Row]) -> String {
    let mut areas: BTreeMap<&str, usize> = BTreeMap::new();
    for row in open {
        *areas.entry(get(row, "area")).or_default() += 1;
    }
    let with: usize = all().filter(|formula| !formula.checks.is_empty()).count();
    let values: usize = all().map(|formula| formula.checks.len()).sum();
    let listed: Vec<Vec<String>> = areas
        .iter()
        .map(|(area, count)| {
            vec![escaped(area.trim_start_matches(char::is_numeric).trim()), count.to_string()]
        })
        .collect();
    format!(
        "## In figures\n\n{with} of {} formulas carry {values} values from outside that they must \
         reproduce. Beside these, {} values are computed through worksheets, as a user \
         would:\n\n{}\n",
        all().count(),
        open.len(),
        table(&["subject", "values"], listed)
    )
}

/// How well each formula's source is known to us.
fn standings() -> String {
    let words = [
        (Standing::Exact, "follows by arithmetic from a definition or a law"),
        (Standing::Read, "seen in print"),
        (Standing::Library, "taken from a reference library"),
        (Standing::Memory, "from memory, not yet confirmed in print"),
        (Standing::CommonPractice, "common practice, no source"),
    ];
    let rows = words.iter().map(|(standing, about)| {
        let count = all().filter(|formula| formula.source.standing == *standing).count();
        vec![(*about).to_owned(), count.to_string()]
    });
    format!(
        "How the source of each formula is known to us. The last two rows are the weak ones, and \
         each of these formulas says so on its page.\n\n{}\n",
        table(&["source", "formulas"], rows)
    )
}

fn of_formulas() -> String {
    let rows = SUBJECTS.iter().map(|subject| {
        let values: usize = subject.formulas.iter().map(|formula| formula.checks.len()).sum();
        let name = escaped(&subject.name.replace('_', " "));
        vec![name, subject.formulas.len().to_string(), values.to_string()]
    });
    let without: Vec<String> =
        all().filter(|formula| formula.checks.is_empty()).map(|f| code(f.name)).collect();
    let without = if without.is_empty() {
        "Every formula has at least one.".to_owned()
    } else {
        format!("Without one so far: {}.", without.join(", "))
    };
    format!(
        "## Formula by formula\n\nThe values stand on the formulas' pages, each with its source. \
         {without}\n\n{}\n",
        table(&["subject", "formulas", "values"], rows)
    )
}

/// The published examples that the templates are held against.
fn of_templates(folder: &Path) -> Result<String, String> {
    let told = |why: std::io::Error| format!("{}: {why}", folder.display());
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).map_err(told)? {
        files.push(entry.map_err(told)?.path());
    }
    files.sort();
    let mut out = "## Template by template\n\nEach template is set to the figures of a published \
                   example and must give what is printed there.\n\n"
        .to_owned();
    for file in files.iter().filter(|file| file.extension().is_some_and(|end| end == "csv")) {
        let name = file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let found = rows(file)?;
        let heads: Vec<String> = csv::Reader::from_path(file)
            .and_then(|mut reader| reader.headers().cloned())
            .map_err(|why| format!("{}: {why}", file.display()))?
            .iter()
            .map(str::to_owned)
            .collect();
        let shown: Vec<&str> = heads.iter().map(String::as_str).collect();
        let cells =
            found.iter().map(|row| heads.iter().map(|head| escaped(get(row, head))).collect());
        out.push_str(&format!("### {name}\n\n{}\n", table(&shown, cells)));
    }
    Ok(out)
}

/// The values that are computed through worksheets.
fn of_sheets(open: &[Row], expressions: &[Row]) -> String {
    let how: BTreeMap<&str, &Row> = expressions.iter().map(|row| (get(row, "id"), row)).collect();
    let mut out =
        "## Value by value\n\nWhat is computed, what must come out, and who says so.\n".to_owned();
    let mut area = "";
    let mut group: Vec<Vec<String>> = Vec::new();
    let heads = ["", "what", "from", "must be", "within", "source", "obtained"];
    for row in open {
        if get(row, "area") != area {
            flush(&mut out, area, &heads, &mut group);
            area = get(row, "area");
        }
        let unsaid = how.get(get(row, "id")).is_some_and(|row| !get(row, "reason").is_empty());
        let within = match get(row, "rel_tolerance") {
            "0" => "exact".to_owned(),
            tolerance => tolerance.to_owned(),
        };
        group.push(vec![
            get(row, "id").to_owned(),
            format!(
                "{}{}",
                escaped(get(row, "quantity")),
                if unsaid { " (not computed)" } else { "" }
            ),
            escaped(get(row, "inputs")),
            escaped(&format!("{} {}", get(row, "expected"), get(row, "unit"))),
            within,
            escaped(get(row, "source")),
            escaped(get(row, "how_obtained")),
        ]);
    }
    flush(&mut out, area, &heads, &mut group);
    out
}

fn flush(out: &mut String, area: &str, heads: &[&str], group: &mut Vec<Vec<String>>) {
    if group.is_empty() {
        return;
    }
    let title = area.trim_start_matches(char::is_numeric).trim();
    out.push_str(&format!("\n### {}\n\n{}", escaped(title), table(heads, group.drain(..))));
}
