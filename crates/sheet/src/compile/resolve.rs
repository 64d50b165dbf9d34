//! What a name in a formula stands for: a local, a cell, a column, a constant, or nothing known.

use forebay_units::nearest;

use super::builtins;
use super::lower::{Lowered, Lowering};
use super::names::Definition;
use super::syntax::{Expression, Node, Word};
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::term::Term;
use crate::value::Type;

impl Lowering<'_> {
    pub(super) fn name(&mut self, name: &str, span: Span) -> Option<Lowered> {
        if let Some(local) = self.locals.iter().rev().find(|local| local.name == name) {
            if local.unknown {
                return None;
            }
            let (slot, ty, bare_money) = (local.slot, local.ty, local.bare_money);
            let lowered = self.lowered(Term::Local(slot), ty, span);
            return Some(if bare_money {
                self.lowered(Term::ToMoney(lowered.id), ty, span)
            } else {
                lowered
            });
        }
        let in_function = !self.inside.is_empty();
        match self.names.defined.get(name) {
            Some(Definition::Cell(_) | Definition::Table | Definition::Component(_))
                if in_function =>
            {
                self.report(
                    Diagnostic::new(
                        Code::UNKNOWN_NAME,
                        format!("a function does not see the cell `{name}`"),
                        span,
                    )
                    .help("make it a parameter and pass it in"),
                );
                None
            }
            Some(Definition::Cell(cell)) => {
                let cell = *cell;
                let ty = self.types.get(cell as usize).copied().flatten()?;
                Some(self.lowered(Term::Cell(cell), ty, span))
            }
            Some(Definition::Table) => {
                self.report(
                    Diagnostic::new(
                        Code::WRONG_KIND,
                        format!("`{name}` is a table where a value is expected"),
                        span,
                    )
                    .help(format!("name a column: `{name}.{}`", self.first_column(name))),
                );
                None
            }
            Some(Definition::Component(_)) => {
                self.report(
                    Diagnostic::new(
                        Code::WRONG_KIND,
                        format!("`{name}` is a worksheet where a value is expected"),
                        span,
                    )
                    .help(format!("name a cell of it: `{name}.…`")),
                );
                None
            }
            Some(Definition::Broken) => None,
            None => self.constant(name, span),
        }
    }

    fn first_column(&self, table: &str) -> &str {
        self.names
            .tables
            .iter()
            .find(|t| t.name == table)
            .and_then(|t| t.columns.first())
            .map_or("column", |(name, ..)| name.as_str())
    }

    /// A constant of the formula library, or a name that nobody knows.
    fn constant(&mut self, name: &str, span: Span) -> Option<Lowered> {
        if name == "pi" {
            return Some(self.lowered(Term::Number(std::f64::consts::PI), Type::PLAIN, span));
        }
        if let Some(formula) = forebay_formulas::find(name)
            && formula.parameters.is_empty()
        {
            return self.formula(formula, Vec::new(), span);
        }
        let known_function = self.names.function(name).is_some()
            || forebay_formulas::find(name).is_some()
            || builtins::find(name).is_some();
        let diagnostic = if known_function {
            Diagnostic::new(Code::ARGUMENTS, format!("`{name}` takes arguments"), span)
                .help(format!("write `{name}(…)`"))
        } else {
            self.unknown(name, span, false)
        };
        self.report(diagnostic);
        None
    }

    /// A name that nobody knows, with what may have been meant.
    pub(crate) fn unknown(&self, name: &str, span: Span, called: bool) -> Diagnostic {
        let mut diagnostic =
            Diagnostic::new(Code::UNKNOWN_NAME, format!("`{name}` is not known"), span);
        let locals = self.locals.iter().map(|local| local.name.as_str());
        let nearest = match nearest(name, locals).first() {
            Some(local) => vec![(*local).to_owned()],
            None if called => self.names.nearest_function(name),
            None => self.names.nearest_value(name),
        };
        if !nearest.is_empty() {
            let list: Vec<String> = nearest.iter().map(|n| format!("`{n}`")).collect();
            diagnostic = diagnostic.help(format!("did you mean {}?", list.join(" or ")));
        }
        diagnostic
    }

    pub(super) fn field(&mut self, of: &Node, word: &Word) -> Option<Lowered> {
        let span = of.span.to(word.span);
        let Expression::Name(owner) = &of.expression else {
            self.report(Diagnostic::new(
                Code::WRONG_KIND,
                format!("only a table or another worksheet has a `.{}`", word.text),
                word.span,
            ));
            return None;
        };
        if self.locals.iter().any(|local| local.name == *owner) || !self.inside.is_empty() {
            self.report(
                Diagnostic::new(
                    Code::WRONG_KIND,
                    format!("`{owner}` has no `.{}`", word.text),
                    word.span,
                )
                .help("pass the column itself as an argument"),
            );
            return None;
        }
        match self.names.defined.get(owner) {
            Some(Definition::Table) => self.column(owner, word, span),
            Some(Definition::Component(cells)) => {
                let Some(cell) = cells.get(&word.text).copied() else {
                    let near = nearest(&word.text, cells.keys().map(String::as_str));
                    self.report(near_help(
                        Diagnostic::new(
                            Code::UNKNOWN_NAME,
                            format!("`{owner}` has no cell `{}`", word.text),
                            word.span,
                        ),
                        &near,
                    ));
                    return None;
                };
                let ty = self.types.get(cell as usize).copied().flatten()?;
                Some(self.lowered(Term::Cell(cell), ty, span))
            }
            Some(Definition::Broken) => None,
            Some(Definition::Cell(_)) => {
                self.report(
                    Diagnostic::new(
                        Code::WRONG_KIND,
                        format!("`{owner}` is a value and has no `.{}`", word.text),
                        word.span,
                    )
                    .help("to call a function on it, add brackets: `xs.sum()`"),
                );
                None
            }
            None => {
                let diagnostic = self.unknown(owner, of.span, false);
                self.report(diagnostic);
                None
            }
        }
    }

    fn column(&mut self, table: &str, word: &Word, span: Span) -> Option<Lowered> {
        let columns = &self.names.tables.iter().find(|t| t.name == table)?.columns;
        if let Some((_, ty, value)) = columns.iter().find(|(name, ..)| *name == word.text) {
            let (ty, value) = (*ty, value.clone());
            let id = self.terms.add_constant(value, span);
            return Some(Lowered { id, ty, span, shown_in: ("", "") });
        }
        let near = nearest(&word.text, columns.iter().map(|(name, ..)| name.as_str()));
        let all: Vec<&str> = columns.iter().map(|(name, ..)| name.as_str()).collect();
        let diagnostic = Diagnostic::new(
            Code::UNKNOWN_NAME,
            format!("the table `{table}` has no column `{}`", word.text),
            word.span,
        );
        let diagnostic = if near.is_empty() {
            diagnostic.help(format!("its columns are {}", all.join(", ")))
        } else {
            near_help(diagnostic, &near)
        };
        self.report(diagnostic);
        None
    }
}

fn near_help(diagnostic: Diagnostic, near: &[&str]) -> Diagnostic {
    match near.first() {
        Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
        None => diagnostic,
    }
}
