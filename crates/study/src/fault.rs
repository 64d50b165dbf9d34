//! Why a study cannot be done.

use std::fmt;

use forebay_sheet::Diagnostic;

/// Why a study cannot be done.
#[derive(Clone, Debug)]
pub enum Fault {
    /// The call is wrong.
    Call {
        /// What is wrong.
        message: String,
        /// The way out; may be empty.
        help: String,
    },
    /// The sheet refuses what was put to it; the places lie in the sheet's sources.
    Refused(Vec<Diagnostic>),
}

impl Fault {
    /// A call that is wrong.
    pub(crate) fn call(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Call { message: message.into(), help: help.into() }
    }

    /// The name that is no cell, with the nearest one that is.
    pub(crate) fn no_such<'a>(
        what: &str,
        name: &str,
        names: impl Iterator<Item = &'a str>,
    ) -> Self {
        let near = forebay_units::nearest(name, names).first().copied();
        let help = near.map_or_else(
            || "`forebay run FILE` shows the names of all cells".to_owned(),
            |near| format!("did you mean `{near}`?"),
        );
        Self::call(format!("the sheet has no {what} `{name}`"), help)
    }
}

impl From<Box<Diagnostic>> for Fault {
    fn from(diagnostic: Box<Diagnostic>) -> Self {
        Self::Refused(vec![*diagnostic])
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Call { message, .. } => f.write_str(message),
            Self::Refused(diagnostics) => {
                let all: Vec<&str> = diagnostics.iter().map(|d| d.message.as_str()).collect();
                f.write_str(&all.join("; "))
            }
        }
    }
}

impl std::error::Error for Fault {}
