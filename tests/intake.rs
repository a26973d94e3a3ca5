//! Sources that mean harm, or are broken: each is named with its kind, and all others are still taken.

use platewright::intake::{Item, Limits, Stop, Walk};
use std::fs;
use std::io::{Cursor, Write};
use std::ops::ControlFlow;
use std::path::Path;
use zip::write::SimpleFileOptions;

const JPEG: &[u8] = b"\xFF\xD8\xFF\xE0 as far as its first bytes tell";

fn zip(files: &[(String, Vec<u8>)]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        archive
            .start_file(name.as_str(), SimpleFileOptions::default())
            .unwrap();
        archive.write_all(bytes).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

fn one(name: &str, bytes: &[u8]) -> Vec<u8> {
    zip(&[(name.to_owned(), bytes.to_vec())])
}

/// How many photos a folder gives, and the kinds of its troubles in their order.
fn walk(folder: &Path, limits: &Limits) -> (usize, Vec<&'static str>) {
    let (mut photos, mut troubles) = (0, Vec::new());
    let mut each = |item| {
        match item {
            Item::Photo(_) | Item::Page(_) => photos += 1,
            Item::Refused(refused) => troubles.push(refused.kind),
            Item::Trouble(trouble) => {
                assert!(
                    trouble.message.starts_with(&trouble.place),
                    "{}",
                    trouble.message
                );
                troubles.push(trouble.kind);
            }
            Item::Other(_) => {}
        }
        ControlFlow::Continue(())
    };
    let stop = Stop::default();
    let _ = Walk::new(limits, None, &stop, &mut each).source(folder);
    (photos, troubles)
}

fn small() -> Limits {
    let mut limits = Limits {
        archive_files: 5,
        archive_bytes: 50_000,
        ratio: 2,
        depth: 2,
        nested_bytes: 60_000,
        ..Limits::default()
    };
    limits.photo.bytes = 20_000;
    limits
}

/// Bytes that no packing makes smaller, called a photo.
fn noise(size: usize) -> Vec<u8> {
    let mut state = 1u32;
    let mut bytes: Vec<u8> = std::iter::repeat_with(|| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    })
    .take(size)
    .collect();
    bytes[..JPEG.len()].copy_from_slice(JPEG);
    bytes
}

#[test]
fn what_means_harm_is_refused_by_its_kind_and_the_rest_is_taken() {
    let nested =
        |depth: usize| (0..depth).fold(one("a.jpg", JPEG), |inner, _| one("in.zip", &inner));
    let many = |count: usize, size: usize| {
        let files: Vec<_> = (0..count)
            .map(|i| (format!("{i}.jpg"), noise(size)))
            .collect();
        zip(&files)
    };
    let cut = {
        let whole = many(2, 3000);
        whole[..whole.len() / 2].to_vec()
    };
    let flipped = {
        let mut whole = many(2, 3000);
        whole[1000] ^= 0xFF;
        whole
    };
    let mut bomb = JPEG.to_vec();
    bomb.resize(19_000, 0);
    struct Case {
        what: &'static str,
        bytes: Vec<u8>,
        photos: usize,
        troubles: Vec<&'static str>,
    }
    let cases = [
        Case {
            what: "a bomb",
            bytes: one("a.jpg", &bomb),
            photos: 0,
            troubles: vec!["bomb"],
        },
        Case {
            what: "a photo that is too large",
            bytes: one("a.jpg", &noise(30_000)),
            photos: 0,
            troubles: vec!["too_large"],
        },
        Case {
            what: "too many files",
            bytes: many(6, 100),
            photos: 0,
            troubles: vec!["too_many_files"],
        },
        Case {
            what: "too much in all",
            bytes: many(4, 15_000),
            photos: 3,
            troubles: vec!["too_large"],
        },
        Case {
            what: "archives in archives",
            bytes: nested(1),
            photos: 1,
            troubles: vec![],
        },
        Case {
            what: "too many archives in archives",
            bytes: nested(2),
            photos: 0,
            troubles: vec!["too_deep"],
        },
        Case {
            what: "cut in the middle",
            bytes: cut,
            photos: 0,
            troubles: vec!["damaged"],
        },
        Case {
            what: "one damaged file of two",
            bytes: flipped,
            photos: 1,
            troubles: vec!["damaged"],
        },
        Case {
            what: "no archive at all",
            bytes: b"hello".to_vec(),
            photos: 0,
            troubles: vec!["damaged"],
        },
    ];
    let mut wrong = Vec::new();
    for case in cases {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("0.zip"), &case.bytes).unwrap();
        fs::write(folder.path().join("1.jpg"), JPEG).unwrap();
        let found = walk(folder.path(), &small());
        if found != (case.photos + 1, case.troubles) {
            wrong.push((case.what, found));
        }
    }
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
fn mails_in_mails_and_odd_mails_end_in_photos_or_a_reason() {
    let folder = tempfile::tempdir().unwrap();
    let photo = "Content-Type: image/jpeg\r\nContent-Transfer-Encoding: base64\r\n\r\n/9j/4AAAAAAAAAAAAAAA\r\n";
    let forwarded = format!(
        "Content-Type: message/rfc822\r\n\r\nFrom: a@example.org\r\nSubject: first\r\n{photo}"
    );
    let deep = (0..40).fold(photo.to_owned(), |inner, i| {
        format!(
            "Content-Type: message/rfc822\r\n\r\nFrom: a@example.org\r\nSubject: {i}\r\n{inner}"
        )
    });
    for (name, bytes) in [
        (
            "0.eml",
            format!("From: b@example.org\r\nSubject: Fwd\r\n{photo}"),
        ),
        (
            "1.eml",
            format!("From: b@example.org\r\nSubject: Fwd\r\n{forwarded}"),
        ),
        ("2.eml", format!("From: b@example.org\r\n{deep}")),
        ("3.eml", String::new()),
        ("4.mbox", String::new()),
    ] {
        fs::write(folder.path().join(name), bytes).unwrap();
    }
    let (photos, troubles) = walk(folder.path(), &Limits::default());
    // The mail with nothing but mails too deep in it is a row with its reason.
    assert_eq!(
        (photos, troubles),
        (2, vec!["too_deep", "no_photo", "not_a_mail"])
    );
}

/// Found by fuzzing: behind a forwarded mail that is nothing but a forwarded mail the library that takes mails apart loses
/// its place. Either the photo there is taken, or it is said that something was not read.
#[test]
fn a_photo_behind_a_part_that_cannot_be_taken_apart_is_not_lost_in_silence() {
    let photo = "Content-Type: image/jpeg\r\nContent-Transfer-Encoding: base64\r\n\r\n/9j/4AAAAAAAAAAAAAAA\r\n";
    let mail = |kind: &str, inner: &str| {
        format!(
            "Subject: o\r\nContent-Type: multipart/mixed; boundary=o\r\n\r\n--o\r\nContent-Type: multipart/{kind}; \
             boundary=b\r\n\r\n--b\r\n{inner}\r\n--b--\r\n--o\r\n{photo}--o--\r\n"
        )
    };
    let forward = "Content-Type: message/rfc822\r\n\r\n";
    let text = "Subject: x\r\n\r\ny";
    let whole = mail("mixed", &format!("{forward}{text}"));
    let twice = mail(
        "mixed",
        &format!("{forward}{whole}\r\n--b\r\n{forward}{whole}"),
    );
    for (name, bytes, expected) in [
        ("usual", &whole, (1, vec![])),
        ("the same mail twice", &twice, (3, vec![])),
        (
            "nothing but a forward",
            &mail("mixed", &format!("{forward}{forward}{text}")),
            (0, vec!["unread_parts", "no_photo"]),
        ),
        (
            "in a digest",
            &mail("digest", &format!("\r\n{forward}{text}")),
            (0, vec!["unread_parts", "no_photo"]),
        ),
    ] {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("a.eml"), bytes).unwrap();
        assert_eq!(walk(folder.path(), &Limits::default()), expected, "{name}");
    }
}

#[test]
fn asked_to_stop_a_walk_gives_nothing_more() {
    let folder = tempfile::tempdir().unwrap();
    for i in 0..3 {
        fs::write(folder.path().join(format!("{i}.jpg")), JPEG).unwrap();
    }
    let stop = Stop::default();
    let mut seen = 0;
    let mut each = |_| {
        seen += 1;
        stop.set();
        ControlFlow::Continue(())
    };
    let limits = Limits::default();
    let ended = Walk::new(&limits, None, &stop, &mut each).source(folder.path());
    assert_eq!((seen, ended), (1, ControlFlow::Break(())));
}
