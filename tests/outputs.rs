//! What the store gives out beside JSON and CSV: Parquet, the pictures in the workbook, the report.

#[path = "common/mod.rs"]
mod common;

use common::{done, fixture, platewright};
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::{Field as Cell, RowAccessor};
use platewright::photo::MediaType;
use platewright::record::NameplateRecord;
use platewright::report;
use platewright::store::{
    Location, NewEntry, NewPhoto, Source, SourceKind, Store, Versions, export_parquet, export_xlsx,
};
use std::fs::{self, File};
use std::io::{Cursor, Read};
use std::path::Path;
use std::time::Duration;

/// A store with one entry read, with a doubt that has its place on the photo, one failed and one waiting.
async fn store(folder: &Path) -> Store {
    let location = Location {
        folder: folder.join("store"),
        database: None,
        photos: None,
    };
    let store = Store::open(&location).await.unwrap();
    let plate = fs::read(fixture("plates/02-easy-boxed-grid-printed.jpg")).unwrap();
    for (name, bytes) in [
        ("a<b>&\"c\".jpg", plate),
        ("b.jpg", b"b".to_vec()),
        ("c.jpg", b"c".to_vec()),
    ] {
        let entry = NewEntry {
            source: Source::new(SourceKind::Mail, "<script>alert(1)</script>"),
            file_name: name.to_owned(),
            photos: vec![NewPhoto {
                bytes,
                media: MediaType::Jpeg,
                size: None,
            }],
            part: 0,
        };
        store.add(entry).await.unwrap();
        // One after the other, so that they are taken in this order.
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    let record = NameplateRecord::from_json(
        r#"{"class": {"value": "air-over"}, "fields": {
            "volts": {"printed": "208-230/460", "state": "clear", "confidence": 0.999},
            "amps": {"printed": "28", "state": "doubtful", "confidence": 0.6, "reasons": ["too much for <b>1 hp</b>"],
                     "alternatives": [{"printed": "2.8"}], "quad": [[100,100],[300,100],[300,140],[100,140]]},
            "hp": {"printed": "1", "state": "clear"}, "frame": {"printed": "<i>56", "state": "clear"}},
            "checks": [{"rule": "current", "fields": ["amps"], "outcome": "doubt", "message": "28 A is <b>far</b> too much",
                        "source": "a table"}],
            "questions": [{"field": "amps", "ask": "Does the plate say 28?", "choices": ["28", "2.8"]}]}"#,
    )
    .unwrap();
    let lease = Duration::from_secs(60);
    let read = store.take_next("one", lease).await.unwrap().unwrap();
    assert_eq!(read.entry.file_name, "a<b>&\"c\".jpg");
    let versions = Versions::with_models("m1");
    assert!(store.save_reading(&read, &record, &versions).await.unwrap());
    let failed = store.take_next("one", lease).await.unwrap().unwrap();
    store
        .save_failure(&failed, "damaged", "b.jpg: is <damaged>")
        .await
        .unwrap();
    store
}

#[tokio::test]
async fn parquet_has_characters_states_and_values() {
    let folder = tempfile::tempdir().unwrap();
    let store = store(folder.path()).await;
    let path = folder.path().join("motors.parquet");
    export_parquet(&store, File::create(&path).unwrap())
        .await
        .unwrap();
    let reader = SerializedFileReader::new(File::open(&path).unwrap()).unwrap();
    let rows: Vec<parquet::record::Row> = reader
        .get_row_iter(None)
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert_eq!(rows.len(), 3);
    let cell = |row: usize, name: &str| -> Cell {
        let found = rows[row]
            .get_column_iter()
            .find(|(column, _)| *column == name);
        found
            .unwrap_or_else(|| panic!("no column {name}"))
            .1
            .clone()
    };
    let text = |s: &str| Cell::Str(s.to_owned());
    for (row, column, expected) in [
        (0, "file", text("a<b>&\"c\".jpg")),
        (0, "state", text("read")),
        (0, "questions", Cell::Int(1)),
        (0, "class", text("air-over")),
        (0, "amps", text("28")),
        (0, "amps_state", text("doubtful")),
        (0, "amps_confidence", Cell::Double(0.6)),
        (0, "kw", Cell::Null),
        (0, "kw_state", text("absent")),
        (0, "kw_value", Cell::Null),
        (0, "frame_value", text("<I>56")),
        (1, "state", text("failed")),
        (1, "failure", text("b.jpg: is <damaged>")),
        (1, "volts_state", Cell::Null),
        (2, "state", text("queued")),
    ] {
        assert_eq!(cell(row, column), expected, "row {row}, {column}");
    }
    let Cell::ListInternal(volts) = cell(0, "volts_value") else {
        panic!("volts are a list");
    };
    let volts: Vec<&Cell> = volts.elements().iter().collect();
    assert_eq!(
        volts,
        [
            &Cell::Double(208.0),
            &Cell::Double(230.0),
            &Cell::Double(460.0)
        ]
    );
    assert!(rows[0].get_timestamp_millis(6).unwrap() > 1_600_000_000_000);
}

#[tokio::test]
async fn the_workbook_shows_what_is_doubtful_as_a_picture() {
    let folder = tempfile::tempdir().unwrap();
    let store = store(folder.path()).await;
    let mut bytes = Vec::new();
    assert_eq!(export_xlsx(&store, &mut bytes).await.unwrap(), 0);
    let mut archive = zip::ZipArchive::new(Cursor::new(&bytes)).unwrap();
    let pictures: Vec<String> = archive
        .file_names()
        .filter(|name| name.starts_with("xl/media/"))
        .map(str::to_owned)
        .collect();
    assert_eq!(pictures.len(), 1);
    let mut picture = Vec::new();
    archive
        .by_name(&pictures[0])
        .unwrap()
        .read_to_end(&mut picture)
        .unwrap();
    let picture = image::load_from_memory(&picture).unwrap();
    // 200 by 40 pixels with room around, at the height of a row.
    assert_eq!(picture.height(), 44);
    assert!((140..170).contains(&picture.width()), "{}", picture.width());
    use calamine::Reader as _;
    let mut book: calamine::Xlsx<_> = calamine::Xlsx::new(Cursor::new(bytes)).unwrap();
    let sheet = book.worksheet_range("to check").unwrap();
    let row: Vec<String> = sheet
        .rows()
        .nth(1)
        .unwrap()
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        row[2..6],
        ["full-load amps", "28", "2.8", "too much for <b>1 hp</b>"]
    );
}

#[tokio::test]
async fn the_report_counts_everything_and_runs_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let store = store(folder.path()).await;
    let summary = report::Summary::of(&store, || ()).await.unwrap();
    assert_eq!((summary.total.all(), summary.total.asks), (3, 1));
    assert_eq!((summary.total.failed, summary.total.waiting), (1, 1));
    assert_eq!((summary.implausible.all, summary.failed.all), (1, 1));
    let volts: Vec<(&str, u64)> = summary
        .volts
        .0
        .iter()
        .map(|(v, n)| (v.as_str(), *n))
        .collect();
    assert_eq!(volts, [("208", 1), ("230", 1), ("460", 1)]);
    store.close().await;

    let out = folder.path().join("report.html");
    let report = ["report", "--page", "http://127.0.0.1:8080/", "--store"];
    done(
        platewright()
            .args(report)
            .arg(folder.path().join("store"))
            .arg(&out),
    );
    let html = fs::read_to_string(&out).unwrap();
    for escaped in [
        "28 A is &#60;b&#62;far&#60;/b&#62; too much (a table)",
        "a&#60;b&#62;&#38;&#34;c&#34;.jpg",
        "&#60;script&#62;alert(1)",
        "&#60;I&#62;56",
        "b.jpg: is &#60;damaged&#62;",
    ] {
        assert!(html.contains(escaped), "{escaped}\n{html}");
    }
    assert!(html.contains("href=\"http://127.0.0.1:8080/entry/"));
    // Nothing is fetched and nothing runs: no script, and no address but that of the page.
    assert!(!html.contains("<script") && !html.contains("<img") && !html.contains("@import"));
    assert_eq!(
        html.matches("http").count(),
        html.matches("http://127.0.0.1:8080/entry/").count() + 1
    );
}

#[test]
fn what_stood_there_before_stays_when_an_export_fails() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("motors.csv");
    fs::write(&out, "of last week").unwrap();
    let output = platewright()
        .args(["export", "--format", "csv", "--store"])
        .arg(folder.path().join("no-store"))
        .arg(&out)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(fs::read_to_string(&out).unwrap(), "of last week");
}
