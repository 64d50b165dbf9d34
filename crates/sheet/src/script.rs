//! Rhai's interpreter for those functions of a sheet that loop over lists they build, keep
//! functions in variables or call themselves: sandboxed, on quantities that carry their dimension.

use crate::compile::Function;
use crate::diagnostic::{Code, Diagnostic, Sources, Span};
use crate::value::{Type, Value};

/// The interpreter with the functions of all sheets it serves.
#[derive(Debug, Default)]
pub(crate) struct Scripts {
    calls: Vec<ScriptCall>,
}

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

impl Scripts {
    /// Takes in the functions of a sheet that need the interpreter, with all others they may call;
    /// gives the module they are called under.
    pub(crate) fn load(
        &mut self,
        functions: &[&Function],
        sources: &Sources,
    ) -> Result<u32, ScriptFault> {
        let _ = (functions, sources);
        Ok(0)
    }

    /// What a function gives for arguments of these types, found by running it on ones.
    pub(crate) fn result_type(
        &mut self,
        module: u32,
        function: &Function,
        arguments: &[Type],
    ) -> Result<Type, ScriptFault> {
        let _ = (module, arguments);
        Err(ScriptFault {
            code: Code::UNSUPPORTED,
            message: "not there yet".to_owned(),
            span: function.name.span,
            help: None,
        })
    }

    /// Keeps a call that has been checked.
    pub(crate) fn add(&mut self, call: ScriptCall) -> u32 {
        self.calls.push(call);
        u32::try_from(self.calls.len() - 1).unwrap_or(u32::MAX)
    }

    /// Runs a checked call. `steps` is what is left of the steps a sheet may take; it is counted
    /// down by what the call used.
    pub(crate) fn run(
        &self,
        call: u32,
        arguments: &[Value],
        steps: &mut u64,
    ) -> Result<Value, ScriptFault> {
        let _ = (arguments, steps);
        let call = &self.calls[call as usize];
        Err(ScriptFault {
            code: Code::UNSUPPORTED,
            message: format!("`{}` cannot be run yet", call.function),
            span: Span { source: 0, start: 0, end: 0 },
            help: None,
        })
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
