//! What varies in an exercise: ranges, lists and readings, held against the knowns that they are for.

use std::collections::HashSet;

use forebay_units::{Dimension, Unit, number_and_unit, shortest};

use super::{Result, Sheet};
use crate::compile::Role;
use crate::diagnostic::{Code, Diagnostic};
use crate::exercise::{Draw, Noise, Rounding, Varied};
use crate::value::{Scalar, Type, Value};
use crate::worksheet::{Readings, Rounded, Text, Vary};

/// More values than this in one range have too many digits to be read.
const MOST_VALUES: f64 = 1e9;
/// The figures of a reading where nothing is said.
const USUAL_FIGURES: usize = 3;

impl Sheet {
    fn known_type(&mut self, name: &Text) -> Result<(usize, Type)> {
        let known = self.by_name.get(&name.text).copied().filter(|at| self.is_settable(*at));
        let Some(at) = known else {
            return Err(Box::new(self.no_such_known(&name.text, name.span)));
        };
        match self.compiled.cells[at].ty {
            Some(ty) => Ok((at, ty)),
            None => Err(Box::new(
                Diagnostic::new(
                    Code::NO_VALUE,
                    format!("`{}` has no value to vary about", name.text),
                    name.span,
                )
                .help("give it one under `known`; the sheet must run as it stands"),
            )),
        }
    }

    pub(super) fn varied(&mut self, vary: &Vary) -> Result<Varied> {
        let name = &vary.known;
        let (at, ty) = self.known_type(name)?;
        if let Type::Series(_) = ty {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    format!("`{}` is a {ty}, and one value is drawn here", name.text),
                    name.span,
                )
                .help("put it under `readings`, with its `noise`"),
            ));
        }
        if vary.between.is_some()
            && let Some(choose) = &vary.choose
        {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_SHAPE,
                    format!("`{}` has both a range and a list", name.text),
                    choose.span,
                )
                .help("keep `between` or `choose`"),
            ));
        }
        let Role::Known(place) = self.compiled.cells[at].role else {
            return Err(Box::new(self.no_such_known(&name.text, name.span)));
        };
        let own = &self.worksheet.known[place];
        let (own_between, own_choose) = (own.between.clone(), own.choose.clone());
        let draw = if let Some(choose) = &vary.choose {
            self.list(name, ty, choose)?
        } else if let Some(between) = &vary.between {
            self.range(name, ty, between, &vary.rounded)?
        } else if let Some(choose) = own_choose {
            self.list(name, ty, &choose)?
        } else if let Some(between) = own_between {
            self.range(name, ty, &between, &vary.rounded)?
        } else {
            return Err(Box::new(
                Diagnostic::new(
                    Code::MISSING_KEY,
                    format!("within what `{}` varies is not said", name.text),
                    name.span,
                )
                .help("add `between: [150 mm, 300 mm]` or `choose: [150 mm, 188 mm]` below it"),
            ));
        };
        Ok(Varied { known: name.text.clone(), draw, hidden: vary.hidden })
    }

    /// The values of a list or a column as texts that a known can be set to.
    fn list(&mut self, name: &Text, ty: Type, choose: &Text) -> Result<Draw> {
        let literal = choose.text.trim_start().starts_with('[');
        let looked = self.look(choose, literal)?;
        if looked.ty.scalar() != ty.scalar() {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_DIMENSION,
                    format!("`{}` is {ty}, and this is {}", name.text, looked.ty),
                    choose.span,
                )
                .help("list values of the same kind"),
            ));
        }
        let unit = number_units(choose)
            .or_else(|| self.by_name.get(&name.text).and_then(|at| self.unit_of(*at, None)));
        let one = |value: &Value| written(value, unit.as_ref(), ty, self.style().currency);
        let texts: Option<Vec<String>> = match &looked.value {
            Some(Value::Series(series)) => {
                (0..series.len()).filter_map(|at| series.get(at)).map(|v| one(&v)).collect()
            }
            Some(value) => one(value).map(|text| vec![text]),
            None => None,
        };
        match texts.filter(|texts| !texts.is_empty()) {
            Some(texts) => Ok(Draw::List(texts)),
            None => Err(Box::new(
                Diagnostic::new(Code::NO_VALUE, "there is nothing to choose from", choose.span)
                    .help("list at least one value"),
            )),
        }
    }

    fn range(
        &mut self,
        name: &Text,
        ty: Type,
        (low, high): &(Text, Text),
        rounded: &Rounded,
    ) -> Result<Draw> {
        let Some(dimension) = ty.dimension() else {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    format!("`{}` is a {ty} and has no range", name.text),
                    low.span,
                )
                .help("list its values: `choose: [steel, plastic]`"),
            ));
        };
        let (low_text, unit) = self.end(name, low)?;
        let (high_text, high_unit) = self.end(name, high)?;
        let number = |text: &str| number_and_unit(text).map_or(f64::NAN, |(number, _)| number);
        let (from, to) = (number(&low_text), unit.from_si(high_unit.to_si(number(&high_text))));
        if from.partial_cmp(&to) != Some(std::cmp::Ordering::Less) {
            return Err(Box::new(
                Diagnostic::new(Code::REFUSED, "the range has no width", low.span.to(high.span))
                    .help("write the lower end first: `between: [150 mm, 300 mm]`"),
            ));
        }
        let decimals = decimals(&low_text).max(decimals(&high_text));
        let rounding = match (&rounded.step, rounded.figures) {
            (Some(step), _) => {
                let by = self.step(name, dimension, &unit, step)?;
                if by > to - from {
                    return Err(Box::new(
                        Diagnostic::new(
                            Code::REFUSED,
                            "the step is wider than the range",
                            step.span,
                        )
                        .help("make it smaller"),
                    ));
                }
                if (to - from) / by > MOST_VALUES {
                    return Err(Box::new(
                        Diagnostic::new(
                            Code::REFUSED,
                            "the step is so small that its values have more digits than a learner reads",
                            step.span,
                        )
                        .help("make it larger, or say how many `figures`"),
                    ));
                }
                Rounding::Step { step: by, decimals: step_decimals(by).max(decimals) }
            }
            (None, Some(figures)) => Rounding::Figures(figures),
            // As finely as its ends are written.
            (None, None) => Rounding::Step { step: 10_f64.powi(-places(decimals)), decimals },
        };
        Ok(Draw::Range { low: from, high: to, unit, rounding })
    }

    /// An end of a range: its number as written, and its unit.
    fn end(&mut self, name: &Text, end: &Text) -> Result<(String, Unit)> {
        // What does not fit the known is told as where it is set to it.
        self.prepared(&name.text, end.span)?;
        let looked = self.look(end, true)?;
        looked.typed.ok_or_else(|| {
            Box::new(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    "the end of a range is one number with its unit",
                    end.span,
                )
                .help("write it out, such as `150 mm`"),
            )
        })
    }

    /// A step as a number in the unit of the values.
    fn step(&mut self, name: &Text, dimension: Dimension, unit: &Unit, step: &Text) -> Result<f64> {
        let looked = self.look(step, true)?;
        let wanted = dimension.as_difference();
        let fits = looked.ty == Type::number(wanted);
        let by = looked.value.as_ref().and_then(Value::as_number).unwrap_or(f64::NAN);
        let by = by / unit.factor().abs();
        if !fits {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_DIMENSION,
                    format!("a step of `{}` is {wanted}, and this is {}", name.text, looked.ty),
                    step.span,
                )
                .help("write a difference, such as `5 mm`, `2 L/s` or `1 K`"),
            ));
        }
        if !(by > 0.0 && by.is_finite()) {
            return Err(Box::new(
                Diagnostic::new(Code::REFUSED, "a step is larger than zero", step.span)
                    .help("write how far two values lie apart at least"),
            ));
        }
        Ok(by)
    }

    pub(super) fn readings_of(
        &mut self,
        readings: &Readings,
        besides: &mut HashSet<u32>,
    ) -> Result<Varied> {
        let name = &readings.known;
        let (at, ty) = self.known_type(name)?;
        let (Type::Series(Scalar::Number(dimension)), false) = (ty, ty.scalar().is_money()) else {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    format!("`{}` is {ty}, and readings are a list of numbers", name.text),
                    name.span,
                )
                .help("write the known as a list, `[152 mm, 149 mm]`, or put it under `vary`"),
            ));
        };
        let looked = self.look(&readings.noise, true)?;
        let size = looked.value.as_ref().and_then(Value::as_number).unwrap_or(f64::NAN);
        let percent = readings.noise.text.trim_end().ends_with('%');
        let noise = if looked.ty == Type::PLAIN && percent {
            Noise::Relative(size)
        } else if looked.ty == Type::number(dimension.as_difference()) {
            Noise::Absolute(size)
        } else {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_DIMENSION,
                    format!(
                        "the noise of `{}` is {} or a percentage, and this is {}",
                        name.text,
                        dimension.as_difference(),
                        looked.ty
                    ),
                    readings.noise.span,
                )
                .help("write how far one reading may be off, such as `2 mm` or `1.5 %`"),
            ));
        };
        if !(size >= 0.0 && size.is_finite()) {
            return Err(Box::new(
                Diagnostic::new(Code::REFUSED, "noise is not negative", readings.noise.span)
                    .help("write one standard deviation, without a sign"),
            ));
        }
        let around = readings.around.as_ref().map(|around| self.around(around, dimension, besides));
        let around = around.transpose()?;
        let own = match self.compiled.cells[at].role {
            Role::Known(place) => number_units(&self.worksheet.known[place].is),
            _ => None,
        };
        let unit = own
            .or_else(|| self.unit_of(at, self.values[at].as_ref()))
            .unwrap_or_else(|| Unit::coherent(dimension, None));
        let rounding = match (&readings.rounded.step, readings.rounded.figures) {
            (Some(step), _) => {
                let step = self.step(name, dimension, &unit, step)?;
                Rounding::Step { step, decimals: step_decimals(step) }
            }
            (None, figures) => Rounding::Figures(figures.unwrap_or(USUAL_FIGURES)),
        };
        let count = readings.count.unwrap_or(1);
        let draw = Draw::Readings { around, count, noise, unit, rounding };
        Ok(Varied { known: name.text.clone(), draw, hidden: false })
    }

    fn around(
        &mut self,
        around: &Text,
        dimension: Dimension,
        besides: &mut HashSet<u32>,
    ) -> Result<String> {
        let looked = self.look(around, false)?;
        if looked.ty.scalar() != Scalar::Number(dimension) {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_DIMENSION,
                    format!("the readings are {dimension}, and this is {}", looked.ty),
                    around.span,
                )
                .help("write a formula for what the readings would be without any error"),
            ));
        }
        besides.extend(&looked.reads);
        Ok(self.one_line(around))
    }
}

/// The unit that the first number of a list is written in.
fn number_units(list: &Text) -> Option<Unit> {
    let inside = list.text.trim().strip_prefix('[')?;
    let first = inside.split([',', ']']).next()?;
    number_and_unit(first).ok().map(|(_, unit)| unit)
}

/// A value as it is written in a sheet.
fn written(
    value: &Value,
    unit: Option<&Unit>,
    ty: Type,
    currency: Option<forebay_units::Currency>,
) -> Option<String> {
    match value {
        Value::Number(si) => {
            let own = Unit::coherent(ty.dimension()?, currency);
            let unit = unit.unwrap_or(&own);
            // Standard sizes have a few figures; what is left of a conversion is none of them.
            let number: f64 = format!("{:.11e}", unit.from_si(*si)).parse().ok()?;
            let number = shortest(number)?;
            let space = if *unit == Unit::ONE { "" } else { " " };
            let symbol = if *unit == Unit::ONE { "" } else { unit.symbol() };
            Some(format!("{number}{space}{symbol}"))
        }
        Value::Money(amount) => Some(format!("{amount} {}", currency?.code())),
        Value::Truth(truth) => Some((if *truth { "yes" } else { "no" }).to_owned()),
        Value::Text(text) if text.contains('"') => None,
        Value::Text(text) => Some(format!("\"{text}\"")),
        Value::Date(date) => Some(date.to_string()),
        Value::Series(_) => None,
    }
}

/// How many decimals a number is written with.
fn decimals(number: &str) -> usize {
    let mantissa = number.split(['e', 'E']).next().unwrap_or(number);
    mantissa.split_once('.').map_or(0, |(_, after)| after.trim_end_matches('_').len())
}

/// How many decimals a step needs.
fn step_decimals(step: f64) -> usize {
    let rounded: f64 = format!("{step:.8e}").parse().unwrap_or(step);
    shortest(rounded).map_or(0, |text| match text.split_once('e') {
        Some((_, power)) => power.trim_start_matches('-').parse().unwrap_or(0),
        None => decimals(&text),
    })
}

fn places(decimals: usize) -> i32 {
    i32::try_from(decimals).unwrap_or(0)
}
