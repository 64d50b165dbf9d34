//! What compiling gives: the cells with their terms and programs, in computing order.

use std::collections::HashSet;

use forebay_units::Unit;

use super::drawings::DrawingCode;
use super::names::Names;
use crate::correlations::Correlations;
use crate::diagnostic::{Diagnostic, Span};
use crate::evaluate::formulas::{ReadySeries, ready_series};
use crate::graph::Graph;
use crate::program::Programs;
use crate::script::Scripts;
use crate::term::{Comparison, Id, Slot, Term, Terms};
use crate::value::{Type, Value};
use crate::worksheet::{Check, Distribution};

/// A sheet ready to compute.
#[derive(Debug, Default)]
pub(crate) struct Compiled {
    pub(crate) terms: Terms,
    pub(crate) programs: Programs,
    pub(crate) scripts: Scripts,
    pub(crate) cells: Vec<CellCode>,
    pub(crate) graph: Graph,
    /// The names of the sheet and then of each component.
    pub(crate) scopes: Vec<Names>,
    /// What is drawn, in the order of the worksheet.
    pub(crate) drawings: Vec<DrawingCode>,
    pub(crate) diagnostics: Vec<Diagnostic>,
    /// What components say of their checks.
    pub(crate) part_checks: Vec<Check>,
    /// The cells that components show as their headline results.
    pub(crate) part_headlines: HashSet<String>,
    /// How the uncertainties of knowns hang together; `None` where what is written of it is wrong.
    pub(crate) correlations: Option<Correlations>,
}

impl Compiled {
    /// The cell whose value a term is, if it is just that.
    pub(crate) fn cell_of(&self, id: Id) -> Option<u32> {
        match *self.terms.get(id) {
            Term::Cell(cell) => Some(cell),
            _ => None,
        }
    }

    /// A series that stands outside a flat program, ready for its formulas.
    pub(crate) fn ready_series(&self, id: Id, values: &[Option<Value>]) -> Option<ReadySeries> {
        match *self.terms.get(id) {
            Term::Constant(constant) => ready_series(self.terms.constant(constant)),
            Term::Cell(cell) => ready_series(values.get(cell as usize)?.as_ref()?),
            _ => None,
        }
    }
}

/// One cell: a known, a work or a check.
#[derive(Debug)]
pub(crate) struct CellCode {
    /// Its name; in a component with the component's name in front.
    pub(crate) name: String,
    pub(crate) role: Role,
    pub(crate) scope: u32,
    /// Where the formula or the value stands.
    pub(crate) text: Span,
    /// Where the name stands.
    pub(crate) name_span: Span,
    pub(crate) reads: Vec<u32>,
    /// Names that it reads and that could not be read themselves.
    pub(crate) broken_reads: Vec<String>,
    pub(crate) root: Option<Id>,
    pub(crate) slots: Slot,
    pub(crate) ty: Option<Type>,
    /// The unit that the sheet shows it in.
    pub(crate) unit: Option<Unit>,
    /// The units that its formula's result is read in, SI and US.
    pub(crate) shown_in: (&'static str, &'static str),
    /// The value as written, if it is one number with a unit.
    pub(crate) typed: Option<(String, Unit)>,
    /// The sides of a check's comparisons.
    pub(crate) sides: Vec<Side>,
    /// Where `between` begins and ends, and what may be chosen.
    pub(crate) between: Option<(Id, Id)>,
    pub(crate) choose: Option<Id>,
    /// How uncertain it is, for a known that is one number.
    pub(crate) plus_minus: Option<PlusMinus>,
    /// Whether the sheet says so, also where it cannot be taken into account.
    pub(crate) says_plus_minus: bool,
}

/// The uncertainty of a known as written.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PlusMinus {
    pub(crate) width: Id,
    /// Whether it is a share of the value.
    pub(crate) of_value: bool,
    pub(crate) span: Span,
    pub(crate) distribution: Distribution,
    pub(crate) degrees_of_freedom: Option<f64>,
}

/// What a cell is in the sheet: its kind and its place among its like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Role {
    Known(usize),
    Work(usize),
    Check(usize),
    /// A known of a component that keeps its own value.
    PartKnown,
    /// A check of a component.
    PartCheck(usize),
    /// Another cell of a component.
    Part,
}

/// A comparison inside a check.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Side {
    pub(crate) comparison: Comparison,
    pub(crate) left: Id,
    pub(crate) right: Id,
    pub(crate) ty: Type,
    pub(crate) left_span: Span,
    pub(crate) right_span: Span,
}
