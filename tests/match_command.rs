//! `match`, `requirement` and `stock check` as people and programs use them.

mod common;

use common::{json_lines, platewright};
use std::path::PathBuf;
use std::process::Output;

fn case(name: &str) -> PathBuf {
    PathBuf::from("tests/cases").join(name)
}

fn run(args: &[&str]) -> Output {
    platewright()
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn matched(record: &str, more: &[&str]) -> Output {
    let (list, record) = (case("shop.csv"), case(record));
    run(&[
        &[
            "match",
            "--stock",
            list.to_str().unwrap(),
            record.to_str().unwrap(),
        ],
        more,
    ]
    .concat())
}

#[test]
fn candidates_are_printed_with_reasons_and_cautions() {
    let output = matched("pump.json", &["--supply", "480", "--drive", "pump"]);
    insta::assert_snapshot!("match_pump", text(&output.stdout));
    // One row of the list cannot be understood: said by line, and the status tells.
    assert_eq!(output.status.code(), Some(1));
    let said = text(&output.stderr);
    assert!(
        said.contains("shop.csv, line 11 (BAD-1)") && said.contains("two hundred"),
        "{said}"
    );
}

#[test]
fn a_doubtful_reading_is_asked() {
    let output = matched("fan.json", &["--supply", "240"]);
    insta::assert_snapshot!("match_fan", text(&output.stdout));
}

#[test]
fn machines_get_the_contract() {
    let output = matched("pump.json", &["--json", "--supply", "480"]);
    let lines = json_lines(&output.stdout);
    assert_eq!(lines.len(), 1);
    let object = &lines[0];
    let candidates = object["candidates"].as_array().unwrap();
    assert_eq!(candidates.len(), 9);
    assert_eq!(candidates[0]["sku"], "GP-5");
    assert_eq!(candidates[0]["outcome"], "fits");
    assert_eq!(candidates[0]["rating"]["volts"], 460.0);
    for verdict in candidates
        .iter()
        .flat_map(|c| c["verdicts"].as_array().unwrap())
    {
        for key in ["criterion", "outcome", "had", "offers", "why", "source"] {
            assert!(verdict[key].is_string(), "{verdict}");
        }
    }
    let first = candidates.iter().find(|c| c["sku"] == "AO-14").unwrap();
    assert_eq!(first["extra"]["colour"], "grey");
    assert_eq!(object["left_out"][0]["line"], 11);
    assert!(object["cautions"].as_array().unwrap().len() >= 2);
}

#[test]
fn the_buying_sheet_says_what_to_order() {
    let pump = run(&[
        "requirement",
        case("pump.json").to_str().unwrap(),
        "--place",
        "outdoors",
        "--room-in",
        "16",
    ]);
    insta::assert_snapshot!("requirement_pump", text(&pump.stdout));
    assert_eq!(pump.status.code(), Some(0));
    let fan = run(&["requirement", case("fan.json").to_str().unwrap()]);
    insta::assert_snapshot!("requirement_fan", text(&fan.stdout));
    let json = run(&["requirement", "--json", case("fan.json").to_str().unwrap()]);
    assert!(json_lines(&json.stdout)[0]["demands"].is_array());
}

#[test]
fn a_stock_list_is_checked() {
    let output = run(&["stock", "check", case("shop.csv").to_str().unwrap()]);
    insta::assert_snapshot!("stock_check", text(&output.stdout));
    assert_eq!(output.status.code(), Some(1));
}

/// The workbook was written by another program; its second sheet holds the rows of `shop.csv`, below a title,
/// and one whose horsepower the spreadsheet turned into a date.
#[test]
fn a_workbook_is_read_like_text() {
    let record = case("pump.json");
    let matched = |list: &str| {
        let args = ["match", "--json", "--stock", list, record.to_str().unwrap()];
        json_lines(&run(&args).stdout).remove(0)
    };
    let (mut workbook, mut text) = (
        matched("tests/cases/shop.xlsx"),
        matched("tests/cases/shop.csv"),
    );
    let left_out = workbook["left_out"].as_array().unwrap();
    let faults: Vec<(u64, &str)> = left_out
        .iter()
        .map(|f| (f["line"].as_u64().unwrap(), f["sku"].as_str().unwrap()))
        .collect();
    assert_eq!(faults, [(12, "BAD-1"), (13, "DATE-1")]);
    assert!(
        left_out[1]["message"]
            .as_str()
            .unwrap()
            .contains("made a date of a fraction")
    );
    for matches in [&mut workbook, &mut text] {
        for candidate in matches["candidates"].as_array_mut().unwrap() {
            // The title moves the lines, and numbers lose their idle noughts.
            candidate
                .as_object_mut()
                .unwrap()
                .retain(|key, _| key != "line" && key != "price");
        }
    }
    assert_eq!(workbook["candidates"], text["candidates"]);
}

#[test]
fn a_sheet_is_saved_as_pdf() {
    let folder = tempfile::tempdir().unwrap();
    let pdf = folder.path().join("sheet.pdf");
    let (list, record) = (case("shop.csv"), case("pump.json"));
    let output = run(&[
        "sheet",
        "--stock",
        list.to_str().unwrap(),
        record.to_str().unwrap(),
        "--supply",
        "480",
        "--pdf",
        pdf.to_str().unwrap(),
    ]);
    let said = text(&output.stderr);
    let bytes = std::fs::read(&pdf).unwrap_or_else(|e| panic!("{e}: {said}"));
    assert!(
        bytes.starts_with(b"%PDF-") && bytes.len() > 5_000,
        "{} bytes",
        bytes.len()
    );
}

#[test]
fn what_cannot_be_done_is_said() {
    for (args, status, message) in [
        (
            vec!["match", "--stock", "tests/cases/shop.csv", "missing.json"],
            1,
            "missing.json",
        ),
        (
            vec!["match", "--stock", "missing.csv", "tests/cases/pump.json"],
            1,
            "missing.csv",
        ),
        (
            vec![
                "match",
                "--stock",
                "tests/cases/pump.json",
                "tests/cases/pump.json",
            ],
            1,
            "no line of headers",
        ),
        (
            vec![
                "match",
                "--stock",
                "tests/cases/shop.csv",
                "tests/cases/shop.csv",
            ],
            1,
            "is not a record",
        ),
        (
            vec!["match", "--stock", "tests/cases", "tests/cases/pump.json"],
            1,
            "tests/cases",
        ),
        (vec!["match", "tests/cases/pump.json"], 2, "--stock"),
        (
            vec!["match", "--stock", "a.csv", "b.json", "--drive", "rope"],
            2,
            "rope",
        ),
        (
            vec!["match", "--stock", "a.csv", "b.json", "--shaft-in", "wide"],
            2,
            "5/8",
        ),
    ] {
        let output = run(&args);
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(status), "{args:?}: {said}");
        assert!(said.contains(message), "{args:?}: {said}");
    }
}
