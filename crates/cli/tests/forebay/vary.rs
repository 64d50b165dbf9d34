//! `vary`: what it shows, that one point is what `run --set` gives, and what it refuses.

use serde_json::Value;

use crate::running::{assert_fits, command, forebay, golden, on_sheet, ran};

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

#[test]
fn a_range_for_reading() {
    let arguments = [
        "vary",
        "otter_bend.yaml",
        "--over",
        "bore=100 mm..400 mm/13",
        "--see",
        "electric_power,velocity,yearly_saving",
    ];
    let ran = forebay(&arguments);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_fits(&ran.out, 80);
    golden("vary.txt", &ran.out);
    assert!(!ran.out.contains("NaN"));
}

#[test]
fn two_knowns_for_programs() {
    let over = ["--over", "bore=[250 mm, 315 mm]", "--over", "flow=20 L/s..100 L/s/3"];
    let arguments = [&["vary", "otter_bend.yaml"], &over[..], &["--as", "csv"]].concat();
    golden("vary.csv", &forebay(&arguments).out);
    let arguments = [&["vary", "otter_bend.yaml"], &over[..], &["--as", "json"]].concat();
    let document = json(&forebay(&arguments).out);
    assert_eq!(document["complete"], true);
    assert_eq!(document["rows"].as_array().unwrap().len(), 6);
    assert_eq!(document["rows"][5]["at"]["flow"]["si"], 0.1);
}

/// Every cell and check of `vary` with one point against `run --set`, to the last bit.
#[test]
fn one_point_is_what_run_gives() {
    for (sheet, known, value) in [
        ("otter_bend.yaml", "bore", "250 mm"),
        ("otter_bend.yaml", "water", "4 degC"),
        ("otter_bend.yaml", "cost", "9000.50 EUR"),
        ("otter_bend.yaml", "efficiency", "55 %"),
    ] {
        let run = json(
            &forebay(&["run", sheet, "--set", &format!("{known}={value}"), "--as", "json"]).out,
        );
        let cells: Vec<&String> = run["cells"]
            .as_object()
            .unwrap()
            .iter()
            .filter(|(_, cell)| !cell["value"].is_array())
            .map(|(name, _)| name)
            .collect();
        let see = cells.iter().map(|name| name.as_str()).collect::<Vec<_>>().join(",");
        for over in [format!("{known}={value}..{value}/1"), format!("{known}={value}")] {
            let varied = json(
                &forebay(&["vary", sheet, "--over", &over, "--see", &see, "--as", "json"]).out,
            );
            let row = &varied["rows"][0];
            for name in &cells {
                let (a, b) = (&run["cells"][name], &row["cells"][name]);
                if a["si"].is_null() {
                    assert_eq!(a["value"], b["value"], "{name}");
                } else {
                    assert_eq!(a["si"], b["si"], "{name}");
                }
            }
            let fails: Vec<&str> =
                row["fails"].as_array().unwrap().iter().map(|f| f.as_str().unwrap()).collect();
            for (name, check) in run["checks"].as_object().unwrap() {
                assert_eq!(check["state"] == "fails", fails.contains(&name.as_str()), "{name}");
            }
        }
    }
}

#[test]
fn a_table_gives_the_sizes() {
    let sheet = "forebay: 1
known:
  bore: 200 mm
  flow: 30 L/s
  kind: { is: steel, choose: \"[steel, plastic]\" }
work:
  velocity: flow / circle_area(bore)
  wall: 'if kind == \"steel\" { 3 mm } else { 8 mm }'
tables:
  pipes:
    columns: { bore: mm }
    rows:
      - [150]
      - [188.2]
";
    let ran = on_sheet(
        sheet,
        &["vary", "-", "--over", "bore=pipes.bore", "--see", "velocity", "--as", "csv"],
    );
    let bores: Vec<&str> = ran.out.lines().map(|line| line.split(',').next().unwrap()).collect();
    assert_eq!(bores, ["bore [mm]", "150", "188.2"], "{}{}", ran.out, ran.err);
    let ran = on_sheet(
        sheet,
        &["vary", "-", "--over", "kind=[\"steel\", \"plastic\"]", "--see", "wall", "--as", "csv"],
    );
    assert!(
        ran.out.contains("steel,3,") && ran.out.contains("plastic,8,"),
        "{}{}",
        ran.out,
        ran.err
    );
}

#[test]
fn a_locale_without_unicode_gets_a_plot_in_ascii() {
    let arguments =
        ["vary", "otter_bend.yaml", "--over", "bore=250 mm..400 mm/4", "--see", "velocity"];
    let plain = ran(command(&arguments).env("LC_ALL", "C"));
    assert!(plain.out.contains(" | x") && plain.out.is_ascii(), "{}", plain.out);
    assert!(forebay(&arguments).out.contains("└──"));
}

#[test]
fn what_cannot_be_varied_is_refused() {
    let check = |over: &str, see: &str, words: &str| {
        let ran = forebay(&["vary", "otter_bend.yaml", "--over", over, "--see", see]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{over}");
        assert!(ran.err.contains(words), "{over}: {}", ran.err);
    };
    check("bore", "loss", "says no values");
    check("boar=1 m..2 m", "loss", "did you mean `bore`?");
    check("velocity=1 m/s..2 m/s", "loss", "worked out and cannot be set");
    check("bore=1 m..2 L/3", "loss", "cannot become a volume");
    check("bore=[1 L, 2 L]", "loss", "volume");
    check("bore=1 m..2 m/0", "loss", "0 points");
    check("bore=1 m..2 m/1", "loss", "one point is no range");
    check("bore=1 m..2 m/9000000", "loss", "points");
    check("bore=1 m..2 m/3", "lss", "did you mean `loss`?");
    check("bore=1 m..2 m/3", "by_month", "series");
}

#[cfg(target_os = "linux")]
#[test]
fn ctrl_c_shows_what_there_is() {
    use std::process::{Command, Stdio};
    let arguments =
        ["vary", "whole-site", "--over", "pond_level=100 m..101 m/900000", "--see", "net_power"];
    let known = forebay(&["run", "whole-site", "--as", "json"]);
    let cells = json(&known.out);
    let (name, cell) = cells["cells"]
        .as_object()
        .unwrap()
        .iter()
        .find(|(_, cell)| cell["kind"] == "known" && cell["dimension"] == "length")
        .unwrap();
    let at = cell["si"].as_f64().unwrap();
    let over = format!("{name}={at} m..{} m/900000", at * 1.0001);
    let mut arguments = arguments;
    arguments[3] = &over;
    let see = cells["show"][0].as_str().unwrap().to_owned();
    arguments[5] = &see;
    let child = command(&[&arguments[..], &["--as", "json"]].concat())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1500));
    Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    let output = child.wait_with_output().unwrap();
    let document = json(&String::from_utf8(output.stdout).unwrap());
    assert_eq!(document["complete"], false);
    assert!(!document["rows"].as_array().unwrap().is_empty());
}

#[test]
fn a_drawing_marks_where_checks_fail() {
    let over = ["vary", "otter_bend.yaml", "--over", "bore=250 mm..400 mm/4", "--as", "svg"];
    let ran = forebay(&[&over[..], &["--see", "net_head,loss"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.starts_with("<svg") && ran.out.ends_with("</svg>\n"), "{}", ran.out);
    for word in ["bore (mm)", "net head", "loss", "fails"] {
        assert!(ran.out.contains(word), "{word}: {}", ran.out);
    }
    let ran = forebay(&[&over[..], &["--see", "net_head,velocity"]].concat());
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("one vertical axis"), "{}", ran.err);
}
