//! Calls: arguments are bound to parameters by place and by name, then handed to a built-in
//! function, a formula of the library, or a function of the sheet.

use forebay_formulas::{Body, Formula, Kind, Parameter};
use forebay_units::{Dimension, nearest};

use super::builtins;
use super::lower::{Lowered, Lowering, described};
use super::names::Definition;
use super::operators;
use super::syntax::{Argument, Expression, Node, Word};
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::term::{Id, Term};
use crate::value::{Scalar, Type, Value};

/// A year of 365 days in seconds; see the unit `year`.
const YEAR: f64 = 365.0 * 86_400.0;

/// An argument as written: its name, if it has one, and its value.
pub(crate) type Given<'n> = (Option<&'n Word>, &'n Node);

impl Lowering<'_> {
    /// Lowers `name(…)` or `receiver.name(…)`.
    pub(crate) fn call(
        &mut self,
        name: &Word,
        receiver: Option<&Node>,
        arguments: &[Argument],
        span: Span,
    ) -> Option<Lowered> {
        let given = Self::with_receiver(receiver, arguments);
        if let Some((index, _)) = self.names.function(&name.text) {
            return self.user_call(index, name, &given, span);
        }
        if let Some(builtin) = builtins::find(&name.text) {
            let required: Vec<bool> =
                (0..builtin.parameters.len()).map(|at| at < builtin.needed).collect();
            let bound = self.bind(&name.text, builtin.parameters, &required, &given, span)?;
            return (builtin.lower)(self, &bound, span);
        }
        if let Some(formula) = forebay_formulas::find(&name.text) {
            return self.formula_call(formula, &given, span);
        }
        if matches!(self.names.defined.get(&name.text), Some(Definition::Broken)) {
            return None;
        }
        let diagnostic = if let Some(why) = refused(&name.text) {
            Diagnostic::new(
                Code::UNSUPPORTED,
                format!("`{}` has no meaning in a worksheet", name.text),
                name.span,
            )
            .help(why)
        } else if self.names.defined.contains_key(&name.text) {
            Diagnostic::new(
                Code::WRONG_KIND,
                format!("`{}` is a value and cannot be called", name.text),
                name.span,
            )
            .help("write `*` to multiply")
        } else {
            self.unknown(&name.text, name.span, true)
        };
        self.report(diagnostic);
        // The arguments may hold mistakes of their own.
        for (_, value) in given {
            if !matches!(value.expression, Expression::Closure(..)) {
                self.expression(value);
            }
        }
        None
    }

    /// Puts arguments in the order of parameters; those that are `required` must be there. A last
    /// parameter that ends in `…` takes all that follow.
    pub(crate) fn bind<'n>(
        &mut self,
        function: &str,
        parameters: &[&str],
        required: &[bool],
        given: &[Given<'n>],
        span: Span,
    ) -> Option<Vec<Option<&'n Node>>> {
        let open = parameters.last().is_some_and(|p| p.ends_with('…'));
        let mut bound: Vec<Option<&'n Node>> = vec![None; parameters.len()];
        for (place, (name, value)) in given.iter().enumerate() {
            let Some(name) = name else {
                if place >= parameters.len() && !open {
                    self.report(
                        Diagnostic::new(
                            Code::ARGUMENTS,
                            format!(
                                "`{function}` takes {}, found {}",
                                count(parameters.len()),
                                given.len()
                            ),
                            value.span,
                        )
                        .help(format!("it is `{function}({})`", parameters.join(", "))),
                    );
                    return None;
                }
                if place < parameters.len() {
                    bound[place] = Some(value);
                } else {
                    bound.push(Some(value));
                }
                continue;
            };
            let Some(at) = parameters.iter().position(|p| *p == name.text) else {
                let near = nearest(&name.text, parameters.iter().copied());
                let help = match near.first() {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("it is `{function}({})`", parameters.join(", ")),
                };
                self.report(
                    Diagnostic::new(
                        Code::ARGUMENTS,
                        format!("`{function}` has no argument `{}`", name.text),
                        name.span,
                    )
                    .help(help),
                );
                return None;
            };
            if let Some(before) = bound[at] {
                self.report(
                    Diagnostic::new(
                        Code::ARGUMENTS,
                        format!("`{}` is given twice", name.text),
                        name.span,
                    )
                    .and(before.span, "here already"),
                );
                return None;
            }
            bound[at] = Some(value);
        }
        let missing: Vec<&str> = parameters
            .iter()
            .zip(&bound)
            .zip(required)
            .filter(|((_, value), required)| value.is_none() && **required)
            .map(|((name, _), _)| *name)
            .collect();
        if missing.is_empty() {
            return Some(bound);
        }
        let list: Vec<String> = missing.iter().map(|m| format!("`{m}`")).collect();
        self.report(
            Diagnostic::new(
                Code::ARGUMENTS,
                format!("`{function}` also needs {}", list.join(" and ")),
                span,
            )
            .help(format!("it is `{function}({})`", parameters.join(", "))),
        );
        None
    }

    fn formula_call(
        &mut self,
        formula: &'static Formula,
        given: &[Given<'_>],
        span: Span,
    ) -> Option<Lowered> {
        // A table stands where its columns would stand, all of which follow one another.
        let start = formula.parameters.iter().take_while(|p| !p.column).count();
        let columns = formula.parameters[start..].iter().take_while(|p| p.column).count();
        // A table that could not be read has been reported.
        if columns > 0
            && given.get(start).is_some_and(|(name, node)| name.is_none() && self.is_broken(node))
        {
            return None;
        }
        // The table by its place, or by a name of its own: `line_loss(line = pipe, flow = q)`.
        let named = given.iter().position(|(name, node)| {
            columns > 0
                && name.is_some_and(|n| formula.parameters.iter().all(|p| p.name != n.text))
                && self.table_name(node).is_some()
        });
        let at = named.unwrap_or(start);
        let table = match given.get(at) {
            Some((name, node)) if columns > 0 && (name.is_none() || named.is_some()) => {
                self.table_name(node)
            }
            _ => None,
        };
        let mut given = given.to_vec();
        let mut run = start..start;
        if table.is_some() {
            given.remove(at);
            run = start..start + columns;
        }
        // A column given by name stands in place of the table's: `line_loss(line, q, bore = bore)`.
        let of_run =
            |name: &Word| formula.parameters[run.clone()].iter().any(|p| p.name == name.text);
        let (by_name, given): (Vec<Given<'_>>, Vec<Given<'_>>) =
            given.into_iter().partition(|(name, _)| name.is_some_and(of_run));
        let others: Vec<(usize, &'static Parameter)> =
            formula.parameters.iter().enumerate().filter(|(at, _)| !run.contains(at)).collect();
        let names: Vec<&str> = others.iter().map(|(_, p)| p.name).collect();
        let required: Vec<bool> = others.iter().map(|(_, p)| p.default.is_none()).collect();
        let bound = self.bind(formula.name, &names, &required, &given, span)?;
        let mut others = others.into_iter().zip(bound).peekable();
        let mut arguments = Vec::with_capacity(formula.parameters.len());
        let mut failed = false;
        for (place, parameter) in formula.parameters.iter().enumerate() {
            let argument = match others.next_if(|((at, _), _)| *at == place) {
                Some((_, value)) => {
                    let row = value.filter(|_| parameter.kind == Kind::Row);
                    match row.and_then(|node| self.row_named(table.as_ref(), node)) {
                        Some(found) => found,
                        None => self.argument(formula, place, parameter, value, span),
                    }
                }
                None => {
                    match by_name.iter().find(|(n, _)| n.is_some_and(|n| n.text == parameter.name))
                    {
                        Some((_, node)) => self.expression(node),
                        None => self.column_argument(formula, parameter, table.as_ref()?),
                    }
                }
            };
            match argument {
                Some(argument) => arguments.push(argument),
                None => failed = true,
            }
        }
        if failed { None } else { self.formula(formula, arguments, span) }
    }

    fn is_broken(&self, node: &Node) -> bool {
        let Expression::Name(name) = &node.expression else { return false };
        matches!(self.names.defined.get(name), Some(Definition::Broken))
    }

    /// The table that an argument names.
    fn table_name(&self, node: &Node) -> Option<Word> {
        let Expression::Name(name) = &node.expression else { return None };
        let hidden = self.locals.iter().any(|local| local.name == *name);
        let is_table = matches!(self.names.defined.get(name), Some(Definition::Table));
        (is_table && !hidden).then(|| Word { text: name.clone(), span: node.span })
    }

    /// The column of a table that stands for a parameter, or the parameter's default.
    fn column_argument(
        &mut self,
        formula: &'static Formula,
        parameter: &'static Parameter,
        table: &Word,
    ) -> Option<Lowered> {
        let columns = self.names.tables.iter().find(|t| t.name == table.text);
        let column = columns?.columns.iter().find(|(name, ..)| name == parameter.name);
        if let Some((_, ty, value)) = column {
            let (ty, value) = (*ty, value.clone());
            let id = self.terms.add_constant(value, table.span);
            return Some(Lowered { id, ty, span: table.span, shown_in: ("", "") });
        }
        if let Some(default) = parameter.default {
            let ty = match parameter.kind {
                Kind::Series(dimension) => Type::number(dimension),
                _ => Type::PLAIN,
            };
            return Some(self.lowered(Term::Number(default), ty, table.span));
        }
        self.report(
            Diagnostic::new(
                Code::ARGUMENTS,
                format!(
                    "the table `{}` has no column `{}`, which `{}` needs",
                    table.text, parameter.name, formula.name
                ),
                table.span,
            )
            .help(format!(
                "add a column `{0}` ({1}), or give it by name: `{2}({3}, …, {0} = …)`",
                parameter.name, parameter.about, formula.name, table.text
            )),
        );
        None
    }

    /// The number of the row that a text names; `None` where the argument is no text.
    fn row_named(&mut self, table: Option<&Word>, node: &Node) -> Option<Option<Lowered>> {
        let Expression::Text(wanted) = &node.expression else { return None };
        let columns = table
            .and_then(|table| self.names.tables.iter().find(|t| t.name == table.text))
            .and_then(|t| t.columns.iter().find(|(_, ty, _)| *ty == Type::Series(Scalar::Text)));
        let Some((_, _, Value::Series(names))) = columns else {
            self.report(
                Diagnostic::new(
                    Code::ARGUMENTS,
                    "there is no table to look for this row",
                    node.span,
                )
                .help("give the row by its number, counted from 1"),
            );
            return Some(None);
        };
        let texts: Vec<String> = (0..names.len())
            .filter_map(|at| match names.get(at) {
                Some(Value::Text(text)) => Some(text.to_string()),
                _ => None,
            })
            .collect();
        if let Some(at) = texts.iter().position(|text| text == wanted) {
            #[allow(clippy::cast_precision_loss)]
            let number = (at + 1) as f64;
            return Some(Some(self.lowered(Term::Number(number), Type::PLAIN, node.span)));
        }
        self.report(
            Diagnostic::new(Code::ARGUMENTS, format!("no row is called \"{wanted}\""), node.span)
                .help(format!("the rows are \"{}\"", texts.join("\", \""))),
        );
        Some(None)
    }

    /// One argument of a formula, or its default; not yet fitted to the parameter's dimension.
    fn argument(
        &mut self,
        formula: &'static Formula,
        at: usize,
        parameter: &'static Parameter,
        value: Option<&Node>,
        call: Span,
    ) -> Option<Lowered> {
        let Some(value) = value else {
            let Some(default) = parameter.default else {
                self.report(Diagnostic::new(
                    Code::ARGUMENTS,
                    format!("`{}` also needs `{}`", formula.name, parameter.name),
                    call,
                ));
                return None;
            };
            let dimension = match parameter.kind {
                Kind::Quantity(dimension) | Kind::Yearly(dimension) | Kind::Series(dimension) => {
                    dimension
                }
                _ => Dimension::NONE,
            };
            if matches!(parameter.kind, Kind::Choice(_)) {
                // The index itself, not the word.
                return Some(self.lowered(Term::Number(default), Type::PLAIN, call));
            }
            return Some(self.of_bare(Term::Number(default), dimension, call));
        };
        if let Kind::Choice(words) = parameter.kind {
            return self.word(formula, at, parameter, words, value);
        }
        self.expression(value)
    }

    /// A word among a formula's choices: in quotes, bare, or in a cell that holds a text.
    fn word(
        &mut self,
        formula: &'static Formula,
        at: usize,
        parameter: &Parameter,
        words: &'static [&'static str],
        value: &Node,
    ) -> Option<Lowered> {
        let written = match &value.expression {
            Expression::Text(text) => Some(text.as_str()),
            Expression::Name(name)
                if !self.names.defined.contains_key(name)
                    && !self.locals.iter().any(|l| l.name == *name) =>
            {
                Some(name.as_str())
            }
            _ => None,
        };
        if let Some(written) = written {
            if let Some(index) = words.iter().position(|word| *word == written) {
                #[allow(clippy::cast_precision_loss)]
                let index = index as f64;
                return Some(self.lowered(Term::Number(index), Type::PLAIN, value.span));
            }
            self.report(
                Diagnostic::new(
                    Code::ARGUMENTS,
                    format!("`{}`: `{written}` is none of its words", parameter.name),
                    value.span,
                )
                .help(format!("choose one of \"{}\"", words.join("\", \""))),
            );
            return None;
        }
        let text = self.expression(value)?;
        let text = operators::want(self, text, Type::TEXT, format_args!("`{}`", parameter.name))?;
        let place = u8::try_from(at).ok()?;
        Some(self.lowered(Term::Choice(formula, place, text.id), Type::PLAIN, value.span))
    }

    /// A formula with its arguments in order: dimensions are checked, series are run through.
    pub(crate) fn formula(
        &mut self,
        formula: &'static Formula,
        arguments: Vec<Lowered>,
        span: Span,
    ) -> Option<Lowered> {
        let takes_series =
            formula.parameters.iter().any(|p| matches!(p.kind, Kind::Series(_) | Kind::Texts));
        let lowered = if takes_series {
            self.fitted_formula(formula, &arguments, span)
        } else {
            self.lift(&arguments, span, &mut |low, arguments| {
                low.fitted_formula(formula, arguments, span)
            })
        };
        Some(Lowered { shown_in: formula.result.shown_in, ..lowered? })
    }

    fn fitted_formula(
        &mut self,
        formula: &'static Formula,
        arguments: &[Lowered],
        span: Span,
    ) -> Option<Lowered> {
        let fitted: Vec<Option<Id>> = formula
            .parameters
            .iter()
            .zip(arguments)
            .map(|(parameter, argument)| self.fit(parameter, *argument))
            .collect();
        let fitted: Vec<Id> = fitted.into_iter().collect::<Option<_>>()?;
        let args = self.terms.add_args(&fitted);
        if formula.result.series {
            let ty = Type::Series(Scalar::Number(formula.result.dimension));
            return Some(self.lowered(Term::ToSeriesFormula(formula, args), ty, span));
        }
        let term = if matches!(formula.body, Body::Series(_) | Body::SeriesDoubted(_)) {
            Term::SeriesFormula(formula, args)
        } else {
            Term::Formula(formula, args)
        };
        if !formula.result.words.is_empty() {
            let index = self.terms.add(term, span);
            return Some(self.lowered(Term::Word(formula, index), Type::TEXT, span));
        }
        Some(self.of_bare(term, formula.result.dimension, span))
    }

    /// Checks an argument against its parameter and brings yearly amounts and years to what the
    /// body takes.
    fn fit(&mut self, parameter: &Parameter, argument: Lowered) -> Option<Id> {
        let label = format_args!("`{}`", parameter.name);
        let per_year = |low: &mut Self, factor: f64, over: bool| {
            let number = low.bare(argument);
            let year = low.terms.add(Term::Number(factor), argument.span);
            let term = if over { Term::Divide(number, year) } else { Term::Multiply(number, year) };
            low.terms.add(term, argument.span)
        };
        match parameter.kind {
            Kind::Quantity(dimension) => {
                let fitted = operators::want(self, argument, Type::number(dimension), label)?;
                Some(self.bare(fitted))
            }
            Kind::Choice(_) => Some(argument.id),
            Kind::Row => Some(operators::want(self, argument, Type::PLAIN, label)?.id),
            Kind::Texts if argument.ty == Type::Series(Scalar::Text) => Some(argument.id),
            // A column that is not there.
            Kind::Texts if argument.ty == Type::PLAIN && parameter.column => Some(argument.id),
            Kind::Texts => {
                self.report(Diagnostic::new(
                    Code::WRONG_KIND,
                    format!("{label}: expected a series of text, found {}", described(argument.ty)),
                    argument.span,
                ));
                None
            }
            Kind::Yearly(dimension) => {
                let rate = dimension.over(Dimension::TIME).ok().map(Type::number);
                if Some(argument.ty) == rate {
                    return Some(per_year(self, YEAR, false));
                }
                let fitted = operators::want(self, argument, Type::number(dimension), label)?;
                Some(self.bare(fitted))
            }
            Kind::Years => {
                if argument.ty == Type::number(Dimension::TIME) {
                    return Some(per_year(self, YEAR, true));
                }
                Some(operators::want(self, argument, Type::PLAIN, label)?.id)
            }
            Kind::Series(dimension) => {
                let wanted = Type::Series(Scalar::Number(dimension));
                // A column that is the same everywhere may be one value.
                let same = parameter.column && argument.ty == Type::number(dimension);
                if argument.ty == wanted || same {
                    return Some(argument.id);
                }
                let found = described(argument.ty);
                self.report(
                    Diagnostic::new(
                        Code::WRONG_DIMENSION,
                        format!("{label}: expected a {}, found {found}", described(wanted)),
                        argument.span,
                    )
                    .here(found)
                    .help("give a table's column, or a list such as `[1 m, 2 m]`"),
                );
                None
            }
        }
    }

    /// A constant as a term, for built-in functions that need one.
    pub(crate) fn text_constant(&self, lowered: &Lowered) -> Option<String> {
        match self.terms.get(lowered.id) {
            Term::Constant(index) => match self.terms.constant(*index) {
                Value::Text(text) => Some(text.to_string()),
                _ => None,
            },
            _ => None,
        }
    }
}

fn count(number: usize) -> String {
    match number {
        0 => "no arguments".to_owned(),
        1 => "one argument".to_owned(),
        n => format!("{n} arguments"),
    }
}

/// Functions of Rhai that a worksheet does without, with the way that is open.
fn refused(name: &str) -> Option<&'static str> {
    Some(match name {
        "eval" | "call" | "curry" | "Fn" | "is_def_fn" | "is_def_var" => {
            "write the formula itself where its value is wanted"
        }
        "print" | "debug" => "every cell is shown; give the value a cell of its own",
        "timestamp" | "sleep" | "exit" => "a worksheet has no clock and no process",
        "import" | "export" | "open_file" => "a worksheet reads only its tables and what it uses",
        "len" | "length" => "use `count(xs)`",
        "avg" | "average" => "use `mean(xs)`",
        "log" => "use `ln(x)` or `log10(x)`",
        "pow" => "use `x^2`",
        "ceil" => "use `ceiling(x)`",
        "maximum" | "minimum" => "use `max` or `min`",
        _ => return None,
    })
}
