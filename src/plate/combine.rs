//! Several readings of one plate made into one.
//!
//! Two looks at the same pixels mostly repeat each other's mistakes: their probabilities are averaged. Two
//! photos of the same plate are taken in another light and from another side: their probabilities are
//! multiplied, so that agreement counts and disagreement shows.

use super::lexicon::Target;
use super::{Candidate, FieldReading, Plate, values};
use crate::record::{Field, Value};
use crate::text::Code;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

/// Least probability that a photo gives to what another one read: misreadings come in kinds that no lattice
/// foresees.
const FLOOR: f64 = 1e-3;

/// How often the second reader is astray. Of 0.003 to 0.1, with several powers of the evidence, what made the
/// confidences of 141 calibration plates likeliest; it also is the share of lines that it misreads.
const ASTRAY: f64 = 0.1;
/// What the first reader does not cover is, with this probability, the reading that the second one has.
const UNSEEN: f64 = 0.3;
/// And this much it always leaves.
const LEAST_LEFT: f64 = 1e-5;

/// Further looks at the same photo: where a field was seen more than once, the average.
pub fn average(looks: &[Plate]) -> Plate {
    combine(looks, |field, readings| {
        let count = readings.len() as f64;
        let mut merged = strongest(readings).clone();
        merged.candidates = pooled(
            field,
            union(readings, |printed| {
                let seen = readings.iter().map(|r| probability(r, printed));
                seen.sum::<f64>() / count
            }),
        );
        merged
    })
}

/// Several photos of the same motor: agreement counts, and where the photos disagree the field says so.
pub fn fuse(photos: &[Plate]) -> Plate {
    combine(photos, |_, readings| {
        let mut merged = strongest(readings).clone();
        let joint = |printed: &str| -> f64 {
            readings
                .iter()
                .map(|r| probability(r, printed).max(FLOOR))
                .product()
        };
        let mut candidates = union(readings, joint);
        // What none of the photos offers keeps the share that all of them left.
        let rest: f64 = readings
            .iter()
            .map(|r| {
                (1.0 - r.candidates.iter().map(|c| c.probability).sum::<f64>()).max(FLOOR * FLOOR)
            })
            .product();
        let total = candidates.iter().map(|c| c.probability).sum::<f64>() + rest;
        for candidate in &mut candidates {
            candidate.probability /= total;
        }
        merged.candidates = candidates;
        merged.association = 1.0
            - readings
                .iter()
                .map(|r| 1.0 - r.association)
                .product::<f64>();
        // A doubt about the layout of one photo is settled by a photo that has none.
        let settles = |r: &&FieldReading| r.doubts.is_empty() && r.claims.is_empty();
        if readings.iter().any(settles) {
            merged.doubts.clear();
            merged.claims.clear();
        }
        if let Some(other) = readings.iter().find(|r| {
            let (mine, theirs) = (&merged.candidates[0], &r.candidates[0]);
            mine.value != theirs.value && theirs.probability > 0.5
        }) {
            merged.doubts.push(format!(
                "the photos disagree: {:?} and {:?}",
                merged.candidates[0].printed, other.candidates[0].printed
            ));
        }
        merged
    })
}

/// What a second reader says of the same lines: for each field that both read in the same place, Bayes' rule
/// with the second one's probabilities as evidence. Now and then the second reader is astray, and then its
/// answer says nothing.
pub fn corroborate(first: &Plate, second: &Plate) -> Plate {
    let mut whole = first.clone();
    for (field, reading) in &mut whole.fields {
        let Some(other) = second.fields.get(field).filter(|o| same_place(reading, o)) else {
            continue;
        };
        let pooled = |p: f64, q: f64| p * (ASTRAY + (1.0 - ASTRAY) * q);
        let left = |r: &FieldReading| {
            let covered: f64 = r.candidates.iter().map(|c| c.probability).sum();
            (1.0 - covered).max(0.0)
        };
        // Spellings of one value are no disagreement.
        let of_value = |r: &FieldReading, value: &Value| -> f64 {
            let same = r.candidates.iter().filter(|c| c.value == *value);
            same.map(|c| c.probability).sum()
        };
        let mut candidates = reading.candidates.clone();
        let seen = candidates.len();
        let new = |c: &&Candidate| of_value(reading, &c.value) == 0.0;
        candidates.extend(other.candidates.iter().filter(new).cloned());
        let rest = left(reading).max(LEAST_LEFT);
        let (unseen, nothing) = match candidates.len() - seen {
            0 => (0.0, rest),
            count => (rest * UNSEEN / count as f64, rest * (1.0 - UNSEEN)),
        };
        for (at, candidate) in candidates.iter_mut().enumerate() {
            let mine = if at < seen {
                candidate.probability
            } else {
                unseen
            };
            candidate.probability = pooled(mine, of_value(other, &candidate.value));
        }
        candidates.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        let total: f64 =
            candidates.iter().map(|c| c.probability).sum::<f64>() + pooled(nothing, left(other));
        for candidate in &mut candidates {
            candidate.probability /= total;
        }
        reading.candidates = candidates;
        let sees = other.candidates.first();
        reading.seconded = sees
            .filter(|c| of_value(other, &c.value) > 0.5)
            .map(|c| c.value.clone());
    }
    whole
}

/// Whether two readings of a field are of the same place.
fn same_place(a: &FieldReading, b: &FieldReading) -> bool {
    a.quad.contains(b.quad.center()) || b.quad.contains(a.quad.center())
}

fn combine(plates: &[Plate], merge: impl Fn(Field, &[&FieldReading]) -> FieldReading) -> Plate {
    let mut seen: BTreeMap<Field, Vec<&FieldReading>> = BTreeMap::new();
    for (field, reading) in plates.iter().flat_map(|p| &p.fields) {
        seen.entry(*field).or_default().push(reading);
    }
    let fields: BTreeMap<Field, FieldReading> = seen
        .iter()
        .map(|(field, readings)| (*field, merge(*field, readings)))
        .collect();
    let mut unreadable = BTreeMap::new();
    for (field, quad) in plates.iter().flat_map(|p| &p.unreadable) {
        if let (false, Entry::Vacant(place)) =
            (fields.contains_key(field), unreadable.entry(*field))
        {
            place.insert(*quad);
        }
    }
    Plate {
        fields,
        unreadable,
        words: plates.iter().flat_map(|p| p.words.clone()).collect(),
        other: plates.iter().flat_map(|p| p.other.clone()).collect(),
        codes: codes(plates),
    }
}

/// The codes of all plates, each once.
fn codes(plates: &[Plate]) -> Vec<Code> {
    let mut codes: Vec<Code> = Vec::new();
    for code in plates.iter().flat_map(|p| &p.codes) {
        if codes.iter().all(|c| c.text != code.text) {
            codes.push(code.clone());
        }
    }
    codes
}

/// The candidates, those that are only other ways to write the same made into one; likeliest first.
fn pooled(field: Field, candidates: Vec<Candidate>) -> Vec<Candidate> {
    let mut pooled: Vec<Candidate> = Vec::new();
    for candidate in candidates {
        let same = |c: &&mut Candidate| {
            let (one, other) = (
                (&*c.printed, &c.value),
                (&*candidate.printed, &candidate.value),
            );
            values::alike(Target::Field(field), one, other)
        };
        match pooled.iter_mut().find(same) {
            Some(known) => known.probability += candidate.probability,
            None => pooled.push(candidate),
        }
    }
    pooled.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    pooled
}

/// The reading whose first candidate is likeliest; its place and label stand for all.
fn strongest<'a>(readings: &[&'a FieldReading]) -> &'a FieldReading {
    let weight =
        |r: &FieldReading| r.association * r.candidates.first().map_or(0.0, |c| c.probability);
    readings
        .iter()
        .copied()
        .reduce(|a, b| if weight(b) > weight(a) { b } else { a })
        .expect("a field that was seen has a reading")
}

fn probability(reading: &FieldReading, printed: &str) -> f64 {
    let same = reading.candidates.iter().filter(|c| c.printed == printed);
    same.map(|c| c.probability).sum()
}

/// All candidates of the readings with new probabilities, likeliest first.
fn union(readings: &[&FieldReading], weight: impl Fn(&str) -> f64) -> Vec<Candidate> {
    let mut union: Vec<Candidate> = Vec::new();
    for candidate in readings.iter().flat_map(|r| &r.candidates) {
        if union.iter().all(|c| c.printed != candidate.printed) {
            union.push(Candidate {
                probability: weight(&candidate.printed),
                ..candidate.clone()
            });
        }
    }
    union.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    union
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Quad;
    use crate::record::notation;

    fn plate(candidates: &[(&str, f64)]) -> Plate {
        let reading = FieldReading {
            candidates: candidates
                .iter()
                .map(|(printed, probability)| Candidate {
                    printed: (*printed).to_owned(),
                    value: notation::parse(Field::Amps, printed).unwrap(),
                    probability: *probability,
                })
                .collect(),
            association: 0.9,
            label: Some("AMPS".to_owned()),
            quad: Quad::default(),
            doubts: Vec::new(),
            claims: Vec::new(),
            open: None,
            seconded: None,
        };
        Plate {
            fields: BTreeMap::from([(Field::Amps, reading)]),
            ..Plate::default()
        }
    }

    #[test]
    fn a_second_reader_that_agrees_makes_surer_and_one_that_disagrees_less_sure() {
        let first = plate(&[("6.8", 0.97)]);
        let best = |second: &Plate| {
            let amps = &corroborate(&first, second).fields[&Field::Amps];
            (
                amps.candidates[0].printed.clone(),
                amps.candidates[0].probability,
            )
        };
        let (agreed, sure) = best(&plate(&[("6.80", 0.99)]));
        assert!(agreed == "6.8" && sure > 0.99, "{agreed} {sure}");
        let (kept, less) = best(&plate(&[("8.8", 0.99)]));
        assert!(kept == "6.8" && less < 0.9, "{kept} {less}");
        let (unchanged, same) = best(&Plate::default());
        assert!(unchanged == "6.8" && same == 0.97, "{unchanged} {same}");
    }

    #[test]
    fn photos_that_agree_are_surer_than_each() {
        let fused = fuse(&[
            plate(&[("6.8", 0.8), ("8.8", 0.1)]),
            plate(&[("6.8", 0.7), ("68", 0.2)]),
        ]);
        let amps = &fused.fields[&Field::Amps];
        assert_eq!(amps.candidates[0].printed, "6.8");
        assert!(
            amps.candidates[0].probability > 0.9,
            "{:?}",
            amps.candidates
        );
        assert!(amps.association > 0.98 && amps.doubts.is_empty());
    }

    #[test]
    fn photos_that_disagree_say_so() {
        let fused = fuse(&[plate(&[("6.8", 0.99)]), plate(&[("8.8", 0.9)])]);
        let amps = &fused.fields[&Field::Amps];
        assert!(amps.doubts[0].contains("8.8"), "{:?}", amps.doubts);
        let sum: f64 = amps.candidates.iter().map(|c| c.probability).sum();
        assert!(sum <= 1.0);
    }

    #[test]
    fn looks_at_one_photo_are_averaged() {
        let merged = average(&[plate(&[("6.8", 0.9)]), plate(&[("8.8", 0.5), ("6.8", 0.4)])]);
        let amps = &merged.fields[&Field::Amps];
        assert_eq!(amps.candidates[0].printed, "6.8");
        assert!((amps.candidates[0].probability - 0.65).abs() < 1e-9);
    }
}
