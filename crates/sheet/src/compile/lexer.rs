//! Cuts a formula into tokens, each with its place in the user's file.

use crate::diagnostic::{Code, Diagnostic, Span};

/// A token and where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Token<'a> {
    pub(crate) kind: TokenKind<'a>,
    pub(crate) span: Span,
}

/// What a token is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum TokenKind<'a> {
    /// A number as written.
    Number(&'a str),
    /// A name or a word of the language.
    Word(&'a str),
    /// A text in double quotes, with its quotes.
    Text(&'a str),
    /// An operator or a bracket.
    Sign(&'static str),
    /// The end of the formula.
    End,
}

/// The sign that a text begins with: the longest that fits.
fn sign(text: &str) -> Option<&'static str> {
    let bytes = text.as_bytes();
    let (second, third) = (bytes.get(1), bytes.get(2));
    Some(match (bytes.first()?, second) {
        (b'.', Some(b'.')) if third == Some(&b'=') => "..=",
        (b'.', Some(b'.')) => "..",
        (b'*', Some(b'*')) => "**",
        (b'&', Some(b'&')) => "&&",
        (b'|', Some(b'|')) => "||",
        (b'=', Some(b'=')) => "==",
        (b'=', Some(b'>')) => "=>",
        (b'!', Some(b'=')) => "!=",
        (b'<', Some(b'=')) => "<=",
        (b'>', Some(b'=')) => ">=",
        (b'+', Some(b'=')) => "+=",
        (b'-', Some(b'=')) => "-=",
        (b'*', Some(b'=')) => "*=",
        (b'/', Some(b'=')) => "/=",
        (b'^', Some(b'=')) => "^=",
        (b'#', Some(b'{')) => "#{",
        (b'?', Some(b'?')) => "??",
        (b'+', _) => "+",
        (b'-', _) => "-",
        (b'*', _) => "*",
        (b'/', _) => "/",
        (b'%', _) => "%",
        (b'^', _) => "^",
        (b'=', _) => "=",
        (b'<', _) => "<",
        (b'>', _) => ">",
        (b'!', _) => "!",
        (b'(', _) => "(",
        (b')', _) => ")",
        (b'[', _) => "[",
        (b']', _) => "]",
        (b'{', _) => "{",
        (b'}', _) => "}",
        (b',', _) => ",",
        (b';', _) => ";",
        (b':', _) => ":",
        (b'.', _) => ".",
        (b'|', _) => "|",
        _ => return None,
    })
}

/// Reads tokens one after the other from a piece of a source.
#[derive(Clone, Debug)]
pub(crate) struct Lexer<'a> {
    /// The whole source, so that places need no shifting.
    text: &'a str,
    source: u16,
    at: usize,
    end: usize,
    /// Whether `//` begins a comment; in a formula it may be meant as a division.
    comments: bool,
}

impl<'a> Lexer<'a> {
    /// Reads the piece of `text` under `span`. A span that does not fit reads as an empty piece.
    pub(crate) fn new(text: &'a str, span: Span, comments: bool) -> Self {
        let (start, end) = (span.start as usize, span.end as usize);
        let fits = text.get(start..end).is_some();
        Self { text, source: span.source, at: if fits { start } else { end }, end, comments }
    }

    /// The rest of the piece, from the place reached.
    pub(crate) fn rest(&self) -> &'a str {
        self.text.get(self.at..self.end).unwrap_or_default()
    }

    /// The place reached, in bytes of the source.
    pub(crate) fn at(&self) -> usize {
        self.at
    }

    /// Moves on by bytes that the caller has read itself.
    pub(crate) fn skip(&mut self, bytes: usize) {
        self.at = (self.at + bytes).min(self.end);
    }

    /// A place in this source.
    pub(crate) fn span(&self, start: usize, end: usize) -> Span {
        // Sources are bounded far below 4 GiB by the reader.
        #[allow(clippy::cast_possible_truncation)]
        Span { source: self.source, start: start as u32, end: end as u32 }
    }

    /// The text under a place of this source.
    pub(crate) fn piece(&self, span: Span) -> &'a str {
        self.text.get(span.start as usize..span.end as usize).unwrap_or_default()
    }

    /// The next token.
    pub(crate) fn next(&mut self) -> Result<Token<'a>, Diagnostic> {
        self.skip_blanks()?;
        let rest = self.rest();
        let start = self.at;
        let Some(first) = rest.chars().next() else {
            return Ok(Token { kind: TokenKind::End, span: self.span(self.end, self.end) });
        };
        let (kind, length) = if first.is_ascii_digit() {
            let length = number_length(rest);
            (TokenKind::Number(&rest[..length]), length)
        } else if first.is_ascii_alphabetic() || first == '_' {
            let length = word_length(rest);
            (TokenKind::Word(&rest[..length]), length)
        } else if first == '"' {
            let length = self.text_length(rest)?;
            (TokenKind::Text(&rest[..length]), length)
        } else if let Some(sign) = sign(rest) {
            (TokenKind::Sign(sign), sign.len())
        } else {
            let span = self.span(start, start + first.len_utf8());
            return Err(self.unreadable(first, span));
        };
        self.at += length;
        Ok(Token { kind, span: self.span(start, self.at) })
    }

    fn skip_blanks(&mut self) -> Result<(), Diagnostic> {
        loop {
            let rest = self.rest();
            let blanks = rest.len() - rest.trim_start().len();
            self.at += blanks;
            let rest = &rest[blanks..];
            if rest.starts_with("//") {
                if !self.comments {
                    let span = self.span(self.at, self.at + 2);
                    return Err(Diagnostic::new(
                        Code::TWO_READINGS,
                        "`//` could begin a comment, or be meant as a division",
                        span,
                    )
                    .help("write `/` to divide, `floor(a / b)` for whole parts, `/* … */` for a comment"));
                }
                self.at += rest.find('\n').unwrap_or(rest.len());
            } else if rest.starts_with("/*") {
                let Some(length) = rest.find("*/") else {
                    let span = self.span(self.at, self.at + 2);
                    return Err(Diagnostic::new(Code::SYNTAX, "this comment does not end", span)
                        .help("close it with `*/`"));
                };
                self.at += length + 2;
            } else {
                return Ok(());
            }
        }
    }

    fn text_length(&self, rest: &str) -> Result<usize, Diagnostic> {
        let mut escaped = false;
        for (at, c) in rest.char_indices().skip(1) {
            match c {
                '"' if !escaped => return Ok(at + 1),
                '\n' => break,
                _ => escaped = c == '\\' && !escaped,
            }
        }
        let span = self.span(self.at, self.at + 1);
        Err(Diagnostic::new(Code::SYNTAX, "this text does not end", span)
            .help("close it with `\"` on the same line"))
    }

    fn unreadable(&self, first: char, span: Span) -> Diagnostic {
        let help = match first {
            '×' | '·' => "write `*` to multiply",
            '÷' => "write `/` to divide",
            '−' | '–' => "write `-` (the plain hyphen) for minus",
            '²' | '³' => "write `^2` or `^3`",
            '≤' => "write `<=`",
            '≥' => "write `>=`",
            '≠' => "write `!=`",
            '\'' | '`' | '“' | '”' => "write texts in double quotes: \"copper\"",
            '&' => "write `&&` for and",
            _ => "names hold the letters a to z, digits and underscores",
        };
        Diagnostic::new(Code::SYNTAX, format!("`{first}` cannot be read here"), span).help(help)
    }
}

/// The length of the word that the text begins with.
pub(crate) fn word_length(text: &str) -> usize {
    text.find(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).unwrap_or(text.len())
}

fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        while bytes.get(at).is_some_and(|b| b.is_ascii_digit() || *b == b'_') {
            at += 1;
        }
        at
    };
    let mut at = digits(0);
    if bytes.get(at) == Some(&b'.') && bytes.get(at + 1).is_some_and(u8::is_ascii_digit) {
        at = digits(at + 1);
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        if bytes.get(at + 1 + sign).is_some_and(u8::is_ascii_digit) {
            at = digits(at + 1 + sign);
        }
    }
    at
}
