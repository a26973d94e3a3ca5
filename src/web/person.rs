//! Who sends a request, and whether its form is from a page of theirs.

use super::error::PageError;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use sha2::{Digest, Sha256};

/// Somebody who is let in.
#[derive(Debug, Clone)]
pub(super) struct Person {
    /// What they call themselves; stands beside what they confirm.
    pub(super) name: String,
    /// The hash of their token.
    pub(super) token_hash: String,
    /// What their forms must send.
    pub(super) csrf: String,
    /// Whether the server is open to phones.
    pub(super) lan: bool,
}

/// The form token that belongs to a cookie's token: it follows from it, and it cannot be found without it.
pub(super) fn csrf(token: &str) -> String {
    let hash = Sha256::digest(format!("form of {token}").as_bytes());
    hash.iter().take(16).map(|b| format!("{b:02x}")).collect()
}

/// A token that nobody guesses: 32 bytes from the system, hexadecimal.
pub(super) fn token() -> Result<String, PageError> {
    let mut bytes = [0u8; 32];
    getrandom::fill(&mut bytes)
        .map_err(|e| PageError::Inside(format!("the system gives no random numbers: {e}")))?;
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

impl Person {
    /// Refuses a form that is not from a page of theirs.
    pub(super) fn check(&self, sent: &str) -> Result<(), PageError> {
        // Of equal length and compared to the end, so that the time it takes tells nothing.
        let differs = sent.len() != self.csrf.len()
            || sent
                .bytes()
                .zip(self.csrf.bytes())
                .fold(0, |all, (a, b)| all | (a ^ b))
                != 0;
        if differs {
            Err(PageError::Forged)
        } else {
            Ok(())
        }
    }
}

impl<S: Sync> FromRequestParts<S> for Person {
    type Rejection = PageError;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Person, PageError> {
        parts
            .extensions
            .get::<Person>()
            .cloned()
            .ok_or(PageError::NotPaired)
    }
}
