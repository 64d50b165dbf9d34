//! Every template that comes with the library: opened as it is and in the other system of units,
//! and held against published examples.
//!
//! `checks/templates/NAME.csv` holds published examples for the template NAME: `set` gives its
//! knowns the figures of the source (`name=value; name=value`), `cell` must then come out as
//! `expected` within the relative `tolerance`, and `source` says where that is printed.

use std::fs;
use std::path::{Path, PathBuf};

use forebay_report::drawings;
use forebay_sheet::worksheet::Level;
use forebay_sheet::{Severity, Sheet, Stage, Template, Value, Verdict, template, templates};

/// The sheet's text as it is, and shown in the other system of units.
fn both_systems(template: &Template) -> [String; 2] {
    let (from, to) = if template.text.contains("\nunits: us") {
        ("\nunits: us", "\nunits: si")
    } else {
        ("\nunits: si", "\nunits: us")
    };
    assert_eq!(template.text.matches(from).count(), 1, "{} says no units", template.name);
    [template.text.to_owned(), template.text.replace(from, to)]
}

/// What is wrong with a template as it is shipped.
fn faults(text: &str) -> Vec<String> {
    let sheet = Sheet::open(text);
    let mut found: Vec<String> = sheet.diagnostics().iter().map(ToString::to_string).collect();
    for cell in sheet.cells() {
        let name = cell.name();
        match cell.verdict() {
            Verdict::Fails if cell.check().is_some_and(|check| check.level == Level::Stop) => {
                found.push(format!("`{name}` fails, and it is a stop"));
            }
            Verdict::Unknown if cell.check().is_some() => {
                found.push(format!("`{name}` cannot be told"));
            }
            _ => {}
        }
        if let Some(check) = cell.check()
            && check.otherwise.is_none()
        {
            found.push(format!("`{name}` does not say what to do"));
        }
        if cell.known().is_some_and(|known| known.from.is_none()) {
            found.push(format!("`{name}` does not say where it comes from"));
        }
    }
    if sheet.headlines().next().is_none() {
        found.push("it shows no results".to_owned());
    }
    if sheet.title().is_none() {
        found.push("it has no title".to_owned());
    }
    found
}

#[test]
fn every_template_computes_in_both_systems_and_nothing_stops_it() {
    let mut all = Vec::new();
    for template in templates() {
        for text in both_systems(template) {
            all.extend(faults(&text).into_iter().map(|why| format!("{}: {why}", template.name)));
        }
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn every_case_of_a_template_can_be_taken() {
    let mut all = Vec::new();
    for template in templates() {
        let names: Vec<String> =
            Sheet::open(template.text).cases().map(|case| case.name.text.clone()).collect();
        for case in names {
            let mut sheet = Sheet::open(template.text);
            let refused = sheet.use_case(&case).err().map(|refusal| refusal.to_string());
            let errors =
                sheet.diagnostics().into_iter().filter(|d| d.code.severity == Severity::Error);
            let found: Vec<String> =
                refused.into_iter().chain(errors.map(ToString::to_string)).collect();
            all.extend(found.iter().map(|why| format!("{}, {case}: {why}", template.name)));
        }
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn faults_are_found() {
    let found = faults(
        "forebay: 1\nknown:\n  a: 1 m\nwork:\n  b: a + 1 s\ncheck:\n  c: { that: a > 2 m, level: stop }\n",
    );
    let all = found.join("\n");
    for part in ["cannot be added", "is a stop", "what to do", "comes from", "no results", "title"]
    {
        assert!(all.contains(part), "{part} is not in\n{all}");
    }
}

#[test]
fn every_template_is_a_row_and_every_row_has_its_line() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../crates/sheet/templates");
    let mut files: Vec<String> = fs::read_dir(folder)
        .expect("the folder is there")
        .map(|entry| entry.expect("an entry").path())
        .map(|path| path.file_stem().expect("a name").to_string_lossy().into_owned())
        .collect();
    files.sort();
    let mut rows: Vec<String> = templates().iter().map(|row| row.name.to_owned()).collect();
    rows.sort();
    assert_eq!(files, rows);
    for row in templates() {
        assert!(row.about.len() > 20 && !row.about.ends_with('.'), "{}: {}", row.name, row.about);
        let long = row.text.lines().find(|line| line.chars().count() > 120);
        assert_eq!(long, None, "{}: a line is too long to read", row.name);
    }
    assert_eq!(templates().first().map(|row| row.stage), Some(Stage::Whole));
}

#[test]
fn every_drawing_of_a_template_is_drawn() {
    let mut all = Vec::new();
    for template in templates() {
        for drawing in drawings(&mut Sheet::open(template.text)) {
            if let Err(why) = &drawing.picture {
                all.push(format!("{}: `{}` {why}", template.name, drawing.name));
            }
        }
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

fn published() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("checks/templates")
}

/// Why a row of published examples does not hold.
fn difference(text: &str, row: &csv::StringRecord) -> Option<String> {
    let mut sheet = Sheet::open(text);
    let sets = row[0].split("; ").filter_map(|set| set.split_once('='));
    let sets: Vec<(&str, &str)> = sets.map(|(name, value)| (name.trim(), value.trim())).collect();
    if let Err(refusal) = sheet.set_all(&sets) {
        return Some(format!("cannot be set: {refusal}"));
    }
    let expected = match sheet.eval(&row[2]) {
        Ok(answer) => answer.value,
        Err(why) => return Some(format!("{} cannot be read: {}", &row[2], why[0])),
    };
    let cell = sheet.cell(&row[1])?;
    let value = cell.value();
    let number = |value: Option<&Value>| value.and_then(Value::as_number);
    let tolerance: f64 = row[3].parse().expect("a tolerance");
    let holds = match (number(value), number(Some(&expected))) {
        (Some(ours), Some(theirs)) => (ours - theirs).abs() <= tolerance * theirs.abs(),
        _ => value == Some(&expected),
    };
    (!holds).then(|| format!("`{}` is {}, printed {}", &row[1], cell.shown(), &row[2]))
}

#[test]
fn templates_hold_against_published_examples() {
    let mut all = Vec::new();
    let mut count = 0;
    for file in fs::read_dir(published()).expect("the folder is there") {
        let file = file.expect("an entry").path();
        let name = file.file_stem().expect("a name").to_string_lossy().into_owned();
        let text = template(&name).expect("a template of this name").text;
        let mut reader = csv::Reader::from_path(&file).expect("a table");
        assert_eq!(
            reader.headers().expect("a head"),
            vec!["set", "cell", "expected", "tolerance", "source"]
        );
        for row in reader.records() {
            let row = row.expect("a sound row");
            assert!(row[4].len() > 10, "{name}: a row without a source");
            assert!(Sheet::open(text).cell(&row[1]).is_some(), "{name} has no cell `{}`", &row[1]);
            count += 1;
            all.extend(difference(text, &row).map(|why| format!("{name}: {why} ({})", &row[4])));
        }
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
    assert!(count > 0, "nothing was compared");
}
