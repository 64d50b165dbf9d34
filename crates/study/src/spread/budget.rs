//! The first-order budget: the law of propagation of uncertainty (JCGM 100:2008, 5.1.2, equation
//! 10, and 5.2.2, equation 16, for what is tied), with sensitivities found through the sheet, and
//! its effective degrees of freedom (G.4).

use forebay_sheet::Sheet;

use super::student::coverage_factor;
use super::ties::{Pair, Ties};
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
    /// What the ties between knowns contribute.
    pub ties: Vec<TieShare>,
    /// The effective degrees of freedom of the uncertainty (JCGM 100:2008, G.4.1, equation G.2b);
    /// `None` where no known that contributes gives any. The formula is for independent knowns: a
    /// group of tied ones counts as one that has the fewest degrees of all of them (common practice,
    /// no source).
    pub degrees_of_freedom: Option<f64>,
}

/// What a tie contributes to a result beside its knowns.
#[derive(Clone, Debug)]
pub struct TieShare {
    /// The tie.
    pub tie: String,
    /// Its part of the result's variance; negative where what is tied goes against one another.
    pub share: Option<f64>,
}

/// An interval about a result that a share of all cases lies in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expanded {
    /// By how much the standard uncertainty is multiplied.
    pub factor: f64,
    /// Half the width of the interval in SI.
    pub half_width: f64,
    /// The whole degrees of freedom that the factor of Student's t-distribution is for; `None`
    /// where it is that of the normal distribution.
    pub degrees_of_freedom: Option<u64>,
}

/// What one known contributes to a result.
#[derive(Clone, Debug)]
pub struct Share {
    /// The known.
    pub known: String,
    /// By how much the result changes for one standard uncertainty of the known, in SI, with its
    /// sign; `None` where the result has no value on one of the two sides.
    pub change: Option<f64>,
    /// Its own part of the result's variance, not negative. All of them add up to 1 where nothing
    /// is tied, and else together with those of the ties.
    pub share: Option<f64>,
}

impl Budget {
    /// The expanded uncertainty for a coverage from 0 to 1 (JCGM 100:2008, G.4.1 and G.6.4), with
    /// effective degrees of freedom cut to a whole number.
    #[must_use]
    pub fn expanded(&self, coverage: f64) -> Option<Expanded> {
        // Bounded, and 1 or more.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let whole = |degrees: f64| degrees.clamp(1.0, 1e9).floor() as u64;
        let degrees_of_freedom = self.degrees_of_freedom.map(whole);
        let factor = coverage_factor(coverage, degrees_of_freedom);
        Some(Expanded { factor, half_width: factor * self.uncertainty?, degrees_of_freedom })
    }
}

/// The budgets of results. The knowns are taken as independent of one another unless the sheet ties
/// them; each is moved by one
/// standard uncertainty to either side, and half the difference of the results is its contribution
/// (JCGM 100:2008, 5.1.3, note 2).
///
/// # Errors
/// No uncertain known, ties that are wrong, or names that are no cells that hold one number.
pub fn budget(sheet: &mut Sheet, see: &[String]) -> Result<Vec<Budget>, Fault> {
    let knowns = uncertain(sheet)?;
    let ties = Ties::of(sheet, &knowns)?;
    let groups = ties.groups(knowns.len());
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
        let all = all.filter(|_| value.is_ok());
        let variance = all.as_ref().map(|all| variance(all, &ties));
        let share = |part: Option<f64>| Some(part? / variance.filter(|variance| *variance > 0.0)?);
        let shares = knowns.iter().zip(&changes).map(|(known, change)| Share {
            known: known.known.clone(),
            change: *change,
            share: share(change.map(|change| change * change)),
        });
        let shares = shares.collect();
        let tie_shares = ties.ties.iter().map(|(tie, pairs)| TieShare {
            tie: tie.clone(),
            share: share(all.as_ref().map(|all| covariance(all, pairs))),
        });
        let degrees = all.as_ref().zip(variance);
        let degrees = degrees
            .and_then(|(all, variance)| degrees_of_freedom(variance, all, &knowns, &groups, &ties));
        Budget {
            cell,
            value,
            uncertainty: variance.map(f64::sqrt),
            shares,
            ties: tie_shares.collect(),
            degrees_of_freedom: degrees,
        }
    });
    Ok(budgets.collect())
}

/// The variance of a result from what one standard uncertainty of each known changes.
fn variance(changes: &[f64], ties: &Ties) -> f64 {
    let own: f64 = changes.iter().map(|change| change * change).sum();
    let tied: f64 = ties.ties.iter().map(|(_, pairs)| covariance(changes, pairs)).sum();
    let all = own + tied;
    // What is left of rounding where everything cancels is no variance.
    if all <= 1e-12 * own { 0.0 } else { all }
}

/// What pairs of tied knowns add to a variance.
fn covariance(changes: &[f64], pairs: &[Pair]) -> f64 {
    pairs.iter().map(|(a, b, correlation)| 2.0 * correlation * changes[*a] * changes[*b]).sum()
}

/// The Welch–Satterthwaite formula over groups of knowns.
fn degrees_of_freedom(
    variance: f64,
    changes: &[f64],
    knowns: &[Uncertain],
    groups: &[Vec<usize>],
    ties: &Ties,
) -> Option<f64> {
    let mut sum = 0.0;
    for group in groups {
        let own: f64 = group.iter().map(|at| changes[*at] * changes[*at]).sum();
        let pairs = ties.ties.iter().flat_map(|(_, pairs)| pairs);
        let inside: Vec<_> = pairs.filter(|(a, ..)| group.contains(a)).copied().collect();
        let part = own + covariance(changes, &inside);
        // Only those that contribute have a say.
        let contributing = group.iter().filter(|at| changes[**at] != 0.0);
        let least = contributing
            .filter_map(|at| knowns[*at].spread.degrees_of_freedom)
            .fold(f64::INFINITY, f64::min);
        if part > 0.0 {
            sum += part * part / least;
        }
    }
    let degrees = variance * variance / sum;
    degrees.is_finite().then_some(degrees)
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
