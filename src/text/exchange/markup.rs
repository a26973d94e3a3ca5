//! What both formats share: walking through markup within bounds, attributes, numbers, and what may be
//! written.

use quick_xml::XmlVersion;
use quick_xml::escape::resolve_xml_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::reader::Reader;

use super::{ExchangeError, Format};
use crate::photo::{Point, Quad};

/// Elements inside each other. Engines write about ten.
const DEEPEST: usize = 100;
/// Pages of a file.
const MOST_PAGES: usize = 10_000;
/// Words of a page. A dense nameplate has about 150, and whoever looks for labels compares them all.
const MOST_WORDS: usize = 3_000;
/// Characters of a file, and of a line.
const MOST_CHARS: usize = 500_000;
const LONGEST: usize = 2_000;

/// A walk through a document with its bounds.
pub(super) struct Walk<'a> {
    text: &'a str,
    reader: Reader<&'a [u8]>,
    pages: usize,
    words: usize,
    chars: usize,
}

impl<'a> Walk<'a> {
    /// Starts at the beginning. `html` takes what browsers take: end tags that are missing or too many,
    /// and lone ampersands.
    pub fn new(text: &'a str, html: bool) -> Walk<'a> {
        let mut reader = Reader::from_str(text);
        let config = reader.config_mut();
        config.expand_empty_elements = !html;
        config.check_end_names = !html;
        config.allow_unmatched_ends = html;
        config.allow_dangling_amp = html;
        Walk {
            text,
            reader,
            pages: 0,
            words: 0,
            chars: 0,
        }
    }

    /// The next piece of markup or text.
    pub fn next(&mut self) -> Result<Event<'a>, ExchangeError> {
        self.reader.read_event().map_err(|e| ExchangeError::Markup {
            line: line_at(self.text, self.reader.error_position()),
            detail: e.to_string(),
        })
    }

    /// The line of the file at which the walk stands, from 1.
    pub fn line(&self) -> usize {
        line_at(self.text, self.reader.buffer_position())
    }

    fn bounded(&self, count: usize, most: usize, what: &'static str) -> Result<(), ExchangeError> {
        if count <= most {
            return Ok(());
        }
        Err(ExchangeError::TooMany {
            line: self.line(),
            what,
            most,
        })
    }

    /// Refuses what lies deeper than any engine writes.
    pub fn depth(&self, depth: usize) -> Result<(), ExchangeError> {
        self.bounded(depth, DEEPEST, "elements inside each other")
    }

    /// Counts a page.
    pub fn page(&mut self) -> Result<(), ExchangeError> {
        self.pages += 1;
        self.words = 0;
        self.bounded(self.pages, MOST_PAGES, "pages")
    }

    /// Counts the words of a line.
    pub fn words<'t>(
        &mut self,
        texts: impl IntoIterator<Item = &'t str>,
    ) -> Result<(), ExchangeError> {
        let mut line = 0;
        for text in texts {
            self.words += 1;
            line += text.chars().count();
        }
        self.chars += line;
        self.bounded(self.words, MOST_WORDS, "words on a page")?;
        self.bounded(line, LONGEST, "characters in a line")?;
        self.bounded(self.chars, MOST_CHARS, "characters")
    }

    /// The value of an attribute; `None` where the element has none of that name, or a broken one.
    pub fn attribute(
        &self,
        start: &BytesStart<'_>,
        name: &str,
    ) -> Result<Option<String>, ExchangeError> {
        let found = start
            .html_attributes()
            .with_checks(false)
            .flatten()
            .find(|a| a.key.as_ref().eq_ignore_ascii_case(name));
        let Some(attribute) = found else {
            return Ok(None);
        };
        let mut unknown = None;
        // Nothing that stands for something else is expanded, so one level is enough.
        let value = attribute.normalized_value_with(XmlVersion::Implicit1_0, 1, |entity| {
            let known = named(entity);
            if known.is_none() {
                unknown = Some(entity.to_owned());
            }
            known
        });
        match (value, unknown) {
            (_, Some(name)) => Err(ExchangeError::Entity {
                line: self.line(),
                name,
            }),
            (Ok(value), None) => Ok(Some(value.into_owned())),
            (Err(e), None) => Err(ExchangeError::Markup {
                line: self.line(),
                detail: e.to_string(),
            }),
        }
    }

    /// The character that a reference in text stands for.
    pub fn reference(&self, reference: &BytesRef<'_>) -> Result<String, ExchangeError> {
        if let Some(text) = named(reference) {
            return Ok(text.to_owned());
        }
        match reference.resolve_char_ref() {
            Ok(Some(ch)) => Ok(ch.to_string()),
            Ok(None) => Err(ExchangeError::Entity {
                line: self.line(),
                name: reference.chars().take(40).collect(),
            }),
            Err(e) => Err(ExchangeError::Markup {
                line: self.line(),
                detail: e.to_string(),
            }),
        }
    }
}

/// The entities of XML, and those of HTML that engines write.
fn named(entity: &str) -> Option<&'static str> {
    match entity {
        "nbsp" => Some(" "),
        "deg" => Some("°"),
        "micro" => Some("µ"),
        "shy" => Some("-"),
        _ => resolve_xml_entity(entity),
    }
}

fn line_at(text: &str, offset: u64) -> usize {
    let offset = usize::try_from(offset)
        .unwrap_or(usize::MAX)
        .min(text.len());
    1 + text.as_bytes()[..offset]
        .iter()
        .filter(|b| **b == b'\n')
        .count()
}

/// Which of the two formats a document is in, by its first element.
pub(super) fn format(text: &str) -> Result<Format, ExchangeError> {
    let mut walk = Walk::new(text, true);
    loop {
        match walk.next() {
            Ok(Event::Start(start) | Event::Empty(start)) => {
                let name = start.local_name();
                return match name.as_ref() {
                    "alto" => Ok(Format::Alto),
                    _ if text.contains("ocr_") || text.contains("ocrx_") => Ok(Format::Hocr),
                    _ => Err(ExchangeError::Unknown),
                };
            }
            Ok(Event::Eof) | Err(_) => return Err(ExchangeError::Unknown),
            Ok(_) => {}
        }
    }
}

/// A number within what pixels can be.
pub(super) fn number(text: &str) -> Option<f32> {
    let number: f32 = text.trim().parse().ok()?;
    (number.abs() <= 1e6).then_some(number)
}

/// All numbers of a list, apart by blanks or commas; `None` where one is none.
pub(super) fn numbers(text: &str) -> Option<Vec<f32>> {
    text.split([' ', ',', '\t', '\n', '\r'])
        .filter(|part| !part.is_empty())
        .map(number)
        .collect()
}

/// The points of a list of coordinates.
pub(super) fn points(text: &str) -> Option<Vec<Point>> {
    let numbers = numbers(text)?;
    let points: Vec<Point> = numbers
        .chunks_exact(2)
        .map(|xy| Point { x: xy[0], y: xy[1] })
        .collect();
    (points.len() >= 3).then_some(points)
}

/// An upright box, at least one pixel wide and high.
pub(super) fn rectangle(left: f32, top: f32, right: f32, bottom: f32) -> Quad {
    let (left, right) = (left.min(right), left.max(right));
    let (top, bottom) = (top.min(bottom), top.max(bottom));
    let (right, bottom) = (right.max(left + 1.0), bottom.max(top + 1.0));
    Quad([[left, top], [right, top], [right, bottom], [left, bottom]].map(Point::from))
}

/// Whether a character may stand in an XML document (XML 1.0, production 2).
fn is_allowed(ch: char) -> bool {
    matches!(ch, '\t' | '\n' | '\u{20}'..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..)
}

/// The text without what XML cannot hold.
pub(super) fn allowed(text: &str) -> String {
    text.chars().filter(|&ch| is_allowed(ch)).collect()
}

/// A text as one piece of a line: every run of white space is one blank, none at the ends, no control
/// characters.
pub(super) fn tidy(text: &str) -> String {
    let visible: String = text
        .chars()
        .filter(|ch| ch.is_whitespace() || !ch.is_control())
        .collect();
    visible.split_whitespace().collect::<Vec<_>>().join(" ")
}
