//! Random formulas and functions give through a sheet what Rhai's own interpreter gives on plain
//! numbers, wherever Rhai's meaning is ours.
//!
//! Texts are written with as few brackets as the grammar allows, so that precedence and
//! associativity are tested with them. For Rhai all numbers are written as floats and `^` as `**`.

use std::fmt::Write as _;

use forebay_sheet::Sheet;
use proptest::prelude::*;

/// The values of `x0` to `x3`.
const XS: [f64; 4] = [2.5, -3.0, 0.75, 7.0];

/// Random formulas hold at least this deep a nest of operators.
const DEPTH: u32 = 5;

#[derive(Clone, Copy, Debug, PartialEq)]
enum For {
    Us,
    Rhai,
}

#[derive(Clone, Debug)]
enum Expr {
    Number(f64),
    /// The n-th of the names that are in sight, counted round.
    Name(usize),
    Binary(char, Box<Expr>, Box<Expr>),
    Negate(Box<Expr>),
    Call(&'static str, Vec<Expr>),
    If(Box<Cond>, Box<Expr>, Box<Expr>),
    /// `{ let t = …; … }`, inside which `t` is in sight.
    Block(Box<Expr>, Box<Expr>),
}

#[derive(Clone, Debug)]
enum Cond {
    Compare(&'static str, Expr, Expr),
    And(Box<Cond>, Box<Cond>),
    Or(Box<Cond>, Box<Cond>),
    Not(Box<Cond>),
}

#[derive(Clone, Debug)]
enum Statement {
    Let(Expr),
    Assign(usize, &'static str, Expr),
    If(Cond, Vec<Statement>, Vec<Statement>),
    /// How often, and what.
    While(u32, Vec<Statement>),
    ForIn(u32, Vec<Statement>),
    ReturnIf(Cond, Expr),
    BreakIf(Cond),
    ContinueIf(Cond),
}

#[derive(Clone, Debug)]
struct Function {
    body: Vec<Statement>,
    tail: Tail,
}

#[derive(Clone, Debug)]
enum Tail {
    Value(Expr),
    Return(Expr),
    Branches(Cond, Expr, Expr),
    ReturnBranches(Cond, Expr, Expr),
}

/// Writes text for one of the two, with the names in sight.
struct Writer {
    whom: For,
    names: Vec<String>,
    fresh: usize,
    loops: usize,
}

impl Writer {
    fn new(whom: For, names: &[&str]) -> Self {
        let names = names.iter().map(|name| (*name).to_owned()).collect();
        Self { whom, names, fresh: 0, loops: 0 }
    }

    fn number(&self, number: f64) -> String {
        // `2` for us and `2.0` for Rhai, which would divide whole numbers as such.
        match self.whom {
            For::Us => format!("{number}"),
            For::Rhai => format!("{number:?}"),
        }
    }

    fn name(&self, at: usize) -> String {
        self.names[at % self.names.len()].clone()
    }

    fn fresh(&mut self) -> String {
        self.fresh += 1;
        format!("t{}", self.fresh)
    }

    /// The text, in brackets if the place needs an operator that binds at least as tight as `least`.
    fn expr(&mut self, expr: &Expr, least: u8) -> String {
        let (text, binds) = match expr {
            Expr::Number(number) => (self.number(*number), if *number < 0.0 { 185 } else { 255 }),
            Expr::Name(at) => (self.name(*at), 255),
            Expr::Binary(operator, a, b) => self.binary(*operator, a, b),
            // Of a power, `-x^2` is refused; of a negation, `--x` is another sign.
            Expr::Negate(of) => (format!("-{}", self.expr(of, 200)), 185),
            Expr::Call(name, arguments) => {
                let list: Vec<String> = arguments.iter().map(|a| self.expr(a, 0)).collect();
                (format!("{name}({})", list.join(", ")), 255)
            }
            Expr::If(condition, then, otherwise) => {
                let condition = self.cond(condition, 0);
                let (then, otherwise) = (self.expr(then, 0), self.expr(otherwise, 0));
                (format!("if {condition} {{ {then} }} else {{ {otherwise} }}"), 1)
            }
            Expr::Block(value, body) => {
                let value = self.expr(value, 0);
                let name = self.fresh();
                self.names.push(name.clone());
                let body = self.expr(body, 0);
                self.names.pop();
                (format!("{{ let {name} = {value}; {body} }}"), 1)
            }
        };
        if binds < least { format!("({text})") } else { text }
    }

    fn binary(&mut self, operator: char, a: &Expr, b: &Expr) -> (String, u8) {
        let (binds, of_a, of_b) = match operator {
            '+' | '-' => (150, 150, 151),
            '*' | '/' => (180, 180, 181),
            // `80 % x` reads as a percentage: the left side stands in brackets if it is a number.
            '%' => (180, if ends_in_number(a) { 255 } else { 180 }, 181),
            _ => (190, 191, 190),
        };
        let sign = match (operator, self.whom) {
            ('^', For::Rhai) => "**".to_owned(),
            _ => operator.to_string(),
        };
        let mut left = self.expr(a, of_a);
        if operator == '%' && matches!(a, Expr::Number(_)) {
            left = format!("({})", left.trim_matches(['(', ')']));
        }
        (format!("{left} {sign} {}", self.expr(b, of_b)), binds)
    }

    fn cond(&mut self, cond: &Cond, least: u8) -> String {
        let (text, binds) = match cond {
            Cond::Compare(sign, a, b) => {
                let binds = if matches!(*sign, "==" | "!=") { 90 } else { 130 };
                (format!("{} {sign} {}", self.expr(a, 140), self.expr(b, 140)), binds)
            }
            Cond::And(a, b) => (format!("{} && {}", self.cond(a, 60), self.cond(b, 61)), 60),
            Cond::Or(a, b) => (format!("{} || {}", self.cond(a, 30), self.cond(b, 31)), 30),
            Cond::Not(of) => (format!("!{}", self.cond(of, 200)), 185),
        };
        if binds < least { format!("({text})") } else { text }
    }

    fn block(&mut self, statements: &[Statement], indent: usize, text: &mut String) {
        let seen = self.names.len();
        for statement in statements {
            self.statement(statement, indent, text);
        }
        self.names.truncate(seen);
    }

    fn statement(&mut self, statement: &Statement, indent: usize, text: &mut String) {
        let pad = "  ".repeat(indent);
        let in_loop = self.loops > 0;
        match statement {
            Statement::Let(value) => {
                let value = self.expr(value, 0);
                let name = self.fresh();
                self.line(
                    text,
                    &pad,
                    &format!(
                        "let {name} = max(min({value}, {}), {});",
                        self.number(1000.0),
                        self.number(-1000.0)
                    ),
                );
                self.names.push(name);
            }
            Statement::Assign(at, sign, value) => {
                let (name, value) = (self.name(*at), self.expr(value, 0));
                self.line(text, &pad, &format!("{name} {sign} {value};"));
                // Kept within bounds, so that loops do not run off to infinity.
                let (most, least) = (self.number(1000.0), self.number(-1000.0));
                self.line(text, &pad, &format!("{name} = max(min({name}, {most}), {least});"));
            }
            Statement::If(condition, then, otherwise) => {
                let condition = self.cond(condition, 0);
                self.line(text, &pad, &format!("if {condition} {{"));
                self.block(then, indent + 1, text);
                if otherwise.is_empty() {
                    self.line(text, &pad, "}");
                } else {
                    self.line(text, &pad, "} else {");
                    self.block(otherwise, indent + 1, text);
                    self.line(text, &pad, "}");
                }
            }
            Statement::While(times, body) => {
                let counter = self.fresh();
                let (zero, one) = (self.number(0.0), self.number(1.0));
                let times = self.number(f64::from(*times));
                self.line(text, &pad, &format!("let {counter} = {zero};"));
                self.line(text, &pad, &format!("while {counter} < {times} {{"));
                // Counted first, so that `continue` cannot make it endless; not to be assigned.
                self.line(text, &pad, &format!("  {counter} += {one};"));
                self.loops += 1;
                self.block(body, indent + 1, text);
                self.loops -= 1;
                self.line(text, &pad, "}");
            }
            Statement::ForIn(times, body) => {
                let (counter, name) = (self.fresh(), self.fresh());
                self.line(text, &pad, &format!("for {counter} in 0..{times} {{"));
                let value = if self.whom == For::Rhai { ".to_float()" } else { "" };
                self.line(text, &pad, &format!("  let {name} = {counter}{value};"));
                self.names.push(name);
                self.loops += 1;
                self.block(body, indent + 1, text);
                self.loops -= 1;
                self.names.pop();
                self.line(text, &pad, "}");
            }
            Statement::ReturnIf(condition, value) => {
                let (condition, value) = (self.cond(condition, 0), self.expr(value, 0));
                self.line(text, &pad, &format!("if {condition} {{ return {value}; }}"));
            }
            Statement::BreakIf(condition) if in_loop => {
                let condition = self.cond(condition, 0);
                self.line(text, &pad, &format!("if {condition} {{ break; }}"));
            }
            Statement::ContinueIf(condition) if in_loop => {
                let condition = self.cond(condition, 0);
                self.line(text, &pad, &format!("if {condition} {{ continue; }}"));
            }
            Statement::BreakIf(_) | Statement::ContinueIf(_) => {}
        }
    }

    fn line(&self, text: &mut String, pad: &str, line: &str) {
        let _ = writeln!(text, "  {pad}{line}");
    }

    fn function(mut self, function: &Function) -> String {
        let mut text = "fn f(a, b) {\n".to_owned();
        // The names of the body's own level stay in sight of the tail.
        for statement in &function.body {
            self.statement(statement, 1, &mut text);
        }
        let tail = match &function.tail {
            Tail::Value(value) => self.expr(value, 0),
            Tail::Return(value) => format!("return {};", self.expr(value, 0)),
            Tail::Branches(condition, a, b) => {
                let condition = self.cond(condition, 0);
                format!("if {condition} {{ {} }} else {{ {} }}", self.expr(a, 0), self.expr(b, 0))
            }
            Tail::ReturnBranches(condition, a, b) => {
                let condition = self.cond(condition, 0);
                let (a, b) = (self.expr(a, 0), self.expr(b, 0));
                format!("if {condition} {{ return {a}; }} else {{ return {b}; }}")
            }
        };
        // After an `if` a line that begins with a minus is another statement for Rhai and may be a
        // subtraction for a reader: the meanings differ, so it stands in brackets.
        let tail = if tail.starts_with('-') { format!("({tail})") } else { tail };
        let _ = writeln!(text, "    {tail}\n  }}");
        text
    }
}

/// Whether the text of an expression ends in a bare number, to which a `%` would stick.
fn ends_in_number(expr: &Expr) -> bool {
    match expr {
        Expr::Number(_) => true,
        Expr::Binary(_, _, b) => ends_in_number(b),
        Expr::Negate(of) => ends_in_number(of),
        _ => false,
    }
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![(0..10_i32).prop_map(f64::from), (1..400_i32).prop_map(|n| f64::from(n) / 8.0)]
}

fn expr(blocks: bool) -> impl Strategy<Value = Expr> {
    let leaf = prop_oneof![
        number().prop_map(Expr::Number),
        number().prop_map(|n| Expr::Number(-n - 0.5)),
        (0..9_usize).prop_map(Expr::Name),
        (0..9_usize).prop_map(Expr::Name),
    ];
    leaf.prop_recursive(DEPTH, 40, 3, move |inner| {
        let boxed = inner.clone().prop_map(Box::new);
        let operators = prop::sample::select(vec!['+', '-', '*', '/', '%', '+', '-', '*', '/']);
        let binary = (operators, boxed.clone(), boxed.clone())
            .prop_map(|(operator, a, b)| Expr::Binary(operator, a, b));
        let exponent = prop_oneof![
            (0..4_i32).prop_map(|n| Expr::Number(f64::from(n))),
            // A tower of powers, which binds to the right.
            (0..3_i32, 0..3_i32).prop_map(|(a, b)| {
                let number = |n| Box::new(Expr::Number(f64::from(n)));
                Expr::Binary('^', number(a), number(b))
            }),
        ];
        let power = (boxed.clone(), exponent)
            .prop_map(|(base, exponent)| Expr::Binary('^', base, Box::new(exponent)));
        let one = prop::sample::select(vec!["abs", "sqrt", "floor", "round", "exp"]);
        let call = (one, inner.clone()).prop_map(|(name, of)| {
            // Of a value that is not negative, and not too great.
            let of = Expr::Call("min", vec![Expr::Call("abs", vec![of]), Expr::Number(9.0)]);
            Expr::Call(name, vec![of])
        });
        let two = (prop::sample::select(vec!["min", "max"]), inner.clone(), inner.clone())
            .prop_map(|(name, a, b)| Expr::Call(name, vec![a, b]));
        let choice = (cond_of(inner.clone()), boxed.clone(), boxed.clone())
            .prop_map(|(c, a, b)| Expr::If(Box::new(c), a, b));
        let negate = boxed.clone().prop_map(Expr::Negate);
        let block = (boxed.clone(), boxed).prop_map(move |(a, b)| match blocks {
            true => Expr::Block(a, b),
            false => Expr::Binary('-', a, b),
        });
        prop_oneof![
            6 => binary, 2 => power, 1 => call, 1 => two, 1 => choice, 1 => negate, 1 => block
        ]
    })
}

fn cond_of(inner: impl Strategy<Value = Expr> + Clone + 'static) -> BoxedStrategy<Cond> {
    let signs = prop::sample::select(vec!["<", "<=", ">", ">=", "==", "!="]);
    let compare = (signs, inner.clone(), inner).prop_map(|(sign, a, b)| Cond::Compare(sign, a, b));
    compare
        .prop_recursive(2, 4, 2, |inner| {
            let inner = inner.prop_map(Box::new);
            prop_oneof![
                (inner.clone(), inner.clone()).prop_map(|(a, b)| Cond::And(a, b)),
                (inner.clone(), inner.clone()).prop_map(|(a, b)| Cond::Or(a, b)),
                inner.prop_map(Cond::Not),
            ]
        })
        .boxed()
}

/// Expressions for function bodies: no more than a few operators, and nothing that could be
/// infinite, so that a value that is missing is never excused.
fn tame() -> BoxedStrategy<Expr> {
    let leaf = prop_oneof![
        1 => number().prop_map(Expr::Number),
        3 => (0..12_usize).prop_map(Expr::Name),
    ];
    leaf.prop_recursive(2, 6, 2, |inner| {
        let boxed = inner.clone().prop_map(Box::new);
        let operators = prop::sample::select(vec!['+', '-', '*']);
        prop_oneof![
            4 => (operators, boxed.clone(), boxed.clone()).prop_map(|(o, a, b)| Expr::Binary(o, a, b)),
            1 => boxed.clone().prop_map(|a| Expr::Binary('^', a, Box::new(Expr::Number(2.0)))),
            1 => boxed.clone().prop_map(|a| Expr::Binary('/', a, Box::new(Expr::Number(4.0)))),
            1 => boxed.clone().prop_map(Expr::Negate),
            1 => (boxed.clone(), boxed.clone()).prop_map(|(a, b)| Expr::Block(a, b)),
            1 => (cond_of(inner), boxed.clone(), boxed).prop_map(|(c, a, b)| Expr::If(Box::new(c), a, b)),
        ]
    })
    .boxed()
}

fn statements() -> impl Strategy<Value = Vec<Statement>> {
    let signs = prop::sample::select(vec!["=", "+=", "-=", "*="]);
    let simple = prop_oneof![
        3 => tame().prop_map(Statement::Let),
        4 => (0..12_usize, signs, tame()).prop_map(|(at, sign, e)| Statement::Assign(at, sign, e)),
        1 => (cond_of(tame()), tame()).prop_map(|(c, e)| Statement::ReturnIf(c, e)),
        1 => cond_of(tame()).prop_map(Statement::BreakIf),
        1 => cond_of(tame()).prop_map(Statement::ContinueIf),
    ];
    let nested = simple.prop_recursive(3, 16, 3, |inner| {
        let body = prop::collection::vec(inner, 1..4);
        prop_oneof![
            (cond_of(tame()), body.clone(), prop_oneof![Just(Vec::new()), body.clone()])
                .prop_map(|(c, a, b)| Statement::If(c, a, b)),
            (0..5_u32, body.clone()).prop_map(|(times, body)| Statement::While(times, body)),
            (0..5_u32, body).prop_map(|(times, body)| Statement::ForIn(times, body)),
        ]
    });
    prop::collection::vec(nested, 0..5)
}

fn function() -> impl Strategy<Value = Function> {
    let tail = prop_oneof![
        tame().prop_map(Tail::Value),
        tame().prop_map(Tail::Return),
        (cond_of(tame()), tame(), tame()).prop_map(|(c, a, b)| Tail::Branches(c, a, b)),
        (cond_of(tame()), tame(), tame()).prop_map(|(c, a, b)| Tail::ReturnBranches(c, a, b)),
    ];
    (statements(), tail).prop_map(|(body, tail)| Function { body, tail })
}

thread_local! {
    /// Building one takes longer than running a formula.
    static ENGINE: rhai::Engine = {
        let mut engine = rhai::Engine::new();
        engine.set_max_expr_depths(512, 512);
        engine
    };
}

/// What Rhai's interpreter makes of a text, with `x0` to `x3` set; the text of its refusal if not.
fn by_rhai(text: &str) -> Result<f64, String> {
    let mut scope = rhai::Scope::new();
    for (at, x) in XS.iter().enumerate() {
        scope.push(format!("x{at}"), *x);
    }
    ENGINE
        .with(|engine| engine.eval_with_scope::<f64>(&mut scope, text))
        .map_err(|error| error.to_string())
}

/// What the sheet makes of it; the codes and messages of its refusal if not.
fn by_sheet(functions: &str, formula: &str) -> Result<f64, String> {
    let mut text = "forebay: 1\nknown:\n".to_owned();
    for (at, x) in XS.iter().enumerate() {
        let _ = writeln!(text, "  x{at}: {x}");
    }
    if !functions.is_empty() {
        let _ = writeln!(text, "functions: |\n  {functions}");
    }
    let mut sheet = Sheet::open(&text);
    let told = |d: &forebay_sheet::Diagnostic| format!("{}: {}", d.code.name, d.message);
    if let Some(first) = sheet.diagnostics().first() {
        return Err(told(first));
    }
    let answer = sheet.eval(formula).map_err(|found| told(&found[0]))?;
    answer.value.as_number().ok_or_else(|| "no number".to_owned())
}

fn same(a: f64, b: f64) -> bool {
    a == b || (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, max_global_rejects: 20_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn formulas_mean_what_rhai_means(expr in expr(true)) {
        let names = ["x0", "x1", "x2", "x3"];
        let ours = Writer::new(For::Us, &names).expr(&expr, 0);
        let theirs = Writer::new(For::Rhai, &names).expr(&expr, 0);
        let rhai = by_rhai(&theirs);
        prop_assert!(rhai.is_ok(), "{theirs}: {rhai:?}");
        let rhai = rhai.unwrap_or(f64::NAN);
        match by_sheet("", &ours) {
            Ok(value) => prop_assert!(same(value, rhai), "{ours}\n{theirs}\nsheet {value}, Rhai {rhai}"),
            // Infinity and NaN are no values here; on the way Rhai may have come by one.
            Err(why) if why.starts_with("no-value") => {
                prop_assert!(!rhai.is_finite() || may_be_infinite(&expr), "{ours}: {why}, Rhai {rhai}");
                prop_assume!(false);
            }
            Err(why) => prop_assert!(false, "{ours}: {why}, Rhai {rhai}"),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 800, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn functions_mean_what_rhai_means(function in function(), a in -9..9_i32, b in number()) {
        let ours = Writer::new(For::Us, &["a", "b"]).function(&function);
        let theirs = Writer::new(For::Rhai, &["a", "b"]).function(&function);
        let (a, b) = (f64::from(a), b);
        let rhai = by_rhai(&format!("{theirs}\nf({a:?}, {b:?})"));
        prop_assert!(rhai.is_ok(), "{theirs}: {rhai:?}");
        let rhai = rhai.unwrap_or(f64::NAN);
        let sheet = by_sheet(&ours, &format!("f({a}, {b})"));
        prop_assert!(
            sheet.as_ref().is_ok_and(|value| same(*value, rhai)),
            "{ours}f({a}, {b})\nsheet {sheet:?}, Rhai {rhai}"
        );
    }
}

/// Whether there is an operation that can leave the finite numbers.
fn may_be_infinite(expr: &Expr) -> bool {
    match expr {
        Expr::Number(_) | Expr::Name(_) => false,
        Expr::Binary(operator, a, b) => {
            matches!(operator, '/' | '%' | '^') || may_be_infinite(a) || may_be_infinite(b)
        }
        Expr::Negate(of) => may_be_infinite(of),
        Expr::Call(_, of) => of.iter().any(may_be_infinite),
        Expr::If(condition, a, b) => {
            cond_may_be_infinite(condition) || may_be_infinite(a) || may_be_infinite(b)
        }
        Expr::Block(a, b) => may_be_infinite(a) || may_be_infinite(b),
    }
}

fn cond_may_be_infinite(cond: &Cond) -> bool {
    match cond {
        Cond::Compare(_, a, b) => may_be_infinite(a) || may_be_infinite(b),
        Cond::And(a, b) | Cond::Or(a, b) => cond_may_be_infinite(a) || cond_may_be_infinite(b),
        Cond::Not(of) => cond_may_be_infinite(of),
    }
}

#[test]
fn precedence_and_association_are_rhais() {
    for (ours, theirs) in [
        ("1 / 2", "1.0 / 2.0"),
        ("2 ^ 3 ^ 2", "2.0 ** 3.0 ** 2.0"),
        ("10 - 4 - 3", "10.0 - 4.0 - 3.0"),
        ("100 / 10 / 5", "100.0 / 10.0 / 5.0"),
        ("100 / 10 * 5", "100.0 / 10.0 * 5.0"),
        ("x3 % 4 * 3", "x3 % 4.0 * 3.0"),
        ("x1 % 2", "x1 % 2.0"),
        ("x3 * x0 % 4", "x3 * x0 % 4.0"),
        ("2 * x0 ^ 2", "2.0 * x0 ** 2.0"),
        ("2 - -x0", "2.0 - -x0"),
        ("2 ^ -x0", "2.0 ** -x0"),
        ("-x0 * x1", "-x0 * x1"),
        (
            "if x0 > 1 && x1 > 1 || x2 < 1 { 1 } else { 2 }",
            "if x0 > 1.0 && x1 > 1.0 || x2 < 1.0 { 1.0 } else { 2.0 }",
        ),
        ("if 1 + 1 < 2 * 2 { 1 } else { 2 }", "if 1.0 + 1.0 < 2.0 * 2.0 { 1.0 } else { 2.0 }"),
    ] {
        let (sheet, rhai) = (by_sheet("", ours), by_rhai(theirs));
        assert_eq!(sheet, rhai, "{ours}");
    }
}
