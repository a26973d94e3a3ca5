//! Codes on the plate as evidence for model and serial number. A code repeats what is printed, so it can
//! confirm a reading or offer another one; it never puts a value where none was read, and speaks of no other
//! field.

use super::reading::{Candidate, FieldReading};
use crate::record::{Field, Value};
use crate::text::Code;
use std::collections::BTreeMap;

/// The fields that codes repeat (common practice).
pub(crate) const REPEATED: [Field; 2] = [Field::Model, Field::Serial];

/// Fewer letters and digits than this can agree by chance.
const TELLING: usize = 4;
/// This many letters and digits in a row do not stand in a longer text by chance.
const INSIDE: usize = 6;
/// How much likelier a reading becomes when a code says the same: codes check themselves, and a misreading
/// that happens to be what the code says is rare. From memory of how misreadings spread, not measured.
const AGREES: f64 = 200.0;
/// A reading that a labelled code contradicts is worth this much less.
const CONTRADICTED: f64 = 0.5;

/// What a code has to say of a reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Testimony {
    /// It says the same.
    Agrees,
    /// It says this, which differs in few characters.
    Differs(String),
}

/// Lets the codes weigh in on the readings of model and serial number.
pub(super) fn weigh(fields: &mut BTreeMap<Field, FieldReading>, codes: &[Code]) {
    for field in REPEATED {
        let Some(reading) = fields.get_mut(&field) else {
            continue;
        };
        for code in codes {
            confirm(reading, code);
            contradict(reading, field, code);
        }
    }
}

/// Bayes over the candidates and the rest: those that the code repeats are likelier.
fn confirm(reading: &mut FieldReading, code: &Code) {
    let repeated: Vec<bool> = reading
        .candidates
        .iter()
        .map(|c| repeats(&code.text, &c.printed))
        .collect();
    if !repeated.contains(&true) {
        return;
    }
    let rest = 1.0
        - reading
            .candidates
            .iter()
            .map(|c| c.probability)
            .sum::<f64>();
    let mut sum = rest.max(0.0);
    for (candidate, repeated) in reading.candidates.iter_mut().zip(repeated) {
        candidate.probability *= if repeated { AGREES } else { 1.0 };
        sum += candidate.probability;
    }
    for candidate in &mut reading.candidates {
        candidate.probability /= sum.max(f64::MIN_POSITIVE);
    }
    sort(reading);
}

/// What a code says instead, where it differs in few characters, becomes an alternative.
fn contradict(reading: &mut FieldReading, field: Field, code: &Code) {
    let Some(Testimony::Differs(said)) = testimony(field, &reading.candidates[0].printed, code)
    else {
        return;
    };
    reading
        .doubts
        .push(format!("the {} beside it says {said}", code.symbology));
    if reading
        .candidates
        .iter()
        .any(|c| bare(&c.printed) == bare(&said))
    {
        return;
    }
    for candidate in &mut reading.candidates {
        candidate.probability *= CONTRADICTED;
    }
    // What is printed is asked for, so what was read there stays first.
    let probability = 0.9 * reading.candidates[0].probability;
    reading.candidates.push(Candidate {
        value: Value::Text(said.clone()),
        printed: said,
        probability,
    });
    sort(reading);
}

fn sort(reading: &mut FieldReading) {
    reading
        .candidates
        .sort_by(|a, b| b.probability.total_cmp(&a.probability));
}

/// What a code has to say of what was read for a field; `None` when it speaks of something else.
pub(crate) fn testimony(field: Field, printed: &str, code: &Code) -> Option<Testimony> {
    if repeats(&code.text, printed) {
        return Some(Testimony::Agrees);
    }
    let said = statement(field, &code.text)?;
    let (read, other) = (bare(printed), bare(&said));
    let distance = strsim::damerau_levenshtein(&read, &other);
    let few = (read.len().max(other.len()) / 4).max(1);
    (read.len().min(other.len()) >= TELLING && distance <= few).then_some(Testimony::Differs(said))
}

/// Letters and digits alone, in capitals.
fn bare(text: &str) -> String {
    text.chars()
        .filter(char::is_ascii_alphanumeric)
        .map(|ch| ch.to_ascii_uppercase())
        .collect()
}

/// Whether a code's text holds what was printed, as a whole word or too long to be there by chance.
fn repeats(text: &str, printed: &str) -> bool {
    let printed = bare(printed);
    if printed.len() < TELLING {
        return false;
    }
    let whole = bare(text);
    let word = words(text).any(|word| bare(word) == printed);
    word || whole == printed || (printed.len() >= INSIDE && whole.contains(&printed))
}

/// The words of a code's text: dashes and points belong to numbers, all other signs part them.
fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|ch: char| !(ch.is_ascii_alphanumeric() || matches!(ch, '-' | '.')))
        .filter(|word| !word.is_empty())
}

/// What a code says for a field in so many words: after its label, or as its only word.
fn statement(field: Field, text: &str) -> Option<String> {
    let labels: &[&str] = match field {
        Field::Serial => &["SN", "SER", "SERIAL", "SERIALNO", "SERIALNUMBER", "SERNO"],
        Field::Model => &[
            "MN",
            "MOD",
            "MODEL",
            "MODELNO",
            "MODELNUMBER",
            "CAT",
            "CATNO",
            "TYPE",
        ],
        _ => return None,
    };
    // "S/N" is one word here.
    let joined = text
        .to_ascii_uppercase()
        .replace("S/N", "SN")
        .replace("M/N", "MN");
    let all: Vec<&str> = words(&joined).collect();
    if let [only] = all[..] {
        return Some(only.to_owned());
    }
    let is_label = |word: &str| labels.contains(&bare(word).as_str());
    let mut after = all.iter().skip_while(|w| !is_label(w)).skip(1);
    let filler = |word: &str| matches!(bare(word).as_str(), "" | "NO" | "NUMBER" | "NR");
    after
        .find(|w| !filler(w) && !is_label(w))
        .map(|w| (*w).to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Quad;
    use crate::text::Symbology;
    use proptest::prelude::*;

    fn code(text: &str) -> Code {
        Code {
            symbology: Symbology::QrCode,
            text: text.to_owned(),
            quad: Quad::default(),
        }
    }

    fn read(candidates: &[(&str, f64)]) -> FieldReading {
        FieldReading {
            candidates: candidates
                .iter()
                .map(|&(printed, probability)| Candidate {
                    printed: printed.to_owned(),
                    value: Value::Text(printed.to_owned()),
                    probability,
                })
                .collect(),
            association: 1.0,
            label: Some("SER NO".to_owned()),
            quad: Quad::default(),
            doubts: Vec::new(),
            claims: Vec::new(),
            open: None,
            seconded: None,
        }
    }

    fn weighed(field: Field, reading: FieldReading, texts: &[&str]) -> FieldReading {
        let codes: Vec<Code> = texts.iter().map(|t| code(t)).collect();
        let mut fields = BTreeMap::from([(field, reading)]);
        weigh(&mut fields, &codes);
        fields.remove(&field).expect("a weighed field stays")
    }

    #[test]
    fn what_a_code_says_of_a_reading() {
        let agrees = || Some(Testimony::Agrees);
        let differs = |said: &str| Some(Testimony::Differs(said.to_owned()));
        let cases = [
            ("1567-88724", "156788724", agrees()),
            (
                "1567-88724",
                "https://motors.example/p?m=FDVL871&sn=1567-88724",
                agrees(),
            ),
            ("1567-88724", "MN FDVL871 S/N 1567-88724", agrees()),
            ("1567-88724", "0001567887240009", agrees()),
            (
                "1567-88724",
                "S/N:1567-88124;M/N:FDVL871",
                differs("1567-88124"),
            ),
            ("1567-88724", "SERIAL NO. 1567-88124", differs("1567-88124")),
            ("1567-88724", "1567-8872A", differs("1567-8872A")),
            // Something else altogether, or nothing that says which field it means.
            ("1567-88724", "FDVL871", None),
            ("1567-88724", "FDVL871 1567-88124", None),
            ("1567-88724", "https://motors.example/", None),
            ("1567-88724", "", None),
            ("1567-88724", "S/N", None),
            // Too short to agree on purpose.
            ("48", "48", None),
            ("A4B7", "XXA4B7XX", None),
            ("A4B7", "X A4B7 X", agrees()),
        ];
        let wrong: Vec<String> = cases
            .into_iter()
            .filter_map(|(printed, text, expected)| {
                let got = testimony(Field::Serial, printed, &code(text));
                (got != expected).then(|| format!("{printed} {text:?}: {got:?}, not {expected:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn a_code_that_agrees_settles_the_choice() {
        let unsure = read(&[("1567-8B724", 0.5), ("1567-88724", 0.4)]);
        let settled = weighed(Field::Serial, unsure, &["S/N 156788724"]);
        assert_eq!(settled.candidates[0].printed, "1567-88724");
        assert!(settled.candidates[0].probability > 0.99, "{settled:?}");
        assert_eq!(settled.doubts, Vec::<String>::new());
    }

    #[test]
    fn a_code_that_disagrees_makes_an_alternative_and_a_doubt() {
        let sure = read(&[("1567-8B724", 0.99)]);
        let doubtful = weighed(Field::Serial, sure, &["S/N 1567-88724"]);
        let printed: Vec<&str> = doubtful
            .candidates
            .iter()
            .map(|c| c.printed.as_str())
            .collect();
        assert_eq!(printed, ["1567-8B724", "1567-88724"]);
        assert_eq!(doubtful.doubts, ["the QR code beside it says 1567-88724"]);
    }

    #[test]
    fn a_code_speaks_of_no_other_field_and_adds_none() {
        let amps = read(&[("1567-88724", 0.9)]);
        assert_eq!(weighed(Field::Frame, amps.clone(), &["1567-88724"]), amps);
        let mut none = BTreeMap::new();
        weigh(&mut none, &[code("S/N 1567-88724")]);
        assert!(none.is_empty());
    }

    proptest! {
        #[test]
        fn probabilities_stay_probabilities(
            given in prop::collection::vec(("[A-C0-2-]{1,8}", 0.0f64..1.0), 1..5),
            texts in prop::collection::vec("(S/N |M/N )?[A-C0-2/ -]{0,10}|\\PC{0,20}", 0..4),
        ) {
            let total: f64 = given.iter().map(|g| g.1).sum::<f64>().max(1.0);
            let given: Vec<(&str, f64)> = given.iter().map(|(t, p)| (t.as_str(), p / total)).collect();
            let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
            let reading = weighed(Field::Serial, read(&given), &texts);
            let sum: f64 = reading.candidates.iter().map(|c| c.probability).sum();
            prop_assert!(sum <= 1.0 + 1e-9, "{reading:?}");
            prop_assert!(reading.candidates.iter().all(|c| (0.0..=1.0 + 1e-9).contains(&c.probability)));
        }
    }
}
