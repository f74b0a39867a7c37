//! A group of orders on its way into the journal: decided, applied to a copy, written nowhere yet.
//!
//! It serves the writer. Dropping a draft undoes it; nothing of it may be seen by anyone before its
//! lines are durable.

use std::sync::Arc;

use fettlebook_model::{Book, Command, Entry, Moment, Seq, decide};
use rustc_hash::{FxBuildHasher, FxHashMap};
use uuid::Uuid;

use super::error::DeskError;
use super::time::flag_behind;
use super::{Order, Published};
use crate::journal::{Head, Line};
use crate::limits::{ENTRY_BYTES_MAX, ENTRY_BYTES_USUAL};

/// What one caller will be told.
pub(super) enum Answer {
    /// The entry at this place in the draft, once it is durable.
    Drafted(usize),
    /// The same whatever becomes of the draft.
    Known(Arc<Entry>),
    /// Why not, given that the draft becomes durable.
    Not(DeskError),
}

/// A group being put together.
pub(super) struct Draft {
    /// Where the journal must end for the lines to fit.
    pub(super) before: Head,
    /// The book with the entries so far.
    pub(super) book: Book,
    /// The entries.
    pub(super) entries: Vec<Arc<Entry>>,
    /// Their bytes.
    pub(super) lines: Vec<Line>,
    /// All bytes of all lines.
    pub(super) byte_count: usize,
    by_request: FxHashMap<Uuid, usize>,
    /// Id of the book, which its first entry names.
    book_id: Uuid,
    /// What each entry is written into before its line is made, which is as long as it has to be: lines that
    /// lie close together stay in the processor's memory until all are laid out.
    buffer: Vec<u8>,
}

impl Draft {
    /// An empty draft on top of what is published, with room for so many entries.
    pub(super) fn on(published: &Published, book_id: Uuid, room: usize) -> Self {
        Self {
            before: published.head.clone(),
            book: Book::clone(&published.book),
            entries: Vec::with_capacity(room),
            lines: Vec::with_capacity(room),
            byte_count: 0,
            by_request: FxHashMap::with_capacity_and_hasher(room, FxBuildHasher),
            book_id,
            buffer: Vec::with_capacity(ENTRY_BYTES_USUAL),
        }
    }

    /// The answer to a request that is in this draft already.
    pub(super) fn find(&self, order: &Order) -> Option<Answer> {
        let place = *self.by_request.get(&order.request)?;
        let entry = self.entries.get(place)?;
        Some(match repeated(order, entry) {
            Ok(()) => Answer::Drafted(place),
            Err(error) => Answer::Not(error),
        })
    }

    /// Decides an order on the book so far and takes it in.
    pub(super) fn take(
        &mut self,
        order: &Order,
        command: &Command,
        now: Moment,
        recorded_at: Moment,
    ) -> Result<Answer, DeskError> {
        let mut decision = decide(&self.book, command, now)?;
        flag_behind(&mut decision, now, recorded_at);
        let seq = self.book.head().next();
        let entry = Entry {
            book_id: (seq == Seq(1)).then_some(self.book_id),
            ..order.entry(decision, seq, recorded_at)
        };
        let line = encode(&entry, &mut self.buffer)?;
        self.book.apply(&entry);
        let place = self.entries.len();
        self.by_request.insert(order.request, place);
        self.byte_count = self.byte_count.saturating_add(line.bytes.len());
        self.lines.push(line);
        self.entries.push(Arc::new(entry));
        Ok(Answer::Drafted(place))
    }
}

/// Whether an order is the one that made this entry, sent again.
pub(super) fn repeated(order: &Order, entry: &Entry) -> Result<(), DeskError> {
    if order.body == entry.body {
        Ok(())
    } else {
        Err(DeskError::RequestIdReused {
            request: order.request,
            seq: entry.seq,
        })
    }
}

/// The bytes of an entry as they go into the journal, by way of a buffer.
fn encode(entry: &Entry, buffer: &mut Vec<u8>) -> Result<Line, DeskError> {
    buffer.clear();
    serde_json::to_writer(&mut *buffer, entry).map_err(|error| DeskError::Damaged {
        what: format!("the entry cannot be written: {error}"),
    })?;
    if buffer.len() > ENTRY_BYTES_MAX {
        let (byte_count, byte_count_max) = (buffer.len(), ENTRY_BYTES_MAX);
        return Err(DeskError::TooLong {
            byte_count,
            byte_count_max,
        });
    }
    Ok(Line {
        bytes: buffer.as_slice().to_vec(),
        request: Some(entry.request),
    })
}
