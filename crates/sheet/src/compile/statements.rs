//! Blocks, branches and loops, and the user's functions: written out at each call with the types
//! of its arguments, so that units are checked inside them too.

use super::calls::Given;
use super::lower::{Local, Lowered, Lowering, described};
use super::operators;
use super::syntax::{Expression, Function, Node, Operator, Statement, Word};
use crate::bounds::DEEPEST_CALLS;
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::script::ScriptCall;
use crate::term::{Id, Term};
use crate::value::Type;

/// What a block or a statement comes to.
#[derive(Clone, Copy, Debug)]
struct Outcome {
    id: Id,
    gives: Gives,
    span: Span,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Gives {
    Value(Type),
    Nothing,
    /// It is left before its end: `return`, `break`, `continue`.
    Never,
}

impl Lowering<'_> {
    /// A block where a value is expected.
    pub(crate) fn block_value(&mut self, statements: &[Statement], span: Span) -> Option<Lowered> {
        let outcome = self.block(statements, span)?;
        self.value_of(outcome)
    }

    /// An `if` where a value is expected.
    pub(crate) fn choice(
        &mut self,
        condition: &Node,
        then: &Node,
        otherwise: Option<&Node>,
        span: Span,
    ) -> Option<Lowered> {
        let outcome = self.branch(condition, then, otherwise, true, span)?;
        self.value_of(outcome)
    }

    fn value_of(&mut self, outcome: Outcome) -> Option<Lowered> {
        let Outcome { id, gives, span } = outcome;
        match gives {
            Gives::Value(ty) => Some(Lowered { id, ty, span, shown_in: ("", "") }),
            Gives::Never => {
                self.report(
                    Diagnostic::new(Code::SYNTAX, "this never comes to a value", span)
                        .help("a `loop` ends by `break`, a function also by `return` with a value"),
                );
                None
            }
            Gives::Nothing => {
                self.report(Diagnostic::new(Code::SYNTAX, "this gives no value", span).help(
                    "end it with the value itself, without `;`, and give every `if` its `else`",
                ));
                None
            }
        }
    }

    fn outcome(&mut self, node: &Node, wants_value: bool) -> Option<Outcome> {
        match &node.expression {
            Expression::Block(statements) => self.block(statements, node.span),
            Expression::If(condition, then, otherwise) => {
                self.branch(condition, then, otherwise.as_deref(), wants_value, node.span)
            }
            _ => {
                let Lowered { id, ty, span, .. } = self.expression(node)?;
                Some(Outcome { id, gives: Gives::Value(ty), span })
            }
        }
    }

    fn block(&mut self, statements: &[Statement], span: Span) -> Option<Outcome> {
        let outer = self.locals.len();
        let result = self.statements(statements, span);
        self.locals.truncate(outer);
        result
    }

    fn statements(&mut self, statements: &[Statement], span: Span) -> Option<Outcome> {
        let mut ids = Vec::with_capacity(statements.len());
        let mut gives = Gives::Nothing;
        let mut left = false;
        let count = statements.len();
        // One statement that fails does not hide the mistakes in those behind it.
        let mut failed = false;
        for (at, statement) in statements.iter().enumerate() {
            let Some(outcome) = self.statement(statement, at + 1 == count) else {
                failed = true;
                continue;
            };
            ids.push(outcome.id);
            gives = outcome.gives;
            left |= gives == Gives::Never;
        }
        if failed {
            return None;
        }
        if left {
            gives = Gives::Never;
        }
        let id = match ids.as_slice() {
            [] => self.terms.add(Term::Nothing, span),
            [only] => *only,
            _ => {
                let args = self.terms.add_args(&ids);
                self.terms.add(Term::Sequence(args), span)
            }
        };
        Some(Outcome { id, gives, span })
    }

    fn statement(&mut self, statement: &Statement, last: bool) -> Option<Outcome> {
        match statement {
            Statement::Let(name, value) => {
                let Some(value) = self.expression(value) else {
                    self.unknown_local(name);
                    return None;
                };
                let slot = self.slot();
                self.locals.push(Local {
                    name: name.text.clone(),
                    slot,
                    ty: value.ty,
                    bare_money: false,
                    unknown: false,
                    span: value.span,
                });
                Some(self.nothing(Term::Assign(slot, value.id), name.span))
            }
            Statement::Assign(target, operator, value) => self.assign(target, *operator, value),
            Statement::Value(node, thrown_away) => {
                let outcome = self.outcome(node, last && !thrown_away)?;
                let keep = !thrown_away || outcome.gives == Gives::Never;
                Some(if keep { outcome } else { Outcome { gives: Gives::Nothing, ..outcome } })
            }
            Statement::While(condition, body) => {
                let condition = self
                    .expression(condition)
                    .and_then(|c| operators::want(self, c, Type::TRUTH, "a condition"));
                let body = self.body_of_loop(body);
                let (condition, body) = (condition?, body?);
                Some(self.nothing(Term::While(condition.id, body.id), condition.span))
            }
            Statement::Loop(body) => {
                let always = self.terms.add(Term::Truth(true), body.span);
                let ends = ends_in_break(body);
                let body = self.body_of_loop(body)?;
                let outcome = self.nothing(Term::While(always, body.id), body.span);
                // Without a `break` it is left by `return` alone.
                Some(if ends { outcome } else { Outcome { gives: Gives::Never, ..outcome } })
            }
            Statement::For(name, over, body) => self.for_each(name, over, body),
            Statement::Break(span) => self.jump(Term::Break, "break", *span),
            Statement::Continue(span) => self.jump(Term::Continue, "continue", *span),
            Statement::Return(span, value) => self.return_statement(*span, value.as_ref()),
        }
    }

    fn nothing(&mut self, term: Term, span: Span) -> Outcome {
        Outcome { id: self.terms.add(term, span), gives: Gives::Nothing, span }
    }

    fn jump(&mut self, term: Term, word: &str, span: Span) -> Option<Outcome> {
        if self.loops == 0 {
            self.report(Diagnostic::new(
                Code::SYNTAX,
                format!("`{word}` stands outside a loop"),
                span,
            ));
            return None;
        }
        let id = self.terms.add(term, span);
        Some(Outcome { id, gives: Gives::Never, span })
    }

    fn return_statement(&mut self, span: Span, value: Option<&Node>) -> Option<Outcome> {
        let value = match value {
            Some(value) if !self.inside.is_empty() || self.looking => self.expression(value)?,
            Some(_) => {
                self.report(
                    Diagnostic::new(Code::SYNTAX, "`return` stands outside a function", span)
                        .help("a formula gives its last value by itself"),
                );
                return None;
            }
            None => {
                self.report(
                    Diagnostic::new(Code::SYNTAX, "`return` gives no value", span)
                        .help("a function of a worksheet always gives a value"),
                );
                return None;
            }
        };
        self.returns.push(value);
        let id = self.terms.add(Term::Return(value.id), span);
        Some(Outcome { id, gives: Gives::Never, span })
    }

    fn branch(
        &mut self,
        condition: &Node,
        then: &Node,
        otherwise: Option<&Node>,
        wants_value: bool,
        span: Span,
    ) -> Option<Outcome> {
        let condition = self
            .expression(condition)
            .and_then(|c| operators::want(self, c, Type::TRUTH, "a condition"));
        let then = self.outcome(then, wants_value);
        let otherwise = match otherwise {
            Some(otherwise) => self.outcome(otherwise, wants_value),
            None => {
                let id = self.terms.add(Term::Nothing, span);
                Some(Outcome { id, gives: Gives::Nothing, span })
            }
        };
        let (then, otherwise) = (then?, otherwise?);
        let gives = match (then.gives, otherwise.gives) {
            (Gives::Value(a), Gives::Value(b)) if wants_value => {
                let one =
                    |o: Outcome, ty| Lowered { id: o.id, ty, span: o.span, shown_in: ("", "") };
                operators::alike(
                    self,
                    one(then, a),
                    one(otherwise, b),
                    "be the two outcomes of one `if`",
                )?;
                Gives::Value(a)
            }
            (Gives::Never, other) | (other, Gives::Never) => other,
            _ => Gives::Nothing,
        };
        // Last, so that a mistake in the condition does not hide one in the outcomes.
        let id = self.terms.add(Term::If(condition?.id, then.id, otherwise.id), span);
        Some(Outcome { id, gives, span })
    }

    fn assign(
        &mut self,
        target: &Node,
        operator: Option<Operator>,
        value: &Node,
    ) -> Option<Outcome> {
        let Expression::Name(name) = &target.expression else {
            self.report(
                Diagnostic::new(
                    Code::UNSUPPORTED,
                    "a place in a series can be set inside a function only",
                    target.span,
                )
                .help("use `xs.map(|x| …)`"),
            );
            return None;
        };
        let Some(local) = self.locals.iter().rev().find(|l| l.name == *name).cloned() else {
            self.report(
                Diagnostic::new(
                    Code::UNKNOWN_NAME,
                    format!("there is no variable `{name}` to set"),
                    target.span,
                )
                .help(format!("begin with `let {name} = …;`")),
            );
            return None;
        };
        if local.unknown {
            self.expression(value);
            return None;
        }
        let mut value = self.expression(value)?;
        if let Some(operator) = operator {
            let before = self.lowered(Term::Local(local.slot), local.ty, target.span);
            let span = target.span.to(value.span);
            value = self.lift(&[before, value], span, &mut |low, args| {
                operators::binary(low, operator, args[0], args[1], span)
            })?;
        }
        if value.ty != local.ty {
            let (was, is) = (described(local.ty), described(value.ty));
            self.report(
                Diagnostic::new(
                    Code::UNLIKE,
                    format!("`{name}` holds {was} and cannot become {is}"),
                    value.span,
                )
                .here(is)
                .and(local.span, was)
                .help(format!("begin with a value of the right unit, as in `let {name} = 0 m;`")),
            );
            return None;
        }
        Some(self.nothing(Term::Assign(local.slot, value.id), target.span))
    }

    fn body_of_loop(&mut self, body: &Node) -> Option<Outcome> {
        self.loops += 1;
        let outcome = self.outcome(body, false);
        self.loops -= 1;
        outcome
    }

    /// The type of a loop's variable, and the terms of its range or of its series twice.
    fn what_for_runs_through(&mut self, over: &Node) -> Option<(Type, [Id; 2])> {
        if let Expression::Range(from, to) = &over.expression {
            let (from, to) = (self.expression(from), self.expression(to));
            let from = operators::want(self, from?, Type::PLAIN, "the beginning of a range")?;
            let to = operators::want(self, to?, Type::PLAIN, "the end of a range")?;
            return Some((Type::PLAIN, [from.id, to.id]));
        }
        let series = self.expression(over)?;
        let Type::Series(scalar) = series.ty else {
            self.report(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    format!("`for` runs through a series, found {}", described(series.ty)),
                    over.span,
                )
                .help("or through a range: `for i in 0..12 { … }`"),
            );
            return None;
        };
        Some((Type::One(scalar), [series.id, series.id]))
    }

    /// A variable of which nothing is known, so that what reads it is not called a mistake.
    fn unknown_local(&mut self, name: &Word) {
        let slot = self.slot();
        self.locals.push(Local {
            name: name.text.clone(),
            slot,
            ty: Type::PLAIN,
            bare_money: false,
            unknown: true,
            span: name.span,
        });
    }

    /// Looks over a function without running it: what is wrong in it for arguments of these types
    /// is told, or what is wrong for all arguments where none are given. Nothing is kept of it.
    pub(crate) fn look_over(&mut self, function: &Function, types: Option<&[Type]>) {
        let mark = self.terms.mark();
        let outer_locals = std::mem::take(&mut self.locals);
        let outer_returns = std::mem::take(&mut self.returns);
        let outer_loops = std::mem::take(&mut self.loops);
        let outer_looking = std::mem::replace(&mut self.looking, true);
        for (at, parameter) in function.parameters.iter().enumerate() {
            self.unknown_local(parameter);
            if let (Some(ty), Some(local)) =
                (types.and_then(|types| types.get(at)), self.locals.last_mut())
            {
                (local.ty, local.unknown) = (*ty, false);
            }
        }
        self.function_body(&function.body);
        self.looking = outer_looking;
        self.locals = outer_locals;
        self.returns = outer_returns;
        self.loops = outer_loops;
        self.terms.back_to(mark);
    }

    fn for_each(&mut self, name: &Word, over: &Node, body: &Node) -> Option<Outcome> {
        let Some((ty, bounds)) = self.what_for_runs_through(over) else {
            self.unknown_local(name);
            self.body_of_loop(body);
            self.locals.pop();
            return None;
        };
        let slot = self.slot();
        self.locals.push(Local {
            name: name.text.clone(),
            slot,
            ty,
            bare_money: false,
            unknown: false,
            span: over.span,
        });
        let body = self.body_of_loop(body);
        self.locals.pop();
        let body = body?.id;
        let term = if matches!(over.expression, Expression::Range(..)) {
            Term::Count(slot, [bounds[0], bounds[1], body])
        } else {
            Term::ForEach(slot, bounds[0], body)
        };
        Some(self.nothing(term, name.span))
    }

    /// Lowers a call of a function of the sheet.
    pub(crate) fn user_call(
        &mut self,
        index: u32,
        name: &Word,
        given: &[Given<'_>],
        span: Span,
    ) -> Option<Lowered> {
        let names = self.names;
        let user = names.functions.get(index as usize)?;
        let function = &user.function;
        let parameters: Vec<&str> = function.parameters.iter().map(|p| p.text.as_str()).collect();
        let required = vec![true; parameters.len()];
        let bound = self.bind(&name.text, &parameters, &required, given, span)?;
        let arguments: Vec<Option<Lowered>> =
            bound.into_iter().flatten().map(|node| self.expression(node)).collect();
        let arguments: Vec<Lowered> = arguments.into_iter().collect::<Option<_>>()?;
        if self.looking {
            // What it gives depends on what it is given.
            return None;
        }
        if user.interpreted {
            return self.script_call(index, &arguments, span);
        }
        if self.inside.len() >= DEEPEST_CALLS {
            self.report(Diagnostic::new(
                Code::TOO_DEEP,
                format!("functions call one another more than {DEEPEST_CALLS} deep"),
                span,
            ));
            return None;
        }
        let outer_locals = std::mem::take(&mut self.locals);
        let outer_returns = std::mem::take(&mut self.returns);
        let outer_loops = std::mem::take(&mut self.loops);
        let mut steps = Vec::with_capacity(arguments.len() + 1);
        for (parameter, argument) in function.parameters.iter().zip(&arguments) {
            let slot = self.slot();
            steps.push(self.terms.add(Term::Assign(slot, argument.id), argument.span));
            self.locals.push(Local {
                name: parameter.text.clone(),
                slot,
                ty: argument.ty,
                bare_money: false,
                unknown: false,
                span: parameter.span,
            });
        }
        self.inside.push((index, span));
        let result = self.function_body(&function.body);
        self.inside.pop();
        self.locals = outer_locals;
        self.returns = outer_returns;
        self.loops = outer_loops;
        let result = result?;
        steps.push(self.terms.add(Term::Body(result.id), span));
        let args = self.terms.add_args(&steps);
        Some(self.lowered(Term::Sequence(args), result.ty, span))
    }

    fn function_body(&mut self, body: &Node) -> Option<Lowered> {
        let outcome = self.outcome(body, true)?;
        let returns = std::mem::take(&mut self.returns);
        let result = match (outcome.gives, returns.first()) {
            (Gives::Never, Some(first)) => Lowered { id: outcome.id, ..*first },
            _ => self.value_of(outcome)?,
        };
        for returned in &returns {
            operators::alike(self, result, *returned, "both be the result of one function")?;
        }
        Some(Lowered { id: outcome.id, ..result })
    }

    /// A call into Rhai's interpreter. What comes out is found by trying it out on ones, and held
    /// against what comes out at every run.
    fn script_call(&mut self, index: u32, arguments: &[Lowered], span: Span) -> Option<Lowered> {
        let types: Vec<Type> = arguments.iter().map(|a| a.ty).collect();
        let names = self.names;
        let function = &names.functions.get(index as usize)?.function;
        // The interpreter sees only the branches that it takes; units are checked in all of them.
        let told = self.diagnostics.len();
        self.inside.push((index, span));
        self.look_over(function, Some(&types));
        self.inside.pop();
        if self.diagnostics.len() > told {
            return None;
        }
        let result = match self.scripts.result_type(self.names.module, function, &types) {
            Ok(result) => result,
            Err(fault) => {
                self.report(fault.diagnostic().and(span, "called here"));
                return None;
            }
        };
        let call = self.scripts.add(ScriptCall {
            module: self.names.module,
            function: function.name.text.clone(),
            arguments: types,
            result,
        });
        let ids: Vec<Id> = arguments.iter().map(|a| a.id).collect();
        let args = self.terms.add_args(&ids);
        Some(self.lowered(Term::Script(call, args), result, span))
    }
}

/// Whether a loop's body holds a `break` of its own.
fn ends_in_break(body: &Node) -> bool {
    let Expression::Block(statements) = &body.expression else { return false };
    statements.iter().any(|statement| match statement {
        Statement::Break(_) => true,
        Statement::Value(node, _) => breaks(node),
        _ => false,
    })
}

fn breaks(node: &Node) -> bool {
    match &node.expression {
        Expression::Block(_) => ends_in_break(node),
        Expression::If(_, then, otherwise) => {
            breaks(then) || otherwise.as_deref().is_some_and(breaks)
        }
        _ => false,
    }
}

/// Which of the user's functions need Rhai's interpreter: those that build up lists, keep functions
/// in variables, hand one to another or call one they were given, or call themselves. All others are written out where they are called.
pub(crate) fn interpreted(functions: &[super::syntax::Function]) -> Vec<bool> {
    let mut calls: Vec<Vec<usize>> = Vec::with_capacity(functions.len());
    let mut needs: Vec<bool> = Vec::with_capacity(functions.len());
    for function in functions {
        let mut called = Vec::new();
        let mut own = false;
        function.body.walk(&mut |node| match &node.expression {
            Expression::Call(name, arguments) => {
                match functions.iter().position(|f| f.name.text == name.text) {
                    Some(at) => {
                        called.push(at);
                        own |= gives_function(arguments);
                    }
                    None => own |= function.parameters.iter().any(|p| p.text == name.text),
                }
            }
            Expression::Method(_, name, arguments) => {
                match functions.iter().position(|f| f.name.text == name.text) {
                    Some(at) => {
                        called.push(at);
                        own |= gives_function(arguments);
                    }
                    None => {
                        own |= super::builtins::find(&name.text).is_none()
                            && forebay_formulas::find(&name.text).is_none();
                    }
                }
            }
            Expression::List(items) => own |= items.is_empty(),
            Expression::Block(statements) => {
                own |= statements.iter().any(|statement| match statement {
                    Statement::Let(_, value) => matches!(value.expression, Expression::Closure(..)),
                    Statement::Assign(target, ..) => {
                        matches!(target.expression, Expression::Index(..))
                    }
                    _ => false,
                });
            }
            _ => {}
        });
        calls.push(called);
        needs.push(own);
    }
    for (start, need) in needs.iter_mut().enumerate() {
        *need |= reaches_itself(start, &calls);
    }
    needs
}

/// Whether a function `|x| …` is among the arguments.
fn gives_function(arguments: &[super::syntax::Argument]) -> bool {
    arguments.iter().any(|a| matches!(a.value.expression, Expression::Closure(..)))
}

fn reaches_itself(start: usize, calls: &[Vec<usize>]) -> bool {
    let mut seen = vec![false; calls.len()];
    let mut open = calls[start].clone();
    while let Some(at) = open.pop() {
        if at == start {
            return true;
        }
        if !std::mem::replace(&mut seen[at], true) {
            open.extend_from_slice(&calls[at]);
        }
    }
    false
}
