//! Text inside HTML, SVG and MathML: what comes from a sheet is text and never markup.

use crate::visible::visible;

/// A text for an element's content or an attribute in quotes, on one line, control characters
/// spelled out.
pub(crate) fn escaped(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    escaped_lines(&words.join(" "))
}

/// The same with the lines that it has.
pub(crate) fn escaped_lines(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in visible(text).chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn markup_becomes_text() {
        assert_eq!(
            escaped("<script>alert('x & \"y\"')</script>"),
            "&lt;script&gt;alert(&#39;x &amp; &quot;y&quot;&#39;)&lt;/script&gt;"
        );
        assert_eq!(escaped("two\n  lines"), "two lines");
        assert!(!escaped("a\u{202e}b\u{0}").contains(['\u{202e}', '\u{0}']));
    }
}
