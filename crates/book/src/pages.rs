//! Builds the pages of the book from its sources.

use std::cell::RefCell;
use std::path::Path;
use std::rc::Rc;

use mdbook_driver::MDBook;
use mdbook_preprocessor::book::Book;
use mdbook_preprocessor::errors::Result;
use mdbook_preprocessor::{Preprocessor, PreprocessorContext};

use crate::fault::Fault;
use crate::includes::Includes;

/// Builds the book under `root` into the folder that its `book.toml` names; gives what could not be
/// filled in.
pub(crate) fn build(root: &Path) -> std::result::Result<Vec<Fault>, String> {
    let told = |why: mdbook_preprocessor::errors::Error| format!("the book is not built: {why:#}");
    let faults = Rc::new(RefCell::new(Vec::new()));
    let mut book = MDBook::load(root.join("book")).map_err(told)?;
    book.with_preprocessor(Filling { faults: Rc::clone(&faults) });
    book.build().map_err(told)?;
    let found = faults.borrow().clone();
    Ok(found)
}

/// Fills in what chapters take from the library, and keeps our own words from the page's view.
struct Filling {
    faults: Rc<RefCell<Vec<Fault>>>,
}

impl Preprocessor for Filling {
    fn name(&self) -> &str {
        "forebay"
    }

    fn run(&self, _: &PreprocessorContext, mut book: Book) -> Result<Book> {
        let mut includes = Includes::default();
        let mut faults = self.faults.borrow_mut();
        book.for_each_chapter_mut(|chapter| {
            let name =
                chapter.source_path.as_deref().unwrap_or(Path::new("")).display().to_string();
            chapter.content = includes.filled(&name, &chapter.content, &mut faults);
        });
        Ok(book)
    }
}
