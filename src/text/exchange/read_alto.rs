//! Reading ALTO XML of any version and engine: only the names of the elements count.

use quick_xml::events::{BytesStart, Event};

use super::markup::{Walk, number, points, rectangle, tidy};
use super::word::{self, Word};
use super::{ExchangeError, Sheet};
use crate::photo::Quad;
use crate::text::Line;

/// What is known so far of the page, line or word that the walk is in.
#[derive(Default)]
struct State {
    sheets: Vec<Sheet>,
    /// Names of the source pictures: by the identifier of the page, or of the only one.
    images: Vec<(String, String)>,
    page: Option<OpenPage>,
    /// Reading directions of the blocks around, radians clockwise.
    angles: Vec<f32>,
    line: Option<OpenLine>,
}

/// A page that is not at its end yet.
struct OpenPage {
    id: String,
    size: Option<(u32, u32)>,
    lines: Vec<Line>,
}

/// A line that is not at its end yet.
#[derive(Default)]
struct OpenLine {
    quad: Option<Quad>,
    words: Vec<Word>,
    /// Whether the walk is inside a word, so that a shape is the word's.
    inside: bool,
}

/// Reads a document.
pub(super) fn parse(text: &str) -> Result<Vec<Sheet>, ExchangeError> {
    let mut walk = Walk::new(text, false);
    let mut state = State::default();
    let mut path: Vec<String> = Vec::new();
    let mut name = String::new();
    let mut location = String::new();
    loop {
        match walk.next()? {
            Event::Start(start) => {
                path.push(start.local_name().as_ref().to_owned());
                walk.depth(path.len())?;
                if start.local_name().as_ref() == "fileIdentifier" {
                    let place = walk.attribute(&start, "fileIdentifierLocation")?;
                    location = place.unwrap_or_default();
                }
                name.clear();
                state.open(&mut walk, &start)?;
            }
            Event::End(_) => {
                match path.pop().as_deref() {
                    Some("fileName") => state.images.push((String::new(), tidy(&name))),
                    Some("fileIdentifier") => {
                        state.images.push((location.clone(), tidy(&name)));
                    }
                    Some(element) => state.close(&mut walk, element)?,
                    None => {}
                }
                name.clear();
            }
            Event::Text(text) if names_image(&path) => name.push_str(&text.xml10_content()),
            Event::GeneralRef(reference) => {
                let text = walk.reference(&reference)?;
                if names_image(&path) {
                    name.push_str(&text);
                }
            }
            Event::Eof if path.is_empty() => return Ok(state.named()),
            Event::Eof => {
                return Err(ExchangeError::Markup {
                    line: walk.line(),
                    detail: format!("it ends inside <{}>", path.join("><")),
                });
            }
            _ => {}
        }
    }
}

fn names_image(path: &[String]) -> bool {
    matches!(
        path.last().map(String::as_str),
        Some("fileName" | "fileIdentifier")
    )
}

impl State {
    fn angle(&self) -> f32 {
        self.angles.last().copied().unwrap_or(0.0)
    }

    fn open(&mut self, walk: &mut Walk<'_>, start: &BytesStart<'_>) -> Result<(), ExchangeError> {
        match start.local_name().as_ref() {
            "Page" => {
                walk.page()?;
                let id = walk.attribute(start, "ID")?.unwrap_or_default();
                let side = |text: Option<String>| text.as_deref().and_then(number);
                let width = side(walk.attribute(start, "WIDTH")?);
                let height = side(walk.attribute(start, "HEIGHT")?);
                let size = width.zip(height).map(|(w, h)| (w as u32, h as u32));
                let turn = walk.attribute(start, "ROTATION")?;
                self.angles = vec![turned(turn).unwrap_or(0.0)];
                let size = size.filter(|s| s.0 > 0 && s.1 > 0);
                self.page = Some(OpenPage {
                    id,
                    size,
                    lines: Vec::new(),
                });
            }
            "TextBlock" | "ComposedBlock" => {
                let turn = walk.attribute(start, "ROTATION")?;
                self.angles.push(turned(turn).unwrap_or(self.angle()));
            }
            "TextLine" => {
                let turn = turned(walk.attribute(start, "ROTATION")?);
                self.angles.push(turn.unwrap_or(self.angle()));
                self.line = Some(OpenLine {
                    quad: self.place(walk, start)?,
                    ..OpenLine::default()
                });
            }
            "String" => {
                let word = Word {
                    text: tidy(&walk.attribute(start, "CONTENT")?.unwrap_or_default()),
                    confidence: walk
                        .attribute(start, "WC")?
                        .as_deref()
                        .and_then(number)
                        .map(|wc| wc.clamp(0.0, 1.0)),
                    quad: self.place(walk, start)?,
                };
                if let Some(line) = &mut self.line {
                    line.words.push(word);
                    line.inside = true;
                }
            }
            "HYP" => {
                let content = tidy(&walk.attribute(start, "CONTENT")?.unwrap_or_default());
                if let Some(last) = self.line.as_mut().and_then(|l| l.words.last_mut()) {
                    last.text.push_str(&content);
                }
            }
            "Polygon" => {
                let listed = walk.attribute(start, "POINTS")?;
                let angle = self.angle();
                let quad = listed
                    .as_deref()
                    .and_then(points)
                    .and_then(|points| word::of_polygon(&points, angle));
                if let (Some(line), Some(quad)) = (&mut self.line, quad) {
                    match line.words.last_mut() {
                        Some(word) if line.inside => word.quad = Some(quad),
                        _ => line.quad = Some(quad),
                    }
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn close(&mut self, walk: &mut Walk<'_>, element: &str) -> Result<(), ExchangeError> {
        match element {
            "String" => {
                if let Some(line) = &mut self.line {
                    line.inside = false;
                }
            }
            "TextLine" => {
                if let Some(open) = self.line.take() {
                    walk.words(open.words.iter().map(|w| w.text.as_str()))?;
                    self.end_line(open, walk.line())?;
                }
                self.angles.pop();
            }
            "TextBlock" | "ComposedBlock" => {
                self.angles.pop();
            }
            "Page" => {
                if let Some(page) = self.page.take() {
                    self.sheets.push(Sheet {
                        image: Some(page.id),
                        page: word::page(page.lines, page.size),
                    });
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn end_line(&mut self, open: OpenLine, at: usize) -> Result<(), ExchangeError> {
        let words: Vec<Word> = open
            .words
            .into_iter()
            .filter(|w| !w.text.is_empty())
            .collect();
        if words.is_empty() {
            return Ok(());
        }
        let line =
            word::line(&words, open.quad, self.angle()).ok_or_else(|| ExchangeError::NoPlace {
                line: at,
                text: words[0].text.chars().take(40).collect(),
            })?;
        if let Some(page) = &mut self.page {
            page.lines.push(line);
        }
        Ok(())
    }

    /// The upright box of an element.
    fn place(
        &self,
        walk: &Walk<'_>,
        start: &BytesStart<'_>,
    ) -> Result<Option<Quad>, ExchangeError> {
        let mut edges = [0.0; 4];
        for (edge, name) in edges.iter_mut().zip(["HPOS", "VPOS", "WIDTH", "HEIGHT"]) {
            match walk.attribute(start, name)?.as_deref().and_then(number) {
                Some(value) => *edge = value,
                None => return Ok(None),
            }
        }
        let [left, top, width, height] = edges;
        let quad = rectangle(left, top, left + width, top + height);
        Ok(word::of_polygon(&quad.0, self.angle()))
    }

    /// The sheets with the names of their pictures in place of the pages' identifiers.
    fn named(self) -> Vec<Sheet> {
        let State {
            mut sheets, images, ..
        } = self;
        let only = sheets.len() == 1;
        for sheet in &mut sheets {
            let id = sheet.image.take();
            let own = images
                .iter()
                .find(|(at, _)| Some(at) == id.as_ref() && !at.is_empty());
            let shared = images.first().filter(|_| only);
            sheet.image = own.or(shared).map(|(_, name)| name.clone());
        }
        sheets
    }
}

/// ALTO's degrees counter-clockwise as radians clockwise.
fn turned(rotation: Option<String>) -> Option<f32> {
    Some(-number(rotation.as_deref()?)?.to_radians())
}
