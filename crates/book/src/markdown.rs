//! Writes texts of the library as Markdown.

/// A text as it is to be read, no letter of which is taken for markup; what stands between
/// backticks stays code.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let ticks = text.matches('`').count();
    let mut in_code = false;
    for letter in text.chars() {
        match letter {
            '\n' => out.push(' '),
            '`' if ticks.is_multiple_of(2) => {
                in_code = !in_code;
                out.push(letter);
            }
            '|' => out.push_str("\\|"),
            '<' | '>' if !in_code => out.push_str(if letter == '<' { "&lt;" } else { "&gt;" }),
            '*' | '_' | '[' | ']' | '`' | '\\' | '#' | '{' | '}' if !in_code => {
                out.push('\\');
                out.push(letter);
            }
            _ => out.push(letter),
        }
    }
    out
}

/// A short text as code.
pub(crate) fn code(text: &str) -> String {
    let text = text.replace('|', "\\|");
    if text.contains('`') { format!("`` {text} ``") } else { format!("`{text}`") }
}

/// A block of text between fences.
pub(crate) fn fenced(words: &str, text: &str) -> String {
    format!("```{words}\n{}\n```\n", text.trim_end())
}

/// A table with heads; each row has as many cells, which are Markdown already.
pub(crate) fn table(heads: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let line = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
    let mut out = line(heads.iter().map(|head| (*head).to_owned()).collect());
    out.push_str(&line(heads.iter().map(|_| "---".to_owned()).collect()));
    for row in rows {
        out.push_str(&line(row));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_in_a_text_is_shown_and_code_stays_code() {
        assert_eq!(escaped("a < b * c_d | `x * y`"), "a &lt; b \\* c\\_d \\| `x * y`");
        assert_eq!(escaped("one ` tick"), "one \\` tick");
        assert_eq!(table(&["a"], [vec!["1".to_owned()]]), "| a |\n| --- |\n| 1 |\n");
    }
}
