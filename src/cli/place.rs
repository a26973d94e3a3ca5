//! What the place demands, from the command line or from an answer.

use crate::matching::{
    BoxSide, Drive, Hold, Place, Restart, Rotation, ShaftPosition, Surroundings,
};
use crate::record::{Bearings, Protection, ShaftEnds};
use crate::stock;
use crate::units::{Celsius, Hertz, Inches, Volts};
use clap::{Args as ClapArgs, ValueEnum};

/// What the place demands; shared by all subcommands that match.
#[derive(Debug, Clone, ClapArgs)]
#[command(next_help_heading = "The place")]
pub(super) struct PlaceArgs {
    /// How the load is driven.
    #[arg(long, value_enum)]
    drive: Option<DriveArg>,
    /// Voltage of the supply.
    #[arg(long, value_name = "VOLTS", value_parser = positive)]
    supply: Option<f64>,
    /// Phases of the supply.
    #[arg(long, value_name = "1|3", value_parser = phase)]
    phase: Option<u8>,
    /// Frequency of the supply.
    #[arg(long, value_name = "HERTZ", value_parser = positive)]
    hertz: Option<f64>,
    /// Where the motor stands.
    #[arg(long, value_enum)]
    place: Option<SurroundingsArg>,
    /// Highest air temperature at the motor, °C.
    #[arg(long, value_name = "CELSIUS")]
    ambient: Option<f64>,
    /// Room for the motor's length over all, inches.
    #[arg(long, value_name = "INCHES", value_parser = inches)]
    room_in: Option<Inches>,
    /// Where the conduit box must sit, seen from the shaft end: F1 left, F2 right, F3 top.
    #[arg(long, value_enum)]
    conduit_box: Option<BoxArg>,
    /// Rotation that the driven machine needs, with the end it is seen from, such as CCWLE.
    #[arg(long, value_name = "ROTATION", value_parser = rotation)]
    rotation: Option<Rotation>,
    /// Bore of the driven wheel, sheave or coupling, inches, such as 0.625 or 5/8.
    #[arg(long, value_name = "INCHES", value_parser = inches)]
    shaft_in: Option<Inches>,
    /// Length of the old shaft from its shoulder, inches.
    #[arg(long, value_name = "INCHES", value_parser = inches)]
    shaft_length_in: Option<Inches>,
    /// Flats on the old shaft; 0 for a plain one.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u8).range(0..=4))]
    shaft_flats: Option<u8>,
    /// Whether the old motor drives at one end of its shaft or at both.
    #[arg(long, value_enum)]
    shaft_ends: Option<EndsArg>,
    /// How the shaft stands: level, or the driven end up or down.
    #[arg(long, value_enum)]
    shaft_position: Option<PositionArg>,
    /// What holds the old motor: rigid, resilient, band, studs, lugs, yoke, C face, or a code such as B5.
    #[arg(long, value_name = "MOUNTING", value_parser = mounting)]
    mounting: Option<Hold>,
    /// The old motor's thermal protection.
    #[arg(long, value_enum)]
    protection: Option<ProtectionArg>,
    /// Whether a motor that starts by itself after it has cooled can hurt somebody.
    #[arg(long, value_enum)]
    restart: Option<RestartArg>,
    /// The old motor's bearings.
    #[arg(long, value_enum)]
    bearings: Option<BearingsArg>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum EndsArg {
    /// At one end.
    Single,
    /// At both ends.
    Double,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum PositionArg {
    /// Horizontal.
    Level,
    /// Vertical, the driven end up.
    Up,
    /// Vertical, the driven end down.
    Down,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ProtectionArg {
    /// None inside.
    None,
    /// Resets by itself.
    Automatic,
    /// Reset by hand.
    Manual,
    /// Impedance protected.
    Impedance,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum RestartArg {
    /// It can hurt somebody.
    Dangerous,
    /// It cannot.
    Harmless,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum BearingsArg {
    /// Ball or roller bearings.
    Ball,
    /// Sleeve bearings.
    Sleeve,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum DriveArg {
    /// A fan or blower wheel on the motor's own shaft.
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

#[derive(Debug, Clone, Copy, ValueEnum)]
enum SurroundingsArg {
    /// Dry and clean, under a roof.
    Indoors,
    /// Rain, snow, dust.
    Outdoors,
    /// Hosed down, or dripping wet.
    Wet,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum BoxArg {
    /// Left.
    F1,
    /// Right.
    F2,
    /// On top.
    F3,
}

fn phase(text: &str) -> Result<u8, String> {
    match text {
        "1" => Ok(1),
        "3" => Ok(3),
        _ => Err("expected 1 or 3".to_owned()),
    }
}

fn positive(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(n) if n.is_finite() && n > 0.0 => Ok(n),
        _ => Err("expected a number above zero".to_owned()),
    }
}

fn inches(text: &str) -> Result<Inches, String> {
    stock::inches(text).ok_or_else(|| "expected inches, such as 0.625 or 5/8".to_owned())
}

fn rotation(text: &str) -> Result<Rotation, String> {
    Rotation::parse(text)
        .ok_or_else(|| "expected CW or CCW and the end it is seen from, such as CCWLE".to_owned())
}

fn mounting(text: &str) -> Result<Hold, String> {
    Hold::parse(text).ok_or_else(|| {
        "expected rigid, resilient, band, studs, lugs, yoke, C face or B5".to_owned()
    })
}

impl From<PositionArg> for ShaftPosition {
    fn from(arg: PositionArg) -> ShaftPosition {
        match arg {
            PositionArg::Level => ShaftPosition::Level,
            PositionArg::Up => ShaftPosition::Up,
            PositionArg::Down => ShaftPosition::Down,
        }
    }
}

impl From<RestartArg> for Restart {
    fn from(arg: RestartArg) -> Restart {
        match arg {
            RestartArg::Dangerous => Restart::Dangerous,
            RestartArg::Harmless => Restart::Harmless,
        }
    }
}

impl From<DriveArg> for Drive {
    fn from(arg: DriveArg) -> Drive {
        match arg {
            DriveArg::Fan => Drive::Fan,
            DriveArg::Belt => Drive::Belt,
            DriveArg::Pump => Drive::Pump,
            DriveArg::Gearbox => Drive::Gearbox,
            DriveArg::Compressor => Drive::Compressor,
            DriveArg::Coupling => Drive::Coupling,
        }
    }
}

impl From<SurroundingsArg> for Surroundings {
    fn from(arg: SurroundingsArg) -> Surroundings {
        match arg {
            SurroundingsArg::Indoors => Surroundings::Indoors,
            SurroundingsArg::Outdoors => Surroundings::Outdoors,
            SurroundingsArg::Wet => Surroundings::Wet,
        }
    }
}

impl From<BoxArg> for BoxSide {
    fn from(arg: BoxArg) -> BoxSide {
        match arg {
            BoxArg::F1 => BoxSide::F1,
            BoxArg::F2 => BoxSide::F2,
            BoxArg::F3 => BoxSide::F3,
        }
    }
}

impl PlaceArgs {
    /// The place as far as it was said.
    pub(super) fn place(&self) -> Place {
        Place {
            drive: self.drive.map(Drive::from),
            supply: self.supply.map(Volts),
            phase: self.phase,
            hertz: self.hertz.map(Hertz),
            surroundings: self.place.map(Surroundings::from),
            ambient: self.ambient.map(Celsius),
            room: self.room_in,
            conduit_box: self.conduit_box.map(BoxSide::from),
            rotation: self.rotation,
            shaft: self.shaft_in,
            shaft_length: self.shaft_length_in,
            shaft_flats: self.shaft_flats,
            shaft_ends: self.shaft_ends.map(|e| match e {
                EndsArg::Single => ShaftEnds::Single,
                EndsArg::Double => ShaftEnds::Double,
            }),
            shaft_position: self.shaft_position.map(ShaftPosition::from),
            hold: self.mounting,
            protection: self.protection.map(|p| match p {
                ProtectionArg::None => Protection::None,
                ProtectionArg::Automatic => Protection::Automatic,
                ProtectionArg::Manual => Protection::Manual,
                ProtectionArg::Impedance => Protection::Impedance,
            }),
            restart: self.restart.map(Restart::from),
            bearings: self.bearings.map(|b| match b {
                BearingsArg::Ball => Bearings::Ball,
                BearingsArg::Sleeve => Bearings::Sleeve,
            }),
        }
    }
}

/// The position of the shaft of an answer in words.
pub(super) fn shaft_position(answer: &str) -> Option<ShaftPosition> {
    PositionArg::from_str(answer.trim(), true)
        .ok()
        .map(ShaftPosition::from)
}

/// What an unexpected start does, of an answer in words.
pub(super) fn restart(answer: &str) -> Option<Restart> {
    RestartArg::from_str(answer.trim(), true)
        .ok()
        .map(Restart::from)
}

/// The drive of an answer in words.
pub(super) fn drive(answer: &str) -> Option<Drive> {
    DriveArg::from_str(answer.trim(), true)
        .ok()
        .map(Drive::from)
}
