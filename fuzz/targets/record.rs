//! A record as JSON, from `read --json` or by hand.
#![no_main]

use libfuzzer_sys::fuzz_target;
use platewright::confirm::answered;
use platewright::record::NameplateRecord;
use platewright::sheet;
use platewright_fuzz::{file, go_on, plant};

fuzz_target!(
    init: plant(|| {
        let cases = ["tests/cases/fan.json", "tests/cases/pump.json"].map(file);
        let more = br#"{"class": {"value": "air-over"}, "fields": {"kw": {"printed": "6", "value": 0.006}, "hp": {"printed": "1/2, 1/3", "state": "doubtful", "alternatives": [{"printed": "1/2"}], "quad": [[0,0],[9,0],[9,9],[0,9]]}}, "ratings": [{"volts": 230, "hp": 0.5}], "lines": [{"text": "BALL BRG", "confidence": 0.9, "quad": [[0,0],[9,0],[9,9],[0,9]]}]}"#;
        cases.into_iter().chain([more.to_vec()]).collect()
    }),
    |text: &str| {
        let Ok(record) = NameplateRecord::from_json(text) else {
            return;
        };
        let matches = go_on(&record);
        let _ = sheet::blocks(&record, &matches, &matches.requirement.demands(), 3);
        let _ = answered(&record, &[]);
        let json = serde_json(&record);
        let again = NameplateRecord::from_json(&json).unwrap_or_else(|e| panic!("{e}: {json}"));
        assert_eq!(serde_json(&again), json);
    }
);

fn serde_json(record: &NameplateRecord) -> String {
    serde_json::to_string(record).expect("a record is JSON")
}
