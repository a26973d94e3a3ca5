//! Which way a page reads: the axis of its lines, the corner each box begins at, and the order of the lines.

use std::f32::consts::{FRAC_PI_2, FRAC_PI_4, PI};

use crate::photo::{Point, Quad};

/// A box this much longer than wide shows the axis of its text.
const LONG: f32 = 1.6;

/// The angle of the axis along which most of the text runs, from -90 to 90 degrees, in radians; 0 without boxes.
pub(super) fn axis(boxes: &[Quad]) -> f32 {
    let mut mean = 0.0;
    // Boxes across the rest are left out from the second round on.
    for limit in [PI, FRAC_PI_4, FRAC_PI_4 / 2.0] {
        // Angles are doubled, since an axis has no head.
        let sum = boxes
            .iter()
            .map(lengthwise)
            .filter(|quad| quad.width() > LONG * quad.height())
            .filter(|quad| between(quad.angle(), mean, PI) < limit)
            .fold((0.0, 0.0), |sum, quad| {
                let weight = quad.width() - quad.height();
                let (sin, cos) = (2.0 * quad.angle()).sin_cos();
                (sum.0 + weight * cos, sum.1 + weight * sin)
            });
        if sum == (0.0, 0.0) {
            return mean;
        }
        mean = sum.1.atan2(sum.0) / 2.0;
    }
    mean
}

/// The angle between two directions that are the same after every `period`.
pub(super) fn between(a: f32, b: f32, period: f32) -> f32 {
    let d = (a - b).rem_euclid(period);
    d.min(period - d)
}

/// The box with its first side along the longer way.
fn lengthwise(quad: &Quad) -> Quad {
    if quad.height() > quad.width() {
        turned(quad, 1)
    } else {
        *quad
    }
}

/// The same box beginning `quarters` corners further on.
pub(super) fn turned(quad: &Quad, quarters: usize) -> Quad {
    let mut corners = quad.0;
    corners.rotate_left(quarters % 4);
    Quad(corners)
}

/// The box with its corners in the order of a text that reads in `direction` (radians).
pub(super) fn facing(quad: &Quad, direction: f32) -> Quad {
    (0..4)
        .map(|quarters| turned(quad, quarters))
        .min_by(|a, b| {
            let off = |q: &Quad| between(q.angle(), direction, 2.0 * PI);
            off(a).total_cmp(&off(b))
        })
        .unwrap_or(*quad)
}

/// Whether a box that faces the page's direction holds a line that runs across it: it is long that way, and
/// higher than one character of the page.
pub(super) fn runs_across(quad: &Quad, line_height: f32) -> bool {
    quad.height() > LONG * quad.width() && quad.height() > 1.8 * line_height
}

/// The height of a small line of the page, pixels: a quarter of the lines are not higher. 0 without boxes.
pub(super) fn line_height(boxes: &[Quad]) -> f32 {
    let mut heights: Vec<f32> = boxes.iter().map(|q| q.width().min(q.height())).collect();
    heights.sort_by(f32::total_cmp);
    heights.get(heights.len() / 4).copied().unwrap_or(0.0)
}

/// The smallest rectangle in a direction around all boxes, wider by `margin` pixels on every side.
pub(super) fn region(boxes: &[Quad], direction: f32, margin: f32) -> Option<Quad> {
    let (sin, cos) = direction.sin_cos();
    let turn = |p: Point| Point {
        x: p.x * cos + p.y * sin,
        y: p.y * cos - p.x * sin,
    };
    let back = |p: Point| Point {
        x: p.x * cos - p.y * sin,
        y: p.x * sin + p.y * cos,
    };
    let level: Vec<Quad> = boxes.iter().map(|q| Quad(q.0.map(turn))).collect();
    let [a, _, c, _] = Quad::around(&level)?.0;
    let (l, t, r, b) = (a.x - margin, a.y - margin, c.x + margin, c.y + margin);
    Some(Quad(
        [(l, t), (r, t), (r, b), (l, b)].map(|(x, y)| back(Point { x, y })),
    ))
}

/// A rectangle along text with its upper and lower side aslant as the lines of the text are there: those of a plate that is seen
/// from the side converge, and in a picture of that quad they are level.
pub(super) fn along_lines(rectangle: &Quad, boxes: &[Quad]) -> Quad {
    /// One side of the quad is at most so many times as high as the other.
    const STEEPEST: f32 = 2.5;
    let direction = rectangle.angle();
    let middle = rectangle.center();
    let (sin, cos) = direction.sin_cos();
    let across = |p: Point| (p.y - middle.y) * cos - (p.x - middle.x) * sin;
    let (w, h) = (rectangle.width(), rectangle.height().max(1.0));
    // Slope = a + b y, from the middle down; weighted by length, without what lies across the rest.
    let lines: Vec<(f32, f32, f32)> = boxes
        .iter()
        .map(lengthwise)
        .filter(|quad| quad.width() > LONG * quad.height())
        .map(|quad| facing(&quad, direction))
        .map(|quad| {
            let off = (quad.angle() - direction + PI).rem_euclid(2.0 * PI) - PI;
            (across(quad.center()), off, quad.width())
        })
        .filter(|(_, off, _)| off.abs() < FRAC_PI_4 / 2.0)
        .map(|(y, off, weight)| (y, off.tan(), weight))
        .collect();
    let sum = |f: &dyn Fn(&(f32, f32, f32)) -> f32| {
        lines.iter().map(|line| line.2 * f(line)).sum::<f32>()
    };
    let total = sum(&|_| 1.0);
    if total <= 0.0 {
        return *rectangle;
    }
    let (y, slope) = (sum(&|l| l.0) / total, sum(&|l| l.1) / total);
    let spread = sum(&|l| (l.0 - y).powi(2)) / total;
    // Few lines close together tell little of how they converge.
    let b = sum(&|l| (l.0 - y) * (l.1 - slope)) / total / (spread + (0.1 * h).powi(2));
    let most = 2.0 * h / w * (STEEPEST - 1.0) / (STEEPEST + 1.0);
    let b = (b * h).clamp(-most, most) / h;
    let at = |y_side: f32| slope + b * (y_side - y);
    let corner = |x: f32, y_side: f32| {
        let v = y_side + at(y_side) * x;
        Point {
            x: middle.x + x * cos - v * sin,
            y: middle.y + x * sin + v * cos,
        }
    };
    let (x, y) = (w / 2.0, h / 2.0);
    Quad([corner(-x, -y), corner(x, -y), corner(x, y), corner(-x, y)])
}

/// The box wider by some pixels on every side; narrower where they are negative.
pub(super) fn grown(quad: &Quad, by: f32) -> Quad {
    region(&[*quad], quad.angle(), by).unwrap_or(*quad)
}

/// The order in which boxes are read in a direction: rows from the top down, each from left to right.
pub(super) fn reading_order(boxes: &[Quad], direction: f32) -> Vec<usize> {
    let (sin, cos) = direction.sin_cos();
    let along = |at: usize| boxes[at].center().x * cos + boxes[at].center().y * sin;
    let across = |at: usize| boxes[at].center().y * cos - boxes[at].center().x * sin;
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.sort_by(|&a, &b| across(a).total_cmp(&across(b)));
    let mut rows: Vec<Vec<usize>> = Vec::new();
    for at in order {
        let joins = |row: &Vec<usize>| {
            row.last().is_some_and(|&last| {
                let limit = boxes[last].height().min(boxes[at].height()) * 0.4;
                across(at) - across(last) < limit
            })
        };
        match rows.last_mut() {
            Some(row) if joins(row) => row.push(at),
            _ => rows.push(vec![at]),
        }
    }
    for row in &mut rows {
        row.sort_by(|&a, &b| along(a).total_cmp(&along(b)));
    }
    rows.concat()
}

/// The direction that reads the other way along the same axis.
pub(super) fn opposite(direction: f32) -> f32 {
    direction + PI
}

/// The direction across, reading downwards.
pub(super) fn across(direction: f32) -> f32 {
    direction + FRAC_PI_2
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A box of a line around a middle, turned by degrees.
    fn line(x: f32, y: f32, w: f32, h: f32, degrees: f32) -> Quad {
        let (sin, cos) = degrees.to_radians().sin_cos();
        Quad([(-w, -h), (w, -h), (w, h), (-w, h)].map(|(u, v)| Point {
            x: x + (u * cos - v * sin) / 2.0,
            y: y + (u * sin + v * cos) / 2.0,
        }))
    }

    #[test]
    fn the_axis_is_that_of_most_of_the_text() {
        for degrees in [0.0f32, 12.0, -35.0, 60.0, -80.0] {
            let mut boxes: Vec<Quad> = (0..5)
                .map(|i| line(50.0, 30.0 * i as f32, 100.0, 20.0, degrees + i as f32 - 2.0))
                .collect();
            // A line across, a line upside down, and a single character.
            boxes.push(line(200.0, 60.0, 90.0, 18.0, degrees + 90.0));
            boxes.push(line(200.0, 60.0, 90.0, 18.0, degrees + 180.0));
            boxes.push(line(150.0, 60.0, 18.0, 20.0, degrees));
            let found = axis(&boxes).to_degrees();
            assert!((found - degrees).abs() < 4.0, "{degrees}: {found}");
        }
        assert_eq!(axis(&[]), 0.0);
    }

    #[test]
    fn a_box_faces_the_page_and_a_line_across_is_known() {
        let digit = facing(&line(0.0, 0.0, 9.0, 24.0, 10.0), 0.17);
        assert!(digit.height() > digit.width() && !runs_across(&digit, 24.0));
        let across = facing(&line(0.0, 0.0, 24.0, 150.0, 10.0), 0.17);
        assert!(runs_across(&across, 24.0));
        let upside_down = facing(&line(0.0, 0.0, 90.0, 20.0, 0.0), PI);
        assert!(upside_down.0[0].x > upside_down.0[1].x);
    }

    /// Lines that meet in one point far off on the left, on a page that is turned as a whole.
    #[test]
    fn a_quad_along_lines_converges_as_they_do() {
        for degrees in [0.0f32, 20.0, -70.0] {
            let turn = degrees.to_radians();
            let boxes: Vec<Quad> = (-4..=4)
                .map(|i| {
                    let (sin, cos) = turn.sin_cos();
                    let (x, y) = (0.0, 40.0 * i as f32);
                    let slope = (y / 1000.0).atan().to_degrees();
                    let (x, y) = (x * cos - y * sin, x * sin + y * cos);
                    line(x, y, 400.0, 20.0, degrees + slope)
                })
                .collect();
            let rectangle = region(&boxes, axis(&boxes), 0.0).unwrap();
            let [a, b, c, d] = along_lines(&rectangle, &boxes).0;
            // Towards the point where they meet the quad is lower, by a tenth for each hundred of the thousand.
            let ratio = a.distance(d) / b.distance(c);
            assert!((ratio - 0.8 / 1.2).abs() < 0.05, "{degrees}: {ratio}");
            let level: Vec<Quad> = (0..3)
                .map(|i| line(0.0, 60.0 * i as f32, 300.0, 20.0, degrees))
                .collect();
            let rectangle = region(&level, turn, 5.0).unwrap();
            let same = along_lines(&rectangle, &level);
            let moved = same.0.iter().zip(rectangle.0).map(|(p, q)| p.distance(q));
            assert!(moved.fold(0.0, f32::max) < 0.5, "{same:?}");
        }
        assert_eq!(
            along_lines(&line(0.0, 0.0, 50.0, 20.0, 0.0), &[]),
            line(0.0, 0.0, 50.0, 20.0, 0.0)
        );
    }

    #[test]
    fn rows_are_read_from_the_top_down_and_from_left_to_right() {
        let boxes = [
            line(200.0, 52.0, 80.0, 20.0, 0.0),
            line(60.0, 50.0, 80.0, 20.0, 0.0),
            line(60.0, 20.0, 80.0, 20.0, 0.0),
            line(320.0, 54.0, 80.0, 20.0, 0.0),
        ];
        assert_eq!(reading_order(&boxes, 0.0), [2, 1, 0, 3]);
        assert_eq!(reading_order(&boxes, PI), [3, 0, 1, 2]);
    }
}
