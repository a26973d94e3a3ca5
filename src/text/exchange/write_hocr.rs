//! Writing hOCR, version 1.2: HTML whose elements carry a class (`ocr_page`, `ocr_line`, `ocrx_word`) and
//! whose `title` carries properties (`bbox`, `poly`, `textangle`, `x_wconf`).

use std::io::{self, Write};

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use quick_xml::writer::ElementWriter;

use super::Sheet;
use super::markup::allowed;
use super::word;
use crate::photo::Quad;
use crate::text::{Line, Page};

type Out<'a, W> = Writer<&'a mut W>;

const CAPABILITIES: &str = "ocr_page ocr_carea ocr_line ocrx_word ocrp_poly ocrp_wconf";

/// Writes one document.
pub(super) fn write(sheets: &[Sheet], out: &mut impl Write) -> io::Result<()> {
    let mut html = Writer::new_with_indent(&mut *out, b' ', 1);
    html.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    html.write_event(Event::DocType(BytesText::new("html")))?;
    html.create_element("html")
        .with_attribute(("xmlns", "http://www.w3.org/1999/xhtml"))
        .write_inner_content(|html| {
            html.create_element("head").write_inner_content(head)?;
            html.create_element("body").write_inner_content(|html| {
                for (at, sheet) in sheets.iter().enumerate() {
                    page(sheet, at + 1, html)?;
                }
                Ok(())
            })?;
            Ok(())
        })?;
    writeln!(out)
}

fn head<W: Write>(html: &mut Out<'_, W>) -> io::Result<()> {
    html.create_element("title")
        .write_text_content(BytesText::new("Nameplates"))?;
    let system = concat!(env!("CARGO_PKG_NAME"), " ", env!("CARGO_PKG_VERSION"));
    for (name, content) in [("ocr-system", system), ("ocr-capabilities", CAPABILITIES)] {
        html.create_element("meta")
            .with_attributes([("name", name), ("content", content)])
            .write_empty()?;
    }
    Ok(())
}

fn page<W: Write>(sheet: &Sheet, number: usize, html: &mut Out<'_, W>) -> io::Result<()> {
    let Sheet { image, page } = sheet;
    let (width, height) = page.size;
    let mut title = String::new();
    if let Some(image) = image {
        // A property ends at a semicolon and a name at its quotes.
        let name = allowed(image).replace('"', "'").replace(['\n', '\t'], " ");
        title = format!("image \"{name}\"; ");
    }
    title += &format!("bbox 0 0 {width} {height}; ppageno {}", number - 1);
    let id = format!("page_{number}");
    element("div", "ocr_page", &id, &title, html).write_inner_content(|html| {
        let Some(area) = Quad::around(page.lines.iter().map(|l| &l.quad)) else {
            return Ok(());
        };
        let id = format!("area_{number}");
        let title = bbox(&area, page);
        element("div", "ocr_carea", &id, &title, html).write_inner_content(|html| {
            for (at, line) in page.lines.iter().enumerate() {
                text_line(line, &format!("{number}_{}", at + 1), page, html)?;
            }
            Ok(())
        })?;
        Ok(())
    })?;
    Ok(())
}

fn element<'a, 'w, W: Write>(
    name: &'static str,
    class: &str,
    id: &str,
    title: &str,
    html: &'a mut Out<'w, W>,
) -> ElementWriter<'a, &'w mut W> {
    html.create_element(name)
        .with_attributes([("class", class), ("id", id), ("title", title)])
}

fn bbox(quad: &Quad, page: &Page) -> String {
    let [left, top, right, bottom] = word::edges(quad, page);
    let (left, top) = (left.floor(), top.floor());
    format!("bbox {left} {top} {} {}", right.ceil(), bottom.ceil())
}

fn poly(quad: &Quad) -> String {
    let points: Vec<String> = quad
        .0
        .iter()
        .map(|p| format!("{} {}", p.x.round() as i64, p.y.round() as i64))
        .collect();
    format!("; poly {}", points.join(" "))
}

fn text_line<W: Write>(
    line: &Line,
    id: &str,
    page: &Page,
    html: &mut Out<'_, W>,
) -> io::Result<()> {
    let words = word::words(line);
    if words.is_empty() {
        return Ok(());
    }
    let turned = !word::upright(&line.quad);
    let mut title = bbox(&line.quad, page);
    if turned {
        // Degrees counter-clockwise, as hOCR counts.
        let angle = -line.quad.angle().to_degrees();
        title += &format!(
            "; textangle {}{}",
            (angle * 10.0).round() / 10.0,
            poly(&line.quad)
        );
    }
    element("span", "ocr_line", &format!("line_{id}"), &title, html).write_inner_content(
        |html| {
            for (at, word) in words.iter().enumerate() {
                let quad = word.quad.unwrap_or(line.quad);
                let percent = 100.0 * word.confidence.unwrap_or(1.0);
                let mut title = bbox(&quad, page);
                if turned {
                    title += &poly(&quad);
                }
                title += &format!("; x_wconf {}", (percent * 100.0).round() / 100.0);
                let id = format!("word_{id}_{}", at + 1);
                element("span", "ocrx_word", &id, &title, html)
                    .write_text_content(BytesText::new(&allowed(&word.text)))?;
            }
            Ok(())
        },
    )?;
    Ok(())
}
