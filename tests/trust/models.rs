//! The models: a wrong one is refused with what to do, and a right one gives the same answer every time.

use super::*;

/// A copy of the models folder.
fn models(folder: &Path) -> PathBuf {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("models");
    let to = folder.join("models");
    fs::create_dir(&to).unwrap();
    for name in [
        "SHA256SUMS",
        "det.onnx",
        "rec.onnx",
        "second.onnx",
        "alphabet.txt",
    ] {
        fs::copy(from.join(name), to.join(name)).unwrap();
    }
    to
}

/// Writes the sums anew, as whoever builds a folder by hand would: with `sha256sum` (coreutils).
fn sign(folder: &Path) {
    let sums = Command::new("sha256sum")
        .args(["alphabet.txt", "det.onnx", "rec.onnx", "second.onnx"])
        .current_dir(folder)
        .output()
        .unwrap();
    fs::write(folder.join("SHA256SUMS"), sums.stdout).unwrap();
}

#[test]
fn a_wrong_or_old_model_is_refused_with_what_to_do() {
    struct Case {
        what: &'static str,
        change: fn(&Path),
        says: &'static [&'static str],
    }
    let cases = [
        Case {
            what: "a bit that turned over",
            change: |folder| {
                let path = folder.join("rec.onnx");
                let mut bytes = fs::read(&path).unwrap();
                bytes[1_000_000] ^= 1;
                fs::write(path, bytes).unwrap();
            },
            says: &[
                "rec.onnx",
                "SHA256SUMS says",
                "Copy the models folder again",
            ],
        },
        Case {
            what: "a model of another version beside the sums of this one",
            change: |folder| {
                fs::copy(folder.join("second.onnx"), folder.join("det.onnx")).unwrap();
            },
            says: &["det.onnx", "SHA256SUMS says"],
        },
        Case {
            what: "an old folder, whole in itself, whose alphabet has a character less",
            change: |folder| {
                let path = folder.join("alphabet.txt");
                let text = fs::read_to_string(&path).unwrap();
                fs::write(&path, text.split_once('\n').unwrap().1).unwrap();
                sign(folder);
            },
            says: &["rec.onnx", "Take a models folder of this version"],
        },
        Case {
            what: "a recogniser in the detector's place, signed",
            change: |folder| {
                fs::copy(folder.join("rec.onnx"), folder.join("det.onnx")).unwrap();
                sign(folder);
            },
            says: &["det.onnx", "Take a models folder of this version"],
        },
        Case {
            what: "half a download, signed",
            change: |folder| {
                let path = folder.join("det.onnx");
                let bytes = fs::read(&path).unwrap();
                fs::write(path, &bytes[..bytes.len() / 2]).unwrap();
                sign(folder);
            },
            says: &["det.onnx", "is not a model that can be used here"],
        },
    ];
    let mut wrong = Vec::new();
    for case in cases {
        let folder = tempfile::tempdir().unwrap();
        let models = models(folder.path());
        (case.change)(&models);
        let output = finish(
            platewright()
                .args(["read", "--models"])
                .arg(&models)
                .arg(fixture("bad/no-text.jpg")),
        );
        let said = said(&output);
        if output.status.code() != Some(1) || !case.says.iter().all(|part| said.contains(part)) {
            wrong.push(format!("{}: {:?} {said}", case.what, output.status));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The same bits however many threads read, one photo at a time or several.
#[test]
fn what_is_read_does_not_depend_on_threads_or_on_the_day() {
    let photos = [
        "plates/02-easy-boxed-grid-printed.jpg",
        "plates/17-hard-free-text-engraved.jpg",
    ]
    .map(fixture);
    let read = |threads: &str| {
        let output = platewright()
            .args(["read", "--json"])
            .args(&photos)
            .env("RAYON_NUM_THREADS", threads)
            .output()
            .unwrap();
        let mut lines = json_lines(&output.stdout);
        for line in &mut lines {
            line.as_object_mut().unwrap().remove("ms");
        }
        lines
    };
    let first = read("1");
    assert_eq!(first.len(), photos.len());
    assert!(first == read("4"), "other threads, other readings");
    assert!(first == read("4"), "another run, other readings");

    let folder = tempfile::tempdir().unwrap();
    let source = folder.path().join("log");
    fs::create_dir(&source).unwrap();
    for photo in &photos {
        fs::copy(photo, source.join(photo.file_name().unwrap())).unwrap();
    }
    // One photo at a time with all threads, or two with a share of them each.
    let [alone, together] = ["1", "2"].map(|jobs| {
        let store = folder.path().join(jobs);
        finish(
            platewright()
                .args(["batch", "--json", "--jobs", jobs, "--store"])
                .arg(&store)
                .arg(&source),
        );
        exported(&store)
    });
    assert_eq!(alone.len(), photos.len());
    // As the photo by itself reads, field by field.
    let readings = |line: &Value| -> Vec<(String, Value, Value)> {
        let fields = line["fields"].as_object().unwrap();
        let of =
            |(key, r): (&String, &Value)| (key.clone(), r["printed"].clone(), r["state"].clone());
        fields.iter().map(of).collect()
    };
    let batched: Vec<_> = alone.iter().map(readings).collect();
    for line in &first {
        assert!(
            batched.contains(&readings(line)),
            "{} differs in a batch",
            line["file"]
        );
    }
    assert!(alone == together, "other jobs, other readings");
}
