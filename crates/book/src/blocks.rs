//! Finds the fenced blocks of a chapter, with what their first line says and where they stand.

use std::ops::Range;

use pulldown_cmark::{CodeBlockKind, Event, Parser, Tag};

use crate::fault::line_at;

/// A fenced block.
#[derive(Clone, Debug)]
pub(crate) struct Block {
    /// What stands behind the opening fence, parted at commas: `yaml`, `sheet`, `file=brook.yaml`.
    pub(crate) words: Vec<String>,
    /// The line of the opening fence, from 1.
    pub(crate) line: usize,
    /// The whole block with its fences.
    pub(crate) whole: Range<usize>,
    /// What stands between the fences.
    pub(crate) inside: Range<usize>,
}

impl Block {
    /// The language, the first word.
    pub(crate) fn language(&self) -> &str {
        self.words.first().map_or("", String::as_str)
    }

    /// Whether a word stands behind the language.
    pub(crate) fn says(&self, word: &str) -> bool {
        self.words.iter().skip(1).any(|said| said == word)
    }

    /// What stands behind `KEY=`.
    pub(crate) fn value(&self, key: &str) -> Option<&str> {
        self.words.iter().find_map(|word| word.strip_prefix(key)?.strip_prefix('='))
    }
}

/// All fenced blocks of a text, in their order.
pub(crate) fn blocks(text: &str) -> Vec<Block> {
    let mut found = Vec::new();
    for (event, whole) in Parser::new(text).into_offset_iter() {
        let Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) = event else { continue };
        let block = &text[whole.clone()];
        let (Some(first), Some(last)) = (block.find('\n'), block.trim_end().rfind('\n')) else {
            continue;
        };
        let inside = whole.start + first + 1..whole.start + last + 1;
        found.push(Block {
            words: info.split(',').map(|word| word.trim().to_owned()).collect(),
            line: line_at(text, whole.start),
            inside: inside.start..inside.end.max(inside.start),
            whole: whole.start..whole.start + block.trim_end().len(),
        });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_block_knows_its_words_and_its_place() {
        let text = "A\n\n```yaml,sheet,file=a.yaml\nforebay: 1\n```\n\nB\n\n```text\n```\n";
        let found = blocks(text);
        assert_eq!(found.len(), 2);
        assert_eq!((found[0].language(), found[0].line), ("yaml", 3));
        assert!(found[0].says("sheet") && !found[0].says("yaml"));
        assert_eq!(found[0].value("file"), Some("a.yaml"));
        assert_eq!(&text[found[0].inside.clone()], "forebay: 1\n");
        assert!(text[found[0].whole.clone()].ends_with("```"));
        assert_eq!(&text[found[1].inside.clone()], "");
    }
}
