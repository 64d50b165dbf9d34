//! Why a command was not carried out, when the call itself is to blame.

/// A message with its way out. The exit code is 2.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Refusal {
    pub(crate) message: String,
    /// Empty where the message says all, or where diagnostics have said it.
    pub(crate) help: String,
}

impl Refusal {
    pub(crate) fn new(message: impl Into<String>) -> Self {
        Self { message: message.into(), help: String::new() }
    }

    /// Diagnostics have been printed and say it all.
    pub(crate) fn told() -> Self {
        Self::new("")
    }

    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = help.into();
        self
    }
}
