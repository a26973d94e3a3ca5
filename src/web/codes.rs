//! One-time codes for pairing: eight characters that are easy to tell apart, good for one device and ten minutes.

use super::error::PageError;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// Without 0, O, 1, I, L and U: 30 characters, eight of them are 39 bits.
const ALPHABET: &[u8; 30] = b"23456789ABCDEFGHJKMNPQRSTVWXYZ";
const LENGTH: usize = 8;
const LIFE: Duration = Duration::from_secs(600);
/// After so many wrong codes all codes are void: whoever pairs needs a new one.
const MOST_WRONG: u32 = 20;

/// The codes that are good now.
#[derive(Debug, Default)]
pub(super) struct Codes(Mutex<Inner>);

#[derive(Debug, Default)]
struct Inner {
    good: Vec<(String, Instant)>,
    wrong: u32,
}

impl Codes {
    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Makes a code.
    pub(super) fn make(&self) -> Result<String, PageError> {
        let mut code = String::new();
        while code.len() < LENGTH {
            let mut bytes = [0u8; 16];
            getrandom::fill(&mut bytes).map_err(|e| {
                PageError::Inside(format!("the system gives no random numbers: {e}"))
            })?;
            // Bytes beyond a multiple of 30 would make some characters likelier.
            let even = bytes.iter().filter(|b| **b < 240);
            let characters = even.map(|b| char::from(ALPHABET[usize::from(*b) % ALPHABET.len()]));
            code.extend(characters.take(LENGTH - code.len()));
        }
        let mut inner = self.lock();
        inner.wrong = 0;
        inner.good.retain(|(_, made)| made.elapsed() < LIFE);
        inner.good.push((code.clone(), Instant::now()));
        Ok(code)
    }

    /// Whether a code is good; it is good only once.
    pub(super) fn take(&self, given: &str) -> bool {
        let given: String = given
            .to_uppercase()
            .chars()
            .filter(char::is_ascii_alphanumeric)
            .collect();
        let mut inner = self.lock();
        inner.good.retain(|(_, made)| made.elapsed() < LIFE);
        match inner.good.iter().position(|(code, _)| *code == given) {
            Some(at) => {
                inner.good.remove(at);
                true
            }
            None => {
                inner.wrong += 1;
                if inner.wrong >= MOST_WRONG {
                    inner.good.clear();
                }
                false
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_good_once() {
        let codes = Codes::default();
        let code = codes.make().unwrap();
        assert_eq!(code.len(), LENGTH);
        assert!(codes.take(&format!("{}-{}", &code[..4].to_lowercase(), &code[4..])));
        assert!(!codes.take(&code));
    }

    #[test]
    fn guessing_voids_all_codes() {
        let codes = Codes::default();
        let code = codes.make().unwrap();
        for _ in 0..MOST_WRONG {
            assert!(!codes.take("AAAAAAAA"));
        }
        assert!(!codes.take(&code));
        let fresh = codes.make().unwrap();
        assert!(codes.take(&fresh));
    }
}
