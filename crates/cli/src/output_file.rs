//! Writes what a command made into the file that was asked for, and never over one that is there
//! unless told to.

use std::fs::{self, OpenOptions};
use std::io;
use std::path::Path;

use forebay_page::replace;

use crate::refusal::Refusal;

/// Writes the file in one step, so that it is whole or not there. One that is there stays as it is
/// unless it may be replaced.
pub(crate) fn write_out(file: &Path, text: &str, over: bool) -> Result<(), Refusal> {
    let shown = file.display();
    let written = if over { replace(file, text) } else { new_file(file, text) };
    written.map_err(|error| {
        if error.kind() == io::ErrorKind::AlreadyExists {
            Refusal::new(format!("`{shown}` is there already and was left as it is"))
                .help("choose another name, or say --replace")
        } else {
            Refusal::new(format!("`{shown}` cannot be written: {error}"))
        }
    })
}

/// Takes the name first, so that nobody's file is lost between looking and writing.
fn new_file(file: &Path, text: &str) -> io::Result<()> {
    drop(OpenOptions::new().write(true).create_new(true).open(file)?);
    let written = replace(file, text);
    if written.is_err() {
        let _ = fs::remove_file(file);
    }
    written
}
