//! Which frame NEMA gives a rating (NEMA MG 1 Part 13; sources in `data/nema_frame_assignments.csv`).

use super::table::rows;
use serde::Deserialize;
use std::sync::LazyLock;

/// One rating and its frame. Makers ship other frames too, so a difference is only a hint.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct FrameAssignment {
    /// `T`, or the older `U` and `original`.
    pub era: String,
    /// `open`, `tefc` (totally enclosed fan-cooled), or `open and tefc`.
    pub enclosure: String,
    /// Horsepower.
    pub hp: f64,
    /// Synchronous speed at 60 Hz.
    pub sync_rpm: f64,
    /// Number of poles.
    pub poles: u8,
    /// The frame.
    pub frame: String,
    /// The frame where the motor drives by belt; `None` where a belt is not foreseen or not told.
    pub frame_for_belt: Option<String>,
    /// `read` or `memory`.
    pub confidence: String,
}

impl FrameAssignment {
    /// All assignments of the table.
    pub fn all() -> &'static [FrameAssignment] {
        &ASSIGNMENTS
    }
}

static ASSIGNMENTS: LazyLock<Vec<FrameAssignment>> =
    LazyLock::new(|| rows(include_str!("data/nema_frame_assignments.csv")));

/// The frames that NEMA gave a rating over the years, T frames first.
pub fn frame_assignments(hp: f64, poles: u8, enclosed: bool) -> Vec<&'static FrameAssignment> {
    let kind = if enclosed { "tefc" } else { "open" };
    let wanted = |a: &&FrameAssignment| {
        (a.hp - hp).abs() < 1e-6
            && a.poles == poles
            && a.enclosure.split(" and ").any(|e| e == kind)
    };
    ASSIGNMENTS.iter().filter(wanted).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::nema_frame;

    #[test]
    fn every_assigned_frame_has_its_dimensions() {
        assert_eq!(FrameAssignment::all().len(), 176);
        let wrong: Vec<String> = FrameAssignment::all()
            .iter()
            .filter(|a| {
                nema_frame(&a.frame).is_none() || a.sync_rpm * f64::from(a.poles) != 120.0 * 60.0
            })
            .map(|a| format!("{} hp, {} poles: {}", a.hp, a.poles, a.frame))
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// Source: NEMA MG 1-14.42: 10 hp at 1800 rpm is 215T; the 1952 rerate gave it 256U.
    #[test]
    fn a_rating_has_had_several_frames() {
        let frames: Vec<&str> = frame_assignments(10.0, 4, true)
            .iter()
            .map(|a| a.frame.as_str())
            .collect();
        assert_eq!(frames, ["215T", "256U"]);
    }
}
