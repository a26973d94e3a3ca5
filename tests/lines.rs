//! Text in and out: what `read --alto` and `--hocr` write, `fields` understands, and other engines' files too.

mod common;

use common::{fixture, json_lines, platewright};
use std::fs;

#[test]
fn what_read_writes_gives_fields_the_same_values() {
    let folder = tempfile::tempdir().unwrap();
    let photos = [
        fixture("plates/02-easy-boxed-grid-printed.jpg"),
        fixture("plates/04-easy-free-text-printed.jpg"),
    ];
    let read = platewright()
        .args(["read", "--json"])
        .args(&photos)
        .output()
        .unwrap();
    let direct = json_lines(&read.stdout);
    for format in ["--alto", "--hocr"] {
        let output = platewright()
            .args(["read", format])
            .args(&photos)
            .arg(fixture("bad/zero-bytes.jpg"))
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(1), "one photo is bad");
        assert!(String::from_utf8_lossy(&output.stderr).contains("zero-bytes.jpg"));
        let lines = folder.path().join("lines.xml");
        fs::write(&lines, &output.stdout).unwrap();

        let output = platewright()
            .args(["fields", "--json"])
            .arg(&lines)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0));
        let again = json_lines(&output.stdout);
        assert_eq!(again.len(), photos.len(), "one object a page");
        for (at, (record, known)) in again.iter().zip(&direct).enumerate() {
            let name = format!("{}#page={}", lines.display(), at + 1);
            assert_eq!(record["file"], name.as_str());
            for field in ["volts", "hp", "rpm", "phase", "hertz"] {
                let printed = |r: &serde_json::Value| r["fields"][field]["printed"].clone();
                assert_eq!(printed(record), printed(known), "{format} {field}");
            }
        }
    }
}

#[test]
fn another_engines_lines_give_a_table_or_json() {
    for name in ["lines/tesseract.hocr", "lines/tesseract-alto.xml"] {
        let file = fixture(name);
        let output = platewright()
            .args(["fields", "--json"])
            .arg(&file)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0));
        let records = json_lines(&output.stdout);
        assert_eq!(records[0]["file"], file.display().to_string().as_str());
        assert_eq!(
            records[0]["fields"]["volts"]["printed"], "208-230",
            "{name}"
        );
        assert_eq!(records[0]["fields"]["phase"]["printed"], "1", "{name}");
        assert!(records[0]["codes"].as_array().unwrap().is_empty());
    }
    let output = platewright()
        .arg("fields")
        .arg(fixture("lines/tesseract.hocr"))
        .output()
        .unwrap();
    assert!(String::from_utf8_lossy(&output.stdout).contains("208-230 V"));
}

#[test]
fn files_that_hold_no_lines_get_their_error() {
    let folder = tempfile::tempdir().unwrap();
    let empty = folder.path().join("empty.hocr");
    fs::write(
        &empty,
        "<html><body><div class='ocr_page' title='bbox 0 0 9 9'/></body></html>",
    )
    .unwrap();
    let cases = [
        (fixture("bad/not-an-image.jpg"), "not_text"),
        (fixture("bad/no-text.jpg"), "encoding"),
        (fixture("no-such-file.hocr"), "not_found"),
        (folder.path().to_owned(), "directory"),
        (empty, "no_text"),
    ];
    let output = platewright()
        .args(["fields", "--json"])
        .args(cases.iter().map(|(path, _)| path))
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    let wrong: Vec<String> = cases
        .iter()
        .zip(json_lines(&output.stdout))
        .filter(|((path, kind), line)| {
            line["error"]["kind"] != *kind || line["file"] != path.display().to_string().as_str()
        })
        .map(|((path, kind), line)| format!("{}: expected {kind}, got {line}", path.display()))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn formats_exclude_each_other() {
    for args in [
        ["--alto", "--hocr"],
        ["--alto", "--json"],
        ["--hocr", "--explain"],
    ] {
        let output = platewright()
            .arg("read")
            .args(args)
            .arg("a.jpg")
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(2), "{args:?}");
    }
}
