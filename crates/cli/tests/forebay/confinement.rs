//! A sheet reads nothing but files of its own folder, and cannot steer the terminal.

use std::fs;

use crate::running::{Ran, command, on_sheet, ran};

/// A sheet in a folder of its own that takes a table from a file, next to a secret.
fn reading(name: &str) -> Ran {
    let outer = tempfile::tempdir().unwrap();
    fs::write(outer.path().join("secret.csv"), "level\n4711\n").unwrap();
    let folder = outer.path().join("sheets");
    fs::create_dir(&folder).unwrap();
    fs::create_dir(folder.join("below")).unwrap();
    fs::write(folder.join("good.csv"), "level\n12\n13\n").unwrap();
    fs::write(folder.join("below/deep.csv"), "level\n4711\n").unwrap();
    fs::write(folder.join(".hidden.csv"), "level\n4711\n").unwrap();
    fs::write(folder.join("latin.csv"), b"level\n\xe9\n").unwrap();
    fs::write(folder.join("huge.csv"), vec![b'1'; 16 * 1024 * 1024 + 1]).unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::symlink;
        symlink("../secret.csv", folder.join("link.csv")).unwrap();
        symlink("good.csv", folder.join("inner.csv")).unwrap();
        symlink("/dev/zero", folder.join("zero.csv")).unwrap();
    }
    let name = name.replace("OUTER", outer.path().to_str().unwrap());
    let sheet = format!(
        "forebay: 1\ntables:\n  readings:\n    columns: {{ level: m }}\n    csv: {name}\nwork:\n  highest: greatest(readings.level)\n"
    );
    fs::write(folder.join("sheet.yaml"), sheet).unwrap();
    ran(command(&["run", "sheet.yaml"]).current_dir(&folder))
}

#[test]
fn a_file_beside_the_sheet_is_read() {
    for name in ["good.csv", "inner.csv"] {
        let ran = reading(name);
        assert_eq!(ran.code, 0, "{name}: {}", ran.err);
        assert!(ran.out.contains("13.00 m"), "{}", ran.out);
    }
}

#[test]
fn nothing_else_is_read() {
    let ways = [
        ("../secret.csv", "own folder"),
        ("OUTER/secret.csv", "own folder"),
        ("below/deep.csv", "own folder"),
        ("./good.csv", "own folder"),
        ("'..\\secret.csv'", "own folder"),
        ("'C:secret.csv'", "own folder"),
        (".hidden.csv", "hidden"),
        ("link.csv", "leads out"),
        ("zero.csv", "leads out"),
        ("latin.csv", "UTF-8"),
        ("huge.csv", "larger than 16 MiB"),
        ("missing.csv", "no such file"),
    ];
    for (name, why) in ways {
        let ran = reading(name);
        let told = ran.err.split_whitespace().filter(|w| *w != "│").collect::<Vec<_>>().join(" ");
        assert_eq!(ran.code, 2, "{name}: {}{}", ran.out, ran.err);
        assert!(told.contains(why), "{name}: {}", ran.err);
        assert!(!ran.out.contains("4711") && !ran.err.contains("4711"), "{name}: {}", ran.err);
    }
}

#[test]
fn a_sheet_from_the_standard_input_has_no_folder() {
    let sheet = "forebay: 1\ntables:\n  t:\n    columns: { a: m }\n    csv: rating.csv\n";
    let ran = on_sheet(sheet, &["run", "-"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("no folder"), "{}", ran.err);
}

#[test]
fn escapes_in_a_sheet_do_not_reach_the_terminal() {
    let sheet = "forebay: 1
title: \"Quiet \\e[31mweir \\u202Egnorw\"
known:
  a: { is: 3 m, about: \"\\e]0;title\\a\" }
  kind: \"'\\u009b2J'\"
work:
  \"b\\e[2J\": a
  c: a + 3 L # \u{202e}
check:
  d: { that: a > 4 m, else: \"\\eP bad\", caution: \"\\u2066 mind\" }
";
    let commands: [&[&str]; 4] =
        [&["run", "-"], &["check", "-"], &["working", "-", "a"], &["working", "-", "d"]];
    for arguments in commands {
        let ran = on_sheet(sheet, arguments);
        for text in [&ran.out, &ran.err] {
            let steers =
                |c: char| c != '\n' && (c.is_control() || ('\u{202a}'..='\u{2069}').contains(&c));
            assert!(!text.chars().any(steers), "{arguments:?}: {text:?}");
        }
    }
    let ran = on_sheet(sheet, &["run", "-"]);
    assert!(ran.out.starts_with("Quiet \\u{1b}[31mweir \\u{202e}gnorw"), "{}", ran.out);
    assert!(ran.err.contains("\\u{202e}"), "{}", ran.err);
}

#[test]
fn a_file_that_is_no_text_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("sheet.yaml"), b"forebay: 1\ntitle: M\xfchle\n").unwrap();
    let ran = ran(command(&["run", "sheet.yaml"]).current_dir(folder.path()));
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("not a text in UTF-8 (line 2)"), "{}", ran.err);
}
