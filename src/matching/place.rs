//! What the place demands of the replacement, as far as somebody has said it.

use super::hold::Hold;
use super::rotation::Rotation;
use crate::record::{Bearings, Protection, ShaftEnds};
use crate::units::{Celsius, Hertz, Inches, Volts};
use serde::Serialize;

/// How the motor drives its load.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Drive {
    /// A fan or blower wheel on the motor's own shaft, the motor in its air stream.
    Fan,
    /// A belt.
    Belt,
    /// A pump.
    Pump,
    /// A gearbox.
    Gearbox,
    /// A compressor.
    Compressor,
    /// A machine coupled to the shaft.
    Coupling,
}

impl Drive {
    /// Whether the driven machine blows its air across the motor.
    pub(super) fn blows_over_motor(self) -> bool {
        self == Drive::Fan
    }

    /// The drive in words, with its article.
    pub(super) fn words(self) -> &'static str {
        match self {
            Drive::Fan => "a fan wheel on its shaft",
            Drive::Belt => "a belt",
            Drive::Pump => "a pump",
            Drive::Gearbox => "a gearbox",
            Drive::Compressor => "a compressor",
            Drive::Coupling => "a coupling",
        }
    }
}

/// Where the motor stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Surroundings {
    /// Dry and clean, under a roof.
    Indoors,
    /// Rain, snow, dust.
    Outdoors,
    /// Hosed down, or dripping wet.
    Wet,
}

/// Side of the conduit box, seen from the shaft end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum BoxSide {
    /// Left.
    F1,
    /// Right.
    F2,
    /// On top.
    F3,
}

impl BoxSide {
    /// The side in words.
    pub(super) fn words(self) -> &'static str {
        match self {
            BoxSide::F1 => "F1 (left, seen from the shaft end)",
            BoxSide::F2 => "F2 (right, seen from the shaft end)",
            BoxSide::F3 => "F3 (on top)",
        }
    }
}

/// How the shaft stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ShaftPosition {
    /// Horizontal.
    Level,
    /// Vertical, the driven end up.
    Up,
    /// Vertical, the driven end down.
    Down,
}

impl ShaftPosition {
    /// The position in words.
    pub(super) fn words(self) -> &'static str {
        match self {
            ShaftPosition::Level => "lies level",
            ShaftPosition::Up => "points up",
            ShaftPosition::Down => "points down",
        }
    }
}

/// What comes of a motor that starts by itself after it has cooled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Restart {
    /// It can hurt somebody.
    Dangerous,
    /// Nothing, such as in a fan behind its guards.
    Harmless,
}

/// What is known of the place. What nobody said is `None`.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Place {
    /// How the load is driven.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drive: Option<Drive>,
    /// Voltage of the supply.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub supply: Option<Volts>,
    /// Phases of the supply.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub phase: Option<u8>,
    /// Frequency of the supply.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hertz: Option<Hertz>,
    /// Indoors, outdoors, wet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub surroundings: Option<Surroundings>,
    /// Highest air temperature at the motor.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ambient: Option<Celsius>,
    /// Room for the motor's length over all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub room: Option<Inches>,
    /// Where the conduit box must sit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub conduit_box: Option<BoxSide>,
    /// Rotation that the driven machine needs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rotation: Option<Rotation>,
    /// Bore of the driven wheel, sheave or coupling.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shaft: Option<Inches>,
    /// Length of the old shaft, or what sits on it needs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shaft_length: Option<Inches>,
    /// Number of flats on the old shaft.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shaft_flats: Option<u8>,
    /// At how many ends the old motor drives.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shaft_ends: Option<ShaftEnds>,
    /// How the shaft stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shaft_position: Option<ShaftPosition>,
    /// What holds the old motor.
    #[serde(rename = "mounting", skip_serializing_if = "Option::is_none")]
    pub hold: Option<Hold>,
    /// The old motor's thermal protection.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub protection: Option<Protection>,
    /// Whether an unexpected start can hurt somebody.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub restart: Option<Restart>,
    /// The old motor's bearings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bearings: Option<Bearings>,
}
