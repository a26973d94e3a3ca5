//! The sheet of paper: photo, record, requirement, candidates, circuit figures and cautions, as a PDF to print
//! and to put into the job's folder.

mod block;
mod candidate;
mod content;
mod layout;
mod pdf;
mod plate;

pub use block::{Block, Cell, Tone};
pub use content::blocks;
pub use pdf::{SheetError, render};
pub use plate::plate;
