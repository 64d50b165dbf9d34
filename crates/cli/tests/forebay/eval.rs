//! `eval`: one formula.

use crate::running::forebay;

fn check(arguments: &[&str], expected: &str) {
    let ran = forebay(&[&["eval"], arguments].concat());
    assert_eq!((ran.code, ran.out.as_str()), (0, expected), "{}", ran.err);
}

fn refused(arguments: &[&str], words: &[&str]) {
    let ran = forebay(&[&["eval"], arguments].concat());
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    for word in words {
        assert!(ran.err.contains(word), "{word}: {}", ran.err);
    }
}

#[test]
fn a_formula_in_a_unit() {
    // By hand: 0.02 · 100/0.15 · 2²/(2 · 9.80665) = 2.7192.
    let friction =
        "friction_head(friction_factor = 0.02, length = 100 m, bore = 150 mm, velocity = 2 m/s)";
    check(&[friction, "--in", "m"], "2.719 m\n");
    check(&[friction, "--in", "ft"], "8.921 ft\n");
    check(&["1/2"], "0.5000\n");
    check(&["-2 m + 5 m"], "3.000 m\n");
    check(&["[3 m, 4 m] * 2", "--in", "m"], "2 values, 6.000 to 8.000 m\n6.000\n8.000\n");
}

#[test]
fn json_has_four_fields() {
    let json = |text: &str| format!("{text}\n");
    check(
        &["3 m * 2", "--in", "cm", "--as", "json"],
        &json(r#"{"value":600.0,"unit":"cm","si":6.0,"dimension":"length"}"#),
    );
    check(
        &["0.10 EUR + 0.20 EUR", "--as", "json"],
        &json(r#"{"value":"0.30","unit":"EUR","si":null,"dimension":"money"}"#),
    );
    check(
        &["2 m > 1 m", "--as", "json"],
        &json(r#"{"value":true,"unit":null,"si":null,"dimension":null}"#),
    );
}

#[test]
fn cells_of_a_sheet_can_be_used() {
    check(&["gross_head * 2", "--with", "otter_bend.yaml", "--in", "m"], "5.880 m\n");
    check(
        &["gross_head", "--with", "otter_bend.yaml", "--set", "pond_level=60 m", "--in", "m"],
        "1.100 m\n",
    );
}

#[test]
fn a_formula_outside_its_source_warns_and_answers() {
    let ran = forebay(&["eval", "weir_v_notch_flow(head = 1.2 m)"]);
    assert_eq!(ran.code, 0);
    assert!(ran.err.contains("outside-validity"), "{}", ran.err);
    assert!(!ran.out.is_empty());
}

#[test]
fn what_means_nothing_is_refused_with_its_place() {
    refused(&["2 m + 3 L"], &["length and volume cannot be added", "─┬─"]);
    refused(&["5 gal"], &["gal_US", "gal_UK"]);
    refused(&["-x^2"], &["x"]);
    refused(&["2 m", "--in", "kW"], &["`kW` measures power", "try --in m"]);
    refused(&["2 m", "--in", "furlongs"], &["unknown unit"]);
    refused(&["2 m", "--set", "a=3"], &["--with FILE"]);
    refused(&["2 m", "--with", "nothing.yaml"], &["no file and no template"]);
    refused(&[], &["<EXPRESSION>"]);
}
