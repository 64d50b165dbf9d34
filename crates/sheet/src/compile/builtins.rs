//! The functions of the worksheet language itself: mathematics, series, and the solvers that call
//! a function. One row each.

use forebay_units::Dimension;

use super::lower::{Lowered, Lowering, described};
use super::operators::{alike, number, want};
use super::syntax::Node;
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::term::{DatePart, Id, Math, Reduction, Slot, Term};
use crate::value::{Scalar, Type};

/// A built-in function.
pub(crate) struct Builtin {
    pub(crate) name: &'static str,
    /// Parameter names; the last one may end in `…` and take several.
    pub(crate) parameters: &'static [&'static str],
    /// How many must be given.
    pub(crate) needed: usize,
    /// What it gives, for listings.
    pub(crate) about: &'static str,
    pub(crate) lower: Lower,
}

/// Lowers a call with its bound arguments.
type Lower = fn(&mut Lowering<'_>, &[Option<&Node>], Span) -> Option<Lowered>;

const fn row(
    name: &'static str,
    parameters: &'static [&'static str],
    needed: usize,
    about: &'static str,
    lower: Lower,
) -> Builtin {
    Builtin { name, parameters, needed, about, lower }
}

/// All built-in functions.
pub(crate) static BUILTINS: &[Builtin] = &[
    row("abs", &["x"], 1, "The value without its sign.", |l, a, s| math(l, a, s, Math::Abs)),
    row("sqrt", &["x"], 1, "Square root.", |l, a, s| math(l, a, s, Math::Sqrt)),
    row("cbrt", &["x"], 1, "Cube root.", |l, a, s| math(l, a, s, Math::Cbrt)),
    row("exp", &["x"], 1, "e to the power of a plain number.", |l, a, s| math(l, a, s, Math::Exp)),
    row("ln", &["x"], 1, "Natural logarithm of a plain number.", |l, a, s| math(l, a, s, Math::Ln)),
    row("log10", &["x"], 1, "Decimal logarithm of a plain number.", |l, a, s| {
        math(l, a, s, Math::Log10)
    }),
    row("sin", &["angle"], 1, "Sine of an angle.", |l, a, s| math(l, a, s, Math::Sin)),
    row("cos", &["angle"], 1, "Cosine of an angle.", |l, a, s| math(l, a, s, Math::Cos)),
    row("tan", &["angle"], 1, "Tangent of an angle.", |l, a, s| math(l, a, s, Math::Tan)),
    row("asin", &["x"], 1, "The angle whose sine is x.", |l, a, s| math(l, a, s, Math::Asin)),
    row("acos", &["x"], 1, "The angle whose cosine is x.", |l, a, s| math(l, a, s, Math::Acos)),
    row("atan", &["x"], 1, "The angle whose tangent is x.", |l, a, s| math(l, a, s, Math::Atan)),
    row("floor", &["x"], 1, "The next whole number below.", |l, a, s| math(l, a, s, Math::Floor)),
    row("ceiling", &["x"], 1, "The next whole number above.", |l, a, s| {
        math(l, a, s, Math::Ceiling)
    }),
    row("round", &["x"], 1, "The nearest whole number, halves away from zero.", |l, a, s| {
        math(l, a, s, Math::Round)
    }),
    row("atan2", &["y", "x"], 2, "The angle of the point (x, y).", atan2),
    row("min", &["a", "more…"], 1, "The least of several values, or of a series.", |l, a, s| {
        extreme(l, a, s, false)
    }),
    row(
        "max",
        &["a", "more…"],
        1,
        "The greatest of several values, or of a series.",
        |l, a, s| extreme(l, a, s, true),
    ),
    row("sum", &["xs"], 1, "The sum of a series without gaps.", |l, a, s| {
        reduce(l, a, s, Reduction::Sum)
    }),
    row("mean", &["xs"], 1, "The mean of a series without gaps.", |l, a, s| {
        reduce(l, a, s, Reduction::Mean)
    }),
    row(
        "least",
        &["xs"],
        1,
        "The least of the values that a series has; gaps are passed over.",
        |l, a, s| reduce(l, a, s, Reduction::Least),
    ),
    row(
        "greatest",
        &["xs"],
        1,
        "The greatest of the values that a series has; gaps are passed over.",
        |l, a, s| reduce(l, a, s, Reduction::Greatest),
    ),
    row(
        "place_of_least",
        &["xs"],
        1,
        "Where the least value stands, counted from 0.",
        |l, a, s| reduce(l, a, s, Reduction::PlaceOfLeast),
    ),
    row(
        "place_of_greatest",
        &["xs"],
        1,
        "Where the greatest value stands, counted from 0.",
        |l, a, s| reduce(l, a, s, Reduction::PlaceOfGreatest),
    ),
    row("count", &["xs"], 1, "How many values a series has, gaps not counted.", |l, a, s| {
        reduce(l, a, s, Reduction::Count)
    }),
    row("first", &["xs"], 1, "The first value of a series.", |l, a, s| {
        reduce(l, a, s, Reduction::First)
    }),
    row("last", &["xs"], 1, "The last value of a series.", |l, a, s| {
        reduce(l, a, s, Reduction::Last)
    }),
    row("any", &["xs"], 1, "Whether one of a series of truths is true.", |l, a, s| {
        reduce(l, a, s, Reduction::Any)
    }),
    row("all", &["xs"], 1, "Whether all of a series of truths are true.", |l, a, s| {
        reduce(l, a, s, Reduction::All)
    }),
    row("running_sum", &["xs"], 1, "The sums of a series up to each place.", running_sum),
    row("sorted", &["xs"], 1, "A series from least to greatest, gaps left out.", sorted),
    row("present", &["xs"], 1, "A series without its gaps.", present),
    row("filled", &["xs", "value"], 2, "A series with a value in its gaps.", filled),
    row(
        "map",
        &["xs", "more…"],
        2,
        "The function for each value of a series, or of several side by side.",
        map,
    ),
    row(
        "filter",
        &["xs", "f"],
        2,
        "The values of a series for which the function is true.",
        filter,
    ),
    row(
        "interpolate",
        &["xs", "ys", "at"],
        3,
        "The value at a place between points; never beyond them.",
        interpolate,
    ),
    row(
        "zero_of",
        &["f", "from", "to"],
        3,
        "Where a function vanishes between two bounds.",
        |l, a, s| solve(l, a, s, Solver::Zero),
    ),
    row(
        "greatest_of",
        &["f", "from", "to"],
        3,
        "Where a function is greatest between two bounds.",
        |l, a, s| solve(l, a, s, Solver::Greatest),
    ),
    row(
        "least_of",
        &["f", "from", "to"],
        3,
        "Where a function is least between two bounds.",
        |l, a, s| solve(l, a, s, Solver::Least),
    ),
    row(
        "integral",
        &["f", "from", "to"],
        3,
        "The integral of a function between two bounds.",
        |l, a, s| solve(l, a, s, Solver::Integral),
    ),
    row(
        "rounded",
        &["amount", "halves"],
        1,
        "Money rounded to its minor unit, half to \"even\" or \"up\".",
        rounded,
    ),
    row("year", &["date"], 1, "The year of a date.", |l, a, s| date_part(l, a, s, DatePart::Year)),
    row("month", &["date"], 1, "The month of a date, 1 to 12.", |l, a, s| {
        date_part(l, a, s, DatePart::Month)
    }),
    row("day", &["date"], 1, "The day of a date within its month.", |l, a, s| {
        date_part(l, a, s, DatePart::Day)
    }),
    row("day_of_year", &["date"], 1, "The day of a date within its year, from 1.", |l, a, s| {
        date_part(l, a, s, DatePart::DayOfYear)
    }),
];

/// The built-in function of this name.
pub(crate) fn find(name: &str) -> Option<&'static Builtin> {
    BUILTINS.iter().find(|builtin| builtin.name == name)
}

type Bound<'a, 'n> = &'a [Option<&'n Node>];

/// Lowers all given arguments, so that each mistake is told, then fails if one failed.
fn values(low: &mut Lowering<'_>, bound: Bound<'_, '_>) -> Option<Vec<Lowered>> {
    let lowered: Vec<Option<Lowered>> =
        bound.iter().flatten().map(|node| low.expression(node)).collect();
    lowered.into_iter().collect()
}

fn math(low: &mut Lowering<'_>, bound: Bound<'_, '_>, span: Span, f: Math) -> Option<Lowered> {
    let arguments = values(low, bound)?;
    low.lift(&arguments, span, &mut |low, arguments| {
        let of = arguments[0];
        let name = format_args!("`{}`", math_name(f));
        let dimension = number(low, of, name)?;
        let result = match f {
            Math::Abs => {
                if dimension.is_absolute() {
                    low.report(Diagnostic::new(
                        Code::ABSOLUTE,
                        format!("{dimension} has no sign to take away"),
                        of.span,
                    ));
                    return None;
                }
                dimension
            }
            Math::Sqrt => root(low, dimension, 0.5, of, span)?,
            Math::Cbrt => root(low, dimension, 1.0 / 3.0, of, span)?,
            Math::Sin | Math::Cos | Math::Tan => {
                want(low, of, Type::number(Dimension::ANGLE), name)?;
                Dimension::NONE
            }
            Math::Asin | Math::Acos | Math::Atan => {
                want(low, of, Type::PLAIN, name)?;
                Dimension::ANGLE
            }
            Math::Floor | Math::Ceiling | Math::Round if !dimension.is_plain() => {
                low.report(
                    Diagnostic::new(
                        Code::WRONG_DIMENSION,
                        format!("{name} works on plain numbers, found {dimension}"),
                        of.span,
                    )
                    .help("which unit's whole numbers? write `round(x / (1 m)) * 1 m`"),
                );
                return None;
            }
            Math::Floor | Math::Ceiling | Math::Round | Math::Exp | Math::Ln | Math::Log10 => {
                want(low, of, Type::PLAIN, name)?;
                Dimension::NONE
            }
        };
        let bare = low.bare(of);
        Some(low.of_bare(Term::Math(f, bare), result, span))
    })
}

fn root(
    low: &mut Lowering<'_>,
    dimension: Dimension,
    exponent: f64,
    of: Lowered,
    span: Span,
) -> Option<Dimension> {
    match dimension.to_power(exponent) {
        Ok(dimension) => Some(dimension),
        Err(error) => {
            low.report(
                Diagnostic::new(Code::EXPONENT, error.to_string(), span)
                    .and(of.span, dimension.to_string()),
            );
            None
        }
    }
}

fn math_name(f: Math) -> &'static str {
    match f {
        Math::Abs => "abs",
        Math::Sqrt => "sqrt",
        Math::Cbrt => "cbrt",
        Math::Exp => "exp",
        Math::Ln => "ln",
        Math::Log10 => "log10",
        Math::Sin => "sin",
        Math::Cos => "cos",
        Math::Tan => "tan",
        Math::Asin => "asin",
        Math::Acos => "acos",
        Math::Atan => "atan",
        Math::Floor => "floor",
        Math::Ceiling => "ceiling",
        Math::Round => "round",
    }
}

fn atan2(low: &mut Lowering<'_>, bound: Bound<'_, '_>, span: Span) -> Option<Lowered> {
    let arguments = values(low, bound)?;
    low.lift(&arguments, span, &mut |low, arguments| {
        let (y, x) = (arguments[0], arguments[1]);
        number(low, y, "`atan2`")?;
        alike(low, y, x, "give one angle")?;
        let (y, x) = (low.bare(y), low.bare(x));
        Some(low.lowered(Term::Atan2(y, x), Type::number(Dimension::ANGLE), span))
    })
}

fn extreme(
    low: &mut Lowering<'_>,
    bound: Bound<'_, '_>,
    span: Span,
    greatest: bool,
) -> Option<Lowered> {
    let arguments = values(low, bound)?;
    if let [Lowered { ty: Type::Series(_), .. }] = arguments.as_slice() {
        let what = if greatest { Reduction::Greatest } else { Reduction::Least };
        return reduction(low, arguments[0], span, what);
    }
    let mut result = *arguments.first()?;
    for next in &arguments[1..] {
        let pair = [result, *next];
        result = low.lift(&pair, span, &mut |low, pair| {
            let (a, b) = (pair[0], pair[1]);
            number(low, a, if greatest { "`max`" } else { "`min`" })?;
            alike(low, a, b, "be ranked")?;
            if a.ty.scalar().is_money() {
                let comparison = if greatest {
                    crate::term::Comparison::GreaterOrEqual
                } else {
                    crate::term::Comparison::LessOrEqual
                };
                let first = low.terms.add(Term::CompareValues(comparison, a.id, b.id), span);
                return Some(low.lowered(Term::If(first, a.id, b.id), a.ty, span));
            }
            let term = if greatest { Term::Greatest(a.id, b.id) } else { Term::Least(a.id, b.id) };
            Some(low.lowered(term, a.ty, span))
        })?;
    }
    Some(result)
}

fn series(low: &mut Lowering<'_>, of: Lowered) -> Option<Scalar> {
    if let Type::Series(scalar) = of.ty {
        return Some(scalar);
    }
    low.report(
        Diagnostic::new(
            Code::WRONG_KIND,
            format!("a series is expected, found {}", described(of.ty)),
            of.span,
        )
        .here(described(of.ty))
        .help("give a table's column, or a list such as `[1 m, 2 m]`"),
    );
    None
}

fn reduce(
    low: &mut Lowering<'_>,
    bound: Bound<'_, '_>,
    span: Span,
    what: Reduction,
) -> Option<Lowered> {
    let arguments = values(low, bound)?;
    reduction(low, arguments[0], span, what)
}

fn reduction(low: &mut Lowering<'_>, of: Lowered, span: Span, what: Reduction) -> Option<Lowered> {
    let scalar = series(low, of)?;
    let ty = match what {
        Reduction::Count | Reduction::PlaceOfLeast | Reduction::PlaceOfGreatest => Type::PLAIN,
        _ => Type::One(scalar),
    };
    match what {
        Reduction::Any | Reduction::All if scalar != Scalar::Truth => {
            low.report(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    format!("a series of truths is expected, found {}", described(of.ty)),
                    of.span,
                )
                .help("compare it first: `all(xs > 2 m)`"),
            );
            return None;
        }
        Reduction::Sum | Reduction::Mean => {
            let dimension = number(low, Lowered { ty: Type::One(scalar), ..of }, "a sum")?;
            if what == Reduction::Sum && dimension.is_absolute() {
                low.report(Diagnostic::new(
                    Code::ABSOLUTE,
                    format!("values of {dimension} cannot be summed"),
                    of.span,
                ));
                return None;
            }
        }
        Reduction::Least
        | Reduction::Greatest
        | Reduction::PlaceOfLeast
        | Reduction::PlaceOfGreatest
            if !matches!(scalar, Scalar::Number(_) | Scalar::Date) =>
        {
            low.report(Diagnostic::new(
                Code::WRONG_KIND,
                format!("a {scalar} has no greater and smaller"),
                of.span,
            ));
            return None;
        }
        _ => {}
    }
    Some(low.lowered(Term::Reduce(what, of.id), ty, span))
}

fn running_sum(low: &mut Lowering<'_>, bound: Bound<'_, '_>, span: Span) -> Option<Lowered> {
    let of = values(low, bound)?[0];
    let scalar = series(low, of)?;
    let dimension = number(low, Lowered { ty: Type::One(scalar), ..of }, "a sum")?;
    if dimension.is_absolute() {
        low.report(Diagnostic::new(
            Code::ABSOLUTE,
            format!("values of {dimension} cannot be summed"),
            of.span,
        ));
        return None;
    }
    Some(low.lowered(Term::RunningSum(of.id), of.ty, span))
}

fn sorted(low: &mut Lowering<'_>, bound: Bound<'_, '_>, span: Span) -> Option<Lowered> {
    let of = values(low, bound)?[0];
    let scalar = series(low, of)?;
    number(low, Lowered { ty: Type::One(scalar), ..of }, "`sorted`")?;
    Some(low.lowered(Term::Sorted(of.id), of.ty, span))
}

fn present(low: &mut Lowering<'_>, bound: Bound<'_, '_>, span: Span) -> Option<Lowered> {
    let of = values(low, bound)?[0];
    series(low, of)?;
    Some(low.lowered(Term::Present(of.id), of.ty, span))
}

fn filled(low: &mut Lowering<'_>, bound: Bound<'_, '_>, span: Span) -> Option<Lowered> {
    let arguments = values(low, bound)?;
    let (of, value) = (arguments[0], arguments[1]);
    let scalar = series(low, of)?;
    let one = Lowered { ty: Type::One(scalar), ..of };
    alike(low, one, value, "stand in one series")?;
    Some(low.lowered(Term::Filled(of.id, value.id), of.ty, span))
}

/// `map(xs, |x| …)`, `map(xs, ys, |x, y| …)`: the function comes last.
fn map(low: &mut Lowering<'_>, bound: Bound<'_, '_>, span: Span) -> Option<Lowered> {
    let (function, lists) = bound.split_last()?;
    let all = values(low, lists)?;
    let mut parameters = Vec::with_capacity(all.len());
    for of in &all {
        parameters.push((Type::One(series(low, *of)?), false));
    }
    let example = if all.len() > 1 { "map(xs, ys, |x, y| x * y)" } else { "xs.map(|x| 2 * x)" };
    let (slot, body) = low.closure((*function)?, &parameters, example)?;
    let Type::One(result) = body.ty else {
        low.report(Diagnostic::new(
            Code::WRONG_KIND,
            "the function gives a series for each value; a series of series has no meaning",
            body.span,
        ));
        return None;
    };
    let ids: Vec<Id> = all.iter().map(|of| of.id).collect();
    let args = low.terms.add_args(&ids);
    let term = Term::Each(slot, args, body.id, result.is_bare());
    Some(low.lowered(term, Type::Series(result), span))
}

fn filter(low: &mut Lowering<'_>, bound: Bound<'_, '_>, span: Span) -> Option<Lowered> {
    let of = low.expression(bound[0]?)?;
    let scalar = series(low, of)?;
    let example = "xs.filter(|x| x > 2 m)";
    let (slot, body) = low.closure(bound[1]?, &[(Type::One(scalar), false)], example)?;
    let body = want(low, body, Type::TRUTH, "what the function gives")?;
    Some(low.lowered(Term::Filter(slot, of.id, body.id), of.ty, span))
}

fn interpolate(low: &mut Lowering<'_>, bound: Bound<'_, '_>, span: Span) -> Option<Lowered> {
    let arguments = values(low, bound)?;
    let (xs, ys, at) = (arguments[0], arguments[1], arguments[2]);
    let (x, y) = (series(low, xs), series(low, ys));
    let (x, y) = (x?, y?);
    let x_dimension = number(low, Lowered { ty: Type::One(x), ..xs }, "`interpolate`")?;
    let y_dimension = number(low, Lowered { ty: Type::One(y), ..ys }, "`interpolate`")?;
    if x_dimension == Dimension::MONEY || y_dimension == Dimension::MONEY {
        low.report(Diagnostic::new(
            Code::WRONG_KIND,
            "money is not interpolated",
            if x_dimension == Dimension::MONEY { xs.span } else { ys.span },
        ));
        return None;
    }
    low.lift(&[at], span, &mut |low, at| {
        alike(low, Lowered { ty: Type::One(x), ..xs }, at[0], "be found in one table")?;
        let term = Term::Interpolate([xs.id, ys.id, at[0].id]);
        let lowered = low.lowered(term, Type::One(y), span);
        low.terms.note(lowered.id, [x_dimension, y_dimension]);
        Some(lowered)
    })
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Solver {
    Zero,
    Greatest,
    Least,
    Integral,
}

fn solve(
    low: &mut Lowering<'_>,
    bound: Bound<'_, '_>,
    span: Span,
    solver: Solver,
) -> Option<Lowered> {
    let (from, to) = (low.expression(bound[1]?), low.expression(bound[2]?));
    let (from, to) = (from?, to?);
    let dimension = number(low, from, "a bound")?;
    alike(low, from, to, "be two bounds")?;
    let (name, example) = match solver {
        Solver::Zero => ("zero_of", "zero_of(|q| head - loss(q), 5 L/s, 80 L/s)"),
        Solver::Greatest => ("greatest_of", "greatest_of(|q| power(q), 5 L/s, 80 L/s)"),
        Solver::Least => ("least_of", "least_of(|d| cost(d), 100 mm, 300 mm)"),
        Solver::Integral => ("integral", "integral(|t| flow(t), 0 s, 60 s)"),
    };
    let (slot, body): (Slot, Lowered) =
        low.closure(bound[0]?, &[(Type::number(dimension), true)], example)?;
    let result = number(low, body, format_args!("`{name}`"))?;
    let (body_id, from_id, to_id): (Id, Id, Id) = (low.bare(body), low.bare(from), low.bare(to));
    let operands = [body_id, from_id, to_id];
    if result.is_absolute() && matches!(solver, Solver::Zero | Solver::Integral) {
        low.report(
            Diagnostic::new(
                Code::ABSOLUTE,
                format!("the function gives {result}, which is never zero"),
                body.span,
            )
            .help(
                "take the difference from the value that it should reach: `|q| p(q) - 30 kPa_abs`",
            ),
        );
        return None;
    }
    let (term, gives) = match solver {
        Solver::Zero => (Term::ZeroOf(slot, operands), dimension),
        Solver::Greatest => (Term::GreatestOf(slot, operands), dimension),
        Solver::Least => (Term::LeastOf(slot, operands), dimension),
        Solver::Integral => match result.times(dimension.as_difference()) {
            Ok(area) => (Term::Integral(slot, operands), area),
            Err(error) => {
                low.report(Diagnostic::new(Code::EXPONENT, error.to_string(), span));
                return None;
            }
        },
    };
    let id = low.terms.add(term, span);
    low.terms.note(id, [dimension, result]);
    Some(low.held(id, gives, span))
}

fn rounded(low: &mut Lowering<'_>, bound: Bound<'_, '_>, span: Span) -> Option<Lowered> {
    let arguments = values(low, bound)?;
    let half_up = match arguments.get(1) {
        None => false,
        Some(rule) => match low.text_constant(rule).as_deref() {
            Some("even") => false,
            Some("up") => true,
            _ => {
                low.report(
                    Diagnostic::new(Code::ARGUMENTS, "which way do halves go?", rule.span)
                        .help("write \"even\" (the default) or \"up\""),
                );
                return None;
            }
        },
    };
    low.lift(&arguments[..1], span, &mut |low, arguments| {
        let amount = want(low, arguments[0], Type::number(Dimension::MONEY), "`rounded`")?;
        Some(low.lowered(Term::MoneyRounded(amount.id, half_up), amount.ty, span))
    })
}

fn date_part(
    low: &mut Lowering<'_>,
    bound: Bound<'_, '_>,
    span: Span,
    part: DatePart,
) -> Option<Lowered> {
    let arguments = values(low, bound)?;
    low.lift(&arguments, span, &mut |low, arguments| {
        let date = want(low, arguments[0], Type::One(Scalar::Date), "a date")?;
        Some(low.lowered(Term::DatePart(part, date.id), Type::PLAIN, span))
    })
}
