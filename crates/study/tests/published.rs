//! Uncertainties held against published examples, each with its source. The printed figures of
//! JCGM 100 and JCGM 101 are from memory; where a line of arithmetic reaches them, it stands beside.

#![allow(clippy::unwrap_used, reason = "a panic here is a failing test")]

use forebay_sheet::Sheet;
use forebay_study::{Figures, Samples, budget, sample};

fn sheet(text: &str) -> Sheet {
    let sheet = Sheet::open(text);
    let wrong: Vec<String> = sheet.diagnostics().iter().map(|d| d.message.clone()).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    sheet
}

fn sampled(text: &str, cell: &str, count: u64, seed: u64) -> (Samples, Figures) {
    let samples =
        sample(&mut sheet(text), &[cell.to_owned()], count, seed, &mut |_, _| true).unwrap();
    let figures = samples.results[0].figures.unwrap();
    (samples, figures)
}

/// JCGM 100:2008 (GUM), Annex H.1: a gauge block measured against a standard of 50 mm.
const GAUGE_BLOCK: &str = "forebay: 1
known:
  standard: { is: 50.000623 mm, plus_minus: 25 nm }
  difference: { is: 215 nm, plus_minus: 9.7 nm }
  expansion: { is: 11.5e-6 K^-1, plus_minus: 2e-6 K^-1, distribution: rectangular }
  warmer: { is: -0.1 K, plus_minus: 0.41 K }
  expansion_apart: { is: 0 K^-1, plus_minus: 1e-6 K^-1, distribution: rectangular }
  warmth_apart: { is: 0 K, plus_minus: 0.05 K, distribution: rectangular }
work:
  length: standard + difference - standard * (expansion_apart * warmer + expansion * warmth_apart)
  nominal: length - 50 mm
";

#[test]
fn gum_h1_the_gauge_block() {
    let budgets = budget(&mut sheet(GAUGE_BLOCK), &["nominal".to_owned()]).unwrap();
    let nominal = &budgets[0];
    // H.1.3 and Table H.1: 838 nm over 50 mm, combined standard uncertainty 32 nm.
    assert_eq!((nominal.value.clone().unwrap() * 1e9).round(), 838.0);
    assert_eq!((nominal.uncertainty.unwrap() * 1e9).round(), 32.0);
    // Table H.1, last column: contributions in nm.
    let printed = [
        ("standard", 25.0, 0.05),
        ("difference", 9.7, 0.05),
        ("expansion", 0.0, 0.05),
        ("warmer", 0.0, 0.05),
        ("expansion_apart", 2.9, 0.05),
        ("warmth_apart", 16.6, 0.05),
    ];
    for ((name, nm, digits), share) in printed.into_iter().zip(&nominal.shares) {
        assert_eq!(share.known, name);
        let found = share.change.unwrap().abs() * 1e9;
        assert!((found - nm).abs() <= digits, "{name}: {found} nm, printed {nm}");
    }
    let all: f64 = nominal.shares.iter().filter_map(|share| share.share).sum();
    assert!((all - 1.0).abs() < 1e-12);
}

/// H.1.7: with the terms of second order the uncertainty is 34 nm; samples hold all orders. By hand:
/// 50 mm · 0.58·10⁻⁶/K · 0.41 K = 11.7 nm and 50 mm · 1.2·10⁻⁶/K · 0.029 K = 1.7 nm beside 31.7 nm.
#[test]
fn gum_h1_with_all_orders() {
    let (_, figures) = sampled(GAUGE_BLOCK, "nominal", 40_000, 1);
    assert_eq!((figures.deviation * 1e9).round(), 34.0, "{figures:?}");
    assert!((figures.mean * 1e9 - 838.0).abs() < 1.0, "{figures:?}");
}

/// JCGM 101:2008, 9.2: the sum of four quantities of expectation 0.
fn sum_of_four(distribution: &str, widths: [f64; 4]) -> String {
    let knowns: Vec<String> = widths
        .iter()
        .enumerate()
        .map(|(at, width)| {
            format!("  x{at}: {{ is: 0, plus_minus: {width:?}, distribution: {distribution} }}\n")
        })
        .collect();
    format!("forebay: 1\nknown:\n{}work:\n  y: x0 + x1 + x2 + x3\n", knowns.concat())
}

/// The figures of a run against those printed, within three standard errors of so many samples.
#[track_caller]
fn check_sum(text: &str, first_order: f64, deviation: f64, end: f64, allowed: (f64, f64)) {
    let y = ["y".to_owned()];
    let found = budget(&mut sheet(text), &y).unwrap()[0].uncertainty.unwrap();
    assert!((found - first_order).abs() < 0.005, "first order {found}");
    let (_, figures) = sampled(text, "y", 60_000, 7);
    assert!((figures.deviation - deviation).abs() < allowed.0, "{figures:?}");
    assert!((figures.low + end).abs() < allowed.1, "{figures:?}");
    assert!((figures.high - end).abs() < allowed.1, "{figures:?}");
    assert!(figures.mean.abs() < 2.0 * allowed.0, "{figures:?}");
}

#[test]
fn jcgm_101_four_normal_quantities() {
    // 9.2.2, Table 2: u = 2.00, shortest 95 % interval ±3.92.
    check_sum(&sum_of_four("normal", [1.0; 4]), 2.0, 2.0, 3.92, (0.02, 0.065));
}

#[test]
fn jcgm_101_four_rectangular_quantities() {
    // 9.2.3, Table 3: u = 2.00; first order gives ±3.92, the samples ±3.88. By hand: of the sum of
    // four numbers from 0 to 1 the share t⁴/24 lies above 4 − t, which is 0.025 for t = 0.8801; on
    // our scale 2√3 · (2 − 0.8801) = 3.879.
    let width = 3.0_f64.sqrt();
    check_sum(&sum_of_four("rectangular", [width; 4]), 2.0, 2.0, 3.88, (0.02, 0.035));
}

#[test]
fn jcgm_101_one_rectangular_quantity_dominates() {
    // 9.2.4, Table 4: u = 10.1 (√103 = 10.149); first order gives ±19.9, the samples ±17.0.
    let width = 3.0_f64.sqrt();
    let widths = [width, width, width, 10.0 * width];
    let root = 103.0_f64.sqrt();
    check_sum(&sum_of_four("rectangular", widths), root, root, 17.0, (0.1, 0.09));
}

#[test]
fn a_seed_gives_the_same_numbers_and_another_one_others() {
    let text = sum_of_four("normal", [1.0; 4]);
    let (_, first) = sampled(&text, "y", 3_000, 11);
    assert_eq!(sampled(&text, "y", 3_000, 11).1, first);
    assert_ne!(sampled(&text, "y", 3_000, 12).1, first);
}

#[test]
fn checks_fail_as_often_as_they_should_and_samples_without_value_are_counted() {
    // By hand: a standard normal quantity exceeds 1 in 15.87 % of all cases (any table), and a
    // rectangular one from −1 to 3 is negative in a quarter of them.
    let text = "forebay: 1
known:
  a: { is: 0, plus_minus: 1 }
  b: { is: 1, plus_minus: 2, distribution: rectangular }
work:
  root: sqrt(b)
check:
  small: a < 1
  rooted: root < 9
";
    let count = 20_000;
    let (samples, _) = sampled(text, "root", count, 3);
    let share = |number: u64| number as f64 / count as f64;
    assert!((share(samples.chances[0].fails) - 0.1587).abs() < 0.008, "{:?}", samples.chances);
    assert!((share(samples.results[0].without) - 0.25).abs() < 0.01);
    assert_eq!(samples.chances[1].unknown, samples.results[0].without);
}
