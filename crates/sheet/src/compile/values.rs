//! Values of knowns: how they are read, and what is said of them besides.

use forebay_units::{Dimension, Unit};

use super::lower::{Lowered, Lowering};
use super::names::{Names, Reads};
use super::syntax::{Expression, Node};
use super::{CellCode, Pending, PlusMinus, operators, parse};
use crate::diagnostic::{Code, Diagnostic};
use crate::value::{Scalar, Type};
use crate::worksheet::Text;

/// A known's value: a date or a bare text as it stands, anything else as a formula without names.
pub(super) fn value_node(source: &str, text: &Text, names: &Names) -> Result<Node, Diagnostic> {
    let words = text.text.trim();
    // Truths are shown as yes and no, and read so too.
    if matches!(words, "yes" | "no") {
        return Ok(leaf_of(text, Expression::Truth(words == "yes")));
    }
    if words.is_empty() {
        return Err(Diagnostic::new(Code::SYNTAX, "a value is expected here", text.span)
            .help("write it behind the colon: `bore: 150 mm`"));
    }
    let leaf = |expression| leaf_of(text, expression);
    if words.parse::<jiff::civil::Date>().is_ok() {
        return Ok(leaf(Expression::Date(words.to_owned())));
    }
    let first = words.chars().next();
    let is_formula = first.is_some_and(|c| {
        c.is_ascii_digit() || matches!(c, '-' | '+' | '.' | '(' | '[' | '"' | '{' | '|')
    });
    if is_formula || matches!(words, "true" | "false") {
        // A value names nothing, so that what follows its number is its unit.
        let mut node = parse::formula(source, text.span, &|_| false)?;
        words_as_texts(&mut node, names);
        return Ok(node);
    }
    let refers = parse::formula(source, text.span, &|_| false).is_ok_and(|node| {
        let reads = Reads::of(&node, names).cells;
        let calls = matches!(node.expression, Expression::Call(..) | Expression::Method(..));
        !reads.is_empty() || calls
    });
    if refers {
        return Err(Diagnostic::new(
            Code::WRONG_KIND,
            "a known is a value, and this is a formula",
            text.span,
        )
        .help("move it to `work`"));
    }
    Ok(leaf(Expression::Text(words.to_owned())))
}

fn leaf_of(text: &Text, expression: Expression) -> Node {
    Node { span: text.span, depth: 1, grouped: false, expression }
}

/// In a list of a known, words that name nothing are texts: `choose: [copper, aluminium]`.
fn words_as_texts(node: &mut Node, names: &Names) {
    if let Expression::List(items) = &mut node.expression {
        for item in items {
            if let Expression::Name(name) = &item.expression
                && !names.defined.contains_key(name)
            {
                item.expression = Expression::Text(name.clone());
            }
        }
    }
}

/// The number and unit of a value that is nothing else.
pub(super) fn typed(node: &Node) -> Option<(String, Unit)> {
    match &node.expression {
        Expression::Quantity(number, unit) => Some((number.clone(), (**unit).clone())),
        Expression::Number(number) => Some((number.clone(), Unit::ONE)),
        _ => None,
    }
}

/// `between`, `choose` and `plus_minus` of a known: checked against its type.
pub(super) fn known_extras(
    lowering: &mut Lowering<'_>,
    pending: &Pending,
    value: Lowered,
    names: &Names,
    cell: &mut CellCode,
) {
    let read = |lowering: &mut Lowering<'_>, text: &Text, with_names: bool| {
        let source = lowering.sources.source(text.span)?.text.clone();
        let node = if with_names {
            parse::formula(&source, text.span, &|_| false).map(|mut n| {
                words_as_texts(&mut n, names);
                n
            })
        } else {
            value_node(&source, text, names)
        };
        match node {
            Ok(node) => {
                let mut inner = Lowering::new(
                    lowering.terms,
                    lowering.diagnostics,
                    if with_names { names } else { lowering.names },
                    lowering.types,
                    lowering.sources,
                    lowering.scripts,
                );
                inner.expression(&node)
            }
            Err(diagnostic) => {
                lowering.report(diagnostic);
                None
            }
        }
    };
    if let Some((low, high)) = &pending.between {
        let ends = (read(lowering, low, false), read(lowering, high, false));
        if let (Some(low), Some(high)) = ends {
            let fits = operators::alike(lowering, value, low, "be held against each other");
            let fits =
                fits.and(operators::alike(lowering, value, high, "be held against each other"));
            if fits.is_some() && value.ty.dimension().is_some() {
                cell.between = Some((low.id, high.id));
            }
        }
    }
    if let Some(choose) = &pending.choose
        && let Some(list) = read(lowering, choose, true)
    {
        let one = Lowered { ty: Type::One(list.ty.scalar()), ..list };
        if operators::alike(lowering, value, one, "be chosen from one list").is_some() {
            cell.choose = Some(list.id);
        }
    }
    if let Some(plus_minus) = &pending.plus_minus
        && let Some(spread) = read(lowering, &plus_minus.text, false)
    {
        let span = plus_minus.text.span;
        let own = value.ty.dimension().unwrap_or(Dimension::NONE).as_difference();
        let of_value = spread.ty == Type::PLAIN && typed_percent(lowering.sources.piece(span));
        if of_value && own == Dimension::TEMPERATURE_DIFFERENCE {
            lowering.report(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    "a percentage of a temperature depends on where its scale begins",
                    span,
                )
                .help("write it as a difference: `plus_minus: 0.5 K`"),
            );
            return;
        }
        let fits = of_value
            || operators::want(lowering, spread, Type::number(own), "`plus_minus`").is_some();
        if fits && matches!(value.ty, Type::One(Scalar::Number(_))) {
            cell.plus_minus = Some(PlusMinus {
                width: spread.id,
                of_value,
                span,
                distribution: plus_minus.distribution,
                degrees_of_freedom: plus_minus.degrees_of_freedom,
            });
        }
    }
}

/// Whether a spread is written as a percentage of the value.
fn typed_percent(text: &str) -> bool {
    text.trim_end().ends_with('%') || text.trim_end().ends_with("percent")
}
