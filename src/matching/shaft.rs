//! The shaft: diameter, length, key or flats, and whether it comes out at both ends.

use super::frame::Frame;
use super::lengths::{SAME, inches, same, source, with_mm};
use super::old_motor::OldMotor;
use super::place::{Drive, Place};
use super::verdict::{Criterion, Judge, UNKNOWN, Verdict};
use crate::record::ShaftEnds;
use crate::stock::StockMotor;
use crate::units::Inches;

/// The thinnest wall that a bush can be turned to, a sixteenth of an inch (common practice).
const THINNEST_WALL: f64 = 0.0625;

/// How a shaft takes its load along.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Seat {
    /// One or more flats for set screws; none is a plain shaft.
    Flats(u8),
    /// A key of this width.
    Key(Inches),
}

/// A shaft as far as it is known.
#[derive(Debug, Clone, Copy)]
struct Shaft {
    diameter: Option<Inches>,
    length: Option<Inches>,
    seat: Option<Seat>,
    is_metric: bool,
}

impl Shaft {
    /// The shaft of a frame, with what was said or listed in place of it. Length and seat of the frame hold only
    /// where the diameter is the frame's too.
    fn of(
        frame: Option<&Frame>,
        poles: Option<u32>,
        diameter: Option<Inches>,
        length: Option<Inches>,
        flats: Option<u8>,
    ) -> Shaft {
        // Pump shafts are none of their frame's; a special shaft (Z) is what it is.
        let own = |f: &&Frame| f.suffix.pump.is_none() && !f.suffix.z;
        let table = frame.filter(own).and_then(|f| f.dimensions(poles));
        let diameter = diameter.or(table.map(|d| d.shaft));
        let of_frame = table.filter(|d| diameter.is_some_and(|u| same(u, d.shaft)));
        let seat = of_frame.and_then(|d| match d.key {
            Some(key) => Some(Seat::Key(key)),
            None => d.has_flat.then_some(Seat::Flats(1)),
        });
        Shaft {
            diameter,
            length: length.or(of_frame.map(|d| d.shaft_length)),
            seat: flats.map(Seat::Flats).or(seat),
            is_metric: table.is_some_and(|d| d.is_iec),
        }
    }

    fn told(&self) -> String {
        let tell = |l: Inches| with_mm(l, self.is_metric);
        match (self.diameter, self.length) {
            (Some(u), Some(length)) => format!("{} × {}", tell(u), tell(length)),
            (Some(u), None) => tell(u),
            _ => UNKNOWN.to_owned(),
        }
    }
}

/// Number of poles of the old and of the new motor; large metric frames have a thinner shaft at two.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Poles {
    pub(super) old: Option<u32>,
    pub(super) new: Option<u32>,
}

pub(super) fn verdict(
    old: &OldMotor,
    place: &Place,
    motor: &StockMotor,
    new: Option<&Frame>,
    poles: Poles,
) -> Verdict {
    let old_frame = old.frame.as_ref();
    let mut had = Shaft::of(
        old_frame,
        poles.old,
        place.shaft,
        place.shaft_length,
        place.shaft_flats,
    );
    let mut offers = Shaft::of(
        new,
        poles.new,
        motor.shaft_diameter,
        motor.shaft_length,
        motor.shaft_flats,
    );
    let faces = old_frame.and_then(|f| f.face).zip(new.and_then(|f| f.face));
    if let Some((before, after)) = faces
        && (place.shaft_length, motor.shaft_length) == (None, None)
    {
        // Between two faces the length counts from the face.
        had.length = had.length.map(|_| before.ah);
        offers.length = offers.length.map(|_| after.ah);
    }
    let dimensions = |f: Option<&Frame>| f.and_then(|f| f.dimensions(None));
    let judge = Judge::new(
        Criterion::Shaft,
        had.told(),
        offers.told(),
        source(dimensions(old_frame), dimensions(new)),
    );
    let has = |what: fn(&Frame) -> bool, f: Option<&Frame>| f.is_some_and(what);
    let short = |f| has(|f| f.suffix.short_shaft, f);
    if short(new) && !short(old_frame) && place.drive == Some(Drive::Belt) {
        return judge.fail("S stands for a short shaft: for couplings only, a belt bends it");
    }
    let ends = place.shaft_ends.or(old.shaft_ends);
    if ends == Some(ShaftEnds::Double) && motor.shaft_ends == Some(ShaftEnds::Single) {
        return judge.fail("its shaft comes out at one end only, and the old one drives at both");
    }
    let special = |f| has(|f| f.suffix.z, f);
    if special(old_frame) || special(new) {
        return judge
            .ask("Z stands for a special shaft: measure diameter, length, flats and key of both");
    }
    let pump = |f| has(|f| f.suffix.pump.is_some(), f);
    if pump(old_frame) || pump(new) {
        let one = old_frame
            .zip(new)
            .is_some_and(|(a, b)| a.bare() == b.bare());
        return if one && place.shaft.is_none() {
            judge.pass("the same pump shaft by its designation")
        } else {
            judge.ask("pump shafts (J, JM, JP) have dimensions of their own: compare both")
        };
    }
    let (Some(bore), Some(diameter)) = (had.diameter, offers.diameter) else {
        return match had.diameter {
            None => judge.unknown(
                "shaft",
                "What is the diameter of the old shaft, or the bore of what sits on it?",
            ),
            Some(_) => judge.not_listed("shaft diameter"),
        };
    };
    if short(new) && !short(old_frame) && place.drive.is_none() {
        return judge.unknown(
            "drive",
            "Does the motor drive by a belt, or straight on its shaft?",
        );
    }
    if ends == Some(ShaftEnds::Double) && motor.shaft_ends.is_none() {
        return judge.not_listed("shaft ends, and the old motor drives at both");
    }
    if had.length.is_some() && offers.length.is_none() {
        return judge.not_listed("shaft length");
    }
    let metric = had.is_metric || offers.is_metric;
    let mut steps: Vec<String> = diameter_work(bore, diameter, metric).into_iter().collect();
    if let (Some(before), Some(after)) = (had.length, offers.length) {
        let longer = after.0 - before.0;
        if longer.abs() >= SAME {
            let word = if longer > 0.0 { "longer" } else { "shorter" };
            steps.push(format!(
                "the shaft is {} {word} ({})",
                inches(longer.abs()),
                with_mm(after, offers.is_metric)
            ));
        }
    }
    steps.extend(seat_work(had.seat, offers.seat));
    let second = motor.shaft_ends == Some(ShaftEnds::Double);
    if second && ends == Some(ShaftEnds::Single) {
        steps.push("guard or cut off its second shaft end".to_owned());
    }
    if !steps.is_empty() {
        return judge.work(steps.join("; "));
    }
    let mut text = match (had.length, had.seat, offers.seat) {
        (Some(_), Some(Seat::Key(_)), Some(_)) => "the same diameter, length and key",
        (Some(_), Some(Seat::Flats(_)), Some(_)) => "the same diameter, length and flats",
        (Some(_), ..) => "the same diameter and length; check key and flats",
        (None, ..) => "the same diameter; check its length and key",
    }
    .to_owned();
    if second && ends.is_none() {
        text.push_str("; it has a second shaft end, which needs its guard");
    }
    judge.pass(text)
}

/// What brings what sits on the old shaft onto a new one; `None` where the diameters are the same.
fn diameter_work(bore: Inches, shaft: Inches, metric: bool) -> Option<String> {
    let tell = |l: Inches| with_mm(l, metric);
    let wall = (bore.0 - shaft.0) / 2.0;
    if same(bore, shaft) {
        None
    } else if shaft.0 > bore.0 {
        Some(format!(
            "open the driven bore from {} to {}",
            tell(bore),
            tell(shaft)
        ))
    } else if wall >= THINNEST_WALL - 1e-9 {
        Some(format!(
            "a bush from {} to {} (wall {})",
            tell(bore),
            tell(shaft),
            inches(wall)
        ))
    } else {
        Some(format!(
            "a hub with a bore of {} instead of {}: a bush would have a wall of {} only",
            tell(shaft),
            tell(bore),
            inches(wall)
        ))
    }
}

fn seat_work(before: Option<Seat>, after: Option<Seat>) -> Option<String> {
    match (before?, after?) {
        (Seat::Key(a), Seat::Key(b)) if same(a, b) => None,
        (Seat::Key(a), Seat::Key(b)) => {
            Some(format!("keyway {} instead of {}", inches(b.0), inches(a.0)))
        }
        (Seat::Flats(a), Seat::Flats(b)) if a <= b => None,
        (Seat::Flats(a), Seat::Flats(b)) => {
            Some(format!("{a} flats wanted, it has {b}: file {}", a - b))
        }
        (Seat::Flats(_), Seat::Key(b)) => {
            Some(format!("a key of {} instead of a flat", inches(b.0)))
        }
        (Seat::Key(_), Seat::Flats(0)) => Some("a plain shaft instead of a key".to_owned()),
        (Seat::Key(_), Seat::Flats(_)) => Some("a flat instead of a key".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;

    /// Source: NEMA MG 1 4.4.1 (shafts and keys), 4.2.2 (S: for couplings, not for belts), IEC 60072-1.
    #[test]
    fn shafts_are_bushed_or_bored() {
        use Outcome::{Ask, Fail, Pass, Work};
        struct Case(
            &'static str,
            &'static str,
            Option<Drive>,
            Outcome,
            &'static str,
        );
        let belt = Some(Drive::Belt);
        let cases = [
            Case("184T", "184T", None, Pass, "the same"),
            Case(
                "56",
                "143T",
                None,
                Work,
                "open the driven bore from 0.625 in to 0.875 in",
            ),
            Case(
                "143T",
                "56",
                None,
                Work,
                "bush from 0.875 in to 0.625 in (wall 0.125 in)",
            ),
            Case(
                "48",
                "56",
                None,
                Work,
                "a key of 0.188 in instead of a flat",
            ),
            Case(
                "184",
                "184T",
                None,
                Work,
                "keyway 0.25 in instead of 0.188 in",
            ),
            Case("364T", "364TS", belt, Fail, "short shaft"),
            Case("364T", "364TS", None, Ask, "belt"),
            Case("364TS", "364TS", None, Pass, "the same"),
            Case("56Z", "56", None, Ask, "special shaft"),
            Case("56Z", "56Z", belt, Ask, "special shaft"),
            Case("184JM", "184JM", None, Pass, "pump shaft"),
            Case("145JM", "184JM", None, Ask, "of their own"),
            Case(
                "182T",
                "112M",
                None,
                Work,
                "bore of 1.102 in (28 mm) instead of 1.125 in (28.6 mm): a bush would have a wall of 0.011 in only",
            ),
            Case("90L", "143T", None, Work, "wall of 0.035 in only"),
            Case("184TC", "184T", None, Pass, "the same"),
            Case(
                "143T",
                "90L",
                None,
                Work,
                "open the driven bore from 0.875 in (22.2 mm) to 0.945 in (24 mm)",
            ),
            Case("56C", "143TC", None, Work, "longer (2.125 in)"),
            Case("132S", "132M", None, Pass, "the same"),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|Case(had, offers, drive, outcome, why)| {
                let place = Place {
                    drive: *drive,
                    ..Place::default()
                };
                let motor = StockMotor::default();
                let new = Frame::parse(offers);
                let v = verdict(
                    &OldMotor::in_frame(had),
                    &place,
                    &motor,
                    Some(&new),
                    Poles::default(),
                );
                (v.outcome != *outcome || !v.why.contains(why))
                    .then(|| format!("{had} to {offers}: {v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// Source: IEC 60072-1: 250M has 60 x 140 mm at two poles, 65 x 140 mm at four and more.
    #[test]
    fn large_metric_shafts_depend_on_the_poles() {
        let frame = Frame::parse("250M");
        let judged = |before: u32, after: u32| {
            let poles = Poles {
                old: Some(before),
                new: Some(after),
            };
            let motor = StockMotor::default();
            verdict(
                &OldMotor::in_frame("250M"),
                &Place::default(),
                &motor,
                Some(&frame),
                poles,
            )
        };
        assert_eq!(judged(2, 2).outcome, Outcome::Pass);
        assert_eq!(judged(2, 2).had, "2.362 in (60 mm) × 5.512 in (140 mm)");
        assert_eq!(judged(4, 4).had, "2.559 in (65 mm) × 5.512 in (140 mm)");
        assert_eq!(judged(2, 4).outcome, Outcome::Work);
    }

    /// Common practice.
    #[test]
    fn ends_lengths_and_flats() {
        use Outcome::{Ask, Fail, Pass, Work};
        let double = Some(ShaftEnds::Double);
        let single = Some(ShaftEnds::Single);
        struct Case {
            place: Place,
            motor: StockMotor,
            outcome: Outcome,
            why: &'static str,
        }
        let case = |outcome, why| Case {
            place: Place::default(),
            motor: StockMotor::default(),
            outcome,
            why,
        };
        let mut cases = vec![case(Pass, "the same")];
        for (wanted, offered, outcome, why) in [
            (double, single, Fail, "one end only"),
            (double, None, Ask, "shaft ends"),
            (double, double, Pass, "the same"),
            (single, double, Work, "second shaft end"),
            (None, double, Pass, "second shaft end"),
            (single, None, Pass, "the same"),
        ] {
            let mut next = case(outcome, why);
            next.place.shaft_ends = wanted;
            next.motor.shaft_ends = offered;
            cases.push(next);
        }
        for (wanted, offered, outcome, why) in [
            (Some(2.0), Some(1.5), Work, "0.5 in shorter (1.5 in)"),
            (Some(2.0), Some(2.0), Pass, "the same"),
            (None, Some(5.0), Work, "3.5 in longer"),
        ] {
            let mut next = case(outcome, why);
            next.place.shaft_length = wanted.map(Inches);
            next.motor.shaft_length = offered.map(Inches);
            cases.push(next);
        }
        for (wanted, offered, outcome, why) in [
            (Some(2), None, Work, "2 flats wanted, it has 1"),
            (Some(2), Some(2), Pass, "the same"),
            (None, Some(0), Work, "1 flats wanted, it has 0"),
        ] {
            let mut next = case(outcome, why);
            next.place.shaft_flats = wanted;
            next.motor.shaft_flats = offered;
            cases.push(next);
        }
        let mut special = case(Ask, "does not give its shaft length");
        special.place.shaft = Some(Inches(0.375));
        special.place.shaft_length = Some(Inches(2.0));
        special.motor.shaft_diameter = Some(Inches(0.375));
        cases.push(special);
        let new = Frame::parse("48");
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|c| {
                let v = verdict(
                    &OldMotor::in_frame("48"),
                    &c.place,
                    &c.motor,
                    Some(&new),
                    Poles::default(),
                );
                (v.outcome != c.outcome || !v.why.contains(c.why)).then(|| format!("{v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
