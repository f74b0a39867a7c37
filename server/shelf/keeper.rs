//! The keeper: the one thread that writes the shelf, some way behind the journal.
//!
//! It serves the desk, whose callers must not wait for the shelf. It gathers entries into batches
//! so that a record touched many times is written once. When it cannot write it says so and stops;
//! it must never leave a gap and go on.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::sync::{Arc, OnceLock};
use std::thread::JoinHandle;
use std::time::Instant;

use fettlebook_model::{Book, Record, Seq, Subject};
use uuid::Uuid;

use super::{Furthest, Shelf, ShelfError, ShelfMark, Shelved};
use crate::limits::{SHELF_BATCH_COUNT_MAX, SHELF_DELAY_MAX, SHELF_QUEUE_LENGTH_MAX};

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
    failure: Arc<OnceLock<ShelfError>>,
}

/// The keeper of a shelf, and its thread.
#[derive(Debug)]
pub struct Keeper {
    line: KeeperLine,
    thread: JoinHandle<()>,
}

impl Keeper {
    /// Starts the keeper of a shelf that holds `book`.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(
        shelf: Shelf,
        book_id: Uuid,
        book: Book,
        furthest: Furthest,
    ) -> std::io::Result<Self> {
        let (jobs, queue) = sync_channel(SHELF_QUEUE_LENGTH_MAX);
        let line = KeeperLine {
            jobs,
            shelved: Arc::new(AtomicU64::new(book.head().0)),
            failure: Arc::new(OnceLock::new()),
        };
        let work = Work {
            shelf,
            book_id,
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

    /// Why the shelf is not written any more.
    pub fn failure(&self) -> Option<&ShelfError> {
        self.failure.get()
    }

    /// Waits until everything handed over before is on the shelf.
    ///
    /// # Errors
    /// Why it will never be.
    pub fn settle(&self) -> Result<(), ShelfError> {
        let (reply, done) = sync_channel(1);
        self.jobs.send(Job::Settle(reply)).map_err(|_| ended())?;
        done.recv().map_err(|_| ended())?;
        self.failure()
            .map_or(Ok(()), |failure| Err(failure.clone()))
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

struct Work {
    shelf: Shelf,
    book_id: Uuid,
    /// A book of the keeper's own: sharing the desk's would make each free what the other made.
    book: Book,
    furthest: Furthest,
    pending: Vec<Shelved>,
    line: KeeperLine,
}

impl Work {
    fn run(mut self, queue: &Receiver<Job>) {
        let mut since = Instant::now();
        loop {
            let job = if self.pending.is_empty() {
                let job = queue.recv().map_err(|_| RecvTimeoutError::Disconnected);
                since = Instant::now();
                job
            } else {
                queue.recv_timeout(SHELF_DELAY_MAX.saturating_sub(since.elapsed()))
            };
            match job {
                Ok(Job::Put(entries)) => {
                    self.pending.extend(entries);
                    if self.pending.len() >= SHELF_BATCH_COUNT_MAX {
                        self.write();
                    }
                }
                Ok(Job::Settle(reply)) => {
                    self.write();
                    let _ = reply.send(());
                }
                Ok(Job::Dump(reply)) => {
                    self.write();
                    let _ = reply.send(self.dump());
                }
                Err(RecvTimeoutError::Timeout) => self.write(),
                Ok(Job::End) | Err(RecvTimeoutError::Disconnected) => break,
            }
        }
        self.write();
    }

    /// Puts what is pending on the shelf. After a failure nothing is put any more: what follows
    /// would leave a gap.
    fn write(&mut self) {
        let Some(last) = self.pending.last() else {
            return;
        };
        let seq = last.entry.seq;
        if self.line.failure.get().is_none() {
            let put = catch_unwind(AssertUnwindSafe(|| self.put()));
            let put = put
                .unwrap_or_else(|_| Err(ShelfError::Failed("writing to it broke off".to_owned())));
            if let Err(error) = put {
                tracing::error!(%error, "the shelf is not written any more");
                let _ = self.line.failure.set(error);
            }
        }
        self.pending.clear();
        if self.line.failure.get().is_none() {
            self.line.shelved.store(seq.0, Ordering::Release);
        }
    }

    fn put(&mut self) -> Result<(), ShelfError> {
        let Some(last) = self.pending.last() else {
            return Ok(());
        };
        for Shelved { entry, .. } in &self.pending {
            self.furthest.reach(entry);
            self.book.apply(entry);
        }
        let mark = ShelfMark::new(self.book_id, last.mark.clone(), self.furthest);
        self.shelf.put(&self.pending, &self.book, &mark)
    }

    fn dump(&self) -> Result<Dump, ShelfError> {
        if let Some(failure) = self.line.failure() {
            return Err(failure.clone());
        }
        Ok(Dump {
            head: self.book.head(),
            records: self.shelf.records()?,
            touched: self.shelf.all_touched()?,
        })
    }
}
