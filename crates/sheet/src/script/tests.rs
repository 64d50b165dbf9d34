//! Functions in the interpreter: values checked by hand, places of faults, and hostile functions.

use std::time::{Duration, Instant};

use forebay_units::{Currency, Decimal, Dimension, Quantity, System};

use super::{ScriptCall, ScriptFault, Scripts};
use crate::compile::Function;
use crate::compile::names::{Definition, Names};
use crate::compile::parse;
use crate::diagnostic::{Code, Diagnostic, Sources, Span};
use crate::show::Style;
use crate::value::{Items, Scalar, Series, Type, Value};

const STYLE: Style = Style { system: System::Si, currency: None };

/// A value with its type, from text such as `3.2 m`.
fn quantity(text: &str) -> (Type, Value) {
    let quantity = Quantity::parse(text).unwrap();
    (Type::number(quantity.dimension()), Value::Number(quantity.si()))
}

fn numbers(unit: &str, values: &[f64]) -> (Type, Value) {
    let one = Quantity::parse(&format!("1 {unit}")).unwrap();
    let items = Items::Numbers(values.iter().map(|v| v * one.si()).collect());
    let series = Series { items, dates: None };
    (Type::Series(Scalar::Number(one.dimension())), Value::Series(series.into()))
}

fn plain(number: f64) -> (Type, Value) {
    (Type::PLAIN, Value::Number(number))
}

struct Ran {
    result: Result<(Type, Value), ScriptFault>,
    /// The user's text under the fault.
    piece: String,
}

/// Runs the first of some functions, with at most so many steps.
fn run_within(text: &str, arguments: &[(Type, Value)], steps: u64) -> Ran {
    run_counted(text, arguments, &mut { steps })
}

fn run_counted(text: &str, arguments: &[(Type, Value)], steps: &mut u64) -> Ran {
    let mut sources = Sources::default();
    let source = sources.add("test", text);
    let span = Span { source, start: 0, end: u32::try_from(text.len()).unwrap() };
    let (functions, errors) = parsed(text, span);
    assert!(errors.is_empty(), "{errors:?}");
    let all: Vec<_> = functions.iter().collect();
    let mut names = Names { currency: Currency::by_code("EUR"), ..Names::default() };
    names.defined.insert("pond".to_owned(), Definition::Cell(0));
    let mut scripts = Scripts::default();
    let types: Vec<Type> = arguments.iter().map(|(ty, _)| *ty).collect();
    let values: Vec<Value> = arguments.iter().map(|(_, value)| value.clone()).collect();
    let mut run = || {
        let module = scripts.load(&all, &sources, &names, STYLE)?;
        let result = scripts.result_type(module, all[0], &types)?;
        let function = all[0].name.text.clone();
        let call = scripts.add(ScriptCall { module, function, arguments: types.clone(), result });
        Ok((result, scripts.run(call, &values, steps)?.0))
    };
    let result: Result<(Type, Value), ScriptFault> = run();
    let piece = result.as_ref().err().map_or("", |fault| sources.piece(fault.span)).to_owned();
    Ran { result, piece }
}

fn run(text: &str, arguments: &[(Type, Value)]) -> Ran {
    run_within(text, arguments, 2_000_000)
}

/// The number that comes out, in a unit.
fn gives(text: &str, arguments: &[(Type, Value)], unit: &str, expected: f64) {
    let one =
        if unit.is_empty() { Quantity::parse("1") } else { Quantity::parse(&format!("1 {unit}")) };
    let one = one.unwrap();
    match run(text, arguments).result {
        Ok((ty, Value::Number(number))) => {
            assert_eq!(ty, Type::number(one.dimension()), "{text}");
            let found = number / one.si();
            assert!(
                (found - expected).abs() <= 1e-12 * expected.abs(),
                "{found} {expected} {text}"
            );
        }
        other => panic!("{other:?} from {text}"),
    }
}

fn gives_series(text: &str, arguments: &[(Type, Value)], expected: (Type, Value)) {
    match run(text, arguments).result {
        Ok(found) => assert_eq!(found, expected, "{text}"),
        Err(fault) => panic!("{fault:?} from {text}"),
    }
}

#[test]
fn lists_are_built() {
    let text = "fn f(d, n) { let xs = []; for i in 0..n { xs.push(d * i / 2); } xs }";
    gives_series(text, &[quantity("3 m"), plain(4.0)], numbers("m", &[0.0, 1.5, 3.0, 4.5]));
}

#[test]
fn whole_numbers_are_plain_numbers() {
    gives("fn f(x) { let xs = []; xs.push(1); xs[0] / 2 }", &[plain(0.0)], "", 0.5);
    // Beyond 2^63, where whole numbers of a machine end.
    gives(
        "fn f(n) { if n < 1 { 1 } else { n * f(n - 1) } }",
        &[plain(25.0)],
        "",
        15_511_210_043_330_985_984_000_000.0,
    );
    gives(
        "fn f(n) { let xs = []; xs.push(2 ^ -2); xs.push((-7) % 3); xs[0] + xs[1] }",
        &[plain(0.0)],
        "",
        -0.75,
    );
    gives(
        "fn f(n) { let xs = []; xs.push(9007199254740993); xs[0] }",
        &[plain(0.0)],
        "",
        9_007_199_254_740_992.0,
    );
    gives("fn f(n) { let xs = []; xs.push(1e300); xs[0] }", &[plain(0.0)], "", 1e300);
}

#[test]
fn functions_call_themselves() {
    gives(
        "fn fib(n) { if n <= 1 { n } else { fib(n - 1) + fib(n - 2) } }",
        &[plain(15.0)],
        "",
        610.0,
    );
    let text = "fn power(x, n) { if n == 0 || n < 0 { return 1 m^0 * 1; } x * power(x, n - 1) }";
    gives(&text.replace("1 m^0 * 1", "1"), &[plain(3.0), plain(4.0)], "", 81.0);
    // 1.5 m halved four times, each by a call by name.
    let text = "fn halved(height, times) { if times == 0 { return height; } halved(times = times - 1, height = height / 2) }";
    gives(text, &[quantity("1.5 m"), plain(4.0)], "m", 0.09375);
    // Even and odd call one another.
    let text = "fn even(n) { if n == 0 { 1 } else { odd(n - 1) } } fn odd(n) { if n == 0 { 0 } else { even(n - 1) } }";
    gives(text, &[plain(9.0)], "", 0.0);
}

#[test]
fn functions_stand_in_variables() {
    gives("fn f(x) { let twice = |y| 2 * y; twice(twice(x)) }", &[quantity("3 m")], "m", 12.0);
    gives("fn f(x) { let r = |y, z| y / z; r(x, 4 s) }", &[quantity("2 m")], "m/s", 0.5);
    gives(
        "fn f(x) { apply_twice(|y| y * 3, x) } fn apply_twice(g, x) { g(g(x)) }",
        &[quantity("1 m")],
        "m",
        9.0,
    );
    // What it sees of the variables around it is what they hold when it is called.
    gives("fn f(x) { let a = 1; let g = |y| y + a; a = 10; g(x) }", &[plain(5.0)], "", 15.0);
    gives(
        "fn f(x) { let total = 0 m; let g = |y| { total += y; total }; g(x); g(x); total }",
        &[quantity("2 m")],
        "m",
        4.0,
    );
    let text = "fn f(xs) { let g = |x| x * 2; let ys = xs.map(g); sum(ys) }";
    gives(text, &[numbers("m", &[1.0, 2.0, 4.5])], "m", 15.0);
    let text =
        "fn f(xs) { let at_least = 2 m; let big = |x| x >= at_least; count(xs.filter(big)) }";
    gives(text, &[numbers("m", &[1.0, 2.0, 4.5])], "", 2.0);
    // A list that a function shares is the same list.
    gives(
        "fn f(x) { let xs = []; let add = |y| { xs.push(y); count(xs) }; add(x); add(x); sum(xs) }",
        &[quantity("2 m")],
        "m",
        4.0,
    );
}

#[test]
fn loops_and_places() {
    // The sieve of Eratosthenes: 25 primes below 100.
    let text = "fn primes(n) {
        let open = [];
        for i in 0..n { open.push(i > 1); }
        let p = 2;
        while p * p < n {
            if open[p] { let q = p * p; while q < n { open[q] = false; q += p; } }
            p += 1;
        }
        let found = 0;
        for o in open { if o { found += 1; } }
        found
    }";
    gives(text, &[plain(100.0)], "", 25.0);
    let text = "fn f(xs) { let ys = []; for x in xs { if x > 3 m { break; } if x == 2 m { continue; } ys.push(x); } ys }";
    gives_series(text, &[numbers("m", &[1.0, 2.0, 3.0, 4.0, 1.0])], numbers("m", &[1.0, 3.0]));
    gives(
        "fn f(x) { let n = 0; loop { n += 1; if n > 4 { return n * x; } let ys = []; } }",
        &[quantity("2 m")],
        "m",
        10.0,
    );
    gives(
        "fn f(xs) { let ys = xs; ys[0] = 9 m; ys.push(1 m); xs[0] + count(ys) * 0 m }",
        &[numbers("m", &[1.0])],
        "m",
        1.0,
    );
    gives(
        "fn f(xs) { let ys = xs; ys[1] += 0.5 m; ys[1] *= 2; ys[1] }",
        &[numbers("m", &[1.0, 3.0])],
        "m",
        7.0,
    );
    gives(
        "fn f(n) { let xs = []; while count(xs) < n { xs.push(1 m); } sum(xs) }",
        &[plain(12.0)],
        "m",
        12.0,
    );
    // A name that Rhai keeps for itself.
    gives(
        "fn case(default) { let new = []; new.push(default); let go = new[0]; go }",
        &[quantity("2 m")],
        "m",
        2.0,
    );
}

#[test]
fn quantities_are_checked_as_in_formulas() {
    // Friction head by hand: 0.02 * (100/0.15) * 2²/(2 * 9.80665) = 2.71924… m (Darcy–Weisbach).
    let text = "fn f(n, d) { if n > 0 { return f(n - 1, d); } friction_head(velocity = 2 m/s, length = 100 m, friction_factor = 0.02, bore = d) }";
    gives(
        text,
        &[plain(2.0), quantity("150 mm")],
        "m",
        0.02 * (100.0 / 0.15) * 4.0 / (2.0 * 9.80665),
    );
    let unlike = [
        ("fn f(x) { let xs = []; xs.push(x); xs[0] + 1 s }", Code::UNLIKE, "xs[0]"),
        ("fn f(x) { let xs = []; xs.push(x); xs.push(1 s); xs }", Code::UNLIKE, "xs"),
        ("fn f(x) { let xs = []; xs.push(x); xs[0] < 1 s }", Code::UNLIKE, "xs[0]"),
        (
            "fn f(x) { let xs = []; xs.push(x); if xs[0] == 3 { 1 } else { 2 } }",
            Code::UNLIKE,
            "xs[0]",
        ),
        ("fn f(x) { let y = 0; let xs = []; y = x; y }", Code::UNLIKE, "x"),
        (
            "fn f(x) { let xs = []; xs.push(x); if xs[0] { 1 } else { 2 } }",
            Code::WRONG_KIND,
            "xs[0]",
        ),
        ("fn f(x) { let xs = []; for i in 0..x { xs.push(i); } xs }", Code::WRONG_DIMENSION, "x"),
        ("fn f(x) { let g = |y| y; sqrt(g) }", Code::WRONG_KIND, "g"),
        ("fn f(x) { let xs = []; xs.push([x]); xs }", Code::WRONG_KIND, "[x]"),
    ];
    for (text, code, piece) in unlike {
        let ran = run(text, &[quantity("2 m")]);
        let fault = ran.result.expect_err(text);
        assert_eq!((fault.code.name, ran.piece.as_str()), (code.name, piece), "{text}: {fault:?}");
    }
}

#[test]
fn money_is_exact() {
    let euros = |text: &str| {
        (Type::number(Dimension::MONEY), Value::Money(text.parse::<Decimal>().unwrap()))
    };
    let text = "fn f(a, n) { let sums = []; let s = 0 EUR; for i in 0..n { s += a; sums.push(s); } last(sums) }";
    gives_series(text, &[euros("0.10"), plain(3.0)], euros("0.30"));
    // 0.31 EUR/kWh times 9000 kWh is 2790 EUR exactly.
    let text = "fn f(e) { let bills = []; bills.push(0.31 EUR/kWh * e); sum(bills) }";
    gives_series(text, &[quantity("9000 kWh")], euros("2790"));
    gives_series(
        "fn f(a) { let xs = [a, 2 * a]; xs[0] = a / 8; sum(xs) }",
        &[euros("1")],
        euros("2.125"),
    );
}

#[test]
fn names_and_words_are_checked_before_a_run() {
    let faults = [
        ("fn f(x) { let xs = []; if false { xs.push(pnod); } x }", Code::UNKNOWN_NAME, "pnod"),
        ("fn f(x) { let xs = []; if false { xs.push(pond); } x }", Code::UNKNOWN_NAME, "pond"),
        ("fn f(x) { let xs = []; if false { xs.push(sqrtt(x)); } x }", Code::UNKNOWN_NAME, "sqrtt"),
        ("fn f(x) { if false { f(1, 2); } let xs = []; x }", Code::ARGUMENTS, "2"),
        ("fn f(x) { if false { f(y = 2); } let xs = []; x }", Code::ARGUMENTS, "y"),
        ("fn f(x) { let xs = []; y = 3; x }", Code::UNKNOWN_NAME, "y"),
        ("fn f(x) { let xs = []; [1].push(3); x }", Code::UNSUPPORTED, "[1]"),
        ("fn f(x) { let xs = []; break; x }", Code::SYNTAX, "break"),
        ("fn f(x) { let xs = []; return; }", Code::SYNTAX, "return"),
        ("fn f(x) { let sum = |y| y; sum(x) }", Code::NAME_TWICE, "sum"),
        (
            "fn f(x) { g(x) } fn g(x) { let xs = []; if x > 1e9 { nothing_known } else { x } }",
            Code::UNKNOWN_NAME,
            "nothing_known",
        ),
        (
            "fn f(x) { let a = []; zero_of(|q| { a.push(q); q }, 1, 2) }",
            Code::UNSUPPORTED,
            "zero_of(|q| { a.push(q); q }, 1, 2)",
        ),
    ];
    for (text, code, piece) in faults {
        let ran = run(text, &[plain(2.0)]);
        let fault = ran.result.expect_err(text);
        assert_eq!((fault.code.name, ran.piece.as_str()), (code.name, piece), "{text}: {fault:?}");
    }
    let ran = run("fn f(x) { let xs = []; pond }", &[plain(2.0)]);
    assert_eq!(ran.result.unwrap_err().message, "a function does not see the cell `pond`");
}

#[test]
fn faults_of_values_show_the_place() {
    let gap = numbers("m", &[1.0, f64::NAN, 3.0]);
    let faults = [
        ("fn f(xs) { let ys = []; for x in xs { ys.push(x); } ys }", Code::GAP, "xs"),
        ("fn f(xs) { let ys = []; ys.push(xs[1]); ys }", Code::GAP, "xs[1]"),
        ("fn f(xs) { let ys = []; ys.push(xs[3]); ys }", Code::OUT_OF_TABLE, "3"),
        ("fn f(xs) { let ys = xs; ys[0.5] = 1 m; ys }", Code::OUT_OF_TABLE, "0.5"),
        ("fn f(xs) { let ys = [1 m]; ys[1] = 1 m; ys }", Code::OUT_OF_TABLE, "1"),
        (
            "fn f(xs) { let ys = []; ys.push(1 / (count(xs) - 2)); ys }",
            Code::NO_VALUE,
            "(count(xs) - 2)",
        ),
        ("fn f(xs) { let ys = []; ys.push(sum(xs)); ys }", Code::GAP, "xs"),
        (
            "fn f(xs) { let ys = []; ys.push(water_density(8 K + xs[0] * 1 K / 1 m)); ys }",
            Code::WRONG_DIMENSION,
            "8 K + xs[0] * 1 K / 1 m",
        ),
    ];
    for (text, code, piece) in faults {
        let ran = run(text, std::slice::from_ref(&gap));
        let fault = ran.result.expect_err(text);
        let code = if fault.code == Code::ABSOLUTE { Code::ABSOLUTE.name } else { code.name };
        assert_eq!((fault.code.name, ran.piece.as_str()), (code, piece), "{text}: {fault:?}");
    }
    // Where ones lie outside a formula or a list, the type is still known.
    let text = "fn f(t, xs) { let ys = []; ys.push(water_density(t) * xs[5]); ys[0] / xs[5] }";
    let six = numbers("m", &[1.0; 6]);
    let ran = run(text, &[quantity("8 degC"), six]);
    assert_eq!(ran.result.unwrap().0, Type::number(Dimension::DENSITY));
    // What came out for ones is held against what comes out now.
    let ran = run("fn f(n) { let xs = []; if n < 2 { return 1 m; } 1 s }", &[plain(5.0)]);
    assert_eq!(
        ran.result.unwrap_err().message,
        "`f` gave length when tried out on ones, and gives time now"
    );
}

/// Each of these must end by itself, with a fault, and soon.
const HOSTILE: &[&str] = &[
    "fn f(x) { let a = []; loop { } }",
    "fn f(x) { let a = []; loop { x; } }",
    "fn f(x) { let a = []; while true { } x }",
    "fn f(x) { let a = []; while x == x { a.push(1); } x }",
    "fn f(x) { let a = []; for i in 0..1e18 { } loop { } }",
    "fn f(x) { let a = []; for i in 0..1e18 { } x }",
    "fn f(x) { let a = []; for i in 9007199254740993..1e300 { } x }",
    "fn f(x) { let a = []; for i in 0..1e9 { for j in 0..1e9 { for k in 0..1e9 { } } } x }",
    "fn f(x) { f(x) }",
    "fn f(x) { f(f(x)) }",
    "fn f(x) { 1 + f(x + 1) }",
    "fn f(x) { if true { f(x) } else { x } }",
    "fn f(x) { g(x) } fn g(x) { h(x) } fn h(x) { f(x) }",
    "fn f(x) { f(x) + f(x) + f(x) + f(x) }",
    "fn f(x) { let g = |y| f(y); g(x) }",
    "fn f(x) { [1, 2].map(|y| f(y)) }",
    "fn f(x) { let xs = [1, 2]; xs.filter(|y| f(y) > 0) }",
    "fn f(x) { u(|g, y| g(g, y)) } fn u(g) { g(g, 1) }",
    "fn f(x) { u(u) } fn u(g) { g(g) }",
    "fn f(x) { let g = |y| y; loop { g = |y| g(y) + 1; } }",
    "fn f(x) { let g = |y| y; for i in 0..1e6 { let h = g; g = |y| h(y); } g(x) }",
    "fn f(x) { let g = |y| y; let g = w(g); let g = w(g); let g = w(g); let g = w(g); let g = w(g); let g = w(g); let g = w(g); let g = w(g); let g = w(g); g(x) } fn w(h) { |y| h(y) + 1 }",
    "fn f(x) { r(|y| y, 0) } fn r(g, n) { if n > 1e6 { g(1) } else { r(|y| g(y), n + 1) } }",
    "fn f(x) { let a = [1]; loop { for b in a { a.push(b); } } }",
    "fn f(x) { let a = [1]; loop { let b = a; b.push(1); a = b; } }",
    "fn f(x) { let a = [1]; loop { a.push(a); } }",
    "fn f(x) { let a = []; a.push(a); a }",
    "fn f(x) { let a = []; loop { a = [a, a]; } }",
    "fn f(x) { let a = [1]; loop { a = a.map(|y| { a.push(y); y }); } }",
    "fn f(x) { let a = \"x\"; let b = []; loop { a = a + a; } }",
    "fn f(x) { let a = \"x\"; let b = []; loop { a += a; } }",
    "fn f(x) { let a = 2; let b = []; loop { a = a ^ a; } }",
    "fn f(x) { let a = 2 m; let b = []; loop { a *= 2 m; } }",
    "fn f(x) { let a = []; let y = (1 m) ^ 1000000; y }",
    "fn f(x) { let a = [1 m]; loop { let y = a[0] * a[0]; let z = y * y * y; a.push(integral(|t| t, 0 m, 1 m) / 1 m); } }",
    "fn f(x) { let a = []; integral(|t| integral(|u| integral(|v| integral(|w| t * u * v * w, 0, 1), 0, 1), 0, 1), 0, 1) }",
    "fn f(x) { let a = []; zero_of(|t| { let s = 0; while true { s += 1; } s }, 0, 1) }",
    "fn f(x) { let a = [1, 2, 3]; loop { a = sorted(a); a.push(3); } }",
    "fn f(x) { let a = [1, 2, 3]; loop { let b = a; a.push(3); a = sorted(b); a.push(1); } }",
    "fn f(x) { grown([1], 0) } fn grown(a, n) { let b = sorted(a); b.push(n); grown(b, n + 1) }",
    "fn f(x) { let a = []; for i in 0..1e6 { a.push(x); } f(sum(a)) }",
    "fn f(x) { let a = []; eval(\"40 + 2\") }",
    "fn f(x) { let a = []; print(x); x }",
    "fn f(x) { let a = []; debug(x); x }",
    "fn f(x) { let a = []; timestamp() }",
    "fn f(x) { let a = []; sleep(10); x }",
    "fn f(x) { let a = []; exit(1); x }",
    "fn f(x) { let a = []; Fn(\"f\") }",
    "fn f(x) { let a = []; call(f, x) }",
    "fn f(x) { let a = []; f.call(x) }",
    "fn f(x) { let a = []; let g = |y| y; g.call(x) }",
    "fn f(x) { let a = []; let g = |y| y; g.curry(x) }",
    "fn f(x) { let a = []; is_def_fn(\"f\", 1) }",
    "fn f(x) { let a = []; open_file(\"/etc/passwd\") }",
    "fn f(x) { let a = []; type_of(x) }",
    "fn f(x) { let a = []; this }",
    "fn f(x) { let a = []; global }",
    "fn f(x) { let a = []; piece(0, a) }",
    "fn f(x) { let a = []; v_x }",
    "fn f(x) { let a = []; f_f(x) }",
    "fn f(x) { let a = []; fail(0) }",
    "fn f(x) { let a = []; a.grow(0, x); x }",
    "fn f(x) { let a = []; a.put(0, x); x }",
    "fn f(x) { let a = []; x.y }",
    "fn f(x) { let a = []; a[0] = 1; a }",
    "fn f(x) { let a = []; a }",
    "fn f(x) { let a = []; }",
    "fn f(x) { let a = []; |y| y }",
];

#[test]
fn hostile_functions_end() {
    for text in HOSTILE {
        ends_soon(text);
    }
}

/// The same piece of text around itself again and again.
fn nested(before: &str, inner: &str, after: &str, times: usize) -> String {
    format!("{}{inner}{}", before.repeat(times), after.repeat(times))
}

#[test]
fn deep_functions_do_not_overflow_the_stack() {
    let g = "fn g(y) { let a = []; if y > 1e9 { g(y) } else { y } }";
    let deep = [
        nested("if true { ", "f(x)", " } else { x }", 30),
        nested("if x > 0 { let b = []; ", "f(x)", " } else { x }", 30),
        nested("{ let b = []; ", "f(x)", " }", 30),
        nested("g(", "f(x)", ")", 30),
        nested("1 + g(", "f(x)", ")", 15),
        nested("(1 + ", "f(x)", ")", 15),
        nested("-", "f(x)", "", 30),
        nested("[1 + g(", "f(x)", ")][0]", 10),
        nested("g(x) + ", "f(x)", "", 190),
        nested("", "f(x)", " + g(x)", 190),
        nested("", "f(x)", ".g()", 190),
        nested("", "x", ".f()", 190),
        nested("while true { ", "f(x);", " }", 30) + " x",
        nested("for i in 0..2 { ", "f(x);", " }", 30) + " x",
        nested("[1, 2].map(|y| sum(", "[f(x)]", "))", 7),
        nested("if f(x) < 0 { x } else ", "{ x }", "", 30),
    ];
    for body in &deep {
        ends_soon(&format!("fn f(x) {{ let a = []; {body} }} {g}"));
    }
}

#[test]
fn long_functions_end() {
    let many =
        |times: u32, piece: &dyn Fn(u32) -> String| (0..times).map(piece).collect::<String>();
    let within = |body: String| format!("fn f(x) {{ let a = []; {body} }}");
    for text in [
        within("let b = 1;".repeat(20_000) + "f(x)"),
        within(many(10_000, &|i| format!("let b{i} = 1;")) + "x"),
        within("x = 1;".repeat(40_000) + "f(x)"),
        within("a.push(x * 3 m / 2 s);".repeat(10_000) + "f(x)"),
        within(format!("[f(x), {}]", "x, ".repeat(80_000))),
        within(format!("[{}]", "{ let b = []; x }, ".repeat(10_000))),
        within("let b = |y| x + y + 1;".repeat(8_000) + "f(x)"),
        within(many(8_000, &|i| format!("f(y{i});")) + "x"),
        within(many(2_000, &|i| format!("x.g{i}();")) + "x"),
        many(5_000, &|i| format!("fn f{i}(x) {{ f{i}(x + 1) }}")),
        many(1_900, &|i| format!("fn f{i}(x) {{ f{}(x + 1) }}", (i + 1) % 1_900)),
        format!("fn f(x{}) {{ let a = []; x }}", many(20_000, &|i| format!(", a{i}"))),
    ] {
        ends_soon(&text);
    }
}

/// A hostile function ends with a fault of the user's, and soon.
fn ends_soon(text: &str) {
    let start = &text[..text.len().min(90)];
    let begun = Instant::now();
    let fault = run_within(text, &[plain(1.0)], 500_000).result.expect_err(start);
    let took = begun.elapsed();
    assert_ne!(fault.code, Code::SCRIPT, "{start}: {fault:?}");
    // Each takes less than a second by itself; the machine may be busy.
    assert!(took < Duration::from_secs(10), "{took:?} {start}");
}

#[test]
fn a_sheet_of_trials_is_bounded() {
    let mut sources = Sources::default();
    let text = "fn f(x) { let a = []; loop { } }";
    let source = sources.add("test", text);
    let span = Span { source, start: 0, end: u32::try_from(text.len()).unwrap() };
    let (functions, _) = parsed(text, span);
    let mut scripts = Scripts::default();
    let module = scripts.load(&[&functions[0]], &sources, &Names::default(), STYLE).unwrap();
    let begun = Instant::now();
    for sixtieths in 0..500 {
        // A kind of argument never seen before, each time.
        let dimension = Dimension::LENGTH.to_power(f64::from(sixtieths) / 60.0).unwrap();
        let fault = scripts.result_type(module, &functions[0], &[Type::number(dimension)]);
        assert_eq!(fault.unwrap_err().code, Code::LIMIT);
    }
    assert!(begun.elapsed() < Duration::from_secs(20), "{:?}", begun.elapsed());
}

#[test]
fn steps_are_counted_down() {
    let counted = |n: f64| {
        let text = "fn f(n) { let a = []; for i in 0..n { a.push(i); } count(a) }";
        let mut steps = 1_000_000;
        let ran = run_counted(text, &[plain(n)], &mut steps);
        assert_eq!(ran.result.unwrap().1, Value::Number(n));
        1_000_000 - steps
    };
    let (short, long) = (counted(10.0), counted(1000.0));
    assert!(long > 50 * short && long < 100_000, "{short} {long}");
}

/// Parses on a roomy stack: what is tested here is the interpreter.
fn parsed(text: &str, span: Span) -> (Vec<Function>, Vec<Diagnostic>) {
    std::thread::scope(|scope| {
        std::thread::Builder::new()
            .stack_size(64 << 20)
            .spawn_scoped(scope, || {
                let block = parse::functions(text, span, &|_| false);
                (block.functions, block.diagnostics)
            })
            .unwrap()
            .join()
            .unwrap()
    })
}

#[test]
#[ignore = "a measurement"]
fn how_long_runs_take() {
    let measure = |what: &str, text: &str, arguments: &[(Type, Value)], runs: u32| {
        let mut sources = Sources::default();
        let source = sources.add("test", text);
        let span = Span { source, start: 0, end: u32::try_from(text.len()).unwrap() };
        let (functions, _) = parsed(text, span);
        let mut scripts = Scripts::default();
        let begun = Instant::now();
        let module = scripts.load(&[&functions[0]], &sources, &Names::default(), STYLE).unwrap();
        let loaded = begun.elapsed();
        let types: Vec<Type> = arguments.iter().map(|(ty, _)| *ty).collect();
        let values: Vec<Value> = arguments.iter().map(|(_, value)| value.clone()).collect();
        let result = scripts.result_type(module, &functions[0], &types).unwrap();
        let tried = begun.elapsed() - loaded;
        let function = functions[0].name.text.clone();
        let call = scripts.add(ScriptCall { module, function, arguments: types, result });
        let begun = Instant::now();
        let mut left = 0;
        for _ in 0..runs {
            left = 2_000_000;
            let ran = scripts.run(call, &values, &mut left);
            assert!(ran.is_ok() || left == 0, "{ran:?}");
        }
        println!(
            "{what}: {:?} a run, {} steps; loaded in {loaded:?}, tried in {tried:?}",
            begun.elapsed() / runs,
            2_000_000 - left
        );
    };
    measure("least", "fn f(x) { let a = []; x }", &[plain(1.0)], 1000);
    measure("fib", "fn f(n) { if n < 2 { n } else { f(n - 1) + f(n - 2) } }", &[plain(20.0)], 3);
    let text = "fn f(n) { let a = []; let s = 0 m; for i in 0..n { s += i * 2 m / (i + 1); a.push(s); } a }";
    measure("10,000 turns", text, &[plain(10_000.0)], 10);
    measure(
        "endless",
        "fn f(x) { let a = []; while x > 0 { a.push(1 m); a[0] = 2 m; } a }",
        &[plain(1.0)],
        1,
    );
    measure(
        "closures",
        "fn f(n) { let a = []; let s = 0; let g = |y| y * 2; for i in 0..n { s += g(i); } s }",
        &[plain(10_000.0)],
        3,
    );
}
