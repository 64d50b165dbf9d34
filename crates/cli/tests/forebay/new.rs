//! `new`: templates and the user's own beside them, and nobody's file is overwritten.

use std::fs;
use std::path::Path;

use forebay_sheet::Stage;

use crate::running::{Ran, assert_fits, command, forebay, ran};

#[test]
fn templates_are_listed_and_written_out() {
    let listed = listing(Path::new("/nowhere"));
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

/// The list of templates of somebody whose settings are in this folder.
fn listing(settings: &Path) -> Ran {
    ran(command(&["new"]).env("XDG_CONFIG_HOME", settings))
}

#[test]
fn templates_stand_in_the_order_of_the_job() {
    let listed = listing(Path::new("/nowhere")).out;
    assert_fits(&listed, 80);
    let mut order: Vec<(Stage, usize)> = forebay_sheet::templates()
        .iter()
        .map(|template| (template.stage, listed.find(&format!("\n  {} ", template.name)).unwrap()))
        .collect();
    order.sort_unstable();
    assert!(order.is_sorted_by_key(|(_, place)| *place), "{listed}");
}

#[test]
fn own_templates_are_listed_by_title_and_come_first() {
    let settings = tempfile::tempdir().unwrap();
    let folder = settings.path().join("forebay").join("templates");
    fs::create_dir_all(&folder).unwrap();
    let own = "forebay: 1\ntitle: How we quote in our valley\n";
    fs::write(folder.join("valley.yaml"), own).unwrap();
    fs::write(folder.join("whole-site.yml"), own).unwrap();
    fs::write(folder.join("broken.yaml"), [0xff, 0xfe]).unwrap();
    fs::write(folder.join("notes.txt"), "no sheet").unwrap();
    let listed = listing(settings.path()).out;
    assert!(listed.contains("valley                   How we quote in our valley\n"), "{listed}");
    assert!(listed.contains("cannot be read: it is not a text in UTF-8"), "{listed}");
    assert!(!listed.contains("notes"), "{listed}");
    let new = |arguments: &[&str]| {
        ran(command(&[&["new"], arguments].concat()).env("XDG_CONFIG_HOME", settings.path()))
    };
    assert_eq!(new(&["valley"]).out, own);
    assert_eq!(new(&["whole-site"]).out, own, "the user's own comes first");
    assert!(new(&["valey"]).err.contains("did you mean `valley`?"));
    assert!(new(&["../templates/valley"]).err.contains("there is no template"));

    let elsewhere = folder.to_str().unwrap();
    let from = |arguments: &[&str]| forebay(&[&["new", "--from", elsewhere], arguments].concat());
    assert_eq!(from(&["valley"]).out, own);
    let missing = forebay(&["new", "--from", "/nowhere/at/all"]);
    assert_eq!(missing.code, 2);
    assert!(missing.err.contains("no such file"), "{}", missing.err);
}
