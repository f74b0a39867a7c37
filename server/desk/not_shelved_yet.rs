//! Entries that are in the journal but perhaps not on the shelf yet.
//!
//! It serves the writer, which must know every request that was ever answered before it takes one.
//! What is not here and may be on the shelf has to be looked for there; it must never be guessed.

use std::collections::VecDeque;
use std::sync::Arc;

use fettlebook_model::{Entry, Seq};
use rustc_hash::FxHashMap;
use uuid::Uuid;

use crate::shelf::Furthest;

/// Most entries forgotten for one order. More than the one an order may add, so that all are in the
/// end.
const FORGET_COUNT_MAX: usize = 4;

/// Entries on their way to the shelf, by request.
pub(super) struct NotShelvedYet {
    in_order: VecDeque<Arc<Entry>>,
    by_request: FxHashMap<Uuid, Arc<Entry>>,
    shelved: Furthest,
}

/// What is known of a request.
pub(super) enum Known {
    /// It was answered with this entry.
    Answered(Arc<Entry>),
    /// Nobody ever sent it: it is greater than any on the shelf, and not on its way there.
    New,
    /// The shelf may have it.
    Perhaps,
}

impl NotShelvedYet {
    /// Nothing on the way to a shelf whose entries have come this far.
    pub(super) fn new(shelved: Furthest) -> Self {
        Self {
            in_order: VecDeque::new(),
            by_request: FxHashMap::default(),
            shelved,
        }
    }

    /// Takes an entry that is on its way to the shelf.
    pub(super) fn add(&mut self, entry: &Arc<Entry>) {
        self.in_order.push_back(Arc::clone(entry));
        self.by_request.insert(entry.request, Arc::clone(entry));
    }

    /// What is known of a request.
    pub(super) fn find(&self, request: Uuid) -> Known {
        match self.by_request.get(&request) {
            Some(entry) => Known::Answered(Arc::clone(entry)),
            None if request > self.shelved.request => Known::New,
            None => Known::Perhaps,
        }
    }

    /// Forgets what is on the shelf, a few at a time: a whole batch at once would hold up an order.
    pub(super) fn forget(&mut self, shelved: Seq) {
        for _ in 0..FORGET_COUNT_MAX {
            let Some(entry) = self
                .in_order
                .front()
                .is_some_and(|entry| entry.seq <= shelved)
                .then(|| self.in_order.pop_front())
                .flatten()
            else {
                return;
            };
            self.by_request.remove(&entry.request);
            self.shelved.reach(&entry);
        }
    }
}
