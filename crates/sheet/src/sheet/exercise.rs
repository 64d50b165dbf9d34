//! The exercise of a sheet, held against its cells: every name, unit and range is looked at when
//! the sheet is opened.

use std::collections::HashSet;

use forebay_units::{Dimension, Unit, nearest, number_and_unit, shortest};

use super::Sheet;
use crate::compile::Role;
use crate::compile::outside::{FromOutside, formula_from_outside};
use crate::compile::parse::unit_diagnostic;
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::evaluate::Machine;
use crate::exercise::{
    Accepted, Condition, Draw, Exercise, Noise, Question, Rounding, Varied, Wanted,
};
use crate::value::{Scalar, Type, Value};
use crate::worksheet::{Ask, Readings, Rounded, Text, Vary};

/// What is accepted where nothing is said; common practice, no source.
const USUAL_TOLERANCE: f64 = 0.02;
/// What a slip leaves of the points where nothing is said; common practice, no source.
const SLIP_CREDIT: f64 = 0.5;
/// What rounding too far leaves of them; common practice, no source.
const ROUNDING_CREDIT: f64 = 0.8;
/// The figures of a reading where nothing is said.
const USUAL_FIGURES: usize = 3;

/// A formula of the exercise, looked at.
struct Looked {
    ty: Type,
    value: Option<Value>,
    typed: Option<(String, Unit)>,
    reads: Vec<u32>,
}

type Result<T> = std::result::Result<T, Box<Diagnostic>>;

impl Sheet {
    /// What an instructor makes of the sheet, as far as it is sound; the diagnostics say what is
    /// not.
    #[must_use]
    pub fn exercise(&self) -> Option<&Exercise> {
        self.exercise.as_ref()
    }

    /// The names of the cells that a cell reads, and those that they read, itself not among them.
    #[must_use]
    pub fn behind(&self, name: &str) -> HashSet<&str> {
        let mut found = HashSet::new();
        let mut open: Vec<usize> = self.by_name.get(name).copied().into_iter().collect();
        while let Some(at) = open.pop() {
            for read in &self.compiled.cells[at].reads {
                let cell = &self.compiled.cells[*read as usize];
                if found.insert(cell.name.as_str()) {
                    open.push(*read as usize);
                }
            }
        }
        found
    }

    /// Looks at the exercise; what is wrong goes to the diagnostics.
    pub(super) fn look_over_exercise(&mut self) {
        let Some(written) = self.worksheet.exercise.clone() else { return };
        let mut exercise = Exercise {
            title: written.title.clone(),
            text: written.text.as_ref().map(|text| text.text.clone()),
            caution: written.caution.clone(),
            varied: Vec::new(),
            conditions: Vec::new(),
            questions: Vec::new(),
            slip_credit: self.share(written.slip_credit.as_ref(), SLIP_CREDIT),
            rounding_credit: self.share(written.rounding_credit.as_ref(), ROUNDING_CREDIT),
        };
        // Cells that what varies or is accepted reads beside what is asked.
        let mut read_besides: HashSet<u32> = HashSet::new();
        for vary in &written.vary {
            let varied = self.varied(vary);
            exercise.varied.extend(self.kept(varied));
        }
        for readings in &written.readings {
            let varied = self.readings_of(readings, &mut read_besides);
            exercise.varied.extend(self.kept(varied));
        }
        for (name, that) in &written.conditions {
            let looked = self.condition(name, that, &mut read_besides);
            exercise.conditions.extend(self.kept(looked));
        }
        for ask in &written.ask {
            // What is broken has been told where it stands.
            if self.is_broken(&ask.cell.text) {
                continue;
            }
            let question = self.question(ask, &mut read_besides);
            exercise.questions.extend(self.kept(question));
        }
        self.look_over_varied(&written.vary, &written.readings, &exercise, &read_besides);
        let hidden: Vec<&str> = exercise
            .varied
            .iter()
            .filter(|varied| varied.hidden)
            .map(|varied| varied.known.as_str())
            .collect();
        let texts = written
            .text
            .iter()
            .chain(written.ask.iter().flat_map(|ask| ask.text.iter().chain(&ask.hint)));
        let mut found = Vec::new();
        for text in texts {
            self.look_over_text(text, &hidden, &mut found);
        }
        self.reading.extend(found);
        self.exercise = Some(exercise);
    }

    fn is_broken(&self, name: &str) -> bool {
        match self.by_name.get(name) {
            Some(at) => self.compiled.cells[*at].ty.is_none() && !self.is_settable(*at),
            None => self.worksheet.broken.iter().any(|broken| broken.text == name),
        }
    }

    fn kept<T>(&mut self, result: Result<T>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(diagnostic) => {
                self.reading.push(*diagnostic);
                None
            }
        }
    }

    /// A share from 0 to 1, written in per cent or as a number.
    fn share(&mut self, text: Option<&Text>, usual: f64) -> f64 {
        let Some(text) = text else { return usual };
        let looked = self.look(text, true);
        let share = looked.and_then(|looked| {
            let number = looked.value.as_ref().and_then(Value::as_number);
            match number.filter(|share| looked.ty == Type::PLAIN && (0.0..=1.0).contains(share)) {
                Some(share) => Ok(share),
                None => Err(Box::new(
                    Diagnostic::new(Code::REFUSED, "a share lies between 0 % and 100 %", text.span)
                        .help("write it as `50 %`"),
                )),
            }
        });
        self.kept(share).unwrap_or(usual)
    }

    /// Reads a formula or a value of the exercise at its place in the file.
    fn look(&mut self, text: &Text, as_value: bool) -> Result<Looked> {
        let mark = self.compiled.terms.mark();
        let lowered = formula_from_outside(&mut self.compiled, &self.sources, text.span, as_value);
        let result = match lowered {
            Ok(FromOutside { lowered, slots, typed, reads }) => {
                let missing = reads.iter().any(|read| self.values[*read as usize].is_none());
                let value = if missing {
                    None
                } else {
                    let style = self.style();
                    let mut machine = Machine::new(
                        &self.compiled.terms,
                        &self.values,
                        &self.compiled.scripts,
                        style,
                    );
                    machine.cell(lowered.id, slots).0.ok()
                };
                Ok(Looked { ty: lowered.ty, value, typed, reads })
            }
            Err(mut diagnostics) => Err(Box::new(diagnostics.swap_remove(0))),
        };
        self.compiled.terms.back_to(mark);
        result
    }

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

    fn varied(&mut self, vary: &Vary) -> Result<Varied> {
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

    fn readings_of(&mut self, readings: &Readings, besides: &mut HashSet<u32>) -> Result<Varied> {
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

    fn condition(
        &mut self,
        name: &Text,
        that: &Text,
        besides: &mut HashSet<u32>,
    ) -> Result<Condition> {
        let looked = self.look(that, false)?;
        if looked.ty != Type::TRUTH {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    format!(
                        "the condition `{}` is {}, and yes or no is wanted",
                        name.text, looked.ty
                    ),
                    that.span,
                )
                .help("compare it with something, such as `velocity < 3 m/s`"),
            ));
        }
        besides.extend(&looked.reads);
        Ok(Condition { name: name.text.clone(), that: self.one_line(that) })
    }

    fn question(&mut self, ask: &Ask, besides: &mut HashSet<u32>) -> Result<Question> {
        let name = &ask.cell;
        let at = self.by_name.get(&name.text).copied();
        let Some(at) = at else {
            let near = nearest(&name.text, self.by_name.keys().map(String::as_str));
            let message = format!("`{}` is asked for, but there is no such cell", name.text);
            let diagnostic = Diagnostic::new(Code::UNKNOWN_NAME, message, name.span);
            return Err(Box::new(match near.first() {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => diagnostic.help("name a cell of `work` or a check"),
            }));
        };
        if self.is_settable(at) {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    format!("`{}` is given to the learner and cannot be asked for", name.text),
                    name.span,
                )
                .help("ask for a cell of `work` or a check"),
            ));
        }
        let ty = self.compiled.cells[at].ty.unwrap_or(Type::PLAIN);
        let wanted = match ty {
            Type::One(Scalar::Number(dimension)) => self.number_wanted(ask, dimension, besides)?,
            Type::One(Scalar::Truth) => Wanted::YesNo,
            Type::One(Scalar::Text) => Wanted::Choice(self.words(ask)?),
            _ => {
                return Err(Box::new(
                    Diagnostic::new(
                        Code::WRONG_KIND,
                        format!("`{}` is a {ty}, and one value is asked for", name.text),
                        name.span,
                    )
                    .help("ask for a number, a yes or no, or a word to choose"),
                ));
            }
        };
        if !matches!(wanted, Wanted::Number { .. }) {
            let only = [&ask.unit, &ask.tolerance].into_iter().flatten().next();
            if let Some(only) = only {
                return Err(Box::new(
                    Diagnostic::new(
                        Code::WRONG_KIND,
                        format!("`{}` is {ty}, and only a number has this", name.text),
                        only.span,
                    )
                    .help("leave it out"),
                ));
            }
        }
        let about = self.cell(&name.text).and_then(|cell| cell.about().map(str::to_owned));
        let text = match &ask.text {
            Some(text) => text.text.clone(),
            None => match (about, &wanted) {
                (Some(about), _) => about,
                (None, Wanted::YesNo) => format!("{}: yes or no?", in_words(&name.text)),
                (None, _) => format!("Find the {}.", in_words(&name.text)),
            },
        };
        Ok(Question {
            cell: name.text.clone(),
            text,
            hint: ask.hint.as_ref().map(|hint| hint.text.clone()),
            points: ask.points.unwrap_or(1.0),
            wanted,
        })
    }

    fn number_wanted(
        &mut self,
        ask: &Ask,
        dimension: Dimension,
        besides: &mut HashSet<u32>,
    ) -> Result<Wanted> {
        let name = &ask.cell.text;
        let unit = match &ask.unit {
            None => None,
            Some(text) => {
                let unit = Unit::parse(text.text.trim());
                let unit = unit.map_err(|error| Box::new(unit_diagnostic(&error, text.span)))?;
                if dimension.alike(unit.dimension()).is_err() {
                    let (symbol, of) = (unit.symbol(), unit.dimension());
                    return Err(Box::new(
                        Diagnostic::new(
                            Code::WRONG_DIMENSION,
                            format!("`{symbol}` is a unit of {of}, and `{name}` is {dimension}"),
                            text.span,
                        )
                        .help("name a unit that fits what is asked for"),
                    ));
                }
                Some(unit)
            }
        };
        let accepted = match (&ask.tolerance, &ask.between) {
            (Some(tolerance), Some(_)) => {
                return Err(Box::new(
                    Diagnostic::new(
                        Code::WRONG_SHAPE,
                        format!("`{name}` has both a tolerance and a band"),
                        tolerance.span,
                    )
                    .help("keep `tolerance` or `between`"),
                ));
            }
            (Some(tolerance), None) => self.tolerance(name, dimension, tolerance)?,
            (None, Some((low, high))) => {
                for end in [low, high] {
                    let looked = self.look(end, false)?;
                    if looked.ty != Type::number(dimension) {
                        return Err(Box::new(
                            Diagnostic::new(
                                Code::WRONG_DIMENSION,
                                format!("`{name}` is {dimension}, and this is {}", looked.ty),
                                end.span,
                            )
                            .help("give both ends of the band that is accepted, with their units"),
                        ));
                    }
                    besides.extend(&looked.reads);
                }
                Accepted::Band(self.one_line(low), self.one_line(high))
            }
            (None, None) => Accepted::Share(USUAL_TOLERANCE),
        };
        Ok(Wanted::Number { unit, accepted, figures: ask.figures })
    }

    fn tolerance(&mut self, name: &str, dimension: Dimension, text: &Text) -> Result<Accepted> {
        let looked = self.look(text, true)?;
        let size = looked.value.as_ref().and_then(Value::as_number).unwrap_or(f64::NAN);
        let percent = looked.ty == Type::PLAIN && text.text.trim_end().ends_with('%');
        let difference = dimension.as_difference();
        let refuse = |code, message: String, help: &str| {
            Err(Box::new(Diagnostic::new(code, message, text.span).help(help)))
        };
        if percent && difference == Dimension::TEMPERATURE_DIFFERENCE {
            return refuse(
                Code::WRONG_KIND,
                "a percentage of a temperature depends on where its scale begins".to_owned(),
                "write it as a difference: `tolerance: 0.5 K`",
            );
        }
        if !percent && looked.ty != Type::number(difference) {
            return refuse(
                Code::WRONG_DIMENSION,
                format!(
                    "the tolerance of `{name}` is {difference} or a percentage, and this is {}",
                    looked.ty
                ),
                "write how far an answer may be off, such as `2 %` or `5 mm`",
            );
        }
        if !(size > 0.0 && size.is_finite()) {
            return refuse(
                Code::REFUSED,
                "a tolerance is larger than zero".to_owned(),
                "no answer hits a number exactly; allow at least for rounding",
            );
        }
        Ok(if percent { Accepted::Share(size) } else { Accepted::Amount(size) })
    }

    fn words(&mut self, ask: &Ask) -> Result<Vec<String>> {
        let Some(choose) = &ask.choose else {
            let message =
                format!("`{}` is a text, and what to choose from is not said", ask.cell.text);
            return Err(Box::new(
                Diagnostic::new(Code::MISSING_KEY, message, ask.cell.span)
                    .help("add `choose: [laminar, turbulent]` below it"),
            ));
        };
        let list = choose.text.trim().strip_prefix('[').and_then(|list| list.strip_suffix(']'));
        let words: Vec<String> = match list {
            // Words as they stand: a cell of the same name is not meant.
            Some(list) => list
                .split(',')
                .map(|word| word.trim().trim_matches(['"', '\'']).to_owned())
                .filter(|word| !word.is_empty())
                .collect(),
            None => match self.look(choose, false)?.value {
                Some(Value::Series(series)) => (0..series.len())
                    .filter_map(|at| match series.get(at)? {
                        Value::Text(text) => Some(text.to_string()),
                        _ => None,
                    })
                    .collect(),
                _ => Vec::new(),
            },
        };
        if words.len() < 2 {
            return Err(Box::new(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    "there are not two words to choose from",
                    choose.span,
                )
                .help("list the words, the right one among them: `[laminar, turbulent]`"),
            ));
        }
        Ok(words)
    }

    /// Says what varies to no purpose, twice, or out of the learner's sight.
    fn look_over_varied(
        &mut self,
        vary: &[Vary],
        readings: &[Readings],
        exercise: &Exercise,
        besides: &HashSet<u32>,
    ) {
        let mut asked: HashSet<String> = HashSet::new();
        for question in &exercise.questions {
            asked.extend(self.behind(&question.cell).into_iter().map(str::to_owned));
        }
        let mut read: HashSet<String> = asked.clone();
        for at in besides {
            let name = self.compiled.cells[*at as usize].name.clone();
            read.extend(self.behind(&name).into_iter().map(str::to_owned));
            read.insert(name);
        }
        // A question that is left out would make idle what it depends on.
        let asks = self.worksheet.exercise.as_ref().map_or(0, |written| written.ask.len());
        let whole = asks > 0 && exercise.questions.len() == asks;
        let mut seen: HashSet<&str> = HashSet::new();
        let names = vary.iter().map(|vary| &vary.known).chain(readings.iter().map(|r| &r.known));
        for name in names {
            let Some(varied) = exercise.varied.iter().find(|v| v.known == name.text) else {
                continue;
            };
            let found = if !seen.insert(&name.text) {
                Diagnostic::new(
                    Code::NAME_TWICE,
                    format!("`{}` varies twice", name.text),
                    name.span,
                )
                .help("keep it under `vary` or under `readings`")
            } else if whole && !read.contains(&name.text) {
                let message = format!("`{}` varies, and no answer depends on it", name.text);
                Diagnostic::new(Code::IDLE_VARIATION, message, name.span)
            } else if varied.hidden && asked.contains(&name.text) {
                let message =
                    format!("`{}` is hidden, and an answer cannot be found without it", name.text);
                Diagnostic::new(Code::REFUSED, message, name.span)
                    .help("show it, or ask only for what follows from the readings")
            } else {
                continue;
            };
            self.reading.push(found);
        }
    }

    /// Looks at the names in braces of a text that learners read.
    fn look_over_text(&self, text: &Text, hidden: &[&str], found: &mut Vec<Diagnostic>) {
        let source = self.sources.piece(text.span);
        for (start, name) in placeholders(source) {
            let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
            let start = text.span.start + place(start);
            let span = Span { start, end: start + place(name.len()), ..text.span };
            match self.by_name.get(name) {
                Some(at) if self.is_settable(*at) && !hidden.contains(&name) => {}
                Some(_) => found.push(
                    Diagnostic::new(
                        Code::WRONG_KIND,
                        format!("`{{{name}}}` would tell the learner what is not given"),
                        span,
                    )
                    .help("only knowns that are given stand in braces"),
                ),
                None => found.push(self.no_such_known(name, span)),
            }
        }
    }

    fn one_line(&self, text: &Text) -> String {
        self.sources.piece(text.span).split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// The names in braces in a text, with the places of their first letters.
pub(crate) fn placeholders(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.match_indices('{').filter_map(|(brace, _)| {
        let inside = text.get(brace + 1..)?;
        let name = inside.get(..inside.find('}')?)?;
        let sound = name.starts_with(|c: char| c.is_ascii_alphabetic())
            && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
        sound.then_some((brace + 1, name))
    })
}

/// A name as words: `crest_rise` becomes `crest rise`.
fn in_words(name: &str) -> String {
    name.replace('_', " ")
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

#[cfg(test)]
mod tests;
