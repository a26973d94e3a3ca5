use std::f32::consts::PI;

use image::{Rgb, RgbImage};
use proptest::prelude::*;
use rxing::{MultiFormatWriter, Writer};

use super::*;

/// A code as the library draws it, with a quiet zone.
fn drawn(text: &str, format: BarcodeFormat, width: i32, height: i32) -> GrayImage {
    let bits = MultiFormatWriter
        .encode(text, &format, width, height)
        .unwrap();
    GrayImage::from_fn(bits.getWidth(), bits.getHeight(), |x, y| {
        image::Luma([if bits.get(x, y) { 30 } else { 215 }])
    })
}

/// A grey plate with grained metal, stamped-looking stripes of text and these codes on it.
fn plate(codes: &[(&GrayImage, u32, u32)]) -> RgbImage {
    let mut picture = RgbImage::from_fn(1600, 1000, |x, y| {
        let grain = (x * 7919 + y * 104_729) % 23;
        let letters = y % 90 < 30 && x < 700 && (x / 9) % 3 == 0;
        let v = if letters { 60 } else { 150 + grain + x / 40 } as u8;
        Rgb([v, v, v.saturating_sub(6)])
    });
    for (code, left, top) in codes {
        for (x, y, p) in code.enumerate_pixels() {
            picture.put_pixel(left + x, top + y, Rgb([p.0[0]; 3]));
        }
    }
    picture
}

fn whole(picture: &RgbImage) -> Quad {
    let (w, h) = (picture.width() as f32, picture.height() as f32);
    Quad([[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(Point::from))
}

fn found(picture: &RgbImage) -> Vec<Code> {
    around(picture, &whole(picture), 0.0)
}

/// Whether the corners go round, clockwise as seen.
fn is_around(quad: &Quad) -> bool {
    (0..4).all(|i| {
        let [a, b, c] = [0, 1, 2].map(|k| quad.0[(i + k) % 4]);
        (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x) > 0.0
    })
}

#[test]
fn codes_of_every_kind_are_read_where_they_stand() {
    let cases = [
        (BarcodeFormat::QR_CODE, Symbology::QrCode, 200, 200),
        (BarcodeFormat::DATA_MATRIX, Symbology::DataMatrix, 160, 160),
        (BarcodeFormat::CODE_128, Symbology::Code128, 500, 90),
        (BarcodeFormat::CODE_39, Symbology::Code39, 600, 90),
    ];
    let wrong: Vec<String> = cases
        .iter()
        .filter_map(|&(format, symbology, width, height)| {
            let code = drawn("YZ6711-E", format, width, height);
            let codes = found(&plate(&[(&code, 800, 500)]));
            let middle = Point {
                x: 800.0 + code.width() as f32 / 2.0,
                y: 500.0 + code.height() as f32 / 2.0,
            };
            let right = matches!(&codes[..], [one] if one.symbology == symbology
                && one.text == "YZ6711-E" && is_around(&one.quad) && one.quad.center().distance(middle) < 60.0);
            (!right).then(|| format!("{symbology:?} at {middle:?}: {codes:?}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn several_codes_on_a_plate_are_all_read() {
    let qr = drawn("S/N 156788724", BarcodeFormat::QR_CODE, 200, 200);
    let stripes = drawn("FDVL871", BarcodeFormat::CODE_128, 400, 90);
    let codes = found(&plate(&[(&qr, 800, 100), (&stripes, 800, 700)]));
    let texts: Vec<&str> = codes.iter().map(|c| c.text.as_str()).collect();
    assert_eq!(texts, ["S/N 156788724", "FDVL871"]);
}

#[test]
fn a_plate_without_codes_has_none() {
    assert_eq!(found(&plate(&[])), []);
    assert_eq!(found(&RgbImage::new(30, 30)), []);
    assert_eq!(found(&RgbImage::new(1, 1)), []);
}

#[test]
fn hostile_text_comes_out_harmless() {
    let cases = [
        ("SN\u{1b}[2J\u{7}123", "SN[2J123"),
        ("A\u{1d}21B\r\nC", "A 21B C"),
        ("ab\u{202e}cd\u{200b}e\u{feff}", "abcde"),
        ("javascript:alert(1)", "javascript:alert(1)"),
        ("\0\0", ""),
    ];
    for (given, expected) in cases {
        assert_eq!(clean(given), expected, "{given:?}");
    }
    assert_eq!(clean(&"x".repeat(3000)).len(), LONGEST);
    let code = drawn("$(reboot)\u{1b}]0;x\u{7}", BarcodeFormat::QR_CODE, 220, 220);
    assert_eq!(found(&plate(&[(&code, 800, 400)]))[0].text, "$(reboot)]0;x");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_pixels_give_codes_or_none(
        width in 24u32..160, height in 24u32..160, seed in any::<u64>(), coarse in 1u32..9,
    ) {
        let picture = GrayImage::from_fn(width, height, |x, y| {
            let cell = (u64::from(x / coarse) * 0x9E37_79B9) ^ (u64::from(y / coarse) * 0x85EB_CA6B) ^ seed;
            image::Luma([(cell.wrapping_mul(0xC2B2_AE3D_27D4_EB4F) >> 56) as u8])
        });
        let place = whole(&RgbImage::new(width, height));
        let codes = read(picture, &[QR_CODE, DATA_MATRIX, Kind::Linear], &place);
        prop_assert!(codes.len() <= MOST);
    }

    #[test]
    fn whatever_a_code_says_nothing_steers_a_terminal(text in any::<String>()) {
        prop_assert!(!clean(&text).chars().any(char::is_control));
    }
}

#[test]
fn a_plate_on_its_side_is_read_in_its_direction() {
    let stripes = drawn("FDVL871", BarcodeFormat::CODE_128, 400, 90);
    let level = plate(&[(&stripes, 300, 700)]);
    let turned: [(RgbImage, f32, Point); 3] = [
        (
            imageops::rotate90(&level),
            FRAC_PI_2,
            Point { x: 255.0, y: 500.0 },
        ),
        (
            imageops::rotate180(&level),
            PI,
            Point {
                x: 1100.0,
                y: 255.0,
            },
        ),
        (
            imageops::rotate270(&level),
            -FRAC_PI_2,
            Point {
                x: 745.0,
                y: 1100.0,
            },
        ),
    ];
    for (picture, direction, middle) in turned {
        let codes = around(&picture, &whole(&picture), direction);
        assert_eq!(codes.len(), 1, "{direction}");
        assert_eq!(codes[0].text, "FDVL871");
        let off = codes[0].quad.center().distance(middle);
        assert!(off < 60.0, "{direction}: {:?}", codes[0].quad);
    }
}
