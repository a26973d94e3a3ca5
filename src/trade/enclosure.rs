//! Motor enclosures (NEMA MG 1 1.25 to 1.27, IEC 60034-5 and -6; sources in `data/enclosures.csv`).

use super::table::{by_spelling, compact, rows};
use serde::Deserialize;
use std::collections::HashMap;
use std::sync::LazyLock;

/// One kind of enclosure.
#[derive(Debug, Clone, Deserialize)]
pub struct Enclosure {
    /// The usual abbreviation, such as `TEFC`.
    pub code: String,
    #[serde(rename = "spellings_on_plates")]
    spellings: String,
    /// What the abbreviation stands for.
    pub meaning: String,
    /// `open` or `enclosed`.
    pub open_or_enclosed: String,
    needs_external_airflow: String,
    /// Degrees of protection printed for it, separated by `|`.
    pub ip: String,
    /// IEC 60034-6 methods of cooling, separated by `|`.
    pub ic: String,
}

impl Enclosure {
    /// Whether the motor is cooled by the air that the driven fan moves across it.
    pub fn is_air_over(&self) -> bool {
        self.needs_external_airflow == "yes"
    }

    /// Whether its rating stands without the air of a driven fan: it has a fan or blower of its own, or
    /// needs none.
    pub fn needs_no_air(&self) -> bool {
        self.needs_external_airflow.starts_with("no")
    }

    /// Whether the motor is totally enclosed.
    pub fn is_enclosed(&self) -> bool {
        self.open_or_enclosed == "enclosed"
    }

    /// Spellings seen on plates, known misreadings left out.
    pub fn spellings(&self) -> impl Iterator<Item = &str> {
        self.spellings
            .split('|')
            .filter(|s| !s.contains("(misread)"))
    }
}

static ENCLOSURES: LazyLock<Vec<Enclosure>> =
    LazyLock::new(|| rows(include_str!("data/enclosures.csv")));

impl Enclosure {
    /// All kinds of enclosure, open ones first.
    pub fn all() -> &'static [Enclosure] {
        &ENCLOSURES
    }
}

/// Where each code and spelling stands among the enclosures; a code goes before a spelling.
static BY_SPELLING: LazyLock<HashMap<String, usize>> = LazyLock::new(|| {
    let codes = ENCLOSURES
        .iter()
        .enumerate()
        .map(|(i, e)| (compact(&e.code), i));
    let spellings = ENCLOSURES
        .iter()
        .enumerate()
        .flat_map(|(i, e)| e.spellings().map(move |s| (compact(s), i)));
    by_spelling(codes.chain(spellings))
});

/// The enclosure that a spelling on a plate stands for, whatever its dots, dashes and spaces.
pub fn enclosure(spelling: &str) -> Option<&'static Enclosure> {
    BY_SPELLING
        .get(&compact(spelling))
        .and_then(|&i| ENCLOSURES.get(i))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: NEMA MG 1 1.25-1.27 and IEC 60034-6 as given in `data/enclosures.csv`.
    #[test]
    fn spellings_lead_to_their_code() {
        for (spelling, code, air_over) in [
            ("O.D.P.", "DP", false),
            ("Totally Enclosed Fan Cooled", "", false),
            ("TOTALLY ENCL FAN COOLED", "TEFC", false),
            ("TE-AO", "TEAO", true),
            ("AIR OVER", "OAO", true),
        ] {
            match enclosure(spelling) {
                Some(e) => assert_eq!((e.code.as_str(), e.is_air_over()), (code, air_over)),
                None => assert_eq!(code, "", "{spelling}"),
            }
        }
    }
}
