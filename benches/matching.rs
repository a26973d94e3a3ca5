//! Reading and matching a stock list of 100,000 rows: rows a second, and the best of several runs.
//!
//! `cargo bench --bench matching -- LIST.csv` also saves the list, so that `scripts/bench-match` can put the
//! same rows into SQLite and time the bare filter there.

use platewright::matching::{CandidateOutcome, Place, Requirement, match_stock};
use platewright::record::NameplateRecord;
use platewright::stock::StockList;
use std::fmt::Write;
use std::path::Path;
use std::time::Instant;

const ROWS: usize = 100_000;
const RUNS: usize = 5;

const FAN: &str = r#"{"class": {"value": "air-over"}, "fields": {"amps": {"printed": "2.0"}, "volts": {"printed": "230"},
    "phase": {"printed": "1"}, "hertz": {"printed": "60"}, "rpm": {"printed": "1075"}, "frame": {"printed": "48"},
    "enclosure": {"printed": "TEAO"}, "insulation_class": {"printed": "B"}, "duty": {"printed": "CONT"}}}"#;

/// The same record with a doubtful reading: two ways to read the plate.
const DOUBTFUL: &str = r#"{"class": {"value": "air-over"}, "fields": {"amps": {"printed": "2.0", "state": "doubtful",
    "alternatives": [{"printed": "2.6"}]}, "volts": {"printed": "230"}, "phase": {"printed": "1"},
    "hertz": {"printed": "60"}, "rpm": {"printed": "1075"}, "frame": {"printed": "48"}, "enclosure": {"printed": "TEAO"}}}"#;

/// Invented motors, the same at every run.
fn list() -> String {
    let mut state = 20u64;
    let mut pick = move |n: usize| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % n
    };
    let mut text = String::from(
        "sku,class,hp,volts,amps,phase,hertz,rpm,service_factor,frame,enclosure,insulation_class,duty,ambient_c,rotation,quantity\n",
    );
    for i in 0..ROWS {
        let air_over = pick(2) == 0;
        let volts = ["115", "230", "208-230", "460"][pick(4)];
        let amps = 0.5 + pick(150) as f64 / 10.0;
        let (class, enclosure) = match (air_over, pick(2)) {
            (true, 0) => ("air-over", "TEAO"),
            (true, _) => ("air-over", "OAO"),
            (false, 0) => ("general-purpose", "TEFC"),
            (false, _) => ("general-purpose", "ODP"),
        };
        let hp = ["1/4", "1/3", "1/2", "3/4", "1", "1-1/2", "5"][pick(7)];
        let rpm = [3450, 1725, 1140, 1100, 1075, 825][pick(6)];
        let frame = ["48", "48Y", "56", "56C", "143T", "184T"][pick(6)];
        let (insulation, rotation) = (["A", "B", "F"][pick(3)], ["CW", "CCW", "REV"][pick(3)]);
        let (phase, quantity) = ([1, 3][pick(2)], pick(9));
        let row = writeln!(
            text,
            "M{i},{class},{hp},{volts},{amps:.1},{phase},60,{rpm},1.15,{frame},{enclosure},{insulation},CONT,40,{rotation},{quantity}"
        );
        row.expect("text in memory takes any row");
    }
    text
}

/// Runs `work` several times and prints the rows a second of the best run.
fn measure<T>(what: &str, work: impl Fn() -> T) -> T {
    let mut best = f64::INFINITY;
    let mut result = None;
    for _ in 0..RUNS {
        let started = Instant::now();
        result = Some(work());
        best = best.min(started.elapsed().as_secs_f64());
    }
    println!("{what:<40} {:>9.0} rows/s  {best:.3} s", ROWS as f64 / best);
    result.expect("at least one run")
}

fn main() {
    let text = list();
    if let Some(path) = std::env::args().skip(1).find(|a| a.ends_with(".csv")) {
        std::fs::write(&path, &text).expect("the list can be saved");
    }
    let stock = measure("read the list", || {
        StockList::from_bytes(text.as_bytes(), Path::new("bench.csv"))
            .expect("the list is well formed")
    });
    for (what, record) in [
        ("match, every verdict with its reason", FAN),
        ("match, two ways to read the plate", DOUBTFUL),
    ] {
        let record = NameplateRecord::from_json(record).expect("the record is well formed");
        let requirement = Requirement::new(&record, Place::default());
        let matches = measure(what, || match_stock(&requirement, &stock.motors));
        let good = matches
            .candidates
            .iter()
            .filter(|c| c.outcome != CandidateOutcome::No)
            .count();
        println!("    {good} candidates");
    }
}
