//! All subjects and their formulas, found by name, by a near name or by a word in their text.

use std::collections::HashMap;
use std::sync::LazyLock;

use crate::formula::{Formula, Subject};
use crate::{
    bands, batteries, belts, bills, cables, cash_flows, cavitation, conductors, cycling, dc_bus,
    draft_tube, duration, electrical, findings, fittings, hydrology, intake, inverters, level_pool,
    line, line_pressure, mechanics, money, operating, oval_pipes, part_full, pipe_sizes,
    pipe_strength, pipes, pond, pond_balance, pond_shape, priming, rack_upkeep, rating, record,
    runners, self_use, several_units, siphon, siphon_break, sound, streams, surge, transients,
    turbines, uncertainty, water, weirs, year,
};

/// Every subject, in the order water takes through a plant.
pub static SUBJECTS: &[&Subject] = &[
    &water::SUBJECT,
    &weirs::SUBJECT,
    &streams::SUBJECT,
    &part_full::SUBJECT,
    &hydrology::SUBJECT,
    &duration::SUBJECT,
    &rating::SUBJECT,
    &year::SUBJECT,
    &record::SUBJECT,
    &pond::SUBJECT,
    &pond_shape::SUBJECT,
    &pond_balance::SUBJECT,
    &level_pool::SUBJECT,
    &cycling::SUBJECT,
    &intake::SUBJECT,
    &rack_upkeep::SUBJECT,
    &pipes::SUBJECT,
    &pipe_sizes::SUBJECT,
    &fittings::SUBJECT,
    &line::SUBJECT,
    &line_pressure::SUBJECT,
    &surge::SUBJECT,
    &pipe_strength::SUBJECT,
    &oval_pipes::SUBJECT,
    &mechanics::SUBJECT,
    &siphon::SUBJECT,
    &priming::SUBJECT,
    &siphon_break::SUBJECT,
    &turbines::SUBJECT,
    &runners::SUBJECT,
    &draft_tube::SUBJECT,
    &operating::SUBJECT,
    &several_units::SUBJECT,
    &cavitation::SUBJECT,
    &bands::SUBJECT,
    &electrical::SUBJECT,
    &belts::SUBJECT,
    &dc_bus::SUBJECT,
    &inverters::SUBJECT,
    &transients::SUBJECT,
    &conductors::SUBJECT,
    &cables::SUBJECT,
    &batteries::SUBJECT,
    &money::SUBJECT,
    &cash_flows::SUBJECT,
    &bills::SUBJECT,
    &self_use::SUBJECT,
    &uncertainty::SUBJECT,
    &findings::SUBJECT,
    &sound::SUBJECT,
];

/// Names to formulas; built once.
static BY_NAME: LazyLock<HashMap<&'static str, &'static Formula>> =
    LazyLock::new(|| all().map(|formula| (formula.name, formula)).collect());

/// Every formula, subject by subject.
pub fn all() -> impl Iterator<Item = &'static Formula> {
    SUBJECTS.iter().flat_map(|subject| subject.formulas)
}

/// The formula of this name.
///
/// ```
/// assert!(forebay_formulas::find("friction_head").is_some());
/// assert!(forebay_formulas::find("friction_haed").is_none());
/// ```
#[must_use]
pub fn find(name: &str) -> Option<&'static Formula> {
    BY_NAME.get(name).copied()
}

/// The subject that a formula stands in.
#[must_use]
pub fn subject_of(name: &str) -> Option<&'static Subject> {
    SUBJECTS.iter().find(|s| s.formulas.iter().any(|f| f.name == name)).copied()
}

/// The name nearest to a misspelt one; nothing where none is near.
///
/// ```
/// assert_eq!(forebay_formulas::nearest("friction_haed"), Some("friction_head"));
/// assert_eq!(forebay_formulas::nearest("zzz"), None);
/// ```
#[must_use]
pub fn nearest(name: &str) -> Option<&'static str> {
    forebay_units::nearest(name, all().map(|formula| formula.name)).first().copied()
}

/// The formulas in whose name, summary or equation all words of the text appear, whatever their
/// case; those with a hit in the name come first.
#[must_use]
pub fn search(text: &str) -> Vec<&'static Formula> {
    let words: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
    if words.is_empty() {
        return Vec::new();
    }
    let in_all = |place: &str| words.iter().all(|word| place.contains(word.as_str()));
    let mut found: Vec<_> = all()
        .filter(|f| {
            let source = f.source.full().unwrap_or_default();
            let text = [f.name, f.summary, f.equation, f.source.work, source, f.source.place];
            in_all(&text.join(" ").to_lowercase())
        })
        .collect();
    found.sort_by_key(|f| !in_all(f.name));
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_stands_twice() {
        assert_eq!(BY_NAME.len(), all().count());
    }

    #[test]
    fn a_search_wants_all_words() {
        let names = |text| search(text).iter().map(|f| f.name).collect::<Vec<_>>();
        assert!(names("notch weir").contains(&"weir_v_notch_flow"));
        assert!(!names("notch pipe").contains(&"weir_v_notch_flow"));
        assert!(names("").is_empty());
    }
}
