//! Feet, shaft, face, conduit box and length: what fits as it is, and what work it takes, in numbers.

use super::frame::{Dimensions, Frame};
use super::old_motor::OldMotor;
use super::place::{BoxSide, Drive, Place};
use super::verdict::{COMMON, Criterion, Judge, UNKNOWN, Verdict};
use crate::stock::StockMotor;
use crate::trade;
use crate::units::{Inches, plain};

const NEMA: &str = "NEMA MG 1 4.4.1 (frame dimensions)";
const IEC: &str = "NEMA MG 1 4.4.1 and IEC 60072-1 (frame dimensions)";

/// What two lengths may differ by and still be the same: a hundredth of an inch.
const SAME: f64 = 0.01;

fn same(a: Inches, b: Inches) -> bool {
    (a.0 - b.0).abs() < SAME
}

/// Inches with at most three decimals.
pub(super) fn inches(length: f64) -> String {
    format!("{} in", plain((length * 1000.0).round() / 1000.0))
}

fn source(old: Option<Dimensions>, new: Option<Dimensions>) -> &'static str {
    if old.is_some_and(|d| d.is_iec) || new.is_some_and(|d| d.is_iec) {
        IEC
    } else {
        NEMA
    }
}

fn shown(frame: Option<&Frame>) -> String {
    frame.map_or(UNKNOWN.to_owned(), |f| match f.height {
        Some(height) => format!("{} (shaft height {})", f.as_printed(), inches(height.0)),
        None => f.as_printed().to_owned(),
    })
}

/// Shaft height and foot holes.
pub(super) fn frame(old: &OldMotor, place: &Place, new: Option<&Frame>) -> Verdict {
    let dimensions = |f: Option<&Frame>| f.and_then(|f| f.dimensions);
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
    if steps.is_empty() {
        let second = !same(before.two_f, after.two_f);
        return judge.pass(if second {
            format!(
                "the same shaft height; its second row of foot holes (2F {}) fits the old ones",
                inches(before.two_f.0)
            )
        } else {
            "the same shaft height and foot holes".to_owned()
        });
    }
    let work = steps.join("; ");
    if rise <= -SAME && place.drive != Some(Drive::Belt) {
        return judge.ask(format!(
            "{work}: the base must go down by that much, or the driven machine up; is there room? (on a belt it only shifts)"
        ));
    }
    judge.work(work)
}

/// What the feet need: how far the holes of the new motor lie from the old ones.
fn foot_work(before: Dimensions, after: Dimensions) -> Vec<String> {
    let along = same(before.two_f, after.two_f)
        || after.alt_two_f.is_some_and(|f| same(before.two_f, f))
        || before.alt_two_f.is_some_and(|f| same(f, after.two_f));
    let mut shifts = Vec::new();
    let mut shift = |name: &str, old: Inches, new: Inches| {
        shifts.push(format!(
            "{name} {} instead of {}",
            inches(new.0),
            inches(old.0)
        ));
    };
    if !same(before.two_e, after.two_e) {
        shift("2E", before.two_e, after.two_e);
    }
    if !along {
        shift("2F", before.two_f, after.two_f);
    }
    if shifts.is_empty() && same(before.ba, after.ba) {
        return Vec::new();
    }
    let axial = after.ba.0 - before.ba.0;
    let mut text = if shifts.is_empty() {
        "the same foot holes".to_owned()
    } else {
        format!("slotted or adapter base: {}", shifts.join(", "))
    };
    if axial.abs() >= SAME {
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

/// Diameter, length and key of the shaft.
pub(super) fn shaft(
    old: &OldMotor,
    place: &Place,
    motor: &StockMotor,
    new: Option<&Frame>,
) -> Verdict {
    let dimensions = |f: Option<&Frame>| f.and_then(|f| f.dimensions);
    let (had, offers) = (dimensions(old.frame.as_ref()), dimensions(new));
    let bore = place.shaft.or(had.map(|d| d.shaft));
    let diameter = motor.shaft_diameter.or(offers.map(|d| d.shaft));
    let describe = |diameter: Option<Inches>, d: Option<Dimensions>| match (diameter, d) {
        (Some(u), Some(d)) if same(u, d.shaft) => {
            format!("{} × {}", inches(u.0), inches(d.shaft_length.0))
        }
        (Some(u), _) => inches(u.0),
        (None, _) => UNKNOWN.to_owned(),
    };
    let judge = Judge::new(
        Criterion::Shaft,
        describe(bore, had),
        describe(diameter, offers),
        source(had, offers),
    );
    let (Some(bore), Some(diameter)) = (bore, diameter) else {
        return match bore {
            None => judge.unknown(
                "shaft",
                "What is the diameter of the old shaft, or the bore of what sits on it?",
            ),
            Some(_) => judge.not_listed("shaft diameter"),
        };
    };
    let special = |f: Option<&Frame>| f.is_some_and(|f| f.suffix.z);
    if special(old.frame.as_ref()) && place.shaft.is_none()
        || special(new) && motor.shaft_diameter.is_none()
    {
        return judge
            .ask("Z stands for a special shaft: measure diameter, length, flats and key of both");
    }
    let short = |f: Option<&Frame>| f.is_some_and(|f| f.suffix.short_shaft);
    if short(new) && !short(old.frame.as_ref()) {
        match place.drive {
            Some(Drive::Belt) => {
                return judge
                    .fail("S stands for a short shaft: for couplings only, a belt bends it");
            }
            None => {
                return judge.unknown(
                    "drive",
                    "Does the motor drive by a belt, or straight on its shaft?",
                );
            }
            Some(_) => {}
        }
    }
    let mut steps = Vec::new();
    if diameter.0 - bore.0 >= SAME {
        steps.push(format!(
            "open the driven bore from {} to {}",
            inches(bore.0),
            inches(diameter.0)
        ));
    } else if bore.0 - diameter.0 >= SAME {
        steps.push(format!(
            "a bush from {} to {} (wall {})",
            inches(bore.0),
            inches(diameter.0),
            inches((bore.0 - diameter.0) / 2.0)
        ));
    }
    // Length and key come from the frame, and hold only where the diameter is that of the frame.
    let of_frame = |u: Inches, d: Option<Dimensions>| d.filter(|d| same(u, d.shaft));
    if let (Some(before), Some(after)) = (of_frame(bore, had), of_frame(diameter, offers)) {
        steps.extend(key_work(before, after));
        let longer = after.shaft_length.0 - before.shaft_length.0;
        if longer.abs() >= SAME {
            let word = if longer > 0.0 { "longer" } else { "shorter" };
            steps.push(format!(
                "the shaft is {} {word} ({})",
                inches(longer.abs()),
                inches(after.shaft_length.0)
            ));
        }
        if steps.is_empty() {
            return judge.pass("the same diameter, length and key");
        }
    } else if steps.is_empty() {
        return judge.pass("the same diameter; check its length and key");
    }
    judge.work(steps.join("; "))
}

fn key_work(before: Dimensions, after: Dimensions) -> Option<String> {
    match (before.key, after.key) {
        (Some(a), Some(b)) if same(a, b) => None,
        (Some(a), Some(b)) => Some(format!("keyway {} instead of {}", inches(b.0), inches(a.0))),
        _ if before.has_flat && after.has_flat => None,
        // IEC 60072-1 gives one key for each diameter.
        _ if before.is_iec && after.is_iec && same(before.shaft, after.shaft) => None,
        (None, Some(b)) if before.has_flat => {
            Some(format!("a key of {} instead of a flat", inches(b.0)))
        }
        (Some(_), None) if after.has_flat => Some("a flat instead of a key".to_owned()),
        _ => Some("compare the keys: IEC keys are not in the table".to_owned()),
    }
}

/// Faces, flanges, pump shafts and special mountings; `None` where both are plain foot-mounted frames.
pub(super) fn mounting(old: &OldMotor, new: Option<&Frame>) -> Option<Verdict> {
    let (old, new) = (old.frame.as_ref()?, new?);
    let (had, offers) = (old.suffix, new.suffix);
    let judge = Judge::new(
        Criterion::Mounting,
        old.as_printed().to_owned(),
        new.as_printed().to_owned(),
        "NEMA MG 1 4.2.2 (suffix letters) and 4.4.4 (C faces)",
    );
    let faced = |f: &Frame| f.suffix.c_face || f.suffix.d_flange || f.suffix.pump.is_some();
    if had.pump != offers.pump {
        let name =
            |p: Option<&str>| p.map_or("no pump shaft".to_owned(), |p| format!("a {p} pump shaft"));
        return Some(judge.fail(format!(
            "{} instead of {}",
            name(offers.pump),
            name(had.pump)
        )));
    }
    if had.d_flange != offers.d_flange {
        return Some(
            judge.fail("a D flange (through holes) and another mounting do not go together"),
        );
    }
    if had.c_face && !offers.c_face {
        return Some(judge.fail("the old motor was bolted by its C face, this one has none"));
    }
    if let (Some(a), Some(b)) = (old.face, new.face)
        && (!same(a.aj, b.aj) || !same(a.ak, b.ak))
    {
        return Some(judge.work(format!(
            "another face: bolt circle {} instead of {}, pilot {} instead of {}; an adapter flange",
            inches(b.aj.0),
            inches(a.aj.0),
            inches(b.ak.0),
            inches(a.ak.0)
        )));
    }
    if had.y || offers.y {
        return Some(
            judge.ask(
                "Y stands for a special mounting: compare band, studs or base with the old one",
            ),
        );
    }
    if had.other || offers.other {
        return Some(
            judge
                .ask("letters behind the frame that the table does not know: compare the mounting"),
        );
    }
    if offers.c_face && !had.c_face {
        return Some(
            judge.ask(
                "its C face does no harm, but does it have feet too? The old one stood on feet",
            ),
        );
    }
    faced(old).then(|| judge.pass("the same face"))
}

/// The side of the conduit box, where somebody has said which it must be.
pub(super) fn conduit_box(place: &Place, motor: &StockMotor) -> Option<Verdict> {
    let wanted = place.conduit_box?;
    let listed = motor.conduit_box.as_deref();
    let judge = Judge::new(
        Criterion::ConduitBox,
        wanted.words(),
        listed.unwrap_or(UNKNOWN).to_owned(),
        "NEMA MG 1 Figure 4-6 (assembly symbols), seen from the shaft end",
    );
    let Some(listed) = listed else {
        return Some(judge.not_listed("conduit box side"));
    };
    let side = match trade::mounting(listed).map(|m| m.code.as_str()) {
        Some("F-1") => Some(BoxSide::F1),
        Some("F-2") => Some(BoxSide::F2),
        Some("F-3") => Some(BoxSide::F3),
        _ => None,
    };
    Some(match side {
        Some(side) if side == wanted => judge.pass("the same side"),
        Some(_) => judge.ask(
            "another side: can its box be turned or its feet moved, and does the conduit reach?",
        ),
        None => judge.ask("its side is not one of F1, F2, F3; look at it"),
    })
}

/// The length over all, where somebody has said how much room there is.
pub(super) fn length(place: &Place, motor: &StockMotor) -> Option<Verdict> {
    let room = place.room?;
    let judge = Judge::new(
        Criterion::Length,
        format!("{} of room", inches(room.0)),
        motor.length.map_or(UNKNOWN.to_owned(), |l| inches(l.0)),
        COMMON,
    );
    Some(match motor.length {
        None => judge.not_listed("length"),
        Some(length) if length.0 <= room.0 + 1e-9 => {
            judge.pass(format!("{} to spare", inches(room.0 - length.0)))
        }
        Some(length) => judge.fail(format!("{} too long", inches(length.0 - room.0))),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;

    fn old(frame: &str) -> OldMotor {
        OldMotor {
            frame: Some(Frame::parse(frame)),
            ..OldMotor::default()
        }
    }

    /// Source: NEMA MG 1 4.4.1, 4.4.4 and IEC 60072-1 as in the frame tables.
    #[test]
    fn work_between_frames_is_told_in_numbers() {
        struct Case(&'static str, &'static str, Outcome, &'static str);
        let cases = [
            Case("184T", "184T", Outcome::Pass, "the same"),
            Case("56", "56H", Outcome::Pass, "second row"),
            Case("56", "48", Outcome::Work, "riser of 0.5 in"),
            Case("56", "143T", Outcome::Work, "2E 5.5 in instead of 4.875 in"),
            Case("184T", "182T", Outcome::Work, "2F 4.5 in instead of 5.5 in"),
            Case("182T", "143T", Outcome::Work, "riser of 1 in"),
            Case("145T", "184T", Outcome::Ask, "1 in higher"),
            Case("256U", "254T", Outcome::Work, "2F 8.25 in instead of 10 in"),
            Case("254U", "215T", Outcome::Work, "riser of 1 in"),
            Case("56", "90S", Outcome::Ask, "0.043 in higher"),
            Case("182T", "112M", Outcome::Work, "riser of 0.091 in"),
            Case("586T", "184T", Outcome::Ask, "differ by 10 in"),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|Case(had, offers, outcome, why)| {
                let v = frame(&old(had), &Place::default(), Some(&Frame::parse(offers)));
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
            frame(&old("145T"), &place, Some(&Frame::parse("184T"))).outcome,
            Outcome::Work
        );
    }

    /// Source: NEMA MG 1 4.4.1 (shafts and keys), 4.2.2 (S: for couplings, not for belts).
    #[test]
    fn shafts_are_bushed_or_bored() {
        struct Case(
            &'static str,
            &'static str,
            Option<Drive>,
            Outcome,
            &'static str,
        );
        let cases = [
            Case("184T", "184T", None, Outcome::Pass, "the same"),
            Case(
                "56",
                "143T",
                None,
                Outcome::Work,
                "open the driven bore from 0.625 in to 0.875 in",
            ),
            Case(
                "143T",
                "56",
                None,
                Outcome::Work,
                "bush from 0.875 in to 0.625 in (wall 0.125 in)",
            ),
            Case(
                "48",
                "56",
                None,
                Outcome::Work,
                "a key of 0.188 in instead of a flat",
            ),
            Case(
                "184",
                "184T",
                None,
                Outcome::Work,
                "keyway 0.25 in instead of 0.188 in",
            ),
            Case(
                "364T",
                "364TS",
                Some(Drive::Belt),
                Outcome::Fail,
                "short shaft",
            ),
            Case("364T", "364TS", None, Outcome::Ask, "belt"),
            Case("364TS", "364TS", None, Outcome::Pass, "the same"),
            Case("56Z", "56", None, Outcome::Ask, "special shaft"),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|Case(had, offers, drive, outcome, why)| {
                let place = Place {
                    drive: *drive,
                    ..Place::default()
                };
                let v = shaft(
                    &old(had),
                    &place,
                    &StockMotor::default(),
                    Some(&Frame::parse(offers)),
                );
                (v.outcome != *outcome || !v.why.contains(why))
                    .then(|| format!("{had} to {offers}: {v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// Source: NEMA MG 1 4.2.2 and 4.4.4; Y always needs a person's look.
    #[test]
    fn faces_and_special_mountings() {
        let cases = [
            ("56", "56", None),
            ("56C", "56C", Some(Outcome::Pass)),
            ("56C", "56", Some(Outcome::Fail)),
            ("56", "56C", Some(Outcome::Ask)),
            ("56C", "182TC", Some(Outcome::Work)),
            ("56C", "182TCH", Some(Outcome::Pass)),
            ("56J", "56C", Some(Outcome::Fail)),
            ("184JM", "184JP", Some(Outcome::Fail)),
            ("184JM", "184JM", Some(Outcome::Pass)),
            ("48Y", "48Y", Some(Outcome::Ask)),
            ("48", "48Y", Some(Outcome::Ask)),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|&(had, offers, expected)| {
                let v = mounting(&old(had), Some(&Frame::parse(offers))).map(|v| v.outcome);
                (v != expected).then(|| format!("{had} to {offers}: {v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
