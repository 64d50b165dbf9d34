//! `forebay solve`: the value of a known for which an equation holds.

use std::process::ExitCode;

use clap::Args;
use forebay_report::{solve_json, solve_text};
use forebay_study::solve;

use super::form::TextOrJson;
use super::study::refused;
use crate::console::Console;
use crate::long_work::LongWork;
use crate::opening::{Settings, open};
use crate::refusal::Refusal;

/// Find the value of a known for which an equation holds
///
/// All values between the bounds are found that a scan of 64 pieces shows. Where the equation has no
/// value, that is told.
#[derive(Args)]
#[command(
    after_help = "Exit codes: 0 one or several found; 1 none, or Ctrl-C ended the search; 2 the sheet or the call is wrong."
)]
pub(crate) struct Arguments {
    /// A worksheet, a template's name, or `-` for the standard input
    file: String,
    /// The known to find
    #[arg(long = "for", value_name = "KNOWN")]
    known: String,
    /// What must be true, such as "crest_pressure = 30 kPa_abs"
    #[arg(long, value_name = "EQUATION")]
    so: String,
    /// Where to look; the known's `between` if left out
    #[arg(long, num_args = 2, value_names = ["FROM", "TO"], allow_hyphen_values = true)]
    between: Vec<String>,
    #[command(flatten)]
    settings: Settings,
    /// How to write it
    #[arg(long = "as", value_name = "FORMAT", default_value = "text")]
    format: TextOrJson,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let (mut sheet, ..) = open(Some(&arguments.file), &arguments.settings, console)?;
    let between = match arguments.between.as_slice() {
        [from, to] => Some((from.as_str(), to.as_str())),
        _ => None,
    };
    let mut work = LongWork::begin();
    let solved = solve(&mut sheet, &arguments.known, &arguments.so, between, &mut |done, total| {
        work.go_on(done, total)
    });
    drop(work);
    let solved = solved.map_err(|fault| refused(fault, &sheet, console))?;
    console.print(&match arguments.format {
        TextOrJson::Text => solve_text(&solved, sheet.style(), &console.options),
        TextOrJson::Json => solve_json(&solved),
    })?;
    Ok(ExitCode::from(u8::from(solved.found.is_empty() || !solved.complete)))
}
