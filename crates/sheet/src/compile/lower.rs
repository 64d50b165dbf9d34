//! Lowers a formula's tree to typed terms: names become cells, units become factors, and every
//! operation is checked for dimension before anything is computed.

use forebay_units::{Dimension, Unit, money};

use super::names::Names;
use super::operators;
use super::syntax::{Argument, Expression, Node, Operator, Word};
use crate::bounds::{DEEPEST_TERMS, MOST_TERMS};
use crate::diagnostic::{Code, Diagnostic, Sources, Span};
use crate::script::Scripts;
use crate::term::{Id, Slot, Term, Terms};
use crate::value::{Scalar, Type, Value};

/// A lowered expression: its term, its type, and where it was written.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lowered {
    pub(crate) id: Id,
    pub(crate) ty: Type,
    pub(crate) span: Span,
    /// The units that the trade reads this result in, where the formula names some.
    pub(crate) shown_in: (&'static str, &'static str),
}

/// A name that stands for a local variable.
#[derive(Clone, Debug)]
pub(crate) struct Local {
    pub(crate) name: String,
    pub(crate) slot: Slot,
    pub(crate) ty: Type,
    /// Money that a solver varies is held as a bare number.
    pub(crate) bare_money: bool,
    /// Nothing is known of it: a parameter of a function that is looked over without a call.
    pub(crate) unknown: bool,
    /// Where it got its type.
    pub(crate) span: Span,
}

/// Lowers the formulas of one sheet. `None` from any step means that the reason has been reported,
/// here or where the name was defined, so that one mistake is told once.
pub(crate) struct Lowering<'a> {
    pub(crate) terms: &'a mut Terms,
    pub(crate) diagnostics: &'a mut Vec<Diagnostic>,
    pub(crate) names: &'a Names,
    /// Types of the cells lowered so far; `None` for a broken one.
    pub(crate) types: &'a [Option<Type>],
    pub(crate) sources: &'a Sources,
    pub(crate) scripts: &'a mut Scripts,
    pub(crate) locals: Vec<Local>,
    pub(crate) next_slot: Slot,
    /// The user's functions being written out, outermost first: index and place of the call.
    pub(crate) inside: Vec<(u32, Span)>,
    pub(crate) returns: Vec<Lowered>,
    /// How many loops are open around the place reached.
    pub(crate) loops: usize,
    first_term: usize,
    depth: usize,
    /// Whether a function is looked over without a call, so that only what is wrong for every
    /// argument is told.
    pub(crate) looking: bool,
    /// Whether it has been told that this formula grows too large.
    grown: bool,
}

impl<'a> Lowering<'a> {
    /// Ready for the next formula.
    pub(crate) fn new(
        terms: &'a mut Terms,
        diagnostics: &'a mut Vec<Diagnostic>,
        names: &'a Names,
        types: &'a [Option<Type>],
        sources: &'a Sources,
        scripts: &'a mut Scripts,
    ) -> Self {
        let first_term = terms.len();
        Self {
            terms,
            diagnostics,
            names,
            types,
            sources,
            scripts,
            locals: Vec::new(),
            next_slot: 0,
            inside: Vec::new(),
            returns: Vec::new(),
            loops: 0,
            first_term,
            depth: 0,
            looking: false,
            grown: false,
        }
    }

    /// Reports a mistake; inside a user's function with the call that led there. The same mistake
    /// at the same place is told once, however often the function is called.
    pub(crate) fn report(&mut self, diagnostic: Diagnostic) {
        let for_any_argument =
            [Code::UNLIKE, Code::ABSOLUTE, Code::WRONG_DIMENSION, Code::EXPONENT, Code::CURRENCY];
        if self.looking && !for_any_argument.contains(&diagnostic.code) {
            return;
        }
        // One formula that grows too large does so at many places.
        if diagnostic.code == Code::TOO_DEEP && std::mem::replace(&mut self.grown, true) {
            return;
        }
        let told = (self.looking || !self.inside.is_empty())
            && self.diagnostics.iter().any(|d| {
                d.code == diagnostic.code
                    && d.span() == diagnostic.span()
                    && d.message == diagnostic.message
            });
        if told {
            return;
        }
        let diagnostic = match self.inside.first() {
            Some((_, call)) => diagnostic.and(*call, "called here"),
            None => diagnostic,
        };
        self.diagnostics.push(diagnostic);
    }

    pub(crate) fn lowered(&mut self, term: Term, ty: Type, span: Span) -> Lowered {
        Lowered { id: self.terms.add(term, span), ty, span, shown_in: ("", "") }
    }

    /// A new local variable.
    pub(crate) fn slot(&mut self) -> Slot {
        let slot = self.next_slot;
        self.next_slot = self.next_slot.saturating_add(1);
        slot
    }

    /// Lowers an expression.
    pub(crate) fn expression(&mut self, node: &Node) -> Option<Lowered> {
        if self.depth >= DEEPEST_TERMS {
            self.report(
                Diagnostic::new(
                    Code::TOO_DEEP,
                    format!("more than {DEEPEST_TERMS} operations stand in one another"),
                    node.span,
                )
                .help("it calls functions that call functions; split it into several cells"),
            );
            return None;
        }
        self.depth += 1;
        let lowered = self.shallow(node);
        self.depth -= 1;
        lowered
    }

    fn shallow(&mut self, node: &Node) -> Option<Lowered> {
        if self.terms.len() - self.first_term > MOST_TERMS || self.next_slot == Slot::MAX {
            self.report(
                Diagnostic::new(Code::TOO_DEEP, "this formula grows too large", node.span)
                    .help("it calls functions that call functions; split it into several cells"),
            );
            return None;
        }
        let mut lowered = match &node.expression {
            Expression::Number(text) => {
                let number = self.finite(text, node.span)?;
                self.lowered(Term::Number(number), Type::PLAIN, node.span)
            }
            Expression::Quantity(text, unit) => self.quantity(text, unit, node.span)?,
            Expression::Text(text) => {
                let value = Value::Text(text.as_str().into());
                let id = self.terms.add_constant(value, node.span);
                Lowered { id, ty: Type::TEXT, span: node.span, shown_in: ("", "") }
            }
            Expression::Date(text) => {
                let Ok(date) = text.parse::<jiff::civil::Date>() else {
                    self.report(Diagnostic::new(
                        Code::NO_SUCH_DATE,
                        format!("there is no day {text}"),
                        node.span,
                    ));
                    return None;
                };
                let id = self.terms.add_constant(Value::Date(date), node.span);
                Lowered { id, ty: Type::One(Scalar::Date), span: node.span, shown_in: ("", "") }
            }
            Expression::Truth(truth) => self.lowered(Term::Truth(*truth), Type::TRUTH, node.span),
            Expression::Name(name) => self.name(name, node.span)?,
            Expression::List(items) => self.list(items, node.span)?,
            Expression::Field(of, word) => self.field(of, word)?,
            Expression::Index(of, at) => self.index(of, at, node.span)?,
            Expression::Call(name, arguments) => self.call(name, None, arguments, node.span)?,
            Expression::Method(of, name, arguments) => {
                self.call(name, Some(of), arguments, node.span)?
            }
            Expression::Negate(of) => {
                let of = self.expression(of)?;
                operators::negate(self, of, node.span)?
            }
            Expression::Not(of) => {
                let of = self.expression(of)?;
                operators::not(self, of, node.span)?
            }
            Expression::Binary(operator, left, right) => {
                self.binary(*operator, left, right, node.span)?
            }
            Expression::If(condition, then, otherwise) => {
                self.choice(condition, then, otherwise.as_deref(), node.span)?
            }
            Expression::Block(statements) => self.block_value(statements, node.span)?,
            Expression::Closure(..) => {
                self.report(
                    Diagnostic::new(
                        Code::UNSUPPORTED,
                        "a function `|x| …` stands where a value is expected",
                        node.span,
                    )
                    .help("give it to `zero_of`, `greatest_of`, `integral` or `xs.map(…)`"),
                );
                return None;
            }
            Expression::Range(..) => {
                self.report(Diagnostic::new(
                    Code::UNSUPPORTED,
                    "a range stands only after `for … in`",
                    node.span,
                ));
                return None;
            }
        };
        lowered.span = node.span;
        Some(lowered)
    }

    fn finite(&mut self, text: &str, span: Span) -> Option<f64> {
        match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Some(number),
            _ => {
                self.report(Diagnostic::new(Code::SYNTAX, "this number is too large", span));
                None
            }
        }
    }

    fn quantity(&mut self, text: &str, unit: &Unit, span: Span) -> Option<Lowered> {
        if let Some(diagnostic) = self.foreign_currency(unit, span) {
            self.report(diagnostic);
            return None;
        }
        if unit.dimension() == Dimension::MONEY {
            let amount = match money::parse_amount(text) {
                Ok(amount) => amount,
                Err(error) => {
                    self.report(
                        Diagnostic::new(Code::SYNTAX, error.to_string(), span).help(error.help()),
                    );
                    return None;
                }
            };
            let id = self.terms.add_constant(Value::Money(amount), span);
            let ty = Type::number(Dimension::MONEY);
            return Some(Lowered { id, ty, span, shown_in: ("", "") });
        }
        let number = self.finite(text, span)?;
        let si = unit.to_si(number);
        if !si.is_finite() {
            self.report(Diagnostic::new(Code::SYNTAX, "this quantity is too large", span));
            return None;
        }
        if unit.dimension().is_absolute() && si < 0.0 {
            let what = unit.dimension();
            self.report(
                Diagnostic::new(Code::ABSOLUTE, format!("{what} below the true zero"), span)
                    .help("a gauge or vacuum reading is a difference: `bar_gauge`, `inHg_vacuum`"),
            );
            return None;
        }
        Some(self.lowered(Term::Number(si), Type::number(unit.dimension()), span))
    }

    /// Says so if a unit's currency is not the sheet's.
    pub(crate) fn foreign_currency(&self, unit: &Unit, span: Span) -> Option<Diagnostic> {
        let found = unit.currency()?;
        match self.names.currency {
            Some(own) if own == found => None,
            Some(own) => Some(Diagnostic::new(
                Code::CURRENCY,
                format!("the sheet's currency is {}, found {}", own.code(), found.code()),
                span,
            )),
            None => Some(
                Diagnostic::new(Code::CURRENCY, "the sheet names no currency", span)
                    .help(format!("add `currency: {}` at the top", found.code())),
            ),
        }
    }

    fn list(&mut self, items: &[Node], span: Span) -> Option<Lowered> {
        // All are lowered before one failure ends it, so that each mistake is told.
        let lowered: Vec<Option<Lowered>> = items.iter().map(|i| self.expression(i)).collect();
        let lowered: Vec<Lowered> = lowered.into_iter().collect::<Option<_>>()?;
        let Some(first) = lowered.first().copied() else {
            self.report(
                Diagnostic::new(Code::WRONG_KIND, "an empty list has no unit", span)
                    .help("write at least one value"),
            );
            return None;
        };
        for item in &lowered {
            if let Type::Series(_) = item.ty {
                self.report(Diagnostic::new(
                    Code::WRONG_KIND,
                    "a series cannot stand inside a list",
                    item.span,
                ));
                return None;
            }
            operators::alike(self, first, *item, "stand in one list")?;
        }
        let ids: Vec<Id> = lowered.iter().map(|item| item.id).collect();
        let args = self.terms.add_args(&ids);
        Some(self.lowered(
            Term::List(args, first.ty.scalar().is_bare()),
            Type::Series(first.ty.scalar()),
            span,
        ))
    }

    fn index(&mut self, of: &Node, at: &Node, span: Span) -> Option<Lowered> {
        let (of, at) = (self.expression(of), self.expression(at));
        let (of, at) = (of?, at?);
        let Type::Series(scalar) = of.ty else {
            self.report(
                Diagnostic::new(Code::WRONG_KIND, "only a series has numbered places", of.span)
                    .here(format!("this is one {}", of.ty)),
            );
            return None;
        };
        operators::want(self, at, Type::PLAIN, "the place in a series")?;
        Some(self.lowered(Term::At(of.id, at.id), Type::One(scalar), span))
    }

    fn binary(
        &mut self,
        operator: Operator,
        left: &Node,
        right: &Node,
        span: Span,
    ) -> Option<Lowered> {
        let (l, r) = (self.expression(left), self.expression(right));
        let (l, r) = (l?, r?);
        self.lift(&[l, r], span, &mut |this, args| {
            operators::binary(this, operator, args[0], args[1], span)
        })
    }

    /// Lets a computation on single values work on series element by element.
    pub(crate) fn lift(
        &mut self,
        arguments: &[Lowered],
        span: Span,
        build: &mut dyn FnMut(&mut Self, &[Lowered]) -> Option<Lowered>,
    ) -> Option<Lowered> {
        if arguments.iter().all(|a| matches!(a.ty, Type::One(_))) {
            return build(self, arguments);
        }
        let first_slot = self.next_slot;
        let mut series = Vec::new();
        let mut elements = Vec::with_capacity(arguments.len());
        for argument in arguments {
            elements.push(match argument.ty {
                Type::One(_) => *argument,
                Type::Series(scalar) => {
                    series.push(argument.id);
                    let slot = self.slot();
                    self.lowered(Term::Local(slot), Type::One(scalar), argument.span)
                }
            });
        }
        let body = build(self, &elements)?;
        let Type::One(scalar) = body.ty else { return None };
        let args = self.terms.add_args(&series);
        let each = self.lowered(
            Term::Each(first_slot, args, body.id, scalar.is_bare()),
            Type::Series(scalar),
            span,
        );
        Some(Lowered { shown_in: body.shown_in, ..each })
    }

    /// The bare number behind a lowered number, money as the nearest `f64`.
    pub(crate) fn bare(&mut self, lowered: Lowered) -> Id {
        if lowered.ty.scalar().is_money() {
            self.terms.add(Term::ToNumber(lowered.id), lowered.span)
        } else {
            lowered.id
        }
    }

    /// A bare number as a value of its dimension: exact from here on if that is money.
    pub(crate) fn of_bare(&mut self, term: Term, dimension: Dimension, span: Span) -> Lowered {
        let id = self.terms.add(term, span);
        self.held(id, dimension, span)
    }

    /// The same for a term that is there already.
    pub(crate) fn held(&mut self, id: Id, dimension: Dimension, span: Span) -> Lowered {
        let lowered = Lowered { id, ty: Type::number(dimension), span, shown_in: ("", "") };
        if dimension == Dimension::MONEY {
            self.lowered(Term::ToMoney(lowered.id), lowered.ty, span)
        } else {
            lowered
        }
    }

    /// Lowers a function `|x, …| body` for arguments of given types, held in new locals; gives the
    /// first local and the body. Bare numbers are handed in by solvers.
    pub(crate) fn closure(
        &mut self,
        node: &Node,
        parameters: &[(Type, bool)],
        example: &str,
    ) -> Option<(Slot, Lowered)> {
        let Expression::Closure(words, body) = &node.expression else {
            self.report(
                Diagnostic::new(Code::WRONG_KIND, "a function `|x| …` is expected here", node.span)
                    .help(format!("for example `{example}`")),
            );
            return None;
        };
        if words.len() != parameters.len() {
            self.report(
                Diagnostic::new(
                    Code::ARGUMENTS,
                    format!("this function takes {}, found {}", parameters.len(), words.len()),
                    node.span,
                )
                .help(format!("for example `{example}`")),
            );
            return None;
        }
        let outer = self.locals.len();
        let first_slot = self.next_slot;
        for (word, (ty, bare)) in words.iter().zip(parameters) {
            let slot = self.slot();
            self.locals.push(Local {
                name: word.text.clone(),
                slot,
                ty: *ty,
                bare_money: *bare && ty.scalar().is_money(),
                unknown: false,
                span: word.span,
            });
        }
        let body = self.expression(body);
        self.locals.truncate(outer);
        Some((first_slot, body?))
    }

    /// The arguments of a call with the receiver of a method in front.
    pub(crate) fn with_receiver<'n>(
        receiver: Option<&'n Node>,
        arguments: &'n [Argument],
    ) -> Vec<(Option<&'n Word>, &'n Node)> {
        receiver
            .map(|node| (None, node))
            .into_iter()
            .chain(arguments.iter().map(|a| (a.name.as_ref(), &a.value)))
            .collect()
    }
}

/// What a type is called in "expected …, found …".
pub(crate) fn described(ty: Type) -> String {
    match ty {
        Type::One(Scalar::Number(dimension)) => dimension.to_string(),
        other => other.to_string(),
    }
}
