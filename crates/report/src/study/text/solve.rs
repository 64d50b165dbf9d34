//! What solving an equation gave, for reading.

use forebay_sheet::{Style, Value};
use forebay_study::Solved;
use forebay_units::{Unit, format_in};

use crate::formats::Options;
use crate::page::Page;

/// Digits of a value that was solved for: enough to set it and meet the equation.
const DIGITS: usize = 6;

/// Every solution with the checks that fail there, or why there is none.
#[must_use]
pub fn solve_text(solved: &Solved, style: Style, options: &Options) -> String {
    let mut page = Page::new(options);
    let shown = |si: f64| value(solved, style, si);
    let (low, high) = solved.between;
    page.line(
        0,
        &format!(
            "{} so that {}, from {} to {}",
            solved.known.name,
            solved.so,
            shown(low),
            shown(high)
        ),
    );
    page.gap();
    for found in &solved.found {
        let failing: Vec<String> = found
            .failing
            .iter()
            .filter_map(|at| solved.checks.get(*at))
            .map(|check| format!("{} ({})", check.name, check.level.word()))
            .collect();
        let remark = if failing.is_empty() {
            String::new()
        } else {
            format!("fails: {}", failing.join(", "))
        };
        page.aligned(2, &format!("{} = {}", solved.known.name, shown(found.si)), &remark);
    }
    if !solved.found.is_empty() {
        page.gap();
    }
    page.line(
        0,
        &match solved.found.len() {
            0 => "no solution between the bounds".to_owned(),
            1 => "one solution between the bounds".to_owned(),
            n => format!("{n} solutions between the bounds"),
        },
    );
    for (end, si) in solved.ends.iter().zip([low, high]) {
        if let (Some((left, right)), true) = (end, solved.found.is_empty()) {
            page.line(2, &format!("at {}: left {left}, right {right}", shown(si)));
        }
    }
    for jump in &solved.jumps {
        page.line(0, &format!("the sides jump past one another at {}: no solution", shown(*jump)));
    }
    for (from, to) in &solved.without_value {
        page.line(0, &format!("no value from {} to {}", shown(*from), shown(*to)));
    }
    if let (Some(why), false) = (&solved.why, solved.without_value.is_empty()) {
        page.line(2, why);
    }
    if !solved.complete {
        page.gap();
        page.line(0, "partial: the search was stopped; there may be more");
    }
    page.finish()
}

fn value(solved: &Solved, style: Style, si: f64) -> String {
    let column = &solved.known;
    let unit = column.unit.as_ref().unwrap_or(&Unit::ONE);
    if column.ty.scalar().is_money() {
        let amount = forebay_units::money::from_number(si).map_or(Value::Number(si), Value::Money);
        return style.value(&amount, column.ty, None);
    }
    format_in(si, unit, DIGITS).unwrap_or_else(|| "no value".to_owned())
}
