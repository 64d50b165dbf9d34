//! What somebody who tried to break the chain once succeeded with; each stays mended.

use forebay_sheet::worksheet::Level;
use forebay_sheet::{Sheet, Verdict};
use forebay_tests::names;

/// The codes of a sheet's diagnostics, in the order of the file.
fn codes(body: &str) -> Vec<&'static str> {
    let sheet = Sheet::open(&format!("forebay: 1\n{body}"));
    sheet.diagnostics().iter().map(|d| d.code.name).collect()
}

#[test]
fn a_letter_of_another_script_behind_a_percentage_is_met_with_words() {
    assert_eq!(codes("work:\n  a: 80 % äußere\n"), ["two-readings"]);
    assert_eq!(codes("work:\n  a: 80 % é\n  b: 2 m\n"), ["two-readings"]);
}

#[test]
fn units_are_checked_in_functions_that_nobody_calls() {
    for body in ["2 m + 3 L", "if x > 1 { 1 m } else { 2 kg }", "let a = 2 m; a < 3 L"] {
        let text = format!("functions: |\n  fn f(x) {{ {body} }}\nwork:\n  a: 1\n");
        assert_eq!(codes(&text), ["unlike"], "{body}");
    }
}

#[test]
fn units_are_checked_in_branches_that_the_interpreter_does_not_take() {
    for (body, call) in [
        ("if x > 100 m { x + 5 L } else if x > 50 m { f(x / 2) } else { x }", "f(3 m)"),
        ("let a = []; if x > 100 { a.push(1 m + 2 L); } a.push(1 m); count(a)", "f(3)"),
    ] {
        let text = format!("functions: |\n  fn f(x) {{ {body} }}\nwork:\n  a: {call}\n");
        assert_eq!(codes(&text), ["unlike"], "{body}");
    }
    // What depends on the argument is no mistake until it is called so.
    let fine = "functions: |\n  fn f(x, y) { let t = 0 m; for a in x { t += a; } if y > 2 { t } else { t / 2 } }\nwork:\n  a: f([1 m], 3)\n";
    assert_eq!(codes(fine), [""; 0]);
}

#[test]
fn endless_cells_share_one_budget() {
    let mut text = String::from(
        "functions: |\n  fn h(x) { let y = x; while true { y += 1; } y }\nwork:\n  sound: 2 m\n",
    );
    for cell in 0..200 {
        text.push_str(&format!("  a{cell}: h({cell})\n"));
    }
    let begun = std::time::Instant::now();
    assert_eq!(codes(&text), ["limit"; 200]);
    // A debug build on a busy machine takes a few seconds for the budget of one sheet.
    assert!(begun.elapsed().as_secs() < 60, "{:?}", begun.elapsed());
}

#[test]
fn all_faults_of_tables_and_cases_come_in_one_run() {
    let text = "known:\n  flow: 80 L/s\ntables:\n  t:\n    columns: { a: m, b: L/s }\n    rows: [[2], [x, 4], [2 ft, 4 m]]\ncases:\n  worse: { flo: 80 L/s, flow: }\n";
    let mut found = codes(text);
    found.sort_unstable();
    assert_eq!(found, ["missing-key", "short-row", "table-cell", "table-cell", "unknown-name"]);
}

#[test]
fn a_date_in_a_formula_is_a_date() {
    let mut sheet = Sheet::open("forebay: 1\n");
    let days = sheet.eval("2026-01-05 - 2026-01-01").unwrap();
    assert_eq!(days.shown(None).unwrap(), "4.000 d");
    assert_eq!(sheet.eval("2026 - 01 - 05").unwrap().shown(None).unwrap(), "2020");
}

#[test]
fn a_broken_known_that_is_set_runs_its_dependants() {
    let mut sheet =
        Sheet::open("forebay: 1\nknown:\n  a: 5 gal\n  b: 2 m\nwork:\n  c: a + b\n  d: b * 2\n");
    let wave = sheet.set("a", "3 m").unwrap();
    assert_eq!(names(wave.ran(&sheet)), ["c"]);
    assert_eq!(names(wave.changed(&sheet)), ["a", "c"]);
}

#[test]
fn numbers_put_in_are_the_formula_that_was_computed() {
    let sheet = Sheet::open(
        "forebay: 1\nknown:\n  r: 2 ohm\n  i: 8 A\n  share: 50 %\nwork:\n  p: r * i^2\n  q: share ^ 2\n",
    );
    let put_in = |name| sheet.working(name, 0).unwrap()[0].with_numbers.clone().unwrap();
    assert_eq!(put_in("p"), "2 ohm * (8 A)^2");
    assert_eq!(put_in("q"), "(50 %) ^ 2");
}

#[test]
fn a_series_that_grows_beyond_all_numbers_is_refused() {
    assert_eq!(codes("work:\n  xs: \"[1e308, 1e308]\"\n  a: running_sum(xs)\n"), ["no-value"]);
}

#[test]
fn the_embedded_site_does_not_run_on_an_empty_brook() {
    let text = forebay_sheet::templates()[0].text;
    let mut sheet = Sheet::open(text);
    assert_eq!(sheet.gravest_failure(), None);
    sheet.set("stream", "0 L/s").unwrap();
    assert_eq!(sheet.gravest_failure(), Some(Level::Stop));
    assert_eq!(sheet.cell("run_today").unwrap().shown(), "0 %");
    let keeps = sheet.cell("brook_keeps_its_water").unwrap();
    assert_eq!(keeps.verdict(), Verdict::Fails);
}

#[test]
fn the_embedded_site_answers_what_is_asked_of_it() {
    let mut sheet = Sheet::open(forebay_sheet::templates()[0].text);
    for (name, value) in [
        ("design_flow", "200 L/s"),
        ("upkeep", "5000 EUR"),
        ("mouth_level", "210 m"),
        ("certified", "no"),
    ] {
        let mut changed = Sheet::open(forebay_sheet::templates()[0].text);
        changed.set(name, value).unwrap();
        assert!(!changed.has_errors(), "{name}: {:?}", changed.diagnostics());
    }
    for case in ["dry_spell", "high_water", "warm_and_low"] {
        sheet.use_case(case).unwrap();
        assert!(!sheet.has_errors(), "{case}: {:?}", sheet.diagnostics());
    }
}

/// A table of a pipe and one of a tariff, with one cell.
fn with_tables(cell: &str) -> String {
    let text = format!(
        "forebay: 1\ncurrency: USD\ntables:\n  pipe: {{ columns: {{ bore: mm, length: m }}, rows: [[100, 20], [100, 30]] }}\n  tariff: {{ columns: {{ up_to: kWh, price: USD/kWh }}, rows: [[50, 0.60], [100, 0.50], [400, 0.25]] }}\nwork:\n  a: \"{cell}\"\n"
    );
    Sheet::open(&text).cell("a").expect("the cell is there").shown()
}

#[test]
fn a_table_may_be_given_by_a_name() {
    let by_place = with_tables("line_loss(pipe, 10 L/s)");
    assert_eq!(with_tables("line_loss(line = pipe, flow = 10 L/s)"), by_place);
    assert_eq!(with_tables("line_loss(flow = 10 L/s, line = pipe)"), by_place);
    // 50 at 0.60, 50 at 0.50 and 275 at 0.25.
    assert_eq!(with_tables("block_bill(energy = 375 kWh, blocks = tariff)"), "123.75 USD");
}

#[test]
fn a_stop_check_that_cannot_be_told_does_not_hold() {
    let sheet = Sheet::open(
        "forebay: 1\ncurrency: EUR\nwork:\n  pb: simple_payback(100 EUR, 0 EUR)\ncheck:\n  pays: { that: pb < 10 yr, level: stop }\n",
    );
    assert!(!sheet.has_errors());
    assert_eq!(sheet.checks().next().unwrap().verdict(), Verdict::Unknown);
    assert_eq!(sheet.gravest_failure(), Some(Level::Stop));
}

#[test]
fn a_reciprocal_unit_is_read_as_it_is_printed() {
    let mut sheet = Sheet::open("forebay: 1\n");
    let growth = sheet.eval("70e-6 1/K * 20 K").unwrap();
    assert_eq!(growth.ty, forebay_sheet::Type::PLAIN);
    assert_eq!(sheet.eval("2 1/s").unwrap().unit().unwrap().symbol(), "1/s");
}

#[test]
fn a_day_that_does_not_exist_is_told() {
    assert_eq!(codes("known:\n  d: 2024-02-30\nwork:\n  m: month(d)\n"), ["no-such-date"]);
    assert_eq!(codes("work:\n  k: 2024-06-31 + 1 d\n"), ["no-such-date"]);
}

#[test]
fn two_strokes_in_a_formula_are_refused() {
    assert_eq!(codes("known:\n  h: 3 m\nwork:\n  half: h // 2\n"), ["two-readings"]);
    let commented =
        "functions: |\n  fn f(x) {\n    // half of it\n    x / 2\n  }\nwork:\n  a: f(3)\n";
    assert_eq!(codes(commented), [""; 0]);
}

#[test]
fn what_was_meant_is_proposed_for_a_hyphen_in_a_unit() {
    let sheet = Sheet::open("forebay: 1\nwork:\n  a: 2 acre-ft\n");
    assert_eq!(sheet.diagnostics()[0].way_out(), "write `acre_ft`");
}

#[test]
fn a_formula_from_outside_says_why_its_cell_has_no_value() {
    let mut sheet = Sheet::open("forebay: 1\nwork:\n  n: sqrt(-1)\n");
    let told = sheet.eval("2 * n").unwrap_err();
    assert!(told[0].message.contains("no square root"), "{}", told[0].message);
}

#[test]
fn a_torn_headline_and_a_choice_beside_a_short_name_are_no_mistakes_of_their_own() {
    assert_eq!(codes("show: [a]\nwork: { a: max(1 m, 2 m) }\n"), ["torn-formula"]);
    let text = "known:\n  cap: { is: 30 L/s, choose: [20 L/s, 30 L/s] }\n  s: 2 s\n";
    assert_eq!(codes(text), [""; 0]);
}

#[test]
fn a_loop_that_never_ends_is_told_as_such() {
    let text = "functions: |\n  fn f(x) { loop { x += 1; } x }\nwork:\n  a: f(1)\n";
    let sheet = Sheet::open(&format!("forebay: 1\n{text}"));
    assert_eq!(sheet.diagnostics()[0].message, "this never comes to a value");
}

#[test]
fn a_known_may_be_called_value() {
    let mut sheet = Sheet::open("forebay: 1\nknown:\n  value: 1 m\n  b: 2 m\n");
    sheet.set("value", "5 m").unwrap();
    sheet.set("b", "7 m").unwrap();
    assert_eq!(sheet.cell("value").unwrap().formula(), "5 m");
    assert_eq!(sheet.cell("b").unwrap().formula(), "7 m");
}

#[test]
fn a_ring_of_many_cells_is_told_in_a_line_or_two() {
    let ring: String = (0..300).map(|at| format!("  c{at}: c{} + 1\n", (at + 1) % 300)).collect();
    let sheet = Sheet::open(&format!("forebay: 1\nwork:\n{ring}"));
    let found = sheet.diagnostics()[0];
    assert_eq!(found.code.name, "cycle");
    assert!(found.message.ends_with("c11 → (287 more) → c299 → c0"), "{}", found.message);
    assert!(found.message.len() < 200 && found.labels.len() < 20);
}
