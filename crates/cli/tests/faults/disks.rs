//! Disks that are full, protected or bounded: nothing is half written, and it is told.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::writer::{once, text, words};

/// The exit code of a writer whose file was not written.
const REFUSED: Option<i32> = Some(7);

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Runs words in a shell that first sets things up; the words are its arguments.
fn after(setting_up: &str, words: &[String]) -> Command {
    let mut command = Command::new("sh");
    command.arg("-c").arg(format!("{setting_up}; exec \"$@\"")).arg("sh").args(words);
    command
}

/// A writing that the system ends half way, as a quota or a full disk does.
#[test]
fn a_file_that_may_grow_no_further_is_the_old_one() {
    for blocks in [0, 1, 8, 100] {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("brook.yaml");
        fs::write(&file, text(3)).unwrap();
        // With the signal ignored the system answers with an error, as it does on a full disk.
        let bound = format!("trap '' XFSZ; ulimit -f {blocks}");
        let status = once(&mut after(&bound, &words()), &file).status().unwrap();
        assert_eq!(status.code(), REFUSED, "{blocks} blocks");
        assert!(fs::read_to_string(&file).unwrap() == text(3), "{blocks} blocks");
        assert_eq!(names(folder.path()), ["brook.yaml"], "{blocks} blocks");
    }
}

/// A small disk of its own, where the system lets a user have one.
fn on_a_disk(options: &str, then: &str) -> Option<(Option<i32>, String)> {
    let allowed = Command::new("unshare").args(["-rm", "true"]).output();
    if !allowed.is_ok_and(|tried| tried.status.success()) {
        println!("skipped: this system lends nobody a disk");
        return None;
    }
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().to_str().unwrap().to_owned();
    fs::write(folder.path().join("seen"), "").unwrap();
    let old = tempfile::NamedTempFile::new().unwrap();
    fs::write(old.path(), text(3)).unwrap();
    let copy = format!("cp {} {at}/brook.yaml", old.path().display());
    let script = format!(
        "mount -t tmpfs -o {options} none {at} && {copy} && {then}; \"$@\" >/dev/null 2>&1; \
         code=$?; cmp -s {} {at}/brook.yaml && echo old; ls -A {at}; exit $code",
        old.path().display()
    )
    .replace("DISK", &at);
    let mut command = Command::new("unshare");
    command.args(["-rm", "sh", "-c", &script, "sh"]).args(words());
    let output = once(&mut command, &folder.path().join("brook.yaml"))
        .stdout(std::process::Stdio::piped())
        .output()
        .unwrap();
    Some((output.status.code(), String::from_utf8(output.stdout).unwrap()))
}

#[test]
fn on_a_full_disk_the_file_is_the_old_one() {
    let size = text(3).len();
    let Some(ended) = on_a_disk(&format!("size={}", size + 40_000), "true") else { return };
    assert_eq!(ended, (REFUSED, "old\nbrook.yaml\n".to_owned()));
    // With room enough it is written: the test can tell.
    let Some((code, told)) = on_a_disk("size=8m", "true") else { return };
    assert_eq!((code, told.contains("old")), (Some(0), false));
}

#[test]
fn in_a_folder_that_is_read_only_the_file_is_the_old_one() {
    let Some(ended) = on_a_disk("size=8m", "mount -o remount,ro DISK") else { return };
    assert_eq!(ended, (REFUSED, "old\nbrook.yaml\n".to_owned()));
}

#[test]
fn a_report_that_cannot_be_written_is_told_and_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("site.html");
    let report = [env!("CARGO_BIN_EXE_forebay"), "report", "first-look", "--output"];
    let words: Vec<String> =
        report.into_iter().chain([out.to_str().unwrap()]).map(str::to_owned).collect();
    // The outputs are pipes, which the bound does not touch.
    let output = after("trap '' XFSZ; ulimit -f 0", &words).output().unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{told}");
    assert!(told.contains("cannot be written"), "{told}");
    assert_eq!(names(folder.path()), [""; 0]);
    let output = after("true", &words).output().unwrap();
    assert_ne!(output.status.code(), Some(2));
    assert_eq!(names(folder.path()), ["site.html"]);
}

#[test]
fn a_folder_that_is_not_there_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let gone = folder.path().join("gone/brook.yaml");
    let status = once(&mut after("true", &words()), &gone).status().unwrap();
    assert_eq!(status.code(), REFUSED);
    assert_eq!(names(folder.path()), [""; 0]);
}
