//! `report`: the whole job on paper, and nobody's file is overwritten.

use std::fs;

use crate::running::{command, forebay, golden, on_sheet, ran, sheets};

#[test]
fn a_report_is_written_once_and_never_over_the_sheet() {
    let folder = tempfile::tempdir().unwrap();
    fs::copy(sheets().join("otter_bend.yaml"), folder.path().join("sheet.yaml")).unwrap();
    let report = |arguments: &[&str]| {
        ran(command(&[&["report", "sheet.yaml"], arguments].concat()).current_dir(folder.path()))
    };
    let read = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    let sheet = read("sheet.yaml");
    // A check of level `stop` fails in it: the report is written all the same.
    let first = report(&["-o", "report.html"]);
    assert_eq!(first.code, 1, "{}", first.err);
    assert!(first.err.contains("wrote report.html") && first.out.is_empty());
    let text = read("report.html");
    assert!(text.starts_with("<!DOCTYPE html>") && text.ends_with("</html>\n"));
    assert!(text.contains("Does not pass"));
    let again = report(&["-o", "report.html"]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("--replace"), "{}", again.err);
    assert_eq!(report(&["-o", "report.html", "--replace"]).code, 1);
    let itself = report(&["-o", "./sheet.yaml", "--replace"]);
    assert_eq!(itself.code, 2);
    assert!(itself.err.contains("is the sheet itself"), "{}", itself.err);
    assert_eq!(read("sheet.yaml"), sheet);
    // The ending of the name says how.
    report(&["-o", "report.md"]);
    assert!(read("report.md").starts_with("# "));
    for (name, way_out) in [("report.pdf", "print it to a PDF"), ("report.docx", "--as")] {
        let refused = report(&["-o", name]);
        assert_eq!(refused.code, 2);
        assert!(refused.err.contains(way_out), "{}", refused.err);
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3, "something was left behind");
}

#[test]
fn a_page_needs_nothing_beside_itself() {
    let page = forebay(&["report", "whole-site"]).out;
    for outside in ["src=", "href=\"http", "url(", "@import", "<script", "<link"] {
        assert!(!page.contains(outside), "{outside}");
    }
    // Every link leads somewhere on the page, and no place is there twice.
    let ids: Vec<&str> =
        page.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    let mut once = ids.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), ids.len());
    for link in page.split("href=\"#").skip(1).filter_map(|rest| rest.split('"').next()) {
        assert!(once.binary_search(&link).is_ok(), "{link} leads nowhere");
    }
    assert!(page.matches("<svg").count() >= 5 && page.matches("<math").count() > 50);
    assert_eq!(page.matches("<svg").count(), page.matches("the data as a table").count());
}

#[test]
fn settings_hold_in_a_report_and_are_said() {
    let ran = forebay(&["report", "otter_bend.yaml", "--case", "deep_pit", "--as", "markdown"]);
    assert!(ran.out.contains("other than in the file"), "{}", ran.out);
    let broken = on_sheet("forebay: 1\nwork:\n  a: 1 m + 1 L\n", &["report", "-"]);
    assert_eq!(broken.code, 2);
    assert!(broken.out.contains("Not complete"), "{}", broken.out);
    assert!(broken.err.contains("cannot be added"), "{}", broken.err);
}

#[test]
fn the_data_of_drawings_are_in_json() {
    let sheet = "forebay: 1\nwork:\n  a: [1 m, 2 m]\ndraw:\n  b: { kind: lines, x: a, y: a }\n  c: { kind: lines, y: '[1 m / 0, 1 m]' }\n";
    let document: serde_json::Value =
        serde_json::from_str(&on_sheet(sheet, &["report", "-", "--as", "json"]).out).unwrap();
    assert_eq!(document["drawings"][0]["heads"], serde_json::json!(["a (m)", "a (m)"]));
    assert_eq!(document["drawings"][0]["rows"], serde_json::json!([["1", "1"], ["2", "2"]]));
    assert!(
        document["drawings"][1]["why"].is_string() && document["drawings"][1]["rows"].is_null()
    );
}

#[test]
fn a_report_as_markdown() {
    golden("report.md", &forebay(&["report", "otter_bend.yaml", "--as", "markdown"]).out);
}

#[test]
fn what_cannot_be_drawn_is_told_and_the_rest_goes_on() {
    let sheet = "forebay: 1\nwork:\n  a: [1 m, 2 m]\ndraw:\n  b:\n    kind: lines\n    x: a\n    y: [a, '[1 m, 2 m, 3 m]']\n";
    let ran = on_sheet(sheet, &["check", "-"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("not-drawn") && ran.err.contains("has 3 values"), "{}", ran.err);
}
