//! Looks at the file a few times a second, so that an editor's save is seen.
//!
//! Looking needs no library and sees an editor that replaces the file as well as one that writes
//! into it.

use std::cell::RefCell;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use tokio::time::sleep;

use crate::desk::Desk;

/// How often the files are looked at.
const LOOK: Duration = Duration::from_millis(150);
/// A file that is being written is read when it has been left alone for so long.
const SETTLE: Duration = Duration::from_millis(40);

/// What tells one state of a file from another; `None` while it is not there.
type Stamp = Option<(SystemTime, u64)>;

/// Watches for ever; the desk rings the bell when something is new.
pub(crate) async fn watch(desk: &RefCell<Desk>) {
    let mut files = desk.borrow().watched();
    let mut before = stamps(&files);
    loop {
        sleep(LOOK).await;
        // What a sheet reads beside itself may have changed with it.
        let watched = desk.borrow().watched();
        if watched != files {
            files = watched;
            before = stamps(&files);
        }
        let mut now = stamps(&files);
        if now == before {
            continue;
        }
        let first = before;
        loop {
            before = now;
            sleep(SETTLE).await;
            now = stamps(&files);
            if now == before {
                break;
            }
        }
        desk.borrow_mut().look_again(now[1..] != first[1..]);
    }
}

fn stamps(files: &[PathBuf]) -> Vec<Stamp> {
    files.iter().map(|file| stamp(file)).collect()
}

fn stamp(file: &Path) -> Stamp {
    let metadata = fs::metadata(file).ok()?;
    Some((metadata.modified().ok()?, metadata.len()))
}
