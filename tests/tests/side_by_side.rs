//! The two executors: many rows side by side give, row for row, the digits that the sheet gives for
//! one row, and leave to it every row of which there is something to say.

#![allow(clippy::unwrap_used)]

use forebay_sheet::{Batch, CellKind, Loader, Scalar, Sheet, Type, Value, Verdict, templates};
use proptest::prelude::*;
use proptest::test_runner::TestRng;

/// A number of a row, so that rows differ and every run is the same.
fn spread(row: usize, known: usize) -> f64 {
    let x = (row as f64 * 12.9898 + known as f64 * 78.233).sin() * 43_758.545_3;
    x - x.floor()
}

/// Rows for the knowns, computed both ways; gives how many of them were plain.
fn held(sheet: &mut Sheet, knowns: &[String], rows: &[Vec<Value>]) -> usize {
    let see: Vec<String> = sheet
        .cells()
        .filter(|cell| cell.kind() != CellKind::Check && cell.ty().is_some())
        .map(|cell| cell.name().to_owned())
        .collect();
    let known_names: Vec<&str> = knowns.iter().map(String::as_str).collect();
    let see_names: Vec<&str> = see.iter().map(String::as_str).collect();
    // What came out side by side: for each row the cells, the checks, or nothing where not plain.
    type Row = Option<(Vec<Option<Value>>, Vec<Option<Verdict>>)>;
    let mut found: Vec<Row> = Vec::new();
    let touched: Vec<String>;
    {
        let batch = sheet.batch(&known_names, &see_names).unwrap();
        touched = sheet
            .cells()
            .filter(|cell| batch.varies(cell))
            .map(|cell| cell.name().to_owned())
            .collect();
        let mut block = batch.block();
        for rows in rows.chunks(Batch::ROWS) {
            for (at, row) in rows.iter().enumerate() {
                for (known, value) in row.iter().enumerate() {
                    assert!(block.set(known, at, value), "{} = {value:?}", knowns[known]);
                }
            }
            batch.compute(&mut block, rows.len());
            for at in 0..rows.len() {
                found.push(block.is_plain(at).then(|| {
                    let cells = (0..see.len()).map(|see| block.value(see, at));
                    let checks = (0..sheet.checks().count()).map(|c| block.verdict(c, at));
                    (cells.collect(), checks.collect())
                }));
            }
        }
    }
    let mut plain = 0;
    for (row, found) in rows.iter().zip(&found) {
        let set: Vec<(&str, Value)> =
            known_names.iter().copied().zip(row.iter().cloned()).collect();
        sheet.set_values(&set).unwrap();
        let Some((cells, checks)) = found else {
            let something = touched.iter().any(|name| {
                let cell = sheet.cell(name).unwrap();
                cell.value().is_none() || !cell.warnings().is_empty()
            });
            assert!(something, "a row was left to the sheet for nothing: {set:?}");
            continue;
        };
        plain += 1;
        for (name, value) in see.iter().zip(cells) {
            let cell = sheet.cell(name).unwrap();
            if value.is_some() || touched.contains(name) {
                assert_eq!(value.as_ref(), cell.value(), "{name} in the row {set:?}");
            }
        }
        for (check, verdict) in sheet.checks().zip(checks) {
            assert!(verdict.is_none_or(|v| v == check.verdict()), "{}", check.name());
        }
    }
    plain
}

/// A template reads nothing beside itself but other templates.
struct Nothing;

impl Loader for Nothing {
    fn load(&self, name: &str) -> Result<String, String> {
        Err(format!("no file {name}"))
    }
}

#[test]
fn every_template_computes_side_by_side_as_it_does_alone() {
    let mut shares = Vec::new();
    for template in templates() {
        let mut sheet = Sheet::open_with(template.name, template.text, &Nothing);
        let numbers: Vec<(String, f64)> = sheet
            .cells()
            .filter(|cell| cell.kind() == CellKind::Known)
            .filter(|cell| matches!(cell.ty(), Some(Type::One(Scalar::Number(_)))))
            .filter_map(|cell| match cell.value() {
                Some(Value::Number(number)) if *number != 0.0 => {
                    Some((cell.name().to_owned(), *number))
                }
                _ => None,
            })
            .collect();
        let mut plain = 0;
        let mut all = 0;
        // Each known for itself, then all of them together.
        let each = numbers.iter().map(|known| vec![known.clone()]);
        for varied in each.chain([numbers.clone()]).filter(|varied| !varied.is_empty()) {
            let rows = if varied.len() == 1 { 6 } else { 150 };
            let values: Vec<Vec<Value>> = (0..rows)
                .map(|row| {
                    let value = |(at, (_, number)): (usize, &(String, f64))| {
                        Value::Number(number * (1.0 + 0.02 * (spread(row, at) - 0.5)))
                    };
                    varied.iter().enumerate().map(value).collect()
                })
                .collect();
            let names: Vec<String> = varied.iter().map(|(name, _)| name.clone()).collect();
            plain += held(&mut sheet, &names, &values);
            all += rows;
        }
        shares.push((template.name, plain, all));
    }
    // Rows that are all left to the sheet would show nothing.
    let (plain, all) = shares.iter().fold((0, 0), |(p, a), (_, plain, all)| (p + plain, a + all));
    assert!(plain * 2 > all, "{shares:?}");
}

/// An expression of plain numbers over the names before it, as text.
fn expression(rng: &mut TestRng, names: &[String], depth: u32) -> String {
    let pick = |rng: &mut TestRng, count: u32| rng.next_u32() % count;
    if depth == 0 || pick(rng, 6) == 0 {
        return match pick(rng, 3) {
            0 => format!("{}", f64::from(pick(rng, 900)) / 100.0),
            _ => names[pick(rng, names.len() as u32) as usize].clone(),
        };
    }
    let sub = |rng: &mut TestRng| expression(rng, names, depth - 1);
    match pick(rng, 22) {
        0..=2 => format!("({} + {})", sub(rng), sub(rng)),
        3 | 4 => format!("({} - {})", sub(rng), sub(rng)),
        5 | 6 => format!("({} * {})", sub(rng), sub(rng)),
        7 | 8 => format!("({} / {})", sub(rng), sub(rng)),
        9 => format!("sqrt(abs({}))", sub(rng)),
        10 => format!("ln(1 + abs({}))", sub(rng)),
        11 => format!("min({}, {})", sub(rng), sub(rng)),
        12 => format!("max({}, -({}))", sub(rng), sub(rng)),
        13 => format!("(abs({}))^1.5", sub(rng)),
        14 => format!("({})^2", sub(rng)),
        15 => {
            format!("(if {} > {} {{ {} }} else {{ {} }})", sub(rng), sub(rng), sub(rng), sub(rng))
        }
        16 => format!("friction_factor(abs({}) * 9000 + 3, 0.001)", sub(rng)),
        17 => format!("(circle_area((0.1 + abs({})) * 1 m) / 1 m^2)", sub(rng)),
        18 => format!("zero_of(|z| z^3 + abs({}) * z - ({}), -90, 90)", sub(rng), sub(rng)),
        19 => format!("zero_of(|z| z - {} / (3 + z^2), -50, 50)", sub(rng)),
        20 => format!("shaped({}, {})", sub(rng), sub(rng)),
        _ => format!("log10(0.5 + abs({}))", sub(rng)),
    }
}

/// A sheet of random formulas with money, series and a check among them.
fn random_sheet(rng: &mut TestRng) -> String {
    let mut text = "forebay: 1\ncurrency: EUR\nfunctions: |\n  fn shaped(a, b) {\n    \
                    let c = a * 2;\n    if a > b { return c - b; }\n    let d = c + 1;\n    \
                    d * b\n  }\nknown:\n"
        .to_owned();
    let mut names = Vec::new();
    for at in 0..4 {
        text.push_str(&format!("  k{at}: {}\n", at + 1));
        names.push(format!("k{at}"));
    }
    text.push_str("work:\n");
    for at in 0..8 {
        let formula = expression(rng, &names, 3);
        text.push_str(&format!("  w{at}: {formula}\n"));
        names.push(format!("w{at}"));
    }
    text.push_str("  paid: 1.25 EUR * round(10 * k0) / 10\n");
    text.push_str("  all: sum([k0, k1, w0].map(|x| x * k2))\n");
    text.push_str("  top: greatest_of(|x| x * (k1 + 9 - x), 0, 20)\n");
    text.push_str("check:\n  enough: w7 > k1 && w6 < 50\n");
    text
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn random_sheets_compute_side_by_side_as_they_do_alone(seed in any::<[u8; 32]>()) {
        let mut rng = TestRng::from_seed(prop::test_runner::RngAlgorithm::ChaCha, &seed);
        let text = random_sheet(&mut rng);
        let mut sheet = Sheet::open(&text);
        prop_assert!(sheet.cell("shaped").is_none());
        let varied = 1 + (rng.next_u32() % 4) as usize;
        let names: Vec<String> = (0..varied).map(|at| format!("k{at}")).collect();
        let rows: Vec<Vec<Value>> = (0..140)
            .map(|row| {
                (0..varied).map(|at| Value::Number(9.0 * spread(row, at) - 2.0)).collect()
            })
            .collect();
        held(&mut sheet, &names, &rows);
    }
}
