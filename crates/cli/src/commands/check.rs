//! `forebay check`: what is wrong in a sheet and how its checks stand, for people and for scripts.

use std::process::ExitCode;

use clap::Args;
use forebay_report::checks_text;

use crate::console::Console;
use crate::opening::{Settings, draw, open};
use crate::refusal::Refusal;

/// Show only what is wrong and how the checks stand
#[derive(Args)]
pub(crate) struct Arguments {
    /// A worksheet, a template's name, or `-` for the standard input; the first template if left
    /// out
    file: Option<String>,
    #[command(flatten)]
    settings: Settings,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let (sheet, ..) = open(arguments.file.as_deref(), &arguments.settings, console)?;
    console.print(&checks_text(&sheet, &console.options))?;
    draw(&sheet, console);
    Ok(super::code_of(&sheet))
}
