//! Which parts of a user's function the compiler's own terms can compute, and which names they read.

use std::collections::HashMap;

use crate::compile::syntax::{Argument, Expression, Function, Node, Statement, Word};
use crate::compile::{builtins, statements};
use crate::diagnostic::Span;

/// The functions of a sheet, with those that must be run by Rhai.
pub(super) struct Known<'a> {
    pub(super) functions: &'a [&'a Function],
    by_name: HashMap<&'a str, usize>,
    in_rhai: Vec<bool>,
}

/// What a name in front of `(` calls.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Callee {
    /// A function of the sheet that Rhai runs.
    InRhai(usize),
    /// A function of the sheet that the compiler writes out.
    Written,
    Builtin,
    Formula,
    /// `xs.push(x)`.
    Push,
    /// A variable that holds a function, or nothing known.
    Other,
}

/// How a name is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Use {
    Value,
    /// A list whose values are only counted.
    Counted,
    /// Perhaps a word of a formula's choice, such as `copper`.
    Word,
}

impl<'a> Known<'a> {
    /// Sorts the functions: Rhai runs those that the compiler cannot write out, those that call
    /// a function they were given, and those that call such functions.
    pub(super) fn new(functions: &'a [&'a Function]) -> Self {
        let owned: Vec<Function> = functions.iter().map(|f| (*f).clone()).collect();
        let by_name = functions.iter().enumerate().rev();
        let by_name = by_name.map(|(at, f)| (f.name.text.as_str(), at)).collect();
        let mut known = Self { functions, by_name, in_rhai: statements::interpreted(&owned) };
        let mut callers: Vec<Vec<usize>> = vec![Vec::new(); functions.len()];
        for (at, function) in functions.iter().enumerate() {
            function.body.walk(&mut |node| {
                let (Expression::Call(name, _) | Expression::Method(_, name, _)) = &node.expression
                else {
                    return;
                };
                match known.by_name.get(name.text.as_str()) {
                    Some(called) => callers[*called].push(at),
                    None => known.in_rhai[at] |= known.callee(&name.text) == Callee::Other,
                }
            });
        }
        let mut open: Vec<usize> = (0..functions.len()).filter(|at| known.in_rhai[*at]).collect();
        while let Some(called) = open.pop() {
            for caller in std::mem::take(&mut callers[called]) {
                if !std::mem::replace(&mut known.in_rhai[caller], true) {
                    open.push(caller);
                }
            }
        }
        known
    }

    /// The functions that the compiler writes out.
    pub(super) fn written(&self) -> impl Iterator<Item = &'a Function> {
        self.functions.iter().zip(&self.in_rhai).filter(|(_, rhai)| !**rhai).map(|(f, _)| *f)
    }

    /// Whether Rhai runs the function at this place.
    pub(super) fn is_in_rhai(&self, at: usize) -> bool {
        self.in_rhai[at]
    }

    /// What a name calls: the same order as in formulas.
    pub(super) fn callee(&self, name: &str) -> Callee {
        match self.by_name.get(name).copied() {
            Some(at) if self.in_rhai[at] => Callee::InRhai(at),
            Some(_) => Callee::Written,
            None if builtins::find(name).is_some() => Callee::Builtin,
            None if forebay_formulas::find(name).is_some() => Callee::Formula,
            None if name == "push" => Callee::Push,
            None => Callee::Other,
        }
    }

    /// Whether an expression is one that terms can compute as a whole.
    pub(super) fn is_plain(&self, node: &Node) -> bool {
        Plain { known: self, closures: 0, own: Vec::new() }.node(node)
    }

    /// Whether a function `|x| …` is one that terms can compute as a whole.
    pub(super) fn is_plain_closure(&self, node: &Node) -> bool {
        Plain { known: self, closures: 0, own: Vec::new() }.closure(node)
    }
}

struct Plain<'k, 'a> {
    known: &'k Known<'a>,
    /// How many functions `|x| …` are open around the place reached.
    closures: usize,
    /// Variables that these functions made themselves.
    own: Vec<&'k str>,
}

impl<'k> Plain<'k, '_> {
    fn node(&mut self, node: &'k Node) -> bool {
        match &node.expression {
            Expression::Number(_)
            | Expression::Quantity(..)
            | Expression::Text(_)
            | Expression::Date(_)
            | Expression::Truth(_)
            | Expression::Name(_) => true,
            Expression::List(items) => {
                !items.is_empty() && items.iter().all(|item| self.node(item))
            }
            Expression::Field(of, _) | Expression::Negate(of) | Expression::Not(of) => {
                self.node(of)
            }
            Expression::Index(a, b) | Expression::Binary(_, a, b) => self.node(a) && self.node(b),
            Expression::Call(name, arguments) => self.call(name, None, arguments),
            Expression::Method(of, name, arguments) => self.call(name, Some(of), arguments),
            Expression::Closure(..) | Expression::Range(..) => false,
            Expression::If(condition, then, otherwise) => {
                self.node(condition)
                    && self.node(then)
                    && match otherwise {
                        Some(otherwise) => self.node(otherwise),
                        None => self.closures > 0,
                    }
            }
            Expression::Block(statements) if self.closures == 0 => {
                matches!(statements.as_slice(), [Statement::Value(value, false)] if self.node(value))
            }
            Expression::Block(statements) => {
                let outer = self.own.len();
                let plain = statements.iter().all(|statement| self.statement(statement));
                self.own.truncate(outer);
                plain
            }
        }
    }

    fn call(&mut self, name: &Word, receiver: Option<&'k Node>, arguments: &'k [Argument]) -> bool {
        let callee = self.known.callee(&name.text);
        if !matches!(callee, Callee::Written | Callee::Builtin | Callee::Formula) {
            return false;
        }
        if receiver.is_some_and(|receiver| !self.node(receiver)) {
            return false;
        }
        let takes_function = function_parameter(&name.text);
        let first = usize::from(receiver.is_some());
        arguments.iter().enumerate().all(|(at, argument)| {
            match &argument.value.expression {
                Expression::Closure(..) => {
                    callee == Callee::Builtin && self.closure(&argument.value)
                }
                // It may hold a function, of which the terms know nothing.
                Expression::Name(_) if takes_function == Some(at + first) => false,
                _ => self.node(&argument.value),
            }
        })
    }

    fn closure(&mut self, node: &'k Node) -> bool {
        let Expression::Closure(parameters, body) = &node.expression else { return false };
        let outer = self.own.len();
        self.own.extend(parameters.iter().map(|p| p.text.as_str()));
        self.closures += 1;
        let plain = self.node(body);
        self.closures -= 1;
        self.own.truncate(outer);
        plain
    }

    fn statement(&mut self, statement: &'k Statement) -> bool {
        match statement {
            Statement::Let(name, value) => {
                let plain = self.node(value);
                self.own.push(&name.text);
                plain
            }
            // A variable from outside would be set on a copy.
            Statement::Assign(target, _, value) => {
                matches!(&target.expression, Expression::Name(n) if self.own.contains(&n.as_str()))
                    && self.node(value)
            }
            Statement::Value(value, _) | Statement::Loop(value) => self.node(value),
            Statement::While(condition, body) => self.node(condition) && self.node(body),
            Statement::For(name, over, body) => {
                let over = match &over.expression {
                    Expression::Range(from, to) => self.node(from) && self.node(to),
                    _ => self.node(over),
                };
                self.own.push(&name.text);
                let plain = over && self.node(body);
                self.own.pop();
                plain
            }
            Statement::Break(_) | Statement::Continue(_) => true,
            Statement::Return(..) => false,
        }
    }
}

/// Which argument of a built-in function is a function itself.
pub(super) fn function_parameter(builtin: &str) -> Option<usize> {
    match builtin {
        "map" | "filter" => Some(1),
        "zero_of" | "greatest_of" | "least_of" | "integral" => Some(0),
        _ => None,
    }
}

/// Shows every name that an expression reads from around it, in the order of reading.
pub(super) fn free_names<'n>(
    node: &'n Node,
    known: &Known<'_>,
    visit: &mut dyn FnMut(&'n str, Span, Use),
) {
    Reader { known, hidden: Vec::new(), visit }.read(node, Use::Value);
}

struct Reader<'r, 'k, 'n> {
    known: &'r Known<'k>,
    hidden: Vec<&'n str>,
    visit: &'r mut dyn FnMut(&'n str, Span, Use),
}

impl<'n> Reader<'_, '_, 'n> {
    fn read(&mut self, node: &'n Node, used: Use) {
        let outer = self.hidden.len();
        match &node.expression {
            Expression::Number(_)
            | Expression::Quantity(..)
            | Expression::Text(_)
            | Expression::Date(_)
            | Expression::Truth(_) => {}
            Expression::Name(text) => {
                if !self.hidden.contains(&text.as_str()) {
                    (self.visit)(text, node.span, used);
                }
            }
            Expression::List(items) => items.iter().for_each(|item| self.read(item, Use::Value)),
            Expression::Field(of, _) | Expression::Negate(of) | Expression::Not(of) => {
                self.read(of, Use::Value);
            }
            Expression::Index(a, b) | Expression::Binary(_, a, b) | Expression::Range(a, b) => {
                self.read(a, Use::Value);
                self.read(b, Use::Value);
            }
            Expression::Call(name, arguments) => {
                let used = self.use_by(name);
                arguments.iter().for_each(|a| self.read(&a.value, used));
            }
            Expression::Method(of, name, arguments) => {
                let used = self.use_by(name);
                self.read(of, used);
                arguments.iter().for_each(|a| self.read(&a.value, used));
            }
            Expression::Closure(parameters, body) => {
                self.hidden.extend(parameters.iter().map(|p| p.text.as_str()));
                self.read(body, Use::Value);
            }
            Expression::If(condition, then, otherwise) => {
                self.read(condition, Use::Value);
                self.read(then, Use::Value);
                if let Some(otherwise) = otherwise {
                    self.read(otherwise, Use::Value);
                }
            }
            Expression::Block(statements) => {
                statements.iter().for_each(|statement| self.statement(statement));
            }
        }
        self.hidden.truncate(outer);
    }

    fn use_by(&self, name: &Word) -> Use {
        match self.known.callee(&name.text) {
            Callee::Builtin if name.text == "count" => Use::Counted,
            Callee::Formula => Use::Word,
            _ => Use::Value,
        }
    }

    fn statement(&mut self, statement: &'n Statement) {
        match statement {
            Statement::Let(name, value) => {
                self.read(value, Use::Value);
                self.hidden.push(&name.text);
            }
            Statement::Value(value, _)
            | Statement::Loop(value)
            | Statement::Return(_, Some(value)) => self.read(value, Use::Value),
            Statement::Assign(a, _, b) | Statement::While(a, b) => {
                self.read(a, Use::Value);
                self.read(b, Use::Value);
            }
            Statement::For(name, over, body) => {
                self.read(over, Use::Value);
                self.hidden.push(&name.text);
                self.read(body, Use::Value);
                self.hidden.pop();
            }
            Statement::Break(_) | Statement::Continue(_) | Statement::Return(_, None) => {}
        }
    }
}
