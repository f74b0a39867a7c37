//! What the handles of a desk, its writer and its readers share, and how the book is stopped.
//!
//! Invariant: whoever comes upon damage makes the book read-only before it is told.

use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::time::Instant;

use arc_swap::{ArcSwap, ArcSwapOption};
use fettlebook_model::{Book, Seq};
use tokio::sync::watch;

use super::audit::{self, Fault};
use super::clock::Clock;
use super::company::Company;
use super::error::{DeskError, StoppedBy};
use super::finding::Findings;
use super::history::History;
use super::retry_hint::RetryHint;
use super::upkeep::UpkeepPlace;
use crate::journal::{Head, Newer, Reader};
use crate::limits::LOOK_INTO_EVERY;
use crate::meters::Meters;
#[cfg(feature = "postgres")]
use crate::store::Office;
use crate::store::{Identity, Store};

/// What readers see: a book, its head, and whether it can change. Always swapped as one.
#[derive(Debug, Clone)]
pub(super) struct Published {
    pub(super) book: Arc<Book>,
    pub(super) head: Head,
    pub(super) read_only: Option<Arc<str>>,
}

/// What the handles, the writer and the readers share.
pub(super) struct Shared {
    pub(super) identity: Identity,
    /// Where the book is kept.
    pub(super) store: Arc<dyn Store>,
    pub(super) clock: Arc<dyn Clock>,
    pub(super) published: ArcSwap<Published>,
    /// Gone once the desk is closed, so that nothing keeps the files open.
    pub(super) history: ArcSwapOption<History>,
    /// The first bad entry of a journal that was found damaged, once it was.
    pub(super) first_bad: OnceLock<Seq>,
    /// Where it is remembered that the journal is damaged; a copy can be had again and does without.
    pub(super) findings: Option<Findings>,
    /// When somebody last came upon damage that reading the whole journal through did not confirm.
    pub(super) unconfirmed: Mutex<Option<Instant>>,
    /// What ended writing in this process, once something did.
    pub(super) stopped_by: OnceLock<StoppedBy>,
    /// That another process has the book now, or is to have it, and where it is, where that is known.
    pub(super) held_elsewhere: OnceLock<Option<Arc<str>>>,
    /// What a later program wrote behind the last entry that was read, if it did.
    pub(super) newer: Option<Newer>,
    /// Number of the last entry, for those who wait for the next.
    pub(super) news: watch::Sender<Seq>,
    /// Whom the writer waits for.
    pub(super) company: Company,
    /// How long what waits will take.
    pub(super) retry_hint: RetryHint,
    /// Where what the book answers is laid out for the office; none where nobody looks for it.
    #[cfg(feature = "postgres")]
    pub(super) office: Option<Arc<dyn Office>>,
    /// What was done for the whole book, and when.
    pub(super) upkeep: UpkeepPlace,
    /// What measures the work.
    pub(super) meters: Meters,
}

impl Shared {
    /// Publishes that the book cannot change any more.
    pub(super) fn stop(&self, reason: &str) {
        let before = self.published.rcu(|now| {
            let mut published = Published::clone(now);
            published.read_only.get_or_insert_with(|| reason.into());
            published
        });
        if before.read_only.is_none() {
            tracing::error!(reason, "the book is read-only now");
        }
    }

    /// Publishes that this process does not write any more.
    pub(super) fn stop_writing(&self, by: StoppedBy, reason: &str) {
        if self.published.load().read_only.is_none() {
            self.stopped_by.get_or_init(|| by);
        }
        self.stop(reason);
    }

    /// Publishes that the journal is damaged from an entry on, so that nothing is recorded any more,
    /// and remembers it for every later process.
    pub(super) fn stop_at(&self, first_bad: Seq, reason: &str, by: &str) {
        self.first_bad.get_or_init(|| first_bad);
        self.stop(reason);
        if let Some(findings) = &self.findings {
            findings.remember(first_bad, reason, by, self.clock.now());
        }
    }

    /// Stops the book at a fault.
    pub(super) fn stop_for(&self, fault: &Fault, by: &str) {
        match fault.first_bad {
            Some(first_bad) => self.stop_at(first_bad, &fault.reason, by),
            None => self.stop(&fault.reason),
        }
    }

    /// Looks into it when somebody came upon damage: reads the journal through up to what is
    /// published, and stops the book at what is wrong there first. Where nothing is, whoever came upon
    /// it was led astray, as by a wrong place on the shelf.
    pub(super) fn look_into(&self, error: &DeskError, reader: &dyn Reader, by: &str) {
        if !matches!(error, DeskError::Damaged { .. }) {
            return;
        }
        let published = self.published.load_full();
        let mut unconfirmed = self
            .unconfirmed
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        let lately = unconfirmed.is_some_and(|then| then.elapsed() < LOOK_INTO_EVERY);
        if lately || self.first_bad.get().is_some() {
            return;
        }
        match audit::fault_before(reader, &published.head) {
            Some(fault) if fault.passes => {
                tracing::warn!(
                    reason = fault.reason,
                    by,
                    "the journal cannot be read through"
                );
            }
            Some(fault) => self.stop_for(&fault, by),
            None => {
                *unconfirmed = Some(Instant::now());
                tracing::warn!(%error, by, "the journal was read through and is whole");
            }
        }
    }

    /// The error for whoever comes once the files are closed.
    pub(super) fn closed(&self) -> DeskError {
        let elsewhere = self.held_elsewhere.get();
        let held = |at: &Option<Arc<str>>| DeskError::HeldElsewhere { at: at.clone() };
        elsewhere.map_or(DeskError::Closed, held)
    }

    /// The error for a command that cannot be taken.
    pub(super) fn refusal(&self) -> DeskError {
        if let Some(at) = self.held_elsewhere.get() {
            return DeskError::HeldElsewhere { at: at.clone() };
        }
        let is_newer = self.newer.is_some() && self.first_bad.get().is_none();
        match (&self.published.load().read_only, self.stopped_by.get()) {
            (Some(reason), _) if is_newer => DeskError::NewerThanThis {
                reason: Arc::clone(reason),
            },
            (Some(reason), Some(by)) => DeskError::Stopped {
                reason: Arc::clone(reason),
                by: *by,
            },
            (Some(reason), None) => DeskError::ReadOnly {
                reason: Arc::clone(reason),
            },
            (None, _) => DeskError::Closed,
        }
    }
}
