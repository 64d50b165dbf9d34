//! Runs every sheet of `suite/` against the expectations in its comments; `suite/README.md` has
//! their syntax.

use std::fs;
use std::path::{Path, PathBuf};

use forebay_sheet::{Cell, Sheet, Span, Trouble, Value};
use forebay_units::Unit;

#[derive(Debug, PartialEq)]
enum Expectation<'a> {
    Value(&'a str),
    Shown(&'a str),
    Diagnostic { code: &'a str, message: &'a str, help: &'a str },
    Place(&'a str),
}

/// An expectation and the line it is about, from 1.
type Placed<'a> = (usize, Expectation<'a>);

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("suite")
}

fn expectations(text: &str) -> Vec<Placed<'_>> {
    let mut found = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let mut rest = line;
        while let Some((_, end, kind, down)) = sign(rest) {
            let after = &rest[end..];
            let next = sign(after).map_or(after.len(), |(start, ..)| start);
            found.push((at + 1 + down, expectation(kind, after[..next].trim())));
            rest = &after[next..];
        }
    }
    found
}

/// The first sign in a line: where it starts and ends, its kind, and how far down it points.
fn sign(text: &str) -> Option<(usize, usize, u8, usize)> {
    text.match_indices('#').find_map(|(start, _)| {
        let kind = *text.as_bytes().get(start + 1)?;
        if !matches!(kind, b'=' | b'?' | b'!' | b'~') {
            return None;
        }
        let after = &text[start + 2..];
        let word = after.split(' ').next()?;
        let down = match word.strip_prefix('+') {
            Some(lines) => lines.parse().ok()?,
            None if word.is_empty() => 0,
            None => return None,
        };
        Some((start, start + 2 + word.len(), kind, down))
    })
}

fn expectation(kind: u8, body: &str) -> Expectation<'_> {
    match kind {
        b'=' => Expectation::Value(body),
        b'?' => Expectation::Shown(body),
        b'~' => Expectation::Place(body),
        _ => {
            let (code, rest) = body.split_once(':').unwrap_or((body, ""));
            let (message, help) = rest.split_once(" | ").unwrap_or((rest, ""));
            Expectation::Diagnostic {
                code: code.trim(),
                message: message.trim(),
                help: help.trim(),
            }
        }
    }
}

/// Everything in which a sheet differs from its expectations.
fn differences(text: &str) -> Vec<String> {
    let sheet = Sheet::open(text);
    let lines: Vec<&str> = text.lines().collect();
    let mut found = Vec::new();
    let drawings = sheet.drawings();
    let mut diagnostics = sheet.diagnostics();
    // What cannot be drawn from the values there are.
    diagnostics.extend(drawings.iter().filter_map(|drawing| match &drawing.trouble {
        Some(Trouble::Failed(why)) => Some(&**why),
        _ => None,
    }));
    let mut met = vec![false; diagnostics.len()];
    // What is wrong inside a component is expected on the first line that names its sheet.
    let line_of = |span: Span| match sheet.sources().source(span) {
        Some(source) if span.source > 0 => {
            let named = format!("sheet: {}", source.name);
            1 + lines.iter().position(|line| line.contains(&named)).unwrap_or_default()
        }
        _ => sheet.sources().line_and_column(span).0,
    };
    for (line, expectation) in expectations(text) {
        match expectation {
            Expectation::Value(_) | Expectation::Shown(_) => {
                let Some(cell) = cell_on(&sheet, lines.get(line - 1).copied().unwrap_or_default())
                else {
                    found.push(format!("line {line}: no cell stands here"));
                    continue;
                };
                if let Err(why) = value_is(cell, &expectation) {
                    found.push(format!("line {line}: `{}` {why}", cell.name()));
                }
            }
            Expectation::Diagnostic { code, message, help } => {
                let fits = |at: &usize| {
                    let d = diagnostics[*at];
                    !met[*at]
                        && d.code.name == code
                        && d.span().is_some_and(|span| line_of(span) == line)
                        && d.message.contains(message)
                        && d.way_out().contains(help)
                };
                match (0..diagnostics.len()).find(fits) {
                    Some(at) => met[at] = true,
                    None => found.push(format!("line {line}: no {code}: {message} | {help}")),
                }
            }
            Expectation::Place(code) => {
                let there = diagnostics.iter().any(|d| {
                    d.code.name == code
                        && d.labels.iter().skip(1).any(|label| line_of(label.span) == line)
                });
                if !there {
                    found.push(format!("line {line}: no further place of {code}"));
                }
            }
        }
    }
    for (diagnostic, _) in diagnostics.iter().zip(&met).filter(|(_, met)| !**met) {
        let line = diagnostic.span().map_or(0, line_of);
        let (code, help) = (diagnostic.code.name, diagnostic.way_out());
        found.push(format!("line {line}: not expected: {code}: {} | {help}", diagnostic.message));
    }
    found
}

fn cell_on<'a>(sheet: &'a Sheet, line: &str) -> Option<Cell<'a>> {
    sheet.cell(line.trim_start().split(':').next()?)
}

fn value_is(cell: Cell<'_>, expectation: &Expectation<'_>) -> Result<(), String> {
    let shown = cell.shown();
    let (wanted, exactly) = match expectation {
        Expectation::Shown(wanted) => (*wanted, true),
        Expectation::Value(wanted) => (*wanted, false),
        _ => return Ok(()),
    };
    let differs = || format!("is {shown} instead of {wanted}");
    let same = match (cell.value(), number_and_rest(wanted)) {
        _ if exactly => shown == wanted,
        (Some(Value::Number(value)), Some((number, unit))) => {
            number_is(cell, *value, number, unit).map_err(|why| format!("{}: {why}", differs()))?
        }
        (Some(Value::Series(series)), _) if wanted.starts_with('[') => {
            let (list, unit) = wanted[1..].split_once(']').expect("a list ends with a bracket");
            let items: Vec<&str> = list.split(',').map(str::trim).collect();
            let mut same = items.len() == series.len();
            for (at, item) in items.iter().enumerate() {
                same &= match series.get(at) {
                    Some(Value::Number(value)) => {
                        *item != "~" && number_is(cell, value, item, unit.trim())?
                    }
                    Some(other) => format!("{other:?}").contains(item),
                    None => *item == "~",
                };
            }
            same
        }
        _ => shown == wanted,
    };
    same.then_some(()).ok_or_else(differs)
}

fn number_and_rest(text: &str) -> Option<(&str, &str)> {
    let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
    number.parse::<f64>().ok().map(|_| (number, unit.trim()))
}

/// Whether a value lies within half a unit of the last digit printed.
fn number_is(cell: Cell<'_>, si: f64, number: &str, unit: &str) -> Result<bool, String> {
    let unit = match unit {
        "" => Unit::ONE,
        text => Unit::parse(text).map_err(|error| error.to_string())?,
    };
    let dimension = cell.ty().and_then(|ty| ty.dimension()).ok_or("it has no dimension")?;
    dimension.alike(unit.dimension()).map_err(|error| error.to_string())?;
    let (mantissa, exponent) = number.split_once('e').unwrap_or((number, "0"));
    let decimals = mantissa.split_once('.').map_or(0, |(_, after)| after.len());
    let exponent: i32 = exponent.parse().map_err(|_| "no exponent")?;
    let exponent = exponent - i32::try_from(decimals).map_err(|_| "too many digits")?;
    let wanted: f64 = number.parse().map_err(|_| format!("`{number}` is no number"))?;
    let half = 0.5 * 10_f64.powi(exponent);
    Ok((unit.from_si(si) - wanted).abs() <= half * (1.0 + 1e-9))
}

#[test]
fn every_sheet_gives_what_it_says() {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder())
        .expect("the folder is there")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    paths.sort();
    let (mut count, mut report) = (0, String::new());
    for path in &paths {
        let text = fs::read_to_string(path).expect("a text");
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let expected = expectations(&text).len();
        assert!(expected > 0, "{name} expects nothing");
        count += expected;
        for difference in differences(&text) {
            report.push_str(&format!("{name}: {difference}\n"));
        }
    }
    assert!(report.is_empty(), "of {count} expectations in {} sheets:\n{report}", paths.len());
}

#[test]
fn the_runner_sees_what_differs() {
    let head = "forebay: 1\nwork:\n";
    let differs = |line: &str| differences(&format!("{head}{line}\n"));
    assert_eq!(differs("  a: 1 m + 2 m #= 3 m"), [""; 0]);
    assert_eq!(differs("  a: 1 m + 2 m #= 9.84 ft"), [""; 0]);
    assert_eq!(differs("  a: 1 m + 2 m #= 3.1 m").len(), 1);
    assert_eq!(differs("  a: 1 m + 2 m #= 3 L").len(), 1);
    assert_eq!(differs("  a: 1 m + 2 m #? 3 m").len(), 1);
    assert_eq!(differs("  a: [1 m, 2 m] #= [1, 2] m"), [""; 0]);
    assert_eq!(differs("  a: [1 m, 2 m] #= [1, 3] m").len(), 1);
    assert_eq!(differs("  a: [1 m, 2 m] #= [1] m").len(), 1);
    // A diagnostic that is not expected, expected elsewhere, in other words, or twice.
    assert_eq!(differs("  a: 1 m + 2 L").len(), 1);
    assert_eq!(differs("  a: 1 m + 2 L #! unlike: length #~ unlike"), [""; 0]);
    assert_eq!(differs("  a: 1 m + 2 L #!+1 unlike").len(), 2);
    assert_eq!(differs("  a: 1 m + 2 L #! unlike: width").len(), 2);
    assert_eq!(differs("  a: 1 m + 2 L #! unlike: length | nonsense").len(), 2);
    assert_eq!(differs("  a: 1 m + 2 L #! absolute").len(), 2);
    assert_eq!(differs("  a: 1 m + 2 L #! unlike #! unlike").len(), 1);
    assert_eq!(differs("  #!+1 unlike #~+2 unlike\n  a: 1 m + 2 L").len(), 1);
}
