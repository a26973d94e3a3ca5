use proptest::prelude::*;

use super::word::Word;
use super::*;
use crate::photo::{Point, Quad};
use crate::text::Line;

fn quad(corners: [[f32; 2]; 4]) -> Quad {
    Quad(corners.map(Point::from))
}

fn upright(left: f32, top: f32, width: f32, height: f32) -> Quad {
    super::markup::rectangle(left, top, left + width, top + height)
}

fn word(text: &str, confidence: f32, quad: Quad) -> Word {
    Word {
        text: text.to_owned(),
        confidence: Some(confidence),
        quad: Some(quad),
    }
}

fn sheet(image: &str, lines: Vec<Line>) -> Sheet {
    Sheet {
        image: Some(image.to_owned()),
        page: word::page(lines, Some((800, 600))),
    }
}

pub(super) fn written(format: Format, sheets: &[Sheet]) -> String {
    let mut out = Vec::new();
    write(format, sheets, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

fn reread(format: Format, sheets: &[Sheet]) -> Vec<Sheet> {
    let text = written(format, sheets);
    parse(text.as_bytes()).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

const FORMATS: [Format; 2] = [Format::Alto, Format::Hocr];

/// Two words on a level line, and one that reads from below to above.
pub(super) fn example() -> Sheet {
    let level = word::line(
        &[
            word("1/2", 0.97, upright(100.0, 50.0, 60.0, 30.0)),
            word("HP<&>", 0.5, upright(190.0, 50.0, 100.0, 30.0)),
        ],
        None,
        0.0,
    );
    let up = quad([[700., 500.], [700., 300.], [740., 300.], [740., 500.]]);
    let up = word::line(&[word("TEFC", 0.9, up)], Some(up), up.angle());
    sheet("plate.jpg", vec![level.unwrap(), up.unwrap()])
}

#[test]
fn what_is_written_reads_the_same() {
    insta::assert_snapshot!("alto", stable(&written(Format::Alto, &[example()])));
    insta::assert_snapshot!("hocr", stable(&written(Format::Hocr, &[example()])));
    for format in FORMATS {
        let again = reread(format, &[example()]);
        assert_eq!(again.len(), 1);
        assert_eq!(again[0].image.as_deref(), Some("plate.jpg"), "{format:?}");
        assert_eq!(again[0].page.size, (800, 600));
        let lines = &again[0].page.lines;
        let texts: Vec<&str> = lines.iter().map(|l| l.text.as_str()).collect();
        assert_eq!(texts, ["1/2 HP<&>", "TEFC"], "{format:?}");
        // The turned line keeps its direction and its corners in reading order.
        for (corner, given) in lines[1].quad.0.iter().zip(example().page.lines[1].quad.0) {
            assert!(
                corner.distance(given) < 1.0,
                "{format:?} {:?}",
                lines[1].quad
            );
        }
    }
}

/// Without the version, which changes with every release.
fn stable(text: &str) -> String {
    text.replace(env!("CARGO_PKG_VERSION"), "VERSION")
}

#[test]
fn the_confidence_of_a_word_is_that_of_all_its_characters_together() {
    // ALTO 4 WC and hOCR 1.2 x_wconf are of the whole word.
    for format in FORMATS {
        let page = &reread(format, &[example()])[0].page;
        let words = word::words(&page.lines[0]);
        for (word, expected) in words.iter().zip([0.97, 0.5]) {
            let read = word.confidence.unwrap();
            assert!((read - expected).abs() < 2e-3, "{format:?} {word:?}");
            let whole = page.lines[0].lattice.slice(0.0, 0.4).score("1/2").exp();
            assert!((whole - 0.97).abs() < 2e-3, "{format:?} {whole}");
        }
    }
}

#[test]
fn several_photos_make_one_document_of_several_pages() {
    let empty = sheet("b & c.jpg", Vec::new());
    for format in FORMATS {
        let again = reread(format, &[example(), empty.clone(), example()]);
        let names: Vec<_> = again.iter().filter_map(|s| s.image.as_deref()).collect();
        assert_eq!(names, ["plate.jpg", "b & c.jpg", "plate.jpg"], "{format:?}");
        assert!(again[1].page.lines.is_empty());
        assert!(reread(format, &[]).iter().all(|s| s.page.lines.is_empty()));
    }
}

/// Reads `fixtures/lines/NAME`.
fn sample(name: &str) -> Sheet {
    let path = format!("{}/fixtures/lines/{name}", env!("CARGO_MANIFEST_DIR"));
    let sheets = parse(&std::fs::read(path).unwrap()).unwrap();
    let [sheet] = <[Sheet; 1]>::try_from(sheets).unwrap();
    sheet
}

#[test]
fn another_engines_files_are_read_with_words_boxes_and_confidences() {
    for name in ["tesseract.hocr", "tesseract-alto.xml"] {
        let Sheet { image, page } = sample(name);
        assert_eq!(image.as_deref(), Some("04-easy-free-text-printed.jpg"));
        assert_eq!(page.size, (1600, 1200), "{name}");
        let line = |text: &str| {
            let found = page.lines.iter().find(|l| l.text.contains(text));
            found.unwrap_or_else(|| panic!("{name}: no {text} in {:?}", page.lines))
        };
        // Where the plate's truth says that it stands.
        let volts = line("208-230 VOLTS");
        let truth = quad([
            [767.3, 511.8],
            [1226.6, 513.8],
            [1227.9, 563.5],
            [767.6, 562.7],
        ]);
        assert!(
            volts.quad.center().distance(truth.center()) < 15.0,
            "{name}"
        );
        assert!((volts.quad.width() - truth.width()).abs() < 20.0, "{name}");
        let words = word::words(volts);
        assert_eq!(words.len(), 2);
        assert!(words[0].confidence.unwrap() > 0.5);
        // The second word begins where the engine's box does, to about a character.
        let left = words[1].quad.unwrap().0[0].x;
        assert!((1005.0..1065.0).contains(&left), "{name}: {left}");
    }
}

#[test]
fn a_tilted_line_follows_its_baseline() {
    // hOCR 1.2, 5.4.3: slope of the baseline, y downwards.
    let text = "<div class='ocr_page' title='bbox 0 0 500 500'><span class='ocr_line' \
         title='bbox 100 100 300 150; baseline 0.1 0'>\
         <span class='ocrx_word' title='bbox 100 100 300 150'>1725</span></span></div>";
    let sheets = parse(text.as_bytes()).unwrap();
    let line = &sheets[0].page.lines[0];
    assert!((line.quad.height() - 30.0).abs() < 1.0, "{:?}", line.quad);
    assert!((line.quad.angle().tan() - 0.1).abs() < 0.01);
}

struct Case {
    name: &'static str,
    file: String,
    /// Lines that are read, or the kind of the error.
    expected: Result<&'static [&'static str], &'static str>,
}

fn html(body: &str) -> String {
    format!("<html><body><div class='ocr_page' title='bbox 0 0 100 100'>{body}</div></body></html>")
}

fn alto(body: &str) -> String {
    format!("<alto><Layout><Page ID='p' PHYSICAL_IMG_NR='1'>{body}</Page></Layout></alto>")
}

#[test]
fn odd_and_hostile_files_are_read_as_far_as_they_are_right_or_refused() {
    const LINE: &str = "<span class=ocr_line title='bbox 0 0 90 10'>";
    const BOMB: &str = "<!DOCTYPE x [<!ENTITY a 'ha'><!ENTITY b '&a;&a;&a;&a;'>\
        <!ENTITY f SYSTEM 'file:///etc/hostname'>]>";
    let string = |content: &str| {
        alto(&format!(
            "<TextBlock><TextLine HPOS='0' VPOS='0' WIDTH='90' HEIGHT='9'>\
             <String CONTENT='{content}'/></TextLine></TextBlock>"
        ))
    };
    let cases = [
        Case {
            name: "missing and superfluous end tags, unquoted attributes, upper case",
            file: html(&format!(
                "<P><BR>{LINE}60 HZ</b></span></i><p>{LINE}1 PH<br>X</span>"
            )),
            expected: Ok(&["60 HZ", "1 PHX"]),
        },
        Case {
            name: "lone ampersand and entities of HTML",
            file: html(&format!("{LINE}A & B&nbsp;40&deg;C &#x41;&lt;</span>")),
            expected: Ok(&["A & B 40°C A<"]),
        },
        Case {
            name: "entities of the file's own",
            file: format!("{BOMB}{}", html(&format!("{LINE}&b;</span>"))),
            expected: Err("markup"),
        },
        Case {
            name: "an external entity in an attribute",
            file: format!("{BOMB}{}", string("&f;")),
            expected: Err("markup"),
        },
        Case {
            name: "ends in the middle",
            file:
                "<html><body><div class='ocr_page'><span class='ocr_line' title='bbox 0 0 9 9'>1 HP"
                    .to_owned(),
            expected: Ok(&["1 HP"]),
        },
        Case {
            name: "ends in the middle of XML",
            file: "<alto><Layout><Page>".to_owned(),
            expected: Err("markup"),
        },
        Case {
            name: "wrong end tag in XML",
            file: alto("<TextBlock></TextLine>"),
            expected: Err("markup"),
        },
        Case {
            name: "deep nesting",
            file: html(&"<div>".repeat(100_000)),
            expected: Err("too_large"),
        },
        Case {
            name: "an endless line",
            file: string(&"8".repeat(100_000)),
            expected: Err("too_large"),
        },
        Case {
            name: "too many words",
            file: html(&format!("{LINE}{}</span>", "1 ".repeat(900)).repeat(5)),
            expected: Err("too_large"),
        },
        Case {
            name: "no boxes",
            file: html("<span class='ocr_line'>115 V</span>"),
            expected: Err("no_boxes"),
        },
        Case {
            name: "boxes that are none",
            file: html("<span class='ocr_line' title='bbox NaN 1e99 -3 x'>115 V</span>"),
            expected: Err("no_boxes"),
        },
        Case {
            name: "a box turned inside out and one without area",
            file: html(
                "<span class='ocr_line' title='bbox 90 20 10 10'>115 V</span>\
                 <span class='ocr_line' title='bbox 5 5 5 5'>60</span>",
            ),
            expected: Ok(&["115 V", "60"]),
        },
        Case {
            name: "words without a line",
            file: html(
                "<p><span class='ocrx_word' title='bbox 0 0 9 9; x_wconf 250'>HP</span></p>",
            ),
            expected: Ok(&["HP"]),
        },
        Case {
            name: "several words in one string, a name space, an odd confidence",
            file:
                "<a:alto xmlns:a='x'><a:Page><a:TextLine HPOS='0' VPOS='0' WIDTH='90' HEIGHT='9'>\
                   <a:String CONTENT=' 1  HP ' WC='-4'/></a:TextLine></a:Page></a:alto>"
                    .to_owned(),
            expected: Ok(&["1 HP"]),
        },
        Case {
            name: "HTML without OCR",
            file: "<html><body><p>Hello</p></body></html>".to_owned(),
            expected: Err("not_text"),
        },
        Case {
            name: "JSON",
            file: "{\"ocr_page\": 1}".to_owned(),
            expected: Err("not_text"),
        },
        Case {
            name: "nothing",
            file: String::new(),
            expected: Err("not_text"),
        },
    ];
    let wrong: Vec<String> = cases
        .iter()
        .filter_map(|case| {
            let got = parse(case.file.as_bytes());
            let texts = got.as_ref().map(|sheets| {
                let lines = sheets.iter().flat_map(|s| &s.page.lines);
                lines.map(|l| l.text.as_str()).collect::<Vec<_>>()
            });
            let right = match (&texts, &case.expected) {
                (Ok(lines), Ok(expected)) => lines == expected,
                (Err(error), Err(kind)) => error.kind() == *kind,
                _ => false,
            };
            (!right).then(|| format!("{}: expected {:?}, got {texts:?}", case.name, case.expected))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn what_is_not_utf8_or_too_large_is_refused() {
    let latin1 = b"<html><p class='ocr_page'>40 \xb0C</p></html>";
    assert_eq!(parse(latin1), Err(ExchangeError::Encoding { at: 29 }));
    assert_eq!(
        parse(&vec![b' '; LARGEST_FILE + 1]),
        Err(ExchangeError::TooLarge)
    );
}

prop_compose! {
    /// A line of upright words beside each other.
    fn a_line()(
        left in 0.0f32..300.0,
        top in 0.0f32..500.0,
        height in 8.0f32..60.0,
        words in prop::collection::vec(("[!-~°µ]{1,12}", 0.0f32..1.0, 3.0f32..40.0), 1..6),
    ) -> Line {
        let mut x = left;
        let words: Vec<Word> = words
            .into_iter()
            .map(|(text, confidence, gap)| {
                let width = 0.6 * height * text.chars().count() as f32;
                let quad = upright(x, top, width, height);
                x += width + gap;
                word(&text, confidence, quad)
            })
            .collect();
        word::line(&words, None, 0.0).unwrap()
    }
}

proptest! {
    #[test]
    fn text_and_boxes_survive_writing_and_reading(lines in prop::collection::vec(a_line(), 0..6)) {
        let page = word::page(lines, Some((5000, 600)));
        for format in FORMATS {
            let given = Sheet { image: None, page: page.clone() };
            let again = reread(format, &[given]).remove(0).page;
            prop_assert_eq!(again.size, page.size);
            prop_assert_eq!(again.lines.len(), page.lines.len());
            for (a, b) in again.lines.iter().zip(&page.lines) {
                prop_assert_eq!(&a.text, &b.text);
                for (p, q) in a.quad.0.iter().zip(b.quad.0) {
                    prop_assert!(p.distance(q) < 2.0, "{:?} {:?} {:?}", format, a.quad, b.quad);
                }
                let letter = b.quad.height();
                for (v, w) in word::words(a).iter().zip(word::words(b)) {
                    let (v, w) = (v.quad.unwrap(), w.quad.unwrap());
                    prop_assert!(v.center().distance(w.center()) < letter, "{:?} {:?}", v, w);
                }
            }
        }
    }

    #[test]
    fn any_bytes_give_pages_or_an_error(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = parse(&bytes);
    }

    #[test]
    fn any_heap_of_markup_gives_pages_or_an_error(
        parts in prop::collection::vec(prop::sample::select(vec![
            "<alto>", "</alto>", "<Page ID='a' WIDTH='9' HEIGHT='-1'>", "</Page>", "<TextLine ",
            "HPOS='1' VPOS='2' WIDTH='30' HEIGHT='4'", ">", "/>", "<String CONTENT='AB ' WC='.5' ",
            "<Polygon POINTS='0,0 9,0 9'/>", "<Polygon POINTS='1 1 1 1 1 1 1 1'/>", "</TextLine>",
            "<html>", "<div class='ocr_page' title='", "<span class='ocr_line' title='bbox 1 2 3 4;",
            " poly 0 0 0 0 0 0 0 0;", " textangle 33;", " baseline -9 1'>", "'>", "</span>", "1/2 HP",
            "<span class=ocrx_word title='bbox 0 0 0 0'>", "&", "&amp;", "<!--", "-->", "<![CDATA[",
            "]]>", "<?", "<!DOCTYPE", "\u{0}", "\"", "=", "<", "</p>", "<p>", "\u{301}",
        ]), 0..40),
    ) {
        let text = parts.concat();
        for root in ["", "<alto>", "<html class='ocr_'>"] {
            if let Ok(sheets) = parse(format!("{root}{text}").as_bytes()) {
                for format in FORMATS {
                    let mut out = Vec::new();
                    write(format, &sheets, &mut out).unwrap();
                    parse(&out).unwrap();
                }
            }
        }
    }
}
