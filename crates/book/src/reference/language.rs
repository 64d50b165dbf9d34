//! The functions of the worksheet language itself.

use forebay_sheet::language;

use super::Page;
use crate::markdown::{code, escaped, table};

pub(super) fn page() -> Page {
    let rows = language().map(|word| {
        let call = format!("{}({})", word.name, word.parameters.join(", "));
        vec![code(&call), escaped(word.about)]
    });
    let text = format!(
        "These belong to the language, as `+` and `sqrt` do; the formulas of the trade have \
         [pages of their own](formulas.md). An argument may be named, `sqrt(x = 9 m^2)`; where a \
         parameter ends in `…`, several values may follow. [The worksheet](../worksheet.md) shows \
         them at work.\n\n{}",
        table(&["function", "what it gives"], rows)
    );
    super::page("language", "The language's own functions", &text)
}
