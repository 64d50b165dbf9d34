//! What the commands that study a sheet have in common: which cells are seen, and refusals.

use std::process::ExitCode;

use forebay_sheet::{Diagnostic, Severity, Sheet};
use forebay_study::{Fault, seen_by_default};

use crate::console::{Console, tell};
use crate::diagnostics;
use crate::refusal::Refusal;

/// The cells named on the command line, or else the sheet's headline results without those that are
/// there already.
pub(super) fn see(
    sheet: &Sheet,
    named: &[String],
    there: &[&str],
    console: &Console,
) -> Result<Vec<String>, Refusal> {
    let named: Vec<String> =
        named.iter().map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()).collect();
    if named.is_empty() {
        return seen_by_default(sheet, there).map_err(|fault| refused(fault, sheet, console));
    }
    Ok(named)
}

/// A fault of a study as a refusal; what the sheet says is drawn with its places.
pub(super) fn refused(fault: Fault, sheet: &Sheet, console: &Console) -> Refusal {
    match fault {
        Fault::Call { message, help } => {
            draw_errors(sheet, console);
            Refusal::new(message).help(help)
        }
        Fault::Refused(diagnostics) => {
            let all: Vec<&Diagnostic> = diagnostics.iter().collect();
            diagnostics::draw(&all, sheet.sources(), console.errors);
            Refusal::told()
        }
    }
}

/// The same for work that may have been stopped: where it was, that is told on the standard error too,
/// since a table or a drawing has no place for it, and the code is 1 instead of 0.
pub(super) fn code_of_part(
    sheet: &Sheet,
    console: &Console,
    (done, total): (u64, u64),
    what: &str,
) -> ExitCode {
    let code = code(sheet, console);
    if done == total {
        return code;
    }
    tell(&format!("partial: stopped by Ctrl-C after {done} of {total} {what}\n"));
    if sheet.has_errors() { code } else { ExitCode::from(1) }
}

/// 0, or 2 with the errors drawn for a sheet that is wrong somewhere as it is written.
pub(super) fn code(sheet: &Sheet, console: &Console) -> ExitCode {
    draw_errors(sheet, console);
    if sheet.has_errors() { ExitCode::from(2) } else { ExitCode::SUCCESS }
}

fn draw_errors(sheet: &Sheet, console: &Console) {
    let errors: Vec<&Diagnostic> =
        sheet.diagnostics().into_iter().filter(|d| d.code.severity == Severity::Error).collect();
    diagnostics::draw(&errors, sheet.sources(), console.errors);
}
