//! Every kind of diagnostic: what it means, a sheet that provokes it, and how it is mended.

use std::fs;
use std::path::Path;

use forebay_sheet::{Code, Severity};

use super::{Page, page as written};
use crate::command_line;
use crate::folder::Folder;
use crate::markdown::{escaped, fenced};

/// Where the sheets are that provoke each kind, as `NAME.yaml`.
const SHEETS: &str = "crates/book/examples/errors";

/// What only a mistake of the program itself can bring about.
const NO_SHEET: &str = "script";

pub(super) fn page(root: &Path) -> Result<Page, String> {
    let mut text = "What Forebay may say of a sheet, in the order in which a sheet is worked on: \
         reading, formulas, dimensions, the order of the cells, and values. Each has a small sheet \
         that provokes it, run when this book was built.\n\n\
         An **error** leaves one cell without a value; everything that does not depend on it is \
         computed all the same. A **warning** stands beside a value that is doubtful.\n"
        .to_owned();
    for code in Code::ALL {
        let severity = match code.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        };
        text.push_str(&format!(
            "\n## {}\n\n*{severity}.* {}\n\n{}\n**What to do:** {}\n",
            code.name,
            escaped(code.about),
            example(root, code)?,
            escaped(code.mend),
        ));
    }
    Ok(written("errors", "Every error, and how it is mended", &text))
}

/// The sheet that provokes a kind, and what is said of it.
fn example(root: &Path, code: &Code) -> Result<String, String> {
    if code.name == NO_SHEET {
        return Ok("No sheet is known that provokes this. If yours does, it is a mistake of the \
                   program: please report it.\n"
            .to_owned());
    }
    let file = format!("{SHEETS}/{}.yaml", code.name);
    let sheet = fs::read_to_string(root.join(&file))
        .map_err(|why| format!("{file}: {why}; each kind of error needs a sheet that shows it"))?;
    let folder = Folder::new().map_err(|why| why.to_string())?;
    folder.write("sheet.yaml", &sheet)?;
    let told = command_line::run("forebay run sheet.yaml", &folder)?.told;
    // Each diagnostic begins with a line that is its kind.
    if !told.lines().any(|line| line.trim() == code.name) {
        return Err(format!("{file}: does not provoke `{}`, but:\n{told}", code.name));
    }
    Ok(format!("{}\n{}", fenced("yaml", &sheet), fenced("text", &told)))
}
