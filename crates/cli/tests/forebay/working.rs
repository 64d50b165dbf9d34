//! `working`: how a number came about.

use serde_json::Value;

use crate::running::{assert_fits, forebay, on_sheet};

#[test]
fn the_chain_goes_as_deep_as_asked() {
    let lines = |depth: &str| {
        let ran = forebay(&["working", "otter_bend.yaml", "electric_power", "--depth", depth]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert_fits(&ran.out, 80);
        ran.out
    };
    let none = lines("0");
    assert!(none.contains("Behind these: "), "{none}");
    assert!(none.contains("= 61 % * water_power(95 L/s, 2.859 m)"), "{none}");
    assert!(none.contains("source:"), "{none}");
    let one = lines("1");
    assert!(one.contains("\n  net_head = "), "{one}");
    assert!(!one.contains("pond_level = "), "{one}");
    let all = lines("all");
    assert!(all.contains("\n      pond_level = 61.84 m (± 2 cm, measured)"), "{all}");
    assert!(!all.contains("Behind these"), "{all}");
    // A cell that two others read is explained once.
    assert_eq!(
        all.matches("bore = 315 mm").count() - all.matches(", bore = 315 mm").count(),
        1,
        "{all}"
    );
}

#[test]
fn json_has_the_steps() {
    let ran = forebay(&["working", "otter_bend.yaml", "loss", "--as", "json", "--depth", "all"]);
    let document: Value = serde_json::from_str(&ran.out).unwrap();
    let first = &document["steps"][0];
    assert_eq!((&first["name"], &first["depth"]), (&"loss".into(), &0.into()));
    assert_eq!(first["formulas"][0]["name"], "friction_head");
    assert!(first["formulas"][0]["source"].as_str().is_some_and(|source| !source.is_empty()));
}

#[test]
fn a_check_shows_its_whole_caution() {
    let ran = forebay(&["working", "otter_bend.yaml", "crest_is_low_enough"]);
    assert!(ran.out.contains("Nobody stands"), "{}", ran.out);
    assert!(ran.out.contains("short by 0.4400 m"), "{}", ran.out);
}

#[test]
fn a_template_and_the_standard_input_have_workings() {
    assert_eq!(forebay(&["working", "whole-site", "net_head"]).code, 0);
    let ran = on_sheet("forebay: 1\nwork:\n  a: 2 * 3 m\n", &["working", "-", "a"]);
    assert_eq!(ran.out, "a = 6.000 m\n    2 * 3 m\n");
}

#[test]
fn a_cell_without_a_value_says_why() {
    let ran = forebay(&["working", "mistakes.yaml", "behind_it"]);
    assert_eq!(ran.code, 2);
    assert!(ran.out.contains("waits for sum"), "{}", ran.out);
    assert!(ran.err.contains("length and volume flow cannot be added"), "{}", ran.err);
}
