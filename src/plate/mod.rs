//! From lines of text to what a plate says: labels, values, which value belongs to which label, and how
//! likely each reading is. Knows text, the record's notation and the trade's spellings; judges nothing.

mod reading;

pub use reading::{Candidate, FieldReading, Other, Plate, Word};
