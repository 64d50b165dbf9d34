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
