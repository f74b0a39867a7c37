//! The work of the keeper's thread.

use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::{Duration, Instant};

use arc_swap::{ArcSwap, ArcSwapOption};
use fettlebook_model::{Book, Seq};

use super::{Dump, Job, KeeperLine, Source, ended};
use crate::limits::{
    SHELF_APART_COUNT_MIN, SHELF_BATCH_COUNT_MAX, SHELF_DELAY_MAX, SHELF_NICENESS, SHELF_TRY_EVERY,
};
use crate::shelf::recover::recover;
use crate::shelf::{Furthest, Shelf, ShelfError, ShelfMark, Shelved};

/// Lets callers go first: they wait for the desk, nobody for the shelf. A system that
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

/// The keeper's side of its line.
pub(super) struct Work {
    source: Source,
    queue: Receiver<Job>,
    /// Jobs that came while entries were waited for.
    put_off: VecDeque<Job>,
    furthest: Furthest,
    pending: Vec<Shelved>,
    /// The last entry that was handed over.
    handed: Seq,
    pub(super) line: KeeperLine,
}

impl Drop for Work {
    fn drop(&mut self) {
        self.line.backlog.end();
    }
}

impl Work {
    /// The work on a shelf that holds `book`, or that could not be opened.
    pub(super) fn new(
        source: Source,
        shelf: Result<Shelf, ShelfError>,
        book: Arc<Book>,
        furthest: Furthest,
    ) -> Self {
        let (jobs, queue) = channel();
        let (shelf, failure) = match shelf {
            Ok(shelf) => (Some(Arc::new(shelf)), None),
            Err(error) => (None, Some(Arc::new(error))),
        };
        let head = book.head();
        let line = KeeperLine {
            jobs,
            backlog: Arc::default(),
            book: Arc::new(ArcSwap::new(book)),
            shelved: Arc::new(AtomicU64::new(head.0)),
            shelf: Arc::new(ArcSwapOption::new(shelf)),
            failure: Arc::new(ArcSwapOption::new(failure)),
        };
        Self {
            source,
            queue,
            put_off: VecDeque::new(),
            handed: head,
            furthest,
            pending: Vec::new(),
            line,
        }
    }

    /// Takes jobs as they come, until it is to end.
    pub(super) fn run(mut self) {
        step_back();
        let mut since = Instant::now();
        loop {
            let wait = self.wait(since);
            let job = match (self.put_off.pop_front(), wait) {
                (Some(job), _) => Ok(job),
                (None, None) => self.next().ok_or(RecvTimeoutError::Disconnected),
                (None, Some(wait)) => self.queue.recv_timeout(wait),
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
        if self.handed == self.line.book.load().head() {
            self.write();
        }
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

    /// The next job that comes.
    fn next(&self) -> Option<Job> {
        self.queue.recv().ok()
    }

    fn take(&mut self, entries: Vec<Shelved>) {
        self.add(entries);
        if self.pending.len() >= SHELF_BATCH_COUNT_MAX {
            self.write();
        }
    }

    fn add(&mut self, entries: Vec<Shelved>) {
        self.line.backlog.take(entries.len());
        self.handed = entries.last().map_or(self.handed, |last| last.entry.seq);
        if self.line.failure.load().is_none() {
            self.pending.extend(entries);
        }
    }

    /// The desk's book as it stands after the last pending entry; what is in it and not pending yet is on
    /// its way, and is waited for. It is let go of before the desk comes much further: the desk would copy
    /// what both hold. Nothing when the keeper is to end before those entries came.
    fn book(&mut self) -> Option<Arc<Book>> {
        let book = self.line.book.load_full();
        while self.handed < book.head() {
            match self.next()? {
                Job::Put(entries) => self.add(entries),
                Job::End => {
                    self.put_off.push_back(Job::End);
                    return None;
                }
                job => self.put_off.push_back(job),
            }
        }
        Some(book)
    }

    /// Puts what is pending on the shelf. After a failure the shelf is let go of: what follows would
    /// leave a gap.
    fn write(&mut self) {
        if self.pending.is_empty() {
            return;
        }
        let Some(book) = self.book() else { return };
        let seq = book.head();
        let put = if self.pending.len() >= SHELF_APART_COUNT_MIN {
            self.put_apart(&book)
        } else {
            catch_unwind(AssertUnwindSafe(|| self.put(&book)))
        };
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
                self.furthest = recovered.furthest;
                self.line.shelved.store(self.handed.0, Ordering::Release);
                self.line.shelf.store(Some(Arc::new(recovered.shelf)));
                self.line.failure.store(None);
            }
            Ok(Err(error)) => tracing::debug!(%error, "the shelf cannot be brought up yet"),
            Err(_) => tracing::error!("bringing the shelf up broke off"),
        }
    }

    /// Puts much on the shelf on a thread that ends with it: what such a batch needs of memory, each keeper of many
    /// books would hold on to else.
    fn put_apart(&mut self, book: &Book) -> thread::Result<Result<(), ShelfError>> {
        thread::scope(|scope| {
            let thread = thread::Builder::new().name("shelf".to_owned());
            match thread.spawn_scoped(scope, || self.put(book)) {
                Ok(putting) => putting.join(),
                Err(error) => Ok(Err(ShelfError::Failed(error.to_string()))),
            }
        })
    }

    fn put(&mut self, book: &Book) -> Result<(), ShelfError> {
        let (Some(last), Some(shelf)) = (self.pending.last(), self.line.shelf()) else {
            return Ok(());
        };
        for Shelved { entry, .. } in &self.pending {
            self.furthest.reach(entry);
        }
        let mark = ShelfMark::new(self.source.owner, last.mark.clone(), self.furthest);
        shelf.put(&self.pending, book, &mark)
    }

    fn dump(&self) -> Result<Dump, ShelfError> {
        let shelf = match (self.line.failure(), self.line.shelf()) {
            (None, Some(shelf)) => shelf,
            (failure, _) => return Err(failure.map_or(ended(), |why| ShelfError::clone(&why))),
        };
        Ok(Dump {
            head: self.line.shelved(),
            records: shelf.records()?,
            touched: shelf.all_touched()?,
        })
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::sync_channel;

    use uuid::Uuid;

    use super::*;
    use crate::journal::FileReader;
    use crate::shelf::ShelfSize;
    use crate::shelf::tests::World;

    /// The work on an empty shelf.
    fn work(folder: &std::path::Path) -> Work {
        let source = Source {
            folder: folder.to_owned(),
            size: ShelfSize::Alone,
            owner: Uuid::now_v7(),
            reader: Arc::new(FileReader::new(folder.to_owned())),
        };
        Work::new(
            source,
            Shelf::open(folder, ShelfSize::Alone),
            Arc::default(),
            Furthest::NONE,
        )
    }

    /// The story: the desk has come further than what the keeper took out of the queue when it writes. The shelf
    /// may hold records of entries that its mark does not cover at no moment: they would be taken in twice.
    #[test]
    fn what_is_written_is_the_book_of_the_last_entry_it_is_marked_with() {
        let (folder, world) = (tempfile::tempdir().unwrap(), World::with_entries(9));
        let mut work = work(folder.path());
        let line = work.line.clone();
        let (reply, settled) = sync_channel(1);
        line.hand(world.shelved(0, 4), world.book_of(4));
        let Ok(Job::Put(first)) = work.queue.recv() else {
            panic!("entries were handed over")
        };
        work.add(first);
        line.jobs.send(Job::Settle(reply)).unwrap();
        line.hand(world.shelved(4, 9), world.book_of(9));
        work.write();
        let shelf = line.shelf().unwrap();
        let head = shelf.mark().unwrap().unwrap().last.at.seq;
        assert_eq!((head, line.shelved()), (Seq(9), Seq(9)));
        assert_eq!(
            Book::restore(head, shelf.records().unwrap()),
            *world.book_of(9)
        );
        assert!(settled.try_recv().is_err(), "its turn comes after that");
        line.jobs.send(Job::End).unwrap();
        work.run();
        settled.recv().unwrap();
    }

    #[test]
    fn a_desk_that_broke_off_before_it_handed_its_entries_over_does_not_keep_the_keeper() {
        let (folder, world) = (tempfile::tempdir().unwrap(), World::with_entries(9));
        let work = work(folder.path());
        let line = work.line.clone();
        line.hand(world.shelved(0, 4), world.book_of(4));
        line.book.store(world.book_of(9));
        line.jobs.send(Job::End).unwrap();
        work.run();
        assert_eq!(line.shelf().unwrap().mark().unwrap(), None);
    }
}
