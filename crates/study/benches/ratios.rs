//! Prints what the library takes as a ratio to the same computation written by hand, both timed by
//! turns in one run, so that a busy or slow machine slows both.

#![allow(clippy::print_stdout)]

mod workload;

use std::hint::black_box;
use std::time::{Duration, Instant};

use forebay_sheet::{Sheet, Value};
use forebay_study::{Sampling, sample, sweep};
use workload::{PLANT, native};

fn main() {
    // `cargo test --benches` runs this too, and wants to know only that it runs.
    let quick = !std::env::args().any(|argument| argument == "--bench");
    let rows = if quick { 2_000 } else { 1_000_000 };
    let large = if quick { 2_000 } else { 1_000_000 };
    println!("{:<46} {:>10} {:>9} {:>8}", "", "time", "ratio", "wanted");
    // One of them alone where it is named: `cargo bench --bench ratios -- rows`.
    let wanted = |name: &str| {
        let mut named = std::env::args().skip(1).filter(|argument| !argument.starts_with('-'));
        named.next().is_none_or(|first| first == name)
    };
    if wanted("row") {
        one_row(quick);
    }
    if wanted("rows") {
        many_rows(rows, quick);
    }
    if wanted("nested") {
        nested(rows / 5, quick);
    }
    if wanted("samples") {
        sampling(if quick { 2_000 } else { 100_000 });
    }
    if wanted("change") {
        after_a_change(large);
    }
    if wanted("loading") {
        loading(if quick { 1_000 } else { 100_000 });
        kept(if quick { 1_000 } else { 100_000 });
    }
    // The whole program, where it is told which file that is.
    if let (Some(program), true) = (std::env::var_os("FOREBAY_PROGRAM"), wanted("process")) {
        process(&program);
    }
}

fn line(what: &str, time: Duration, per: f64, ratio: Option<f64>, wanted: &str) {
    let nanoseconds = time.as_secs_f64() * 1e9 / per;
    let time = if nanoseconds < 10_000.0 {
        format!("{nanoseconds:.1} ns")
    } else {
        format!("{:.1} µs", nanoseconds / 1e3)
    };
    let ratio = ratio.map_or_else(String::new, |ratio| format!("{ratio:.3}"));
    println!("{what:<46} {time:>10} {ratio:>9} {wanted:>8}");
}

/// The least time of several, each one taken by turns with the others.
fn least<const N: usize>(turns: usize, mut timed: [&mut dyn FnMut(); N]) -> [Duration; N] {
    let mut least = [Duration::MAX; N];
    for _ in 0..turns {
        for (least, timed) in least.iter_mut().zip(&mut timed) {
            let since = Instant::now();
            timed();
            *least = since.elapsed().min(*least);
        }
    }
    least
}

/// The level of the pond in a row.
fn level(row: usize) -> f64 {
    24.2 + (row % 1000) as f64 * 1e-3
}

fn native_rows(rows: usize) -> f64 {
    let mut known = native::PLANT;
    let mut sum = 0.0;
    for row in 0..rows {
        known.pond_level = level(row);
        // Every cell counts, as it does in the sheet.
        sum += black_box(native::plant(black_box(&known))).net_power;
    }
    sum
}

fn sheet_rows(sheet: &mut Sheet, rows: usize) {
    for row in 0..rows {
        let set = sheet.set_values(&[("pond_level", Value::Number(level(row)))]);
        black_box(set.expect("a level that fits"));
    }
}

fn one_row(quick: bool) {
    const ROWS: usize = 2000;
    let turns = if quick { 1 } else { 40 };
    let mut plant = Sheet::open(PLANT);
    let [hand, one] = least(
        turns,
        [
            &mut || {
                black_box(native_rows(ROWS));
            },
            &mut || sheet_rows(&mut plant, ROWS),
        ],
    );
    agrees(&plant, ROWS - 1);
    let per = ROWS as f64;
    let ratio = |time: Duration| Some(time.as_secs_f64() / hand.as_secs_f64());
    line("one row by hand", hand, per, None, "");
    line("one row, as after a keystroke", one, per, ratio(one), "1.6");
}

/// What is timed must be the same plant.
fn agrees(sheet: &Sheet, row: usize) {
    assert!(sheet.diagnostics().is_empty(), "{:?}", sheet.diagnostics());
    let cell = sheet.cell("net_power").and_then(|cell| cell.value()?.as_number());
    let power = cell.unwrap_or(f64::NAN);
    let known = native::Known { pond_level: level(row), ..native::PLANT };
    let by_hand = native::plant(&known).net_power;
    assert!((power / by_hand - 1.0).abs() < 1e-11, "{power} and by hand {by_hand}");
}

/// The friction factor searched in the sheet instead of by its formula, one search in the other.
fn nested(rows: usize, quick: bool) {
    const ROWS: usize = 500;
    let turns = if quick { 1 } else { 3 };
    let levels: Vec<f64> = (0..rows).map(level).collect();
    let (mut one, mut many) = (Sheet::open(&workload::nested()), Sheet::open(&workload::nested()));
    let [hand, alone, swept] = least(
        turns,
        [
            &mut || {
                black_box(native_rows(rows));
            },
            &mut || sheet_rows(&mut one, ROWS),
            &mut || {
                let given = [levels.clone()];
                let columns = sweep(&mut many, &["pond_level"], &given, &["net_power"], Some(1));
                black_box(columns.expect("a sheet that computes"));
            },
        ],
    );
    agrees(&one, ROWS - 1);
    let hand = hand.as_secs_f64() / rows as f64;
    let ratio = |time: Duration, per: f64| Some(time.as_secs_f64() / per / hand);
    let (alone_per, swept_per) = (ROWS as f64, rows as f64);
    line("searched in the sheet, one row", alone, alone_per, ratio(alone, alone_per), "");
    line("searched in the sheet, a row of many", swept, swept_per, ratio(swept, swept_per), "");
}

fn many_rows(rows: usize, quick: bool) {
    let turns = if quick { 1 } else { 3 };
    let levels: Vec<f64> = (0..rows).map(level).collect();
    let mut plant = Sheet::open(PLANT);
    let swept = |sheet: &mut Sheet, threads: usize| {
        let given = [levels.clone()];
        let see = ["net_power", "crest_margin"];
        let columns = sweep(sheet, &["pond_level"], &given, &see, Some(threads));
        black_box(columns.expect("a sheet that computes"));
    };
    let mut other = Sheet::open(PLANT);
    let [hand, one, two] = least(
        turns,
        [
            &mut || {
                black_box(native_rows(rows));
            },
            &mut || swept(&mut plant, 1),
            &mut || swept(&mut other, 2),
        ],
    );
    let per = rows as f64;
    let ratio = |time: Duration| Some(time.as_secs_f64() / hand.as_secs_f64());
    line("a row of a million by hand", hand, per, None, "");
    line("a row of a million, one thread", one, per, ratio(one), "0.22");
    line("a row of a million, two threads", two, per, ratio(two), "0.12");
}

fn sampling(samples: usize) {
    let text = PLANT
        .replace("  pond_level: 24.6 m\n", "  pond_level:\n    is: 24.6 m\n    plus_minus: 3 cm\n")
        .replace("  roughness: 0.05 mm\n", "  roughness:\n    is: 0.05 mm\n    plus_minus: 20 %\n")
        .replace("  bend_loss: 0.9\n", "  bend_loss:\n    is: 0.9\n    plus_minus: 0.1\n");
    let mut sheet = Sheet::open(&text);
    let see = ["net_power".to_owned(), "yearly".to_owned()];
    let sampling = Sampling { samples: samples as u64, seed: 7, coverage: 0.95 };
    let [hand, ours] = least(
        3,
        [
            &mut || {
                black_box(native_rows(samples));
            },
            &mut || {
                let samples = sample(&mut sheet, &see, sampling, &mut |_, _| true);
                black_box(samples.expect("knowns that are uncertain"));
            },
        ],
    );
    let ratio = ours.as_secs_f64() / hand.as_secs_f64();
    line("Monte Carlo, a sample with quantiles", ours, samples as f64, Some(ratio), "0.35");
}

fn after_a_change(cells: usize) {
    let mut sheet = Sheet::open(&workload::chain(cells));
    let mut turn = 0;
    let [chain] = least(
        7,
        [&mut || {
            turn += 1;
            let set = sheet.set_values(&[("c0000", Value::Number(3.0 + f64::from(turn)))]);
            black_box(set.expect("a length"));
        }],
    );
    line(
        &format!("a cell of a chain of {cells} after a change"),
        chain,
        cells as f64,
        None,
        "11 ns",
    );
    // A hundred cells that hang on one known, among all the others.
    let mut text = workload::chain(cells).replace("known:\n", "known:\n other: 1\n");
    let from = cells / 2;
    for at in 0..100 {
        let before = if at == 0 {
            format!("{} * 0 + other", workload::name(from))
        } else {
            format!("d{}", at - 1)
        };
        text.push_str(&format!(" d{at}: {before} + 1\n"));
    }
    let mut sheet = Sheet::open(&text);
    let [hundred] = least(
        500,
        [&mut || {
            turn += 1;
            let set = sheet.set_values(&[("other", Value::Number(3.0 + f64::from(turn)))]);
            black_box(set.expect("a length"));
        }],
    );
    line(&format!("100 cells of {cells} after a change"), hundred, 1.0, None, "2 µs");
}

/// What a sheet keeps in memory beside its text, by what the process holds before and after. Where
/// the system does not tell, nothing is printed.
fn kept(cells: usize) {
    let held = || {
        let status = std::fs::read_to_string("/proc/self/status").ok()?;
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
        line.trim().strip_suffix(" kB")?.trim().parse::<f64>().ok()
    };
    let text = workload::chain(cells);
    // Many sheets, so that what is freed and taken again does not count.
    let before = held();
    let sheets: Vec<Sheet> = (0..8).map(|_| Sheet::open(&text)).collect();
    if let (Some(before), Some(after)) = (before, held()) {
        let bytes = (after - before) * 1024.0 / (sheets.len() * cells) as f64;
        let of_text = text.len() as f64 / cells as f64;
        let kept = format!("{:.0} B", bytes - of_text);
        println!("{:<46} {kept:>10} {:>9} {:>8}", "kept for a cell, beside its text", "", "200 B");
    }
    drop(black_box(sheets));
}

/// `forebay run` of the site that comes with it, against a process that does nothing.
fn process(program: &std::ffi::OsStr) {
    let run = |program: &std::ffi::OsStr, arguments: &[&str]| {
        let mut command = std::process::Command::new(program);
        let done = command.args(arguments).stdout(std::process::Stdio::null()).status();
        assert!(done.is_ok_and(|status| status.success()), "{program:?}");
    };
    let [empty, whole] =
        least(60, [&mut || run("true".as_ref(), &[]), &mut || run(program, &["run"])]);
    let ratio = whole.as_secs_f64() / empty.as_secs_f64();
    line("an empty process", empty, 1.0, None, "");
    line("forebay run of the whole site", whole, 1.0, Some(ratio), "4");
}

fn loading(cells: usize) {
    let text = workload::chain(cells);
    let [load] = least(
        5,
        [&mut || {
            black_box(Sheet::open(black_box(&text)));
        }],
    );
    line(&format!("a cell of {cells}, read and compiled"), load, cells as f64, None, "6 µs");
}
