//! `forebay exercise`: a variant of a sheet's exercise for each learner, and the key.

use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, ValueEnum};
use forebay_report::{
    answer_sheet, handout_html, handout_markdown, key_json, variants_csv, variants_text,
};
use forebay_study::{Key, Variant, exercise_of, handouts, variants};

use super::study::refused;
use crate::console::{Console, tell};
use crate::diagnostics;
use crate::long_work::LongWork;
use crate::opening::{Settings, open};
use crate::refusal::Refusal;
use crate::source_files::read;

/// Give each learner an exercise with figures of their own, and yourself the key
///
/// What varies and what is asked stands in the sheet under `exercise:`; `forebay new
/// exercise-siphon` shows one. The same seed gives the same figures on every machine.
///
/// With -o FOLDER, a handout for each learner (Markdown and HTML) and `answers.csv` to be filled in
/// go into a new folder, and the key into a file beside it, FOLDER-key.json. Without, figures and
/// answers are shown.
#[derive(Args)]
#[command(
    after_help = "Exit codes: 0 done; 1 stopped by Ctrl-C, nothing is written; 2 the sheet or the call is wrong."
)]
pub(crate) struct Arguments {
    /// A worksheet with an `exercise`, a template's name, or `-` for the standard input
    file: String,
    /// How many learners; as many as there are names if left out
    #[arg(long = "for", value_name = "N", required_unless_present = "names")]
    count: Option<u32>,
    /// Another seed gives other figures
    #[arg(long, value_name = "S", default_value = "1")]
    seed: u64,
    /// The learners' names, a text file with one a line; numbers if left out
    #[arg(long, value_name = "FILE")]
    names: Option<String>,
    /// A new folder for handouts and the sheet of answers
    #[arg(short, long, value_name = "FOLDER")]
    output: Option<PathBuf>,
    /// Where the key goes; FOLDER-key.json beside the folder if left out
    #[arg(long, value_name = "FILE", requires = "output")]
    key: Option<PathBuf>,
    /// How to show it without -o; `json` is the key, `markdown` and `html` are the handouts
    #[arg(long = "as", value_name = "FORMAT", default_value = "text", conflicts_with = "output")]
    format: Form,
}

/// How variants are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    Text,
    Csv,
    Json,
    Markdown,
    Html,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let (mut sheet, ..) = open(Some(&arguments.file), &Settings::default(), console)?;
    let names = match &arguments.names {
        Some(file) => names_in(file)?,
        None => Vec::new(),
    };
    let count = match (arguments.count, u32::try_from(names.len())) {
        (Some(count), _) => count,
        (None, Ok(count)) => count,
        (None, Err(_)) => u32::MAX,
    };
    if let Err(fault) = exercise_of(&sheet) {
        return Err(refused(fault, &sheet, console));
    }
    // What is only doubtful is told too: a known that varies to no purpose, say.
    diagnostics::draw(&sheet.diagnostics(), sheet.sources(), console.errors);
    let mut work = LongWork::begin();
    let drawn =
        variants(&mut sheet, count, arguments.seed, &mut |done, total| work.go_on(done, total));
    drop(work);
    let drawn: Vec<Variant> = drawn.map_err(|fault| refused(fault, &sheet, console))?;
    if drawn.len() < count as usize {
        tell(&format!("stopped after {} of {count} learners; nothing is written\n", drawn.len()));
        return Ok(ExitCode::from(1));
    }
    let key = Key::new(&sheet, arguments.seed, &drawn, &names)
        .map_err(|fault| refused(fault, &sheet, console))?;
    match &arguments.output {
        Some(folder) => write(folder, arguments, &key, &sheet, console)?,
        None => show(arguments.format, &key, &sheet, console)?,
    }
    Ok(ExitCode::SUCCESS)
}

fn show(
    format: Form,
    key: &Key,
    sheet: &forebay_sheet::Sheet,
    console: &mut Console,
) -> Result<(), Refusal> {
    let text = match format {
        Form::Text => variants_text(key, &console.options),
        Form::Csv => variants_csv(key),
        Form::Json => key_json(key),
        Form::Markdown | Form::Html => {
            let all = handouts(key).map_err(|fault| refused(fault, sheet, console))?;
            let one = if format == Form::Html { handout_html } else { handout_markdown };
            let all: Vec<String> = all.iter().map(one).collect();
            all.join("\n")
        }
    };
    console.print(&text)
}

/// Writes the folder, and the key beside it. What is there already is left as it is.
fn write(
    folder: &Path,
    arguments: &Arguments,
    key: &Key,
    sheet: &forebay_sheet::Sheet,
    console: &Console,
) -> Result<(), Refusal> {
    let all = handouts(key).map_err(|fault| refused(fault, sheet, console))?;
    let beside = match &arguments.key {
        Some(file) => file.clone(),
        None => key_beside(folder)?,
    };
    let apart = !is_inside(&beside, folder);
    if beside.exists() {
        return Err(is_there(&beside));
    }
    make_folder(folder)?;
    // The key first: handouts without one could not be marked.
    new_file(&beside, &key_json(key))?;
    let mut used: Vec<String> = Vec::new();
    for handout in &all {
        let name = file_name(&handout.learner, &used);
        new_file(&folder.join(format!("{name}.md")), &handout_markdown(handout))?;
        new_file(&folder.join(format!("{name}.html")), &handout_html(handout))?;
        used.push(name);
    }
    new_file(&folder.join("answers.csv"), &answer_sheet(key))?;
    let (handouts, shown, key_shown) = (all.len(), folder.display(), beside.display());
    tell(&format!(
        "wrote {handouts} handouts (.md and .html) and answers.csv into {shown}\n\
         the key is in {key_shown}; keep it to yourself\n"
    ));
    if !apart {
        tell("  take care: the key lies in the same folder as the handouts\n");
    }
    tell(&format!(
        "mark with: forebay mark {key_shown} {}\n",
        folder.join("answers.csv").display()
    ));
    Ok(())
}

fn key_beside(folder: &Path) -> Result<PathBuf, Refusal> {
    let name = folder.file_name().ok_or_else(|| {
        Refusal::new(format!("`{}` names no new folder", folder.display()))
            .help("name one, such as -o class")
    })?;
    let mut name = name.to_owned();
    name.push("-key.json");
    Ok(folder.with_file_name(name))
}

fn is_inside(file: &Path, folder: &Path) -> bool {
    let absolute = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    absolute(file).starts_with(absolute(folder))
}

fn make_folder(folder: &Path) -> Result<(), Refusal> {
    let empty = |folder: &Path| fs::read_dir(folder).is_ok_and(|mut all| all.next().is_none());
    match fs::create_dir(folder) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists && empty(folder) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(is_there(folder)),
        Err(error) => Err(Refusal::new(format!("`{}` cannot be made: {error}", folder.display()))
            .help("the folder that it is to lie in must be there")),
    }
}

fn is_there(path: &Path) -> Refusal {
    Refusal::new(format!("`{}` is there already and was left as it is", path.display()))
        .help("name another folder with -o, or remove it first")
}

fn new_file(path: &Path, text: &str) -> Result<(), Refusal> {
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(path)
        .and_then(|mut file| file.write_all(text.as_bytes()));
    written.map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => is_there(path),
        _ => Refusal::new(format!("`{}` cannot be written: {error}", path.display())),
    })
}

/// A learner's name as that of a file, one that is not used yet.
fn file_name(learner: &str, used: &[String]) -> String {
    const LONGEST: usize = 60;
    let plain: String = learner
        .chars()
        .map(|letter| if letter.is_alphanumeric() { letter } else { '-' })
        .take(LONGEST)
        .collect();
    let plain = plain.trim_matches('-');
    let plain = if plain.is_empty() { "learner" } else { plain };
    // Some file systems do not tell capitals apart.
    let taken = |name: &str| used.iter().any(|other| other.eq_ignore_ascii_case(name));
    let mut name = plain.to_owned();
    let mut number = 2;
    while taken(&name) || name.eq_ignore_ascii_case("answers") {
        name = format!("{plain}-{number}");
        number += 1;
    }
    name
}

fn names_in(file: &str) -> Result<Vec<String>, Refusal> {
    let text = read(Path::new(file))
        .map_err(|why| Refusal::new(format!("`{file}` cannot be read: {why}")))?;
    let text = text.trim_start_matches('\u{feff}');
    let names: Vec<String> =
        text.lines().map(|line| line.trim().to_owned()).filter(|line| !line.is_empty()).collect();
    if names.is_empty() {
        return Err(Refusal::new(format!("`{file}` holds no names")).help("write one a line"));
    }
    Ok(names)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn file_names_are_plain_and_different() {
        let used = ["Ada-L".to_owned()];
        assert_eq!(file_name("../../etc/passwd", &[]), "etc-passwd");
        assert_eq!(file_name("ada l", &used), "ada-l-2");
        assert_eq!(file_name("…", &[]), "learner");
        assert_eq!(file_name("Answers", &[]), "Answers-2");
    }
}
