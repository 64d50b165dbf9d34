//! Units as they are written: reading `kg/m^3`, and finding where a unit ends inside a formula.

use std::borrow::Cow;
use std::fmt::{self, Write as _};
use std::ops::Range;

use crate::dimension::Dimension;
use crate::lookup::{self, Entry, Refusal};
use crate::money::Currency;
use crate::unit_error::UnitError;

/// A unit: what it measures, and how its numbers become coherent SI.
///
/// ```
/// use forebay_units::{Dimension, Unit, UnitError};
/// let unit = Unit::parse("m3/h")?;
/// assert_eq!(unit.symbol(), "m^3/h");
/// assert_eq!(unit.dimension(), Dimension::FLOW);
/// assert_eq!(unit.to_si(7.2), 0.002);
///
/// let refused = Unit::parse("gal/min").unwrap_err();
/// assert_eq!(refused.help(), "write gal_US or gal_UK");
/// # Ok::<(), UnitError>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    symbol: Cow<'static, str>,
    dimension: Dimension,
    factor: f64,
    offset: f64,
    currency: Option<Currency>,
}

impl Unit {
    /// The unit of plain numbers, spelled `1`.
    pub const ONE: Self = Self {
        symbol: Cow::Borrowed("1"),
        dimension: Dimension::NONE,
        factor: 1.0,
        offset: 0.0,
        currency: None,
    };

    /// Reads a whole text as a unit: symbols joined by `/`, `*` or `·`, where `/` holds for the
    /// next symbol only; powers `^2`, `^-1`, `^(1/2)`, `²`, and `m2` for lengths and times; spaces
    /// between symbols mean a product. `1` is the unit of plain numbers.
    ///
    /// # Errors
    /// Everything that [`UnitError`] tells; its range is in `text`.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        let end = text.trim_end().len();
        let start = text.len() - text.trim_start().len();
        if start >= end {
            return Err(malformed("a unit is missing", 0..text.len()));
        }
        if &text[start..end] == "1" {
            return Ok(Self::ONE);
        }
        let mut reader = Reader::new(&text[..end], start);
        reader.whole()?;
        reader.unit()
    }

    /// Finds the unit that a text begins with, as it follows a number in a formula. Returns the
    /// length in bytes of the longest beginning, without spaces, that is made of known symbols,
    /// and its unit. A `/`, `*` or `^` that leads to something else is not taken: of `m/bore` only
    /// `m`, of `m^n` only `m`. `**` followed by a number is a power like `^`.
    ///
    /// Where the first word is no unit, the length is that of the whole word and the error says
    /// why. `None` where the text does not begin with a word.
    #[must_use]
    pub fn scan(text: &str) -> Option<(usize, Result<Self, UnitError>)> {
        let mut reader = Reader::new(text, 0);
        if text.starts_with("1/") {
            reader.at = 1;
            reader.inverse = true;
            if !reader.tail() {
                return None;
            }
        } else {
            let range = word_at(text, 0)?;
            reader.at = range.end;
            if let Err(error) = reader.symbol(range, false) {
                return Some((reader.at, Err(error)));
            }
            reader.power();
        }
        while reader.tail() {}
        Some((reader.at, reader.unit()))
    }

    /// The words of a unit's text with their places in it, whether known or not: for `L/s^2` it
    /// gives `L` at 0..1 and `s` at 2..3.
    pub fn words(text: &str) -> impl Iterator<Item = (&str, Range<usize>)> {
        let mut at = 0;
        std::iter::from_fn(move || {
            while at < text.len() {
                if let Some(range) = word_at(text, at) {
                    at = range.end;
                    return Some((&text[range.clone()], range));
                }
                at += text[at..].chars().next().map_or(1, char::len_utf8);
                // The digits of a power, with whatever hangs on them, are no word.
                if text.as_bytes()[at - 1].is_ascii_digit() {
                    at += text[at..].find(|c| !is_word(c)).unwrap_or(text.len() - at);
                }
            }
            None
        })
    }

    /// The coherent SI unit of a dimension, such as `kg·m/s^2`. Money is named by its currency.
    #[must_use]
    pub fn coherent(dimension: Dimension, currency: Option<Currency>) -> Self {
        let has_money = dimension.exponents()[6] != 0.0;
        let mut symbol = dimension.in_base_units();
        if let Some(currency) = currency.filter(|_| has_money) {
            symbol = symbol.replace("money", currency.code());
        }
        let currency = currency.filter(|_| has_money);
        Self { symbol: Cow::Owned(symbol), dimension, factor: 1.0, offset: 0.0, currency }
    }

    /// The canonical spelling, `m^3/s`; reading it gives this unit again.
    #[must_use]
    pub fn symbol(&self) -> &str {
        &self.symbol
    }

    /// What it measures.
    #[must_use]
    pub const fn dimension(&self) -> Dimension {
        self.dimension
    }

    /// How many coherent SI units one of it is. Negative for vacuum readings.
    #[must_use]
    pub const fn factor(&self) -> f64 {
        self.factor
    }

    /// The coherent SI value of its zero; 273.15 (K) for `degC`.
    #[must_use]
    pub const fn offset(&self) -> f64 {
        self.offset
    }

    /// Whether it is made of units that belong to US practice alone, such as `ft` or `psi`.
    #[must_use]
    pub fn is_customary(&self) -> bool {
        Self::words(&self.symbol)
            .any(|(word, _)| lookup::unit(word).is_some_and(|e| e.row.customary))
    }

    /// The currency, where the unit has one.
    #[must_use]
    pub const fn currency(&self) -> Option<Currency> {
        self.currency
    }

    /// The coherent SI value of a number in this unit.
    #[must_use]
    pub fn to_si(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }

    /// The number that a coherent SI value is in this unit.
    #[must_use]
    pub fn from_si(&self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.symbol)
    }
}

/// Powers are held in sixtieths, as in dimensions.
const WHOLE: i16 = 60;

/// The largest power that a unit may be raised to.
const LARGEST_POWER: i16 = 12;

/// More symbols than this are no unit that anybody can read.
const MOST_SYMBOLS: usize = 16;

/// One symbol of a unit with its power.
struct Symbol {
    entry: &'static Entry,
    /// Below the stroke.
    below: bool,
    /// In sixtieths, as written behind the symbol.
    power: i16,
    range: Range<usize>,
}

/// Reads symbol after symbol.
struct Reader<'t> {
    text: &'t str,
    at: usize,
    /// Whether the text begins with `1/`.
    inverse: bool,
    symbols: Vec<Symbol>,
}

impl<'t> Reader<'t> {
    fn new(text: &'t str, at: usize) -> Self {
        Self { text, at, inverse: false, symbols: Vec::with_capacity(1) }
    }

    /// Takes the whole text, spaces between symbols included.
    fn whole(&mut self) -> Result<(), UnitError> {
        let mut below = false;
        if self.text[self.at..].starts_with("1/") {
            self.at += 2;
            self.inverse = true;
            below = true;
        }
        loop {
            let Some(range) = word_at(self.text, self.at) else {
                return Err(malformed(
                    "a unit's symbol was expected here",
                    self.at..self.text.len(),
                ));
            };
            self.at = range.end;
            self.symbol(range, below)?;
            self.power();
            let rest = &self.text[self.at..];
            let Some(next) = rest.chars().next() else { return Ok(()) };
            below = next == '/';
            if matches!(next, '/' | '*' | '·' | '⋅') {
                self.at += next.len_utf8();
            } else if next == ' ' {
                self.at += rest.len() - rest.trim_start_matches(' ').len();
            } else {
                let what = if next == '^' {
                    "a power is a whole number or a fraction such as ^(1/2)"
                } else {
                    "this does not belong to a unit"
                };
                return Err(malformed(what, self.at..self.text.len()));
            }
        }
    }

    /// Takes an operator and a known symbol with its power; leaves anything else where it is.
    fn tail(&mut self) -> bool {
        let Some(operator) = self.text[self.at..].chars().next() else { return false };
        if !matches!(operator, '/' | '*' | '·' | '⋅') {
            return false;
        }
        let Some(range) = word_at(self.text, self.at + operator.len_utf8()) else { return false };
        let Some((entry, power)) = known(&self.text[range.clone()]) else { return false };
        self.at = range.end;
        self.symbols.push(Symbol { entry, below: operator == '/', power, range });
        self.power();
        true
    }

    /// Adds the symbol that is written at this place.
    fn symbol(&mut self, range: Range<usize>, below: bool) -> Result<(), UnitError> {
        let text = &self.text[range.clone()];
        if let Some((entry, power)) = known(text) {
            self.symbols.push(Symbol { entry, below, power, range });
            return Ok(());
        }
        let word = text.to_owned();
        Err(match lookup::refused(text) {
            Some(Refusal::Ambiguous(row)) => {
                UnitError::Ambiguous { word, choices: row.choices, range }
            }
            Some(Refusal::Refused(row)) => UnitError::Refused { word, why: row.why, range },
            None => UnitError::Unknown { nearest: lookup::nearest(text), word, range },
        })
    }

    /// Takes the power behind the last symbol, if one is written there.
    fn power(&mut self) {
        let Some(last) = self.symbols.last_mut() else { return };
        if last.power != WHOLE {
            return;
        }
        let rest = &self.text[self.at..];
        let found = if let Some(after) = rest.strip_prefix("**") {
            written_power(after).map(|(power, length)| (power, length + 2))
        } else if let Some(after) = rest.strip_prefix('^') {
            written_power(after).map(|(power, length)| (power, length + 1))
        } else {
            raised_power(rest)
        };
        if let Some((power, length)) = found {
            last.power = power;
            last.range.end += length;
            self.at += length;
        }
    }

    /// The unit that the symbols make.
    fn unit(&self) -> Result<Unit, UnitError> {
        if let [Symbol { entry, below: false, power: WHOLE, .. }] = self.symbols.as_slice() {
            return Ok(Unit {
                symbol: Cow::Borrowed(&entry.symbol),
                dimension: entry.row.dimension,
                factor: entry.factor,
                offset: entry.row.offset,
                currency: entry.row.currency,
            });
        }
        let all = self.symbols.first().map_or(0, |s| s.range.start)..self.at;
        if self.symbols.len() > MOST_SYMBOLS {
            return Err(malformed("a unit of so many symbols cannot be read", all));
        }
        let mut unit = Unit { symbol: Cow::Borrowed(""), ..Unit::ONE };
        let mut text = String::with_capacity(16);
        for (i, symbol) in self.symbols.iter().enumerate() {
            let row = symbol.entry.row;
            if let Some(difference) = row.difference {
                return Err(UnitError::Combined {
                    word: symbol.entry.symbol.clone(),
                    instead: self.with_difference(i, difference),
                    range: symbol.range.clone(),
                });
            }
            if let (Some(first), Some(second)) = (unit.currency, row.currency)
                && first != second
            {
                let range = symbol.range.clone();
                return Err(UnitError::TwoCurrencies { first, second, range });
            }
            unit.currency = unit.currency.or(row.currency);
            let beyond = || malformed("this power is beyond all use", symbol.range.clone());
            let sixtieths = if symbol.below { -symbol.power } else { symbol.power };
            let exponent = f64::from(sixtieths) / f64::from(WHOLE);
            let dimension = row.dimension.to_power(exponent).map_err(|_| beyond())?;
            unit.dimension = unit.dimension.times(dimension).map_err(|_| beyond())?;
            // Above or below the stroke rather than a negative power: one rounding less.
            let size = raised(symbol.entry.factor, symbol.power);
            unit.factor = if symbol.below { unit.factor / size } else { unit.factor * size };
            write_symbol(&mut text, i, symbol, &symbol.entry.symbol);
        }
        if !unit.factor.is_normal() {
            return Err(malformed("this unit is beyond all size", all));
        }
        if unit.currency.is_some() && unit.dimension.exponents()[6] == 0.0 {
            unit.currency = None;
        }
        unit.symbol = Cow::Owned(text);
        Ok(unit)
    }

    /// The unit's text with one reading replaced by the difference that belongs there.
    fn with_difference(&self, reading: usize, difference: &str) -> String {
        let mut text = String::new();
        for (i, symbol) in self.symbols.iter().enumerate() {
            let prefixed = format!("{}{difference}", symbol.entry.prefix);
            let word = if i == reading { &prefixed } else { &symbol.entry.symbol };
            write_symbol(&mut text, i, symbol, word);
        }
        text
    }
}

fn write_symbol(text: &mut String, place: usize, symbol: &Symbol, word: &str) {
    match (place, symbol.below) {
        (0, true) => text.push_str("1/"),
        (_, true) => text.push('/'),
        (0, false) => {}
        (_, false) => text.push('·'),
    }
    text.push_str(word);
    let power = symbol.power;
    // Writing to a string cannot fail.
    let _ = if power == WHOLE {
        Ok(())
    } else if power % WHOLE == 0 {
        write!(text, "^{}", power / WHOLE)
    } else {
        let shared = greatest_common_divisor(power.abs(), WHOLE);
        write!(text, "^({}/{})", power / shared, WHOLE / shared)
    };
}

fn raised(factor: f64, sixtieths: i16) -> f64 {
    if sixtieths % WHOLE == 0 {
        factor.powi(i32::from(sixtieths / WHOLE))
    } else {
        factor.powf(f64::from(sixtieths) / f64::from(WHOLE))
    }
}

fn greatest_common_divisor(a: i16, b: i16) -> i16 {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}

fn malformed(what: &'static str, range: Range<usize>) -> UnitError {
    UnitError::Malformed { what, range }
}

/// Whether a letter can stand inside a unit's symbol.
fn is_word(c: char) -> bool {
    c.is_ascii_alphanumeric()
        || matches!(c, '_' | '%' | '‰' | '°' | '℃' | '℉' | '$' | '€' | '£' | '¥')
        || (!c.is_ascii() && c.is_alphabetic())
}

/// The word that begins exactly here; it does not begin with a digit.
fn word_at(text: &str, at: usize) -> Option<Range<usize>> {
    let rest = &text[at..];
    let first = rest.chars().next()?;
    if first.is_ascii_digit() || !is_word(first) {
        return None;
    }
    Some(at..at + rest.find(|c| !is_word(c)).unwrap_or(rest.len()))
}

/// The unit of a word and its power in sixtieths; the power is written behind lengths and times
/// only: `m2`, `mm2`, `ft3`, `s2`.
fn known(word: &str) -> Option<(&'static Entry, i16)> {
    if let Some(entry) = lookup::unit(word) {
        return Some((entry, WHOLE));
    }
    let power = match word.as_bytes().last()? {
        b'2' => 2,
        b'3' => 3,
        b'4' => 4,
        _ => return None,
    };
    let entry = lookup::unit(&word[..word.len() - 1])?;
    let usual = [Dimension::LENGTH, Dimension::TIME].contains(&entry.row.dimension);
    usual.then_some((entry, power * WHOLE))
}

/// A power behind `^`: `2`, `-1`, `(1/2)`, `0.5`; in sixtieths, with its length.
fn written_power(text: &str) -> Option<(i16, usize)> {
    if let Some(inner) = text.strip_prefix('(') {
        let close = inner.find(')')?;
        let (over, under) = match inner[..close].split_once('/') {
            Some((over, under)) => (over, under.parse::<i16>().ok().filter(|n| *n > 0)?),
            None => (&inner[..close], 1),
        };
        let over: i16 = over.parse().ok().filter(|n: &i16| n.abs() <= LARGEST_POWER * WHOLE)?;
        let sixtieths = i32::from(over) * i32::from(WHOLE);
        if sixtieths % i32::from(under) != 0 {
            return None;
        }
        return usable(sixtieths / i32::from(under)).map(|power| (power, close + 2));
    }
    let digits = |from: usize| {
        let rest = &text[from..];
        from + rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len())
    };
    let start = usize::from(text.starts_with('-'));
    let mut end = digits(start);
    if end == start {
        return None;
    }
    if text[end..].starts_with('.') && digits(end + 1) > end + 1 {
        end = digits(end + 1);
    }
    let exact = text[..end].parse::<f64>().ok()? * f64::from(WHOLE);
    let fits = exact.fract() == 0.0 && exact.abs() <= f64::from(LARGEST_POWER * WHOLE);
    // A small whole number by the line above.
    #[allow(clippy::cast_possible_truncation)]
    let sixtieths = fits.then_some(exact as i32)?;
    usable(sixtieths).map(|power| (power, end))
}

/// A power in raised digits, `²`, `³`, `⁻¹`.
fn raised_power(text: &str) -> Option<(i16, usize)> {
    const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let after_sign = text.strip_prefix('⁻').unwrap_or(text);
    let sign = if after_sign.len() == text.len() { 1 } else { -1 };
    let digit = after_sign.chars().next()?;
    let value = i32::try_from(RAISED.iter().position(|raised| *raised == digit)?).ok()?;
    let length = text.len() - after_sign.len() + digit.len_utf8();
    usable(sign * value * i32::from(WHOLE)).map(|power| (power, length))
}

fn usable(sixtieths: i32) -> Option<i16> {
    let power = i16::try_from(sixtieths).ok()?;
    (power != 0 && power.abs() <= LARGEST_POWER * WHOLE).then_some(power)
}
