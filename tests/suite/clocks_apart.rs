//! Nodes whose clocks are wrong, with the real binaries: two that are hours apart, and one that is a year ahead of
//! what is in its books.
//!
//! A machine's clock is set otherwise by a library that the loader puts before the system's own
//! (`other_clock.c`).

use std::path::PathBuf;
use std::process::Command;
use std::sync::OnceLock;
use std::thread::sleep;
use std::time::Duration;

use serde_json::Value;
use tempfile::TempDir;

use crate::binaries::{Fettled, Shop, json};
use crate::many_books::{World, reason, until};
use crate::python::root;

/// How long a holder may be silent. Source: the README.
const SILENT: Duration = Duration::from_secs(5);

const HOUR_S: i64 = 3_600;
const YEAR_S: i64 = 365 * 24 * HOUR_S;

/// The library, built once; nothing where the machine has no compiler of C, as what builds these programs has.
fn other_clock() -> &'static PathBuf {
    static BUILT: OnceLock<(TempDir, PathBuf)> = OnceLock::new();
    let (_, library) = BUILT.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let library = folder.path().join("other_clock.so");
        let mut command = Command::new("cc");
        command
            .args(["-shared", "-fPIC", "-O1", "-o"])
            .arg(&library);
        let built = command
            .arg(root().join("tests/suite/other_clock.c"))
            .status();
        assert!(built.unwrap().success());
        (folder, library)
    });
    library
}

impl World {
    /// A node on a machine whose clock is so far ahead.
    fn node_ahead(&self, name: &str, ahead_s: i64, options: &[&str]) -> Fettled {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
        command.env("LD_PRELOAD", other_clock());
        command.env("CLOCK_AHEAD_S", ahead_s.to_string());
        Fettled::serve_from_by(command, &self.place.url("bench"), &self.path(name), options)
    }
}

/// When entries were recorded, in seconds, the first first.
fn recorded(node: &Fettled) -> Vec<i64> {
    let listed = json(Shop::At(&node.url), &["book", "entries"]);
    let second = |entry: &Value| {
        let time: jiff::Timestamp = entry["recordedTime"].as_str().unwrap().parse().unwrap();
        time.as_second()
    };
    listed["entries"]
        .as_array()
        .unwrap()
        .iter()
        .map(second)
        .collect()
}

#[test]
fn nodes_whose_clocks_are_hours_apart_lose_nothing_and_take_nothing_that_is_not_to_be_had() {
    let Some(world) = World::with(1) else { return };
    let book = world.books[0];
    let first = world.node("first", &[]);
    assert_eq!(world.record(&first, None).unwrap(), 1);
    let second = world.node_ahead("second", 3 * HOUR_S, &[]);
    assert_eq!(
        reason(&world.record(&second, None).unwrap_err()),
        "HELD_ELSEWHERE"
    );
    sleep(SILENT + Duration::from_secs(1));
    assert_eq!(world.of(book, "epoch"), "1");
    assert_eq!(world.record(&first, None).unwrap(), 2);

    let goes_on = |node: &Fettled, seq: i64| {
        until("the other goes on", || match world.record(node, None) {
            Ok(recorded) => {
                assert_eq!(recorded, seq);
                true
            }
            Err(told) => {
                assert_eq!(reason(&told), "HELD_ELSEWHERE");
                false
            }
        });
    };
    first.stop();
    goes_on(&second, 3);
    second.kill();
    // Behind what is in the book by now: no entry is earlier than the one before.
    let first = world.node("first", &[]);
    goes_on(&first, 4);
    assert_eq!(world.of(book, "epoch"), "3");
    assert_eq!(
        json(Shop::At(&first.url), &["book", "verify"])["whole"],
        true
    );
    let told = recorded(&first);
    let [_, before, ahead, pinned] = told[..] else {
        panic!("{told:?}")
    };
    assert!((ahead - before - 3 * HOUR_S).abs() < 300, "{told:?}");
    assert_eq!(pinned, ahead);
}

#[test]
fn a_clock_is_taken_for_right_once_in_each_of_many_books() {
    let Some(world) = World::with(2) else { return };
    let books = || world.books.iter().map(|book| Some(*book));
    let node = world.node("node", &[]);
    for book in books() {
        assert_eq!(world.record(&node, book).unwrap(), 1);
    }
    node.stop();
    let node = world.node_ahead("node", YEAR_S, &[]);
    for book in books() {
        let told = world.record(&node, book).unwrap_err();
        assert_eq!(reason(&told), "CLOCK_AHEAD");
        assert!(told.message().contains("--accept-clock"), "{told}");
    }
    node.stop();
    let node = world.node_ahead("node", YEAR_S, &["--accept-clock"]);
    for book in books() {
        assert_eq!(world.record(&node, book).unwrap(), 2);
    }
}
