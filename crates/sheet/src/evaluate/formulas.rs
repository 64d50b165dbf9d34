//! Calls of the library's formulas: refusals, warnings, series and words among the arguments.

use std::sync::Arc;

use forebay_formulas::{Argument, Doubted, Formula, Kind, Warning};
use forebay_units::{Dimension, System, money};
use jiff::civil::Date;

use super::{Flow, MOST_ARGUMENTS, Machine};
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::term::{Args, Id};
use crate::value::{Items, Series, Value};

impl Machine<'_> {
    pub(super) fn formula(&mut self, id: Id, formula: &'static Formula, args: Args) -> f64 {
        let terms = self.terms;
        let ids = terms.args(args);
        let mut numbers = [0.0; MOST_ARGUMENTS];
        if ids.len() > MOST_ARGUMENTS {
            return f64::NAN;
        }
        for (number, id) in numbers.iter_mut().zip(ids) {
            *number = self.number(*id);
        }
        let numbers = &numbers[..ids.len()];
        if self.fault.is_some() || self.flow != Flow::On {
            return f64::NAN;
        }
        self.steps = self.steps.saturating_sub(1);
        for (at, (parameter, number)) in formula.parameters.iter().zip(numbers).enumerate() {
            if !parameter.must.holds(*number) {
                return self.refuse(formula, at, ids[at], numbers);
            }
            if self.watching && !parameter.valid.holds(*number) {
                let warning = Warning::Outside { formula: formula.name, parameter, value: *number };
                self.warnings.push((ids[at], warning));
            }
        }
        let result = formula.body.number(numbers);
        if !result.is_finite() {
            let reason = formula.limits.iter().find(|limit| !(limit.holds)(numbers));
            let why = reason.map_or(String::new(), |limit| format!(": it needs {}", limit.says));
            return self.fail(
                id,
                Code::NO_VALUE,
                format!("`{}` has no answer here{why}", formula.name),
            );
        }
        if self.watching {
            for limit in formula.limits {
                if !(limit.holds)(numbers) {
                    let warning = Warning::Limit { formula: formula.name, says: limit.says };
                    self.warnings.push((id, warning));
                }
            }
        }
        result
    }

    pub(super) fn refuse(
        &mut self,
        formula: &Formula,
        at: usize,
        argument: Id,
        numbers: &[f64],
    ) -> f64 {
        let why = formula
            .refusal(numbers)
            .unwrap_or_else(|| format!("`{}` is out of range", formula.parameters[at].name));
        self.fail(argument, Code::REFUSED, format!("`{}`: {why}", formula.name))
    }

    pub(super) fn series_formula(&mut self, id: Id, formula: &'static Formula, args: Args) -> f64 {
        let answer = |arguments: &[Argument<'_>]| formula.doubted_answer(arguments);
        self.with_series(id, formula, args, answer).map_or(f64::NAN, |(number, _)| number)
    }

    pub(super) fn series_of_formula(
        &mut self,
        id: Id,
        formula: &'static Formula,
        args: Args,
    ) -> Value {
        let answers = |arguments: &[Argument<'_>]| formula.doubted_answers(arguments);
        match self.with_series(id, formula, args, answers) {
            Some((numbers, dates)) => {
                // As many values as dates: one for each day that went in.
                let dates = dates.filter(|dates| dates.len() == numbers.len());
                let items = if formula.result.dimension == Dimension::MONEY {
                    self.amounts(id, &numbers)
                } else {
                    Some(Items::Numbers(numbers))
                };
                items.map_or(Value::Number(f64::NAN), |items| {
                    Value::Series(Arc::new(Series { items, dates }))
                })
            }
            None => Value::Number(f64::NAN),
        }
    }

    /// Money is exact from here on.
    fn amounts(&mut self, id: Id, numbers: &[f64]) -> Option<Items> {
        let amounts = numbers.iter().map(|number| money::from_number(*number).map(Value::Money));
        let amounts: Vec<Option<Value>> = amounts.collect();
        if amounts.iter().any(Option::is_none) {
            self.fail(id, Code::NO_VALUE, "an amount of money is too large");
            return None;
        }
        Some(Items::Values(amounts))
    }

    /// Runs a body whose arguments may be series; also gives the dates of the first dated one.
    fn with_series<T>(
        &mut self,
        id: Id,
        formula: &'static Formula,
        args: Args,
        answer: impl Fn(&[Argument<'_>]) -> Doubted<T>,
    ) -> Option<(T, Option<Arc<[Date]>>)> {
        let terms = self.terms;
        let ids = terms.args(args);
        let mut owned: Vec<Value> = Vec::with_capacity(ids.len());
        for (parameter, id) in formula.parameters.iter().zip(ids) {
            owned.push(match (parameter.kind, self.value(*id)) {
                (Kind::Series(_), Value::Series(series)) => {
                    if let Some(place) = (0..series.len()).find(|at| series.get(*at).is_none()) {
                        self.gap(*id, place);
                        return None;
                    }
                    Value::Series(bare_items(&series))
                }
                (_, other) => other,
            });
        }
        if self.fault.is_some() || self.flow != Flow::On {
            return None;
        }
        let elements: usize = owned.iter().filter_map(Value::as_series).map(Series::len).sum();
        self.steps = self.steps.saturating_sub(1 + elements as u64);
        let texts: Vec<Vec<&str>> = owned.iter().map(texts_of).collect();
        let arguments: Vec<Argument<'_>> = owned
            .iter()
            .zip(&texts)
            .map(|(value, texts)| match value {
                Value::Series(series) => match &series.items {
                    Items::Numbers(numbers) => Argument::Series(numbers),
                    Items::Values(_) => Argument::Texts(texts),
                },
                other => Argument::Number(other.as_number().unwrap_or(f64::NAN)),
            })
            .collect();
        match answer(&arguments) {
            Ok((result, doubt)) => {
                if self.watching {
                    let warnings = formula.warnings_with(&arguments, doubt);
                    self.warnings.extend(warnings.into_iter().map(|warning| (id, warning)));
                }
                let dates = owned.iter().find_map(|v| v.as_series().and_then(|s| s.dates.clone()));
                Some((result, dates))
            }
            Err(refusal) => {
                // "never" is a result, and no mistake of the sheet.
                let code = if refusal.0.split(' ').any(|word| word == "never") {
                    Code::NEVER
                } else {
                    Code::REFUSED
                };
                self.fail(id, code, format!("`{}`: {}", formula.name, refusal.0));
                None
            }
        }
    }

    /// The word that a result stands for.
    pub(super) fn word(&mut self, id: Id, formula: &'static Formula, index: Id) -> Value {
        let index = self.number(index);
        let mut words = (0_u16..).map(f64::from).zip(formula.result.words);
        match words.find(|(at, _)| *at == index) {
            Some((_, word)) => Value::Text((*word).into()),
            None => {
                if !index.is_nan() {
                    self.fail(id, Code::NO_VALUE, format!("`{}` has no answer here", formula.name));
                }
                Value::Number(f64::NAN)
            }
        }
    }

    /// The index of a text among the words of a choice.
    #[allow(clippy::cast_precision_loss)]
    pub(super) fn choice(&mut self, id: Id, formula: &'static Formula, place: u8, text: Id) -> f64 {
        let Value::Text(text) = self.value(text) else { return f64::NAN };
        let parameter = &formula.parameters[usize::from(place)];
        let Kind::Choice(words) = parameter.kind else { return f64::NAN };
        match words.iter().position(|word| *word == &*text) {
            Some(index) => index as f64,
            None => self.fail(
                id,
                Code::REFUSED,
                format!(
                    "`{}` of `{}` is one of \"{}\", found \"{text}\"",
                    parameter.name,
                    formula.name,
                    words.join("\", \"")
                ),
            ),
        }
    }
}

/// A series as formulas take it: without gaps, money as bare numbers.
#[derive(Clone, Debug)]
pub(crate) struct ReadySeries(pub(crate) Value);

/// A series ready for formulas; `None` for one with gaps, and for what is no series.
pub(crate) fn ready_series(value: &Value) -> Option<ReadySeries> {
    let Value::Series(series) = value else { return None };
    if series.gaps() > 0 {
        return None;
    }
    let texts = matches!(&series.items, Items::Values(values)
        if values.iter().any(|value| matches!(value, Some(Value::Text(_)))));
    Some(ReadySeries(Value::Series(if texts { Arc::clone(series) } else { bare_items(series) })))
}

/// The texts of a series of texts; a gap is an empty one.
pub(crate) fn texts_of(value: &Value) -> Vec<&str> {
    match value.as_series().map(|series| &series.items) {
        Some(Items::Values(values)) => values
            .iter()
            .map(|value| if let Some(Value::Text(text)) = value { text } else { "" })
            .collect(),
        _ => Vec::new(),
    }
}

/// What a source does not vouch for, at its place.
pub(super) fn warning(span: Span, warning: &Warning, system: System) -> Diagnostic {
    Diagnostic::new(Code::OUTSIDE_VALIDITY, warning.in_words(system), span)
}

/// The same series with money as bare numbers, as formulas take it.
fn bare_items(series: &Arc<Series>) -> Arc<Series> {
    match &series.items {
        Items::Numbers(_) => Arc::clone(series),
        Items::Values(values) => Arc::new(Series {
            items: Items::Numbers(
                values
                    .iter()
                    .map(|v| v.as_ref().and_then(Value::as_number).unwrap_or(f64::NAN))
                    .collect(),
            ),
            dates: series.dates.clone(),
        }),
    }
}
