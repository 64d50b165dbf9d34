//! `forebay compare`: cases of a sheet, or two sheets, side by side.

use std::process::ExitCode;

use clap::{Args, ValueEnum};
use forebay_report::{compare_csv, compare_json, compare_text};
use forebay_sheet::Sheet;
use forebay_study::compare;

use crate::console::Console;
use crate::opening::{Settings, open};
use crate::refusal::Refusal;

/// The name under which the sheet as written is compared with its cases.
const BASE: &str = "base";

/// Put cases of a sheet, or two sheets, side by side: only what differs
#[derive(Args)]
#[command(after_help = "Exit codes: 0 done; 2 a sheet or the call is wrong.")]
pub(crate) struct Arguments {
    /// A worksheet or a template's name
    file: String,
    /// Another one to hold against it
    #[arg(conflicts_with = "cases")]
    other: Option<String>,
    /// Cases of the sheet, as in base,bigger_pipe; `base` is the sheet as written
    #[arg(long, value_name = "CASES", value_delimiter = ',')]
    cases: Vec<String>,
    /// Give a known another value in every case, `--set "bore=250 mm"`; may be repeated
    #[arg(long, value_name = "NAME=VALUE")]
    set: Vec<String>,
    /// How to write it
    #[arg(long = "as", value_name = "FORMAT", default_value = "text")]
    format: Form,
}

/// How a comparison is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    Text,
    Csv,
    Json,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let sheets = sheets(arguments, console)?;
    let named: Vec<(&str, &Sheet)> =
        sheets.iter().map(|(label, sheet)| (label.as_str(), sheet)).collect();
    let compared = compare(&named);
    console.print(&match arguments.format {
        Form::Text => compare_text(&compared, &console.options),
        Form::Csv => compare_csv(&compared),
        Form::Json => compare_json(&compared),
    })?;
    let mut code = ExitCode::SUCCESS;
    for (_, sheet) in &sheets {
        if sheet.has_errors() {
            code = super::study::code(sheet, console);
        }
    }
    Ok(code)
}

fn sheets(arguments: &Arguments, console: &Console) -> Result<Vec<(String, Sheet)>, Refusal> {
    let opened = |file: &str, case: Option<&str>| -> Result<Sheet, Refusal> {
        let case = case.map(str::to_owned);
        let settings = Settings { set: arguments.set.clone(), case };
        Ok(open(Some(file), &settings, console)?.0)
    };
    if let Some(other) = &arguments.other {
        let files = [&arguments.file, other];
        return files.into_iter().map(|file| Ok((file.clone(), opened(file, None)?))).collect();
    }
    let mut cases: Vec<String> = arguments
        .cases
        .iter()
        .map(|case| case.trim().to_owned())
        .filter(|c| !c.is_empty())
        .collect();
    if cases.len() == 1 && cases[0] != BASE {
        cases.insert(0, BASE.to_owned());
    }
    if cases.len() < 2 {
        let sheet = opened(&arguments.file, None)?;
        let all: Vec<&str> = sheet.cases().map(|case| case.name.text.as_str()).collect();
        return Err(Refusal::new("what to compare the sheet with is not said").help(
            if all.is_empty() {
                "name another sheet, or add `cases` to this one".to_owned()
            } else {
                format!("name another sheet, or cases: --cases {BASE},{}", all.join(","))
            },
        ));
    }
    if arguments.file == "-" {
        return Err(Refusal::new(
            "cases are opened one after the other, which the standard input is not",
        )
        .help("save the sheet as a file"));
    }
    let has_base = |sheet: &Sheet| sheet.cases().any(|case| case.name.text == BASE);
    cases
        .into_iter()
        .map(|case| {
            let sheet =
                opened(&arguments.file, Some(&case).filter(|c| *c != BASE).map(String::as_str))?;
            // A case that bears the name is meant, should there be one.
            let sheet = if case == BASE && has_base(&sheet) {
                opened(&arguments.file, Some(BASE))?
            } else {
                sheet
            };
            Ok((case, sheet))
        })
        .collect()
}
