//! Text in a photo: where it stands, what it may read, and how sure the recogniser is of every character.
//! Knows the photo and nothing of what a plate is.

mod ctc;
mod lattice;
mod page;

pub use lattice::{BLANK, Glyph, Lattice};
pub use page::{Line, Page};
