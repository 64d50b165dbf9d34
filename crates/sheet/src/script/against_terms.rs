//! The same function written out by the compiler and run by the interpreter: equal values, equal
//! complaints at equal places.

use proptest::prelude::*;

use crate::{Answer, Diagnostic, Sheet};

/// Bodies of a function of a length, a plain number and a series of lengths.
const BODIES: &[&str] = &[
    "x * n",
    "let y = x / 2; y + 1 cm",
    "if n > 2 { x } else { 2 * x }",
    "if n > 2 { return x; } 3 * x",
    "if n > 2 { if n > 3 { return x; } } 3 * x",
    "let s = 0 m; for i in 0..n { s += x * i; } s",
    "let s = 0 m; for l in xs { if l > x { continue; } s += l; } s",
    "let s = 0 m; for l in xs { if l > x { break; } s += l; } s",
    "let k = n; while k > 0 { if k == 2 { return x; } k -= 1; } 2 * x",
    "let k = 0; loop { k += 1; if k * x > 7 m { break; } } k * x",
    "let k = 0; loop { k += 1; if k > 3 || k * x > 7 m { return k * x; } }",
    "xs[0] + xs[n - 1]",
    "sum(xs.map(|l| l * n)) + least(xs)",
    "sum(xs.filter(|l| l > x && l < 3 m))",
    "xs * n + x",
    "xs.map(|l| { let d = l - x; if d < 0 m { -d } else { d } })",
    "let t = [x, 2 * x, n * x]; mean(t)",
    "sqrt(x * x + (n * x) ^ 2)",
    "zero_of(|l| l ^ 2 - x ^ 2, 0 m, 100 m)",
    "integral(|l| l * n, 0 m, x)",
    "interpolate(xs, xs * 2, x)",
    "friction_head(friction_factor = 0.02, length = x, bore = 150 mm, velocity = n * 1 m/s)",
    "water_density(8 degC) * x ^ 3 / (1 kg/m^2)",
    "({ let x = 2 * x; x }) + x",
    "let x = 2 * x; x",
    "let y = if n < 2 { let z = x; z * 2 } else if n < 4 { x } else { 3 * x }; y + x",
    "10 % * x + 1/2 * x",
    "(7 m) % x + (-7 m) % x",
    "n / 0 * x",
    "x + n",
    "x + 1 s",
    "xs + [1 m, 2 m, 3 m, 4 m]",
    "xs[0.5]",
    "sqrt(-n) * x",
    "let y = 0 s; y = x; y",
    "if x { 1 } else { 2 }",
    "unknown_name * x",
    "x ^ n",
    "let s = 0 m; for i in 0..n { s += 1 m / (3 - i); } s",
    "let worth = 3 EUR * n; worth / 7 + 0.10 EUR",
    "0.31 EUR/kWh * 9000 kWh * n",
    "let y = x; y *= n; y -= 1 m; y /= 2; y",
    "helper(x, n) + helper(n = 2, y = x)",
    "!(n > 2) && x > 1 m || n == 4",
];

/// The body as the compiler takes it, and with an empty list that sends it to the interpreter.
fn both(body: &str) -> Sheet {
    Sheet::open(&format!(
        "forebay: 1
currency: EUR
functions: |
  fn helper(y, n) {{ if n > 1 {{ return y * n; }} y }}
  fn written(x, n, xs) {{ {body} }}
  fn in_rhai(x, n, xs) {{ let force = []; {body} }}
"
    ))
}

/// What comes out, or the first complaint with the text it points at.
fn told(sheet: &Sheet, answer: Result<Answer, Vec<Diagnostic>>) -> Result<String, String> {
    match answer {
        Ok(answer) => Ok(format!("{:?} {:?}", answer.ty, answer.value)),
        Err(diagnostics) => {
            let first = &diagnostics[0];
            let piece = first.span().map_or("", |span| sheet.sources().piece(span));
            Err(format!("{}: {} [{piece}]", first.code.name, first.message))
        }
    }
}

fn compare(body: &str, arguments: &str) -> Result<(), TestCaseError> {
    let mut sheet = both(body);
    let written = sheet.eval(&format!("written({arguments})"));
    let written = told(&sheet, written);
    let in_rhai = sheet.eval(&format!("in_rhai({arguments})"));
    let in_rhai = told(&sheet, in_rhai);
    // A loop without an end ends both, each at a bound of its own.
    let limit = |told: &Result<String, String>| matches!(told, Err(t) if t.starts_with("limit:"));
    if limit(&written) && limit(&in_rhai) {
        return Ok(());
    }
    prop_assert_eq!(written, in_rhai, "{} with {}", body, arguments);
    Ok(())
}

#[test]
fn every_body_gives_the_same() {
    for body in BODIES {
        for arguments in ["2 m, 3, [1 m, 2 m, 3.5 m]", "0.25 m, 1, [4 m, 1 m]"] {
            compare(body, arguments).unwrap();
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_arguments_give_the_same(
        body in proptest::sample::select(BODIES),
        x in -5.0_f64..50.0,
        n in -2_i32..8,
        xs in proptest::collection::vec(-3.0_f64..30.0, 1..6),
    ) {
        let xs: Vec<String> = xs.iter().map(|x| format!("({x} m)")).collect();
        compare(body, &format!("({x} m), ({n}), [{}]", xs.join(", ")))?;
    }
}

/// The compiler sends to the interpreter what hands functions on, also where nothing else would.
#[test]
fn functions_are_handed_on() {
    let mut sheet = Sheet::open(
        "forebay: 1
functions: |
  fn twice(f, x) { f(f(x)) }
  fn eightfold(x) { twice(|y| 2 * y, x) * 2 }
",
    );
    // 2 · 2 · 2 · 3.2 m
    let answer = sheet.eval("eightfold(3.2 m)").unwrap();
    assert_eq!(answer.shown(None).unwrap(), "25.60 m");
}

/// What a formula's source does not vouch for is told, though the interpreter ran it.
#[test]
fn warnings_come_through() {
    let mut sheet = Sheet::open(
        "forebay: 1
functions: |
  fn warm(t) { let all = []; all.push(water_density(t)); all[0] }
",
    );
    assert!(sheet.eval("warm(8 degC)").unwrap().warnings.is_empty());
    let answer = sheet.eval("warm(68 degC)").unwrap();
    assert_eq!(answer.warnings[0].code.name, "outside-validity");
    assert_eq!(sheet.sources().piece(answer.warnings[0].span().unwrap()), "t");
}
