//! platewright reads the nameplate of a failed electric motor from a photo, says which readings are
//! doubtful, and picks replacements out of a shop's own stock list with a reason for every yes and no.
//!
//! The rooms of the house, and what each may know, are laid out in `DEVELOPERS.md`. Data goes one way:
//! photo, text, plate, check, record, matching.

pub mod check;
pub mod cli;
pub mod matching;
pub mod photo;
pub mod plate;
pub mod read;
pub mod record;
pub mod stock;
pub mod text;
pub mod trade;
pub mod units;
