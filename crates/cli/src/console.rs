//! The terminal: its width, colour and letters, and writing that ends quietly when nobody reads.

use std::env;
use std::ffi::OsStr;
use std::io::{self, ErrorKind, IsTerminal as _, Write as _};

use forebay_report::{Letters, Options, visible};
use terminal_size::{Width, terminal_size_of};

use crate::refusal::Refusal;

/// What is taken where the terminal does not say.
const USUAL_WIDTH: usize = 80;
/// Longer lines are hard to read however wide the terminal is.
const WIDEST: usize = 100;
const NARROWEST: usize = 40;

/// The two outputs of the process.
pub(crate) struct Console {
    /// How texts on the standard output are laid out.
    pub(crate) options: Options,
    /// How diagnostics are drawn on the standard error.
    pub(crate) errors: Drawing,
    closed: bool,
}

/// How diagnostics are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Drawing {
    pub(crate) width: usize,
    pub(crate) colour: bool,
    /// Whether lines may be drawn with letters beyond ASCII.
    pub(crate) unicode: bool,
}

impl Console {
    pub(crate) fn new() -> Self {
        let colours = colours_wanted();
        Self {
            options: Options {
                width: width(terminal_size_of(io::stdout()).map(|(width, _)| width)),
                colour: colours && io::stdout().is_terminal(),
            },
            errors: Drawing {
                width: width(terminal_size_of(io::stderr()).map(|(width, _)| width)),
                colour: colours && io::stderr().is_terminal(),
                unicode: speaks_unicode(),
            },
            closed: false,
        }
    }

    /// Writes to the standard output. When nobody reads it any more, nothing is written and all
    /// is well.
    pub(crate) fn print(&mut self, text: &str) -> Result<(), Refusal> {
        if self.closed {
            return Ok(());
        }
        let mut out = io::stdout().lock();
        match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
            Ok(()) => Ok(()),
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.closed = true;
                Ok(())
            }
            Err(error) => Err(Refusal::new(format!("the result cannot be written: {error}"))),
        }
    }

    /// The letters that drawings on the standard output may use.
    pub(crate) fn letters(&self) -> Letters {
        if self.errors.unicode { Letters::Unicode } else { Letters::Ascii }
    }

    /// Whether the reader of the standard output has gone.
    pub(crate) fn is_closed(&self) -> bool {
        self.closed
    }

    /// Says why a command was not carried out.
    pub(crate) fn refuse(&self, refusal: &Refusal) {
        if refusal.message.is_empty() {
            return;
        }
        let mut text = format!("forebay: {}\n", visible(&refusal.message));
        if !refusal.help.is_empty() {
            text.push_str(&format!("  {}\n", visible(&refusal.help)));
        }
        tell(&text);
    }
}

/// Writes to the standard error; when nobody reads it there is nobody to tell.
pub(crate) fn tell(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}

fn width(terminal: Option<Width>) -> usize {
    // Some terminals say that they have no columns at all.
    let of_terminal =
        terminal.map(|Width(columns)| usize::from(columns)).filter(|columns| *columns > 0);
    let from_shell =
        || env::var("COLUMNS").ok()?.trim().parse().ok().filter(|columns| *columns > 0);
    of_terminal.or_else(from_shell).unwrap_or(USUAL_WIDTH).clamp(NARROWEST, WIDEST)
}

/// <https://no-color.org>: any text in `NO_COLOR` turns colours off.
fn colours_wanted() -> bool {
    let no = env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    !no && env::var_os("TERM").as_deref() != Some(OsStr::new("dumb"))
}

/// Whether the locale is one of UTF-8; POSIX asks these variables in this order. Elsewhere
/// terminals take Unicode without saying so.
fn speaks_unicode() -> bool {
    if !cfg!(unix) {
        return true;
    }
    let set = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .filter_map(env::var_os)
        .find(|value| !value.is_empty());
    set.is_some_and(|locale| {
        let locale = locale.to_string_lossy().to_uppercase();
        locale.contains("UTF-8") || locale.contains("UTF8")
    })
}
