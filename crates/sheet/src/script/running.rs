//! The state of one run: steps left, depth of the stack, whether it is a trial, warnings met.
//!
//! A run has a thread of its own (see [`super::limits::STACK`]), so its state is that thread's.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;

use rhai::{Dynamic, EvalAltResult, Position};

use super::{ScriptFault, limits};
use crate::diagnostic::{Diagnostic, Span};

thread_local! {
    static LEFT: Cell<u64> = const { Cell::new(0) };
    static STACK_TOP: Cell<usize> = const { Cell::new(0) };
    static TRIAL: Cell<bool> = const { Cell::new(false) };
    static TURNS: RefCell<HashMap<i64, u32>> = RefCell::default();
    static WARNINGS: RefCell<Vec<Diagnostic>> = const { RefCell::new(Vec::new()) };
}

/// Why a run ends early.
#[derive(Clone, Debug)]
pub(super) enum Stop {
    Fault(Box<ScriptFault>),
    /// The steps are used up, here.
    Steps(Span),
    /// The steps are used up; Rhai knows where.
    StepsSomewhere,
}

/// What Rhai is told when a run must end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ended {
    Steps,
    Stack,
}

/// Begins a run on this thread.
pub(super) fn begin(steps: u64, trial: bool) {
    LEFT.set(steps);
    TRIAL.set(trial);
    STACK_TOP.set(here());
    TURNS.with_borrow_mut(HashMap::clear);
    WARNINGS.with_borrow_mut(Vec::clear);
}

/// Counts one of Rhai's own steps and looks at the stack; `Some` ends the run.
pub(super) fn tick() -> Option<Ended> {
    let left = LEFT.get();
    LEFT.set(left.saturating_sub(1));
    if left == 0 {
        return Some(Ended::Steps);
    }
    (STACK_TOP.get().abs_diff(here()) > limits::STACK_IN_USE).then_some(Ended::Stack)
}

/// Counts steps taken on Rhai's behalf.
pub(super) fn charge(steps: u64) -> Result<(), Stop> {
    let left = LEFT.get();
    LEFT.set(left.saturating_sub(steps));
    if left <= steps && steps > 0 { Err(Stop::StepsSomewhere) } else { Ok(()) }
}

pub(super) fn steps_left() -> u64 {
    LEFT.get()
}

/// Whether the function is only tried out to learn the type of its result.
pub(super) fn is_trial() -> bool {
    TRIAL.get()
}

/// Whether a trial has gone through the loop at this place often enough.
pub(super) fn is_tired_of(place: i64) -> bool {
    TRIAL.get()
        && TURNS.with_borrow_mut(|turns| {
            let turns = turns.entry(place).or_default();
            *turns = (*turns + 1) % limits::TRIAL_TURNS;
            *turns == 0
        })
}

/// Keeps warnings of formulas, each once.
pub(super) fn warn(warnings: Vec<Diagnostic>) {
    if warnings.is_empty() || TRIAL.get() {
        return;
    }
    WARNINGS.with_borrow_mut(|kept| {
        for warning in warnings {
            if kept.len() < limits::WARNINGS && !kept.contains(&warning) {
                kept.push(warning);
            }
        }
    });
}

pub(super) fn warnings() -> Vec<Diagnostic> {
    WARNINGS.take()
}

/// Roughly where the stack has got to.
fn here() -> usize {
    let mark = 0_u8;
    std::ptr::from_ref(std::hint::black_box(&mark)).addr()
}

impl From<ScriptFault> for Stop {
    fn from(fault: ScriptFault) -> Self {
        Self::Fault(Box::new(fault))
    }
}

impl From<Stop> for Box<EvalAltResult> {
    fn from(stop: Stop) -> Self {
        let error = match stop {
            Stop::Fault(fault) => {
                EvalAltResult::ErrorRuntime(Dynamic::from(*fault), Position::NONE)
            }
            Stop::Steps(span) => {
                EvalAltResult::ErrorRuntime(Dynamic::from(limits::steps(span)), Position::NONE)
            }
            Stop::StepsSomewhere => {
                EvalAltResult::ErrorTerminated(Dynamic::from(Ended::Steps), Position::NONE)
            }
        };
        Box::new(error)
    }
}
