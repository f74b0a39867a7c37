//! Keeping books: what is written is whole or cannot be opened, and nothing is lost on the way.

mod bound;
mod copy;
mod cuts;
mod first_difference;
mod mending;
mod names;
mod outbox;
mod row;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use fettlebook_model::Seq;
use tempfile::TempDir;
use uuid::Uuid;

use super::new_book::NewBook;
use super::{BackupFolder, KeepError, restore, verify_backup};
use crate::desk::{Desk, DeskOptions, Manifest, OpenError};
use crate::journal::RealDisk;
use crate::store::FolderStore;
use crate::store::StoreError;
use crate::testing::{TestClock, count_gloves, gloves, new_car, order};

/// A place with a book of gloves in it: two entries more than counts.
struct World {
    folder: TempDir,
    book_id: Uuid,
}

impl World {
    async fn with_counts(count: i64) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let book_id = Uuid::now_v7();
        let world = Self { folder, book_id };
        let desk = world.open("book");
        let counts = (0..count).map(count_gloves);
        for command in gloves().into_iter().chain(counts) {
            desk.submit(order(command)).await.unwrap();
        }
        desk.close().await.unwrap();
        world
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn try_open(&self, name: &str) -> Result<Desk, OpenError> {
        let clock = TestClock::at("2026-03-02T08:00:00Z");
        let options = DeskOptions::new(Arc::clone(&clock) as _, self.book_id);
        Desk::open(Arc::new(FolderStore::at(self.path(name))), &options).map(|(desk, _)| desk)
    }

    fn open(&self, name: &str) -> Desk {
        self.try_open(name).unwrap()
    }

    /// Makes a backup of the book.
    async fn back_up(&self, to: &str) -> Manifest {
        let mut folder = BackupFolder::begin(&self.path(to)).unwrap();
        let desk = self.open("book");
        let mut parts = desk.backup().unwrap();
        while let Some(part) = parts.recv().await {
            let part = part.unwrap();
            folder.take(&part.file, &part.content).unwrap();
        }
        desk.close().await.unwrap();
        folder.finish().unwrap()
    }

    fn segment(&self, name: &str) -> PathBuf {
        self.path(name).join("journal/000000000001.jsonl")
    }

    fn lines(&self, name: &str) -> Vec<String> {
        let text = fs::read_to_string(self.segment(name)).unwrap();
        text.lines().map(str::to_owned).collect()
    }

    fn write_lines(&self, name: &str, lines: &[String]) {
        fs::write(self.segment(name), lines.join("\n") + "\n").unwrap();
    }
}

/// Every file below a folder with its bytes.
fn contents(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(contents(&path));
        } else {
            found.push((path.clone(), fs::read(&path).unwrap()));
        }
    }
    found.sort();
    found
}

#[tokio::test]
async fn a_restored_book_has_everything_and_goes_on_under_another_incarnation() {
    let world = World::with_counts(5).await;
    let manifest = world.back_up("backup").await;
    let incarnation_id = Uuid::now_v7();
    restore(&world.path("backup"), &world.path("back"), incarnation_id).unwrap();
    assert_eq!(world.lines("back"), world.lines("book"));
    let desk = world.open("back");
    let standing = desk.standing();
    assert_eq!(standing.head, manifest.head);
    assert_eq!(standing.identity.book_id, world.book_id);
    assert_eq!(standing.identity.incarnation_id, incarnation_id);
    assert_eq!(standing.identity.since, Seq(7));
    let entry = desk.submit(order(new_car("saloon"))).await.unwrap();
    assert_eq!(entry.seq, Seq(8));
    assert_eq!(desk.verify().await.unwrap().findings, Vec::<String>::new());
    desk.close().await.unwrap();
}

#[tokio::test]
async fn a_backup_is_never_opened_as_a_book_and_asking_leaves_it_alone() {
    let world = World::with_counts(1).await;
    world.back_up("backup").await;
    let before = contents(&world.path("backup"));
    let Err(error) = world.try_open("backup") else {
        panic!("a backup was opened")
    };
    assert!(error.to_string().contains("fettle book restore"), "{error}");
    assert_eq!(contents(&world.path("backup")), before);
}

#[tokio::test]
async fn any_byte_of_a_backup_that_is_changed_or_gone_is_found() {
    let world = World::with_counts(2).await;
    let whole = world.back_up("backup").await;
    let path = world.segment("backup");
    let good = fs::read(&path).unwrap();
    for at in (0..good.len()).step_by(41) {
        let mut bad = good.clone();
        bad[at] ^= 0x01;
        fs::write(&path, &bad).unwrap();
        assert!(
            verify_backup(&world.path("backup")).is_err(),
            "byte {at} changed"
        );
        fs::write(&path, &good[..at]).unwrap();
        assert!(
            verify_backup(&world.path("backup")).is_err(),
            "cut at byte {at}"
        );
    }
    fs::write(&path, &good).unwrap();
    let beside = path.with_file_name("000000000009.jsonl");
    fs::write(&beside, "").unwrap();
    assert!(
        verify_backup(&world.path("backup")).is_err(),
        "a file beside"
    );
    fs::remove_file(beside).unwrap();
    assert_eq!(verify_backup(&world.path("backup")).unwrap(), whole);
}

#[tokio::test]
async fn a_damaged_backup_is_refused_before_anything_is_written() {
    let world = World::with_counts(2).await;
    world.back_up("backup").await;
    let mut lines = world.lines("backup");
    lines[2] = lines[2].replacen("\"left_quantity\":0", "\"left_quantity\":9", 1);
    world.write_lines("backup", &lines);
    let refused = restore(&world.path("backup"), &world.path("back"), Uuid::now_v7());
    assert!(
        matches!(refused, Err(KeepError::BackupDamaged { .. })),
        "{refused:?}"
    );
    assert!(!world.path("back").exists());
}

/// The story: the program is killed before the end, at three points.
#[tokio::test]
async fn a_folder_that_was_not_finished_is_never_opened_or_written_into() {
    let world = World::with_counts(2).await;
    drop(BackupFolder::begin(&world.path("half-backup")).unwrap());
    drop(NewBook::begin(&world.path("begun"), Arc::new(RealDisk)).unwrap());
    world.back_up("backup").await;
    restore(&world.path("backup"), &world.path("whole"), Uuid::now_v7()).unwrap();
    fs::copy(
        world.path("begun").join("unfinished.txt"),
        world.path("whole").join("unfinished.txt"),
    )
    .unwrap();
    for name in ["half-backup", "begun", "whole"] {
        let before = contents(&world.path(name));
        let Err(OpenError::Store(StoreError::Unfinished { .. })) = world.try_open(name) else {
            panic!("{name} was opened")
        };
        let again = restore(&world.path("backup"), &world.path(name), Uuid::now_v7());
        assert!(
            matches!(again, Err(KeepError::NotEmpty { .. })),
            "{again:?}"
        );
        assert_eq!(contents(&world.path(name)), before);
    }
}

#[test]
fn only_files_of_a_journal_are_taken_into_a_backup() {
    let folder = tempfile::tempdir().unwrap();
    let mut backup = BackupFolder::begin(&folder.path().join("backup")).unwrap();
    for name in [
        "../escaped.jsonl",
        "journal/../../escaped.jsonl",
        "/tmp/escaped.jsonl",
        "journal/.jsonl",
        "book.json",
    ] {
        assert!(
            matches!(backup.take(name, b"x"), Err(KeepError::NotOurs { .. })),
            "{name}"
        );
    }
    assert!(matches!(backup.finish(), Err(KeepError::NotOurs { .. })));
}
