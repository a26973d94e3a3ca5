//! Duty and time ratings (NEC 430.7(A)(6), IEC 60034-1; sources in `data/duty_codes.csv`).

use super::table::{by_spelling, compact, rows};
use serde::Deserialize;
use std::collections::HashMap;
use std::sync::LazyLock;

/// One duty or time rating.
#[derive(Debug, Clone, Deserialize)]
pub struct Duty {
    /// The usual abbreviation, such as `CONT` or `30 MIN`.
    pub code: String,
    #[serde(rename = "spellings_on_plates")]
    spellings: String,
    /// What it means.
    pub meaning: String,
    continuous: String,
}

impl Duty {
    /// Whether the motor may run at its rating without end.
    pub fn is_continuous(&self) -> bool {
        self.continuous == "yes"
    }

    /// Spellings seen on plates.
    pub fn spellings(&self) -> impl Iterator<Item = &str> {
        self.spellings.split('|')
    }

    /// All duties of the table.
    pub fn all() -> &'static [Duty] {
        &DUTIES
    }
}

static DUTIES: LazyLock<Vec<Duty>> = LazyLock::new(|| rows(include_str!("data/duty_codes.csv")));

/// Where each code and spelling stands among the duties; a code goes before a spelling.
static BY_SPELLING: LazyLock<HashMap<String, usize>> = LazyLock::new(|| {
    let codes = DUTIES
        .iter()
        .enumerate()
        .map(|(i, d)| (compact(&d.code), i));
    let spellings = DUTIES
        .iter()
        .enumerate()
        .flat_map(|(i, d)| d.spellings().map(move |s| (compact(s), i)));
    by_spelling(codes.chain(spellings))
});

/// The duty that a spelling on a plate stands for, whatever its dots, dashes and spaces.
pub fn duty(spelling: &str) -> Option<&'static Duty> {
    BY_SPELLING
        .get(&compact(spelling))
        .and_then(|&i| DUTIES.get(i))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_lead_to_their_code() {
        assert_eq!(duty("Cont.").map(|d| d.code.as_str()), Some("CONT"));
        assert_eq!(duty("30 min").map(|d| d.is_continuous()), Some(false));
        assert!(duty("whenever").is_none());
    }
}
