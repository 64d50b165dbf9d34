//! `forebay report`: the whole job on paper, from its summary to its sources.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;
use clap::builder::PossibleValuesParser;
use forebay_report::{FORMATS, format};

use crate::console::{Console, tell};
use crate::opening::{Settings, draw, open};
use crate::output_file::write_out;
use crate::refusal::Refusal;
use crate::source_files::Found;

/// Write a report: summary, what is known, working, checks, drawings and sources
///
/// The page needs nothing beside itself and prints well; a browser makes a PDF of it.
#[derive(Args)]
#[command(after_help = "Exit codes as of `forebay run`: 1 a check of level `stop` fails; 2 the \
                        sheet or the call is wrong. The report is written all the same.")]
pub(crate) struct Arguments {
    /// A worksheet, a template's name, or `-` for the standard input
    file: String,
    /// The file to write; the standard output if left out
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "output")]
    replace: bool,
    #[command(flatten)]
    settings: Settings,
    /// How to write it; html if left out, or what the name of the output file ends in
    #[arg(long = "as", value_name = "FORMAT", value_parser = formats())]
    format: Option<String>,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let output = arguments.output.as_deref();
    let (mut sheet, found, _) = open(Some(&arguments.file), &arguments.settings, console)?;
    if let Some(file) = output {
        not_itself(file, &found)?;
    }
    let name = match (arguments.format.as_deref(), output) {
        (Some(name), _) => name,
        (None, Some(file)) => ending(file)?,
        (None, None) => "html",
    };
    let format =
        format(name).ok_or_else(|| Refusal::new(format!("there is no format `{name}`")))?;
    let text = (format.write)(&mut sheet, &console.options);
    match output {
        Some(file) => {
            write_out(file, &text, arguments.replace)?;
            tell(&format!("wrote {}\n", file.display()));
        }
        None => console.print(&text)?,
    }
    draw(&sheet, console);
    Ok(super::code_of(&sheet))
}

/// The format that a file's name asks for; a page where it has no ending.
fn ending(file: &Path) -> Result<&'static str, Refusal> {
    let Some(ending) = file.extension() else { return Ok("html") };
    Ok(match ending.to_str().unwrap_or_default() {
        "html" | "htm" => "html",
        "md" => "markdown",
        "csv" => "csv",
        "json" => "json",
        "txt" => "text",
        "pdf" => {
            return Err(Refusal::new("a PDF is not written directly")
                .help("write report.html, open it in a browser and print it to a PDF"));
        }
        _ => {
            return Err(Refusal::new(format!("the ending of `{}` is no format", file.display()))
                .help("end it in .html, .md, .csv, .json or .txt, or say the format with --as"));
        }
    })
}

/// A report never takes the place of the sheet that it is of.
fn not_itself(file: &Path, found: &Found) -> Result<(), Refusal> {
    let real = |path: &Path| fs::canonicalize(path).ok();
    let same = found.path.as_deref().and_then(real).is_some_and(|sheet| real(file) == Some(sheet));
    if !same {
        return Ok(());
    }
    Err(Refusal::new(format!("`{}` is the sheet itself", file.display()))
        .help("give the report another name, such as report.html"))
}

fn formats() -> PossibleValuesParser {
    PossibleValuesParser::new(
        FORMATS.iter().map(|f| clap::builder::PossibleValue::new(f.name).help(f.about)),
    )
}
