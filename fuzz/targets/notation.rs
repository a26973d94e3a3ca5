//! What a plate prints, or a person answers, for every field and every word of the place.
#![no_main]

use libfuzzer_sys::fuzz_target;
use platewright::confirm::{Answer, Key, PlaceKey};
use platewright::record::{Field, notation, pair};
use platewright::stock::inches;
use platewright_fuzz::plant;

fuzz_target!(
    init: plant(|| {
        let seeds = ["208-230/460", "13.6-12.8/6.4", "1/2, 1/3, 1/4", "1-1/2", "CCWLE", "5 MFD 370 VAC", "60/50 HZ", "TEFC", "1750/1450", "0,75 kW", "C face", "B5", "40°C"];
        seeds.iter().map(|s| s.as_bytes().to_vec()).collect()
    }),
    |text: &str| {
        for &field in Field::ALL {
            let value = notation::parse(field, text);
            let _ = notation::groups(field, text);
            let answer = Answer::parse(Key::Field(field), text);
            if value.is_none() && !text.trim().is_empty() {
                assert!(answer.is_err(), "{field:?} {text:?} is taken and means nothing");
            }
        }
        for key in PlaceKey::all() {
            let _ = Answer::parse(Key::Place(key), text);
        }
        let _ = inches(text);
        // Several lines are the rows of a plate.
        let rows: Vec<&str> = text.lines().collect();
        let of = |field: Field| {
            let at = Field::ALL.iter().position(|f| *f == field)?;
            rows.get(at).copied()
        };
        let pairing = pair(of);
        assert!(pairing.points.len() <= 10_000, "{} rating points", pairing.points.len());
    }
);
