//! The drawings of a sheet: the data they show, computed when asked for.

use forebay_units::Unit;

use super::{Sheet, Trouble};
use crate::compile::drawings::{FormulaCode, InputCode, UnitFrom};
use crate::diagnostic::{Code, Diagnostic};
use crate::drawing::{Content, Datum, Drawing, Range};
use crate::evaluate::{MOST_STEPS, MOST_STEPS_OF_SHEET};
use crate::value::{Type, Value};
use crate::worksheet::{Draw, DrawInput};

impl Sheet {
    /// What the sheet wants drawn, in the order written: data, not pictures.
    ///
    /// ```
    /// use forebay_sheet::Sheet;
    ///
    /// let sheet = Sheet::open(
    ///     "forebay: 1
    /// work:
    ///   heads: [2 m, 3 m, 4 m]
    ///   flows: [10 L/s, 12 L/s, 14 L/s]
    /// draw:
    ///   reach:
    ///     kind: lines
    ///     x: heads
    ///     y: { flow: flows }
    /// ",
    /// );
    /// let drawing = &sheet.drawings()[0];
    /// assert_eq!((drawing.title.as_str(), drawing.kind.name), ("Reach", "lines"));
    /// assert_eq!(drawing.under("y").next().unwrap().label, "flow");
    ///
    /// // What does not fit is told with its place, as in any formula.
    /// let broken = Sheet::open("forebay: 1\ndraw:\n  reach: { kind: lines, y: heads }\n");
    /// assert_eq!(broken.diagnostics()[0].message, "`heads` is not known");
    /// ```
    #[must_use]
    pub fn drawings(&self) -> Vec<Drawing> {
        let mut steps = MOST_STEPS_OF_SHEET;
        (0..self.worksheet.draw.len()).map(|at| self.drawing(at, &mut steps)).collect()
    }

    fn drawing(&self, at: usize, steps: &mut u64) -> Drawing {
        let draw = &self.worksheet.draw[at];
        let code = self.compiled.drawings.get(at);
        let over = draw.over.as_ref().map(|over| Range {
            known: over.known.text.clone(),
            from: over.from.text.clone(),
            to: over.to.text.clone(),
            points: over.points,
        });
        let mut drawing = Drawing {
            name: draw.name.text.clone(),
            kind: draw.kind,
            title: draw.title.clone().unwrap_or_else(|| in_words(&draw.name.text)),
            about: draw.about.clone(),
            part: draw.part,
            unit: code.and_then(|code| code.unit.clone()),
            x_label: draw.x_label.clone(),
            y_label: draw.y_label.clone(),
            over,
            data: Vec::new(),
            trouble: None,
            warnings: Vec::new(),
        };
        let codes = code.map(|code| code.inputs.as_slice()).unwrap_or_default();
        for (at, input) in draw.inputs.iter().enumerate() {
            let content = match codes.get(at).and_then(Option::as_ref) {
                None => Err(Trouble::Broken),
                Some(InputCode::Cell(cell)) => {
                    Ok(Content::Cell(self.cell_at(*cell).name().to_owned()))
                }
                Some(InputCode::Table(name)) => self.columns(name).ok_or(Trouble::Broken),
                Some(InputCode::Formula(code)) => {
                    self.drawn_value(code, input, steps, &mut drawing.warnings)
                }
            };
            match content {
                Ok(content) => {
                    let label = label(input);
                    drawing.data.push(Datum { key: input.key.name, label, content });
                }
                Err(Trouble::Failed(why)) => {
                    // The sheet is sound all the same.
                    let why = Diagnostic { code: Code::NOT_DRAWN, ..*why };
                    grow(&mut drawing.trouble, Trouble::Failed(Box::new(why)));
                }
                Err(trouble) => grow(&mut drawing.trouble, trouble),
            }
        }
        if drawing.trouble.is_none() {
            drawing.trouble =
                self.unlike_lengths(draw, &drawing).map(|found| Trouble::Failed(Box::new(found)));
        }
        drawing
    }

    fn drawn_value(
        &self,
        code: &FormulaCode,
        input: &DrawInput,
        steps: &mut u64,
        warnings: &mut Vec<Diagnostic>,
    ) -> Result<Content, Trouble> {
        let waits: Vec<String> = (code.reads.iter())
            .filter(|read| self.values[**read as usize].is_none())
            .map(|read| self.cell_at(*read).name().to_owned())
            .collect();
        if !waits.is_empty() {
            return Err(Trouble::Waiting(waits));
        }
        let mut machine = self.machine();
        let given = (*steps).min(MOST_STEPS);
        let mut left = given;
        let (value, doubts) = machine.counted(code.id, code.slots, &mut left);
        *steps = steps.saturating_sub(given - left);
        let value = value.map_err(|fault| Trouble::Failed(Box::new(fault.diagnostic())))?;
        warnings.extend(doubts);
        if let Value::Series(series) = &value
            && series.gaps() == series.len()
        {
            let message = format!("`{}` holds no values", input.is.text.trim());
            let help = "fill in the series, or draw something else";
            let found = Diagnostic::new(Code::NOT_DRAWN, message, input.is.span).help(help);
            return Err(Trouble::Failed(Box::new(found)));
        }
        let unit = self.drawn_unit(code, &value);
        Ok(Content::Value { value, ty: code.ty, unit })
    }

    fn drawn_unit(&self, code: &FormulaCode, value: &Value) -> Option<Unit> {
        let dimension = code.ty.dimension()?;
        let style = self.style();
        let written = match &code.unit {
            UnitFrom::Cell(cell) => return self.cell_at(*cell).unit(),
            UnitFrom::Written(unit) => Some(unit.clone()).filter(|unit| style.keeps(unit)),
            UnitFrom::Trade(shown_in) => style.trade_unit(*shown_in),
        };
        let fits = written.filter(|unit| unit.dimension() == dimension);
        Some(fits.unwrap_or_else(|| match value {
            Value::Series(series) => style.series_unit(dimension, series),
            other => style.unit(dimension, other.as_number().unwrap_or(0.0)),
        }))
    }

    fn columns(&self, table: &str) -> Option<Content> {
        let tables = &self.compiled.scopes.first()?.tables;
        let found = tables.iter().find(|one| one.name == table)?;
        Some(Content::Table(found.columns.clone()))
    }

    /// All series of a drawing go together, place by place.
    fn unlike_lengths(&self, draw: &Draw, drawing: &Drawing) -> Option<Diagnostic> {
        let mut lengths = draw.inputs.iter().zip(&drawing.data).filter_map(|(input, datum)| {
            let Some(Value::Series(series)) = datum.value() else { return None };
            Some((input, series.len()))
        });
        let (first, length) = lengths.next()?;
        let (other, count) = lengths.find(|(_, count)| *count != length)?;
        let message =
            format!("`{}` has {count} values, and others of this drawing {length}", name_of(other));
        Some(
            Diagnostic::new(Code::NOT_DRAWN, message, other.is.span)
                .here(format!("{count} values"))
                .and(first.is.span, format!("{length} values"))
                .help("draw series that belong together, row by row"),
        )
    }

    /// What is wrong with the ranges of drawings, which set a known.
    pub(super) fn look_over_ranges(&mut self) {
        for draw in self.worksheet.draw.clone() {
            let Some(over) = &draw.over else { continue };
            let known = self.by_name.get(&over.known.text).copied();
            let broken = self.worksheet.broken.iter().any(|name| name.text == over.known.text);
            let Some(at) = known.filter(|at| self.is_settable(*at)) else {
                if !broken {
                    let diagnostic = self.no_such_known(&over.known.text, over.known.span);
                    self.reading.push(diagnostic);
                }
                continue;
            };
            if let Some(ty) = self.compiled.cells[at].ty
                && !matches!(ty, Type::One(scalar) if Type::One(scalar).dimension().is_some())
            {
                let message = format!("`{}` holds no number that could be varied", over.known.text);
                self.reading.push(
                    Diagnostic::new(Code::WRONG_KIND, message, over.known.span)
                        .help("vary a known that holds one number"),
                );
                continue;
            }
            for end in [&over.from, &over.to] {
                if let Err(diagnostic) = self.prepared(&over.known.text, end.span) {
                    self.reading.push(*diagnostic);
                }
            }
        }
    }
}

/// The first trouble stands; what is waited for is collected.
fn grow(trouble: &mut Option<Trouble>, more: Trouble) {
    match (trouble.as_mut(), more) {
        (Some(Trouble::Waiting(on)), Trouble::Waiting(more)) => {
            on.extend(more);
            on.dedup();
        }
        (Some(_), _) => {}
        (None, more) => *trouble = Some(more),
    }
}

fn name_of(input: &DrawInput) -> &str {
    input.label.as_ref().map_or(input.is.text.trim(), |label| &label.text)
}

/// What a piece of data is called: as the sheet says, or the name it is.
fn label(input: &DrawInput) -> String {
    match &input.label {
        Some(label) => label.text.replace('_', " "),
        None => {
            let text = input.is.text.split_whitespace().collect::<Vec<_>>().join(" ");
            let last = text.rsplit('.').next().unwrap_or_default();
            let name = last.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
                && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '.')
                && last.starts_with(|c: char| c.is_ascii_alphabetic());
            if name { last.replace('_', " ") } else { text }
        }
    }
}

/// `pond_levels` as a heading: `Pond levels`.
fn in_words(name: &str) -> String {
    let mut words = name.replace('_', " ");
    if let Some(first) = words.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    words
}

#[cfg(test)]
mod tests {
    use crate::{Items, Sheet, Trouble, Value};

    #[test]
    fn data_follow_the_knowns_and_trouble_is_told() {
        let mut sheet = Sheet::open(
            "forebay: 1
known:
  factor: 2
work:
  heads: [2 m, 3 m]
  more: factor * heads
  broken: heads + factor
draw:
  reach: { kind: lines, x: heads, y: [more, 5 m] }
  waits: { kind: lines, y: broken }
  uneven: { kind: lines, x: heads, y: '[1 m, 2 m, 3 m]' }
",
        );
        let drawings = sheet.drawings();
        assert_eq!(drawings[0].trouble, None);
        assert_eq!(drawings[0].under("y").nth(1).unwrap().label, "5 m");
        assert!(matches!(drawings[1].trouble, Some(Trouble::Broken)));
        let Some(Trouble::Failed(why)) = &drawings[2].trouble else { panic!("lengths differ") };
        assert_eq!(why.message, "`[1 m, 2 m, 3 m]` has 3 values, and others of this drawing 2");
        sheet.set("factor", "3").unwrap();
        let drawings = sheet.drawings();
        let Some(Value::Series(series)) = drawings[0].under("y").next().unwrap().value() else {
            panic!("a series")
        };
        assert!(matches!(&series.items, Items::Numbers(n) if n.as_slice() == [6.0, 9.0]));
    }
}
