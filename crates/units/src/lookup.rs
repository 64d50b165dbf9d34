//! From a written word to its unit: the table with all prefixes, and the nearest spellings.

use std::collections::HashMap;
use std::sync::LazyLock;

use crate::spelling::slips;
use crate::table::{self, AmbiguousWord, RefusedWord, Row};

/// What one spelling stands for.
#[derive(Debug)]
pub(crate) struct Entry {
    /// The canonical spelling, prefix and all.
    pub(crate) symbol: String,
    pub(crate) row: &'static Row,
    /// The factor with the prefix taken in.
    pub(crate) factor: f64,
    /// The prefix as written in canonical symbols.
    pub(crate) prefix: &'static str,
}

/// Why a word that looks like a unit is none.
pub(crate) enum Refusal {
    Ambiguous(&'static AmbiguousWord),
    Refused(&'static RefusedWord),
}

/// Whether the word, which is no unit, is known as one that is refused.
pub(crate) fn refused(word: &str) -> Option<Refusal> {
    let ambiguous = table::ambiguous_words().iter().find(|row| row.words.contains(&word));
    let refused = || table::refused_words().iter().find(|row| row.words.contains(&word));
    ambiguous.map(Refusal::Ambiguous).or_else(|| refused().map(Refusal::Refused))
}

/// The unit of this exact spelling.
pub(crate) fn unit(text: &str) -> Option<&'static Entry> {
    LOOKUP.get(text)
}

/// Up to three known spellings that are near to an unknown word, the nearest first.
pub(crate) fn nearest(word: &str) -> Vec<String> {
    const LONGEST: usize = 24;
    const MOST: usize = 3;
    if word.chars().count() > LONGEST {
        return Vec::new();
    }
    let lower = word.to_lowercase();
    let length = word.chars().count();
    // Slips, then how much longer or shorter, then the spelling.
    let mut found: Vec<(usize, usize, &str)> = Vec::new();
    for (spelling, entry) in LOOKUP.iter() {
        let distance = if is_name_of(&lower, entry) {
            0
        } else if spelling.len().abs_diff(lower.len()) > 4 {
            // In bytes, of which a letter has up to four: too far, known without looking closer.
            continue;
        } else {
            // In a short word a single slip changes everything.
            let most = if length < 3 { 0 } else { (length / 3).clamp(1, 2) };
            let distance = slips(&lower, &spelling.to_lowercase());
            if distance > most {
                continue;
            }
            distance
        };
        found.push((distance, spelling.chars().count().abs_diff(length), entry.symbol.as_str()));
    }
    for row in table::ambiguous_words() {
        if row.words.iter().any(|word| word.to_lowercase() == lower) {
            found.extend(row.choices.iter().map(|choice| (0, 0, *choice)));
        }
    }
    found.sort_unstable();
    // Where the word only differs by its capitals, or is the name, nothing else was meant.
    let surest = found.first().is_some_and(|(slips, ..)| *slips == 0);
    found.retain(|(slips, ..)| !surest || *slips == 0);
    let mut symbols: Vec<String> = Vec::new();
    for (_, _, symbol) in found {
        if symbols.len() < MOST && !symbols.iter().any(|known| known == symbol) {
            symbols.push(symbol.to_owned());
        }
    }
    symbols
}

/// Every spelling with its unit; built once.
static LOOKUP: LazyLock<HashMap<Box<str>, Entry>> = LazyLock::new(|| {
    let mut lookup = HashMap::new();
    for (spelling, entry) in spellings() {
        lookup.insert(spelling.into_boxed_str(), entry);
    }
    lookup
});

/// Every spelling that is read, prefixes included.
fn spellings() -> impl Iterator<Item = (String, Entry)> {
    table::catalogue().flat_map(|row| {
        let bare = PREFIXES.iter().filter(|p| p.letter == '\0').map(move |p| (p, row));
        let prefixed =
            PREFIXES.iter().filter(|p| row.prefixes.contains(p.letter)).map(move |p| (p, row));
        bare.chain(prefixed).flat_map(|(prefix, row)| {
            let words = std::iter::once(row.symbol).chain(row.spellings.iter().copied());
            words.flat_map(move |word| {
                prefix.spellings.iter().map(move |written| {
                    let entry = Entry {
                        symbol: format!("{}{}", prefix.spellings[0], row.symbol),
                        row,
                        factor: prefix.scale(row.factor),
                        prefix: prefix.spellings[0],
                    };
                    (format!("{written}{word}"), entry)
                })
            })
        })
    })
}

/// An SI prefix: 10 to the `power`. The first spelling is the canonical one.
struct Prefix {
    letter: char,
    spellings: &'static [&'static str],
    power: i32,
    name: &'static str,
}

impl Prefix {
    /// Multiplies or divides by an exact power of ten, so that the result is the nearest number.
    fn scale(&self, factor: f64) -> f64 {
        if self.power < 0 {
            factor / 10_f64.powi(-self.power)
        } else {
            factor * 10_f64.powi(self.power)
        }
    }
}

/// SI Brochure, 9th ed. (2019), table 7; `\0` stands for no prefix.
#[rustfmt::skip]
static PREFIXES: &[Prefix] = &[
    Prefix { letter: '\0', spellings: &[""], power: 0, name: "" },
    Prefix { letter: 'T', spellings: &["T"], power: 12, name: "tera" },
    Prefix { letter: 'G', spellings: &["G"], power: 9, name: "giga" },
    Prefix { letter: 'M', spellings: &["M"], power: 6, name: "mega" },
    Prefix { letter: 'k', spellings: &["k"], power: 3, name: "kilo" },
    Prefix { letter: 'h', spellings: &["h"], power: 2, name: "hecto" },
    Prefix { letter: 'd', spellings: &["d"], power: -1, name: "deci" },
    Prefix { letter: 'c', spellings: &["c"], power: -2, name: "centi" },
    Prefix { letter: 'm', spellings: &["m"], power: -3, name: "milli" },
    // The micro sign, the Greek letter (which looks the same), and the letter of plain keyboards.
    Prefix { letter: 'µ', spellings: &["\u{b5}", "\u{3bc}", "u"], power: -6, name: "micro" },
    Prefix { letter: 'n', spellings: &["n"], power: -9, name: "nano" },
    Prefix { letter: 'p', spellings: &["p"], power: -12, name: "pico" },
];

/// Whether the word spells the unit's name out, also in the American way and in the plural:
/// `kilowatts`, `meter`.
fn is_name_of(lower: &str, entry: &Entry) -> bool {
    let Some(prefix) = PREFIXES.iter().find(|p| p.spellings[0] == entry.prefix) else {
        return false;
    };
    let Some(rest) = lower.strip_prefix(prefix.name) else { return false };
    let name = entry.row.name;
    if rest.is_empty() || rest.as_bytes().first() != name.as_bytes().first() {
        return false;
    }
    let singular = rest.strip_suffix('s').unwrap_or(rest);
    let american =
        |word: &str| name.strip_suffix("re").is_some_and(|stem| word == format!("{stem}er"));
    rest == name || singular == name || american(rest) || american(singular)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_spelling_stands_for_two_units() {
        let mut seen: HashMap<String, String> = HashMap::new();
        for (spelling, entry) in spellings() {
            let symbol = entry.symbol.clone();
            if let Some(other) = seen.insert(spelling.clone(), symbol.clone()) {
                panic!("`{spelling}` is both {other} and {symbol}");
            }
        }
    }

    #[test]
    fn refused_words_are_no_units() {
        let ambiguous = table::ambiguous_words().iter().flat_map(|row| row.words);
        let refused = table::refused_words().iter().flat_map(|row| row.words);
        for word in ambiguous.chain(refused) {
            assert!(unit(word).is_none(), "`{word}` is refused and is a unit");
        }
    }

    #[test]
    fn near_words_are_proposed() {
        assert_eq!(nearest("KW"), ["kW"]);
        assert_eq!(nearest("kilowatts"), ["kW"]);
        assert_eq!(nearest("meter"), ["m"]);
        assert_eq!(nearest("psai")[0], "psia");
        assert!(nearest("quux").is_empty());
        assert!(nearest(&"m".repeat(10_000)).is_empty());
    }
}
