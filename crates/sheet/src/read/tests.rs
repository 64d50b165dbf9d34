//! Sheets with their faults, each with the code and the underlined text that are expected.

use super::{Loader, read};
use crate::diagnostic::{Code, Diagnostic, Sources};
use crate::worksheet::{Distribution, Level, Origin, Text, Worksheet};

/// One file beside the sheet.
struct Beside;

impl Loader for Beside {
    fn load(&self, name: &str) -> Result<String, String> {
        match name {
            "flows.csv" => {
                Ok("\u{feff}day,stream,note\r\n1,310,\"wet, cold\"\r\n2,,dry\r\n".to_owned())
            }
            _ => Err("no such file".to_owned()),
        }
    }
}

pub(super) struct Outcome {
    pub(super) sources: Sources,
    pub(super) sheet: Worksheet,
    pub(super) found: Vec<Diagnostic>,
}

impl Outcome {
    fn piece(&self, text: &Text) -> &str {
        self.sources.piece(text.span)
    }

    fn known(&self, name: &str) -> &Text {
        &self.sheet.known.iter().find(|known| known.name.text == name).expect("a known").is
    }

    fn work(&self, name: &str) -> &Text {
        &self.sheet.work.iter().find(|work| work.name.text == name).expect("a cell").is
    }

    pub(super) fn broken(&self) -> Vec<&str> {
        self.sheet.broken.iter().map(|name| name.text.as_str()).collect()
    }

    pub(super) fn names(&self) -> Vec<&str> {
        let known = self.sheet.known.iter().map(|known| known.name.text.as_str());
        known.chain(self.sheet.work.iter().map(|work| work.name.text.as_str())).collect()
    }

    fn help(&self, code: &Code) -> &str {
        self.found.iter().find(|found| found.code == code).expect("a diagnostic").way_out()
    }
}

pub(super) fn outcome(text: &str) -> Outcome {
    let mut sources = Sources::default();
    let source = sources.add("sheet.yaml", text);
    let (sheet, found) = read(&mut sources, source, &Beside);
    Outcome { sources, sheet, found }
}

/// Reads a sheet and holds its diagnostics, code and underlined text, against those expected.
#[track_caller]
fn check(text: &str, expected: &[(&'static Code, &str)]) -> Outcome {
    let outcome = outcome(text);
    let got: Vec<(&str, &str)> = outcome
        .found
        .iter()
        .map(|found| (found.code.name, outcome.sources.piece(found.span().expect("a place"))))
        .collect();
    let expected: Vec<(&str, &str)> =
        expected.iter().map(|(code, piece)| (code.name, *piece)).collect();
    let messages: Vec<&str> = outcome.found.iter().map(|found| found.message.as_str()).collect();
    assert_eq!(got, expected, "\n{text}\n{messages:#?}");
    outcome
}

/// The same behind `forebay: 1`.
#[track_caller]
fn check_body(body: &str, expected: &[(&'static Code, &str)]) -> Outcome {
    check(&format!("forebay: 1\n{body}"), expected)
}

#[test]
fn a_sound_sheet_is_read_whole() {
    let o = check(
        "forebay: 1 # the format
title: Alder Beck
units: us
currency: EUR
show: [head, power]
known:
  pond_level:
    is: 103.42 m   # from the bench mark
    plus_minus: 2 cm
    distribution: rectangular
    from: measured
    about: Levelled from the bridge: twice.
    between: [100 m, 110 m]
    in: ft
  bore: {is: 188.2 mm, choose: pipes.bore}
  flows: [3 L/s, ~, 4.5 L/s] # a gap
work:
  head: pond_level - tail
  power:
    is: |
      let q = 3 L/s;
      q * head
    in: kW
    about: |
      Two lines
      of text.
check:
  deep: {that: head > 2 m, else: Too low., level: stop, caution: Ask first.}
  more: head < 9 m
functions: |
  fn twice(x) { 2 * x }
use:
  siphon: {sheet: siphon.yaml, set: {bore: bore * 2}}
cases:
  wide: { bore: 237.6 mm }
draw: { pipe: { kind: lines, y: head } }
",
        // An unquoted colon and blank in a text is YAML's.
        &[(Code::YAML, "Levelled from the bridge: twice.")],
    );
    assert_eq!(o.sheet.title.as_deref(), Some("Alder Beck"));
    assert_eq!(o.sheet.show.len(), 2);
    assert_eq!(o.names(), ["pond_level", "bore", "flows", "head", "power"]);
    let known = &o.sheet.known[0];
    assert_eq!(o.piece(&known.is), "103.42 m");
    assert_eq!(known.plus_minus.as_ref().map(|t| o.piece(t)), Some("2 cm"));
    assert_eq!(known.distribution, Distribution::Rectangular);
    assert_eq!(known.from, Some(Origin::Measured));
    assert_eq!(known.about, None);
    assert_eq!(known.unit.as_ref().map(|t| o.piece(t)), Some("ft"));
    let (low, high) = known.between.as_ref().expect("a range");
    assert_eq!((o.piece(low), o.piece(high)), ("100 m", "110 m"));
    assert_eq!(o.sheet.known[1].choose.as_ref().map(|t| o.piece(t)), Some("pipes.bore"));
    assert_eq!(o.piece(o.known("flows")), "[3 L/s, ~, 4.5 L/s]");
    assert_eq!(o.known("flows").text, "[3 L/s, ~, 4.5 L/s]");
    assert_eq!(o.piece(o.work("power")), "let q = 3 L/s;\n      q * head");
    assert_eq!(o.sheet.work[1].about.as_deref(), Some("Two lines\nof text."));
    assert_eq!(o.sheet.check[0].level, Level::Stop);
    assert_eq!(o.sheet.check[0].otherwise.as_deref(), Some("Too low."));
    assert_eq!(o.sheet.check[0].caution.as_deref(), Some("Ask first."));
    assert_eq!(o.sheet.check[1].level, Level::Care);
    assert_eq!(o.piece(&o.sheet.functions[0]), "fn twice(x) { 2 * x }");
    assert_eq!(o.sheet.uses[0].sheet.text, "siphon.yaml");
    assert_eq!(o.piece(&o.sheet.uses[0].set[0].1), "bore * 2");
    assert_eq!(o.piece(&o.sheet.cases[0].set[0].1), "237.6 mm");
    assert_eq!(o.sheet.draw[0].name.text, "pipe");
    // What stood before the second colon might have been a name.
    assert_eq!(o.broken(), ["bridge"]);
}

#[test]
fn scalars_are_text_without_types() {
    let o = check_body(
        "known: {a: yes, b: 010, c: 1_000, d: 0x1F, e: 1e3, f: 2024-05-01, g: on, h: .inf}\n",
        &[],
    );
    let texts: Vec<&str> = o.sheet.known.iter().map(|known| known.is.text.as_str()).collect();
    assert_eq!(texts, ["yes", "010", "1_000", "0x1F", "1e3", "2024-05-01", "on", ".inf"]);
}

#[test]
fn a_formula_span_is_a_piece_of_the_source() {
    for (written, piece) in [
        ("x + 1   # why", "x + 1"),
        ("'x + 1'   # why", "x + 1"),
        ("x +\n    y # why", "x +\n    y"),
        ("\"x +\n    y\"  # why", "x +\n    y"),
        ("|\n    x +\n      y\n  # why", "x +\n      y"),
        ("|- # why\n\n    x\n\n", "x"),
        ("5 µm + x # ä", "5 µm + x"),
    ] {
        let text = format!("forebay: 1\n# Grüße\nwork:\n  a: {written}\n  b: 1\n");
        let o = check(&text, &[]);
        assert_eq!(o.piece(o.work("a")), piece, "{written}");
        assert_eq!(o.piece(o.work("b")), "1", "{written}");
    }
}

#[test]
fn a_formula_in_a_folded_block_or_with_escapes_is_refused() {
    let o = check_body(
        "work:\n  a: >\n    x +\n    1\n  b: \"x\\n\"\n  c: 'it''s'\n  d: {is: \"\\\"\"}\n  e: 2\nfunctions: >\n  fn\n",
        &[
            (Code::FOLDED, "x +\n    1"),
            (Code::FOLDED, "x\\n"),
            (Code::FOLDED, "it''s"),
            (Code::FOLDED, "\\\""),
            (Code::FOLDED, "fn"),
        ],
    );
    assert_eq!(o.names(), ["e"]);
    assert_eq!(o.broken(), ["a", "b", "c", "d"]);
    // A text for people may be written in any way.
    let o =
        check_body("title: >\n  Two\n  lines\nwork:\n  a: {is: 1, about: \"a \\\"b\\\"\"}\n", &[]);
    assert_eq!(o.sheet.title.as_deref(), Some("Two lines"));
    assert_eq!(o.sheet.work[0].about.as_deref(), Some("a \"b\""));
}

#[test]
fn the_version_is_asked_for() {
    let o = check("title: Without\nknown: {a: 1 m}\n", &[(Code::VERSION, "")]);
    assert_eq!(o.names(), ["a"]);
    check("", &[(Code::VERSION, "")]);
    check("# nothing\n", &[(Code::VERSION, "")]);
    check("forebay: one\n", &[(Code::VERSION, "one")]);
    check("forebay: 0\n", &[(Code::VERSION, "0")]);
    check("forebay:\n", &[(Code::VERSION, "forebay")]);
    let o =
        check("forebay: 2\nnovelty: 1\nknown: {a: {is: 1 m, hue: red}}\n", &[(Code::VERSION, "2")]);
    assert_eq!(o.names(), ["a"]);
    assert!(o.help(Code::VERSION).contains("newer"));
    check("just words\n", &[(Code::WRONG_SHAPE, "just words")]);
}

#[test]
fn a_duplicate_key_keeps_the_first_and_points_at_both() {
    let o = check_body(
        "known:\n  a: 1 m\n  a: 2 m\nknown:\n  b: 3 m\nwork:\n  c: {is: 1, is: 2}\n",
        &[(Code::DUPLICATE_KEY, "a"), (Code::DUPLICATE_KEY, "known"), (Code::DUPLICATE_KEY, "is")],
    );
    assert_eq!(o.known("a").text, "1 m");
    assert_eq!(o.work("c").text, "1");
    assert_eq!(o.broken(), ["b"]);
    let labels: Vec<u32> = o.found[0].labels.iter().map(|label| label.span.start).collect();
    assert_eq!(labels, [29, 20]);
}

#[test]
fn anchors_aliases_merge_keys_and_tags_are_refused() {
    let o = check_body(
        "known:\n  a: &one 1 m\n  b: *one\n  c: {<<: *one, is: 3 m}\n  d: !!str 4 m\n  e: !big 5 m\n  f: 6 m\n",
        &[
            (Code::MERGE_KEY, "&one"),
            (Code::MERGE_KEY, "*one"),
            (Code::MERGE_KEY, "<<"),
            (Code::YAML, "!!str"),
            (Code::YAML, "!big"),
        ],
    );
    assert_eq!(o.names(), ["a", "c", "d", "f"]);
    assert_eq!(o.broken(), ["b", "e"]);
    let o = check_body("known:\n  a: *nobody\n  b: 1 m\n", &[(Code::MERGE_KEY, "*")]);
    assert_eq!((o.names(), o.broken()), (vec!["b"], vec!["a"]));
}

#[test]
fn one_document_only() {
    let o =
        check("---\nforebay: 1\nknown: {a: 1 m}\n---\nknown: {b: 1 m}\n", &[(Code::YAML, "---")]);
    assert_eq!(o.names(), ["a"]);
}

#[test]
fn unknown_keys_are_answered_with_the_nearest() {
    let o = check_body(
        "knwon: {x: 1 m}\nknown:\n  a: {is: 1 m, plusminus: 2 mm}\nwork:\n  b: {is: a, between: 3}\n  c: {is: a, unit: m}\ncheck:\n  d: {that: a > 1 m, levle: stop}\nhead: 3 m\n",
        &[
            (Code::UNKNOWN_KEY, "knwon"),
            (Code::UNKNOWN_KEY, "plusminus"),
            (Code::UNKNOWN_KEY, "between"),
            (Code::UNKNOWN_KEY, "unit"),
            (Code::UNKNOWN_KEY, "levle"),
            (Code::UNKNOWN_KEY, "head"),
        ],
    );
    let helps: Vec<&str> = o.found.iter().map(Diagnostic::way_out).collect();
    assert_eq!(
        helps,
        [
            "did you mean `known`?",
            "did you mean `plus_minus`?",
            "`between` belongs to a known",
            "write `in`",
            "did you mean `level`?",
            "a value belongs under `known:`, a formula under `work:`",
        ]
    );
    assert_eq!(o.names(), ["a", "b", "c"]);
    assert_eq!(o.sheet.check.len(), 1);
}

#[test]
fn names_are_words_and_stand_once() {
    let o = check_body(
        "known:\n  my-flow: 1 L/s\n  2nd: 1 m\n  fn: 1 m\n  é: 1 m\n  V: 3 V\n  _x: 1\nwork:\n  V: 2\n  y: 1\ntables:\n  y: {columns: {a: m}, rows: [[1]]}\ncheck:\n  y: 1 < 2\nuse:\n  V: other.yaml\n",
        &[
            (Code::BAD_NAME, "my-flow"),
            (Code::BAD_NAME, "2nd"),
            (Code::BAD_NAME, "fn"),
            (Code::BAD_NAME, "é"),
            (Code::BAD_NAME, "_x"),
            (Code::NAME_TWICE, "V"),
            (Code::NAME_TWICE, "y"),
            (Code::NAME_TWICE, "V"),
        ],
    );
    assert_eq!(o.names(), ["V", "y"]);
    assert!(o.found[0].way_out().ends_with("`my_flow`"));
    assert!(o.found[1].way_out().ends_with("`n_2nd`"));
    assert_eq!(o.sources.piece(o.found[5].labels[1].span), "V");
    assert_eq!(o.sheet.check.len(), 1);
    let o = check_body(
        "parts:\n  - title: One\n    check: {a: 1 < 2}\n  - title: Two\n    check: {a: 1 < 2}\n",
        &[(Code::NAME_TWICE, "a")],
    );
    assert_eq!(o.sheet.check[0].part, Some(0));
}

#[test]
fn a_formula_torn_apart_is_told_once() {
    let o = check_body(
        "work: { loss: friction_head(friction_factor = f, length = 14 m), v: flow / a }\n",
        &[(Code::TORN_FORMULA, "friction_head(friction_factor = f, length = 14 m)")],
    );
    assert_eq!((o.names(), o.broken()), (vec!["v"], vec!["loss"]));
    assert!(o.found[0].message.contains("friction_head(friction_factor = f, length = 14 m)"));
    assert!(o.help(Code::TORN_FORMULA).contains("in quotes"));

    let o = check_body(
        "work:\n  a: {is: f(x, g(y, z)), in: m}\n  b: {is: f(p, q, in: m}\n",
        &[(Code::TORN_FORMULA, "f(x, g(y, z))"), (Code::TORN_FORMULA, "f(p, q")],
    );
    assert_eq!(o.broken(), ["a", "b"]);

    let o = check_body(
        "check:\n  a: { that: f(a, b: c) > 1, level: stop }\n  b: 1 < 2\n",
        &[(Code::TORN_FORMULA, "f(a, b: c) > 1")],
    );
    assert_eq!(o.sheet.check.len(), 1);

    // Split at the colon the text is no YAML at all.
    let o = check_body(
        "work:\n  a: { is: f(b: c) + 1, in: m }\n  b: 1\n",
        &[(Code::TORN_FORMULA, "f(b: c)")],
    );
    assert_eq!((o.names(), o.broken()), (vec!["b"], vec!["a"]));

    // The same key twice among the pieces is no duplicate.
    check_body(
        "work: { a: f(x, y), b: g(x, y) }\n",
        &[(Code::TORN_FORMULA, "f(x, y)"), (Code::TORN_FORMULA, "g(x, y)")],
    );
    // Whole formulas in braces stay whole.
    check_body("work: { a: f(x), b: \"g(x, y)\", c: (1 + 2) * 3 }\n", &[]);
    check_body(
        "known: {a: {is: 1 m, between: [min(x, y), 2 m]}}\n",
        &[(Code::TORN_FORMULA, "min(x, y), 2 m")],
    );
}

#[test]
fn tables_are_read_with_gaps() {
    let o = check_body(
        "tables:\n  months: { columns: { stream: L/s, days: 1 }, rows: [[310, 31], [~, null]] }\n  log:\n    columns: {a: m, b: text}\n    csv: |\n      b, extra , a\n      \"x, \"\"y\"\"\" , 9, 1.5 m\n\n      -,,\n    about: From the logger.\n  flows: {columns: {stream: L/s, day: 1}, csv: flows.csv}\n",
        &[],
    );
    let texts = |table: usize| -> Vec<Vec<Option<&str>>> {
        o.sheet.tables[table]
            .rows
            .iter()
            .map(|row| {
                row.iter().map(|cell| cell.as_ref().map(|text| text.text.as_str())).collect()
            })
            .collect()
    };
    assert_eq!(texts(0), [[Some("310"), Some("31")], [None, None]]);
    assert_eq!(texts(1), [[Some("1.5 m"), Some("x, \"y\"")], [None, None]]);
    assert_eq!(texts(2), [[Some("310"), Some("1")], [None, Some("2")]]);
    assert_eq!(o.sheet.tables[1].about.as_deref(), Some("From the logger."));
    let cell = o.sheet.tables[1].rows[0][0].as_ref().expect("a value");
    assert_eq!(o.piece(cell), "1.5 m");
    let cell = o.sheet.tables[2].rows[0][0].as_ref().expect("a value");
    assert_eq!((o.piece(cell), cell.span.source), ("310", 1));
    assert_eq!(o.sheet.tables[0].columns[0].unit.text, "L/s");
}

#[test]
fn a_table_with_a_broken_row_is_left_out() {
    let o = check_body(
        "tables:\n  a: {columns: {x: m, y: m}, rows: [[1, 2], [3], [4, 5, 6]]}\n  b:\n    columns: {x: m, y: m}\n    csv: |\n      x,y\n      1,2\n      3\n  c: {columns: {x: m}, rows: [[1]]}\nwork:\n  w: a.x\n",
        &[(Code::SHORT_ROW, "[3]"), (Code::SHORT_ROW, "[4, 5, 6]"), (Code::SHORT_ROW, "3")],
    );
    assert_eq!(o.found[0].message, "row 2 has 1 value, and the table has 2 columns");
    assert_eq!(o.found[1].message, "row 3 has 3 values, and the table has 2 columns");
    let broken = o.sheet.tables.iter().filter(|table| table.broken);
    let broken: Vec<&str> = broken.map(|table| table.name.text.as_str()).collect();
    assert_eq!(broken, ["a", "b"]);
    assert_eq!(o.sheet.tables.len(), 3);

    let rows = "[1], ".repeat(100);
    let o = outcome(&format!(
        "forebay: 1\ntables: {{a: {{columns: {{x: m, y: m}}, rows: [{rows}]}}}}\n"
    ));
    assert_eq!(o.found.len(), 9);
    assert!(o.found.iter().any(|found| found.message.starts_with("92 more rows")));
}

#[test]
fn a_broken_table_says_why() {
    let o = check_body(
        "tables:\n  a: {columns: {x: m}}\n  b: {rows: [[1]]}\n  c: {columns: {x: m}, csv: gone.csv}\n  d: {columns: {x: m}, csv: 12}\n  e: {columns: {2x: m}, rows: [[1]]}\n  f: {columns: [x], rows: [[1]]}\n  g: {columns: {x: m}, rows: [1, 2]}\n  h: {columns: {x: m}, rows: [[[1]]]}\n  i:\n    columns: {x: m, y: m}\n    csv: |\n      x;y\n      1;2\n  j: 5\n  k: {columns: {x: m}, rows: [[1]], csv: flows.csv}\n",
        &[
            (Code::MISSING_KEY, "a"),
            (Code::MISSING_KEY, "b"),
            (Code::NOT_FOUND, "gone.csv"),
            (Code::WRONG_SHAPE, "12"),
            (Code::BAD_NAME, "2x"),
            (Code::WRONG_SHAPE, "[x]"),
            (Code::WRONG_SHAPE, "1"),
            (Code::WRONG_SHAPE, "[1]"),
            (Code::MISSING_KEY, "x;y"),
            (Code::MISSING_KEY, "x;y"),
            (Code::WRONG_SHAPE, "j"),
            (Code::WRONG_SHAPE, "csv"),
        ],
    );
    assert!(o.sheet.tables.iter().all(|table| table.broken));
    assert_eq!(o.broken().len() + o.sheet.tables.len(), 11);
}

#[test]
fn entries_without_what_they_need_are_broken() {
    let o = check_body(
        "known:\n  a:\n  b: ~\n  c: {about: Nothing.}\n  d: {is: }\n  e: [1 m, {x: 2}]\n  f:\n    - 1 m\n    - 2 m\nwork:\n  g:\n  h: {in: m}\ncheck:\n  i: {else: No.}\nuse:\n  j: {set: {x: 1}}\n  k: {sheet: s, set: {x: }}\ncases:\n  l: {x: }\n  m: 5\n  n: {x: 1 m}\n",
        &[
            (Code::MISSING_KEY, "a"),
            (Code::MISSING_KEY, "b"),
            (Code::MISSING_KEY, "c"),
            (Code::MISSING_KEY, "is"),
            (Code::WRONG_SHAPE, "- 1 m\n    - 2 m"),
            (Code::MISSING_KEY, "g"),
            (Code::MISSING_KEY, "h"),
            (Code::MISSING_KEY, "i"),
            (Code::MISSING_KEY, "j"),
            (Code::MISSING_KEY, "x"),
            (Code::MISSING_KEY, "x"),
            (Code::WRONG_SHAPE, "5"),
        ],
    );
    assert_eq!(o.broken(), ["a", "b", "c", "d", "f", "g", "h", "j", "k"]);
    assert!(o.help(Code::WRONG_SHAPE).contains("`f: [1 m, 2 m]`"));
    assert_eq!(o.sheet.cases.iter().filter(|case| !case.broken).count(), 1);
}

#[test]
fn sections_and_words_of_the_wrong_kind() {
    check_body(
        "units: metric\ncurrency: Euro\nshow: {a: 1}\nknown: 5\nwork:\n  - a: 1\ncheck:\nparts: {a: 1}\nfunctions: {f: x}\n",
        &[
            (Code::WRONG_SHAPE, "metric"),
            (Code::WRONG_SHAPE, "Euro"),
            (Code::WRONG_SHAPE, "{a: 1}"),
            (Code::WRONG_SHAPE, "known"),
            (Code::WRONG_SHAPE, "work"),
            (Code::WRONG_SHAPE, "{a: 1}"),
            (Code::WRONG_SHAPE, "{f: x}"),
        ],
    );
    let o = check_body(
        "known: {a: {is: 1 m, from: mesured, distribution: flat, between: [1 m]}}\ncheck: {b: {that: 1 < 2, level: high}}\n",
        &[
            (Code::WRONG_SHAPE, "mesured"),
            (Code::WRONG_SHAPE, "flat"),
            (Code::WRONG_SHAPE, "[1 m]"),
            (Code::WRONG_SHAPE, "high"),
        ],
    );
    assert_eq!(o.found[0].way_out(), "did you mean `measured`?");
    assert_eq!((o.sheet.known.len(), o.sheet.check.len()), (1, 1));
}

#[test]
fn a_comment_inside_a_list_is_refused() {
    let o = check_body(
        "known:\n  a: [1 m, # low\n    2 m] # fine\n  b: [1 m,\n    2 m]\n  c: ['#1', \"#2\"]\n",
        &[(Code::WRONG_SHAPE, "# low")],
    );
    assert_eq!((o.names(), o.broken()), (vec!["b", "c"], vec!["a"]));
    assert_eq!(o.piece(o.known("c")), "['#1', \"#2\"]");
}

#[test]
fn parts_hold_their_own_sections() {
    let o = check_body(
        "parts:\n  - title: Water\n    about: The pond.\n    known: {a: 1 m}\n    tables: {t: {columns: {x: m}, rows: [[1]]}}\n  - known: {b: 1 m}\n    work: {c: a + b}\n    show: [c]\n  - 5\nknown: {d: 1 m}\n",
        &[(Code::MISSING_KEY, "known"), (Code::UNKNOWN_KEY, "show"), (Code::WRONG_SHAPE, "5")],
    );
    let titles: Vec<&str> = o.sheet.parts.iter().map(|part| part.title.as_str()).collect();
    assert_eq!(titles, ["Water", "Part 2"]);
    assert_eq!(o.sheet.parts[0].about.as_deref(), Some("The pond."));
    let parts: Vec<Option<usize>> = o.sheet.known.iter().map(|known| known.part).collect();
    assert_eq!(parts, [Some(0), Some(1), None]);
    assert_eq!(o.sheet.work[0].part, Some(1));
    assert_eq!(o.sheet.tables[0].part, Some(0));
    assert_eq!(o.found[1].way_out(), "`show` belongs to the top of a sheet");
}

#[test]
fn after_an_error_of_yaml_the_rest_is_read() {
    for (line, piece, words) in [
        ("a: b: c", "b: c", "a colon followed by a blank"),
        ("a: %x", "%x", "cannot begin with `%`"),
        ("a: @x", "@x", "cannot begin with `@`"),
        ("a: `x`", "`x`", "cannot begin with ``"),
        ("a: |q| q + 1", "|q| q + 1", "`|` begins a block"),
        ("a: > 3 m", "> 3 m", "`>` begins a block"),
        ("a: [1, 2].sum()", "[1, 2].sum()", "must end where that closes"),
        ("a: \"x\" + 1", "\"x\" + 1", "must end where that closes"),
        ("a: [1 m, 2 m", "[", "is not closed"),
        ("a: {is: 1 m", "{", "is not closed"),
        ("a: \"x", "\"", "quote is not closed"),
        ("\ta: 1 m", "\t", "a tab"),
        ("a 3 m", "a 3 m", "has no `key:`"),
    ] {
        let text = format!("known:\n  z: 1 m\n  {line}\n  b: 2 m\nwork:\n  c: b\n");
        let text = if line.starts_with('\t') { text.replace("  \t", "\t") } else { text };
        let o = check_body(&text, &[(Code::YAML, piece)]);
        assert!(o.found[0].message.contains(words), "{line}: {:?}", o.found);
        if line.starts_with("a:") {
            assert_eq!(o.names(), ["z", "b", "c"], "{line}");
            assert_eq!(o.broken(), ["a"], "{line}");
        } else {
            assert_eq!(o.names(), ["z", "b", "c"], "{line}");
        }
    }
    // A sheet that is indented by tabs alone is read all the same.
    let o = check_body("known:\n\ta: 1 m\n\tb:\n\t\tis: 2 m\n\t\tin: ft\n", &[(Code::YAML, "\t")]);
    assert_eq!(o.names(), ["a", "b"]);
}

#[test]
fn several_errors_of_yaml_come_in_one_run() {
    let o = check_body(
        "known:\n  a: x: y\n  b: 1 m\n  c: @3\nwork:\n  d:\n    is: p: q\n    in: m\n  e: b\ncheck:\n  f: [1].len() > 0\n  g: {that: b > 1 m, levle: stop}\n",
        &[
            (Code::YAML, "x: y"),
            (Code::YAML, "@3"),
            (Code::YAML, "p: q"),
            (Code::YAML, "[1].len() > 0"),
            (Code::UNKNOWN_KEY, "levle"),
        ],
    );
    assert_eq!(o.names(), ["b", "e"]);
    assert_eq!(o.sheet.check.len(), 1);
    for name in ["a", "c", "d"] {
        assert!(o.broken().contains(&name), "{name}");
    }
}
