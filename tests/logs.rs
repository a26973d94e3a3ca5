//! Typed log pages through the whole chain: PDF or photo, one record a row, places on the page.

mod common;

use common::{exported, fixture, json_lines, platewright};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

fn truth() -> Vec<Value> {
    json_lines(&fs::read(fixture("logs/truth.jsonl")).unwrap())
}

/// What is printed, without what means nothing.
fn plain(printed: &str) -> String {
    printed
        .chars()
        .filter(|c| !c.is_whitespace())
        .flat_map(char::to_uppercase)
        .collect()
}

/// Compares the rows of a page with its truth, whose pixels are `scale` of the page's. Gives how many fields are printed and how many were read as they are; a
/// reading that is called clear and is not what is printed fails.
fn compare(name: &str, rows: &[Value], truth: &Value, scale: f64) -> (usize, usize) {
    let expected = truth["rows"].as_array().unwrap();
    assert_eq!(rows.len(), expected.len(), "{name}: rows");
    let (mut printed, mut right) = (0, 0);
    for (row, expected) in rows.iter().zip(expected) {
        let fields = expected["fields"].as_object().unwrap();
        for (field, value) in fields {
            printed += 1;
            let read = &row["fields"][field];
            let same = read["printed"]
                .as_str()
                .is_some_and(|p| plain(p) == plain(value["printed"].as_str().unwrap()));
            right += usize::from(same);
            assert!(
                same || read["state"] != "clear",
                "{name}: {field} is called clear: {read}, printed is {value}"
            );
        }
        for (field, read) in row["fields"].as_object().unwrap() {
            let nothing = !fields.contains_key(field) && read["state"] == "clear";
            assert!(!nothing, "{name}: {field} is not in this row: {read}");
            // Where it stands: on the row, as far as the truth knows it.
            if let (Some(quad), Some(row)) = (read["quad"].as_array(), expected["quad"].as_array())
            {
                let y = |quad: &[Value], at: usize| quad[at][1].as_f64().unwrap();
                let middle = (y(quad, 0) + y(quad, 2)) / 2.0 / scale;
                let (top, bottom) = (y(row, 0).min(y(row, 1)), y(row, 2).max(y(row, 3)));
                assert!(
                    top <= middle && middle <= bottom,
                    "{name}: {field} at {middle}, row {top} to {bottom}"
                );
            }
        }
    }
    (printed, right)
}

fn batch(store: &Path, args: &[&Path]) -> (Value, String) {
    let mut command = platewright();
    command
        .args(["batch", "--json", "--store"])
        .arg(store)
        .args(args);
    let output = command.output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    (json_lines(&output.stdout)[0].clone(), said)
}

#[test]
fn each_row_of_a_pdf_is_a_record_that_names_page_and_row() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store");
    let (first, said) = batch(&store, &[&fixture("logs/log.pdf")]);
    let pages: BTreeMap<u64, Value> = truth()
        .into_iter()
        .filter(|t| t["file"] == "log.pdf")
        .map(|t| (t["page"].as_u64().unwrap(), t))
        .collect();
    let rows = |page: &Value| page["rows"].as_array().unwrap().len();
    let all: usize = pages.values().map(rows).sum();
    assert_eq!(
        (&first["added"], &first["read"]),
        (&Value::from(2), &Value::from(all)),
        "{first}\n{said}"
    );
    let lines = exported(&store);
    assert_eq!(lines.len(), all);
    let (mut printed, mut right) = (0, 0);
    for (number, page) in &pages {
        let mut found = Vec::new();
        for row in 1..=rows(page) {
            let name = format!("log.pdf#page={number}&row={row}");
            let line: Vec<&Value> = lines
                .iter()
                .filter(|l| l["file"] == name.as_str())
                .collect();
            assert_eq!(line.len(), 1, "{name}");
            assert!(
                line[0]["source"]
                    .as_str()
                    .unwrap()
                    .ends_with(&format!("logs/{name}")),
                "{}",
                line[0]["source"]
            );
            assert_eq!(line[0]["log"]["row"], row);
            found.push(line[0].clone());
        }
        let (p, r) = compare(&format!("page {number}"), &found, page, 2.0);
        (printed, right) = (printed + p, right + r);
    }
    assert!(
        right * 100 >= printed * 90,
        "{right} of {printed} fields were read"
    );
    // Once more: known, and not even drawn.
    let (again, _) = batch(&store, &[&fixture("logs/log.pdf")]);
    assert_eq!(
        (&again["added"], &again["known"], &again["read"]),
        (&Value::from(0), &Value::from(2), &Value::from(0))
    );
    let checked = platewright()
        .args(["check-store", "--store"])
        .arg(&store)
        .output()
        .unwrap();
    assert_eq!(checked.status.code(), Some(0));
}

#[test]
fn a_pdf_that_is_locked_or_broken_is_a_row_that_says_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store");
    let (locked, broken) = (fixture("logs/locked.pdf"), fixture("logs/broken.pdf"));
    let (first, said) = batch(&store, &[&locked, &broken]);
    assert_eq!(
        (&first["failed"], &first["not_taken"]),
        (&Value::from(2), &Value::from(0)),
        "{first}"
    );
    for part in [
        "locked.pdf: is locked with a password",
        "broken.pdf: is no whole PDF",
    ] {
        assert!(said.contains(part), "{said}");
    }
    let mut kinds: Vec<String> = exported(&store)
        .iter()
        .map(|l| l["error"]["kind"].to_string())
        .collect();
    kinds.sort();
    assert_eq!(kinds, ["\"damaged\"", "\"encrypted\""]);
    let (again, _) = batch(&store, &[&locked, &broken]);
    assert_eq!(
        (&again["failed"], &again["known"]),
        (&Value::from(0), &Value::from(2))
    );
}

#[test]
fn read_says_that_a_photo_is_a_log_page() {
    let photos: Vec<Value> = truth()
        .into_iter()
        .filter(|t| t["page"].is_null())
        .collect();
    let names: Vec<_> = photos
        .iter()
        .map(|t| fixture("logs").join(t["file"].as_str().unwrap()))
        .collect();
    let output = platewright()
        .args(["read", "--json"])
        .args(&names)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    let lines = json_lines(&output.stdout);
    assert_eq!(lines.len(), photos.len());
    let (mut printed, mut right) = (0, 0);
    for (line, truth) in lines.iter().zip(&photos) {
        let name = truth["file"].as_str().unwrap();
        assert_eq!(line["error"]["kind"], "log_page", "{line}");
        let (p, r) = compare(name, line["rows"].as_array().unwrap(), truth, 1.0);
        (printed, right) = (printed + p, right + r);
    }
    assert!(
        right * 100 >= printed * 85,
        "{right} of {printed} fields were read"
    );
}

#[test]
fn handwriting_is_refused_and_nothing_of_it_is_guessed() {
    let mut names: Vec<_> = fs::read_dir(fixture("hand"))
        .unwrap()
        .map(|f| f.unwrap().path())
        .collect();
    names.sort();
    let output = platewright()
        .args(["read", "--json"])
        .args(&names)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    let lines = json_lines(&output.stdout);
    assert_eq!(lines.len(), names.len());
    for line in lines {
        assert_eq!(line["error"]["kind"], "handwriting", "{}", line["file"]);
        assert!(line["fields"].is_null(), "{line}");
    }
}
