//! The shelf: every record of the book as it stands, and where to find what happened to it.
//!
//! It serves a fast start and fast look-ups. It is written behind the journal, can always be
//! rebuilt from it, and must never be the only place where anything is known: nothing is
//! acknowledged on its word.
//!
//! Invariant: the records and the mark that says up to which entry they hold are written in one
//! atomic batch, after every index that the mark covers. So whatever is lost of the shelf, what is
//! left is right up to its mark.

mod backlog;
mod keeper;
mod mark;
mod postings;
mod read;
mod recover;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use fettlebook_model::{Book, Entry, Seq, Subject};

use crate::journal::Mark;
use crate::limits::{
    LOCK_LOOK_EVERY, LOCK_WAIT_MAX, PLACE_STEP, SHELF_CACHE_BYTES, SHELF_FLUSH_EVERY,
    SMALL_SHELF_CACHE_BYTES, SMALL_SHELF_SEGMENT_BYTES,
};

pub use keeper::{Dump, Keeper, KeeperLine, Source};
pub use mark::{Furthest, ShelfMark};

/// Key of the mark among the records; no subject's key begins so.
const MARK_KEY: &[u8] = b"\0mark";

/// Why the shelf could not be opened, read or written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ShelfError {
    /// Another handle in this process or another process still has it open.
    #[error("the shelf is still open elsewhere")]
    Locked,
    /// It cannot be opened, or what it holds is not what was put there.
    #[error("the shelf is damaged: {0}")]
    Damaged(String),
    /// It is whole, and of another book or of a program that keeps another layout.
    #[error("the shelf does not fit: {0}")]
    Unfit(&'static str),
    /// It could not be read or written.
    #[error("the shelf failed: {0}")]
    Failed(String),
}

impl From<sled::Error> for ShelfError {
    fn from(error: sled::Error) -> Self {
        match error {
            sled::Error::Io(_) => Self::Failed(error.to_string()),
            _ => Self::Damaged(error.to_string()),
        }
    }
}

/// An entry on its way to the shelf.
#[derive(Debug, Clone)]
pub struct Shelved {
    /// The entry.
    pub entry: Arc<Entry>,
    /// Its place in the journal.
    pub mark: Mark,
}

/// How much memory a shelf takes while it is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShelfSize {
    /// That of the one book of a machine.
    Alone,
    /// That of one of many books: little.
    OneOfMany,
}

/// The shelf of one book. Clones share it.
#[derive(Debug, Clone)]
pub struct Shelf {
    records: sled::Tree,
    touched: sled::Tree,
    requests: sled::Tree,
    places: sled::Tree,
    /// Chain values of the entries whose place is kept. A shelf from before there were any has none.
    chains: sled::Tree,
}

impl Shelf {
    /// Opens the shelf in a folder, making it when there is none. One that was made in another size is damaged.
    ///
    /// # Errors
    /// `Damaged` when what is there cannot be opened: it may be thrown away. `Locked` when it is
    /// still open elsewhere after five seconds.
    pub fn open(folder: &Path, size: ShelfSize) -> Result<Self, ShelfError> {
        let start = Instant::now();
        loop {
            match catch_unwind(AssertUnwindSafe(|| Self::open_once(folder, size))) {
                Ok(Err(ShelfError::Locked)) if start.elapsed() < LOCK_WAIT_MAX => {
                    std::thread::sleep(LOCK_LOOK_EVERY);
                }
                Ok(Err(ShelfError::Failed(what))) => return Err(ShelfError::Damaged(what)),
                Ok(opened) => return opened,
                Err(_) => return Err(ShelfError::Damaged("opening it broke off".to_owned())),
            }
        }
    }

    fn open_once(folder: &Path, size: ShelfSize) -> Result<Self, ShelfError> {
        let every_ms = u64::try_from(SHELF_FLUSH_EVERY.as_millis()).unwrap_or(u64::MAX);
        let opened = sled::Config::new()
            .path(folder)
            .flush_every_ms(Some(every_ms));
        let opened = match size {
            ShelfSize::Alone => opened.cache_capacity(SHELF_CACHE_BYTES),
            ShelfSize::OneOfMany => opened
                .cache_capacity(SMALL_SHELF_CACHE_BYTES)
                .segment_size(SMALL_SHELF_SEGMENT_BYTES),
        };
        let opened = opened.open();
        let db = match opened {
            // The store reports a held lock as a plain I/O error whose text says so.
            Err(sled::Error::Io(error)) if error.to_string().contains("lock") => {
                return Err(ShelfError::Locked);
            }
            opened => opened?,
        };
        Ok(Self {
            records: db.open_tree("records")?,
            touched: db.open_tree("touched")?,
            requests: db.open_tree("requests")?,
            places: db.open_tree("places")?,
            chains: db.open_tree("chains")?,
        })
    }

    /// Puts a batch of entries on the shelf. `book` is the book just after the last of them.
    ///
    /// # Errors
    /// When the shelf cannot be written. It is then no longer to be trusted.
    pub fn put(&self, batch: &[Shelved], book: &Book, mark: &ShelfMark) -> Result<(), ShelfError> {
        let mut touched: BTreeMap<Subject, Vec<Seq>> = BTreeMap::new();
        for Shelved { entry, mark } in batch {
            if is_kept_place(entry.seq) {
                let key = entry.seq.0.to_be_bytes();
                self.places.insert(key, mark::encode(&mark.at)?)?;
                self.chains.insert(key, mark.chain.digits())?;
            }
            for subject in subjects(entry) {
                let seqs = touched.entry(subject).or_default();
                if seqs.last() != Some(&entry.seq) {
                    seqs.push(entry.seq);
                }
            }
        }
        self.put_requests(batch)?;
        let mut records = sled::Batch::default();
        for (subject, seqs) in touched {
            let key = subject.key().into_bytes();
            if let Some(first) = seqs.first() {
                self.touched.insert(
                    postings::key(&key, *first),
                    postings::encode_numbers(*first, &seqs)?,
                )?;
            }
            match book.record(&subject) {
                Some(record) => records.insert(key, mark::encode(&record)?),
                None => records.remove(key),
            }
        }
        records.insert(MARK_KEY, mark::encode(mark)?);
        Ok(self.records.apply_batch(records)?)
    }

    /// Puts up which entry answered which request.
    fn put_requests(&self, batch: &[Shelved]) -> Result<(), ShelfError> {
        let mut open: BTreeMap<&[u8], (Seq, Vec<u8>)> = BTreeMap::new();
        for Shelved { entry, .. } in batch {
            let bucket = postings::bucket(&entry.request);
            let (_, rows) = open
                .entry(bucket)
                .or_insert_with(|| (entry.seq, Vec::new()));
            postings::add_row(rows, entry.request, entry.seq, entry.body);
            if postings::is_full(rows)
                && let Some((first, rows)) = open.remove(bucket)
            {
                self.requests.insert(postings::key(bucket, first), rows)?;
            }
        }
        for (bucket, (first, rows)) in open {
            self.requests.insert(postings::key(bucket, first), rows)?;
        }
        Ok(())
    }

    /// Takes the shelf in a folder away, so that a new one can be built.
    ///
    /// # Errors
    /// What the system says.
    pub fn throw_away(folder: &Path) -> std::io::Result<()> {
        match std::fs::remove_dir_all(folder) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
            removed => removed,
        }
    }
}

/// Every subject an entry changes the record of, in the order of the entry; some may come twice.
pub fn subjects(entry: &Entry) -> impl Iterator<Item = Subject> {
    let flagged = entry.flags.iter().map(|flag| flag.subject.clone());
    entry
        .deeds
        .iter()
        .map(fettlebook_model::Deed::subject)
        .chain(flagged)
}

/// True for the entries whose place is kept: the first of every [`PLACE_STEP`].
const fn is_kept_place(seq: Seq) -> bool {
    seq.0 % PLACE_STEP == 1
}

/// The kept place at or before an entry, by number alone.
fn kept_place(seq: Seq) -> Seq {
    Seq(seq.0.saturating_sub(1) / PLACE_STEP * PLACE_STEP + 1)
}
