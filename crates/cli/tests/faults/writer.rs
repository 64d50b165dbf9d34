//! A process of this very test that writes one file again and again, to be killed or hindered.

use std::env;
use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use forebay_page::replace;

const FILE: &str = "FOREBAY_WRITER_FILE";
const ONCE: &str = "FOREBAY_WRITER_ONCE";
/// Long enough that writing it takes several calls of the system.
const LINES: u64 = 3_000;

/// A text that is whole only if all its lines bear one number.
pub(crate) fn text(number: u64) -> String {
    let line = format!("known_{number}: {number} m # of a sheet whose lines belong together\n");
    format!("{}end of {number}\n", line.repeat(usize::try_from(LINES + number % 50).unwrap()))
}

/// The number of a whole text.
pub(crate) fn number(found: &str) -> Option<u64> {
    let number = found.trim_end().rsplit("end of ").next()?.parse().ok()?;
    (found == text(number)).then_some(number)
}

/// Not a test: what the process does that the tests start.
#[test]
#[ignore = "is started by other tests"]
fn writing() {
    let Some(file) = env::var_os(FILE) else { return };
    if env::var_os(ONCE).is_some() {
        let written = replace(Path::new(&file), &text(9));
        std::process::exit(if written.is_ok() { 0 } else { 7 });
    }
    for number in 1.. {
        replace(Path::new(&file), &text(number)).unwrap();
    }
}

/// The words that start the process.
pub(crate) fn words() -> [String; 4] {
    let this = env::current_exe().unwrap().to_str().unwrap().to_owned();
    [this, "--exact".to_owned(), "writer::writing".to_owned(), "--ignored".to_owned()]
}

/// Prepares a command to write a file once.
pub(crate) fn once<'c>(command: &'c mut Command, file: &Path) -> &'c mut Command {
    command.env(FILE, file).env(ONCE, "1").stdout(Stdio::null()).stderr(Stdio::null())
}

fn start(file: &Path) -> Child {
    let words = words();
    Command::new(&words[0])
        .args(&words[1..])
        .env(FILE, file)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Numbers without a pattern, the same in each run.
struct Draw(u64);

impl Draw {
    /// From 0 up to a bound.
    fn below(&mut self, bound: u64) -> u64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % bound
    }
}

#[test]
fn a_thousand_kills_leave_the_old_file_or_the_new_one() {
    const KILLS: usize = 1_000;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("brook.yaml");
    fs::write(&file, text(0)).unwrap();
    let mut draw = Draw(20_261_125);
    let (mut fresh, mut cut_short) = (0, 0);
    for kill in 0..KILLS {
        let before = number(&fs::read_to_string(&file).unwrap()).unwrap();
        let mut child = start(&file);
        // Past the start of the process, and somewhere within the first few writings.
        std::thread::sleep(Duration::from_micros(500 + draw.below(12_000)));
        child.kill().unwrap();
        let status = child.wait().unwrap();
        assert!(!status.success(), "the writer ended by itself");
        let now = fs::read_to_string(&file).unwrap();
        let after = number(&now);
        assert!(after.is_some(), "after kill {kill} the file is torn: {} bytes", now.len());
        fresh += usize::from(after != Some(before));
        // What the dead left beside is in nobody's way; it shows that the kill came in between.
        for entry in fs::read_dir(folder.path()).unwrap().map(Result::unwrap) {
            if entry.path() != file {
                cut_short += 1;
                fs::remove_file(entry.path()).unwrap();
            }
        }
    }
    println!("\nkills while writing: {KILLS} tried, {KILLS} held");
    // Kills that come too early or too late would try nothing.
    assert!(fresh > KILLS / 20, "{fresh} of {KILLS} kills came after a writing");
    assert!(cut_short > KILLS / 50, "{cut_short} of {KILLS} kills came amid a writing");
    replace(&file, &text(1)).unwrap();
}

#[test]
fn a_torn_text_is_noticed() {
    assert_eq!(number(&text(12)), Some(12));
    let (old, new) = (text(11), text(12));
    assert_eq!(number(&format!("{}{}", &new[..5_000], &old[5_000..])), None);
    assert_eq!(number(&new[..new.len() / 2]), None);
    assert_eq!(number(""), None);
}
