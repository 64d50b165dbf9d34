//! The terminal: colour, width, letters, and readers that go away.

use std::io::Read as _;
use std::process::{Command, Stdio};

use crate::running::{assert_fits, command, forebay, ran};

#[test]
fn no_colour_where_there_is_no_terminal() {
    for arguments in [["run", "mistakes.yaml"], ["run", "otter_bend.yaml"]] {
        let ran = forebay(&arguments);
        assert!(!ran.out.contains('\u{1b}') && !ran.err.contains('\u{1b}'));
    }
}

/// Runs the command on a terminal of its own.
#[cfg(target_os = "linux")]
fn on_terminal(arguments: &str, variables: &[(&str, &str)]) -> String {
    let line = format!("stty rows 24 cols 70; {} {arguments}", env!("CARGO_BIN_EXE_forebay"));
    let mut script = Command::new("script");
    script.args(["-qec", &line, "/dev/null"]).current_dir(crate::running::sheets());
    script.env("TERM", "xterm").env("LC_ALL", "C.UTF-8").env_remove("NO_COLOR");
    script.envs(variables.iter().copied()).stdin(Stdio::null());
    String::from_utf8(script.output().unwrap().stdout).unwrap().replace("\r\n", "\n")
}

#[cfg(target_os = "linux")]
#[test]
fn a_terminal_shows_colour_unless_it_is_not_wanted() {
    let coloured = on_terminal("run otter_bend.yaml", &[]);
    assert!(coloured.contains("\u{1b}[1;31mFAILS"), "{coloured}");
    for (name, value) in [("NO_COLOR", "1"), ("TERM", "dumb")] {
        let plain = on_terminal("run otter_bend.yaml", &[(name, value)]);
        assert!(plain.contains("FAILS") && !plain.contains('\u{1b}'), "{plain}");
        let plain = on_terminal("run mistakes.yaml", &[(name, value)]);
        assert!(plain.contains("unlike") && !plain.contains('\u{1b}'), "{plain}");
    }
    // An empty NO_COLOR asks for nothing.
    assert!(on_terminal("run mistakes.yaml", &[("NO_COLOR", "")]).contains('\u{1b}'));
}

#[cfg(target_os = "linux")]
#[test]
fn the_width_of_the_terminal_is_kept() {
    let plain = on_terminal("run mistakes.yaml", &[("NO_COLOR", "1")]);
    assert!(plain.lines().any(|line| line.chars().count() > 60), "{plain}");
    assert_fits(&plain, 70);
}

#[test]
fn the_width_that_the_shell_names_is_kept() {
    for columns in [60, 100] {
        for sheet in ["mistakes.yaml", "otter_bend.yaml", "whole-site"] {
            let ran = ran(command(&["run", sheet]).env("COLUMNS", columns.to_string()));
            assert_fits(&ran.out, columns);
            assert_fits(&ran.err, columns);
        }
    }
}

#[test]
fn a_locale_without_unicode_gets_drawings_in_ascii() {
    let ran = ran(command(&["run", "mistakes.yaml"]).env("LC_ALL", "C"));
    assert!(ran.err.contains("length and volume flow cannot be added"));
    let drawn: Vec<char> = ran.err.chars().filter(|c| "│╭╰─┬·×".contains(*c)).collect();
    assert!(drawn.is_empty(), "{drawn:?}");
}

#[test]
fn a_reader_that_goes_away_ends_the_command_quietly() {
    for arguments in [&["run"][..], &["formulas"], &["units"], &["new", "whole-site"]] {
        let mut child =
            command(arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        // Closed before the command has written anything.
        drop(child.stdout.take());
        let mut told = String::new();
        child.stderr.take().unwrap().read_to_string(&mut told).unwrap();
        assert_eq!(told, "", "{arguments:?}");
        assert_eq!(child.wait().unwrap().code(), Some(0), "{arguments:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn an_output_that_cannot_be_written_is_told() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let mut child = command(&["run"]).stdout(full).stderr(Stdio::piped()).spawn().unwrap();
    let mut told = String::new();
    child.stderr.take().unwrap().read_to_string(&mut told).unwrap();
    assert!(told.contains("cannot be written"), "{told}");
    assert_eq!(child.wait().unwrap().code(), Some(2));
}

#[test]
fn help_keeps_to_the_width_and_states_the_exit_codes() {
    let help = forebay(&["--help"]);
    assert_eq!(help.code, 0);
    assert!(help.out.contains("Exit codes: 0 fine; 1"), "{}", help.out);
    for command in [
        "run", "check", "eval", "working", "formulas", "units", "new", "vary", "solve", "compare",
        "each",
    ] {
        assert!(help.out.contains(&format!("\n  {command}")), "{command}");
        assert_fits(&forebay(&[command, "--help"]).out, 80);
    }
    assert_fits(&help.out, 80);
}
