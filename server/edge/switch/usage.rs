//! How much a book is used: how many answers are under way, and since when there is none.
//!
//! It serves whoever lets go of books that nobody uses. Invariant: an answer counts until its last byte was given
//! to the connection, so that watches and backups count for as long as they go on.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use crate::edge::until_end::Kept;
use crate::limits::BOOK_ASKS_MAX;

/// How much a book is used. Clones are of the same one.
#[derive(Debug, Clone)]
pub struct Usage(Arc<Counts>);

#[derive(Debug)]
struct Counts {
    start: Instant,
    under_way: AtomicUsize,
    /// Whoever does something beside that is not to be broken off.
    held: AtomicUsize,
    /// Milliseconds from the start to when the last answer began or ended.
    last_ms: AtomicU64,
}

impl Default for Usage {
    /// Used just now, by nobody any more.
    fn default() -> Self {
        Self(Arc::new(Counts {
            start: Instant::now(),
            under_way: AtomicUsize::new(0),
            held: AtomicUsize::new(0),
            last_ms: AtomicU64::new(0),
        }))
    }
}

impl Usage {
    /// One more answer is under way; nothing where there are as many as may be. Whether it is a use of the book is
    /// said by who finds out.
    pub(super) fn begin(&self) -> Option<Using> {
        let before = self.0.under_way.fetch_add(1, Ordering::SeqCst);
        let using = Using {
            usage: self.clone(),
            is_used: false,
        };
        (before < BOOK_ASKS_MAX).then_some(using)
    }

    /// How long it has not been used; nothing while it is.
    #[must_use]
    pub fn idle_for(&self) -> Option<Duration> {
        let last = Duration::from_millis(self.0.last_ms.load(Ordering::SeqCst));
        let none = |count: &AtomicUsize| count.load(Ordering::SeqCst) == 0;
        let is_idle = none(&self.0.under_way) && none(&self.0.held);
        is_idle.then(|| self.0.start.elapsed().saturating_sub(last))
    }

    /// Something is done with it that is not to be broken off, and that nobody asked for: it is in use meanwhile,
    /// and afterwards as long unused as if that had not been.
    #[must_use]
    pub fn hold(&self) -> Hold {
        self.0.held.fetch_add(1, Ordering::SeqCst);
        Hold(self.clone())
    }

    /// It is used now.
    fn touch(&self) {
        let since = self.0.start.elapsed().as_millis();
        let last_ms = u64::try_from(since).unwrap_or(u64::MAX);
        self.0.last_ms.fetch_max(last_ms, Ordering::SeqCst);
    }
}

/// Something that is done with a book, until it is dropped.
#[derive(Debug)]
pub struct Hold(Usage);

impl Drop for Hold {
    fn drop(&mut self) {
        self.0.0.held.fetch_sub(1, Ordering::SeqCst);
    }
}

/// An answer that is under way, until it is dropped.
#[derive(Debug)]
pub(super) struct Using {
    usage: Usage,
    is_used: bool,
}

impl Using {
    /// The book is used by it, now and until it has ended.
    pub(super) fn touch(&mut self) {
        self.is_used = true;
        self.usage.touch();
    }
}

impl Drop for Using {
    fn drop(&mut self) {
        if self.is_used {
            self.usage.touch();
        }
        self.usage.0.under_way.fetch_sub(1, Ordering::SeqCst);
    }
}

impl Kept for Using {}
