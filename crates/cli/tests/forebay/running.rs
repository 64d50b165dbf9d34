//! One way to run the command, and one way to hold a text against its golden file.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// What a run gave.
#[derive(Debug)]
pub(crate) struct Ran {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

/// The command with surroundings that are the same everywhere.
pub(crate) fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_forebay"));
    command
        .args(arguments)
        .current_dir(sheets())
        .env_remove("COLUMNS")
        .env_remove("NO_COLOR")
        .env("LC_ALL", "C.UTF-8")
        .env("TERM", "xterm");
    command
}

/// Runs the command among the sheets of these tests.
pub(crate) fn forebay(arguments: &[&str]) -> Ran {
    ran(&mut command(arguments))
}

/// Runs a command that was prepared.
pub(crate) fn ran(command: &mut Command) -> Ran {
    let output = command.stdin(Stdio::null()).output().unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Runs the command on a sheet that it reads from the standard input.
pub(crate) fn on_sheet(sheet: &str, arguments: &[&str]) -> Ran {
    let mut child = command(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(sheet.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

pub(crate) fn sheets() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/forebay/sheets")
}

/// Holds a text against its golden file; `UPDATE=1` rewrites the file.
pub(crate) fn golden(name: &str, text: &str) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/forebay/golden").join(name);
    if std::env::var_os("UPDATE").is_some_and(|update| update == "1") {
        fs::write(&file, text).unwrap();
        return;
    }
    let expected = fs::read_to_string(&file).unwrap_or_default();
    assert!(text == expected, "{name} differs (UPDATE=1 rewrites it); now it is:\n{text}");
}

/// No line may be wider than the terminal.
pub(crate) fn assert_fits(text: &str, columns: usize) {
    for line in text.lines() {
        assert!(line.chars().count() <= columns, "wider than {columns}: {line}");
    }
}
