//! `run` and `check`: exit codes, JSON, settings, and the embedded site.

use serde_json::Value;

use crate::running::{assert_fits, forebay, on_sheet};

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

#[test]
fn the_embedded_site_runs_without_a_file() {
    let ran = forebay(&["run"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_fits(&ran.out, 80);
    let document = json(&forebay(&["run", "--as", "json"]).out);
    let cells = document["cells"].as_object().unwrap();
    assert!(cells.len() >= 50);
    assert!(cells.values().all(|cell| cell["state"] == "value"));
    assert!(document["checks"].as_object().unwrap().values().all(|c| c["state"] == "holds"));
}

#[test]
fn the_exit_code_says_how_the_sheet_stands() {
    let sheet = |level: &str, than: &str| {
        format!(
            "forebay: 1\nknown:\n  a: 3 m\ncheck:\n  b: {{ that: a > {than}, level: {level} }}\n"
        )
    };
    let code = |sheet: &str, command: &str| on_sheet(sheet, &[command, "-"]).code;
    for command in ["run", "check"] {
        assert_eq!(code(&sheet("stop", "2 m"), command), 0);
        assert_eq!(code(&sheet("stop", "4 m"), command), 1);
        assert_eq!(code(&sheet("care", "4 m"), command), 0);
        assert_eq!(code(&sheet("stop", "4 L"), command), 2);
        assert_eq!(code("forebay: 1\nknown: [", command), 2);
    }
}

#[test]
fn json_carries_values_in_their_units_and_in_si() {
    let document = json(&forebay(&["run", "otter_bend.yaml", "--as", "json"]).out);
    assert_eq!(document["schema"], 1);
    assert_eq!(document["currency"], "EUR");
    let bore = &document["cells"]["bore"];
    assert_eq!(
        (&bore["value"], &bore["unit"], &bore["si"]),
        (&315.0.into(), &"mm".into(), &0.315.into())
    );
    assert_eq!(bore["from"], "quoted");
    // 61.84 m − 58.9 m.
    let head = &document["cells"]["gross_head"];
    assert!((head["value"].as_f64().unwrap() - 2.94).abs() < 1e-12);
    assert_eq!(head["dimension"], "length");
    // Money is exact, a text; a gap in a series is null.
    assert_eq!(document["cells"]["cost"]["value"], "14800.00");
    assert_eq!(document["cells"]["by_month"]["value"], serde_json::json!([155.0, 145.0, null]));
    let check = &document["checks"]["crest_is_low_enough"];
    assert_eq!((&check["state"], &check["level"]), (&"fails".into(), &"stop".into()));
    assert_eq!(check["right"]["value"], 2.5);
    assert!((check["margin"]["si"].as_f64().unwrap() + 0.44).abs() < 1e-12);
}

#[test]
fn json_of_a_broken_sheet_has_states_and_places() {
    let ran = forebay(&["run", "mistakes.yaml", "--as", "json"]);
    assert_eq!(ran.code, 2);
    assert_eq!(ran.err, "");
    let document = json(&ran.out);
    let state = |name: &str| document["cells"][name]["state"].clone();
    assert_eq!(state("sum"), "broken");
    assert_eq!(state("behind_it"), "waiting");
    assert_eq!(document["cells"]["behind_it"]["waits_for"], serde_json::json!(["sum"]));
    assert_eq!(state("root"), "failed");
    assert_eq!(state("sound"), "value");
    assert_eq!(document["cells"]["sum"]["value"], Value::Null);
    assert_eq!(document["checks"]["unknown_yet"]["state"], "unknown");
    let found = document["diagnostics"].as_array().unwrap();
    let unlike = found.iter().find(|d| d["code"] == "unlike").unwrap();
    let labels = unlike["labels"].as_array().unwrap();
    let place = |at: usize| (labels[at]["line"].as_u64(), labels[at]["column"].as_u64());
    assert_eq!(place(0), (Some(8), Some(8)));
    assert_eq!(place(1), (Some(8), Some(15)));
}

#[test]
fn knowns_and_cases_are_set_from_the_command_line() {
    let bore = |arguments: &[&str]| {
        let ran = forebay(&[&["run", "otter_bend.yaml", "--as", "json"], arguments].concat());
        json(&ran.out)["cells"]["bore"]["si"].clone()
    };
    assert_eq!(bore(&["--set", "bore=250 mm"]), 0.25);
    assert_eq!(bore(&["--case", "big_pipe"]), 0.4);
    assert_eq!(bore(&["--case", "big_pipe", "--set", "bore = 25 cm"]), 0.25);
}

#[test]
fn a_setting_that_is_refused_gives_no_results() {
    let check = |arguments: &[&str], words: &[&str]| {
        let ran = forebay(&[&["run", "otter_bend.yaml"], arguments].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
        for word in words {
            assert!(ran.err.contains(word), "{word}: {}", ran.err);
        }
    };
    check(&["--set", "bore"], &["has no `=`"]);
    check(&["--set", "boar=3 m"], &["there is no known `boar`", "did you mean `bore`?"]);
    check(&["--set", "bore=3 L"], &["volume"]);
    check(&["--set", "bore=3 mm", "--set", "cost=3 m"], &["length"]);
    check(&["--set", "velocity=3 m/s"], &["worked out and cannot be set"]);
    check(&["--case", "big_pip"], &["there is no case `big_pip`", "big_pipe"]);
}

#[test]
fn what_is_mistyped_is_met_with_what_was_meant() {
    let check = |arguments: &[&str], words: &[&str]| {
        let ran = forebay(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
        for word in words {
            assert!(ran.err.contains(word), "{word}: {}", ran.err);
        }
    };
    check(&["runn"], &["'run'"]);
    check(&["run", "--as", "jsn"], &["'json'"]);
    check(&["run", "whole-sit"], &["no file and no template", "`whole-site`"]);
    check(&["run", "oter_bend.yaml"], &["`otter_bend.yaml`"]);
    check(&["run", "."], &["it is a folder"]);
    check(&["check", "nowhere/at_all.yaml"], &["no file and no template"]);
    check(&["formulas", "friction_haed"], &["did you mean `friction_head`?"]);
    check(&["formulas", "zero_off"], &["did you mean `zero_of`?"]);
    check(&["units", "furlongg"], &["forebay units"]);
    check(&["new", "whole_site"], &["did you mean `whole-site`?"]);
    check(&["working", "otter_bend.yaml", "net_haed"], &["did you mean `net_head`?"]);
}

#[test]
fn the_cautions_of_a_check_are_shown_whether_it_holds_or_not() {
    let sheet = "forebay: 1\nknown:\n  a: 3 m\ncheck:\n  b:\n    that: a > 2 m\n    else: Stop here.\n    caution: It can fold. Nobody stands by.\n";
    let ran = on_sheet(sheet, &["check", "-"]);
    assert!(ran.out.contains("Caution: It can fold. Nobody stands by.\n"), "{}", ran.out);
    assert!(!ran.out.contains("Stop here"));
    let ran = on_sheet(&sheet.replace("> 2 m", "> 4 m"), &["check", "-"]);
    assert!(ran.out.contains("Caution: It can fold. Nobody stands by.\n"), "{}", ran.out);
    assert!(ran.out.contains("Stop here."));
    assert!(ran.out.ends_with("1 check: 0 hold, 1 fails (care)\n"), "{}", ran.out);
}
