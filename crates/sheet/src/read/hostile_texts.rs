//! Texts of any kind: bounded in size and time, never a panic, every place inside its text.

use proptest::prelude::*;

use super::tests::outcome;
use crate::diagnostic::{Code, Span};

#[test]
fn depth_and_size_are_bounded() {
    let deep = format!("known:\n  a: {}{}\n  b: 1 m\n", "[".repeat(200), "]".repeat(200));
    let o = outcome(&format!("forebay: 1\n{deep}"));
    assert_eq!(o.found.len(), 1);
    assert_eq!(o.found[0].code, Code::TOO_LARGE);
    assert_eq!((o.names(), o.broken()), (vec!["b"], vec!["a"]));
    for hostile in
        ["[".repeat(100_000), "- ".repeat(100_000), "{a: ".repeat(100_000), "? ".repeat(50_000)]
    {
        let before = std::time::Instant::now();
        let o = outcome(&hostile);
        assert!(!o.found.is_empty());
        assert!(before.elapsed().as_secs() < 5, "{}", &hostile[..4]);
    }
    let o = outcome(&" ".repeat(17 * 1024 * 1024));
    assert_eq!(o.found[0].code, Code::TOO_LARGE);
}

/// Pieces that worksheets and hostile texts are made of.
fn pieces() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "forebay: 1\n",
        "known:\n",
        "work:\n",
        "check:\n",
        "tables:\n",
        "parts:\n",
        "- ",
        "  ",
        "    ",
        "a: ",
        "b: ",
        "is: ",
        "that: ",
        "rows: ",
        "columns: ",
        "csv: ",
        "|\n",
        ">\n",
        "1 m",
        "f(a, b)",
        "{",
        "}",
        "[",
        "]",
        "(",
        ")",
        ", ",
        ": ",
        "\n",
        "\t",
        "\"",
        "'",
        "''",
        "\\",
        "# x",
        " # y\n",
        "&x ",
        "*x",
        "!t ",
        "<<: ",
        "---\n",
        "...\n",
        "% ",
        "@",
        "`",
        "~",
        "µ",
        "\u{feff}",
        "\r\n",
        "? ",
        "\u{0}",
        "\u{2028}",
        "flows.csv",
        "x,y\n",
    ]);
    prop::collection::vec(piece, 0..60).prop_map(|pieces| pieces.concat())
}

fn holds(text: &str) {
    let o = outcome(text);
    let sound = |span: Span| {
        let source = o.sources.source(span).expect("a source");
        assert!(
            source.text.get(span.start as usize..span.end as usize).is_some(),
            "{span:?} in {text:?}"
        );
    };
    for found in &o.found {
        found.labels.iter().for_each(|label| sound(label.span));
    }
    for known in &o.sheet.known {
        sound(known.is.span);
        sound(known.name.span);
    }
    for name in &o.sheet.broken {
        let in_use = o.names().contains(&name.text.as_str());
        assert!(!in_use, "{} is in use and broken in {text:?}", name.text);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn no_text_made_of_pieces_panics(text in pieces()) {
        holds(&text);
    }

    #[test]
    fn no_text_panics(text in any::<String>()) {
        holds(&text);
    }
}

/// Prints how long a large sheet takes; run by hand with `--release --ignored --nocapture`.
#[test]
#[ignore = "a measurement"]
fn large_sheets_are_read_quickly() {
    let mut cells = String::from("forebay: 1\nwork:\n");
    for n in 0..100_000 {
        cells += &format!("  c{n}:\n    is: c{} + {n} m * 2\n    in: m\n", n / 2);
    }
    let rows = "    - [310, 31, 2.5, ~]\n".repeat(100_000);
    let rows = format!(
        "forebay: 1\ntables:\n  t:\n    columns: {{a: m, b: m, c: m, d: m}}\n    rows:\n{rows}"
    );
    let flow = "[310, 31], ".repeat(100_000);
    let flow = format!("forebay: 1\ntables: {{t: {{columns: {{a: m, b: m}}, rows: [{flow}]}}}}\n");
    let faults = cells.replacen("\nwork", "\nwork: x: y\nwork", 1);
    let broken = cells.replace("  c9", "  fn");
    let list = format!("forebay: 1\nknown:\n  a: [{}]\n", "3 L/s, ".repeat(100_000));
    let lines = format!("forebay: 1\nknown:\n  a: [\n{}  ]\n", "    3 µm,\n".repeat(100_000));
    let mut short = String::from("forebay: 1\nwork:\n");
    for n in 0..100_000 {
        short += &format!("  c{n}: c{} + {n} m * 2\n", n / 2);
    }
    for (name, text) in [
        ("short cells", short),
        ("cells", cells),
        ("rows", rows),
        ("flow rows", flow),
        ("fault", faults),
        ("broken", broken),
        ("list", list),
        ("lines", lines),
    ] {
        let before = std::time::Instant::now();
        let o = outcome(&text);
        let whole = before.elapsed();
        let before = std::time::Instant::now();
        let events = saphyr_parser::Parser::new_from_str(&text).take_while(Result::is_ok).count();
        println!(
            "{name}: {} kB, {} found, {whole:?}, of which {events} bare events {:?}",
            text.len() / 1024,
            o.found.len(),
            before.elapsed()
        );
    }
}
