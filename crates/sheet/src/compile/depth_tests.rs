//! Deep formulas end with a diagnostic or a value, never with the end of the stack: these tests run
//! on the 2 MB of a test's thread.

use crate::{Code, Sheet};

fn codes(text: &str) -> Vec<&'static Code> {
    Sheet::open(text).diagnostics().iter().map(|d| d.code).collect()
}

#[test]
fn the_longest_sum_is_computed_and_the_next_one_refused() {
    let sum = |terms: usize| format!("forebay: 1\nwork:\n  a: {}\n", vec!["1"; terms].join(" + "));
    let sheet = Sheet::open(&sum(199));
    assert_eq!(sheet.cell("a").unwrap().shown(), "199");
    assert_eq!(codes(&sum(2000)), [Code::TOO_DEEP]);
}

#[test]
fn the_deepest_brackets_are_computed_and_deeper_ones_refused() {
    let nested = |deep: usize| {
        format!("forebay: 1\nwork:\n  a: {}1{}\n", "(".repeat(deep), ")".repeat(deep))
    };
    assert_eq!(Sheet::open(&nested(31)).cell("a").unwrap().shown(), "1");
    assert_eq!(codes(&nested(40)), [Code::TOO_DEEP]);
    assert_eq!(codes(&nested(20_000)), [Code::TOO_DEEP]);
}

#[test]
fn nested_branches_are_computed_or_refused() {
    let nested = |deep: usize| {
        format!(
            "forebay: 1\nfunctions: |\n  fn f(x) {{ {}x{} }}\nwork:\n  a: f(2)\n",
            "if x > 1 { ".repeat(deep),
            " } else { 3 }".repeat(deep)
        )
    };
    assert_eq!(Sheet::open(&nested(15)).cell("a").unwrap().shown(), "2");
    assert_eq!(codes(&nested(400)), [Code::TOO_DEEP]);
}

#[test]
fn functions_that_call_functions_are_computed_or_refused() {
    let chain = |deep: usize, terms: usize| {
        let pad = " + 1".repeat(terms);
        let mut text = String::from("forebay: 1\nfunctions: |\n  fn f0(x) { x }\n");
        for n in 1..=deep {
            text.push_str(&format!("  fn f{n}(x) {{ f{}(x){pad} }}\n", n - 1));
        }
        text.push_str(&format!("work:\n  a: f{deep}(1)\n"));
        text
    };
    assert_eq!(Sheet::open(&chain(20, 5)).cell("a").unwrap().shown(), "101");
    assert_eq!(codes(&chain(30, 150)), [Code::TOO_DEEP]);
    assert_eq!(codes(&chain(60, 0)), [Code::TOO_DEEP]);
}

#[test]
fn functions_that_grow_at_every_call_are_refused() {
    let mut text = String::from("forebay: 1\nfunctions: |\n  fn f0(x) { x + x }\n");
    for n in 1..=30 {
        let before = n - 1;
        text.push_str(&format!("  fn f{n}(x) {{ f{before}(x) + f{before}(x) }}\n"));
    }
    text.push_str("work:\n  a: f30(1)\n");
    assert_eq!(codes(&text), [Code::TOO_DEEP]);
}
