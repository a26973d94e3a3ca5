//! Photos: decoding, orientation, limits, geometry, warping. Knows only pixels.

mod decode;
mod enhance;
mod geometry;
mod heic;
mod jpeg;
mod likeness;
mod media;
mod rules;
mod warp;

pub use decode::{Limits, Photo, PhotoError};
pub use enhance::local_contrast;
pub use geometry::{Point, Quad, Segment};
pub use likeness::Likeness;
pub use media::{MediaType, measure};
pub use rules::segments;
pub use warp::{Pyramid, project, projection};
