//! The JSON Schema of worksheets agrees with the reader: every right sheet passes, and a wrong sheet
//! is refused by both.

use std::fs;
use std::path::Path;

use boon::{Compiler, Draft, SchemaIndex, Schemas};
use forebay_report::{format_page, schema_json};
use forebay_sheet::{Severity, Sheet, templates};

/// The schema, ready to hold sheets against.
struct Schema {
    all: Schemas,
    index: SchemaIndex,
}

impl Schema {
    fn new() -> Self {
        let schema = serde_json::from_str(&schema_json()).expect("the schema is JSON");
        let mut compiler = Compiler::new();
        compiler.set_default_draft(Draft::V2020_12);
        compiler.add_resource("sheet.json", schema).expect("the schema can be taken in");
        let mut all = Schemas::new();
        let index = compiler.compile("sheet.json", &mut all).expect("the schema is a schema");
        Self { all, index }
    }

    /// Why a sheet is refused, if it is.
    fn refuses(&self, sheet: &str) -> Option<String> {
        let value: serde_json::Value = serde_yaml::from_str(sheet).expect("YAML that can be read");
        self.all.validate(&value, self.index).err().map(|error| format!("{error:#}"))
    }
}

fn has_errors(sheet: &str) -> bool {
    let sheet = Sheet::open(sheet);
    sheet.diagnostics().iter().any(|diagnostic| diagnostic.code.severity == Severity::Error)
}

#[test]
fn every_template_passes() {
    let schema = Schema::new();
    for template in templates() {
        assert_eq!(schema.refuses(template.text), None, "{}", template.name);
    }
    let count = templates().len();
    println!("templates against the schema: {count} tried, {count} held");
}

#[test]
fn every_form_that_the_reader_takes_passes() {
    let schema = Schema::new();
    for sheet in RIGHT {
        assert_eq!(schema.refuses(sheet), None, "{sheet}");
        assert!(!has_errors(sheet), "{sheet}");
    }
}

#[test]
fn what_the_reader_refuses_for_its_shape_the_schema_refuses() {
    let schema = Schema::new();
    assert!(WRONG.len() >= 30);
    let mut passed = Vec::new();
    for sheet in WRONG {
        assert!(has_errors(sheet), "the reader takes\n{sheet}");
        if schema.refuses(sheet).is_none() {
            passed.push(*sheet);
        }
    }
    let held = WRONG.len() - passed.len();
    println!("wrong sheets against the schema: {} tried, {held} held", WRONG.len());
    assert!(passed.is_empty(), "the schema takes\n{}", passed.join("\n"));
}

#[test]
fn a_sheet_of_a_later_version_is_refused_kindly_and_still_computed() {
    let sheet = Sheet::open("forebay: 2\nnovelty: 1\nknown:\n  a: 1 m\nwork:\n  b: 2 * a\n");
    let found: Vec<String> = sheet.diagnostics().iter().map(|d| d.message.clone()).collect();
    assert_eq!(found, ["this sheet is written in format 2, which is newer than this program"]);
    assert!(sheet.has_errors());
    assert_eq!(sheet.cell("b").expect("the cell is there").shown(), "2.000 m");
}

/// `UPDATE=1` writes the page anew.
#[test]
fn the_page_about_the_format_is_that_of_the_book() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../book/src/format.md");
    if std::env::var_os("UPDATE").is_some_and(|update| update == "1") {
        fs::create_dir_all(file.parent().expect("a folder")).expect("the folder can be made");
        fs::write(&file, format_page()).expect("the page can be written");
    }
    let there = fs::read_to_string(&file).unwrap_or_default();
    assert!(there == format_page(), "scripts/update writes book/src/format.md anew");
}

/// Sheets with the less usual forms.
const RIGHT: &[&str] = &[
    "forebay: 1\n",
    "forebay: 1\ntitle: ~\nshow: a\nknown:\n  a: 1 m\nwork:\n",
    "forebay: 1\nshow: [a]\nknown:\n  a: [1 m, 2 m]\n  b: true\n  c: 3\n  d: 2026-05-01\n",
    "forebay: 1\nknown:\n  a: { is: 1 m, plus_minus: 1 cm }\n  b: { is: 2 m, plus_minus: 1 % }\n  c: { is: 3 m, plus_minus: 1 % }\n  d: { is: 3 m, plus_minus: 1 % }\ntied:\n  one: [a, b]\n  two: { knowns: [c, d], correlation: 0.5 }\n",
    "forebay: 1\ntables:\n  t:\n    columns: { x: m, y: text }\n    csv: |\n      x, y\n      1, weir\n",
    "forebay: 1\nknown:\n  a: 1 m\ncases:\n  none:\n  more: { a: 2 m }\n",
    "forebay: 1\nparts:\n  - title: One\n    known:\n      a: 1 m\n  - title: Two\n    work:\n      b: 2 * a\n",
    "forebay: 1\nknown:\n  a: 1 m\nwork:\n  b: 2 * a\ndraw:\n  d: { kind: lines, over: 'a = 1 m..2 m/5', y: { b: b } }\n",
    "forebay: 1\nknown:\n  a: { is: 1 m, between: [0 m, 2 m] }\nwork:\n  b: 2 * a\nexercise:\n  vary:\n    a:\n  ask:\n    b: How much?\n",
];

/// Sheets that are wrong in a way that a schema can see.
const WRONG: &[&str] = &[
    "known:\n  a: 1 m\n",
    "forebay: 2\n",
    "forebay: one\n",
    "- forebay\n",
    "forebay: 1\nknowns:\n  a: 1 m\n",
    "forebay: 1\ntitle: [a, b]\n",
    "forebay: 1\nunits: metric\n",
    "forebay: 1\ncurrency: Euro\n",
    "forebay: 1\nshow: { a: 1 }\n",
    "forebay: 1\nknown: 1 m\n",
    "forebay: 1\nknown:\n  2nd: 1 m\n",
    "forebay: 1\nknown:\n  while: 1 m\n",
    "forebay: 1\nknown:\n  pond level: 1 m\n",
    "forebay: 1\nknown:\n  a:\n",
    "forebay: 1\nknown:\n  a: { from: measured }\n",
    "forebay: 1\nknown:\n  a: { is: 1 m, from: hearsay }\n",
    "forebay: 1\nknown:\n  a: { is: 1 m, between: [0 m] }\n",
    "forebay: 1\nknown:\n  a: { is: 1 m, plus_minus: 1 cm, distribution: flat }\n",
    "forebay: 1\nknown:\n  a: { is: 1 m, plus_minus: 1 cm, degrees_of_freedom: 0.2 }\n",
    "forebay: 1\nknown:\n  a: { is: 1 m, unit: m }\n",
    "forebay: 1\nwork:\n  b: { in: m }\n",
    "forebay: 1\nwork:\n  b: { is: { c: 1 m } }\n",
    "forebay: 1\ncheck:\n  c: { else: Mind the gap. }\n",
    "forebay: 1\ncheck:\n  c: { that: 1 m > 0 m, level: fatal }\n",
    "forebay: 1\ntables:\n  t: { rows: [[1]] }\n",
    "forebay: 1\ntables:\n  t: { columns: { x: m } }\n",
    "forebay: 1\ntables:\n  t: { columns: { x: m }, rows: [[1]], csv: t.csv }\n",
    "forebay: 1\ntables:\n  t: { columns: {}, rows: [] }\n",
    "forebay: 1\ntables:\n  t: { columns: { x: m }, rows: [1, 2] }\n",
    "forebay: 1\nuse:\n  u: { set: { a: 1 m } }\n",
    "forebay: 1\nuse:\n  u: { sheet: first-look, same: flow }\n",
    "forebay: 1\nknown:\n  a: 1 m\ntied:\n  one: [a]\n",
    "forebay: 1\nknown:\n  a: 1 m\n  b: 1 m\ntied:\n  one: { knowns: [a, b], correlation: 1.5 }\n",
    "forebay: 1\nknown:\n  a: 1 m\ncases:\n  c: 2 m\n",
    "forebay: 1\nparts:\n  - known:\n      a: 1 m\n",
    "forebay: 1\nparts:\n  - title: One\n    cases: {}\n",
    "forebay: 1\ndraw:\n  d: { y: { a: 1 } }\n",
    "forebay: 1\ndraw:\n  d: { kind: pie, y: { a: 1 } }\n",
    "forebay: 1\ndraw:\n  d: { kind: lines }\n",
    "forebay: 1\nknown:\n  a: 1 m\ndraw:\n  d: { kind: lines, x: '[1, 2]', over: 'a = 1 m..2 m', y: { b: a } }\n",
    "forebay: 1\nknown:\n  a: 1 m\ndraw:\n  d: { kind: lines, over: from 1 m to 2 m, y: { b: a } }\n",
    "forebay: 1\nknown:\n  a: 1 m\nexercise:\n  text: How?\n",
    "forebay: 1\nknown:\n  a: 1 m\nexercise:\n  ask:\n    a: { figures: 0 }\n",
    "forebay: 1\nknown:\n  a: 1 m\nexercise:\n  ask:\n    a: { points: -1 }\n",
    "forebay: 1\nknown:\n  a: 1 m\nexercise:\n  vary:\n    a: { between: [1 m, 2 m], hidden: maybe }\n  ask:\n    a:\n      text: How?\n",
];
