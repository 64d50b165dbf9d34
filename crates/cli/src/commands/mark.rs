//! `forebay mark`: answers held against the key of an exercise.

mod answers;

use std::path::Path;
use std::process::ExitCode;

use clap::{Args, ValueEnum};
use forebay_report::{marks_csv, marks_json, marks_markdown, marks_text, read_key};
use forebay_study::{Fault, Handed, mark, same_learner};

use crate::console::{Console, tell};
use crate::refusal::Refusal;
use crate::source_files::read;
use answers::answers_in;

/// Mark the answers to an exercise, and tell slips from wrong methods
///
/// ANSWERS is a CSV file with the columns `learner`, `question` and `answer` (a column `unit` may
/// stand beside). A question is named by its cell or its number. Answers are read as people write
/// them: `1,234 W`, `0.6 m3/s`, `v = 2.1 m/s`. A right number with a slip (another unit, a factor of
/// 1000, a radius for the bore) is told from a wrong method and gets a share of the points; what
/// follows rightly from a wrong answer of the learner's own gets all of them.
///
/// What cannot be read, or told whose it is, gets no points and is listed with its line.
#[derive(Args)]
#[command(
    after_help = "Exit codes: 0 all is marked; 1 somebody has to look at some answers; 2 the key, the answers or the call is wrong."
)]
pub(crate) struct Arguments {
    /// The key that `forebay exercise` wrote
    key: String,
    /// The answers, a CSV file, or `-` for the standard input
    answers: String,
    /// Only this learner
    #[arg(long, value_name = "WHO")]
    learner: Option<String>,
    /// How to write it
    #[arg(long = "as", value_name = "FORMAT", default_value = "text")]
    format: Form,
}

/// How marks are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    Text,
    Csv,
    Json,
    Markdown,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let file = &arguments.key;
    let text = read(Path::new(file))
        .map_err(|why| Refusal::new(format!("`{file}` cannot be read: {why}")))?;
    let key = read_key(&text)
        .map_err(|fault| Refusal::new(format!("`{file}`: {}", fault.message)).help(fault.help))?;
    let handed: Vec<Handed> = answers_in(&arguments.answers)?;
    let mut marked = mark(&key, &handed).map_err(|fault| match fault {
        Fault::Call { message, help } => Refusal::new(message).help(help),
        Fault::Refused(all) => {
            let first = all.first().map(|one| one.message.clone()).unwrap_or_default();
            Refusal::new(format!("`{file}` holds figures that its sheet refuses: {first}"))
                .help("the key was changed; make it again with the same seed")
        }
    })?;
    let open = marked.learners.iter().flat_map(|marks| &marks.items);
    let open = open.filter(|item| item.verdict.is_open()).count() + marked.strays.len();
    if let Some(who) = &arguments.learner {
        marked.learners.retain(|marks| same_learner(&marks.learner, who));
        if marked.learners.is_empty() {
            return Err(Refusal::new(format!("the key knows nobody called `{who}`")));
        }
    }
    console.print(&match arguments.format {
        Form::Text => marks_text(&marked, &console.options),
        Form::Csv => marks_csv(&marked),
        Form::Json => marks_json(&marked),
        Form::Markdown => marks_markdown(&marked),
    })?;
    if !marked.differs.is_empty() {
        tell("some right answers are not those of the key: another version made it\n");
    }
    Ok(ExitCode::from(u8::from(open > 0)))
}
