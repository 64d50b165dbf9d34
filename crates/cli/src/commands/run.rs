//! `forebay run`: computes a sheet and writes it out; with `--watch` again after every change.

mod watch;

use std::process::ExitCode;

use clap::Args;
use clap::builder::PossibleValuesParser;
use forebay_report::{FORMATS, Format, format};

use crate::console::Console;
use crate::opening::{Settings, draw, open};
use crate::refusal::Refusal;

/// Compute a sheet and show every value and check
#[derive(Args)]
pub(crate) struct Arguments {
    /// A worksheet, a template's name, or `-` for the standard input; the first template if left
    /// out
    file: Option<String>,
    #[command(flatten)]
    settings: Settings,
    /// How to write it
    #[arg(long = "as", value_name = "FORMAT", default_value = "text", value_parser = formats())]
    format: String,
    /// Compute again when the file, or one that it uses, changes, and show what changed; Ctrl-C
    /// ends it
    #[arg(long)]
    watch: bool,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let format = chosen(&arguments.format)?;
    if arguments.watch {
        return watch::run(arguments, format, console);
    }
    let (mut sheet, ..) = open(arguments.file.as_deref(), &arguments.settings, console)?;
    console.print(&(format.write)(&mut sheet, &console.options))?;
    // In JSON the diagnostics are part of the document.
    if format.name == "text" {
        draw(&sheet, console);
    }
    Ok(super::code_of(&sheet))
}

/// The format of a name that the command line has let through.
fn chosen(name: &str) -> Result<&'static Format, Refusal> {
    format(name).ok_or_else(|| Refusal::new(format!("there is no format `{name}`")))
}

fn formats() -> PossibleValuesParser {
    PossibleValuesParser::new(
        FORMATS.iter().map(|f| clap::builder::PossibleValue::new(f.name).help(f.about)),
    )
}
