//! Reads formulas and function blocks into trees: Rhai's expression grammar with quantity
//! literals, named arguments and `^` for power.
//!
//! The grammar is read here and not by Rhai's own parser, because a formula's tree must keep the
//! byte range of every operand and every bracket, because a name may be any word of the trade
//! (Rhai reserves `case`, `use`, `default`, …), and because a sheet of 100,000 formulas must load
//! while the user waits. A test holds the two grammars against each other.

use forebay_units::{Unit, UnitError};

use super::lexer::{Lexer, Token, TokenKind, word_length};
use super::syntax::{Argument, Expression, Function, Node, Operator, Statement, Word};
use crate::diagnostic::{Code, Diagnostic, Span};

/// The deepest nesting of an expression; a sum of as many terms counts as such.
pub(crate) const DEEPEST: u16 = 200;
/// The deepest nesting of brackets and blocks, which the parser itself recurses into.
const DEEPEST_BRACKETS: u16 = 64;
/// The longest formula or function block in bytes.
const LONGEST: usize = 256 * 1024;

/// Tells whether a word names something of the sheet, so that it could be meant after a number.
pub(crate) type IsName<'a> = &'a dyn Fn(&str) -> bool;

/// Reads one formula.
pub(crate) fn formula(text: &str, span: Span, is_name: IsName<'_>) -> Result<Node, Diagnostic> {
    let mut parser = Parser::new(text, span, is_name)?;
    if parser.token.kind == TokenKind::End {
        return Err(Diagnostic::new(Code::SYNTAX, "a formula is expected here", span));
    }
    let node = if parser.at_word("let") {
        parser.statements(TokenKind::End)?
    } else {
        parser.expression(0)?
    };
    if parser.token.kind == TokenKind::End {
        Ok(node)
    } else {
        Err(parser.unexpected("an operator or the end of the formula"))
    }
}

/// Reads a block of functions. A function that cannot be read is left out and named.
pub(crate) fn functions(
    text: &str,
    span: Span,
    is_name: IsName<'_>,
) -> (Vec<Function>, Vec<Diagnostic>) {
    let mut found = Vec::new();
    let mut diagnostics = Vec::new();
    let mut parser = match Parser::new(text, span, is_name) {
        Ok(parser) => parser,
        Err(diagnostic) => return (found, vec![diagnostic]),
    };
    while parser.token.kind != TokenKind::End {
        match parser.function() {
            Ok(function) => found.push(function),
            Err(diagnostic) => {
                diagnostics.push(diagnostic);
                parser.skip_to_function();
            }
        }
    }
    (found, diagnostics)
}

struct Parser<'a> {
    lexer: Lexer<'a>,
    token: Token<'a>,
    /// The end of the token before.
    last_end: u32,
    is_name: IsName<'a>,
    /// Names of parameters and variables around the place reached.
    locals: Vec<String>,
    brackets: u16,
}

type Parsed<T> = Result<T, Diagnostic>;

impl<'a> Parser<'a> {
    fn new(text: &'a str, span: Span, is_name: IsName<'a>) -> Parsed<Self> {
        if (span.end - span.start) as usize > LONGEST {
            return Err(Diagnostic::new(
                Code::TOO_DEEP,
                format!("this is longer than {} KiB", LONGEST / 1024),
                Span { end: span.start, ..span },
            ));
        }
        let mut lexer = Lexer::new(text, span);
        let token = lexer.next()?;
        Ok(Self { lexer, token, last_end: span.start, is_name, locals: Vec::new(), brackets: 0 })
    }

    fn advance(&mut self) -> Parsed<Token<'a>> {
        let token = self.token;
        self.last_end = token.span.end;
        self.token = self.lexer.next()?;
        Ok(token)
    }

    fn at_sign(&self, sign: &str) -> bool {
        matches!(self.token.kind, TokenKind::Sign(s) if s == sign)
    }

    fn at_word(&self, word: &str) -> bool {
        matches!(self.token.kind, TokenKind::Word(w) if w == word)
    }

    fn accept(&mut self, sign: &str) -> Parsed<bool> {
        let there = self.at_sign(sign);
        if there {
            self.advance()?;
        }
        Ok(there)
    }

    fn expect(&mut self, sign: &str) -> Parsed<Span> {
        if self.at_sign(sign) {
            Ok(self.advance()?.span)
        } else {
            Err(self.unexpected(&format!("`{sign}`")))
        }
    }

    fn unexpected(&self, wanted: &str) -> Diagnostic {
        let span = self.token.span;
        match self.token.kind {
            TokenKind::End => {
                let end = self.last_end;
                Diagnostic::new(
                    Code::SYNTAX,
                    format!("{wanted} is expected before the formula ends"),
                    Span { start: end.saturating_sub(1), end, ..span },
                )
            }
            TokenKind::Sign("=") => Diagnostic::new(
                Code::SYNTAX,
                format!("expected {wanted}, found `=`"),
                span,
            )
            .help("write `==` to compare; `name = value` gives an argument its name inside a call"),
            TokenKind::Word(word @ ("and" | "or" | "not")) => {
                let sign = match word {
                    "and" => "&&",
                    "or" => "||",
                    _ => "!",
                };
                Diagnostic::new(Code::SYNTAX, format!("expected {wanted}, found `{word}`"), span)
                    .help(format!("write `{sign}` for {word}"))
            }
            TokenKind::Sign("#{") => Diagnostic::new(
                Code::UNSUPPORTED,
                "maps `#{ … }` have no meaning in a worksheet",
                span,
            )
            .help("use a table"),
            TokenKind::Word("switch") => {
                Diagnostic::new(Code::UNSUPPORTED, "`switch` is not part of the language", span)
                    .help("use `if … { } else if … { } else { }`")
            }
            _ => {
                let found = self.lexer.piece(span);
                Diagnostic::new(Code::SYNTAX, format!("expected {wanted}, found `{found}`"), span)
            }
        }
    }

    fn name(&mut self) -> Parsed<Word> {
        match self.token.kind {
            TokenKind::Word(text) if !is_reserved(text) => {
                let span = self.advance()?.span;
                Ok(Word { text: text.to_owned(), span })
            }
            _ => Err(self.unexpected("a name")),
        }
    }

    fn node(&self, span: Span, below: u16, expression: Expression) -> Parsed<Node> {
        let depth = below + 1;
        if depth > DEEPEST {
            return Err(Diagnostic::new(
                Code::TOO_DEEP,
                format!("more than {DEEPEST} operations hang together here"),
                span,
            ));
        }
        Ok(Node { span, depth, grouped: false, expression })
    }

    fn deeper<T>(&mut self, read: impl FnOnce(&mut Self) -> Parsed<T>) -> Parsed<T> {
        if self.brackets >= DEEPEST_BRACKETS {
            return Err(Diagnostic::new(
                Code::TOO_DEEP,
                format!("more than {DEEPEST_BRACKETS} brackets are open here"),
                self.token.span,
            ));
        }
        self.brackets += 1;
        let result = read(self);
        self.brackets -= 1;
        result
    }

    // --- expressions, by precedence ---

    fn expression(&mut self, least: u8) -> Parsed<Node> {
        let mut left = self.unary()?;
        loop {
            let TokenKind::Sign(sign) = self.token.kind else { return Ok(left) };
            let Some((operator, precedence)) = Operator::of_sign(sign) else {
                return Ok(left);
            };
            if precedence < least.max(1) || precedence == 190 {
                return Ok(left);
            }
            if operator.is_comparison()
                && !left.grouped
                && let Expression::Binary(before, ..) = left.expression
                && before.is_comparison()
            {
                return Err(self.chained_comparison(&left));
            }
            self.advance()?;
            let right = self.deeper(|p| p.expression(precedence + 1))?;
            let below = left.depth.max(right.depth);
            let span = left.span.to(right.span);
            left = self.node(
                span,
                below,
                Expression::Binary(operator, Box::new(left), Box::new(right)),
            )?;
        }
    }

    fn chained_comparison(&self, left: &Node) -> Diagnostic {
        let Expression::Binary(first, a, b) = &left.expression else {
            return self.unexpected("an operator");
        };
        let (a, b) = (self.lexer.piece(a.span), self.lexer.piece(b.span));
        let next = self.lexer.piece(self.token.span);
        Diagnostic::new(
            Code::SYNTAX,
            "comparisons cannot be chained",
            left.span.to(self.token.span),
        )
        .help(format!("write `{a} {} {b} && {b} {next} …`", first.sign()))
    }

    fn unary(&mut self) -> Parsed<Node> {
        let start = self.token.span;
        match self.token.kind {
            TokenKind::Sign("-") => {
                self.advance()?;
                let operand = self.deeper(Self::unary)?;
                self.negated(start, operand)
            }
            TokenKind::Sign("+") => {
                self.advance()?;
                self.deeper(Self::unary)
            }
            TokenKind::Sign("!") => {
                self.advance()?;
                let operand = self.deeper(Self::unary)?;
                let (span, below) = (start.to(operand.span), operand.depth);
                self.node(span, below, Expression::Not(Box::new(operand)))
            }
            _ => self.power(),
        }
    }

    fn negated(&mut self, sign: Span, operand: Node) -> Parsed<Node> {
        let span = sign.to(operand.span);
        match operand.expression {
            Expression::Binary(Operator::Power, ref base, ref exponent) if !operand.grouped => {
                let base = self.lexer.piece(base.span);
                let exponent = self.lexer.piece(exponent.span);
                Err(Diagnostic::new(
                    Code::TWO_READINGS,
                    format!("`-{base}^{exponent}` can be read in two ways"),
                    span,
                )
                .help(format!("write `-({base}^{exponent})` or `(-{base})^{exponent}`")))
            }
            Expression::Number(ref text) if !operand.grouped && !text.starts_with('-') => {
                let text = format!("-{text}");
                self.node(span, 0, Expression::Number(text))
            }
            Expression::Quantity(ref text, ref unit)
                if !operand.grouped && !text.starts_with('-') =>
            {
                let quantity = Expression::Quantity(format!("-{text}"), unit.clone());
                self.node(span, 0, quantity)
            }
            _ => {
                let below = operand.depth;
                self.node(span, below, Expression::Negate(Box::new(operand)))
            }
        }
    }

    fn power(&mut self) -> Parsed<Node> {
        let base = self.postfix()?;
        if !(self.at_sign("^") || self.at_sign("**")) {
            return Ok(base);
        }
        self.advance()?;
        // To the right, as in Rhai: 2^3^2 is 2^(3^2).
        let exponent = self.deeper(Self::unary)?;
        let (span, below) = (base.span.to(exponent.span), base.depth.max(exponent.depth));
        self.node(
            span,
            below,
            Expression::Binary(Operator::Power, Box::new(base), Box::new(exponent)),
        )
    }

    fn postfix(&mut self) -> Parsed<Node> {
        let mut node = self.primary()?;
        loop {
            let below = node.depth;
            if self.accept(".")? {
                let word = self.name()?;
                if self.at_sign("(") {
                    let (arguments, end) = self.arguments()?;
                    let below = arguments.iter().map(|a| a.value.depth).fold(below, u16::max);
                    let span = node.span.to(end);
                    node = self.node(
                        span,
                        below,
                        Expression::Method(Box::new(node), word, arguments),
                    )?;
                } else {
                    let span = node.span.to(word.span);
                    node = self.node(span, below, Expression::Field(Box::new(node), word))?;
                }
            } else if self.at_sign("[") {
                self.advance()?;
                let index = self.deeper(|p| p.expression(0))?;
                let end = self.expect("]")?;
                let (span, below) = (node.span.to(end), below.max(index.depth));
                let indexed = Expression::Index(Box::new(node), Box::new(index));
                node = self.node(span, below, indexed)?;
            } else {
                return Ok(node);
            }
        }
    }

    fn primary(&mut self) -> Parsed<Node> {
        let start = self.token.span;
        match self.token.kind {
            TokenKind::Number(text) => self.number(text),
            TokenKind::Text(text) => {
                self.advance()?;
                let inner = unescape(&text[1..text.len() - 1]);
                self.node(start, 0, Expression::Text(inner))
            }
            TokenKind::Sign("(") => {
                self.advance()?;
                let mut inner = self.deeper(|p| p.expression(0))?;
                let end = self.expect(")")?;
                inner.span = start.to(end);
                inner.grouped = true;
                Ok(inner)
            }
            TokenKind::Sign("[") => {
                self.advance()?;
                let mut items = Vec::new();
                while !self.at_sign("]") {
                    items.push(self.deeper(|p| p.expression(0))?);
                    if !self.accept(",")? {
                        break;
                    }
                }
                let end = self.expect("]")?;
                let below = items.iter().map(|item| item.depth).max().unwrap_or(0);
                self.node(start.to(end), below, Expression::List(items))
            }
            TokenKind::Sign("{") => self.block(),
            TokenKind::Sign("|") => self.closure(),
            TokenKind::Sign("||") => Err(Diagnostic::new(
                Code::UNSUPPORTED,
                "a function without a parameter gives the same everywhere",
                start,
            )
            .help("write `|x| …`")),
            TokenKind::Word("true" | "false") => {
                let truth = self.at_word("true");
                self.advance()?;
                self.node(start, 0, Expression::Truth(truth))
            }
            TokenKind::Word("if") => self.choice(),
            TokenKind::Word(word) if !is_reserved(word) => {
                let word = self.name()?;
                if self.at_sign("(") {
                    let (arguments, end) = self.arguments()?;
                    let below = arguments.iter().map(|a| a.value.depth).max().unwrap_or(0);
                    self.node(start.to(end), below, Expression::Call(word, arguments))
                } else {
                    self.node(start, 0, Expression::Name(word.text))
                }
            }
            _ => Err(self.unexpected("a value")),
        }
    }

    fn arguments(&mut self) -> Parsed<(Vec<Argument>, Span)> {
        self.expect("(")?;
        let mut arguments: Vec<Argument> = Vec::new();
        while !self.at_sign(")") {
            let value = self.deeper(|p| p.expression(0))?;
            let argument = match &value.expression {
                Expression::Name(text) if self.at_sign("=") && !value.grouped => {
                    let name = Word { text: text.clone(), span: value.span };
                    self.advance()?;
                    let value = self.deeper(|p| p.expression(0))?;
                    Argument { name: Some(name), value }
                }
                _ => Argument { name: None, value },
            };
            if argument.name.is_none() && arguments.iter().any(|a| a.name.is_some()) {
                return Err(Diagnostic::new(
                    Code::ARGUMENTS,
                    "an argument without a name follows one with a name",
                    argument.value.span,
                )
                .help("give this one its name too, or move it to the front"));
            }
            arguments.push(argument);
            if !self.accept(",")? {
                break;
            }
        }
        let end = self.expect(")")?;
        Ok((arguments, end))
    }

    fn closure(&mut self) -> Parsed<Node> {
        let start = self.expect("|")?;
        let mut parameters = Vec::new();
        while !self.at_sign("|") {
            parameters.push(self.name()?);
            if !self.accept(",")? {
                break;
            }
        }
        self.expect("|")?;
        let outer = self.locals.len();
        self.locals.extend(parameters.iter().map(|p| p.text.clone()));
        let body = self.deeper(|p| p.expression(0));
        self.locals.truncate(outer);
        let body = body?;
        let (span, below) = (start.to(body.span), body.depth);
        self.node(span, below, Expression::Closure(parameters, Box::new(body)))
    }

    fn choice(&mut self) -> Parsed<Node> {
        let start = self.advance()?.span;
        let condition = self.deeper(|p| p.expression(0))?;
        let then = self.block()?;
        let otherwise = if self.at_word("else") {
            self.advance()?;
            Some(if self.at_word("if") { self.deeper(Self::choice)? } else { self.block()? })
        } else {
            None
        };
        let below = condition.depth.max(then.depth).max(otherwise.as_ref().map_or(0, |o| o.depth));
        let span = start.to(otherwise.as_ref().map_or(then.span, |o| o.span));
        self.node(
            span,
            below,
            Expression::If(Box::new(condition), Box::new(then), otherwise.map(Box::new)),
        )
    }

    // --- numbers with units ---

    fn number(&mut self, written: &str) -> Parsed<Node> {
        let start = self.token.span;
        let text = written.replace('_', "");
        let rest = self.lexer.rest();
        let blanks = rest.len() - rest.trim_start_matches(' ').len();
        let tail = &rest[blanks..];
        let tail_at = self.lexer.at() + blanks;
        if let Some(inside) = tail.strip_prefix('(') {
            return self.bracketed_unit(start, text, blanks, inside);
        }
        let begins_unit = tail
            .chars()
            .next()
            .is_some_and(|c| c.is_alphabetic() || matches!(c, '%' | '°' | 'µ' | 'μ' | 'Ω' | '‰'));
        let word = &tail[..word_length(tail)];
        if !begins_unit || (is_reserved(word) && word != "in") {
            self.advance()?;
            return self.node(start, 0, Expression::Number(text));
        }
        let Some((length, unit)) = Unit::scan(tail) else {
            self.advance()?;
            return self.node(start, 0, Expression::Number(text));
        };
        let span = self.lexer.span(tail_at, tail_at + length);
        let unit = unit.map_err(|error| self.unit_error(&error, span, start, &tail[..length]))?;
        self.refuse_unit_or_name(start, written, &tail[..length], span)?;
        self.refuse_remainder(start, written, &tail[..length], &tail[length..], span)?;
        self.lexer.skip(blanks + length);
        self.advance()?;
        self.last_end = span.end;
        self.node(start.to(span), 0, Expression::Quantity(text, Box::new(unit)))
    }

    /// `10 (m/h)`: brackets say that all of it is the unit.
    fn bracketed_unit(
        &mut self,
        start: Span,
        text: String,
        blanks: usize,
        inside: &str,
    ) -> Parsed<Node> {
        let tail_at = self.lexer.at() + blanks + 1;
        let length = inside.find(')').unwrap_or(inside.len());
        let span = self.lexer.span(tail_at, tail_at + length);
        match Unit::parse(&inside[..length]) {
            Ok(unit) if length < inside.len() => {
                self.lexer.skip(blanks + 1 + length + 1);
                self.advance()?;
                self.last_end = span.end + 1;
                let span = start.to(Span { end: span.end + 1, ..span });
                self.node(span, 0, Expression::Quantity(text, Box::new(unit)))
            }
            _ => Err(Diagnostic::new(
                Code::SYNTAX,
                "a number cannot be called",
                start.to(Span { end: span.start, ..span }),
            )
            .help("write `*` to multiply; after a number only a unit may stand in brackets")),
        }
    }

    fn unit_error(&self, error: &UnitError, unit: Span, number: Span, word: &str) -> Diagnostic {
        let number = self.lexer.piece(number);
        if self.is_named(word) {
            return Diagnostic::new(
                Code::SYNTAX,
                format!("the name `{word}` follows a number without an operator"),
                unit,
            )
            .help(format!("write `{number} * {word}`"));
        }
        unit_diagnostic(error, unit)
    }

    fn is_named(&self, word: &str) -> bool {
        self.locals.iter().any(|local| local == word) || (self.is_name)(word)
    }

    /// `10 m/h` with a cell `h`: a unit, or 10 m divided by the cell.
    fn refuse_unit_or_name(
        &self,
        number: Span,
        written: &str,
        unit: &str,
        span: Span,
    ) -> Parsed<()> {
        let Some(first) = unit.find(['/', '*', '·']) else { return Ok(()) };
        let Some((word, range)) =
            Unit::words(unit).find(|(word, range)| range.start > first && self.is_named(word))
        else {
            return Ok(());
        };
        let (before, after) = unit.split_at(range.start);
        let operator = before.chars().next_back().unwrap_or('/');
        let before = &before[..before.len() - operator.len_utf8()];
        Err(Diagnostic::new(
            Code::UNIT_OR_NAME,
            format!("`{word}` after `{written}` could be a unit or the cell `{word}`"),
            number.to(span),
        )
        .help(format!(
            "write `{written} ({unit})` for the unit, or `{written} {before} {operator} {after}` to calculate with the cell"
        )))
    }

    /// `80 % 3`: a percentage, or the remainder of a division.
    fn refuse_remainder(
        &self,
        number: Span,
        written: &str,
        unit: &str,
        after: &str,
        span: Span,
    ) -> Parsed<()> {
        let next = after.trim_start_matches(' ').chars().next();
        let operand = next.is_some_and(|c| c.is_alphanumeric() || matches!(c, '(' | '_'));
        if unit != "%" || !operand {
            return Ok(());
        }
        let following = after.trim_start();
        let right = &following[..word_length(following).max(1)];
        Err(Diagnostic::new(
            Code::TWO_READINGS,
            format!("`{written} % {right}` can be read in two ways"),
            number.to(span),
        )
        .help(format!(
            "write `({written}) % {right}` for the remainder, or `{written} % * {right}` for a percentage"
        )))
    }

    // --- blocks and functions ---

    fn block(&mut self) -> Parsed<Node> {
        let start = self.expect("{")?;
        let outer = self.locals.len();
        let statements = self.deeper(|p| p.statements(TokenKind::Sign("}")));
        self.locals.truncate(outer);
        let mut block = statements?;
        let end = self.expect("}")?;
        block.span = start.to(end);
        Ok(block)
    }

    fn statements(&mut self, end: TokenKind<'_>) -> Parsed<Node> {
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
        let value = self.expression(0)?;
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

    fn function(&mut self) -> Parsed<Function> {
        let start = self.token.span;
        if !self.at_word("fn") {
            return Err(self.unexpected("`fn`"));
        }
        self.advance()?;
        self.locals.clear();
        self.brackets = 0;
        let name = self.name()?;
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
    fn skip_to_function(&mut self) {
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

/// Says what is wrong with a unit, at its place.
pub(crate) fn unit_diagnostic(error: &UnitError, unit: Span) -> Diagnostic {
    let code = match error {
        UnitError::Ambiguous { .. } => Code::AMBIGUOUS_UNIT,
        _ => Code::UNKNOWN_UNIT,
    };
    let range = error.range();
    #[allow(clippy::cast_possible_truncation)]
    let place = Span {
        start: (unit.start + range.start as u32).min(unit.end),
        end: (unit.start + range.end as u32).min(unit.end),
        ..unit
    };
    Diagnostic::new(code, error.to_string(), place).help(error.help())
}

/// Words of the language, which cannot be names.
pub(crate) const RESERVED: &[&str] = &[
    "if", "else", "let", "const", "fn", "return", "while", "loop", "for", "in", "do", "until",
    "break", "continue", "true", "false", "and", "or", "not", "switch",
];

fn is_reserved(word: &str) -> bool {
    RESERVED.contains(&word)
}

fn unescape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        match c {
            '\\' => match chars.next() {
                Some('n') => out.push('\n'),
                Some('t') => out.push('\t'),
                Some(other) => out.push(other),
                None => {}
            },
            c => out.push(c),
        }
    }
    out
}
