//! How the figures of a learner are drawn, and written as the learner reads them.

use forebay_sheet::exercise::{Draw, Exercise, Noise, Rounding};
use forebay_sheet::{Items, Sheet, Value};
use forebay_units::{Unit, format_significant};

use crate::fault::Fault;
use crate::spread::draw::Stream;

/// Draws the figures and puts them into the sheet, exactly as they are written: an answer that is
/// computed from the text is the one that the sheet has.
pub(super) fn given(
    sheet: &mut Sheet,
    exercise: &Exercise,
    stream: &mut Stream,
) -> Result<Vec<(String, String)>, Fault> {
    let mut given: Vec<(String, String)> = Vec::with_capacity(exercise.varied.len());
    for varied in &exercise.varied {
        let text = match &varied.draw {
            Draw::Range { low, high, unit, rounding } => {
                let number = in_range(*low, *high, *rounding, stream);
                with_unit(&number, unit)
            }
            Draw::List(texts) => texts.get(stream.below(texts.len())).cloned().unwrap_or_default(),
            // These may lie about a figure that is drawn: they come behind.
            Draw::Readings { .. } => continue,
        };
        given.push((varied.known.clone(), text));
    }
    set(sheet, &given)?;
    for varied in &exercise.varied {
        let Draw::Readings { around, count, noise, unit, rounding } = &varied.draw else {
            continue;
        };
        let about = middle(sheet, &varied.known, around.as_deref(), *count)?;
        let readings: Vec<String> = about
            .iter()
            .map(|si| {
                let deviation = match noise {
                    Noise::Relative(share) => share * si.abs(),
                    Noise::Absolute(si) => *si,
                };
                let read = unit.from_si(si + deviation * stream.normal());
                with_unit(&rounded(read, *rounding), unit)
            })
            .collect();
        given.push((varied.known.clone(), format!("[{}]", readings.join(", "))));
    }
    set(sheet, &given)?;
    Ok(given)
}

/// Puts figures as they are written into the sheet.
pub(crate) fn set(sheet: &mut Sheet, given: &[(String, String)]) -> Result<(), Fault> {
    let texts: Vec<(&str, &str)> = given.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
    sheet.set_all(&texts)?;
    Ok(())
}

/// How many values lie in a range, both ends counted where a step hits the upper one.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub(super) fn steps(low: f64, high: f64, step: f64) -> usize {
    // From 0 on: the range has a width. Beyond all memory it does not matter how many.
    let steps = ((high - low) / step + 1e-9).floor();
    steps.min(1e15) as usize + 1
}

fn in_range(low: f64, high: f64, rounding: Rounding, stream: &mut Stream) -> String {
    match rounding {
        Rounding::Step { step, decimals } => {
            let at = stream.below(steps(low, high, step));
            format!("{:.decimals$}", low + step * at as f64)
        }
        Rounding::Figures(_) => {
            let number = low + (high - low) * stream.between_0_and_1();
            let text = rounded(number, rounding);
            // Rounding may lead out of the range.
            match text.parse::<f64>() {
                Ok(number) if number < low => plain(low),
                Ok(number) if number > high => plain(high),
                _ => text,
            }
        }
    }
}

fn rounded(number: f64, rounding: Rounding) -> String {
    match rounding {
        Rounding::Step { step, decimals } => {
            let number = (number / step).round() * step;
            // Zero has no sign.
            format!("{:.decimals$}", number + 0.0)
        }
        Rounding::Figures(figures) => {
            let text = format_significant(number, figures).unwrap_or_default();
            // Digits before the point that are no figures become zeros.
            let exact: f64 =
                format!("{number:.*e}", figures.saturating_sub(1)).parse().unwrap_or(number);
            if text.contains('.') || text.contains('e') { text } else { plain(exact) }
        }
    }
}

fn plain(number: f64) -> String {
    format!("{number}")
}

fn with_unit(number: &str, unit: &Unit) -> String {
    if *unit == Unit::ONE { number.to_owned() } else { format!("{number} {}", unit.symbol()) }
}

/// What readings lie about, in SI.
fn middle(
    sheet: &mut Sheet,
    known: &str,
    around: Option<&str>,
    count: usize,
) -> Result<Vec<f64>, Fault> {
    let value = match around {
        Some(formula) => sheet.eval(formula).map_err(Fault::Refused)?.value,
        None => {
            // The readings of the learner before are still in force: the sheet's own are wanted.
            let own = sheet.cell(known).and_then(|cell| cell.known());
            let own = own.map(|known| known.is.text.clone()).unwrap_or_default();
            sheet.value_for(known, &own)?
        }
    };
    Ok(match value {
        Value::Series(series) => match &series.items {
            Items::Numbers(numbers) => numbers.iter().copied().filter(|n| !n.is_nan()).collect(),
            Items::Values(_) => Vec::new(),
        },
        one => one.as_number().map(|si| vec![si; count]).unwrap_or_default(),
    })
}
