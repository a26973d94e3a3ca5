//! Writing ALTO XML, version 4 (schema of the Library of Congress, namespace `ns-v4`).

use std::io::{self, Write};

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use quick_xml::writer::ElementWriter;

use super::Sheet;
use super::markup::allowed;
use super::word::{self, Word};
use crate::photo::Quad;
use crate::text::{Line, Page};

const NAMESPACE: &str = "http://www.loc.gov/standards/alto/ns-v4#";
const SCHEMA: &str =
    "http://www.loc.gov/standards/alto/ns-v4# http://www.loc.gov/standards/alto/v4/alto-4-4.xsd";

type Out<'a, W> = Writer<&'a mut W>;

/// Writes one document.
pub(super) fn write(sheets: &[Sheet], out: &mut impl Write) -> io::Result<()> {
    let mut xml = Writer::new_with_indent(&mut *out, b' ', 1);
    xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    xml.create_element("alto")
        .with_attributes([
            ("xmlns", NAMESPACE),
            ("xmlns:xsi", "http://www.w3.org/2001/XMLSchema-instance"),
            ("xsi:schemaLocation", SCHEMA),
            ("SCHEMAVERSION", "4.4"),
        ])
        .write_inner_content(|xml| {
            description(sheets, xml)?;
            xml.create_element("Layout").write_inner_content(|xml| {
                for (at, sheet) in sheets.iter().enumerate() {
                    page(&sheet.page, at + 1, xml)?;
                }
                Ok(())
            })?;
            Ok(())
        })?;
    writeln!(out)
}

fn text<W: Write>(xml: &mut Out<'_, W>, name: &str, text: &str) -> io::Result<()> {
    xml.create_element(name)
        .write_text_content(BytesText::new(text))?;
    Ok(())
}

fn description<W: Write>(sheets: &[Sheet], xml: &mut Out<'_, W>) -> io::Result<()> {
    xml.create_element("Description")
        .write_inner_content(|xml| {
            text(xml, "MeasurementUnit", "pixel")?;
            xml.create_element("sourceImageInformation")
                .write_inner_content(|xml| match sheets {
                    [
                        Sheet {
                            image: Some(image), ..
                        },
                    ] => text(xml, "fileName", &allowed(image)),
                    _ => {
                        // A document has one file name; for several pages each has an identifier.
                        for (at, sheet) in sheets.iter().enumerate() {
                            let Some(image) = &sheet.image else { continue };
                            xml.create_element("fileIdentifier")
                                .with_attribute((
                                    "fileIdentifierLocation",
                                    page_id(at + 1).as_str(),
                                ))
                                .write_text_content(BytesText::new(&allowed(image)))?;
                        }
                        Ok(())
                    }
                })?;
            xml.create_element("Processing")
                .with_attribute(("ID", "processing_1"))
                .write_inner_content(|xml| {
                    text(xml, "processingCategory", "contentGeneration")?;
                    xml.create_element("processingSoftware")
                        .write_inner_content(|xml| {
                            text(xml, "softwareName", env!("CARGO_PKG_NAME"))?;
                            text(xml, "softwareVersion", env!("CARGO_PKG_VERSION"))
                        })?;
                    Ok(())
                })?;
            Ok(())
        })?;
    Ok(())
}

fn page_id(number: usize) -> String {
    format!("page_{number}")
}

fn page<W: Write>(page: &Page, number: usize, xml: &mut Out<'_, W>) -> io::Result<()> {
    let (width, height) = (page.size.0.to_string(), page.size.1.to_string());
    xml.create_element("Page")
        .with_attributes([
            ("ID", page_id(number).as_str()),
            ("PHYSICAL_IMG_NR", number.to_string().as_str()),
            ("WIDTH", &width),
            ("HEIGHT", &height),
        ])
        .write_inner_content(|xml| {
            xml.create_element("PrintSpace")
                .with_attributes([
                    ("HPOS", "0"),
                    ("VPOS", "0"),
                    ("WIDTH", &width),
                    ("HEIGHT", &height),
                ])
                .write_inner_content(|xml| blocks(page, number, xml))?;
            Ok(())
        })?;
    Ok(())
}

/// Lines that follow each other and read in the same direction make a block, since the direction is told
/// by the block.
fn blocks<W: Write>(page: &Page, number: usize, xml: &mut Out<'_, W>) -> io::Result<()> {
    let lines: Vec<(&Line, Vec<Word>)> = page
        .lines
        .iter()
        .map(|line| (line, word::words(line)))
        .filter(|(_, words)| !words.is_empty())
        .collect();
    let mut at = 0;
    for (index, block) in lines
        .chunk_by(|a, b| rotation(a.0) == rotation(b.0))
        .enumerate()
    {
        let id = format!("block_{number}_{}", index + 1);
        let mut start = xml
            .create_element("TextBlock")
            .with_attribute(("ID", id.as_str()));
        if let Some(place) = Quad::around(block.iter().map(|(line, _)| &line.quad)) {
            start = boxed(start, &place, page);
        }
        let turn = rotation(block[0].0);
        if turn != 0 {
            start = start.with_attribute(("ROTATION", turn.to_string().as_str()));
        }
        start.write_inner_content(|xml| {
            for (line, words) in block {
                at += 1;
                text_line(line, words, &format!("line_{number}_{at}"), page, xml)?;
            }
            Ok(())
        })?;
    }
    Ok(())
}

/// Rotation of a line's text in whole degrees counter-clockwise, as ALTO counts.
fn rotation(line: &Line) -> i32 {
    if word::upright(&line.quad) {
        return 0;
    }
    -line.quad.angle().to_degrees().round() as i32
}

/// The element with the upright box of a place.
fn boxed<'a, W: Write>(
    element: ElementWriter<'a, W>,
    quad: &Quad,
    page: &Page,
) -> ElementWriter<'a, W> {
    let [left, top, right, bottom] = word::edges(quad, page);
    element.with_attributes([
        ("HPOS", decimal(left).as_str()),
        ("VPOS", &decimal(top)),
        ("WIDTH", &decimal(right - left)),
        ("HEIGHT", &decimal(bottom - top)),
    ])
}

/// A coordinate to a tenth of a pixel.
fn decimal(value: f32) -> String {
    format!("{}", (value * 10.0).round() / 10.0)
}

fn shape<W: Write>(quad: &Quad, xml: &mut Out<'_, W>) -> io::Result<()> {
    let points: Vec<String> = quad
        .0
        .iter()
        .map(|p| format!("{},{}", decimal(p.x), decimal(p.y)))
        .collect();
    xml.create_element("Shape").write_inner_content(|xml| {
        xml.create_element("Polygon")
            .with_attribute(("POINTS", points.join(" ").as_str()))
            .write_empty()?;
        Ok(())
    })?;
    Ok(())
}

fn text_line<W: Write>(
    line: &Line,
    words: &[Word],
    id: &str,
    page: &Page,
    xml: &mut Out<'_, W>,
) -> io::Result<()> {
    let turned = !word::upright(&line.quad);
    let start = xml.create_element("TextLine").with_attribute(("ID", id));
    boxed(start, &line.quad, page).write_inner_content(|xml| {
        if turned {
            shape(&line.quad, xml)?;
        }
        for (at, word) in words.iter().enumerate() {
            if at > 0 {
                xml.create_element("SP").write_empty()?;
            }
            let content = allowed(&word.text);
            let confidence = word.confidence.unwrap_or(1.0);
            let string = xml.create_element("String").with_attributes([
                ("ID", format!("{id}_{}", at + 1).as_str()),
                ("CONTENT", &content),
                ("WC", &format!("{confidence:.4}")),
            ]);
            let quad = word.quad.unwrap_or(line.quad);
            let string = boxed(string, &quad, page);
            if turned {
                string.write_inner_content(|xml| shape(&quad, xml))?;
            } else {
                string.write_empty()?;
            }
        }
        Ok(())
    })?;
    Ok(())
}
