//! The ranking of what matters most: by how much a result moves for one standard uncertainty of each
//! uncertain known.

use forebay_sheet::{Content, Drawing, Sheet};
use forebay_study::{Budget, Share, budget};
use forebay_units::Unit;

use super::Picture;
use super::axes::Axis;
use super::bars::{Lying, alike, paint_lying, percent};
use super::data::{digits, with_unit};
use super::svg::Fill;
use super::table::DataTable;
use crate::study::difference_unit;

/// More knowns than this are in the table alone.
const MOST: usize = 12;

pub(crate) fn paint(drawing: &Drawing, sheet: &mut Sheet) -> Result<Picture, String> {
    let cell = drawing.under("of").find_map(|datum| match &datum.content {
        Content::Cell(name) => Some(name.clone()),
        _ => None,
    });
    let cell = cell.ok_or("`of` names no cell")?;
    let budgets = budget(sheet, &[cell]).map_err(|fault| fault.to_string())?;
    let found = budgets.first().ok_or("there is no budget of it")?;
    of_budget(drawing, found, sheet)
}

fn of_budget(drawing: &Drawing, budget: &Budget, sheet: &Sheet) -> Result<Picture, String> {
    budget.value.as_ref().map_err(Clone::clone)?;
    let dimension = budget.cell.ty.dimension().ok_or("it is no number")?;
    let largest = budget.shares.iter().filter_map(|share| share.change).map(f64::abs);
    let largest = largest.fold(0.0, f64::max);
    let wanted = drawing.unit.as_ref().or(budget.cell.unit.as_ref());
    let unit = difference_unit(wanted, dimension, sheet.style(), largest);
    let mut shares: Vec<&Share> = budget.shares.iter().collect();
    let size = |share: &Share| share.change.map_or(-1.0, f64::abs);
    shares.sort_by(|a, b| size(b).total_cmp(&size(a)));
    let written = alike(largest / unit.factor());
    let amount = |si: f64| {
        let sign = if si > 0.0 { "+" } else { "" };
        let symbol = if unit == Unit::ONE { "" } else { unit.symbol() };
        format!("{sign}{} {symbol}", written(si / unit.factor())).trim_end().to_owned()
    };
    let told = || shares.iter().filter_map(|share| Some((*share, share.change?)));
    let bars: Vec<Lying> = told()
        .filter(|(_, change)| *change != 0.0)
        .take(MOST)
        .map(|(share, change)| {
            let part = share.share.map_or(String::new(), |share| format!(", {}", percent(share)));
            Lying {
                name: share.known.replace('_', " "),
                from: 0.0,
                to: change / unit.factor(),
                amount: format!("{}{part}", amount(change)),
                fill: Fill::Grey(if change > 0.0 { 0.62 } else { 0.14 }),
            }
        })
        .collect();
    if bars.is_empty() {
        return Err("none of the uncertain knowns moves it".to_owned());
    }
    let name = budget.cell.name.replace('_', " ");
    let axis = Axis::from_zero(
        with_unit(&format!("change of {name}"), &unit),
        bars.iter().map(|bar| bar.to),
    );
    let steps: Vec<String> =
        bars.iter().map(|bar| format!("{}: {}", bar.name, bar.amount)).collect();
    let description = format!(
        "By how much {name} changes for one standard uncertainty of each known, and its share of the \
         variance, largest first. {}.",
        steps.join(". ")
    );
    let svg = paint_lying(drawing, &description, &axis, &bars);
    let heads = vec![
        "known".to_owned(),
        with_unit(&format!("change of {name}"), &unit),
        "share of the variance (%)".to_owned(),
    ];
    let rows = shares
        .iter()
        .map(|share| {
            vec![
                share.known.clone(),
                share.change.map_or(String::new(), |si| digits(si / unit.factor())),
                share.share.map_or(String::new(), |part| digits(100.0 * part)),
            ]
        })
        .collect();
    Ok(Picture { svg, table: DataTable { heads, rows } })
}
