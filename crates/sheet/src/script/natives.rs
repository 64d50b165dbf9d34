//! All that generated text can call: nothing else exists in the interpreter.

use std::sync::Arc;

use rhai::{Array, Dynamic, Engine, EvalAltResult, FLOAT, FnPtr, INT, NativeCallContext};

use super::generate::Place;
use super::pieces::{Input, Piece, Surroundings};
use super::running::{self, Stop};
use super::values::{Callable, EmptyList, Held, Thing, dynamic, sample, series};
use super::{ScriptFault, limits};
use crate::compile::lower::described;
use crate::diagnostic::Code;
use crate::value::{Items, Scalar, Series, Type, Value};

/// What the numbers in generated text stand for.
#[derive(Debug)]
pub(super) struct Tables {
    pub(super) pieces: Vec<Piece>,
    pub(super) places: Vec<Place>,
    pub(super) faults: Vec<ScriptFault>,
    pub(super) around: Surroundings,
}

type Outcome<T> = Result<T, Box<EvalAltResult>>;

/// An interpreter that knows the functions below and no others.
pub(super) fn engine(tables: &Arc<Tables>) -> Engine {
    // A raw engine has no packages: no clock, no sleep, no exit, no output, no text functions.
    let mut engine = Engine::new_raw();
    limits::set(&mut engine);
    engine.set_optimization_level(rhai::OptimizationLevel::None);
    for symbol in [
        "eval",
        "print",
        "debug",
        "import",
        "export",
        "Fn",
        "call",
        "curry",
        "is_def_fn",
        "is_def_var",
        "is_shared",
        "type_of",
    ] {
        engine.disable_symbol(symbol);
    }
    engine.register_iterator_result::<Walk, Dynamic>();
    engine.register_fn("empty", || Dynamic::from(EmptyList));

    macro_rules! native {
        ($name:literal, |$t:ident $(, $a:ident: $ty:ty)*| $body:expr) => {
            let tables = Arc::clone(tables);
            engine.register_fn($name, move |$($a: $ty),*| -> Outcome<Dynamic> {
                let $t: &Tables = &tables;
                Ok(($body)?)
            });
        };
    }
    native!("fail", |t, k: INT| Err::<Dynamic, Stop>(t.fault(k).into()));
    native!("piece", |t, k: INT, operands: Array| match t.pieces.get(index(k)) {
        Some(piece) => piece.compute(&t.around, operands),
        None => Ok(Dynamic::UNIT),
    });
    native!("truth", |t, p: INT, x: Dynamic| t.truth(p, x).map(Dynamic::from_bool));
    native!("going", |t, p: INT, x: Dynamic| t.going(p, x).map(Dynamic::from_bool));
    native!("begun", |t, p: INT, x: Dynamic| t.begun(p, x));
    native!("range", |t, p: INT, from: Dynamic, to: Dynamic| t.range(p, from, to));
    native!("items", |t, p: INT, xs: Dynamic| t.items(p, xs));
    native!("closure", |t, p: INT, f: FnPtr| t.closure(p, f));
    native!("put", |t, variable: &mut Dynamic, p: INT, x: Dynamic| t.put(variable, p, x));
    native!("grow", |t, list: &mut Dynamic, p: INT, x: Dynamic| t.grow(list, p, x));
    native!("put_at", |t, list: &mut Dynamic, p: INT, at: Dynamic, x: Dynamic| t
        .put_at(list, p, at, x));

    macro_rules! native_calling {
        ($name:literal, |$t:ident, $c:ident $(, $a:ident: $ty:ty)*| $body:expr) => {
            let tables = Arc::clone(tables);
            engine.register_fn($name, move |$c: NativeCallContext<'_>, $($a: $ty),*| -> Outcome<Dynamic> {
                let $t: &Tables = &tables;
                $body
            });
        };
    }
    native_calling!("apply", |t, c, p: INT, f: Dynamic, x: Array| t.apply(&c, p, f, x));
    native_calling!("mapped", |t, c, p: INT, xs: Dynamic, f: Dynamic| t.mapped(&c, p, xs, f));
    native_calling!("filtered", |t, c, p: INT, xs: Dynamic, f: Dynamic| t.filtered(&c, p, xs, f));
    engine
}

fn index(number: INT) -> usize {
    usize::try_from(number).unwrap_or(usize::MAX)
}

impl Tables {
    fn place(&self, number: INT) -> &Place {
        // Numbers come from the generator alone, which made a place for each.
        &self.places[index(number)]
    }

    fn fault(&self, number: INT) -> ScriptFault {
        self.faults[index(number)].clone()
    }

    /// A value, where neither a function nor nothing may stand.
    fn operand(&self, span: crate::diagnostic::Span, x: Dynamic) -> Result<(Type, Value), Stop> {
        let input = Input { name: String::new(), span, counted: false };
        Ok(input.operand(Thing::of(x))?)
    }

    fn truth(&self, p: INT, x: Dynamic) -> Result<bool, Stop> {
        if let Ok(truth) = x.as_bool() {
            return Ok(truth);
        }
        let (ty, _) = self.operand(self.place(p).span, x)?;
        Err(fault(
            Code::WRONG_KIND,
            format!("a condition: expected truth, found {}", described(ty)),
            self.place(p).span,
            "compare it with something: `x > 2 m`",
        ))
    }

    fn going(&self, p: INT, x: Dynamic) -> Result<bool, Stop> {
        Ok(self.truth(p, x)? && !running::is_tired_of(p))
    }

    /// What a variable may begin with.
    fn begun(&self, p: INT, x: Dynamic) -> Result<Dynamic, Stop> {
        if x.is_unit() {
            self.operand(self.place(p).value, x.clone())?;
        }
        Ok(x)
    }

    fn range(&self, p: INT, from: Dynamic, to: Dynamic) -> Result<Dynamic, Stop> {
        let place = self.place(p);
        let mut ends = [0.0; 2];
        for (end, (x, span, what)) in ends.iter_mut().zip([
            (from, place.span, "the beginning of a range"),
            (to, place.value, "the end of a range"),
        ]) {
            match self.operand(span, x)? {
                (Type::PLAIN, Value::Number(number)) => *end = number,
                (ty, _) => {
                    let message = format!("{what}: expected plain number, found {}", described(ty));
                    let code = if ty.dimension().is_some() {
                        Code::WRONG_DIMENSION
                    } else {
                        Code::WRONG_KIND
                    };
                    return Err(fault(code, message, span, "count in whole numbers: `0..12`"));
                }
            }
        }
        let [at, mut to] = ends;
        if running::is_trial() {
            // At least one turn, so that what it gives is known; and not many.
            to = to.clamp(at + 1.0, at + f64::from(limits::TRIAL_TURNS));
        }
        Ok(Dynamic::from(Walk::Count { at, to }))
    }

    fn items(&self, p: INT, xs: Dynamic) -> Result<Dynamic, Stop> {
        let span = self.place(p).span;
        let walk = match Thing::of(xs) {
            Thing::EmptyList => Walk::Count { at: 0.0, to: 0.0 },
            Thing::Value(Type::Series(scalar), Value::Series(series)) => {
                Walk::Series { at: 0, scalar, series, span }
            }
            other => {
                return Err(fault(
                    Code::WRONG_KIND,
                    format!("`for` runs through a series, found {}", other.described()),
                    span,
                    "or through a range: `for i in 0..12 { … }`",
                ));
            }
        };
        Ok(Dynamic::from(walk))
    }

    // --- variables ---

    fn put(&self, variable: &mut Dynamic, p: INT, x: Dynamic) -> Result<Dynamic, Stop> {
        let place = self.place(p);
        let (before, after) = (Thing::of(variable.clone()), Thing::of(x.clone()));
        if matches!(after, Thing::Nothing) {
            self.operand(place.value, x.clone())?;
        }
        if !before.may_become(&after) {
            let name = &place.name;
            let (was, is) = (before.described(), after.described());
            let message = match before {
                Thing::Function(_) => format!("`{name}` holds a function and keeps it"),
                _ => format!("`{name}` holds {was} and cannot become {is}"),
            };
            let help = match (before, after) {
                (Thing::Function(_), _) | (_, Thing::Function(_)) => {
                    "give a function a name of its own: `let g = |x| …;`".to_owned()
                }
                _ => format!("begin with a value of the right unit, as in `let {name} = 0 m;`"),
            };
            return Err(fault(Code::UNLIKE, message, place.value, &help));
        }
        replace(variable, x);
        Ok(Dynamic::UNIT)
    }

    fn grow(&self, list: &mut Dynamic, p: INT, x: Dynamic) -> Result<Dynamic, Stop> {
        let place = self.place(p);
        let (ty, value) = self.operand(place.value, x)?;
        let Type::One(scalar) = ty else {
            return Err(fault(
                Code::WRONG_KIND,
                "a series cannot stand inside a list",
                place.value,
                "put its values in one by one: `for x in xs { ys.push(x) }`",
            ));
        };
        if list.read_lock::<EmptyList>().is_some() {
            let first = series(scalar, vec![Some(value)], None);
            replace(list, dynamic(Type::Series(scalar), first));
            return Ok(Dynamic::UNIT);
        }
        self.change(list, p, ty, |all| {
            if all.dates.is_some() {
                return Err(fault(
                    Code::LENGTHS,
                    "a dated series cannot grow, since the new value has no date",
                    place.span,
                    "begin a list of its own: `let ys = [];`",
                ));
            }
            match &mut all.items {
                Items::Numbers(numbers) => numbers.push(value.as_number().unwrap_or(f64::NAN)),
                Items::Values(values) => values.push(Some(value)),
            }
            Ok(())
        })
    }

    fn put_at(&self, list: &mut Dynamic, p: INT, at: Dynamic, x: Dynamic) -> Result<Dynamic, Stop> {
        let place = self.place(p);
        let (ty, value) = self.operand(place.value, x)?;
        let at = match self.operand(place.span, at)? {
            (Type::PLAIN, Value::Number(at)) => at,
            (ty, _) => {
                let message = format!(
                    "the place in a series: expected plain number, found {}",
                    described(ty)
                );
                return Err(fault(Code::WRONG_KIND, message, place.span, "count from 0"));
            }
        };
        self.change(list, p, ty, |all| {
            let length = all.len();
            #[allow(clippy::cast_precision_loss)]
            let inside = at >= 0.0 && at < length as f64 && at.fract() == 0.0;
            if !inside {
                if running::is_trial() {
                    return Ok(());
                }
                let last = length.saturating_sub(1);
                let message = format!("places are whole numbers from 0 to {last}, found {at}");
                return Err(fault(
                    Code::OUT_OF_TABLE,
                    message,
                    place.span,
                    "use `xs.push(x)` to make a list longer",
                ));
            }
            // In range by the line above.
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let at = at as usize;
            match &mut all.items {
                Items::Numbers(numbers) => numbers[at] = value.as_number().unwrap_or(f64::NAN),
                Items::Values(values) => values[at] = Some(value),
            }
            Ok(())
        })
    }

    /// Changes the series in a variable in place; a series that others hold too is copied first,
    /// which costs a step for each value.
    fn change(
        &self,
        list: &mut Dynamic,
        p: INT,
        one: Type,
        change: impl FnOnce(&mut Series) -> Result<(), Stop>,
    ) -> Result<Dynamic, Stop> {
        let place = self.place(p);
        let found = match Thing::of(list.clone()) {
            Thing::EmptyList => {
                let help = "use `xs.push(x)` to make a list longer";
                return Err(fault(
                    Code::OUT_OF_TABLE,
                    "this list has no places yet",
                    place.span,
                    help,
                ));
            }
            other => other.described(),
        };
        let not_a_list = || {
            fault(
                Code::WRONG_KIND,
                format!("only a list has places, found {found}"),
                place.span,
                "begin with `let xs = [];`",
            )
        };
        let mut held = list.write_lock::<Held>().ok_or_else(not_a_list)?;
        let Held { ty: Type::Series(scalar), value: Value::Series(all) } = &mut *held else {
            return Err(not_a_list());
        };
        if Type::One(*scalar) != one {
            let (own, new) = ((Type::One(*scalar), place.span), (one, place.value));
            if let Some(fault) = self.around.unlike(own, new, "stand in one list") {
                return Err(fault.into());
            }
        }
        if Arc::strong_count(all) > 1 {
            running::charge(1 + all.len() as u64)?;
        }
        change(Arc::make_mut(all))?;
        Ok(Dynamic::UNIT)
    }

    // --- functions in variables ---

    fn closure(&self, p: INT, pointer: FnPtr) -> Result<Dynamic, Stop> {
        let held = pointer.iter_curry().filter_map(|x| x.read_lock::<Callable>().map(|f| f.depth));
        let depth = held.max().unwrap_or(0) + 1;
        if depth > limits::HELD_FUNCTIONS {
            let message =
                format!("functions hold one another more than {} deep", limits::HELD_FUNCTIONS);
            return Err(limits::depth(self.place(p).span, message).into());
        }
        Ok(Dynamic::from(Callable { pointer, depth }))
    }

    fn callable(&self, span: crate::diagnostic::Span, f: Dynamic) -> Outcome<FnPtr> {
        match Thing::of(f) {
            Thing::Function(callable) => Ok(callable.pointer),
            other => {
                let message =
                    format!("a function `|x| …` is expected here, found {}", other.described());
                Err(fault(Code::WRONG_KIND, message, span, "write `*` to multiply").into())
            }
        }
    }

    fn apply(
        &self,
        context: &NativeCallContext<'_>,
        p: INT,
        f: Dynamic,
        x: Array,
    ) -> Outcome<Dynamic> {
        let place = self.place(p);
        let pointer = self.callable(place.value, f)?;
        self.call(context, &pointer, x, place.span)
    }

    fn call(
        &self,
        context: &NativeCallContext<'_>,
        pointer: &FnPtr,
        x: Array,
        span: crate::diagnostic::Span,
    ) -> Outcome<Dynamic> {
        let given = x.len();
        pointer.call_within_context::<Dynamic>(context, x).map_err(|error| {
            // The only function that Rhai can miss here is this one with so many arguments.
            if matches!(*error, EvalAltResult::ErrorFunctionNotFound(..)) {
                let message = format!("this function does not take {given} arguments");
                return fault(
                    Code::ARGUMENTS,
                    message,
                    span,
                    "give it as many as stand between `| |`",
                )
                .into();
            }
            error
        })
    }

    fn mapped(
        &self,
        context: &NativeCallContext<'_>,
        p: INT,
        xs: Dynamic,
        f: Dynamic,
    ) -> Outcome<Dynamic> {
        let place = self.place(p);
        let pointer = self.callable(place.value, f)?;
        let Some((scalar, all)) = self.series(p, xs)? else { return Ok(Dynamic::from(EmptyList)) };
        let mut values = Vec::with_capacity(all.len());
        let mut first: Option<Scalar> = None;
        for at in 0..all.len() {
            let Some(value) = all.get(at) else {
                values.push(None);
                continue;
            };
            let x = vec![dynamic(Type::One(scalar), value)];
            let result = self.call(context, &pointer, x, place.value)?;
            let (ty, value) = self.operand(place.value, result)?;
            let Type::One(own) = ty else {
                return Err(fault(
                    Code::WRONG_KIND,
                    "the function gives a series for each value; a series of series has no meaning",
                    place.value,
                    "give one value for each",
                )
                .into());
            };
            let before = *first.get_or_insert(own);
            if before != own {
                let (a, b) = ((Type::One(before), place.value), (ty, place.value));
                if let Some(unlike) = self.around.unlike(a, b, "stand in one list") {
                    return Err(Stop::from(unlike).into());
                }
            }
            values.push(Some(value));
        }
        Ok(match first {
            Some(scalar) => {
                dynamic(Type::Series(scalar), series(scalar, values, all.dates.clone()))
            }
            None => Dynamic::from(EmptyList),
        })
    }

    fn filtered(
        &self,
        context: &NativeCallContext<'_>,
        p: INT,
        xs: Dynamic,
        f: Dynamic,
    ) -> Outcome<Dynamic> {
        let place = self.place(p);
        let pointer = self.callable(place.value, f)?;
        let Some((scalar, all)) = self.series(p, xs)? else { return Ok(Dynamic::from(EmptyList)) };
        let (mut values, mut places) = (Vec::new(), Vec::new());
        for at in 0..all.len() {
            let Some(value) = all.get(at) else { continue };
            let x = vec![dynamic(Type::One(scalar), value.clone())];
            let result = self.call(context, &pointer, x, place.value)?;
            match self.operand(place.value, result)? {
                (Type::TRUTH, Value::Truth(keep)) => {
                    if keep {
                        values.push(Some(value));
                        places.push(at);
                    }
                }
                (ty, _) => {
                    let message =
                        format!("what the function gives: expected truth, found {}", described(ty));
                    return Err(fault(
                        Code::WRONG_KIND,
                        message,
                        place.value,
                        "compare it with something: `|x| x > 2 m`",
                    )
                    .into());
                }
            }
        }
        let dates = all.dates.as_ref().map(|dates| places.iter().map(|at| dates[*at]).collect());
        Ok(dynamic(Type::Series(scalar), series(scalar, values, dates)))
    }

    /// A series to go through; `None` for an empty list.
    fn series(&self, p: INT, xs: Dynamic) -> Result<Option<(Scalar, Arc<Series>)>, Stop> {
        match Thing::of(xs) {
            Thing::EmptyList => Ok(None),
            Thing::Value(Type::Series(scalar), Value::Series(all)) => {
                running::charge(all.len() as u64 / limits::ELEMENTS_PER_STEP)?;
                Ok(Some((scalar, all)))
            }
            other => Err(fault(
                Code::WRONG_KIND,
                format!("a series is expected, found {}", other.described()),
                self.place(p).span,
                "give a list such as `[1 m, 2 m]`",
            )),
        }
    }
}

/// Puts a value into a variable, also one that a function `|x| …` shares.
fn replace(variable: &mut Dynamic, x: Dynamic) {
    if let Some(mut inside) = variable.write_lock::<Dynamic>() {
        *inside = x;
    }
}

fn fault(
    code: &'static Code,
    message: impl Into<String>,
    span: crate::diagnostic::Span,
    help: &str,
) -> Stop {
    ScriptFault { code, message: message.into(), span, help: Some(help.to_owned()) }.into()
}

/// What `for` goes through.
#[derive(Clone, Debug)]
enum Walk {
    Count { at: FLOAT, to: FLOAT },
    Series { at: usize, scalar: Scalar, series: Arc<Series>, span: crate::diagnostic::Span },
}

impl Iterator for Walk {
    type Item = Outcome<Dynamic>;

    fn next(&mut self) -> Option<Self::Item> {
        match self {
            Self::Count { at, to } => {
                // Beyond 2⁵³ adding one changes nothing; the steps end such a loop.
                let now = *at;
                *at += 1.0;
                (now < *to).then(|| turn().map(|()| Dynamic::from_float(now)))
            }
            Self::Series { at, scalar, series, span } => {
                let place = *at;
                if place >= series.len() {
                    return None;
                }
                *at += 1;
                let ty = Type::One(*scalar);
                Some(turn().and_then(|()| match series.get(place) {
                    Some(value) => Ok(dynamic(ty, value)),
                    None if running::is_trial() => Ok(dynamic(ty, sample(ty))),
                    None => {
                        let message = format!("value {} of this series is missing", place + 1);
                        Err(fault(Code::GAP, message, *span, Code::GAP.mend).into())
                    }
                }))
            }
        }
    }
}

fn turn() -> Outcome<()> {
    Ok(running::charge(1)?)
}
