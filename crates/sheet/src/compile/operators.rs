//! Operators on single values: which dimensions go together, and what comes out.

use std::fmt;

use forebay_units::{Dimension, DimensionError};

use super::lower::{Lowered, Lowering, described};
use super::syntax::Operator;
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::term::{Comparison, Term};
use crate::value::{Scalar, Type};

/// Lowers `left operator right` for single values.
pub(crate) fn binary(
    low: &mut Lowering<'_>,
    operator: Operator,
    left: Lowered,
    right: Lowered,
    span: Span,
) -> Option<Lowered> {
    match operator {
        Operator::And | Operator::Or => {
            let (a, b) = (
                want(low, left, Type::TRUTH, "a side of `&&` or `||`"),
                want(low, right, Type::TRUTH, "a side of `&&` or `||`"),
            );
            let (a, b) = (a?.id, b?.id);
            let term = if operator == Operator::And { Term::And(a, b) } else { Term::Or(a, b) };
            Some(low.lowered(term, Type::TRUTH, span))
        }
        _ if operator.is_comparison() => compare(low, operator, left, right, span),
        _ => arithmetic(low, operator, left, right, span),
    }
}

/// Lowers `-x`.
pub(crate) fn negate(low: &mut Lowering<'_>, of: Lowered, span: Span) -> Option<Lowered> {
    low.lift(&[of], span, &mut |low, args| {
        let of = args[0];
        let dimension = number(low, of, "`-`")?;
        if let Err(error) = dimension.negated() {
            low.report(
                Diagnostic::new(Code::ABSOLUTE, error.to_string(), span)
                    .here(format!("this is {}", described(of.ty)))
                    .help(if dimension == Dimension::TEMPERATURE {
                        "for a reading below zero write the sign with the number: `-5 degC`"
                    } else {
                        "take the difference from another pressure, or use a gauge reading"
                    }),
            );
            return None;
        }
        let term =
            if of.ty.scalar().is_money() { Term::MoneyNegate(of.id) } else { Term::Negate(of.id) };
        Some(low.lowered(term, of.ty, span))
    })
}

/// Lowers `!x`.
pub(crate) fn not(low: &mut Lowering<'_>, of: Lowered, span: Span) -> Option<Lowered> {
    low.lift(&[of], span, &mut |low, args| {
        let of = want(low, args[0], Type::TRUTH, "what `!` turns")?;
        Some(low.lowered(Term::Not(of.id), Type::TRUTH, span))
    })
}

/// Reports unless two things have the same type; `what` ends "cannot …".
pub(crate) fn alike(
    low: &mut Lowering<'_>,
    left: Lowered,
    right: Lowered,
    what: &str,
) -> Option<()> {
    match (left.ty, right.ty) {
        (a, b) if a == b => Some(()),
        (Type::One(Scalar::Number(a)), Type::One(Scalar::Number(b)))
        | (Type::Series(Scalar::Number(a)), Type::Series(Scalar::Number(b))) => match a.alike(b) {
            Ok(_) => Some(()),
            Err(error) => {
                low.report(mismatch(error, left, right, what));
                None
            }
        },
        (a, b) => {
            low.report(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    format!("{} and {} cannot {what}", described(a), described(b)),
                    left.span,
                )
                .here(described(a))
                .and(right.span, described(b)),
            );
            None
        }
    }
}

/// Reports unless a value has the type that is wanted.
pub(crate) fn want(
    low: &mut Lowering<'_>,
    found: Lowered,
    wanted: Type,
    what: impl fmt::Display,
) -> Option<Lowered> {
    if found.ty == wanted {
        return Some(found);
    }
    let code = match (wanted, found.ty) {
        (Type::One(Scalar::Number(a)), Type::One(Scalar::Number(b))) => {
            if a.as_difference() == b.as_difference() {
                Code::ABSOLUTE
            } else {
                Code::WRONG_DIMENSION
            }
        }
        _ => Code::WRONG_KIND,
    };
    let message = format!("{what}: expected {}, found {}", described(wanted), described(found.ty));
    let mut diagnostic = Diagnostic::new(code, message, found.span).here(described(found.ty));
    if let (Type::One(Scalar::Number(a)), Type::One(Scalar::Number(b))) = (wanted, found.ty)
        && let Some(help) = advice(a, b)
    {
        diagnostic = diagnostic.help(help);
    }
    if wanted == Type::TRUTH {
        diagnostic = diagnostic.help(if found.ty == Type::Series(Scalar::Truth) {
            "say which: `all(…)` or `any(…)`; or ask for each value: \
             `xs.map(|x| if x > 2 m { … } else { … })`"
        } else {
            "compare it with something: `x > 2 m`"
        });
    }
    low.report(diagnostic);
    None
}

/// The dimension of a single number, or a report that it is none.
pub(crate) fn number(
    low: &mut Lowering<'_>,
    of: Lowered,
    what: impl fmt::Display,
) -> Option<Dimension> {
    if let Type::One(Scalar::Number(dimension)) = of.ty {
        return Some(dimension);
    }
    low.report(
        Diagnostic::new(
            Code::WRONG_KIND,
            format!("{what} works on numbers, found {}", described(of.ty)),
            of.span,
        )
        .here(described(of.ty)),
    );
    None
}

fn compare(
    low: &mut Lowering<'_>,
    operator: Operator,
    left: Lowered,
    right: Lowered,
    span: Span,
) -> Option<Lowered> {
    alike(low, left, right, "be compared")?;
    let comparison = comparison_of(operator)?;
    let ordered = matches!(left.ty.scalar(), Scalar::Number(_) | Scalar::Date);
    if !ordered && !matches!(comparison, Comparison::Equal | Comparison::NotEqual) {
        low.report(Diagnostic::new(
            Code::WRONG_KIND,
            format!("a {} has no greater and smaller", described(left.ty)),
            span,
        ));
        return None;
    }
    let (a, b) = (left.id, right.id);
    let term = if left.ty.scalar().is_bare() {
        Term::Compare(comparison, a, b)
    } else {
        Term::CompareValues(comparison, a, b)
    };
    Some(low.lowered(term, Type::TRUTH, span))
}

/// The comparison that an operator stands for.
pub(crate) fn comparison_of(operator: Operator) -> Option<Comparison> {
    Some(match operator {
        Operator::Less => Comparison::Less,
        Operator::LessOrEqual => Comparison::LessOrEqual,
        Operator::Greater => Comparison::Greater,
        Operator::GreaterOrEqual => Comparison::GreaterOrEqual,
        Operator::Equal => Comparison::Equal,
        Operator::NotEqual => Comparison::NotEqual,
        _ => return None,
    })
}

fn arithmetic(
    low: &mut Lowering<'_>,
    operator: Operator,
    left: Lowered,
    right: Lowered,
    span: Span,
) -> Option<Lowered> {
    if let Some(dated) = dates(low, operator, left, right, span) {
        return Some(dated);
    }
    let sign = format_args!("`{}`", operator.sign());
    let (a, b) = (number(low, left, sign), number(low, right, sign));
    let (a, b) = (a?, b?);
    let (result, what) = match operator {
        Operator::Add => (a.plus(b), "be added"),
        Operator::Subtract => (a.minus(b), "be subtracted"),
        Operator::Multiply => (a.times(b), "be multiplied"),
        Operator::Divide => (a.over(b), "be divided"),
        Operator::Remainder => (a.alike(b), "leave a remainder"),
        Operator::Power => return power(low, left, right, a, b, span),
        _ => return None,
    };
    let dimension = match result {
        Ok(dimension) => dimension,
        Err(error) => {
            low.report(mismatch(error, left, right, what));
            return None;
        }
    };
    let (l, r) = (left.id, right.id);
    let money = (left.ty.scalar().is_money(), right.ty.scalar().is_money());
    let exact = match (operator, money) {
        (Operator::Add, (true, true)) => Some(Term::MoneyAdd(l, r)),
        (Operator::Subtract, (true, true)) => Some(Term::MoneySubtract(l, r)),
        (Operator::Multiply, (true, false)) if b.is_plain() => Some(Term::MoneyTimes(l, r)),
        (Operator::Multiply, (false, true)) if a.is_plain() => Some(Term::MoneyTimes(r, l)),
        (Operator::Divide, (true, false)) if b.is_plain() => Some(Term::MoneyOver(l, r)),
        _ => None,
    };
    if let Some(term) = exact {
        return Some(low.lowered(term, Type::number(dimension), span));
    }
    let (l, r) = (low.bare(left), low.bare(right));
    let term = match operator {
        Operator::Add => Term::Add(l, r),
        Operator::Subtract => Term::Subtract(l, r),
        Operator::Multiply => Term::Multiply(l, r),
        Operator::Divide => Term::Divide(l, r),
        _ => Term::Remainder(l, r),
    };
    Some(low.of_bare(term, dimension, span))
}

/// A date less a date is a time; a date moved by a time is a date.
fn dates(
    low: &mut Lowering<'_>,
    operator: Operator,
    left: Lowered,
    right: Lowered,
    span: Span,
) -> Option<Lowered> {
    let date = Type::One(Scalar::Date);
    let time = Type::number(Dimension::TIME);
    match (left.ty, operator, right.ty) {
        (l, Operator::Subtract, r) if l == date && r == date => {
            Some(low.lowered(Term::DaysBetween(left.id, right.id), time, span))
        }
        (l, Operator::Add | Operator::Subtract, r) if l == date && r == time => {
            let by = if operator == Operator::Subtract {
                low.terms.add(Term::Negate(right.id), right.span)
            } else {
                right.id
            };
            Some(low.lowered(Term::DateShift(left.id, by), date, span))
        }
        _ => None,
    }
}

fn power(
    low: &mut Lowering<'_>,
    base: Lowered,
    exponent: Lowered,
    a: Dimension,
    b: Dimension,
    span: Span,
) -> Option<Lowered> {
    if !b.is_plain() {
        low.report(
            Diagnostic::new(
                Code::WRONG_DIMENSION,
                format!("an exponent is a plain number, found {b}"),
                exponent.span,
            )
            .here(b.to_string()),
        );
        return None;
    }
    let dimension = if a.is_plain() {
        a
    } else {
        let Some(number) = constant(low, exponent.id) else {
            low.report(
                Diagnostic::new(
                    Code::EXPONENT,
                    format!("the exponent of a {a} must be written as a number"),
                    exponent.span,
                )
                .and(base.span, a.to_string()),
            );
            return None;
        };
        match a.to_power(number) {
            Ok(dimension) => dimension,
            Err(error) => {
                low.report(
                    Diagnostic::new(Code::EXPONENT, error.to_string(), exponent.span)
                        .and(base.span, a.to_string())
                        .help(format!(
                            "a formula with such a power hides a unit: divide the base by it first, `(x / (1 {}))^{number}`",
                            a.in_base_units()
                        )),
                );
                return None;
            }
        }
    };
    let base = low.bare(base);
    Some(low.of_bare(Term::Power(base, exponent.id), dimension, span))
}

/// The value of a term made of numbers alone, as in `x^(1/2)`.
fn constant(low: &Lowering<'_>, id: u32) -> Option<f64> {
    Some(match *low.terms.get(id) {
        Term::Number(number) => number,
        Term::Negate(a) => -constant(low, a)?,
        Term::Add(a, b) => constant(low, a)? + constant(low, b)?,
        Term::Subtract(a, b) => constant(low, a)? - constant(low, b)?,
        Term::Multiply(a, b) => constant(low, a)? * constant(low, b)?,
        Term::Divide(a, b) => constant(low, a)? / constant(low, b)?,
        _ => return None,
    })
}

/// Two sides that do not go together, both underlined; `what` ends "cannot …".
fn mismatch(error: DimensionError, left: Lowered, right: Lowered, what: &str) -> Diagnostic {
    let (l, r) = (described(left.ty), described(right.ty));
    let code = match error {
        DimensionError::Unlike(..) | DimensionError::Exponent => Code::UNLIKE,
        _ => Code::ABSOLUTE,
    };
    let message = match error {
        DimensionError::TwoAbsolutes(_) => format!("two values of {l} cannot be added"),
        DimensionError::ScaledTemperature | DimensionError::Exponent => error.to_string(),
        _ => format!("{l} and {r} cannot {what}"),
    };
    let mut diagnostic = Diagnostic::new(code, message, left.span).here(l).and(right.span, r);
    let help = match error {
        DimensionError::Unlike(a, b) => advice(a, b),
        DimensionError::TwoAbsolutes(d) => Some(format!(
            "add a difference to it ({}), or take the mean with `a + (b - a) / 2`",
            difference_unit(d)
        )),
        DimensionError::AbsoluteFromDifference(d) => {
            Some(format!("turn the two round, or use a difference ({})", difference_unit(d)))
        }
        DimensionError::AbsoluteAgainstDifference(a, b) => advice(a, b),
        DimensionError::ScaledTemperature => {
            Some("a share of a difference makes sense: `(a - b) * 0.5`".to_owned())
        }
        DimensionError::NegatedAbsolute(_) | DimensionError::Exponent => None,
    };
    if let Some(help) = help {
        diagnostic = diagnostic.help(help);
    }
    diagnostic
}

fn difference_unit(dimension: Dimension) -> &'static str {
    if dimension.as_difference() == Dimension::TEMPERATURE_DIFFERENCE {
        "in `K`"
    } else {
        "in `kPa`"
    }
}

/// The way out for a result shown in a unit that does not fit.
pub(crate) fn advice_for(error: DimensionError) -> String {
    match error {
        DimensionError::Unlike(a, b) | DimensionError::AbsoluteAgainstDifference(a, b) => {
            advice(a, b)
        }
        _ => None,
    }
    .unwrap_or_else(|| "name a unit that fits, or look for a factor that is missing".to_owned())
}

/// The way out for two dimensions that were taken for one another.
fn advice(a: Dimension, b: Dimension) -> Option<String> {
    let is = |d: Dimension| a.as_difference() == d || b.as_difference() == d;
    if a.differs_only_by_angle(b) {
        return Some(if is(Dimension::ENERGY) {
            "power over a speed of rotation is energy per angle: for the torque use \
             `shaft_torque(power, speed)`"
                .to_owned()
        } else if is(Dimension::ROTATION) && is(Dimension::FREQUENCY) {
            "a speed of rotation (`rpm`, `rad/s`) is not a frequency (`Hz`): use \
             `generator_frequency(speed, poles)`, or divide it by `1 rev`"
                .to_owned()
        } else {
            "the two differ by an angle: multiply or divide by `1 rad` where that is meant"
                .to_owned()
        });
    }
    if a.as_difference() == b.as_difference() {
        return Some(if a.as_difference() == Dimension::PRESSURE_DIFFERENCE {
            "one side is absolute, the other a difference: write an absolute pressure as \
             `20 kPa_abs`, or turn a gauge reading into one with `absolute(gauge, altitude)`"
                .to_owned()
        } else {
            "one side is a reading, the other a difference: `degC` is a reading, `K` a difference"
                .to_owned()
        });
    }
    if a.is_plain() != b.is_plain() {
        return Some(
            "a number without a unit is a plain number: write its unit behind it, or \
                     divide the other side by `1 m` (or its like)"
                .to_owned(),
        );
    }
    let names = |ratio: Result<Dimension, DimensionError>| ratio.ok().and_then(Dimension::name);
    if let Some(name) = names(a.as_difference().over(b.as_difference())) {
        return Some(format!("to become {a}, {b} would have to be multiplied by: {name}"));
    }
    names(b.as_difference().over(a.as_difference()))
        .map(|name| format!("to become {a}, {b} would have to be divided by: {name}"))
}
