//! Backups: of a store that is in use, brought back as SQLite and as PostgreSQL, and what must not happen.

#[path = "common/mod.rs"]
mod common;
#[path = "common/postgres.rs"]
mod postgres;

use common::{json_lines, platewright, stock_list};
use platewright::confirm::Key;
use platewright::photo::MediaType;
use platewright::record::{Field, NameplateRecord};
use platewright::store::{
    Location, NewEntry, NewPhoto, Source, SourceKind, Store, StoreError, Versions,
    export_json_lines, restore,
};
use std::fs;
use std::path::Path;
use std::time::Duration;

fn in_folder(folder: &Path) -> Location {
    Location {
        folder: folder.to_owned(),
        database: None,
        photos: None,
    }
}

async fn add(store: &Store, bytes: &[u8]) {
    let entry = NewEntry {
        source: Source::new(SourceKind::Folder, "a 'quoted' place"),
        file_name: "plate.jpg".to_owned(),
        photos: vec![NewPhoto {
            bytes: bytes.to_vec(),
            media: MediaType::Jpeg,
            size: None,
        }],
        part: 0,
    };
    assert!(store.add(entry).await.unwrap().1);
}

/// Everything that a store can hold: read, failed, waiting and being read; said, matched lists and taken back.
async fn fill(store: &Store) {
    for number in 0..5u8 {
        add(store, &[number]).await;
    }
    let lease = Duration::from_secs(60);
    let record = NameplateRecord::from_json(
        r#"{"fields": {"amps": {"printed": "28", "state": "doubtful"}, "hp": {"printed": "½", "state": "clear"}}}"#,
    );
    let read = store.take_next("one", lease).await.unwrap().unwrap();
    let versions = Versions::with_models("m1");
    assert!(
        store
            .save_reading(&read, &record.unwrap(), &versions)
            .await
            .unwrap()
    );
    let failed = store.take_next("one", lease).await.unwrap().unwrap();
    assert!(
        store
            .save_failure(&failed, "damaged", "it's damaged")
            .await
            .unwrap()
    );
    store.take_next("one", lease).await.unwrap().unwrap();
    let id = &read.entry.id;
    store
        .confirm(id, Key::Field(Field::Amps), "2.8", "Kim")
        .await
        .unwrap();
    store
        .confirm(id, Key::Field(Field::Hp), "1/3", "Kim")
        .await
        .unwrap();
    store.undo(id, None, "Kim").await.unwrap();
    store.import_list(stock_list(), "Kim").await.unwrap();
}

/// What a store gives out, and its history.
async fn all_of(store: &Store) -> (String, Vec<platewright::store::Event>, usize) {
    let mut lines = Vec::new();
    export_json_lines(store, &mut lines).await.unwrap();
    let list = store.current_list().await.unwrap().unwrap();
    let bytes = store.list_bytes(&list).await.unwrap();
    let lines = String::from_utf8(lines).unwrap();
    (lines, store.history(None, 0).await.unwrap(), bytes.len())
}

async fn there_and_back(folder: &Path, original: Location, second: Location) {
    let store = Store::open(&original).await.unwrap();
    fill(&store).await;
    let out = folder.join("backup");
    let copied = store.backup(&out, |_, _| {}).await.unwrap();
    assert_eq!(copied.health.findings, []);
    assert_eq!((copied.manifest.entries, copied.manifest.photos), (5, 5));
    let before = all_of(&store).await;
    // The backup is a store.
    let opened = Store::open(&in_folder(&out)).await.unwrap();
    assert_eq!(all_of(&opened).await, before);
    opened.close().await;
    let refused = store.backup(&out, |_, _| {}).await.unwrap_err();
    assert!(matches!(refused, StoreError::InTheWay(_)), "{refused}");

    let restored = restore(&out, &second, |_, _| {}).await.unwrap();
    assert_eq!(restored.health.findings, []);
    let again = Store::open(&second).await.unwrap();
    assert_eq!(all_of(&again).await, before);
    // What was being read when the backup was made is free.
    let mut waiting = 0;
    while again
        .take_next("two", Duration::from_secs(60))
        .await
        .unwrap()
        .is_some()
    {
        waiting += 1;
    }
    assert_eq!(waiting, 3);
    let refused = restore(&out, &second, |_, _| {}).await.unwrap_err();
    assert!(matches!(refused, StoreError::InTheWay(_)), "{refused}");
}

#[tokio::test]
async fn a_backup_brought_back_is_the_same_store() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| in_folder(&folder.path().join(name));
    there_and_back(folder.path(), at("one"), at("two")).await;
}

#[tokio::test]
#[ignore = "needs PostgreSQL: scripts/test starts one and runs this"]
async fn from_postgresql_and_back_into_it() {
    let folder = tempfile::tempdir().unwrap();
    let at = async |name: &str| Location {
        folder: folder.path().join(name),
        database: Some(postgres::fresh_database(&postgres::server(), name).await),
        photos: None,
    };
    there_and_back(
        folder.path(),
        at("backup_one").await,
        at("backup_two").await,
    )
    .await;
}

#[tokio::test]
async fn a_backup_can_be_made_while_others_add() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(&in_folder(&folder.path().join("store")))
        .await
        .unwrap();
    for number in 0..20u8 {
        add(&store, &[number]).await;
    }
    let adding = tokio::spawn({
        let store = store.clone();
        async move {
            for number in 0..40u8 {
                add(&store, &[number, number]).await;
            }
        }
    });
    let copied = store
        .backup(&folder.path().join("backup"), |_, _| {})
        .await
        .unwrap();
    adding.await.unwrap();
    // A whole store of some moment in between.
    assert_eq!(copied.health.findings, []);
    assert!(
        (20..=60).contains(&copied.manifest.entries),
        "{:?}",
        copied.manifest
    );
    assert_eq!(copied.manifest.entries, copied.manifest.photos);
    assert_eq!(store.verify().await.unwrap().entries, 60);
}

#[tokio::test]
async fn what_is_wrong_is_said_and_nothing_is_half_done() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let store = Store::open(&in_folder(&path("store"))).await.unwrap();
    fill(&store).await;
    store.backup(&path("whole"), |_, _| {}).await.unwrap();

    // A lost photo: the rest is copied, and the loss is told.
    let photo = walkdir::WalkDir::new(path("store/photos"))
        .into_iter()
        .map(|e| e.unwrap().into_path())
        .find(|p| p.is_file())
        .unwrap();
    fs::remove_file(photo).unwrap();
    let copied = store.backup(&path("with a loss"), |_, _| {}).await.unwrap();
    assert_eq!(copied.health.findings.len(), 1, "{:?}", copied.health);
    assert_eq!(copied.health.findings[0].kind, "photo");
    assert_eq!(copied.manifest.entries, 5);
    store.close().await;

    // A history that was cut short after the backup shows, although its own chain holds together.
    let file = path("whole").join("platewright.sqlite");
    let options = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(&file)
        .foreign_keys(false);
    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
    for statement in [
        "DELETE FROM stock_list",
        "DELETE FROM event WHERE seq = (SELECT max(seq) FROM event)",
        "UPDATE chain SET seq = (SELECT max(seq) FROM event), hash = (SELECT hash FROM event ORDER BY seq DESC LIMIT 1)",
    ] {
        sqlx::query(statement).execute(&pool).await.unwrap();
    }
    pool.close().await;
    let error = restore(&path("whole"), &in_folder(&path("third")), |_, _| {})
        .await
        .unwrap_err();
    assert!(
        error.to_string().contains("was changed afterwards"),
        "{error}"
    );
    let error = restore(&path("store"), &in_folder(&path("fourth")), |_, _| {})
        .await
        .unwrap_err();
    assert!(matches!(error, StoreError::NoBackup(_)), "{error}");
    assert!(!path("fourth").exists());
}

#[test]
fn the_commands_say_what_they_did() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let store = Store::open(&in_folder(&path("store"))).await.unwrap();
        fill(&store).await;
        store.close().await;
    });
    let run = |command: &[&str], paths: [&std::path::PathBuf; 2]| {
        let [first, second] = paths;
        platewright()
            .arg(command[0])
            .arg(first)
            .args(&command[1..])
            .arg(second)
            .output()
            .unwrap()
    };
    let output = run(
        &["backup", "--json", "--store"],
        [&path("backup"), &path("store")],
    );
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(json_lines(&output.stdout)[0]["manifest"]["entries"], 5);
    let output = run(&["backup", "--store"], [&path("backup"), &path("store")]);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.contains("nothing is ever overwritten"), "{said}");
    let output = run(&["restore", "--store"], [&path("backup"), &path("second")]);
    assert_eq!(output.status.code(), Some(0));
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(said.contains("verified: the copy is whole"), "{said}");
    let output = run(&["restore", "--store"], [&path("backup"), &path("second")]);
    assert_eq!(output.status.code(), Some(1));
}
