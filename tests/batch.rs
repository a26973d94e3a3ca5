//! What becomes of folders, archives and mails; and that nothing is lost or there twice however a run ends.

mod common;

use common::{fixture, json_lines, platewright};
use image::{DynamicImage, ImageFormat, Rgb};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::io::{Cursor, Write};
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;
use zip::write::SimpleFileOptions;

/// A small photo of a plate; each number gives another file.
fn photo(number: u8) -> Vec<u8> {
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

fn zip(files: &[(&str, &[u8])]) -> Vec<u8> {
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
fn base64(bytes: &[u8]) -> String {
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
fn mail(subject: &str, attached: &[u8], inline: Option<&[u8]>) -> String {
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

fn batch(store: &Path, args: &[&str]) -> Output {
    platewright()
        .args(["batch", "--fast", "--json", "--store"])
        .arg(store)
        .args(args)
        .output()
        .unwrap()
}

fn summary(output: &Output) -> Value {
    let lines = json_lines(&output.stdout);
    assert_eq!(
        lines.len(),
        1,
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    lines[0].clone()
}

fn exported(store: &Path) -> Vec<Value> {
    let output = platewright()
        .args(["export", "--store"])
        .arg(store)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0));
    json_lines(&output.stdout)
}

fn is_whole(store: &Path) -> Value {
    let output = platewright()
        .args(["check-store", "--json", "--store"])
        .arg(store)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{said}");
    json_lines(&output.stdout)[0].clone()
}

#[test]
fn whatever_holds_photos_is_taken_in_once_and_read() {
    let folder = tempfile::tempdir().unwrap();
    let source = folder.path().join("log");
    // The store lies inside the source: it must not take itself in.
    let store = source.join("store");
    for made in ["deep/er", "mails/cur", "mails/new", "mails/tmp", "store"] {
        fs::create_dir_all(source.join(made)).unwrap();
    }
    let put = |name: &str, bytes: &[u8]| fs::write(source.join(name), bytes).unwrap();
    put("deep/er/one.png", &photo(1));
    put("deep/same-as-one.txt", &photo(1));
    put("empty.jpg", b"");
    put("notes.txt", b"From here on nothing");
    put("damaged.zip", b"PK\x03\x04 and no more");
    let inner = zip(&[("four.png", &photo(4))]);
    put(
        "all.zip",
        &zip(&[
            ("../../../etc/three.png", &photo(3)),
            ("inner.zip", &inner),
            ("readme.md", b"#"),
        ]),
    );
    put(
        "one.eml",
        mail("dead blower", &photo(5), Some(&photo(6))).as_bytes(),
    );
    let letters: String = [("=?utf-8?q?L=C3=BCfter?=", 7u8), ("second", 8)]
        .iter()
        .map(|(subject, number)| {
            format!(
                "From kim@example.org Thu Jan  1 00:00:00 2026\r\n{}\r\n",
                mail(subject, &photo(*number), None)
            )
        })
        .collect();
    put("inbox.mbox", letters.as_bytes());
    put(
        "mails/cur/17.host:2,S",
        mail("in a maildir", &photo(9), None).as_bytes(),
    );
    put(
        "mails/tmp/18.host",
        mail("not yet whole", &photo(10), None).as_bytes(),
    );

    let output = batch(&store, &[source.to_str().unwrap()]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.contains("damaged.zip: is no whole zip archive"),
        "{said}"
    );
    assert!(said.contains("empty.jpg: is empty"), "{said}");
    assert_eq!(output.status.code(), Some(1), "{said}");
    let first = summary(&output);
    for (key, expected) in [
        ("added", 9),
        ("known", 1),
        ("not_taken", 1),
        ("no_photos", 3),
        ("read", 8),
        ("failed", 1),
        ("waiting", 0),
    ] {
        assert_eq!(first[key], expected, "{key}: {first}\n{said}");
    }
    let lines = exported(&store);
    let mut sources: BTreeMap<String, usize> = BTreeMap::new();
    for line in &lines {
        let text = line["source"]
            .as_str()
            .unwrap()
            .replace(&source.display().to_string(), "");
        *sources.entry(text).or_default() += 1;
    }
    for expected in [
        "folder: /deep/er/one.png",
        "folder: /empty.jpg",
        "archive: /all.zip > ../../../etc/three.png",
        "archive: /all.zip > inner.zip > four.png",
        "mail: /one.eml > plate.png, Kim Roe <kim@example.org>, dead blower",
        "mail: /one.eml, Kim Roe <kim@example.org>, dead blower",
        "mail: /inbox.mbox > message 1 > plate.png, Kim Roe <kim@example.org>, Lüfter",
        "mail: /inbox.mbox > message 2 > plate.png, Kim Roe <kim@example.org>, second",
        "mail: /mails/cur/17.host:2,S > plate.png, Kim Roe <kim@example.org>, in a maildir",
    ] {
        assert_eq!(sources.remove(expected), Some(1), "{expected}: {sources:?}");
    }
    assert!(sources.is_empty(), "{sources:?}");
    let failed: Vec<&Value> = lines.iter().filter(|l| l["error"].is_object()).collect();
    assert_eq!(failed.len(), 1);
    assert_eq!(failed[0]["error"]["kind"], "empty");
    assert_eq!(failed[0]["file"], "empty.jpg");
    is_whole(&store);

    // Once more: nothing new, nothing read again.
    let again = summary(&batch(&store, &[source.to_str().unwrap()]));
    for (key, expected) in [
        ("added", 0),
        ("known", 10),
        ("read", 0),
        ("failed", 0),
        ("failed_before", 1),
    ] {
        assert_eq!(again[key], expected, "{key}: {again}");
    }
    // What failed fails again, and is said again.
    let output = batch(&store, &["--retry", "failed"]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(summary(&output)["failed"], 1);
    assert_eq!(exported(&store).len(), 9);
}

#[test]
fn a_source_that_is_not_there_and_a_store_that_cannot_be_are_said() {
    let folder = tempfile::tempdir().unwrap();
    let output = batch(&folder.path().join("store"), &["no-such-folder"]);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.contains("no-such-folder: no such file or folder. Check the path"),
        "{said}"
    );

    let file = folder.path().join("file");
    fs::write(&file, b"x").unwrap();
    let output = batch(&file, &["."]);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.contains("a store is a folder"), "{said}");

    let output = platewright().arg("batch").output().unwrap();
    assert_eq!(output.status.code(), Some(2));
}

/// A batch running beside the test.
fn start(store: &Path, source: &Path) -> Child {
    Command::new(env!("CARGO_BIN_EXE_platewright"))
        .args(["batch", "--fast", "--json", "--store"])
        .args([store, source])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// A folder with so many photos.
fn log(folder: &Path, photos: u8) -> std::path::PathBuf {
    let source = folder.join("log");
    fs::create_dir(&source).unwrap();
    for number in 0..photos {
        fs::write(source.join(format!("{number}.png")), photo(number)).unwrap();
    }
    source
}

fn readings(store: &Path) -> u64 {
    is_whole(store)["readings"].as_u64().unwrap()
}

#[test]
fn killed_at_any_moment_it_loses_nothing_and_does_nothing_twice() {
    const PHOTOS: u8 = 12;
    let folder = tempfile::tempdir().unwrap();
    let source = log(folder.path(), PHOTOS);
    let store = folder.path().join("store");
    for kill in 0..6u64 {
        let mut child = start(&store, &source);
        // Spread over loading, storing and reading; no two runs alike.
        let moment = 60 + 2477 * (kill * 7 + 3) % 2600;
        std::thread::sleep(Duration::from_millis(moment));
        child.kill().unwrap();
        child.wait().unwrap();
    }
    let last = summary(&batch(&store, &[source.to_str().unwrap()]));
    assert_eq!(last["waiting"], 0, "{last}");
    assert_eq!(last["failed"], 0, "{last}");
    assert_eq!(exported(&store).len(), usize::from(PHOTOS));
    assert_eq!(readings(&store), u64::from(PHOTOS));
}

#[cfg(unix)]
#[test]
fn asked_to_stop_it_finishes_what_is_in_hand_and_goes_on_later() {
    let folder = tempfile::tempdir().unwrap();
    let source = log(folder.path(), 6);
    let store = folder.path().join("store");
    let child = start(&store, &source);
    // Asked as soon as reading has begun: the first reading is in the store.
    while !store.exists() || readings(&store) == 0 {
        std::thread::sleep(Duration::from_millis(100));
    }
    let asked = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(asked.success());
    let output = child.wait_with_output().unwrap();
    let stopped = summary(&output);
    let count = |of: &Value, key: &str| of[key].as_u64().unwrap();
    assert_eq!(
        count(&stopped, "read") + count(&stopped, "waiting"),
        6,
        "{stopped}"
    );
    // Unless it was done before it heard.
    if count(&stopped, "waiting") > 0 {
        assert_eq!(
            (&stopped["stopped"], output.status.code()),
            (&Value::Bool(true), Some(1))
        );
    }
    let rest = summary(&batch(&store, &[source.to_str().unwrap()]));
    assert_eq!(rest["read"], stopped["waiting"]);
    assert_eq!(readings(&store), 6);
}
