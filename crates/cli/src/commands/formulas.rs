//! `forebay formulas`: the list of formulas, or one with its equation, limits and source.

use std::process::ExitCode;

use clap::Args;
use forebay_formulas::{all, find};
use forebay_report::{formula_page, formulas_listing, word_page};
use forebay_sheet::language;

use crate::console::Console;
use crate::refusal::Refusal;

/// List the formulas, or show one with its equation, limits, source and an example
#[derive(Args)]
pub(crate) struct Arguments {
    /// The formula to show, or a part of the names to list
    name: Option<String>,
    /// List only those in which all these words appear
    #[arg(long, value_name = "WORDS", conflicts_with = "name")]
    search: Option<String>,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let options = console.options;
    let text = match &arguments.name {
        None => formulas_listing(arguments.search.as_deref(), &options),
        Some(name) => {
            let page = find(name).map(|formula| formula_page(formula, &options));
            let word = || language().find(|word| word.name == name);
            let page = page.or_else(|| word().map(|word| word_page(&word, &options)));
            match page {
                Some(page) => page,
                // Part of a name lists those that hold it; a slip is met with what was meant.
                None if all().any(|formula| formula.name.contains(name.as_str())) => {
                    formulas_listing(Some(name), &options)
                }
                None => return Err(unknown(name)),
            }
        }
    };
    if text.is_empty() {
        let words = arguments.search.as_deref().unwrap_or_default();
        return Err(Refusal::new(format!("no formula speaks of `{words}`"))
            .help("`forebay formulas` lists all of them"));
    }
    console.print(&text)?;
    Ok(ExitCode::SUCCESS)
}

fn unknown(name: &str) -> Refusal {
    let refusal = Refusal::new(format!("there is no formula `{name}`"));
    let names = all().map(|formula| formula.name).chain(language().map(|word| word.name));
    match forebay_units::nearest(name, names).first() {
        Some(near) => refusal.help(format!("did you mean `{near}`?")),
        None => refusal.help(format!("`forebay formulas --search {name}` looks for the word")),
    }
}
