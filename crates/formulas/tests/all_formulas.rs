//! Three promises held for every formula at once: it reproduces its published values, it holds in
//! every set of units unless it says that it does not, and it speaks up at its limits.

use forebay_formulas::{
    Argument, Check, Formula, Given, Kind, Limit, Parameter, Range, SOURCES, Standing, all,
};
use forebay_units::{Dimension, Quantity, Unit};

/// What `hides` says of a formula that hides nothing but the size of the radian.
const RADIAN: &str = "the radian";
/// Where plane angle stands among the base dimensions.
const ANGLE: usize = 5;

#[test]
fn every_check_value_is_reproduced() {
    let mut faults = Vec::new();
    for formula in all() {
        if formula.checks.is_empty() {
            faults.push(format!("{}: has no check value", formula.name));
        }
        if !SOURCES.iter().any(|work| work.name == formula.source.work) {
            faults.push(format!("{}: {} is not in SOURCES", formula.name, formula.source.work));
        }
        let told =
            formula.source.work.contains("memory") || formula.source.place.contains("memory");
        if told && formula.source.standing != Standing::Memory {
            faults.push(format!("{}: from memory by its text, not by its standing", formula.name));
        }
        if formula.body.count().is_some_and(|count| count != formula.parameters.len()) {
            faults.push(format!("{}: body and parameters differ in number", formula.name));
        }
        for check in formula.checks {
            if let Err(fault) = reproduce(formula, check) {
                faults.push(format!("{}: {}: {fault}", formula.name, check.source));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_standard_is_cited_with_its_number() {
    let is_body = |word: &str| word.len() > 1 && word.bytes().all(|b| b.is_ascii_uppercase());
    for work in SOURCES {
        let numbered = work.name.bytes().any(|byte| byte.is_ascii_digit());
        if numbered && work.name.split(' ').next().is_some_and(is_body) {
            assert!(work.full.contains(work.name), "{}: {}", work.name, work.full);
        }
    }
}

#[test]
fn every_formula_holds_in_every_set_of_units_or_says_that_it_does_not() {
    let mut faults = Vec::new();
    for formula in all() {
        let (mut bases, mut angle) = (true, true);
        for check in formula.checks {
            let values = arguments(formula, check);
            for seed in 1..=3 {
                let mut random = Random(seed);
                let mut factors: [f64; 7] = std::array::from_fn(|_| random.between(0.4, 2.5));
                factors[ANGLE] = 1.0;
                bases &= holds_rescaled(formula, &values, &factors);
                let mut factors = [1.0; 7];
                factors[ANGLE] = random.between(1.1, 2.5);
                angle &= holds_rescaled(formula, &values, &factors);
            }
        }
        let fault = match (formula.hides, bases, angle) {
            (None, true, true) | (Some(RADIAN), true, false) => continue,
            (Some(hidden), false, _) if hidden != RADIAN => continue,
            (None, true, false) => "changes with the size of the radian, and does not say so",
            (None, false, _) => "hides a unit, and does not say so",
            (Some(RADIAN), false, _) => "hides more than the radian",
            (Some(RADIAN), true, true) => "does not hide the radian, though it says so",
            (Some(_), true, false) => "hides nothing but the radian",
            (Some(_), true, true) => "hides no unit, though it says so",
            (Some(_), false, _) => continue,
        };
        faults.push(format!("{}: {fault}", formula.name));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_limit_speaks() {
    let mut faults = Vec::new();
    for formula in all() {
        let Some(check) = formula.checks.first() else { continue };
        let values = arguments(formula, check);
        for (place, parameter) in formula.parameters.iter().enumerate() {
            for fault in faults_at_limits(formula, parameter, place, &values) {
                faults.push(format!("{}: {}: {fault}", formula.name, parameter.name));
            }
        }
        for limit in formula.limits {
            if let Err(fault) = can_be_held_and_left(formula, limit) {
                faults.push(format!("{}: {}: {fault}", formula.name, limit.says));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// A bound in rounded radians is told as 28.64789 deg: no source says so.
#[test]
fn every_bound_is_told_as_a_round_number() {
    let mut faults = Vec::new();
    for formula in all() {
        for parameter in formula.parameters {
            let (must, valid) = (parameter.must, parameter.valid);
            for bound in [must.from, must.to, valid.from, valid.to] {
                let words = parameter.shown(bound);
                let number = words.split(' ').next().unwrap_or_default();
                let digits: String = number.chars().filter(char::is_ascii_digit).collect();
                if bound.is_finite() && digits.trim_matches('0').len() > 6 {
                    faults.push(format!("{}: {}: {words}", formula.name, parameter.name));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Calls the formula as a user would, and compares.
fn reproduce(formula: &Formula, check: &Check) -> Result<(), String> {
    if check.source.trim().is_empty() {
        return Err("no source".to_owned());
    }
    let series: Vec<_> = check.arguments.iter().map(|(_, text)| series(text)).collect();
    let texts: Vec<Vec<&str>> = check.arguments.iter().map(|(_, text)| texts(text)).collect();
    let given: Vec<(&str, Given<'_>)> = check
        .arguments
        .iter()
        .zip(series.iter().zip(&texts))
        .map(|((name, text), (series, texts))| {
            let parameter = formula.parameters.iter().find(|p| p.name == *name);
            let given = match (parameter.map(|p| p.kind), series) {
                (Some(Kind::Choice(_)), _) => Given::Word(text),
                (Some(Kind::Texts), _) => Given::Texts(texts),
                (_, Some((values, dimension))) => Given::Series(values, *dimension),
                _ => Given::Quantity(quantity(text)),
            };
            (*name, given)
        })
        .collect();
    if formula.result.series {
        return reproduce_series(formula, check, &given);
    }
    let outcome = formula.call(&given).map_err(|error| error.to_string())?;
    if !formula.result.words.is_empty() {
        let index = outcome.value.si();
        let found = (0_u16..).map(f64::from).zip(formula.result.words).find(|(at, _)| *at == index);
        let word = found.map(|(_, word)| *word);
        return if word == Some(check.expected) { Ok(()) } else { Err(format!("finds {word:?}")) };
    }
    let expected = quantity(check.expected);
    if outcome.value.dimension() != expected.dimension() {
        return Err(format!(
            "gives {}, the check wants {}",
            outcome.value.dimension(),
            expected.dimension()
        ));
    }
    let (found, wanted) = (outcome.value.si(), expected.si());
    let off = (found - wanted).abs();
    if off > check.tolerance * wanted.abs() {
        return Err(format!("found {found}, wants {wanted}, {:.2e} off", off / wanted.abs()));
    }
    Ok(())
}

/// The same for a formula that gives a series, value by value.
fn reproduce_series(
    formula: &Formula,
    check: &Check,
    given: &[(&str, Given<'_>)],
) -> Result<(), String> {
    let (found, _) = formula.call_for_series(given).map_err(|error| error.to_string())?;
    let (wanted, dimension) = series(check.expected).ok_or("the check expects no series")?;
    if dimension != formula.result.dimension || found.len() != wanted.len() {
        return Err(format!("gives {} values, the check wants {}", found.len(), wanted.len()));
    }
    for (found, wanted) in found.iter().zip(&wanted) {
        if (found - wanted).abs() > check.tolerance * wanted.abs() {
            return Err(format!("found {found}, wants {wanted}"));
        }
    }
    Ok(())
}

/// Texts of a check, with `;` between them.
fn texts(text: &str) -> Vec<&str> {
    text.split(';').map(str::trim).collect()
}

/// Whether the result goes with its dimension when the base units change.
fn holds_rescaled(formula: &Formula, values: &[Value], factors: &[f64; 7]) -> bool {
    let rescaled: Vec<Value> = formula
        .parameters
        .iter()
        .zip(values)
        .map(|(parameter, value)| {
            let factor = match parameter.kind {
                Kind::Quantity(d) | Kind::Yearly(d) | Kind::Series(d) => scale(d, factors),
                Kind::Years | Kind::Choice(_) | Kind::Texts | Kind::Row => 1.0,
            };
            value.map(|number| number * factor)
        })
        .collect();
    let factor = scale(formula.result.dimension, factors);
    let wanted = run(formula, values).expect("a check value has an answer");
    let largest = wanted.iter().fold(0.0_f64, |largest, w| largest.max((w * factor).abs()));
    // No answer at the rescaled values is as good as another answer.
    run(formula, &rescaled).is_some_and(|found| {
        found.len() == wanted.len()
            && found.iter().zip(&wanted).all(|(f, w)| (f - w * factor).abs() <= 1e-9 * largest)
    })
}

fn scale(dimension: Dimension, factors: &[f64; 7]) -> f64 {
    dimension.exponents().iter().zip(factors).map(|(e, factor)| factor.powf(*e)).product()
}

/// The bare body, beside all limits.
fn run(formula: &Formula, values: &[Value]) -> Option<Vec<f64>> {
    let texts: Vec<Vec<&str>> = values.iter().map(Value::texts).collect();
    let arguments: Vec<Argument<'_>> =
        values.iter().zip(&texts).map(|(value, texts)| value.argument(texts)).collect();
    let result = match formula.body {
        forebay_formulas::Body::Series(body) => vec![body(&arguments).ok()?],
        forebay_formulas::Body::ToSeries(body) => body(&arguments).ok()?,
        forebay_formulas::Body::SeriesDoubted(body) => vec![body(&arguments).ok()?.0],
        forebay_formulas::Body::ToSeriesDoubted(body) => body(&arguments).ok()?.0,
        body => {
            let numbers: Vec<f64> = values.iter().map(Value::first).collect();
            vec![body.number(&numbers)]
        }
    };
    result.iter().all(|number| number.is_finite()).then_some(result)
}

/// What is silent just outside the ranges of one parameter.
fn faults_at_limits(
    formula: &Formula,
    parameter: &Parameter,
    place: usize,
    values: &[Value],
) -> Vec<String> {
    let mut faults = Vec::new();
    let at = |value: f64| {
        let mut values = values.to_vec();
        values[place] = values[place].with_first(value);
        values
    };
    for (value, bound) in just_outside(parameter.valid) {
        if [parameter.must.from, parameter.must.to].contains(&bound) {
            // Refused there, which is held below.
            continue;
        }
        if !parameter.must.holds(value) {
            faults.push(format!("refused, not warned, just outside its valid range at {value}"));
            continue;
        }
        let values = at(value);
        let texts: Vec<Vec<&str>> = values.iter().map(Value::texts).collect();
        let arguments: Vec<_> =
            values.iter().zip(&texts).map(|(value, texts)| value.argument(texts)).collect();
        let warnings = formula.warnings_of(&arguments);
        let words = parameter.shown(bound);
        if !warnings
            .iter()
            .map(ToString::to_string)
            .any(|w| w.contains(parameter.name) && w.contains(&words))
        {
            faults.push(format!("no warning at {value} that names it and {words}"));
        }
    }
    let mut refused: Vec<f64> = just_outside(parameter.must).map(|(value, _)| value).collect();
    if parameter.must.above {
        refused.push(parameter.must.from);
    }
    if parameter.kind == Kind::Texts || matches!(values[place], Value::Texts(_)) {
        return faults;
    }
    if let Kind::Choice(words) = parameter.kind {
        // A word that is none is refused by the checked call; the body sees indices alone.
        assert!(words.len() > 1, "a choice of one");
        return faults;
    }
    refused.extend([f64::NAN, f64::INFINITY]);
    for value in refused {
        let values = at(value);
        let texts: Vec<Vec<&str>> = values.iter().map(Value::texts).collect();
        let arguments: Vec<_> =
            values.iter().zip(&texts).map(|(value, texts)| value.argument(texts)).collect();
        let answer = if formula.result.series {
            formula.answers(&arguments)
        } else {
            formula.answer(&arguments).map(|number| vec![number])
        };
        match answer {
            Err(refusal) if refusal.0.contains(parameter.name) => {}
            Err(refusal) => {
                faults.push(format!("at {value} refused without its name: {refusal:?}"))
            }
            Ok(_) => faults.push(format!("not refused at {value}")),
        }
    }
    faults
}

/// A value just below and just above a range, each with the bound it leaves.
fn just_outside(range: Range) -> impl Iterator<Item = (f64, f64)> {
    let size = [range.from, range.to]
        .into_iter()
        .filter(|bound| bound.is_finite() && *bound != 0.0)
        .fold(1.0_f64, |size, bound| size.min(bound.abs()));
    let step = |bound: f64| 1e-6 * if bound == 0.0 { size } else { bound.abs() };
    [(range.from - step(range.from), range.from), (range.to + step(range.to), range.to)]
        .into_iter()
        .filter(|(_, bound)| bound.is_finite())
}

/// A limit that always holds, or never, says nothing.
fn can_be_held_and_left(formula: &Formula, limit: &Limit) -> Result<(), String> {
    let (mut held, mut left) = (false, false);
    let mut random = Random(7);
    for check in formula.checks {
        let numbers: Vec<f64> = arguments(formula, check).iter().map(Value::first).collect();
        for turn in 0..2000 {
            let moved: Vec<f64> = numbers
                .iter()
                .map(|n| if turn == 0 { *n } else { n * 10_f64.powf(random.between(-3.0, 3.0)) })
                .collect();
            let holds = (limit.holds)(&moved);
            held |= holds;
            left |= !holds;
        }
    }
    match (held, left) {
        (true, true) => Ok(()),
        (true, false) => Err("never left".to_owned()),
        _ => Err("never held".to_owned()),
    }
}

/// One argument of a check, in coherent SI.
#[derive(Clone, Debug)]
enum Value {
    Number(f64),
    Series(Vec<f64>),
    Texts(Vec<String>),
}

impl Value {
    fn argument<'a>(&'a self, texts: &'a [&'a str]) -> Argument<'a> {
        match self {
            Self::Number(value) => Argument::Number(*value),
            Self::Series(values) => Argument::Series(values),
            Self::Texts(_) => Argument::Texts(texts),
        }
    }

    fn texts(&self) -> Vec<&str> {
        match self {
            Self::Texts(texts) => texts.iter().map(String::as_str).collect(),
            _ => Vec::new(),
        }
    }

    fn map(&self, f: impl Fn(f64) -> f64) -> Self {
        match self {
            Self::Number(value) => Self::Number(f(*value)),
            Self::Series(values) => Self::Series(values.iter().map(|v| f(*v)).collect()),
            Self::Texts(texts) => Self::Texts(texts.clone()),
        }
    }

    fn first(&self) -> f64 {
        match self {
            Self::Number(value) => *value,
            Self::Series(_) | Self::Texts(_) => f64::NAN,
        }
    }

    fn with_first(&self, value: f64) -> Self {
        match self {
            Self::Number(_) => Self::Number(value),
            Self::Texts(texts) => Self::Texts(texts.clone()),
            Self::Series(values) => {
                let mut values = values.clone();
                values[0] = value;
                Self::Series(values)
            }
        }
    }
}

/// The arguments of a check in the order of the parameters, defaults filled in.
fn arguments(formula: &Formula, check: &Check) -> Vec<Value> {
    formula
        .parameters
        .iter()
        .map(|parameter| {
            let text = check.arguments.iter().find(|(name, _)| *name == parameter.name);
            match (text, parameter.kind) {
                (None, _) => Value::Number(parameter.default.expect("no default, not given")),
                (Some((_, text)), Kind::Choice(words)) => {
                    let index = words.iter().position(|w| w == text).expect("a word of the choice");
                    Value::Number(index as f64)
                }
                (Some((_, text)), Kind::Texts) => {
                    Value::Texts(texts(text).into_iter().map(str::to_owned).collect())
                }
                (Some((_, text)), _) => match series(text) {
                    Some((values, _)) => Value::Series(values),
                    None => Value::Number(yearly(parameter.kind, quantity(text))),
                },
            }
        })
        .collect()
}

fn yearly(kind: Kind, given: Quantity) -> f64 {
    match kind {
        Kind::Yearly(d) if given.dimension() != d => given.si() * forebay_formulas::YEAR,
        Kind::Years if !given.dimension().is_plain() => given.si() / forebay_formulas::YEAR,
        _ => given.si(),
    }
}

fn quantity(text: &str) -> Quantity {
    Quantity::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

/// `[3, 4, 5] m^3/s`: the values in coherent SI and their dimension.
fn series(text: &str) -> Option<(Vec<f64>, Dimension)> {
    let (numbers, unit) = text.strip_prefix('[')?.split_once(']')?;
    let unit = match unit.trim() {
        "" => Unit::ONE,
        unit => Unit::parse(unit).unwrap_or_else(|error| panic!("{text}: {error}")),
    };
    let values =
        numbers.split(',').map(|n| unit.to_si(n.trim().parse().expect("a number"))).collect();
    Some((values, unit.dimension()))
}

/// SplitMix64: the same numbers on every machine.
struct Random(u64);

impl Random {
    fn between(&mut self, from: f64, to: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        from + (to - from) * (z >> 11) as f64 / (1_u64 << 53) as f64
    }
}
