//! A formula of a sheet as a tree for typesetting: what stands over what, and what is a power.

use forebay_units::Unit;

use crate::compile::parse;
use crate::compile::syntax::{Argument, Expression, Node};
use crate::sheet::Cell;

/// A formula as it is set, with the brackets of the sheet in place.
#[derive(Clone, Debug, PartialEq)]
pub enum Equation {
    /// A number as written.
    Number(String),
    /// A number as written, with the symbol of its unit.
    Quantity(String, String),
    /// A name: a cell, a column, a variable.
    Name(String),
    /// A text.
    Text(String),
    /// `[…]`.
    List(Vec<Equation>),
    /// `name(…)`, each argument with its name if it has one.
    Call(String, Vec<(Option<String>, Equation)>),
    /// `xs[i]`.
    Index(Box<Equation>, Box<Equation>),
    /// `|a, b| …`.
    Mapping(Vec<String>, Box<Equation>),
    /// `−…`.
    Negative(Box<Equation>),
    /// `not …`.
    Not(Box<Equation>),
    /// Two sides of a sign: `+`, `-`, `*`, `<` and so on.
    Operation(&'static str, Box<Equation>, Box<Equation>),
    /// A numerator over a denominator.
    Fraction(Box<Equation>, Box<Equation>),
    /// A base with its exponent.
    Power(Box<Equation>, Box<Equation>),
    /// A condition, what holds if it is met, and what holds else.
    Choice(Box<Equation>, Box<Equation>, Box<Equation>),
    /// The same in brackets of the sheet.
    Bracketed(Box<Equation>),
}

impl Cell<'_> {
    /// Its formula as a tree for typesetting; `None` for one that cannot be read, and for one with
    /// statements, which is better read as it is written.
    #[must_use]
    pub fn equation(&self) -> Option<Equation> {
        let (code, sheet) = self.code_and_sheet();
        let source = sheet.sources().source(code.text)?;
        let names = sheet.compiled().scopes.get(code.scope as usize)?;
        let known = |word: &str| names.defined.contains_key(word);
        set(&parse::formula(&source.text, code.text, &known).ok()?)
    }
}

fn set(node: &Node) -> Option<Equation> {
    let inside = match &node.expression {
        Expression::Number(number) => Equation::Number(number.clone()),
        Expression::Quantity(number, unit) if **unit == Unit::ONE => {
            Equation::Number(number.clone())
        }
        Expression::Quantity(number, unit) => {
            Equation::Quantity(number.clone(), unit.symbol().to_owned())
        }
        Expression::Text(text) | Expression::Date(text) => Equation::Text(text.clone()),
        Expression::Truth(truth) => Equation::Name(if *truth { "yes" } else { "no" }.to_owned()),
        Expression::Name(name) => Equation::Name(name.clone()),
        Expression::List(items) => Equation::List(items.iter().map(set).collect::<Option<_>>()?),
        Expression::Field(of, word) => match &of.expression {
            Expression::Name(owner) => Equation::Name(format!("{owner}.{}", word.text)),
            _ => return None,
        },
        Expression::Index(of, at) => Equation::Index(boxed(of)?, boxed(at)?),
        Expression::Call(word, arguments) => Equation::Call(word.text.clone(), all(arguments)?),
        // `xs.map(…)` is `map(xs, …)`.
        Expression::Method(of, word, arguments) => {
            let mut every = vec![(None, set(of)?)];
            every.extend(all(arguments)?);
            Equation::Call(word.text.clone(), every)
        }
        Expression::Closure(parameters, body) => {
            let names = parameters.iter().map(|word| word.text.clone()).collect();
            Equation::Mapping(names, boxed(body)?)
        }
        Expression::Negate(of) => Equation::Negative(boxed(of)?),
        Expression::Not(of) => Equation::Not(boxed(of)?),
        Expression::Binary(operator, left, right) => {
            let (left, right) = (boxed(left)?, boxed(right)?);
            match operator.sign() {
                "/" => Equation::Fraction(left, right),
                "^" => Equation::Power(left, right),
                sign => Equation::Operation(sign, left, right),
            }
        }
        Expression::If(condition, then, Some(otherwise)) => {
            Equation::Choice(boxed(condition)?, boxed(then)?, boxed(otherwise)?)
        }
        Expression::Block(statements) => match statements.as_slice() {
            [crate::compile::syntax::Statement::Value(value, false)] => return set(value),
            _ => return None,
        },
        Expression::If(..) | Expression::Range(..) => return None,
    };
    Some(if node.grouped { Equation::Bracketed(Box::new(inside)) } else { inside })
}

fn boxed(node: &Node) -> Option<Box<Equation>> {
    set(node).map(Box::new)
}

fn all(arguments: &[Argument]) -> Option<Vec<(Option<String>, Equation)>> {
    let one = |argument: &Argument| {
        let name = argument.name.as_ref().map(|word| word.text.clone());
        Some((name, set(&argument.value)?))
    };
    arguments.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Sheet;

    fn name(text: &str) -> Box<Equation> {
        Box::new(Equation::Name(text.to_owned()))
    }

    #[test]
    fn brackets_stay_and_the_order_is_that_of_the_grammar() {
        let sheet = Sheet::open(
            "forebay: 1\nknown:\n  a: 1\n  b: 2\n  c: 3\nwork:\n  d: a / b * c\n  e: a - (b - c)\n  f: 'if a > b { c } else { 0 }'\n",
        );
        let of = |cell: &str| sheet.cell(cell).unwrap().equation().unwrap();
        let quotient = Box::new(Equation::Fraction(name("a"), name("b")));
        assert_eq!(of("d"), Equation::Operation("*", quotient, name("c")));
        let inner = Equation::Operation("-", name("b"), name("c"));
        let inner = Box::new(Equation::Bracketed(Box::new(inner)));
        assert_eq!(of("e"), Equation::Operation("-", name("a"), inner));
        assert!(matches!(of("f"), Equation::Choice(_, then, _) if then == name("c")));
    }

    #[test]
    fn statements_are_left_as_they_are_written() {
        let sheet = Sheet::open("forebay: 1\nwork:\n  a: |\n    let b = 2;\n    b * b\n");
        assert_eq!(sheet.cell("a").unwrap().equation(), None);
        assert_eq!(sheet.cell("a").unwrap().shown(), "4");
    }
}
