//! The stores there are, and what a test can do to each: count, hold up, make fail, cut the power.
//!
//! A test of what every store promises is a function of a [`Kind`]; `on_every_store` runs it on each.
//! A further store is a row here, and a line in each arm of the macro.

use std::fmt::Debug;
use std::path::Path;
use std::sync::Arc;

use tempfile::TempDir;

use super::TestDisk;
use super::faulty::{Fault, FaultyDisk};
use crate::store::{FolderStore, Store};

/// A kind of store.
pub(crate) struct Kind {
    /// Whether this machine has what it needs; where not, it says so.
    pub(crate) is_there: fn() -> bool,
    /// Whether it finds out itself what became of a group whose outcome was not known.
    pub(crate) settles: bool,
    /// Whether an empty paper of the cabinet stands for none, where nobody who serves may take one away.
    pub(crate) empty_is_none: bool,
    /// One that counts, waits and fails when it is told to.
    pub(crate) told: fn() -> Box<dyn ToldStore>,
    /// One on a machine with faults, drawn by a seed, whose journal begins its next part after so many
    /// bytes; none where nothing but its connections can break, which its own tests do.
    pub(crate) breaking: Option<Breaking>,
}

/// Makes a store on a machine with faults, of a seed and the most bytes of a part of its journal.
pub(crate) type Breaking = fn(u64, u64) -> Box<dyn BreakingStore>;

/// Books in folders.
pub(crate) const FOLDER: Kind = Kind {
    is_there: || true,
    settles: false,
    empty_is_none: false,
    told: || Box::new(ToldFolder::new(None)),
    breaking: Some(|seed, bytes| Box::new(BreakingFolder::new(seed, bytes))),
};

/// Books in an engine that other machines share.
#[cfg(all(unix, feature = "postgres"))]
pub(crate) const POSTGRES: Kind = Kind {
    is_there: || fettlebook_yard::engine::engine().is_some(),
    settles: true,
    empty_is_none: true,
    told: || Box::new(super::postgres::ToldPostgres::new().unwrap()),
    breaking: None,
};

/// A kind of store as a type, for tests that are made of one.
pub(crate) trait Row {
    const KIND: &'static Kind;
}

/// Books in folders.
pub(crate) struct InFolder;

impl Row for InFolder {
    const KIND: &'static Kind = &FOLDER;
}

/// Runs each of these tests, functions of a [`Kind`], on every kind of store; `breaking` ones on those whose
/// machine can be made to break.
macro_rules! on_every_store {
    (breaking async $($test:ident),+ $(,)?) => {
        mod folder {
            $(#[tokio::test]
            async fn $test() {
                super::$test(&crate::testing::stores::FOLDER).await;
            })+
        }
    };
    (breaking $($test:ident),+ $(,)?) => {
        mod folder {
            $(#[test]
            fn $test() {
                super::$test(&crate::testing::stores::FOLDER);
            })+
        }
    };
    (async $($test:ident),+ $(,)?) => {
        mod folder {
            $(#[tokio::test]
            async fn $test() {
                super::$test(&crate::testing::stores::FOLDER).await;
            })+
        }
        #[cfg(all(unix, feature = "postgres"))]
        mod postgres {
            $(#[tokio::test]
            async fn $test() {
                let kind = &crate::testing::stores::POSTGRES;
                if (kind.is_there)() {
                    super::$test(kind).await;
                }
            })+
        }
    };
    ($($test:ident),+ $(,)?) => {
        mod folder {
            $(#[test]
            fn $test() {
                super::$test(&crate::testing::stores::FOLDER);
            })+
        }
        #[cfg(all(unix, feature = "postgres"))]
        mod postgres {
            $(#[test]
            fn $test() {
                let kind = &crate::testing::stores::POSTGRES;
                if (kind.is_there)() {
                    super::$test(kind);
                }
            })+
        }
    };
}
pub(crate) use on_every_store;

/// A store that does what it is told. Of what it is asked only groups of lines count.
pub(crate) trait ToldStore: Debug + Send + Sync {
    /// The store, as another process finds it.
    fn store(&self) -> Arc<dyn Store>;

    /// The lines that it has, looked up past the program.
    fn lines(&self) -> String;

    /// The folder with its files; none for one that has none.
    fn folder(&self) -> Option<&Path>;

    /// Makes the append after the next `passing` ones find no room half-way.
    fn fail_append_after(&self, passing: i64);

    /// Makes what settles the append after the next `passing` ones fail.
    fn fail_sync_after(&self, passing: i64);

    /// Makes every append wait until it is released.
    fn hold(&self);

    /// Lets appends go on.
    fn release(&self);

    fn append_count(&self) -> usize;

    fn sync_count(&self) -> usize;
}

/// A store on a machine that breaks.
pub(crate) trait BreakingStore: Debug + Send {
    /// The store, as another process finds it.
    fn store(&self) -> Arc<dyn Store>;

    /// Makes the operation after the next `passing` ones fail.
    fn fail_after(&self, passing: u64, fault: Fault);

    /// How many operations it was asked for.
    fn operation_count(&self) -> u64;

    /// Takes what was not certain, as a loss of power would.
    fn cut_power(&self);

    /// Makes it work again, with what is left.
    fn recover(&self);
}

/// A book in a folder, on a disk that does what it is told.
#[derive(Debug)]
pub(crate) struct ToldFolder {
    folder: TempDir,
    disk: TestDisk,
    segment_bytes_max: Option<u64>,
}

impl ToldFolder {
    pub(crate) fn new(segment_bytes_max: Option<u64>) -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
            disk: TestDisk::new(),
            segment_bytes_max,
        }
    }
}

impl ToldStore for ToldFolder {
    fn store(&self) -> Arc<dyn Store> {
        let store = FolderStore::at(self.folder.path()).on(Arc::new(self.disk.clone()));
        Arc::new(match self.segment_bytes_max {
            Some(bytes) => store.in_files_of(bytes),
            None => store,
        })
    }

    fn lines(&self) -> String {
        let first = self.folder.path().join("journal/000000000001.jsonl");
        std::fs::read_to_string(first).unwrap_or_default()
    }

    fn folder(&self) -> Option<&Path> {
        Some(self.folder.path())
    }

    fn fail_append_after(&self, passing: i64) {
        self.disk.fail_append_after(passing);
    }

    fn fail_sync_after(&self, passing: i64) {
        self.disk.fail_sync_after(passing);
    }

    fn hold(&self) {
        self.disk.hold();
    }

    fn release(&self) {
        self.disk.release();
    }

    fn append_count(&self) -> usize {
        self.disk.append_count()
    }

    fn sync_count(&self) -> usize {
        self.disk.sync_count()
    }
}

/// A book in a folder, on a disk with faults.
#[derive(Debug)]
struct BreakingFolder {
    folder: TempDir,
    disk: FaultyDisk,
    segment_bytes_max: u64,
}

impl BreakingFolder {
    fn new(seed: u64, segment_bytes_max: u64) -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
            disk: FaultyDisk::new(seed),
            segment_bytes_max,
        }
    }
}

impl BreakingStore for BreakingFolder {
    fn store(&self) -> Arc<dyn Store> {
        let store = FolderStore::at(self.folder.path()).on(Arc::new(self.disk.clone()));
        Arc::new(store.in_files_of(self.segment_bytes_max))
    }

    fn fail_after(&self, passing: u64, fault: Fault) {
        self.disk.fail_after(passing, fault);
    }

    fn operation_count(&self) -> u64 {
        self.disk.operation_count()
    }

    fn cut_power(&self) {
        self.disk.cut_power();
    }

    fn recover(&self) {
        self.disk.recover();
    }
}
