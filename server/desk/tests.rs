//! The desk keeps its promises, each in a file of its own.

mod auditing;
mod backup;
mod beginning;
mod bound;
mod clock;
mod compare;
mod cuts;
mod damage;
mod durable;
mod ending;
mod finding;
mod fuzz;
mod groups;
mod looking;
mod machine;
mod newer;
mod opening;
mod proof;
mod reading;
mod retries;
mod rewritten;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use fettlebook_model::{Command, Entry, Seq};
use uuid::Uuid;

use super::{Desk, DeskError, DeskOptions, OpenError, OpenReport};
use crate::store::Store;
use crate::testing::stores::{FOLDER, Kind, ToldStore};
use crate::testing::{TestClock, count_gloves, gloves, order};

/// A book in a store and by a clock that the test holds.
struct World {
    told: Box<dyn ToldStore>,
    clock: Arc<TestClock>,
    options: DeskOptions,
}

impl World {
    /// One in a folder, for tests that look at its files.
    fn new() -> Self {
        Self::on(&FOLDER)
    }

    /// One in a store of this kind.
    fn on(kind: &Kind) -> Self {
        Self::of((kind.told)())
    }

    fn of(told: Box<dyn ToldStore>) -> Self {
        let clock = TestClock::at("2026-03-02T08:00:00Z");
        let mut options = DeskOptions::new(Arc::clone(&clock) as _, Uuid::now_v7());
        options.lock_wait = Duration::from_millis(200);
        Self {
            told,
            clock,
            options,
        }
    }

    /// The folder, of a book that is in one.
    fn path(&self) -> &Path {
        self.told.folder().unwrap()
    }

    fn segment(&self) -> PathBuf {
        self.path().join("journal/000000000001.jsonl")
    }

    fn journal(&self) -> String {
        self.told.lines()
    }

    fn store(&self) -> Arc<dyn Store> {
        self.told.store()
    }

    fn try_open(&self) -> Result<(Desk, OpenReport), OpenError> {
        Desk::open(self.store(), &self.options)
    }

    fn open(&self) -> Desk {
        self.try_open().unwrap().0
    }

    /// Opens the book, lets `work` use it, and closes it.
    async fn with<T>(&self, work: impl AsyncFnOnce(&Desk) -> T) -> T {
        let desk = self.open();
        let made = work(&desk).await;
        desk.close().await.unwrap();
        made
    }

    /// A book with gloves in it and this many counts of them: two entries more than counts.
    async fn with_counts(self, count: i64) -> Self {
        self.with(async |desk| {
            for command in gloves() {
                take(desk, command).await.unwrap();
            }
            for left in 0..count {
                take(desk, count_gloves(left)).await.unwrap();
            }
        })
        .await;
        self
    }
}

/// Gives a command to the desk.
async fn take(desk: &Desk, command: Command) -> Result<Arc<Entry>, DeskError> {
    desk.submit(order(command)).await
}

/// Asserts that a book is whole and has this many entries.
async fn assert_whole(desk: &Desk, entry_count: u64) {
    let verified = desk.verify().await.unwrap();
    assert_eq!(verified.findings, Vec::<String>::new());
    assert_eq!(verified.entry_count, entry_count);
    assert_eq!(desk.book().head(), Seq(entry_count));
}

/// Copies a folder with what is in it.
fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_folder(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}
