//! How long it takes from a changed field to the painted result, measured in the browser.
//!
//! The bounds hold for an optimised build (`--release`); a debug build, which
//! computes several times as long and often beside other tests, is given ten times as much.

#![allow(clippy::unwrap_used, reason = "a panic here is a failing test")]

#[allow(dead_code, reason = "the browser tests use more of it")]
#[path = "../browser/chromium.rs"]
mod chromium;
#[allow(dead_code, reason = "the browser tests use more of it")]
#[path = "../browser/files.rs"]
mod files;
#[allow(dead_code, reason = "the browser tests use more of it")]
#[path = "../browser/opened.rs"]
mod opened;

use std::fmt::Write as _;
use std::io::Write as _;

use opened::{Opened, with_page};

/// How often a value is changed.
const CHANGES: usize = 21;
/// What a debug build is given.
const ALLOWANCE: f64 = if cfg!(debug_assertions) { 10.0 } else { 1.0 };

/// Milliseconds from the change of a field to the picture that shows what moved, sorted.
async fn measured(page: &Opened, name: &str, values: impl Fn(usize) -> String) -> Vec<f64> {
    let mut times = Vec::new();
    for at in 0..CHANGES {
        let script = format!(
            "performance.clearMeasures();
             const field = document.querySelector('#field-{name}');
             field.value = '{}';
             field.dispatchEvent(new Event('input', {{ bubbles: true }}))",
            values(at)
        );
        page.client().execute(&script, vec![]).await.unwrap();
        page.until("performance.getEntriesByName('forebay-shown').length > 0").await;
        let time = page.value("performance.getEntriesByName('forebay-shown')[0].duration").await;
        times.push(time.parse().unwrap());
    }
    times.sort_by(f64::total_cmp);
    times
}

#[track_caller]
fn check(what: &str, times: &[f64], bound: f64) {
    let median = times[times.len() / 2];
    let bound = bound * ALLOWANCE;
    // Past the test harness: the figures are wanted also where they are good.
    let _ = writeln!(
        std::io::stderr(),
        "{what}: median {median:.1} ms of {} changes (least {:.1}, most {:.1}), bound {bound} ms",
        times.len(),
        times[0],
        times[times.len() - 1]
    );
    assert!(median < bound, "{what}: {median:.1} ms");
}

#[test]
fn a_change_is_painted_at_once() {
    let whole = forebay_sheet::template("whole-site").unwrap().text;
    with_page(whole, async |page| {
        let times = measured(&page, "pond_level", |at| format!("214.{} m", 50 + at)).await;
        check("whole site, pond_level", &times, 50.0);
    });
    // A chain of rows as in a long table: each reads the one before, and all move.
    let mut sheet = String::from("forebay: 1\nknown:\n  flow: 40 L/s\n  bore: 200 mm\nwork:\n");
    sheet.push_str("  v0: flow / circle_area(bore)\n");
    for at in 1..4998 {
        let _ = writeln!(sheet, "  v{at}: 0.5 * v{} + 0.5 * flow / circle_area(bore)", at - 1);
    }
    with_page(&sheet, async |page| {
        let times = measured(&page, "bore", |at| format!("{} mm", 210 + at)).await;
        check("5000 cells, all of which move", &times, 150.0);
    });
}
