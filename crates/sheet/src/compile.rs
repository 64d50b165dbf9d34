//! From a worksheet's texts to typed terms in computing order.

pub(crate) mod builtins;
mod calls;
mod compiled;
mod components;
#[cfg(test)]
mod depth_tests;
pub(crate) mod drawings;
pub(crate) mod language;
mod lexer;
pub(crate) mod lower;
pub(crate) mod names;
pub(crate) mod operators;
pub(crate) mod outside;
pub(crate) mod parse;
mod resolve;
pub(crate) mod statements;
pub(crate) mod syntax;
mod tables;
mod ties;
mod values;

use std::collections::HashMap;

use forebay_units::{System, Unit};

pub(crate) use compiled::{CellCode, Compiled, PlusMinus, Role, Side};
pub(crate) use syntax::Function;

use crate::diagnostic::{Code, Diagnostic, Sources, Span};
use crate::graph::Graph;
use crate::read::Loader;
use crate::show::Style;
use crate::value::{Scalar, Type};
use crate::worksheet::{Distribution, Text, Worksheet};
use lower::{Lowered, Lowering};
use names::{Definition, Names, Reads, UserFunction};
use syntax::{Expression, Node, Operator};
use ties::Resolved;
use values::{known_extras, typed, value_node};

/// So many cells of a ring are named, and the last one: nobody reads more of them.
const MOST_OF_RING: usize = 12;

/// Values given from outside in place of those in the file: name to place of the text.
pub(crate) type Given = HashMap<String, Span>;

/// Compiles a worksheet and the worksheets that it uses.
pub(crate) fn compile(
    worksheet: &Worksheet,
    sources: &mut Sources,
    loader: &dyn Loader,
    given: &Given,
) -> Compiled {
    let mut compiler = Compiler {
        out: Compiled::default(),
        pending: Vec::new(),
        ties: Vec::new(),
        broken_ties: false,
        sources,
        loader,
        given,
        sheets: 0,
        system: worksheet.units,
    };
    compiler.sheet(worksheet, "", None, &mut Vec::new());
    compiler.finish(worksheet)
}

fn is_part(role: Role) -> bool {
    matches!(role, Role::PartKnown | Role::PartCheck(_) | Role::Part)
}

/// A formula waiting to be lowered.
struct Pending {
    text: Text,
    /// The scope that its names are looked up in.
    scope: u32,
    kind: PendingKind,
    node: Option<Node>,
    unit: Option<Text>,
    between: Option<(Text, Text)>,
    choose: Option<Text>,
    plus_minus: Option<Uncertainty>,
}

/// An uncertainty waiting to be lowered.
struct Uncertainty {
    text: Text,
    distribution: Distribution,
    degrees_of_freedom: Option<f64>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum PendingKind {
    /// A value: no names, and bare words are texts.
    Value,
    Formula,
    Condition,
}

struct Compiler<'a> {
    out: Compiled,
    pending: Vec<Pending>,
    /// What is tied, of the sheet and its components.
    ties: Vec<Resolved>,
    /// Whether a tie could not be read or resolved.
    broken_ties: bool,
    sources: &'a mut Sources,
    loader: &'a dyn Loader,
    given: &'a Given,
    sheets: usize,
    /// The system that the whole sheet is shown in.
    system: System,
}

/// What a component's knowns and tables are set to, and where those formulas are read.
#[derive(Clone, Copy)]
struct SetFromOutside<'s> {
    set: &'s [(Text, Text)],
    /// The scope of the formulas.
    scope: u32,
    /// The names of the sheet outside, for its tables.
    names: &'s Names,
}

impl Compiler<'_> {
    fn report(&mut self, diagnostic: Diagnostic) {
        self.out.diagnostics.push(diagnostic);
    }

    /// Takes in a worksheet: its names first, so that order does not matter, then its formulas.
    fn sheet(
        &mut self,
        worksheet: &Worksheet,
        prefix: &str,
        set: Option<SetFromOutside<'_>>,
        path: &mut Vec<String>,
    ) -> HashMap<String, u32> {
        self.sheets += 1;
        let scope = index(self.out.scopes.len());
        self.out.scopes.push(Names { currency: worksheet.currency, ..Names::default() });
        let mut cells = HashMap::new();
        let mut names = Names { currency: worksheet.currency, ..Names::default() };
        for broken in &worksheet.broken {
            names.defined.insert(broken.text.clone(), Definition::Broken);
        }
        self.tables(worksheet, &mut names);
        if let Some(set) = set {
            self.tables_from_outside(worksheet, set, &mut names);
        }
        let first = self.out.cells.len();
        self.cells_of(worksheet, prefix, scope, set);
        for (at, cell) in (first..).zip(&self.out.cells[first..]) {
            let own = cell.name.strip_prefix(prefix).unwrap_or(&cell.name).to_owned();
            if !matches!(cell.role, Role::Check(_) | Role::PartCheck(_)) && !self.is_check(at) {
                names.defined.insert(own.clone(), Definition::Cell(index(at)));
            }
            cells.insert(own, index(at));
        }
        for used in &worksheet.uses {
            let component = self.component(used, prefix, scope, &names, path);
            let definition = component.map_or(Definition::Broken, Definition::Component);
            names.defined.insert(used.name.text.clone(), definition);
        }
        self.functions(worksheet, &mut names);
        self.ties(worksheet, prefix, &names);
        self.out.scopes[scope as usize] = names;
        cells
    }

    fn is_check(&self, cell: usize) -> bool {
        self.pending.get(cell).is_some_and(|p| p.kind == PendingKind::Condition)
    }

    fn cells_of(
        &mut self,
        worksheet: &Worksheet,
        prefix: &str,
        scope: u32,
        set: Option<SetFromOutside<'_>>,
    ) {
        let component = !prefix.is_empty();
        let role = |role: Role| if component { Role::Part } else { role };
        for (at, known) in worksheet.known.iter().enumerate() {
            let name = format!("{prefix}{}", known.name.text);
            let set_here = set.and_then(|from| {
                let found = from.set.iter().find(|(n, _)| n.text == known.name.text);
                found.map(|(_, text)| (text, from.scope))
            });
            let (text, formula_scope, kind) = match (set_here, self.given.get(&name)) {
                // A truth is written as in a known; all else may name cells outside.
                (Some((text, outer)), _) => match text.text.trim() {
                    "yes" | "no" => (text.clone(), outer, PendingKind::Value),
                    _ => (text.clone(), outer, PendingKind::Formula),
                },
                (None, Some(span)) => {
                    let text = self.sources.piece(*span).to_owned();
                    (Text { span: *span, text }, scope, PendingKind::Value)
                }
                (None, None) => (known.is.clone(), scope, PendingKind::Value),
            };
            self.add_cell(
                name,
                known.name.span,
                if component && set_here.is_none() {
                    Role::PartKnown
                } else {
                    role(Role::Known(at))
                },
                Pending {
                    text,
                    scope: formula_scope,
                    kind,
                    node: None,
                    unit: known.unit.clone(),
                    between: known.between.clone(),
                    choose: known.choose.clone(),
                    plus_minus: known.plus_minus.clone().map(|text| Uncertainty {
                        text,
                        distribution: known.distribution,
                        degrees_of_freedom: known.degrees_of_freedom,
                    }),
                },
            );
        }
        for (at, work) in worksheet.work.iter().enumerate() {
            let name = format!("{prefix}{}", work.name.text);
            let pending = Pending::formula(&work.is, scope, work.unit.clone());
            self.add_cell(name, work.name.span, role(Role::Work(at)), pending);
        }
        for (at, check) in worksheet.check.iter().enumerate() {
            let name = format!("{prefix}{}", check.name.text);
            let mut pending = Pending::formula(&check.that, scope, None);
            pending.kind = PendingKind::Condition;
            let role = if component {
                self.out.part_checks.push(check.clone());
                Role::PartCheck(self.out.part_checks.len() - 1)
            } else {
                Role::Check(at)
            };
            self.add_cell(name, check.name.span, role, pending);
        }
    }

    fn add_cell(&mut self, name: String, name_span: Span, role: Role, pending: Pending) {
        self.out.cells.push(CellCode {
            name,
            role,
            scope: pending.scope,
            text: pending.text.span,
            name_span,
            reads: Vec::new(),
            broken_reads: Vec::new(),
            root: None,
            slots: 0,
            ty: None,
            unit: None,
            shown_in: ("", ""),
            typed: None,
            sides: Vec::new(),
            between: None,
            choose: None,
            plus_minus: None,
            says_plus_minus: pending.plus_minus.is_some(),
        });
        self.pending.push(pending);
    }

    fn functions(&mut self, worksheet: &Worksheet, names: &mut Names) {
        let mut functions = Vec::new();
        for block in &worksheet.functions {
            let text = self.source_text(block.span);
            let block = parse::functions(&text, block.span, &|_| false);
            self.out.diagnostics.extend(block.diagnostics);
            for name in block.broken {
                names.defined.entry(name.text).or_insert(Definition::Broken);
            }
            for function in block.functions {
                if let Some(clash) = clash(&function, &functions, names) {
                    self.report(clash);
                } else {
                    functions.push(function);
                }
            }
        }
        let interpreted = statements::interpreted(&functions);
        if interpreted.contains(&true) {
            let all: Vec<&Function> = functions.iter().collect();
            let style = Style { system: worksheet.units, currency: worksheet.currency };
            match self.out.scripts.load(&all, self.sources, names, style) {
                Ok(module) => names.module = module,
                Err(fault) => self.report(fault.diagnostic()),
            }
        }
        names.functions = functions
            .into_iter()
            .zip(interpreted)
            .map(|(function, interpreted)| UserFunction { function, interpreted })
            .collect();
    }

    fn source_text(&self, span: Span) -> std::sync::Arc<str> {
        self.sources.source(span).map_or_else(|| "".into(), |source| source.text.clone())
    }

    /// Parses, sorts and lowers everything taken in.
    fn finish(mut self, worksheet: &Worksheet) -> Compiled {
        self.parse();
        let reads: Vec<Vec<u32>> = self.out.cells.iter().map(|cell| cell.reads.clone()).collect();
        let (graph, rings) = Graph::new(&reads);
        for ring in rings {
            let diagnostic = self.ring(&ring);
            self.report(diagnostic);
        }
        let mut types: Vec<Option<Type>> = vec![None; self.out.cells.len()];
        for cell in graph.order.clone() {
            self.lower(cell as usize, &mut types);
        }
        for (at, cell) in self.out.cells.iter().enumerate() {
            // What has more to say of its value than the value is computed in full.
            let plain = cell.between.is_none()
                && cell.choose.is_none()
                && cell.plus_minus.is_none()
                && cell.broken_reads.is_empty();
            if let (Some(root), true) = (cell.root, plain) {
                self.out.programs.add(&self.out.terms, &types, root, at);
            }
        }
        self.out.graph = graph;
        self.correlate();
        self.look_over_functions();
        self.drawings(worksheet, &types);
        // A worksheet that is used several times says what is wrong with it once.
        let mut told = std::collections::HashSet::new();
        self.out.diagnostics.retain(|d| told.insert((d.code.name, d.span(), d.message.clone())));
        self.out
    }

    /// Looks into functions that no cell calls, and into branches that the interpreter has not
    /// tried: what is wrong whatever the arguments are is told beforehand.
    fn look_over_functions(&mut self) {
        for scope in 0..self.out.scopes.len() {
            let names = std::mem::take(&mut self.out.scopes[scope]);
            for user in &names.functions {
                let mut lowering = Lowering::new(
                    &mut self.out.terms,
                    &mut self.out.diagnostics,
                    &names,
                    &[],
                    self.sources,
                    &mut self.out.scripts,
                );
                lowering.look_over(&user.function, None);
            }
            self.out.scopes[scope] = names;
        }
    }

    fn parse(&mut self) {
        for at in 0..self.pending.len() {
            let (text, kind, scope) = {
                let pending = &self.pending[at];
                (pending.text.clone(), pending.kind, pending.scope as usize)
            };
            let source = self.source_text(text.span);
            let names = &self.out.scopes[scope];
            let parsed = match kind {
                PendingKind::Value => value_node(&source, &text, names),
                _ => parse::formula(&source, text.span, &|word| names.defined.contains_key(word)),
            };
            match parsed {
                Ok(node) => {
                    if kind != PendingKind::Value {
                        let reads = Reads::of(&node, names);
                        self.out.cells[at].reads = reads.cells;
                        self.out.cells[at].broken_reads = reads.broken;
                    }
                    self.pending[at].node = Some(node);
                }
                Err(diagnostic) => self.report(diagnostic),
            }
        }
    }

    fn ring(&self, ring: &[u32]) -> Diagnostic {
        let cells: Vec<&CellCode> =
            ring.iter().filter_map(|cell| self.out.cells.get(*cell as usize)).collect();
        let mut path: Vec<&str> = cells.iter().map(|cell| cell.name.as_str()).collect();
        path.extend(path.first().copied());
        let first = cells.first().map_or(Span { source: 0, start: 0, end: 0 }, |c| c.name_span);
        let left_out = path.len().saturating_sub(MOST_OF_RING + 2);
        let shown = if left_out > 1 {
            let (begin, end) = (&path[..MOST_OF_RING], &path[path.len() - 2..]);
            format!("{} → ({left_out} more) → {}", begin.join(" → "), end.join(" → "))
        } else {
            path.join(" → ")
        };
        let mut diagnostic = Diagnostic::new(
            Code::CYCLE,
            format!("these cells read one another in a ring: {shown}"),
            first,
        );
        for (at, (cell, next)) in cells.iter().zip(path.iter().skip(1)).enumerate() {
            if left_out > 1 && at >= MOST_OF_RING && at + 1 < cells.len() {
                continue;
            }
            let text = format!("reads `{next}`");
            if cell.name_span == first {
                diagnostic = diagnostic.here(text);
            } else {
                diagnostic = diagnostic.and(cell.name_span, text);
            }
        }
        diagnostic
    }

    fn lower(&mut self, at: usize, types: &mut [Option<Type>]) {
        let Some(node) = self.pending[at].node.take() else { return };
        let pending = &self.pending[at];
        let names = std::mem::take(&mut self.out.scopes[pending.scope as usize]);
        let no_names = Names { currency: names.currency, ..Names::default() };
        let seen = if pending.kind == PendingKind::Value { &no_names } else { &names };
        let cell = &mut self.out.cells[at];
        let mut lowering = Lowering::new(
            &mut self.out.terms,
            &mut self.out.diagnostics,
            seen,
            types,
            self.sources,
            &mut self.out.scripts,
        );
        let mut lowered = lowering.expression(&node);
        if pending.kind == PendingKind::Condition {
            lowered =
                lowered.and_then(|l| operators::want(&mut lowering, l, Type::TRUTH, "a check"));
            if lowered.is_some() {
                sides(&mut lowering, &node, &mut cell.sides);
            }
        }
        cell.typed = typed(&node);
        if let (PendingKind::Value, Some(lowered)) = (pending.kind, lowered) {
            known_extras(&mut lowering, pending, lowered, &names, cell);
        }
        cell.slots = lowering.next_slot;
        if let Some(unit) = &pending.unit {
            // Inches that a component asks for are no help in a metric sheet.
            let foreign = self.system == System::Si && is_part(cell.role);
            cell.unit = shown_unit(&mut lowering, unit, lowered)
                .filter(|unit| !(foreign && unit.is_customary()));
        }
        if let Some(lowered) = lowered {
            cell.root = Some(lowered.id);
            cell.ty = Some(lowered.ty);
            cell.shown_in = lowered.shown_in;
            types[at] = Some(lowered.ty);
        }
        // A cell that only passes another one on is read in its unit.
        if let (None, Expression::Name(_) | Expression::Field(..), &[of]) =
            (&pending.unit, &node.expression, cell.reads.as_slice())
        {
            let of = &self.out.cells[of as usize];
            let (unit, shown_in) = (of.unit.clone(), of.shown_in);
            let cell = &mut self.out.cells[at];
            (cell.unit, cell.shown_in) = (unit, shown_in);
        }
        self.out.scopes[self.pending[at].scope as usize] = names;
    }
}

impl Pending {
    fn formula(text: &Text, scope: u32, unit: Option<Text>) -> Self {
        Self {
            text: text.clone(),
            scope,
            kind: PendingKind::Formula,
            node: None,
            unit,
            between: None,
            choose: None,
            plus_minus: None,
        }
    }
}

/// Lowers the sides of the comparisons that a condition is made of.
fn sides(lowering: &mut Lowering<'_>, node: &Node, sides_out: &mut Vec<Side>) {
    let Expression::Binary(operator, left, right) = &node.expression else { return };
    if *operator == Operator::And {
        sides(lowering, left, sides_out);
        sides(lowering, right, sides_out);
        return;
    }
    let Some(comparison) = operators::comparison_of(*operator) else { return };
    let (Some(l), Some(r)) = (lowering.expression(left), lowering.expression(right)) else {
        return;
    };
    if let Type::One(Scalar::Number(_)) = l.ty {
        sides_out.push(Side {
            comparison,
            left: l.id,
            right: r.id,
            ty: l.ty,
            left_span: left.span,
            right_span: right.span,
        });
    }
}

/// The unit named under `in`, if it fits what the cell holds.
fn shown_unit(lowering: &mut Lowering<'_>, text: &Text, lowered: Option<Lowered>) -> Option<Unit> {
    let unit = match Unit::parse(text.text.trim()) {
        Ok(unit) => unit,
        Err(error) => {
            lowering.report(parse::unit_diagnostic(&error, text.span));
            return None;
        }
    };
    if let Some(diagnostic) = lowering.foreign_currency(&unit, text.span) {
        lowering.report(diagnostic);
        return None;
    }
    let lowered = lowered?;
    let Some(dimension) = lowered.ty.dimension() else {
        lowering.report(Diagnostic::new(
            Code::WRONG_KIND,
            format!("a {} has no unit", lowered.ty),
            text.span,
        ));
        return None;
    };
    if let Err(error) = dimension.alike(unit.dimension()) {
        lowering.report(
            Diagnostic::new(
                Code::WRONG_DIMENSION,
                format!(
                    "`{}` is a unit of {}, the cell holds {dimension}",
                    unit.symbol(),
                    unit.dimension()
                ),
                text.span,
            )
            .and(lowered.span, dimension.to_string())
            .help(operators::advice_for(error)),
        );
        return None;
    }
    Some(unit)
}

fn clash(function: &Function, before: &[Function], names: &Names) -> Option<Diagnostic> {
    let name = &function.name;
    let twice = |span: Span| {
        Diagnostic::new(Code::NAME_TWICE, format!("`{}` is there twice", name.text), name.span)
            .and(span, "here already")
    };
    if let Some(other) = before.iter().find(|f| f.name.text == name.text) {
        return Some(twice(other.name.span));
    }
    let taken = names.defined.contains_key(&name.text)
        || builtins::find(&name.text).is_some()
        || forebay_formulas::find(&name.text).is_some();
    taken.then(|| {
        Diagnostic::new(
            Code::NAME_TWICE,
            format!("`{}` is already the name of something else", name.text),
            name.span,
        )
        .help("formulas of the library and cells keep their names; choose another one")
    })
}

/// Sheets are bounded far below 2³² cells by the limit on their text.
#[allow(clippy::cast_possible_truncation)]
fn index(at: usize) -> u32 {
    at as u32
}
