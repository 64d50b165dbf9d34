//! `spread`: what it shows, that a seed gives the same, and what it refuses.

use crate::running::{assert_fits, forebay, golden, on_sheet};

const SPREAD: [&str; 6] = [
    "spread",
    "otter_bend.yaml",
    "--see",
    "net_head,electric_power,yearly_saving",
    "--samples",
    "2000",
];

#[test]
fn a_spread_for_reading() {
    let ran = forebay(&SPREAD);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_fits(&ran.out, 80);
    golden("spread.txt", &ran.out);
}

#[test]
fn a_seed_gives_the_same_and_another_one_another() {
    let with = |seed: &str| forebay(&[&SPREAD[..], &["--seed", seed, "--as", "json"]].concat()).out;
    assert_eq!(with("5"), with("5"));
    assert_ne!(with("5"), with("6"));
    let document: serde_json::Value = serde_json::from_str(&with("5")).unwrap();
    assert_eq!(document["complete"], true);
    let shares = document["first_order"]["electric_power"]["shares"].as_array().unwrap();
    let all: f64 = shares.iter().map(|share| share["share"].as_f64().unwrap()).sum();
    assert!((all - 1.0).abs() < 1e-12);
    // By hand: the flow is 8 % of 95 L/s.
    let flow =
        document["knowns"].as_array().unwrap().iter().find(|k| k["known"] == "flow").unwrap();
    assert!((flow["standard_uncertainty_si"].as_f64().unwrap() - 0.0076).abs() < 1e-15);
}

#[test]
fn what_has_no_spread_is_refused() {
    let sheet = "forebay: 1\nknown:\n  a: 3 m\nwork:\n  b: 2 * a\n";
    let ran = on_sheet(sheet, &["spread", "-", "--see", "b"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("plus_minus"), "{}", ran.err);
    let check = |arguments: &[&str], words: &str| {
        let ran = forebay(&[&["spread", "otter_bend.yaml"], arguments].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
        assert!(ran.err.contains(words), "{}", ran.err);
    };
    check(&["--see", "net_haed"], "did you mean `net_head`?");
    check(&["--see", "net_head", "--samples", "1"], "1 samples cannot be drawn");
    check(&["--see", "by_month"], "series");
}

const TIED: &str = "forebay: 1
title: A fall levelled with one staff
known:
  pond: { is: 84.37 m, plus_minus: 2 cm, degrees_of_freedom: 9 }
  tail: { is: 80.92 m, plus_minus: 2 cm }
  flow: { is: 47 L/s, plus_minus: 6 %, degrees_of_freedom: 4 }
work:
  fall: pond - tail
  power: 0.6 * water_power(flow, fall)
tied:
  one_staff: { knowns: [pond, tail], correlation: 0.9 }
";

#[test]
fn what_is_tied_and_how_well_it_is_known_is_shown() {
    let ran = on_sheet(TIED, &["spread", "-", "--see", "fall,power", "--coverage", "99 %"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_fits(&ran.out, 80);
    golden("spread_tied.txt", &ran.out);
    // By hand: of the fall, (2 cm)² · (1 + 1 − 2 · 0.9).
    let ran = on_sheet(TIED, &["spread", "-", "--see", "fall", "--as", "json"]);
    let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let fall = &document["first_order"]["fall"];
    let uncertainty = fall["standard_uncertainty_si"].as_f64().unwrap();
    assert!((uncertainty - 0.02 * 0.2_f64.sqrt()).abs() < 1e-12, "{fall}");
    assert!((fall["ties"][0]["share"].as_f64().unwrap() + 9.0).abs() < 1e-9, "{fall}");
    assert_eq!(fall["expanded"]["distribution"], "t");
}

#[test]
fn ties_and_coverages_that_cannot_be_are_refused() {
    let wrong = TIED.replace("[pond, tail]", "[pond, tial]");
    let ran = on_sheet(&wrong, &["spread", "-", "--see", "fall"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("did you mean `tail`?"), "{}", ran.err);
    for coverage in ["95", "0 %", "most"] {
        let ran = forebay(&["spread", "otter_bend.yaml", "--coverage", coverage]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{coverage}");
    }
    let few = TIED.replace("freedom: 4", "freedom: 0.5");
    let ran = on_sheet(&few, &["spread", "-", "--see", "fall"]);
    assert!(ran.code == 2 && ran.err.contains("1 or more"), "{}", ran.err);
}
