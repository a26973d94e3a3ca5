//! Proof that the program may be trusted with strangers' files and with faults of the machine: memory stays below its
//! ceiling under attack, nothing is lost by any fault, and what is read does not depend on the machine's mood.
//!
//! `docs/trust.md` says what is tried here, fault by fault.
#![cfg(target_os = "linux")]

#[path = "../common/mod.rs"]
mod common;
mod faults;
mod memory;
mod models;
mod postgres;
#[path = "../common/server.rs"]
mod server;

use common::{done, fixture, json_lines, platewright};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The command behind a line of shell that sets limits on it: `$0` and the arguments are put behind it.
fn behind(shell: &str) -> Command {
    let mut command = Command::new("sh");
    command
        .args(["-c", &format!("{shell}; exec \"$0\" \"$@\"")])
        .arg(env!("CARGO_BIN_EXE_platewright"));
    command
}

/// A folder with so many photos of plates, each of another content.
fn log(folder: &Path, photos: usize) -> PathBuf {
    let source = folder.join("log");
    fs::create_dir_all(&source).unwrap();
    let plate = image::open(fixture("plates/02-easy-boxed-grid-printed.jpg")).unwrap();
    for number in 0..photos {
        let mut photo = plate.thumbnail(400, 300).to_rgb8();
        photo.put_pixel(0, 0, image::Rgb([number as u8; 3]));
        photo.save(source.join(format!("{number}.png"))).unwrap();
    }
    source
}

fn batch(store: &Path, source: &Path) -> Output {
    finish(
        platewright()
            .args(["batch", "--fast", "--json", "--store"])
            .arg(store)
            .arg(source),
    )
}

fn finish(command: &mut assert_cmd::Command) -> Output {
    command.output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn summary(output: &Output) -> Value {
    json_lines(&output.stdout)
        .pop()
        .unwrap_or_else(|| panic!("{}", said(output)))
}

/// What `check-store` says: all is there.
fn health(store: &Path) -> Value {
    let output = finish(
        platewright()
            .args(["check-store", "--json", "--store"])
            .arg(store),
    );
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}{}",
        said(&output),
        String::from_utf8_lossy(&output.stdout)
    );
    json_lines(&output.stdout).remove(0)
}

/// The exported lines, by what matters of them: everything but the time that reading took.
fn exported(store: &Path) -> Vec<Value> {
    let output = finish(platewright().args(["export", "--store"]).arg(store));
    let mut lines = json_lines(&output.stdout);
    for line in &mut lines {
        line.as_object_mut().unwrap().remove("ms");
    }
    lines.sort_by_key(|line| line["id"].to_string());
    lines
}
