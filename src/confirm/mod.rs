//! What a person says of a plate and of its place, put on top of what was read. Nothing read is overwritten: the
//! record with its answers is made anew from both each time. Knows the record, the checks and the place.

mod answer;
mod contradiction;
mod place;

pub use answer::{Answer, AnswerError, Key, Said, accept, before};
pub use place::PlaceKey;

use crate::matching::{Place, rating_label};
use crate::record::{Field, NameplateRecord, Reading, State};

/// A record and a place with all that people said of them.
#[derive(Debug, Clone, Default)]
pub struct Answered {
    /// The record; what somebody said is confirmed in it.
    pub record: NameplateRecord,
    /// What the place demands, as far as somebody said it.
    pub place: Place,
    /// The same in the words in which it was said.
    words: Vec<(PlaceKey, String)>,
}

impl Answered {
    /// What was said of the place, as it was written; `None` when nothing was.
    pub fn said_of(&self, key: PlaceKey) -> Option<&str> {
        let found = self.words.iter().find(|(k, _)| *k == key);
        found.map(|(_, words)| words.as_str())
    }
}

/// The record with the answers, in the order in which they were given. Confirmed values are checked against
/// the others: a reading that they contradict is doubtful from then on.
pub fn answered(read: &NameplateRecord, answers: &[Said]) -> Answered {
    let mut all = Answered {
        record: read.clone(),
        ..Answered::default()
    };
    let mut confirmed: Vec<Field> = Vec::new();
    for said in answers {
        // What an older version took and this one does not understand leaves the reading as it was.
        match Answer::parse(said.key, &said.printed) {
            Ok(Answer::Field(field, printed)) => {
                set(&mut all.record, field, printed.as_deref(), &said.who);
                confirmed.push(field);
            }
            Ok(Answer::Class(class)) => {
                let reading = &mut all.record.class;
                reading.value = class;
                reading.state = State::Confirmed;
                reading.reason = format!("{} said so", said.who);
                all.record.questions.retain(|q| q.field != "class");
            }
            Ok(Answer::Place(key, words)) => {
                if key.put(&words, &mut all.place).is_some() {
                    all.words.retain(|(k, _)| *k != key);
                    if !words.is_empty() {
                        all.words.push((key, words));
                    }
                }
            }
            // Chosen among the rating points of all values, so after them.
            Ok(Answer::Rating(_)) | Err(_) => {}
        }
    }
    for said in answers {
        if let Ok(Answer::Rating(label)) = Answer::parse(said.key, &said.printed) {
            choose_rating(&mut all.record, &label);
        }
    }
    if !confirmed.is_empty() || answers.iter().any(|s| s.key == Key::Class) {
        contradiction::find(read, &mut all.record, &confirmed);
    }
    all
}

/// Confirms one value, or that the plate shows none.
fn set(record: &mut NameplateRecord, field: Field, printed: Option<&str>, who: &str) {
    match printed {
        Some(printed) => record.confirm(field, printed, who),
        None => {
            let before = record.fields.get(&field).and_then(|r| r.printed.clone());
            let read = before.map_or(String::new(), |p| format!("; read before: {p:?}"));
            let reason = format!("{who} said that the plate does not show it{read}");
            record.fields.insert(field, Reading::absent(field, &reason));
            record.ratings = record.pair().points;
            record.questions.retain(|q| q.field != field.key());
        }
    }
}

fn choose_rating(record: &mut NameplateRecord, label: &str) {
    let chosen: Vec<_> = record
        .ratings
        .iter()
        .filter(|r| rating_label(r) == label)
        .cloned()
        .collect();
    if !chosen.is_empty() {
        record.ratings = chosen;
        record.questions.retain(|q| q.field != "ratings");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Class, Outcome};
    use crate::units::Volts;

    fn said(key: &str, printed: &str) -> Said {
        Said {
            key: Key::parse(key).unwrap(),
            printed: printed.to_owned(),
            who: "counter".to_owned(),
        }
    }

    fn record() -> NameplateRecord {
        NameplateRecord::from_json(
            r#"{"fields": {"hp": {"printed": "1/2", "state": "clear"}, "volts": {"printed": "115/230", "state": "clear"},
                "amps": {"printed": "68/34", "state": "doubtful", "alternatives": [{"printed": "6.8/3.4"}]},
                "phase": {"printed": "1", "state": "clear"}, "rpm": {"printed": "1725", "state": "clear"}},
                "questions": [{"field": "class", "ask": "?", "choices": []}, {"field": "amps", "ask": "?", "choices": []}]}"#,
        )
        .unwrap()
    }

    #[test]
    fn answers_lie_on_top_of_what_was_read() {
        let read = record();
        let all = answered(
            &read,
            &[
                said("amps", "6.8/3.4"),
                said("class", "general-purpose"),
                said("place.supply", "230"),
            ],
        );
        assert_eq!(all.record.fields[&Field::Amps].state, State::Confirmed);
        assert_eq!(all.record.class.fact(), Some(Class::GeneralPurpose));
        assert_eq!(all.place.supply, Some(Volts(230.0)));
        assert!(all.record.questions.is_empty());
        assert_eq!(read, record());
        // The same words give the same record, and the last word holds.
        let twice = answered(&read, &[said("amps", "7.0/3.5"), said("amps", "6.8/3.4")]);
        assert_eq!(
            twice.record.fields[&Field::Amps].printed.as_deref(),
            Some("6.8/3.4")
        );
    }

    #[test]
    fn what_a_confirmed_value_contradicts_is_asked() {
        let all = answered(&record(), &[said("amps", "68/34")]);
        let doubts = all
            .record
            .checks
            .iter()
            .filter(|c| c.outcome == Outcome::Doubt);
        assert!(doubts.count() > 0);
        let power = &all.record.fields[&Field::Hp];
        assert_eq!(power.state, State::Doubtful, "{power:?}");
        assert!(all.record.questions.iter().any(|q| q.field == "hp"));
        // Saying that the other is right too settles it.
        let both = answered(&record(), &[said("amps", "68/34"), said("hp", "1/2")]);
        assert_eq!(both.record.fields[&Field::Hp].state, State::Confirmed);
        assert!(both.record.questions.iter().all(|q| q.field != "hp"));
    }

    #[test]
    fn a_value_that_is_not_there_can_be_said() {
        let all = answered(&record(), &[said("amps", "")]);
        let amps = &all.record.fields[&Field::Amps];
        assert_eq!((amps.state, &amps.printed), (State::Absent, &None));
        assert!(amps.reasons[0].contains("68/34"));
    }

    #[test]
    fn one_of_several_ratings_can_be_chosen() {
        let read = NameplateRecord::from_json(
            r#"{"fields": {"hp": {"printed": "1/2, 1/3"}, "volts": {"printed": "115"}, "amps": {"printed": "7.4/5.2"}}}"#,
        )
        .unwrap();
        assert_eq!(read.ratings.len(), 2);
        let label = rating_label(&read.ratings[1]);
        let all = answered(&read, &[said("rating", &label), said("volts", "115")]);
        assert_eq!(all.record.ratings, [read.ratings[1].clone()]);
    }
}
