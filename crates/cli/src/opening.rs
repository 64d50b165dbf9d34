//! Opens the sheet that a command names, with what is set from the command line.

use clap::Args;
use forebay_sheet::{Diagnostic, Severity, Sheet, Trouble};

use crate::console::Console;
use crate::diagnostics;
use crate::refusal::Refusal;
use crate::source_files::{Beside, Found, find};

/// What may be changed in a sheet from the command line.
#[derive(Args, Clone, Debug, Default)]
pub(crate) struct Settings {
    /// Give a known another value, `--set "bore=250 mm"`; may be repeated
    #[arg(long, value_name = "NAME=VALUE")]
    pub(crate) set: Vec<String>,
    /// Take the values of one of the sheet's cases; `--set` has the last word
    #[arg(long, value_name = "NAME")]
    pub(crate) case: Option<String>,
}

/// The sheet of this name, with the settings in force.
pub(crate) fn open(
    file: Option<&str>,
    settings: &Settings,
    console: &Console,
) -> Result<(Sheet, Found, Beside), Refusal> {
    let found = find(file)?;
    let beside = found.beside();
    let sheet = opened(&found, &beside, settings, console)?;
    Ok((sheet, found, beside))
}

/// A sheet from its text, with the settings in force.
pub(crate) fn opened(
    found: &Found,
    beside: &Beside,
    settings: &Settings,
    console: &Console,
) -> Result<Sheet, Refusal> {
    let mut sheet = Sheet::open_with(&found.name, &found.text, beside);
    apply(&mut sheet, settings, console)?;
    Ok(sheet)
}

/// Draws what is wrong or doubtful in a sheet, and what of it cannot be drawn.
pub(crate) fn draw(sheet: &Sheet, console: &Console) {
    let drawings = sheet.drawings();
    let mut all = sheet.diagnostics();
    all.extend(drawings.iter().filter_map(|drawing| match &drawing.trouble {
        Some(Trouble::Failed(why)) => Some(&**why),
        _ => None,
    }));
    diagnostics::draw(&all, sheet.sources(), console.errors);
}

/// Sets what the command line says. Everything that is refused is told; nothing is shown then,
/// because results of other values than those asked for would mislead.
fn apply(sheet: &mut Sheet, settings: &Settings, console: &Console) -> Result<(), Refusal> {
    let mut refused: Vec<Diagnostic> = Vec::new();
    if let Some(case) = &settings.case {
        refused.extend(sheet.use_case(case).err().map(|refusal| *refusal));
    }
    for set in &settings.set {
        let Some((name, value)) = set.split_once('=') else {
            return Err(Refusal::new(format!("`--set {set}` has no `=`"))
                .help("write --set \"name=value\", such as --set \"bore=250 mm\""));
        };
        refused.extend(sheet.set(name.trim(), value.trim()).err().map(|refusal| *refusal));
    }
    if refused.is_empty() {
        return Ok(());
    }
    // A name may be missing because the sheet is broken: that is said first.
    let mut all: Vec<&Diagnostic> = sheet
        .diagnostics()
        .into_iter()
        .filter(|diagnostic| diagnostic.code.severity == Severity::Error)
        .collect();
    all.extend(&refused);
    diagnostics::draw(&all, sheet.sources(), console.errors);
    Err(Refusal::told())
}
