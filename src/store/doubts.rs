//! What is doubtful in the store, with its piece of the photo, for whoever checks on paper or in a table.

use super::export::Exported;
use super::{Store, StoreError};
use crate::photo::{Limits, Photo, Point, Pyramid, Quad};
use crate::record::{Field, State};
use image::codecs::jpeg::JpegEncoder;

/// A doubtful reading.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Doubt {
    pub(super) entry: String,
    pub(super) file: String,
    pub(super) field: Field,
    pub(super) printed: String,
    /// The other ways to read it.
    pub(super) others: Vec<String>,
    pub(super) reasons: Vec<String>,
    /// Where it stands on the first photo.
    pub(super) quad: Option<Quad>,
}

/// The doubtful readings of an entry, in the order in which fields are shown.
pub(super) fn doubts(exported: &Exported) -> Vec<Doubt> {
    let Some(record) = &exported.record else {
        return Vec::new();
    };
    let doubtful = |field: &&Field| {
        let reading = record.fields.get(field);
        reading.is_some_and(|r| r.state == State::Doubtful)
    };
    let doubt = |field: &Field| {
        let reading = record.fields.get(field)?;
        Some(Doubt {
            entry: exported.entry.id.clone(),
            file: exported.entry.file_name.clone(),
            field: *field,
            printed: reading.printed.clone().unwrap_or_default(),
            others: reading
                .alternatives
                .iter()
                .map(|a| a.printed.clone())
                .collect(),
            reasons: reading.reasons.clone(),
            quad: reading.quad,
        })
    };
    Field::ALL
        .iter()
        .filter(doubtful)
        .filter_map(doubt)
        .collect()
}

/// Height of a piece, pixels; its text is about two thirds of it.
pub(super) const HEIGHT: u32 = 44;
/// A piece is at most so wide, pixels.
const WIDEST: u32 = 520;
/// Room around the text, in its heights.
const AROUND: f32 = 0.3;

/// A piece of a photo as JPEG, with its width in pixels.
pub(super) struct Piece {
    pub(super) jpeg: Vec<u8>,
    pub(super) width: u32,
}

impl Store {
    /// The pieces of an entry's first photo; `None` in the place of one that cannot be cut out.
    pub(super) async fn pieces(
        &self,
        entry: &str,
        quads: Vec<Option<Quad>>,
    ) -> Result<Vec<Option<Piece>>, StoreError> {
        let none = quads.iter().map(|_| None).collect();
        if quads.iter().all(Option::is_none) {
            return Ok(none);
        }
        let Some(photo) = self.photos(entry).await?.into_iter().next() else {
            return Ok(none);
        };
        // A photo that is lost or damaged keeps nobody from having the rest.
        let Ok(bytes) = self.photo_bytes(&photo).await else {
            return Ok(none);
        };
        super::files::blocking(move || {
            let Ok(photo) = Photo::from_bytes(&bytes, &Limits::default()) else {
                return Ok(none);
            };
            let pyramid = Pyramid::new(&photo.pixels);
            Ok(quads
                .iter()
                .map(|quad| piece(&pyramid, quad.as_ref()?))
                .collect())
        })
        .await
    }
}

fn piece(pyramid: &Pyramid, quad: &Quad) -> Option<Piece> {
    let quad = with_room(quad);
    if quad.height() < 1.0 || quad.width() < 1.0 {
        return None;
    }
    let wide = HEIGHT as f32 * quad.width() / quad.height();
    let width = (wide.round() as u32).clamp(8, WIDEST);
    let pixels = pyramid.piece(&quad, width, HEIGHT)?;
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, 80)
        .encode_image(&pixels)
        .ok()?;
    Some(Piece { jpeg, width })
}

/// The place with some room on all sides.
fn with_room(quad: &Quad) -> Quad {
    let room = quad.height() * AROUND;
    let (sin, cos) = quad.angle().sin_cos();
    let moved = |p: Point, along: f32, across: f32| Point {
        x: p.x + (along * cos - across * sin) * room,
        y: p.y + (along * sin + across * cos) * room,
    };
    let [a, b, c, d] = quad.0;
    Quad([
        moved(a, -1.0, -1.0),
        moved(b, 1.0, -1.0),
        moved(c, 1.0, 1.0),
        moved(d, -1.0, 1.0),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_grows_on_all_sides_whichever_way_it_is_turned() {
        let flat = Quad([[10., 10.], [110., 10.], [110., 30.], [10., 30.]].map(Point::from));
        let grown = with_room(&flat);
        assert_eq!((grown.width(), grown.height()), (112.0, 32.0));
        let upright = Quad([[10., 110.], [10., 10.], [30., 10.], [30., 110.]].map(Point::from));
        let grown = with_room(&upright);
        assert!((grown.width() - 112.0).abs() < 1e-3 && (grown.height() - 32.0).abs() < 1e-3);
        assert!(grown.contains(Point { x: 5.0, y: 5.0 }), "{grown:?}");
    }
}
