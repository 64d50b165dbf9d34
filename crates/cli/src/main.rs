//! The `forebay` binary.

use std::process::ExitCode;

fn main() -> ExitCode {
    forebay_cli::main_with(std::env::args_os())
}
