//! `--watch`: looks at the sheet's files a few times a second and computes again when one changes.
//!
//! Looking needs no library and sees an editor that replaces the file as well as one that writes
//! into it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::thread::sleep;
use std::time::{Duration, SystemTime};

use forebay_report::{Format, Reading, changes, readings};
use forebay_sheet::Sheet;

use super::Arguments;
use crate::console::{Console, tell};
use crate::opening::{draw, opened};
use crate::refusal::Refusal;
use crate::source_files::{Beside, Found, find, read};

/// How often the files are looked at.
const LOOK: Duration = Duration::from_millis(150);
/// A file that is being written is read when it has been left alone for so long.
const SETTLE: Duration = Duration::from_millis(40);

/// What tells one state of a file from another; `None` while it is not there.
type Stamp = Option<(SystemTime, u64)>;

pub(super) fn run(
    arguments: &Arguments,
    format: &Format,
    console: &mut Console,
) -> Result<ExitCode, Refusal> {
    let mut found = find(arguments.file.as_deref())?;
    let Some(path) = found.path.clone() else {
        return Err(Refusal::new("only a file can be watched")
            .help("`forebay new NAME -o FILE` makes a file of a template"));
    };
    let mut beside = found.beside();
    // Taken before computing, so that a change meanwhile is not missed.
    let mut stamps = stamps(&path, &[]);
    let mut sheet = opened(&found, &beside, &arguments.settings, console)?;
    console.print(&(format.write)(&mut sheet, &console.options))?;
    draw_unless_within(format, &sheet, console);
    let mut last = readings(&sheet);
    let mut files = beside.asked();
    stamps.extend(files.iter().map(|file| stamp(file)));
    tell(&format!("watching {}; Ctrl-C ends it\n", found.name));
    while !console.is_closed() {
        sleep(LOOK);
        let now = self::stamps(&path, &files);
        if now == stamps {
            continue;
        }
        stamps = settled(&path, &files, now);
        match read(&path) {
            Ok(text) => found.text = text,
            Err(why) => {
                tell(&format!("{}: {why}; waiting for it\n", found.name));
                continue;
            }
        }
        beside = found.beside();
        again(arguments, format, console, &found, &beside, &mut last)?;
        if beside.asked() != files {
            files = beside.asked();
            stamps = self::stamps(&path, &files);
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// Computes the sheet again and shows what changed since it was last whole.
fn again(
    arguments: &Arguments,
    format: &Format,
    console: &mut Console,
    found: &Found,
    beside: &Beside,
    last: &mut Vec<Reading>,
) -> Result<(), Refusal> {
    // What cannot be set now may be there again after the next change: it has been told.
    let Ok(mut sheet) = opened(found, beside, &arguments.settings, console) else { return Ok(()) };
    let whole = !sheet.has_errors();
    if format.name != "text" {
        console.print(&(format.write)(&mut sheet, &console.options))?;
    } else if whole {
        console.print(&changes(last, &sheet, &console.options))?;
    }
    draw_unless_within(format, &sheet, console);
    if whole {
        *last = readings(&sheet);
    } else {
        tell("the sheet is broken; changes are shown when it is whole again\n");
    }
    Ok(())
}

fn draw_unless_within(format: &Format, sheet: &Sheet, console: &Console) {
    if format.name == "text" {
        draw(sheet, console);
    }
}

/// The stamps once nothing changes any more.
fn settled(path: &Path, files: &[PathBuf], mut before: Vec<Stamp>) -> Vec<Stamp> {
    loop {
        sleep(SETTLE);
        let now = stamps(path, files);
        if now == before {
            return now;
        }
        before = now;
    }
}

fn stamps(path: &Path, files: &[PathBuf]) -> Vec<Stamp> {
    std::iter::once(path).chain(files.iter().map(PathBuf::as_path)).map(stamp).collect()
}

fn stamp(file: &Path) -> Stamp {
    let metadata = fs::metadata(file).ok()?;
    Some((metadata.modified().ok()?, metadata.len()))
}
