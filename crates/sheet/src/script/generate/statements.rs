//! Writes blocks, branches, loops and variables: what Rhai itself runs.

use super::super::limits;
use super::super::split::Callee;
use super::Generator;
use crate::compile::syntax::{Expression, Node, Operator, Statement, Word};
use crate::diagnostic::{Code, Span};

impl Generator<'_> {
    pub(super) fn block_of(&mut self, node: &Node) {
        self.write("{");
        match &node.expression {
            Expression::Block(statements) => {
                let outer = self.locals.len();
                for (at, statement) in statements.iter().enumerate() {
                    self.statement(statement, at + 1 == statements.len());
                }
                self.locals.truncate(outer);
                if !matches!(statements.last(), Some(Statement::Value(_, false))) {
                    self.write("()");
                }
            }
            _ => self.value(node),
        }
        self.write("}");
    }

    fn statement(&mut self, statement: &Statement, last: bool) {
        match statement {
            Statement::Let(name, value) => self.variable_set_up(name, value),
            Statement::Assign(target, operator, value) => self.assign(target, *operator, value),
            Statement::Value(node, false) if last => self.value(node),
            // What stands in the middle is there for what it does, not for its value.
            Statement::Value(node, _) => {
                match &node.expression {
                    Expression::If(condition, then, otherwise) => {
                        self.choice(condition, then, otherwise.as_deref());
                    }
                    Expression::Block(_) => self.block_of(node),
                    _ => self.value(node),
                }
                self.write(";");
            }
            Statement::While(condition, body) => {
                let place = self.place(condition.span, condition.span, "");
                self.line(condition.span);
                self.write(&format!("while going({place},"));
                self.value(condition);
                self.write(")");
                self.body_of_loop(body);
            }
            Statement::Loop(body) => {
                self.line(body.span);
                self.write("loop ");
                self.body_of_loop(body);
            }
            Statement::For(name, over, body) => self.for_each(name, over, body),
            Statement::Break(span) => self.jump("break", *span),
            Statement::Continue(span) => self.jump("continue", *span),
            Statement::Return(span, Some(value)) => {
                self.line(*span);
                self.write("return ");
                self.value(value);
                self.write(";");
            }
            Statement::Return(span, None) => {
                self.refuse(
                    Code::SYNTAX,
                    "`return` gives no value",
                    *span,
                    "a function of a worksheet always gives a value",
                );
                self.write(";");
            }
        }
    }

    fn jump(&mut self, word: &str, span: Span) {
        if self.loops == 0 {
            self.refuse(
                Code::SYNTAX,
                format!("`{word}` stands outside a loop"),
                span,
                "it ends or repeats the loop around it",
            );
        } else {
            self.line(span);
            self.write(word);
        }
        self.write(";");
    }

    fn variable_set_up(&mut self, name: &Word, value: &Node) {
        let is_function = matches!(value.expression, Expression::Closure(..));
        if is_function && self.known.callee(&name.text) != Callee::Other {
            self.refuse(
                Code::NAME_TWICE,
                format!("`{}` is a function already", name.text),
                name.span,
                "choose another name",
            );
        } else if self.locals.len() >= limits::VARIABLES {
            if self.current.fault.is_none() {
                let what = format!("more than {} variables at a time", limits::VARIABLES);
                self.fail(limits::depth(name.span, what));
            }
            return self.write(";");
        } else {
            let place = self.place(name.span, value.span, &name.text);
            self.line(name.span);
            self.write(&format!("let v_{}=begun({place},", name.text));
            self.value(value);
            self.write(")");
        }
        self.write(";");
        self.locals.push(name.text.clone());
    }

    fn assign(&mut self, target: &Node, operator: Option<Operator>, value: &Node) {
        match &target.expression {
            Expression::Name(name) if self.is_local(name) => {
                let place = self.place(target.span, value.span, name);
                self.line(target.span);
                self.write(&format!("v_{name}.put({place},"));
                self.changed(target, operator, value);
                self.write(")");
            }
            Expression::Index(list, at) => {
                if let Some(variable) = self.variable(list) {
                    let place = self.place(at.span, value.span, &variable);
                    self.line(target.span);
                    // The place is computed once, also in `xs[f()] += 1`.
                    self.write("{let v_0=");
                    self.value(at);
                    self.write(&format!(";v_{variable}.put_at({place},v_0,"));
                    let hidden = self.locals.len();
                    self.locals.push("0".to_owned());
                    let at =
                        Node { expression: Expression::Name("0".to_owned()), ..(**at).clone() };
                    let target = Node {
                        expression: Expression::Index(list.clone(), Box::new(at)),
                        ..target.clone()
                    };
                    self.changed(&target, operator, value);
                    self.locals.truncate(hidden);
                    self.write(");}");
                }
            }
            _ => {
                let name = match &target.expression {
                    Expression::Name(name) => name.as_str(),
                    _ => "this",
                };
                self.refuse(
                    Code::UNKNOWN_NAME,
                    format!("there is no variable `{name}` to set"),
                    target.span,
                    "begin with `let`",
                );
            }
        }
        self.write(";");
    }

    /// The value that a target is set to: `value`, or `target operator value`.
    fn changed(&mut self, target: &Node, operator: Option<Operator>, value: &Node) {
        match operator {
            None => self.value(value),
            Some(operator) => {
                let span = target.span.to(value.span);
                let (left, right) = (Box::new(target.clone()), Box::new(value.clone()));
                let depth = target.depth.max(value.depth).saturating_add(1);
                let expression = Expression::Binary(operator, left, right);
                self.value(&Node { span, depth, grouped: false, expression });
            }
        }
    }

    fn for_each(&mut self, name: &Word, over: &Node, body: &Node) {
        self.line(name.span);
        self.write(&format!("for v_{} in ", name.text));
        if let Expression::Range(from, to) = &over.expression {
            let place = self.place(from.span, to.span, &name.text);
            self.write(&format!("range({place},"));
            self.value(from);
            self.write(",");
            self.value(to);
        } else {
            let place = self.place(over.span, over.span, &name.text);
            self.write(&format!("items({place},"));
            self.value(over);
        }
        self.write(")");
        self.locals.push(name.text.clone());
        self.body_of_loop(body);
        self.locals.pop();
    }

    fn body_of_loop(&mut self, body: &Node) {
        self.loops += 1;
        self.block_of(body);
        self.loops -= 1;
        self.write(";");
    }
}
