//! `new`: templates, and nobody's file is overwritten.

use std::fs;

use crate::running::{command, forebay, ran};

#[test]
fn templates_are_listed_and_written_out() {
    let listed = forebay(&["new"]);
    for template in forebay_sheet::templates() {
        assert!(listed.out.contains(template.name));
        assert_eq!(forebay(&["new", template.name]).out, template.text);
    }
}

#[test]
fn a_file_that_is_there_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let new = |arguments: &[&str]| {
        ran(command(&[&["new", "whole-site", "-o", "mine.yaml"], arguments].concat())
            .current_dir(folder.path()))
    };
    let file = folder.path().join("mine.yaml");
    let text = forebay_sheet::template("whole-site").unwrap().text;
    assert_eq!(new(&[]).code, 0);
    assert_eq!(fs::read_to_string(&file).unwrap(), text);
    fs::write(&file, "mine").unwrap();
    let refused = new(&[]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("--replace"), "{}", refused.err);
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    assert_eq!(new(&["--replace"]).code, 0);
    assert_eq!(fs::read_to_string(&file).unwrap(), text);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "something was left behind");
}
