//! Photos: decoding, orientation, limits, geometry, warping. Knows only pixels.

mod decode;
mod geometry;
mod jpeg;

pub use decode::{Limits, Photo, PhotoError};
pub use geometry::{Point, Quad};
