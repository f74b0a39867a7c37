//! Where a journal whose lines all fit each other is not the one that the shelf was made from.
//!
//! Whoever rewrites a whole journal can make its chain fit. The shelf remembers the chain value of its
//! last entry, that of one entry in every few, which request each entry answered, and which
//! subjects it touched: enough to say from which entry on the journal is another.

use std::sync::Arc;

use fettlebook_model::{Entry, Seq};

use crate::journal::{Chain, ReadLine};
use crate::shelf::{Shelf, ShelfError, subjects};

/// A journal that is read from its first line, beside the shelf.
pub(super) struct FirstDifference {
    shelf: Arc<Shelf>,
    /// The last entry whose chain value is the one that the shelf has: nothing before it is changed.
    same_until: Seq,
    /// The first entry after that which the shelf has otherwise.
    differs_at: Option<Seq>,
    /// Whether a chain value differs; only that proves that it is the journal that was changed.
    proved: bool,
}

impl FirstDifference {
    /// Nothing read yet.
    pub(super) const fn new(shelf: Arc<Shelf>) -> Self {
        Self {
            shelf,
            same_until: Seq(0),
            differs_at: None,
            proved: false,
        }
    }

    /// Compares the next line with what the shelf has; `known` says whether the shelf knows its entry.
    pub(super) fn look(&mut self, line: &ReadLine, known: bool) -> Result<(), ShelfError> {
        let seq = line.mark.at.seq;
        if !known && !self.proved {
            self.differs_at.get_or_insert(seq);
        }
        if let Some(chain) = self.shelf.chain_of(seq)? {
            self.take_chain(seq, chain, line.mark.chain);
        }
        Ok(())
    }

    /// Compares a chain value that is known with the one in the journal.
    pub(super) fn take_chain(&mut self, seq: Seq, known: Chain, found: Chain) {
        if self.proved {
            return;
        }
        if known == found {
            self.same_until = seq;
            self.differs_at = None;
        } else {
            self.proved = true;
            self.differs_at.get_or_insert(seq);
        }
    }

    /// Whether the shelf has an entry with this number for this request, about these subjects.
    pub(super) fn knows(&self, entry: &Entry) -> Result<bool, ShelfError> {
        if self.shelf.answer(entry.request)? != Some((entry.seq, entry.body)) {
            return Ok(false);
        }
        let before = Seq(entry.seq.0.saturating_sub(1));
        for subject in subjects(entry) {
            if self.shelf.touched_after(&subject, before, 1)? != [entry.seq] {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// The first entry that may be another, and what is to be said of it; none where the journal is
    /// not proved to be another.
    pub(super) fn found(&self) -> Option<(Seq, String)> {
        let differs_at = self.differs_at.filter(|_| self.proved)?;
        let first = self.same_until.next();
        let which = if first == differs_at {
            format!("entry {first} of the journal is not the one")
        } else {
            format!(
                "entry {first} of the journal, or one of those up to entry {differs_at}, is not the one"
            )
        };
        let said = format!(
            "{which} that the shelf has seen: the journal was rewritten from there on, though its lines \
             fit each other"
        );
        Some((first, said))
    }
}
