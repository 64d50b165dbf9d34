//! The first-order budget: the law of propagation of uncertainty (JCGM 100:2008, 5.1.2, equation
//! 10), with sensitivities found through the sheet.

use forebay_sheet::Sheet;

use super::{Uncertain, uncertain};
use crate::columns::{Column, column_of};
use crate::fault::Fault;
use crate::rows::{Row, Rows, Seen, number_as};

/// The budget of one result.
#[derive(Clone, Debug)]
pub struct Budget {
    /// The result, with the unit it is shown in.
    pub cell: Column,
    /// Its value in SI, or why it has none.
    pub value: Result<f64, String>,
    /// Its combined standard uncertainty in SI; `None` where a share cannot be told.
    pub uncertainty: Option<f64>,
    /// What each known contributes, in the order of the sheet.
    pub shares: Vec<Share>,
}

/// What one known contributes to a result.
#[derive(Clone, Debug)]
pub struct Share {
    /// The known.
    pub known: String,
    /// By how much the result changes for one standard uncertainty of the known, in SI, with its
    /// sign; `None` where the result has no value on one of the two sides.
    pub change: Option<f64>,
    /// Its part of the result's variance, from 0 to 1.
    pub share: Option<f64>,
}

/// The budgets of results. The knowns are taken as independent of one another; each is moved by one
/// standard uncertainty to either side, and half the difference of the results is its contribution
/// (JCGM 100:2008, 5.1.3, note 2).
///
/// # Errors
/// No uncertain known, or names that are no cells that hold one number.
pub fn budget(sheet: &mut Sheet, see: &[String]) -> Result<Vec<Budget>, Fault> {
    let knowns = uncertain(sheet)?;
    let columns = numbers(sheet, see)?;
    let names = knowns.iter().map(|known| known.known.clone()).collect();
    let middle: Vec<f64> = knowns.iter().map(|known| known.si).collect();
    let mut rows = Rows::new(sheet, names, see)?;
    let base = rows.now();
    let mut sides = Vec::with_capacity(knowns.len());
    for (at, known) in knowns.iter().enumerate() {
        let step = known.spread.standard_uncertainty_si();
        let mut moved = |by: f64| -> Option<Row> {
            let mut values = middle.clone();
            *values.get_mut(at)? += by;
            row_at(&mut rows, &knowns, &values)
        };
        sides.push((moved(step), moved(-step)));
    }
    drop(rows);
    let number = |row: &Option<Row>, at: usize| row.as_ref()?.seen.get(at)?.number();
    let budgets = columns.into_iter().enumerate().map(|(at, cell)| {
        let value = match base.seen.get(at) {
            Some(Seen::Missing(why)) => Err(why.clone()),
            Some(seen) => seen.number().ok_or_else(|| "it is no number".to_owned()),
            None => Err("no such cell".to_owned()),
        };
        let changes: Vec<Option<f64>> = sides
            .iter()
            .map(|(up, down)| Some(0.5 * (number(up, at)? - number(down, at)?)))
            .collect();
        let all: Option<Vec<f64>> = changes.iter().copied().collect();
        let variance = all.map(|all| all.iter().map(|change| change * change).sum::<f64>());
        let variance = variance.filter(|_| value.is_ok());
        let share = |change: Option<f64>| {
            Some(change? * change? / variance.filter(|variance| *variance > 0.0)?)
        };
        let shares = knowns.iter().zip(&changes).map(|(known, change)| Share {
            known: known.known.clone(),
            change: *change,
            share: share(*change),
        });
        Budget { cell, value, uncertainty: variance.map(f64::sqrt), shares: shares.collect() }
    });
    Ok(budgets.collect())
}

/// A row with these numbers for the knowns; `None` where one of them cannot be.
pub(super) fn row_at(rows: &mut Rows<'_>, knowns: &[Uncertain], numbers: &[f64]) -> Option<Row> {
    let values: Option<Vec<_>> =
        knowns.iter().zip(numbers).map(|(known, si)| number_as(known.ty, *si)).collect();
    rows.compute(&values?).ok()
}

/// The columns of cells that hold one number each.
pub(super) fn numbers(sheet: &Sheet, see: &[String]) -> Result<Vec<Column>, Fault> {
    let mut columns = Vec::with_capacity(see.len());
    for name in see {
        let Some(cell) = sheet.cell(name) else {
            return Err(Fault::no_such("cell", name, sheet.cells().map(|cell| cell.name())));
        };
        let column = column_of(&cell, None);
        if column.ty.dimension().is_none() {
            return Err(Fault::call(
                format!("`{name}` is {}, and a number is wanted", column.ty),
                "name cells that hold one number",
            ));
        }
        columns.push(column);
    }
    Ok(columns)
}
