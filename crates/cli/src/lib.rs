//! The `forebay` command: reads the command line and hands over to one file per command.
//!
//! It is a library as well, so that the book can list the commands and run them as its readers do.

mod commands;
mod console;
mod diagnostics;
mod excerpt;
mod fault;
mod long_work;
mod opening;
mod output_file;
mod own_templates;
mod refusal;
mod source_files;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::{CommandFactory as _, FromArgMatches as _, Parser};

use console::Console;

/// Worksheets of small hydro power: computed, checked and explained.
#[derive(Parser)]
#[command(name = "forebay", version, after_help = EXIT_CODES, arg_required_else_help = true)]
struct Arguments {
    #[command(subcommand)]
    command: commands::Command,
}

const EXIT_CODES: &str = "\
Exit codes: 0 fine; 1 a check of level `stop` fails or cannot be told; 2 the sheet or the call is wrong, or a result cannot be computed, which goes before 1; 3 a fault \
of the program itself.

Figures are for planning: no result is a design release. Local codes and licensed practice come \
first.";

/// Carries out a command line, whose first word is the program's name, as a process of its own
/// does: writes to the standard outputs and gives the exit code. Help and mistakes in the call end
/// the process.
pub fn main_with(words: impl IntoIterator<Item = OsString>) -> ExitCode {
    let words: Vec<OsString> = words.into_iter().collect();
    fault::guarded(|| {
        let mut console = Console::new();
        let matches = command().term_width(console.options.width).get_matches_from(words);
        let arguments = Arguments::from_arg_matches(&matches).unwrap_or_else(|error| error.exit());
        match commands::run(&arguments.command, &mut console) {
            Ok(code) => code,
            Err(refusal) => {
                console.refuse(&refusal);
                ExitCode::from(2)
            }
        }
    })
}

/// The command line as it is declared, for listings of the commands.
#[must_use]
pub fn command() -> clap::Command {
    Arguments::command()
}
