//! A mail, or a mailbox of them.
#![no_main]

use image::ImageFormat;
use libfuzzer_sys::fuzz_target;
use platewright::intake::{Limits, Stop, Walk};
use platewright_fuzz::{plant, tiny};
use std::ops::ControlFlow;

const MAIL: &str = "From: Kim Roe <kim@example.org>\r\nSubject: =?utf-8?q?L=C3=BCfter?=\r\nMIME-Version: 1.0\r\n\
    Content-Type: multipart/mixed; boundary=b\r\n\r\n--b\r\nContent-Type: text/html\r\n\r\n<p>dead\r\n\
    --b\r\nContent-Type: message/rfc822\r\n\r\nSubject: inner\r\n\r\nx\r\n\
    --b\r\nContent-Type: image/png; name=\"plate.png\"\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n=89PNG=0D=0A\r\n--b--\r\n";

fuzz_target!(
    init: plant(|| {
        let mail = MAIL.as_bytes();
        let mut with_photo = b"Content-Type: image/jpeg\r\nContent-Transfer-Encoding: 8bit\r\n\r\n".to_vec();
        with_photo.extend(tiny(ImageFormat::Jpeg));
        let from = b"From kim@example.org Thu Jan  1 00:00:00 2026\r\n".to_vec();
        vec![
            [b"e".as_slice(), mail].concat(),
            [b"e".as_slice(), &with_photo].concat(),
            [b"m".as_slice(), &from, mail, b"\r\n", &from, mail].concat(),
        ]
    }),
    |data: &[u8]| {
        let Some((kind, bytes)) = data.split_first() else {
            return;
        };
        let folder = tempfile::tempdir().expect("a folder");
        let name = if kind % 2 == 1 { "a.eml" } else { "a.mbox" };
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).expect("a file");
        let mut each = |_| ControlFlow::Continue(());
        let _ = Walk::new(&Limits::default(), None, &Stop::default(), &mut each).source(&path);
    }
);
