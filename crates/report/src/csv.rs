//! A sheet as comma-separated values: a row for each cell and each check.

use forebay_sheet::{CellKind, Sheet, Trouble, Type, Value};
use forebay_study::Column;
use forebay_units::Unit;

use crate::formats::Options;
use crate::study::{csv_fields, plain};

/// Kind, name, part, state, value, unit, how it is shown, where it comes from, how uncertain it is,
/// and a word about it. The values of a series stand with `;` between them.
pub(crate) fn write(sheet: &mut Sheet, _options: &Options) -> String {
    let heads =
        ["kind", "name", "part", "state", "value", "unit", "shown", "from", "plus_minus", "about"];
    let mut out = csv_fields(heads);
    for cell in sheet.cells() {
        let check = cell.kind() == CellKind::Check;
        let kind = match cell.kind() {
            CellKind::Known => "known",
            CellKind::Work => "work",
            CellKind::Check => "check",
            CellKind::Component => "component",
        };
        let state = match (check, cell.trouble()) {
            (true, _) => crate::study::verdict(cell.verdict()),
            (false, None) => "value",
            (false, Some(Trouble::Waiting(_))) => "waiting",
            (false, Some(Trouble::Failed(_))) => "failed",
            (false, Some(Trouble::Broken)) => "broken",
        };
        let ty = cell.ty().unwrap_or(Type::PLAIN);
        let unit = cell.unit().filter(|_| !ty.scalar().is_money());
        let column = Column { name: cell.name().to_owned(), ty, unit };
        let unit = column.unit.as_ref().filter(|unit| **unit != Unit::ONE);
        let value = match cell.value().filter(|_| !check) {
            Some(Value::Series(series)) => {
                let one = |at| series.get(at).map_or(String::new(), |value| plain(&value, &column));
                (0..series.len()).map(one).collect::<Vec<_>>().join(";")
            }
            Some(value) => plain(value, &column),
            None => String::new(),
        };
        let part = cell.part().and_then(|at| sheet.parts().get(at));
        let known = cell.known();
        let shown = if check { cell.formula() } else { cell.shown() };
        out.push_str(&csv_fields([
            kind,
            cell.name(),
            part.map_or("", |part| &part.title),
            state,
            &value,
            unit.map_or("", Unit::symbol),
            &shown,
            known.and_then(|known| known.from).map_or("", |from| from.word()),
            known.and_then(|known| known.plus_minus.as_ref()).map_or("", |text| &text.text),
            cell.about().unwrap_or_default().trim(),
        ]));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_for_each_cell() {
        let mut sheet = Sheet::open(
            "forebay: 1
known:
  a: { is: 3 mm, from: measured, plus_minus: 1 mm, about: 'one, two' }
  xs: [1 L/s, 3 L/s]
work:
  b: 2 * a
check:
  c: b > 1 m
",
        );
        let text = write(&mut sheet, &Options::default());
        let lines: Vec<&str> = text.lines().skip(1).collect();
        assert_eq!(lines[0], "known,a,,value,3,mm,3 mm,measured,1 mm,\"one, two\"");
        assert!(lines[1].starts_with("known,xs,,value,1;3,L/s,"), "{}", lines[1]);
        assert_eq!(lines[2], "work,b,,value,6,mm,6.000 mm,,,");
        assert_eq!(lines[3], "check,c,,fails,,,b > 1 m,,,");
    }
}
