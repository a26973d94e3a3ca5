//! Pieces of a photo, as numbers for a drawing: the browser cuts them out of the whole photo.

use crate::photo::Quad;

/// A piece of a photo, turned so that its text runs from left to right.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Crop {
    /// The photo.
    pub(super) href: String,
    /// Its width and height, pixels.
    pub(super) size: (u32, u32),
    /// The piece: left, top, width and height.
    pub(super) view_box: String,
    /// Its width and height alone.
    pub(super) shape: (f32, f32),
    /// How the photo is turned under it.
    pub(super) turn: String,
}

/// How much is shown around a piece, in its heights.
const AROUND: f32 = 0.7;

impl Crop {
    /// The piece with some room around it.
    pub(super) fn of(href: &str, size: (u32, u32), quad: &Quad) -> Crop {
        let center = quad.center();
        let (width, height) = (quad.width().max(8.0), quad.height().max(8.0));
        let room = AROUND * height;
        let (w, h) = (width + 2.0 * room, height + 2.0 * room);
        Crop {
            href: href.to_owned(),
            size,
            shape: (w.round(), h.round()),
            view_box: format!(
                "{:.1} {:.1} {w:.1} {h:.1}",
                center.x - w / 2.0,
                center.y - h / 2.0
            ),
            turn: format!(
                "rotate({:.2} {:.1} {:.1})",
                -quad.angle().to_degrees(),
                center.x,
                center.y
            ),
        }
    }
}

/// The corners of a place, for a polygon.
pub(super) fn points(quad: &Quad) -> String {
    let corners: Vec<String> = quad
        .0
        .iter()
        .map(|p| format!("{:.1},{:.1}", p.x, p.y))
        .collect();
    corners.join(" ")
}
