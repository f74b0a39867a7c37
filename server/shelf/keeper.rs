//! The keeper: the one thread that writes the shelf, some way behind the journal.
//!
//! It serves the desk, whose callers must not wait for the shelf. It gathers entries into batches
//! so that a record touched many times is written once. When it cannot write it says so, lets go of
//! the shelf, and tries now and then to open it anew and bring it up from the journal; it must never
//! leave a gap and go on.

mod work;

use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Sender, SyncSender, sync_channel};
use std::thread::JoinHandle;

use arc_swap::{ArcSwap, ArcSwapOption};
use fettlebook_model::{Book, Record, Seq, Subject};
use uuid::Uuid;

use super::backlog::Backlog;
use super::{Furthest, Shelf, ShelfError, ShelfSize, Shelved};
use crate::journal::Reader;

use work::Work;

/// What the shelf held at one moment between two batches, and the book it should equal.
#[derive(Debug)]
pub struct Dump {
    /// Number of the last entry on the shelf.
    pub head: Seq,
    /// Every record on the shelf.
    pub records: Vec<(Subject, Record)>,
    /// Which entries touched which subject.
    pub touched: std::collections::BTreeMap<Subject, Vec<Seq>>,
}

enum Job {
    Put(Vec<Shelved>),
    Settle(SyncSender<()>),
    Dump(SyncSender<Result<Dump, ShelfError>>),
    End,
}

/// The line to the keeper. Clones share it.
#[derive(Debug, Clone)]
pub struct KeeperLine {
    jobs: Sender<Job>,
    backlog: Arc<Backlog>,
    /// The book after the last entries that were handed over, or are just being.
    book: Arc<ArcSwap<Book>>,
    shelved: Arc<AtomicU64>,
    shelf: Arc<ArcSwapOption<Shelf>>,
    failure: Arc<ArcSwapOption<ShelfError>>,
}

/// The keeper of a shelf, and its thread.
#[derive(Debug)]
pub struct Keeper {
    line: KeeperLine,
    thread: JoinHandle<()>,
}

/// What a keeper brings its shelf up from, should it lose it.
#[derive(Clone)]
pub struct Source {
    /// Folder of the shelf.
    pub folder: PathBuf,
    /// How much memory it takes.
    pub size: ShelfSize,
    /// Id of the book's incarnation.
    pub owner: Uuid,
    /// The journal.
    pub reader: Arc<dyn Reader>,
}

impl Keeper {
    /// Starts the keeper of a shelf that holds `book`, or that could not be opened.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(
        source: Source,
        shelf: Result<Shelf, ShelfError>,
        book: Arc<Book>,
        furthest: Furthest,
    ) -> io::Result<Self> {
        let work = Work::new(source, shelf, book, furthest);
        let line = work.line.clone();
        let thread = std::thread::Builder::new().name("shelf".to_owned());
        let thread = thread.spawn(move || work.run())?;
        Ok(Self { line, thread })
    }

    /// The line to it.
    pub const fn line(&self) -> &KeeperLine {
        &self.line
    }

    /// Writes what is pending and ends.
    pub fn close(self) {
        let _ = self.line.jobs.send(Job::End);
        if self.thread.join().is_err() {
            tracing::error!("the shelf's thread broke off; the shelf is rebuilt at the next start");
        }
    }
}

impl KeeperLine {
    /// Hands over entries that are in the journal, and the book after the last of them. Waits when the
    /// keeper is far behind.
    pub fn hand(&self, entries: Vec<Shelved>, book: Arc<Book>) {
        self.backlog.add(entries.len());
        // First, so that it is never behind the entries.
        self.book.store(book);
        let _ = self.jobs.send(Job::Put(entries));
    }

    /// Number of the last entry on the shelf.
    pub fn shelved(&self) -> Seq {
        Seq(self.shelved.load(Ordering::Acquire))
    }

    /// The shelf, unless it is lost for the time being.
    pub fn shelf(&self) -> Option<Arc<Shelf>> {
        self.shelf.load_full()
    }

    /// Why the shelf is not written for the time being.
    pub fn failure(&self) -> Option<Arc<ShelfError>> {
        self.failure.load_full()
    }

    /// Waits until everything handed over before is on the shelf.
    ///
    /// # Errors
    /// Why it is not.
    pub fn settle(&self) -> Result<(), ShelfError> {
        let (reply, done) = sync_channel(1);
        self.jobs.send(Job::Settle(reply)).map_err(|_| ended())?;
        done.recv().map_err(|_| ended())?;
        self.failure()
            .map_or(Ok(()), |failure| Err(ShelfError::clone(&failure)))
    }

    /// What is on the shelf, once everything handed over before is.
    ///
    /// # Errors
    /// When the shelf cannot be read or written.
    pub fn dump(&self) -> Result<Dump, ShelfError> {
        let (reply, done) = sync_channel(1);
        self.jobs.send(Job::Dump(reply)).map_err(|_| ended())?;
        done.recv().map_err(|_| ended())?
    }
}

fn ended() -> ShelfError {
    ShelfError::Failed("it is closed".to_owned())
}
