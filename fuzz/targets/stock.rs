//! A stock list as text.
#![no_main]

use libfuzzer_sys::fuzz_target;
use platewright::matching::{Place, Requirement, match_stock};
use platewright::record::NameplateRecord;
use platewright::stock::{Mapping, StockList, header_uses};
use platewright_fuzz::{file, plant};
use std::path::Path;
use std::sync::LazyLock;

fuzz_target!(
    init: plant(|| {
        let names = ["tests/cases/shop.csv", "fixtures/stock/odd-headers.csv", "fixtures/stock/counter.csv", "fixtures/bad/stock-utf16.csv", "fixtures/bad/stock-broken-row.csv", "fixtures/bad/stock-latin1.csv"];
        names.map(file).into()
    }),
    |data: &[u8]| {
        static OLD: LazyLock<NameplateRecord> = LazyLock::new(|| {
            NameplateRecord::from_json(&String::from_utf8_lossy(&file("tests/cases/fan.json"))).expect("a record")
        });
        let name = Path::new("list.csv");
        let _ = header_uses(data, name, &Mapping::default());
        if let Ok(list) = StockList::from_bytes(data, name) {
            let _ = match_stock(&Requirement::new(&OLD, Place::default()), &list.motors);
        }
    }
);
