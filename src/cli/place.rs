//! What the place demands, from the command line or from an answer.

use crate::matching::{BoxSide, Drive, Place, Rotation, Surroundings};
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
        }
    }
}

/// The drive of an answer in words.
pub(super) fn drive(answer: &str) -> Option<Drive> {
    DriveArg::from_str(answer.trim(), true)
        .ok()
        .map(Drive::from)
}
