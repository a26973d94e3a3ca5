//! What a value might have been misread from or as: changes of one character.

use crate::plate::Candidate;
use crate::record::{Field, Value, notation};

/// At most so many misreadings stand for all.
const SAMPLE: usize = 24;

/// Values that differ from `read` by one character and mean something else for `field`.
pub(super) fn candidates(field: Field, read: &Candidate) -> Vec<Candidate> {
    let all: Vec<Candidate> = replacements(&read.printed)
        .into_iter()
        .filter_map(|printed| changed(field, read, &printed))
        .collect();
    let step = all.len().div_ceil(SAMPLE).max(1);
    all.into_iter().step_by(step).collect()
}

/// `read` with other characters, in the same unit; `None` when they mean nothing, the same, or another
/// number of values.
pub(super) fn changed(field: Field, read: &Candidate, printed: &str) -> Option<Candidate> {
    let value = scaled_like(field, read, notation::parse(field, printed)?);
    let same_shape = value.numbers().len() == read.value.numbers().len();
    (same_shape && value != read.value).then(|| Candidate {
        printed: printed.to_owned(),
        value,
        probability: 0.0,
    })
}

/// A value in the unit that `read` was printed in: watts stay watts.
fn scaled_like(field: Field, read: &Candidate, value: Value) -> Value {
    match (notation::parse(field, &read.printed), &read.value, &value) {
        (Some(Value::Number(shown)), Value::Number(meant), Value::Number(new))
            if shown > 0.0 && shown != *meant =>
        {
            Value::Number(new * meant / shown)
        }
        _ => value,
    }
}

/// A digit or a letter replaced by another, any character lost, or printed twice.
fn replacements(printed: &str) -> Vec<String> {
    let chars: Vec<char> = printed.chars().collect();
    let mut changes = Vec::new();
    for (at, &old) in chars.iter().enumerate() {
        let instead: &str = match old {
            '0'..='9' => "0123456789",
            'A'..='Z' => "ABCDEFGHIJKLMNOPQRSTUVWXYZ",
            'a'..='z' => "abcdefghijklmnopqrstuvwxyz",
            _ => "",
        };
        for new in instead.chars().filter(|new| *new != old) {
            let mut changed = chars.clone();
            changed[at] = new;
            changes.push(changed.into_iter().collect());
        }
        let mut lost = chars.clone();
        lost.remove(at);
        changes.push(lost.into_iter().collect());
        // Of a pair of equal characters one is easily lost: CCW reads as CW.
        let mut doubled = chars.clone();
        doubled.insert(at, old);
        changes.push(doubled.into_iter().collect());
    }
    changes
}

/// Every way to change one character of a number: a digit to another, a digit or point too much or too few.
pub(super) fn one_character(printed: &str) -> Vec<String> {
    let chars: Vec<char> = printed.chars().collect();
    let mut changes = replacements(printed);
    for at in 0..=chars.len() {
        for digit in '0'..='9' {
            let (before, after) = chars.split_at(at);
            changes.push(before.iter().chain([&digit]).chain(after).collect());
        }
    }
    changes
}

/// Every way to lose or gain a decimal point, in one number or in all of a list.
pub(super) fn decimal_point(printed: &str) -> Vec<String> {
    let chars: Vec<char> = printed.chars().collect();
    let mut changes = Vec::new();
    for (at, old) in chars.iter().enumerate() {
        let (before, after) = chars.split_at(at);
        if *old == '.' {
            changes.push(before.iter().chain(&after[1..]).collect());
        } else if old.is_ascii_digit() {
            changes.push(before.iter().chain(['.'].iter()).chain(after).collect());
        }
    }
    // All numbers of a list at once: 136-128/64 for 13.6-12.8/6.4, or 0.52-0.48 for 5.2-4.8.
    changes.push(printed.replace('.', ""));
    changes.push(moved_points(printed));
    for from_the_end in 1..=2 {
        let mut shifted = String::new();
        for part in printed.split_inclusive(|c: char| !(c.is_ascii_digit() || c == '.')) {
            let digits = part.chars().take_while(char::is_ascii_digit).count();
            match digits.checked_sub(from_the_end) {
                Some(at) if !part[digits..].starts_with('.') => {
                    shifted.push_str(&part[..at]);
                    shifted.push('.');
                    shifted.push_str(&part[at..]);
                }
                _ => shifted.push_str(part),
            }
        }
        changes.push(shifted);
    }
    changes
}

/// Every decimal point one digit further to the right.
fn moved_points(printed: &str) -> String {
    let mut chars: Vec<char> = printed.chars().collect();
    for at in (0..chars.len().saturating_sub(1)).rev() {
        if chars[at] == '.' && chars[at + 1].is_ascii_digit() {
            chars.swap(at, at + 1);
        }
    }
    chars.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_of_one_character() {
        let changes = one_character("1.2");
        for expected in ["1.3", "12", "11.2", "1.29", "1."] {
            assert!(changes.iter().any(|c| c == expected), "{expected}");
        }
        assert!(decimal_point("136-128/64").contains(&"13.6-12.8/6.4".to_owned()));
        assert!(decimal_point("0.52-0.48").contains(&"05.2-04.8".to_owned()));
        assert!(decimal_point("6.8").contains(&"68".to_owned()));
    }

    #[test]
    fn a_misreading_keeps_unit_and_count() {
        let read = |printed: &str, value: f64| Candidate {
            printed: printed.to_owned(),
            value: Value::Number(value),
            probability: 1.0,
        };
        let watts = candidates(Field::Kw, &read("25", 0.025));
        assert!(watts.iter().any(|c| c.value == Value::Number(0.035)));
        assert!(watts.iter().all(|c| c.value.numbers()[0] < 0.3));
        assert!(changed(Field::Hp, &read("1/2", 0.5), "15/2").is_none());
    }
}
