//! `forebay new`: a template to start from.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;
use forebay_report::templates_listing;
use forebay_sheet::template;

use crate::console::{Console, tell};
use crate::output_file::write_out;
use crate::own_templates::Folder;
use crate::refusal::Refusal;
use crate::source_files::template_names;

/// List the templates, or write one to start a sheet of your own from
#[derive(Args)]
pub(crate) struct Arguments {
    /// The template
    template: Option<String>,
    /// The file to write; the standard output if left out
    #[arg(short, long, value_name = "FILE", requires = "template")]
    output: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "output")]
    replace: bool,
    /// Where your own templates are; forebay/templates among your settings if left out
    #[arg(long, value_name = "FOLDER")]
    from: Option<PathBuf>,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let own = match &arguments.from {
        Some(path) => Some(Folder::named(path)?),
        None => Folder::of_the_user(),
    };
    let Some(name) = &arguments.template else {
        let folder = own.as_ref().map(|own| own.path.display().to_string());
        let listed = own.as_ref().map(Folder::listing).unwrap_or_default();
        console.print(&templates_listing(folder.as_deref(), &listed, &console.options))?;
        return Ok(ExitCode::SUCCESS);
    };
    let text = text_of(name, own.as_ref())?;
    let Some(file) = &arguments.output else {
        console.print(&text)?;
        return Ok(ExitCode::SUCCESS);
    };
    let shown = file.display();
    write_out(file, &text, arguments.replace)?;
    // Each on its own line, so that a long name does not break the command.
    tell(&format!("wrote {shown}\ncompute it with: forebay run {shown}\n"));
    Ok(ExitCode::SUCCESS)
}

/// The text of a template. The user's own comes first: somebody who keeps a `quote` of the house
/// wants that one.
fn text_of(name: &str, own: Option<&Folder>) -> Result<String, Refusal> {
    if let Some(text) = own.and_then(|own| own.text(name)) {
        return text
            .map_err(|why| Refusal::new(format!("template `{name}` cannot be read: {why}")));
    }
    if let Some(template) = template(name) {
        return Ok(template.text.to_owned());
    }
    let refusal = Refusal::new(format!("there is no template `{name}`"));
    let mut names: Vec<&str> = template_names().collect();
    names.extend(own.iter().flat_map(|own| own.names()));
    Err(match forebay_units::nearest(name, names).first() {
        Some(near) => refusal.help(format!("did you mean `{near}`?")),
        None => refusal.help("`forebay new` lists them"),
    })
}
