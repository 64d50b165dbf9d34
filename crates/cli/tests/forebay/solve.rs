//! `solve`: none, one and several solutions, and what is refused.

use crate::running::{assert_fits, forebay, golden, on_sheet};

const SHEET: &str = "forebay: 1
known:
  bore: { is: 200 mm, between: [50 mm, 500 mm] }
  flow: 40 L/s
  offset: 2 m
work:
  velocity: flow / circle_area(bore)
  hill: 9 m^2 - (offset - 2 m) * (offset - 2 m)
  root: sqrt(offset / 1 m - 2)
check:
  calm: { that: velocity < 2 m/s, level: stop }
";

fn solved(known: &str, so: &str, more: &[&str]) -> (i32, String, String) {
    let ran = on_sheet(SHEET, &[&["solve", "-", "--for", known, "--so", so], more].concat());
    assert_fits(&ran.out, 80);
    (ran.code, ran.out, ran.err)
}

#[test]
fn solutions_for_reading() {
    let mut all = String::new();
    for (known, so, more) in [
        // By hand: 0.04 m³/s through a circle at 3 m/s takes a bore of √(4·0.04/3π) = 0.130294 m.
        ("bore", "velocity = 3 m/s", &[][..]),
        ("offset", "hill = 8 m^2", &["--between", "0 m", "5 m"]),
        ("offset", "root = 1", &["--between", "0 m", "5 m"]),
        ("bore", "velocity = 300 m/s", &[]),
    ] {
        let (code, out, err) = solved(known, so, more);
        assert_eq!(err, "");
        all.push_str(&format!(
            "$ forebay solve - --for {known} --so \"{so}\"\n{out}(exit {code})\n\n"
        ));
    }
    assert!(all.contains("bore = 130.294 mm  fails: calm (stop)"), "{all}");
    assert!(all.contains("offset = 1.00000 m\n  offset = 3.00000 m"), "{all}");
    golden("solve.txt", &all);
}

#[test]
fn a_solution_set_in_the_sheet_meets_the_equation() {
    let document = forebay(&[
        "solve",
        "otter_bend.yaml",
        "--for",
        "bore",
        "--so",
        "loss = 0.5 m",
        "--between",
        "100 mm",
        "400 mm",
        "--as",
        "json",
    ]);
    let document: serde_json::Value = serde_json::from_str(&document.out).unwrap();
    let bore = document["found"][0]["value"].as_f64().unwrap();
    let set = format!("bore={bore} mm");
    let run = forebay(&["run", "otter_bend.yaml", "--set", &set, "--as", "json"]);
    let run: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert!((run["cells"]["loss"]["si"].as_f64().unwrap() - 0.5).abs() < 1e-9);
}

#[test]
fn what_cannot_be_solved_is_refused() {
    let check = |known: &str, so: &str, more: &[&str], words: &str| {
        let (code, out, err) = solved(known, so, more);
        assert_eq!((code, out.as_str()), (2, ""), "{so}: {err}");
        assert!(err.contains(words), "{so}: {err}");
    };
    check("boer", "velocity = 3 m/s", &[], "did you mean `bore`?");
    check("velocity", "bore = 3 m", &[], "worked out");
    check("bore", "velocity = 3 L", &[], "the right side is volume");
    check("bore", "velocity", &[], "no equation");
    check("bore", "velocty = 3 m/s", &[], "velocty");
    check("offset", "hill = 8 m^2", &[], "between which bounds");
    check("bore", "velocity = 3 m/s", &["--between", "3 L", "4 L"], "volume");
}
