//! Photos: decoding, orientation, limits, geometry, warping. Knows only pixels.

mod decode;
mod geometry;
mod jpeg;
mod warp;

pub use decode::{Limits, Photo, PhotoError};
pub use geometry::{Point, Quad};
pub use warp::{Pyramid, project, projection};
