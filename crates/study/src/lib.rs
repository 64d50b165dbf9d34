//! What if: one worksheet over ranges of its knowns, over cases, over the rows of a table and over
//! what its knowns may be.
//!
//! Everything here sets knowns of a [`Sheet`](forebay_sheet::Sheet) and reads its cells, and leaves
//! the sheet as it was. Nothing prints and nothing opens a file. Long work asks its caller after
//! each row whether to go on ([`GoOn`]), and gives what it has when told to stop.
//!
//! ```
//! use forebay_sheet::Sheet;
//! use forebay_study::{axis, vary};
//!
//! let mut sheet = Sheet::open(
//!     "forebay: 1
//! known:
//!   bore: 200 mm
//!   flow: 40 L/s
//! work:
//!   velocity: flow / circle_area(bore)
//! check:
//!   calm: velocity < 2 m/s
//! ",
//! );
//! let bores = axis(&mut sheet, "bore=150 mm..250 mm/3")?;
//! let see = vec!["velocity".to_owned()];
//! let varied = vary(&mut sheet, vec![bores], &see, &mut |_, _| true)?;
//! assert_eq!(varied.rows.len(), 3);
//! assert_eq!(varied.gravest(&varied.rows[0]).unwrap().name, "calm");
//!
//! // What is no range of the known is refused with the reason.
//! assert!(axis(&mut sheet, "bore=1 L..2 L/3").is_err());
//! # Ok::<(), forebay_study::Fault>(())
//! ```

mod columns;
mod compare;
mod each;
mod exercise;
mod fault;
mod mark;
mod rows;
mod solve;
mod spread;
mod sweep;
mod vary;

pub use columns::{Column, column_of};
pub use compare::{CheckLine, Compared, Entry, Line, compare};
pub use each::{Each, EachRow, TableRow, name_of_head, part_of};
pub use exercise::{
    Asked, Figure, Handout, Key, KeyLearner, MOST_LEARNERS, Printed, Right, Variant, exercise_of,
    handouts, same_learner, variants,
};
pub use fault::Fault;
pub use mark::{
    Class, Handed, Item, Marked, Marks, QuestionCount, SLIPS, Slip, Stray, Verdict, mark,
};
pub use rows::{Judged, Row, Seen, gravest, seen_by_default};
pub use solve::{Found, Solved, solve};
pub use spread::{
    Budget, Chance, Expanded, Figures, NotVaried, Sampled, Samples, Sampling, Share, TieShare,
    Uncertain, budget, not_varied, sample, uncertain,
};
pub use sweep::sweep;
pub use vary::{Axis, Varied, VariedRow, axis, vary};

/// Asked after each row with the rows done and the rows in all; `false` ends the work.
pub type GoOn<'a> = dyn FnMut(u64, u64) -> bool + 'a;
