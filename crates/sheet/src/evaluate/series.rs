//! Terms that work on whole series: element by element, or down to one value.

use std::sync::Arc;

use forebay_units::{Decimal, money};
use jiff::civil::Date;

use super::{Flow, Machine};
use crate::diagnostic::Code;
use crate::term::{Args, Id, Reduction, Slot};
use crate::value::{Items, Series, Value};

/// A value that is looked at no more, because something has failed.
const NO_VALUE: Value = Value::Number(f64::NAN);

impl Machine<'_> {
    fn series(&mut self, id: Id) -> Option<Arc<Series>> {
        match self.value(id) {
            Value::Series(series) => Some(series),
            _ => None,
        }
    }

    /// Reports a gap where each value is needed.
    pub(super) fn gap(&mut self, series: Id, place: usize) -> f64 {
        let which = place + 1;
        self.fail(series, Code::GAP, format!("value {which} of this series is missing"))
    }

    pub(super) fn list(&mut self, args: Args, bare: bool) -> Value {
        let terms = self.terms;
        let ids = terms.args(args);
        let items = if bare {
            Items::Numbers(ids.iter().map(|id| self.number(*id)).collect())
        } else {
            Items::Values(ids.iter().map(|id| Some(self.value(*id))).collect())
        };
        if let Items::Numbers(numbers) = &items
            && let Some(at) = numbers.iter().position(|n| !n.is_finite())
        {
            self.finite(ids[at], numbers[at]);
        }
        Value::Series(Arc::new(Series { items, dates: None }))
    }

    pub(super) fn each(&mut self, id: Id, slot: Slot, args: Args, body: Id, bare: bool) -> Value {
        let terms = self.terms;
        let ids = terms.args(args);
        let mut all = Vec::with_capacity(ids.len());
        for id in ids {
            match self.series(*id) {
                Some(series) => all.push(series),
                None => return NO_VALUE,
            }
        }
        let Some((length, dates)) = self.common_rows(ids, &all) else { return NO_VALUE };
        let mut numbers = Vec::new();
        let mut values = Vec::new();
        for place in 0..length {
            if !self.step(id) {
                return NO_VALUE;
            }
            let mut gap = false;
            for (slot, series) in (slot..).zip(&all) {
                match series.get(place) {
                    Some(value) => self.set(slot, value),
                    None => gap = true,
                }
            }
            if bare {
                let number = if gap { f64::NAN } else { self.number(body) };
                if !gap && !number.is_finite() {
                    self.finite(body, number);
                }
                numbers.push(number);
            } else {
                let value = if gap { None } else { Some(self.value(body)) };
                values.push(value);
            }
            if let Some(fault) = self.fault.as_mut() {
                fault.message.push_str(&format!(" (at value {} of the series)", place + 1));
                return NO_VALUE;
            }
            if self.flow != Flow::On {
                return NO_VALUE;
            }
        }
        let items = if bare { Items::Numbers(numbers) } else { Items::Values(values) };
        Value::Series(Arc::new(Series { items, dates }))
    }

    /// The length and the dates that several series share.
    fn common_rows(
        &mut self,
        ids: &[Id],
        all: &[Arc<Series>],
    ) -> Option<(usize, Option<Arc<[Date]>>)> {
        let length = all.first()?.len();
        let mut dates: Option<Arc<[Date]>> = None;
        for (id, series) in ids.iter().zip(all) {
            if series.len() != length {
                self.fail(
                    *id,
                    Code::LENGTHS,
                    format!("this series has {} values, the one before has {length}", series.len()),
                );
                return None;
            }
            match (&dates, &series.dates) {
                (None, Some(own)) => dates = Some(Arc::clone(own)),
                (Some(before), Some(own)) if before != own => {
                    self.fail(
                        *id,
                        Code::LENGTHS,
                        "this series has other dates than the one before",
                    );
                    return None;
                }
                _ => {}
            }
        }
        Some((length, dates))
    }

    pub(super) fn filter(&mut self, slot: Slot, series: Id, keep: Id) -> Value {
        let Some(all) = self.series(series) else { return NO_VALUE };
        let mut places = Vec::new();
        for place in 0..all.len() {
            let Some(value) = all.get(place) else { continue };
            self.set(slot, value);
            if self.truth(keep) {
                places.push(place);
            }
            if !self.step(series) {
                return NO_VALUE;
            }
        }
        Value::Series(Arc::new(picked(&all, &places)))
    }

    pub(super) fn present(&mut self, series: Id) -> Value {
        let Some(all) = self.series(series) else { return NO_VALUE };
        let places: Vec<usize> = (0..all.len()).filter(|at| all.get(*at).is_some()).collect();
        Value::Series(Arc::new(picked(&all, &places)))
    }

    pub(super) fn filled(&mut self, series: Id, value: Id) -> Value {
        let value = self.value(value);
        let Some(all) = self.series(series) else { return NO_VALUE };
        let items = match &all.items {
            Items::Numbers(numbers) => {
                let fill = value.as_number().unwrap_or(f64::NAN);
                Items::Numbers(numbers.iter().map(|n| if n.is_nan() { fill } else { *n }).collect())
            }
            Items::Values(values) => Items::Values(
                values.iter().map(|v| v.clone().or_else(|| Some(value.clone()))).collect(),
            ),
        };
        Value::Series(Arc::new(Series { items, dates: all.dates.clone() }))
    }

    pub(super) fn sorted(&mut self, series: Id) -> Value {
        let Some(all) = self.series(series) else { return NO_VALUE };
        let items = match &all.items {
            Items::Numbers(numbers) => {
                let mut numbers: Vec<f64> =
                    numbers.iter().copied().filter(|n| !n.is_nan()).collect();
                numbers.sort_by(f64::total_cmp);
                Items::Numbers(numbers)
            }
            Items::Values(values) => {
                let mut amounts: Vec<Decimal> = values
                    .iter()
                    .flatten()
                    .filter_map(|v| if let Value::Money(m) = v { Some(*m) } else { None })
                    .collect();
                amounts.sort_unstable();
                Items::Values(amounts.into_iter().map(|m| Some(Value::Money(m))).collect())
            }
        };
        Value::Series(Arc::new(Series { items, dates: None }))
    }

    pub(super) fn running_sum(&mut self, id: Id, series: Id) -> Value {
        let Some(all) = self.series(series) else { return NO_VALUE };
        if let Some(place) = (0..all.len()).find(|at| all.get(*at).is_none()) {
            self.gap(series, place);
            return NO_VALUE;
        }
        if let Items::Numbers(numbers) = &all.items {
            let total = numbers.iter().fold(0.0, |sum, number| sum + number.abs());
            self.finite(id, total);
        }
        let items = match &all.items {
            Items::Numbers(numbers) => {
                let mut sum = 0.0;
                Items::Numbers(
                    numbers
                        .iter()
                        .map(|n| {
                            sum += n;
                            sum
                        })
                        .collect(),
                )
            }
            Items::Values(values) => {
                let mut sum = Some(Decimal::ZERO);
                let sums: Vec<Option<Value>> = values
                    .iter()
                    .map(|v| {
                        if let Some(Value::Money(m)) = v {
                            sum = sum.and_then(|s| s.checked_add(*m));
                        }
                        sum.map(Value::Money)
                    })
                    .collect();
                if sum.is_none() {
                    self.fail(id, Code::NO_VALUE, "this amount of money is too large");
                }
                Items::Values(sums)
            }
        };
        Value::Series(Arc::new(Series { items, dates: all.dates.clone() }))
    }

    pub(super) fn at(&mut self, id: Id, series: Id, place: Id) -> Value {
        let at = self.number(place);
        let Some(all) = self.series(series) else { return NO_VALUE };
        #[allow(clippy::cast_precision_loss)]
        let inside = at >= 0.0 && at < all.len() as f64 && at.fract() == 0.0;
        if !inside {
            let last = all.len().saturating_sub(1);
            self.fail(
                place,
                Code::OUT_OF_TABLE,
                format!("places are whole numbers from 0 to {last}, found {at}"),
            );
            return NO_VALUE;
        }
        // In range by the line above.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let at = at as usize;
        match all.get(at) {
            Some(value) => value,
            None => {
                self.gap(id, at);
                NO_VALUE
            }
        }
    }

    #[allow(clippy::cast_precision_loss)]
    pub(super) fn reduce(&mut self, id: Id, what: Reduction, series: Id) -> Value {
        let Some(all) = self.series(series) else { return NO_VALUE };
        let present: Vec<usize> = (0..all.len()).filter(|at| all.get(*at).is_some()).collect();
        if what == Reduction::Count {
            return Value::Number(present.len() as f64);
        }
        if matches!(what, Reduction::Sum | Reduction::Mean | Reduction::Any | Reduction::All)
            && present.len() < all.len()
        {
            let gap = (0..all.len()).find(|at| all.get(*at).is_none()).unwrap_or(0);
            self.gap(series, gap);
            return NO_VALUE;
        }
        match (what, &all.items) {
            (Reduction::Any | Reduction::All, Items::Values(values)) => {
                let mut truths = values.iter().map(|v| *v == Some(Value::Truth(true)));
                return Value::Truth(if what == Reduction::Any {
                    truths.any(|t| t)
                } else {
                    truths.all(|t| t)
                });
            }
            (Reduction::Sum, Items::Numbers(numbers)) => {
                // From a positive zero: the sum of nothing is 0, not -0.
                let sum = numbers.iter().fold(0.0, |sum, number| sum + number);
                return Value::Number(self.finite(id, sum));
            }
            (Reduction::Sum | Reduction::Mean, Items::Values(values)) => {
                return self.sum_of_money(id, values, what == Reduction::Mean);
            }
            _ => {}
        }
        let Some(best) = self.chosen(what, &all, &present) else {
            self.fail(series, Code::NO_VALUE, "this series has no values");
            return NO_VALUE;
        };
        match what {
            Reduction::Mean => match &all.items {
                Items::Numbers(numbers) => {
                    Value::Number(numbers.iter().sum::<f64>() / numbers.len() as f64)
                }
                Items::Values(_) => NO_VALUE,
            },
            Reduction::PlaceOfLeast | Reduction::PlaceOfGreatest => Value::Number(best as f64),
            _ => all.get(best).unwrap_or(NO_VALUE),
        }
    }

    /// The place of the value that a reduction is about.
    fn chosen(&self, what: Reduction, all: &Series, present: &[usize]) -> Option<usize> {
        let rank = |a: &usize, b: &usize| match (all.get(*a), all.get(*b)) {
            (Some(Value::Number(a)), Some(Value::Number(b))) => a.total_cmp(&b),
            (Some(Value::Money(a)), Some(Value::Money(b))) => a.cmp(&b),
            (Some(Value::Date(a)), Some(Value::Date(b))) => a.cmp(&b),
            _ => std::cmp::Ordering::Equal,
        };
        match what {
            Reduction::Last => present.last().copied(),
            Reduction::Least | Reduction::PlaceOfLeast => present.iter().copied().min_by(rank),
            // Of equals the first one, as for the least.
            Reduction::Greatest | Reduction::PlaceOfGreatest => {
                present.iter().rev().copied().max_by(rank)
            }
            _ => present.first().copied(),
        }
    }

    fn sum_of_money(&mut self, id: Id, values: &[Option<Value>], mean: bool) -> Value {
        let sum = values.iter().flatten().try_fold(Decimal::ZERO, |sum, value| match value {
            Value::Money(amount) => sum.checked_add(*amount),
            _ => None,
        });
        #[allow(clippy::cast_precision_loss)]
        let result = if mean {
            sum.zip(money::from_number(values.len() as f64)).and_then(|(s, n)| s.checked_div(n))
        } else {
            sum
        };
        match result {
            Some(amount) => Value::Money(amount),
            None => {
                self.fail(id, Code::NO_VALUE, "this amount of money has no value");
                NO_VALUE
            }
        }
    }

    pub(super) fn interpolate(&mut self, id: Id, xs: Id, ys: Id, at: Id) -> f64 {
        let place = self.number(at);
        let (Some(x), Some(y)) = (self.series(xs), self.series(ys)) else { return f64::NAN };
        let (Items::Numbers(x), Items::Numbers(y)) = (&x.items, &y.items) else {
            return f64::NAN;
        };
        if x.len() != y.len() || x.is_empty() {
            return self.fail(
                ys,
                Code::LENGTHS,
                format!("{} places but {} values", x.len(), y.len()),
            );
        }
        for (id, items) in [(xs, x), (ys, y)] {
            if let Some(gap) = items.iter().position(|n| n.is_nan()) {
                return self.gap(id, gap);
            }
        }
        let rising = x.windows(2).all(|w| w[0] < w[1]);
        if !rising && !x.windows(2).all(|w| w[0] > w[1]) {
            return self.fail(
                xs,
                Code::NO_VALUE,
                "the places of a table to look up must rise or fall throughout",
            );
        }
        let (first, last) = (x[0], x[x.len() - 1]);
        if !(place >= first.min(last) && place <= first.max(last)) {
            let number = |n| self.worded(id, 0, n);
            let why = format!(
                "{} lies outside the table, which goes from {} to {}",
                number(place),
                number(first),
                number(last)
            );
            return self.fail(at, Code::OUT_OF_TABLE, why);
        }
        let upper = x.iter().position(|n| if rising { *n >= place } else { *n <= place });
        let upper = upper.unwrap_or(x.len() - 1).max(1).min(x.len() - 1);
        if x.len() == 1 {
            return y[0];
        }
        let share = (place - x[upper - 1]) / (x[upper] - x[upper - 1]);
        let value = y[upper - 1] + share * (y[upper] - y[upper - 1]);
        self.finite(id, value)
    }
}

/// The values at some places, with their dates.
fn picked(all: &Series, places: &[usize]) -> Series {
    let items = match &all.items {
        Items::Numbers(numbers) => Items::Numbers(places.iter().map(|at| numbers[*at]).collect()),
        Items::Values(values) => {
            Items::Values(places.iter().map(|at| values[*at].clone()).collect())
        }
    };
    let dates = all.dates.as_ref().map(|dates| places.iter().map(|at| dates[*at]).collect());
    Series { items, dates }
}
