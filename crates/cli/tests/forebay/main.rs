//! Runs the `forebay` command as its users do: outputs, mistakes, exit codes. Golden files are
//! rewritten with `UPDATE=1 cargo test -p forebay-cli`.

#![allow(clippy::unwrap_used, reason = "a panic here is a failing test")]

mod compare;
mod confinement;
mod each;
mod eval;
mod exercise;
mod golden;
mod listings;
mod new;
mod outputs;
mod page;
mod report;
mod running;
mod solve;
mod spread;
mod terminal;
mod vary;
mod watch;
mod working;
