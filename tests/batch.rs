//! What becomes of folders, archives and mails; and that nothing is lost or there twice however a run ends.

mod common;
#[path = "common/sources.rs"]
mod sources;

use common::{exported, fixture, json_lines, platewright};
use serde_json::Value;
use sources::{base64, log, mail, photo, picture, zip};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;

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

/// A mail with an inline picture of this size, and these parts behind it.
fn signed(subject: &str, id: &str, logo: (u32, u32), parts: &str) -> String {
    format!(
        "From: Kim Roe <kim@example.org>\r\nSubject: {subject}\r\nMessage-ID: <{id}@example.org>\r\nMIME-Version: 1.0\r\n\
         Content-Type: multipart/mixed; boundary=b\r\n\r\n--b\r\nContent-Type: text/html\r\n\r\n<p>hello\r\n\
         --b\r\nContent-Type: image/png; name=logo.png\r\nContent-ID: <logo>\r\nContent-Disposition: inline; filename=logo.png\r\n\
         Content-Transfer-Encoding: base64\r\n\r\n{}\r\n{parts}--b--\r\n",
        base64(&picture(logo.0, logo.1))
    )
}

fn attached(name: &str, kind: &str, bytes: &[u8]) -> String {
    format!(
        "--b\r\nContent-Type: {kind}; name={name}\r\nContent-Disposition: attachment; filename={name}\r\n\
         Content-Transfer-Encoding: base64\r\n\r\n{}\r\n",
        base64(bytes)
    )
}

#[test]
fn the_photos_of_a_mail_belong_together_and_a_mail_without_one_is_a_row() {
    let folder = tempfile::tempdir().unwrap();
    let source = folder.path().join("mails");
    let store = folder.path().join("store");
    fs::create_dir(&source).unwrap();
    let put = |name: &str, text: &str| fs::write(source.join(name), text).unwrap();
    let two =
        attached("a.png", "image/png", &photo(1)) + &attached("b.png", "image/png", &photo(2));
    put("1.eml", &signed("two motors", "one", (300, 90), &two));
    // The same photo from somebody else is another question; the same mail again is not.
    put(
        "2.eml",
        &signed(
            "Fwd: two motors",
            "two",
            (1, 1),
            &attached("a.png", "image/png", &photo(1)),
        ),
    );
    put("3.eml", &signed("two motors", "one", (300, 90), &two));
    put(
        "4.eml",
        &signed(
            "any news?",
            "three",
            (300, 90),
            &attached("terms.docx", "application/msword", b"PK"),
        ),
    );
    // A picture in the text that is large enough is a photo.
    put("5.eml", &signed("in the text", "four", (640, 480), ""));
    let output = batch(&store, &[source.to_str().unwrap()]);
    let said = String::from_utf8_lossy(&output.stderr);
    let first = summary(&output);
    for (key, expected) in [("added", 4), ("known", 2), ("not_taken", 0), ("waiting", 0)] {
        assert_eq!(first[key], expected, "{key}: {first}\n{said}");
    }
    let lines = exported(&store);
    assert_eq!(lines.len(), 5);
    let of = |message: &str| -> Vec<&Value> {
        lines
            .iter()
            .filter(|l| l["message"] == format!("{message}@example.org"))
            .collect()
    };
    assert_eq!(of("one").len(), 2);
    for line in of("one") {
        assert_eq!(
            line["note"],
            "left out: logo.png (a picture of 300 × 90 pixels)"
        );
    }
    assert_eq!(of("two").len(), 1);
    let none = of("three");
    assert_eq!(none[0]["error"]["kind"], "no_photo");
    let message = none[0]["error"]["message"].as_str().unwrap();
    for part in [
        "4.eml: no photo is in this mail",
        "logo.png (a picture of 300 × 90 pixels)",
        "terms.docx",
        "Ask the sender",
    ] {
        assert!(message.contains(part), "{message}");
    }
    assert!(
        none[0]["source"]
            .as_str()
            .unwrap()
            .ends_with("Kim Roe <kim@example.org>, any news?")
    );
    assert_eq!(of("four").len(), 1);
    // What has no photo cannot be read again, and keeps its reason.
    let again = summary(&batch(&store, &["--retry", "failed"]));
    let line = exported(&store)
        .into_iter()
        .find(|l| l["message"] == "three@example.org")
        .unwrap();
    assert_eq!(line["error"]["kind"], "no_photo", "{again}");
    is_whole(&store);
}

#[test]
fn a_mailbox_with_a_mail_that_is_too_large_gives_its_others() {
    use platewright::intake::{Item, Limits, Stop, Walk};
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("inbox.mbox");
    let letters = [
        mail("small", &photo(1), None),
        mail("large", &vec![0xFF; 1_600_000], None),
        mail("small again", &photo(2), None),
    ];
    let text: String = letters
        .iter()
        .map(|l| format!("From a\r\n{l}\r\n"))
        .collect();
    fs::write(&path, text).unwrap();
    let limits = Limits {
        nested_bytes: 1_500_000,
        ..Limits::default()
    };
    let mut seen = Vec::new();
    let mut each = |item: Item| {
        seen.push(match item {
            Item::Photo(found) => found.source.to_string(),
            Item::Refused(refused) => format!("{}: {}", refused.kind, refused.source),
            other => format!("{other:?}"),
        });
        std::ops::ControlFlow::Continue(())
    };
    let _ = Walk::new(&limits, None, &Stop::default(), &mut each).source(&path);
    let place = path.display();
    let kim = "Kim Roe <kim@example.org>";
    assert_eq!(
        seen,
        [
            format!("mail: {place} > message 1 > plate.png, {kim}, small"),
            format!("too_large: mail: {place} > message 2, {kim}, large"),
            format!("mail: {place} > message 3 > plate.png, {kim}, small again"),
        ]
    );
}

#[test]
fn a_copy_of_a_photo_is_told_and_kept() {
    let folder = tempfile::tempdir().unwrap();
    let source = folder.path().join("log");
    let store = folder.path().join("store");
    fs::create_dir(&source).unwrap();
    let plate = |name: &str| image::open(fixture(name)).unwrap();
    let save = |picture: &image::DynamicImage, side: u32, name: &str| {
        let small = picture.thumbnail(side, side).to_rgb8();
        small.save(source.join(name)).unwrap();
    };
    let one = plate("plates/02-easy-boxed-grid-printed.jpg");
    save(&one, 900, "original.jpg");
    save(&one, 500, "from-a-messenger.jpg");
    save(
        &plate("plates/04-easy-free-text-printed.jpg"),
        900,
        "another.jpg",
    );
    let first = summary(&batch(&store, &[source.to_str().unwrap()]));
    assert_eq!(
        (&first["read"], &first["same"]),
        (&3.into(), &1.into()),
        "{first}"
    );
    let lines = exported(&store);
    let copies: Vec<&Value> = lines.iter().filter(|l| l["same_as"].is_string()).collect();
    assert_eq!(copies.len(), 1, "{lines:?}");
    assert_eq!(copies[0]["same_by"], "photo");
    let original = lines
        .iter()
        .find(|l| l["id"] == copies[0]["same_as"])
        .unwrap();
    let mut names = [&original["file"], &copies[0]["file"]].map(|n| n.as_str().unwrap());
    names.sort_unstable();
    assert_eq!(names, ["from-a-messenger.jpg", "original.jpg"]);

    // Another copy, told to a person; and both columns stand in the table.
    save(&one, 640, "cropped.jpg");
    let output = platewright()
        .args(["batch", "--fast", "--store"])
        .args([&store, &source])
        .output()
        .unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    let told = "1 of them looks like a photo or motor that is there already";
    assert!(said.contains(told), "{said}");
    let mut export = platewright();
    export
        .args(["export", "--format", "csv", "--store"])
        .arg(&store);
    let table = export.output().unwrap().stdout;
    let mut reader = csv::Reader::from_reader(table.as_slice());
    let headers = reader.headers().unwrap().clone();
    let column = headers.iter().position(|h| h == "same_as").unwrap();
    let by = headers.iter().position(|h| h == "same_by").unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let told: Vec<&csv::StringRecord> = rows.iter().filter(|r| &r[by] == "photo").collect();
    assert_eq!((rows.len(), told.len()), (4, 2));
    assert!(told.iter().all(|r| r[column] == told[0][column]));
}
