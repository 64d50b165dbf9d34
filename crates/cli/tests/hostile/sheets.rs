//! The hostile sheets, one row each: what is opened, and what must be said about it.

/// What is opened, how, and what must be said.
pub(crate) struct Hostile {
    pub(crate) name: String,
    /// The files of the sheet's folder.
    pub(crate) files: Vec<(String, Vec<u8>)>,
    pub(crate) arguments: Vec<&'static str>,
    /// A piece of what must be said.
    pub(crate) says: &'static str,
}

impl Hostile {
    /// One sheet, run.
    pub(crate) fn sheet(name: &str, sheet: &str, says: &'static str) -> Self {
        Self::called(name, &["run", "sheet.yaml"], sheet, says)
    }

    /// One sheet, under some command.
    fn called(name: &str, arguments: &[&'static str], sheet: &str, says: &'static str) -> Self {
        Self {
            name: name.to_owned(),
            files: vec![("sheet.yaml".to_owned(), sheet.as_bytes().to_vec())],
            arguments: arguments.to_vec(),
            says,
        }
    }

    /// A sheet with functions of its own, of which one is called.
    fn function(name: &str, functions: &str, call: &str, says: &'static str) -> Self {
        let body = functions.replace('\n', "\n  ");
        let sheet = format!("forebay: 1\nfunctions: |\n  {body}\nwork:\n  a: {call}\n");
        Self::sheet(name, &sheet, says)
    }

    /// A sheet with one formula, which may be long.
    fn formula(name: &str, formula: &str, says: &'static str) -> Self {
        Self::sheet(name, &format!("forebay: 1\nwork:\n  a: {formula}\n"), says)
    }

    /// A sheet under `use` or with a table's file.
    fn reading(name: &str, of: &str, says: &'static str) -> Self {
        Self::sheet(name, &format!("forebay: 1\n{of}\n"), says)
    }

    /// The bytes of all its files.
    pub(crate) fn size(&self) -> usize {
        self.files.iter().map(|(_, bytes)| bytes.len()).sum()
    }

    fn and(mut self, name: &str, text: &str) -> Self {
        self.files.push((name.to_owned(), text.as_bytes().to_vec()));
        self
    }
}

/// Every hostile sheet.
pub(crate) fn hostile() -> Vec<Hostile> {
    let mut all = loops();
    for more in [calls(), bombs(), nesting(), numbers(), sweeps(), files(), flood(), escapes()] {
        all.extend(more);
    }
    all
}

/// Odd texts that are worth no error.
pub(crate) const HARMLESS: &[(&str, &str)] = &[
    (
        "escape codes in a title",
        "forebay: 1\ntitle: \"\\e[2J\\e]0;owned\\a\\u009b31m\"\nknown:\n  a: 1 m\n",
    ),
    (
        "directions in a title",
        "forebay: 1\ntitle: \"weir \\u202egnorw\\u2066 \\u200f\"\nknown:\n  a: 1 m\n",
    ),
    (
        "escape codes in a check",
        "forebay: 1\nknown:\n  a: 1 m\ncheck:\n  c: { that: a > 2 m, level: care, else: \"\\e[31m\\u202e\" }\n",
    ),
    (
        "escape codes in a column",
        "forebay: 1\ntables:\n  t:\n    columns: { x: text }\n    rows:\n      - [\"\\e[2J\"]\nwork:\n  a: t.x\n",
    ),
];

/// Loops without end.
fn loops() -> Vec<Hostile> {
    let looped = |name: &str, body: &str| {
        Hostile::function(name, &format!("fn f(x) {{ {body} }}"), "f(1)", "stopped")
    };
    vec![
        looped("while true", "while true { x += 1; } x"),
        looped("loop", "loop { if x > 1e300 { break; } } x"),
        looped("while that stands still", "let i = 0; while i < 1 { i *= 1; } i"),
        looped(
            "for in for in for",
            "for a in 0..100000 { for b in 0..100000 { for c in 0..100000 { x += 1; } } } x",
        ),
        looped("continue for ever", "while true { continue; } x"),
        Hostile::function(
            "a range of 9e12",
            "fn f(x) { for a in 0..9000000000000 { x += 1; } x }",
            "f(1)",
            "stopped",
        ),
        Hostile::function(
            "a loop inside a solver",
            "fn f(x) { let i = 0; while i < 1000000000 { i += 1; } x - i }",
            "zero_of(|q| f(q), 0, 1)",
            "stopped",
        ),
        Hostile::formula(
            "solvers inside solvers",
            "\"integral(|a| integral(|b| integral(|c| integral(|d| integral(|e| a*b*c*d*e, 0, 1), 0, 1), 0, 1), 0, 1), 0, 1) / 0\"",
            "",
        ),
    ]
}

/// Functions that call themselves or each other.
fn calls() -> Vec<Hostile> {
    let mut twice = String::from("fn f0(x) { x + 1 }");
    let mut chain = String::from("fn g0(x) { let y = x; while y > 1 { y -= 1; } y }");
    for at in 1..200 {
        let below = at - 1;
        if at < 40 {
            twice.push_str(&format!("\nfn f{at}(x) {{ f{below}(x) + f{below}(x) }}"));
        }
        chain.push_str(&format!("\nfn g{at}(x) {{ g{below}(x) }}"));
    }
    let many: String = (0..5000).map(|at| format!("fn f{at}(x) {{ x }}\n")).collect();
    let wide: Vec<String> = (0..5000).map(|at| format!("p{at}")).collect();
    let wide = format!("fn f({}) {{ p0 }}", wide.join(", "));
    let long = format!("fn f(x) {{\n{}x\n}}", "x += 1;\n".repeat(100_000));
    let locals: String = (0..5000).map(|at| format!("let v{at} = x; ")).collect();
    vec![
        Hostile::function("recursion", "fn f(x) { f(x + 1) }", "f(1)", "itself"),
        Hostile::function("recursion of two", "fn f(x) { g(x) }\nfn g(x) { f(x) }", "f(1)", ""),
        Hostile::function(
            "recursion that branches",
            "fn f(n) { if n < 2 { n } else { f(n - 1) + f(n - 2) } }",
            "f(60)",
            "",
        ),
        Hostile::function(
            "recursion inside a loop",
            "fn f(x) { let y = 0; while y < 10 { y += f(x); } y }",
            "f(1)",
            "",
        ),
        Hostile::function("each calls twice", &twice, "f39(1)", ""),
        Hostile::function("a chain of two hundred", &chain, "g199(5)", ""),
        Hostile::function("five thousand functions", &many, "f4999(1) + 1 m", ""),
        Hostile::function("five thousand parameters", &wide, "f(1)", ""),
        Hostile::function("a hundred thousand lines", &long, "f(1)", ""),
        Hostile::function(
            "five thousand variables",
            &format!("fn f(x) {{ {locals} while x < 1 {{ x += 1; }} x }}"),
            "f(0) + 1 m",
            "",
        ),
    ]
    .into_iter()
    .chain(
        [
            "import \"x\" as y; 1",
            "eval(\"1\")",
            "print(1); 1",
            "sleep(9); 1",
            "exit(); 1",
            "timestamp()",
            "open_file(\"/etc/passwd\")",
            "Fn(\"f\").call(1)",
            "x.call(1)",
            "throw 1",
        ]
        .map(|body| Hostile::function(body, &format!("fn f(x) {{ {body} }}"), "f(1)", "")),
    )
    .collect()
}

/// What grows without measure.
fn bombs() -> Vec<Hostile> {
    let laughs: String = (1..30)
        .map(|at| format!("  a{at}: &a{at} [{}]\n", vec![format!("*a{}", at - 1); 9].join(", ")))
        .collect();
    let chain = "fn f(x) { let g = |y| y + 1; let i = 0; while i < 100000 { let h = g; g = |y| h(y) + 1; i += 1; } g(x) }";
    vec![
        Hostile::function(
            "a text that doubles",
            "fn f(x) { let s = \"x\"; let i = 0; while i < 60 { s += s; i += 1; } s }",
            "f(1)",
            "",
        ),
        Hostile::function(
            "a list that doubles",
            "fn f(x) { let s = [1, 2]; let i = 0; while i < 60 { s += s; i += 1; } s.len() + x }",
            "f(1)",
            "",
        ),
        Hostile::function(
            "a list that is pushed to",
            "fn f(x) { let s = [1]; while true { s.push(x); } s }",
            "f(1)",
            "",
        ),
        Hostile::function(
            "a list of lists",
            "fn f(x) { let s = [1]; let i = 0; while i < 60 { s = [s, s]; i += 1; } s }",
            "f(1)",
            "",
        ),
        Hostile::function(
            "a map",
            "fn f(x) { let m = #{ a: 1 }; while true { m = #{ a: m, b: m }; } 1 }",
            "f(1)",
            "",
        ),
        Hostile::function("a chain of closures", chain, "f(1)", ""),
        Hostile::function(
            "a range turned into a list",
            "fn f(x) { let s = (0..1000000000).map(|i| i * x); s }",
            "sum(f(1))",
            "",
        ),
        Hostile::sheet(
            "aliases of aliases",
            &format!("forebay: 1\nknown:\n  a0: &a0 1 m\n{laughs}"),
            "",
        ),
        Hostile::sheet("an alias of itself", "forebay: 1\nknown: &k\n  a: *k\n", ""),
        Hostile::sheet(
            "merge keys",
            "forebay: 1\nknown:\n  a: &a { is: 1 m }\n  b:\n    <<: [*a, *a, *a]\n",
            "",
        ),
        Hostile::sheet(
            "tags",
            "forebay: 1\nknown:\n  a: !!python/object/apply:os.system [ls]\n",
            "",
        ),
    ]
}

/// What is nested too deeply.
fn nesting() -> Vec<Hostile> {
    let deep = 20_000;
    let both = |open: &str, middle: &str, close: &str| {
        format!("{}{middle}{}", open.repeat(deep), close.repeat(deep))
    };
    let otherwise = "if 1 > 2 { 1 } else ".repeat(5_000) + "{ 1 }";
    vec![
        Hostile::formula("round brackets", &both("(", "1", ")"), "deep"),
        Hostile::formula("square brackets", &format!("'{}'", both("[", "1", "]")), "deep"),
        Hostile::formula("minus signs", &format!("'{}1'", "-".repeat(deep)), ""),
        Hostile::formula("not signs", &format!("'{}true'", "!".repeat(deep)), ""),
        Hostile::formula("powers", &format!("2{}", "^2".repeat(deep)), ""),
        Hostile::formula(
            "a sum of a hundred thousand",
            &format!("1{}", " + 1".repeat(100_000)),
            "",
        ),
        Hostile::formula("calls in calls", &both("sqrt(", "1", ")"), "deep"),
        Hostile::formula("if after if", &format!("'{otherwise}'"), ""),
        Hostile::formula(
            "closures in closures",
            &format!("'{}'", both("map([1], |x| ", "1", ")")),
            "",
        ),
        Hostile::function(
            "blocks in blocks",
            &format!("fn f(x) {{ {} }}", both("{ ", "x", " }")),
            "f(1)",
            "",
        ),
        Hostile::function(
            "loops in loops",
            &format!("fn f(x) {{ {} x }}", both("while x < 1 { ", "x += 1;", " }")),
            "f(1)",
            "",
        ),
        Hostile::sheet(
            "lists in YAML",
            &format!("forebay: 1\nknown:\n  a: {}\n", "[".repeat(100_000)),
            "deep",
        ),
        Hostile::sheet(
            "dashes in YAML",
            &format!("forebay: 1\nknown:\n  {}a\n", "- ".repeat(100_000)),
            "",
        ),
        Hostile::sheet(
            "braces in YAML",
            &format!("forebay: 1\nknown: {}", "{a: ".repeat(100_000)),
            "deep",
        ),
        Hostile::sheet(
            "question marks in YAML",
            &format!("forebay: 1\n{}", "? ".repeat(50_000)),
            "",
        ),
    ]
}

/// Numbers that cannot be held.
fn numbers() -> Vec<Hostile> {
    let one = |name: &str, formula: &str, says| Hostile::formula(name, formula, says);
    vec![
        one("1e400", "1e400 m", ""),
        one("an overflow", "1e308 * 1e308", ""),
        one("a tower of powers", "10^(10^(10^10))", ""),
        one("a million digits", &"9".repeat(1_000_000), ""),
        one("a unit to the millionth", "2 m^1000000", ""),
        one("a power of a unit", "(2 m)^1e9", ""),
        one("nothing by nothing", "0 m / 0 m", ""),
        one("root of minus one", "sqrt(0 - 1)", ""),
        one("one by nothing", "1 / 0", ""),
        one("not a number", "NaN", ""),
        one("without end", "inf + 1", ""),
        one("a logarithm of nothing", "ln(0)", ""),
        one("an exponent of 10,000 digits", &format!("1e{}", "9".repeat(10_000)), ""),
        one("a steep exponential", "exp(1e9)", ""),
        one("much money", "1e40 EUR", ""),
        one("a date that is none", "2026-13-45", ""),
        Hostile::sheet("a known that is none", "forebay: 1\nknown:\n  a: NaN\n  b: .inf\n", ""),
        Hostile::sheet(
            "many products of units",
            &format!(
                "forebay: 1\nknown:\n  a: 2 m\nwork:\n  b: a{}\n",
                " * a".repeat(150).as_str().to_owned() + "\n  c: b * b * b * b"
            ),
            "",
        ),
    ]
}

/// Sweeps and draws of more than can be wanted.
fn sweeps() -> Vec<Hostile> {
    let sheet =
        "forebay: 1\nshow: [b]\nknown:\n  a: { is: 1 m, plus_minus: 1 cm }\nwork:\n  b: 2 * a\n";
    vec![
        Hostile::called(
            "10^9 points",
            &["vary", "sheet.yaml", "--over", "a=1 m..2 m/1000000000"],
            sheet,
            "",
        ),
        Hostile::called(
            "10^6 by 10^6 points",
            &["vary", "sheet.yaml", "--over", "a=1 m..2 m/1000000", "--over", "a=1 m..2 m/1000000"],
            sheet,
            "",
        ),
        Hostile::called(
            "10^15 samples",
            &["spread", "sheet.yaml", "--samples", "1000000000000000"],
            sheet,
            "",
        ),
        Hostile::sheet(
            "a curve of 10^9 points",
            &format!(
                "{sheet}draw:\n  d: {{ kind: lines, over: a = 1 m..2 m/1000000000, y: {{ b: b }} }}\n"
            ),
            "points",
        ),
        Hostile::called(
            "10^9 learners",
            &["exercise", "sheet.yaml", "--for", "1000000000", "--output", "out"],
            &format!(
                "{sheet}exercise:\n  vary:\n    a: {{ between: [1 m, 2 m] }}\n  ask:\n    b: How much?\n"
            ),
            "",
        ),
        Hostile::sheet(
            "10^9 readings",
            &format!(
                "{sheet}exercise:\n  readings:\n    a: {{ noise: 1 mm, count: 1000000000 }}\n  ask:\n    b: How much?\n"
            ),
            "whole number",
        ),
    ]
}

/// Files that are none of a sheet's business.
fn files() -> Vec<Hostile> {
    let used = |name: &str, file: &str, says| {
        Hostile::reading(name, &format!("use:\n  u: {{ sheet: {file} }}"), says)
    };
    let table = |name: &str, file: &str, says| {
        Hostile::reading(
            name,
            &format!("tables:\n  t:\n    columns: {{ level: m }}\n    csv: {file}"),
            says,
        )
    };
    let using = |others: &[&str]| {
        let uses: String = others
            .iter()
            .enumerate()
            .map(|(at, other)| format!("  u{at}: {{ sheet: {other} }}\n"))
            .collect();
        format!("forebay: 1\nuse:\n{uses}")
    };
    let thousand: Vec<&str> = std::iter::repeat_n("first-look", 1000).collect();
    let thousand = using(&thousand).replacen("use:", "currency: NOK\nuse:", 1);
    let mut deep = Hostile::sheet("twenty deep", &using(&["s0.yaml"]), "deep");
    let mut wide = Hostile::sheet("each uses two", &using(&["s0.yaml", "s0.yaml"]), "64");
    for at in 0..20 {
        let next = format!("s{}.yaml", at + 1);
        deep = deep.and(&format!("s{at}.yaml"), &using(&[&next]));
        wide = wide.and(&format!("s{at}.yaml"), &using(&[&next, &next]));
    }
    vec![
        used("itself", "sheet.yaml", "ring"),
        Hostile::sheet("a ring of two", &using(&["b.yaml"]), "ring")
            .and("b.yaml", &using(&["sheet.yaml"])),
        used("a sheet above", "../secret.yaml", "own folder"),
        used("a sheet below", "below/deep.yaml", "own folder"),
        used("a sheet by its whole path", "/etc/hostname", "own folder"),
        used("a link that leads out", "link.yaml", "leads out"),
        used("a device", "zero.yaml", "leads out"),
        used("a pipe", "pipe.yaml", "ordinary file"),
        used("an address", "https://example.org/a.yaml", ""),
        used("a name with a zero byte", "\"a\\0b.yaml\"", ""),
        used("a name with escapes", "\"\\e[2J.yaml\"", ""),
        Hostile::sheet("a template a thousand times", &thousand, "64"),
        deep,
        wide,
        table("a table above", "../secret.csv", "own folder"),
        table("a table by its whole path", "/etc/passwd.csv", "own folder"),
        table("a table behind a link", "link.csv", "leads out"),
    ]
}

/// More than anybody wrote by hand.
fn flood() -> Vec<Hostile> {
    let many = |count: usize, line: fn(usize) -> String| (0..count).map(line).collect::<String>();
    let ring = many(20_000, |at| format!("  c{at}: c{} + 1\n", (at + 1) % 20_000));
    let chain = many(20_000, |at| format!("  c{at}: c{} + 1\n", at + 1));
    let broken = many(50_000, |at| format!("  k{at}: 1 furlongs\n"));
    let knowns = many(1_000, |at| format!("  k{at}: {{ is: 1 m, plus_minus: 1 cm }}\n"));
    let names: Vec<String> = (0..1_000).map(|at| format!("k{at}")).collect();
    let wide: Vec<String> = (0..500_000).map(|at| format!("{at}")).collect();
    let raw = |name: &str, bytes: Vec<u8>, says| Hostile {
        files: vec![("sheet.yaml".to_owned(), bytes)],
        ..Hostile::sheet(name, "", says)
    };
    vec![
        Hostile::formula("a formula of 10 MB", &"a + ".repeat(2_600_000), ""),
        Hostile::formula("a name of 10 MB", &"a".repeat(10_000_000), ""),
        Hostile::formula("a text of 10 MB", &format!("'\"{}\"'", "x".repeat(10_000_000)), ""),
        Hostile::sheet(
            "a sheet of 17 MiB",
            &format!("forebay: 1\n{}", "#\n".repeat(9_000_000)),
            "larger than 16 MiB",
        ),
        Hostile::sheet("fifty thousand errors", &format!("forebay: 1\nknown:\n{broken}"), "more"),
        Hostile::sheet(
            "the same name fifty thousand times",
            &format!("forebay: 1\nknown:\n{}", "  a: 1 m\n".repeat(50_000)),
            "",
        ),
        Hostile::sheet(
            "a ring of twenty thousand",
            &format!("forebay: 1\nwork:\n{ring}"),
            "more) →",
        ),
        Hostile::sheet(
            "a chain of twenty thousand that ends nowhere",
            &format!("forebay: 1\nwork:\n{chain}"),
            "",
        ),
        Hostile::sheet(
            "three million items",
            &format!("forebay: 1\nknown:\n  a: [{}]\n", "1,".repeat(3_000_000)),
            "",
        ),
        Hostile::sheet(
            "a row of half a million",
            &format!(
                "forebay: 1\ntables:\n  t:\n    columns: {{ x: m }}\n    rows: [[{}]]\n",
                wide.join(",")
            ),
            "row 1",
        ),
        Hostile::sheet(
            "a head of half a million",
            &format!(
                "forebay: 1\ntables:\n  t:\n    columns: {{ x: m }}\n    csv: |\n      {}\n",
                wide.join(",")
            ),
            "",
        ),
        Hostile::sheet(
            "a thousand knowns tied",
            &format!("forebay: 1\nknown:\n{knowns}tied:\n  t: [{}]\n", names.join(", ")),
            "",
        ),
        Hostile::sheet("documents", &format!("forebay: 1\n{}", "---\n".repeat(50_000)), ""),
        Hostile::sheet("a key of 5 MB", &format!("forebay: 1\n{}: 1\n", "k".repeat(5_000_000)), ""),
        raw("bytes that are no text", (0..=255_u8).cycle().take(100_000).collect(), "UTF-8"),
        raw("zero bytes", vec![0; 100_000], ""),
        raw("nothing", Vec::new(), "version"),
        raw("a lone quote", b"forebay: 1\nknown:\n  a: \"".to_vec(), ""),
    ]
}

/// Errors whose text would steer the terminal.
fn escapes() -> Vec<Hostile> {
    vec![
        Hostile::sheet("escape codes in a name", "forebay: 1\nwork:\n  \"b\\e[2J\": 1 m\n", ""),
        Hostile::sheet(
            "escape codes in a formula",
            "forebay: 1\nwork:\n  a: '1 m + \u{9b}31m'\n",
            "",
        ),
        Hostile::sheet(
            "directions in a formula",
            "forebay: 1\nwork:\n  a: 1 m + 1 s # \u{202e}\u{2066}\n",
            "",
        ),
        Hostile::sheet(
            "a title that is an error's",
            "forebay: 2\ntitle: \"\\e]8;;http://example.org\\e\\\\link\"\n",
            "newer",
        ),
        Hostile::sheet(
            "a thousand marks on one letter",
            &format!("forebay: 1\nwork:\n  a: 1 m + e{}\n", "\u{301}".repeat(1000)),
            "",
        ),
    ]
}
