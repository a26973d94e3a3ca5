//! Reading hOCR, version 1.2, of any engine, as loosely as browsers read HTML.

use quick_xml::events::{BytesStart, Event};

use super::markup::{Walk, number, numbers, points, rectangle, tidy};
use super::word::{self, Word};
use super::{ExchangeError, Sheet};
use crate::photo::{Point, Quad};
use crate::text::Line;

/// What an element is for hOCR.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    Page,
    Line,
    Word,
    /// Text that is none of the plate's: the head of the document.
    Hidden,
    Other,
}

impl Role {
    fn of(name: &str, class: &str) -> Role {
        if matches!(name, "head" | "script" | "style" | "title") {
            return Role::Hidden;
        }
        for class in class.split_ascii_whitespace() {
            match class {
                "ocr_page" => return Role::Page,
                "ocr_line" | "ocrx_line" | "ocr_header" | "ocr_textfloat" | "ocr_caption" => {
                    return Role::Line;
                }
                "ocrx_word" | "ocr_word" => return Role::Word,
                _ => {}
            }
        }
        Role::Other
    }
}

/// Elements of HTML that never have an end tag.
fn is_void(name: &str) -> bool {
    matches!(
        name,
        "area" | "base" | "br" | "col" | "hr" | "img" | "input" | "link" | "meta" | "wbr"
    )
}

/// The properties in a title.
#[derive(Debug, Default)]
struct Properties {
    bbox: Option<Quad>,
    poly: Option<Vec<Point>>,
    /// Radians clockwise.
    angle: Option<f32>,
    /// Slope of the baseline, growing downwards.
    slope: Option<f32>,
    confidence: Option<f32>,
    image: Option<String>,
}

impl Properties {
    fn parse(title: &str) -> Properties {
        let mut all = Properties::default();
        let mut quoted = false;
        let property = |ch: char| {
            quoted ^= ch == '"';
            ch == ';' && !quoted
        };
        for property in title.split(property) {
            let property = property.trim();
            let (name, value) = property
                .split_once(|ch: char| ch.is_ascii_whitespace())
                .unwrap_or((property, ""));
            let value = value.trim();
            match name {
                "bbox" => {
                    if let Some([left, top, right, bottom]) = numbers(value).as_deref() {
                        all.bbox = Some(rectangle(*left, *top, *right, *bottom));
                    }
                }
                "poly" => all.poly = points(value),
                "textangle" => all.angle = number(value).map(|degrees| -degrees.to_radians()),
                "baseline" => all.slope = numbers(value).and_then(|n| n.first().copied()),
                "x_wconf" => {
                    all.confidence = number(value).map(|percent| (percent / 100.0).clamp(0.0, 1.0));
                }
                "image" => all.image = Some(value.trim_matches('"').to_owned()),
                _ => {}
            }
        }
        all
    }

    fn quad(&self, angle: f32) -> Option<Quad> {
        if let Some(points) = &self.poly {
            return word::of_polygon(points, angle);
        }
        let quad = self.bbox?;
        if angle == 0.0
            && let Some(slope) = self.slope
        {
            return Some(along_baseline(&quad, slope));
        }
        word::of_polygon(&quad.0, angle)
    }
}

/// The quad of a tilted line that fills an upright box: engines give the box and the slope.
fn along_baseline(around: &Quad, slope: f32) -> Quad {
    let [a, _, c, _] = around.0;
    let rise = (c.x - a.x) * slope;
    let height = c.y - a.y - rise.abs();
    if height < 0.25 * (c.y - a.y) {
        // The slope is not believable: the letters would be lower than a quarter of the box.
        return *around;
    }
    let (left, right) = if rise > 0.0 {
        (a.y, a.y + rise)
    } else {
        (a.y - rise, a.y)
    };
    Quad(
        [
            [a.x, left],
            [c.x, right],
            [c.x, right + height],
            [a.x, left + height],
        ]
        .map(Point::from),
    )
}

/// An element that is not closed yet.
struct Open {
    name: String,
    role: Role,
    properties: Properties,
    text: String,
    words: Vec<Word>,
}

#[derive(Default)]
struct State {
    sheets: Vec<Sheet>,
    lines: Vec<Line>,
    path: Vec<Open>,
}

/// Reads a document.
pub(super) fn parse(text: &str) -> Result<Vec<Sheet>, ExchangeError> {
    let mut walk = Walk::new(text, true);
    let mut state = State::default();
    loop {
        match walk.next()? {
            Event::Start(start) => state.open(&mut walk, &start)?,
            Event::Empty(start) if !is_void(&start.local_name().as_ref().to_ascii_lowercase()) => {
                state.open(&mut walk, &start)?;
                state.close(&mut walk)?;
            }
            Event::End(end) => {
                let name = end.local_name().as_ref().to_ascii_lowercase();
                // What is still open inside ends with it; an end without a beginning is passed over.
                if let Some(at) = state.path.iter().rposition(|open| open.name == name) {
                    while state.path.len() > at {
                        state.close(&mut walk)?;
                    }
                }
            }
            Event::Text(text) => state.text(&text.html_content()),
            Event::CData(text) => state.text(&text.html_content()),
            Event::GeneralRef(reference) => {
                let text = walk.reference(&reference)?;
                state.text(&text);
            }
            Event::Eof => break,
            _ => {}
        }
    }
    while !state.path.is_empty() {
        state.close(&mut walk)?;
    }
    if !state.lines.is_empty() || state.sheets.is_empty() {
        // Lines outside any page.
        let lines = std::mem::take(&mut state.lines);
        state.sheets.push(Sheet {
            image: None,
            page: word::page(lines, None),
        });
    }
    Ok(state.sheets)
}

impl State {
    fn text(&mut self, text: &str) {
        if let Some(open) = self.path.last_mut() {
            open.text.push_str(text);
        }
    }

    fn open(&mut self, walk: &mut Walk<'_>, start: &BytesStart<'_>) -> Result<(), ExchangeError> {
        let name = start.local_name().as_ref().to_ascii_lowercase();
        if is_void(&name) {
            return Ok(());
        }
        let class = walk.attribute(start, "class")?.unwrap_or_default();
        let role = Role::of(&name, &class);
        let mut properties = Properties::default();
        if role != Role::Other && role != Role::Hidden {
            let title = walk.attribute(start, "title")?.unwrap_or_default();
            properties = Properties::parse(&title);
        }
        if role == Role::Page {
            walk.page()?;
        }
        self.path.push(Open {
            name,
            role,
            properties,
            text: String::new(),
            words: Vec::new(),
        });
        walk.depth(self.path.len())
    }

    /// The reading direction of the innermost element that tells one.
    fn angle(&self) -> f32 {
        let told = self
            .path
            .iter()
            .rev()
            .find_map(|open| open.properties.angle);
        told.unwrap_or(0.0)
    }

    fn close(&mut self, walk: &mut Walk<'_>) -> Result<(), ExchangeError> {
        let angle = self.angle();
        let Some(open) = self.path.pop() else {
            return Ok(());
        };
        match open.role {
            Role::Hidden => {}
            Role::Other => {
                if let Some(around) = self.path.last_mut() {
                    around.text.push_str(&open.text);
                    around.words.extend(open.words);
                }
            }
            Role::Word => {
                let word = Word {
                    text: tidy(&open.text),
                    confidence: open.properties.confidence,
                    quad: open.properties.quad(angle),
                };
                match self.path.last_mut() {
                    Some(around) if around.role != Role::Page => around.words.push(word),
                    _ => self.line(walk, vec![word], None, angle)?,
                }
            }
            Role::Line => {
                let quad = open.properties.quad(angle);
                let mut words = open.words;
                if words.iter().all(|w| w.text.is_empty()) {
                    let alone = |text: &str| Word {
                        text: text.to_owned(),
                        confidence: open.properties.confidence,
                        quad: None,
                    };
                    words = tidy(&open.text).split(' ').map(alone).collect();
                }
                self.line(walk, words, quad, angle)?;
            }
            Role::Page => {
                // Words that stand in no line.
                for word in open.words {
                    self.line(walk, vec![word], None, angle)?;
                }
                let size = open.properties.bbox.map(|quad| {
                    let [_, _, c, _] = quad.0;
                    (c.x.max(1.0) as u32, c.y.max(1.0) as u32)
                });
                let lines = std::mem::take(&mut self.lines);
                self.sheets.push(Sheet {
                    image: open.properties.image,
                    page: word::page(lines, size),
                });
            }
        }
        Ok(())
    }

    fn line(
        &mut self,
        walk: &mut Walk<'_>,
        mut words: Vec<Word>,
        quad: Option<Quad>,
        angle: f32,
    ) -> Result<(), ExchangeError> {
        words.retain(|word| !word.text.is_empty());
        walk.words(words.iter().map(|w| w.text.as_str()))?;
        let Some(first) = words.first() else {
            return Ok(());
        };
        match word::line(&words, quad, angle) {
            Some(line) => self.lines.push(line),
            None => {
                return Err(ExchangeError::NoPlace {
                    line: walk.line(),
                    text: first.text.chars().take(40).collect(),
                });
            }
        }
        Ok(())
    }
}
