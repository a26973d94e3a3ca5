//! Where the pieces of the sheet stand on its pages. Lengths are points, 1/72 inch; y runs down.

use super::{Block, Cell, Tone};
use ab_glyph::{Font, FontRef};

/// US letter.
pub(super) const PAGE: (f32, f32) = (612.0, 792.0);
const MARGIN: f32 = 48.0;
const TEXT: f32 = 9.0;
const SMALL: f32 = 7.5;
const HEADING: f32 = 11.5;
const TITLE: f32 = 16.0;
/// Line height over font size.
const LEADING: f32 = 1.35;
/// Between the columns of a table.
const GUTTER: f32 = 6.0;
/// Above and below the text of a row.
const ROW_AIR: f32 = 1.2;
/// What must stay together at the foot of a page: a heading and some lines below it.
const TOGETHER: f32 = 6.0 * TEXT * LEADING;
/// Most height of the photo.
const PHOTO_HEIGHT: f32 = 190.0;

/// Something that is drawn.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Item {
    /// A line of text on its baseline.
    Text { size: f32, tone: Tone, text: String },
    /// A rule to the right margin, of this thickness.
    Rule { width: f32, thickness: f32 },
    /// The photo, from its upper left corner.
    Photo { width: f32, height: f32 },
}

/// An item and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Placed {
    pub(super) x: f32,
    pub(super) y: f32,
    pub(super) item: Item,
}

/// The pages of a sheet. `photo` is the size of its picture in pixels.
pub(super) fn pages(
    blocks: &[Block],
    font: &FontRef<'_>,
    photo: Option<(u32, u32)>,
) -> Vec<Vec<Placed>> {
    let mut layout = Layout {
        font,
        pages: vec![Vec::new()],
        y: MARGIN,
    };
    for block in blocks {
        layout.place(block, photo);
    }
    layout.number();
    layout.pages
}

struct Layout<'a> {
    font: &'a FontRef<'a>,
    pages: Vec<Vec<Placed>>,
    y: f32,
}

impl Layout<'_> {
    fn place(&mut self, block: &Block, photo: Option<(u32, u32)>) {
        let right = PAGE.0 - MARGIN;
        match block {
            Block::Title(text) => self.paragraph(MARGIN, right, TITLE, Tone::Plain, text),
            Block::Heading(text) => {
                self.room(HEADING * LEADING + TOGETHER);
                self.y += 8.0;
                self.paragraph(MARGIN, right, HEADING, Tone::Strong, text);
                self.rule(0.8);
                self.y += 3.0;
            }
            Block::Candidate { name, outcome } => {
                self.room(HEADING * LEADING + TOGETHER);
                self.y += 7.0;
                let top = self.y;
                self.paragraph(MARGIN, right, HEADING, Tone::Strong, name);
                let width = self.width(&outcome.text, HEADING);
                let fits = self.width(name, HEADING) + width + GUTTER < right - MARGIN;
                if fits {
                    self.y = top;
                }
                self.paragraph(
                    right - width - 2.0,
                    right,
                    HEADING,
                    outcome.tone,
                    &outcome.text,
                );
            }
            Block::Photo => {
                let Some((w, h)) = photo else { return };
                let scale = (PHOTO_HEIGHT / h as f32).min((right - MARGIN) / w as f32);
                let (width, height) = (w as f32 * scale, h as f32 * scale);
                self.room(height);
                self.y += 4.0;
                self.draw(MARGIN, self.y, Item::Photo { width, height });
                self.y += height + 4.0;
            }
            Block::Text(text) => self.paragraph(MARGIN, right, TEXT, Tone::Plain, text),
            Block::Alert(text) => self.paragraph(MARGIN, right, TEXT, Tone::Open, text),
            Block::Table { widths, rows } => {
                self.y += 2.0;
                for row in rows {
                    self.row(widths, row);
                }
                self.y += 2.0;
            }
        }
    }

    /// A row of cells, each wrapped in its column. It stays on one page, unless it is longer than a page.
    fn row(&mut self, widths: &[f32], row: &[Cell]) {
        let whole = PAGE.0 - 2.0 * MARGIN;
        let mut left = MARGIN;
        let mut columns = Vec::new();
        for (share, cell) in widths.iter().zip(row) {
            let lines = self.wrap(&self.drawable(&cell.text), share * whole - GUTTER, SMALL);
            columns.push((left, cell.tone, lines));
            left += share * whole;
        }
        let height = SMALL * LEADING;
        let most = columns
            .iter()
            .map(|(_, _, lines)| lines.len())
            .max()
            .unwrap_or(0);
        let all = most as f32 * height + 2.0 * ROW_AIR;
        if all < PAGE.1 / 2.0 {
            self.room(all);
        }
        self.y += ROW_AIR;
        for i in 0..most {
            self.room(height);
            for (x, tone, lines) in &columns {
                if let Some(text) = lines.get(i).filter(|l| !l.is_empty()) {
                    let item = Item::Text {
                        size: SMALL,
                        tone: *tone,
                        text: text.clone(),
                    };
                    self.draw(*x, self.y + SMALL, item);
                }
            }
            self.y += height;
        }
        self.y += ROW_AIR;
        self.rule(0.25);
    }

    fn rule(&mut self, thickness: f32) {
        let width = PAGE.0 - 2.0 * MARGIN;
        self.draw(MARGIN, self.y, Item::Rule { width, thickness });
    }

    fn paragraph(&mut self, left: f32, right: f32, size: f32, tone: Tone, text: &str) {
        for line in self.wrap(&self.drawable(text), right - left, size) {
            self.room(size * LEADING);
            let item = Item::Text {
                size,
                tone,
                text: line,
            };
            self.draw(left, self.y + size, item);
            self.y += size * LEADING;
        }
    }

    /// Starts a page unless `height` is left on this one.
    fn room(&mut self, height: f32) {
        if self.y + height > PAGE.1 - MARGIN - 2.0 * SMALL {
            self.pages.push(Vec::new());
            self.y = MARGIN;
        }
    }

    fn draw(&mut self, x: f32, y: f32, item: Item) {
        if let Some(page) = self.pages.last_mut() {
            page.push(Placed { x, y, item });
        }
    }

    /// Puts the number and the standing note at the foot of every page.
    fn number(&mut self) {
        let count = self.pages.len();
        for (i, page) in self.pages.iter_mut().enumerate() {
            let text = format!(
                "Page {} of {count}. This sheet advises; it does not know the installation. A licensed person decides under the local code.",
                i + 1
            );
            page.push(Placed {
                x: MARGIN,
                y: PAGE.1 - MARGIN + SMALL,
                item: Item::Text {
                    size: SMALL - 1.0,
                    tone: Tone::Plain,
                    text,
                },
            });
        }
    }

    /// Characters that the font does not have become question marks, so that nothing vanishes unseen.
    fn drawable(&self, text: &str) -> String {
        let known = |c: char| c == ' ' || self.font.glyph_id(c).0 != 0;
        text.chars()
            .map(|c| {
                if c.is_whitespace() {
                    ' '
                } else if known(c) {
                    c
                } else {
                    '?'
                }
            })
            .collect()
    }

    fn width(&self, text: &str, size: f32) -> f32 {
        let units = self.font.units_per_em().unwrap_or(1000.0);
        let advances = text
            .chars()
            .map(|c| self.font.h_advance_unscaled(self.font.glyph_id(c)));
        advances.sum::<f32>() * size / units
    }

    /// Breaks text into lines, between words where it can.
    fn wrap(&self, text: &str, width: f32, size: f32) -> Vec<String> {
        let mut lines = vec![String::new()];
        for word in text.split(' ').filter(|w| !w.is_empty()) {
            let fits =
                |line: &str, word: &str| self.width(&format!("{line} {word}"), size) <= width;
            match lines.last_mut() {
                Some(line) if line.is_empty() => line.push_str(word),
                Some(line) if fits(line, word) => {
                    line.push(' ');
                    line.push_str(word);
                }
                _ => lines.push(word.to_owned()),
            }
            // A word wider than the line is broken where it must.
            while let Some(line) = lines
                .last()
                .filter(|l| self.width(l, size) > width && l.chars().count() > 1)
            {
                let mut head = String::new();
                for c in line.chars() {
                    if !head.is_empty() && self.width(&format!("{head}{c}"), size) > width {
                        break;
                    }
                    head.push(c);
                }
                let tail = line[head.len()..].to_owned();
                lines.pop();
                lines.extend([head, tail]);
            }
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::pdf::FONT;

    fn texts(pages: &[Vec<Placed>]) -> Vec<&str> {
        let items = pages.iter().flatten();
        items
            .filter_map(|p| match &p.item {
                Item::Text { text, .. } => Some(text.as_str()),
                _ => None,
            })
            .collect()
    }

    #[test]
    fn everything_stays_on_its_page() {
        let font = FontRef::try_from_slice(FONT).unwrap();
        let long = "word ".repeat(900);
        let unbroken = "W".repeat(400);
        let blocks = [
            Block::Title("Title".to_owned()),
            Block::Photo,
            Block::Heading("Heading".to_owned()),
            Block::Text(long),
            Block::Table {
                widths: &[0.3, 0.7],
                rows: vec![vec![Cell::plain("a name"), Cell::of(Tone::Faint, unbroken)]],
            },
            Block::Candidate {
                name: "A-1".to_owned(),
                outcome: Cell::of(Tone::Good, "FITS"),
            },
            Block::Alert("The end \u{4e2d} µ × °".to_owned()),
        ];
        let pages = pages(&blocks, &font, Some((400, 300)));
        assert!(pages.len() > 1);
        for placed in pages.iter().flatten() {
            let layout = Layout {
                font: &font,
                pages: Vec::new(),
                y: 0.0,
            };
            let (width, below) = match &placed.item {
                Item::Text { size, text, .. } => (layout.width(text, *size), 0.0),
                Item::Rule { width, .. } => (*width, 0.0),
                Item::Photo { width, height } => (*width, *height),
            };
            assert!(
                placed.x + width <= PAGE.0 - MARGIN + 1.0 && placed.y + below < PAGE.1,
                "{placed:?}"
            );
        }
        let all = texts(&pages).join(" ");
        assert_eq!(all.matches("word").count(), 900);
        assert_eq!(all.matches('W').count(), 400);
        assert!(all.contains("The end ? µ × °"), "{all}");
    }
}
