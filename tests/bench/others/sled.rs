//! sled 0.34: a group is a batch, a flush, and a sync of its file.
//!
//! Its own flush hands the bytes to the system without an fsync on Linux, so that a group which
//! was only flushed may be lost with the power. The requests have no index here, which favours it.

use std::fs::File;
use std::path::Path;
use std::time::{Duration, Instant};

use ::sled::{Batch, Config, Db, Error};

use crate::Fault;
use crate::grouped::{Given, Store};

/// Memory for pages: as much as the shelf has.
const CACHE_BYTES: u64 = 64 * 1024 * 1024;

/// Longest that the lock of whoever had a folder before is waited for.
const LOCK_WAIT: Duration = Duration::from_secs(10);

/// A tree of lines by their number.
pub(crate) struct Tree {
    db: Db,
    file: File,
    seq: u64,
}

impl Tree {
    /// An empty one.
    pub(crate) fn create(folder: &Path) -> Result<Self, Fault> {
        Self::again(folder, 0)
    }

    /// One that holds so many lines.
    pub(crate) fn again(folder: &Path, line_count: u64) -> Result<Self, Fault> {
        Ok(Self {
            db: open(folder)?,
            file: File::open(folder.join("db"))?,
            seq: line_count,
        })
    }
}

/// Opens what is in a folder. Whoever had it open before may not have let go of its lock yet: sled's
/// own threads do so a moment after it was dropped.
pub(crate) fn open(folder: &Path) -> Result<Db, Fault> {
    let config = Config::new().path(folder).cache_capacity(CACHE_BYTES);
    let config = config.flush_every_ms(None);
    let begun = Instant::now();
    loop {
        match config.open() {
            Err(Error::Io(error)) if is_locked(&error) && begun.elapsed() < LOCK_WAIT => {
                std::thread::sleep(Duration::from_millis(1));
            }
            opened => return Ok(opened?),
        }
    }
}

/// Whether somebody else has a folder. sled tells it in words alone.
fn is_locked(error: &std::io::Error) -> bool {
    error.to_string().contains("could not acquire lock")
}

impl Store for Tree {
    fn commit(&mut self, group: &[Given]) -> Result<(), Fault> {
        let mut batch = Batch::default();
        for given in group {
            self.seq += 1;
            batch.insert(&self.seq.to_be_bytes(), given.line.as_ref());
        }
        self.db.apply_batch(batch)?;
        self.db.flush()?;
        Ok(self.file.sync_data()?)
    }
}
