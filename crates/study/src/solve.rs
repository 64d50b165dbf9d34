//! The value of a known for which the sheet fulfils an equation.

use forebay_sheet::{Diagnostic, Sheet, Style, Type, Value, zeros};

use crate::GoOn;
use crate::columns::{Column, column_of};
use crate::fault::Fault;
use crate::rows::{Judged, Rows, judged, known_value, number_as};

/// What solving gave.
#[derive(Clone, Debug)]
pub struct Solved {
    /// The known that was looked for, with the unit it is shown in.
    pub known: Column,
    /// The equation as written.
    pub so: String,
    /// Where it was looked for, in SI.
    pub between: (f64, f64),
    /// All values found, in rising order.
    pub found: Vec<Found>,
    /// Where the two sides pass one another without meeting: a step or a pole.
    pub jumps: Vec<f64>,
    /// Stretches in which one of the sides has no value.
    pub without_value: Vec<(f64, f64)>,
    /// Why a side has no value there, where it first has none.
    pub why: Option<String>,
    /// Both sides at the two ends of the range, in words, where they have a value.
    pub ends: [Option<(String, String)>; 2],
    /// The checks of the sheet.
    pub checks: Vec<Judged>,
    /// Whether the search was brought to its end.
    pub complete: bool,
}

/// One solution.
#[derive(Clone, Debug)]
pub struct Found {
    /// The value of the known in SI.
    pub si: f64,
    /// The checks that fail there, as places in the list of checks.
    pub failing: Vec<usize>,
}

/// Both sides of an equation at one value of the known.
struct Sides {
    left: Value,
    right: Value,
    ty: Type,
}

/// Finds the values of a known for which `so`, such as `crest_pressure = 30 kPa_abs`, is true. The
/// sheet is computed at 65 places between the bounds, and each change of sign is followed to the
/// last digits ([`zeros`]). Without bounds those of the known's `between` are taken.
///
/// # Errors
/// No such known, no bounds, no equation, sides that cannot be compared, or sides that have no
/// value anywhere between the bounds.
pub fn solve(
    sheet: &mut Sheet,
    known: &str,
    so: &str,
    between: Option<(&str, &str)>,
    go_on: &mut GoOn<'_>,
) -> Result<Solved, Fault> {
    known_value(sheet, known)?;
    let ty = sheet.cell(known).and_then(|cell| cell.ty()).unwrap_or(Type::PLAIN);
    if !matches!(ty, Type::One(_)) || ty.dimension().is_none() {
        return Err(Fault::call(format!("`{known}` is {ty}, and a number is looked for"), ""));
    }
    let (left, right) = equation(so)?;
    let between = bounds(sheet, known, between)?;
    let checks = judged(sheet);
    let column = sheet
        .cell(known)
        .map(|cell| column_of(&cell, None))
        .ok_or_else(|| Fault::call(format!("there is no known `{known}`"), ""))?;
    let style = sheet.style();
    let mut rows = Rows::new(sheet, vec![known.to_owned()], &[])?;
    let mut first_refusal: Option<Vec<Diagnostic>> = None;
    let mut mismatch: Option<Fault> = None;
    let (mut tried, mut complete) = (0, true);
    let zeros = zeros(
        |x| {
            tried += 1;
            complete = complete && go_on(tried, 0);
            if !complete || mismatch.is_some() {
                return None;
            }
            let value = number_as(ty, x)?;
            rows.compute(&[value]).ok()?;
            match sides(rows.sheet(), left, right) {
                Ok(Ok(sides)) => Some(sides.left.as_number()? - sides.right.as_number()?),
                Ok(Err(fault)) => {
                    mismatch = Some(fault);
                    None
                }
                Err(refused) => {
                    first_refusal.get_or_insert(refused);
                    None
                }
            }
        },
        between.0,
        between.1,
    );
    if let Some(fault) = mismatch {
        return Err(fault);
    }
    let nowhere = zeros.tried.iter().all(|(_, value)| value.is_none());
    if let (true, true, Some(refused)) = (complete, nowhere, first_refusal.take_if(|_| nowhere)) {
        return Err(Fault::Refused(refused));
    }
    let mut found = Vec::new();
    for si in zeros.at {
        let Some(value) = number_as(ty, si) else { continue };
        let row = rows.compute(&[value])?;
        found.push(Found { si, failing: row.failing });
    }
    let mut end = |si: f64| {
        rows.compute(&[number_as(ty, si)?]).ok()?;
        let sides = sides(rows.sheet(), left, right).ok()?.ok()?;
        let shown = |value: &Value| shown(style, value, sides.ty);
        Some((shown(&sides.left), shown(&sides.right)))
    };
    let ends = [end(between.0), end(between.1)];
    drop(rows);
    Ok(Solved {
        known: column,
        so: so.trim().to_owned(),
        between,
        found,
        jumps: zeros.jumps,
        without_value: zeros.without_value,
        why: first_refusal.and_then(|refused| refused.first().map(|d| d.message.clone())),
        ends,
        checks,
        complete,
    })
}

fn shown(style: Style, value: &Value, ty: Type) -> String {
    style.value(value, ty, None)
}

/// Both sides, or why they cannot be held against each other at all; the outer error is that of one
/// place.
fn sides(
    sheet: &mut Sheet,
    left: &str,
    right: &str,
) -> Result<Result<Sides, Fault>, Vec<Diagnostic>> {
    let (left, right) = (sheet.eval(left)?, sheet.eval(right)?);
    let (Type::One(_), Type::One(_), Some(one), Some(other)) =
        (left.ty, right.ty, left.ty.dimension(), right.ty.dimension())
    else {
        return Ok(Err(Fault::call(
            format!("the two sides are {} and {}, and numbers are wanted", left.ty, right.ty),
            "name cells that hold one number",
        )));
    };
    if one.alike(other).is_err() {
        return Ok(Err(Fault::call(
            format!("the left side is {one} and the right side is {other}"),
            "both sides must measure the same; an absolute pressure is written `30 kPa_abs`",
        )));
    }
    Ok(Ok(Sides { left: left.value, right: right.value, ty: left.ty }))
}

/// The two sides of the one `=` outside brackets.
fn equation(so: &str) -> Result<(&str, &str), Fault> {
    let refused = || {
        Fault::call(
            format!("`{so}` is no equation"),
            "write two sides with `=` between them: --so \"crest_pressure = 30 kPa_abs\"",
        )
    };
    let mut depth = 0_i32;
    let mut split: Option<(usize, usize)> = None;
    let bytes = so.as_bytes();
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        match byte {
            b'(' | b'[' | b'{' => depth += 1,
            b')' | b']' | b'}' => depth -= 1,
            b'<' | b'>' | b'!' if depth == 0 => return Err(refused()),
            b'=' if depth == 0 => {
                let wide = if bytes.get(at + 1) == Some(&b'=') { 2 } else { 1 };
                if split.is_some() {
                    return Err(refused());
                }
                split = Some((at, at + wide));
                at += wide - 1;
            }
            _ => {}
        }
        at += 1;
    }
    let (end, start) = split.ok_or_else(refused)?;
    let (left, right) = (so[..end].trim(), so[start..].trim());
    if left.is_empty() || right.is_empty() { Err(refused()) } else { Ok((left, right)) }
}

fn bounds(
    sheet: &mut Sheet,
    known: &str,
    between: Option<(&str, &str)>,
) -> Result<(f64, f64), Fault> {
    let bounds = match between {
        Some((one, other)) => {
            let mut end = |text: &str| -> Result<f64, Fault> {
                let number = sheet.value_for(known, text)?.as_number();
                number.ok_or_else(|| Fault::call(format!("`{text}` is no number"), ""))
            };
            let (one, other) = (end(one)?, end(other)?);
            (one.min(other), one.max(other))
        }
        None => sheet.cell(known).and_then(|cell| cell.between()).ok_or_else(|| {
            Fault::call(
                format!("between which bounds `{known}` is to be looked for is not said"),
                "say it: --between 1m 3m, or give the known `between: [1 m, 3 m]` in the sheet",
            )
        })?,
    };
    if bounds.0 < bounds.1 {
        Ok(bounds)
    } else {
        Err(Fault::call("the two bounds are the same", "move one of them"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn solved(known: &str, so: &str, between: Option<(&str, &str)>) -> Result<Solved, Fault> {
        let mut sheet = Sheet::open(
            "forebay: 1
known:
  side: { is: 2 m, between: [0.5 m, 4 m] }
  depth: 1 m
  gap: { is: 1, between: [0, 4] }
work:
  area: side * side
  hill: 9 m^2 - (side - 2 m) * (side - 2 m)
  root: sqrt(gap - 2)
check:
  small: area < 3 m^2
",
        );
        solve(&mut sheet, known, so, between, &mut |_, _| true)
    }

    #[test]
    fn none_one_and_several() {
        // By hand: the square of 1.5 m is 2.25 m²; the hill is 8 m² one metre to either side of its top.
        let one = solved("side", "area = 2.25 m^2", None).unwrap();
        assert_eq!(one.found.len(), 1);
        assert!((one.found[0].si - 1.5).abs() < 1e-12);
        assert!(one.found[0].failing.is_empty());
        let two = solved("side", "hill == 8 m^2", None).unwrap();
        let at: Vec<f64> = two.found.iter().map(|found| found.si).collect();
        assert!((at[0] - 1.0).abs() < 1e-12 && (at[1] - 3.0).abs() < 1e-12, "{at:?}");
        assert_eq!(two.found[1].failing, [0]);
        let none = solved("side", "area = 99 m^2", Some(("1 m", "2 m"))).unwrap();
        assert!(none.found.is_empty());
        assert_eq!(none.ends[1], Some(("4.000 m^2".to_owned(), "99.00 m^2".to_owned())));
    }

    #[test]
    fn where_there_is_no_value_is_told_and_a_zero_beyond_is_found() {
        let found = solved("gap", "root = 1", None).unwrap();
        assert!((found.found[0].si - 3.0).abs() < 1e-12);
        assert_eq!(found.without_value.len(), 1);
        assert!((found.without_value[0].1 - 2.0).abs() < 1e-9);
        assert!(found.why.is_some());
    }

    #[test]
    fn what_cannot_be_solved_is_refused() {
        let check = |known, so, between, words: &str| {
            let refused = solved(known, so, between).unwrap_err().to_string();
            assert!(refused.contains(words), "{so}: {refused}");
        };
        check("side", "area", None, "no equation");
        check("side", "area > 3 m^2", None, "no equation");
        check("side", "area = 3 L", None, "volume");
        check("side", "aera = 3 m^2", None, "aera");
        check("depth", "area = 3 m^2", None, "bounds");
        check("area", "side = 3 m", None, "worked out");
        check("side", "area = 3 m^2", Some(("1 m", "3 L")), "volume");
        check("side", "area = 3 m^2", Some(("1 m", "1 m")), "the same");
    }
}
