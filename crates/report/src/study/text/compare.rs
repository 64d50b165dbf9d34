//! Sheets side by side, for reading.

use forebay_sheet::{CellKind, Verdict};
use forebay_study::{Compared, Entry, Line};
use forebay_units::{Unit, format_in};

use crate::formats::Options;
use crate::page::Page;
use crate::study::table::Table;

/// What differs, known and worked out, with differences; checks whose verdict changes.
#[must_use]
pub fn compare_text(compared: &Compared, options: &Options) -> String {
    let mut page = Page::new(options);
    let known = |line: &&Line| line.kind == CellKind::Known;
    section(&mut page, "Known", compared, compared.lines.iter().filter(known).collect());
    let rest: Vec<&Line> = compared.lines.iter().filter(|line| !known(line)).collect();
    section(&mut page, "Worked out", compared, rest);
    if !compared.checks.is_empty() {
        page.heading("Checks");
        let mut table = Table { fixed: 1, ..Table::default() };
        table.heads = heads(compared);
        for check in &compared.checks {
            let mut row = vec![format!("{} ({})", check.name, check.level.word())];
            row.extend(check.verdicts.iter().map(|verdict| {
                verdict
                    .map_or("not there", |verdict| match verdict {
                        Verdict::Holds => "holds",
                        Verdict::Fails => "FAILS",
                        Verdict::Unknown => "unknown",
                    })
                    .to_owned()
            }));
            table.rows.push(row);
            table.remarks.push(String::new());
        }
        table.put(&mut page);
    }
    page.gap();
    if compared.lines.is_empty() && compared.checks.is_empty() {
        page.line(0, "nothing differs");
    } else {
        let (values, checks) = (compared.lines.len(), compared.checks.len());
        let (same, same_checks) = (compared.same, compared.same_checks);
        page.line(0, &format!("values: {values} differ, {same} the same"));
        page.line(0, &format!("checks: {checks} differ, {same_checks} the same"));
    }
    page.finish()
}

fn heads(compared: &Compared) -> Vec<(String, String)> {
    let labels = compared.labels.iter().map(|label| (label.clone(), String::new()));
    std::iter::once((String::new(), String::new())).chain(labels).collect()
}

fn section(page: &mut Page, heading: &str, compared: &Compared, lines: Vec<&Line>) {
    if lines.is_empty() {
        return;
    }
    page.heading(heading);
    let others = compared.labels.iter().skip(1);
    let mut table = Table { fixed: 1, heads: heads(compared), ..Table::default() };
    let only_two = compared.labels.len() == 2;
    for other in others {
        let of = if only_two { String::new() } else { other.clone() };
        table.heads.push(("difference".to_owned(), of.clone()));
        table.heads.push(("in %".to_owned(), of));
    }
    // What is too long for a column is told under the table.
    let mut long = Vec::new();
    for line in lines {
        let mut row = vec![line.name.clone()];
        for (entry, label) in line.entries.iter().zip(&compared.labels) {
            row.push(match entry {
                None => "not there".to_owned(),
                Some(entry) if entry.shown.chars().count() > WIDEST => {
                    long.push(format!("{} in {label}: {}", line.name, entry.shown));
                    if entry.value.is_none() { "no value" } else { "see below" }.to_owned()
                }
                Some(entry) => entry.shown.clone(),
            });
        }
        for entry in line.entries.iter().skip(1) {
            row.extend(difference(line, entry.as_ref()));
        }
        table.rows.push(row);
        table.remarks.push(String::new());
    }
    table.put(page);
    if !long.is_empty() {
        page.gap();
    }
    for text in long {
        page.line(2, &text);
    }
}

/// A value wider than this does not stand in a column.
const WIDEST: usize = 20;

fn difference(line: &Line, entry: Option<&Entry>) -> [String; 2] {
    let Some(change) = entry.and_then(|entry| entry.difference) else {
        return [String::new(), String::new()];
    };
    let sign = if change > 0.0 { "+" } else { "" };
    let shown = match &line.unit {
        Some(unit) if unit.symbol() == "%" => {
            format_in(change, unit, 4).unwrap_or_default().replace('%', "points")
        }
        Some(unit) => format_in(change, unit, 4).unwrap_or_default(),
        None => format_in(change, &Unit::ONE, 4).unwrap_or_default(),
    };
    let share = entry.and_then(|entry| entry.share);
    let share = share.map_or_else(String::new, |share| format!("{sign}{:.1}", 100.0 * share));
    [format!("{sign}{shown}"), share]
}
