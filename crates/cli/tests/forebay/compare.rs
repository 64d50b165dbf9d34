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
