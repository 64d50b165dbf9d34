//! `forebay eval`: one formula, with or without the cells of a sheet.

use std::process::ExitCode;

use clap::Args;
use forebay_report::{answer_json, answer_text};
use forebay_sheet::{Diagnostic, Sheet};
use forebay_units::{Currency, Unit};

use super::form::TextOrJson;
use crate::console::Console;
use crate::diagnostics;
use crate::opening::{Settings, open};
use crate::refusal::Refusal;

/// Compute one formula, as in eval "3 m * 2 kN"
#[derive(Args)]
pub(crate) struct Arguments {
    /// The formula, written as in a sheet
    #[arg(allow_hyphen_values = true)]
    expression: String,
    /// The unit to show the result in
    #[arg(long = "in", value_name = "UNIT")]
    unit: Option<String>,
    /// A worksheet or a template whose cells the formula may use
    #[arg(long, value_name = "FILE")]
    with: Option<String>,
    #[command(flatten)]
    settings: Settings,
    /// How to write it
    #[arg(long = "as", value_name = "FORMAT", default_value = "text")]
    format: TextOrJson,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let unit = arguments.unit.as_deref().map(unit).transpose()?;
    let mut sheet = match &arguments.with {
        Some(file) => open(Some(file), &arguments.settings, console)?.0,
        None if arguments.settings.set.is_empty() && arguments.settings.case.is_none() => {
            empty_sheet(&arguments.expression, unit.as_ref())
        }
        None => {
            return Err(Refusal::new("there is no sheet in which something could be set")
                .help("name one: --with FILE"));
        }
    };
    let answer = match sheet.eval(&arguments.expression) {
        Ok(answer) => answer,
        Err(found) => {
            let found: Vec<&Diagnostic> = found.iter().collect();
            diagnostics::draw(&found, sheet.sources(), console.errors);
            return Err(Refusal::told());
        }
    };
    let Ok(text) = answer_text(&answer, unit.as_ref()) else {
        let wanted = arguments.unit.as_deref().unwrap_or_default();
        let measures = unit.map_or(String::new(), |unit| unit.dimension().to_string());
        let usual = answer.unit().map_or(String::new(), |unit| unit.symbol().to_owned());
        let refusal = Refusal::new(format!(
            "the result is {}, and `{wanted}` measures {measures}",
            answer.ty
        ));
        return Err(if usual.is_empty() {
            refusal
        } else {
            refusal.help(format!("try --in {usual}"))
        });
    };
    console.print(&match arguments.format {
        TextOrJson::Text => text,
        TextOrJson::Json => answer_json(&answer, unit.as_ref()),
    })?;
    let warnings: Vec<&Diagnostic> = answer.warnings.iter().collect();
    diagnostics::draw(&warnings, sheet.sources(), console.errors);
    Ok(ExitCode::SUCCESS)
}

fn unit(text: &str) -> Result<Unit, Refusal> {
    Unit::parse(text).map_err(|error| Refusal::new(format!("--in: {error}")).help(error.help()))
}

/// A sheet of nothing, in the currency that the formula counts in.
fn empty_sheet(expression: &str, unit: Option<&Unit>) -> Sheet {
    let symbol = unit.map_or("", Unit::symbol);
    let currency = [expression, symbol]
        .iter()
        .flat_map(|text| text.split(|letter: char| !letter.is_ascii_alphabetic()))
        .find_map(Currency::by_code);
    let currency = currency.map_or(String::new(), |c| format!("currency: {}\n", c.code()));
    Sheet::open(&format!("forebay: 1\n{currency}"))
}
