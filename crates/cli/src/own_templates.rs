//! The user's own templates: sheets in one folder, each listed under its file's name.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};

use forebay_report::OwnTemplate;
use forebay_sheet::Sheet;

use crate::refusal::Refusal;
use crate::source_files::{read, reason};

/// More are not looked at, so that a wrong folder does not take forever.
const MOST: usize = 500;

/// A folder of templates.
#[derive(Debug)]
pub(crate) struct Folder {
    pub(crate) path: PathBuf,
    /// The sheets in it by name, sorted.
    files: Vec<(String, PathBuf)>,
}

impl Folder {
    /// The folder that the user names, which must be there.
    pub(crate) fn named(path: &Path) -> Result<Self, Refusal> {
        let files = sheets(path).map_err(|error| {
            Refusal::new(format!("`{}` cannot be read: {}", path.display(), reason(&error)))
                .help("--from wants a folder with sheets, each a file NAME.yaml")
        })?;
        Ok(Self { path: path.to_owned(), files })
    }

    /// The folder of this user's settings, whether it is there or not; none where the system does
    /// not say where settings live.
    pub(crate) fn of_the_user() -> Option<Self> {
        let path = settings()?.join("forebay").join("templates");
        let files = sheets(&path).unwrap_or_default();
        Some(Self { path, files })
    }

    /// The names that can be asked for.
    pub(crate) fn names(&self) -> impl Iterator<Item = &str> {
        self.files.iter().map(|(name, _)| name.as_str())
    }

    /// The text of the template of this name, or why it cannot be had.
    pub(crate) fn text(&self, name: &str) -> Option<Result<String, String>> {
        let (_, file) = self.files.iter().find(|(own, _)| own == name)?;
        Some(read(file))
    }

    /// A line for each: its title, or what is wrong with it.
    pub(crate) fn listing(&self) -> Vec<OwnTemplate> {
        let about = |file: &Path| match read(file) {
            Err(why) => format!("cannot be read: {why}"),
            Ok(text) => Sheet::open(&text).title().unwrap_or("(it has no title)").to_owned(),
        };
        self.files
            .iter()
            .map(|(name, file)| OwnTemplate { name: name.clone(), about: about(file) })
            .collect()
    }
}

/// Where this user's settings live: as the XDG base directory specification says, else as Windows
/// does.
fn settings() -> Option<PathBuf> {
    let absolute =
        |name: &str| env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute());
    absolute("XDG_CONFIG_HOME")
        .or_else(|| Some(absolute("HOME")?.join(".config")))
        .or_else(|| absolute("APPDATA"))
}

fn sheets(folder: &Path) -> std::io::Result<Vec<(String, PathBuf)>> {
    let mut found: Vec<(String, PathBuf)> = fs::read_dir(folder)?
        .flatten()
        .map(|entry| entry.path())
        .filter(|file| file.extension().is_some_and(|end| end == "yaml" || end == "yml"))
        .filter_map(|file| Some((file.file_stem()?.to_str()?.to_owned(), file)))
        .filter(|(name, _)| !name.starts_with('.'))
        .take(MOST)
        .collect();
    found.sort();
    Ok(found)
}
