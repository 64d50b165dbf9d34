//! Pieces of a function that the compiler's own terms compute: lowered when their operands first
//! come with new types, so that operators, units, money and formulas are the same everywhere.

use std::sync::{Arc, Mutex, PoisonError, RwLock};

use super::running::{self, Stop};
use super::values::{Thing, dynamic, sample};
use super::{ScriptFault, Scripts, limits};
use crate::compile::lower::{self, Lowering};
use crate::compile::names::{Definition, Names};
use crate::compile::operators;
use crate::compile::syntax::{Expression, Node};
use crate::diagnostic::{Code, Sources, Span};
use crate::evaluate::Machine;
use crate::show::Style;
use crate::term::{Id, Slot, Terms};
use crate::value::{Scalar, Type, Value};

/// An expression over variables.
#[derive(Debug)]
pub(super) struct Piece {
    node: Node,
    inputs: Vec<Input>,
    /// Whether it may look at whole series, which costs as many steps.
    looks_through: bool,
    lowered: RwLock<Vec<Arc<Lowered>>>,
}

/// An operand of a piece.
#[derive(Clone, Debug)]
pub(super) struct Input {
    pub(super) name: String,
    pub(super) span: Span,
    /// Whether only its values are counted, for which a list may be empty.
    pub(super) counted: bool,
}

/// A piece for operands of certain types.
#[derive(Debug)]
struct Lowered {
    types: Vec<Option<Type>>,
    terms: Terms,
    root: Id,
    slots: Slot,
    ty: Type,
}

/// What pieces are lowered with.
#[derive(Debug)]
pub(super) struct Surroundings {
    /// The functions that the compiler writes out, and the currency.
    names: Mutex<Names>,
    style: Style,
    sources: Sources,
}

impl Surroundings {
    pub(super) fn new(names: Names, style: Style, sources: Sources) -> Self {
        Self { names: Mutex::new(names), style, sources }
    }

    /// Says that two types do not go together, in the words of formulas; `what` ends "cannot …".
    pub(super) fn unlike(
        &self,
        left: (Type, Span),
        right: (Type, Span),
        what: &str,
    ) -> Option<ScriptFault> {
        let names = self.names.lock().unwrap_or_else(PoisonError::into_inner);
        let (mut terms, mut found, mut scripts) =
            (Terms::default(), Vec::new(), Scripts::default());
        let mut lowering =
            Lowering::new(&mut terms, &mut found, &names, &[], &self.sources, &mut scripts);
        let side = |(ty, span)| lower::Lowered { id: 0, ty, span, shown_in: ("", "") };
        let alike = operators::alike(&mut lowering, side(left), side(right), what);
        if alike.is_some() {
            return None;
        }
        Some(ScriptFault::first_of(found, left.1))
    }
}

impl Piece {
    pub(super) fn new(node: Node, inputs: Vec<Input>) -> Self {
        let mut looks_through = false;
        node.walk(&mut |node| {
            looks_through |=
                matches!(node.expression, Expression::Call(..) | Expression::Method(..));
        });
        Self { node, inputs, looks_through, lowered: RwLock::default() }
    }

    /// Computes the piece for operands in the order of its inputs.
    pub(super) fn compute(
        &self,
        around: &Surroundings,
        operands: Vec<rhai::Dynamic>,
    ) -> Result<rhai::Dynamic, Stop> {
        let mut types = Vec::with_capacity(operands.len());
        let mut values = Vec::with_capacity(operands.len());
        for (input, operand) in self.inputs.iter().zip(operands) {
            let (ty, value) = input.operand(Thing::of(operand))?;
            if let (true, Value::Series(series)) = (self.looks_through, &value) {
                running::charge(series.len() as u64 / limits::ELEMENTS_PER_STEP)?;
            }
            types.push(Some(ty));
            values.push(Some(value));
        }
        let code = self.code(around, types)?;
        // No piece calls a function that Rhai runs; those calls stand outside of it.
        let scripts = Scripts::default();
        let mut machine = Machine::new(&code.terms, &values, &scripts, around.style);
        let trying = running::is_trial();
        let before = running::steps_left();
        let mut left = if trying { before.min(limits::TRIAL_STEPS_OF_A_PIECE) } else { before };
        let allowed = left;
        let (result, warnings) = machine.counted(code.root, code.slots, &mut left);
        running::charge(allowed - left)?;
        match result {
            Ok(value) => {
                running::warn(warnings);
                if let Value::Series(series) = &value {
                    // Every value that is kept has been paid for, which bounds the memory.
                    running::charge(series.len() as u64)?;
                }
                Ok(dynamic(code.ty, value))
            }
            // What a trial is after is the type alone.
            Err(_) if trying => Ok(dynamic(code.ty, sample(code.ty))),
            Err(fault) => {
                let fault = ScriptFault::from(fault.diagnostic());
                if fault.code == Code::LIMIT {
                    Err(Stop::Steps(fault.span))
                } else {
                    Err(fault.into())
                }
            }
        }
    }

    fn code(&self, around: &Surroundings, types: Vec<Option<Type>>) -> Result<Arc<Lowered>, Stop> {
        {
            let lowered = self.lowered.read().unwrap_or_else(PoisonError::into_inner);
            if let Some(code) = lowered.iter().find(|code| code.types == types) {
                return Ok(Arc::clone(code));
            }
        }
        running::charge(limits::STEPS_OF_LOWERING)?;
        let code = Arc::new(self.lower(around, types)?);
        let mut lowered = self.lowered.write().unwrap_or_else(PoisonError::into_inner);
        // A variable whose unit changes at every turn would fill the store without end.
        if lowered.len() >= limits::KINDS_OF_A_PIECE {
            lowered.clear();
        }
        lowered.push(Arc::clone(&code));
        Ok(code)
    }

    fn lower(
        &self,
        around: &Surroundings,
        types: Vec<Option<Type>>,
    ) -> Result<Lowered, ScriptFault> {
        let mut names = around.names.lock().unwrap_or_else(PoisonError::into_inner);
        names.defined = (0_u32..)
            .zip(&self.inputs)
            .map(|(at, input)| (input.name.clone(), Definition::Cell(at)))
            .collect();
        let (mut terms, mut found, mut scripts) =
            (Terms::default(), Vec::new(), Scripts::default());
        let mut lowering =
            Lowering::new(&mut terms, &mut found, &names, &types, &around.sources, &mut scripts);
        let lowered = lowering.expression(&self.node);
        let slots = lowering.next_slot;
        match lowered {
            Some(lowered) => Ok(Lowered { types, terms, root: lowered.id, slots, ty: lowered.ty }),
            None => Err(ScriptFault::first_of(found, self.node.span)),
        }
    }
}

impl Input {
    /// The operand as a value with its type, or why it is none.
    pub(super) fn operand(&self, thing: Thing) -> Result<(Type, Value), ScriptFault> {
        let (code, message, help) = match thing {
            Thing::Value(ty, value) => return Ok((ty, value)),
            Thing::EmptyList if self.counted => {
                let ty = Type::Series(Scalar::Number(forebay_units::Dimension::NONE));
                return Ok((ty, super::values::series(ty.scalar(), Vec::new(), None)));
            }
            Thing::EmptyList => (
                Code::WRONG_KIND,
                "this list is empty here, and an empty list has no unit",
                "put a value into it first, or ask `count(xs) > 0`",
            ),
            Thing::Function(_) => (
                Code::WRONG_KIND,
                "this is a function where a value is expected",
                "call it: `f(x)`",
            ),
            Thing::Nothing => (
                Code::SYNTAX,
                "this gives no value",
                "end it with the value itself, without `;`, and give every `if` its `else`",
            ),
        };
        Err(ScriptFault {
            code,
            message: message.to_owned(),
            span: self.span,
            help: Some(help.to_owned()),
        })
    }
}
