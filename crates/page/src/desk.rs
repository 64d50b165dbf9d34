//! What lies on the desk: the file as it was last read, and every open page that works with it.

use std::path::{Path, PathBuf};
use std::rc::Rc;

use forebay_sheet::Sheet;
use serde_json::{Value as Json, json};
use tokio::sync::Notify;

use crate::file::{NotWritten, replace_unchanged};
use crate::session::Session;

/// How many pages may be open at the same time. The one that was idle longest gives way; it opens
/// itself again with its unsaved values when it is used.
const MOST_SESSIONS: usize = 16;

/// The file of a page, and how the caller reads and opens it.
pub trait Files {
    /// The file that is shown and, when the user saves, written.
    fn path(&self) -> &Path;

    /// What it is called.
    fn name(&self) -> &str;

    /// Its text now.
    ///
    /// # Errors
    /// Why it cannot be had, in a few words.
    fn read(&self) -> Result<String, String>;

    /// The sheet of a text, and the files that it asked for beside itself.
    fn open(&self, text: &str) -> (Sheet, Vec<PathBuf>);
}

/// The file and the pages that show it.
pub(crate) struct Desk {
    files: Box<dyn Files>,
    /// What the file held when it was last read.
    text: String,
    /// What the sheet reads beside itself.
    beside: Vec<PathBuf>,
    /// Counts the states of the file.
    version: u64,
    /// Why the file cannot be read at the moment.
    problem: Option<String>,
    bell: Rc<Notify>,
    /// The one used last is the last one.
    sessions: Vec<(u64, Session)>,
    next: u64,
}

/// What became of writing the file.
pub(crate) enum Written {
    /// It holds the new text.
    Done,
    /// Somebody else has changed it; it was left as it is.
    Changed,
    /// The system refused.
    Failed(String),
}

impl Desk {
    pub(crate) fn new(files: Box<dyn Files>) -> Result<Self, String> {
        let text = files.read()?;
        let (_, beside) = files.open(&text);
        let bell = Rc::new(Notify::new());
        let problem = None;
        Ok(Self { files, text, beside, version: 1, problem, bell, sessions: Vec::new(), next: 1 })
    }

    pub(crate) fn version(&self) -> u64 {
        self.version
    }

    /// Rings when something is new.
    pub(crate) fn bell(&self) -> Rc<Notify> {
        Rc::clone(&self.bell)
    }

    /// What a waiting page is told.
    pub(crate) fn news(&self) -> Json {
        json!({ "version": self.version, "problem": self.problem })
    }

    pub(crate) fn file_name(&self) -> &str {
        self.files.name()
    }

    /// The files whose change is news; the sheet's own is the first.
    pub(crate) fn watched(&self) -> Vec<PathBuf> {
        let mut files = vec![self.files.path().to_owned()];
        files.extend(self.beside.iter().cloned());
        files
    }

    /// Reads the file again. `beside` says that another file has changed, so that the sheet may be
    /// another one with the same text.
    pub(crate) fn look_again(&mut self, beside: bool) {
        match self.files.read() {
            Ok(text) => {
                if !beside && self.problem.is_none() && text == self.text {
                    return;
                }
                self.problem = None;
                self.text = text;
                self.beside = self.files.open(&self.text).1;
            }
            Err(why) => self.problem = Some(format!("{}: {why}", self.files.name())),
        }
        self.ring();
    }

    fn ring(&mut self) {
        self.version += 1;
        self.bell.notify_waiters();
    }

    /// The file's text and the sheet of it.
    pub(crate) fn opened(&self) -> (Sheet, String) {
        (self.files.open(&self.text).0, self.text.clone())
    }

    /// The sheet of a text that the file has or had.
    pub(crate) fn sheet_of(&self, text: &str) -> Sheet {
        self.files.open(text).0
    }

    /// Writes the file, if it still holds what the page has seen.
    pub(crate) fn write(&mut self, seen: &str, text: &str) -> Written {
        match replace_unchanged(self.files.path(), seen, text) {
            Ok(()) => {
                self.text = text.to_owned();
                self.problem = None;
                self.ring();
                Written::Done
            }
            Err(NotWritten::Changed) => {
                self.look_again(false);
                Written::Changed
            }
            Err(NotWritten::Failed(error)) => Written::Failed(error.to_string()),
        }
    }

    /// Takes a new page on the desk and gives its number.
    pub(crate) fn add(&mut self, session: Session) -> u64 {
        if self.sessions.len() >= MOST_SESSIONS {
            self.sessions.remove(0);
        }
        let number = self.next;
        self.next += 1;
        self.sessions.push((number, session));
        number
    }

    /// Takes a page off the desk to work with it; it is put back with [`put_back`](Self::put_back).
    pub(crate) fn take(&mut self, number: u64) -> Option<Session> {
        let at = self.sessions.iter().position(|(other, _)| *other == number)?;
        Some(self.sessions.remove(at).1)
    }

    /// Puts a page back; it was used last.
    pub(crate) fn put_back(&mut self, number: u64, session: Session) {
        self.sessions.push((number, session));
    }
}
