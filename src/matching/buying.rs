//! The buying sheet: what to ask a supplier for when nothing in stock fits.

use super::amps::upper_end;
use super::enclosure;
use super::frame::Frame;
use super::lengths::{inches, with_mm};
use super::old_motor::OldMotor;
use super::place::{Drive, Place, Restart, ShaftPosition};
use super::requirement::Requirement;
use super::supply::{Supply, names_of_system};
use super::verdict::COMMON;
use super::{candidate, questions};
use crate::record::{Class, Protection, Question, ShaftEnds};
use crate::stock::StockMotor;
use crate::trade::{self, FrameAssignment, synchronous_speed};
use crate::units::{Hertz, Horsepower, Rpm, plain};
use serde::Serialize;

/// One line of the sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Demand {
    /// What is demanded.
    pub what: &'static str,
    /// The demand, with its numbers; several where the old plate may be read in several ways.
    pub wanted: String,
    /// Where it comes from.
    pub source: &'static str,
}

impl Requirement {
    /// What to buy, line by line. What is not known is left out; the questions name it.
    pub fn demands(&self) -> Vec<Demand> {
        let mut lines: Vec<Demand> = Vec::new();
        for way in &self.ways.ways {
            for demand in demands(&way.old, self.place()) {
                match lines.iter_mut().find(|l| l.what == demand.what) {
                    Some(line) if line.wanted.split(" or else ").any(|w| w == demand.wanted) => {}
                    Some(line) => {
                        line.wanted = format!("{} or else {}", line.wanted, demand.wanted)
                    }
                    None => lines.push(demand),
                }
            }
        }
        lines
    }
}

impl Requirement {
    /// Questions to settle before ordering.
    pub fn questions(&self) -> Vec<Question> {
        // A motor of which nothing is known brings out everything that the old one leaves open.
        let probe = candidate::evaluate(
            &self.ways,
            self.place(),
            &candidate::Frames::of(&[]),
            &StockMotor::default(),
        );
        questions::before_buying(&self.ways, &probe)
    }
}

fn demands(old: &OldMotor, place: &Place) -> Vec<Demand> {
    let supply = Supply::of(old, place);
    let mut lines = Vec::new();
    let mut add = |what, wanted: Option<String>, source| {
        lines.extend(wanted.map(|wanted| Demand {
            what,
            wanted,
            source,
        }))
    };
    add("class", class(old, place), COMMON);
    add("full-load amps", amps(old), COMMON);
    add("power × factor", capacity(old), COMMON);
    add(
        "supply",
        supply_line(supply),
        "NEMA MG 1 12.44, notes to NEC 430.248 and 430.250",
    );
    add(
        "speed",
        speed(old, supply),
        "120 f / poles; NEMA MG 1 12.47 (from memory)",
    );
    add(
        "enclosure",
        enclosure::demand(old, place),
        "NEMA MG 1 1.25 to 1.27",
    );
    add("frame", frame(old), "NEMA MG 1 4.4.1, IEC 60072-1");
    add(
        "shaft",
        shaft(old, place, supply),
        "NEMA MG 1 4.4.1, IEC 60072-1",
    );
    add(
        "mounting",
        mounting(old, place),
        "NEMA MG 1 4.2.2 and 4.4.4",
    );
    add(
        "usual frame",
        usual_frame(old),
        "NEMA MG 1 Part 13 (frame assignments)",
    );
    add(
        "rotation",
        place
            .rotation
            .or(old.rotation)
            .map(|r| format!("{r}, or reversible")),
        COMMON,
    );
    add(
        "insulation",
        old.insulation_class
            .as_ref()
            .map(|c| format!("class {c} or higher")),
        "NEMA MG 1 12.42",
    );
    add(
        "ambient",
        place
            .ambient
            .or(old.ambient)
            .map(|a| format!("{a} or higher")),
        "NEMA MG 1 12.42",
    );
    add(
        "duty",
        old.duty.as_ref().map(|d| format!("{d}, or continuous")),
        "NEC 430.7(A)(6)",
    );
    add(
        "design",
        old.design
            .as_ref()
            .map(|d| format!("design {d}: torque and starting current of that letter")),
        "NEMA MG 1 1.19 (from memory)",
    );
    add(
        "protection",
        protection(old, place),
        "NEC 430.32 and 430.43",
    );
    add("bearings", bearings(old, place), COMMON);
    add(
        "conduit box",
        place.conduit_box.map(|b| b.words().to_owned()),
        "NEMA MG 1 Figure 4-6",
    );
    add(
        "length",
        place.room.map(|r| format!("at most {}", inches(r.0))),
        COMMON,
    );
    add(
        "capacitor",
        old.capacitor.map(|_| {
            "a new one of the new motor's own value, in the same or a higher voltage class"
                .to_owned()
        }),
        COMMON,
    );
    lines
}

fn class(old: &OldMotor, place: &Place) -> Option<String> {
    let no_air = place.drive.is_some_and(|d| !d.blows_over_motor());
    Some(match old.class? {
        Class::AirOver if no_air => format!(
            "the old motor was air-over, but {} blows no air over it: a motor with its own cooling",
            place.drive.map_or("the load", Drive::words)
        ),
        Class::AirOver => "air-over, to sit in the air of its fan".to_owned(),
        Class::GeneralPurpose => "general purpose, with its own cooling".to_owned(),
        Class::Unknown => return None,
    })
}

fn amps(old: &OldMotor) -> Option<String> {
    let amps = old
        .rating
        .amps
        .filter(|_| old.class == Some(Class::AirOver) && old.pairing_doubt.is_none())?;
    let volts = old
        .rating
        .volts
        .map_or(String::new(), |v| format!(" at {v}"));
    Some(format!("{amps} to {}{volts}", upper_end(amps)))
}

fn capacity(old: &OldMotor) -> Option<String> {
    let needed = old
        .capacity()
        .filter(|_| old.class == Some(Class::GeneralPurpose))?;
    let step = |service_factor: f64| {
        let sizes = FrameAssignment::all()
            .iter()
            .map(|a| a.hp)
            .chain(SMALL_SIZES.iter().copied());
        let enough = sizes.filter(|hp| hp * service_factor >= needed.0 * 0.98);
        enough.min_by(f64::total_cmp).map(|hp| {
            format!(
                "{} at service factor {}",
                Horsepower(hp),
                plain(service_factor)
            )
        })
    };
    let examples: Vec<String> = [1.0, 1.15].into_iter().filter_map(step).collect();
    Some(format!(
        "at least {needed}, such as {}",
        examples.join(" or ")
    ))
}

/// Horsepowers below those of the frame assignments.
const SMALL_SIZES: &[f64] = &[1.0 / 6.0, 0.25, 1.0 / 3.0, 0.5, 0.75];

fn supply_line(supply: Supply) -> Option<String> {
    let mut parts = Vec::new();
    parts.extend(supply.volts.map(|v| {
        let names: Vec<String> = names_of_system(v).iter().map(|n| plain(*n)).collect();
        if names.len() < 2 {
            v.to_string()
        } else {
            format!("{v} (a plate of {} V serves)", names.join(", "))
        }
    }));
    parts.extend(supply.phase.map(|p| format!("{p} phase")));
    parts.extend(supply.hertz.map(|h| h.to_string()));
    (!parts.is_empty()).then(|| parts.join(", "))
}

fn speed(old: &OldMotor, supply: Supply) -> Option<String> {
    let rpm = old.rating.rpm?;
    let Some(hertz) = old.rating.hertz.or(supply.hertz) else {
        return Some(format!("about {rpm}"));
    };
    let poles = trade::poles(rpm, hertz)?;
    let line = supply.hertz.unwrap_or(Hertz(hertz.0));
    let at_line = Rpm((rpm.0 * line.0 / hertz.0).round());
    let slip = synchronous_speed(line, poles).0 - at_line.0;
    let (low, high) = (
        (at_line.0 - 0.2 * slip).round(),
        (at_line.0 + 0.2 * slip).round(),
    );
    Some(format!(
        "{poles} poles, {} full load ({} to {} will do)",
        at_line,
        plain(low),
        plain(high)
    ))
}

fn frame(old: &OldMotor) -> Option<String> {
    let frame = old.frame.as_ref()?;
    Some(match (frame.dimensions(None), frame.height) {
        (Some(d), _) => format!(
            "{}: shaft height D {}, foot holes 2E {} and 2F {}, BA {}",
            frame.as_printed(),
            with_mm(d.height, d.is_iec),
            with_mm(d.two_e, d.is_iec),
            with_mm(d.two_f, d.is_iec),
            with_mm(d.ba, d.is_iec)
        ),
        (None, Some(height)) => format!(
            "{}: shaft height {} by its digits; measure the feet",
            frame.as_printed(),
            inches(height.0)
        ),
        (None, None) => format!(
            "{}: in no table; measure shaft height and feet",
            frame.as_printed()
        ),
    })
}

fn shaft(old: &OldMotor, place: &Place, supply: Supply) -> Option<String> {
    let both = match place.shaft_ends.or(old.shaft_ends) {
        Some(ShaftEnds::Double) => ", at both ends",
        _ => "",
    };
    if let Some(wanted) = place.shaft {
        let long = place
            .shaft_length
            .map_or(String::new(), |l| format!(", {} long", inches(l.0)));
        let flats = place
            .shaft_flats
            .map_or(String::new(), |n| format!(", {n} flats"));
        return Some(format!("{} diameter{long}{flats}{both}", inches(wanted.0)));
    }
    let frame = old.frame.as_ref()?;
    if frame.suffix.z {
        return Some("special (Z): measure diameter, length, flats and key".to_owned());
    }
    if let Some(pump) = frame.suffix.pump {
        return Some(format!("{pump} pump shaft: as on the old plate"));
    }
    let speed = old.rating.rpm.zip(old.rating.hertz.or(supply.hertz));
    let poles = speed.and_then(|(rpm, hertz)| trade::poles(rpm, hertz));
    let d = frame.dimensions(poles)?;
    let key = match d.key {
        Some(key) => format!(", key {}", with_mm(key, d.is_iec)),
        None if d.has_flat => ", flat".to_owned(),
        None => String::new(),
    };
    Some(format!(
        "{} diameter, {} long{key}{both}",
        with_mm(d.shaft, d.is_iec),
        with_mm(d.shaft_length, d.is_iec)
    ))
}

/// What must watch the winding, and whether it may start the motor by itself.
fn protection(old: &OldMotor, place: &Place) -> Option<String> {
    if place.restart == Some(Restart::Dangerous) {
        return Some(
            "none that resets by itself: an unexpected start can hurt somebody".to_owned(),
        );
    }
    let had = place.protection.or(old.protection)?;
    Some(match had {
        Protection::None => "none inside: the circuit's overload device protects it".to_owned(),
        had => format!("{had}, as the old one"),
    })
}

fn bearings(old: &OldMotor, place: &Place) -> Option<String> {
    match place.shaft_position {
        Some(ShaftPosition::Level) | None => place
            .bearings
            .or(old.bearings)
            .map(|b| format!("{b} before; with the shaft level any will do")),
        Some(upright) => Some(format!(
            "for every position, since the shaft {}",
            upright.words()
        )),
    }
}

fn mounting(old: &OldMotor, place: &Place) -> Option<String> {
    let held = place.hold.map(|h| h.to_string());
    let parts = old.frame.as_ref().map(mounting_of_frame);
    let parts: Vec<String> = held
        .into_iter()
        .chain(parts.into_iter().flatten())
        .collect();
    (!parts.is_empty()).then(|| parts.join("; "))
}

fn mounting_of_frame(frame: &Frame) -> Vec<String> {
    let s = frame.suffix;
    let mut parts: Vec<String> = s.hold.map(|h| h.to_string()).into_iter().collect();
    match frame.face {
        Some(face) => parts.push(format!(
            "C face: bolt circle {}, pilot {}, {} bolts {}",
            inches(face.aj.0),
            inches(face.ak.0),
            face.bolts,
            face.tap
        )),
        None if s.c_face => parts.push("C face".to_owned()),
        None => {}
    }
    parts.extend(s.d_flange.then(|| "D flange".to_owned()));
    parts.extend(s.pump.map(|p| format!("{p} pump shaft")));
    parts.extend(s.y.then(|| "special mounting (Y): compare band, studs or base".to_owned()));
    parts
}

/// The frames that the standard gave this rating, where the old frame is not known.
fn usual_frame(old: &OldMotor) -> Option<String> {
    if old.frame.is_some() || old.class != Some(Class::GeneralPurpose) {
        return None;
    }
    let poles = trade::poles(old.rating.rpm?, old.rating.hertz?)?;
    let enclosed = old
        .enclosure
        .as_deref()
        .and_then(trade::enclosure)
        .is_some_and(|e| e.is_enclosed());
    let found =
        trade::frame_assignments(old.rating.power()?.0, u8::try_from(poles).ok()?, enclosed);
    let names: Vec<String> = found
        .iter()
        .map(|a| format!("{} ({} era)", a.frame, a.era))
        .collect();
    (!names.is_empty()).then(|| {
        format!(
            "usually {}; measure the shaft height before ordering",
            names.join(" or ")
        )
    })
}
