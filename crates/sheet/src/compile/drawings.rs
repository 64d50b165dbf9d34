//! Drawings: the formulas they name are checked and lowered as those of cells are, and each is held
//! against what its kind wants.

use forebay_units::{Dimension, Unit, nearest};

use super::lower::{Lowered, Lowering};
use super::names::{Definition, Names, Reads};
use super::syntax::{Expression, Node};
use super::values::typed;
use super::{Compiler, operators, parse, shown_unit};
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::drawing::Wants;
use crate::term::{Id, Slot};
use crate::value::{Scalar, Type};
use crate::worksheet::{Draw, DrawInput, Worksheet};

/// A drawing ready to be computed.
#[derive(Debug)]
pub(crate) struct DrawingCode {
    /// As many as the sheet names; `None` for one that is broken.
    pub(crate) inputs: Vec<Option<InputCode>>,
    /// The unit that the sheet names for it.
    pub(crate) unit: Option<Unit>,
}

/// One piece of data of a drawing.
#[derive(Debug)]
pub(crate) enum InputCode {
    Formula(FormulaCode),
    Table(String),
    Cell(u32),
}

/// A formula of a drawing.
#[derive(Debug)]
pub(crate) struct FormulaCode {
    pub(crate) id: Id,
    pub(crate) slots: Slot,
    pub(crate) ty: Type,
    /// The cells it reads.
    pub(crate) reads: Vec<u32>,
    /// Where its unit comes from.
    pub(crate) unit: UnitFrom,
}

/// What decides the unit of a formula's result.
#[derive(Debug)]
pub(crate) enum UnitFrom {
    /// The cell that it is.
    Cell(u32),
    /// A unit that is written with it.
    Written(Unit),
    /// The units of the trade, SI and US; empty for the usual ones.
    Trade((&'static str, &'static str)),
}

impl Compiler<'_> {
    /// Lowers the drawings of a sheet, after its cells.
    pub(super) fn drawings(&mut self, worksheet: &Worksheet, types: &[Option<Type>]) {
        let names = std::mem::take(&mut self.out.scopes[0]);
        for draw in &worksheet.draw {
            let mut inputs: Vec<Option<InputCode>> = draw
                .inputs
                .iter()
                .map(|input| self.input(draw, input, worksheet, &names, types))
                .collect();
            self.one_dimension(draw, &mut inputs, types);
            let unit = self.drawing_unit(draw, &inputs, &names, types);
            self.out.drawings.push(DrawingCode { inputs, unit });
        }
        self.out.scopes[0] = names;
    }

    fn input(
        &mut self,
        draw: &Draw,
        input: &DrawInput,
        worksheet: &Worksheet,
        names: &Names,
        types: &[Option<Type>],
    ) -> Option<InputCode> {
        match input.key.wants {
            Wants::Table(columns) => self.table_input(input, columns, names),
            Wants::Cell => self.cell_input(input, "a ranking", names, types),
            Wants::Curves if draw.over.is_some() => {
                self.cell_input(input, "a curve over a known", names, types)
            }
            _ => self.formula_input(input, worksheet, names, types),
        }
    }

    fn table_input(
        &mut self,
        input: &DrawInput,
        columns: &[&str],
        names: &Names,
    ) -> Option<InputCode> {
        let (text, span) = (input.is.text.trim(), input.is.span);
        match names.defined.get(text) {
            Some(Definition::Table) => {}
            Some(Definition::Broken) => return None,
            _ => {
                let tables = names.tables.iter().map(|table| table.name.as_str());
                let help = match nearest(text, tables.clone()).first() {
                    Some(near) => format!("did you mean `{near}`?"),
                    None if names.tables.is_empty() => "the sheet has no tables".to_owned(),
                    None => format!("its tables are {}", tables.collect::<Vec<_>>().join(", ")),
                };
                let message = format!("`{}` wants the name of a table", input.key.name);
                self.report(Diagnostic::new(Code::UNKNOWN_NAME, message, span).help(help));
                return None;
            }
        }
        let there = names.tables.iter().find(|table| table.name == text)?;
        let missing: Vec<&str> = (columns.iter().copied())
            .filter(|column| !there.columns.iter().any(|(name, ..)| name == column))
            .collect();
        if missing.is_empty() {
            return Some(InputCode::Table(text.to_owned()));
        }
        let message = format!("the table `{text}` has no column `{}`", missing.join("` and no `"));
        let help = format!("a drawing of a pipe needs the columns {}", columns.join(", "));
        self.report(Diagnostic::new(Code::UNKNOWN_NAME, message, span).help(help));
        None
    }

    /// The name of a cell that holds one number.
    fn cell_input(
        &mut self,
        input: &DrawInput,
        what: &str,
        names: &Names,
        types: &[Option<Type>],
    ) -> Option<InputCode> {
        let (text, span) = (input.is.text.trim(), input.is.span);
        let cell = match names.defined.get(text) {
            Some(Definition::Cell(cell)) => *cell,
            Some(Definition::Broken) => return None,
            _ => {
                let message = format!("{what} wants the name of a cell");
                let near = names.nearest_value(text);
                let help = match near.first() {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "write the formula as a cell under `work:` and name it here".to_owned(),
                };
                self.report(Diagnostic::new(Code::UNKNOWN_NAME, message, span).help(help));
                return None;
            }
        };
        match types.get(cell as usize).copied().flatten()? {
            Type::One(Scalar::Number(_)) => Some(InputCode::Cell(cell)),
            other => {
                let message = format!("{what} wants one number, and `{text}` is {}", kind(other));
                self.report(
                    Diagnostic::new(Code::WRONG_KIND, message, span)
                        .help("name a cell that holds one number"),
                );
                None
            }
        }
    }

    fn formula_input(
        &mut self,
        input: &DrawInput,
        worksheet: &Worksheet,
        names: &Names,
        types: &[Option<Type>],
    ) -> Option<InputCode> {
        let source = self.source_text(input.is.span);
        let parsed =
            parse::formula(&source, input.is.span, &|word| names.defined.contains_key(word));
        let node = match parsed {
            Ok(node) => node,
            Err(diagnostic) => {
                self.report(diagnostic);
                return None;
            }
        };
        let mut lowering = Lowering::new(
            &mut self.out.terms,
            &mut self.out.diagnostics,
            names,
            types,
            self.sources,
            &mut self.out.scripts,
        );
        let lowered = lowering.expression(&node);
        let slots = lowering.next_slot;
        let lowered = lowered?;
        if let Some(diagnostic) = unfit(input, lowered) {
            self.report(diagnostic);
            return None;
        }
        let reads = Reads::of(&node, names);
        if !reads.broken.is_empty() {
            return None;
        }
        Some(InputCode::Formula(FormulaCode {
            id: lowered.id,
            slots,
            ty: lowered.ty,
            reads: reads.cells,
            unit: unit_from(&node, worksheet, names, lowered),
        }))
    }

    /// Curves share one axis, so that they measure the same.
    fn one_dimension(
        &mut self,
        draw: &Draw,
        inputs: &mut [Option<InputCode>],
        types: &[Option<Type>],
    ) {
        let mut first: Option<(Span, Dimension)> = None;
        for (input, code) in draw.inputs.iter().zip(inputs) {
            if input.key.wants != Wants::Curves {
                continue;
            }
            let Some(dimension) = code.as_ref().and_then(|code| code.dimension(types)) else {
                continue;
            };
            let Some((one, wanted)) = first else {
                first = Some((input.is.span, dimension));
                continue;
            };
            if wanted.alike(dimension).is_err() {
                let message =
                    format!("a drawing has one axis for its curves, and this is {dimension}");
                let help = "draw it under a name of its own";
                self.report(
                    Diagnostic::new(Code::WRONG_DIMENSION, message, input.is.span)
                        .here(dimension.to_string())
                        .and(one, wanted.to_string())
                        .help(help),
                );
                *code = None;
            }
        }
    }

    /// The unit that a drawing is to be shown in, if it fits what is drawn.
    fn drawing_unit(
        &mut self,
        draw: &Draw,
        inputs: &[Option<InputCode>],
        names: &Names,
        types: &[Option<Type>],
    ) -> Option<Unit> {
        let text = draw.unit.as_ref()?;
        let shown = draw.inputs.iter().zip(inputs).find_map(|(input, code)| {
            let on_axis = !matches!(input.key.wants, Wants::Places | Wants::Table(_));
            let dimension = code.as_ref().filter(|_| on_axis)?.dimension(types)?;
            let (ty, span) = (Type::number(dimension), input.is.span);
            Some(Lowered { id: 0, ty, span, shown_in: ("", "") })
        })?;
        let mut lowering = Lowering::new(
            &mut self.out.terms,
            &mut self.out.diagnostics,
            names,
            types,
            self.sources,
            &mut self.out.scripts,
        );
        shown_unit(&mut lowering, text, Some(shown))
    }
}

impl InputCode {
    fn dimension(&self, types: &[Option<Type>]) -> Option<Dimension> {
        match self {
            Self::Formula(code) => code.ty.dimension(),
            Self::Cell(cell) => types.get(*cell as usize).copied().flatten()?.dimension(),
            Self::Table(_) => None,
        }
    }
}

/// Why a formula does not fit what its key wants.
fn unfit(input: &DrawInput, lowered: Lowered) -> Option<Diagnostic> {
    let (key, ty) = (input.key.name, lowered.ty);
    let wrong = |expected: String, help: &str| {
        let message = format!("`{key}` wants {expected}, and this is {}", kind(ty));
        Some(Diagnostic::new(Code::WRONG_KIND, message, input.is.span).help(help))
    };
    let (dimension, series) = match input.key.wants {
        Wants::Places => {
            return match ty {
                Type::Series(Scalar::Truth) | Type::One(_) => wrong(
                    "a series of numbers, dates or texts".to_owned(),
                    "name a column of a table, such as `months.month`",
                ),
                Type::Series(_) => None,
            };
        }
        Wants::Curves => {
            return match ty.dimension() {
                Some(_) => None,
                None => wrong(
                    "numbers".to_owned(),
                    "name a column of a table or a cell that holds numbers",
                ),
            };
        }
        Wants::One(dimension) | Wants::Amounts(dimension) => (dimension, false),
        Wants::Series(dimension) => (dimension, true),
        Wants::Range | Wants::Table(_) | Wants::Cell => return None,
    };
    match ty {
        Type::One(Scalar::Number(_)) if series => wrong(
            format!("a series of {dimension}"),
            "name a column of a table or a cell that holds a series",
        ),
        Type::Series(Scalar::Number(_)) if !series => wrong(
            format!("one {dimension}"),
            "take one value of it, such as its `sum`, `mean`, `least` or `greatest`",
        ),
        Type::One(Scalar::Number(found)) | Type::Series(Scalar::Number(found)) => {
            let error = dimension.alike(found).err()?;
            let message = format!("`{key}` wants {dimension}, and this is {found}");
            Some(
                Diagnostic::new(Code::WRONG_DIMENSION, message, input.is.span)
                    .here(found.to_string())
                    .help(operators::advice_for(error)),
            )
        }
        _ => wrong(dimension.to_string(), "name a cell or a formula that gives it"),
    }
}

/// `one length`, `a series of texts`.
fn kind(ty: Type) -> String {
    match ty {
        Type::One(scalar) => format!("one {scalar}"),
        Type::Series(scalar) => format!("a series of {scalar}"),
    }
}

fn unit_from(node: &Node, worksheet: &Worksheet, names: &Names, lowered: Lowered) -> UnitFrom {
    if let Some((_, unit)) = typed(node) {
        return UnitFrom::Written(unit);
    }
    let trade = UnitFrom::Trade(lowered.shown_in);
    match &node.expression {
        Expression::Name(name) => match names.defined.get(name) {
            Some(Definition::Cell(cell)) => UnitFrom::Cell(*cell),
            _ => trade,
        },
        Expression::Field(of, word) => {
            let Expression::Name(owner) = &of.expression else { return trade };
            if let Some(Definition::Component(cells)) = names.defined.get(owner) {
                return cells.get(&word.text).map_or(trade, |cell| UnitFrom::Cell(*cell));
            }
            let table = worksheet.tables.iter().find(|table| table.name.text == *owner);
            let column = table.and_then(|table| {
                table.columns.iter().find(|column| column.name.text == word.text)
            });
            match column.and_then(|column| Unit::parse(column.unit.text.trim()).ok()) {
                Some(unit) => UnitFrom::Written(unit),
                None => trade,
            }
        }
        _ => trade,
    }
}
