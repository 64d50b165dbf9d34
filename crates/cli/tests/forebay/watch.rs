//! `run --watch`: computes again after every change, whichever way the file was written.

use std::fs;
use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Child, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};

use crate::running::{command, forebay};

const LONGEST: Duration = Duration::from_secs(20);

const SHEET: &str = "forebay: 1
known:
  flow: 40 L/s
work:
  twice: 2 * flow
  apart: 3 m
check:
  enough: flow > 30 L/s
";

/// A watching command that is ended with the test.
struct Watching {
    child: Child,
    lines: Receiver<String>,
}

impl Watching {
    fn start(folder: &Path, arguments: &[&str]) -> Self {
        let mut child = command(&[&["run", "sheet.yaml", "--watch"], arguments].concat())
            .current_dir(folder)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let (send, lines) = channel();
        let out = BufReader::new(child.stdout.take().unwrap());
        let err = BufReader::new(child.stderr.take().unwrap());
        let also = send.clone();
        thread::spawn(move || {
            out.lines().map_while(Result::ok).for_each(|line| drop(send.send(line)))
        });
        thread::spawn(move || {
            err.lines().map_while(Result::ok).for_each(|line| drop(also.send(line)))
        });
        let mut watching = Self { child, lines };
        watching.until("watching sheet.yaml");
        watching
    }

    /// The lines up to the first one with these words.
    fn until(&mut self, words: &str) -> String {
        let end = Instant::now() + LONGEST;
        let mut seen = String::new();
        while let Ok(line) = self.lines.recv_timeout(end.saturating_duration_since(Instant::now()))
        {
            seen.push_str(&line);
            seen.push('\n');
            if line.contains(words) {
                return seen;
            }
        }
        panic!("`{words}` did not come; seen:\n{seen}");
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn changes_are_shown_with_old_and_new_value() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sheet.yaml");
    fs::write(&file, SHEET).unwrap();
    let mut watching = Watching::start(folder.path(), &[]);

    // Written in place.
    fs::write(&file, SHEET.replace("40 L/s", "44 L/s")).unwrap();
    watching.until("Changed");
    let seen = watching.until("1 check");
    assert!(seen.contains("flow      40 L/s → 44 L/s     +4.00 L/s, +10.0 %"), "{seen}");
    assert!(seen.contains("twice  80.00 L/s → 88.00 L/s"), "{seen}");
    assert!(!seen.contains("apart"), "{seen}");

    // Replaced by another file, as many editors do.
    let other = folder.path().join("other");
    fs::write(&other, SHEET.replace("40 L/s", "20 L/s")).unwrap();
    fs::rename(&other, &file).unwrap();
    watching.until("Changed");
    let seen = watching.until("1 check");
    assert!(seen.contains("44 L/s → 20 L/s"), "{seen}");
    assert!(seen.contains("holds → FAILS"), "{seen}");

    // Broken for a moment: what is sound again is compared with what was sound before.
    fs::write(&file, "forebay: 1\nknown: [\n").unwrap();
    watching.until("whole again");
    fs::write(&file, SHEET.replace("40 L/s", "22 L/s")).unwrap();
    watching.until("Changed");
    let seen = watching.until("1 check");
    assert!(seen.contains("20 L/s → 22 L/s"), "{seen}");

    // Gone for a moment.
    fs::remove_file(&file).unwrap();
    watching.until("waiting for it");
    fs::write(&file, SHEET).unwrap();
    watching.until("Changed");
    let seen = watching.until("1 check");
    assert!(seen.contains("22 L/s → 40 L/s"), "{seen}");
    assert!(watching.child.try_wait().unwrap().is_none());
}

#[test]
fn a_file_that_the_sheet_uses_is_watched_too() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = "forebay: 1\ntables:\n  t:\n    columns: { level: m }\n    csv: levels.csv\nwork:\n  highest: greatest(t.level)\n";
    fs::write(folder.path().join("sheet.yaml"), sheet).unwrap();
    fs::write(folder.path().join("levels.csv"), "level\n12\n").unwrap();
    let mut watching = Watching::start(folder.path(), &[]);
    fs::write(folder.path().join("levels.csv"), "level\n12\n13.5\n").unwrap();
    watching.until("Changed");
    let seen = watching.until("no checks");
    assert!(seen.contains("12.00 m → 13.50 m"), "{seen}");
}

#[test]
fn only_files_can_be_watched() {
    for name in ["-", "whole-site"] {
        let ran = forebay(&["run", name, "--watch"]);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains("only a file can be watched"), "{}", ran.err);
    }
}
