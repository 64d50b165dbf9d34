//! What results may be, for reading: the first-order budget, the samples, the chances of checks.

use forebay_sheet::worksheet::Distribution;
use forebay_sheet::{Style, Tied, Value};
use forebay_study::{Budget, Column, Samples, Uncertain};
use forebay_units::{Rounding, format_in, money, shortest};

use super::partial;
use crate::formats::Options;
use crate::page::{Page, Row};
use crate::study::difference_unit;
use crate::study::table::Table;

/// First order and samples differ by more than this share where the sheet bends.
const BENDS: f64 = 0.1;

/// Digits of an uncertainty: it is not known better (JCGM 100:2008, 7.2.6, says at most two; one
/// more lets shares be added up).
const DIGITS: usize = 3;

/// Everything that `forebay spread` shows; ties in the order of the sheet.
#[must_use]
pub fn spread_text(
    title: Option<&str>,
    knowns: &[Uncertain],
    ties: &[Tied],
    budgets: &[Budget],
    samples: &Samples,
    style: Style,
    options: &Options,
) -> String {
    let mut page = Page::new(options);
    if let Some(title) = title {
        page.title(title);
    }
    page.heading(match ties {
        [] => "Uncertain, and taken as independent of one another",
        _ => "Uncertain, and taken as independent but for what is tied",
    });
    let rows: Vec<Row> = knowns
        .iter()
        .map(|known| {
            let column =
                Column { name: known.known.clone(), ty: known.ty, unit: known.unit.clone() };
            Row {
                name: known.known.clone(),
                value: number(known.si, &column, style),
                tolerance: format!("± {}", known.written),
                remark: remark(known),
                ..Row::default()
            }
        })
        .collect();
    page.rows(2, &rows);
    tied(&mut page, knowns, ties);
    page.heading("To first order (JCGM 100): one standard uncertainty");
    for budget in budgets {
        budget_of(&mut page, budget, samples.coverage, style);
    }
    let (drawn, seed) = (samples.drawn, samples.seed);
    page.heading(&format!("By {drawn} samples (JCGM 101), seed {seed}"));
    table(samples, style).put(&mut page);
    for (budget, sampled) in budgets.iter().zip(&samples.results) {
        let name = &sampled.cell.name;
        if sampled.without > 0 {
            page.line(2, &format!("{name} has no value in {} of {drawn} samples", sampled.without));
        }
        let (Some(first), Some(figures)) = (budget.uncertainty, sampled.figures) else { continue };
        match widening(budget, knowns, ties) {
            None => page.line(
                2,
                &format!(
                    "{name}: with 2 degrees of freedom or fewer a deviation has no end: take the \
                     quantiles"
                ),
            ),
            Some(wider) if (figures.deviation - wider * first).abs() > BENDS * wider * first => {
                let text = "first order and samples differ, because the sheet is bent over this \
                            range: take the samples";
                page.line(2, &format!("{name}: {text}"));
            }
            Some(_) => {}
        }
    }
    chances(&mut page, samples);
    partial(&mut page, samples.drawn, samples.wanted, "samples");
    page.finish()
}

fn remark(known: &Uncertain) -> String {
    let word = word(known.spread.distribution);
    match known.spread.degrees_of_freedom {
        Some(1.0) => format!("{word}, 1 degree of freedom"),
        Some(degrees) => format!("{word}, {} degrees of freedom", plain_number(degrees)),
        None => word.to_owned(),
    }
}

/// What is tied, and what that means for the samples.
fn tied(page: &mut Page, knowns: &[Uncertain], ties: &[Tied]) {
    for tie in ties {
        let names = match tie.knowns.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
            _ => tie.knowns.join(""),
        };
        let coefficient = plain_number(tie.correlation);
        page.line(2, &format!("{} ties {names}: correlation {coefficient}", tie.name));
    }
    if knowns.iter().any(|known| drawn_as_student(known, ties).is_some()) {
        page.line(
            2,
            "normal with degrees of freedom: samples are drawn from the t-distribution, which is \
             wider",
        );
    }
    let normal = |known: &&Uncertain| known.spread.distribution == Distribution::Normal;
    let mut degrees = knowns.iter().filter(normal);
    if degrees.any(|known| {
        known.spread.degrees_of_freedom.is_some() && drawn_as_student(known, ties).is_none()
    }) {
        page.line(
            2,
            "tied with degrees of freedom: samples are drawn as normal; the degrees count in the \
             first order only",
        );
    }
}

/// By how much the samples of a straight sheet are wider than the first order: Student's
/// t-distribution has ν/(ν − 2) times the variance (JCGM 101:2008, 6.4.9.3); `None` where that has
/// no end.
fn widening(budget: &Budget, knowns: &[Uncertain], ties: &[Tied]) -> Option<f64> {
    let mut variance = 1.0;
    for (known, share) in knowns.iter().zip(&budget.shares) {
        let share = share.share.unwrap_or(0.0);
        if let Some(degrees) = drawn_as_student(known, ties).filter(|_| share > 0.0) {
            if degrees <= 2.0 {
                return None;
            }
            variance += share * 2.0 / (degrees - 2.0);
        }
    }
    Some(variance.sqrt())
}

/// The degrees of freedom of a known that samples are drawn from Student's t-distribution for.
fn drawn_as_student(known: &Uncertain, ties: &[Tied]) -> Option<f64> {
    let tied = ties.iter().any(|tie| tie.knowns.contains(&known.known));
    let normal = known.spread.distribution == Distribution::Normal;
    known.spread.degrees_of_freedom.filter(|_| normal && !tied)
}

fn plain_number(number: f64) -> String {
    shortest(number).unwrap_or_default()
}

fn word(distribution: Distribution) -> &'static str {
    match distribution {
        Distribution::Normal => "standard uncertainty (normal)",
        Distribution::Rectangular => "half-width (rectangular)",
        Distribution::Triangular => "half-width (triangular)",
    }
}

fn budget_of(page: &mut Page, budget: &Budget, coverage: f64, style: Style) {
    let cell = &budget.cell;
    let value = match &budget.value {
        Ok(si) => number(*si, cell, style),
        Err(why) => {
            page.line(2, &format!("{} has no value: {why}", cell.name));
            return;
        }
    };
    match budget.uncertainty {
        Some(uncertainty) => {
            let shown = difference(uncertainty, cell, style);
            page.line(2, &format!("{}: {value} ± {shown}", cell.name));
            if let Some(expanded) = budget.expanded(coverage).filter(|_| uncertainty > 0.0) {
                let half = difference(expanded.half_width, cell, style);
                let share = percent(coverage);
                let factor = expanded.factor;
                let why = match expanded.degrees_of_freedom {
                    Some(degrees) => format!(
                        "t-factor {factor:.2} for {degrees} effective degree{} of freedom",
                        if degrees == 1 { "" } else { "s" }
                    ),
                    None => format!("factor {factor:.2} of the normal distribution"),
                };
                page.line(4, &format!("± {half} with {share}: {why}"));
            }
        }
        None => page.line(
            2,
            &format!(
                "{}: {value}; it has no value one standard uncertainty away, so that first order \
                 says nothing",
                cell.name
            ),
        ),
    }
    let ties = budget.ties.iter().filter(|tie| tie.share.is_some_and(|share| share != 0.0));
    let ties = ties.map(|tie| Row {
        name: tie.tie.clone(),
        value: "tied".to_owned(),
        remark: tie.share.map_or_else(String::new, |s| format!("{:+.1} %", 100.0 * s)),
        ..Row::default()
    });
    let rows: Vec<Row> = budget
        .shares
        .iter()
        .map(|share| {
            let change = share.change.map_or_else(
                || "no value".to_owned(),
                |change| {
                    let sign = if change > 0.0 { "+" } else { "" };
                    format!("{sign}{}", difference(change, cell, style))
                },
            );
            let remark = share.share.map_or_else(String::new, |s| format!("{:.1} %", 100.0 * s));
            Row { name: share.known.clone(), value: change, remark, ..Row::default() }
        })
        .chain(ties)
        .collect();
    page.rows(4, &rows);
}

fn table(samples: &Samples, style: Style) -> Table {
    let tail = 0.5 - 0.5 * samples.coverage;
    let (low, high) = (percent(tail), percent(1.0 - tail));
    let heads = ["", "mean", "deviation", &low, "median", &high];
    let mut table = Table {
        heads: heads.iter().map(|head| ((*head).to_owned(), String::new())).collect(),
        fixed: 1,
        ..Table::default()
    };
    for sampled in &samples.results {
        let mut row = vec![sampled.cell.name.clone()];
        match sampled.figures {
            Some(figures) => {
                let cell = &sampled.cell;
                row.push(number(figures.mean, cell, style));
                row.push(difference(figures.deviation, cell, style));
                let quantiles = [figures.low, figures.median, figures.high];
                row.extend(quantiles.map(|si| number(si, cell, style)));
            }
            None => row.extend(["no value".to_owned(), String::new()]),
        }
        table.rows.push(row);
        table.remarks.push(String::new());
    }
    table
}

fn chances(page: &mut Page, samples: &Samples) {
    if samples.chances.is_empty() {
        return;
    }
    page.heading("How often checks fail");
    let drawn = samples.drawn as f64;
    let share = |count: u64| format!("{:.1} %", 100.0 * count as f64 / drawn);
    let told = samples.chances.iter().filter(|chance| chance.fails + chance.unknown > 0);
    let rows: Vec<Row> = told
        .map(|chance| Row {
            name: format!("{} ({})", chance.name, chance.level.word()),
            value: match chance.fails {
                fails if fails == samples.drawn => format!("all {fails} samples"),
                fails => share(fails),
            },
            remark: match chance.unknown {
                0 => String::new(),
                unknown => format!("cannot be told in {}", share(unknown)),
            },
            ..Row::default()
        })
        .collect();
    page.rows(2, &rows);
    let never = samples.chances.len() - rows.len();
    let of = samples.drawn;
    match (never, rows.is_empty()) {
        (0, _) => {}
        (1, false) => page.line(2, &format!("the other one fails in none of {of} samples")),
        (_, false) => page.line(2, &format!("the other {never} fail in none of {of} samples")),
        (_, true) => page.line(2, &format!("none fails in any of {of} samples")),
    }
}

/// A share in percent, with the digits that it needs.
fn percent(share: f64) -> String {
    // 1 − 0.95 leaves rounding behind.
    format!("{} %", plain_number((share * 1e6).round() / 1e4))
}

/// A number of a result in its unit.
fn number(si: f64, column: &Column, style: Style) -> String {
    if column.ty.scalar().is_money() {
        return amount(si, column, style);
    }
    style.value(&Value::Number(si), column.ty, column.unit.as_ref())
}

/// A difference of such numbers, which has no zero of its own.
fn difference(si: f64, column: &Column, style: Style) -> String {
    if column.ty.scalar().is_money() {
        return amount(si, column, style);
    }
    let Some(dimension) = column.ty.dimension() else { return String::new() };
    let unit = difference_unit(column.unit.as_ref(), dimension, style, si);
    format_in(si, &unit, DIGITS).unwrap_or_else(|| "no value".to_owned())
}

/// Money to its minor unit: an uncertainty is not known better.
fn amount(si: f64, column: &Column, style: Style) -> String {
    let rounded = money::from_number(si).map(|amount| match style.currency {
        Some(currency) => money::round_to_minor(amount, currency, Rounding::HalfEven),
        None => amount,
    });
    rounded.map_or_else(
        || "no value".to_owned(),
        |amount| style.value(&Value::Money(amount), column.ty, None),
    )
}
