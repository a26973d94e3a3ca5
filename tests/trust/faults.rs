//! Faults of the machine: nothing is lost, a message says what to do, and the same command takes up what was left.

use super::server::{Server, with_comment};
use super::*;
use platewright::store::{Location, NewEntry, NewPhoto, Source, SourceKind, Store};
use platewright::{photo::MediaType, store::EntryState};
use std::process::Stdio;
use std::time::{Duration, Instant};

const PHOTOS: usize = 4;

/// The disk has no room left: a small one of its own in a namespace where that can be had, and a limit on the size of
/// files, which the system answers with another error.
#[test]
fn on_a_full_disk_it_stops_and_takes_up_again() {
    for shell in [
        // 2 MiB hold the database and none or some of the photos.
        "unshare -m sh -c 'mount -t tmpfs -o size=2m tmpfs \"$STORE\" && \"$@\"; code=$?; cp -r \"$STORE/.\" \"$KEEP\"; exit $code' sh",
        "trap '' XFSZ; ulimit -f 1000;",
    ] {
        let folder = tempfile::tempdir().unwrap();
        let source = log(folder.path(), PHOTOS);
        for number in 0..PHOTOS {
            // As large as a phone's.
            let path = source.join(format!("{number}.png"));
            let mut bytes = fs::read(&path).unwrap();
            bytes.resize(900_000, number as u8);
            fs::write(path, bytes).unwrap();
        }
        let (store, keep) = (folder.path().join("store"), folder.path().join("keep"));
        fs::create_dir_all(&store).unwrap();
        fs::create_dir_all(&keep).unwrap();
        let output = Command::new("sh")
            .args(["-c", &format!("{shell} \"$@\""), "sh"])
            .args([
                env!("CARGO_BIN_EXE_platewright"),
                "batch",
                "--fast",
                "--json",
                "--store",
            ])
            .args([&store, &source])
            .envs([("STORE", &store), ("KEEP", &keep)])
            .output()
            .unwrap();
        let said = said(&output);
        if said.contains("unshare:") || said.contains("mount:") {
            eprintln!(
                "no file system of its own can be made here: only the limit on files is tried"
            );
            continue;
        }
        assert_eq!(output.status.code(), Some(1), "{said}");
        let names_cause = [
            "disk is full",
            "database or disk is full",
            "File too large",
            "disk I/O error",
        ];
        assert!(
            names_cause.iter().any(|cause| said.contains(cause)),
            "{said}"
        );
        assert!(!said.contains("panicked"), "{said}");
        // What the small disk held is moved to a large one, and the same command is given again.
        let store = if shell.starts_with("unshare") {
            keep
        } else {
            store
        };
        health(&store);
        let again = batch(&store, &source);
        assert_eq!(summary(&again)["waiting"], 0, "{}", super::said(&again));
        assert_eq!(exported(&store).len(), PHOTOS);
        assert_eq!(health(&store)["strays"], 0);
    }
}

/// Everything in a folder with its content.
fn snapshot(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut files: Vec<_> = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(Result::unwrap)
        .filter(|e| e.file_type().is_file())
        .map(|e| (e.path().to_owned(), fs::read(e.path()).unwrap()))
        .collect();
    files.sort();
    files
}

/// A store that may only be looked at: every command says so, and nothing in it changes.
#[test]
fn a_read_only_store_is_named_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let source = log(folder.path(), 1);
    let store = folder.path().join("store");
    batch(&store, &source);
    let before = snapshot(&store);
    // Rights do not hold root back: then the command runs as nobody, who owns nothing here.
    let me = Command::new("id").arg("-u").output().unwrap().stdout;
    let is_root = me == b"0\n";
    let rights = |mode: &str| {
        let done = Command::new("chmod")
            .args(["-R", mode])
            .arg(folder.path())
            .status();
        assert!(done.unwrap().success());
    };
    rights(if is_root { "a+rX" } else { "a-w" });
    let program = folder.path().join("platewright");
    if is_root {
        // Where the tests were built may be closed to nobody.
        fs::copy(env!("CARGO_BIN_EXE_platewright"), &program).unwrap();
        rights("a+rX");
    }
    let mut wrong = Vec::new();
    for args in [&["batch", "--fast"][..], &["serve", "--port", "0"]] {
        let mut command = if is_root {
            let mut command = Command::new("setpriv");
            command
                .args(["--reuid=65534", "--regid=65534", "--clear-groups"])
                .arg(&program);
            command
        } else {
            Command::new(env!("CARGO_BIN_EXE_platewright"))
        };
        command.args(args).arg("--store").arg(&store);
        if args[0] == "batch" {
            command.arg(&source);
        }
        let output = command.stdin(Stdio::null()).output().unwrap();
        let said = said(&output);
        if output.status.code() != Some(1) || !said.contains("write access") {
            wrong.push(format!("{args:?}: {:?} {said}", output.status));
        }
    }
    rights("u+w");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(snapshot(&store) == before, "something was changed");
}

/// Pages of the database are overwritten: it is said, nothing is made worse, and the photos are all there still.
#[tokio::test]
async fn a_damaged_database_is_told_and_not_made_worse() {
    let folder = tempfile::tempdir().unwrap();
    let source = log(folder.path(), PHOTOS);
    let store = folder.path().join("store");
    batch(&store, &source);
    let file = store.join("platewright.sqlite");
    let whole = fs::read(&file).unwrap();
    let page = 4096;
    let mut silent = Vec::new();
    for at in 1..whole.len() / page {
        let mut damaged = whole.clone();
        damaged[at * page..(at + 1) * page].fill(0xA5);
        fs::write(&file, &damaged).unwrap();
        let output = finish(platewright().args(["check-store", "--store"]).arg(&store));
        let all = said(&output) + &String::from_utf8_lossy(&output.stdout);
        assert!(!all.contains("panicked"), "page {at}: {all}");
        if output.status.code() != Some(1) {
            silent.push(at);
        }
        let output = finish(platewright().args(["export", "--store"]).arg(&store));
        assert!(
            !said(&output).contains("panicked"),
            "page {at}: {}",
            said(&output)
        );
    }
    // What stands on a page that is free belongs to nobody.
    fs::write(&file, &whole).unwrap();
    let address = format!("sqlite://{}", file.display());
    let pool = sqlx::SqlitePool::connect(&address).await.unwrap();
    let free: (i64,) = sqlx::query_as("PRAGMA freelist_count")
        .fetch_one(&pool)
        .await
        .unwrap();
    pool.close().await;
    assert!(
        silent.len() as i64 <= free.0,
        "pages {silent:?} were not missed, {} are free",
        free.0
    );
    let _ = fs::remove_file(store.join("platewright.sqlite-wal"));
    let _ = fs::remove_file(store.join("platewright.sqlite-shm"));
    fs::write(&file, &whole).unwrap();
    assert_eq!(health(&store)["readings"], PHOTOS);
}

/// The clock was years ahead while a reader was killed: what it held is free at once, and what comes later is in order.
#[tokio::test]
async fn a_clock_that_jumps_holds_nothing_up() {
    let folder = tempfile::tempdir().unwrap();
    let location = Location {
        folder: folder.path().to_owned(),
        database: None,
        photos: None,
    };
    let store = Store::open(&location).await.unwrap();
    let add = async |store: &Store, number: u8| {
        let photo = NewPhoto {
            bytes: vec![number],
            media: MediaType::Jpeg,
            size: None,
        };
        let entry = NewEntry {
            source: Source::new(SourceKind::Folder, "test"),
            file_name: format!("{number}.jpg"),
            photos: vec![photo],
            part: 0,
        };
        store.add(entry).await.unwrap().0
    };
    add(&store, 1).await;
    let worker = store.new_worker().await.unwrap();
    let name = worker.name().to_owned();
    store
        .take_next(&name, Duration::from_secs(60))
        .await
        .unwrap()
        .unwrap();
    drop(worker);
    store.close().await;
    // Everything happened ten years from now, as far as that machine's clock knew.
    let pool = sqlx::SqlitePool::connect(&format!(
        "sqlite://{}",
        folder.path().join("platewright.sqlite").display()
    ))
    .await
    .unwrap();
    const YEARS: i64 = 10 * 365 * 86_400_000;
    sqlx::query(
        "UPDATE entry SET created_ms = created_ms + $1, lease_until_ms = lease_until_ms + $1",
    )
    .bind(YEARS)
    .execute(&pool)
    .await
    .unwrap();
    pool.close().await;
    // The lock of one that was killed is left behind, and nobody holds it.
    fs::write(
        folder.path().join("workers").join(format!("{name}.lock")),
        b"",
    )
    .unwrap();

    let store = Store::open(&location).await.unwrap();
    let second = add(&store, 2).await;
    let worker = store.new_worker().await.unwrap();
    let mut taken = Vec::new();
    while let Some(lease) = store
        .take_next(worker.name(), Duration::from_secs(60))
        .await
        .unwrap()
    {
        store.save_failure(&lease, "test", "test").await.unwrap();
        taken.push(lease.entry.file_name);
    }
    taken.sort();
    assert_eq!(taken, ["1.jpg", "2.jpg"]);
    assert_eq!(
        store.entry(&second.id).await.unwrap().state,
        EntryState::Failed
    );
    assert_eq!(store.verify().await.unwrap().findings, []);
}

/// Two runs over the same folder into the same store, while the page is served: each photo is read once.
#[test]
fn two_processes_on_one_store_share_the_work() {
    let folder = tempfile::tempdir().unwrap();
    let source = log(folder.path(), PHOTOS);
    let store = folder.path().join("store");
    let server = Server::start(&store, &["--fast"]);
    let run = || {
        Command::new(env!("CARGO_BIN_EXE_platewright"))
            .args(["batch", "--fast", "--json", "--store"])
            .args([&store, &source])
            .stdout(Stdio::piped())
            .spawn()
            .unwrap()
    };
    let runs = [run(), run()];
    for run in runs {
        let output = run.wait_with_output().unwrap();
        assert_eq!(summary(&output)["failed"], 0);
    }
    let deadline = Instant::now() + Duration::from_secs(120);
    while exported(&store).len() < PHOTOS && Instant::now() < deadline {
        std::thread::sleep(Duration::from_millis(200));
    }
    drop(server);
    assert_eq!(exported(&store).len(), PHOTOS);
    assert_eq!(health(&store)["readings"], PHOTOS);
}

/// A photo whose file in the store was damaged after it came: it fails by name, the others are read.
#[test]
fn a_photo_damaged_in_the_store_costs_only_itself() {
    let folder = tempfile::tempdir().unwrap();
    let source = log(folder.path(), 2);
    let store = folder.path().join("store");
    let jpeg = fs::read(fixture("plates/02-easy-boxed-grid-printed.jpg")).unwrap();
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let location = Location {
            folder: store.clone(),
            database: None,
            photos: None,
        };
        let open = Store::open(&location).await.unwrap();
        let entry = NewEntry {
            source: Source::new(SourceKind::Folder, "test"),
            file_name: "roof.jpg".to_owned(),
            photos: vec![NewPhoto {
                bytes: with_comment(&jpeg, "roof"),
                media: MediaType::Jpeg,
                size: None,
            }],
            part: 0,
        };
        open.add(entry).await.unwrap();
        open.close().await;
    });
    let file = snapshot(&store.join("photos")).remove(0).0;
    let mut bytes = fs::read(&file).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle..middle + 64].fill(0);
    fs::write(&file, bytes).unwrap();
    let output = batch(&store, &source);
    assert_eq!(
        (
            summary(&output)["read"].as_u64(),
            summary(&output)["failed"].as_u64()
        ),
        (Some(2), Some(1))
    );
    assert!(
        said(&output).contains("roof.jpg: its file in the store was changed"),
        "{}",
        said(&output)
    );
    // What the message asks for mends it: the same photo once more.
    fs::write(source.join("roof.jpg"), with_comment(&jpeg, "roof")).unwrap();
    batch(&store, &source);
    let mended = finish(
        platewright()
            .args(["batch", "--fast", "--json", "--retry", "failed", "--store"])
            .arg(&store),
    );
    assert_eq!(summary(&mended)["failed"], 0, "{}", said(&mended));
    assert_eq!(summary(&mended)["read"], 1, "{}", said(&mended));
}
