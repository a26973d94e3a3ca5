//! Photos, archives and mails for tests.

#![allow(dead_code)] // each test file uses its part

use crate::common::fixture;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use std::fs;
use std::io::{Cursor, Write};
use std::path::{Path, PathBuf};
use zip::write::SimpleFileOptions;

/// A small photo of a plate; each number gives another file.
pub fn photo(number: u8) -> Vec<u8> {
    thread_local! {
        static PLATE: DynamicImage =
            image::open(fixture("plates/02-easy-boxed-grid-printed.jpg")).unwrap().thumbnail(640, 480);
    }
    let mut image = PLATE.with(|plate| plate.to_rgb8());
    for (x, y) in (0..4).flat_map(|x| (0..4).map(move |y| (x, y))) {
        image.put_pixel(x, y, Rgb([number; 3]));
    }
    let mut bytes = Cursor::new(Vec::new());
    image.write_to(&mut bytes, ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// A folder with so many photos.
pub fn log(folder: &Path, photos: u8) -> PathBuf {
    let source = folder.join("log");
    fs::create_dir(&source).unwrap();
    for number in 0..photos {
        fs::write(source.join(format!("{number:03}.png")), photo(number)).unwrap();
    }
    source
}

/// An archive with these files.
pub fn zip(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        archive
            .start_file(*name, SimpleFileOptions::default())
            .unwrap();
        archive.write_all(bytes).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

/// Base64 as RFC 4648 has it.
pub fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for (i, three) in bytes.chunks(3).enumerate() {
        let bits = three
            .iter()
            .chain([0, 0].iter())
            .take(3)
            .fold(0u32, |bits, b| bits << 8 | u32::from(*b));
        for place in 0..4 {
            let sign = SIGNS[(bits >> (18 - 6 * place)) as usize & 63];
            text.push(if place > three.len() {
                '='
            } else {
                char::from(sign)
            });
        }
        if i % 19 == 18 {
            text.push_str("\r\n");
        }
    }
    text
}

/// A mail with a photo attached and, if given, another one in its text.
pub fn mail(subject: &str, attached: &[u8], inline: Option<&[u8]>) -> String {
    let inline = inline.map_or(String::new(), |bytes| {
        format!(
            "--b\r\nContent-Type: image/png\r\nContent-ID: <p1>\r\nContent-Disposition: inline\r\n\
             Content-Transfer-Encoding: base64\r\n\r\n{}\r\n",
            base64(bytes)
        )
    });
    format!(
        "From: Kim Roe <kim@example.org>\r\nTo: counter@example.org\r\nSubject: {subject}\r\nMIME-Version: 1.0\r\n\
         Content-Type: multipart/mixed; boundary=b\r\n\r\n--b\r\nContent-Type: text/html\r\n\r\n<p>dead <img src=\"cid:p1\">\r\n{inline}\
         --b\r\nContent-Type: image/png; name=\"plate.png\"\r\nContent-Disposition: attachment; filename=\"plate.png\"\r\n\
         Content-Transfer-Encoding: base64\r\n\r\n{}\r\n--b\r\nContent-Type: application/pgp-signature\r\n\r\nxx\r\n--b--\r\n",
        base64(attached)
    )
}

/// A picture without anything on it.
pub fn picture(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    RgbImage::from_pixel(width, height, Rgb([40, 90, 160]))
        .write_to(&mut bytes, ImageFormat::Png)
        .unwrap();
    bytes.into_inner()
}
