//! Photos in an object store that speaks S3.
//!
//! Needs such a server: `scripts/with-s3 cargo test --test object_store -- --ignored` starts one. Where none is named
//! there is nothing to test.

mod common;

use common::stock_list;
use platewright::photo::MediaType;
use platewright::store::{
    Location, NewEntry, NewPhoto, ObjectCause, Source, SourceKind, Store, StoreError, restore,
};
use std::path::Path;

fn at(folder: &Path, photos: Option<String>) -> Location {
    Location {
        folder: folder.to_owned(),
        database: None,
        photos,
    }
}

fn entry(bytes: &[u8]) -> NewEntry {
    NewEntry {
        source: Source::new(SourceKind::Folder, "test"),
        file_name: "x.jpg".to_owned(),
        photos: vec![NewPhoto {
            bytes: bytes.to_vec(),
            media: MediaType::Jpeg,
            size: None,
        }],
        part: 0,
    }
}

#[tokio::test]
#[ignore = "needs a server that speaks S3: scripts/with-s3 starts one"]
async fn photos_and_lists_lie_in_a_bucket() {
    let Ok(url) = std::env::var("PLATEWRIGHT_TEST_S3") else {
        eprintln!("no PLATEWRIGHT_TEST_S3: nothing is tested");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let bucket = |name: &str| Some(format!("{url}/{name}{}", std::process::id()));
    let store = Store::open(&at(&path("store"), bucket("one")))
        .await
        .unwrap();
    let (added, new) = store.add(entry(b"one")).await.unwrap();
    assert!(new && !store.add(entry(b"one")).await.unwrap().1);
    store.add(entry(b"two")).await.unwrap();
    let list = store.import_list(stock_list(), "Kim").await.unwrap();
    assert_eq!(store.list_bytes(&list).await.unwrap(), b"sku,hp\nA,1\n");
    let photo = &store.photos(&added.id).await.unwrap()[0];
    let copy = store.photo_file(photo).await.unwrap();
    let place = copy.as_ref().to_owned();
    assert_eq!(std::fs::read(&place).unwrap(), b"one");
    drop(copy);
    assert!(!place.exists());
    let health = store.verify().await.unwrap();
    assert_eq!(
        (health.findings.len(), health.photos, health.strays),
        (0, 2, 0)
    );
    assert!(!path("store").join("photos").exists());

    // Out of the bucket into a folder, and from there into another one.
    let copied = store.backup(&path("backup"), |_, _| {}).await.unwrap();
    assert_eq!(copied.health.findings, []);
    let second = at(&path("second"), bucket("two"));
    let restored = restore(&path("backup"), &second, |_, _| {}).await.unwrap();
    assert_eq!(
        (restored.health.findings.len(), restored.health.photos),
        (0, 2)
    );
    store.close().await;

    // One who looks at another place is told which photo is not there.
    let elsewhere = Store::open(&at(&path("store"), bucket("none")))
        .await
        .unwrap();
    let missing = elsewhere.misplaced_photo().await.unwrap().unwrap();
    assert!(missing.starts_with("s3://plates/shop/none"), "{missing}");
    let error = elsewhere.photo_bytes(photo).await.unwrap_err();
    assert!(
        matches!(
            error,
            StoreError::Objects {
                cause: ObjectCause::Missing,
                ..
            }
        ) && !error.is_passing(),
        "{error}"
    );
}
