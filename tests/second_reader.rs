//! The second reader's file is in the form that the `ocrs` engine takes: the engine reads with it what we read.

use ocrs::{ImageSource, OcrEngine, OcrEngineParams};
use platewright::photo::{Limits, Photo, Pyramid, Quad};
use platewright::text::{ModelSource, ReadOptions, Reader};
use rten_imageproc::{PointF, RotatedRect, Vec2};
use std::path::Path;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The rectangle of a line for the engine, which wants to know which way is up.
fn rect(quad: &Quad) -> RotatedRect {
    let (center, angle) = (quad.center(), quad.angle());
    let up = Vec2::from_yx(-angle.cos(), angle.sin());
    let middle = PointF::from_yx(center.y, center.x);
    RotatedRect::new(middle, up, quad.width(), quad.height())
}

#[test]
fn the_ocrs_engine_reads_with_it_what_we_read() {
    let alphabet = std::fs::read_to_string(root().join("models/alphabet.txt")).unwrap();
    let engine = OcrEngine::new(OcrEngineParams {
        recognition_model: Some(rten::Model::load_file(root().join("models/second.onnx")).unwrap()),
        alphabet: Some(
            alphabet
                .split('\n')
                .filter_map(|l| l.chars().next())
                .collect(),
        ),
        ..Default::default()
    })
    .unwrap();
    let path = root().join("fixtures/plates/02-easy-boxed-grid-printed.jpg");
    let photo = Photo::open(&path, &Limits::default()).unwrap();
    let reader = Reader::load(&ModelSource::Embedded).unwrap();
    let pyramid = Pyramid::new(&photo.pixels);
    let page = reader.read(&pyramid, &ReadOptions::default()).unwrap();
    let all: Vec<usize> = (0..page.lines.len()).collect();
    let ours = reader
        .second_opinion(&pyramid, &page, &all)
        .unwrap()
        .unwrap();

    let source = ImageSource::from_bytes(photo.pixels.as_raw(), photo.pixels.dimensions()).unwrap();
    let input = engine.prepare_input(source).unwrap();
    let lines: Vec<Vec<RotatedRect>> = page.lines.iter().map(|l| vec![rect(&l.quad)]).collect();
    let theirs = engine.recognize_text(&input, &lines).unwrap();
    let pairs: Vec<(String, String)> = ours
        .lines
        .iter()
        .zip(theirs)
        .map(|(a, b)| {
            (
                a.text.clone(),
                b.map_or_else(String::new, |l| l.to_string()),
            )
        })
        .collect();
    let same = pairs.iter().filter(|(a, b)| a.trim() == b.trim()).count();
    // The engine cuts and scales lines in its own way: not every worn character comes out alike.
    assert!(
        same * 10 >= pairs.len() * 7,
        "{same} of {}: {pairs:?}",
        pairs.len()
    );
}
