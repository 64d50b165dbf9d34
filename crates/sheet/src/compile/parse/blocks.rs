//! Blocks, statements and functions.

use super::{Parsed, Parser};
use crate::compile::lexer::TokenKind;
use crate::compile::syntax::{Expression, Function, Node, Operator, Statement, Word};
use crate::diagnostic::{Code, Diagnostic, Span};

impl Parser<'_> {
    pub(super) fn block(&mut self) -> Parsed<Node> {
        let start = self.expect("{")?;
        let outer = self.locals.len();
        let statements = self.deeper(|p| p.statements(TokenKind::Sign("}")));
        self.locals.truncate(outer);
        let mut block = statements?;
        let end = self.expect("}")?;
        block.span = start.to(end);
        Ok(block)
    }

    pub(super) fn statements(&mut self, end: TokenKind<'_>) -> Parsed<Node> {
        let start = self.token.span;
        let mut statements = Vec::new();
        let mut below = 0;
        while self.token.kind != end && self.token.kind != TokenKind::End {
            let (statement, depth) = self.statement(end)?;
            below = below.max(depth);
            statements.push(statement);
        }
        let span = Span { end: self.last_end.max(start.start), ..start };
        self.node(span, below, Expression::Block(statements))
    }

    fn statement(&mut self, end: TokenKind<'_>) -> Parsed<(Statement, u16)> {
        let start = self.token.span;
        let TokenKind::Word(word) = self.token.kind else { return self.value_statement(end) };
        match word {
            "let" | "const" => {
                self.advance()?;
                let name = self.name()?;
                self.expect("=")?;
                let value = self.expression(0)?;
                self.expect_end_of_statement(end)?;
                self.locals.push(name.text.clone());
                let depth = value.depth;
                Ok((Statement::Let(name, value), depth))
            }
            "while" => {
                self.advance()?;
                let condition = self.expression(0)?;
                let body = self.block()?;
                let depth = condition.depth.max(body.depth);
                Ok((Statement::While(condition, body), depth))
            }
            "loop" => {
                self.advance()?;
                let body = self.block()?;
                let depth = body.depth;
                Ok((Statement::Loop(body), depth))
            }
            "for" => {
                self.advance()?;
                let name = self.name()?;
                if !self.at_word("in") {
                    return Err(self.unexpected("`in`"));
                }
                self.advance()?;
                let over = self.range()?;
                self.locals.push(name.text.clone());
                let body = self.block();
                self.locals.pop();
                let body = body?;
                let depth = over.depth.max(body.depth);
                Ok((Statement::For(name, over, body), depth))
            }
            "break" | "continue" => {
                self.advance()?;
                self.expect_end_of_statement(end)?;
                let statement = if word == "break" {
                    Statement::Break(start)
                } else {
                    Statement::Continue(start)
                };
                Ok((statement, 0))
            }
            "return" => {
                self.advance()?;
                let value = if self.at_sign(";") || self.token.kind == end {
                    None
                } else {
                    Some(self.expression(0)?)
                };
                self.expect_end_of_statement(end)?;
                let depth = value.as_ref().map_or(0, |v| v.depth);
                Ok((Statement::Return(start, value), depth))
            }
            _ => self.value_statement(end),
        }
    }

    fn value_statement(&mut self, end: TokenKind<'_>) -> Parsed<(Statement, u16)> {
        let braced = self.at_word("if") || self.at_sign("{");
        let value = if braced { self.braced_statement()? } else { self.expression(0)? };
        let operator = match self.token.kind {
            TokenKind::Sign("=") => Some(None),
            TokenKind::Sign("+=") => Some(Some(Operator::Add)),
            TokenKind::Sign("-=") => Some(Some(Operator::Subtract)),
            TokenKind::Sign("*=") => Some(Some(Operator::Multiply)),
            TokenKind::Sign("/=") => Some(Some(Operator::Divide)),
            _ => None,
        };
        if let Some(operator) = operator {
            if !matches!(value.expression, Expression::Name(_) | Expression::Index(..)) {
                return Err(self.unexpected("`;`"));
            }
            self.advance()?;
            let right = self.expression(0)?;
            self.expect_end_of_statement(end)?;
            let depth = value.depth.max(right.depth);
            return Ok((Statement::Assign(value, operator, right), depth));
        }
        let depth = value.depth;
        let is_braced = matches!(value.expression, Expression::If(..) | Expression::Block(_));
        let thrown_away = self.accept(";")?;
        if !thrown_away && self.token.kind != end && !is_braced {
            return Err(self.unexpected("`;`"));
        }
        Ok((Statement::Value(value, thrown_away), depth))
    }

    /// A statement that begins with `if` or `{` ends at its last brace. What follows and looks like
    /// the rest of a calculation could be meant either way.
    fn braced_statement(&mut self) -> Parsed<Node> {
        let value = self.primary()?;
        let TokenKind::Sign(sign) = self.token.kind else { return Ok(value) };
        if Operator::of_sign(sign).is_none() && sign != "." {
            return Ok(value);
        }
        Err(Diagnostic::new(
            Code::TWO_READINGS,
            format!("`}} {sign}` can go on with the calculation, or begin a new statement"),
            Span { start: value.span.end - 1, ..value.span }.to(self.token.span),
        )
        .help("put the whole `if … { } else { }` into brackets to calculate with it, or `;` behind it"))
    }

    fn expect_end_of_statement(&mut self, end: TokenKind<'_>) -> Parsed<()> {
        if self.token.kind == end {
            return Ok(());
        }
        self.expect(";").map(|_| ())
    }

    fn range(&mut self) -> Parsed<Node> {
        let from = self.expression(0)?;
        if self.at_sign("..=") {
            return Err(Diagnostic::new(
                Code::UNSUPPORTED,
                "a range with its end included is not part of the language",
                self.token.span,
            )
            .help("write `from..end + 1`"));
        }
        if !self.accept("..")? {
            return Ok(from);
        }
        let to = self.expression(0)?;
        let (span, below) = (from.span.to(to.span), from.depth.max(to.depth));
        self.node(span, below, Expression::Range(Box::new(from), Box::new(to)))
    }

    /// A function; its name is handed out first, so that a broken one can be named.
    pub(super) fn function(&mut self, named: &mut Option<Word>) -> Parsed<Function> {
        let start = self.token.span;
        if !self.at_word("fn") {
            return Err(self.unexpected("`fn`"));
        }
        self.advance()?;
        self.locals.clear();
        self.brackets = 0;
        let name = self.name()?;
        *named = Some(name.clone());
        self.expect("(")?;
        let mut parameters = Vec::new();
        while !self.at_sign(")") {
            parameters.push(self.name()?);
            if !self.accept(",")? {
                break;
            }
        }
        self.expect(")")?;
        self.locals = parameters.iter().map(|p| p.text.clone()).collect();
        let body = self.block()?;
        let span = start.to(body.span);
        Ok(Function { name, parameters, body, span })
    }

    /// After an error: on to the next `fn`, so that one broken function does not hide the others.
    pub(super) fn skip_to_function(&mut self) {
        loop {
            match self.lexer.next() {
                Ok(token) => {
                    self.token = token;
                    if token.kind == TokenKind::End || self.at_word("fn") {
                        return;
                    }
                }
                Err(_) => {
                    self.lexer.skip(self.lexer.rest().chars().next().map_or(1, char::len_utf8))
                }
            }
        }
    }
}
