//! The desk: the one place where a book changes.
//!
//! It serves the edge. Commands wait in a bounded queue for one writer, which decides each,
//! appends a whole group with one sync, publishes the book and only then answers. Readers take the
//! published book and never wait. Nothing may be acknowledged that is not in the journal.
//!
//! ```
//! use std::sync::Arc;
//! use fettlebook_server::desk::{Desk, DeskOptions, SystemClock};
//! use fettlebook_server::store::FolderStore;
//! use uuid::Uuid;
//!
//! # tokio::runtime::Runtime::new()?.block_on(async {
//! # let folder = tempfile::tempdir()?;
//! let store = Arc::new(FolderStore::at(folder.path()));
//! let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
//! let (desk, report) = Desk::open(store, &options)?;
//! assert_eq!(report.read_only, None);
//! assert_eq!(desk.standing().head.seq.0, 0);
//! desk.close().await?;
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! # })?;
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod audit;
mod backup;
mod clock;
mod company;
mod compare;
pub(crate) mod copy;
mod draft;
mod error;
mod finding;
mod first_difference;
mod follow;
mod history;
mod imagine;
mod not_shelved_yet;
mod open;
mod order;
mod proof_state;
mod replay;
mod retry_hint;
mod shared;
mod sync_wait;
#[cfg(test)]
mod tests;
mod time;
mod upkeep;
mod verify;
mod writer;

use std::path::Path;
use std::sync::Arc;

use fettlebook_model::{BodyHash, Book, Entry, Moment, Seq, Subject};
#[cfg(feature = "postgres")]
use tokio::sync::watch;
use tokio::sync::{mpsc, oneshot};
use uuid::Uuid;

use crate::journal::Head;
use crate::limits::{CLOSE_WAIT_MAX, LIST_COUNT_MAX};
use crate::meters::Meters;
use crate::store::{Cabinet, Identity, Space, Store};
#[cfg(feature = "postgres")]
use crate::store::{Office, ShopLine};

pub(crate) use backup::hex;
pub use backup::{BACKUP_FORMAT, Backup, FileSum, Manifest, Part};
pub use clock::{Clock, SystemClock};
pub use compare::{Compared, Seen};
pub(crate) use copy::COPY_FORMAT;
pub use copy::CopyOf;
pub use error::{DeskError, OpenError, StoppedBy};
pub use follow::Follower;
pub use open::{DeskOptions, OpenReport, ShelfFound};
pub use order::Order;
pub use upkeep::{Done, Schedule, Upkeep};
#[cfg(feature = "postgres")]
pub(crate) use upkeep::{backed_up, carried as upkeep_carried};
pub use verify::Verification;

use history::History;
use shared::{Published, Shared};
use writer::Ask;

/// How a book stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// Which book it is, and which life of it.
    pub identity: Identity,
    /// Its last entry.
    pub head: Head,
    /// Why it is read-only; `None` when it is not.
    pub read_only: Option<Arc<str>>,
}

/// How the shelf of a book stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ShelfStanding {
    /// It is in use.
    InUse,
    /// It was lost, and is brought up from the journal.
    Lost {
        /// Why.
        why: String,
    },
    /// The book is read without one.
    OutOfUse,
}

/// A handle on the desk of one book. Clones share it.
#[derive(Clone)]
pub struct Desk {
    asks: mpsc::Sender<Ask>,
    shared: Arc<Shared>,
}

impl Desk {
    /// Opens the book in a store, and begins one when there is none.
    ///
    /// A torn last line is set right and reported. Anything else wrong with the journal opens the
    /// book read-only, as it was before the first bad entry; an entry that a later program wrote does
    /// too, as it was before that, though nothing is wrong. A shelf that is missing, damaged or
    /// behind is brought up from the journal.
    ///
    /// # Errors
    /// When the store cannot be used, holds no book but something else, or another process still has
    /// the writer's right after five seconds.
    pub fn open(
        store: Arc<dyn Store>,
        options: &DeskOptions,
    ) -> Result<(Self, OpenReport), OpenError> {
        open::open(store, options)
    }

    /// Opens the copy of a shop's book in a folder, and says of what it is one. It is read like a book;
    /// deeds that can be kept are imagined: later reads see them, nothing is written, and their entry
    /// has no number. Everything else that writes is refused.
    ///
    /// # Errors
    /// When there is no copy, when it is damaged, or when another process still holds it after five
    /// seconds.
    pub fn open_copy(
        folder: &Path,
        options: &DeskOptions,
    ) -> Result<(Self, CopyOf, OpenReport), OpenError> {
        open::open_copy(folder, options)
    }

    /// Gives an order to the writer and waits until it is durable. The same request again, with
    /// the same body, gives the same entry again.
    ///
    /// Once this has been polled, the order is on its way. A caller that is dropped before the
    /// writer comes to its order takes it back: it is not decided at all. Later, it is recorded
    /// though nobody hears of it.
    ///
    /// # Errors
    /// See [`DeskError`]. Only after `DiskFailed` is it unknown whether the order was recorded.
    pub async fn submit(&self, order: Order) -> Result<Arc<Entry>, DeskError> {
        // Shared, so that it is freed here, where it was made, and not by the writer.
        let order = Arc::new(order);
        let (reply, answer) = oneshot::channel();
        match self.asks.try_send(Ask::Take(Arc::clone(&order), reply)) {
            Ok(()) => {
                self.shared.company.came(|| self.waiting());
                answer.await.unwrap_or_else(|_| Err(self.shared.refusal()))
            }
            Err(mpsc::error::TrySendError::Full(_)) => {
                let retry_after = self.shared.retry_hint.retry_after(self.waiting());
                Err(DeskError::Busy { retry_after })
            }
            Err(mpsc::error::TrySendError::Closed(_)) => Err(self.shared.refusal()),
        }
    }

    /// The entry that a request was answered with before, if it was. For a command that makes no
    /// sense any more, such as an edit of what was taken back since: its retry still gets the first
    /// answer again.
    ///
    /// # Errors
    /// `RequestIdReused` when it came with another body; `Damaged` or `DiskFailed` when the entry
    /// cannot be read.
    pub async fn answered(
        &self,
        request: Uuid,
        body: BodyHash,
    ) -> Result<Option<Entry>, DeskError> {
        self.read(move |history, published| history.answered(request, body, published.head.seq))
            .await
    }

    /// The book as it stands. Everything acknowledged before this call is in it.
    pub fn book(&self) -> Arc<Book> {
        Arc::clone(&self.shared.published.load().book)
    }

    /// How many orders wait for the writer.
    pub fn waiting(&self) -> usize {
        self.asks
            .max_capacity()
            .saturating_sub(self.asks.capacity())
    }

    /// What measures the work on this book.
    pub fn meters(&self) -> &Meters {
        &self.shared.meters
    }

    /// The moment, by the desk's clock.
    pub fn now(&self) -> Moment {
        self.shared.clock.now()
    }

    /// How the book stands.
    pub fn standing(&self) -> Standing {
        let published = self.shared.published.load();
        Standing {
            identity: self.shared.identity,
            head: published.head.clone(),
            read_only: published.read_only.clone(),
        }
    }

    /// The first bad entry of a journal that was found damaged.
    pub fn first_bad(&self) -> Option<Seq> {
        self.shared.first_bad.get().copied()
    }

    /// When the book was last verified and backed up, and what is planned. It may read a file.
    pub fn upkeep(&self) -> Upkeep {
        self.shared.upkeep.told()
    }

    /// Notes that a backup up to an entry was read back and found whole; an older one than is known says nothing.
    /// It writes a file.
    pub fn note_backup(&self, made: Done) {
        self.shared.upkeep.keep(|upkeep| {
            if upkeep.backup.is_none_or(|known| known.time <= made.time) {
                upkeep.backup = Some(made);
            }
        });
    }

    /// Notes what becomes of the backups that this process makes by itself.
    pub fn note_schedule(&self, change: impl FnOnce(&mut Upkeep)) {
        self.shared.upkeep.change(change);
    }

    /// How much room the book takes, and how much its disk has left. It looks at files.
    pub fn space(&self) -> Space {
        self.shared.store.space()
    }

    /// The cabinet with the devices, codes and keys of the book.
    pub fn cabinet(&self) -> Arc<dyn Cabinet> {
        self.shared.store.cabinet()
    }

    /// How the shelf stands.
    pub fn shelf_standing(&self) -> ShelfStanding {
        let history = self.shared.history.load_full();
        let Some(keeper) = history.as_ref().and_then(|history| history.keeper.as_ref()) else {
            return ShelfStanding::OutOfUse;
        };
        match keeper.failure() {
            Some(why) => ShelfStanding::Lost {
                why: why.to_string(),
            },
            None => ShelfStanding::InUse,
        }
    }

    /// One entry.
    ///
    /// # Errors
    /// `EntryUnknown` when there is none with this number; `Damaged` or `DiskFailed` when it
    /// cannot be read.
    pub async fn entry(&self, seq: Seq) -> Result<Entry, DeskError> {
        self.read(move |history, published| history.entry(seq, published.head.seq))
            .await
    }

    /// Up to `limit` entries (at most a thousand), all of them or those that touched a subject,
    /// on from `after`, which is left out: later ones, or earlier ones when newest come first.
    ///
    /// # Errors
    /// `Damaged` or `DiskFailed` when they cannot be read.
    pub async fn entries(
        &self,
        subject: Option<Subject>,
        newest_first: bool,
        after: Option<Seq>,
        limit: usize,
    ) -> Result<Vec<Entry>, DeskError> {
        let wanted = history::Wanted {
            subject,
            newest_first,
            after,
            limit: limit.min(LIST_COUNT_MAX),
        };
        self.read(move |history, published| history.list(&wanted, published.head.seq))
            .await
    }

    /// The bytes of up to `limit` entries (at most a thousand) after one, as the journal has them: with
    /// whatever a later program put into them.
    ///
    /// # Errors
    /// `Damaged` or `DiskFailed` when they cannot be read.
    pub async fn given(&self, after: Seq, limit: usize) -> Result<Vec<Vec<u8>>, DeskError> {
        let limit = limit.min(LIST_COUNT_MAX);
        self.read(move |history, published| history.given(after, limit, published.head.seq))
            .await
    }

    /// Where what the book answers is laid out for the office; none where nobody looks for it.
    #[cfg(feature = "postgres")]
    pub(crate) fn office(&self) -> Option<Arc<dyn Office>> {
        self.shared.office.clone()
    }

    /// The lines of all shops whose books are kept together, after one of them; none where this one is kept
    /// alone. It waits for the engine.
    ///
    /// # Errors
    /// When the engine does not give them.
    #[cfg(feature = "postgres")]
    pub(crate) fn shops(
        &self,
        after: Option<Uuid>,
        count: usize,
    ) -> Result<Option<Vec<ShopLine>>, DeskError> {
        let shops = self.shared.store.shops(after, count);
        shops.map_err(|error| DeskError::EngineUnready {
            reason: error.to_string().into(),
        })
    }

    /// Tells the number of the last entry whenever there is a further one.
    #[cfg(feature = "postgres")]
    pub(crate) fn news(&self) -> watch::Receiver<Seq> {
        self.shared.news.subscribe()
    }

    /// Follows the book from an entry on, which is left out.
    ///
    /// # Errors
    /// `EntryUnknown` when the book has no such entry yet: whoever has seen it has seen a book
    /// that goes further than this one.
    pub fn follow(&self, after: Seq) -> Result<Follower, DeskError> {
        Follower::new(self.clone(), self.shared.news.subscribe(), after)
    }

    /// Reads the whole journal and the shelf, and says whether they are whole and agree.
    ///
    /// # Errors
    /// When a file cannot be read at all. What is wrong inside is among the findings.
    pub async fn verify(&self) -> Result<Verification, DeskError> {
        let shared = Arc::clone(&self.shared);
        let verify = move |history: &History, published: &Published| {
            let found = history.verify(published)?;
            if found.findings.is_empty() {
                let (seq, time) = (found.head.seq, shared.clock.now());
                shared
                    .upkeep
                    .keep(|upkeep| upkeep.verified = Some(Done { seq, time }));
            }
            Ok(found)
        };
        let mut found = self.read(verify).await?;
        if let Some(first_bad) = found.first_bad {
            let of_it = format!("entry {first_bad} of the journal");
            let said = found.findings.iter().find(|said| said.starts_with(&of_it));
            let reason = said
                .cloned()
                .unwrap_or(format!("{of_it} is not what was recorded"));
            self.shared.stop_at(first_bad, &reason, "verifying");
        }
        found.first_bad = found.first_bad.or(self.shared.first_bad.get().copied());
        found.newer = found.newer.filter(|_| found.first_bad.is_none());
        Ok(found)
    }

    /// Sends a copy of the journal up to the head at this moment, what a later program wrote behind it
    /// included, part by part, while the book goes on being used. It is read beside the callers' threads,
    /// at the pace of whoever takes it.
    ///
    /// # Errors
    /// `Closed` when the desk is.
    pub fn backup(&self) -> Result<Backup, DeskError> {
        let published = self.shared.published.load_full();
        let history = self.shared.history.load_full();
        let history = history.ok_or_else(|| self.shared.closed())?;
        let made_time = self.shared.clock.now();
        let newer = self.shared.newer.as_ref().map(|newer| newer.until.clone());
        let is_whole = self.shared.first_bad.get().is_none();
        let head = newer
            .filter(|_| is_whole)
            .unwrap_or_else(|| published.head.clone());
        let manifest = Manifest::of(self.shared.identity, head, made_time);
        let shared = Arc::clone(&self.shared);
        let reader = Arc::clone(&history.reader);
        Ok(backup::begin(reader, manifest, move |error, reader| {
            shared.look_into(error, reader, "a backup");
        }))
    }

    /// Compares the last entry that a client saw with the journal. When the client has seen what the
    /// journal does not have, it is told in the log, and one who is `trusted` stops the book by it:
    /// anybody can claim to have seen something.
    ///
    /// # Errors
    /// `Damaged` or `DiskFailed` when the entry cannot be read.
    pub async fn compare(
        &self,
        seen: Seen,
        by: &str,
        trusted: bool,
    ) -> Result<Compared, DeskError> {
        if seen.incarnation_id != self.shared.identity.incarnation_id {
            return Ok(Compared::OtherIncarnation);
        }
        let read = move |history: &History, published: &Published| {
            history.compare(&seen.head, &published.head)
        };
        let found = self.read(read).await?;
        if let Some((first_bad, reason)) = found.fault() {
            tracing::error!(by, %first_bad, reason, "somebody has seen what the journal does not have");
            if trusted {
                let reason = format!("{reason}, says {by}");
                self.shared.stop_at(first_bad, &reason, by);
            }
        }
        Ok(found)
    }

    /// Takes what waits in the queue, then closes the files and lets go of the book. Other handles
    /// answer `Closed` from then on. Waits ten seconds at most.
    ///
    /// # Errors
    /// `Closed` when another handle closed it before; `CloseTooSlow` after ten seconds.
    pub async fn close(self) -> Result<(), DeskError> {
        let (reply, closed) = oneshot::channel();
        let closing = async {
            self.asks
                .send(Ask::Close(reply))
                .await
                .map_err(|_| DeskError::Closed)?;
            closed.await.map_err(|_| DeskError::Closed)
        };
        let bounded = tokio::time::timeout(CLOSE_WAIT_MAX, closing).await;
        bounded.unwrap_or(Err(DeskError::CloseTooSlow))
    }

    /// Closes it because another process has the book, or is to have it: whoever comes late is told where.
    ///
    /// # Errors
    /// Those of [`Self::close`].
    pub async fn hand_over(self, to: Option<Arc<str>>) -> Result<(), DeskError> {
        self.shared.held_elsewhere.get_or_init(|| to);
        self.close().await
    }

    /// Reads history off the caller's thread, up to what is published now. Whoever comes upon damage
    /// stops the book before it is told.
    async fn read<T: Send + 'static>(
        &self,
        read: impl FnOnce(&History, &Published) -> Result<T, DeskError> + Send + 'static,
    ) -> Result<T, DeskError> {
        let published = self.shared.published.load_full();
        let history = self.shared.history.load_full();
        let history = history.ok_or_else(|| self.shared.closed())?;
        let shared = Arc::clone(&self.shared);
        let reading = tokio::task::spawn_blocking(move || {
            let read = read(&history, &published);
            if let Err(error) = &read {
                shared.look_into(error, history.reader.as_ref(), "reading");
            }
            read
        });
        reading.await.map_err(|_| DeskError::Closed)?
    }
}
