//! Deeds on a copy of a book, which are imagined and not recorded.
//!
//! It serves the writer of a copy: what a device did without a signal is applied to the book that is
//! read there, so that a check counts with it. It must never write anything: the shop records the deed
//! when it is sent.

use std::sync::Arc;

use fettlebook_model::{Book, Entry, Moment, Seq, decide};
use rustc_hash::FxHashMap;
use uuid::Uuid;

use super::Order;
use super::draft::repeated;
use super::error::DeskError;

/// What was imagined so far, by request.
#[derive(Debug, Default)]
pub(super) struct Imagined {
    answers: FxHashMap<Uuid, Arc<Entry>>,
}

impl Imagined {
    /// The entry that a request was answered with.
    pub(super) fn find(&self, order: &Order) -> Result<Option<Arc<Entry>>, DeskError> {
        let Some(entry) = self.answers.get(&order.request) else {
            return Ok(None);
        };
        repeated(order, entry)?;
        Ok(Some(Arc::clone(entry)))
    }

    /// The book as it would be with an order, and the entry of it, without a number. The book keeps
    /// its head: no entry was added.
    pub(super) fn take(
        &mut self,
        book: &Book,
        order: &Order,
        now: Moment,
    ) -> Result<(Book, Arc<Entry>), DeskError> {
        let decision = decide(book, &order.command, now)?;
        let entry = order.entry(decision, book.head(), now);
        let mut imagined = book.clone();
        imagined.apply(&entry);
        let entry = Arc::new(Entry {
            seq: Seq(0),
            ..entry
        });
        self.answers.insert(order.request, Arc::clone(&entry));
        Ok((imagined, entry))
    }
}
