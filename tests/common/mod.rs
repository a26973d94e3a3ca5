//! What the tests of the command share.
#![allow(dead_code)] // each test file uses its part

use assert_cmd::Command;
use platewright::store::NewList;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// The command under test.
pub fn platewright() -> Command {
    Command::new(env!("CARGO_BIN_EXE_platewright"))
}

/// A file of `fixtures/`.
pub fn fixture(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures")
        .join(name)
}

/// The JSON objects of an output, one a line.
pub fn json_lines(output: &[u8]) -> Vec<Value> {
    let text = String::from_utf8(output.to_vec()).expect("output is UTF-8");
    text.lines()
        .map(|line| serde_json::from_str(line).unwrap_or_else(|e| panic!("{e}: {line}")))
        .collect()
}

/// A stock list of one motor, as a store takes it in.
pub fn stock_list() -> NewList {
    NewList {
        name: "stock.csv".to_owned(),
        bytes: b"sku,hp\nA,1\n".to_vec(),
        mapping: "{}".to_owned(),
        motors: 1,
        faults: 0,
    }
}

/// What a command prints that has nothing to complain of.
pub fn done(command: &mut Command) -> Vec<u8> {
    let output = command.output().unwrap();
    let told = [&output.stdout[..], &output.stderr].map(String::from_utf8_lossy);
    assert_eq!(output.status.code(), Some(0), "{}", told.join("\n"));
    output.stdout
}

/// What a store exports, a line an entry.
pub fn exported(store: &Path) -> Vec<Value> {
    json_lines(&done(platewright().args(["export", "--store"]).arg(store)))
}
