//! Whatever is written, nothing panics, and every place that is shown lies in the text.

use forebay_sheet::{Diagnostic, Sheet, Sources, Value};
use proptest::prelude::*;

/// Pieces of the language, of other languages, and of nothing.
const PIECES: &[&str] = &[
    "1",
    "2.5",
    "1e9",
    "0",
    "3 m",
    "2 m/s",
    "5 gal",
    "80 %",
    "20 degC",
    "4 kPa_abs",
    "0.31 EUR/kWh",
    "9 µm",
    "7 °C",
    "é",
    "日",
    "a",
    "b",
    "xs",
    "t.flow",
    "t",
    "f",
    "f(",
    "sum(",
    "circle_area(",
    "bore = ",
    "zero_of(",
    "|q| ",
    "|",
    "||",
    "&&",
    "!",
    "+",
    "-",
    "*",
    "/",
    "^",
    "**",
    "%",
    "=",
    "==",
    "<",
    ">=",
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    ",",
    ";",
    ".",
    "..",
    "if ",
    " else ",
    "let ",
    "while ",
    "for i in ",
    "return ",
    "fn ",
    "loop ",
    "break",
    "\"",
    "'",
    "`",
    "${",
    "//",
    "/*",
    "#",
    "@",
    "\\",
    ":",
    "~",
    "\n",
    "  ",
    "true",
    "2024-02-30",
    "switch ",
    "this",
    "1 (m/h)",
    "-x^2",
    "$",
    "\u{feff}",
    "\u{202e}",
    "0x1F",
    "1_000",
    "5 m ^ 2",
    "x.map(",
    "NaN",
    "inf",
    "99999999999999999999999999999999999999999",
];

/// Lines of YAML, sound and unsound.
const LINES: &[&str] = &[
    "known:",
    "work:",
    "check:",
    "tables:",
    "functions: |",
    "use:",
    "cases:",
    "parts:",
    "show: [a]",
    "  a: 1",
    "  a: 3 m",
    "  b: a + 1",
    "  c: {is: max(1, 2)}",
    "  <<: *x",
    "  d: &x 1",
    "  - title: y",
    "  t:",
    "    columns: {flow: L/s}",
    "    rows: [[1], [2, 3], 4]",
    "    is: a",
    "    that: a > 1",
    "    between: [1, 2]",
    "    choose: t.flow",
    "    plus_minus: 5 %",
    "  fn f(x) { x * f(x) }",
    "\tq: 1",
    "  e: |",
    "    1 +",
    "  g: >",
    "  h: \"1\\u0041\"",
    "  i: [",
    "  j: }",
    "? k",
    "---",
    "...",
    "%YAML 1.1",
    "  l: !!str 3",
    "forebay: 2",
    "currency: XYZ",
    "units: us",
    "  m: 'it''s'",
    "  é: 1",
    "  n: 日本",
];

fn places_lie_in_the_text(sources: &Sources, found: &[&Diagnostic]) -> Result<(), TestCaseError> {
    for diagnostic in found {
        prop_assert!(!diagnostic.message.is_empty() && !diagnostic.way_out().is_empty());
        prop_assert!(!diagnostic.labels.is_empty(), "{diagnostic:?}");
        for label in &diagnostic.labels {
            let text = sources.source(label.span).map(|source| source.text.clone());
            let range = label.span.start as usize..label.span.end as usize;
            prop_assert!(text.is_some_and(|text| text.get(range).is_some()), "{diagnostic:?}");
        }
    }
    Ok(())
}

fn of(pieces: &'static [&'static str], most: usize) -> impl Strategy<Value = Vec<&'static str>> {
    prop::collection::vec(prop::sample::select(pieces), 0..most)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn formulas_of_nonsense_are_refused_in_place(pieces in of(PIECES, 12)) {
        let text: String = pieces.concat();
        let mut sheet = Sheet::open(
            "forebay: 1\ncurrency: EUR\nknown:\n  a: 2\n  b: 3 m\n  xs: [1 m, 2 m]\ntables:\n  t:\n    columns: {flow: L/s}\n    rows: [[1], [~]]\nfunctions: |\n  fn f(x) { x }\n",
        );
        match sheet.eval(&text) {
            Ok(answer) => {
                prop_assert!(answer.value.as_number().is_none_or(f64::is_finite), "{text}");
            }
            Err(found) => {
                prop_assert!(!found.is_empty(), "{text}");
                let found: Vec<&Diagnostic> = found.iter().collect();
                places_lie_in_the_text(sheet.sources(), &found)?;
            }
        }
        if let Err(refused) = sheet.set("b", &text) {
            places_lie_in_the_text(sheet.sources(), &[&refused])?;
        }
    }

    #[test]
    fn functions_of_nonsense_are_refused_in_place(pieces in of(PIECES, 12)) {
        let body = pieces.concat().replace('\n', "\n    ");
        let text = format!("forebay: 1\nfunctions: |\n  fn f(x, xs) {{\n    {body}\n  }}\nwork:\n  a: f(1, [1 m])\n");
        let sheet = Sheet::open(&text);
        places_lie_in_the_text(sheet.sources(), &sheet.diagnostics())?;
    }

    #[test]
    fn sheets_of_nonsense_are_refused_in_place(lines in of(LINES, 14)) {
        let text = format!("forebay: 1\n{}\n", lines.join("\n"));
        let mut sheet = Sheet::open(&text);
        for cell in sheet.cells() {
            let is_text = matches!(cell.value(), Some(Value::Text(_)));
            prop_assert!(is_text || !cell.shown().is_empty());
        }
        places_lie_in_the_text(sheet.sources(), &sheet.diagnostics())?;
        let _ = sheet.set("a", "4 m");
        places_lie_in_the_text(sheet.sources(), &sheet.diagnostics())?;
    }
}
