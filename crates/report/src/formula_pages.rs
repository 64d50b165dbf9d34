//! The list of formulas, and a page for one: everything that its entry in the library says.

use forebay_formulas::{
    Check, Formula, Kind, Parameter, Range, SUBJECTS, Standing, search, subject_of,
};
use forebay_sheet::{Sheet, Word, language};
use forebay_units::{Currency, Dimension, System, Unit, display_unit, number_and_unit, shortest};

use crate::formats::Options;
use crate::page::Page;
use crate::working::source_words;

/// Every formula by subject, then the functions of the language; with a search word only those in
/// which it appears. Empty where nothing is found.
#[must_use]
pub fn formulas_listing(word: Option<&str>, options: &Options) -> String {
    let found = word.map(search);
    let wanted = |formula: &Formula| match &found {
        None => true,
        Some(found) => found.iter().any(|f| f.name == formula.name),
    };
    let mut page = Page::new(options);
    for subject in SUBJECTS {
        let formulas: Vec<&Formula> = subject.formulas.iter().filter(|f| wanted(f)).collect();
        if formulas.is_empty() {
            continue;
        }
        page.heading(subject.name);
        if word.is_none() {
            page.paragraph(2, subject.about);
        }
        entries(&mut page, formulas.iter().map(|f| (f.name, f.summary)));
    }
    let words: Vec<Word> =
        language().filter(|w| word.is_none_or(|text| is_about(w, text))).collect();
    if !words.is_empty() {
        page.heading("the language itself");
        entries(&mut page, words.iter().map(|w| (w.name, w.about)));
    }
    if !page.is_empty() {
        page.gap();
        page.line(0, "`forebay formulas NAME` shows equation, limits and source of one.");
    }
    page.finish()
}

/// One formula: what it gives, equation, parameters with their limits, result, source, caution,
/// and an example with the value that its source prints.
#[must_use]
pub fn formula_page(formula: &Formula, options: &Options) -> String {
    let mut page = Page::new(options);
    page.title(formula.name);
    page.paragraph(0, formula.summary);
    page.gap();
    page.line(2, formula.equation);
    if !formula.parameters.is_empty() {
        page.heading("Takes");
        for parameter in formula.parameters {
            page.hanging(2, parameter.name, 24, &parameter_words(parameter));
            page.paragraph(24, parameter.about);
        }
    }
    page.heading("Gives");
    let units = match formula.result.shown_in {
        ("", _) => String::new(),
        (si, us) if us.is_empty() || si == us => format!(", read in {si}"),
        (si, us) => format!(", read in {si} or {us}"),
    };
    if formula.result.words.is_empty() {
        let series = if formula.result.series { "series of " } else { "" };
        page.line(2, &format!("{series}{}{units}", formula.result.dimension));
    } else {
        page.paragraph(2, &format!("one of \"{}\"", formula.result.words.join("\", \"")));
    }
    let limits: Vec<&str> = formula.limits.iter().map(|limit| limit.says).collect();
    if !limits.is_empty() {
        page.heading("Vouched for where");
        for limit in limits {
            page.line(2, limit);
        }
    }
    if let Some(hides) = formula.hides.filter(|hides| *hides != "the radian") {
        page.heading("Units in its constants");
        page.paragraph(2, hides);
    }
    if let Some(caution) = formula.caution {
        page.heading("Caution");
        page.paragraph(2, caution);
    }
    page.heading("Source");
    page.paragraph(2, &source_words(&formula.source));
    if let Some(check) = formula.checks.first() {
        page.heading("Example");
        let (call, currency) = example(formula, check);
        page.line(2, &call);
        let expected = worked(&call, currency, check)
            .map_or(String::new(), |shown| format!("gives {shown}; "));
        page.paragraph(2, &format!("{expected}printed: {}", check.expected));
        page.paragraph(2, &format!("({})", check.source));
    }
    if let Some(subject) = subject_of(formula.name) {
        page.gap();
        page.line(
            0,
            &format!("Subject: {} ({})", subject.name, subject.about.trim_end_matches('.')),
        );
    }
    page.finish()
}

/// A function of the language itself.
#[must_use]
pub fn word_page(word: &Word, options: &Options) -> String {
    let mut page = Page::new(options);
    page.title(&format!("{}({})", word.name, word.parameters.join(", ")));
    page.paragraph(0, word.about);
    page.gap();
    page.line(0, "A function of the worksheet language itself.");
    page.finish()
}

/// A check value of a formula as a worksheet calls it, and the currency that the sheet needs.
#[must_use]
pub fn example(formula: &Formula, check: &Check) -> (String, Option<Currency>) {
    let mut currency = None;
    let arguments: Vec<String> = check
        .arguments
        .iter()
        .map(|(name, text)| {
            let kind = formula.parameters.iter().find(|p| p.name == *name).map(|p| p.kind);
            currency = currency.or_else(|| text.split([' ', '/']).find_map(Currency::by_code));
            match kind {
                Some(Kind::Choice(_)) => format!("{name} = \"{text}\""),
                Some(Kind::Series(_)) => format!("{name} = {}", series(text)),
                Some(Kind::Texts) => format!("{name} = [{}]", quoted(text)),
                // A unit that begins with 1 is none in a formula, where `0.06 1` are two values.
                _ => match text.split_once(" 1/") {
                    Some((number, unit)) => format!("{name} = {number} {unit}^-1"),
                    None => format!("{name} = {text}"),
                },
            }
        })
        .collect();
    // A constant is written without brackets.
    let call = if formula.parameters.is_empty() {
        formula.name.to_owned()
    } else {
        format!("{}({})", formula.name, arguments.join(", "))
    };
    (call, currency)
}

/// Texts of a check, which stand with `;` between them, as a worksheet writes them.
fn quoted(texts: &str) -> String {
    let quoted: Vec<String> = texts.split(';').map(|text| format!("\"{}\"", text.trim())).collect();
    quoted.join(", ")
}

/// How a formula or a value is known to us, in words.
pub(crate) fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Exact => "follows by arithmetic from a definition or a law",
        Standing::Read => "seen in print",
        Standing::Library => "taken from a reference library",
        Standing::Memory => "from memory, not yet confirmed in print",
        Standing::CommonPractice => "common practice, no source",
    }
}

/// What a formula's source vouches for, each in words.
pub(crate) fn limits_of(formula: &Formula) -> Vec<String> {
    let of_parameters = formula.parameters.iter().filter_map(|parameter| {
        let words = range_words(&parameter.valid, parameter.kind)?;
        Some(format!("{} {words}", parameter.name))
    });
    of_parameters.chain(formula.limits.iter().map(|limit| limit.says.to_owned())).collect()
}

fn entries<'a>(page: &mut Page, entries: impl Iterator<Item = (&'a str, &'a str)>) {
    for (name, about) in entries {
        page.hanging(2, name, 34, about);
    }
}

fn is_about(word: &Word, text: &str) -> bool {
    let place = format!("{} {}", word.name, word.about).to_lowercase();
    text.to_lowercase().split_whitespace().all(|part| place.contains(part))
}

fn parameter_words(parameter: &Parameter) -> String {
    let mut words = parameter.kind.to_string();
    if let Some(default) = parameter.default {
        let default = match parameter.kind {
            Kind::Choice(choices) => choices
                .iter()
                .zip(0_u16..)
                .find(|(_, at)| f64::from(*at) == default)
                .map_or_else(String::new, |(word, _)| format!("\"{word}\"")),
            kind => quantity(default, &unit_for(kind, default)),
        };
        words = format!("{words}; {default} unless given");
    }
    if let Some(must) = range_words(&parameter.must, parameter.kind) {
        words = format!("{words}; must be {must}");
    }
    if let Some(valid) = range_words(&parameter.valid, parameter.kind) {
        words = format!("{words}; vouched for {valid}");
    }
    words
}

/// A range in words, `from 0.01 degC to 40 degC`; nothing where every value lies inside.
fn range_words(range: &Range, kind: Kind) -> Option<String> {
    if matches!(kind, Kind::Choice(_)) {
        return None;
    }
    let larger = if range.to.is_finite() { range.to } else { range.from };
    let unit = unit_for(kind, larger);
    let shown = |si| quantity(si, &unit);
    let above = if range.above { "more than " } else { "" };
    match (range.from.is_finite(), range.to.is_finite()) {
        (false, false) => None,
        (true, false) if range.above => Some(format!("more than {}", shown(range.from))),
        (true, false) => Some(format!("{} or more", shown(range.from))),
        (false, true) => Some(format!("{} or less", shown(range.to))),
        (true, true) if range.from == range.to => Some(shown(range.to)),
        (true, true) => Some(format!("{above}{} to {}", shown(range.from), shown(range.to))),
    }
}

fn unit_for(kind: Kind, si: f64) -> Unit {
    match kind {
        Kind::Quantity(dimension) | Kind::Yearly(dimension) | Kind::Series(dimension) => {
            display_unit(dimension, si, System::Si, None)
        }
        Kind::Years | Kind::Choice(_) | Kind::Texts | Kind::Row => Unit::ONE,
    }
}

/// A limit as it was written into the table: the trace of the way through SI is rounded off.
fn quantity(si: f64, unit: &Unit) -> String {
    let value = unit.from_si(si);
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    // Next to a large zero, as of degrees Celsius, the trace is larger.
    let rounded = if unit.offset() != 0.0 { (rounded * 1e6).round() / 1e6 } else { rounded };
    let number = if rounded.abs() >= 1e6 && rounded % 1e5 == 0.0 {
        format!("{rounded:e}")
    } else {
        shortest(rounded).unwrap_or_default()
    };
    // Zero is zero in every unit of a scale that begins there.
    if *unit == Unit::ONE || (si == 0.0 && unit.dimension() != Dimension::TEMPERATURE) {
        number
    } else {
        format!("{number} {}", unit.symbol())
    }
}

/// `[3, 4] m` as `[3 m, 4 m]`, which a worksheet reads.
fn series(text: &str) -> String {
    let Some((values, unit)) = text.strip_prefix('[').and_then(|rest| rest.split_once(']')) else {
        return text.to_owned();
    };
    let items: Vec<String> =
        values.split(',').map(|value| format!("{} {}", value.trim(), unit.trim())).collect();
    let items: Vec<&str> = items.iter().map(|item| item.trim()).collect();
    format!("[{}]", items.join(", "))
}

/// What the example gives here, in the unit of the printed value.
fn worked(call: &str, currency: Option<Currency>, check: &Check) -> Option<String> {
    let currency = currency.map_or(String::new(), |c| format!("currency: {}\n", c.code()));
    let mut sheet = Sheet::open(&format!("forebay: 1\n{currency}"));
    let answer = sheet.eval(call).ok()?;
    let unit = number_and_unit(check.expected).ok().map(|(_, unit)| unit);
    answer.shown(unit.as_ref().filter(|unit| **unit != Unit::ONE)).ok()
}

#[cfg(test)]
mod tests {
    use forebay_formulas::all;
    use forebay_sheet::{Items, Value};

    use super::*;

    #[test]
    fn every_printed_value_is_reached_by_the_example_as_a_worksheet_calls_it() {
        for formula in all() {
            for check in formula.checks {
                let (call, currency) = example(formula, check);
                let head = currency.map_or(String::new(), |c| format!("currency: {}\n", c.code()));
                let mut sheet = Sheet::open(&format!("forebay: 1\n{head}"));
                let answer = sheet.eval(&call).unwrap_or_else(|why| panic!("{call}: {why:?}"));
                let Some(expected) = numbers(check.expected) else {
                    // A word.
                    assert_eq!(answer.shown(None).unwrap(), check.expected, "{call}");
                    continue;
                };
                let found = match &answer.value {
                    Value::Series(series) => match &series.items {
                        Items::Numbers(items) => items.clone(),
                        Items::Values(items) => {
                            items.iter().map(|i| i.as_ref().unwrap().as_number().unwrap()).collect()
                        }
                    },
                    value => vec![value.as_number().unwrap()],
                };
                assert_eq!(found.len(), expected.len(), "{call}");
                for (found, expected) in found.iter().zip(expected) {
                    // A temperature's tolerance counts from the true zero, as the library's own test.
                    let off = (found - expected).abs();
                    assert!(
                        off <= check.tolerance * expected.abs() + f64::MIN_POSITIVE,
                        "{call} gives {found}, printed {expected}"
                    );
                }
            }
        }
    }

    /// The printed value, or those of `[3, 4] m`, in coherent SI; nothing for a word.
    fn numbers(text: &str) -> Option<Vec<f64>> {
        let in_si = |(number, unit): (f64, Unit)| unit.to_si(number);
        let Some((items, unit)) = text.strip_prefix('[').and_then(|rest| rest.split_once(']'))
        else {
            return number_and_unit(text).ok().map(|found| vec![in_si(found)]);
        };
        let item = |item: &str| number_and_unit(format!("{item} {unit}").trim()).ok().map(in_si);
        items.split(',').map(item).collect()
    }

    #[test]
    fn every_formula_has_a_page_with_its_source_and_example() {
        for formula in all() {
            let page = formula_page(formula, &Options::default());
            assert!(page.contains("Source\n"), "{page}");
            assert_eq!(page.contains("gives "), !formula.checks.is_empty(), "{page}");
            for line in page.lines() {
                assert!(line.chars().count() <= 80, "{line}");
            }
        }
    }

    #[test]
    fn ranges_read_as_they_were_written() {
        let degrees = Kind::Quantity(Dimension::TEMPERATURE);
        let words = |range, kind| range_words(&range, kind).unwrap_or_default();
        assert_eq!(words(Range::between(273.16, 313.15), degrees), "0.01 degC to 40 degC");
        assert_eq!(words(Range::POSITIVE, Kind::Quantity(Dimension::LENGTH)), "more than 0");
        assert_eq!(words(Range::ANY, Kind::Years), "");
    }
}
