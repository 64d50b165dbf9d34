//! Check values from outside, each computed by a worksheet formula and held against its source.
//!
//! `checks/open.csv` has the values with their sources. `checks/expressions.csv` says for each of
//! them which expression computes it and in which unit the two are compared; `sheet` stands for
//! the cell `answer` of `checks/sheets/ID.yaml`, and an empty expression has a reason.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use forebay_sheet::{Answer, Loader, Severity, Sheet};
use forebay_units::Unit;

/// The daily series that `scripts/oracle` fetches; it is not committed.
const FETCHED: &str = "us_09447000.csv";

/// Nothing but rounding of the last bit may lie between an exact value and its printed decimals.
const ROUNDING: f64 = 1e-15;

struct Row {
    id: String,
    inputs: String,
    expected_text: String,
    expected: f64,
    tolerance: f64,
}

struct Mapping {
    expression: String,
    unit: String,
    reason: String,
}

/// Reads tables from `checks` and from where `scripts/oracle` leaves what it fetched.
struct Beside;

impl Loader for Beside {
    fn load(&self, name: &str) -> Result<String, String> {
        let path = if name == FETCHED { fetched() } else { checks().join(name) };
        fs::read_to_string(path).map_err(|error| error.to_string())
    }
}

fn checks() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("checks")
}

fn fetched() -> PathBuf {
    checks().join("fetched").join(FETCHED)
}

fn records(name: &str) -> Vec<csv::StringRecord> {
    let mut reader = csv::Reader::from_path(checks().join(name)).expect("the table is there");
    reader.records().map(|record| record.expect("a sound row")).collect()
}

fn rows() -> Vec<Row> {
    records("open.csv")
        .iter()
        .map(|r| Row {
            id: r[0].to_owned(),
            inputs: r[3].to_owned(),
            expected_text: r[4].to_owned(),
            expected: r[4].parse().expect("a number"),
            tolerance: r[6].parse().expect("a number"),
        })
        .collect()
}

fn mappings() -> Vec<(String, Mapping)> {
    records("expressions.csv")
        .iter()
        .map(|r| {
            let mapping = Mapping {
                expression: r[1].to_owned(),
                unit: r[2].to_owned(),
                reason: r[3].to_owned(),
            };
            (r[0].to_owned(), mapping)
        })
        .collect()
}

fn sheet_text(id: &str) -> Result<String, String> {
    let path = checks().join("sheets").join(format!("{id}.yaml"));
    fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))
}

/// The value of a row, through the worksheet.
fn answer(id: &str, expression: &str) -> Result<Answer, String> {
    let (text, expression) = match expression {
        "sheet" => (sheet_text(id)?, "answer"),
        other => ("forebay: 1\ncurrency: EUR\n".to_owned(), other),
    };
    let mut sheet = Sheet::open_with(id, &text, &Beside);
    let errors: Vec<String> = sheet
        .diagnostics()
        .iter()
        .filter(|d| d.code.severity == Severity::Error)
        .map(|d| format!("[{}] {}", d.code.name, d.message))
        .collect();
    if !errors.is_empty() {
        return Err(errors.join("; "));
    }
    sheet.eval(expression).map_err(|found| {
        found
            .iter()
            .map(|d| format!("[{}] {}", d.code.name, d.message))
            .collect::<Vec<_>>()
            .join("; ")
    })
}

/// What a row comes to in the unit of comparison.
fn computed(id: &str, mapping: &Mapping) -> Result<f64, String> {
    let unit = match mapping.unit.as_str() {
        "1" => Unit::ONE,
        text => Unit::parse(text).map_err(|error| error.to_string())?,
    };
    let answer = answer(id, &mapping.expression)?;
    answer.shown(Some(&unit)).map_err(|error| error.to_string())?;
    let number = answer.value.as_number().ok_or("no number")?;
    Ok(unit.from_si(number))
}

fn miss(row: &Row, value: f64) -> Option<String> {
    let Row { expected, tolerance, .. } = row;
    let allowed = tolerance.max(ROUNDING) * expected.abs();
    let off = (value - expected).abs();
    if off <= allowed {
        return None;
    }
    let off = off / expected.abs();
    Some(format!("{value} instead of {expected}: off by {off:.2e}, allowed {tolerance:.2e}"))
}

#[test]
fn every_check_value_is_met() {
    let mappings: BTreeMap<String, Mapping> = mappings().into_iter().collect();
    let series_is_there = fetched().exists();
    let (mut met, mut skipped) = (0, Vec::new());
    let mut reasons = Vec::new();
    let mut misses = Vec::new();
    for row in rows() {
        let mapping = &mappings[&row.id];
        if mapping.expression.is_empty() {
            reasons.push(format!("{}: {}", row.id, mapping.reason));
            continue;
        }
        let fetches = mapping.expression == "sheet"
            && sheet_text(&row.id).is_ok_and(|text| text.contains(FETCHED));
        if fetches && !series_is_there {
            skipped.push(row.id);
            continue;
        }
        match computed(&row.id, mapping) {
            Ok(value) => match miss(&row, value) {
                None => met += 1,
                Some(miss) => misses.push(format!("{} ({}): {miss}", row.id, mapping.expression)),
            },
            Err(error) => misses.push(format!("{} ({}): {error}", row.id, mapping.expression)),
        }
    }
    say(&format!("{met} check values from outside are met; {} are not applicable:", reasons.len()));
    for reason in &reasons {
        say(&format!("  {reason}"));
    }
    if !skipped.is_empty() {
        say(&format!(
            "SKIPPED, since {FETCHED} has not been fetched by scripts/oracle: {}",
            skipped.join(", ")
        ));
    }
    assert!(misses.is_empty(), "{} rows are not met:\n{}", misses.len(), misses.join("\n"));
}

#[test]
fn every_row_is_mapped_once() {
    let rows: Vec<String> = rows().into_iter().map(|row| row.id).collect();
    let mapped: Vec<String> = mappings().into_iter().map(|(id, _)| id).collect();
    assert_eq!(rows.len(), rows.iter().collect::<BTreeSet<_>>().len(), "an id stands twice");
    assert_eq!(rows, mapped, "open.csv and expressions.csv have the same ids in the same order");
    for (id, mapping) in mappings() {
        assert_ne!(
            mapping.expression.is_empty(),
            mapping.reason.is_empty(),
            "{id} has either an expression or a reason"
        );
        let sheet = checks().join("sheets").join(format!("{id}.yaml"));
        assert_eq!(mapping.expression == "sheet", sheet.exists(), "{id}: its sheet");
    }
    for entry in fs::read_dir(checks().join("sheets")).expect("the folder is there") {
        let path = entry.expect("an entry").path();
        let id = path.file_stem().expect("a name").to_string_lossy().into_owned();
        assert!(mapped.contains(&id), "{} belongs to no row", path.display());
    }
}

#[test]
fn no_expression_is_its_own_answer() {
    let mappings: BTreeMap<String, Mapping> = mappings().into_iter().collect();
    for row in rows() {
        let mapping = &mappings[&row.id];
        if mapping.expression.is_empty() {
            continue;
        }
        let text = match mapping.expression.as_str() {
            "sheet" => without_comments(&sheet_text(&row.id).expect("its sheet")),
            other => other.to_owned(),
        };
        if let Some(given) = given_away(&text, &mapping.unit, &row) {
            panic!("{}: {given}", row.id);
        }
    }
}

#[test]
fn the_guard_against_answers_given_away_sees_them() {
    let row = |inputs: &str| Row {
        id: "X".to_owned(),
        inputs: inputs.to_owned(),
        expected_text: "0.3048".to_owned(),
        expected: 0.3048,
        tolerance: 0.0,
    };
    assert!(given_away("0.3048 m", "m", &row("x=1 ft")).is_some());
    assert!(given_away("2 * 0.30480 m / 2", "m", &row("x=1 ft")).is_some());
    assert!(given_away("304.8 mm", "m", &row("x=1 ft")).is_some());
    assert!(given_away("1 m", "m", &row("x=1 m")).is_some());
    assert!(given_away("1 ft", "m", &row("x=1 ft")).is_none());
    assert!(given_away("circle_area(0.3048 m)", "m", &row("d=0.3048 m")).is_none());
}

#[test]
fn a_value_that_is_off_is_a_miss() {
    let row = Row {
        id: "X".to_owned(),
        inputs: String::new(),
        expected_text: "2".to_owned(),
        expected: 2.0,
        tolerance: 0.01,
    };
    assert!(miss(&row, 2.019).is_none());
    assert!(miss(&row, 2.021).is_some());
    assert!(miss(&row, f64::NAN).is_some());
}

/// Whether an expression holds its answer: as a number in it that is no input of the row, in
/// whatever power of ten, or by being nothing but a quantity in the unit of comparison.
fn given_away(text: &str, unit: &str, row: &Row) -> Option<String> {
    let inputs = numbers(&row.inputs);
    for number in numbers(text) {
        let is_input = inputs.iter().any(|input| same(*input, number));
        // Short answers such as 2.5 are found by chance; they are guarded in full only.
        let digits = row.expected_text.chars().filter(char::is_ascii_digit).count();
        let tens = if digits >= 4 { -9..=9 } else { 0..=0 };
        for ten in tens {
            if !is_input && same(number * 10_f64.powi(ten), row.expected.abs()) {
                return Some(format!("`{text}` holds the answer {}", row.expected_text));
            }
        }
    }
    let bare = text.trim().trim_start_matches(|c: char| c.is_ascii_digit() || "+-.eE".contains(c));
    (bare.trim() == unit).then(|| format!("`{text}` is nothing but a value in {unit}"))
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()) && a != 0.0
}

/// The numbers in a text, without those that are part of a name.
fn numbers(text: &str) -> Vec<f64> {
    let bytes = text.as_bytes();
    let mut found = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        let part_of_name = at > 0
            && (bytes[at - 1].is_ascii_alphanumeric() || matches!(bytes[at - 1], b'_' | b'.'));
        if !bytes[at].is_ascii_digit() || part_of_name {
            at += 1;
            continue;
        }
        let start = at;
        while at < bytes.len() {
            let exponent = matches!(bytes[at], b'e' | b'E')
                && bytes
                    .get(at + 1)
                    .is_some_and(|b| b.is_ascii_digit() || matches!(b, b'-' | b'+'));
            match bytes[at] {
                b'0'..=b'9' | b'.' => at += 1,
                _ if exponent => at += 2,
                _ => break,
            }
        }
        found.extend(text[start..at].trim_end_matches('.').parse::<f64>().ok());
    }
    found
}

fn without_comments(sheet: &str) -> String {
    let lines = sheet.lines().filter(|line| !line.trim_start().starts_with('#'));
    lines.collect::<Vec<_>>().join("\n")
}

/// Written past the capture of passing tests, so that nobody takes a skip for a pass.
fn say(line: &str) {
    use std::io::Write;
    let _ = writeln!(std::io::stderr(), "{line}");
}
