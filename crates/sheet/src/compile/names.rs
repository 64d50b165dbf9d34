//! What the names of a sheet stand for, and which of them a formula reads.

use std::collections::HashMap;

use forebay_units::{Currency, nearest};

use super::syntax::{Expression, Function, Node, Statement};
use crate::value::{Type, Value};

/// The names of one sheet, or of one component.
#[derive(Clone, Debug, Default)]
pub(crate) struct Names {
    pub(crate) defined: HashMap<String, Definition>,
    pub(crate) functions: Vec<UserFunction>,
    pub(crate) tables: Vec<TableColumns>,
    pub(crate) currency: Option<Currency>,
    /// Where the interpreter keeps this sheet's functions.
    pub(crate) module: u32,
}

/// What one name stands for.
#[derive(Clone, Debug)]
pub(crate) enum Definition {
    Cell(u32),
    Table,
    /// Another worksheet: its cells by name.
    Component(HashMap<String, u32>),
    /// Something that could not be read; it has been reported.
    Broken,
}

/// A user's function and how it is run.
#[derive(Clone, Debug)]
pub(crate) struct UserFunction {
    pub(crate) function: Function,
    /// Whether it needs Rhai's interpreter.
    pub(crate) interpreted: bool,
}

/// The columns of a table, ready as series.
#[derive(Clone, Debug)]
pub(crate) struct TableColumns {
    pub(crate) name: String,
    pub(crate) columns: Vec<(String, Type, Value)>,
}

impl Names {
    /// The function of this name.
    pub(crate) fn function(&self, name: &str) -> Option<(u32, &UserFunction)> {
        let at = self.functions.iter().position(|f| f.function.name.text == name)?;
        u32::try_from(at).ok().map(|index| (index, &self.functions[at]))
    }

    /// The names of values nearest to a misspelt one, best first.
    pub(crate) fn nearest_value(&self, word: &str) -> Vec<String> {
        let constants = forebay_formulas::all().filter(|f| f.parameters.is_empty());
        let own = self.defined.keys().map(String::as_str);
        let names = own.chain(constants.map(|formula| formula.name));
        nearest(word, names).into_iter().map(str::to_owned).collect()
    }

    /// The names of functions nearest to a misspelt one, best first.
    pub(crate) fn nearest_function(&self, word: &str) -> Vec<String> {
        let formulas = forebay_formulas::all().filter(|f| !f.parameters.is_empty());
        let own = self.functions.iter().map(|f| f.function.name.text.as_str());
        let builtins = super::builtins::BUILTINS.iter().map(|builtin| builtin.name);
        let names = own.chain(builtins).chain(formulas.map(|formula| formula.name));
        nearest(word, names).into_iter().map(str::to_owned).collect()
    }
}

/// What a formula reads: every name that no parameter or variable around it hides.
#[derive(Debug, Default)]
pub(crate) struct Reads {
    pub(crate) cells: Vec<u32>,
    /// Names of things that could not be read themselves.
    pub(crate) broken: Vec<String>,
}

impl Reads {
    /// The names in a formula.
    pub(crate) fn of(node: &Node, names: &Names) -> Self {
        let mut found = Self::default();
        Reader { names, hidden: Vec::new(), found: &mut found }.read(node);
        found.cells.sort_unstable();
        found.cells.dedup();
        found.broken.dedup();
        found
    }
}

struct Reader<'a> {
    names: &'a Names,
    hidden: Vec<&'a str>,
    found: &'a mut Reads,
}

impl<'a> Reader<'a> {
    fn name(&mut self, text: &str) {
        if self.hidden.contains(&text) {
            return;
        }
        match self.names.defined.get(text) {
            Some(Definition::Cell(cell)) => self.found.cells.push(*cell),
            Some(Definition::Broken) => self.found.broken.push(text.to_owned()),
            _ => {}
        }
    }

    fn read(&mut self, node: &'a Node) {
        let outer = self.hidden.len();
        match &node.expression {
            Expression::Number(_)
            | Expression::Quantity(..)
            | Expression::Text(_)
            | Expression::Date(_)
            | Expression::Truth(_) => {}
            Expression::Name(text) => self.name(text),
            Expression::List(items) => items.iter().for_each(|item| self.read(item)),
            Expression::Field(of, word) => {
                if let Expression::Name(text) = &of.expression
                    && let Some(Definition::Component(cells)) = self.names.defined.get(text)
                {
                    self.found.cells.extend(cells.get(&word.text));
                    return;
                }
                self.read(of);
            }
            Expression::Negate(of) | Expression::Not(of) => self.read(of),
            Expression::Index(a, b) | Expression::Binary(_, a, b) | Expression::Range(a, b) => {
                self.read(a);
                self.read(b);
            }
            Expression::Call(word, arguments) => {
                // A cell and a function may bear one name; a function that could not be read is
                // waited for.
                if let Some(Definition::Broken) = self.names.defined.get(&word.text) {
                    self.found.broken.push(word.text.clone());
                }
                arguments.iter().for_each(|a| self.read(&a.value));
            }
            Expression::Method(of, _, arguments) => {
                self.read(of);
                arguments.iter().for_each(|a| self.read(&a.value));
            }
            Expression::Closure(parameters, body) => {
                self.hidden.extend(parameters.iter().map(|p| p.text.as_str()));
                self.read(body);
            }
            Expression::If(condition, then, otherwise) => {
                self.read(condition);
                self.read(then);
                if let Some(otherwise) = otherwise {
                    self.read(otherwise);
                }
            }
            Expression::Block(statements) => {
                for statement in statements {
                    self.statement(statement);
                }
            }
        }
        self.hidden.truncate(outer);
    }

    fn statement(&mut self, statement: &'a Statement) {
        match statement {
            Statement::Let(name, value) => {
                self.read(value);
                self.hidden.push(&name.text);
            }
            Statement::Value(value, _)
            | Statement::Loop(value)
            | Statement::Return(_, Some(value)) => self.read(value),
            Statement::Assign(a, _, b) | Statement::While(a, b) => {
                self.read(a);
                self.read(b);
            }
            Statement::For(name, over, body) => {
                self.read(over);
                self.hidden.push(&name.text);
                self.read(body);
                self.hidden.pop();
            }
            Statement::Break(_) | Statement::Continue(_) | Statement::Return(_, None) => {}
        }
    }
}
