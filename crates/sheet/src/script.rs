//! Rhai's interpreter for those functions of a sheet that loop over lists they build, keep
//! functions in variables or call themselves: sandboxed, on quantities that carry their dimension.
//!
//! Rhai runs what is control: blocks, branches, loops, variables, calls. What computes is cut out
//! in pieces, which the compiler lowers to the same terms as any formula ([`pieces`]). The text
//! that Rhai reads is written from our trees ([`generate`]) and can call only what [`natives`]
//! registers. What a run may take stands in [`limits`].

#[cfg(test)]
mod against_terms;
mod generate;
mod limits;
mod natives;
mod pieces;
mod running;
mod split;
#[cfg(test)]
mod tests;
mod values;

use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

use rhai::{AST, CallFnOptions, Dynamic, Engine, EvalAltResult, ParseErrorType, Position, Scope};

use crate::compile::Function;
use crate::compile::lower::described;
use crate::compile::names::{Names, UserFunction};
use crate::diagnostic::{Code, Diagnostic, Sources, Span};
use crate::show::Style;
use crate::value::{Type, Value};
use generate::{Generated, Generator, Written};
use natives::Tables;
use pieces::Surroundings;
use running::Ended;
use split::Known;
use values::{Thing, dynamic, sample, series};

/// The interpreter with the functions of all sheets it serves.
#[derive(Debug, Default)]
pub(crate) struct Scripts {
    modules: Vec<Module>,
    calls: Vec<ScriptCall>,
    /// What was found out by trying, so that each combination of types is tried once.
    tried: HashMap<(u32, String), Vec<Tried>>,
    /// Steps that trials have taken.
    trial_steps: u64,
}

/// The types of the arguments and what came out.
type Tried = (Vec<Type>, Result<Type, ScriptFault>);

/// A call with the types it was checked for.
#[derive(Clone, Debug)]
pub(crate) struct ScriptCall {
    /// Which sheet's functions.
    pub(crate) module: u32,
    pub(crate) function: String,
    pub(crate) arguments: Vec<Type>,
    pub(crate) result: Type,
}

/// Why a function ended without a value, at its place in the user's file.
#[derive(Clone, Debug)]
pub(crate) struct ScriptFault {
    pub(crate) code: &'static Code,
    pub(crate) message: String,
    pub(crate) span: Span,
    pub(crate) help: Option<String>,
}

/// The place of what has none; no text reaches it.
const NOWHERE: Span = Span { source: 0, start: 0, end: 0 };

/// The functions of one sheet.
struct Module {
    engine: Engine,
    ast: AST,
    tables: Arc<Tables>,
    lines: Vec<Span>,
    functions: HashMap<String, Entry>,
}

struct Entry {
    name_span: Span,
    /// All of it.
    span: Span,
    parameters: usize,
    fault: Option<ScriptFault>,
}

impl Scripts {
    /// Takes in the functions of a sheet; those that need the interpreter are made ready for it.
    /// `names` gives the sheet's currency, and its cells for the message that functions see none;
    /// `style` is how numbers are worded in messages.
    ///
    /// A function with a mistake is refused when it is asked for, not here.
    ///
    /// # Errors
    /// More text than the interpreter can number.
    pub(crate) fn load(
        &mut self,
        functions: &[&Function],
        sources: &Sources,
        names: &Names,
        style: Style,
    ) -> Result<u32, ScriptFault> {
        let module = on_own_stack(|| Module::new(&Known::new(functions), sources, names, style))??;
        self.modules.push(module);
        Ok(u32::try_from(self.modules.len() - 1).unwrap_or(u32::MAX))
    }

    /// What a function gives for arguments of these types, found by running it on ones.
    ///
    /// # Errors
    /// A mistake in it or in a function that it may call; a computation that no types allow; a
    /// trial that takes too long; no value, or one that no cell can hold.
    pub(crate) fn result_type(
        &mut self,
        module: u32,
        function: &Function,
        arguments: &[Type],
    ) -> Result<Type, ScriptFault> {
        let key = (module, function.name.text.clone());
        let before = self.tried.get(&key).and_then(|all| all.iter().find(|(t, _)| t == arguments));
        if let Some((_, result)) = before {
            return result.clone();
        }
        let result = self.tried_out(module, function, arguments);
        self.tried.entry(key).or_default().push((arguments.to_vec(), result.clone()));
        result
    }

    fn tried_out(
        &mut self,
        module: u32,
        function: &Function,
        arguments: &[Type],
    ) -> Result<Type, ScriptFault> {
        let (name, span) = (&function.name.text, function.name.span);
        let module = self
            .modules
            .get(module as usize)
            .ok_or_else(|| internal("it has not been taken in", span))?;
        let entry = module.entry(name, span)?;
        if let Some(fault) = &entry.fault {
            return Err(fault.clone());
        }
        let values: Vec<Value> = arguments.iter().map(|ty| sample(*ty)).collect();
        let left = limits::STEPS_OF_ALL_TRIALS.saturating_sub(self.trial_steps);
        let allowed = left.min(limits::TRIAL_STEPS);
        let mut steps = allowed;
        let result = module.run(name, entry, arguments, &values, &mut steps, true);
        self.trial_steps += allowed - steps;
        match result?.0 {
            Thing::Value(ty, _) => Ok(ty),
            Thing::EmptyList => Err(ScriptFault {
                code: Code::WRONG_KIND,
                message: format!(
                    "`{name}` gives an empty list when tried out on ones, so its unit is unknown"
                ),
                span,
                help: Some(
                    "let the list hold a value for arguments of one (in SI units)".to_owned(),
                ),
            }),
            other => Err(no_value(name, &other, span)),
        }
    }

    /// Keeps a call that has been checked.
    pub(crate) fn add(&mut self, call: ScriptCall) -> u32 {
        self.calls.push(call);
        u32::try_from(self.calls.len() - 1).unwrap_or(u32::MAX)
    }

    /// Runs a checked call; gives its value and what the sources of the formulas in it do not
    /// vouch for. `steps` is what is left of the steps a sheet may take; it is counted down by
    /// what the call used.
    ///
    /// # Errors
    /// Whatever ends the function; a result of another type than the checked one.
    pub(crate) fn run(
        &self,
        call: u32,
        arguments: &[Value],
        steps: &mut u64,
    ) -> Result<(Value, Vec<Diagnostic>), ScriptFault> {
        let Some(call) = self.calls.get(call as usize) else {
            return Err(internal("the call has not been checked", NOWHERE));
        };
        let module = self
            .modules
            .get(call.module as usize)
            .ok_or_else(|| internal("it has not been taken in", NOWHERE))?;
        let entry = module.entry(&call.function, NOWHERE)?;
        let (thing, warnings) =
            module.run(&call.function, entry, &call.arguments, arguments, steps, false)?;
        let value = match (thing, call.result) {
            (Thing::Value(ty, value), result) if ty == result => value,
            (Thing::EmptyList, Type::Series(scalar)) => series(scalar, Vec::new(), None),
            (Thing::Value(ty, _), result) => {
                return Err(ScriptFault {
                    code: Code::WRONG_DIMENSION,
                    message: format!(
                        "`{}` gave {} when tried out on ones, and gives {} now",
                        call.function,
                        described(result),
                        described(ty)
                    ),
                    span: entry.name_span,
                    help: Some(
                        "let every way through the function give the same kind of value".to_owned(),
                    ),
                });
            }
            (other, _) => return Err(no_value(&call.function, &other, entry.name_span)),
        };
        match &value {
            Value::Number(number) if !number.is_finite() => Err(ScriptFault {
                code: Code::NO_VALUE,
                message: format!("`{}` has no finite value", call.function),
                span: entry.name_span,
                help: None,
            }),
            _ => Ok((value, warnings)),
        }
    }
}

impl Module {
    fn new(
        known: &Known<'_>,
        sources: &Sources,
        names: &Names,
        style: Style,
    ) -> Result<Self, ScriptFault> {
        if known.functions.len() > limits::FUNCTIONS {
            let what = format!("a sheet has no more than {} functions", limits::FUNCTIONS);
            return Err(limits::depth(known.functions[limits::FUNCTIONS].name.span, what));
        }
        let mut generator = Generator::new(known, names, sources);
        for (at, function) in known.functions.iter().enumerate() {
            if known.is_in_rhai(at) {
                generator.function(function);
            } else {
                // Written out by the compiler wherever it is called.
                generator.out.functions.push(Written::default());
            }
            if generator.out.lines.len() > limits::LINES {
                let what = "the functions of this sheet are too long";
                return Err(limits::depth(function.name.span, what));
            }
        }
        let Generated { text, lines, pieces, places, faults, functions: written } = generator.out;
        let written_out = known.written();
        let own = Names {
            currency: names.currency,
            functions: written_out
                .map(|f| UserFunction { function: f.clone(), interpreted: false })
                .collect(),
            ..Names::default()
        };
        let around = Surroundings::new(own, style, sources.clone());
        let tables = Arc::new(Tables { pieces, places, faults, around });
        let engine = natives::engine(&tables);
        match engine.compile(&text) {
            Ok(ast) => {
                let functions = entries(known, &written, &tables);
                Ok(Self { engine, ast, tables, lines, functions })
            }
            // Our own parser is stricter, so that only a function too large can come here.
            Err(error) => {
                let at = error.position().line().and_then(|line| line.checked_sub(2));
                let span = at.and_then(|at| lines.get(at)).copied().unwrap_or(NOWHERE);
                Err(match error.err_type() {
                    ParseErrorType::ExprTooDeep => limits::depth(span, "this is nested too deeply"),
                    ParseErrorType::TooManyFunctions => limits::depth(
                        span,
                        format!("a sheet has no more than {} functions", limits::FUNCTIONS),
                    ),
                    other => internal(&other.to_string(), span),
                })
            }
        }
    }

    fn entry(&self, name: &str, span: Span) -> Result<&Entry, ScriptFault> {
        self.functions.get(name).ok_or_else(|| internal("it has not been taken in", span))
    }

    fn run(
        &self,
        name: &str,
        entry: &Entry,
        types: &[Type],
        values: &[Value],
        steps: &mut u64,
        trial: bool,
    ) -> Result<(Thing, Vec<Diagnostic>), ScriptFault> {
        if types.len() != entry.parameters || values.len() != entry.parameters {
            return Err(internal("it takes other arguments", entry.name_span));
        }
        let allowed = (*steps).min(limits::STEPS);
        let (result, left, warnings) = on_own_stack(|| {
            running::begin(allowed, trial);
            let arguments: Vec<Dynamic> =
                types.iter().zip(values).map(|(ty, value)| dynamic(*ty, value.clone())).collect();
            let options = CallFnOptions::new().eval_ast(false);
            let result = self
                .engine
                .call_fn_with_options::<Dynamic>(
                    options,
                    &mut Scope::new(),
                    &self.ast,
                    format!("f_{name}"),
                    arguments,
                )
                .map(Thing::of)
                .map_err(|error| self.fault(*error, entry.span));
            (result, running::steps_left(), running::warnings())
        })?;
        *steps = steps.saturating_sub(allowed - left.min(allowed));
        Ok((result?, warnings))
    }

    /// What ended a run, at the user's place.
    fn fault(&self, error: EvalAltResult, function: Span) -> ScriptFault {
        let span = |position: Position| {
            let line = position.line().and_then(|line| line.checked_sub(2));
            line.and_then(|line| self.lines.get(line)).copied().unwrap_or(function)
        };
        match error {
            EvalAltResult::ErrorInFunctionCall(_, _, inner, position) => {
                self.fault(*inner, span(position))
            }
            EvalAltResult::ErrorRuntime(fault, position) => fault
                .try_cast::<ScriptFault>()
                .unwrap_or_else(|| internal("an error without words", span(position))),
            EvalAltResult::ErrorTerminated(ended, position) => match ended.try_cast::<Ended>() {
                Some(Ended::Stack) => limits::depth(span(position), "calls nest too deeply here"),
                _ => limits::steps(span(position)),
            },
            EvalAltResult::ErrorTooManyOperations(position) => limits::steps(span(position)),
            EvalAltResult::ErrorStackOverflow(position) => limits::depth(
                span(position),
                format!("functions call one another more than {} deep", limits::CALLS),
            ),
            EvalAltResult::ErrorTooManyVariables(position) => {
                limits::depth(span(position), format!("more than {} variables", limits::VARIABLES))
            }
            EvalAltResult::ErrorDataTooLarge(_, position) => limits::depth(
                span(position),
                format!("more than {} values in one place", limits::OPERANDS),
            ),
            other => {
                let span = span(other.position());
                internal(&other.to_string(), span)
            }
        }
    }
}

/// The functions by name, each with the first mistake that it can come upon.
fn entries(known: &Known<'_>, written: &[Written], tables: &Tables) -> HashMap<String, Entry> {
    let mut entries = HashMap::new();
    for (at, function) in known.functions.iter().enumerate() {
        if !known.is_in_rhai(at) {
            continue;
        }
        let mut seen = vec![false; written.len()];
        let mut open = vec![at];
        let mut fault = None;
        while let (Some(at), None) = (open.pop(), &fault) {
            if !std::mem::replace(&mut seen[at], true) {
                fault = written[at].fault.and_then(|number| tables.faults.get(number as usize));
                open.extend_from_slice(&written[at].calls);
            }
        }
        let entry = Entry {
            name_span: function.name.span,
            span: function.span,
            parameters: function.parameters.len(),
            fault: fault.cloned(),
        };
        entries.insert(function.name.text.clone(), entry);
    }
    entries
}

/// Works on a thread with a stack that the bounds on depth fit into.
fn on_own_stack<T: Send>(work: impl FnOnce() -> T + Send) -> Result<T, ScriptFault> {
    let ended = std::thread::scope(|scope| {
        let thread =
            std::thread::Builder::new().stack_size(limits::STACK).spawn_scoped(scope, work);
        thread.ok().and_then(|thread| thread.join().ok())
    });
    ended.ok_or_else(|| internal("there is no thread to run it on", NOWHERE))
}

fn no_value(function: &str, thing: &Thing, span: Span) -> ScriptFault {
    ScriptFault {
        code: Code::SYNTAX,
        message: format!("`{function}` gives {} where a value is expected", thing.described()),
        span,
        help: Some(
            "end it with the value itself, without `;`, and give every `if` its `else`".to_owned(),
        ),
    }
}

/// A mistake of ours, which no sheet should be able to bring about.
fn internal(what: &str, span: Span) -> ScriptFault {
    ScriptFault {
        code: Code::SCRIPT,
        message: format!("this function cannot be run: {what}"),
        span,
        help: Some("please report this sheet as a mistake of the program".to_owned()),
    }
}

impl ScriptFault {
    /// As a diagnostic.
    pub(crate) fn diagnostic(self) -> Diagnostic {
        let diagnostic = Diagnostic::new(self.code, self.message, self.span);
        match self.help {
            Some(help) => diagnostic.help(help),
            None => diagnostic,
        }
    }
}

impl fmt::Debug for Module {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Module")
            .field("functions", &self.functions.len())
            .field("pieces", &self.tables.pieces.len())
            .finish_non_exhaustive()
    }
}
