//! Changing what is known: checked first, then taken over, then only what depends on it recomputed.

use std::collections::HashMap;

use forebay_units::{Unit, nearest};

use super::{Remembering, Sheet, Trouble, Wave};
use crate::compile::outside::{FromOutside, formula_from_outside};
use crate::compile::{self, Role};
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::evaluate::MOST_STEPS_OF_SHEET;
use crate::graph::{Dirty, NOWHERE};
use crate::value::{Type, Value};

/// A value that is ready to be set.
pub(super) struct Prepared {
    at: usize,
    span: Span,
    value: Option<Value>,
    typed: Option<(String, Unit)>,
    /// Whether it was given without a text.
    bare: bool,
}

impl Sheet {
    /// Sets a known to a value written as in a sheet, `250 mm`, and recomputes what depends on it.
    ///
    /// # Errors
    /// No such known, a text that is no value, or a value of another dimension; nothing is changed
    /// then.
    pub fn set(&mut self, name: &str, text: &str) -> Result<Wave, Box<Diagnostic>> {
        self.set_all(&[(name, text)])
    }

    /// Sets several knowns and recomputes once. Nothing is changed if one of them is refused.
    ///
    /// # Errors
    /// As [`Sheet::set`], for the first one that is refused.
    pub fn set_all(&mut self, values: &[(&str, &str)]) -> Result<Wave, Box<Diagnostic>> {
        let mut ready = Vec::with_capacity(values.len());
        for (name, text) in values {
            let span = self.scratch_text("value", text);
            ready.push(self.prepared(name, span)?);
        }
        // Only now: a value that is refused must leave the one before it in place.
        for (prepared, (name, text)) in ready.iter_mut().zip(values) {
            // No scratch text bears a name with a space in it.
            let purpose = format!("value of {name}");
            let source = match self.outside.get(&purpose) {
                Some(source) => {
                    self.sources.replace(*source, text);
                    *source
                }
                None => {
                    let source = self.sources.add(&purpose, text);
                    self.outside.insert(purpose, source);
                    source
                }
            };
            prepared.span = whole(source, text);
        }
        Ok(self.take(ready))
    }

    /// Sets several knowns to values at hand, as when rows of numbers are computed, and recomputes
    /// once. Nothing is changed if one of them is refused.
    ///
    /// ```
    /// use forebay_sheet::{Sheet, Value};
    ///
    /// let mut sheet = Sheet::open("forebay: 1\nknown:\n  bore: 200 mm\nwork:\n  twice: 2 * bore\n");
    /// sheet.set_values(&[("bore", Value::Number(0.25))])?;
    /// assert_eq!(sheet.cell("twice").unwrap().shown(), "0.5000 m");
    /// assert!(sheet.set_values(&[("bore", Value::Truth(true))]).is_err());
    /// # Ok::<(), Box<forebay_sheet::Diagnostic>>(())
    /// ```
    ///
    /// # Errors
    /// No such known, one whose type is not known, a value of another kind, or a number that is not
    /// finite.
    pub fn set_values(&mut self, values: &[(&str, Value)]) -> Result<Wave, Box<Diagnostic>> {
        let mut ready = Vec::with_capacity(values.len());
        for (name, value) in values {
            let known = self.by_name.get(*name).copied().filter(|at| self.is_settable(*at));
            let Some(at) = known else {
                let span = self.scratch_text("value", name);
                return Err(Box::new(self.no_such_known(name, span)));
            };
            let ty = self.compiled.cells[at].ty;
            if !ty.is_some_and(|ty| value.suits(ty)) {
                let kind = ty.map_or_else(|| "without a type".to_owned(), with_article);
                let span = self.scratch_text("value", name);
                let message = format!("`{name}` is {kind} and cannot become this value");
                return Err(Box::new(Diagnostic::new(Code::WRONG_KIND, message, span)));
            }
            let span = self.compiled.cells[at].text;
            ready.push(Prepared { at, span, value: Some(value.clone()), typed: None, bare: true });
        }
        Ok(self.take(ready))
    }

    /// The value that a text stands for as a value of this known, checked as [`Sheet::set`] checks
    /// it; nothing is changed.
    ///
    /// # Errors
    /// As [`Sheet::set`], and for a known that has no value yet, whose type is not known.
    pub fn value_for(&mut self, name: &str, text: &str) -> Result<Value, Box<Diagnostic>> {
        let span = self.scratch_text("value", text);
        let prepared = self.prepared(name, span)?;
        prepared.value.ok_or_else(|| {
            let message = format!("`{name}` has no value yet, so that its type is not known");
            Box::new(
                Diagnostic::new(Code::WRONG_KIND, message, span).help("give it one in the sheet"),
            )
        })
    }

    /// Takes over checked values and recomputes.
    fn take(&mut self, ready: Vec<Prepared>) -> Wave {
        for prepared in &ready {
            // A bare value has no text; the one in force before must not be shown for it.
            if prepared.bare {
                self.bare.insert(prepared.at);
            } else {
                self.bare.remove(&prepared.at);
                self.given.insert(self.compiled.cells[prepared.at].name.clone(), prepared.span);
            }
        }
        if ready.iter().any(|prepared| prepared.value.is_none()) {
            let set: Vec<String> =
                ready.iter().map(|p| self.compiled.cells[p.at].name.clone()).collect();
            return self.compile_anew(&set);
        }
        self.steps_left = MOST_STEPS_OF_SHEET;
        let mut dirty = std::mem::take(&mut self.dirty);
        let mut wave = Wave::default();
        for prepared in ready {
            let Some(value) = prepared.value else { continue };
            self.set_values.insert(prepared.at, (value, prepared.typed));
            if self.compute_in_full(prepared.at) {
                wave.changed.push(place_of(prepared.at));
                self.mark_dependants(prepared.at, &mut dirty);
            }
        }
        self.follow(dirty, &mut wave);
        wave
    }

    /// Recomputes what is dirty, in computing order.
    pub(super) fn follow(&mut self, mut dirty: Dirty, wave: &mut Wave) {
        const USUAL: usize = 128;
        wave.ran.reserve(USUAL);
        wave.changed.reserve(USUAL);
        // Lent out, so that cells can be computed meanwhile.
        let graph = std::mem::take(&mut self.compiled.graph);
        dirty.drain(|place| {
            let cell = graph.order[place as usize];
            let at = cell as usize;
            let changed = self.compute(at);
            // A broken or waiting cell is looked at, but there is nothing to run.
            if self.values[at].is_some() || self.has_failed(at) {
                wave.ran.push(cell);
            }
            if !changed {
                return &[];
            }
            wave.changed.push(cell);
            graph.dependants(place)
        });
        self.compiled.graph = graph;
        self.dirty = dirty;
    }

    fn has_failed(&self, at: usize) -> bool {
        matches!(self.notes.get(at).trouble, Some(Trouble::Failed(_)))
    }

    pub(super) fn mark_dependants(&self, at: usize, dirty: &mut Dirty) {
        let place = self.compiled.graph.rank[at];
        if place != NOWHERE {
            for dependant in self.compiled.graph.dependants(place) {
                dirty.mark(*dependant);
            }
        }
    }

    /// A known that had no value gets one: types may follow from it, so all is compiled anew. What
    /// is told is what depends on it, as ever.
    fn compile_anew(&mut self, set: &[String]) -> Wave {
        let bare: Vec<(String, Value)> = self
            .bare
            .drain()
            .filter_map(|at| {
                Some((self.compiled.cells[at].name.clone(), self.set_values.get(&at)?.0.clone()))
            })
            .collect();
        let before: HashMap<String, Option<Value>> = self
            .compiled
            .cells
            .iter()
            .zip(self.values.drain(..))
            .map(|(cell, value)| (cell.name.clone(), value))
            .collect();
        let remembering =
            Remembering { files: std::cell::RefCell::new(&mut self.files), from: None };
        self.compiled =
            compile::compile(&self.worksheet, &mut self.sources, &remembering, &self.given);
        self.start();
        let bare: Vec<(&str, Value)> = bare.iter().map(|(n, v)| (n.as_str(), v.clone())).collect();
        // They fitted before; should one not fit any more, the written value stands.
        for one in bare {
            let _ = self.set_values(&[one]);
        }
        let known: Vec<usize> =
            set.iter().filter_map(|name| self.by_name.get(name).copied()).collect();
        let mut dirty = Dirty::new(self.compiled.graph.order.len());
        for at in &known {
            self.mark_dependants(*at, &mut dirty);
        }
        let mut ran = Vec::new();
        let graph = &self.compiled.graph;
        dirty.drain(|place| {
            let cell = graph.order[place as usize];
            if self.values[cell as usize].is_some() || self.has_failed(cell as usize) {
                ran.push(cell);
            }
            graph.dependants(place)
        });
        let changed = known
            .iter()
            .map(|at| place_of(*at))
            .chain(ran.iter().copied())
            .filter(|at| {
                let at = *at as usize;
                before.get(&self.compiled.cells[at].name).is_none_or(|v| *v != self.values[at])
            })
            .collect();
        Wave { ran, changed }
    }

    /// A value for a known, checked; without one where all must be compiled anew.
    pub(super) fn prepared(&mut self, name: &str, span: Span) -> Result<Prepared, Box<Diagnostic>> {
        let known = self.by_name.get(name).copied().filter(|at| self.is_settable(*at));
        let Some(at) = known else {
            // The name is what is wrong, not the value.
            let span = self.scratch_text("name", name);
            return Err(Box::new(self.no_such_known(name, span)));
        };
        let mark = self.compiled.terms.mark();
        let lowered = formula_from_outside(&mut self.compiled, &self.sources, span, true);
        let result = match lowered {
            Ok(FromOutside { lowered, slots, typed, .. }) => {
                let mut machine = self.machine();
                let (value, _) = machine.cell(lowered.id, slots);
                match (self.compiled.cells[at].ty, value) {
                    (_, Err(fault)) => Err(Box::new(fault.diagnostic())),
                    (None, Ok(_)) => {
                        Ok(Prepared { at, span, value: None, typed: None, bare: false })
                    }
                    (Some(ty), Ok(_)) if ty != lowered.ty => Err(Box::new(
                        Diagnostic::new(
                            Code::WRONG_DIMENSION,
                            format!(
                                "`{name}` is {} and cannot become {}",
                                with_article(ty),
                                with_article(lowered.ty)
                            ),
                            span,
                        )
                        .here(lowered.ty.to_string()),
                    )),
                    (Some(_), Ok(value)) => {
                        Ok(Prepared { at, span, value: Some(value), typed, bare: false })
                    }
                }
            }
            Err(mut diagnostics) => Err(Box::new(diagnostics.swap_remove(0))),
        };
        self.compiled.terms.back_to(mark);
        result
    }

    pub(crate) fn is_settable(&self, at: usize) -> bool {
        matches!(self.compiled.cells[at].role, Role::Known(_) | Role::PartKnown)
    }

    pub(super) fn no_such_known(&self, name: &str, span: Span) -> Diagnostic {
        if self.by_name.contains_key(name) {
            return Diagnostic::new(
                Code::UNKNOWN_NAME,
                format!("`{name}` is worked out and cannot be set"),
                span,
            )
            .help("set one of the knowns that it reads (`forebay working`)");
        }
        let knowns = self.worksheet.known.iter().map(|known| known.name.text.as_str());
        let nearest = nearest(name, knowns).first().copied();
        let diagnostic =
            Diagnostic::new(Code::UNKNOWN_NAME, format!("there is no known `{name}`"), span);
        match nearest {
            Some(nearest) => diagnostic.help(format!("did you mean `{nearest}`?")),
            None => {
                let knowns = self.worksheet.known.iter().map(|known| known.name.text.as_str());
                let first: Vec<&str> = knowns.take(8).collect();
                let more = if self.worksheet.known.len() > 8 { ", …" } else { "" };
                diagnostic.help(format!("the knowns are {}{more}", first.join(", ")))
            }
        }
    }

    /// A text that is looked at once; each one takes the place of the one before.
    pub(super) fn scratch_text(&mut self, name: &'static str, text: &str) -> Span {
        let source = match self.outside.get(name) {
            Some(source) => {
                self.sources.replace(*source, text);
                *source
            }
            None => {
                let source = self.sources.add(name, text);
                self.outside.insert(name.to_owned(), source);
                source
            }
        };
        whole(source, text)
    }

    /// Sets the knowns of a case.
    ///
    /// # Errors
    /// No such case, or a value in it that is refused.
    pub fn use_case(&mut self, name: &str) -> Result<Wave, Box<Diagnostic>> {
        let Some(case) = self.worksheet.cases.iter().find(|case| case.name.text == name).cloned()
        else {
            let span = self.scratch_text("case", name);
            let all: Vec<&str> = self.cases().map(|case| case.name.text.as_str()).collect();
            let diagnostic =
                Diagnostic::new(Code::UNKNOWN_NAME, format!("there is no case `{name}`"), span);
            return Err(Box::new(if all.is_empty() {
                diagnostic.help("the sheet has no `cases`")
            } else {
                diagnostic.help(format!("its cases are {}", all.join(", ")))
            }));
        };
        if case.broken {
            let message = format!("the case `{name}` holds a value that could not be read");
            return Err(Box::new(
                Diagnostic::new(Code::WRONG_SHAPE, message, case.name.span).help("mend it first"),
            ));
        }
        let ready: Result<Vec<Prepared>, Box<Diagnostic>> =
            case.set.iter().map(|(name, value)| self.prepared(&name.text, value.span)).collect();
        Ok(self.take(ready?))
    }
}

/// Sheets are bounded far below 2³² cells by the limit on their text.
pub(super) fn place_of(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}

fn whole(source: u16, text: &str) -> Span {
    Span { source, start: 0, end: u32::try_from(text.len()).unwrap_or(u32::MAX) }
}

fn with_article(ty: Type) -> String {
    let name = ty.to_string();
    let vowel = name.starts_with(['a', 'e', 'i', 'o', 'u']);
    match name.as_str() {
        "money" | "power" | "energy or torque" => name,
        _ if vowel => format!("an {name}"),
        _ => format!("a {name}"),
    }
}

#[cfg(test)]
mod tests {
    use crate::{Sheet, Value};

    #[test]
    fn a_bare_value_is_shown_in_place_of_the_text_and_gives_way_to_one() {
        let mut sheet = Sheet::open("forebay: 1\nknown:\n  a: 3 m\nwork:\n  b: 2 * a\n");
        sheet.set_values(&[("a", Value::Number(4.0))]).unwrap();
        assert_eq!(sheet.cell("a").unwrap().formula(), "4.000 m");
        assert_eq!(sheet.cell("b").unwrap().shown(), "8.000 m");
        sheet.set("a", "500 cm").unwrap();
        assert_eq!(sheet.cell("a").unwrap().formula(), "500 cm");
        assert_eq!(sheet.cell("b").unwrap().shown(), "10.00 m");
    }

    #[test]
    fn a_bare_value_that_does_not_fit_is_refused_and_nothing_is_changed() {
        let text =
            "forebay: 1\ncurrency: EUR\nknown:\n  a: 3 m\n  c: 2.00 EUR\nwork:\n  b: 2 * a\n";
        let mut sheet = Sheet::open(text);
        for (name, value) in [
            ("a", Value::Truth(true)),
            ("a", Value::Number(f64::NAN)),
            ("c", Value::Number(2.0)),
            ("b", Value::Number(2.0)),
            ("z", Value::Number(2.0)),
        ] {
            assert!(
                sheet.set_values(&[("a", Value::Number(9.0)), (name, value)]).is_err(),
                "{name}"
            );
        }
        assert_eq!(sheet.cell("a").unwrap().shown(), "3 m");
        assert!(sheet.value_for("a", "3 L").is_err());
        assert_eq!(sheet.value_for("a", "30 cm").unwrap(), Value::Number(0.3));
    }
}
