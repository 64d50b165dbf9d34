//! One answer held against the right one.

use forebay_sheet::exercise::{Question, Wanted};
use forebay_sheet::{CellKind, Sheet, Style, Type, Value};
use forebay_units::{Dimension, System, Unit, display_unit, money};

use super::Verdict;
use super::answer::{self, Behind, Number, Written};
use super::slips::{Asked, Given, SLIPS, alike};
use crate::exercise::{Right, accepted};

/// A number that a slip leads to is met to this share, or to the last figure written: an answer is
/// worked out with rounded numbers. Common practice, no source.
const NEAR: f64 = 0.003;
/// But not farther off than this, however few figures are written.
const FARTHEST: f64 = 0.015;
/// What is rounded so far that it is off by more than this is wrong.
const ROUNDED_FARTHEST: f64 = 0.10;

/// What was made of an answer.
pub(super) struct Judged {
    pub(super) verdict: Verdict,
    /// What is told besides; may be empty.
    pub(super) remark: String,
    /// The value that the learner went on with, where one can be told.
    pub(super) value: Option<Value>,
}

/// Answers of the learner's own to other questions: cell, value, and whether it is right.
pub(super) type Own<'a> = &'a [(String, Value, bool)];

/// What becomes of an answer for the value that would follow, and for what is accepted then.
type Fits<'f> = dyn FnMut(&mut Sheet, &Value, Option<(f64, f64)>) -> Option<Verdict> + 'f;

/// A question of one learner, with what the slips need to know.
pub(super) struct Case<'a> {
    pub(super) question: &'a Question,
    pub(super) right: &'a Right,
    /// The right answers to all questions.
    pub(super) all: &'a [Right],
    /// The knowns behind the question's cell: name and what is said of it.
    pub(super) givens: Vec<(String, String)>,
    pub(super) air: Vec<f64>,
    pub(super) ty: Type,
    pub(super) style: Style,
    /// The unit that is asked for, or the answer is shown in.
    pub(super) shown: Unit,
    words: String,
}

impl<'a> Case<'a> {
    pub(super) fn new(
        sheet: &Sheet,
        question: &'a Question,
        right: &'a Right,
        all: &'a [Right],
    ) -> Self {
        let cell = sheet.cell(&question.cell);
        let behind = sheet.behind(&question.cell);
        // In the order of the sheet, so that the same slip is told every time.
        let cells = || sheet.cells().filter(|cell| behind.contains(cell.name()));
        let givens = cells()
            .filter(|cell| cell.kind() == CellKind::Known)
            .map(|cell| {
                let words = format!("{} {}", cell.name(), cell.about().unwrap_or_default());
                (cell.name().to_owned(), words)
            })
            .collect();
        let mut air: Vec<f64> = cells()
            .filter(|cell| cell.ty() == Some(Type::number(Dimension::PRESSURE)))
            .filter(|cell| {
                cell.kind() == CellKind::Known || cell.formula().contains("atmospheric_pressure")
            })
            .filter_map(|cell| cell.value().and_then(Value::as_number))
            .filter(|pa| (50e3..110e3).contains(pa))
            .collect();
        air.push(101_325.0);
        let asked = match &question.wanted {
            Wanted::Number { unit, .. } => unit.clone(),
            _ => None,
        };
        let shown = asked.or_else(|| cell.and_then(|cell| cell.unit())).unwrap_or(Unit::ONE);
        let about = cell.and_then(|cell| cell.about()).unwrap_or_default();
        Self {
            question,
            right,
            all,
            givens,
            air,
            ty: cell.and_then(|cell| cell.ty()).unwrap_or(Type::PLAIN),
            style: sheet.style(),
            shown,
            words: format!("{} {about}", question.cell),
        }
    }

    /// Units that the answer may well be worked out in.
    fn others(&self) -> Vec<Unit> {
        let Some(dimension) = self.ty.dimension() else { return Vec::new() };
        let si = self.right.value.as_number().unwrap_or(0.0);
        let currency = self.style.currency;
        let mut units = vec![self.shown.clone()];
        // Also the unit of one, which is the one that formulas are worked in: W, m, Pa, m^3/s.
        for (size, system) in [(si, System::Si), (si, System::Us), (1.0, System::Si)] {
            let unit = display_unit(dimension, size, system, currency);
            if units.iter().all(|other| other.symbol() != unit.symbol()) {
                units.push(unit);
            }
        }
        units
    }
}

/// Judges an answer. `own` are the learner's answers to other questions, from which this one may
/// follow; none are looked at where it is empty.
pub(super) fn judge(sheet: &mut Sheet, case: &Case<'_>, text: &str, own: Own<'_>) -> Judged {
    match &case.question.wanted {
        Wanted::YesNo => {
            let read = answer::truth(text).map(Value::Truth);
            word(sheet, case, read, own, "yes or no is asked for")
        }
        Wanted::Choice(words) => {
            let read = answer::choice(text, words).and_then(|at| words.get(at));
            let read = read.map(|word| Value::Text(word.as_str().into()));
            word(sheet, case, read, own, "it is none of the words to choose from")
        }
        Wanted::Number { unit, figures, .. } => match answer::read(text) {
            Ok(written) => number(sheet, case, &written, unit.as_ref(), *figures, own),
            Err(why) => unread(why),
        },
    }
}

fn unread(why: impl Into<String>) -> Judged {
    Judged { verdict: Verdict::Unread { why: why.into() }, remark: String::new(), value: None }
}

fn word(
    sheet: &mut Sheet,
    case: &Case<'_>,
    read: Option<Value>,
    own: Own<'_>,
    otherwise: &str,
) -> Judged {
    let Some(value) = read else { return unread(otherwise) };
    let verdict = if value == case.right.value {
        Verdict::Right
    } else {
        let follows = carried(sheet, case, own, &mut |_, found, _| {
            (*found == value).then_some(Verdict::Right)
        });
        follows.map_or(Verdict::Wrong, |(_, from)| Verdict::Carried { from })
    };
    Judged { verdict, remark: String::new(), value: Some(value) }
}

/// A reading of what was written: a number in a unit.
struct Reading<'r> {
    number: &'r Number,
    unit: Unit,
    /// What is wrong with the unit although a reading of it is right.
    unit_slip: Option<(&'static str, String)>,
}

fn number(
    sheet: &mut Sheet,
    case: &Case<'_>,
    written: &Written,
    asked: Option<&Unit>,
    figures: Option<usize>,
    own: Own<'_>,
) -> Judged {
    let plain = case.ty.dimension().is_some_and(Dimension::is_plain);
    let mut readings: Vec<Reading<'_>> = Vec::new();
    for number in &written.numbers {
        let mut one = |unit: Unit, unit_slip| readings.push(Reading { number, unit, unit_slip });
        match &written.behind {
            Behind::Unit(unit) => one(unit.clone(), None),
            Behind::Nothing if plain => {
                let unit = asked.cloned().unwrap_or(Unit::ONE);
                one(unit, None);
            }
            Behind::Nothing => match asked {
                Some(unit) => one(unit.clone(), None),
                None => {
                    for unit in case.others() {
                        let says = format!("no unit is written; the number is right in {unit}");
                        one(unit, Some(("no-unit", says)));
                    }
                }
            },
            Behind::Several { word, units } => {
                let dimension = case.ty.dimension().unwrap_or(Dimension::NONE);
                let fitting = units.iter().filter(|unit| alike(dimension, unit.dimension()));
                let fitting: Vec<&Unit> = fitting.collect();
                // `degrees` of an angle are no degrees of temperature, and where `hp_mechanical` is
                // asked for, `hp` is that one.
                let same = |unit: &&&Unit| {
                    unit.dimension() == case.shown.dimension()
                        && unit.factor() == case.shown.factor()
                };
                let meant = match fitting.as_slice() {
                    [only] => Some(*only),
                    several => several.iter().find(same).copied(),
                };
                if let Some(unit) = meant {
                    one(unit.clone(), None);
                    continue;
                }
                for unit in units {
                    let says = format!("`{word}` may be several units; right as {unit}");
                    one(unit.clone(), Some(("unclear-unit", says)));
                }
            }
        }
    }
    let mut best: Option<(Verdict, &Reading<'_>, bool)> = None;
    for (at, reading) in readings.iter().enumerate() {
        // Where the unit is a guess, what else might have gone wrong is not guessed for each.
        let all = at == 0 || reading.unit_slip.is_none();
        let verdict = verdict(sheet, case, reading, figures, own, all);
        let right_but_for_unit = reading.unit_slip.is_some()
            && matches!(verdict, Verdict::Right | Verdict::Rounded { .. });
        let verdict = match (&reading.unit_slip, verdict) {
            (Some((name, says)), Verdict::Right | Verdict::Rounded { .. }) => {
                Verdict::Slip { name, says: says.clone(), from: Vec::new() }
            }
            (_, verdict) => verdict,
        };
        // A number that is right but for its unit is more likely than any other slip.
        let likely = |verdict: &Verdict, guessed: bool| (verdict.rank(), guessed);
        let here = likely(&verdict, right_but_for_unit);
        if best.as_ref().is_none_or(|(before, _, guessed)| here > likely(before, *guessed)) {
            best = Some((verdict, reading, right_but_for_unit));
        }
    }
    let Some((verdict, reading, _)) = best else { return unread("its unit cannot be told") };
    let mut remark = String::new();
    if verdict != Verdict::Right {
        remark.clone_from(&written.remark);
    }
    let dimension = case.ty.dimension().unwrap_or(Dimension::NONE);
    let of = reading.unit.dimension();
    if verdict == Verdict::Wrong && !alike(dimension, of) {
        remark =
            format!("{} is a unit of {of}, and {dimension} is asked for", name_of(&reading.unit));
    } else if verdict == Verdict::Right && of != dimension {
        remark = format!("say from where the pressure counts: {}", case.shown.symbol());
    } else if verdict == Verdict::Wrong && reading.unit_slip.is_some() {
        remark = match &written.behind {
            Behind::Several { word, .. } => format!("`{word}` may be several units"),
            _ => "no unit is written".to_owned(),
        };
    }
    let si = reading.unit.to_si(reading.number.value);
    // With a guessed or unfitting unit nobody can tell what the learner went on with.
    let told = alike(dimension, of) && reading.unit_slip.is_none();
    let value = match told {
        true if case.ty.scalar().is_money() => money::from_number(si).map(Value::Money),
        true => Some(Value::Number(si)),
        false => None,
    };
    Judged { verdict, remark, value }
}

fn name_of(unit: &Unit) -> String {
    if *unit == Unit::ONE { "a plain number".to_owned() } else { format!("`{unit}`") }
}

fn verdict(
    sheet: &mut Sheet,
    case: &Case<'_>,
    reading: &Reading<'_>,
    figures: Option<usize>,
    own: Own<'_>,
    with_slips: bool,
) -> Verdict {
    let Some(ends) = case.right.accepted else { return Verdict::Wrong };
    let Some(right) = case.right.value.as_number() else { return Verdict::Wrong };
    let dimension = case.ty.dimension().unwrap_or(Dimension::NONE);
    if alike(dimension, reading.unit.dimension())
        && let Some(verdict) = plainly(reading, right, ends, figures)
    {
        return verdict;
    }
    let follows = carried(sheet, case, own, &mut |_, value, ends| {
        let fits = alike(dimension, reading.unit.dimension());
        fits.then(|| plainly(reading, value.as_number()?, ends?, figures)).flatten()
    });
    match follows {
        Some((Verdict::Rounded { how }, _)) => return Verdict::Rounded { how },
        Some((_, from)) if from.is_empty() => return Verdict::Right,
        Some((_, from)) => return Verdict::Carried { from },
        None => {}
    }
    if !with_slips {
        return Verdict::Wrong;
    }
    if let Some((name, says)) = slip(sheet, case, reading, right) {
        return Verdict::Slip { name, says, from: Vec::new() };
    }
    let follows = carried(sheet, case, own, &mut |sheet, value, _| {
        let (name, says) = slip(sheet, case, reading, value.as_number()?)?;
        Some(Verdict::Slip { name, says, from: Vec::new() })
    });
    match follows {
        Some((Verdict::Slip { name, says, .. }, from)) => Verdict::Slip { name, says, from },
        _ => Verdict::Wrong,
    }
}

/// Right, or right but for its rounding.
fn plainly(
    reading: &Reading<'_>,
    right: f64,
    ends: (f64, f64),
    figures: Option<usize>,
) -> Option<Verdict> {
    let number = reading.number;
    let si = reading.unit.to_si(number.value);
    let wanted = reading.unit.from_si(right);
    let off = (number.value - wanted).abs();
    // Half a unit of the last figure written, and what the machine's own rounding is.
    let half = 0.5 * number.last * (1.0 + 1e-9);
    let enough = figures.is_none_or(|figures| number.figures >= figures);
    let within = si >= ends.0 && si <= ends.1;
    // As many figures as are asked for, and each of them right.
    let exact = figures.is_some() && enough && off <= half;
    if within || exact {
        return Some(match figures {
            Some(figures) if !enough && off <= number.last => {
                let how = format!("{} where {figures} are asked for", counted(number.figures));
                Verdict::Rounded { how }
            }
            _ => Verdict::Right,
        });
    }
    let near = off <= ROUNDED_FARTHEST * wanted.abs() && number.figures > 0;
    if near && off <= half {
        return Some(Verdict::Rounded { how: format!("rounded to {}", counted(number.figures)) });
    }
    let cut = off < number.last && number.value.abs() < wanted.abs();
    (near && cut && number.figures < 4)
        .then(|| Verdict::Rounded { how: format!("cut off after {}", counted(number.figures)) })
}

fn counted(figures: usize) -> String {
    if figures == 1 { "1 figure".to_owned() } else { format!("{figures} figures") }
}

/// Whether the answer follows from the learner's own answers: from all of them that it depends on,
/// from the wrong ones, or from one. `fits` sees the value that follows and what is accepted then.
fn carried(
    sheet: &mut Sheet,
    case: &Case<'_>,
    own: Own<'_>,
    fits: &mut Fits<'_>,
) -> Option<(Verdict, Vec<String>)> {
    let cell = &case.question.cell;
    let behind = sheet.behind(cell);
    let own: Vec<&(String, Value, bool)> =
        own.iter().filter(|(name, ..)| behind.contains(name.as_str())).collect();
    drop(behind);
    let wrong: Vec<&(String, Value, bool)> =
        own.iter().copied().filter(|(.., right)| !right).collect();
    let mut sets = vec![own.clone()];
    if wrong.len() != own.len() {
        sets.push(wrong.clone());
    }
    if wrong.len() > 1 {
        sets.extend(wrong.iter().map(|one| vec![*one]));
    }
    for set in sets.iter().filter(|set| !set.is_empty()) {
        let held = set.iter().all(|(name, value, _)| sheet.hold(name, value.clone()).is_ok());
        let value = sheet.cell(cell).and_then(|cell| cell.value().cloned()).filter(|_| held);
        let verdict = value.and_then(|value| {
            let ends = accepted(sheet, case.question, &value).ok().flatten();
            fits(sheet, &value, ends)
        });
        for (name, ..) in set {
            sheet.let_go(name);
        }
        if let Some(verdict) = verdict {
            let from = set.iter().filter(|(.., right)| !right);
            return Some((verdict, from.map(|(name, ..)| name.clone()).collect()));
        }
    }
    None
}

/// The first slip that explains an answer.
fn slip(
    sheet: &mut Sheet,
    case: &Case<'_>,
    reading: &Reading<'_>,
    right: f64,
) -> Option<(&'static str, String)> {
    let dimension = case.ty.dimension()?;
    let (others, elsewhere) = (case.others(), elsewhere(sheet, case, dimension));
    let asked = Asked {
        si: right,
        dimension,
        written: &reading.unit,
        others: &others,
        words: &case.words,
        air: &case.air,
        elsewhere: &elsewhere,
    };
    for slip in SLIPS {
        for (led, word) in slip.of_answer(&asked) {
            if meets(reading, led) {
                let says = slip.says;
                let says =
                    if word.is_empty() { says.to_owned() } else { format!("{says}: {word}") };
                return Some((slip.name, says));
            }
        }
        if !asked.fits() {
            continue;
        }
        for (name, words) in &case.givens {
            if let Some(led) =
                through(sheet, case, slip, name, words).into_iter().find(|led| meets(reading, *led))
            {
                let _ = led;
                let given = sheet.cell(name).map(|cell| cell.formula()).unwrap_or_default();
                let given =
                    if given.starts_with('[') { String::new() } else { format!(" of {given}") };
                return Some((slip.name, format!("{}: the {name}{given}", slip.says)));
            }
        }
    }
    None
}

fn elsewhere(sheet: &Sheet, case: &Case<'_>, dimension: Dimension) -> Vec<(String, f64)> {
    let other = |right: &&Right| {
        right.cell != case.question.cell
            && sheet.cell(&right.cell).and_then(|cell| cell.ty()) == Some(Type::number(dimension))
    };
    let all = case.all.iter().filter(other);
    all.filter_map(|right| Some((right.cell.clone(), right.value.as_number()?))).collect()
}

/// The answers that follow when a slip happens with a figure that was given.
fn through(
    sheet: &mut Sheet,
    case: &Case<'_>,
    slip: &super::slips::Slip,
    name: &str,
    words: &str,
) -> Vec<f64> {
    let Some(cell) = sheet.cell(name) else { return Vec::new() };
    let (Some(Value::Number(si)), Some(dimension), Some(unit)) =
        (cell.value().cloned(), cell.ty().and_then(|ty| ty.dimension()), cell.unit())
    else {
        return Vec::new();
    };
    let text = cell.formula();
    let slipped = slip.of_given(&Given { words, si, dimension, unit: &unit });
    let mut led = Vec::new();
    for si in slipped {
        if sheet.set_values(&[(name, Value::Number(si))]).is_ok() {
            let value = sheet.cell(&case.question.cell).and_then(|cell| cell.value());
            led.extend(value.and_then(Value::as_number));
        }
    }
    if sheet.set(name, &text).is_err() {
        // It was in force before, so it fits.
        let _ = sheet.set_values(&[(name, Value::Number(si))]);
    }
    led
}

/// Whether an answer is the number that a slip leads to.
fn meets(reading: &Reading<'_>, led: f64) -> bool {
    let number = reading.number;
    let expected = reading.unit.from_si(led);
    // One figure fits too much to be a sign of anything.
    let whole_digits = number.figures >= 2 || number.value.abs() == expected.abs();
    let size = expected.abs();
    let off = (0.5 * number.last).max(NEAR * size).min(FARTHEST * size);
    whole_digits && size > 0.0 && (number.value - expected).abs() <= off
}
