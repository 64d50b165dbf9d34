//! `compare`: cases and files side by side.

use std::fs;

use crate::running::{assert_fits, forebay, golden, sheets};

#[test]
fn cases_for_reading_and_for_programs() {
    let both = ["compare", "otter_bend.yaml", "--cases", "base,big_pipe"];
    let ran = forebay(&both);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_fits(&ran.out, 80);
    golden("compare.txt", &ran.out);
    golden("compare.csv", &forebay(&[&both[..], &["--as", "csv"]].concat()).out);
    let three = forebay(&["compare", "otter_bend.yaml", "--cases", "base,big_pipe,deep_pit"]);
    assert_fits(&three.out, 80);
    golden("compare_three.txt", &three.out);
    let json = forebay(&[&both[..], &["--as", "json"]].concat());
    let json: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    // By hand: 400 mm are 85 mm more than 315 mm.
    let bore = &json["cells"]["bore"]["big_pipe"];
    assert!((bore["difference_si"].as_f64().unwrap() - 0.085).abs() < 1e-12);
    assert!((bore["share"].as_f64().unwrap() - 85.0 / 315.0).abs() < 1e-12);
    assert!(json["cells"]["gross_head"].is_null());
}

#[test]
fn a_check_whose_verdict_changes_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(sheets().join("otter_bend.yaml")).unwrap();
    let other = folder.path().join("lower.yaml");
    fs::write(&other, text.replace("61.84 m", "61.2 m")).unwrap();
    let ran = forebay(&["compare", "otter_bend.yaml", other.to_str().unwrap()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let line = ran.out.lines().find(|line| line.contains("crest_is_low_enough")).unwrap();
    assert!(line.contains("FAILS") && line.contains("holds"), "{}", ran.out);
    let same = forebay(&["compare", "otter_bend.yaml", "otter_bend.yaml"]);
    assert_eq!(same.out, "nothing differs\n");
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let check = |arguments: &[&str], words: &str| {
        let ran = forebay(&[&["compare"], arguments].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
        assert!(ran.err.contains(words), "{}", ran.err);
    };
    check(&["otter_bend.yaml"], "base,big_pipe,deep_pit");
    check(&["otter_bend.yaml", "--cases", "base,big_pip"], "there is no case `big_pip`");
    check(&["otter_bend.yaml", "oter_bend.yaml"], "`otter_bend.yaml`");
}

#[test]
fn a_series_stands_in_one_field() {
    let sheet = "forebay: 1
known:
  flow: 1
work:
  days: flow * record.flow
  parts: flow * pieces.length
tables:
  record:
    columns: { when: date, flow: L/s }
    rows:
      - [2025-03-01, 12]
      - [2025-03-02, ~]
  pieces:
    columns: { length: m }
    rows:
      - [1.5]
      - [4]
cases:
  twice: { flow: 2 }
";
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("record.yaml");
    fs::write(&file, sheet).unwrap();
    let file = file.to_str().unwrap();
    let ran = forebay(&["compare", file, "--cases", "base,twice", "--as", "csv"]);
    let line = |name: &str| ran.out.lines().find(|line| line.starts_with(name)).unwrap().to_owned();
    let days = "days,L/s,2025-03-01=12 2025-03-02=~,2025-03-01=24 2025-03-02=~,,";
    assert_eq!(line("days"), days, "{}", ran.err);
    assert_eq!(line("parts"), "parts,m,1.5 4,3 8,,");
}

#[test]
fn very_long_names_leave_tables_within_the_terminal() {
    let pond = "level_of_the_pond_at_the_intake_above_the_datum_of_the_survey";
    let tail = "level_of_the_tailwater_below_the_exit_of_the_runner_when_the_flow_is_at_its_lowest";
    let head = "gross_head_between_the_pond_and_the_tailwater_on_the_day_of_the_survey";
    let case = "a_case_with_a_name_that_is_longer_than_any_table_would_like_it_to_be";
    let sheet = format!(
        "forebay: 1
known:
  {pond}: {{ is: 103.42 m, plus_minus: 2 cm }}
  {tail}: {{ is: 100.10 m, plus_minus: 2 cm, degrees_of_freedom: 12 }}
work:
  {head}: {pond} - {tail}
check:
  {head}_is_high_enough: {head} > 3.3 m
tied:
  {case}: [{pond}, {tail}]
cases:
  {case}: {{ {pond}: 99 m }}
"
    );
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("long.yaml");
    fs::write(&file, sheet).unwrap();
    let file = file.to_str().unwrap();
    let over = format!("{pond}=99 m..103 m/3");
    for arguments in [
        &["spread", file, "--see", head, "--samples", "100"][..],
        &["compare", file, "--cases", &format!("base,{case}")],
        &["vary", file, "--over", &over, "--see", head],
    ] {
        let ran = forebay(arguments);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert_fits(&ran.out, 80);
        // A name that is cut is cut between its words.
        assert!(ran.out.lines().any(|line| line.trim().ends_with('_')), "{}", ran.out);
    }
}
