//! `forebay working`: how a number came about.

use std::process::ExitCode;

use clap::Args;
use forebay_report::{working_json, working_text};

use super::form::TextOrJson;
use crate::console::Console;
use crate::opening::{Settings, draw, open};
use crate::refusal::Refusal;

/// Explain a number: formula, numbers put in, result, source, and what it rests on
#[derive(Args)]
pub(crate) struct Arguments {
    /// A worksheet, a template's name, or `-` for the standard input
    file: String,
    /// The cell or check
    name: String,
    /// How many steps back: a number, or `all`
    #[arg(long, value_name = "N", default_value = "1", value_parser = depth)]
    depth: usize,
    #[command(flatten)]
    settings: Settings,
    /// How to write it
    #[arg(long = "as", value_name = "FORMAT", default_value = "text")]
    format: TextOrJson,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let (sheet, ..) = open(Some(&arguments.file), &arguments.settings, console)?;
    let (name, depth) = (&arguments.name, arguments.depth);
    let text = match arguments.format {
        TextOrJson::Text => working_text(&sheet, name, depth, &console.options),
        TextOrJson::Json => working_json(&sheet, name, depth),
    };
    let Some(text) = text else {
        draw(&sheet, console);
        let refusal = Refusal::new(format!("the sheet has no cell and no check `{name}`"));
        let near = forebay_units::nearest(name, sheet.cells().map(|cell| cell.name()));
        return Err(match near.first() {
            Some(near) => refusal.help(format!("did you mean `{near}`?")),
            None => refusal.help("`forebay run FILE` shows the names of all cells"),
        });
    };
    console.print(&text)?;
    let explained = sheet.cell(name);
    if explained.is_some_and(|cell| cell.value().is_none()) {
        draw(&sheet, console);
        return Ok(ExitCode::from(2));
    }
    Ok(ExitCode::SUCCESS)
}

fn depth(text: &str) -> Result<usize, String> {
    if text == "all" {
        return Ok(usize::MAX);
    }
    text.parse().map_err(|_| "a whole number, or `all`".to_owned())
}
