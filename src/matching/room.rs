//! The room around the motor: the side of the conduit box, and the length over all.

use super::lengths::inches;
use super::place::{BoxSide, Place};
use super::verdict::{COMMON, Criterion, Judge, UNKNOWN, Verdict};
use crate::stock::StockMotor;
use crate::trade;

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
