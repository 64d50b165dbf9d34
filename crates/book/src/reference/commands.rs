//! Every command with its options, as `--help` says them.

use crate::markdown::fenced;

use super::{Page, page as written};

pub(super) fn page() -> Page {
    let command = forebay_cli::command().term_width(80);
    let mut text = "What `forebay COMMAND --help` says of each command.\n".to_owned();
    let mut whole = command.clone();
    // Names within the help of a command are those that are typed.
    whole.build();
    for one in whole.get_subcommands().filter(|one| one.get_name() != "help") {
        let help = one.clone().term_width(80).render_long_help().to_string();
        let lines: Vec<&str> = help.lines().map(str::trim_end).collect();
        text.push_str(&format!("\n## forebay {}\n\n", one.get_name()));
        text.push_str(&fenced("text", &lines.join("\n")));
    }
    if let Some(after) = command.get_after_help() {
        text.push_str(&format!("\n## Exit codes\n\n{after}\n"));
    }
    written("commands", "Every command", &text)
}
