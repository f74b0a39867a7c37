//! Taking entries from the journal into a book, and handing them on to the shelf.
//!
//! It serves opening. An entry that cannot be taken in must leave the book as it was before it.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use fettlebook_model::{Book, Entry};

use crate::journal::{ReadLine, Untaken};
use crate::limits::READ_IN_COUNT_MAX;
use crate::shelf::{Furthest, KeeperLine, Shelved};

/// A book that is being caught up.
pub(super) struct Replay {
    /// The book so far.
    pub(super) book: Book,
    /// How far its entries have come.
    pub(super) furthest: Furthest,
    /// Entries taken in.
    pub(super) entry_count: u64,
    /// The book as it was at the last hand-over.
    handed: Book,
    pending: Vec<Shelved>,
    keeper: Option<KeeperLine>,
}

impl Replay {
    /// A book to be caught up, and the keeper to hand the entries to.
    pub(super) fn new(book: Book, furthest: Furthest, keeper: Option<KeeperLine>) -> Self {
        let (handed, pending) = (book.clone(), Vec::new());
        Self {
            book,
            furthest,
            entry_count: 0,
            handed,
            pending,
            keeper,
        }
    }

    /// Takes the entry of a line in and gives it; what keeps it from being taken, as the rest of a
    /// sentence.
    pub(super) fn take(&mut self, line: &ReadLine) -> Result<Arc<Entry>, Untaken> {
        let entry = Entry::read(&line.entry).map_err(|unread| {
            let what = unread.to_string();
            if unread.is_newer() {
                Untaken::Newer(what)
            } else {
                Untaken::Damaged(what)
            }
        })?;
        if catch_unwind(AssertUnwindSafe(|| self.book.apply(&entry))).is_err() {
            self.step_back();
            return Err("cannot be taken into the book; this is a fault in the program".into());
        }
        self.furthest.reach(&entry);
        self.entry_count += 1;
        let entry = Arc::new(entry);
        self.pending.push(Shelved {
            entry: Arc::clone(&entry),
            mark: line.mark.clone(),
        });
        if self.pending.len() >= READ_IN_COUNT_MAX {
            self.hand_over();
        }
        Ok(entry)
    }

    /// Hands what was taken in to the keeper.
    pub(super) fn hand_over(&mut self) {
        let entries = std::mem::take(&mut self.pending);
        self.handed = self.book.clone();
        if let (Some(keeper), false) = (&self.keeper, entries.is_empty()) {
            keeper.hand(entries, Arc::new(self.handed.clone()));
        }
    }

    /// Makes the book again as it was before an entry that broke off half-way.
    fn step_back(&mut self) {
        self.book = self.handed.clone();
        for Shelved { entry, .. } in &self.pending {
            self.book.apply(entry);
        }
    }
}
