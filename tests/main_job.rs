//! The main job on the command line: from a photo, or a record written by hand, to the candidates.

mod common;

use common::{done, fixture, json_lines, platewright};
use serde_json::Value;
use std::fs;
use std::path::Path;

fn matches(stock: &str, record: &str, options: &[&str]) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let (list, file) = (
        folder.path().join("stock.csv"),
        folder.path().join("record.json"),
    );
    fs::write(&list, stock).unwrap();
    fs::write(&file, record).unwrap();
    let mut command = platewright();
    command.args(["match", "--json", "--stock"]);
    let output = done(command.arg(&list).arg(&file).args(options));
    json_lines(&output).remove(0)
}

fn outcome<'a>(matches: &'a Value, sku: &str, criterion: &str) -> &'a str {
    let candidates = matches["candidates"].as_array().unwrap();
    let candidate = candidates
        .iter()
        .find(|c| c["sku"] == sku)
        .expect("the motor is listed");
    let verdicts = candidate["verdicts"].as_array().unwrap();
    let verdict = verdicts.iter().find(|v| v["criterion"] == criterion);
    verdict
        .and_then(|v| v["outcome"].as_str())
        .unwrap_or("none")
}

/// The window of air-over amps, inclusive at both ends (common practice): 2.0 A takes 2.0 A to 2.5 A.
#[test]
fn air_over_motors_are_chosen_by_amps() {
    let stock = "sku,class,volts,amps,phase,hertz,rpm,frame\n\
                 low,air-over,230,1.9,1,60,1075,48Y\nleast,air-over,230,2.0,1,60,1075,48Y\n\
                 most,air-over,230,2.5,1,60,1075,48Y\nhigh,air-over,230,2.6,1,60,1075,48Y\n\
                 general,general-purpose,230,2.2,1,60,1075,48Y\n";
    let record = r#"{"class": {"value": "air-over"}, "fields": {"amps": {"printed": "2.0"}, "volts": {"printed": "230"},
        "phase": {"printed": "1"}, "hertz": {"printed": "60"}, "rpm": {"printed": "1075"}, "frame": {"printed": "48Y"}}}"#;
    let found = matches(stock, record, &[]);
    let amps: Vec<&str> = ["low", "least", "most", "high"]
        .map(|sku| outcome(&found, sku, "amps"))
        .into();
    assert_eq!(amps, ["fail", "pass", "pass", "fail"]);
    assert_eq!(outcome(&found, "general", "class"), "fail");
}

/// Source: 10 hp x 1.15 = 11.5 hp and 1 hp x 1.15 = 1.15 hp (worked examples of MG 1 service factors).
#[test]
fn general_purpose_motors_are_chosen_by_power_times_service_factor() {
    let stock = "sku,class,hp,volts,amps,phase,hertz,rpm,service_factor,frame,enclosure\n\
                 same,general-purpose,10,460,13,3,60,1750,1.15,215T,ODP\n\
                 weak,general-purpose,10,460,13,3,60,1750,1.0,215T,ODP\n\
                 kilowatts,general-purpose,15,460,19,3,60,1750,1.0,215T,ODP\n";
    let record = r#"{"class": {"value": "general-purpose"}, "fields": {"hp": {"printed": "10"}, "service_factor": {"printed": "1.15"},
        "volts": {"printed": "460"}, "phase": {"printed": "3"}, "hertz": {"printed": "60"}, "rpm": {"printed": "1750"},
        "frame": {"printed": "215T"}, "enclosure": {"printed": "ODP"}}}"#;
    let found = matches(stock, record, &[]);
    let capacity: Vec<&str> = ["same", "weak", "kilowatts"]
        .map(|sku| outcome(&found, sku, "capacity"))
        .into();
    assert_eq!(capacity, ["pass", "fail", "pass"]);
    assert_eq!(found["candidates"][0]["sku"], "same");
    assert_eq!(found["candidates"][0]["outcome"], "fits");
    assert!(found["cautions"].as_array().unwrap().len() >= 2);
}

#[test]
fn a_photo_leads_to_a_motor_that_fits() {
    let output = platewright()
        .args(["replace", "--json", "--stock"])
        .arg(fixture("stock/warehouse.csv"))
        .arg(fixture("plates/02-easy-boxed-grid-printed.jpg"))
        .args(["--supply", "460"])
        .output()
        .unwrap();
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let found = json_lines(&output.stdout).remove(0);
    assert_eq!(
        found["record"]["fields"]["amps"]["value"],
        serde_json::json!([14.2, 12.9, 6.5])
    );
    let best = &found["candidates"][0];
    // Nothing stands against it; what is asked is what the plate left doubtful.
    let doubtful = |criterion: &str| {
        let key = if criterion == "insulation" {
            "insulation_class"
        } else {
            criterion
        };
        found["record"]["fields"][key]["state"] == "doubtful"
    };
    for verdict in best["verdicts"].as_array().unwrap() {
        let criterion = verdict["criterion"].as_str().unwrap();
        assert!(
            verdict["outcome"] == "pass" || doubtful(criterion),
            "{verdict}"
        );
    }
    assert_eq!(
        outcome(&found, best["sku"].as_str().unwrap(), "capacity"),
        "pass"
    );
    assert_eq!(best["rating"]["volts"], 460.0);
    let worst = found["candidates"].as_array().unwrap().last().unwrap();
    assert_eq!(worst["outcome"], "no");
}

#[test]
fn without_a_terminal_questions_are_listed() {
    let output = platewright()
        .args(["replace", "--stock"])
        .arg(fixture("stock/warehouse.csv"))
        .arg(fixture("plates/02-easy-boxed-grid-printed.jpg"))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(said.contains("? Which of its voltages"), "{said}");
    assert!(
        said.contains("lock out") && said.contains("local code"),
        "the cautions stand below:\n{said}"
    );
}

#[test]
fn bad_stock_lists_are_told_by_file_and_line() {
    let record = fixture("stock").join("none.json");
    let folder = tempfile::tempdir().unwrap();
    let by_hand = folder.path().join("record.json");
    fs::write(&by_hand, r#"{"fields": {"amps": {"printed": "2.0"}}}"#).unwrap();
    struct Case<'a> {
        stock: &'a str,
        record: &'a Path,
        exit: i32,
        says: &'a [&'a str],
    }
    let cases = [
        Case {
            stock: "bad/stock-broken-row.csv",
            record: &by_hand,
            exit: 1,
            says: &["stock-broken-row.csv", "line "],
        },
        Case {
            stock: "bad/stock-no-header.csv",
            record: &by_hand,
            exit: 1,
            says: &["stock-no-header.csv", "header"],
        },
        Case {
            stock: "bad/stock-latin1.csv",
            record: &by_hand,
            exit: 0,
            says: &[],
        },
        Case {
            stock: "bad/stock-utf16.csv",
            record: &by_hand,
            exit: 0,
            says: &[],
        },
        Case {
            stock: "bad/zero-bytes.jpg",
            record: &by_hand,
            exit: 1,
            says: &["zero-bytes.jpg", "empty"],
        },
        Case {
            stock: "plates/02-easy-boxed-grid-printed.jpg",
            record: &by_hand,
            exit: 1,
            says: &["CSV"],
        },
        Case {
            stock: "stock/missing.csv",
            record: &by_hand,
            exit: 1,
            says: &["missing.csv"],
        },
        Case {
            stock: "stock/counter.csv",
            record: &record,
            exit: 1,
            says: &["none.json"],
        },
    ];
    let mut wrong = Vec::new();
    for case in &cases {
        let output = platewright()
            .args(["match", "--json", "--stock"])
            .arg(fixture(case.stock))
            .arg(case.record)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        if output.status.code() != Some(case.exit) || !case.says.iter().all(|s| said.contains(s)) {
            wrong.push(format!(
                "{}: exit {:?}, {said}",
                case.stock,
                output.status.code()
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What a photo alone says, as the command prints it.
fn read(photos: &[&Path], options: &[&str]) -> Vec<Value> {
    let output = platewright()
        .args(["read", "--json", "--fast"])
        .args(options)
        .args(photos)
        .output()
        .unwrap();
    json_lines(&output.stdout)
}

#[test]
fn of_several_photos_each_reading_says_on_which_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    let plate = image::open(fixture("plates/02-easy-boxed-grid-printed.jpg")).unwrap();
    let (width, height) = (plate.width(), plate.height());
    let save = |name: &str, from: u32, to: u32| {
        let path = folder.path().join(name);
        plate
            .crop_imm(0, from, width, to - from)
            .save(&path)
            .unwrap();
        path
    };
    // The upper and the lower part of the plate, and in front of them a photo that is none.
    let none = folder.path().join("none.jpg");
    fs::write(&none, b"").unwrap();
    let upper = save("upper.png", 0, height * 55 / 100);
    let lower = save("lower.png", height * 45 / 100, height);
    let merged = read(&[&none, &upper, &lower], &["--same-motor"]);
    assert_eq!(
        (merged.len(), &merged[0]["error"]["kind"]),
        (2, &Value::from("empty"))
    );
    let merged = &merged[1];
    assert_eq!(merged["file"], upper.to_str().unwrap());
    let alone = [&read(&[&upper], &[])[0], &read(&[&lower], &[])[0]].map(Clone::clone);
    let mut on = [0, 0];
    for (key, reading) in merged["fields"].as_object().unwrap() {
        if reading["quad"].is_null() {
            continue;
        }
        let photo = reading["photo"].as_u64().unwrap() as usize - 1;
        assert_eq!(
            reading["quad"], alone[photo]["fields"][key]["quad"],
            "{key}"
        );
        on[photo] += 1;
    }
    assert!(on[0] > 0 && on[1] > 0, "{on:?}");
    let of = |photo: usize| {
        let lines = merged["lines"].as_array().unwrap();
        lines.iter().filter(|l| l["photo"] == photo + 1).count()
    };
    let lines = |record: &Value| record["lines"].as_array().unwrap().len();
    assert_eq!([of(0), of(1)], [lines(&alone[0]), lines(&alone[1])]);
    assert!(alone[0]["lines"][0].get("photo").is_none());
}

/// Answers at a terminal take the same way as those on the page. `script` (util-linux) gives the command a terminal.
#[cfg(target_os = "linux")]
#[test]
fn replace_asks_and_takes_answers() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("stock.csv");
    fs::write(
        &list,
        "sku,class,hp,volts,amps,phase,hertz,rpm,frame,enclosure\n\
         belt,general-purpose,5,208-230/460,14,3,60,1750,184T,TEFC\n\
         high,general-purpose,5,460,6.5,3,60,1750,184T,TEFC\n",
    )
    .unwrap();
    let command = format!(
        "{} replace --fast --stock {} {}",
        env!("CARGO_BIN_EXE_platewright"),
        list.display(),
        fixture("plates/02-easy-boxed-grid-printed.jpg").display()
    );
    let output = assert_cmd::Command::new("script")
        .args(["--quiet", "--return", "--command", &command, "/dev/null"])
        .write_stdin("nonsense\n".repeat(2) + &"\n".repeat(30))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert_eq!(output.status.code(), Some(0), "{said}");
    assert!(said.contains("Enter if you cannot tell"), "{said}");
    assert!(said.contains("is not understood as"), "{said}");
    assert!(said.contains("Wanted:"), "{said}");
}
