//! The sheet of paper: photo, record, requirement, candidates, circuit figures and cautions, as a PDF to print
//! and to put into the job's folder.

mod content;
mod layout;
mod pdf;
mod plate;

pub use content::{Block, blocks};
pub use pdf::{SheetError, render};
pub use plate::plate;
