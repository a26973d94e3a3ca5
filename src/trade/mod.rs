//! Trade knowledge: reference tables, compiled in with their source lines, and the formulas on them.
//! Knows only units.

mod duty;
mod enclosure;
mod table;

pub use duty::{Duty, duty};
pub use enclosure::{Enclosure, enclosure};
