//! Shaft height and foot holes: what stands on the old feet as it is, and what riser or base it takes, in numbers.

use super::frame::{Dimensions, Frame};
use super::lengths::{SAME, inches, source, with_mm};
use super::old_motor::OldMotor;
use super::place::{Drive, Place};
use super::verdict::{Criterion, Judge, UNKNOWN, Verdict};
use crate::record::RatingPoint;
use crate::units::Inches;

fn shown(frame: Option<&Frame>) -> String {
    frame.map_or(UNKNOWN.to_owned(), |f| match f.height {
        Some(height) => {
            let is_iec = f.dimensions(None).is_some_and(|d| d.is_iec);
            format!(
                "{} (shaft height {})",
                f.as_printed(),
                with_mm(height, is_iec)
            )
        }
        None => f.as_printed().to_owned(),
    })
}

/// Shaft height and foot holes.
pub(super) fn verdict(
    old: &OldMotor,
    place: &Place,
    new: Option<&Frame>,
    point: &RatingPoint,
) -> Verdict {
    let dimensions = |f: Option<&Frame>| f.and_then(|f| f.dimensions(None));
    let (had, offers) = (dimensions(old.frame.as_ref()), dimensions(new));
    let judge = Judge::new(
        Criterion::Frame,
        shown(old.frame.as_ref()),
        shown(new),
        source(had, offers),
    );
    let (Some(old_frame), Some(new_frame)) = (&old.frame, new) else {
        return match &old.frame {
            None => judge.unknown(
                "frame",
                "Which frame does the plate give? If none: how high is the shaft above the feet?",
            ),
            Some(_) => judge.not_listed("frame"),
        };
    };
    let metric = |f: &Frame, r: &RatingPoint| f.is_ambiguous() && r.hp.is_none() && r.kw.is_some();
    let (old_metric, new_metric) = (metric(old_frame, &old.rating), metric(new_frame, point));
    if (old_metric || new_metric) && !(old_metric && new_metric) {
        return judge.ask(
            "56 is a NEMA frame (shaft height 3.5 in) and an IEC frame (56 mm), and one of the plates is metric: measure both",
        );
    }
    let (Some(before), Some(after)) = (had, offers) else {
        return match (old_frame.height, new_frame.height) {
            _ if old_frame.as_printed().eq_ignore_ascii_case(new_frame.as_printed()) => {
                judge.ask("the same designation, but it is in no table: compare feet and shaft")
            }
            (Some(a), Some(b)) => judge.ask(format!(
                "one of the frames is in no table; by their digits the shaft heights differ by {}: measure feet and shaft",
                inches((a.0 - b.0).abs())
            )),
            _ => judge.ask("one of the frames is in no table: measure feet and shaft"),
        };
    };
    let feet = foot_work(before, after);
    let rise = before.height.0 - after.height.0;
    let mut steps = Vec::new();
    if rise >= SAME {
        steps.push(format!("a riser of {} under its feet", inches(rise)));
    } else if rise <= -SAME {
        steps.push(format!("its shaft stands {} higher", inches(-rise)));
    }
    steps.extend(feet);
    let rows = rows(before, after);
    if steps.is_empty() {
        return match rows {
            Rows::Same => judge.pass("the same shaft height and foot holes"),
            Rows::SecondOfNew => judge.pass(format!(
                "the same shaft height; its second row of foot holes (2F {}) fits the old ones",
                inches(before.two_f.0)
            )),
            Rows::SecondOfOld | Rows::Other => judge.ask(format!(
                "the same shaft height; its 2F is {}, the old frame had rows at {} and {}: which of them holds the old motor?",
                inches(after.two_f.0),
                inches(before.two_f.0),
                before.alt_two_f.map_or_else(|| "none".to_owned(), |f| inches(f.0))
            )),
        };
    }
    let work = steps.join("; ");
    if rise <= -SAME && place.drive != Some(Drive::Belt) {
        return judge.ask(format!(
            "{work}: the base must go down by that much, or the driven machine up; is there room? (on a belt it only shifts)"
        ));
    }
    judge.work(work)
}

/// Foot bolts have that much play in their holes: 0.41 in for a bolt of 3/8 in (H of MG 1 4.4.1).
const PLAY: f64 = 0.03;

fn meets(a: Inches, b: Inches) -> bool {
    (a.0 - b.0).abs() < PLAY
}

/// How the rows of foot holes along the shaft meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Rows {
    Same,
    /// The new feet have a second row that meets the old one.
    SecondOfNew,
    /// The old feet had a second row that the new one meets; nobody said that it was used.
    SecondOfOld,
    Other,
}

fn rows(before: Dimensions, after: Dimensions) -> Rows {
    if meets(before.two_f, after.two_f) {
        Rows::Same
    } else if after.alt_two_f.is_some_and(|f| meets(before.two_f, f)) {
        Rows::SecondOfNew
    } else if before.alt_two_f.is_some_and(|f| meets(f, after.two_f)) {
        Rows::SecondOfOld
    } else {
        Rows::Other
    }
}

/// What the feet need: how far the holes of the new motor lie from the old ones.
fn foot_work(before: Dimensions, after: Dimensions) -> Vec<String> {
    let along = rows(before, after) != Rows::Other;
    let mut shifts = Vec::new();
    let mut shift = |name: &str, old: Inches, new: Inches| {
        shifts.push(format!(
            "{name} {} instead of {}",
            inches(new.0),
            inches(old.0)
        ));
    };
    if !meets(before.two_e, after.two_e) {
        shift("2E", before.two_e, after.two_e);
    }
    if !along {
        shift("2F", before.two_f, after.two_f);
    }
    if shifts.is_empty() && meets(before.ba, after.ba) {
        return Vec::new();
    }
    let axial = after.ba.0 - before.ba.0;
    let mut text = if shifts.is_empty() {
        "the same foot holes".to_owned()
    } else {
        format!("slotted or adapter base: {}", shifts.join(", "))
    };
    if axial.abs() >= PLAY {
        text.push_str(&format!(
            "; first hole {} {} the shaft's shoulder (BA {})",
            inches(axial.abs()),
            if axial > 0.0 {
                "further from"
            } else {
                "nearer to"
            },
            inches(after.ba.0)
        ));
    }
    vec![text]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;

    /// Source: NEMA MG 1 4.4.1, 4.4.4 and IEC 60072-1 as in the frame tables.
    #[test]
    fn work_between_frames_is_told_in_numbers() {
        struct Case(&'static str, &'static str, Outcome, &'static str);
        let cases = [
            Case("184T", "184T", Outcome::Pass, "the same"),
            Case("56", "56H", Outcome::Pass, "second row"),
            Case("56H", "56", Outcome::Ask, "rows at 5 in and 3 in"),
            Case(
                "90L",
                "90S",
                Outcome::Work,
                "2F 3.937 in instead of 4.921 in",
            ),
            Case("56", "48", Outcome::Work, "riser of 0.5 in"),
            Case("56", "143T", Outcome::Work, "2E 5.5 in instead of 4.875 in"),
            Case("184T", "182T", Outcome::Work, "2F 4.5 in instead of 5.5 in"),
            Case("182T", "143T", Outcome::Work, "riser of 1 in"),
            Case("145T", "184T", Outcome::Ask, "1 in higher"),
            Case("256U", "254T", Outcome::Work, "2F 8.25 in instead of 10 in"),
            Case("254U", "215T", Outcome::Work, "riser of 1 in"),
            Case("56", "90S", Outcome::Ask, "0.043 in higher"),
            Case("182T", "112M", Outcome::Work, "riser of 0.091 in"),
            Case(
                "184T",
                "112M",
                Outcome::Work,
                "riser of 0.091 in under its feet",
            ),
            Case("586T", "184T", Outcome::Ask, "differ by 10 in"),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|Case(had, offers, outcome, why)| {
                let v = verdict(
                    &OldMotor::in_frame(had),
                    &Place::default(),
                    Some(&Frame::parse(offers)),
                    &RatingPoint::default(),
                );
                (v.outcome != *outcome || !v.why.contains(why))
                    .then(|| format!("{had} to {offers}: {v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn a_higher_shaft_is_work_on_a_belt() {
        let place = Place {
            drive: Some(Drive::Belt),
            ..Place::default()
        };
        assert_eq!(
            verdict(
                &OldMotor::in_frame("145T"),
                &place,
                Some(&Frame::parse("184T")),
                &RatingPoint::default()
            )
            .outcome,
            Outcome::Work
        );
    }
}
