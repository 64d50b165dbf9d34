//! What is asked of a compiled sheet from outside: a formula, a value, or what a formula names.

use forebay_units::Unit;

use super::lower::{Lowered, Lowering};
use super::names::{Definition, Names, Reads};
use super::syntax::Expression;
use super::values::{typed, value_node};
use super::{CellCode, Compiled, parse};
use crate::diagnostic::{Code, Diagnostic, Sources, Span};
use crate::term::Slot;
use crate::value::Type;
use crate::worksheet::Text;

/// A formula or a value from outside, lowered.
pub(crate) struct FromOutside {
    pub(crate) lowered: Lowered,
    pub(crate) slots: Slot,
    pub(crate) typed: Option<(String, Unit)>,
    /// The cells that it reads.
    pub(crate) reads: Vec<u32>,
}

/// A formula from outside, lowered into the arena of a compiled sheet. The caller takes back what
/// was added once it has the value.
pub(crate) fn formula_from_outside(
    compiled: &mut Compiled,
    sources: &Sources,
    span: Span,
    as_value: bool,
) -> Result<FromOutside, Vec<Diagnostic>> {
    let source = sources.source(span).map_or_else(|| "".into(), |source| source.text.clone());
    let text = Text { span, text: sources.piece(span).to_owned() };
    let types: Vec<Option<Type>> = compiled.cells.iter().map(|cell| cell.ty).collect();
    let names = compiled.scopes.first().cloned().unwrap_or_default();
    let node = if as_value {
        value_node(&source, &text, &names)
    } else {
        parse::formula(&source, span, &|word| names.defined.contains_key(word))
    };
    let node = node.map_err(|diagnostic| vec![diagnostic])?;
    let no_names = Names { currency: names.currency, ..Names::default() };
    let mut diagnostics = Vec::new();
    let mut lowering = Lowering::new(
        &mut compiled.terms,
        &mut diagnostics,
        if as_value { &no_names } else { &names },
        &types,
        sources,
        &mut compiled.scripts,
    );
    let lowered = lowering.expression(&node);
    let slots = lowering.next_slot;
    match lowered {
        Some(lowered) => Ok(FromOutside {
            lowered,
            slots,
            typed: typed(&node),
            reads: Reads::of(&node, &names).cells,
        }),
        None if diagnostics.is_empty() => Err(vec![
            Diagnostic::new(
                Code::UNKNOWN_NAME,
                "this reads something of the sheet that has no value",
                span,
            )
            .help("mend that first; the sheet's errors name it"),
        ]),
        None => Err(diagnostics),
    }
}

/// The cells that a formula reads with the places where it names them.
pub(crate) fn references(
    compiled: &Compiled,
    sources: &Sources,
    cell: &CellCode,
) -> Vec<(Span, u32)> {
    let Some(source) = sources.source(cell.text) else { return Vec::new() };
    let Some(names) = compiled.scopes.get(cell.scope as usize) else { return Vec::new() };
    let parsed = parse::formula(&source.text, cell.text, &|w| names.defined.contains_key(w));
    let Ok(node) = parsed else { return Vec::new() };
    let mut found = Vec::new();
    node.walk(&mut |node| match &node.expression {
        Expression::Name(name) => {
            if let Some(Definition::Cell(read)) = names.defined.get(name)
                && cell.reads.contains(read)
            {
                found.push((node.span, *read));
            }
        }
        Expression::Field(of, word) => {
            if let Expression::Name(owner) = &of.expression
                && let Some(Definition::Component(cells)) = names.defined.get(owner)
            {
                found.extend(cells.get(&word.text).map(|read| (node.span, *read)));
            }
        }
        _ => {}
    });
    found
}

/// The formulas of the library that a formula calls.
pub(crate) fn formulas_called(
    sources: &Sources,
    cell: &CellCode,
) -> Vec<&'static forebay_formulas::Formula> {
    let Some(source) = sources.source(cell.text) else { return Vec::new() };
    let Ok(node) = parse::formula(&source.text, cell.text, &|_| false) else { return Vec::new() };
    let mut found: Vec<&'static forebay_formulas::Formula> = Vec::new();
    node.walk(&mut |node| {
        if let Expression::Call(name, _) | Expression::Method(_, name, _) = &node.expression
            && let Some(formula) = forebay_formulas::find(&name.text)
            && !found.iter().any(|f| f.name == formula.name)
        {
            found.push(formula);
        }
    });
    found
}
