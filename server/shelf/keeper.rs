//! The keeper: the one thread that writes the shelf, some way behind the journal.
//!
//! It serves the desk, whose callers must not wait for the shelf. It gathers entries into batches
//! so that a record touched many times is written once. When it cannot write it says so, lets go of
//! the shelf, and tries now and then to open it anew and bring it up from the journal; it must never
//! leave a gap and go on.

use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use arc_swap::ArcSwapOption;
use fettlebook_model::{Book, Record, Seq, Subject};
use uuid::Uuid;

use super::recover::recover;
use super::{Furthest, Shelf, ShelfError, ShelfMark, Shelved};
use crate::journal::Reader;
use crate::limits::{
    SHELF_BATCH_COUNT_MAX, SHELF_DELAY_MAX, SHELF_NICENESS, SHELF_QUEUE_LENGTH_MAX, SHELF_TRY_EVERY,
};

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
    jobs: SyncSender<Job>,
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
        book: Book,
        furthest: Furthest,
    ) -> io::Result<Self> {
        let (jobs, queue) = sync_channel(SHELF_QUEUE_LENGTH_MAX);
        let (shelf, failure) = match shelf {
            Ok(shelf) => (Some(Arc::new(shelf)), None),
            Err(error) => (None, Some(Arc::new(error))),
        };
        let line = KeeperLine {
            jobs,
            shelved: Arc::new(AtomicU64::new(book.head().0)),
            shelf: Arc::new(ArcSwapOption::new(shelf)),
            failure: Arc::new(ArcSwapOption::new(failure)),
        };
        let work = Work {
            source,
            handed: book.head(),
            book,
            furthest,
            pending: Vec::new(),
            line: line.clone(),
        };
        let thread = std::thread::Builder::new().name("shelf".to_owned());
        let thread = thread.spawn(move || work.run(&queue))?;
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
    /// Hands over entries that are in the journal. Waits when the keeper is far behind.
    pub fn hand(&self, entries: Vec<Shelved>) {
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

/// Lets every other thread go first: a caller waits for the desk, nobody for the shelf. A system that
/// does not do that is none the worse.
fn step_back() {
    #[cfg(target_os = "linux")]
    {
        let thread = rustix::thread::gettid();
        let asked = rustix::process::setpriority_process(Some(thread), SHELF_NICENESS);
        if let Err(error) = asked {
            tracing::debug!(%error, "the shelf's thread keeps its priority");
        }
    }
}

fn ended() -> ShelfError {
    ShelfError::Failed("it is closed".to_owned())
}

struct Work {
    source: Source,
    /// A book of the keeper's own: sharing the desk's would make each free what the other made.
    book: Book,
    furthest: Furthest,
    pending: Vec<Shelved>,
    /// The last entry that was handed over.
    handed: Seq,
    line: KeeperLine,
}

impl Work {
    fn run(mut self, queue: &Receiver<Job>) {
        step_back();
        let mut since = Instant::now();
        loop {
            let wait = self.wait(since);
            let job = match wait {
                None => queue.recv().map_err(|_| RecvTimeoutError::Disconnected),
                Some(wait) => queue.recv_timeout(wait),
            };
            if wait.is_none() {
                since = Instant::now();
            }
            match job {
                Ok(Job::Put(entries)) => self.take(entries),
                Ok(Job::Settle(reply)) => {
                    self.write();
                    let _ = reply.send(());
                }
                Ok(Job::Dump(reply)) => {
                    self.write();
                    let _ = reply.send(self.dump());
                }
                Err(RecvTimeoutError::Timeout) => {
                    self.try_again();
                    self.write();
                    since = Instant::now();
                }
                Ok(Job::End) | Err(RecvTimeoutError::Disconnected) => break,
            }
        }
        self.write();
    }

    /// How long the next job may take to come before there is something else to do.
    fn wait(&self, since: Instant) -> Option<Duration> {
        let after = if self.line.failure.load().is_some() {
            SHELF_TRY_EVERY
        } else if self.pending.is_empty() {
            return None;
        } else {
            SHELF_DELAY_MAX
        };
        Some(after.saturating_sub(since.elapsed()))
    }

    fn take(&mut self, entries: Vec<Shelved>) {
        self.handed = entries.last().map_or(self.handed, |last| last.entry.seq);
        if self.line.failure.load().is_some() {
            return;
        }
        self.pending.extend(entries);
        if self.pending.len() >= SHELF_BATCH_COUNT_MAX {
            self.write();
        }
    }

    /// Puts what is pending on the shelf. After a failure the shelf is let go of: what follows would
    /// leave a gap.
    fn write(&mut self) {
        let Some(seq) = self.pending.last().map(|last| last.entry.seq) else {
            return;
        };
        let put = catch_unwind(AssertUnwindSafe(|| self.put()));
        let put =
            put.unwrap_or_else(|_| Err(ShelfError::Failed("writing to it broke off".to_owned())));
        self.pending.clear();
        match put {
            Ok(()) => self.line.shelved.store(seq.0, Ordering::Release),
            Err(error) => {
                tracing::error!(%error, "the shelf is not written for the time being");
                self.line.failure.store(Some(Arc::new(error)));
                self.line.shelf.store(None);
            }
        }
    }

    /// Opens a lost shelf anew and brings it up from the journal.
    fn try_again(&mut self) {
        if self.line.failure.load().is_none() {
            return;
        }
        let recovered = catch_unwind(AssertUnwindSafe(|| recover(&self.source, self.handed)));
        match recovered {
            Ok(Ok(recovered)) => {
                tracing::info!(head = self.handed.0, "the shelf is written again");
                self.book = recovered.book;
                self.furthest = recovered.furthest;
                self.line.shelved.store(self.handed.0, Ordering::Release);
                self.line.shelf.store(Some(Arc::new(recovered.shelf)));
                self.line.failure.store(None);
            }
            Ok(Err(error)) => tracing::debug!(%error, "the shelf cannot be brought up yet"),
            Err(_) => tracing::error!("bringing the shelf up broke off"),
        }
    }

    fn put(&mut self) -> Result<(), ShelfError> {
        let (Some(last), Some(shelf)) = (self.pending.last(), self.line.shelf()) else {
            return Ok(());
        };
        for Shelved { entry, .. } in &self.pending {
            self.furthest.reach(entry);
            self.book.apply(entry);
        }
        let mark = ShelfMark::new(self.source.owner, last.mark.clone(), self.furthest);
        shelf.put(&self.pending, &self.book, &mark)
    }

    fn dump(&self) -> Result<Dump, ShelfError> {
        let shelf = match (self.line.failure(), self.line.shelf()) {
            (None, Some(shelf)) => shelf,
            (failure, _) => return Err(failure.map_or(ended(), |why| ShelfError::clone(&why))),
        };
        Ok(Dump {
            head: self.book.head(),
            records: shelf.records()?,
            touched: shelf.all_touched()?,
        })
    }
}
