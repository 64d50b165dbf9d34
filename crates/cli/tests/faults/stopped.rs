//! Long work that is stopped or killed: what there is can be told from the whole.

use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const SHEET: &str = "forebay: 1
show: [power]
known:
  flow: { is: 40 L/s, plus_minus: 1 L/s }
  head: { is: 3 m, plus_minus: 2 cm }
work:
  power: water_power(flow, head)
";
const ROWS: usize = 1_500_000;

/// A folder with the sheet and a long table.
fn folder(rows: usize) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let mut table = "flow [L/s],head [m]\n".to_owned();
    for at in 0..rows {
        table.push_str(&format!("{},{}\n", 30 + at % 37, 2 + at % 5));
    }
    fs::write(folder.path().join("brook.yaml"), SHEET).unwrap();
    fs::write(folder.path().join("sites.csv"), table).unwrap();
    folder
}

fn start(folder: &Path, words: &[&str]) -> Child {
    let file = |name: &str| fs::File::create(folder.join(name)).unwrap();
    Command::new(env!("CARGO_BIN_EXE_forebay"))
        .args(words)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(file("out"))
        .stderr(file("err"))
        .spawn()
        .unwrap()
}

fn text(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).unwrap()
}

fn signal(child: &Child, name: &str) {
    let status = Command::new("kill").arg(format!("-{name}")).arg(child.id().to_string()).status();
    assert!(status.unwrap().success());
}

/// Waits until the output has grown to so many bytes.
fn wait_for(folder: &Path, bytes: u64) {
    let begun = Instant::now();
    while fs::metadata(folder.join("out")).unwrap().len() < bytes {
        assert!(begun.elapsed() < Duration::from_secs(120), "no output came");
        std::thread::sleep(Duration::from_millis(2));
    }
}

const EACH: [&str; 4] = ["each", "brook.yaml", "--rows", "sites.csv"];

#[test]
fn rows_that_were_stopped_are_marked_as_partial() {
    let folder = folder(ROWS);
    let mut child = start(folder.path(), &EACH);
    wait_for(folder.path(), 10_000);
    signal(&child, "INT");
    assert_eq!(child.wait().unwrap().code(), Some(1));
    let (out, err) = (text(folder.path(), "out"), text(folder.path(), "err"));
    let rows = out.lines().count() - 1;
    assert!(rows > 0 && rows < ROWS, "{rows} rows");
    assert!(err.contains(&format!("partial: stopped by Ctrl-C after {rows} rows")), "{err}");
    let commas = out.lines().next().unwrap().matches(',').count();
    assert!(out.ends_with('\n') && out.lines().all(|line| line.matches(',').count() == commas));
}

/// A process that is killed can say nothing any more: its exit code and the missing count say it,
/// and each row that is there is that of the whole table.
#[test]
fn rows_that_were_killed_are_the_beginning_of_the_whole() {
    let folder = folder(ROWS);
    let mut child = start(folder.path(), &EACH);
    wait_for(folder.path(), 10_000);
    child.kill().unwrap();
    assert_eq!(child.wait().unwrap().code(), None);
    let (part, err) = (text(folder.path(), "out"), text(folder.path(), "err"));
    assert!(!err.contains("rows:"), "{err}");
    let few: String = text(folder.path(), "sites.csv")
        .lines()
        .take(1_001)
        .flat_map(|line| [line, "\n"])
        .collect();
    fs::write(folder.path().join("sites.csv"), few).unwrap();
    assert_eq!(start(folder.path(), &EACH).wait().unwrap().code(), Some(0));
    assert!(text(folder.path(), "err").contains("1000 rows: 1000 fine"));
    let whole = text(folder.path(), "out");
    let compared = part.len().min(whole.len());
    assert!(compared > 1_000 && part[..compared] == whole[..compared]);
}

#[test]
fn samples_that_were_stopped_are_marked_as_partial() {
    let folder = folder(1);
    for (form, mark) in [("text", "partial: stopped after"), ("json", "\"complete\":false")] {
        let words = ["spread", "brook.yaml", "--samples", "40000000", "--as", form];
        let mut child = start(folder.path(), &words);
        std::thread::sleep(Duration::from_millis(1_500));
        signal(&child, "INT");
        let code = child.wait().unwrap().code();
        let out = text(folder.path(), "out");
        assert!(
            out.replace(": ", ":").contains(&mark.replace(": ", ":")),
            "{form} {code:?}: {out}"
        );
        assert_eq!(code, Some(1), "{form}");
        assert!(text(folder.path(), "err").contains("partial: stopped by Ctrl-C"), "{form}");
    }
}

/// A table has no place for the mark: the standard error and the exit code bear it.
#[test]
fn a_table_that_was_stopped_is_marked_as_partial() {
    let folder = folder(1);
    let over = "flow=20 L/s..60 L/s/1000";
    let other = "head=1 m..9 m/1000";
    let words = ["vary", "brook.yaml", "--over", over, "--over", other, "--as", "csv"];
    let mut child = start(folder.path(), &words);
    std::thread::sleep(Duration::from_millis(700));
    signal(&child, "INT");
    assert_eq!(child.wait().unwrap().code(), Some(1));
    let rows = text(folder.path(), "out").lines().count() - 1;
    assert!(rows < 1_000_000);
    let told = format!("partial: stopped by Ctrl-C after {rows} of 1000000 rows");
    assert!(text(folder.path(), "err").contains(&told), "{}", text(folder.path(), "err"));
}
