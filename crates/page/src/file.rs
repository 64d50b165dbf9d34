//! Writes a file so that it is either the old one or the new one, never half of each.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// How many names are tried for the file beside; another program may have left some.
const MOST_NAMES: u32 = 100;

/// Why a file was left as it is.
#[derive(Debug)]
pub enum NotWritten {
    /// It does not hold what it was last seen to hold.
    Changed,
    /// The system refused.
    Failed(io::Error),
}

/// Puts a text in the place of a file, or makes the file. The text is written beside it, carried to
/// the disk and then given the file's name. A link is followed; permissions are kept.
///
/// # Errors
/// What the system says; the file is left as it was then.
pub fn replace(path: &Path, text: &str) -> io::Result<()> {
    replace_if(path, text, || Ok(true)).map(|_| ())
}

/// The same, if `still` says so in the last moment before the file gets its new text; tells whether
/// it did.
fn replace_if(
    path: &Path,
    text: &str,
    still: impl FnOnce() -> io::Result<bool>,
) -> io::Result<bool> {
    // Behind a link lies the file that is meant; a new one has no other name yet.
    let real = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let permissions = match fs::metadata(&real) {
        Ok(there) if there.permissions().readonly() => {
            return Err(io::Error::new(
                io::ErrorKind::PermissionDenied,
                "it is protected against writing",
            ));
        }
        Ok(there) => Some(there.permissions()),
        Err(_) => None,
    };
    let (mut new, beside) = beside(&real)?;
    let written = new
        .write_all(text.as_bytes())
        .and_then(|()| permissions.map_or(Ok(()), |kept| new.set_permissions(kept)))
        .and_then(|()| new.sync_all())
        .and_then(|()| still())
        .and_then(
            |still| if still { fs::rename(&beside, &real).map(|()| true) } else { Ok(false) },
        );
    if !matches!(written, Ok(true)) {
        let _ = fs::remove_file(&beside);
        return written;
    }
    // The new name is on the disk once the folder is. Not every system lets a folder be opened.
    if let Some(folder) = real.parent() {
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let _ = File::open(folder).and_then(|folder| folder.sync_all());
    }
    Ok(true)
}

/// The same, unless the file holds something else than `seen` by now. It is looked at once the new
/// text is on the disk, right before the one step that puts it in place; what somebody writes between
/// the two, some millionths of a second, is beyond what systems let a program see.
///
/// # Errors
/// [`NotWritten::Changed`] where somebody else has written it meanwhile, also when it is gone.
pub fn replace_unchanged(path: &Path, seen: &str, text: &str) -> Result<(), NotWritten> {
    let still = || match fs::read(path) {
        Ok(now) => Ok(now == seen.as_bytes()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(error),
    };
    // A change that is there already is told without writing anything beside.
    match still() {
        Ok(true) => match replace_if(path, text, still) {
            Ok(true) => Ok(()),
            Ok(false) => Err(NotWritten::Changed),
            Err(error) => Err(NotWritten::Failed(error)),
        },
        Ok(false) => Err(NotWritten::Changed),
        Err(error) => Err(NotWritten::Failed(error)),
    }
}

/// An empty file in the same folder, so that it can be renamed in one step.
fn beside(file: &Path) -> io::Result<(File, PathBuf)> {
    let name = file.file_name().ok_or(io::ErrorKind::InvalidInput)?;
    for number in 0..MOST_NAMES {
        let mut hidden = OsString::from(".");
        hidden.push(name);
        hidden.push(format!(".{}-{number}.new", std::process::id()));
        let path = file.with_file_name(hidden);
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(new) => return Ok((new, path)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::ErrorKind::AlreadyExists.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_change_while_the_new_text_is_written_is_seen() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("brook.yaml");
        fs::write(&file, "one").unwrap();
        let meanwhile = || {
            fs::write(&file, "somebody's")?;
            Ok(fs::read_to_string(&file)? == "one")
        };
        assert!(!replace_if(&file, "two", meanwhile).unwrap());
        assert_eq!(fs::read_to_string(&file).unwrap(), "somebody's");
        assert_eq!(names(folder.path()), ["brook.yaml"]);
    }

    #[test]
    fn a_file_is_replaced_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("brook.yaml");
        replace(&file, "one").unwrap();
        replace_unchanged(&file, "one", "two").unwrap();
        assert_eq!(fs::read_to_string(&file).unwrap(), "two");
        assert_eq!(names(folder.path()), ["brook.yaml"]);
    }

    #[test]
    fn what_somebody_else_wrote_is_never_overwritten() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("brook.yaml");
        fs::write(&file, "theirs").unwrap();
        assert!(matches!(replace_unchanged(&file, "seen", "mine"), Err(NotWritten::Changed)));
        assert_eq!(fs::read_to_string(&file).unwrap(), "theirs");
        let gone = folder.path().join("gone.yaml");
        assert!(matches!(replace_unchanged(&gone, "seen", "mine"), Err(NotWritten::Changed)));
        assert_eq!(names(folder.path()), ["brook.yaml"]);
    }

    #[test]
    fn a_file_that_another_program_left_beside_is_not_touched() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("brook.yaml");
        let left = folder.path().join(format!(".brook.yaml.{}-0.new", std::process::id()));
        fs::write(&left, "left").unwrap();
        replace(&file, "mine").unwrap();
        assert_eq!(fs::read_to_string(&left).unwrap(), "left");
        assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    }

    #[cfg(unix)]
    #[test]
    fn links_are_followed_and_permissions_stay() {
        use std::os::unix::fs::{PermissionsExt as _, symlink};

        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("brook.yaml");
        let link = folder.path().join("link.yaml");
        fs::write(&file, "one").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
        symlink(&file, &link).unwrap();
        replace(&link, "two").unwrap();
        assert_eq!(fs::read_to_string(&file).unwrap(), "two");
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o640);

        fs::set_permissions(&file, fs::Permissions::from_mode(0o440)).unwrap();
        assert!(replace(&link, "three").is_err());
        assert_eq!(fs::read_to_string(&file).unwrap(), "two");
        assert_eq!(names(folder.path()), ["brook.yaml", "link.yaml"]);
    }
}
