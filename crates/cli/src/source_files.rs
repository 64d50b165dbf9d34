//! The only file that opens sheets: the one that was named, and what it may read beside itself.

use std::cell::RefCell;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};

use forebay_sheet::{Loader, Template, template, templates};

use crate::refusal::Refusal;

/// The largest text that is read. A worksheet is far smaller; a table of readings may be large.
const MOST_BYTES: u64 = 16 * 1024 * 1024;

/// A worksheet's text and where it comes from.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// What diagnostics call it.
    pub(crate) name: String,
    pub(crate) text: String,
    /// The file, for one that was read from a file.
    pub(crate) path: Option<PathBuf>,
}

/// Gives a sheet the files of its own folder, and nothing else.
#[derive(Debug)]
pub(crate) struct Beside {
    folder: Option<PathBuf>,
    /// The files that were asked for, whether they are there or not.
    asked: RefCell<Vec<PathBuf>>,
}

/// The worksheet of this name: a file, a shipped template, or `-` for the standard input; the
/// first template where no name is given.
pub(crate) fn find(name: Option<&str>) -> Result<Found, Refusal> {
    let of = |template: &Template| Found {
        name: template.name.to_owned(),
        text: template.text.to_owned(),
        path: None,
    };
    let Some(name) = name else {
        let first = templates().first().ok_or_else(|| Refusal::new("no sheet is named"))?;
        return Ok(of(first));
    };
    if name == "-" {
        let text = bounded(io::stdin().lock())
            .map_err(|why| Refusal::new(format!("the standard input cannot be used: {why}")))?;
        return Ok(Found { name: "standard input".to_owned(), text, path: None });
    }
    let path = Path::new(name);
    if !path.exists() {
        if let Some(template) = template(name) {
            return Ok(of(template));
        }
        return Err(not_there(name, path));
    }
    read(path)
        .map(|text| Found { name: name.to_owned(), text, path: Some(path.to_owned()) })
        .map_err(|why| Refusal::new(format!("`{name}` cannot be read: {why}")))
}

/// The text of a file, or why it cannot be had.
pub(crate) fn read(path: &Path) -> Result<String, String> {
    // Looked at before it is opened: a pipe would make us wait.
    let kind = fs::metadata(path).map_err(|error| reason(&error))?;
    if kind.is_dir() {
        return Err("it is a folder".to_owned());
    }
    if !kind.is_file() {
        return Err("it is no ordinary file".to_owned());
    }
    bounded(File::open(path).map_err(|error| reason(&error))?)
}

impl Found {
    /// What the sheet may read beside itself.
    pub(crate) fn beside(&self) -> Beside {
        let folder = self.path.as_ref().and_then(|path| {
            let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
            folder.unwrap_or(Path::new(".")).canonicalize().ok()
        });
        Beside { folder, asked: RefCell::new(Vec::new()) }
    }
}

impl Beside {
    /// The files that the sheet asked for.
    pub(crate) fn asked(&self) -> Vec<PathBuf> {
        self.asked.borrow().clone()
    }

    /// The file of a plain name in the sheet's folder, and not outside it by any way.
    fn place(&self, name: &str) -> Result<PathBuf, String> {
        let mut parts = Path::new(name).components();
        let plain = matches!((parts.next(), parts.next()), (Some(Component::Normal(part)), None) if part == name);
        if !plain || name.contains(['/', '\\', ':', '\0']) {
            return Err(format!(
                "`{name}` is not the plain name of a file: only files in the sheet's own folder are read"
            ));
        }
        if name.starts_with('.') {
            return Err(format!("`{name}` is a hidden file, and those are not read"));
        }
        let Some(folder) = &self.folder else {
            return Err(format!("`{name}` cannot be read: this sheet has no folder"));
        };
        Ok(folder.join(name))
    }

    fn beside(&self, name: &str) -> Result<String, String> {
        let place = self.place(name)?;
        self.asked.borrow_mut().push(place.clone());
        let real = place
            .canonicalize()
            .map_err(|error| format!("`{name}` cannot be read: {}", reason(&error)))?;
        if real.parent() != self.folder.as_deref() {
            return Err(format!("`{name}` leads out of the sheet's folder, and is not read"));
        }
        read(&real).map_err(|why| format!("`{name}` cannot be read: {why}"))
    }
}

impl Loader for Beside {
    fn load(&self, name: &str) -> Result<String, String> {
        self.beside(name).map_err(|why| {
            match forebay_units::nearest(name, template_names()).first() {
                Some(near) => format!("{why}; there is a template `{near}`"),
                None => why,
            }
        })
    }
}

/// The names of the shipped templates.
pub(crate) fn template_names() -> impl Iterator<Item = &'static str> {
    templates().iter().map(|template| template.name)
}

fn bounded(reader: impl Read) -> Result<String, String> {
    let mut bytes = Vec::new();
    reader.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| reason(&error))?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(format!("it is larger than {} MiB", MOST_BYTES / 1024 / 1024));
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let line = error.as_bytes()[..at].iter().filter(|byte| **byte == b'\n').count() + 1;
        format!("it is not a text in UTF-8 (line {line}); save it as UTF-8")
    })
}

/// The reason in plain words, without the system's number.
pub(crate) fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "it may not be read by you".to_owned(),
        _ => error.to_string(),
    }
}

fn not_there(name: &str, path: &Path) -> Refusal {
    let refusal = Refusal::new(format!("there is no file and no template `{name}`"));
    let folder =
        path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let sheets: Vec<String> = fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.path())
        .filter(|file| file.extension().is_some_and(|end| end == "yaml" || end == "yml"))
        .filter_map(|file| Some(file.file_name()?.to_str()?.to_owned()))
        .collect();
    let wanted = path.file_name().and_then(|last| last.to_str()).unwrap_or(name);
    let mut names: Vec<&str> = sheets.iter().map(String::as_str).collect();
    for template in template_names() {
        names.push(template);
    }
    match forebay_units::nearest(wanted, names).first() {
        Some(near) => refusal.help(format!("did you mean `{near}`?")),
        None => refusal.help("`forebay new` lists the templates"),
    }
}
