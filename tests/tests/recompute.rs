//! Recomputing what changed is the same as computing everything, and runs nothing else: on random
//! sheets, against a plain model of them, and on one of a thousand cells.

use std::collections::BTreeSet;

use forebay_sheet::Sheet;
use forebay_tests::names;
use proptest::prelude::*;

/// One worked-out cell: an operation on earlier cells, by index; the knowns come first.
#[derive(Clone, Debug)]
enum Formula {
    Plus(usize, usize),
    Minus(usize, usize),
    Times(usize, usize),
    Over(usize, usize),
    Least(usize, usize),
    Greatest(usize, usize),
    /// If the first is greater than the second, the third, else the fourth.
    Choice(usize, usize, usize, usize),
}

#[derive(Clone, Debug)]
struct Model {
    knowns: Vec<i32>,
    formulas: Vec<Formula>,
    /// The order in which the cells of `work` are written.
    written: Vec<usize>,
}

/// What a cell of the model comes to.
#[derive(Clone, Copy, Debug, PartialEq)]
enum State {
    Value(f64),
    Failed,
    Waiting,
}

impl Formula {
    fn reads(&self) -> Vec<usize> {
        use Formula::{Choice, Greatest, Least, Minus, Over, Plus, Times};
        match *self {
            Plus(a, b) | Minus(a, b) | Times(a, b) | Over(a, b) | Least(a, b) | Greatest(a, b) => {
                vec![a, b]
            }
            Choice(a, b, c, d) => vec![a, b, c, d],
        }
    }

    fn text(&self) -> String {
        use Formula::{Choice, Greatest, Least, Minus, Over, Plus, Times};
        match self {
            Plus(a, b) => format!("c{a} + c{b}"),
            Minus(a, b) => format!("c{a} - c{b}"),
            Times(a, b) => format!("0.1 * c{a} * c{b}"),
            Over(a, b) => format!("c{a} / c{b}"),
            Least(a, b) => format!("min(c{a}, c{b})"),
            Greatest(a, b) => format!("max(c{a}, c{b})"),
            Choice(a, b, c, d) => format!("if c{a} > c{b} {{ c{c} }} else {{ c{d} }}"),
        }
    }

    fn state(&self, before: &[State]) -> State {
        use Formula::{Choice, Greatest, Least, Minus, Over, Plus, Times};
        let mut values = Vec::new();
        for read in self.reads() {
            let State::Value(value) = before[read] else { return State::Waiting };
            values.push(value);
        }
        let value = match self {
            Plus(..) => values[0] + values[1],
            Minus(..) => values[0] - values[1],
            Times(..) => 0.1 * values[0] * values[1],
            Over(..) => values[0] / values[1],
            Least(..) => values[0].min(values[1]),
            Greatest(..) => values[0].max(values[1]),
            Choice(..) if values[0] > values[1] => values[2],
            Choice(..) => values[3],
        };
        if value.is_finite() { State::Value(value) } else { State::Failed }
    }
}

impl Model {
    fn states(&self) -> Vec<State> {
        let mut states: Vec<State> =
            self.knowns.iter().map(|k| State::Value(f64::from(*k))).collect();
        for formula in &self.formulas {
            let state = formula.state(&states);
            states.push(state);
        }
        states
    }

    fn text(&self) -> String {
        let mut text = "forebay: 1\nknown:\n".to_owned();
        for (at, known) in self.knowns.iter().enumerate() {
            text.push_str(&format!("  c{at}: {known}\n"));
        }
        text.push_str("work:\n");
        for at in &self.written {
            let name = self.knowns.len() + at;
            text.push_str(&format!("  c{name}: |\n    {}\n", self.formulas[*at].text()));
        }
        text
    }

    /// The cells that must run when the states were these: those that read one that is another
    /// now and do not wait for anything.
    fn must_run(&self, before: &[State], after: &[State]) -> BTreeSet<String> {
        let another = |at: usize| before[at] != after[at];
        (self.formulas.iter().enumerate())
            .map(|(at, formula)| (self.knowns.len() + at, formula))
            .filter(|(_, formula)| formula.reads().into_iter().any(another))
            .filter(|(at, _)| after[*at] != State::Waiting)
            .map(|(at, _)| format!("c{at}"))
            .collect()
    }

    /// Whether every cell of a list comes after those of the list that it reads.
    fn in_order(&self, ran: &[String]) -> bool {
        let place = |at: usize| ran.iter().position(|name| *name == format!("c{at}"));
        self.formulas.iter().enumerate().all(|(at, formula)| {
            let own = place(self.knowns.len() + at);
            formula.reads().into_iter().all(|read| own.is_none() || place(read) < own)
        })
    }
}

fn formula(before: usize) -> impl Strategy<Value = Formula> {
    use Formula::{Choice, Greatest, Least, Minus, Over, Plus, Times};
    let cell = || 0..before;
    prop_oneof![
        (cell(), cell()).prop_map(|(a, b)| Plus(a, b)),
        (cell(), cell()).prop_map(|(a, b)| Minus(a, b)),
        (cell(), cell()).prop_map(|(a, b)| Times(a, b)),
        (cell(), cell()).prop_map(|(a, b)| Over(a, b)),
        (cell(), cell()).prop_map(|(a, b)| Least(a, b)),
        (cell(), cell()).prop_map(|(a, b)| Greatest(a, b)),
        (cell(), cell(), cell(), cell()).prop_map(|(a, b, c, d)| Choice(a, b, c, d)),
    ]
}

fn model() -> impl Strategy<Value = Model> {
    (prop::collection::vec(-3..4_i32, 2..6), 1..30_usize).prop_flat_map(|(knowns, count)| {
        let first = knowns.len();
        let formulas: Vec<_> = (0..count).map(|at| formula(first + at).boxed()).collect();
        let written = Just((0..count).collect::<Vec<_>>()).prop_shuffle();
        (Just(knowns), formulas, written).prop_map(|(knowns, formulas, written)| Model {
            knowns,
            formulas,
            written,
        })
    })
}

fn state_in(sheet: &Sheet, at: usize) -> State {
    use forebay_sheet::Trouble;
    let cell = sheet.cell(&format!("c{at}")).expect("the cell is there");
    match (cell.value(), cell.trouble()) {
        (Some(value), None) => State::Value(value.as_number().expect("a number")),
        (None, Some(Trouble::Failed(_))) => State::Failed,
        (None, Some(Trouble::Waiting(_))) => State::Waiting,
        other => panic!("c{at} is {other:?}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn dirty_recompute_is_full_recompute_and_no_more(
        model in model(),
        sets in prop::collection::vec((any::<prop::sample::Index>(), -3..4_i32), 1..12),
    ) {
        let mut model = model;
        let mut sheet = Sheet::open(&model.text());
        let mut before = model.states();
        for (which, value) in sets {
            let known = which.index(model.knowns.len());
            let was = std::mem::replace(&mut model.knowns[known], value);
            let wave = sheet.set(&format!("c{known}"), &value.to_string()).unwrap();
            let after = model.states();

            let in_order = names(wave.ran(&sheet));
            let changed = names(wave.changed(&sheet));
            let ran: BTreeSet<String> = in_order.iter().cloned().collect();
            prop_assert_eq!(ran.len(), in_order.len(), "a cell ran twice");
            prop_assert_eq!(&ran, &model.must_run(&before, &after), "{}", model.text());
            prop_assert!(model.in_order(&in_order));
            if was == value {
                prop_assert!(in_order.is_empty() && changed.is_empty());
            }
            let fresh = Sheet::open(&model.text());
            for (at, state) in after.iter().enumerate() {
                prop_assert_eq!(state_in(&sheet, at), *state, "c{} of\n{}", at, model.text());
                prop_assert_eq!(state_in(&fresh, at), *state, "c{} anew of\n{}", at, model.text());
                let another = before[at] != *state;
                let failed_anew = before[at] == *state && *state != State::Failed
                    && *state != State::Waiting;
                let told = changed.contains(&format!("c{at}"));
                prop_assert!(!another || told, "c{at} changed and is not told");
                prop_assert!(!failed_anew || !told, "c{at} is told to change and did not");
            }
            before = after;
        }
    }
}

/// 10 knowns and 990 cells, each of which reads the cell three places up and one known.
fn thousand() -> String {
    let mut text = "forebay: 1\nknown:\n".to_owned();
    for at in 0..10 {
        text.push_str(&format!("  c{at}: {} m\n", at + 1));
    }
    text.push_str("work:\n");
    for at in 10..1000 {
        text.push_str(&format!("  c{at}: c{} + c{}\n", at - 3, at % 10));
    }
    text
}

fn dependants_of(known: usize) -> Vec<String> {
    let mut depends = vec![false; 1000];
    depends[known] = true;
    for at in 10..1000 {
        depends[at] = depends[at - 3] || depends[at % 10];
    }
    (10..1000).filter(|at| depends[*at]).map(|at| format!("c{at}")).collect()
}

#[test]
fn of_a_thousand_cells_exactly_the_dependants_run() {
    let mut sheet = Sheet::open(&thousand());
    assert_eq!(sheet.cells().count(), 1000);
    assert!(sheet.diagnostics().is_empty());
    for known in [0, 5, 9] {
        let wave = sheet.set(&format!("c{known}"), "50 m").unwrap();
        let mut ran = names(wave.ran(&sheet));
        ran.sort_by_key(|name| name[1..].parse::<usize>().unwrap());
        assert_eq!(ran, dependants_of(known));
        assert_eq!(wave.changed(&sheet).len(), ran.len() + 1);
        // The same value once more, also in another unit, runs nothing.
        for same in ["50 m", "5000 cm"] {
            let wave = sheet.set(&format!("c{known}"), same).unwrap();
            assert_eq!((wave.ran(&sheet).len(), wave.changed(&sheet).len()), (0, 0));
        }
    }
    // 3 knowns raised by 49, 44 and 40 m; c10 reads c7 and c0.
    let c10 = sheet.cell("c10").unwrap().value().unwrap().as_number().unwrap();
    assert_eq!(c10, 8.0 + 50.0);
}

#[test]
fn a_value_that_comes_out_equal_stops_the_wave() {
    let mut text = thousand();
    text.push_str("  capped: min(c0, 5 m)\n  behind: 2 * capped\n  further: behind + 1 m\n");
    let mut sheet = Sheet::open(&text);
    sheet.set("c0", "7 m").unwrap();
    let wave = sheet.set("c0", "8 m").unwrap();
    let ran = names(wave.ran(&sheet));
    assert!(ran.contains(&"capped".to_owned()));
    assert!(!names(wave.changed(&sheet)).contains(&"capped".to_owned()));
    assert!(!ran.iter().any(|name| name == "behind" || name == "further"));
    let wave = sheet.set("c0", "4 m").unwrap();
    assert!(names(wave.ran(&sheet)).contains(&"further".to_owned()));
}
