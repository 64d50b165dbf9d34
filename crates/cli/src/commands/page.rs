//! `forebay page`: a sheet in the browser, on this machine alone.

use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

use clap::Args;
use forebay_page::{Files, Page};
use forebay_sheet::Sheet;

use crate::console::{Console, tell};
use crate::refusal::Refusal;
use crate::source_files::{Found, find, read};

/// Open a sheet in the browser: change values and see at once what moves
#[derive(Args)]
pub(crate) struct Arguments {
    /// A worksheet
    file: String,
    /// Only print the address, for opening it yourself
    #[arg(long)]
    no_open: bool,
    /// The port to listen on; any that is free if left out
    #[arg(long, value_name = "N")]
    port: Option<u16>,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    let found = find(Some(&arguments.file))?;
    let Some(path) = found.path else {
        return Err(Refusal::new("a page needs a file, in which it can save")
            .help("`forebay new NAME -o FILE` makes a file of a template"));
    };
    let page = Page::bind(arguments.port).map_err(|error| cannot_listen(arguments, &error))?;
    let address = page.address();
    console.print(&format!("{address}\n"))?;
    tell("Only this machine can open it, and only with this address. Ctrl-C ends it.\n");
    if !arguments.no_open && !open(&address) {
        tell("No browser could be opened; open the address yourself.\n");
    }
    page.serve(Box::new(OnDisk { name: found.name, path }))
        .map_err(|error| Refusal::new(format!("the page has ended: {error}")))?;
    Ok(ExitCode::SUCCESS)
}

fn cannot_listen(arguments: &Arguments, error: &io::Error) -> Refusal {
    match (arguments.port, error.kind()) {
        (Some(port), io::ErrorKind::AddrInUse) => {
            Refusal::new(format!("port {port} is in use")).help("leave --port out to take any")
        }
        _ => Refusal::new(format!("the page cannot be served: {error}")),
    }
}

/// The sheet's file and what lies beside it.
struct OnDisk {
    name: String,
    path: PathBuf,
}

impl Files for OnDisk {
    fn path(&self) -> &Path {
        &self.path
    }

    fn name(&self) -> &str {
        &self.name
    }

    fn read(&self) -> Result<String, String> {
        read(&self.path)
    }

    fn open(&self, text: &str) -> (Sheet, Vec<PathBuf>) {
        let found =
            Found { name: self.name.clone(), text: text.to_owned(), path: Some(self.path.clone()) };
        let beside = found.beside();
        let sheet = Sheet::open_with(&found.name, &found.text, &beside);
        (sheet, beside.asked())
    }
}

/// Asks the system to open an address; whether there was something to ask.
fn open(address: &str) -> bool {
    let (program, arguments): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("rundll32", &["url.dll,FileProtocolHandler"])
    } else {
        ("xdg-open", &[])
    };
    Command::new(program)
        .args(arguments)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .is_ok()
}
