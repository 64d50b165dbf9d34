//! Hostile functions end soon, with a diagnostic, and leave the rest of the sheet alive.

use std::time::{Duration, Instant};

use forebay_sheet::Sheet;

/// Far more than a debug build needs, far less than a hang.
const SOON: Duration = Duration::from_secs(20);

fn ends(functions: &str, call: &str, codes: &[&str]) {
    let started = Instant::now();
    let sheet = Sheet::open(&format!(
        "forebay: 1\nfunctions: |\n  {}\nwork:\n  hostile: {call}\n  sound: 1 m + 2 m\n",
        functions.replace('\n', "\n  ")
    ));
    assert!(started.elapsed() < SOON, "{functions} took {:?}", started.elapsed());
    let found: Vec<&str> = sheet.diagnostics().iter().map(|d| d.code.name).collect();
    assert!(!found.is_empty(), "{functions} is not refused");
    for code in &found {
        assert!(codes.contains(code), "{functions}: {code} is none of {codes:?}");
    }
    let hostile = sheet.cell("hostile").expect("the cell is there");
    assert!(hostile.value().is_none());
    assert!(hostile.trouble().is_some() && hostile.value().is_none());
    assert_eq!(sheet.cell("sound").expect("the cell is there").shown(), "3.000 m");
}

#[test]
fn an_endless_loop_is_stopped() {
    ends("fn f(x) { while true { x += 1; } x }", "f(1)", &["limit"]);
    ends("fn f(x) { loop { if x > 1e18 { break; } } x }", "f(1)", &["limit"]);
    ends("fn f(x) { let i = 0; while i < 1 { i *= 1; } i }", "f(1)", &["limit"]);
}

#[test]
fn loops_in_loops_are_stopped() {
    let text = "fn f(x) { for a in 0..100000 { for b in 0..100000 { for c in 0..100000 { x += 1; } } } x }";
    ends(text, "f(1)", &["limit"]);
    ends("fn f(x) { for a in 0..9000000000000 { x += 1; } x }", "f(1)", &["limit", "lengths"]);
}

#[test]
fn recursion_is_stopped() {
    let codes = ["limit", "too-deep", "unsupported", "script"];
    ends("fn f(x) { f(x + 1) }", "f(1)", &codes);
    ends("fn f(x) { g(x) }\nfn g(x) { f(x) }", "f(1)", &codes);
}

#[test]
fn functions_that_call_twice_each_do_not_grow_without_bound() {
    let mut text = String::from("fn f0(x) { x + 1 }");
    for at in 1..30 {
        let below = at - 1;
        text.push_str(&format!("\nfn f{at}(x) {{ f{below}(x) + f{below}(x) }}"));
    }
    ends(&text, "f29(1)", &["limit", "too-deep"]);
}

#[test]
fn a_solver_inside_a_solver_is_stopped() {
    let inner = "integral(|c| integral(|d| a * b * c * d, 0, 1), 0, 1)";
    let call = format!(
        "\"integral(|a| integral(|b| {{ let i = 0; while i < 1000 {{ i += 1; }} {inner} }}, 0, 1), 0, 1)\""
    );
    let started = Instant::now();
    let sheet = Sheet::open(&format!("forebay: 1\nwork:\n  deep: {call}\n  sound: 1 m\n"));
    assert!(started.elapsed() < SOON, "took {:?}", started.elapsed());
    // It either has its value or says that it was stopped.
    let deep = sheet.cell("deep").unwrap();
    assert!(deep.value().is_some() || !sheet.diagnostics().is_empty());
    assert_eq!(sheet.cell("sound").unwrap().shown(), "1 m");
}

#[test]
fn what_a_stranger_may_not_do_is_refused() {
    let codes = ["unknown-name", "unsupported", "syntax", "script"];
    for body in [
        "import \"x\" as y; 1",
        "eval(\"1\")",
        "print(1); 1",
        "sleep(9); 1",
        "exit(); 1",
        "timestamp()",
        "open_file(\"/etc/passwd\")",
        "Fn(\"f\").call(1)",
        "x.call(1)",
    ] {
        ends(&format!("fn f(x) {{ {body} }}"), "f(1)", &codes);
    }
}
