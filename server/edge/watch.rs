//! Watches of the book: each a stream of entries, bounded in number, in memory and in patience.
//!
//! They serve whoever wants to see entries as they come. A watch reads the journal at the pace of its
//! connection; one that stands still is ended and told where to go on. It must never make the writer
//! wait, and never leave an entry out.

use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use fettlebook_contract::v1::WatchEntriesResponse;
use fettlebook_model::Seq;
use tokio::sync::{Semaphore, mpsc, oneshot, watch};
use tokio_stream::Stream;
use tonic::Status;

use super::prices::Prices;
use super::show;
use super::sought::Sought;
use super::status::EdgeError;
use crate::desk::{Desk, Follower};
use crate::limits::{WATCH_AHEAD_COUNT_MAX, WATCH_STALL_MAX, WATCHES_MAX};

/// Every watch that is open on one edge.
pub(super) struct Watches {
    room: Arc<Semaphore>,
    ending: watch::Sender<bool>,
    stall_max: Duration,
}

impl Default for Watches {
    fn default() -> Self {
        Self::new(WATCHES_MAX, WATCH_STALL_MAX)
    }
}

impl Watches {
    fn new(count_max: usize, stall_max: Duration) -> Self {
        Self {
            room: Arc::new(Semaphore::new(count_max)),
            ending: watch::Sender::new(false),
            stall_max,
        }
    }

    /// Ends every watch, and each that is opened from now on.
    pub(super) fn end(&self) {
        self.ending.send_replace(true);
    }

    /// Opens a watch of what is sought that begins after an entry, with prices or without.
    pub(super) fn open(
        &self,
        desk: &Desk,
        after: Seq,
        sought: Sought,
        prices: Prices,
    ) -> Result<Watch, EdgeError> {
        let room = Arc::clone(&self.room).try_acquire_owned();
        let room = room.map_err(|_| EdgeError::WatchesFull)?;
        let follower = desk.follow(after)?;
        let (to, entries) = mpsc::channel(WATCH_AHEAD_COUNT_MAX);
        let (end, last) = oneshot::channel();
        let feed = Feed {
            desk: desk.clone(),
            to,
            after,
            sought,
            prices,
            stall_max: self.stall_max,
        };
        let ending = self.ending.subscribe();
        let open = desk.meters().watch();
        tokio::spawn(async move {
            if let Some(error) = feed.run(follower, ending).await {
                // A client that has gone needs no reason.
                let _ = end.send(error.into());
            }
            drop((room, open));
        });
        Ok(Watch {
            entries,
            last: Some(last),
        })
    }
}

/// What a client of a watch gets: entries, and at the end the reason.
pub struct Watch {
    entries: mpsc::Receiver<WatchEntriesResponse>,
    last: Option<oneshot::Receiver<Status>>,
}

impl Stream for Watch {
    type Item = Result<WatchEntriesResponse, Status>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        let entry = std::task::ready!(self.entries.poll_recv(context));
        if let Some(entry) = entry {
            return Poll::Ready(Some(Ok(entry)));
        }
        let Some(last) = &mut self.last else {
            return Poll::Ready(None);
        };
        let last = std::task::ready!(Pin::new(last).poll(context));
        self.last = None;
        Poll::Ready(last.ok().map(Err))
    }
}

/// The side of a watch that reads the book.
struct Feed {
    desk: Desk,
    to: mpsc::Sender<WatchEntriesResponse>,
    /// The last entry that was handed over or passed over: the client gets what it wants of those up to it
    /// before it gets the reason of the end.
    after: Seq,
    sought: Sought,
    prices: Prices,
    stall_max: Duration,
}

impl Feed {
    /// Hands entries over until the watch ends, and says why it did; nothing for a client that has
    /// gone.
    async fn run(
        mut self,
        mut follower: Follower,
        mut ending: watch::Receiver<bool>,
    ) -> Option<EdgeError> {
        let gone = self.to.clone();
        let stopped = async move {
            // Without its sender the service is gone, which is a stop too.
            let _ = ending.wait_for(|ending| *ending).await;
        };
        let ended = tokio::select! {
            biased;
            () = stopped => Ended::Stopping,
            () = gone.closed() => Ended::Left,
            ended = self.hand_over(&mut follower) => ended,
        };
        let after = self.after;
        match ended {
            Ended::Left => None,
            Ended::Stopping => Some(EdgeError::Stopping { after }),
            Ended::TooSlow => Some(EdgeError::WatchTooSlow { after }),
            Ended::Failed(error) => Some(error),
        }
    }

    async fn hand_over(&mut self, follower: &mut Follower) -> Ended {
        loop {
            let entries = match follower.next().await {
                Ok(entries) => entries,
                Err(error) => return Ended::Failed(error.into()),
            };
            let book = self.desk.book();
            for entry in &entries {
                if !self.sought.takes(entry) {
                    self.after = entry.seq;
                    continue;
                }
                let shown = show::entry::entry_of_book(&book, entry, self.prices);
                let sending = self.to.send(WatchEntriesResponse { entry: Some(shown) });
                match tokio::time::timeout(self.stall_max, sending).await {
                    Ok(Ok(())) => self.after = entry.seq,
                    Ok(Err(_)) => return Ended::Left,
                    Err(_) => return Ended::TooSlow,
                }
            }
        }
    }
}

/// Why a watch ended.
enum Ended {
    Left,
    Stopping,
    TooSlow,
    Failed(EdgeError),
}

#[cfg(test)]
mod tests;
