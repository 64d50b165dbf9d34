//! The equations of the formula library, which are plain text as a book prints it: clauses that are
//! mathematics are set, words between them stay words.

use super::{digits, fenced, fraction, math, power, sign, upright};
use crate::markup::escaped;

/// Words that make a clause a sentence.
const PROSE: &[&str] = &[
    "of", "at", "in", "to", "is", "by", "from", "the", "for", "and", "where", "with", "per", "if",
    "on", "up", "what", "each", "as", "not", "else", "within", "over", "between", "behind",
    "linear", "least", "or", "until", "solved", "terms", "table", "all", "which", "than", "no",
];
/// Functions that take what follows without brackets too.
const FUNCTIONS: &[&str] =
    &["sin", "cos", "tan", "arcsin", "arccos", "arctan", "ln", "lg", "exp", "min", "max", "mean"];
/// Deeper nesting is not set.
const DEEPEST: usize = 24;

/// An equation of the library as HTML: `<math>` elements with text between them.
pub(crate) fn library_equation(text: &str) -> String {
    let mut out = String::new();
    for (clause, separator) in clauses(text) {
        match set(clause) {
            Some(set) => out.push_str(&math(&set)),
            None => out.push_str(&escaped(clause)),
        }
        out.push_str(separator);
        if !separator.is_empty() {
            out.push(' ');
        }
    }
    out
}

/// The clauses of a text with what ends each: a comma, a semicolon or a colon outside of brackets.
fn clauses(text: &str) -> Vec<(&str, &'static str)> {
    let mut found = Vec::new();
    let (mut start, mut open) = (0, 0_i32);
    let mut letters = text.char_indices().peekable();
    while let Some((at, letter)) = letters.next() {
        match letter {
            '(' | '[' | '{' => open += 1,
            ')' | ']' | '}' => open -= 1,
            ',' | ';' | ':'
                if open == 0 && letters.peek().is_some_and(|(_, next)| *next == ' ') =>
            {
                let separator = match letter {
                    ',' => ",",
                    ';' => ";",
                    _ => ":",
                };
                found.push((text[start..at].trim(), separator));
                start = at + 1;
            }
            _ => {}
        }
    }
    found.push((text[start..].trim(), ""));
    found
}

/// One clause, set; `None` where it is a sentence or holds what is not known here.
fn set(clause: &str) -> Option<String> {
    let tokens = tokens(clause)?;
    let mut reader = Reader { tokens: &tokens, at: 0, depth: 0 };
    let set = reader.relation()?;
    (reader.at == tokens.len()).then_some(set)
}

#[derive(Clone, Debug, PartialEq)]
enum Token {
    Number(String),
    /// A name, its lower index, and whether it has primes.
    Name(String, String),
    /// A raised text such as `²` or `⁻¹`.
    Raised(String),
    Sign(char),
}

/// A token and whether a space stands before it.
type Spaced = (Token, bool);

fn tokens(text: &str) -> Option<Vec<Spaced>> {
    let letters: Vec<char> = text.chars().collect();
    let mut out: Vec<Spaced> = Vec::new();
    let mut at = 0;
    let mut spaced = false;
    while let Some(letter) = letters.get(at).copied() {
        let taken = |from: usize, holds: &dyn Fn(char) -> bool| -> String {
            letters[from..].iter().take_while(|c| holds(**c)).collect()
        };
        if letter == ' ' {
            spaced = true;
            at += 1;
            continue;
        }
        let token = if letter.is_ascii_digit() {
            let mut number = taken(at, &|c| c.is_ascii_digit() || c == '.');
            at += number.chars().count();
            if number.ends_with('.') {
                return None;
            }
            if letters.get(at) == Some(&'e')
                && letters.get(at + 1).is_some_and(|c| *c == '-' || c.is_ascii_digit())
            {
                let exponent = taken(at + 1, &|c| c == '-' || c.is_ascii_digit());
                at += 1 + exponent.chars().count();
                number = format!("{number}e{exponent}");
            }
            Token::Number(number)
        } else if matches!(letter, '½' | '⅔' | '⅓' | '¼') {
            at += 1;
            Token::Number(letter.to_string())
        } else if plain_of_raised(letter).is_some() {
            let raised = taken(at, &|c| plain_of_raised(c).is_some());
            at += raised.chars().count();
            Token::Raised(raised.chars().filter_map(plain_of_raised).collect())
        } else if letter.is_alphabetic() && !is_lowered(letter) {
            let name = taken(at, &|c| {
                (c.is_alphabetic() || c == '\u{304}')
                    && !is_lowered(c)
                    && plain_of_raised(c).is_none()
            });
            at += name.chars().count();
            let mut index: String = taken(at, &is_lowered);
            at += index.chars().count();
            index = index.chars().map(plain_of_lowered).collect();
            while letters.get(at) == Some(&'_') {
                let part = if letters.get(at + 1) == Some(&'{') {
                    let inside = taken(at + 2, &|c| c != '}');
                    at += 3 + inside.chars().count();
                    inside
                } else {
                    let inside = taken(at + 1, &|c| c.is_ascii_alphanumeric() || c.is_alphabetic());
                    at += 1 + inside.chars().count();
                    inside
                };
                if part.is_empty() {
                    return None;
                }
                if !index.is_empty() {
                    index.push(' ');
                }
                index.push_str(&part);
            }
            if PROSE.contains(&name.as_str()) {
                return None;
            }
            let primes = taken(at, &|c| c == '\'');
            at += primes.len();
            // Two words in a row are a sentence.
            let word = |token: &Token| matches!(token, Token::Name(name, index) if index.is_empty() && is_word(name));
            let token = Token::Name(format!("{name}{}", primes.replace('\'', "′")), index);
            if word(&token) && out.last().is_some_and(|(before, _)| word(before)) {
                return None;
            }
            token
        } else if "+−-·×/=<>≤≥≈±()[]√Σ∫^{}|,…→".contains(letter) {
            at += 1;
            Token::Sign(letter)
        } else {
            return None;
        };
        out.push((token, spaced));
        spaced = false;
    }
    Some(out)
}

fn is_word(name: &str) -> bool {
    name.len() > 2 && name.chars().all(|c| c.is_ascii_lowercase()) && !FUNCTIONS.contains(&name)
}

fn plain_of_raised(letter: char) -> Option<char> {
    const RAISED: &str = "⁰¹²³⁴⁵⁶⁷⁸⁹";
    match letter {
        '⁻' => Some('−'),
        'ⁿ' => Some('n'),
        _ => {
            let at = RAISED.chars().position(|raised| raised == letter)?;
            char::from_digit(u32::try_from(at).ok()?, 10)
        }
    }
}

fn is_lowered(letter: char) -> bool {
    matches!(letter, '₀'..='₉' | 'ᵢ' | 'ⱼ' | 'ₖ' | 'ₙ' | 'ₘ' | 'ₜ' | '₊' | '₋')
}

fn plain_of_lowered(letter: char) -> char {
    match letter {
        '₀'..='₉' => char::from(b'0' + (letter as u32 - '₀' as u32) as u8),
        'ᵢ' => 'i',
        'ⱼ' => 'j',
        'ₖ' => 'k',
        'ₙ' => 'n',
        'ₘ' => 'm',
        'ₜ' => 't',
        '₊' => '+',
        '₋' => '−',
        other => other,
    }
}

/// A piece that is set, and the same without its brackets if it stands in some.
struct Set {
    full: String,
    bare: Option<String>,
}

impl Set {
    fn plain(full: String) -> Self {
        Self { full, bare: None }
    }

    fn bare(&self) -> &str {
        self.bare.as_deref().unwrap_or(&self.full)
    }
}

struct Reader<'a> {
    tokens: &'a [Spaced],
    at: usize,
    depth: usize,
}

impl Reader<'_> {
    fn peek(&self) -> Option<&Token> {
        self.tokens.get(self.at).map(|(token, _)| token)
    }

    fn spaced(&self) -> bool {
        self.tokens.get(self.at).is_some_and(|(_, spaced)| *spaced)
    }

    fn sign(&mut self, among: &str) -> Option<char> {
        let Some(Token::Sign(found)) = self.peek() else { return None };
        let found = *found;
        if !among.contains(found) {
            return None;
        }
        self.at += 1;
        Some(found)
    }

    /// Sums with signs of relation between them.
    fn relation(&mut self) -> Option<String> {
        let mut out = self.sum()?;
        while let Some(relation) = self.sign("=<>≤≥≈→,") {
            out.push_str(&sign(&relation.to_string()));
            out.push_str(&self.sum()?);
        }
        Some(out)
    }

    fn sum(&mut self) -> Option<String> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return None;
        }
        let mut out = String::new();
        if let Some(first) = self.sign("−-+±") {
            out.push_str(&format!("<mo form=\"prefix\">{}</mo>", minus(first)));
        }
        out.push_str(&self.product()?);
        while let Some(operator) = self.sign("+−-±") {
            out.push_str(&sign(&minus(operator).to_string()));
            out.push_str(&self.product()?);
        }
        self.depth -= 1;
        Some(out)
    }

    /// Factors beside one another; a stroke puts those since the last fraction over what follows.
    fn product(&mut self) -> Option<String> {
        let mut pieces = vec![self.factor()?];
        let mut run = 0;
        loop {
            if self.sign("/").is_some() {
                // A number over a number, and π over one, is a factor: `π/4 D²`.
                let constant = match &pieces[run.min(pieces.len() - 1)..] {
                    [only] => only.full.starts_with("<mn>") || only.full == "<mi>π</mi>",
                    _ => false,
                };
                let under = self.denominator(constant)?;
                let over: Vec<Set> = if run < pieces.len() {
                    pieces.drain(run..).collect()
                } else {
                    pieces.pop().into_iter().collect()
                };
                let over = match over.as_slice() {
                    [only] => only.bare().to_owned(),
                    several => beside(several),
                };
                pieces.push(Set::plain(fraction(&over, &under)));
                run = pieces.len();
            } else if let Some(times) = self.sign("·×") {
                pieces.push(Set::plain(sign(&times.to_string())));
                pieces.push(self.factor()?);
                run = pieces.len() - 1;
            } else if self.begins_factor() {
                pieces.push(self.factor()?);
            } else {
                return Some(beside(&pieces));
            }
        }
    }

    /// What stands under a stroke: one factor, and what follows without a space, as in `V²/2g`.
    fn denominator(&mut self, constant: bool) -> Option<String> {
        let number = !constant && matches!(self.peek(), Some(Token::Number(_)));
        let first = self.factor()?;
        // In `T/300 K` the unit stands below too; in `x/2 g` who knows.
        if number && self.spaced() && matches!(self.peek(), Some(Token::Name(..))) {
            return None;
        }
        if self.spaced() || !self.begins_factor() {
            return Some(first.bare().to_owned());
        }
        let mut pieces = vec![first];
        while !self.spaced() && self.begins_factor() {
            pieces.push(self.factor()?);
        }
        Some(beside(&pieces))
    }

    fn begins_factor(&self) -> bool {
        match self.peek() {
            Some(Token::Number(_) | Token::Name(..)) => true,
            Some(Token::Sign(sign)) => "([√Σ∫…".contains(*sign),
            _ => false,
        }
    }

    fn factor(&mut self) -> Option<Set> {
        let base = self.primary()?;
        self.raised(base)
    }

    fn raised(&mut self, base: Set) -> Option<Set> {
        if let Some(Token::Raised(text)) = self.peek() {
            let exponent = raised_text(text);
            self.at += 1;
            return Some(Set::plain(power(&base.full, &exponent)));
        }
        if self.sign("^").is_none() {
            return Some(base);
        }
        let negative = self.sign("−-").is_some();
        let exponent = self.primary()?;
        let minus = if negative { "<mo form=\"prefix\">−</mo>" } else { "" };
        Some(Set::plain(power(&base.full, &format!("{minus}{}", exponent.bare()))))
    }

    fn primary(&mut self) -> Option<Set> {
        if let Some(open) = self.sign("([") {
            let inside = self.relation()?;
            let close = self.sign(if open == '(' { ")" } else { "]" })?;
            let full = fenced(&open.to_string(), &inside, &close.to_string());
            let bare = (open == '(').then_some(inside);
            return Some(Set { full, bare });
        }
        if self.sign("√").is_some() {
            let under = self.factor()?;
            return Some(Set::plain(format!("<msqrt>{}</msqrt>", under.bare())));
        }
        if let Some(large) = self.sign("Σ∫…") {
            return Some(Set::plain(format!("<mo>{large}</mo>")));
        }
        match self.peek()?.clone() {
            Token::Number(number) => {
                self.at += 1;
                Some(Set::plain(number_set(&number)))
            }
            Token::Name(name, index) => {
                self.at += 1;
                self.named(&name, &index)
            }
            _ => None,
        }
    }

    fn named(&mut self, name: &str, index: &str) -> Option<Set> {
        if FUNCTIONS.contains(&name) && index.is_empty() {
            let head = self.raised(Set::plain(upright(name)))?;
            let argument = self.factor()?;
            let gap = if argument.bare.is_some() { "" } else { "<mspace width=\"0.17em\"/>" };
            return Some(Set::plain(format!("<mrow>{}{gap}{}</mrow>", head.full, argument.full)));
        }
        let full = with_index(&name_set(name), index);
        let called = matches!(self.peek(), Some(Token::Sign('('))) && !self.spaced();
        if !called {
            return Some(Set::plain(full));
        }
        let argument = self.primary()?;
        Some(Set::plain(format!("<mrow>{full}{}</mrow>", argument.full)))
    }
}

/// Pieces beside one another, a thin space between two that are multiplied without a sign.
fn beside(pieces: &[Set]) -> String {
    let mut out = String::new();
    let mut before = false;
    for piece in pieces {
        let operator = piece.full.starts_with("<mo>");
        if before && !operator {
            out.push_str("<mspace width=\"0.17em\"/>");
        }
        out.push_str(&piece.full);
        before = !operator;
    }
    out
}

fn minus(sign: char) -> char {
    if sign == '-' { '−' } else { sign }
}

/// `6.1e-6` as a product with a power of ten.
fn number_set(number: &str) -> String {
    match number.split_once('e') {
        Some((digits_before, exponent)) => {
            let exponent = exponent.replace('-', "−");
            let ten = power("<mn>10</mn>", &format!("<mn>{exponent}</mn>"));
            format!("{}{}{ten}", digits(digits_before), sign("·"))
        }
        None => digits(number),
    }
}

fn raised_text(text: &str) -> String {
    match text.strip_prefix('−') {
        Some(rest) => format!("<mo form=\"prefix\">−</mo>{}", raised_text(rest)),
        None if text.chars().all(|c| c.is_ascii_digit()) => format!("<mn>{text}</mn>"),
        None => format!("<mi>{}</mi>", escaped(text)),
    }
}

fn name_set(name: &str) -> String {
    let mut letters = name.chars();
    let greek = |c: char| ('α'..='ω').contains(&c);
    // `ρg` is two things, `Δh` is one.
    if let (Some(first), Some(_)) = (letters.next(), letters.next())
        && greek(first)
        && name.chars().nth(1).is_some_and(char::is_alphabetic)
    {
        let rest: String = name.chars().skip(1).collect();
        return format!("<mi>{first}</mi><mspace width=\"0.1em\"/>{}", name_set(&rest));
    }
    format!("<mi>{}</mi>", escaped(name))
}

fn with_index(base: &str, index: &str) -> String {
    if index.is_empty() {
        return base.to_owned();
    }
    format!("<msub><mrow>{base}</mrow><mtext>{}</mtext></msub>", escaped(index))
}

#[cfg(test)]
mod tests {
    use forebay_formulas::all;

    use super::*;

    #[track_caller]
    fn check(text: &str, expected: &str) {
        let set = set(text).unwrap();
        let set = set
            .replace("<mrow>", "")
            .replace("</mrow>", "")
            .replace("<mspace width=\"0.17em\"/>", " ")
            .replace(" fence=\"true\" stretchy=\"true\"", "")
            .replace(" form=\"prefix\"", "")
            .replace(" form=\"postfix\"", "");
        assert_eq!(set, expected);
    }

    #[test]
    fn a_stroke_takes_what_a_book_means() {
        check("V²/2g", "<mfrac><msup><mi>V</mi><mn>2</mn></msup><mn>2</mn> <mi>g</mi></mfrac>");
        check("a/b c", "<mfrac><mi>a</mi><mi>b</mi></mfrac> <mi>c</mi>");
        check(
            "2/3 √(2 g) h^1.5",
            "<mfrac><mn>2</mn><mn>3</mn></mfrac> <msqrt><mn>2</mn> <mi>g</mi></msqrt> \
             <msup><mi>h</mi><mn>1.5</mn></msup>",
        );
        check(
            "f L/D V²/2g",
            "<mfrac><mi>f</mi> <mi>L</mi><mi>D</mi></mfrac> <mfrac><msup><mi>V</mi><mn>2</mn>\
             </msup><mn>2</mn> <mi>g</mi></mfrac>",
        );
        check(
            "p_atm(h) − x",
            "<msub><mi>p</mi><mtext>atm</mtext></msub><mo>(</mo><mi>h</mi><mo>)</mo><mo>−</mo>\
             <mi>x</mi>",
        );
        check(
            "sin θ₁",
            "<mi mathvariant=\"normal\">sin</mi> <msub><mi>θ</mi><mtext>1</mtext></msub>",
        );
        check("6.1e-6 x", "<mn>6.1</mn><mo>·</mo><msup><mn>10</mn><mn>−6</mn></msup> <mi>x</mi>");
    }

    #[test]
    fn a_sentence_stays_one() {
        assert_eq!(set("linear between the ranks"), None);
        assert_eq!(set("T/300 K"), None);
        assert!(set("π/4 D²").is_some());
        assert_eq!(set("least squares of ln Q"), None);
        let both = library_equation("H = Q/A, solved for V");
        assert!(both.starts_with("<math") && both.ends_with("solved for V"), "{both}");
    }

    #[test]
    fn every_equation_of_the_library_is_well_formed_and_most_are_set() {
        let (mut set, mut count) = (0, 0);
        for formula in all() {
            let html = library_equation(formula.equation);
            count += 1;
            set += usize::from(html.contains("<math"));
            assert!(balanced(&html), "{}: {html}", formula.name);
        }
        assert!(4 * set >= 3 * count, "{set} of {count}");
    }

    /// Whether every tag is closed in its order.
    fn balanced(html: &str) -> bool {
        let mut open = Vec::new();
        for piece in html.split('<').skip(1) {
            let Some((tag, _)) = piece.split_once('>') else { return false };
            let name = tag.trim_start_matches('/').split([' ', '/']).next().unwrap_or_default();
            if tag.starts_with('/') {
                if open.pop() != Some(name) {
                    return false;
                }
            } else if !tag.ends_with('/') {
                open.push(name);
            }
        }
        open.is_empty()
    }
}
