//! `each`: rows in, rows out, rows in trouble, parts, and what is refused.

use std::fs;
use std::path::Path;

use crate::running::{Ran, command, golden, ran};

const SHEET: &str = "forebay: 1
known:
  flow: 40 L/s
  head: 3 m
work:
  power: 60 % * water_power(flow, head)
check:
  worth_it: { that: power > 100 W, level: stop }
  large: power > 500 W
";

const SITES: &str = "site,flow [L/s],head,remark
Alder Foss,40,3 m,\"two falls, one above the other\"
Birk Beck,0.02 m3/s,12 ft,
Corn Mill,,3 m,no reading yet
Dark Lane,35,3 L,
Eller Gill,1,1 m,hardly a brook
Fell End,35,-2 m,
Garth,forty,2 m,
Hob Hole,35
Ings,60,2.5 m,last,and more
";

fn in_folder(files: &[(&str, &str)], check: impl FnOnce(&Path, &dyn Fn(&[&str]) -> Ran)) {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let run = |arguments: &[&str]| ran(command(arguments).current_dir(folder.path()));
    check(folder.path(), &run);
}

const EACH: [&str; 6] = ["each", "brook.yaml", "--rows", "sites.csv", "--see", "power"];

#[test]
fn every_row_comes_out_and_trouble_is_counted() {
    in_folder(&[("brook.yaml", SHEET), ("sites.csv", SITES)], |_, run| {
        let ran = run(&EACH);
        assert_eq!(ran.code, 1);
        golden("each.txt", &format!("{}{}", ran.out, ran.err));
        assert!(ran.err.ends_with("9 rows: 2 fine, 7 in trouble (see `trouble`)\n"), "{}", ran.err);
        assert_eq!(ran.out.lines().count(), 10);
        for word in [
            "the value is missing",
            "is volume",
            "stop: worth_it fails",
            "has no value",
            "2 fields",
        ] {
            assert!(ran.out.contains(word), "{word}: {}", ran.out);
        }
        let lines = run(&[&EACH[..], &["--as", "json"]].concat());
        assert_eq!(lines.out.lines().count(), 9);
        for (at, line) in lines.out.lines().enumerate() {
            let line: serde_json::Value = serde_json::from_str(line).unwrap();
            assert_eq!(line["row"], at + 1);
        }
    });
}

#[test]
fn a_row_is_what_run_gives() {
    in_folder(&[("brook.yaml", SHEET), ("sites.csv", SITES)], |_, run| {
        let ran = run(&[&EACH[..], &["--as", "json"]].concat());
        let line: serde_json::Value =
            serde_json::from_str(ran.out.lines().nth(1).unwrap()).unwrap();
        let set = ["--set", "flow=0.02 m3/s", "--set", "head=12 ft", "--as", "json"];
        let whole = run(&[&["run", "brook.yaml"], &set[..]].concat());
        let whole: serde_json::Value = serde_json::from_str(&whole.out).unwrap();
        assert_eq!(line["cells"]["power"]["si"], whole["cells"]["power"]["si"]);
    });
}

#[test]
fn rejected_rows_go_to_their_file_and_none_is_lost() {
    in_folder(&[("brook.yaml", SHEET), ("sites.csv", SITES)], |folder, run| {
        let whole = run(&EACH);
        let ran = run(&[&EACH[..], &["--rejected", "bad.csv"]].concat());
        assert_eq!(ran.code, 1);
        assert!(ran.err.contains("7 in trouble (in bad.csv)"), "{}", ran.err);
        let bad = fs::read_to_string(folder.join("bad.csv")).unwrap();
        let mut both: Vec<&str> = ran.out.lines().chain(bad.lines().skip(1)).collect();
        let mut all: Vec<&str> = whole.out.lines().collect();
        both.sort_unstable();
        all.sort_unstable();
        assert_eq!(both, all);
        // Somebody's file is not written over.
        let again = run(&[&EACH[..], &["--rejected", "bad.csv"]].concat());
        assert_eq!((again.code, again.out.as_str()), (2, ""));
        assert_eq!(fs::read_to_string(folder.join("bad.csv")).unwrap(), bad);
    });
}

#[test]
fn parts_put_together_are_the_whole() {
    in_folder(&[("brook.yaml", SHEET), ("sites.csv", SITES)], |_, run| {
        for form in ["csv", "json"] {
            let whole = run(&[&EACH[..], &["--as", form]].concat()).out;
            for parts in [1, 2, 4, 12] {
                let mut all = String::new();
                for part in 1..=parts {
                    let part = format!("{part}/{parts}");
                    all.push_str(&run(&[&EACH[..], &["--as", form, "--part", &part]].concat()).out);
                }
                assert_eq!(all, whole, "{parts}");
            }
        }
    });
}

#[test]
fn all_fine_is_zero() {
    let fine = "flow [L/s],head [m]\n40,3\n50,3\n";
    in_folder(&[("brook.yaml", SHEET), ("sites.csv", fine)], |_, run| {
        let ran = run(&EACH);
        assert_eq!((ran.code, ran.err.as_str()), (0, "2 rows: 2 fine, 0 in trouble\n"));
    });
}

#[test]
fn a_table_that_does_not_fit_is_refused_before_anything_is_computed() {
    let check = |table: &str, words: &str| {
        in_folder(&[("brook.yaml", SHEET), ("sites.csv", table)], |_, run| {
            let ran = run(&EACH);
            assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{table}: {}", ran.err);
            assert!(ran.err.contains(words), "{table}: {}", ran.err);
        });
    };
    check("", "is empty");
    check("site,remark\na,b\n", "no column");
    check("flow [m]\n3\n", "measures length");
    check("flow;head\n3;4\n", "`;` between its columns");
    check("flow,flow\n3,4\n", "twice");
    check("flow,power\n3,4\n", "come out too");
    in_folder(&[("brook.yaml", SHEET)], |_, run| {
        assert!(run(&EACH).err.contains("`sites.csv` cannot be read"));
        assert_eq!(run(&[&EACH[..], &["--part", "9/8"]].concat()).code, 2);
    });
}

/// Memory does not grow with the rows.
#[cfg(target_os = "linux")]
#[test]
fn many_rows_take_no_more_memory_than_few() {
    let peak = |rows: usize| {
        let mut table = "flow [L/s],head [m]\n".to_owned();
        for at in 0..rows {
            table.push_str(&format!("{},{}\n", 40 + at % 7, 2 + at % 5));
        }
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("brook.yaml"), SHEET).unwrap();
        fs::write(folder.path().join("sites.csv"), table).unwrap();
        let line = format!(
            "{} {} > out.csv 2> err.txt & child=$!; peak=0; \
             while kill -0 $child 2>/dev/null; do \
             now=$(awk '/VmHWM/ {{print $2}}' /proc/$child/status 2>/dev/null); \
             [ -n \"$now\" ] && peak=$now; done; echo $peak",
            env!("CARGO_BIN_EXE_forebay"),
            EACH.join(" ")
        );
        let output = std::process::Command::new("sh")
            .args(["-c", &line])
            .current_dir(folder.path())
            .output()
            .unwrap();
        let out = fs::read_to_string(folder.path().join("out.csv")).unwrap();
        assert_eq!(out.lines().count(), rows + 1);
        String::from_utf8(output.stdout).unwrap().trim().parse::<usize>().unwrap()
    };
    let (few, many) = (peak(3_000), peak(30_000));
    assert!(many < few + few / 4 + 1024, "{few} kB for 3,000 rows, {many} kB for 30,000");
}

#[test]
fn a_headline_that_the_table_gives_is_not_asked_for_twice() {
    let shown = SHEET.replace("known:", "show: [flow, power]\nknown:");
    let fine = "flow [L/s],head [m]\n40,3\n";
    in_folder(&[("brook.yaml", &shown), ("sites.csv", fine)], |_, run| {
        let ran = run(&["each", "brook.yaml", "--rows", "sites.csv"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let head = ran.out.lines().next().unwrap();
        assert!(head.starts_with("flow [L/s],head [m],power"), "{head}");
        assert_eq!(head.matches("flow").count(), 1, "{head}");
        let varied = run(&["vary", "brook.yaml", "--over", "flow=40 L/s..60 L/s/2", "--as", "csv"]);
        let head = varied.out.lines().next().unwrap();
        assert_eq!(head.matches("flow").count(), 1, "{head}");
    });
}
