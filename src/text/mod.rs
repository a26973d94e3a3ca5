//! Text in a photo: where it stands, what it may read, and how sure the recogniser is of every character.
//! Knows the photo and nothing of what a plate is.

mod beside;
mod codes;
mod ctc;
mod detect;
mod direction;
pub mod exchange;
pub mod hand;
mod lattice;
mod model;
mod page;
mod reader;
mod recognise;
mod rules;

pub use codes::{Code, Symbology, find_codes};
pub use lattice::{BLANK, Glyph, Lattice};
pub use model::{ModelSource, TextError};
pub use page::{Line, Page};
pub use reader::{LookOptions, ReadOptions, Reader};
