//! Faces, flanges, pump shafts, and what fan motors hang in.

use super::frame::{Frame, Suffix};
use super::hold::Hold;
use super::lengths::{inches, same};
use super::old_motor::OldMotor;
use super::place::Place;
use super::verdict::{COMMON, Criterion, Judge, UNKNOWN, Verdict};
use crate::stock::StockMotor;
use crate::trade::{NemaFace, nema_face};

const LETTERS: &str = "NEMA MG 1 4.2.2 (suffix letters) and 4.4.4 (C faces)";

/// The mounting: the worst of what the letters of the frames say and of what holds the motors. `None` where
/// both are plain foot-mounted frames and nobody said more.
pub(super) fn verdict(
    old: &OldMotor,
    place: &Place,
    motor: &StockMotor,
    new: Option<&Frame>,
) -> Option<Verdict> {
    let by_letters = old
        .frame
        .as_ref()
        .zip(new)
        .and_then(|(old, new)| letters(old, new, place, motor));
    let by_hold = hold(old, place, motor, new);
    match (by_letters, by_hold) {
        (Some(a), Some(b)) => Some(if b.outcome >= a.outcome { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// What the letters behind the digits say: first what rules a motor out, then what a person must look at, then
/// what takes work.
fn letters(old: &Frame, new: &Frame, place: &Place, motor: &StockMotor) -> Option<Verdict> {
    let (had, offers) = (old.suffix, new.suffix);
    let judge = Judge::new(
        Criterion::Mounting,
        old.as_printed().to_owned(),
        new.as_printed().to_owned(),
        LETTERS,
    );
    if let Some(why) = ruled_out(had, offers) {
        return Some(judge.fail(why));
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
    let with_feet = listed(motor, Some(new)).is_some_and(Hold::has_feet);
    if offers.c_face && !had.c_face && place.hold.is_none() && !with_feet {
        return Some(
            judge.ask(
                "its C face does no harm, but does it have feet too? The old one stood on feet",
            ),
        );
    }
    let faced = had.c_face || had.d_flange || had.pump.is_some();
    if !faced {
        return None;
    }
    Some(match (old.face, new.face) {
        (Some(a), Some(b)) => faces(judge, a, b),
        _ if old.bare() == new.bare() => judge.pass("the same face by its designation"),
        _ => judge
            .ask("faces of different frames that are in no table: compare bolt circle and pilot"),
    })
}

/// What never goes together.
fn ruled_out(had: Suffix, offers: Suffix) -> Option<String> {
    let pump =
        |p: Option<&str>| p.map_or("no pump shaft".to_owned(), |p| format!("a {p} pump shaft"));
    if had.pump != offers.pump {
        return Some(format!(
            "{} instead of {}",
            pump(offers.pump),
            pump(had.pump)
        ));
    }
    if had.d_flange != offers.d_flange {
        return Some(
            "a D flange (through holes) and another mounting do not go together".to_owned(),
        );
    }
    (had.c_face && !offers.c_face)
        .then(|| "the old motor was bolted by its C face, this one has none".to_owned())
}

fn faces(judge: Judge, old: &NemaFace, new: &NemaFace) -> Verdict {
    if same(old.aj, new.aj) && same(old.ak, new.ak) {
        return judge.pass(format!(
            "the same face: bolt circle {}, pilot {}",
            inches(new.aj.0),
            inches(new.ak.0)
        ));
    }
    judge.work(format!(
        "another face: bolt circle {} instead of {}, pilot {} instead of {}; an adapter flange",
        inches(new.aj.0),
        inches(old.aj.0),
        inches(new.ak.0),
        inches(old.ak.0)
    ))
}

/// How a stock motor is held, as far as the list or its frame says.
fn listed(motor: &StockMotor, frame: Option<&Frame>) -> Option<Hold> {
    let by_column = motor.mounting.as_deref().and_then(Hold::parse);
    by_column.or(frame.and_then(|f| f.suffix.hold))
}

/// Feet against feet, band against studs, and so on. Nothing is said where nobody said how either is held, or
/// where feet are offered, on which a plain frame stands.
fn hold(old: &OldMotor, place: &Place, motor: &StockMotor, new: Option<&Frame>) -> Option<Verdict> {
    let had = place
        .hold
        .or(old.frame.as_ref().and_then(|f| f.suffix.hold));
    let offers = listed(motor, new);
    let shown = |h: Option<Hold>| h.map_or(UNKNOWN.to_owned(), |h| h.to_string());
    let offered = match (&motor.mounting, offers) {
        (Some(cell), None) => cell.clone(),
        _ => shown(offers),
    };
    let judge = Judge::new(Criterion::Mounting, shown(had), offered, COMMON);
    match (had, offers) {
        (None, None | Some(Hold::Feet | Hold::FeetAndFace | Hold::FeetAndFlange)) => None,
        (None, Some(_)) => Some(judge.unknown(
            "mounting",
            "What holds the old motor: feet, a resilient base, a band, studs, ears, or a face?",
        )),
        (Some(Hold::Feet), None) if motor.mounting.is_none() => None,
        (Some(Hold::Face), None) if new.is_some_and(|f| f.suffix.c_face) => None,
        (Some(_), None) => Some(judge.not_listed("mounting")),
        (Some(had), Some(offers)) => Some(compare(judge, had, offers, old, new)),
    }
}

fn compare(judge: Judge, had: Hold, offers: Hold, old: &OldMotor, new: Option<&Frame>) -> Verdict {
    use Hold::{Band, Feet, FeetAndFace, FeetAndFlange, Lugs, Resilient, Studs, Yoke};
    let hangs = |h: Hold| matches!(h, Band | Studs | Lugs | Yoke);
    let by_face = had.has_face() || had.has_flange();
    let same_frame = old
        .frame
        .as_ref()
        .zip(new)
        .is_some_and(|(a, b)| a.bare() == b.bare());
    if by_face && (had.has_face() != offers.has_face() || had.has_flange() != offers.has_flange()) {
        return judge.fail(format!("{offers} where the old motor was bolted by {had}"));
    }
    if had == offers {
        return match by_face && !same_frame {
            true => judge
                .ask("held in the same way, but by another frame: compare bolt circle and pilot"),
            false => judge.pass("held in the same way"),
        };
    }
    match (had, offers) {
        (FeetAndFace | FeetAndFlange, _) => judge.ask("it has no feet: does the old motor stand on its own?"),
        _ if by_face => judge.pass("the same face; see that its feet do not stand in the way"),
        (Feet | Resilient, FeetAndFace | FeetAndFlange) => judge.pass("feet, and a face that is not needed"),
        (Feet, Resilient) => judge.work("a cradle instead of rigid feet: not for belts that pull hard; the frame tells holes and height"),
        (Resilient, Feet) => judge.work("rigid feet instead of a cradle: rubber under the feet, or its hum goes into the sheet metal"),
        (Feet | Resilient, h) if hangs(h) => judge.ask(format!("it has no feet: a cradle for {}", shell(new))),
        (Feet | Resilient, _) => judge.fail(format!("{offers} where the old motor stood on feet")),
        (h, Feet | Resilient) if hangs(h) => judge.ask("can its feet be taken off, or do they stand in the way?"),
        (_, h) if hangs(h) && diameter(new).is_some() => {
            judge.work(format!("a bracket for {offers} instead of {had}, for {}", shell(new)))
        }
        _ => judge.ask(format!("{offers} instead of {had}: compare brackets and shell")),
    }
}

/// The largest diameter at the face of the frame's series, about that of its shell (MG 1 4.4.4, BD).
fn diameter(frame: Option<&Frame>) -> Option<f64> {
    Some(nema_face(&format!("{}C", frame?.digits()))?.bd.0)
}

fn shell(frame: Option<&Frame>) -> String {
    match diameter(frame) {
        Some(d) => format!("a shell of at most {} (BD of MG 1 4.4.4)", inches(d)),
        None => "its shell, which must be measured".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;

    fn outcome(had: (&str, &str), offers: (&str, &str)) -> Option<Verdict> {
        let old = OldMotor {
            frame: Some(Frame::parse(had.0)),
            ..OldMotor::default()
        };
        let place = Place {
            hold: Hold::parse(had.1),
            ..Place::default()
        };
        let motor = StockMotor {
            mounting: (!offers.1.is_empty()).then(|| offers.1.to_owned()),
            ..StockMotor::default()
        };
        verdict(&old, &place, &motor, Some(&Frame::parse(offers.0)))
    }

    /// Source: NEMA MG 1 4.2.2 and 4.4.4, IEC 60034-7; Y always needs a person's look.
    #[test]
    fn faces_and_special_mountings() {
        use Outcome::{Ask, Fail, Pass, Work};
        struct Case(&'static str, &'static str, Option<Outcome>);
        let cases = [
            Case("56", "56", None),
            Case("56C", "56C", Some(Pass)),
            Case("56C", "56", Some(Fail)),
            Case("56", "56C", Some(Ask)),
            Case("56C", "182TC", Some(Work)),
            Case("56C", "182TCH", Some(Pass)),
            Case("56J", "56C", Some(Fail)),
            Case("184JM", "184JP", Some(Fail)),
            Case("184JM", "184JM", Some(Pass)),
            Case("48Y", "48Y", Some(Ask)),
            Case("48", "48Y", Some(Ask)),
            Case("56CY", "182TCY", Some(Ask)),
            Case("184TD", "184TD", Some(Pass)),
            Case("184TD", "254TD", Some(Ask)),
            Case("184JM", "213JM", Some(Ask)),
            Case("90LB5", "90LB5", Some(Pass)),
            Case("90LB5", "100LB5", Some(Ask)),
            Case("90LB5", "90LB14", Some(Fail)),
            Case("90L", "90LB14", Some(Ask)),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|Case(had, offers, expected)| {
                let v = outcome((had, ""), (offers, ""));
                (v.as_ref().map(|v| v.outcome) != *expected)
                    .then(|| format!("{had} to {offers}: {v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// Common practice, but for the shell: BD of the 48 frame is 5.625 in (NEMA MG 1 4.4.4).
    #[test]
    fn what_fan_motors_hang_in() {
        use Outcome::{Ask, Fail, Pass, Work};
        struct Case(&'static str, &'static str, Option<Outcome>, &'static str);
        let cases = [
            Case("", "", None, ""),
            Case("", "rigid", None, ""),
            Case("", "studs", Some(Ask), "What holds the old motor"),
            Case("studs", "studs", Some(Pass), "the same way"),
            Case("studs", "belly band", Some(Work), "5.625 in"),
            Case("belly band", "", Some(Ask), "does not give its mounting"),
            Case("belly band", "rigid", Some(Ask), "taken off"),
            Case("rigid", "", None, ""),
            Case("rigid", "studs", Some(Ask), "5.625 in"),
            Case("rigid", "resilient", Some(Work), "cradle"),
            Case("resilient", "rigid", Some(Work), "rubber"),
            Case("rigid", "B5", Some(Fail), "stood on feet"),
            Case(
                "rigid",
                "on request",
                Some(Ask),
                "does not give its mounting",
            ),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|Case(had, offers, expected, why)| {
                let v = outcome(("48", had), ("48", offers));
                let right = v.as_ref().map(|v| v.outcome) == *expected
                    && v.as_ref().is_none_or(|v| v.why.contains(why));
                (!right).then(|| format!("{had} to {offers}: {v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
