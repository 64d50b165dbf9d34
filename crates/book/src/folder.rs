//! The folder in which the sheets and commands of one chapter work, as a reader's own folder.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use forebay_sheet::{Loader, Sheet};
use tempfile::TempDir;

/// An empty folder, and beside it an empty home, both removed in the end.
#[derive(Debug)]
pub(crate) struct Folder {
    _whole: TempDir,
    path: PathBuf,
    home: PathBuf,
}

impl Folder {
    pub(crate) fn new() -> io::Result<Self> {
        let whole = TempDir::new()?;
        // The real path, so that it is found again in what a command writes.
        let real = whole.path().canonicalize()?;
        let (path, home) = (real.join("work"), real.join("home"));
        fs::create_dir(&path)?;
        fs::create_dir(&home)?;
        Ok(Self { _whole: whole, path, home })
    }

    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    pub(crate) fn home(&self) -> &Path {
        &self.home
    }

    /// Writes a file of a plain name.
    pub(crate) fn write(&self, name: &str, text: &str) -> Result<(), String> {
        if name.contains(['/', '\\', ':']) || name.starts_with('.') {
            return Err(format!("`{name}` is no plain file name"));
        }
        fs::write(self.path.join(name), text).map_err(|why| format!("`{name}`: {why}"))
    }

    /// A sheet that may read the other files of the folder.
    pub(crate) fn sheet(&self, name: &str, text: &str) -> Sheet {
        Sheet::open_with(name, text, self)
    }
}

impl Loader for Folder {
    fn load(&self, name: &str) -> Result<String, String> {
        fs::read_to_string(self.path.join(name)).map_err(|_| format!("`{name}` is not there"))
    }
}
