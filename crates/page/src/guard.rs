//! Who may ask: the page itself, opened by the one who started it, and nobody else.

use hyper::header::{HOST, HeaderMap, ORIGIN};
use hyper::{Method, StatusCode, Uri};

use crate::token::Token;

/// The header in which the page sends its token.
pub(crate) const TOKEN: &str = "x-forebay-token";

/// What the server knows of itself.
pub(crate) struct Guard {
    pub(crate) token: Token,
    pub(crate) port: u16,
}

/// Why a request is turned away.
pub(crate) type Refusal = (StatusCode, &'static str);

impl Guard {
    /// Whether a request is let through. The document is asked for with the token in its address,
    /// everything else with the token in a header, which no foreign page can send.
    pub(crate) fn admit(
        &self,
        method: &Method,
        uri: &Uri,
        headers: &HeaderMap,
    ) -> Result<(), Refusal> {
        const ELSEWHERE: Refusal =
            (StatusCode::FORBIDDEN, "this server answers to its own address alone");
        // A name that leads here from outside would make a foreign page ours.
        let host =
            only(headers, HOST.as_str()).filter(|host| self.is_own(host)).ok_or(ELSEWHERE)?;
        if uri.authority().is_some_and(|authority| authority.as_str() != host) {
            return Err(ELSEWHERE);
        }
        if headers.contains_key(ORIGIN) {
            let origin = only(headers, ORIGIN.as_str()).and_then(|o| o.strip_prefix("http://"));
            if origin != Some(host) {
                return Err((StatusCode::FORBIDDEN, "another page may not ask"));
            }
        }
        if headers.contains_key("sec-fetch-site") {
            let site = only(headers, "sec-fetch-site");
            if !matches!(site, Some("same-origin" | "none")) {
                return Err((StatusCode::FORBIDDEN, "another page may not ask"));
            }
        }
        let word = match (method, uri.path()) {
            (&Method::GET, "/") => uri.query().and_then(token_of).map(str::as_bytes),
            _ => headers.get(TOKEN).map(|value| value.as_bytes()),
        };
        if !word.is_some_and(|word| self.token.is(word)) {
            return Err((
                StatusCode::FORBIDDEN,
                "open the whole address that `forebay page` has printed",
            ));
        }
        Ok(())
    }

    fn is_own(&self, host: &str) -> bool {
        let port = host.strip_prefix("127.0.0.1:").or_else(|| host.strip_prefix("localhost:"));
        port == Some(self.port.to_string().as_str())
    }
}

/// The value of a header that is there once.
fn only<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    let mut all = headers.get_all(name).iter();
    let first = all.next()?.to_str().ok()?;
    all.next().is_none().then_some(first)
}

fn token_of(query: &str) -> Option<&str> {
    query.split('&').find_map(|pair| pair.strip_prefix("token="))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(uri: &str, headers: &[(&'static str, &str)], admitted: bool) {
        let guard = Guard { token: Token::new().unwrap(), port: 4000 };
        let word = |text: &str| text.replace("TOKEN", guard.token.as_str());
        let mut map = HeaderMap::new();
        for (name, value) in headers {
            map.append(*name, word(value).parse().unwrap());
        }
        let uri: Uri = word(uri).parse().unwrap();
        let method = if uri.path() == "/" { Method::GET } else { Method::POST };
        assert_eq!(guard.admit(&method, &uri, &map).is_ok(), admitted, "{uri} {headers:?}");
    }

    const HERE: (&str, &str) = ("host", "127.0.0.1:4000");
    const WORD: (&str, &str) = (TOKEN, "TOKEN");

    #[test]
    fn the_page_itself_is_let_through() {
        check("/?token=TOKEN", &[HERE], true);
        check("/?token=TOKEN", &[("host", "localhost:4000")], true);
        check("/?token=TOKEN", &[HERE, ("sec-fetch-site", "none")], true);
        check("/set", &[HERE, WORD], true);
        check("/set", &[HERE, WORD, ("origin", "http://127.0.0.1:4000")], true);
    }

    #[test]
    fn a_foreign_host_is_turned_away() {
        for host in
            ["evil.example:4000", "127.0.0.1", "127.0.0.1:4001", "127.0.0.1:4000.evil.example", ""]
        {
            check("/?token=TOKEN", &[("host", host)], false);
        }
        check("/?token=TOKEN", &[], false);
        check("/?token=TOKEN", &[HERE, HERE], false);
        check("http://evil.example/?token=TOKEN", &[HERE], false);
    }

    #[test]
    fn a_foreign_origin_is_turned_away() {
        for origin in
            ["http://evil.example", "null", "http://localhost:4000", "https://127.0.0.1:4000"]
        {
            check("/set", &[HERE, WORD, ("origin", origin)], false);
        }
        check("/set", &[HERE, WORD, ("sec-fetch-site", "cross-site")], false);
        check("/set", &[HERE, WORD, ("sec-fetch-site", "same-site")], false);
    }

    #[test]
    fn without_the_token_nothing_is_told() {
        check("/", &[HERE], false);
        check("/?token=", &[HERE], false);
        check("/?token=0123456789abcdef0123456789abcdef", &[HERE], false);
        check("/", &[HERE, WORD], false);
        check("/set", &[HERE], false);
        // In the address of anything but the document it would end up in logs and histories.
        check("/set?token=TOKEN", &[HERE], false);
    }
}
