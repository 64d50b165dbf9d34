//! The last net: a panic is a fault of the program and ends with a plain sentence.

use std::panic::{self, PanicHookInfo, UnwindSafe};
use std::process::ExitCode;

/// The exit code of a fault of the program itself.
const FAULT: u8 = 3;

/// Runs the program; a panic becomes a sentence and an exit code.
pub(crate) fn guarded(program: impl FnOnce() -> ExitCode + UnwindSafe) -> ExitCode {
    panic::set_hook(Box::new(|info| crate::console::tell(&sentence(info))));
    panic::catch_unwind(program).unwrap_or_else(|_| ExitCode::from(FAULT))
}

fn sentence(info: &PanicHookInfo<'_>) -> String {
    let payload = info.payload();
    let why = payload
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| payload.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("for an unknown reason");
    let place =
        info.location().map_or(String::new(), |at| format!(" ({}:{})", at.file(), at.line()));
    format!(
        "forebay: this is a fault of the program, not of your sheet. Nothing was written.\n\
         Please report it, with the sheet and the command that led to it:\n  {why}{place}\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_becomes_an_exit_code() {
        let code = guarded(|| panic!("a test of the last net"));
        let _ = panic::take_hook();
        assert_eq!(format!("{code:?}"), format!("{:?}", ExitCode::from(3)));
    }
}
