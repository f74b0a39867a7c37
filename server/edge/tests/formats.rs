//! Journals of every format that was ever written, kept as they were written, and what was answered
//! from them then.
//!
//! The story: a shop updates `fettled` after years. Its book opens, is whole, goes on, and says of the
//! kit what it said before. Each folder in `tests/journals` is named after the newest format in it and
//! the day it was made; `answers.json` there has the questions with the answers of that day's program,
//! without sentences and names. More may be answered now, nothing else.

use std::fs;
use std::path::{Path, PathBuf};

use fettlebook_model::Entry;
use serde_json::Value;
use tempfile::TempDir;
use tonic::transport::Channel;
use uuid::Uuid;

use super::asks::ask;
use super::{World, journal_of};
use crate::desk::DeskOptions;
use crate::keep::Outbox;
use crate::solo;
use crate::testing::TestClock;

/// Long after everything in the journals happened.
const LATER: &str = "2026-12-05T07:00:00Z";

/// Floating-point figures agree to so many parts of themselves: other machines round otherwise.
const TOLERANCE: f64 = 1e-9;

fn kept() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/journals");
    let mut kept: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_dir())
        .collect();
    kept.sort();
    assert!(!kept.is_empty());
    kept
}

/// A folder of its own with what is in another.
fn copied(from: &Path) -> TempDir {
    let to = tempfile::tempdir().unwrap();
    copy_into(from, to.path());
    to
}

fn copy_into(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let there = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy_into(&path, &there);
        } else {
            fs::copy(&path, &there).unwrap();
        }
    }
}

/// Without sentences and names: whatever has a blank in it.
fn figures(value: Value) -> Value {
    let is_kept = |value: &Value| !value.as_str().is_some_and(|text| text.contains(' '));
    match value {
        Value::Array(all) => all.into_iter().filter(is_kept).map(figures).collect(),
        Value::Object(all) => all
            .into_iter()
            .filter(|(_, value)| is_kept(value))
            .map(|(name, value)| (name, figures(value)))
            .collect(),
        other => other,
    }
}

/// Where an answer lacks what was answered before, or has something else; none where it has it all.
fn difference(now: &Value, before: &Value, at: &str) -> Option<String> {
    match (now, before) {
        (Value::Object(now), Value::Object(before)) => before.iter().find_map(|(name, before)| {
            let now = now.get(name).unwrap_or(&Value::Null);
            difference(now, before, &format!("{at}.{name}"))
        }),
        (Value::Array(now), Value::Array(before)) if now.len() == before.len() => {
            let pairs = now.iter().zip(before).enumerate();
            let mut found = pairs.filter_map(|(at_row, (now, before))| {
                difference(now, before, &format!("{at}[{at_row}]"))
            });
            found.next()
        }
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
            let same = (a - b).abs() <= TOLERANCE * b.abs();
            (!same).then(|| format!("{at}: {a}, before {b}"))
        }
        _ => (now != before).then(|| format!("{at}: {now}, before {before}")),
    }
}

/// Puts each question again, and compares. A question recorded with `null` fails with the answer.
async fn compare(channel: &Channel, questions: &Value, kept: &Path) {
    for question in questions.as_array().unwrap() {
        let rpc = question["rpc"].as_str().unwrap();
        let answer = ask(channel.clone(), rpc, &question["request"].to_string()).await;
        let now = figures(serde_json::to_value(answer.unwrap()).unwrap());
        let found = difference(&now, &question["answer"], rpc);
        assert!(found.is_none(), "{}: {found:?}\n{now}", kept.display());
    }
}

#[tokio::test]
async fn journals_of_every_format_open_and_answer_as_they_did() {
    for kept in kept() {
        let text = fs::read_to_string(kept.join("answers.json")).unwrap();
        let answers: Value = serde_json::from_str(&text).unwrap();
        let clock = TestClock::at(LATER);

        let folder = copied(&kept.join("book"));
        let before = journal_of(folder.path());
        let service = solo::open(
            folder.path(),
            DeskOptions::new(clock.clone(), Uuid::now_v7()),
        )
        .await
        .unwrap();
        assert_eq!(service.report().read_only, None, "{}", kept.display());
        compare(&service.channel(), &answers["book"], &kept).await;
        let world = World {
            folder,
            clock: clock.clone(),
            service,
        };
        let moved = r#"{"tags": ["P-01"], "place": "van-b"}"#;
        let channel = world.service.channel();
        ask(channel, "MoveKit", moved).await.unwrap();
        world.service.close().await.unwrap();
        let after = journal_of(world.folder.path());
        assert!(after.len() > before.len() && after.starts_with(&before));

        let folder = copied(&kept.join("copy"));
        let service = solo::open_copy(folder.path(), clock).await.unwrap();
        compare(&service.channel(), &answers["copy"], &kept).await;
        service.close().await.unwrap();

        let folder = copied(&kept.join("outbox"));
        let outbox = Outbox::open(folder.path()).unwrap();
        assert!(!outbox.lines().is_empty(), "{}", kept.display());
    }
}

/// The entry objects of a kept journal.
fn entries(kept: &Path) -> Vec<Value> {
    let bytes = journal_of(&kept.join("book"));
    let text = String::from_utf8(bytes).unwrap();
    text.lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap()["entry"].clone())
        .collect()
}

/// Members may have been added since; none has gone or changed.
#[test]
fn entries_of_every_format_are_written_again_with_all_that_was_in_them() {
    for kept in kept() {
        for mut before in entries(&kept) {
            let entry: Entry = serde_json::from_value(before.clone()).unwrap();
            // The journal's own member.
            before.as_object_mut().unwrap().remove("after");
            let written = serde_json::to_value(&entry).unwrap();
            let lost = difference(&written, &before, "entry");
            assert_eq!(lost, None, "{before}");
        }
    }
}
