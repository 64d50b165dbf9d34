//! `forebay units`: the units that are read, and the words that are refused.

use std::process::ExitCode;

use clap::Args;
use forebay_report::units_listing;
use forebay_units::Unit;

use crate::console::Console;
use crate::refusal::Refusal;

/// List the units that are read, with their spellings and sources
#[derive(Args)]
pub(crate) struct Arguments {
    /// List only those in whose spelling, name or dimension this word appears
    word: Option<String>,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let text = units_listing(arguments.word.as_deref(), &console.options);
    if text.is_empty() {
        let word = arguments.word.as_deref().unwrap_or_default();
        let refusal = Refusal::new(format!("no unit and no kind of quantity is called `{word}`"));
        return Err(match Unit::parse(word) {
            Ok(_) => refusal,
            Err(error) => refusal.help(error.help()),
        });
    }
    console.print(&text)?;
    Ok(ExitCode::SUCCESS)
}
