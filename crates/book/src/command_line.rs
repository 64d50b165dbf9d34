//! Runs a `forebay` command as a reader types it, in a chapter's own folder, without a shell.

use std::env;
use std::path::Path;
use std::process::Command;

use crate::folder::Folder;

/// The word with which this program carries out a command of `forebay` instead of its own work.
pub(crate) const AS_FOREBAY: &str = "forebay";

/// What a command wrote, and how it ended.
#[derive(Clone, Debug)]
pub(crate) struct Ended {
    pub(crate) out: String,
    pub(crate) told: String,
    pub(crate) code: i32,
}

/// Runs one command line. Only `forebay` is run, by its own code in a process of its own.
pub(crate) fn run(line: &str, folder: &Folder) -> Result<Ended, String> {
    let words = words(line)?;
    let Some((AS_FOREBAY, arguments)) = words.split_first().map(|(w, rest)| (w.as_str(), rest))
    else {
        return Err(format!("only `forebay` is run here, not `{line}`"));
    };
    let program = env::current_exe().map_err(|why| format!("this program is not found: {why}"))?;
    let output = Command::new(program)
        .arg(AS_FOREBAY)
        .args(arguments)
        .current_dir(folder.path())
        .env_clear()
        .envs(env::vars_os().filter(|(name, _)| name == "PATH" || name == "SYSTEMROOT"))
        .env("HOME", folder.home())
        .env("COLUMNS", "80")
        .env("NO_COLOR", "1")
        .env("LC_ALL", "C.UTF-8")
        .output()
        .map_err(|why| format!("`{line}` cannot be run: {why}"))?;
    let text = |bytes: &[u8]| plain(&String::from_utf8_lossy(bytes), folder.home());
    Ok(Ended {
        out: text(&output.stdout),
        told: text(&output.stderr),
        code: output.status.code().unwrap_or(-1),
    })
}

/// The output without trailing spaces and without this machine's own folders.
fn plain(text: &str, home: &Path) -> String {
    let text = text.replace(&home.display().to_string(), "~");
    let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    lines.join("\n").trim_matches('\n').to_owned()
}

/// Parts a line into words; quotes hold a word together, and nothing else has a meaning.
fn words(line: &str) -> Result<Vec<String>, String> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut quote = None;
    for letter in line.chars() {
        match (quote, letter) {
            (Some(open), _) if letter == open => quote = None,
            (None, '"' | '\'') => {
                quote = Some(letter);
                word.get_or_insert_default();
            }
            (None, ' ') => words.extend(word.take()),
            // What a shell would act upon is not shown in the book outside quotes.
            (None, '|' | '>' | '<' | '&' | ';' | '$' | '*' | '`' | '\\') => {
                return Err(format!("`{letter}` stands outside quotes in `{line}`"));
            }
            _ => word.get_or_insert_default().push(letter),
        }
    }
    if quote.is_some() {
        return Err(format!("a quote is not closed in `{line}`"));
    }
    words.extend(word);
    Ok(words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_hold_words_together_and_a_shell_is_not_imitated() {
        assert_eq!(
            words("run a.yaml --set \"b=2 m\"").unwrap(),
            ["run", "a.yaml", "--set", "b=2 m"]
        );
        assert_eq!(words("eval '2 m * 3 m'").unwrap(), ["eval", "2 m * 3 m"]);
        assert!(words("forebay run a.yaml | less").is_err());
        assert!(words("forebay run \"a.yaml").is_err());
    }
}
