//! Sheets that want to do harm, each opened by the command in a process of its own with little time
//! and memory: every one ends with exit code 2 and says why, and none reaches for a file or a socket.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a panic here is a failing test")]

mod confined;
mod sheets;

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use confined::{Confined, Ended};
use sheets::{HARMLESS, Hostile, hostile};

/// How many bytes a run may say beside a line a cell: a terminal full or two, not a flood.
const MOST_SAID: usize = 100_000;

#[test]
fn every_hostile_sheet_ends_soon_with_a_diagnostic() {
    let all = hostile();
    assert!(all.len() >= 60, "{}", all.len());
    let fallen = Mutex::new(Vec::new());
    let next = AtomicUsize::new(0);
    let some = std::thread::available_parallelism().map_or(2, usize::from).clamp(1, 8);
    std::thread::scope(|scope| {
        for _ in 0..some {
            scope.spawn(|| {
                while let Some(one) = all.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let ended = Confined::new(one).run();
                    let said = ended.err.lines().find(|line| line.contains('×'));
                    let said = said.or_else(|| ended.err.lines().next()).unwrap_or_default();
                    println!("  {}: {}", one.name, said.chars().take(100).collect::<String>());
                    let why = why_not(one, &ended);
                    let why = why.map(|why| format!("{}: {why}", one.name));
                    fallen.lock().unwrap().extend(why);
                }
            });
        }
    });
    let fallen = fallen.into_inner().unwrap();
    println!("hostile sheets: {} tried, {} held", all.len(), all.len() - fallen.len());
    assert!(fallen.is_empty(), "{} of {}:\n{}", fallen.len(), all.len(), fallen.join("\n"));
}

/// Why a run did not end as it should.
fn why_not(one: &Hostile, ended: &Ended) -> Option<String> {
    let said = format!("{}{}", ended.out, ended.err);
    let steers = |c: char| {
        (c.is_control() && c != '\n')
            || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    // What is told stands in the margin of the excerpt or wrapped at the edge.
    let told: String =
        said.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
    let shown = || told.chars().take(600).collect::<String>();
    if ended.timed_out {
        Some(format!("did not end within {:?}", confined::WALL))
    } else if ended.code != Some(2) {
        Some(format!("ended with {:?} (signal {:?}): {}", ended.code, ended.signal, shown()))
    } else if !told.contains(one.says) {
        Some(format!("does not say `{}`: {}", one.says, shown()))
    } else if told.contains(confined::SECRET) {
        Some("told the secret".to_owned())
    } else if said.chars().any(steers) {
        Some("steers the terminal".to_owned())
    } else if said.len() > MOST_SAID + 2 * one.size() {
        Some(format!("says {} bytes", said.len()))
    } else {
        ended.reached.first().map(|call| format!("reached for {call}"))
    }
}

#[test]
fn odd_but_harmless_texts_are_computed_and_cannot_steer_the_terminal() {
    for (name, sheet) in HARMLESS {
        let one = Hostile::sheet(name, sheet, "");
        let ended = Confined::new(&one).run();
        assert_eq!(ended.code, Some(0), "{name}: {}{}", ended.out, ended.err);
        let why = why_not(&one, &Ended { code: Some(2), ..ended });
        assert_eq!(why, None, "{name}");
    }
}

/// The fence itself is tried: what it is to stop, it stops.
#[test]
fn the_fence_holds_a_process_that_takes_too_much() {
    let memory = Confined::shell("x=aaaaaaaa; while :; do x=$x$x; done").run();
    assert!(memory.code != Some(0) && !memory.timed_out, "{memory:?}");
    let time = Confined::shell("while :; do :; done").seconds(1).run();
    assert!(time.signal.is_some() && !time.timed_out, "{time:?}");
    let file = Confined::shell("cat ../secret.csv").run();
    assert!(file.out.contains(confined::SECRET), "{file:?}");
    if confined::can_trace() {
        assert!(file.reached.iter().any(|call| call.contains("secret.csv")), "{file:?}");
    }
}
