//! A sheet in a folder of its own, served by the page.

use std::fs;
use std::path::{Path, PathBuf};

use forebay_page::{Files, Page};
use forebay_sheet::Sheet;

/// A sheet that is served; the folder vanishes with it.
pub(crate) struct Served {
    pub(crate) file: PathBuf,
    pub(crate) address: String,
    pub(crate) folder: tempfile::TempDir,
}

struct OnDisk(PathBuf);

impl Files for OnDisk {
    fn path(&self) -> &Path {
        &self.0
    }

    fn name(&self) -> &str {
        "brook.yaml"
    }

    fn read(&self) -> Result<String, String> {
        fs::read_to_string(&self.0).map_err(|_| "no such file".to_owned())
    }

    fn open(&self, text: &str) -> (Sheet, Vec<PathBuf>) {
        (Sheet::open(text), Vec::new())
    }
}

impl Served {
    pub(crate) fn new(text: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("brook.yaml");
        fs::write(&file, text).unwrap();
        let page = Page::bind(None).unwrap();
        let address = page.address();
        let files = Box::new(OnDisk(file.clone()));
        // It serves until the test program ends.
        std::thread::spawn({
            let file = files.0.clone();
            move || page.serve(Box::new(OnDisk(file)))
        });
        Self { file, address, folder }
    }

    pub(crate) fn text(&self) -> String {
        fs::read_to_string(&self.file).unwrap()
    }

    pub(crate) fn write(&self, text: &str) {
        fs::write(&self.file, text).unwrap();
    }
}
