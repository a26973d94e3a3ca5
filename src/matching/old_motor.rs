//! The old motor, under one way to read its plate.

use super::frame::Frame;
use super::rotation::Rotation;
use super::supply::same_system;
use crate::record::{Bearings, Class, Field, Protection, RatingPoint, ShaftEnds};
use crate::units::{Celsius, Horsepower, Microfarads, Volts};

/// One way the old motor may have been. What is not known of it is `None`.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct OldMotor {
    pub(super) class: Option<Class>,
    /// Where it ran: one voltage, frequency and power.
    pub(super) rating: RatingPoint,
    /// The same rating at each voltage that the plate gives, this one too.
    pub(super) at_voltages: Vec<RatingPoint>,
    /// Why the plate's rows do not pair up, if they do not.
    pub(super) pairing_doubt: Option<String>,
    /// Whether the plate gives several powers or frequencies.
    pub(super) varies: bool,
    /// All its full-load speeds at that voltage, where it has several.
    pub(super) speeds: Vec<f64>,
    pub(super) service_factor: Option<f64>,
    /// A service factor is on the plate but cannot be read.
    pub(super) service_factor_lost: bool,
    /// Fields that the plate shows, but whose one reading is doubted with nothing to put in its place.
    pub(super) doubted: Vec<Field>,
    pub(super) frame: Option<Frame>,
    pub(super) enclosure: Option<String>,
    pub(super) insulation_class: Option<String>,
    pub(super) duty: Option<String>,
    pub(super) ambient: Option<Celsius>,
    pub(super) rotation: Option<Rotation>,
    pub(super) capacitor: Option<Microfarads>,
    pub(super) capacitor_volts: Option<Volts>,
    pub(super) design: Option<String>,
    /// What the plate's own words say, beyond its fields.
    pub(super) protection: Option<Protection>,
    pub(super) bearings: Option<Bearings>,
    pub(super) shaft_ends: Option<ShaftEnds>,
}

impl OldMotor {
    /// A motor of which only the frame is known.
    #[cfg(test)]
    pub(super) fn in_frame(frame: &str) -> OldMotor {
        OldMotor {
            frame: Some(Frame::parse(frame)),
            ..OldMotor::default()
        }
    }

    /// Whether the plate shows `field` and nobody knows what.
    pub(super) fn doubts(&self, field: Field) -> bool {
        self.doubted.contains(&field)
    }

    /// The rating at the voltage system of `volts`; the one in use where the plate does not give that voltage.
    pub(super) fn at(&self, volts: Option<Volts>) -> &RatingPoint {
        let same =
            |p: &RatingPoint| matches!((volts, p.volts), (Some(a), Some(b)) if same_system(a, b));
        if volts.is_none() || self.rating.volts.is_none() || same(&self.rating) {
            return &self.rating;
        }
        self.at_voltages
            .iter()
            .find(|p| same(p))
            .unwrap_or(&self.rating)
    }

    /// Horsepower times service factor; a plate prints the factor only when it is not 1.0.
    pub(super) fn capacity(&self) -> Option<Horsepower> {
        Some(Horsepower(
            self.rating.power()?.0 * self.service_factor.unwrap_or(1.0),
        ))
    }
}
