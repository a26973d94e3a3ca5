//! Matching as a whole: properties that hold for any motors, and doubt that flows from the record to the
//! candidates.

use platewright::matching::{
    CandidateOutcome, Criterion, Matches, Outcome, Place, Requirement, match_stock,
};
use platewright::record::NameplateRecord;
use platewright::stock::{StockList, StockMotor};
use proptest::prelude::*;
use std::path::Path;

const HEADERS: &str = "sku,class,hp,kw,volts,amps,phase,hertz,rpm,service_factor,frame,enclosure,\
                       insulation_class,duty,ambient_c,rotation";

fn stock(rows: &str) -> Vec<StockMotor> {
    let list = StockList::from_bytes(
        format!("{HEADERS}\n{rows}").as_bytes(),
        Path::new("shop.csv"),
    )
    .unwrap();
    assert_eq!(list.faults, [], "{rows}");
    list.motors
}

fn find(record: &str, rows: &str) -> Matches {
    let record = NameplateRecord::from_json(record).unwrap();
    match_stock(&Requirement::new(&record, Place::default()), &stock(rows))
}

fn outcomes(matches: &Matches) -> Vec<(&str, CandidateOutcome)> {
    matches
        .candidates
        .iter()
        .map(|c| (c.sku.as_str(), c.outcome))
        .collect()
}

const FAN: &str = r#"{"class": {"value": "air-over"}, "fields": {"amps": {"printed": "2.0"}, "volts": {"printed": "230"},
    "phase": {"printed": "1"}, "hertz": {"printed": "60"}, "rpm": {"printed": "1075"}, "frame": {"printed": "48"},
    "enclosure": {"printed": "TEAO"}}}"#;

#[test]
fn candidates_come_best_first_and_closest_first() {
    let matches = find(
        FAN,
        "far,air-over,1/3,,230,2.5,1,60,1075,,48,TEAO,,,,\nexact,air-over,1/4,,230,2.0,1,60,1075,,48,TEAO,,,,\n\
         strong,air-over,1/2,,230,2.6,1,60,1075,,48,TEAO,,,,\nweak,air-over,1/4,,230,1.9,1,60,1075,,48,TEAO,,,,\n\
         raised,air-over,1/4,,230,2.1,1,60,1075,,42,TEAO,,,,\nunsure,,1/4,,230,2.1,1,60,1075,,48,OPEN,,,,\n\
         belted,general-purpose,1/4,,230,2.0,1,60,1075,,48,TEFC,,,,\n",
    );
    use CandidateOutcome::{Fits, No, Work};
    let found = outcomes(&matches);
    assert_eq!(
        found[..3],
        [("exact", Fits), ("far", Fits), ("raised", Work)]
    );
    assert!(found[3..].iter().all(|(_, o)| *o == No), "{found:?}");
    assert!(matches.cautions.len() >= 2);
}

#[test]
fn absent_facts_ask_and_never_pass() {
    let fields = ["amps", "volts", "phase", "hertz", "rpm", "frame"];
    for field in fields {
        let mut record: serde_json::Value = serde_json::from_str(FAN).unwrap();
        record["fields"].as_object_mut().unwrap().remove(field);
        let matches = find(
            &record.to_string(),
            "a,air-over,1/4,,230,2.0,1,60,1075,,48,TEAO,,,,\n",
        );
        let candidate = &matches.candidates[0];
        assert_eq!(
            candidate.outcome,
            CandidateOutcome::Ask,
            "{field}: {:?}",
            candidate.verdicts
        );
        assert!(
            matches.questions.iter().any(|q| q.field == field),
            "{field}: {:?}",
            matches.questions
        );
    }
}

#[test]
fn a_doubtful_reading_that_matters_is_asked() {
    let doubtful = FAN.replace(
        r#""amps": {"printed": "2.0"}"#,
        r#""amps": {"printed": "2.0", "state": "doubtful", "confidence": 0.7,
            "alternatives": [{"printed": "2.6", "confidence": 0.3}]}"#,
    );
    let rows = "both,air-over,1/4,,230,2.5,1,60,1075,,48,TEAO,,,,\nhigh,air-over,1/3,,230,3.0,1,60,1075,,48,TEAO,,,,\n\
                none,air-over,1/2,,230,4.0,1,60,1075,,48,TEAO,,,,\n";
    let matches = find(&doubtful, rows);
    use CandidateOutcome::{Ask, No};
    let mut found = outcomes(&matches);
    found.sort();
    assert_eq!(found, [("both", Ask), ("high", Ask), ("none", No)]);
    assert_eq!(matches.questions[0].field, "amps");
    assert_eq!(matches.questions[0].choices, ["2.0", "2.6"]);
    let both = matches.candidates.iter().find(|c| c.sku == "both").unwrap();
    assert_eq!(both.depends, ["fits if amps is 2.0", "no if amps is 2.6"]);
}

#[test]
fn a_doubtful_reading_that_changes_nothing_is_not_asked() {
    let doubtful = FAN.replace(
        r#""amps": {"printed": "2.0"}"#,
        r#""amps": {"printed": "2.0", "state": "doubtful", "alternatives": [{"printed": "2.1"}]}"#,
    );
    let matches = find(
        &doubtful,
        "a,air-over,1/4,,230,2.3,1,60,1075,,48,TEAO,,,,\n",
    );
    assert_eq!(outcomes(&matches), [("a", CandidateOutcome::Fits)]);
    assert_eq!(matches.questions, []);
}

#[test]
fn a_doubt_without_another_reading_is_unknown() {
    let doubtful = FAN.replace(
        r#""amps": {"printed": "2.0"}"#,
        r#""amps": {"printed": "2.0", "state": "doubtful"}"#,
    );
    let matches = find(
        &doubtful,
        "a,air-over,1/4,,230,2.0,1,60,1075,,48,TEAO,,,,\n",
    );
    assert_eq!(outcomes(&matches), [("a", CandidateOutcome::Ask)]);
    assert_eq!(matches.questions[0].field, "amps");
}

#[test]
fn no_doubtful_reading_passes_unasked() {
    let row = "a,air-over,1/4,,230,2.0,1,60,1075,1.0,48,TEAO,F,60 MIN,60,CW\n";
    let shown = [
        ("amps", "2.0"),
        ("volts", "230"),
        ("phase", "1"),
        ("hertz", "60"),
        ("rpm", "1075"),
        ("frame", "48"),
        ("enclosure", "TEAO"),
        ("insulation_class", "F"),
        ("duty", "60 MIN"),
        ("ambient_c", "60"),
        ("rotation", "CW"),
    ];
    let record = |doubtful: Option<&str>| {
        let fields = shown.iter().map(|(key, printed)| {
            let state = if doubtful == Some(*key) {
                "doubtful"
            } else {
                "clear"
            };
            (
                key.to_string(),
                serde_json::json!({"printed": printed, "state": state}),
            )
        });
        let fields: serde_json::Map<String, serde_json::Value> = fields.collect();
        serde_json::json!({"class": {"value": "air-over"}, "fields": fields}).to_string()
    };
    let certain = find(&record(None), row);
    assert_eq!(
        outcomes(&certain),
        [("a", CandidateOutcome::Fits)],
        "{:?}",
        certain.candidates[0].verdicts
    );
    for (key, printed) in shown {
        let matches = find(&record(Some(key)), row);
        assert_eq!(outcomes(&matches), [("a", CandidateOutcome::Ask)], "{key}");
        // The doubtful reading is offered as an answer.
        let question = matches.questions.iter().find(|q| q.field == key);
        assert_eq!(
            question.map(|q| q.choices.clone()),
            Some(vec![printed.to_owned()]),
            "{key}"
        );
    }
}

#[test]
fn the_question_that_splits_best_comes_first() {
    // The class decides over both motors, the enclosure over one of them.
    let record = r#"{"class": {"value": "air-over", "state": "doubtful"}, "fields": {"amps": {"printed": "2.0"},
        "hp": {"printed": "1/4"}, "volts": {"printed": "230"}, "phase": {"printed": "1"}, "hertz": {"printed": "60"},
        "rpm": {"printed": "1075"}, "frame": {"printed": "48"}}}"#;
    let matches = find(
        record,
        "open,air-over,1/4,,230,2.0,1,60,1075,,48,OAO,,,,\nshut,air-over,1/4,,230,2.0,1,60,1075,,48,TEAO,,,,\n",
    );
    let asked: Vec<&str> = matches.questions.iter().map(|q| q.field.as_str()).collect();
    assert_eq!(asked, ["class", "enclosure"]);
}

#[test]
fn a_several_horsepower_motor_names_the_rating_to_use() {
    let matches = find(
        FAN,
        "multi,air-over,\"1/2, 1/3, 1/4\",,230,3.8/2.4/1.9,1,60,1075,,48,TEAO,,,,\n",
    );
    let candidate = &matches.candidates[0];
    assert_eq!(
        candidate.outcome,
        CandidateOutcome::Fits,
        "{:?}",
        candidate.verdicts
    );
    assert_eq!(candidate.rating.amps.map(|a| a.0), Some(2.4));
    assert!((candidate.rating.hp.unwrap().0 - 1.0 / 3.0).abs() < 1e-9);
}

#[test]
fn every_verdict_has_its_numbers_and_its_source() {
    let matches = find(
        FAN,
        "a,air-over,1/4,,208-230,2.4-2.3,1,60,1100,,56Y,OAO,B,CONT,40,CW\nb,general-purpose,1,,115,9,3,50,3450,,145TC,ODP,,,,\n",
    );
    for verdict in matches.candidates.iter().flat_map(|c| &c.verdicts) {
        assert!(
            !verdict.why.is_empty() && !verdict.source.is_empty() && !verdict.had.is_empty(),
            "{verdict:?}"
        );
    }
}

/// A motor of the shop, as a row and as the plate that it bears.
#[derive(Debug, Clone)]
struct Motor {
    air_over: bool,
    hp: &'static str,
    volts: &'static str,
    amps: f64,
    phase: u8,
    rpm: u32,
    frame: &'static str,
    enclosure: &'static str,
}

fn motor() -> impl Strategy<Value = Motor> {
    let frames = prop::sample::select(vec![
        "48", "56", "56C", "143T", "145T", "182T", "184T", "213T", "256U", "90L",
    ]);
    (
        any::<bool>(),
        prop::sample::select(vec!["1/4", "1/3", "1/2", "3/4", "1", "1-1/2", "5", "10"]),
        prop::sample::select(vec!["115", "230", "460", "208-230"]),
        1u32..400,
        prop::sample::select(vec![1u8, 3]),
        prop::sample::select(vec![3450u32, 1725, 1750, 1140, 1075, 850, 825]),
        frames,
        any::<bool>(),
    )
        .prop_map(
            |(air_over, hp, volts, amps, phase, rpm, frame, closed)| Motor {
                air_over,
                hp,
                volts,
                amps: f64::from(amps) / 10.0,
                phase,
                rpm,
                frame,
                enclosure: match (air_over, closed) {
                    (true, true) => "TEAO",
                    (true, false) => "OAO",
                    (false, true) => "TEFC",
                    (false, false) => "ODP",
                },
            },
        )
}

impl Motor {
    fn class(&self) -> &'static str {
        if self.air_over {
            "air-over"
        } else {
            "general-purpose"
        }
    }

    fn row(&self, sku: usize) -> String {
        let Motor {
            hp,
            volts,
            amps,
            phase,
            rpm,
            frame,
            enclosure,
            ..
        } = self;
        format!(
            "m{sku},{},{hp},,{volts},{amps},{phase},60,{rpm},1.15,{frame},{enclosure},B,CONT,40,REV\n",
            self.class()
        )
    }

    fn record(&self) -> String {
        let Motor {
            hp,
            volts,
            amps,
            phase,
            rpm,
            frame,
            enclosure,
            ..
        } = self;
        let field = |key: &str, printed: &dyn std::fmt::Display| {
            format!("\"{key}\": {{\"printed\": \"{printed}\"}}")
        };
        let fields = [
            field("hp", hp),
            field("volts", volts),
            field("amps", amps),
            field("phase", phase),
            field("hertz", &60),
            field("rpm", rpm),
            field("frame", frame),
            field("enclosure", enclosure),
            field("service_factor", &1.15),
            field("insulation_class", &"B"),
            field("duty", &"CONT"),
            field("ambient_c", &40),
        ];
        format!(
            "{{\"class\": {{\"value\": \"{}\"}}, \"fields\": {{{}}}}}",
            self.class(),
            fields.join(", ")
        )
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_motor_fits_itself(motor in motor()) {
        let matches = find(&motor.record(), &motor.row(0));
        prop_assert_eq!(matches.candidates[0].outcome, CandidateOutcome::Fits, "{:?}", matches.candidates[0].verdicts);
        prop_assert_eq!(&matches.questions, &[]);
    }

    #[test]
    fn the_order_of_the_list_changes_nothing(old in motor(), motors in prop::collection::vec(motor(), 1..8), turn in 0usize..8) {
        let rows: Vec<String> = motors.iter().enumerate().map(|(i, m)| m.row(i)).collect();
        let mut turned = rows.clone();
        turned.rotate_left(turn % rows.len());
        let strip = |m: Matches| -> Vec<_> {
            m.candidates.into_iter().map(|c| (c.sku, c.outcome, c.rating, c.verdicts)).collect()
        };
        prop_assert_eq!(strip(find(&old.record(), &rows.concat())), strip(find(&old.record(), &turned.concat())));
    }

    #[test]
    fn the_worst_verdict_is_the_outcome(old in motor(), new in motor()) {
        let matches = find(&old.record(), &new.row(0));
        let candidate = &matches.candidates[0];
        let worst = candidate.verdicts.iter().map(|v| v.outcome).max().unwrap();
        let expected = match worst {
            Outcome::Pass => CandidateOutcome::Fits,
            Outcome::Work => CandidateOutcome::Work,
            Outcome::Ask => CandidateOutcome::Ask,
            Outcome::Fail => CandidateOutcome::No,
        };
        prop_assert_eq!(candidate.outcome, expected);
    }

    #[test]
    fn classes_never_stand_in_for_each_other(old in motor(), new in motor()) {
        let matches = find(&old.record(), &new.row(0));
        if old.air_over != new.air_over {
            prop_assert_eq!(matches.candidates[0].outcome, CandidateOutcome::No);
        }
        let amps = matches.candidates[0].verdicts.iter().any(|v| v.criterion == Criterion::Amps);
        prop_assert_eq!(amps, old.air_over);
    }

    #[test]
    fn more_amps_never_go_from_too_strong_to_fitting(old in motor(), a in 1u32..600, b in 1u32..600) {
        let outcome = |tenths: u32| {
            let new = Motor { amps: f64::from(tenths) / 10.0, air_over: true, ..old.clone() };
            let old = Motor { air_over: true, ..old.clone() };
            let matches = find(&old.record(), &new.row(0));
            let verdict = matches.candidates[0].verdicts.iter().find(|v| v.criterion == Criterion::Amps);
            verdict.map(|v| (v.outcome, v.why.starts_with("too strong")))
        };
        let (low, high) = (outcome(a.min(b)), outcome(a.max(b)));
        if low.is_some_and(|(_, strong)| strong) {
            prop_assert!(high.is_some_and(|(_, strong)| strong));
        }
    }
}
