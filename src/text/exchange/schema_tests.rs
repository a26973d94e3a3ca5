//! The ALTO that we write against the published schema.

use quick_xml::events::Event;

use super::tests::{example, written};
use super::{Format, Sheet};

/// Content models and required attributes of the elements that we write, from the schema of ALTO 4.4
/// (Library of Congress, `alto-4-4.xsd`): element, children in order, required attributes. A version
/// before 4.3 also requires the box of a `TextLine`, a `String` and a `TextBlock`, so they are here.
const SCHEMA: &[(&str, &[&str], &[&str])] = &[
    (
        "alto",
        &["Description", "Styles", "Tags", "ReadingOrder", "Layout"],
        &[],
    ),
    (
        "Description",
        &[
            "MeasurementUnit",
            "sourceImageInformation",
            "OCRProcessing",
            "Processing",
        ],
        &[],
    ),
    ("MeasurementUnit", &[], &[]),
    (
        "sourceImageInformation",
        &["fileName", "fileIdentifier", "documentIdentifier"],
        &[],
    ),
    ("fileName", &[], &[]),
    ("fileIdentifier", &[], &[]),
    (
        "Processing",
        &[
            "processingCategory",
            "processingDateTime",
            "processingAgency",
            "processingStepDescription",
            "processingStepSettings",
            "processingSoftware",
        ],
        &["ID"],
    ),
    ("processingCategory", &[], &[]),
    (
        "processingSoftware",
        &["softwareCreator", "softwareName", "softwareVersion"],
        &[],
    ),
    ("softwareName", &[], &[]),
    ("softwareVersion", &[], &[]),
    ("Layout", &["Page"], &[]),
    (
        "Page",
        &[
            "TopMargin",
            "LeftMargin",
            "RightMargin",
            "BottomMargin",
            "PrintSpace",
        ],
        &["ID", "PHYSICAL_IMG_NR"],
    ),
    (
        "PrintSpace",
        &["Shape", "TextBlock"],
        &["HPOS", "VPOS", "WIDTH", "HEIGHT"],
    ),
    (
        "TextBlock",
        &["Shape", "TextLine"],
        &["ID", "HPOS", "VPOS", "WIDTH", "HEIGHT"],
    ),
    (
        "TextLine",
        &["Shape", "String|SP", "HYP"],
        &["ID", "HPOS", "VPOS", "WIDTH", "HEIGHT"],
    ),
    (
        "String",
        &["Shape", "ALTERNATIVE", "Glyph"],
        &["CONTENT", "HPOS", "VPOS", "WIDTH", "HEIGHT"],
    ),
    ("SP", &[], &[]),
    ("Shape", &["Polygon|Ellipse|Circle"], &[]),
    ("Polygon", &[], &["POINTS"]),
];

#[test]
fn the_alto_we_write_is_what_the_schema_demands() {
    let text = written(Format::Alto, &[example(), Sheet::default()]);
    assert!(text.contains("xmlns=\"http://www.loc.gov/standards/alto/ns-v4#\""));
    let mut reader = quick_xml::Reader::from_str(&text);
    reader.config_mut().expand_empty_elements = true;
    let mut ids = std::collections::HashSet::new();
    // Name, place in the content model, last child.
    let mut path: Vec<(String, usize, String)> = Vec::new();
    let model = |name: &str| {
        SCHEMA
            .iter()
            .find(|(n, ..)| *n == name)
            .expect("a known element")
    };
    loop {
        match reader.read_event().unwrap() {
            Event::Start(start) => {
                let name = start.name().as_ref().to_owned();
                if let Some((parent, place, last)) = path.last_mut() {
                    let children = model(parent).1;
                    let at = children
                        .iter()
                        .position(|c| c.split('|').any(|c| c == name));
                    let at = at.unwrap_or_else(|| panic!("{name} in {parent}"));
                    assert!(at >= *place, "{name} too late in {parent}");
                    assert!(name != "SP" || last == "String", "SP after {last}");
                    (*place, *last) = (at, name.clone());
                }
                for required in model(&name).2 {
                    let value = start.try_get_attribute(required).unwrap();
                    let value = value.unwrap_or_else(|| panic!("{name} without {required}"));
                    let value = value.value.into_owned();
                    match *required {
                        "ID" => {
                            // xsd:ID: a name without a colon, and only once.
                            assert!(
                                value.starts_with(|c: char| c.is_ascii_alphabetic()),
                                "{value}"
                            );
                            assert!(ids.insert(value.clone()), "{value} twice");
                        }
                        "HPOS" | "VPOS" | "WIDTH" | "HEIGHT" => {
                            assert!(value.parse::<f32>().unwrap() >= 0.0, "{value}");
                        }
                        _ => {}
                    }
                }
                if let Some(wc) = start.try_get_attribute("WC").unwrap() {
                    let wc: f32 = wc.value.parse().unwrap();
                    assert!((0.0..=1.0).contains(&wc));
                }
                path.push((name, 0, String::new()));
            }
            Event::End(_) => {
                let (name, _, last) = path.pop().unwrap();
                let leaf = model(&name).1.is_empty();
                let optional = ["PrintSpace", "Page", "String"].contains(&name.as_str());
                assert!(leaf || optional || !last.is_empty(), "{name} is empty");
            }
            Event::Eof => break,
            _ => {}
        }
    }
    assert!(path.is_empty());
}
