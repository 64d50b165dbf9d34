//! Writes functions as Rhai text from our own trees.
//!
//! The text holds nothing of the user's but the names, each behind a prefix, so that it can call
//! only what [`super::natives`] registers. What terms can compute becomes a piece, called by its
//! number; every node begins a line of its own, so that a line tells the user's place.

mod statements;

use super::pieces::{Input, Piece};
use super::split::{Callee, Known, Use, free_names, function_parameter};
use super::{ScriptFault, Scripts, limits};
use crate::compile::lower::{Local, Lowering};
use crate::compile::names::Names;
use crate::compile::syntax::{Argument, Expression, Function, Node, Operator, Word};
use crate::diagnostic::{Code, Diagnostic, Sources, Span};
use crate::term::Terms;
use crate::value::Type;

/// A place in the user's text that a native function may have to name.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub(super) span: Span,
    /// Where the value given there stands.
    pub(super) value: Span,
    /// The variable or function it is about.
    pub(super) name: String,
}

/// The generated text with all that its numbers stand for.
#[derive(Debug, Default)]
pub(super) struct Generated {
    pub(super) text: String,
    /// The user's place of each line of the text.
    pub(super) lines: Vec<Span>,
    pub(super) pieces: Vec<Piece>,
    pub(super) places: Vec<Place>,
    /// Mistakes found while writing; a call of one stands where it was made.
    pub(super) faults: Vec<ScriptFault>,
    /// For each function its first mistake and the functions that it calls.
    pub(super) functions: Vec<Written>,
}

/// What was found out about one function.
#[derive(Clone, Debug, Default)]
pub(super) struct Written {
    pub(super) fault: Option<u32>,
    pub(super) calls: Vec<usize>,
}

pub(super) struct Generator<'a> {
    pub(super) out: Generated,
    known: &'a Known<'a>,
    names: &'a Names,
    sources: &'a Sources,
    /// Variables around the place reached, innermost last.
    locals: Vec<String>,
    current: Written,
    loops: usize,
}

/// An operand of a piece: a variable, or something that Rhai computes first.
enum Operand {
    Variable(Input),
    Computed(Input, Node),
}

impl<'a> Generator<'a> {
    pub(super) fn new(known: &'a Known<'a>, names: &'a Names, sources: &'a Sources) -> Self {
        Self {
            out: Generated::default(),
            known,
            names,
            sources,
            locals: Vec::new(),
            current: Written::default(),
            loops: 0,
        }
    }

    /// Writes one function.
    pub(super) fn function(&mut self, function: &Function) {
        if function.parameters.len() > limits::PARAMETERS {
            let what = format!("a function takes no more than {} values", limits::PARAMETERS);
            return self.refused(limits::depth(function.name.span, what));
        }
        self.current = Written::default();
        self.locals = function.parameters.iter().map(|p| p.text.clone()).collect();
        self.loops = 0;
        self.line(function.name.span);
        self.write(&format!("fn f_{}(", function.name.text));
        self.parameters(&function.parameters);
        self.write(")");
        self.block_of(&function.body);
        let written = std::mem::take(&mut self.current);
        self.out.functions.push(written);
    }

    /// Takes in a function that is never run, since something is wrong with it as a whole.
    fn refused(&mut self, fault: ScriptFault) {
        let number = u32::try_from(self.out.faults.len()).unwrap_or(u32::MAX);
        self.out.faults.push(fault);
        self.out.functions.push(Written { fault: Some(number), calls: Vec::new() });
    }

    fn write(&mut self, text: &str) {
        self.out.text.push_str(text);
    }

    fn line(&mut self, span: Span) {
        self.out.text.push('\n');
        self.out.lines.push(span);
    }

    fn parameters(&mut self, words: &[Word]) {
        let list: Vec<String> = words.iter().map(|word| format!("v_{}", word.text)).collect();
        self.write(&list.join(","));
    }

    fn is_local(&self, name: &str) -> bool {
        self.locals.iter().any(|local| local == name)
    }

    fn place(&mut self, span: Span, value: Span, name: &str) -> usize {
        self.out.places.push(Place { span, value, name: name.to_owned() });
        self.out.places.len() - 1
    }

    // --- mistakes ---

    fn fail(&mut self, fault: ScriptFault) {
        let number = u32::try_from(self.out.faults.len()).unwrap_or(u32::MAX);
        self.current.fault.get_or_insert(number);
        let span = fault.span;
        self.out.faults.push(fault);
        self.line(span);
        self.write(&format!("fail({number})"));
    }

    fn refuse(&mut self, code: &'static Code, message: impl Into<String>, span: Span, help: &str) {
        let fault =
            ScriptFault { code, message: message.into(), span, help: Some(help.to_owned()) };
        self.fail(fault);
    }

    /// What the compiler says about something that it cannot lower.
    fn complaint<T>(
        &self,
        span: Span,
        lower: impl FnOnce(&mut Lowering<'_>) -> Option<T>,
    ) -> Result<T, ScriptFault> {
        let (mut terms, mut found, mut scripts) =
            (Terms::default(), Vec::new(), Scripts::default());
        let mut lowering =
            Lowering::new(&mut terms, &mut found, self.names, &[], self.sources, &mut scripts);
        // A function sees no cells.
        lowering.inside.push((0, span));
        lowering.locals.extend(self.locals.iter().map(|name| Local {
            name: name.clone(),
            slot: 0,
            ty: Type::PLAIN,
            bare_money: false,
            unknown: false,
            span,
        }));
        match lower(&mut lowering) {
            Some(result) => Ok(result),
            None => Err(ScriptFault::first_of(found, span)),
        }
    }

    // --- expressions ---

    fn value(&mut self, node: &Node) {
        match &node.expression {
            Expression::Name(name) if self.is_local(name) => {
                self.line(node.span);
                self.write(&format!("v_{name}"));
            }
            Expression::Truth(truth) => self.write(if *truth { " true" } else { " false" }),
            Expression::Number(text) if is_short(text) => {
                self.write(&format!("({})", with_point(text)))
            }
            _ if self.known.is_plain(node) => self.piece(node),
            Expression::List(items) if items.is_empty() => self.write(" empty()"),
            Expression::If(condition, then, otherwise) => {
                self.choice(condition, then, otherwise.as_deref());
            }
            Expression::Block(_) => self.block_of(node),
            Expression::Closure(parameters, body) => self.closure(parameters, body, node.span),
            Expression::Binary(operator @ (Operator::And | Operator::Or), left, right) => {
                self.write("(");
                self.condition(left);
                self.write(if *operator == Operator::And { "&&" } else { "||" });
                self.condition(right);
                self.write(")");
            }
            Expression::Range(..) => {
                self.refuse(
                    Code::UNSUPPORTED,
                    "a range stands only after `for … in`",
                    node.span,
                    "give the series itself",
                );
            }
            Expression::Call(name, arguments) => self.call(node, name, None, arguments),
            Expression::Method(of, name, arguments) => self.call(node, name, Some(of), arguments),
            _ => self.piece(node),
        }
    }

    /// An expression that terms compute, but for the operands that only Rhai can.
    fn piece(&mut self, node: &Node) {
        let mut operands = Vec::new();
        let node = match self.stripped(node, &mut operands) {
            Ok(node) => node,
            Err(fault) => return self.fail(*fault),
        };
        if operands.len() > limits::OPERANDS {
            let what = format!("more than {} values to be computed first", limits::OPERANDS);
            return self.fail(limits::depth(node.span, what));
        }
        let inputs = operands
            .iter()
            .map(|operand| match operand {
                Operand::Variable(input) | Operand::Computed(input, _) => input.clone(),
            })
            .collect();
        self.line(node.span);
        self.write(&format!("piece({},[", self.out.pieces.len()));
        self.out.pieces.push(Piece::new(node, inputs));
        for operand in &operands {
            match operand {
                Operand::Variable(input) => self.write(&format!("v_{}", input.name)),
                Operand::Computed(_, node) => self.value(node),
            }
            self.write(",");
        }
        self.write("])");
    }

    /// The expression with every operand that only Rhai can compute replaced by a name.
    fn stripped(&self, node: &Node, operands: &mut Vec<Operand>) -> Result<Node, Box<ScriptFault>> {
        if self.known.is_plain(node) {
            self.names_of(node, operands)?;
            return Ok(node.clone());
        }
        let mut strip = |node: &Node| self.stripped(node, operands).map(Box::new);
        let expression = match &node.expression {
            Expression::List(items) if !items.is_empty() => {
                let items: Result<Vec<Node>, _> =
                    items.iter().map(|item| self.stripped(item, operands)).collect();
                Expression::List(items?)
            }
            Expression::Field(of, word) => Expression::Field(strip(of)?, word.clone()),
            Expression::Negate(of) => Expression::Negate(strip(of)?),
            Expression::Not(of) => Expression::Not(strip(of)?),
            Expression::Index(a, b) => Expression::Index(strip(a)?, strip(b)?),
            Expression::Binary(operator, a, b)
                if !matches!(operator, Operator::And | Operator::Or) =>
            {
                Expression::Binary(*operator, strip(a)?, strip(b)?)
            }
            Expression::Call(name, arguments) if self.can_strip(name, 0, arguments) => {
                Expression::Call(name.clone(), self.stripped_arguments(arguments, operands)?)
            }
            Expression::Method(of, name, arguments) if self.can_strip(name, 1, arguments) => {
                let of = strip(of)?;
                let arguments = self.stripped_arguments(arguments, operands)?;
                Expression::Method(of, name.clone(), arguments)
            }
            _ => {
                let name = format!("#{}", operands.len());
                let input = Input { name: name.clone(), span: node.span, counted: false };
                operands.push(Operand::Computed(input, node.clone()));
                Expression::Name(name)
            }
        };
        Ok(Node { expression, ..node.clone() })
    }

    /// Whether a call can be left to terms once its operands are computed.
    fn can_strip(&self, name: &Word, first: usize, arguments: &[Argument]) -> bool {
        let callee = self.known.callee(&name.text);
        if !matches!(callee, Callee::Written | Callee::Builtin | Callee::Formula) {
            return false;
        }
        let function = function_parameter(&name.text).filter(|_| callee == Callee::Builtin);
        arguments.iter().enumerate().all(|(at, argument)| {
            let is_function = matches!(argument.value.expression, Expression::Closure(..));
            if function == Some(at + first) {
                is_function && self.known.is_plain_closure(&argument.value)
            } else {
                !is_function
            }
        })
    }

    fn stripped_arguments(
        &self,
        arguments: &[Argument],
        operands: &mut Vec<Operand>,
    ) -> Result<Vec<Argument>, Box<ScriptFault>> {
        arguments
            .iter()
            .map(|argument| {
                let value = if matches!(argument.value.expression, Expression::Closure(..)) {
                    self.names_of(&argument.value, operands)?;
                    argument.value.clone()
                } else {
                    self.stripped(&argument.value, operands)?
                };
                Ok(Argument { name: argument.name.clone(), value })
            })
            .collect()
    }

    /// Takes the variables that a plain expression reads among the operands.
    fn names_of(&self, node: &Node, operands: &mut Vec<Operand>) -> Result<(), Box<ScriptFault>> {
        let mut fault = None;
        free_names(node, self.known, &mut |name, span, used| {
            if self.is_local(name) {
                let counted = used == Use::Counted;
                let before = operands.iter_mut().find_map(|operand| match operand {
                    Operand::Variable(input) if input.name == name => Some(input),
                    _ => None,
                });
                match before {
                    Some(input) => input.counted &= counted,
                    None => operands.push(Operand::Variable(Input {
                        name: name.to_owned(),
                        span,
                        counted,
                    })),
                }
            } else if used != Use::Word && fault.is_none() && self.current.fault.is_none() {
                // One mistake of a function is told, and looking for near names takes time.
                let node = Node {
                    span,
                    depth: 1,
                    grouped: false,
                    expression: Expression::Name(name.to_owned()),
                };
                fault = self.complaint(span, |lowering| lowering.expression(&node)).err();
            }
        });
        fault.map_or(Ok(()), |fault| Err(Box::new(fault)))
    }

    fn call(&mut self, node: &Node, name: &Word, of: Option<&Node>, arguments: &[Argument]) {
        match self.known.callee(&name.text) {
            Callee::InRhai(at) => self.call_in_rhai(at, name, of, arguments, node.span),
            Callee::Push => self.push(name, of, arguments, node.span),
            Callee::Other => self.call_variable(name, of, arguments, node.span),
            Callee::Written | Callee::Builtin | Callee::Formula => {
                if self.can_strip(name, usize::from(of.is_some()), arguments) {
                    self.piece(node);
                } else {
                    self.call_with_function(name, of, arguments, node.span);
                }
            }
        }
    }

    fn call_in_rhai(
        &mut self,
        at: usize,
        name: &Word,
        of: Option<&Node>,
        arguments: &[Argument],
        span: Span,
    ) {
        let function = self.known.functions[at];
        if !self.current.calls.contains(&at) {
            self.current.calls.push(at);
        }
        let given = Lowering::with_receiver(of, arguments);
        let parameters: Vec<&str> = function.parameters.iter().map(|p| p.text.as_str()).collect();
        let bound = self.complaint(span, |lowering| {
            lowering.bind(&name.text, &parameters, &vec![true; parameters.len()], &given, span)
        });
        let bound = match bound {
            Ok(bound) => bound,
            Err(fault) => return self.fail(fault),
        };
        self.line(span);
        self.write(&format!("f_{}(", name.text));
        for (at, value) in bound.into_iter().flatten().enumerate() {
            if at > 0 {
                self.write(",");
            }
            self.value(value);
        }
        self.write(")");
    }

    /// `f(x)` where `f` is a variable that holds a function.
    fn call_variable(
        &mut self,
        name: &Word,
        of: Option<&Node>,
        arguments: &[Argument],
        span: Span,
    ) {
        if !self.is_local(&name.text) {
            if self.current.fault.is_some() {
                return self.write(" fail(0)");
            }
            let complaint =
                self.complaint(name.span, |lowering| lowering.call(name, None, &[], name.span));
            let fault =
                complaint.err().unwrap_or_else(|| ScriptFault::first_of(Vec::new(), name.span));
            return self.fail(fault);
        }
        if let Some(named) = arguments.iter().find_map(|a| a.name.as_ref()) {
            return self.refuse(
                Code::ARGUMENTS,
                format!("`{}` is a variable, whose arguments have no names", name.text),
                named.span,
                "give them in their order",
            );
        }
        let place = self.place(span, name.span, &name.text);
        self.line(span);
        self.write(&format!("apply({place},v_{},[", name.text));
        for value in of.into_iter().chain(arguments.iter().map(|a| &a.value)) {
            self.value(value);
            self.write(",");
        }
        self.write("])");
    }

    fn push(&mut self, name: &Word, of: Option<&Node>, arguments: &[Argument], span: Span) {
        let given = Lowering::with_receiver(of, arguments);
        let bound = self.complaint(span, |lowering| {
            lowering.bind("push", &["xs", "value"], &[true; 2], &given, span)
        });
        let bound = match bound {
            Ok(bound) => bound,
            Err(fault) => return self.fail(fault),
        };
        let (Some(list), Some(value)) = (bound[0], bound[1]) else { return };
        let Some(variable) = self.variable(list) else { return };
        let place = self.place(list.span, value.span, name.text.as_str());
        self.line(span);
        self.write(&format!("v_{variable}.grow({place},"));
        self.value(value);
        self.write(")");
    }

    /// The variable that a list stands in, for changing it.
    fn variable(&mut self, list: &Node) -> Option<String> {
        match &list.expression {
            Expression::Name(name) if self.is_local(name) => Some(name.clone()),
            _ => {
                self.refuse(
                    Code::UNSUPPORTED,
                    "only a list in a variable of the function can be changed",
                    list.span,
                    "begin with `let xs = […];`",
                );
                None
            }
        }
    }

    /// A built-in function whose argument is a function that only Rhai can run.
    fn call_with_function(
        &mut self,
        name: &Word,
        of: Option<&Node>,
        arguments: &[Argument],
        span: Span,
    ) {
        let word = match name.text.as_str() {
            "map" => "mapped",
            "filter" => "filtered",
            other => {
                return self.refuse(
                    Code::UNSUPPORTED,
                    format!("`{other}` cannot be given this function here"),
                    span,
                    "write the function in its place, `|x| …`, without changing variables around it, without lists that grow, and without functions that call themselves",
                );
            }
        };
        let given = Lowering::with_receiver(of, arguments);
        let bound = self.complaint(span, |lowering| {
            lowering.bind(&name.text, &["xs", "f"], &[true; 2], &given, span)
        });
        let bound = match bound {
            Ok(bound) => bound,
            Err(fault) => return self.fail(fault),
        };
        let (Some(xs), Some(f)) = (bound[0], bound[1]) else { return };
        let place = self.place(xs.span, f.span, &name.text);
        self.line(span);
        self.write(&format!("{word}({place},"));
        self.value(xs);
        self.write(",");
        self.value(f);
        self.write(")");
    }

    fn closure(&mut self, parameters: &[Word], body: &Node, span: Span) {
        let outer = self.locals.len();
        self.locals.extend(parameters.iter().map(|p| p.text.clone()));
        let loops = std::mem::take(&mut self.loops);
        let place = self.place(span, body.span, "");
        self.line(span);
        self.write(&format!("closure({place},|"));
        self.parameters(parameters);
        self.write("|{");
        self.value(body);
        self.write("})");
        self.loops = loops;
        self.locals.truncate(outer);
    }

    fn choice(&mut self, condition: &Node, then: &Node, otherwise: Option<&Node>) {
        self.write(" if ");
        self.condition(condition);
        self.block_of(then);
        if let Some(otherwise) = otherwise {
            self.write(" else ");
            match &otherwise.expression {
                Expression::If(condition, then, otherwise) => {
                    self.choice(condition, then, otherwise.as_deref());
                }
                _ => self.block_of(otherwise),
            }
        }
    }

    /// A value that must be true or false.
    fn condition(&mut self, node: &Node) {
        let place = self.place(node.span, node.span, "");
        self.line(node.span);
        self.write(&format!("truth({place},"));
        self.value(node);
        self.write(")");
    }
}

/// Whether a number can be written into Rhai's text as it stands.
fn is_short(text: &str) -> bool {
    let digits = text.strip_prefix('-').unwrap_or(text);
    digits.len() <= 17 && digits.bytes().all(|b| b.is_ascii_digit() || b == b'.')
}

/// Every number of ours has a fraction in Rhai's eyes, so that `1/2` is a half.
fn with_point(text: &str) -> String {
    if text.contains('.') { text.to_owned() } else { format!("{text}.0") }
}

impl ScriptFault {
    /// The first of what the compiler found, which is the cause of the rest.
    pub(super) fn first_of(found: Vec<Diagnostic>, span: Span) -> Self {
        match found.into_iter().next() {
            Some(diagnostic) => {
                Self { span: diagnostic.span().unwrap_or(span), ..diagnostic.into() }
            }
            // What the compiler refuses without a word has been told where it was defined.
            None => Self {
                code: Code::SCRIPT,
                message: "this cannot be computed here".to_owned(),
                span,
                help: None,
            },
        }
    }
}

impl From<Diagnostic> for ScriptFault {
    fn from(diagnostic: Diagnostic) -> Self {
        Self {
            code: diagnostic.code,
            span: diagnostic.span().unwrap_or(Span { source: 0, start: 0, end: 0 }),
            message: diagnostic.message,
            help: diagnostic.help,
        }
    }
}
