//! The commands, one file each.

mod check;
mod compare;
mod each;
mod eval;
mod exercise;
mod form;
mod formulas;
mod mark;
mod new;
mod page;
mod report;
mod run;
mod schema;
mod solve;
mod spread;
mod study;
mod units;
mod vary;
mod working;

use std::process::ExitCode;

use clap::Subcommand;
use forebay_sheet::Sheet;
use forebay_sheet::worksheet::Level;

use crate::console::Console;
use crate::refusal::Refusal;

/// The commands of `forebay`.
#[derive(Subcommand)]
pub(crate) enum Command {
    Run(run::Arguments),
    Check(check::Arguments),
    Eval(eval::Arguments),
    Working(working::Arguments),
    Page(page::Arguments),
    Formulas(formulas::Arguments),
    Units(units::Arguments),
    New(new::Arguments),
    Vary(vary::Arguments),
    Solve(solve::Arguments),
    Compare(compare::Arguments),
    Each(each::Arguments),
    Spread(spread::Arguments),
    Exercise(exercise::Arguments),
    Mark(mark::Arguments),
    Report(report::Arguments),
    Schema(schema::Arguments),
}

/// Carries a command out.
pub(crate) fn run(command: &Command, console: &mut Console) -> Result<ExitCode, Refusal> {
    match command {
        Command::Run(arguments) => run::run(arguments, console),
        Command::Check(arguments) => check::run(arguments, console),
        Command::Eval(arguments) => eval::run(arguments, console),
        Command::Working(arguments) => working::run(arguments, console),
        Command::Page(arguments) => page::run(arguments, console),
        Command::Formulas(arguments) => formulas::run(arguments, console),
        Command::Units(arguments) => units::run(arguments, console),
        Command::New(arguments) => new::run(arguments, console),
        Command::Vary(arguments) => vary::run(arguments, console),
        Command::Solve(arguments) => solve::run(arguments, console),
        Command::Compare(arguments) => compare::run(arguments, console),
        Command::Each(arguments) => each::run(arguments, console),
        Command::Spread(arguments) => spread::run(arguments, console),
        Command::Exercise(arguments) => exercise::run(arguments, console),
        Command::Mark(arguments) => mark::run(arguments, console),
        Command::Report(arguments) => report::run(arguments, console),
        Command::Schema(arguments) => schema::run(arguments, console),
    }
}

/// How a sheet stands: 2 if it is wrong somewhere, 1 if a check of level `stop` fails, else 0.
fn code_of(sheet: &Sheet) -> ExitCode {
    if sheet.has_errors() {
        ExitCode::from(2)
    } else if sheet.gravest_failure() == Some(Level::Stop) {
        ExitCode::from(1)
    } else {
        ExitCode::SUCCESS
    }
}
