//! The record of a nameplate: fields, readings and their states, rating points, the plate's notation, and
//! the JSON that other programs lean on. Knows units, the trade's spellings and the geometry of a photo.

mod features;
mod field;
mod nameplate;
pub mod notation;
mod rating;
mod reading;
mod value;

pub use features::{Bearings, Protection, ShaftEnds};
pub use field::Field;
pub use nameplate::{
    CheckOutcome, Class, ClassReading, LogNote, NameplateRecord, Outcome, PlateCode, Question,
    RecordError, TextLine,
};
pub use rating::{Pairing, RatingPoint, Unpaired, pair, varies};
pub use reading::{Alternative, Reading, State};
pub use value::Value;
