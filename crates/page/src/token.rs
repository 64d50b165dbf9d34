//! Random words that nobody can guess: the page's token and the nonces of its documents.

use std::fmt::Write as _;
use std::io;

use subtle::ConstantTimeEq as _;

/// A random word of 128 bits, in letters that an address can hold.
#[derive(Clone)]
pub(crate) struct Token(String);

impl Token {
    /// A new one.
    pub(crate) fn new() -> io::Result<Self> {
        let mut bytes = [0; 16];
        getrandom::fill(&mut bytes).map_err(|error| {
            io::Error::other(format!("the system gives no random numbers: {error}"))
        })?;
        let mut word = String::with_capacity(2 * bytes.len());
        for byte in bytes {
            // Writing to a text does not fail.
            let _ = write!(word, "{byte:02x}");
        }
        Ok(Self(word))
    }

    pub(crate) fn as_str(&self) -> &str {
        &self.0
    }

    /// Whether a word is this one, in a time that does not tell how much of it is right.
    pub(crate) fn is(&self, word: &[u8]) -> bool {
        self.0.as_bytes().ct_eq(word).into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_itself_and_nothing_else() {
        let (one, other) = (Token::new().unwrap(), Token::new().unwrap());
        assert_eq!(one.as_str().len(), 32);
        assert!(one.is(one.as_str().as_bytes()));
        for wrong in [other.as_str(), "", &one.as_str()[1..], &format!("{}0", one.as_str())] {
            assert!(!one.is(wrong.as_bytes()), "{wrong}");
        }
    }
}
