//! The list of templates: those of the library by stage of the job, and the user's own beside them.

use forebay_sheet::{Stage, templates};

use crate::formats::Options;
use crate::page::Page;

/// Where the lines about templates begin.
const COLUMN: usize = 27;

/// A worksheet of the user's own that new ones are started from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnTemplate {
    /// The name it is asked for under.
    pub name: String,
    /// Its title, or what is wrong with it.
    pub about: String,
}

/// A line for each template. `folder` is where the user's own are looked for, if there is such a
/// place.
#[must_use]
pub fn templates_listing(folder: Option<&str>, own: &[OwnTemplate], options: &Options) -> String {
    let mut page = Page::new(options);
    for stage in Stage::ALL {
        let mut of_stage = templates().iter().filter(|t| t.stage == stage).peekable();
        if of_stage.peek().is_some() {
            page.heading(stage.heading());
        }
        for template in of_stage {
            page.hanging(2, template.name, COLUMN, template.about);
        }
    }
    if let Some(folder) = folder {
        page.heading(&format!("Your own, in {folder}"));
        for template in own {
            page.hanging(2, &template.name, COLUMN, &template.about);
        }
        if own.is_empty() {
            page.line(2, "none yet: any sheet put there, as NAME.yaml, is listed here");
        }
    }
    page.gap();
    page.line(0, "`forebay new NAME -o FILE` makes a sheet of your own of one.");
    page.line(0, "`forebay run NAME` computes one that comes with Forebay as it is.");
    page.finish()
}
