//! Formulas that YAML tore apart inside `{ }`, put together again for the message.

use super::tree::{Entry, Kind, Node, Style};
use crate::diagnostic::{Code, Diagnostic, Span};

/// How many pieces of one formula are looked for; bounds the work on hostile texts.
const MAX_PIECES: usize = 64;

/// Finds in a set of keys written in braces each value whose bracket closes only in later keys.
/// Says so once, marks the value as broken and takes the odd keys out.
pub(super) fn mend(entries: Vec<Entry>, text: &str, found: &mut Vec<Diagnostic>) -> Vec<Entry> {
    let torn = |at: usize| pieces_after(&entries[at], &entries[at + 1..]) > 0;
    if !(0..entries.len()).any(torn) {
        return entries;
    }
    let mut kept: Vec<Entry> = Vec::with_capacity(entries.len());
    let mut entries = entries.into_iter();
    loop {
        let rest = entries.as_slice();
        let Some(first) = rest.first() else { break };
        let pieces = pieces_after(first, &rest[1..]);
        let torn = (pieces > 0).then(|| {
            let last = &rest[pieces];
            Span { end: last.value.span.end.max(last.key.span.end), ..first.value.span }
        });
        let Some(mut entry) = entries.next() else { break };
        if let Some(span) = torn {
            found.push(explain(text, span));
            entry.value = Node { span, kind: Kind::Broken };
            if let Some(last) = pieces.checked_sub(1) {
                entries.nth(last);
            }
        }
        kept.push(entry);
    }
    kept
}

/// The diagnostic for a formula that fell apart; `span` covers all of it.
pub(super) fn explain(text: &str, span: Span) -> Diagnostic {
    let whole = text.get(span.start as usize..span.end as usize).unwrap_or_default();
    let whole = whole.split_whitespace().collect::<Vec<_>>().join(" ");
    Diagnostic::new(Code::TORN_FORMULA, format!("`{whole}` fell apart inside `{{ }}`"), span)
        .here("YAML splits this at every comma and colon")
        .help(format!("put it on a line of its own, or in quotes: \"{whole}\""))
}

/// Whether `text` leaves a bracket open.
pub(super) fn is_open(text: &str) -> bool {
    balance(text) > 0
}

/// How many of the entries that follow belong to the value of `first`.
fn pieces_after(first: &Entry, rest: &[Entry]) -> usize {
    let Kind::Scalar { text, style: Style::Plain } = &first.value.kind else { return 0 };
    let mut open = balance(text);
    if open <= 0 {
        return 0;
    }
    let mut keys_alone = 0;
    for (at, entry) in rest.iter().take(MAX_PIECES).enumerate() {
        open += balance(&entry.key.text);
        match &entry.value.kind {
            Kind::Scalar { text, style: Style::Plain } => {
                open += balance(text);
                if text.is_empty() && keys_alone == at {
                    keys_alone += 1;
                }
            }
            Kind::Scalar { .. } => {}
            _ => break,
        }
        if open <= 0 {
            return at + 1;
        }
    }
    // The bracket is never closed: keys without a value right behind are still pieces of it.
    keys_alone
}

/// Opened less closed round and square brackets, outside of double quotes.
fn balance(text: &str) -> i64 {
    let mut quoted = false;
    text.bytes()
        .map(|byte| match byte {
            b'"' => {
                quoted = !quoted;
                0
            }
            b'(' | b'[' if !quoted => 1,
            b')' | b']' if !quoted => -1,
            _ => 0,
        })
        .sum()
}
