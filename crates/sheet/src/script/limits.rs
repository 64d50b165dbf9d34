//! What a function may take: one table of bounds, each with its reason.

use rhai::Engine;

use super::{ScriptFault, running};
use crate::diagnostic::{Code, Span};

/// Steps of one call: Rhai's operations, turns of loops and elements of series together. A plain
/// turn of a loop takes 20 to 30, so that hourly values of a year can be gone through several
/// times. All of them take a quarter of a second (measured, optimised build), and since each value
/// of a series that is made counts, no more than 80 MB.
pub(super) const STEPS: u64 = 2_000_000;
/// Steps of trying a function out on ones when the sheet is read: a sheet may hold many calls.
pub(super) const TRIAL_STEPS: u64 = 200_000;
/// Steps of all trials of a sheet together.
pub(super) const STEPS_OF_ALL_TRIALS: u64 = 5_000_000;
/// Steps of one piece in a trial: after that its type alone is taken.
pub(super) const TRIAL_STEPS_OF_A_PIECE: u64 = 5_000;
/// Turns of a `while` in a trial: the types are known after the first.
pub(super) const TRIAL_TURNS: u32 = 3;
/// Steps that lowering a piece counts for: about as long as so many operations.
pub(super) const STEPS_OF_LOWERING: u64 = 100;
/// Elements of a series that are looked at in the time of one step.
pub(super) const ELEMENTS_PER_STEP: u64 = 8;
/// Combinations of operand types that one piece is kept for.
pub(super) const KINDS_OF_A_PIECE: usize = 16;
/// Functions that call one another.
pub(super) const CALLS: usize = 32;
/// Levels of a function in Rhai's tree. Our own parser stops at 200 operations and 64 brackets,
/// each of which becomes at most three levels.
pub(super) const LEVELS: usize = 700;
/// Values that a function takes; each is a variable, and lists of them are compared pair by pair.
pub(super) const PARAMETERS: usize = 64;
/// Variables of one function at a time; each name is looked for among them.
pub(super) const VARIABLES: usize = 256;
/// Functions of a sheet, those written as `|x| …` counted.
pub(super) const FUNCTIONS: usize = 2_000;
/// Operands of one operation, and values written into one list.
pub(super) const OPERANDS: usize = 4_096;
/// Functions held by functions held by functions: each level is a level of the stack when the
/// outermost is dropped or called.
pub(super) const HELD_FUNCTIONS: u8 = 8;
/// Lines of generated text; Rhai counts no further than 65,535.
pub(super) const LINES: usize = 60_000;
/// Bytes of stack of the thread that a function runs on. 32 calls of deeply nested expressions
/// take more than the 2 MiB of an ordinary thread; untouched pages cost nothing. Stacks up to this
/// size the system's library keeps for the next thread, which makes a run three times as quick.
pub(super) const STACK: usize = 32 * 1024 * 1024;
/// Bytes of that stack after which a run is ended: whatever the counts above let through ends
/// here, with room for what is open.
pub(super) const STACK_IN_USE: usize = 20 * 1024 * 1024;
/// Different warnings kept of one call.
pub(super) const WARNINGS: usize = 100;

/// Sets Rhai's own bounds. No text, list or map of Rhai's reaches a variable, so those are small.
pub(super) fn set(engine: &mut Engine) {
    engine
        // Counted by `tick`, which also sees what Rhai does not count.
        .set_max_operations(0)
        .set_max_call_levels(CALLS)
        .set_max_expr_depths(LEVELS, LEVELS)
        // Room for those that loops and `xs[i] = …` add.
        .set_max_variables(VARIABLES + 100)
        .set_max_functions(FUNCTIONS)
        .set_max_array_size(OPERANDS)
        .set_max_string_size(256)
        .set_max_map_size(1)
        .on_progress(|_| running::tick().map(rhai::Dynamic::from));
}

/// Says that the steps are used up.
pub(super) fn steps(span: Span) -> ScriptFault {
    ScriptFault {
        code: Code::LIMIT,
        message: "stopped after the steps that one call may take".to_owned(),
        span,
        help: Some("look for a loop that does not end, or for one over too many values".to_owned()),
    }
}

/// Says that something is nested too deeply.
pub(super) fn depth(span: Span, what: impl Into<String>) -> ScriptFault {
    ScriptFault {
        code: Code::LIMIT,
        message: what.into(),
        span,
        help: Some("look for a function that calls itself without end".to_owned()),
    }
}
