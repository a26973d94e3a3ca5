//! platewright reads the nameplate of a failed electric motor from a photo, says which readings are
//! doubtful, and picks replacements out of a shop's own stock list with a reason for every yes and no.
//!
//! The rooms of the house, and what each may know, are laid out in `DEVELOPERS.md`. Data goes one way:
//! photo, text, plate, check, record, matching.

// In the library, not in the tests of the command: a test that cannot go on has failed.
#![warn(clippy::unwrap_used, clippy::panic)]

pub mod check;
pub mod cli;
pub mod confirm;
pub mod intake;
pub mod jobs;
pub mod matching;
pub mod photo;
pub mod pick;
pub mod plate;
pub mod read;
pub mod record;
pub mod report;
pub mod sheet;
pub mod stock;
pub mod store;
pub mod text;
pub mod trade;
pub mod units;
pub mod web;
