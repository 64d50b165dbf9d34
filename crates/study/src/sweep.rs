//! Columns of numbers in, columns of numbers out: the shortest way through a sheet for programs.

use forebay_sheet::Sheet;

use crate::fault::Fault;
use crate::rows::Rows;

/// Computes a sheet for many rows: `given` holds a column of numbers in coherent SI for each of the
/// knowns, and a column comes out for each cell of `see`, with NaN where it has no value. `threads`
/// of them work at once, as many as there are processors where it is `None`; the numbers are the same
/// to the last digit for any number of threads, and those that the sheet gives for each row alone.
/// The sheet is left as it was.
///
/// ```
/// use forebay_sheet::Sheet;
/// use forebay_study::sweep;
///
/// let mut sheet = Sheet::open(
///     "forebay: 1\nknown:\n  flow: 40 L/s\n  head: 3 m\nwork:\n  power: water_power(flow, head)\n",
/// );
/// let flows = vec![0.02, 0.04];
/// let powers = sweep(&mut sheet, &["flow"], &[flows], &["power"], None)?;
/// assert_eq!(powers[0][1], sheet.cell("power").unwrap().value().unwrap().as_number().unwrap());
/// # Ok::<(), forebay_study::Fault>(())
/// ```
///
/// # Errors
/// Names that are no knowns or no cells, cells that hold no single value, or columns that are not one
/// for each known and all as long.
pub fn sweep(
    sheet: &mut Sheet,
    knowns: &[&str],
    given: &[Vec<f64>],
    see: &[&str],
    threads: Option<usize>,
) -> Result<Vec<Vec<f64>>, Fault> {
    let length = given.first().map_or(0, Vec::len);
    if given.len() != knowns.len() || given.iter().any(|column| column.len() != length) {
        return Err(Fault::call(
            "the columns are not one for each known, and all of one length",
            "give as many numbers for each known as there are rows",
        ));
    }
    let owned = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    let mut rows = Rows::new(sheet, owned(knowns), &owned(see))?;
    if let Some(threads) = threads {
        rows.on_threads(threads);
    }
    Ok(rows.numbers(given).columns)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_number_of_threads_gives_the_digits_that_the_sheet_gives() {
        let text = "forebay: 1
currency: EUR
known:
  flow: 40 L/s
  price: 0.30 EUR
work:
  rest: zero_of(|q| q + q^3 - flow / 1 (m^3/s), -5, 5)
  odd: sqrt(0.5 - rest)
  paid: price * 2
";
        let mut sheet = Sheet::open(&text.replace(" (m^3/s)", " m^3/s"));
        assert!(sheet.diagnostics().is_empty(), "{:?}", sheet.diagnostics());
        // Some rows have no root of a negative number, one no number at all.
        let mut flows: Vec<f64> = (0..1500).map(|row| f64::from(row) * 1e-3).collect();
        flows[700] = f64::NAN;
        let prices: Vec<f64> = (0..1500).map(|row| f64::from(row % 7)).collect();
        let mut swept = |threads| {
            let given = [flows.clone(), prices.clone()];
            let see = ["rest", "odd", "paid"];
            let columns = sweep(&mut sheet, &["flow", "price"], &given, &see, Some(threads));
            let bits = |column: Vec<f64>| column.into_iter().map(f64::to_bits).collect::<Vec<_>>();
            columns.unwrap().into_iter().map(bits).collect::<Vec<_>>()
        };
        let one = swept(1);
        for threads in [2, 3, 16] {
            assert_eq!(one, swept(threads), "{threads} threads");
        }
        assert!(f64::from_bits(one[0][700]).is_nan());
        assert!(f64::from_bits(one[1][1499]).is_nan());
        for row in [0, 1, 127, 128, 400, 1499] {
            let set = forebay_sheet::Value::Number(flows[row]);
            sheet.set_values(&[("flow", set)]).unwrap();
            let alone = sheet.cell("rest").unwrap().value().unwrap().as_number().unwrap();
            assert_eq!(one[0][row], alone.to_bits());
        }
    }
}
