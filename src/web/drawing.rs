//! Feet and shafts of two frames, drawn over each other to one scale. Lengths are inches; y runs down.

use crate::matching::{Dimensions, Frame};
use crate::units::plain;

/// One mounting in the drawing, as numbers of its shapes.
pub(super) struct Shape {
    /// `old` or `new`, for the style sheet.
    pub(super) class: &'static str,
    /// End view: the shaft's middle and radius.
    pub(super) shaft: (f64, f64, f64),
    /// End view: the foot holes.
    pub(super) feet: [f64; 2],
    /// Side view: the shaft's upper left corner, length and diameter.
    pub(super) bar: (f64, f64, f64, f64),
    /// Side view: the foot holes.
    pub(super) holes: [f64; 2],
    /// Side view: the shoulder.
    pub(super) shoulder: f64,
}

/// A dimension of both.
pub(super) struct Dimension {
    pub(super) name: &'static str,
    pub(super) letter: &'static str,
    pub(super) old: String,
    pub(super) new: String,
    pub(super) differs: bool,
}

/// The drawing, with its numbers.
pub(super) struct Drawing {
    pub(super) old_name: String,
    pub(super) new_name: String,
    pub(super) view_box: String,
    pub(super) ground: f64,
    pub(super) width: f64,
    pub(super) shapes: [Shape; 2],
    pub(super) dimensions: Vec<Dimension>,
    pub(super) title: String,
}

/// Room around everything, inches.
const ROOM: f64 = 0.7;

/// The drawing of two frames; `None` when one of them is in no table.
pub(super) fn draw(old: &str, new: &str) -> Option<Drawing> {
    let (old, new) = (Frame::parse(old), Frame::parse(new));
    let (a, b) = (old.dimensions(None)?, new.dimensions(None)?);
    let most = |of: fn(&Dimensions) -> f64| of(&a).max(of(&b));
    let half = most(|d| d.two_e.0) / 2.0;
    let reach = most(|d| d.shaft_length.0);
    let behind = most(|d| d.ba.0 + d.two_f.0);
    let ground = most(|d| d.height.0 + d.shaft.0 / 2.0) + ROOM;
    let middle = ROOM + half;
    let shoulder = middle + half + 2.0 * ROOM + reach;
    let width = shoulder + behind + ROOM;
    let shape = |class, d: &Dimensions| Shape {
        class,
        shaft: (middle, ground - d.height.0, d.shaft.0 / 2.0),
        feet: [middle - d.two_e.0 / 2.0, middle + d.two_e.0 / 2.0],
        bar: (
            shoulder - d.shaft_length.0,
            ground - d.height.0 - d.shaft.0 / 2.0,
            d.shaft_length.0,
            d.shaft.0,
        ),
        holes: [shoulder + d.ba.0, shoulder + d.ba.0 + d.two_f.0],
        shoulder,
    };
    let dimension = |name, letter, of: fn(&Dimensions) -> f64| {
        let (old, new) = (of(&a), of(&b));
        Dimension {
            name,
            letter,
            old: inches(old),
            new: inches(new),
            differs: (old - new).abs() > 0.001,
        }
    };
    let dimensions = vec![
        dimension("shaft height", "D", |d| d.height.0),
        dimension("foot holes across", "2E", |d| d.two_e.0),
        dimension("foot holes along", "2F", |d| d.two_f.0),
        dimension("shoulder to first hole", "BA", |d| d.ba.0),
        dimension("shaft diameter", "U", |d| d.shaft.0),
        dimension("shaft length", "N-W", |d| d.shaft_length.0),
    ];
    Some(Drawing {
        title: format!(
            "Feet and shaft of frame {} (old, dashed) and {} (new, solid), to one scale",
            old.as_printed(),
            new.as_printed()
        ),
        old_name: old.as_printed().to_owned(),
        new_name: new.as_printed().to_owned(),
        view_box: format!("0 0 {width:.2} {:.2}", ground + ROOM),
        ground,
        width,
        shapes: [shape("old", &a), shape("new", &b)],
        dimensions,
    })
}

fn inches(value: f64) -> String {
    plain((value * 1000.0).round() / 1000.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: NEMA MG 1 4.4.1: 56 has D 3.5, 2E 4.88, 2F 3; 145T has D 3.5, 2E 5.5, 2F 5.
    #[test]
    fn frames_are_drawn_to_scale() {
        let drawing = draw("56", "145T").unwrap();
        let [old, new] = &drawing.shapes;
        assert!((old.shaft.1 - new.shaft.1).abs() < 1e-9);
        assert!((new.feet[1] - new.feet[0] - 5.5).abs() < 1e-9);
        assert!((old.holes[1] - old.holes[0] - 3.0).abs() < 1e-9);
        let differ: Vec<&str> = drawing
            .dimensions
            .iter()
            .filter(|d| d.differs)
            .map(|d| d.letter)
            .collect();
        assert!(
            !differ.contains(&"D") && differ.contains(&"2E"),
            "{differ:?}"
        );
        assert!(draw("56", "no such frame").is_none());
    }
}
