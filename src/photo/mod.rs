//! Photos: decoding, orientation, limits, geometry, warping. Knows only pixels.

mod geometry;

pub use geometry::{Point, Quad};
