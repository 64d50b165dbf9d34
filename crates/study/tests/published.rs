//! Uncertainties held against published examples, each with its source. The printed figures of
//! JCGM 100 and JCGM 101 are from memory; where a line of arithmetic reaches them, it stands beside.

#![allow(clippy::unwrap_used, reason = "a panic here is a failing test")]

use forebay_sheet::{Loader, Sheet};
use forebay_study::{Figures, Samples, Sampling, budget, not_varied, sample, uncertain};

fn sheet(text: &str) -> Sheet {
    let sheet = Sheet::open(text);
    let wrong: Vec<String> = sheet.diagnostics().iter().map(|d| d.message.clone()).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    sheet
}

fn sampled(text: &str, cell: &str, count: u64, seed: u64) -> (Samples, Figures) {
    let sampling = Sampling { samples: count, seed, coverage: 0.95 };
    let samples = sample(&mut sheet(text), &[cell.to_owned()], sampling, &mut |_, _| true).unwrap();
    let figures = samples.results[0].figures.unwrap();
    (samples, figures)
}

/// JCGM 100:2008 (GUM), Annex H.1: a gauge block measured against a standard of 50 mm.
const GAUGE_BLOCK: &str = "forebay: 1
known:
  standard:
    is: 50.000623 mm
    plus_minus: 25 nm
    degrees_of_freedom: 18
  difference:
    is: 215 nm
    plus_minus: 9.7 nm
    degrees_of_freedom: 25.6
  expansion: { is: 11.5e-6 K^-1, plus_minus: 2e-6 K^-1, distribution: rectangular }
  warmer: { is: -0.1 K, plus_minus: 0.41 K }
  expansion_apart:
    is: 0 K^-1
    plus_minus: 1e-6 K^-1
    distribution: rectangular
    degrees_of_freedom: 50
  warmth_apart:
    is: 0 K
    plus_minus: 0.05 K
    distribution: rectangular
    degrees_of_freedom: 2
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
    // H.1.6: effective degrees of freedom 16.7, so 16; the factor for 99 % is 2.92, the expanded
    // uncertainty 93 nm (2.92 · 32 nm; with 31.7 nm before rounding it is 92.5 nm).
    assert!((nominal.degrees_of_freedom.unwrap() - 16.7).abs() < 0.3, "{nominal:?}");
    let expanded = nominal.expanded(0.99).unwrap();
    assert_eq!(expanded.degrees_of_freedom, Some(16));
    assert!((expanded.factor - 2.92).abs() < 0.005, "{expanded:?}");
    assert!((expanded.half_width * 1e9 - 93.0).abs() <= 1.0, "{expanded:?}");
}

/// JCGM 100:2008, Annex H.2: resistance, reactance and impedance from voltage, current and phase.
/// Means, standard uncertainties and coefficients follow from the five sets of readings of Table
/// H.2, here with more digits than the table prints (0.0032 V, 0.0095 mA, 0.00075 rad; −0.36, 0.86,
/// −0.65), because its results were computed with them.
const IMPEDANCE: &str = "forebay: 1
known:
  voltage: { is: 4.9990 V, plus_minus: 3.20936 mV, degrees_of_freedom: 4 }
  current: { is: 19.6610 mA, plus_minus: 9.47101 uA, degrees_of_freedom: 4 }
  phase: { is: 1.04446 rad, plus_minus: 0.752064 mrad, degrees_of_freedom: 4 }
work:
  resistance: voltage / current * cos(phase)
  reactance: voltage / current * sin(phase)
  impedance: voltage / current
tied:
  voltage_and_current: { knowns: [voltage, current], correlation: -0.355311 }
  voltage_and_phase: { knowns: [voltage, phase], correlation: 0.857624 }
  current_and_phase: { knowns: [current, phase], correlation: -0.645111 }
";

#[test]
fn gum_h2_resistance_and_reactance() {
    let names = ["resistance", "reactance", "impedance"].map(str::to_owned);
    let budgets = budget(&mut sheet(IMPEDANCE), &names).unwrap();
    // Table H.4: value and combined standard uncertainty in ohm.
    let printed = [(127.732, 0.071), (219.847, 0.295), (254.260, 0.236)];
    for (budget, (value, uncertainty)) in budgets.iter().zip(printed) {
        let name = &budget.cell.name;
        let (found, u) = (budget.value.clone().unwrap(), budget.uncertainty.unwrap());
        assert!((found - value).abs() <= 0.0005, "{name}: {found}");
        // The printed ones were rounded on the way: a last digit may be off by one.
        assert!((u - uncertainty).abs() <= 0.001, "{name}: {u}");
        // The shares of knowns exceed or fall short of the whole; with those of the ties they make it.
        let own: f64 = budget.shares.iter().filter_map(|share| share.share).sum();
        let tied: f64 = budget.ties.iter().filter_map(|tie| tie.share).sum();
        assert!((own + tied - 1.0).abs() < 1e-12 && tied.abs() > 0.05, "{name}: {own} {tied}");
        // All are tied: one group, with the degrees of freedom of each.
        assert!((budget.degrees_of_freedom.unwrap() - 4.0).abs() < 1e-9);
    }
    for (name, (value, uncertainty)) in names.iter().zip(printed) {
        let (_, figures) = sampled(IMPEDANCE, name, 40_000, 5);
        assert!((figures.mean - value).abs() < 0.01, "{name}: {figures:?}");
        assert!((figures.deviation / uncertainty - 1.0).abs() < 0.02, "{name}: {figures:?}");
    }
}

/// JCGM 100:2008, 5.2.2, example: ten resistors of 1000 Ω, each compared with the same standard of
/// 100 mΩ: together 10 kΩ with 1 Ω, and not with the 0.32 Ω of independent ones.
#[test]
fn gum_5_2_2_ten_resistors_of_one_standard() {
    let names: Vec<String> = (0..10).map(|at| format!("r{at}")).collect();
    let knowns: Vec<String> = names
        .iter()
        .map(|name| format!("  {name}: {{ is: 1000 ohm, plus_minus: 100 mohm }}\n"))
        .collect();
    let text =
        format!("forebay: 1\nknown:\n{}work:\n  whole: {}\n", knowns.concat(), names.join(" + "));
    let tied = format!("{text}tied:\n  standard: [{}]\n", names.join(", "));
    let whole = ["whole".to_owned()];
    let found = |text: &str| budget(&mut sheet(text), &whole).unwrap()[0].uncertainty.unwrap();
    assert!((found(&tied) - 1.0).abs() < 1e-9);
    assert!((found(&text) - 0.32).abs() < 0.005);
    let (_, figures) = sampled(&tied, "whole", 20_000, 2);
    assert!((figures.deviation - 1.0).abs() < 0.02, "{figures:?}");
}

/// F.1.2.3 by hand: two levels read with one staff differ by the same whatever the staff is off.
#[test]
fn what_one_cause_moves_alike_cancels_in_a_difference() {
    let text = "forebay: 1
known:
  pond: { is: 103.4 m, plus_minus: 2 cm, distribution: rectangular }
  tail: { is: 100.1 m, plus_minus: 2 cm, distribution: rectangular }
work:
  head: pond - tail
tied:
  one_staff: [pond, tail]
";
    let budgets = budget(&mut sheet(text), &["head".to_owned()]).unwrap();
    assert_eq!(budgets[0].uncertainty, Some(0.0));
    assert_eq!(budgets[0].ties[0].share, None);
    let (_, figures) = sampled(text, "head", 1_000, 2);
    assert!(figures.deviation < 1e-12 && (figures.mean - 3.3).abs() < 1e-9, "{figures:?}");
    // Against one another they add up: twice 2 cm/√3.
    let against = text.replace("[pond, tail]", "{ knowns: [pond, tail], correlation: -1 }");
    let budgets = budget(&mut sheet(&against), &["head".to_owned()]).unwrap();
    let expected = 0.04 / 3.0_f64.sqrt();
    assert!((budgets[0].uncertainty.unwrap() - expected).abs() < 1e-9);
    assert!((budgets[0].ties[0].share.unwrap() - 0.5).abs() < 1e-9);
    let (_, figures) = sampled(&against, "head", 20_000, 2);
    assert!((figures.deviation - expected).abs() < 0.02 * expected, "{figures:?}");
}

/// JCGM 101:2008, 6.4.9.3: Student's t-distribution with ν degrees of freedom has the variance
/// ν/(ν − 2); its quantiles are in every table.
#[test]
fn few_degrees_of_freedom_widen_the_samples() {
    let text = "forebay: 1\nknown:\n  a: { is: 0, plus_minus: 1, degrees_of_freedom: 5 }\nwork:\n  b: a + 0\n";
    let (_, figures) = sampled(text, "b", 200_000, 9);
    assert!((figures.high - 2.571).abs() < 0.04, "{figures:?}");
    assert!((figures.low + 2.571).abs() < 0.04, "{figures:?}");
    assert!((figures.deviation - (5.0_f64 / 3.0).sqrt()).abs() < 0.02, "{figures:?}");
}

/// What a worksheet that is used says of the uncertainty of its own knowns counts too.
#[test]
fn knowns_of_a_component_are_varied() {
    struct Beside;
    impl Loader for Beside {
        fn load(&self, _: &str) -> Result<String, String> {
            Ok("forebay: 1
known:
  length: { is: 10 m, plus_minus: 3 m }
  width: { is: 5 m, plus_minus: 1 m }
  slack: { is: 1 m, plus_minus: 4 m }
work:
  whole: length + width + slack
tied:
  tape: { knowns: [length, slack], correlation: 0.5 }
"
            .to_owned())
        }
    }
    let text = "forebay: 1
known:
  wide: { is: 6 m, plus_minus: 2 m }
use:
  bay: { sheet: bay.yaml, set: { width: wide } }
work:
  whole: bay.whole
tied:
  same_day: { knowns: [wide, bay.length], correlation: 0.25 }
";
    let mut sheet = Sheet::open_with("sheet", text, &Beside);
    assert!(!sheet.has_errors(), "{:?}", sheet.diagnostics());
    let names: Vec<String> =
        uncertain(&sheet).unwrap().into_iter().map(|known| known.known).collect();
    assert_eq!(names, ["wide", "bay.length", "bay.slack"]);
    let left_out = not_varied(&sheet);
    assert_eq!(left_out.len(), 1);
    assert_eq!(left_out[0].known, "bay.width");
    // By hand: 3² + 4² + 2² + 2·0.5·3·4 + 2·0.25·2·3 = 44.
    let budgets = budget(&mut sheet, &["whole".to_owned()]).unwrap();
    assert!((budgets[0].uncertainty.unwrap() - 44.0_f64.sqrt()).abs() < 1e-9, "{budgets:?}");
    let sampling = Sampling { samples: 20_000, seed: 3, coverage: 0.95 };
    let samples = sample(&mut sheet, &["whole".to_owned()], sampling, &mut |_, _| true).unwrap();
    let figures = samples.results[0].figures.unwrap();
    assert!((figures.deviation / 44.0_f64.sqrt() - 1.0).abs() < 0.02, "{figures:?}");
    assert_eq!(sheet.cell("bay.length").unwrap().shown(), "10 m");
}

#[test]
fn wrong_ties_are_no_ground_to_take_knowns_as_independent() {
    let mut sheet = Sheet::open(
        "forebay: 1\nknown:\n  a: { is: 1 m, plus_minus: 1 cm }\nwork:\n  b: 2 * a\ntied:\n  t: [a, z]\n",
    );
    let fault = budget(&mut sheet, &["b".to_owned()]).unwrap_err();
    assert!(fault.to_string().contains("ties"), "{fault}");
}

/// H.1.7: with the terms of second order the uncertainty is 34 nm; samples hold all orders. By hand:
/// 50 mm · 0.58·10⁻⁶/K · 0.41 K = 11.7 nm and 50 mm · 1.2·10⁻⁶/K · 0.029 K = 1.7 nm beside 31.7 nm.
#[test]
fn gum_h1_with_all_orders() {
    // The annex takes no account of the degrees of freedom here.
    let lines = GAUGE_BLOCK.lines().filter(|line| !line.contains("degrees_of_freedom"));
    let text = lines.collect::<Vec<_>>().join("\n");
    let (_, figures) = sampled(&text, "nominal", 40_000, 1);
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
