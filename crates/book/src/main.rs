//! Builds the book. Every worksheet and every command in it is run, its reference is written from
//! the library's own tables, and its links are followed.
//!
//! * `cargo run -p forebay-book`: builds the pages into `book/out`.
//! * `… -- --update`: first writes reference pages and outputs anew into the sources.
//! * `… -- --check`: builds, changes no source, and fails on whatever is stale, dead or does not
//!   run, with file and line.

mod blocks;
mod chapter;
mod command_line;
mod fault;
mod folder;
mod includes;
mod links;
mod markdown;
mod pages;
mod reference;
mod sources;

use std::env;
use std::ffi::OsString;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use fault::Fault;
use sources::Sources;

const USAGE: &str = "\
cargo run -p forebay-book               build the book into book/out
cargo run -p forebay-book -- --update   write reference pages and outputs anew, then build
cargo run -p forebay-book -- --check    build, and fail on what is stale, dead or does not run
";

fn main() -> ExitCode {
    let mut words = env::args_os().skip(1);
    let first = words.next();
    if first.as_deref().is_some_and(|word| word == command_line::AS_FOREBAY) {
        return forebay_cli::main_with(std::iter::once(OsString::from("forebay")).chain(words));
    }
    let done = match first.as_deref().and_then(|word| word.to_str()) {
        None => build(&root()).map(|faults| (faults, "built")),
        Some("--update") => update(&root()).map(|faults| (faults, "updated and built")),
        Some("--check") => check(&root()).map(|faults| (faults, "checked and built")),
        Some(_) => {
            tell(USAGE);
            return ExitCode::from(2);
        }
    };
    match done {
        Ok((faults, did)) if faults.is_empty() => {
            tell(&format!("the book is {did}: book/out/index.html\n"));
            ExitCode::SUCCESS
        }
        Ok((mut faults, _)) => {
            faults.sort();
            for fault in &faults {
                tell(&format!("{fault}\n"));
            }
            tell(&format!(
                "{} faults in the book; outputs and reference pages are written anew by\n  cargo \
                 run -p forebay-book -- --update\n",
                faults.len()
            ));
            ExitCode::FAILURE
        }
        Err(why) => {
            tell(&format!("{why}\n"));
            ExitCode::FAILURE
        }
    }
}

/// The folder of the whole project.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn build(root: &Path) -> Result<Vec<Fault>, String> {
    pages::build(root)
}

/// Writes everything anew that follows from something else.
fn update(root: &Path) -> Result<Vec<Fault>, String> {
    let sources = Sources::of(root);
    sources.write_reference(&reference::pages(root)?)?;
    let mut faults = Vec::new();
    for (name, text) in sources.chapters()? {
        let ran = chapter::run(&name, &text, command_line::run);
        if ran.faults.is_empty() && ran.text != text {
            sources.write(&name, &ran.text)?;
        }
        faults.extend(ran.faults);
    }
    faults.extend(build(root)?);
    Ok(faults)
}

/// Looks for everything that is wrong, and changes no source.
fn check(root: &Path) -> Result<Vec<Fault>, String> {
    let sources = Sources::of(root);
    let mut faults = sources.stale_reference(&reference::pages(root)?)?;
    faults.extend(build(root)?);
    let out = root.join("book/out");
    let mut pages = links::Pages::default();
    for (name, text) in sources.all()? {
        if !sources::is_reference(&name) {
            let ran = chapter::run(&name, &text, command_line::run);
            faults.extend(ran.faults);
            faults.extend(ran.stale);
        }
        faults.extend(links::dead(&name, &text, &out, &mut pages));
    }
    for message in links::loaded_from_elsewhere(&out)? {
        faults.push(Fault::new("SUMMARY.md", 1, format!("a page needs the network: {message}")));
    }
    Ok(faults)
}

/// Writes to the standard error; when nobody reads it there is nobody to tell.
fn tell(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}
