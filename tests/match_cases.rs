//! The worked cases of `cases/matching.csv`, each against the matching engine.

use platewright::matching::{
    BoxSide, Drive, Hold, Outcome, Place, Requirement, Restart, Rotation, ShaftPosition,
    Surroundings, match_stock,
};
use platewright::record::{Bearings, NameplateRecord, Protection, ShaftEnds};
use platewright::stock::StockList;
use platewright::units::{Hertz, Inches, Volts};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

#[derive(Debug, Deserialize)]
struct Case {
    name: String,
    old: String,
    place: String,
    stock: String,
    outcome: String,
    verdicts: String,
    why: String,
    source: String,
}

type Motor = BTreeMap<String, String>;

/// The motors that the cases start from.
fn base(name: &str) -> &'static str {
    match name {
        "@fan" => {
            "class=air-over hp=1/4 volts=230 amps=2.0 phase=1 hertz=60 rpm=1075 frame=48 enclosure=TEAO \
             insulation_class=B ambient_c=60 duty=CONT rotation=REV"
        }
        "@tefc" => {
            "class=general-purpose hp=5 volts=230/460 amps=13/6.5 phase=3 hertz=60 rpm=1750 service_factor=1.15 \
             frame=184T enclosure=TEFC insulation_class=F ambient_c=40 duty=CONT"
        }
        _ => panic!("unknown base {name}"),
    }
}

/// `key=value` pairs apart by blanks; a value may hold blanks itself.
fn pairs(text: &str) -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> = Vec::new();
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        match (word.split_once('='), found.last_mut()) {
            (Some((key, value)), _) => found.push((key.to_owned(), value.to_owned())),
            (None, Some((_, value))) => *value = format!("{value} {word}"),
            (None, None) => panic!("{text}: {word} has no key"),
        }
    }
    found
}

fn motor(text: &str) -> Motor {
    let (name, changes) = text.split_once(' ').unwrap_or((text, ""));
    let mut motor: Motor = pairs(base(name)).into_iter().collect();
    for (key, value) in pairs(changes) {
        if value.is_empty() {
            motor.remove(&key);
        } else {
            motor.insert(key, value);
        }
    }
    motor
}

fn record(motor: &Motor) -> NameplateRecord {
    let mut fields = serde_json::Map::new();
    let mut lines = Vec::new();
    for (key, value) in motor.iter().filter(|(key, _)| *key != "class") {
        if key == "words" {
            let quad = [[0, 0], [9, 0], [9, 9], [0, 9]];
            lines.push(serde_json::json!({ "text": value, "confidence": 0.97, "quad": quad }));
        } else {
            fields.insert(key.clone(), serde_json::json!({ "printed": value }));
        }
    }
    let mut record = serde_json::json!({ "fields": fields, "lines": lines });
    if let Some(class) = motor.get("class") {
        record["class"] = serde_json::json!({ "value": class });
    }
    NameplateRecord::from_json(&record.to_string()).unwrap()
}

fn stock(motor: &Motor) -> StockList {
    let cell = |value: &String| format!("\"{value}\"");
    let headers: Vec<&str> = motor.keys().map(String::as_str).collect();
    let cells: Vec<String> = motor.values().map(cell).collect();
    let text = format!("sku,{}\nS-1,{}\n", headers.join(","), cells.join(","));
    StockList::from_bytes(text.as_bytes(), Path::new("case.csv")).unwrap()
}

fn place(text: &str) -> Place {
    let mut place = Place::default();
    for (key, value) in pairs(text) {
        match key.as_str() {
            "drive" => {
                place.drive = Some(match value.as_str() {
                    "belt" => Drive::Belt,
                    "pump" => Drive::Pump,
                    "coupling" => Drive::Coupling,
                    "fan" => Drive::Fan,
                    "gearbox" => Drive::Gearbox,
                    other => panic!("unknown drive {other}"),
                });
            }
            "supply" => place.supply = Some(Volts(value.parse().unwrap())),
            "place" => {
                place.surroundings = Some(if value == "wet" {
                    Surroundings::Wet
                } else {
                    Surroundings::Outdoors
                });
            }
            "room" => place.room = Some(Inches(value.parse().unwrap())),
            "box" => {
                place.conduit_box = Some(if value == "F1" {
                    BoxSide::F1
                } else {
                    BoxSide::F2
                })
            }
            "rotation" => place.rotation = Rotation::parse(&value),
            "hertz" => place.hertz = Some(Hertz(value.parse().unwrap())),
            "shaft" => place.shaft = Some(Inches(value.parse().unwrap())),
            "shaft_length" => place.shaft_length = Some(Inches(value.parse().unwrap())),
            "flats" => place.shaft_flats = value.parse().ok(),
            "ends" => place.shaft_ends = ShaftEnds::parse(&value),
            "position" => {
                place.shaft_position = Some(match value.as_str() {
                    "level" => ShaftPosition::Level,
                    "up" => ShaftPosition::Up,
                    "down" => ShaftPosition::Down,
                    other => panic!("unknown position {other}"),
                });
            }
            "mounting" => place.hold = Hold::parse(&value),
            "protection" => place.protection = Protection::parse(&value),
            "bearings" => place.bearings = Bearings::parse(&value),
            "restart" => {
                place.restart = Some(match value.as_str() {
                    "dangerous" => Restart::Dangerous,
                    "harmless" => Restart::Harmless,
                    other => panic!("unknown restart {other}"),
                });
            }
            other => panic!("unknown place {other}"),
        }
    }
    place
}

/// What is wrong with a case; `None` when all is as expected.
fn check(case: &Case) -> Option<String> {
    let list = stock(&motor(&case.stock));
    if !list.faults.is_empty() {
        return Some(format!("{}: {:?}", case.name, list.faults));
    }
    let requirement = Requirement::new(&record(&motor(&case.old)), place(&case.place));
    let matches = match_stock(&requirement, &list.motors);
    let candidate = serde_json::to_value(&matches.candidates[0]).unwrap();
    let mut wrong = Vec::new();
    if candidate["outcome"] != case.outcome.as_str() {
        wrong.push(format!(
            "outcome {} instead of {}",
            candidate["outcome"], case.outcome
        ));
    }
    let expected: Vec<(&str, &str)> = case
        .verdicts
        .split(';')
        .filter_map(|v| v.split_once('='))
        .collect();
    let found = candidate["verdicts"].as_array().unwrap();
    for (criterion, outcome) in &expected {
        let verdict = found.iter().find(|v| v["criterion"] == *criterion);
        if verdict.is_none_or(|v| v["outcome"] != *outcome) {
            wrong.push(format!("{criterion} should be {outcome}: {verdict:?}"));
        }
    }
    for verdict in &matches.candidates[0].verdicts {
        let name = serde_json::to_value(verdict.criterion).unwrap();
        if verdict.outcome != Outcome::Pass && !expected.iter().any(|(c, _)| name == *c) {
            wrong.push(format!("not foreseen: {verdict:?}"));
        }
    }
    let text = wrong.join("\n    ");
    (!wrong.is_empty())
        .then(|| format!("{} ({}; {})\n    {text}", case.name, case.why, case.source))
}

#[test]
fn worked_cases_come_out_as_foreseen() {
    let cases: Vec<Case> = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(include_str!("cases/matching.csv").as_bytes())
        .deserialize()
        .collect::<Result<_, _>>()
        .unwrap();
    assert!(cases.len() >= 60, "{} cases", cases.len());
    assert!(
        cases
            .iter()
            .all(|c| !c.why.is_empty() && !c.source.is_empty())
    );
    let wrong: Vec<String> = cases.iter().filter_map(check).collect();
    assert!(
        wrong.is_empty(),
        "{} of {} cases:\n{}",
        wrong.len(),
        cases.len(),
        wrong.join("\n")
    );
}
