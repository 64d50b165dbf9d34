//! The list of units by what they measure, with every spelling and where the definition stands.

use forebay_units::{
    Currency, Dimension, Row, Unit, ambiguous_words, catalogue, format_significant, refused_words,
};

use crate::formats::Options;
use crate::page::Page;

/// All units by dimension, or those in whose spelling, name or dimension a word appears; the
/// words that are refused are explained. Empty where nothing is found.
#[must_use]
pub fn units_listing(word: Option<&str>, options: &Options) -> String {
    let mut page = Page::new(options);
    let wanted = word.map(|word| word.trim().to_lowercase());
    let mut groups: Vec<(Dimension, Vec<&Row>)> = Vec::new();
    let mut currencies = Vec::new();
    for row in catalogue() {
        if !wanted.as_deref().is_none_or(|wanted| row_is_about(row, wanted)) {
            continue;
        }
        if row.currency.is_some() {
            currencies.push(row);
            continue;
        }
        match groups.iter_mut().find(|(dimension, _)| *dimension == row.dimension) {
            Some((_, rows)) => rows.push(row),
            None => groups.push((row.dimension, vec![row])),
        }
    }
    // Case matters in units, and prefixes and joined units have no row of their own.
    if let Some((word, unit)) = word.and_then(|word| Some((word, Unit::parse(word).ok()?))) {
        page.line(0, &format!("`{word}` is read: {}", unit_words(&unit)));
    }
    for (dimension, rows) in &groups {
        page.heading(&format!("{dimension} ({})", dimension.in_base_units()));
        for row in rows {
            one(&mut page, row);
        }
    }
    money(&mut page, &currencies, wanted.is_none());
    refused(&mut page, wanted.as_deref());
    if wanted.is_none() {
        page.gap();
        page.paragraph(
            0,
            "Units are combined with / * and ^: kW*h, m^3/s, EUR/kWh. Prefixes are those of SI, \
             where a unit takes them; u is read as µ.",
        );
    }
    page.finish()
}

/// What a unit measures and how large it is: `pressure difference; 1 psi is 6894.757 kg/m/s^2`.
fn unit_words(unit: &Unit) -> String {
    let dimension = unit.dimension();
    let symbol = unit.symbol();
    let base = dimension.in_base_units();
    let base = if base == "1" { String::new() } else { format!(" {base}") };
    let one = format_significant(unit.to_si(1.0), 7).unwrap_or_default();
    let one = if one.contains(['.']) && !one.contains('e') {
        one.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        one
    };
    format!("{dimension}; 1 {symbol} is {one}{base}")
}

fn row_is_about(row: &Row, wanted: &str) -> bool {
    // The letters within a currency's code say nothing about it.
    if row.currency.is_some() {
        let mut words = row.name.split(' ').chain([row.symbol, "money"]);
        return words.any(|word| word.to_lowercase() == wanted);
    }
    let has = |text: &str| text.to_lowercase().contains(wanted);
    has(row.symbol)
        || has(row.name)
        || row.spellings.iter().any(|spelling| has(spelling))
        || has(&row.dimension.to_string())
}

fn one(page: &mut Page, row: &Row) {
    let mut words = row.name.to_owned();
    if !row.spellings.is_empty() {
        words = format!("{words}; also {}", row.spellings.join(", "));
    }
    if !row.prefixes.is_empty() {
        let letters: Vec<String> = row.prefixes.chars().map(String::from).collect();
        words = format!("{words}; takes {}", letters.join(" "));
    }
    if let Some(difference) = row.difference {
        words = format!("{words}; a reading, its differences are in {difference}");
    }
    page.hanging(2, row.symbol, 18, &format!("{words} [{}]", row.source));
}

/// Currencies: one line for all in the whole list, one each where they were searched for.
fn money(page: &mut Page, rows: &[&Row], in_short: bool) {
    if rows.is_empty() {
        return;
    }
    page.heading("money");
    if in_short {
        let codes: Vec<&str> = rows.iter().map(|row| row.symbol).collect();
        page.hanging(2, "ISO 4217", 18, &codes.join(" "));
        return;
    }
    for row in rows {
        let places = row.currency.map_or(0, Currency::minor_units);
        page.hanging(
            2,
            row.symbol,
            18,
            &format!("{}, {places} decimals [{}]", row.name, row.source),
        );
    }
}

/// The words that no unit may be called by, with the way out.
fn refused(page: &mut Page, wanted: Option<&str>) {
    let about = |words: &[&str]| {
        wanted.is_none_or(|wanted| words.iter().any(|word| word.to_lowercase() == wanted))
    };
    let ambiguous = ambiguous_words()
        .iter()
        .map(|row| (row.words, format!("several units; write {}", row.choices.join(", "))));
    let none = refused_words().iter().map(|row| (row.words, row.why.to_owned()));
    let lines: Vec<_> = ambiguous.chain(none).filter(|(words, _)| about(words)).collect();
    if lines.is_empty() {
        return;
    }
    page.heading("words that are refused, because no unit is guessed");
    for (words, why) in lines {
        page.hanging(2, &words.join(", "), 18, &why);
    }
}
