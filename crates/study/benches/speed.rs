//! The plant of the workload by hand and by the library, each for itself.

mod workload;

use divan::{Bencher, black_box};
use forebay_sheet::{Sheet, Value};
use forebay_study::sweep;
use workload::{PLANT, native};

fn main() {
    divan::main();
}

/// One row written by hand in Rust.
#[divan::bench]
fn one_row_by_hand(bencher: Bencher<'_, '_>) {
    let mut known = native::PLANT;
    bencher.bench_local(|| {
        known.pond_level = 24.6 + (known.pond_level - 24.55) % 0.1;
        native::plant(black_box(&known))
    });
}

/// One known set in the sheet, and all that depends on it computed anew.
#[divan::bench]
fn one_row_of_the_sheet(bencher: Bencher<'_, '_>) {
    let mut sheet = Sheet::open(PLANT);
    let mut level = 24.6;
    bencher.bench_local(|| {
        level = 24.6 + (level - 24.55) % 0.1;
        sheet.set_values(&[("pond_level", Value::Number(level))])
    });
}

/// Ten thousand rows side by side.
#[divan::bench(args = [1, 2])]
fn ten_thousand_rows(bencher: Bencher<'_, '_>, threads: usize) {
    let mut sheet = Sheet::open(PLANT);
    let levels: Vec<f64> = (0..10_000).map(|row| 24.5 + f64::from(row) * 1e-5).collect();
    bencher.counter(10_000_u32).bench_local(|| {
        sweep(
            &mut sheet,
            &["pond_level"],
            std::slice::from_ref(&levels),
            &["net_power"],
            Some(threads),
        )
    });
}

/// A sheet of ten thousand formulas read and compiled.
#[divan::bench]
fn loading(bencher: Bencher<'_, '_>) {
    let text = workload::chain(10_000);
    bencher.counter(10_000_u32).bench_local(|| Sheet::open(black_box(&text)));
}
