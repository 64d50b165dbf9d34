//! `forebay vary`: a sheet over a range or a list of one or two knowns.

use std::process::ExitCode;

use clap::{Args, ValueEnum};
use forebay_report::{vary_csv, vary_json, vary_svg, vary_text};
use forebay_study::{axis, vary};

use super::study::{code_of_part, refused, see};
use crate::console::Console;
use crate::long_work::LongWork;
use crate::opening::{Settings, open};
use crate::refusal::Refusal;

/// Compute a sheet over a range of one known, or over every pair of two
///
/// Rows in which a check fails name the gravest one. Ctrl-C ends the work and shows what there is,
/// marked as partial.
#[derive(Args)]
#[command(
    after_help = "Exit codes: 0 done; 1 Ctrl-C ended the work; 2 the sheet or the call is wrong."
)]
pub(crate) struct Arguments {
    /// A worksheet, a template's name, or `-` for the standard input
    file: String,
    /// The known and its values: "bore=150 mm..300 mm/31" (31 points), "bore=[150 mm, 200 mm]", or
    /// a table's column, "bore=pipes.bore"; once or twice
    #[arg(long, value_name = "KNOWN=VALUES", required = true)]
    over: Vec<String>,
    /// The cells to show; the sheet's headline results if left out
    #[arg(long, value_name = "CELLS", value_delimiter = ',')]
    see: Vec<String>,
    #[command(flatten)]
    settings: Settings,
    /// How to write it
    #[arg(long = "as", value_name = "FORMAT", default_value = "text")]
    format: Form,
}

/// How rows are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    Text,
    Csv,
    Json,
    /// One drawing of results that measure the same, over one known
    Svg,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    if arguments.over.len() > 2 {
        return Err(Refusal::new("more than two knowns cannot be varied at once")
            .help("write the rows into a table and use `forebay each`"));
    }
    let (mut sheet, ..) = open(Some(&arguments.file), &arguments.settings, console)?;
    let mut axes = Vec::new();
    for over in &arguments.over {
        let read = axis(&mut sheet, over);
        axes.push(read.map_err(|fault| refused(fault, &sheet, console))?);
    }
    // What is varied has a column already.
    let over: Vec<&str> = axes.iter().map(|axis| axis.known.as_str()).collect();
    let cells = see(&sheet, &arguments.see, &over, console)?;
    let mut work = LongWork::begin();
    let varied = vary(&mut sheet, axes, &cells, &mut |done, total| work.go_on(done, total));
    drop(work);
    let varied = varied.map_err(|fault| refused(fault, &sheet, console))?;
    console.print(&match arguments.format {
        Form::Text => {
            vary_text(sheet.title(), &varied, sheet.style(), console.letters(), &console.options)
        }
        Form::Csv => vary_csv(&varied),
        Form::Json => vary_json(&varied),
        Form::Svg => vary_svg(sheet.title(), &varied)
            .map_err(|why| Refusal::new(why).help("name one result with --see"))?,
    })?;
    let done = varied.rows.len() as u64;
    Ok(code_of_part(&sheet, console, (done, varied.total), "rows"))
}
