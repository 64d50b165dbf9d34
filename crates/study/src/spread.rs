//! What a sheet's results may be, given what its knowns may be: the first-order budget and the
//! samples.

mod budget;
pub(crate) mod draw;
mod samples;
mod student;
mod ties;

pub use budget::{Budget, Expanded, Share, TieShare, budget};
pub use samples::{Chance, Figures, Sampled, Samples, Sampling, sample};

use forebay_sheet::{CellKind, Sheet, Spread, Type, Value};
use forebay_units::Unit;

use crate::fault::Fault;

/// A known with its uncertainty.
#[derive(Clone, Debug)]
pub struct Uncertain {
    /// Its name.
    pub known: String,
    /// Its value in SI.
    pub si: f64,
    /// How uncertain it is.
    pub spread: Spread,
    /// What it is.
    pub ty: Type,
    /// The unit it is shown in; `None` for money.
    pub unit: Option<Unit>,
    /// Its uncertainty as written.
    pub written: String,
}

/// A known whose `plus_minus` is not taken into account.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotVaried {
    /// Its name.
    pub known: String,
    /// Why.
    pub why: &'static str,
}

/// The knowns of a sheet and of the worksheets that it uses that have a `plus_minus` above zero, in
/// the order of the sheet.
///
/// # Errors
/// A sheet without such knowns.
pub fn uncertain(sheet: &Sheet) -> Result<Vec<Uncertain>, Fault> {
    let mut found = Vec::new();
    for cell in sheet.cells().filter(|cell| cell.is_settable()) {
        let (Some(spread), Some(ty)) = (cell.plus_minus(), cell.ty()) else { continue };
        let Some(si) = cell.value().and_then(Value::as_number) else { continue };
        if spread.half_width_si == 0.0 {
            continue;
        }
        found.push(Uncertain {
            known: cell.name().to_owned(),
            si,
            spread,
            ty,
            unit: cell.unit().filter(|_| !ty.scalar().is_money()),
            written: cell.plus_minus_as_written().unwrap_or_default(),
        });
    }
    if found.is_empty() {
        return Err(Fault::call(
            "no known of the sheet says how uncertain it is",
            "add `plus_minus` to the knowns, as in `head: { is: 4.2 m, plus_minus: 5 cm }`",
        ));
    }
    Ok(found)
}

/// The knowns whose `plus_minus` is not taken into account.
#[must_use]
pub fn not_varied(sheet: &Sheet) -> Vec<NotVaried> {
    sheet
        .cells()
        .filter(|cell| cell.says_plus_minus() && cell.plus_minus().is_none())
        .map(|cell| NotVaried {
            known: cell.name().to_owned(),
            why: match (cell.kind(), cell.is_settable()) {
                (CellKind::Component, false) => "it is set by the sheet that uses it",
                _ if cell.value().is_none() => "it has no value",
                _ => "it is no single number",
            },
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_varied_is_told() {
        let sheet = Sheet::open(
            "forebay: 1
known:
  a: { is: 3 m, plus_minus: 1 cm }
  flows: { is: '[1 L/s, 2 L/s]', plus_minus: 1 L/s }
  sure: { is: 2 m, plus_minus: 0 m }
  plain: 2 m
",
        );
        assert!(!sheet.has_errors());
        let names: Vec<String> =
            uncertain(&sheet).unwrap().into_iter().map(|known| known.known).collect();
        assert_eq!(names, ["a"]);
        let why = "it is no single number";
        assert_eq!(not_varied(&sheet), [NotVaried { known: "flows".to_owned(), why }]);
    }
}
