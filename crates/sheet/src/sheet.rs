//! The sheet as its users hold it: open, read a cell, set a known, and hear what changed.

mod answer;
mod cell;
mod drawings;
mod exercise;
mod held;
mod notes;
mod set;
mod spread;
mod wave;

pub use answer::Answer;
pub use cell::{Cell, CellKind, Margin, Verdict};
pub use spread::Spread;
pub use wave::Wave;

use std::collections::{HashMap, HashSet};

use forebay_units::{System, Unit};

use notes::{Notes, State};

use crate::compile::{self, CellCode, Compiled, Given};
use crate::diagnostic::{Code, Diagnostic, Severity, Sources};
use crate::evaluate::flat::Runner;
use crate::evaluate::{MOST_STEPS, MOST_STEPS_OF_SHEET, Machine};
use crate::exercise::Exercise;
use crate::graph::{Dirty, NOWHERE};
use crate::program::ProgramKind;
use crate::read::{self, Loader};
use crate::show::Style;
use crate::templates::template;
use crate::value::{Type, Value};
use crate::worksheet::{Case, Level, Part, Worksheet};

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
/// assert!(wave.changed(&sheet).map(|cell| cell.name()).eq(["bore", "velocity"]));
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
    notes: Notes,
    runner: Runner,
    /// What is left to compute; empty between recomputations.
    dirty: Dirty,
    by_name: HashMap<String, usize>,
    given: Given,
    /// Values that were set without compiling anew.
    set_values: HashMap<usize, (Value, Option<(String, Unit)>)>,
    /// Those of them that came without a text.
    bare: HashSet<usize>,
    files: HashMap<String, Result<String, String>>,
    /// What is left of the steps that one recomputation of the whole sheet may take.
    steps_left: u64,
    /// Texts given from outside, by what they are for.
    outside: HashMap<String, u16>,
    /// Worked cells that are held at a value in place of their formula's.
    pinned: HashMap<usize, Value>,
    /// What an instructor makes of it.
    exercise: Option<Exercise>,
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

/// What computing a cell gave.
type Computed = (Option<Value>, State);

/// A loader that has the templates of the library, and remembers, so that compiling anew reads
/// each file once.
struct Remembering<'a> {
    files: std::cell::RefCell<&'a mut HashMap<String, Result<String, String>>>,
    from: Option<&'a dyn Loader>,
}

impl Loader for Remembering<'_> {
    fn load(&self, name: &str) -> Result<String, String> {
        // A file beside the sheet has an ending; a template's name has none.
        if let Some(template) = template(name) {
            return Ok(template.text.to_owned());
        }
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
            notes: Notes::default(),
            runner: Runner::default(),
            dirty: Dirty::default(),
            by_name: HashMap::new(),
            given,
            set_values: HashMap::new(),
            bare: HashSet::new(),
            files,
            steps_left: MOST_STEPS_OF_SHEET,
            outside: HashMap::new(),
            pinned: HashMap::new(),
            exercise: None,
        };
        sheet.start();
        sheet.look_over();
        sheet.look_over_exercise();
        sheet
    }

    /// Computes everything, after compiling.
    fn start(&mut self) {
        let count = self.compiled.cells.len();
        self.values = vec![None; count];
        self.notes = Notes::new(count);
        self.dirty = Dirty::new(self.compiled.graph.order.len());
        self.set_values.clear();
        self.pinned.clear();
        // A check may bear the name of a cell; the cell comes first.
        self.by_name = HashMap::with_capacity(count);
        for (at, cell) in self.compiled.cells.iter().enumerate() {
            self.by_name.entry(cell.name.clone()).or_insert(at);
        }
        for at in 0..count {
            if self.compiled.graph.rank[at] == NOWHERE {
                self.notes.set(at, State { trouble: Some(Trouble::Broken), ..State::default() });
            }
        }
        self.steps_left = MOST_STEPS_OF_SHEET;
        for cell in self.compiled.graph.order.clone() {
            self.compute(cell as usize);
        }
    }

    /// Computes one cell; tells whether its value or its state is another one now.
    fn compute(&mut self, at: usize) -> bool {
        let Some((number, kind)) = self.run_flat(at) else { return self.compute_in_full(at) };
        self.notes.clear(at);
        match (self.values.get_mut(at), kind) {
            (Some(Some(Value::Number(held))), ProgramKind::Number) => {
                std::mem::replace(held, number) != number
            }
            (Some(held), _) => {
                let value = match kind {
                    ProgramKind::Truth => Value::Truth(number != 0.0),
                    _ => Value::Number(number),
                };
                let changed = held.as_ref() != Some(&value);
                *held = Some(value);
                changed
            }
            (None, _) => false,
        }
    }

    /// The value by the flat program, where there is one and nothing about the cell is odd.
    #[inline]
    fn run_flat(&mut self, at: usize) -> Option<(f64, ProgramKind)> {
        if self.is_pinned(at) {
            return None;
        }
        let programs = &self.compiled.programs;
        let program = programs.of(at);
        if program.kind == ProgramKind::None {
            return None;
        }
        let mut outside = Vec::new();
        for id in programs.outside(program) {
            outside.push(self.compiled.ready_series(*id, &self.values)?);
        }
        let given = self.steps_left.min(MOST_STEPS);
        let mut steps = given;
        let value = self.runner.run(programs, program, &self.values, &outside, &mut steps).ok()?;
        self.steps_left = self.steps_left.saturating_sub(given - steps);
        Some((value, program.kind))
    }

    /// Whether the cell is held at a value from outside.
    #[inline]
    pub(crate) fn is_pinned(&self, at: usize) -> bool {
        !self.pinned.is_empty() && self.pinned.contains_key(&at)
    }

    fn compute_in_full(&mut self, at: usize) -> bool {
        if let Some(value) = self.pinned.get(&at) {
            let changed = self.values[at].as_ref() != Some(value);
            self.values[at] = Some(value.clone());
            self.notes.clear(at);
            return changed;
        }
        let code = &self.compiled.cells[at];
        let waits: Vec<String> = code
            .reads
            .iter()
            .filter(|read| self.values[**read as usize].is_none())
            .map(|read| self.compiled.cells[*read as usize].name.clone())
            .chain(code.broken_reads.iter().cloned())
            .collect();
        let without = |trouble| (None, State { trouble: Some(trouble), warnings: Vec::new() });
        let (value, state) = if !waits.is_empty() {
            without(Trouble::Waiting(waits))
        } else if let Some(root) = code.root {
            let mut steps = self.steps_left.min(MOST_STEPS);
            let given = steps;
            let now = self.run(at, root, &mut steps);
            self.steps_left = self.steps_left.saturating_sub(given - steps);
            now
        } else {
            without(Trouble::Broken)
        };
        let changed = self.values[at] != value || self.notes.get(at).trouble != state.trouble;
        self.values[at] = value;
        self.notes.set(at, state);
        changed
    }

    fn run(&self, at: usize, root: u32, steps: &mut u64) -> Computed {
        let code = &self.compiled.cells[at];
        let mut machine = self.machine();
        let (result, mut warnings) = match self.set_values.get(&at) {
            Some((value, _)) => (Ok(value.clone()), Vec::new()),
            None => machine.counted(root, code.slots, steps),
        };
        match result {
            Ok(value) => {
                warnings.extend(self.doubts(at, &value, &mut machine));
                (Some(value), State { trouble: None, warnings })
            }
            Err(fault) => {
                let diagnostic = self.at_cell(fault.diagnostic(), code);
                (None, State { trouble: Some(Trouble::Failed(Box::new(diagnostic))), warnings })
            }
        }
    }

    /// Walks terms over the values as they are.
    pub(crate) fn machine(&self) -> Machine<'_> {
        self.machine_on(&self.values)
    }

    /// Walks terms over other values.
    pub(crate) fn machine_on<'v>(&'v self, values: &'v [Option<Value>]) -> Machine<'v> {
        Machine::new(&self.compiled.terms, values, &self.compiled.scripts, self.style())
    }

    /// The values of all cells, by their places.
    pub(crate) fn values(&self) -> &[Option<Value>] {
        &self.values
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
            && !(0..list.len()).any(|i| list.get(i).is_some_and(|v| v.is_near(value)))
        {
            doubts.push(self.not_chosen(at, value));
        }
        if let Some(plus_minus) = code.plus_minus
            && let Some(width) = machine.cell(plus_minus.width, code.slots).0.ok()
            && width.as_number().is_some_and(|width| width < 0.0)
        {
            let message = format!("`plus_minus` of `{}` is negative", code.name);
            doubts.push(
                Diagnostic::new(Code::REFUSED, message, plus_minus.span)
                    .help("write how far it may be off to either side, without a sign"),
            );
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

    /// What is wrong with the headlines and the cases, which name cells without computing.
    fn look_over(&mut self) {
        for name in &self.worksheet.show {
            let broken = self.worksheet.broken.iter().any(|broken| broken.text == name.text);
            if !self.by_name.contains_key(&name.text) && !broken {
                let names = self.compiled.scopes.first();
                let near = names.map(|n| n.nearest_value(&name.text)).unwrap_or_default();
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
        for known in &self.worksheet.known {
            let Some((low, high)) = &known.between else { continue };
            let Some(cell) = self.cell(&known.name.text) else { continue };
            if cell.between_as_written().is_some_and(|(low, high)| low > high) {
                let message = format!("`between` of `{}` names the higher end first", cell.name());
                let diagnostic =
                    Diagnostic::new(Code::WRONG_WAY_ROUND, message, low.span.to(high.span))
                        .help(format!("write `between: [{}, {}]`", high.text, low.text));
                self.reading.push(diagnostic);
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
        self.look_over_ranges();
    }

    /// What the sheet is about.
    #[must_use]
    pub fn title(&self) -> Option<&str> {
        self.worksheet.title.as_deref()
    }

    /// What was read, before any formula was looked into.
    #[must_use]
    pub fn worksheet(&self) -> &Worksheet {
        &self.worksheet
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

    /// The files beside it that it was read from: name and text.
    pub fn files(&self) -> impl Iterator<Item = (&str, &str)> {
        self.files.iter().filter_map(|(name, text)| Some((name.as_str(), text.as_deref().ok()?)))
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
        let failed = self.notes.all().filter_map(|state| match &state.trouble {
            Some(Trouble::Failed(diagnostic)) => Some(&**diagnostic),
            _ => None,
        });
        let warnings = self.notes.all().flat_map(|state| &state.warnings);
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

    /// The gravest check that does not hold: one that fails, or of which nothing can be told.
    #[must_use]
    pub fn gravest_failure(&self) -> Option<Level> {
        self.checks()
            .filter(|check| check.verdict() != Verdict::Holds)
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
            // A bare value is read in the unit of the text that it stands for.
            Some((_, typed)) => typed.as_ref().or(code.typed.as_ref()),
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
        Some(match value? {
            Value::Series(series) => style.series_unit(dimension, series),
            other => style.unit(dimension, other.as_number()?),
        })
    }

    pub(crate) fn cell_at(&self, at: u32) -> Cell<'_> {
        Cell { sheet: self, at: at as usize }
    }

    pub(crate) fn compiled(&self) -> &Compiled {
        &self.compiled
    }
}
