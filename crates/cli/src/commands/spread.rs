//! `forebay spread`: how uncertain results are.

use std::process::ExitCode;

use clap::{Args, ValueEnum};
use forebay_report::{spread_json, spread_text, visible};
use forebay_study::{budget, not_varied, sample, uncertain};

use super::study::{refused, see};
use crate::console::{Console, tell};
use crate::long_work::LongWork;
use crate::opening::{Settings, open};
use crate::refusal::Refusal;

/// Show how uncertain results are, which known is to blame, and how often each check fails
///
/// The knowns with `plus_minus` are varied, each independent of the others: to first order by the
/// law of propagation of uncertainty (JCGM 100), and by samples (JCGM 101). `plus_minus` is a
/// standard uncertainty unless the known says `distribution: rectangular` or `triangular`.
#[derive(Args)]
#[command(after_help = "Exit codes: 0 done; 2 the sheet or the call is wrong.")]
pub(crate) struct Arguments {
    /// A worksheet, a template's name, or `-` for the standard input
    file: String,
    /// The results to look at; the sheet's headline results if left out
    #[arg(long, value_name = "CELLS", value_delimiter = ',')]
    see: Vec<String>,
    /// How many samples to draw
    #[arg(long, value_name = "N", default_value = "10000")]
    samples: u64,
    /// Another seed gives other samples; the same one gives the same on every machine
    #[arg(long, value_name = "S", default_value = "1")]
    seed: u64,
    #[command(flatten)]
    settings: Settings,
    /// How to write it
    #[arg(long = "as", value_name = "FORMAT", default_value = "text")]
    format: Form,
}

/// How uncertainties are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    Text,
    Json,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let (mut sheet, ..) = open(Some(&arguments.file), &arguments.settings, console)?;
    let mut cells = see(&sheet, &arguments.see, console)?;
    if arguments.see.is_empty() {
        // Of the headline results those that are numbers.
        let number = |name: &String| {
            let ty = sheet.cell(name).and_then(|cell| cell.ty());
            ty.is_some_and(|ty| ty.dimension().is_some())
        };
        cells.retain(number);
    }
    let knowns = uncertain(&sheet).map_err(|fault| refused(fault, &sheet, console))?;
    let left_out = not_varied(&sheet);
    if !left_out.is_empty() {
        let names = left_out.join(", ");
        tell(&format!("not varied, because they are no single numbers: {}\n", visible(&names)));
    }
    let budgets = budget(&mut sheet, &cells);
    let budgets = budgets.map_err(|fault| refused(fault, &sheet, console))?;
    let mut work = LongWork::begin();
    let (count, seed) = (arguments.samples, arguments.seed);
    let samples =
        sample(&mut sheet, &cells, count, seed, &mut |done, total| work.go_on(done, total));
    drop(work);
    let samples = samples.map_err(|fault| refused(fault, &sheet, console))?;
    let (style, options) = (sheet.style(), &console.options);
    let text = match arguments.format {
        Form::Text => spread_text(sheet.title(), &knowns, &budgets, &samples, style, options),
        Form::Json => spread_json(&knowns, &budgets, &samples),
    };
    console.print(&text)?;
    Ok(super::study::code(&sheet, console))
}
