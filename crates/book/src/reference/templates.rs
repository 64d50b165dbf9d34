//! The templates by stage, with the questions that they answer.

use forebay_sheet::{Stage, templates};

use super::{Page, page as written};
use crate::markdown::{code, escaped, table};

pub(super) fn page() -> Page {
    let mut text = "A template is a worksheet that runs as it is, with the figures of an invented \
         place. Take a copy with `forebay new NAME -o mine.yaml` and put your own figures in. \
         Each has a chapter that tells what lies behind it.\n"
        .to_owned();
    for stage in Stage::ALL {
        let rows: Vec<Vec<String>> = templates()
            .iter()
            .filter(|template| template.stage == stage)
            .map(|template| {
                let chapter = format!("../templates/{}.md", template.name);
                let name = match stage {
                    // Exercises share one chapter.
                    Stage::Teach => format!("[{}](../exercises.md)", code(template.name)),
                    _ => format!("[{}]({chapter})", code(template.name)),
                };
                vec![name, escaped(template.about)]
            })
            .collect();
        if !rows.is_empty() {
            text.push_str(&format!("\n## {}\n\n", stage.heading()));
            text.push_str(&table(&["template", "what it answers"], rows));
        }
    }
    written("templates", "All templates", &text)
}
