//! The document that the browser loads: structure, look and behaviour, without a word of a sheet.

use crate::token::Token;

const STRUCTURE: &str = include_str!("../web/page.html");
const LOOK: &str = include_str!("../web/page.css");
const BEHAVIOUR: &[&str] = &[
    include_str!("../web/elements.js"),
    include_str!("../web/numbers.js"),
    include_str!("../web/server.js"),
    include_str!("../web/cells.js"),
    include_str!("../web/checks.js"),
    include_str!("../web/working.js"),
    include_str!("../web/drawings.js"),
    include_str!("../web/sheet.js"),
    include_str!("../web/fields.js"),
    include_str!("../web/bar.js"),
    include_str!("../web/page.js"),
];

/// The document; its one style and its scripts bear the nonce, and nothing else may run.
pub(crate) fn document(nonce: &Token) -> String {
    let nonce = nonce.as_str();
    let look = format!("<style nonce=\"{nonce}\">\n{LOOK}</style>");
    let behaviour: String = BEHAVIOUR
        .iter()
        .map(|script| format!("<script nonce=\"{nonce}\">\n\"use strict\";\n{script}</script>\n"))
        .collect();
    STRUCTURE.replace("<!-- look -->", &look).replace("<!-- behaviour -->", &behaviour)
}

/// What the document may do: run its own scripts, ask this server, and nothing else.
pub(crate) fn policy(nonce: &Token) -> String {
    let nonce = nonce.as_str();
    format!(
        "default-src 'none'; script-src 'nonce-{nonce}'; style-src 'nonce-{nonce}'; \
         connect-src 'self'; img-src data:; base-uri 'none'; form-action 'none'; \
         frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types drawings"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_that_runs_bears_the_nonce_and_nothing_comes_from_elsewhere() {
        let nonce = Token::new().unwrap();
        let document = document(&nonce);
        let marked = document.matches(&format!(" nonce=\"{}\"", nonce.as_str())).count();
        assert_eq!(marked, BEHAVIOUR.len() + 1);
        assert_eq!(document.matches("<script").count(), BEHAVIOUR.len());
        for foreign in
            ["http://", "https://", "@import", "url(", "innerHTML", "style=\"", " onclick"]
        {
            let found = document.replace("http://www.w3.org/", "").matches(foreign).count();
            assert_eq!(found, 0, "{foreign}");
        }
    }
}
