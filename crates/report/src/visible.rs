//! Spells out the characters of a text that would steer a terminal or hide what is written.

use std::borrow::Cow;

/// The text with control characters, escapes and characters that turn or hide text spelled out,
/// `\u{1b}`. Line ends and tabs stay.
///
/// ```
/// use forebay_report::visible;
/// assert_eq!(visible("a weir"), "a weir");
/// assert_eq!(visible("\u{1b}[2Jgone"), r"\u{1b}[2Jgone");
/// assert_eq!(visible("safe\u{202e}elbat"), r"safe\u{202e}elbat");
/// ```
#[must_use]
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.chars().any(is_hidden) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        let ends_line = letter == '\r' && letters.peek() == Some(&'\n');
        if is_hidden(letter) && !ends_line {
            out.extend(letter.escape_unicode());
        } else {
            out.push(letter);
        }
    }
    Cow::Owned(out)
}

/// Whether a character steers, turns or hides text instead of showing something.
#[must_use]
pub fn is_hidden(letter: char) -> bool {
    match letter {
        '\n' | '\t' => false,
        // Soft hyphen, Arabic letter mark, Mongolian vowel separator.
        '\u{ad}' | '\u{61c}' | '\u{180e}' => true,
        // Zero widths and direction marks; line and paragraph separators; embeddings and overrides.
        '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' => true,
        // Invisible operators, isolates, deprecated format characters; byte order mark.
        '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' => true,
        // Variation selectors and tags carry text that nobody sees.
        '\u{fe00}'..='\u{fe0f}' | '\u{e0000}'..='\u{e0fff}' => true,
        other => other.is_control(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_steers_a_terminal_is_spelled_out() {
        for hostile in ["\u{1b}]0;title\u{7}", "\u{9b}31m", "a\u{8}b", "a\rb", "\u{2066}x\u{2069}"]
        {
            let shown = visible(hostile);
            assert!(!shown.chars().any(char::is_control), "{shown}");
            assert!(shown.contains("\\u{"), "{shown}");
        }
    }

    #[test]
    fn line_ends_stay() {
        assert_eq!(visible("a\r\nb\tc\n"), "a\r\nb\tc\n");
        assert_eq!(visible("a\r\nb\u{7}"), "a\r\nb\\u{7}");
    }
}
