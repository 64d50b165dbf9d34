//! The sheet as its users hold it: open, read a cell, set a known, and hear what changed.

use std::collections::HashMap;

use forebay_units::{Dimension, System, Unit};

use crate::compile::{self, CellCode, Compiled, FromOutside, Given, Role, formula_from_outside};
use crate::diagnostic::{Code, Diagnostic, Severity, Sources, Span};
use crate::evaluate::Machine;
use crate::graph::{Dirty, NOWHERE};
use crate::read::{self, Loader};
use crate::show::Style;
use crate::value::{Items, Type, Value};
use crate::worksheet::{Case, Check, Known, Level, Part, Work, Worksheet};

/// A worksheet with its values.
///
/// ```
/// use forebay_sheet::Sheet;
///
/// let mut sheet = Sheet::open(
///     "forebay: 1
/// known:
///   flow: 40 L/s
///   bore: 200 mm
/// work:
///   velocity: flow / circle_area(bore)
///   twice: 2 * flow
/// ",
/// );
/// assert_eq!(sheet.cell("velocity").unwrap().shown(), "1.273 m/s");
///
/// let wave = sheet.set("bore", "250 mm")?;
/// assert_eq!(wave.changed, ["bore", "velocity"]);
///
/// // A volume is no bore: refused, and nothing has changed.
/// let refused = sheet.set("bore", "3 L").unwrap_err();
/// assert_eq!(refused.message, "`bore` is a length and cannot become a volume");
/// assert_eq!(sheet.cell("velocity").unwrap().shown(), "0.8149 m/s");
/// # Ok::<(), Box<forebay_sheet::Diagnostic>>(())
/// ```
#[derive(Debug)]
pub struct Sheet {
    sources: Sources,
    worksheet: Worksheet,
    compiled: Compiled,
    reading: Vec<Diagnostic>,
    values: Vec<Option<Value>>,
    states: Vec<State>,
    sides: Vec<Vec<(Value, Value)>>,
    by_name: HashMap<String, usize>,
    given: Given,
    /// Values that were set without compiling anew.
    set_values: HashMap<usize, (Value, Option<(String, Unit)>)>,
    files: HashMap<String, Result<String, String>>,
    /// Texts given from outside, by what they are for.
    outside: HashMap<String, u16>,
}

/// What a recomputation did.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wave {
    /// Cells that were computed again, in computing order; the known itself is not among them.
    pub ran: Vec<String>,
    /// Cells whose value or state is another one now, the known first.
    pub changed: Vec<String>,
}

/// The state of a cell.
#[derive(Clone, Debug, Default)]
struct State {
    trouble: Option<Trouble>,
    warnings: Vec<Diagnostic>,
}

/// What computing a cell gave.
struct Computed {
    value: Option<Value>,
    state: State,
    /// Both sides of each comparison of a check.
    sides: Vec<(Value, Value)>,
}

impl Computed {
    fn without(trouble: Trouble, warnings: Vec<Diagnostic>) -> Self {
        let state = State { trouble: Some(trouble), warnings };
        Self { value: None, state, sides: Vec::new() }
    }
}

/// Why a cell has no value.
#[derive(Clone, Debug, PartialEq)]
pub enum Trouble {
    /// Its formula cannot be used; the sheet's diagnostics say why.
    Broken,
    /// It reads these cells, which have no value.
    Waiting(Vec<String>),
    /// Its computation failed.
    Failed(Box<Diagnostic>),
}

/// What kind of cell it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CellKind {
    /// Given by the user.
    Known,
    /// Worked out.
    Work,
    /// A condition.
    Check,
    /// A cell of a worksheet that this one uses.
    Component,
}

/// A cell of a sheet.
#[derive(Clone, Copy, Debug)]
pub struct Cell<'a> {
    sheet: &'a Sheet,
    at: usize,
}

/// How a check stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The condition is true.
    Holds,
    /// The condition is false.
    Fails,
    /// It cannot be told, because something it reads has no value.
    Unknown,
}

/// One comparison of a check, computed.
#[derive(Clone, Debug)]
pub struct Margin<'a> {
    /// The left side as written.
    pub left_text: &'a str,
    /// How the sides are compared: `<`, `<=`, `>`, `>=`, `==` or `!=`.
    pub comparison: &'static str,
    /// The right side as written.
    pub right_text: &'a str,
    /// The left side in SI.
    pub left: f64,
    /// The right side in SI.
    pub right: f64,
    /// What both sides measure.
    pub dimension: Dimension,
    /// Both sides in words, in one unit.
    pub shown: (String, String),
    /// How far the left side is on the good side of the right one, in words; negative when not.
    pub margin: String,
    /// The same in SI.
    pub margin_si: f64,
}

/// The value of a formula given from outside.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The value.
    pub value: Value,
    /// Its type.
    pub ty: Type,
    /// What its formulas' sources do not vouch for.
    pub warnings: Vec<Diagnostic>,
    unit: Option<Unit>,
    style: Style,
}

/// A loader that remembers, so that compiling anew reads each file once.
struct Remembering<'a> {
    files: std::cell::RefCell<&'a mut HashMap<String, Result<String, String>>>,
    from: Option<&'a dyn Loader>,
}

impl Loader for Remembering<'_> {
    fn load(&self, name: &str) -> Result<String, String> {
        if let Some(known) = self.files.borrow().get(name) {
            return known.clone();
        }
        let Some(from) = self.from else {
            return Err(format!("`{name}` cannot be read: this sheet has no folder"));
        };
        let loaded = from.load(name);
        self.files.borrow_mut().insert(name.to_owned(), loaded.clone());
        loaded
    }
}

impl Sheet {
    /// Opens a worksheet that reads nothing beside itself. Whatever is wrong with it is in its
    /// [`diagnostics`](Self::diagnostics); what is sound is computed.
    #[must_use]
    pub fn open(text: &str) -> Self {
        Self::with(None, "sheet", text)
    }

    /// Opens a worksheet under a name, with a loader for what it reads beside itself.
    #[must_use]
    pub fn open_with(name: &str, text: &str, loader: &dyn Loader) -> Self {
        Self::with(Some(loader), name, text)
    }

    fn with(loader: Option<&dyn Loader>, name: &str, text: &str) -> Self {
        let mut sources = Sources::default();
        let mut files = HashMap::new();
        let source = sources.add(name, text);
        let remembering = Remembering { files: std::cell::RefCell::new(&mut files), from: loader };
        let (worksheet, reading) = read::read(&mut sources, source, &remembering);
        let given = Given::new();
        let compiled = compile::compile(&worksheet, &mut sources, &remembering, &given);
        let mut sheet = Self {
            sources,
            worksheet,
            compiled,
            reading,
            values: Vec::new(),
            states: Vec::new(),
            sides: Vec::new(),
            by_name: HashMap::new(),
            given,
            set_values: HashMap::new(),
            files,
            outside: HashMap::new(),
        };
        sheet.start();
        sheet.look_over();
        sheet
    }

    /// Computes everything, after compiling.
    fn start(&mut self) {
        let count = self.compiled.cells.len();
        self.values = vec![None; count];
        self.states = vec![State::default(); count];
        self.sides = vec![Vec::new(); count];
        self.set_values.clear();
        // A check may bear the name of a cell; the cell comes first.
        self.by_name = HashMap::with_capacity(count);
        for (at, cell) in self.compiled.cells.iter().enumerate() {
            self.by_name.entry(cell.name.clone()).or_insert(at);
        }
        for at in 0..count {
            if self.compiled.graph.rank[at] == NOWHERE || self.compiled.cells[at].root.is_none() {
                self.states[at].trouble = Some(Trouble::Broken);
            }
        }
        for cell in self.compiled.graph.order.clone() {
            self.compute(cell as usize);
        }
    }

    /// Computes one cell; tells whether its value or its state is another one now.
    fn compute(&mut self, at: usize) -> bool {
        let code = &self.compiled.cells[at];
        let waits: Vec<String> = code
            .reads
            .iter()
            .filter(|read| self.values[**read as usize].is_none())
            .map(|read| self.compiled.cells[*read as usize].name.clone())
            .collect();
        let now = if !waits.is_empty() {
            Computed::without(Trouble::Waiting(waits), Vec::new())
        } else if let Some(root) = code.root {
            self.run(at, root)
        } else {
            Computed::without(Trouble::Broken, Vec::new())
        };
        let changed = self.values[at] != now.value
            || self.states[at].trouble != now.state.trouble
            || self.sides[at] != now.sides;
        self.values[at] = now.value;
        self.states[at] = now.state;
        self.sides[at] = now.sides;
        changed
    }

    fn run(&self, at: usize, root: u32) -> Computed {
        let code = &self.compiled.cells[at];
        let mut machine =
            Machine::new(&self.compiled.terms, &self.values, &self.compiled.scripts, self.style());
        let (result, mut warnings) = match self.set_values.get(&at) {
            Some((value, _)) => (Ok(value.clone()), Vec::new()),
            None => machine.cell(root, code.slots),
        };
        let value = match result {
            Ok(value) => value,
            Err(fault) => {
                let diagnostic = self.at_cell(fault.diagnostic(), code);
                return Computed::without(Trouble::Failed(Box::new(diagnostic)), warnings);
            }
        };
        warnings.extend(self.doubts(at, &value, &mut machine));
        let mut sides = Vec::new();
        for side in &code.sides {
            if let (Ok(left), Ok(right)) =
                (machine.cell(side.left, code.slots).0, machine.cell(side.right, code.slots).0)
            {
                sides.push((left, right));
            }
        }
        Computed { value: Some(value), state: State { trouble: None, warnings }, sides }
    }

    /// A fault that lies in a function is also told where the cell stands.
    fn at_cell(&self, diagnostic: Diagnostic, code: &CellCode) -> Diagnostic {
        let inside = diagnostic.span().is_some_and(|span| {
            span.source == code.text.source
                && span.start >= code.text.start
                && span.end <= code.text.end
        });
        if inside {
            diagnostic
        } else {
            diagnostic.and(code.name_span, format!("for the cell `{}`", code.name))
        }
    }

    /// Whether a known lies within its `between` and is one of its choices.
    fn doubts(&self, at: usize, value: &Value, machine: &mut Machine<'_>) -> Vec<Diagnostic> {
        let code = &self.compiled.cells[at];
        let mut doubts = Vec::new();
        if let Some((low, high)) = code.between {
            let mut end = |id| machine.cell(id, code.slots).0.ok().and_then(|v| v.as_number());
            if let (Some(low), Some(high), Some(number)) = (end(low), end(high), value.as_number())
                && !(number >= low.min(high) && number <= high.max(low))
            {
                doubts.push(self.outside_between(at, value, low, high));
            }
        }
        if let Some(choose) = code.choose
            && let Some(Value::Series(list)) = machine.cell(choose, code.slots).0.ok()
            && !(0..list.len()).any(|i| list.get(i).is_some_and(|v| near(&v, value)))
        {
            doubts.push(self.not_chosen(at, value));
        }
        doubts
    }

    fn outside_between(&self, at: usize, value: &Value, low: f64, high: f64) -> Diagnostic {
        let code = &self.compiled.cells[at];
        let ty = code.ty.unwrap_or(Type::PLAIN);
        let unit = self.unit_of(at, Some(value));
        let style = self.style();
        let shown = |number| style.value(&Value::Number(number), ty, unit.as_ref());
        Diagnostic::new(
            Code::OUTSIDE_BETWEEN,
            format!(
                "`{}` is {}, outside {} to {}",
                code.name,
                shown(value.as_number().unwrap_or(f64::NAN)),
                shown(low),
                shown(high)
            ),
            code.text,
        )
    }

    fn not_chosen(&self, at: usize, value: &Value) -> Diagnostic {
        let code = &self.compiled.cells[at];
        let ty = code.ty.unwrap_or(Type::PLAIN);
        let shown = self.style().value(value, ty, self.unit_of(at, Some(value)).as_ref());
        Diagnostic::new(
            Code::NOT_A_CHOICE,
            format!("`{}` is {shown}, which is none of its choices", code.name),
            code.text,
        )
    }

    // --- changing ---

    /// Sets a known to a value written as in a sheet, `250 mm`, and recomputes what depends on it.
    ///
    /// # Errors
    /// No such known, a text that is no value, or a value of another dimension; nothing is changed
    /// then.
    pub fn set(&mut self, name: &str, text: &str) -> Result<Wave, Box<Diagnostic>> {
        self.set_all(&[(name, text)])
    }

    /// Sets several knowns and recomputes once. Nothing is changed if one of them is refused.
    ///
    /// # Errors
    /// As [`Sheet::set`], for the first one that is refused.
    pub fn set_all(&mut self, values: &[(&str, &str)]) -> Result<Wave, Box<Diagnostic>> {
        let mut ready = Vec::with_capacity(values.len());
        for (name, text) in values {
            let span = self.scratch_text("value", text);
            ready.push(self.prepared(name, span)?);
        }
        // Only now: a value that is refused must leave the one before it in place.
        for (prepared, (name, text)) in ready.iter_mut().zip(values) {
            let source = match self.outside.get(*name) {
                Some(source) => {
                    self.sources.replace(*source, text);
                    *source
                }
                None => {
                    let source = self.sources.add(&format!("value of {name}"), text);
                    self.outside.insert((*name).to_owned(), source);
                    source
                }
            };
            prepared.span = whole(source, text);
        }
        Ok(self.take(ready))
    }

    /// Takes over checked values and recomputes.
    fn take(&mut self, ready: Vec<Prepared>) -> Wave {
        for prepared in &ready {
            self.given.insert(self.compiled.cells[prepared.at].name.clone(), prepared.span);
        }
        if ready.iter().any(|prepared| prepared.value.is_none()) {
            return self.compile_anew();
        }
        let mut dirty = Dirty::new(self.compiled.graph.order.len());
        let mut wave = Wave::default();
        for prepared in ready {
            let Some(value) = prepared.value else { continue };
            self.set_values.insert(prepared.at, (value, prepared.typed));
            if self.compute(prepared.at) {
                wave.changed.push(self.compiled.cells[prepared.at].name.clone());
                self.mark_dependants(prepared.at, &mut dirty);
            }
        }
        let mut place = 0;
        while let Some(next) = dirty.take_from(place) {
            place = next;
            let at = self.compiled.graph.order[next as usize] as usize;
            let changed = self.compute(at);
            // A broken or waiting cell is looked at, but there is nothing to run.
            if matches!(self.states[at].trouble, None | Some(Trouble::Failed(_))) {
                wave.ran.push(self.compiled.cells[at].name.clone());
            }
            if changed {
                wave.changed.push(self.compiled.cells[at].name.clone());
                self.mark_dependants(at, &mut dirty);
            }
        }
        wave
    }

    fn mark_dependants(&self, at: usize, dirty: &mut Dirty) {
        let place = self.compiled.graph.rank[at];
        if place != NOWHERE {
            for dependant in self.compiled.graph.dependants(place) {
                dirty.mark(*dependant);
            }
        }
    }

    /// A known that had no value gets one: types may follow from it, so all is compiled anew.
    fn compile_anew(&mut self) -> Wave {
        let before: HashMap<String, Option<Value>> = self
            .compiled
            .cells
            .iter()
            .zip(self.values.drain(..))
            .map(|(cell, value)| (cell.name.clone(), value))
            .collect();
        let remembering =
            Remembering { files: std::cell::RefCell::new(&mut self.files), from: None };
        self.compiled =
            compile::compile(&self.worksheet, &mut self.sources, &remembering, &self.given);
        self.start();
        let order = self.compiled.graph.order.iter();
        let ran: Vec<String> =
            order.map(|cell| self.compiled.cells[*cell as usize].name.clone()).collect();
        let value_of =
            |name: &String| self.by_name.get(name).and_then(|at| self.values[*at].clone());
        let changed = ran
            .iter()
            .filter(|name| before.get(*name).is_none_or(|value| *value != value_of(name)))
            .cloned()
            .collect();
        Wave { ran, changed }
    }

    /// A value for a known, checked; without one where all must be compiled anew.
    fn prepared(&mut self, name: &str, span: Span) -> Result<Prepared, Box<Diagnostic>> {
        let known = self.by_name.get(name).copied().filter(|at| self.is_settable(*at));
        let Some(at) = known else {
            return Err(Box::new(self.no_such_known(name, span)));
        };
        let mark = self.compiled.terms.mark();
        let lowered = formula_from_outside(&mut self.compiled, &self.sources, span, true);
        let result = match lowered {
            Ok(FromOutside { lowered, slots, typed }) => {
                let style = self.style();
                let mut machine =
                    Machine::new(&self.compiled.terms, &self.values, &self.compiled.scripts, style);
                let (value, _) = machine.cell(lowered.id, slots);
                match (self.compiled.cells[at].ty, value) {
                    (_, Err(fault)) => Err(Box::new(fault.diagnostic())),
                    (None, Ok(_)) => Ok(Prepared { at, span, value: None, typed: None }),
                    (Some(ty), Ok(_)) if ty != lowered.ty => Err(Box::new(
                        Diagnostic::new(
                            Code::WRONG_DIMENSION,
                            format!(
                                "`{name}` is {} and cannot become {}",
                                with_article(ty),
                                with_article(lowered.ty)
                            ),
                            span,
                        )
                        .here(lowered.ty.to_string()),
                    )),
                    (Some(_), Ok(value)) => Ok(Prepared { at, span, value: Some(value), typed }),
                }
            }
            Err(mut diagnostics) => Err(Box::new(diagnostics.swap_remove(0))),
        };
        self.compiled.terms.back_to(mark);
        result
    }

    fn is_settable(&self, at: usize) -> bool {
        matches!(self.compiled.cells[at].role, Role::Known(_))
    }

    fn no_such_known(&self, name: &str, span: Span) -> Diagnostic {
        if self.by_name.contains_key(name) {
            return Diagnostic::new(
                Code::UNKNOWN_NAME,
                format!("`{name}` is worked out and cannot be set"),
                span,
            )
            .help("set one of the knowns that it reads (`forebay working`)");
        }
        let nearest = self
            .worksheet
            .known
            .iter()
            .map(|known| known.name.text.as_str())
            .min_by_key(|known| strsim::damerau_levenshtein(known, name));
        let diagnostic =
            Diagnostic::new(Code::UNKNOWN_NAME, format!("there is no known `{name}`"), span);
        match nearest {
            Some(nearest) => diagnostic.help(format!("did you mean `{nearest}`?")),
            None => diagnostic,
        }
    }

    /// A text that is looked at once; each one takes the place of the one before.
    fn scratch_text(&mut self, name: &'static str, text: &str) -> Span {
        let source = match self.outside.get(name) {
            Some(source) => {
                self.sources.replace(*source, text);
                *source
            }
            None => {
                let source = self.sources.add(name, text);
                self.outside.insert(name.to_owned(), source);
                source
            }
        };
        whole(source, text)
    }

    /// Sets the knowns of a case.
    ///
    /// # Errors
    /// No such case, or a value in it that is refused.
    pub fn use_case(&mut self, name: &str) -> Result<Wave, Box<Diagnostic>> {
        let Some(case) = self.worksheet.cases.iter().find(|case| case.name.text == name).cloned()
        else {
            let span = self.scratch_text("case", name);
            let all: Vec<&str> = self.cases().map(|case| case.name.text.as_str()).collect();
            let diagnostic =
                Diagnostic::new(Code::UNKNOWN_NAME, format!("there is no case `{name}`"), span);
            return Err(Box::new(if all.is_empty() {
                diagnostic.help("the sheet has no `cases`")
            } else {
                diagnostic.help(format!("its cases are {}", all.join(", ")))
            }));
        };
        let ready: Result<Vec<Prepared>, Box<Diagnostic>> =
            case.set.iter().map(|(name, value)| self.prepared(&name.text, value.span)).collect();
        Ok(self.take(ready?))
    }

    /// What is wrong with the headlines and the cases, which name cells without computing.
    fn look_over(&mut self) {
        for name in &self.worksheet.show {
            if !self.by_name.contains_key(&name.text) {
                let names = self.compiled.scopes.first();
                let near = names.map(|n| n.nearest(&name.text, &[])).unwrap_or_default();
                let diagnostic = Diagnostic::new(
                    Code::UNKNOWN_NAME,
                    format!("`{}` is to be shown, but there is no such cell", name.text),
                    name.span,
                );
                self.reading.push(match near.first() {
                    Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                    None => diagnostic,
                });
            }
        }
        for case in self.worksheet.cases.clone() {
            for (name, value) in &case.set {
                let known = self.by_name.get(&name.text).copied();
                if known.is_none_or(|at| !self.is_settable(at)) {
                    let diagnostic = self.no_such_known(&name.text, name.span);
                    self.reading.push(diagnostic);
                } else if let Err(diagnostic) = self.prepared(&name.text, value.span) {
                    self.reading.push(*diagnostic);
                }
            }
        }
    }

    /// Computes a formula with the cells of this sheet.
    ///
    /// # Errors
    /// Everything that a formula of the sheet could be refused for.
    pub fn eval(&mut self, text: &str) -> Result<Answer, Vec<Diagnostic>> {
        let span = self.scratch_text("formula", text);
        let mark = self.compiled.terms.mark();
        let lowered = formula_from_outside(&mut self.compiled, &self.sources, span, false);
        let result = lowered.and_then(|FromOutside { lowered, slots, typed }| {
            let style = self.style();
            let mut machine =
                Machine::new(&self.compiled.terms, &self.values, &self.compiled.scripts, style);
            let (value, warnings) = machine.cell(lowered.id, slots);
            let value = value.map_err(|fault| vec![fault.diagnostic()])?;
            let unit = typed
                .map(|(_, unit)| unit)
                .filter(|unit| style.keeps(unit))
                .or_else(|| style.trade_unit(lowered.shown_in));
            Ok(Answer { value, ty: lowered.ty, warnings, unit, style })
        });
        self.compiled.terms.back_to(mark);
        result
    }

    // --- reading ---

    /// What the sheet is about.
    #[must_use]
    pub fn title(&self) -> Option<&str> {
        self.worksheet.title.as_deref()
    }

    /// How it writes its values.
    #[must_use]
    pub fn style(&self) -> Style {
        Style { system: self.worksheet.units, currency: self.worksheet.currency }
    }

    /// Its units.
    #[must_use]
    pub fn system(&self) -> System {
        self.worksheet.units
    }

    /// Its chapters; empty for a sheet without.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.worksheet.parts
    }

    /// Its cases.
    pub fn cases(&self) -> impl Iterator<Item = &Case> {
        self.worksheet.cases.iter()
    }

    /// The texts it was read from.
    #[must_use]
    pub fn sources(&self) -> &Sources {
        &self.sources
    }

    /// All cells in the order written; those of components after the sheet's own.
    pub fn cells(&self) -> impl Iterator<Item = Cell<'_>> {
        (0..self.compiled.cells.len()).map(|at| Cell { sheet: self, at })
    }

    /// The cell of a name.
    #[must_use]
    pub fn cell(&self, name: &str) -> Option<Cell<'_>> {
        self.by_name.get(name).map(|at| Cell { sheet: self, at: *at })
    }

    /// The headline results.
    pub fn headlines(&self) -> impl Iterator<Item = Cell<'_>> {
        self.worksheet.show.iter().filter_map(|name| self.cell(&name.text))
    }

    /// The checks in the order written.
    pub fn checks(&self) -> impl Iterator<Item = Cell<'_>> {
        self.cells().filter(|cell| cell.kind() == CellKind::Check)
    }

    /// All that is wrong or doubtful, in the order of the file.
    #[must_use]
    pub fn diagnostics(&self) -> Vec<&Diagnostic> {
        let failed = self.states.iter().filter_map(|state| match &state.trouble {
            Some(Trouble::Failed(diagnostic)) => Some(&**diagnostic),
            _ => None,
        });
        let warnings = self.states.iter().flat_map(|state| &state.warnings);
        let mut all: Vec<&Diagnostic> = self
            .reading
            .iter()
            .chain(&self.compiled.diagnostics)
            .chain(failed)
            .chain(warnings)
            .collect();
        all.sort_by_key(|diagnostic| diagnostic.span());
        all
    }

    /// Whether the sheet itself is wrong somewhere, so that not all of it could be computed.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.diagnostics().iter().any(|d| d.code.severity == Severity::Error)
    }

    /// The gravest check that fails.
    #[must_use]
    pub fn gravest_failure(&self) -> Option<Level> {
        self.checks()
            .filter(|check| check.verdict() == Verdict::Fails)
            .filter_map(|check| check.check().map(|c| c.level))
            .max()
    }

    fn unit_of(&self, at: usize, value: Option<&Value>) -> Option<Unit> {
        let code = &self.compiled.cells[at];
        let style = self.style();
        if let Some(unit) = &code.unit {
            return Some(unit.clone());
        }
        let typed = match self.set_values.get(&at) {
            Some((_, typed)) => typed.as_ref(),
            None => code.typed.as_ref(),
        };
        if let Some((_, unit)) = typed.filter(|(_, unit)| style.keeps(unit)) {
            return Some(unit.clone());
        }
        let dimension = code.ty?.dimension()?;
        if let Some(unit) = style.trade_unit(code.shown_in)
            && dimension == unit.dimension()
        {
            return Some(unit);
        }
        let largest = match value? {
            Value::Series(series) => match &series.items {
                Items::Numbers(numbers) => {
                    numbers.iter().filter(|n| !n.is_nan()).fold(0.0, |a: f64, b| a.max(b.abs()))
                }
                Items::Values(_) => 0.0,
            },
            other => other.as_number()?,
        };
        Some(style.unit(dimension, largest))
    }

    pub(crate) fn cell_at(&self, at: u32) -> Cell<'_> {
        Cell { sheet: self, at: at as usize }
    }

    pub(crate) fn compiled(&self) -> &Compiled {
        &self.compiled
    }
}

/// A value that is ready to be set.
struct Prepared {
    at: usize,
    span: Span,
    value: Option<Value>,
    typed: Option<(String, Unit)>,
}

fn whole(source: u16, text: &str) -> Span {
    Span { source, start: 0, end: u32::try_from(text.len()).unwrap_or(u32::MAX) }
}

/// Standard sizes are told apart by far more than rounding.
fn near(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => (a - b).abs() <= 1e-9 * a.abs().max(b.abs()),
        _ => a == b,
    }
}

fn with_article(ty: Type) -> String {
    let name = ty.to_string();
    let vowel = name.starts_with(['a', 'e', 'i', 'o', 'u']);
    match name.as_str() {
        "money" | "power" | "energy or torque" => name,
        _ if vowel => format!("an {name}"),
        _ => format!("a {name}"),
    }
}

impl<'a> Cell<'a> {
    fn code(&self) -> &'a CellCode {
        &self.sheet.compiled.cells[self.at]
    }

    /// Its name; a component's cells have the component's name in front.
    #[must_use]
    pub fn name(&self) -> &'a str {
        &self.code().name
    }

    /// What kind of cell it is.
    #[must_use]
    pub fn kind(&self) -> CellKind {
        match self.code().role {
            Role::Known(_) => CellKind::Known,
            Role::Work(_) => CellKind::Work,
            Role::Check(_) => CellKind::Check,
            Role::Part => CellKind::Component,
        }
    }

    /// What the sheet says of it, if it is a known.
    #[must_use]
    pub fn known(&self) -> Option<&'a Known> {
        match self.code().role {
            Role::Known(at) => self.sheet.worksheet.known.get(at),
            _ => None,
        }
    }

    /// What the sheet says of it, if it is worked out.
    #[must_use]
    pub fn work(&self) -> Option<&'a Work> {
        match self.code().role {
            Role::Work(at) => self.sheet.worksheet.work.get(at),
            _ => None,
        }
    }

    /// What the sheet says of it, if it is a check.
    #[must_use]
    pub fn check(&self) -> Option<&'a Check> {
        match self.code().role {
            Role::Check(at) => self.sheet.worksheet.check.get(at),
            _ => None,
        }
    }

    /// A word about it.
    #[must_use]
    pub fn about(&self) -> Option<&'a str> {
        match self.code().role {
            Role::Known(at) => self.sheet.worksheet.known.get(at)?.about.as_deref(),
            Role::Work(at) => self.sheet.worksheet.work.get(at)?.about.as_deref(),
            Role::Check(at) => self.sheet.worksheet.check.get(at)?.about.as_deref(),
            Role::Part => None,
        }
    }

    /// The part of the sheet it stands in.
    #[must_use]
    pub fn part(&self) -> Option<usize> {
        match self.code().role {
            Role::Known(at) => self.sheet.worksheet.known.get(at)?.part,
            Role::Work(at) => self.sheet.worksheet.work.get(at)?.part,
            Role::Check(at) => self.sheet.worksheet.check.get(at)?.part,
            Role::Part => None,
        }
    }

    /// Its formula or value as written, on one line.
    #[must_use]
    pub fn formula(&self) -> String {
        let text = self.sheet.sources.piece(self.code().text);
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Its value.
    #[must_use]
    pub fn value(&self) -> Option<&'a Value> {
        self.sheet.values[self.at].as_ref()
    }

    /// Why it has none.
    #[must_use]
    pub fn trouble(&self) -> Option<&'a Trouble> {
        self.sheet.states[self.at].trouble.as_ref()
    }

    /// What is doubtful about it.
    #[must_use]
    pub fn warnings(&self) -> &'a [Diagnostic] {
        &self.sheet.states[self.at].warnings
    }

    /// Its type, unless its formula is broken.
    #[must_use]
    pub fn ty(&self) -> Option<Type> {
        self.code().ty
    }

    /// The unit it is shown in, if it holds numbers.
    #[must_use]
    pub fn unit(&self) -> Option<Unit> {
        self.sheet.unit_of(self.at, self.value())
    }

    /// Its value in words: `2.719 m`, or why there is none.
    #[must_use]
    pub fn shown(&self) -> String {
        let (Some(value), Some(ty)) = (self.value(), self.ty()) else {
            return match self.trouble() {
                Some(Trouble::Waiting(on)) => format!("waits for {}", on.join(", ")),
                Some(Trouble::Failed(why)) => format!("no value: {}", why.message),
                _ => "no value: see the errors".to_owned(),
            };
        };
        let unit = self.unit();
        if let Some((number, unit)) =
            self.as_typed().filter(|(_, typed)| unit.as_ref() == Some(*typed))
        {
            let space = if *unit == Unit::ONE { "" } else { " " };
            let symbol = if *unit == Unit::ONE { "" } else { unit.symbol() };
            if ty.dimension() != Some(Dimension::MONEY) {
                return format!("{number}{space}{symbol}");
            }
        }
        self.sheet.style().value(value, ty, unit.as_ref())
    }

    fn as_typed(&self) -> Option<(&'a String, &'a Unit)> {
        let typed = match self.sheet.set_values.get(&self.at) {
            Some((_, typed)) => typed.as_ref(),
            None => self.code().typed.as_ref(),
        };
        typed.map(|(number, unit)| (number, unit))
    }

    /// The names of the cells it reads.
    #[must_use]
    pub fn reads(&self) -> Vec<&'a str> {
        let cells = &self.sheet.compiled.cells;
        self.code().reads.iter().map(|read| cells[*read as usize].name.as_str()).collect()
    }

    /// How a check stands; `Unknown` for a cell that is no check.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        match self.value().and_then(Value::as_truth) {
            Some(true) => Verdict::Holds,
            Some(false) => Verdict::Fails,
            None => Verdict::Unknown,
        }
    }

    /// The comparisons that a check is made of, computed.
    #[must_use]
    pub fn margins(&self) -> Vec<Margin<'a>> {
        let style = self.sheet.style();
        let code = self.code();
        code.sides
            .iter()
            .zip(&self.sheet.sides[self.at])
            .filter_map(|(side, (left, right))| {
                let (l, r) = (left.as_number()?, right.as_number()?);
                let dimension = side.ty.dimension()?;
                let larger = if l.abs() > r.abs() { l } else { r };
                let unit = style.unit(dimension, larger);
                let of_difference = style.unit(dimension.as_difference(), l - r);
                let sign = match side.comparison {
                    crate::term::Comparison::Less | crate::term::Comparison::LessOrEqual => -1.0,
                    _ => 1.0,
                };
                let margin_si = sign * (l - r);
                let difference = Type::number(dimension.as_difference());
                let money = dimension == Dimension::MONEY;
                let (shown, margin) = if money {
                    let amount = |n| {
                        forebay_units::money::from_number(n).map_or(Value::Number(n), Value::Money)
                    };
                    (
                        (style.value(left, side.ty, None), style.value(right, side.ty, None)),
                        style.value(&amount(margin_si), difference, None),
                    )
                } else {
                    (
                        (
                            style.value(left, side.ty, Some(&unit)),
                            style.value(right, side.ty, Some(&unit)),
                        ),
                        style.value(&Value::Number(margin_si), difference, Some(&of_difference)),
                    )
                };
                Some(Margin {
                    left_text: self.sheet.sources.piece(side.left_span),
                    comparison: side.comparison.symbol(),
                    right_text: self.sheet.sources.piece(side.right_span),
                    left: l,
                    right: r,
                    dimension,
                    shown,
                    margin,
                    margin_si,
                })
            })
            .collect()
    }

    pub(crate) fn code_and_sheet(&self) -> (&'a CellCode, &'a Sheet) {
        (self.code(), self.sheet)
    }
}

impl Answer {
    /// The value in words, in a unit if one is given.
    ///
    /// # Errors
    /// A unit that does not fit the value.
    pub fn shown(&self, unit: Option<&Unit>) -> Result<String, forebay_units::DimensionError> {
        if let Some(unit) = unit {
            let dimension = self.ty.dimension().unwrap_or(Dimension::NONE);
            dimension.alike(unit.dimension())?;
        }
        Ok(self.style.value(&self.value, self.ty, unit.or(self.unit.as_ref())))
    }

    /// The unit that it is shown in if none is asked for.
    #[must_use]
    pub fn unit(&self) -> Option<Unit> {
        let dimension = self.ty.dimension()?;
        let number = self.value.as_number().unwrap_or(0.0);
        Some(self.unit.clone().unwrap_or_else(|| self.style.unit(dimension, number)))
    }
}
