//! Cases, checks and their margins, on the sheet `suite/cases.yaml`.

use forebay_sheet::{Sheet, Trouble, Verdict};
use forebay_tests::names;

const SHEET: &str = include_str!("../suite/cases.yaml");

/// Area of the 200 mm bore by hand: π/4 · 0.04 m²; 40 L/s through it.
const VELOCITY: f64 = 1.273_239_545;

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * b.abs()
}

fn verdict(sheet: &Sheet, check: &str) -> Verdict {
    sheet.cell(check).expect("the check is there").verdict()
}

fn number(sheet: &Sheet, cell: &str) -> f64 {
    let value = sheet.cell(cell).and_then(|cell| cell.value());
    value.and_then(|value| value.as_number()).expect("a number")
}

#[test]
fn a_check_has_both_sides_and_its_margin() {
    let sheet = Sheet::open(SHEET);
    let margins = sheet.cell("slow_enough").unwrap().margins();
    let [margin] = margins.as_slice() else { panic!("one comparison") };
    assert_eq!((margin.left_text, margin.right_text), ("velocity", "2 m/s"));
    assert!(near(margin.left, VELOCITY) && near(margin.right, 2.0));
    assert!(near(margin.margin_si, 2.0 - VELOCITY));
    assert_eq!(margin.shown, ("1.273 m/s".to_owned(), "2.000 m/s".to_owned()));
    assert_eq!(verdict(&sheet, "slow_enough"), Verdict::Holds);
}

#[test]
fn the_margin_of_a_failing_check_is_negative() {
    let sheet = Sheet::open(SHEET);
    assert_eq!(verdict(&sheet, "steep_enough"), Verdict::Fails);
    assert!(near(sheet.cell("steep_enough").unwrap().margins()[0].margin_si, -2.0));
    assert_eq!(sheet.gravest_failure().map(|level| level.word()), Some("care"));
}

#[test]
fn two_comparisons_have_two_margins() {
    let sheet = Sheet::open(SHEET);
    let margins = sheet.cell("both").unwrap().margins();
    assert_eq!(margins.len(), 2);
    assert!(near(margins[0].margin_si, 2.0 - VELOCITY));
    assert_eq!(margins[1].margin_si, 0.0);
    assert_eq!(verdict(&sheet, "both"), Verdict::Holds);
}

#[test]
fn a_check_that_cannot_be_told_is_unknown_and_says_why() {
    let sheet = Sheet::open(SHEET);
    let unknown = sheet.cell("unknown").unwrap();
    assert_eq!(unknown.verdict(), Verdict::Unknown);
    assert_eq!(unknown.trouble(), Some(&Trouble::Waiting(vec!["broken".to_owned()])));
}

#[test]
fn a_case_sets_its_knowns_and_runs_what_depends_on_them() {
    let mut sheet = Sheet::open(SHEET);
    let wave = sheet.use_case("narrow").unwrap();
    assert_eq!(names(wave.ran(&sheet)), ["velocity", "slow_enough", "both"]);
    assert!(near(number(&sheet, "velocity"), 4.0 * VELOCITY));
    assert_eq!(verdict(&sheet, "slow_enough"), Verdict::Fails);
    assert!(near(sheet.cell("slow_enough").unwrap().margins()[0].margin_si, 2.0 - 4.0 * VELOCITY));
    assert_eq!(sheet.gravest_failure().map(|level| level.word()), Some("stop"));

    let mut sheet = Sheet::open(SHEET);
    sheet.use_case("wide").unwrap();
    assert!(near(number(&sheet, "velocity"), VELOCITY / 2.25 * 1.25));
}

#[test]
fn a_case_outside_the_range_of_a_known_warns() {
    let mut sheet = Sheet::open(SHEET);
    assert!(sheet.cell("flow").unwrap().warnings().is_empty());
    sheet.use_case("flood").unwrap();
    let flow = sheet.cell("flow").unwrap();
    assert_eq!(flow.warnings()[0].code.name, "outside-between");
    assert!(near(number(&sheet, "flow"), 0.09));
}

#[test]
fn a_case_that_is_not_there_is_refused_and_changes_nothing() {
    let mut sheet = Sheet::open(SHEET);
    let refused = sheet.use_case("deep").unwrap_err();
    assert_eq!(refused.code.name, "unknown-name");
    assert!(refused.way_out().contains("narrow"));
    assert!(near(number(&sheet, "velocity"), VELOCITY));
}
