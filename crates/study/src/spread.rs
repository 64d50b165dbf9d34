//! What a sheet's results may be, given what its knowns may be: the first-order budget and the
//! samples.

mod budget;
mod draw;
mod samples;

pub use budget::{Budget, Share, budget};
pub use samples::{Chance, Figures, Sampled, Samples, sample};

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

/// The knowns of a sheet that have a `plus_minus` above zero, in the order of the sheet.
///
/// # Errors
/// A sheet without such knowns.
pub fn uncertain(sheet: &Sheet) -> Result<Vec<Uncertain>, Fault> {
    let mut found = Vec::new();
    for cell in sheet.cells().filter(|cell| cell.kind() == CellKind::Known) {
        let (Some(spread), Some(ty)) = (cell.plus_minus(), cell.ty()) else { continue };
        let Some(si) = cell.value().and_then(Value::as_number) else { continue };
        if spread.half_width_si == 0.0 {
            continue;
        }
        let written = cell.known().and_then(|known| known.plus_minus.as_ref());
        found.push(Uncertain {
            known: cell.name().to_owned(),
            si,
            spread,
            ty,
            unit: cell.unit().filter(|_| !ty.scalar().is_money()),
            written: written.map(|text| text.text.clone()).unwrap_or_default(),
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
