//! The tree of a formula or a function body as it is written, before names and units have meaning.

use forebay_units::Unit;

use crate::diagnostic::Span;

/// An expression with its place.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) span: Span,
    /// Levels below and including this one.
    pub(crate) depth: u16,
    /// Whether it stands in brackets of its own.
    pub(crate) grouped: bool,
    pub(crate) expression: Expression,
}

/// What an expression is.
#[derive(Clone, Debug)]
pub(crate) enum Expression {
    /// A plain number as written (digits without `_`).
    Number(String),
    /// A number with its unit, the number as written.
    Quantity(String, Box<Unit>),
    Text(String),
    /// A calendar date, `2025-03-01`; only as the value of a known.
    Date(String),
    Truth(bool),
    Name(String),
    List(Vec<Node>),
    /// `table.column`, `component.cell`.
    Field(Box<Node>, Word),
    /// `xs[i]`.
    Index(Box<Node>, Box<Node>),
    Call(Word, Vec<Argument>),
    /// `xs.map(…)`.
    Method(Box<Node>, Word, Vec<Argument>),
    Closure(Vec<Word>, Box<Node>),
    Negate(Box<Node>),
    Not(Box<Node>),
    Binary(Operator, Box<Node>, Box<Node>),
    /// `from..to`, the end left out; only after `for … in`.
    Range(Box<Node>, Box<Node>),
    If(Box<Node>, Box<Node>, Option<Box<Node>>),
    Block(Vec<Statement>),
}

/// A name with its place.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Word {
    pub(crate) text: String,
    pub(crate) span: Span,
}

/// An argument of a call, by place or by name.
#[derive(Clone, Debug)]
pub(crate) struct Argument {
    pub(crate) name: Option<Word>,
    pub(crate) value: Node,
}

/// A statement of a block.
#[derive(Clone, Debug)]
pub(crate) enum Statement {
    Let(Word, Node),
    /// `x = …` or `xs[i] = …`; with the operator for `x += …`.
    Assign(Node, Option<Operator>, Node),
    /// The flag says that the value is thrown away by a `;`.
    Value(Node, bool),
    While(Node, Node),
    Loop(Node),
    For(Word, Node, Node),
    Break(Span),
    Continue(Span),
    Return(Span, Option<Node>),
}

/// An operator between two expressions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Operator {
    Add,
    Subtract,
    Multiply,
    Divide,
    Remainder,
    Power,
    Less,
    LessOrEqual,
    Greater,
    GreaterOrEqual,
    Equal,
    NotEqual,
    And,
    Or,
}

/// A function of the sheet.
#[derive(Clone, Debug)]
pub(crate) struct Function {
    pub(crate) name: Word,
    pub(crate) parameters: Vec<Word>,
    pub(crate) body: Node,
    /// From `fn` to the closing brace.
    pub(crate) span: Span,
}

impl Operator {
    /// The operator that a sign stands for, with its precedence (Rhai's).
    pub(crate) fn of_sign(sign: &str) -> Option<(Self, u8)> {
        Some(match sign {
            "||" => (Self::Or, 30),
            "&&" => (Self::And, 60),
            "==" => (Self::Equal, 90),
            "!=" => (Self::NotEqual, 90),
            "<" => (Self::Less, 130),
            "<=" => (Self::LessOrEqual, 130),
            ">" => (Self::Greater, 130),
            ">=" => (Self::GreaterOrEqual, 130),
            "+" => (Self::Add, 150),
            "-" => (Self::Subtract, 150),
            "*" => (Self::Multiply, 180),
            "/" => (Self::Divide, 180),
            "%" => (Self::Remainder, 180),
            "^" | "**" => (Self::Power, 190),
            _ => return None,
        })
    }

    pub(crate) fn is_comparison(self) -> bool {
        matches!(
            self,
            Self::Less
                | Self::LessOrEqual
                | Self::Greater
                | Self::GreaterOrEqual
                | Self::Equal
                | Self::NotEqual
        )
    }

    /// As it is written.
    pub(crate) fn sign(self) -> &'static str {
        match self {
            Self::Add => "+",
            Self::Subtract => "-",
            Self::Multiply => "*",
            Self::Divide => "/",
            Self::Remainder => "%",
            Self::Power => "^",
            Self::Less => "<",
            Self::LessOrEqual => "<=",
            Self::Greater => ">",
            Self::GreaterOrEqual => ">=",
            Self::Equal => "==",
            Self::NotEqual => "!=",
            Self::And => "&&",
            Self::Or => "||",
        }
    }
}

impl Node {
    /// Calls `visit` on this expression and all below it, outermost first.
    pub(crate) fn walk<'a>(&'a self, visit: &mut dyn FnMut(&'a Node)) {
        visit(self);
        match &self.expression {
            Expression::Number(_)
            | Expression::Quantity(..)
            | Expression::Text(_)
            | Expression::Date(_)
            | Expression::Truth(_)
            | Expression::Name(_) => {}
            Expression::List(items) => items.iter().for_each(|item| item.walk(visit)),
            Expression::Field(of, _) | Expression::Negate(of) | Expression::Not(of) => {
                of.walk(visit);
            }
            Expression::Index(a, b) | Expression::Binary(_, a, b) | Expression::Range(a, b) => {
                a.walk(visit);
                b.walk(visit);
            }
            Expression::Call(_, arguments) => arguments.iter().for_each(|a| a.value.walk(visit)),
            Expression::Method(of, _, arguments) => {
                of.walk(visit);
                arguments.iter().for_each(|a| a.value.walk(visit));
            }
            Expression::Closure(_, body) => body.walk(visit),
            Expression::If(condition, then, otherwise) => {
                condition.walk(visit);
                then.walk(visit);
                if let Some(otherwise) = otherwise {
                    otherwise.walk(visit);
                }
            }
            Expression::Block(statements) => {
                for statement in statements {
                    match statement {
                        Statement::Let(_, value)
                        | Statement::Value(value, _)
                        | Statement::Loop(value)
                        | Statement::Return(_, Some(value)) => value.walk(visit),
                        Statement::While(a, b)
                        | Statement::For(_, a, b)
                        | Statement::Assign(a, _, b) => {
                            a.walk(visit);
                            b.walk(visit);
                        }
                        Statement::Break(_)
                        | Statement::Continue(_)
                        | Statement::Return(_, None) => {}
                    }
                }
            }
        }
    }
}
