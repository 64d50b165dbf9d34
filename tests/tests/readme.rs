//! The worksheet in the README gives what the README shows.

use forebay_sheet::Sheet;

/// The text of the first fenced block of a kind at or after a place, and where it ends.
fn block<'t>(text: &'t str, kind: &str, from: usize) -> (&'t str, usize) {
    let open = format!("```{kind}\n");
    let start = text[from..].find(&open).expect("the block is there") + from + open.len();
    let length = text[start..].find("```").expect("the block ends");
    (&text[start..start + length], start + length)
}

#[test]
fn the_ten_lines_give_the_output_shown() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../README.md");
    let readme = std::fs::read_to_string(path).unwrap();
    let (yaml, end) = block(&readme, "yaml", 0);
    let (shown, _) = block(&readme, "text", end);
    assert_eq!(yaml.lines().count(), 10);
    let mut sheet = Sheet::open(yaml);
    assert!(sheet.diagnostics().is_empty(), "{:?}", sheet.diagnostics());
    let format = forebay_report::FORMATS.iter().find(|f| f.name == "text").unwrap();
    let output = (format.write)(&mut sheet, &forebay_report::Options::default());
    if std::env::var_os("UPDATE").is_some() {
        let updated =
            readme.replacen(&format!("```text\n{shown}```"), &format!("```text\n{output}```"), 1);
        std::fs::write(path, updated).unwrap();
    } else {
        assert_eq!(output.trim_end(), shown.trim_end());
    }
}
