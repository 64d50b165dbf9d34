//! What people see, kept as it is until somebody means to change it.

use crate::running::{assert_fits, forebay, golden};

fn check(name: &str, arguments: &[&str], code: i32) {
    let ran = forebay(arguments);
    assert_eq!(ran.code, code, "{}{}", ran.out, ran.err);
    let text = format!("$ forebay {}\n{}{}", arguments.join(" "), ran.out, ran.err);
    assert_fits(&text, 80);
    golden(name, &text);
}

#[test]
fn a_sheet_for_reading() {
    check("run.txt", &["run", "otter_bend.yaml"], 1);
}

#[test]
fn a_sheet_for_programs() {
    let ran = forebay(&["run", "otter_bend.yaml", "--as", "json"]);
    golden("run.json", &ran.out);
}

#[test]
fn mistakes_with_their_places() {
    check("mistakes.txt", &["run", "mistakes.yaml"], 2);
}

#[test]
fn checks_alone() {
    check("check.txt", &["check", "otter_bend.yaml", "--case", "deep_pit"], 0);
}

#[test]
fn a_working() {
    check("working.txt", &["working", "otter_bend.yaml", "net_head", "--depth", "all"], 0);
}

#[test]
fn a_formula() {
    check("formula.txt", &["formulas", "weir_v_notch_flow"], 0);
}

#[test]
fn units_of_a_word() {
    check("units.txt", &["units", "gallon"], 0);
}
