//! What an exercise asks for: cells, units, tolerances and words, held against the sheet.

use std::collections::HashSet;

use forebay_units::{Dimension, Unit, nearest};

use super::{Result, Sheet};
use crate::compile::parse::unit_diagnostic;
use crate::diagnostic::{Code, Diagnostic};
use crate::exercise::{Accepted, Question, Wanted};
use crate::value::{Scalar, Type, Value};
use crate::worksheet::{Ask, Text};

/// What is accepted where nothing is said; common practice, no source.
const USUAL_TOLERANCE: f64 = 0.02;

impl Sheet {
    pub(super) fn question(&mut self, ask: &Ask, besides: &mut HashSet<u32>) -> Result<Question> {
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
}

/// A name as words: `crest_rise` becomes `crest rise`.
fn in_words(name: &str) -> String {
    name.replace('_', " ")
}
