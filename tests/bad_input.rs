//! What bad photos get: an error that names the file and says what to do next, exit status 1, and all
//! the others still read.

mod common;

use common::{fixture, json_lines, platewright};
use std::fs;
use std::path::{Path, PathBuf};

/// A PNG header that claims 30,000 x 30,000 pixels; whoever believes it takes gigabytes.
fn huge_png(path: &Path) {
    let mut header = b"IHDR".to_vec();
    header.extend(30_000u32.to_be_bytes());
    header.extend(30_000u32.to_be_bytes());
    header.extend([8, 2, 0, 0, 0]);
    let mut png = b"\x89PNG\r\n\x1a\n".to_vec();
    for chunk in [header, b"IDAT".to_vec(), b"IEND".to_vec()] {
        png.extend(u32::try_from(chunk.len() - 4).unwrap().to_be_bytes());
        png.extend(&chunk);
        png.extend(crc32(&chunk).to_be_bytes());
    }
    fs::write(path, png).unwrap();
}

/// CRC-32 as PNG (ISO/IEC 15948, annex D) defines it.
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| {
            (c >> 1) ^ (0xEDB8_8320 & (0u32.wrapping_sub(c & 1)))
        })
    })
}

#[test]
fn every_bad_photo_gets_its_error_and_the_good_one_its_record() {
    let folder = tempfile::tempdir().unwrap();
    let huge = folder.path().join("huge.png");
    huge_png(&huge);
    let cases: Vec<(PathBuf, &str)> = vec![
        (fixture("bad/zero-bytes.jpg"), "empty"),
        (fixture("bad/not-an-image.jpg"), "not_an_image"),
        (fixture("bad/truncated.jpg"), "truncated"),
        (fixture("bad/no-text.jpg"), "no_text"),
        (huge, "too_large"),
        (folder.path().to_owned(), "directory"),
        (folder.path().join("missing.jpg"), "not_found"),
    ];
    let good = fixture("plates/02-easy-boxed-grid-printed.jpg");
    let output = platewright()
        .args(["read", "--json"])
        .args(cases.iter().map(|(path, _)| path))
        .arg(&good)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    let lines = json_lines(&output.stdout);
    assert_eq!(lines.len(), cases.len() + 1, "one line a photo");
    let wrong: Vec<String> = cases
        .iter()
        .zip(&lines)
        .filter(|((path, kind), line)| {
            let message = line["error"]["message"].as_str().unwrap_or("");
            line["file"] != path.display().to_string().as_str()
                || line["error"]["kind"] != *kind
                || !message.contains(&path.display().to_string())
        })
        .map(|((path, kind), line)| format!("{}: expected {kind}, got {line}", path.display()))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(
        lines[cases.len()]["fields"]["volts"]["printed"].is_string(),
        "the good one is read"
    );
}

#[test]
fn a_photo_without_permission_is_told_apart() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let locked = folder.path().join("locked.jpg");
    fs::copy(fixture("bad/no-text.jpg"), &locked).unwrap();
    fs::set_permissions(&locked, fs::Permissions::from_mode(0o000)).unwrap();
    if fs::read(&locked).is_ok() {
        // The superuser may read everything: nothing to see here.
        return;
    }
    let output = platewright()
        .args(["read", "--json"])
        .arg(&locked)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(json_lines(&output.stdout)[0]["error"]["kind"], "permission");
}

#[test]
fn without_json_errors_go_to_the_error_stream() {
    let bad = fixture("bad/zero-bytes.jpg");
    let output = platewright().arg("read").arg(&bad).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(output.stdout.is_empty());
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        said.contains("zero-bytes.jpg") && said.contains("0 bytes"),
        "{said}"
    );
}

#[test]
fn a_wrong_command_line_exits_with_2() {
    for args in [
        &["read"][..],
        &["read", "--clear", "2", "a.jpg"],
        &["nothing"],
    ] {
        let output = platewright().args(args).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{args:?}");
    }
}

#[test]
fn a_folder_without_models_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let output = platewright()
        .args(["read", "--models"])
        .arg(folder.path())
        .arg(fixture("bad/no-text.jpg"))
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("models"), "{said}");
}
