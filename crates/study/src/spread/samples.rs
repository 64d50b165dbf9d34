//! Propagation of distributions by a Monte Carlo method (JCGM 101:2008, clause 7).

use forebay_sheet::Sheet;
use forebay_sheet::worksheet::Level;

use super::budget::numbers;
use super::draw::Draws;
use super::ties::Ties;
use super::uncertain;
use crate::GoOn;
use crate::columns::Column;
use crate::fault::Fault;
use crate::rows::{Pace, Rows, judged};

/// More samples would not fit into memory beside one another.
const MOST_SAMPLES: u64 = 50_000_000;

/// How samples are drawn and summed up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sampling {
    /// How many, from 2 to 50 million.
    pub samples: u64,
    /// The same seed gives the same samples everywhere.
    pub seed: u64,
    /// The share of all cases that lies between the low and the high quantile, above 0 and below 1.
    pub coverage: f64,
}

/// What sampling gave.
#[derive(Clone, Debug)]
pub struct Samples {
    /// How many samples were drawn.
    pub drawn: u64,
    /// How many were asked for; more than `drawn` where the work was stopped.
    pub wanted: u64,
    /// The seed.
    pub seed: u64,
    /// The share of all cases between the low and the high quantile.
    pub coverage: f64,
    /// The results.
    pub results: Vec<Sampled>,
    /// The checks.
    pub chances: Vec<Chance>,
}

/// A result over all samples in which it has a value, in SI.
#[derive(Clone, Debug)]
pub struct Sampled {
    /// The result, with the unit it is shown in.
    pub cell: Column,
    /// In how many samples it has no value.
    pub without: u64,
    /// Mean, standard deviation and quantiles; `None` where fewer than two samples have a value.
    pub figures: Option<Figures>,
}

/// Figures of a result in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// The mean.
    pub mean: f64,
    /// The standard deviation.
    pub deviation: f64,
    /// The low quantile: as much lies below it as above the high one.
    pub low: f64,
    /// The median.
    pub median: f64,
    /// The high quantile.
    pub high: f64,
}

/// How often a check fails.
#[derive(Clone, Debug, PartialEq)]
pub struct Chance {
    /// The check.
    pub name: String,
    /// How grave a failure is.
    pub level: Level,
    /// In how many samples it fails.
    pub fails: u64,
    /// In how many it cannot be told.
    pub unknown: u64,
}

/// Computes the sheet for samples of its uncertain knowns, which are taken as independent unless the
/// sheet ties them. A normal known with degrees of freedom is drawn from Student's t-distribution
/// (JCGM 101:2008, 6.4.9), unless it is tied.
///
/// # Errors
/// No uncertain known, ties that are wrong, names that are no cells that hold one number, or a number
/// of samples or a coverage out of bounds.
pub fn sample(
    sheet: &mut Sheet,
    see: &[String],
    sampling: Sampling,
    go_on: &mut GoOn<'_>,
) -> Result<Samples, Fault> {
    let Sampling { samples, seed, coverage } = sampling;
    if !(2..=MOST_SAMPLES).contains(&samples) {
        return Err(Fault::call(
            format!("{samples} samples cannot be drawn"),
            format!("say from 2 to {MOST_SAMPLES}"),
        ));
    }
    if !(coverage > 0.0 && coverage < 1.0) {
        return Err(Fault::call(
            format!("a coverage of {coverage} cannot be had"),
            "say a share of all cases, such as 95 %",
        ));
    }
    let knowns = uncertain(sheet)?;
    let ties = Ties::of(sheet, &knowns)?;
    let columns = numbers(sheet, see)?;
    let mut chances: Vec<Chance> = judged(sheet)
        .into_iter()
        .map(|check| Chance { name: check.name, level: check.level, fails: 0, unknown: 0 })
        .collect();
    let names = knowns.iter().map(|known| known.known.clone()).collect();
    let mut rows = Rows::new(sheet, names, see)?;
    let mut draws = Draws::new(seed);
    let mut values: Vec<Vec<f64>> = vec![Vec::new(); columns.len()];
    let (mut one, mut drawn, mut pace) = (Vec::with_capacity(knowns.len()), 0, Pace::new(1 << 14));
    let mut given: Vec<Vec<f64>> = vec![Vec::new(); knowns.len()];
    while drawn < samples {
        given.iter_mut().for_each(Vec::clear);
        let now = samples.min(drawn + pace.rows() as u64) - drawn;
        pace.begin();
        for _ in 0..now {
            draws.sample(&knowns, &ties, &mut one);
            given.iter_mut().zip(&one).for_each(|(column, number)| column.push(*number));
        }
        let block = rows.numbers(&given);
        pace.done();
        for (values, more) in values.iter_mut().zip(block.columns) {
            values.extend(more.into_iter().filter(|number| !number.is_nan()));
        }
        for (chance, (fails, unknown)) in
            chances.iter_mut().zip(block.fails.iter().zip(&block.unknown))
        {
            chance.fails += fails;
            chance.unknown += unknown;
        }
        drawn += now;
        if !go_on(drawn, samples) {
            break;
        }
    }
    drop(rows);
    let results = columns.into_iter().zip(values).map(|(cell, values)| {
        let without = drawn - values.len() as u64;
        Sampled { cell, without, figures: Figures::of(values, coverage) }
    });
    Ok(Samples { drawn, wanted: samples, seed, coverage, results: results.collect(), chances })
}

impl Figures {
    /// Sums run in the order of the samples, so that they come out the same every time.
    fn of(mut values: Vec<f64>, coverage: f64) -> Option<Self> {
        if values.len() < 2 {
            return None;
        }
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
        // JCGM 101:2008, 7.6, equations 16 and 17.
        let deviation = (squares / (count - 1.0)).sqrt();
        // What is left of rounding where nothing varies is no spread.
        let deviation = if deviation <= 1e-12 * mean.abs() { 0.0 } else { deviation };
        values.sort_unstable_by(f64::total_cmp);
        let at = |p| quantile(&values, p);
        let tail = 0.5 - 0.5 * coverage;
        Some(Self { mean, deviation, low: at(tail), median: at(0.5), high: at(1.0 - tail) })
    }
}

/// The quantile of values in rising order, between its two neighbours in proportion.
fn quantile(rising: &[f64], p: f64) -> f64 {
    let place = p * (rising.len() - 1) as f64;
    // From 0 to the last place.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let below = place.floor() as usize;
    let above = (below + 1).min(rising.len() - 1);
    rising[below] + (rising[above] - rising[below]) * (place - below as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_of_five_numbers() {
        // By hand: mean 3, squares 4 + 1 + 0 + 1 + 4 = 10, deviation √(10/4).
        let figures = Figures::of(vec![5.0, 1.0, 4.0, 2.0, 3.0], 0.95).unwrap();
        assert_eq!((figures.mean, figures.median), (3.0, 3.0));
        assert!((figures.deviation - 2.5_f64.sqrt()).abs() < 1e-15);
        assert!((figures.low - 1.1).abs() < 1e-12 && (figures.high - 4.9).abs() < 1e-12);
        assert_eq!(Figures::of(vec![1.0], 0.95), None);
    }
}
