//! Following a book: what is recorded already, and then each entry as it comes.
//!
//! It serves watchers, however slow. A follower reads from the journal at its own pace: it holds no
//! entry between two calls, the desk keeps no queue for it, and the writer never waits for it.

use fettlebook_model::{Entry, Seq};
use tokio::sync::watch;

use super::{Desk, DeskError};
use crate::journal::Position;
use crate::limits::FOLLOW_COUNT_MAX;

/// Reads a book on and on, entry by entry in order, none left out and none twice.
pub struct Follower {
    desk: Desk,
    news: watch::Receiver<Seq>,
    after: Seq,
    /// Place of the entry given last; none before the first.
    place: Option<Position>,
}

impl Follower {
    pub(super) fn new(
        desk: Desk,
        news: watch::Receiver<Seq>,
        after: Seq,
    ) -> Result<Self, DeskError> {
        if after > desk.standing().head.seq {
            return Err(DeskError::EntryUnknown { seq: after });
        }
        let place = None;
        Ok(Self {
            desk,
            news,
            after,
            place,
        })
    }

    /// The next entries, one at least; waits until there are some.
    ///
    /// Dropping this while it waits loses nothing: the next call gives the same entries.
    ///
    /// # Errors
    /// `Closed` when the desk is closed; `Damaged` or `DiskFailed` when they cannot be read.
    pub async fn next(&mut self) -> Result<Vec<Entry>, DeskError> {
        let head = self.until_news().await?;
        let until = head.min(Seq(self.after.0.saturating_add(FOLLOW_COUNT_MAX)));
        let (place, after) = (self.place, self.after);
        let read = self
            .desk
            .read(move |history, _| history.follow(place, after, until));
        let (entries, place) = read.await?;
        self.after = until;
        self.place = Some(place);
        Ok(entries)
    }

    /// Waits until the book goes further than what was given, and says how far.
    async fn until_news(&mut self) -> Result<Seq, DeskError> {
        loop {
            let head = *self.news.borrow_and_update();
            if head > self.after {
                return Ok(head);
            }
            if self.desk.shared.history.load().is_none() {
                return Err(self.desk.shared.closed());
            }
            self.news.changed().await.map_err(|_| DeskError::Closed)?;
        }
    }
}
