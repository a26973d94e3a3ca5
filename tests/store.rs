//! The store's behaviour: the same on SQLite and on PostgreSQL.
//!
//! The PostgreSQL test is ignored by a plain `cargo test`; `scripts/test` starts a server of its own, names it in
//! `PLATEWRIGHT_TEST_DATABASE` and runs it.

#[path = "common/postgres.rs"]
mod postgres;

use platewright::confirm::Key;
use platewright::photo::{Likeness, MediaType};
use platewright::record::{Field, NameplateRecord, State};
use platewright::store::{
    EntryState, Filter, Location, NewEntry, NewList, NewPhoto, SameBy, Source, SourceKind, Store,
    StoreError, Versions, export_csv, export_history_csv, export_history_json_lines,
    export_json_lines, export_xlsx,
};
use std::collections::HashSet;
use std::path::Path;
use std::time::Duration;

const LEASE: Duration = Duration::from_secs(60);

fn location(folder: &Path) -> Location {
    Location {
        folder: folder.to_owned(),
        database: None,
        photos: None,
    }
}

/// An entry whose photo is these bytes; the store does not look into them.
fn entry(kind: SourceKind, file_name: &str, bytes: &[u8]) -> NewEntry {
    NewEntry {
        source: Source::new(kind, "test"),
        file_name: file_name.to_owned(),
        photos: vec![NewPhoto {
            bytes: bytes.to_vec(),
            media: MediaType::Jpeg,
            size: Some((40, 30)),
        }],
        part: 0,
    }
}

fn record() -> NameplateRecord {
    NameplateRecord::from_json(
        r#"{"class": {"value": "air-over"}, "fields": {"volts": {"printed": "208-230", "state": "clear"},
            "amps": {"printed": "28", "state": "doubtful", "alternatives": [{"printed": "2.8"}]},
            "hp": {"printed": "1/2", "state": "clear"}, "model": {"printed": "=1+1", "state": "clear"}},
            "questions": [{"field": "amps", "ask": "Does the plate say 28?", "choices": ["28", "2.8"]}]}"#,
    )
    .unwrap()
}

async fn read_next(store: &Store) -> String {
    let lease = store.take_next("test", LEASE).await.unwrap().unwrap();
    let versions = Versions::with_models("m1");
    assert!(
        store
            .save_reading(&lease, &record(), &versions)
            .await
            .unwrap()
    );
    lease.entry.id
}

async fn a_photo_is_one_entry_however_often_it_comes(store: Store) {
    let (first, new) = store
        .add(entry(SourceKind::Phone, "../../etc/passwd", b"one"))
        .await
        .unwrap();
    assert!(new);
    let (again, new) = store
        .add(entry(SourceKind::Phone, "b.jpg", b"one"))
        .await
        .unwrap();
    assert_eq!((again.id, new), (first.id.clone(), false));
    assert_eq!(first.file_name, "../../etc/passwd");
    let (other, new) = store
        .add(entry(SourceKind::Mail, "a.jpg", b"one"))
        .await
        .unwrap();
    assert!(new && other.id != first.id);
    let photos = store.photos(&first.id).await.unwrap();
    assert_eq!(photos.len(), 1);
    let file = store.photo_file(&photos[0]).await.unwrap();
    assert_eq!(std::fs::read(&file).unwrap(), b"one");
    assert_eq!(store.photo_bytes(&photos[0]).await.unwrap(), b"one");
    // Wherever the file lies, nobody's names are in its path.
    assert!(!file.as_ref().display().to_string().contains("passwd"));
    assert_eq!(store.misplaced_photo().await.unwrap(), None);
    assert_eq!(store.count(&Filter::default()).await.unwrap(), 2);
}

async fn entries_are_listed_filtered_and_searched(store: Store) {
    for (i, name) in ["roof 50%.jpg", "cellar_1.jpg", "cellarx1.jpg"]
        .iter()
        .enumerate()
    {
        store
            .add(entry(SourceKind::Phone, name, &[i as u8]))
            .await
            .unwrap();
    }
    read_next(&store).await;
    let found = async |filter: Filter| store.entries(&filter).await.unwrap().len();
    let search = |text: &str| Filter {
        search: text.to_owned(),
        ..Filter::default()
    };
    assert_eq!(found(search("CELLAR")).await, 2);
    assert_eq!(found(search("cellar_")).await, 1);
    assert_eq!(found(search("50%")).await, 1);
    assert_eq!(found(search("208-230")).await, 1);
    assert_eq!(found(search("'; DROP TABLE entry; --")).await, 0);
    let state = |state| Filter {
        state: Some(state),
        ..Filter::default()
    };
    assert_eq!(found(state(EntryState::Queued)).await, 2);
    assert_eq!(found(state(EntryState::Read)).await, 1);
    assert_eq!(
        found(Filter {
            asks: Some(true),
            ..Filter::default()
        })
        .await,
        1
    );
    assert_eq!(
        found(Filter {
            source: Some(SourceKind::Mail),
            ..Filter::default()
        })
        .await,
        0
    );
    assert_eq!(
        found(Filter {
            limit: 2,
            offset: 2,
            ..Filter::default()
        })
        .await,
        1
    );
}

async fn every_entry_is_read_once_by_many_workers(store: Store) {
    const ENTRIES: u8 = 40;
    for i in 0..ENTRIES {
        store
            .add(entry(SourceKind::Folder, "x.jpg", &[i]))
            .await
            .unwrap();
    }
    let workers = (0..4).map(|worker| {
        let store = store.clone();
        tokio::spawn(async move {
            let mut done = Vec::new();
            while let Some(lease) = store
                .take_next(&format!("worker {worker}"), LEASE)
                .await
                .unwrap()
            {
                let versions = Versions::with_models("m1");
                assert!(
                    store
                        .save_reading(&lease, &record(), &versions)
                        .await
                        .unwrap()
                );
                // A second save, as after a repeated message, changes nothing.
                assert!(
                    !store
                        .save_reading(&lease, &record(), &versions)
                        .await
                        .unwrap()
                );
                done.push(lease.entry.id);
            }
            done
        })
    });
    let mut all = Vec::new();
    for worker in workers.collect::<Vec<_>>() {
        all.extend(worker.await.unwrap());
    }
    let distinct: HashSet<&String> = all.iter().collect();
    assert_eq!(
        (all.len(), distinct.len()),
        (usize::from(ENTRIES), usize::from(ENTRIES))
    );
    let health = store.verify().await.unwrap();
    assert_eq!(health.findings, []);
    assert_eq!(health.readings, u64::from(ENTRIES));
}

async fn an_entry_whose_reader_went_away_is_taken_again(store: Store) {
    let (added, _) = store
        .add(entry(SourceKind::Folder, "x.jpg", b"x"))
        .await
        .unwrap();
    let short = Duration::from_millis(0);
    let first = store.take_next("gone", short).await.unwrap().unwrap();
    tokio::time::sleep(Duration::from_millis(5)).await;
    let second = store.take_next("other", LEASE).await.unwrap().unwrap();
    assert_eq!(second.entry.id, added.id);
    let versions = Versions::with_models("m1");
    assert!(
        !store
            .save_reading(&first, &record(), &versions)
            .await
            .unwrap()
    );
    assert!(
        store
            .save_failure(&second, "damaged", "x.jpg: is damaged")
            .await
            .unwrap()
    );
    let failed = store.entry(&added.id).await.unwrap();
    assert_eq!(
        failed.failure.as_ref().map(|f| f.0.as_str()),
        Some("damaged")
    );
    assert_eq!(store.retry_failed(None, "counter").await.unwrap(), 1);
    // One that brings its reader down each time is given up.
    let mut taken = 0;
    while store.take_next("gone", short).await.unwrap().is_some() {
        taken += 1;
        assert!(taken < 10);
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    let given_up = store.entry(&added.id).await.unwrap();
    assert_eq!(given_up.state, EntryState::Failed);
    assert_eq!(given_up.failure.unwrap().0, "gave_up");
}

/// As after a full disk: it could neither keep what it read nor give it back.
async fn what_a_worker_held_that_ended_is_free_for_the_next_one(store: Store) {
    store
        .add(entry(SourceKind::Folder, "x.jpg", b"x"))
        .await
        .unwrap();
    let worker = store.new_worker().await.unwrap();
    let held = store.take_next(worker.name(), LEASE).await.unwrap();
    assert!(held.is_some());
    let beside = store.new_worker().await.unwrap();
    assert_eq!(store.take_next(beside.name(), LEASE).await.unwrap(), None);
    drop(worker);
    let next = store.new_worker().await.unwrap();
    assert!(store.take_next(next.name(), LEASE).await.unwrap().is_some());
}

async fn confirmations_lie_on_top_and_can_be_taken_back(store: Store) {
    store
        .add(entry(SourceKind::Phone, "x.jpg", b"x"))
        .await
        .unwrap();
    let id = read_next(&store).await;
    let amps = Key::Field(Field::Amps);
    assert_eq!(store.entry(&id).await.unwrap().questions, 1);
    let refused = store.confirm(&id, amps, "lots", "Kim").await.unwrap_err();
    assert!(matches!(refused, StoreError::Answer(_)), "{refused}");
    let all = store.confirm(&id, amps, "2.8", "Kim").await.unwrap();
    assert_eq!(all.record.fields[&Field::Amps].state, State::Confirmed);
    store
        .confirm(&id, Key::parse("place.supply").unwrap(), "230", "Kim")
        .await
        .unwrap();
    let after = store.entry(&id).await.unwrap();
    assert_eq!(after.questions, 0);
    let said = store.confirmations(&id).await.unwrap();
    assert_eq!(said[0].value_before.as_deref(), Some("28"));
    assert_eq!(said[0].state_before, "doubtful");
    assert_eq!(said[0].who, "Kim");
    // What was read stays as it was read.
    let read = store.reading(&id).await.unwrap().unwrap();
    assert_eq!(
        read.record.fields[&Field::Amps].printed.as_deref(),
        Some("28")
    );
    assert_eq!(read.versions.models, "m1");
    store.undo(&id, Some(said[0].seq), "Lee").await.unwrap();
    assert_eq!(store.entry(&id).await.unwrap().questions, 1);
    let undone = store.confirmations(&id).await.unwrap();
    assert!(undone[0].undone_by.is_some() && undone[1].undone_by.is_none());
    store.undo(&id, None, "Lee").await.unwrap();
    assert!(matches!(
        store.undo(&id, None, "Lee").await,
        Err(StoreError::NothingToUndo)
    ));
    let kinds: Vec<String> = store
        .history(Some(&id), 0)
        .await
        .unwrap()
        .into_iter()
        .map(|e| e.kind)
        .collect();
    assert_eq!(
        kinds,
        [
            "undone",
            "undone",
            "confirmed",
            "confirmed",
            "read",
            "added"
        ]
    );
    assert_eq!(store.verify().await.unwrap().findings, []);
}

/// The chain is checked with `sha256sum` (coreutils) alone.
async fn the_history_can_be_checked_elsewhere(store: Store) {
    store
        .add(entry(SourceKind::Phone, "=1+1\u{7}é\".jpg", b"one"))
        .await
        .unwrap();
    let id = read_next(&store).await;
    store
        .confirm(&id, Key::Field(Field::Amps), "2.8", "Kim \"K\" Roe")
        .await
        .unwrap();
    store.undo(&id, None, "=Kim").await.unwrap();
    let (mut lines, mut table) = (Vec::new(), Vec::new());
    export_history_json_lines(&store, &mut lines).await.unwrap();
    export_history_csv(&store, &mut table).await.unwrap();
    let lines: Vec<serde_json::Value> = String::from_utf8(lines)
        .unwrap()
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let kinds: Vec<&str> = lines.iter().map(|l| l["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["added", "read", "confirmed", "undone"]);
    let folder = tempfile::tempdir().unwrap();
    let mut previous = String::new();
    for (number, line) in lines.iter().enumerate() {
        let hashed = line["hashed"].as_str().unwrap();
        let parts: serde_json::Value = serde_json::from_str(hashed).unwrap();
        assert_eq!((&parts[0], &parts[1]), (&line["previous"], &line["seq"]));
        assert_eq!(
            (&parts[3], &parts[4], &parts[5]),
            (&line["who"], &line["kind"], &line["entry"])
        );
        assert_eq!(parts[0], previous);
        let file = folder.path().join(number.to_string());
        std::fs::write(&file, hashed).unwrap();
        let sum = std::process::Command::new("sha256sum")
            .arg(&file)
            .output()
            .unwrap();
        let sum = String::from_utf8(sum.stdout).unwrap();
        assert_eq!(sum.split(' ').next(), line["hash"].as_str());
        previous = line["hash"].as_str().unwrap().to_owned();
    }
    let mut reader = csv::Reader::from_reader(table.as_slice());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 4);
    let said: Vec<&str> = rows[2].iter().take(8).collect();
    assert_eq!(said[2..4], ["Kim \"K\" Roe", "confirmed"]);
    assert_eq!(said[5..8], ["amps", "28", "2.8"]);
    assert_eq!(
        (&rows[3][2], &rows[3][11]),
        ("'=Kim", lines[3]["hashed"].as_str().unwrap())
    );
    assert_eq!(store.verify().await.unwrap().head, previous);
}

async fn stock_lists_are_imported_and_taken_back(store: Store) {
    let list = |name: &str, bytes: &[u8]| NewList {
        name: name.to_owned(),
        bytes: bytes.to_vec(),
        mapping: "{}".to_owned(),
        motors: 1,
        faults: 0,
    };
    assert_eq!(store.current_list().await.unwrap(), None);
    let first = store
        .import_list(list("a.csv", b"sku,hp\nA,1\n"), "Kim")
        .await
        .unwrap();
    let second = store
        .import_list(list("b.csv", b"sku,hp\nB,1\n"), "Kim")
        .await
        .unwrap();
    assert_eq!(store.current_list().await.unwrap().as_ref(), Some(&second));
    store.undo_import(second.seq, "Lee").await.unwrap();
    let current = store.current_list().await.unwrap().unwrap();
    assert_eq!(current, first);
    assert_eq!(store.list_bytes(&current).await.unwrap(), b"sku,hp\nA,1\n");
    assert!(matches!(
        store.undo_import(second.seq, "Lee").await,
        Err(StoreError::NothingToUndo)
    ));
    assert_eq!(store.lists().await.unwrap().len(), 2);
    assert_eq!(store.verify().await.unwrap().findings, []);
}

async fn an_export_is_what_was_read_and_said(store: Store) {
    for i in 0..3u8 {
        store
            .add(entry(SourceKind::Phone, "x.jpg", &[i]))
            .await
            .unwrap();
    }
    let id = read_next(&store).await;
    let lease = store.take_next("test", LEASE).await.unwrap().unwrap();
    store
        .save_failure(&lease, "damaged", "it is damaged")
        .await
        .unwrap();
    store
        .confirm(&id, Key::Field(Field::Amps), "2.8", "Kim")
        .await
        .unwrap();
    let mut lines = Vec::new();
    assert_eq!(export_json_lines(&store, &mut lines).await.unwrap(), 1);
    let lines = String::from_utf8(lines).unwrap();
    let values: Vec<serde_json::Value> = lines
        .lines()
        .map(|l| serde_json::from_str(l).unwrap())
        .collect();
    assert_eq!(values.len(), 2);
    let read = values.iter().find(|v| v["id"] == id.as_str()).unwrap();
    assert_eq!(read["fields"]["amps"]["state"], "confirmed");
    assert_eq!(read["source"], "phone: test");
    assert_eq!(read["file"], "x.jpg");
    // A line is a record again.
    NameplateRecord::from_json(&read.to_string()).unwrap();
    let failed = values.iter().find(|v| v["error"].is_object()).unwrap();
    assert_eq!(failed["error"]["kind"], "damaged");

    let mut csv = Vec::new();
    export_csv(&store, &mut csv).await.unwrap();
    let mut reader = csv::Reader::from_reader(csv.as_slice());
    let headers = reader.headers().unwrap().clone();
    let at = |name: &str| headers.iter().position(|h| h == name).unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 3);
    let row = rows.iter().find(|r| &r[0] == id.as_str()).unwrap();
    assert_eq!(
        (&row[at("amps")], &row[at("amps_state")]),
        ("2.8", "confirmed")
    );
    assert_eq!(&row[at("model")], "'=1+1");

    // A second, independent reader sees text and no formula.
    let mut xlsx = Vec::new();
    export_xlsx(&store, &mut xlsx).await.unwrap();
    use calamine::Reader as _;
    let mut book: calamine::Xlsx<_> = calamine::Xlsx::new(std::io::Cursor::new(xlsx)).unwrap();
    assert!(
        book.worksheet_formula("motors")
            .unwrap()
            .cells()
            .all(|c| c.2.is_empty())
    );
    let sheet = book.worksheet_range("motors").unwrap();
    assert_eq!(sheet.height(), 4);
    assert!(sheet.cells().any(|(_, _, c)| *c == "=1+1"));
}

async fn what_gave_no_photo_is_a_row_with_its_reason(store: Store) {
    let mut source = Source::new(SourceKind::Mail, "inbox > message 1");
    source.detail.message = Some("one@example.org".to_owned());
    let why = "no photo is in this mail";
    for (message, new) in [
        ("one@example.org", true),
        ("one@example.org", false),
        ("two@example.org", true),
    ] {
        source.detail.message = Some(message.to_owned());
        let added = store
            .add_failure(&source, "any news?", "no_photo", why)
            .await
            .unwrap();
        assert_eq!(added, new, "{message}");
    }
    // The photos of a mail are found by its identity; the same photo in another mail is another entry.
    for message in ["one@example.org", "two@example.org", "two@example.org"] {
        let mut new = entry(SourceKind::Mail, "plate.jpg", b"one");
        new.source.detail.message = Some(message.to_owned());
        store.add(new).await.unwrap();
    }
    let search = Filter {
        search: "one@EXAMPLE.org".to_owned(),
        ..Filter::default()
    };
    assert_eq!(store.count(&search).await.unwrap(), 2);
    assert_eq!(store.count(&Filter::default()).await.unwrap(), 4);
    // Where there is no photo there is nothing to be read again.
    assert_eq!(store.retry_failed(None, "test").await.unwrap(), 0);
    assert!(store.verify().await.unwrap().findings.is_empty());
}

async fn a_log_page_becomes_an_entry_a_row(store: Store) {
    let mut page = entry(SourceKind::Pdf, "log.pdf#page=3", b"page");
    page.source.detail.document = Some("hash".to_owned());
    page.source.detail.page = Some(3);
    store.add(page.clone()).await.unwrap();
    let lease = store.take_next("test", LEASE).await.unwrap().unwrap();
    let versions = Versions::with_models("m1");
    let rows = vec![record(), record(), record()];
    assert!(store.save_rows(&lease, &rows, &versions).await.unwrap());
    assert!(
        !store.save_rows(&lease, &rows, &versions).await.unwrap(),
        "the lease has ended"
    );
    let mut names = Vec::new();
    for entry in store.entries(&Filter::default()).await.unwrap() {
        assert_eq!(entry.state, EntryState::Read);
        assert_eq!(entry.source.detail.row, Some(entry.part + 1));
        assert_eq!(entry.questions, 1);
        assert_eq!(store.photos(&entry.id).await.unwrap().len(), 1);
        names.push((entry.file_name, entry.source.to_string()));
    }
    names.sort();
    let expected = |row| {
        (
            format!("log.pdf#page=3&row={row}"),
            format!("pdf: test#page=3&row={row}"),
        )
    };
    assert_eq!(names, [expected(1), expected(2), expected(3)]);
    // The page comes again, drawn in another way: it is known.
    page.photos[0].bytes = b"drawn anew".to_vec();
    assert!(store.knows(&page.source, &[]).await.unwrap());
    assert!(!store.add(page).await.unwrap().1);
    let health = store.verify().await.unwrap();
    assert!(health.findings.is_empty(), "{:?}", health.findings);
}

/// A motor of which this is read for certain.
fn motor(serial: &str, model: &str, volts: &str) -> NameplateRecord {
    let field = |key: &str, printed: &str| match printed {
        "" => String::new(),
        printed => format!(r#""{key}": {{"printed": "{printed}", "state": "clear"}},"#),
    };
    NameplateRecord::from_json(&format!(
        r#"{{"fields": {{{}{}{}"hp": {{"printed": "1", "state": "clear"}}}}}}"#,
        field("serial", serial),
        field("model", model),
        field("volts", volts),
    ))
    .unwrap()
}

async fn add(store: &Store, bytes: &str) -> String {
    let new = entry(SourceKind::Folder, bytes, bytes.as_bytes());
    store.add(new).await.unwrap().0.id
}

/// Reads an entry as this; `looks` are the bits of what its photo looks like.
async fn read_as(store: &Store, id: &str, looks: Option<u128>, record: &NameplateRecord) {
    let platewright::store::Asked::Lease(lease) = store.take(id, "test", LEASE).await.unwrap()
    else {
        panic!("{id} is free");
    };
    if let Some(bits) = looks {
        let likeness: Likeness = format!("{bits:032x}").parse().unwrap();
        let photo = lease.photos[0].sha256.clone();
        store.keep_likenesses(&[(photo, likeness)]).await.unwrap();
    }
    let versions = Versions::with_models("m1");
    assert!(store.save_reading(&lease, record, &versions).await.unwrap());
}

/// Of these entries the one that came first.
async fn first_of(store: &Store, ids: &[&String]) -> String {
    let mut ages = Vec::new();
    for id in ids {
        ages.push((store.entry(id).await.unwrap().created_ms, (*id).clone()));
    }
    ages.into_iter().min().unwrap().1
}

async fn the_same_photo_and_the_same_motor_are_told_in_whatever_order(store: Store) {
    // Bits that differ in every piece of the hash.
    let spread = |count: u32| (0..count).fold(0u128, |bits, n| bits | 1 << (n * 5));
    for (round, backwards) in [("a", false), ("b", true)] {
        let base = if backwards { (u128::MAX / 3) >> 7 } else { 0 };
        let serial = format!("77-{round}401 x");
        let cases = [
            ("photo", Some(base), motor("", "", "")),
            (
                "nearly the same",
                Some(base ^ spread(22)),
                motor(&serial, "M1", "230"),
            ),
            ("another picture", Some(!base << 7 >> 7), motor("", "", "")),
            (
                "not known how it looks",
                None,
                motor(&serial.to_uppercase(), "M1", "230"),
            ),
            ("other volts", None, motor(&serial, "M1", "460")),
            ("other model", None, motor(&serial, "M2", "230")),
            (
                "other serial, same photo",
                Some(base ^ spread(22)),
                motor(&format!("99999{round}"), "M1", "230"),
            ),
            ("too short for a serial", None, motor("1", "", "")),
            ("too short as well", None, motor("1", "", "")),
        ];
        let mut ids = Vec::new();
        for (name, ..) in &cases {
            ids.push(add(&store, &format!("{name} {round}")).await);
        }
        let mut order: Vec<usize> = (0..cases.len()).collect();
        if backwards {
            order.reverse();
        }
        for at in order {
            read_as(&store, &ids[at], cases[at].1, &cases[at].2).await;
        }
        // The photo without a serial number looks like two that contradict each other: it binds them.
        let together = [&ids[0], &ids[1], &ids[3], &ids[6]];
        let first = first_of(&store, &together).await;
        for (at, id) in ids.iter().enumerate() {
            let same = store.same_as(id).await.unwrap();
            let name = cases[at].0;
            if !together.contains(&id) || *id == first {
                assert_eq!(same, None, "{round}: {name}");
                continue;
            }
            let same = same.unwrap_or_else(|| panic!("{round}: {name} belongs to the first"));
            assert_eq!(same.first, first, "{round}: {name}");
            let one_is_known_by_serial = at == 3 || first == ids[3];
            let by = match one_is_known_by_serial {
                true => SameBy::Serial,
                false => SameBy::Photo,
            };
            assert_eq!(same.by, by, "{round}: {name}");
        }
    }
    assert_eq!(store.count_same().await.unwrap(), 6);
    let mut lines = Vec::new();
    export_json_lines(&store, &mut lines).await.unwrap();
    let said = String::from_utf8(lines).unwrap();
    assert_eq!(said.matches("\"same_as\":").count(), 6);
    assert_eq!(store.verify().await.unwrap().findings, []);
}

async fn many_who_read_at_once_find_one_group(store: Store) {
    let mut ids = Vec::new();
    for number in 0..24 {
        ids.push(add(&store, &number.to_string()).await);
    }
    let hands = ids.chunks(6).map(|own| {
        let (store, own) = (store.clone(), own.to_vec());
        tokio::spawn(async move {
            for id in own {
                read_as(&store, &id, Some(0), &motor("A-1234", "", "")).await;
            }
        })
    });
    for hand in hands.collect::<Vec<_>>() {
        hand.await.unwrap();
    }
    let first = first_of(&store, &ids.iter().collect::<Vec<_>>()).await;
    for id in ids.iter().filter(|id| **id != first) {
        let same = store.same_as(id).await.unwrap().unwrap();
        assert_eq!((same.first, same.by), (first.clone(), SameBy::Photo));
    }
    assert_eq!(store.same_as(&first).await.unwrap(), None);
}

async fn what_a_person_says_of_a_serial_number_counts(store: Store) {
    let (one, other) = (add(&store, "one").await, add(&store, "other").await);
    read_as(&store, &one, None, &motor("A-1234", "", "")).await;
    read_as(&store, &other, None, &motor("A-1284", "", "")).await;
    assert_eq!(store.count_same().await.unwrap(), 0);
    let serial = Key::Field(Field::Serial);
    store
        .confirm(&other, serial, "A-1234", "Kim")
        .await
        .unwrap();
    assert_eq!(store.count_same().await.unwrap(), 1);
    store.undo(&other, None, "Kim").await.unwrap();
    assert_eq!(store.count_same().await.unwrap(), 0);
}

async fn the_rows_of_a_log_page_are_not_one_photo(store: Store) {
    let page = add(&store, "page").await;
    let lease = store.take_next("test", LEASE).await.unwrap().unwrap();
    let looks: Likeness = "0".parse().unwrap();
    let photo = lease.photos[0].sha256.clone();
    store.keep_likenesses(&[(photo, looks)]).await.unwrap();
    let rows = [
        motor("", "", ""),
        motor("B-5678", "", ""),
        motor("", "", ""),
    ];
    let versions = Versions::with_models("m1");
    assert!(store.save_rows(&lease, &rows, &versions).await.unwrap());
    // A photo of the motor of a row belongs to that row, by its serial number.
    let plate = add(&store, "plate").await;
    read_as(&store, &plate, Some(0), &motor("B-5678", "", "")).await;
    assert_eq!(store.count_same().await.unwrap(), 1);
    assert_eq!(store.same_as(&page).await.unwrap(), None);
}

async fn whoever_checks_is_not_confused_by_whoever_writes(store: Store) {
    let writer = store.clone();
    let writing = tokio::spawn(async move {
        for number in 0..60u32 {
            let new = entry(SourceKind::Folder, "x.jpg", &number.to_le_bytes());
            writer.add(new).await.unwrap();
        }
    });
    let mut checks = 0;
    while !writing.is_finished() || checks == 0 {
        assert_eq!(store.verify().await.unwrap().findings, []);
        checks += 1;
    }
    writing.await.unwrap();
    assert_eq!(store.verify().await.unwrap().entries, 60);
}

/// Runs every behaviour on a store of its own.
macro_rules! behaviours {
    ($($name:ident),* $(,)?) => {
        mod sqlite {
            $(#[tokio::test]
            async fn $name() {
                let folder = tempfile::tempdir().unwrap();
                let store = super::Store::open(&super::location(folder.path())).await.unwrap();
                super::$name(store).await;
            })*
        }

        #[tokio::test]
        #[ignore = "needs PostgreSQL: scripts/test starts one and runs this"]
        async fn all_of_it_on_postgresql() {
            let url = postgres::server();
            $(
                println!("{}", stringify!($name));
                let folder = tempfile::tempdir().unwrap();
                let database = postgres::fresh_database(&url, stringify!($name)).await;
                let location = Location { folder: folder.path().to_owned(), database: Some(database), photos: None };
                $name(Store::open(&location).await.unwrap()).await;
            )*
        }
    };
}

behaviours!(
    a_photo_is_one_entry_however_often_it_comes,
    entries_are_listed_filtered_and_searched,
    every_entry_is_read_once_by_many_workers,
    what_a_worker_held_that_ended_is_free_for_the_next_one,
    an_entry_whose_reader_went_away_is_taken_again,
    confirmations_lie_on_top_and_can_be_taken_back,
    stock_lists_are_imported_and_taken_back,
    an_export_is_what_was_read_and_said,
    what_gave_no_photo_is_a_row_with_its_reason,
    a_log_page_becomes_an_entry_a_row,
    the_history_can_be_checked_elsewhere,
    whoever_checks_is_not_confused_by_whoever_writes,
    the_same_photo_and_the_same_motor_are_told_in_whatever_order,
    many_who_read_at_once_find_one_group,
    what_a_person_says_of_a_serial_number_counts,
    the_rows_of_a_log_page_are_not_one_photo,
);

/// Runs a statement past the store, as somebody would who wants to change what was written.
async fn tamper(folder: &Path, sql: &'static str) {
    let options = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(folder.join("platewright.sqlite"))
        .foreign_keys(false);
    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
    assert!(
        sqlx::query(sql)
            .execute(&pool)
            .await
            .unwrap()
            .rows_affected()
            > 0
    );
    pool.close().await;
}

#[tokio::test]
async fn a_change_after_the_fact_shows() {
    struct Case {
        sql: &'static str,
        kind: &'static str,
    }
    let cases = [
        Case {
            sql: "UPDATE event SET who = 'nobody' WHERE kind = 'confirmed'",
            kind: "chain",
        },
        Case {
            sql: "DELETE FROM event WHERE kind = 'undone'",
            kind: "chain",
        },
        Case {
            sql: "UPDATE event SET detail = '{}' WHERE kind = 'added'",
            kind: "chain",
        },
        Case {
            sql: "UPDATE reading SET record = replace(record, '208', '209')",
            kind: "reading",
        },
        Case {
            sql: "UPDATE confirmation SET printed = '9.9'",
            kind: "confirmation",
        },
        Case {
            sql: "UPDATE entry_photo SET photo = 'gone'",
            kind: "database",
        },
        Case {
            sql: "DELETE FROM reading",
            kind: "entry",
        },
    ];
    let mut wrong = Vec::new();
    for case in cases {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&location(folder.path())).await.unwrap();
        store
            .add(entry(SourceKind::Phone, "x.jpg", b"x"))
            .await
            .unwrap();
        let id = read_next(&store).await;
        store
            .confirm(&id, Key::Field(Field::Amps), "2.8", "Kim")
            .await
            .unwrap();
        store.undo(&id, None, "Kim").await.unwrap();
        store.close().await;
        tamper(folder.path(), case.sql).await;
        let store = Store::open(&location(folder.path())).await.unwrap();
        let health = store.verify().await.unwrap();
        if health.findings.iter().all(|f| f.kind != case.kind) {
            wrong.push(format!("{}: {:?}", case.sql, health.findings));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[tokio::test]
async fn a_damaged_or_missing_photo_shows() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&location(folder.path())).await.unwrap();
    let (added, _) = store
        .add(entry(SourceKind::Phone, "x.jpg", b"x"))
        .await
        .unwrap();
    let photo = &store.photos(&added.id).await.unwrap()[0];
    let path = store.photo_file(photo).await.unwrap().as_ref().to_owned();
    let photos = folder.path().join("photos");
    assert!(path.starts_with(photos), "{}", path.display());
    std::fs::write(path.with_file_name("incoming-cut-short"), b"half").unwrap();
    let health = store.verify().await.unwrap();
    assert_eq!((health.findings.len(), health.strays), (0, 1));
    std::fs::write(&path, b"y").unwrap();
    assert_eq!(store.verify().await.unwrap().findings[0].kind, "photo");
    std::fs::remove_file(&path).unwrap();
    assert!(
        store.verify().await.unwrap().findings[0]
            .message
            .contains("missing")
    );
    // It is whole again when the photo comes once more.
    store
        .add(entry(SourceKind::Phone, "x.jpg", b"x"))
        .await
        .unwrap();
    assert_eq!(store.verify().await.unwrap().findings, []);
}

#[tokio::test]
async fn a_store_outlives_its_process() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&location(folder.path())).await.unwrap();
    store
        .add(entry(SourceKind::Phone, "x.jpg", b"x"))
        .await
        .unwrap();
    let id = read_next(&store).await;
    drop(store);
    let again = Store::open(&location(folder.path())).await.unwrap();
    assert_eq!(again.answered(&id).await.unwrap().record, record());
    let file = folder.path().join("a-file");
    std::fs::write(&file, b"").unwrap();
    let error = Store::open(&location(&file)).await.unwrap_err().to_string();
    assert!(error.contains("a store is a folder"), "{error}");
}
