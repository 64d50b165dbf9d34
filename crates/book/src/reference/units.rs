//! Every unit, by what it measures.

use forebay_units::{Dimension, Row, ambiguous_words, catalogue, refused_words};

use super::Page;
use crate::markdown::{code, escaped, table};

pub(super) fn page() -> Page {
    let mut groups: Vec<(Dimension, Vec<&Row>)> = Vec::new();
    let mut currencies = Vec::new();
    for row in catalogue() {
        if row.currency.is_some() {
            currencies.push(code(row.symbol));
            continue;
        }
        match groups.iter_mut().find(|(dimension, _)| *dimension == row.dimension) {
            Some((_, rows)) => rows.push(row),
            None => groups.push((row.dimension, vec![row])),
        }
    }
    let mut text = "A unit stands behind its number, with a space between: `3.2 m`, `40 L/s`, \
         `0.31 EUR/kWh`. Units are joined with `/`, `*` and `^`: `kW*h`, `m^3/s`. Where a unit \
         takes prefixes, those of SI that are listed may stand before it; `u` is read as `µ`. \
         Capital and small letters differ: `MW` is a million watts and `mW` a thousandth of one.\n\n\
         `forebay units WORD` finds a unit, and says how large it is.\n"
        .to_owned();
    for (dimension, rows) in groups {
        let base = dimension.in_base_units();
        text.push_str(&format!("\n## {}\n\n", escaped(&dimension.to_string())));
        if base != "1" {
            text.push_str(&format!("In base units: {}.\n\n", code(&base)));
        }
        text.push_str(&table(
            &["unit", "name", "also written", "prefixes", "defined in"],
            rows.into_iter().map(cells),
        ));
    }
    text.push_str("\n## Money\n\nThe codes of ISO 4217. A sheet has one currency.\n\n");
    text.push_str(&format!("{}\n", currencies.join(" ")));
    text.push_str(
        "\n## Words that are refused\n\nNo unit is guessed. These words stand for more than one, \
         or for none of a fixed size.\n\n",
    );
    let ambiguous = ambiguous_words().iter().map(|row| {
        let choices: Vec<String> = row.choices.iter().map(|choice| code(choice)).collect();
        vec![listed(row.words), format!("several units: write {}", choices.join(" or "))]
    });
    let none = refused_words().iter().map(|row| vec![listed(row.words), escaped(row.why)]);
    text.push_str(&table(&["word", "why, and what to write"], ambiguous.chain(none)));
    super::page("units", "Every unit", &text)
}

fn cells(row: &Row) -> Vec<String> {
    let difference = row.difference.map_or(String::new(), |unit| {
        format!("; a reading: its differences are in {}", code(unit))
    });
    let prefixes: Vec<String> = row.prefixes.chars().map(String::from).collect();
    vec![
        code(row.symbol),
        format!("{}{difference}", escaped(row.name)),
        listed(row.spellings),
        prefixes.join(" "),
        escaped(row.source),
    ]
}

fn listed(words: &[&str]) -> String {
    let words: Vec<String> = words.iter().map(|word| code(word)).collect();
    words.join(", ")
}
