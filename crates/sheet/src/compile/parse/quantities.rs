//! Numbers with their units inside formulas, and the texts that could be read in two ways.

use forebay_units::{Unit, UnitError};

use super::{Parsed, Parser, is_reserved};
use crate::compile::lexer::word_length;
use crate::compile::syntax::{Expression, Node};
use crate::diagnostic::{Code, Diagnostic, Span};

impl Parser<'_> {
    pub(super) fn number(&mut self, written: &str) -> Parsed<Node> {
        let start = self.token.span;
        let text = written.replace('_', "");
        let rest = self.lexer.rest();
        if let Some(date) = date_at(written, rest) {
            let end = start.end as usize + date.len() - written.len();
            self.lexer.skip(date.len() - written.len());
            self.advance()?;
            let span = self.lexer.span(start.start as usize, end);
            self.last_end = span.end;
            return self.node(span, 0, Expression::Date(date));
        }
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
        // `70e-6 1/K`: a reciprocal unit; two numbers side by side mean nothing else.
        let reciprocal = blanks > 0
            && tail.strip_prefix("1/").is_some_and(|rest| rest.starts_with(char::is_alphabetic));
        let begins_unit = begins_unit || reciprocal;
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
        if &tail[..length] == "acre" && tail[length..].starts_with("-f") {
            let span = self.lexer.span(tail_at, tail_at + length + 3);
            return Err(Diagnostic::new(
                Code::UNKNOWN_UNIT,
                "a hyphen in a unit would be a minus",
                span,
            )
            .help("write `acre_ft`"));
        }
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
        // A name, or up to the end of what stands in brackets, or one sign of any script.
        let length = match word_length(following) {
            0 if following.starts_with('(') => following.find(')').map_or(1, |end| end + 1),
            0 => following.chars().next().map_or(0, char::len_utf8),
            length => length,
        };
        let right = &following[..length];
        Err(Diagnostic::new(
            Code::TWO_READINGS,
            format!("`{written} % {right}` can be read in two ways"),
            number.to(span),
        )
        .help(format!(
            "write `({written}) % {right}` for the remainder, or `{written} % * {right}` for a percentage"
        )))
    }
}

/// `2025-03-01` written in one piece is a date, not a calculation.
fn date_at(written: &str, rest: &str) -> Option<String> {
    let tail = rest.get(..6)?;
    let shape = tail.bytes().enumerate().all(|(at, byte)| match at {
        0 | 3 => byte == b'-',
        _ => byte.is_ascii_digit(),
    });
    let ends = !rest[6..].starts_with(|c: char| c.is_alphanumeric() || c == '_' || c == '.');
    (written.len() == 4 && written.bytes().all(|b| b.is_ascii_digit()) && shape && ends)
        .then(|| format!("{written}{tail}"))
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
