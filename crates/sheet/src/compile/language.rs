//! The functions of the worksheet language, for listings and completion.

use super::builtins::BUILTINS;

/// A function of the language itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Word {
    /// Its name.
    pub name: &'static str,
    /// Its parameters.
    pub parameters: &'static [&'static str],
    /// What it gives.
    pub about: &'static str,
}

/// All functions of the language itself; the formulas are in `forebay_formulas`.
pub fn language() -> impl Iterator<Item = Word> {
    BUILTINS.iter().map(|b| Word { name: b.name, parameters: b.parameters, about: b.about })
}
