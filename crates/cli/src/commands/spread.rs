//! `forebay spread`: how uncertain results are.

use std::process::ExitCode;

use clap::Args;
use forebay_report::{spread_json, spread_text, visible};
use forebay_sheet::Tied;
use forebay_study::{NotVaried, Sampling, budget, not_varied, sample, uncertain};

use super::form::TextOrJson;
use super::study::{code_of_part, refused, see};
use crate::console::{Console, tell};
use crate::long_work::LongWork;
use crate::opening::{Settings, open};
use crate::refusal::Refusal;

/// Show how uncertain results are, which known is to blame, and how often each check fails
///
/// The knowns with `plus_minus` are varied, each independent of the others unless `tied` says
/// otherwise: to first order by the law of propagation of uncertainty (JCGM 100), and by samples
/// (JCGM 101). `plus_minus` is a standard uncertainty unless the known says `distribution:
/// rectangular` or `triangular`. `degrees_of_freedom` beside it says how well it is known itself
/// (for the mean of n readings: n - 1), and widens what is said of the result.
#[derive(Args)]
#[command(
    after_help = "Exit codes: 0 done; 1 Ctrl-C ended the work; 2 the sheet or the call is wrong."
)]
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
    /// The share of all cases that the expanded uncertainty and the two quantiles enclose
    #[arg(long, value_name = "SHARE", default_value = "95 %", value_parser = coverage)]
    coverage: f64,
    #[command(flatten)]
    settings: Settings,
    /// How to write it
    #[arg(long = "as", value_name = "FORMAT", default_value = "text")]
    format: TextOrJson,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let (mut sheet, ..) = open(Some(&arguments.file), &arguments.settings, console)?;
    let mut cells = see(&sheet, &arguments.see, &[], console)?;
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
    for NotVaried { known, why } in &left_out {
        tell(&format!("`{}` is not varied: {why}\n", visible(known)));
    }
    let budgets = budget(&mut sheet, &cells);
    let budgets = budgets.map_err(|fault| refused(fault, &sheet, console))?;
    let mut work = LongWork::begin();
    let sampling =
        Sampling { samples: arguments.samples, seed: arguments.seed, coverage: arguments.coverage };
    let samples = sample(&mut sheet, &cells, sampling, &mut |done, total| work.go_on(done, total));
    drop(work);
    let samples = samples.map_err(|fault| refused(fault, &sheet, console))?;
    let ties: &[Tied] = sheet.correlations().map_or(&[], |correlations| correlations.ties());
    let (style, options) = (sheet.style(), &console.options);
    let text = match arguments.format {
        TextOrJson::Text => {
            spread_text(sheet.title(), &knowns, ties, &budgets, &samples, style, options)
        }
        TextOrJson::Json => spread_json(&knowns, ties, &budgets, &samples),
    };
    console.print(&text)?;
    Ok(code_of_part(&sheet, console, (samples.drawn, samples.wanted), "samples"))
}

/// `95 %`, or the same as a number below 1.
fn coverage(text: &str) -> Result<f64, String> {
    let percent = text.trim().strip_suffix('%');
    let number = percent.unwrap_or(text).trim().parse::<f64>().map_err(|why| why.to_string())?;
    let share = if percent.is_some() { number / 100.0 } else { number };
    if share > 0.0 && share < 1.0 {
        Ok(share)
    } else {
        Err("say a share between 0 and 1, such as `95 %`".to_owned())
    }
}
