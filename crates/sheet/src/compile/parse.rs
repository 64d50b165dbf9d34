//! Reads formulas and function blocks into trees: Rhai's expression grammar with quantity
//! literals, named arguments and `^` for power.
//!
//! The grammar is read here and not by Rhai's own parser, because a formula's tree must keep the
//! byte range of every operand and every bracket, because a name may be any word of the trade
//! (Rhai reserves `case`, `use`, `default`, …), and because a sheet of 100,000 formulas must load
//! while the user waits. A test holds the two grammars against each other.

mod blocks;
mod quantities;

use super::lexer::{Lexer, Token, TokenKind};
use super::syntax::{Argument, Expression, Function, Node, Operator, Word};
use crate::bounds::{DEEPEST_BRACKETS, DEEPEST_FORMULA, LONGEST_FORMULA};
use crate::diagnostic::{Code, Diagnostic, Span};
pub(crate) use quantities::unit_diagnostic;

/// Tells whether a word names something of the sheet, so that it could be meant after a number.
pub(crate) type IsName<'a> = &'a dyn Fn(&str) -> bool;

/// Reads one formula.
pub(crate) fn formula(text: &str, span: Span, is_name: IsName<'_>) -> Result<Node, Diagnostic> {
    let mut parser = Parser::new(text, span, is_name, false)?;
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

/// A block of functions as read.
#[derive(Debug, Default)]
pub(crate) struct FunctionBlock {
    pub(crate) functions: Vec<Function>,
    /// Names of functions that could not be read.
    pub(crate) broken: Vec<Word>,
    pub(crate) diagnostics: Vec<Diagnostic>,
}

/// Reads a block of functions. A function that cannot be read is left out and named.
pub(crate) fn functions(text: &str, span: Span, is_name: IsName<'_>) -> FunctionBlock {
    let mut block = FunctionBlock::default();
    let mut parser = match Parser::new(text, span, is_name, true) {
        Ok(parser) => parser,
        Err(diagnostic) => {
            block.diagnostics.push(diagnostic);
            return block;
        }
    };
    while parser.token.kind != TokenKind::End {
        let mut name = None;
        match parser.function(&mut name) {
            Ok(function) => block.functions.push(function),
            Err(diagnostic) => {
                block.diagnostics.push(diagnostic);
                block.broken.extend(name);
                parser.skip_to_function();
            }
        }
    }
    block
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
    fn new(text: &'a str, span: Span, is_name: IsName<'a>, comments: bool) -> Parsed<Self> {
        if (span.end - span.start) as usize > LONGEST_FORMULA {
            return Err(Diagnostic::new(
                Code::TOO_DEEP,
                format!("this is longer than {} KiB", LONGEST_FORMULA / 1024),
                Span { end: span.start, ..span },
            ));
        }
        let mut lexer = Lexer::new(text, span, comments);
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
            kind => {
                let found = self.lexer.piece(span);
                let diagnostic = Diagnostic::new(
                    Code::SYNTAX,
                    format!("expected {wanted}, found `{found}`"),
                    span,
                );
                match usual_slip(kind) {
                    Some(help) => diagnostic.help(help),
                    None => diagnostic,
                }
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
        if depth > DEEPEST_FORMULA {
            return Err(Diagnostic::new(
                Code::TOO_DEEP,
                format!("more than {DEEPEST_FORMULA} operations hang together here"),
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
        if let Expression::Quantity(number, unit) = &base.expression
            && !base.grouped
        {
            let (unit, power) = (unit.symbol(), self.lexer.piece(exponent.span));
            return Err(Diagnostic::new(
                Code::TWO_READINGS,
                format!("the power can belong to the unit or to all of `{number} {unit}`"),
                base.span.to(exponent.span),
            )
            .help(format!("write `({number} {unit})^{power}`, or the unit without spaces")));
        }
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

    pub(super) fn primary(&mut self) -> Parsed<Node> {
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
}

/// What is usually meant where a token does not fit.
fn usual_slip(found: TokenKind<'_>) -> Option<String> {
    Some(match found {
        TokenKind::Number(_) => {
            "between two values stands an operator; write a sum as `1 ft + 6 in`".to_owned()
        }
        TokenKind::Word("in") => {
            "the unit that a cell is shown in stands under `in:`, beside `is:`".to_owned()
        }
        TokenKind::Word(word) if forebay_units::Unit::parse(word).is_ok() => format!(
            "units are joined without spaces, by `*` or `/`, as in `N*m`; before a name stands an \
             operator: `* {word}`"
        ),
        TokenKind::Word(word) => format!("before a name stands an operator: `* {word}`"),
        TokenKind::Sign(",") => "decimals are written with a point: `1.5 m`".to_owned(),
        TokenKind::Sign(".") => "write the 0 before the point: `0.5 m`".to_owned(),
        _ => return None,
    })
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
