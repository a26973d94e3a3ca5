//! Direction of rotation, and from which end it is told.

use super::verdict::{COMMON, Criterion, Judge, UNKNOWN, Verdict};
use crate::record::{Field, notation};
use serde::{Serialize, Serializer};
use std::fmt;

/// Which way a shaft turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Direction {
    Clockwise,
    CounterClockwise,
    Reversible,
}

/// The end from which the direction is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    /// The end where the shaft comes out.
    Shaft,
    /// The end opposite the shaft, where the leads come out.
    Lead,
}

/// A direction of rotation. `CWLE` (clockwise, seen from the lead end) and `CCWSE` are the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rotation {
    direction: Direction,
    seen_from: Option<End>,
}

impl Rotation {
    /// Reads `CW`, `CCWLE`, `CW/CCW`, `REV`, `counter-clockwise shaft end`.
    pub fn parse(printed: &str) -> Option<Rotation> {
        let direction = match notation::parse(Field::Rotation, printed)?.text()? {
            "cw" => Direction::Clockwise,
            "ccw" => Direction::CounterClockwise,
            _ => Direction::Reversible,
        };
        let compact: String = printed
            .to_uppercase()
            .chars()
            .filter(char::is_ascii_alphanumeric)
            .collect();
        let ends = |suffixes: &[&str]| suffixes.iter().any(|s| compact.ends_with(s));
        let seen_from = if ends(&[
            "OSE",
            "OPSE",
            "OPPSE",
            "LE",
            "LEADEND",
            "OPPOSITESHAFTEND",
            "ODE",
            "NDE",
            "OPE",
        ]) {
            Some(End::Lead)
        } else if ends(&["SE", "SHAFTEND", "DE", "PE", "DRIVEEND"]) {
            Some(End::Shaft)
        } else {
            None
        };
        Some(Rotation {
            direction,
            seen_from,
        })
    }

    fn is_reversible(self) -> bool {
        self.direction == Direction::Reversible
    }

    /// Whether the two are the same direction; `None` when one does not say from which end it is told.
    fn agrees(self, other: Rotation) -> Option<bool> {
        let same = self.direction == other.direction;
        match (self.seen_from, other.seen_from) {
            (a, b) if a == b => Some(same),
            (Some(_), Some(_)) => Some(!same),
            _ => None,
        }
    }
}

impl fmt::Display for Rotation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.direction {
            Direction::Clockwise => "clockwise",
            Direction::CounterClockwise => "counter-clockwise",
            Direction::Reversible => "reversible",
        })?;
        match self.seen_from {
            Some(End::Shaft) => f.write_str(" seen from the shaft end"),
            Some(End::Lead) => f.write_str(" seen from the lead end"),
            None => Ok(()),
        }
    }
}

impl Serialize for Rotation {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// Whether the new motor turns the way that the old one, or the place, wants. Nothing is asked where
/// neither the plate nor the list gives one direction: the cautions tell to check it at the first start.
pub(super) fn verdict(
    had: Option<Rotation>,
    offers: Option<Rotation>,
    phase: Option<u8>,
    doubted: bool,
) -> Option<Verdict> {
    let shown = |r: Option<Rotation>| r.map_or(UNKNOWN.to_owned(), |r| r.to_string());
    let judge = Judge::new(Criterion::Rotation, shown(had), shown(offers), COMMON);
    let three_phase = phase == Some(3);
    match (had, offers) {
        (None, None) if !doubted => None,
        (_, Some(new)) if new.is_reversible() => Some(judge.pass("reversible: set the direction before the load is coupled")),
        _ if three_phase => Some(judge.pass("a three-phase motor turns the other way when two of its leads are exchanged")),
        (Some(old), None) if old.is_reversible() => None,
        (Some(_), None) => Some(judge.not_listed("rotation")),
        (None, _) => {
            Some(judge.unknown("rotation", "Which way does the old shaft turn, seen from the end opposite the shaft?"))
        }
        (Some(old), Some(_)) if old.is_reversible() => Some(judge.unknown(
            "rotation",
            "The old motor was reversible: which way did it run, seen from the end opposite the shaft?",
        )),
        (Some(old), Some(new)) => Some(match old.agrees(new) {
            Some(true) => judge.pass("the same direction"),
            Some(false) => judge.fail("it turns the wrong way and the list does not call it reversible"),
            None => judge.ask("one of the two does not say from which end the direction is told; compare them end by end"),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;

    /// Trade abbreviations: common practice.
    #[test]
    fn directions_are_compared_from_the_same_end() {
        let cases = [
            (Some("CW"), Some("CW"), Some(Outcome::Pass)),
            (Some("CW"), Some("CCW"), Some(Outcome::Fail)),
            (Some("CWLE"), Some("CCWSE"), Some(Outcome::Pass)),
            (Some("CWLE"), Some("CWSE"), Some(Outcome::Fail)),
            (Some("CWLE"), Some("CW"), Some(Outcome::Ask)),
            (Some("CCW"), Some("REV"), Some(Outcome::Pass)),
            (Some("CCWOSE"), Some("CCWLE"), Some(Outcome::Pass)),
            (Some("CCW"), None, Some(Outcome::Ask)),
            (None, Some("CCW"), Some(Outcome::Ask)),
            (Some("CW/CCW"), Some("CW"), Some(Outcome::Ask)),
            (None, None, None),
        ];
        for (had, offers, expected) in cases {
            let parse = |t: Option<&str>| t.and_then(Rotation::parse);
            let outcome = verdict(parse(had), parse(offers), Some(1), false).map(|v| v.outcome);
            assert_eq!(outcome, expected, "{had:?} {offers:?}");
        }
        let three_phase = verdict(
            Rotation::parse("CW"),
            Rotation::parse("CCW"),
            Some(3),
            false,
        );
        assert_eq!(three_phase.map(|v| v.outcome), Some(Outcome::Pass));
    }
}
