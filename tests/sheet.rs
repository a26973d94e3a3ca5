//! What stands on the sheet of paper.

use platewright::matching::{Place, Requirement};
use platewright::pick::pick;
use platewright::record::NameplateRecord;
use platewright::sheet::{Block, blocks, render};
use platewright::stock::StockList;
use platewright::units::Volts;
use std::path::Path;

const RECORD: &str = r#"{"class": {"value": "general-purpose"}, "fields": {"hp": {"printed": "15"},
    "volts": {"printed": "230/460", "state": "confirmed", "reasons": ["counter confirmed \"230/460\"; read before: \"280/460\" (doubtful)"]},
    "amps": {"printed": "36/18", "state": "doubtful", "alternatives": [{"printed": "38/18"}]}, "phase": {"printed": "3"},
    "hertz": {"printed": "60"}, "rpm": {"printed": "1750"}, "service_factor": {"printed": "1.15"}, "frame": {"printed": "254U"},
    "enclosure": {"printed": "TEFC"}}}"#;

fn sheet(rows: &str) -> Vec<Block> {
    let record = NameplateRecord::from_json(RECORD).unwrap();
    let list =
        format!("sku,class,hp,volts,amps,phase,hertz,rpm,service_factor,frame,enclosure\n{rows}");
    let list = StockList::from_bytes(list.as_bytes(), Path::new("list.csv")).unwrap();
    let place = Place {
        supply: Some(Volts(480.0)),
        ..Place::default()
    };
    let requirement = Requirement::new(&record, place);
    let matches = pick(&requirement, &list.motors);
    blocks(&record, &matches, &requirement.demands(), 3)
}

/// All that is written on the sheet, a line for each piece or row.
fn text(blocks: &[Block]) -> String {
    let lines = blocks.iter().flat_map(|block| match block {
        Block::Title(t) | Block::Heading(t) | Block::Text(t) | Block::Alert(t) => vec![t.clone()],
        Block::Candidate { name, outcome } => vec![format!("{name}: {}", outcome.text)],
        Block::Photo => vec!["(photo)".to_owned()],
        Block::Table { rows, .. } => rows
            .iter()
            .map(|row| {
                row.iter()
                    .map(|c| c.text.as_str())
                    .collect::<Vec<_>>()
                    .join(" | ")
            })
            .collect(),
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// Source of the figures: NEC 430.250 (15 hp, 460 V: 21 A), 430.22, 430.32(A)(1), 430.52(C)(1), 240.6(A);
/// NEMA MG 1 4.4.1 (frames 254U and 254T).
#[test]
fn the_sheet_says_what_was_read_what_is_wanted_and_what_it_takes() {
    let told = text(&sheet(
        "A-1,general-purpose,15,230/460,36/18,3,60,1750,1.15,254T,TEFC\n",
    ));
    for part in [
        "counter confirmed \"230/460\"; read before: \"280/460\" (doubtful)",
        "full-load amps | 36/18 A | doubtful | or 38/18",
        "The place, as told: supply 480 V.",
        "at least 17.25 hp",
        "A-1: FITS WITH WORK",
        "WORK | shaft | 1.375 in × 3.75 in | 1.625 in × 4 in | open the driven bore from 1.375 in to 1.625 in",
        "conductor ampacity, at least | 26.25 A",
        "overload setting, at most | 22.5 A",
        "time-delay fuse, at most | 40 A",
        "inverse-time breaker, at most | 60 A",
        "discharge the capacitors",
        "Checked by (licensed person)",
    ] {
        assert!(told.contains(part), "{part} is missing in:\n{told}");
    }
}

#[test]
fn a_doubtful_row_gets_no_electrical_figures_and_comes_last() {
    let told = text(&sheet(
        "A-ODD,general-purpose,15,230/460,36/180,3,60,1750,1.15,254U,TEFC\nB-1,general-purpose,15,230/460,36/18,3,60,1750,1.15,254U,TEFC\n",
    ));
    assert!(told.find("B-1: FITS") < told.find("A-ODD: FITS"), "{told}");
    assert!(
        told.contains("Look at this row of the list: 180 A at 460 V"),
        "{told}"
    );
    assert!(told.contains("No electrical figures"), "{told}");
    assert!(!told.contains("225 A"), "{told}");
}

#[test]
fn nothing_in_stock_is_said() {
    let blocks = sheet("C-1,general-purpose,1,115,9,1,60,3450,1.0,56,ODP\n");
    assert!(text(&blocks).contains("Nothing in stock fits: buy by the lines above."));
    assert!(render(&blocks, None).unwrap().starts_with(b"%PDF-"));
}
