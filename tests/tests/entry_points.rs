//! A short burst at every door through which texts of strangers come in, and all that was ever found
//! there: files of `tests/fuzz/found/NAME/`, each tried again.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use forebay_tests::entry_points::{ENTRY_POINTS, EntryPoint, not_a_number};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseError, TestRunner};

/// How many texts each door is sent, unless `FOREBAY_BURST` says otherwise.
const USUAL: u32 = 150;

fn burst() -> u32 {
    std::env::var("FOREBAY_BURST").ok().and_then(|count| count.parse().ok()).unwrap_or(USUAL)
}

/// Takes a text in; what went wrong, if something did.
fn knock(door: &EntryPoint, text: &str) -> Result<(), String> {
    catch_unwind(AssertUnwindSafe(|| (door.take)(text))).map_err(|panic| {
        let said = panic.downcast_ref::<String>().cloned();
        said.or_else(|| panic.downcast_ref::<&str>().map(|&said| said.to_owned()))
            .unwrap_or_default()
    })
}

/// A piece that often breaks readers.
fn piece() -> impl Strategy<Value = String> {
    let known = prop::sample::select(vec![
        "",
        " ",
        "\n",
        "\t",
        "\0",
        "\u{feff}",
        "\u{202e}",
        "é",
        "日",
        "\u{301}",
        "'",
        "\"",
        "#",
        ": ",
        "- ",
        "{",
        "}",
        "[",
        "]",
        "(",
        ")",
        "|",
        ">",
        "&a ",
        "*a",
        "<<: ",
        "!!",
        "---\n",
        "1e308",
        "1e-308",
        "-0",
        "0",
        "9999999999999999999",
        "0/0",
        "1/0",
        "^",
        "^-1",
        "%",
        " m",
        " degC",
        " kPa_abs",
        " EUR",
        "2026-02-30",
        "fn f(x) { f(x) }",
        "while true {}",
        "|q| ",
        "zero_of(",
        "xs",
        "a",
        "~",
        "null",
    ]);
    prop_oneof![8 => known.prop_map(str::to_owned), 1 => "\\PC{0,6}"]
}

/// A seed with pieces cut out, put in and doubled.
fn text_for(door: &EntryPoint) -> impl Strategy<Value = String> + use<> {
    let cut = (any::<prop::sample::Index>(), 0_usize..40, piece(), any::<bool>());
    let seeds = (door.seeds)();
    (prop::sample::select(seeds), prop::collection::vec(cut, 0..6)).prop_map(|(seed, cuts)| {
        let mut letters: Vec<char> = seed.chars().collect();
        for (at, length, piece, keep) in cuts {
            let start = at.index(letters.len() + 1);
            let end = (start + length).min(letters.len());
            let gone: Vec<char> = letters.splice(start..end, piece.chars()).collect();
            if keep {
                letters.splice(start..start, gone);
            }
        }
        letters.into_iter().collect()
    })
}

#[test]
fn a_burst_at_every_door_finds_nothing() {
    let mut tried = 0;
    for door in ENTRY_POINTS {
        // A whole template takes a hundred times as long as a unit.
        let cases = if door.name == "worksheet" { burst() / 3 } else { burst() };
        let mut runner =
            TestRunner::new(Config { cases, failure_persistence: None, ..Config::default() });
        let ran = runner.run(&text_for(door), |text| {
            knock(door, &text).map_err(|why| TestCaseError::fail(format!("{why}\n{text}")))
        });
        assert!(
            ran.is_ok(),
            "{}: {}",
            door.name,
            ran.err().map(|e| e.to_string()).unwrap_or_default()
        );
        tried += cases;
    }
    println!("texts at the doors: {tried} tried, {tried} held");
}

#[test]
fn what_was_found_once_is_tried_again() {
    let mut tried = 0;
    for door in ENTRY_POINTS {
        for seed in (door.seeds)() {
            assert_eq!(knock(door, &seed), Ok(()), "{}: {seed}", door.name);
            tried += 1;
        }
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/found").join(door.name);
        for entry in fs::read_dir(folder).into_iter().flatten() {
            let path = entry.expect("an entry").path();
            let bytes = fs::read(&path).expect("a file that was found");
            let text = String::from_utf8_lossy(&bytes);
            assert_eq!(knock(door, &text), Ok(()), "{}", path.display());
            tried += 1;
        }
    }
    println!("seeds and findings: {tried} tried, {tried} held");
}

#[test]
fn a_word_that_is_no_number_is_seen() {
    assert_eq!(not_a_number("a  NaN m"), Some("NaN"));
    assert_eq!(not_a_number("{\"si\": -inf}"), Some("inf"));
    assert_eq!(not_a_number("Infant banana inferno NaN_a infinite"), None);
}
