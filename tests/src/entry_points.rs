//! The doors through which texts of strangers come in, each as a function of a text: what a fuzzer
//! and the tests knock at. None may panic, and what comes out must hold together.

use forebay_report::{FORMATS, Options, read_key};
use forebay_sheet::{Loader, Sheet, templates};
use forebay_units::{Quantity, Unit, money};

/// One door.
pub struct EntryPoint {
    /// What it is called; a fuzz target bears the same name.
    pub name: &'static str,
    /// Takes a text in; panics where something is wrong with the program.
    pub take: fn(&str),
    /// Texts to begin with.
    pub seeds: fn() -> Vec<String>,
}

/// Every door.
pub static ENTRY_POINTS: &[EntryPoint] = &[
    EntryPoint { name: "units", take: units, seeds: unit_seeds },
    EntryPoint { name: "worksheet", take: worksheet, seeds: worksheet_seeds },
    EntryPoint { name: "formula", take: formula, seeds: formula_seeds },
    EntryPoint { name: "functions", take: functions, seeds: function_seeds },
    EntryPoint { name: "csv_rows", take: csv_rows, seeds: csv_seeds },
    EntryPoint { name: "edit", take: edit, seeds: formula_seeds },
    EntryPoint { name: "key", take: key, seeds: key_seeds },
];

/// The door of this name.
#[must_use]
pub fn entry_point(name: &str) -> Option<&'static EntryPoint> {
    ENTRY_POINTS.iter().find(|door| door.name == name)
}

fn owned(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|&text| text.to_owned()).collect()
}

/// A unit, a quantity, an amount of money.
fn units(text: &str) {
    let _ = Unit::parse(text);
    if let Ok(quantity) = Quantity::parse(text) {
        assert!(quantity.si().is_finite(), "{text:?} reads as {}", quantity.si());
    }
    let _ = money::parse_amount(text);
}

fn unit_seeds() -> Vec<String> {
    owned(&[
        "14 m",
        "9.81 m/s^2",
        "-3.2e-4 L/s",
        "80 %",
        "0.31 EUR/kWh",
        "4 kPa_abs",
        "7 °C",
        "2 µm",
    ])
}

/// A sheet in every form of output: places lie in its text, and no number is none.
fn worksheet(text: &str) {
    let mut sheet = Sheet::open(text);
    consistent(&mut sheet, text);
}

fn worksheet_seeds() -> Vec<String> {
    templates().iter().map(|template| template.text.to_owned()).collect()
}

/// What must be true of every sheet, however broken, that was made of a given text.
///
/// # Panics
/// Where it is not.
pub fn consistent(sheet: &mut Sheet, given: &str) {
    for found in sheet.diagnostics() {
        for span in found.labels.iter().map(|label| label.span) {
            let Some(source) = sheet.sources().source(span) else { continue };
            let (start, end) = (span.start as usize, span.end as usize);
            assert!(source.text.get(start..end).is_some(), "{}: {start}..{end}", found.message);
        }
    }
    for cell in sheet.cells() {
        if let Some(number) = cell.value().and_then(|value| value.as_number()) {
            assert!(number.is_finite(), "`{}` is {number}", cell.name());
        }
    }
    // What was given is shown again, in formulas and in what is said about them.
    if not_a_number(given).is_some() {
        return;
    }
    for format in FORMATS {
        let written = (format.write)(sheet, &Options::default());
        if let Some(word) = not_a_number(&written) {
            panic!("{word} stands in the output as {}", format.name);
        }
    }
}

/// A word of an output that stands for no number. A name of the sheet's own may be such a word only
/// as part of a longer one.
#[must_use]
pub fn not_a_number(output: &str) -> Option<&str> {
    let is_word = |c: char| c.is_alphanumeric() || matches!(c, '_' | '.' | '\\');
    let mut words = output.split(|c| !is_word(c));
    words.find(|word| matches!(*word, "NaN" | "inf" | "Infinity" | "infinity"))
}

/// One formula among some knowns.
fn formula(text: &str) {
    let line = text.replace(['\r', '\n'], " ").replace('\'', "''");
    worksheet(&format!(
        "forebay: 1\ncurrency: EUR\nknown:\n  a: 2 m\n  b: 3 s\n  c: 0.5\n  xs: [1 m, 2 m, 4 m]\nwork:\n  f: '{line}'\n  g: f\n"
    ));
}

fn formula_seeds() -> Vec<String> {
    owned(&[
        "a / b + 2 m/s",
        "if c > 0.2 { a } else { 3 m }",
        "zero_of(|q| q^2 - c, 0, 9)",
        "sum(xs.map(|x| x * c))",
        "friction_head(friction_factor = 0.02, length = 14 m, bore = a, velocity = 1 m/s)",
        "max(a, 3 ft) ^ 0.5",
        "rounded(2 EUR * c, 0.05 EUR)",
        "interpolate([0, 1, 2], xs, c)",
    ])
}

/// Functions of a sheet's own, of which one is called.
fn functions(text: &str) {
    let block = text.replace('\r', " ").replace('\n', "\n  ");
    worksheet(&format!("forebay: 1\nfunctions: |\n  {block}\nwork:\n  y: f(2)\n"));
}

fn function_seeds() -> Vec<String> {
    owned(&[
        "fn f(x) { let y = x * 2; y + 1 }",
        "fn f(x) { let i = 0; while i < 9 { i += x; } i }",
        "fn f(x) { let s = []; for k in 0..5 { s.push(k * x); } s }",
        "fn f(x) { if x > 1 { return x; } g(x) }\nfn g(x) { x }",
    ])
}

struct One<'t>(&'t str);

impl Loader for One<'_> {
    fn load(&self, _name: &str) -> Result<String, String> {
        Ok(self.0.to_owned())
    }
}

/// A table's file.
fn csv_rows(text: &str) {
    let sheet = "forebay: 1\ntables:\n  t:\n    columns: { flow: L/s, day: date, site: text }\n    csv: t.csv\nwork:\n  most: greatest(t.flow)\n";
    let mut sheet = Sheet::open_with("sheet.yaml", sheet, &One(text));
    consistent(&mut sheet, text);
}

fn csv_seeds() -> Vec<String> {
    owned(&[
        "flow,day,site\n40,2026-05-01,weir\n,2026-05-02,\"a, b\"\n",
        "site;flow\n\u{feff}1;2\n",
        "day,site,flow\n~,-,null\n\"2026-02-30\",\"\"\"\",1e9\n",
    ])
}

/// A value put into a sheet's text: all else stays as it is.
fn edit(text: &str) {
    const SHEET: &str =
        "forebay: 1\nknown:\n  a: 2 m # measured\n  b: { is: 3 m, about: x }\nwork:\n  c: a + b\n";
    let mut sheet = Sheet::open(SHEET);
    let _ = sheet.set("a", text);
    consistent(&mut sheet, text);
}

/// The key of an exercise.
fn key(text: &str) {
    let _ = read_key(text);
}

fn key_seeds() -> Vec<String> {
    owned(&[
        "{\"schema\": 1, \"exercise\": {\"seed\": 1}, \"variants\": []}",
        "{\"schema\": 1e400}",
        "[[[[[[]]]]]]",
    ])
}
