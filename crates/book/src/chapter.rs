//! Runs what a chapter shows: every worksheet and every command, in the order in which they stand,
//! and gives the chapter with the outputs as they come out now.

use crate::blocks::{Block, blocks};
use crate::command_line::Ended;
use crate::fault::Fault;
use crate::folder::Folder;
use forebay_sheet::Severity;

/// A chapter after its blocks were run.
#[derive(Debug, Default)]
pub(crate) struct Ran {
    /// The text with outputs that are true now.
    pub(crate) text: String,
    /// What does not run.
    pub(crate) faults: Vec<Fault>,
    /// Where an output is not what is stored.
    pub(crate) stale: Vec<Fault>,
}

/// Carries out a command line in a folder.
pub(crate) type Commands = fn(&str, &Folder) -> Result<Ended, String>;

/// Runs the chapter of this name and text.
pub(crate) fn run(name: &str, text: &str, commands: Commands) -> Ran {
    let folder = match Folder::new() {
        Ok(folder) => folder,
        Err(why) => {
            let fault = Fault::new(name, 1, format!("no folder for its sheets: {why}"));
            return Ran { text: text.to_owned(), faults: vec![fault], stale: Vec::new() };
        }
    };
    let found = blocks(text);
    let mut running = Running { name, text, folder, commands, ran: Ran::default(), copied: 0 };
    for (at, block) in found.iter().enumerate() {
        let behind = found.get(at + 1).filter(|next| {
            next.says("output") && text[block.whole.end..next.whole.start].trim().is_empty()
        });
        running.block(block, behind);
    }
    running.ran.text.push_str(&text[running.copied..]);
    running.ran
}

struct Running<'a> {
    name: &'a str,
    text: &'a str,
    folder: Folder,
    commands: Commands,
    ran: Ran,
    /// Up to where the text has been taken over.
    copied: usize,
}

impl Running<'_> {
    fn block(&mut self, block: &Block, behind: Option<&Block>) {
        let inside = &self.text[block.inside.clone()];
        match block.language() {
            "yaml" if block.says("sheet") => self.sheet(block, behind),
            "yaml" => self.fault(block, "a worksheet in the book is whole and says `yaml,sheet`"),
            "console" => self.console(block),
            _ => {
                if let Some(file) = block.value("file")
                    && let Err(why) = self.folder.write(file, inside)
                {
                    self.fault(block, why);
                }
            }
        }
    }

    /// A sheet: it must compute without errors, or be wrong in the way that it says.
    fn sheet(&mut self, block: &Block, behind: Option<&Block>) {
        let inside = &self.text[block.inside.clone()];
        let file = block.value("file").unwrap_or("sheet.yaml");
        if let Err(why) = self.folder.write(file, inside) {
            return self.fault(block, why);
        }
        let sheet = self.folder.sheet(file, inside);
        let found = sheet.diagnostics();
        let wrong = block.value("wrong");
        if let Some(code) = wrong {
            if !found.iter().any(|diagnostic| diagnostic.code.name == code) {
                return self.fault(block, format!("the sheet is to show `{code}` and does not"));
            }
        } else if let Some(error) = found.iter().find(|d| d.code.severity == Severity::Error) {
            let at = error.span().map_or(1, |span| sheet.sources().line_and_column(span).0);
            let message =
                format!("the sheet does not run: {} ({})", error.message, error.code.name);
            return self.ran.faults.push(Fault::new(self.name, block.line + at, message));
        }
        if behind.is_none() && block.value("file").is_some() {
            return;
        }
        let ended = match (self.commands)(&format!("forebay run {file}"), &self.folder) {
            Ok(ended) => ended,
            Err(why) => return self.fault(block, why),
        };
        let output = match wrong {
            Some(_) => ended.told,
            None => joined(&ended.out, &ended.told),
        };
        match behind {
            Some(behind) => self.put(behind, &shortened(&output, behind)),
            None => {
                self.copy_to(block.whole.end);
                self.ran.text.push_str(&format!("\n\n```text,output\n{output}\n```"));
                self.stale(block, "the output of this sheet is missing");
            }
        }
    }

    /// Lines of commands, each with its output behind it.
    fn console(&mut self, block: &Block) {
        let inside = &self.text[block.inside.clone()];
        // `exit=any` is for commands whose code tells of the answer.
        let wanted = match block.value("exit") {
            Some("any") => None,
            code => Some(code.map_or(0, |code| code.parse().unwrap_or(-1))),
        };
        let mut now = String::new();
        for (number, line) in inside.lines().enumerate() {
            let Some(command) = line.strip_prefix("$ ") else { continue };
            let ended = match (self.commands)(command, &self.folder) {
                Ok(ended) => ended,
                Err(why) => return self.fault_at(block.line + number + 1, why),
            };
            if let Some(wanted) = wanted.filter(|wanted| *wanted != ended.code) {
                let why = format!(
                    "`{command}` ends with {}, expected {wanted}: {}",
                    ended.code,
                    joined(&ended.told, &ended.out).lines().next().unwrap_or_default()
                );
                return self.fault_at(block.line + number + 1, why);
            }
            let output = shortened(&joined(&ended.out, &ended.told), block);
            if !now.is_empty() {
                now.push('\n');
            }
            now.push_str(&format!("$ {command}\n"));
            if !output.is_empty() {
                now.push_str(&output);
                now.push('\n');
            }
        }
        if now.is_empty() {
            return self.fault(block, "a console block shows at least one line `$ forebay …`");
        }
        self.put(block, now.trim_end_matches('\n'));
    }

    /// Puts what comes out now in place of what stands in a block.
    fn put(&mut self, block: &Block, now: &str) {
        let now = format!("{now}\n");
        self.copy_to(block.inside.start);
        self.ran.text.push_str(&now);
        self.copied = block.inside.end;
        let stored = &self.text[block.inside.clone()];
        if stored != now {
            let at = stored.lines().zip(now.lines()).take_while(|(a, b)| a == b).count();
            let line = now.lines().nth(at).unwrap_or("(nothing more)");
            let message = format!("the output is stale; now: {}", line.trim());
            self.ran.stale.push(Fault::new(self.name, block.line + at + 1, message));
        }
    }

    fn copy_to(&mut self, to: usize) {
        self.ran.text.push_str(&self.text[self.copied..to]);
        self.copied = to;
    }

    fn stale(&mut self, block: &Block, message: &str) {
        self.ran.stale.push(Fault::new(self.name, block.line, message));
    }

    fn fault(&mut self, block: &Block, message: impl Into<String>) {
        self.fault_at(block.line, message);
    }

    fn fault_at(&mut self, line: usize, message: impl Into<String>) {
        self.ran.faults.push(Fault::new(self.name, line, message));
    }
}

fn joined(first: &str, second: &str) -> String {
    match (first.is_empty(), second.is_empty()) {
        (_, true) => first.to_owned(),
        (true, _) => second.to_owned(),
        _ => format!("{first}\n\n{second}"),
    }
}

/// The first lines where the block says `lines=N`, and the whole text elsewhere.
fn shortened(text: &str, block: &Block) -> String {
    let most = block.value("lines").and_then(|lines| lines.parse().ok()).unwrap_or(usize::MAX);
    if text.lines().count() <= most {
        return text.to_owned();
    }
    let lines: Vec<&str> = text.lines().take(most).collect();
    format!("{}\n…", lines.join("\n").trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    const NEW: &str = "```yaml,sheet,file=a.yaml\nforebay: 1\nwork:\n  a: 1 m + 1 L\n```\n";

    fn said(line: &str, _: &Folder) -> Result<Ended, String> {
        if line.starts_with("forebay ") {
            Ok(Ended { out: "one\ntwo".to_owned(), told: String::new(), code: 0 })
        } else {
            Err("only `forebay` is run here".to_owned())
        }
    }

    fn ran(text: &str) -> Ran {
        run("a.md", text, said)
    }

    #[test]
    fn a_sheet_that_does_not_run_is_told_with_its_line() {
        let ran = ran(&format!("# A\n\n{NEW}"));
        assert_eq!(ran.faults.len(), 1);
        assert_eq!(ran.faults[0].line, 6);
        assert!(ran.faults[0].message.contains("length and volume"), "{:?}", ran.faults);
    }

    #[test]
    fn a_sheet_that_shows_a_mistake_must_make_it() {
        let wrong = NEW.replace("file=a.yaml", "file=a.yaml,wrong=unlike");
        assert!(ran(&wrong).faults.is_empty());
        let other = NEW.replace("file=a.yaml", "file=a.yaml,wrong=cycle");
        assert!(ran(&other).faults[0].message.contains("cycle"));
    }

    #[test]
    fn pieces_of_sheets_and_other_commands_are_refused() {
        assert_eq!(ran("```yaml\nknown:\n```\n").faults.len(), 1);
        assert_eq!(ran("```console\n$ rm -r x\n```\n").faults[0].line, 2);
        assert_eq!(ran("```console,exit=1\n$ forebay run a\n```\n").faults[0].line, 2);
    }

    #[test]
    fn an_output_that_is_not_what_comes_out_is_stale_and_is_written_anew() {
        let fresh = "```console\n$ forebay run a\none\ntwo\n```\n";
        assert!(ran(fresh).stale.is_empty());
        let stale = ran("x\n\n```console\n$ forebay run a\none\nthree\n```\ny\n");
        assert_eq!(stale.stale[0].line, 6);
        assert_eq!(stale.text, format!("x\n\n{fresh}y\n"));
        let short = ran("```console,lines=1\n$ forebay run a\n```\n");
        assert_eq!(short.text, "```console,lines=1\n$ forebay run a\none\n…\n```\n");
    }
}
