//! `forebay schema`: what an editor needs to know about worksheets.

use std::process::ExitCode;

use clap::{Args, ValueEnum};
use forebay_report::{format_page, schema_json};

use crate::console::Console;
use crate::refusal::Refusal;

/// Print the JSON Schema of worksheets, for an editor that checks YAML
///
/// Write it to a file and name that file in your editor's YAML settings, or in the first line of a
/// sheet: `# yaml-language-server: $schema=forebay.schema.json`. The schema sees keys and shapes;
/// formulas and units are checked by `forebay check`.
#[derive(Args)]
pub(crate) struct Arguments {
    /// Print the same as a schema, or as a page to read
    #[arg(long = "as", value_name = "FORMAT", value_enum, default_value_t = Form::Json)]
    form: Form,
}

/// How the format is told.
#[derive(Clone, Copy, ValueEnum)]
enum Form {
    /// JSON Schema, draft 2020-12
    Json,
    /// Tables in Markdown
    Markdown,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let text = match arguments.form {
        Form::Json => schema_json(),
        Form::Markdown => format_page(),
    };
    console.print(&text)?;
    Ok(ExitCode::SUCCESS)
}
