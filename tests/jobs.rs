//! Several workers on one PostgreSQL database: the real command, killed, stopped and cut off.
//!
//! Ignored by a plain `cargo test`; `scripts/test` starts a server of its own and runs it.

#[path = "common/mod.rs"]
mod common;
#[path = "common/postgres.rs"]
mod postgres;
#[path = "common/sources.rs"]
mod sources;

use common::{json_lines, platewright};
use serde_json::Value;
use sources::{log, photo};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;

/// A store in a folder and a database.
struct Shared {
    store: PathBuf,
    database: String,
}

impl Shared {
    fn args(&self) -> [String; 4] {
        let store = self.store.display().to_string();
        [
            "--store".to_owned(),
            store,
            "--database".to_owned(),
            self.database.clone(),
        ]
    }

    fn run(&self, command: &[&str]) -> Output {
        platewright()
            .args(command)
            .args(self.args())
            .output()
            .unwrap()
    }

    fn json(&self, command: &[&str]) -> Value {
        let output = self.run(command);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        let lines = json_lines(&output.stdout);
        assert_eq!(lines.len(), 1, "{said}");
        lines[0].clone()
    }

    fn enqueue(&self, more: &[&str]) -> Value {
        self.json(&[&["batch", "--enqueue", "--json"], more].concat())
    }

    fn readings(&self) -> u64 {
        self.json(&["check-store", "--json"])["readings"]
            .as_u64()
            .unwrap()
    }

    /// Waits until so many were read.
    fn wait_for(&self, readings: u64) {
        for _ in 0..1200 {
            if self.readings() >= readings {
                return;
            }
            std::thread::sleep(Duration::from_millis(100));
        }
        panic!("{readings} readings did not come");
    }

    fn worker(&self, more: &[&str]) -> Child {
        Command::new(env!("CARGO_BIN_EXE_platewright"))
            .args([
                "work",
                "--fast",
                "--json",
                "--jobs",
                "1",
                "--lost-after",
                "4",
            ])
            .args(self.args())
            .args(more)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
    }

    fn lines(&self) -> Vec<Value> {
        json_lines(&self.run(&["export"]).stdout)
    }
}

fn ended(child: Child) -> (Value, String) {
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    let lines = json_lines(&output.stdout);
    assert_eq!(lines.len(), 1, "{said}");
    (lines[0].clone(), said)
}

fn signal(child: &Child, name: &str) {
    let sent = Command::new("kill")
        .args([name, &child.id().to_string()])
        .status();
    assert!(sent.unwrap().success());
}

/// The file of the store that holds these bytes.
fn kept(store: &Path, bytes: &[u8]) -> PathBuf {
    walkdir::WalkDir::new(store.join("photos"))
        .into_iter()
        .map(|entry| entry.unwrap().into_path())
        .find(|path| path.is_file() && fs::read(path).unwrap() == bytes)
        .unwrap()
}

#[test]
#[ignore = "needs PostgreSQL: scripts/test starts one and runs this"]
fn workers_that_are_killed_stopped_and_cut_off_read_everything_once() {
    let folder = tempfile::tempdir().unwrap();
    let source = log(folder.path(), 12);
    fs::write(source.join("empty.jpg"), b"").unwrap();
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let database = runtime.block_on(postgres::fresh_database(&postgres::server(), "jobs"));
    let shared = Shared {
        store: folder.path().join("store"),
        database,
    };
    let source = source.display().to_string();
    let first = shared.enqueue(&[&source]);
    assert_eq!(
        (&first["added"], &first["enqueued"]),
        (&13.into(), &13.into()),
        "{first}"
    );
    // Again, as after a kill: nothing is put down twice.
    let again = shared.enqueue(&[&source]);
    assert_eq!(
        (&again["added"], &again["enqueued"]),
        (&0.into(), &0.into()),
        "{again}"
    );
    // A photo that cannot be had for a while.
    let hidden = kept(&shared.store, &photo(1));
    let aside = hidden.with_extension("aside");
    fs::rename(&hidden, &aside).unwrap();

    let mut killed = shared.worker(&[]);
    shared.wait_for(1);
    killed.kill().unwrap();
    killed.wait().unwrap();

    let stopped = shared.worker(&[]);
    shared.wait_for(3);
    signal(&stopped, "-TERM");
    let (said, _) = ended(stopped);
    assert_eq!(said["stopped"], true, "{said}");
    assert!(said["read"].as_u64() >= Some(1), "{said}");

    let last = shared.worker(&["--until-empty"]);
    let before = shared.readings();
    shared.wait_for(before + 1);
    let restart =
        std::env::var("PLATEWRIGHT_TEST_RESTART").expect("scripts/with-postgres says how");
    let restarted = Command::new("sh").args(["-c", &restart]).status().unwrap();
    assert!(restarted.success());
    let (_, told) = ended(last);
    assert!(told.contains("waiting until it is back"), "{told}");
    assert!(told.contains("it is back; going on"), "{told}");

    let kinds = |lines: &[Value]| -> Vec<String> {
        let kinds = lines.iter().filter_map(|l| l["error"]["kind"].as_str());
        let mut kinds: Vec<String> = kinds.map(str::to_owned).collect();
        kinds.sort();
        kinds
    };
    let lines = shared.lines();
    assert_eq!(lines.len(), 13);
    assert_eq!(kinds(&lines), ["empty", "storage"]);
    assert_eq!(shared.readings(), 11);
    let dead = lines
        .iter()
        .find(|l| l["error"]["kind"] == "storage")
        .unwrap();
    let why = dead["error"]["message"].as_str().unwrap();
    assert!(why.contains("tried 6 times"), "{why}");

    // What is there again is read when the failed are run again; the rest fails again.
    fs::rename(&aside, &hidden).unwrap();
    let retried = shared.enqueue(&["--retry", "failed"]);
    assert_eq!(retried["enqueued"], 2, "{retried}");
    let (said, _) = ended(shared.worker(&["--until-empty"]));
    assert_eq!(
        (&said["read"], &said["failed"]),
        (&1.into(), &1.into()),
        "{said}"
    );
    let health = shared.json(&["check-store", "--json"]);
    assert_eq!(health["findings"], serde_json::json!([]));
    assert_eq!(
        (&health["entries"], &health["readings"]),
        (&13.into(), &12.into())
    );
}

#[test]
#[ignore = "needs PostgreSQL: scripts/test starts one and runs this"]
fn a_worker_that_looks_elsewhere_for_the_photos_is_told_so() {
    let folder = tempfile::tempdir().unwrap();
    let source = log(folder.path(), 1).display().to_string();
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let database = runtime.block_on(postgres::fresh_database(&postgres::server(), "elsewhere"));
    let shared = Shared {
        store: folder.path().join("store"),
        database,
    };
    shared.enqueue(&[&source]);
    let elsewhere = Shared {
        store: folder.path().join("elsewhere"),
        ..shared
    };
    let output = elsewhere.run(&["work", "--fast", "--until-empty"]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(
        said.contains("this photo of the store is not there"),
        "{said}"
    );
    // Nothing was counted as failed for it.
    assert_eq!(elsewhere.lines().len(), 0);
}
