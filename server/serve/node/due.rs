//! Closed books of which a backup is due: each is opened for that, and let go again.
//!
//! It serves a node that makes backups. An open book is backed up by itself; what was done in one that was let go is
//! in a backup no later than if it had stayed open.

use std::collections::HashMap;
use std::future::pending;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

use tokio::time::{MissedTickBehavior, interval, sleep};
use uuid::Uuid;

use super::books::Books;
use super::slot::Slot;
use crate::desk::{Clock as _, SystemClock, Upkeep, backed_up};
use crate::limits::{BACKUP_LOOK_EVERY, BACKUP_TRY_EVERY, BACKUP_WAIT_LOOK_EVERY};
use crate::store::{BookEnd, Sessions, StoreError};

/// When this node may open a closed book again for its backup.
#[derive(Default)]
struct NotBefore(HashMap<Uuid, Instant>);

impl NotBefore {
    fn is_over(&self, book: Uuid) -> bool {
        let then = self.0.get(&book);
        then.is_none_or(|then| *then <= Instant::now())
    }
}

impl Books {
    /// Looks again and again of which closed books a backup is due, and makes them one after the other.
    pub(super) async fn back_up_closed(self: &Arc<Self>) {
        let backups = &self.place.args.backups;
        // One that was named is open for as long as this node has it.
        if backups.to.is_none() || self.is_named {
            return pending().await;
        }
        let again = Duration::try_from(backups.every).unwrap_or(Duration::MAX);
        let tried = Duration::try_from(backups.every.min(BACKUP_TRY_EVERY)).unwrap_or(again);
        let mut often = interval(again.min(BACKUP_LOOK_EVERY));
        often.set_missed_tick_behavior(MissedTickBehavior::Delay);
        let mut not_before = NotBefore::default();
        loop {
            often.tick().await;
            let due = match self.due(&not_before).await {
                Ok(due) => due,
                Err(error) => {
                    tracing::debug!(%error, "it is not told of which books a backup is due");
                    continue;
                }
            };
            for book in due {
                if self.place.is_leaving.load(Ordering::SeqCst) {
                    return pending().await;
                }
                let wait = if self.back_up(book).await {
                    again
                } else {
                    tried
                };
                not_before.0.insert(book, Instant::now() + wait);
            }
        }
    }

    /// The closed books in which something was recorded since they were last backed up, where that is long enough ago
    /// and nobody has them.
    async fn due(&self, not_before: &NotBefore) -> Result<Vec<Uuid>, StoreError> {
        let (now, every) = (SystemClock.now(), self.place.args.backups.every);
        let is_due = |end: &BookEnd| {
            let note = end.upkeep.as_deref();
            let last = note.and_then(|note| backed_up(note, end.incarnation_id));
            last.is_none_or(|last| {
                // One from a time that is to come says nothing of how long it is ago.
                let is_long_ago = last.time > now || now.duration_since(last.time) >= every;
                last.seq < end.head && is_long_ago
            })
        };
        let ends = self.store.ends().await?.into_iter();
        let due = ends
            .filter(|end| is_due(end) && not_before.is_over(end.id) && self.find(end.id).is_none());
        let due: Vec<Uuid> = due.map(|end| end.id).collect();
        if due.is_empty() {
            return Ok(due);
        }
        let seen = self.store.seen_of(due).await?.into_iter();
        let to_be_had = seen.filter(|(_, seen)| {
            let is_there = matches!(seen.sessions, Sessions::AskedAt(_));
            seen.is_own || !is_there
        });
        Ok(to_be_had.map(|(id, _)| id).collect())
    }

    /// Opens a book for its backup, and lets go of it where nobody asked for it meanwhile; whether one was made.
    async fn back_up(self: &Arc<Self>, book: Uuid) -> bool {
        let (slot, is_new) = self.slot(book);
        if !is_new {
            return false;
        }
        let brought = Instant::now();
        Arc::clone(self).bring(Arc::clone(&slot)).await;
        let is_made = is_backed_up(&slot).await;
        let idle_for = slot.switch.usage().idle_for();
        if idle_for.is_some_and(|idle| idle >= brought.elapsed()) {
            self.let_go(&slot).await;
        }
        is_made
    }
}

/// Whether an open book is backed up by itself now, once that is known.
async fn is_backed_up(slot: &Slot) -> bool {
    while let Some(desk) = slot.desk() {
        let Upkeep {
            made_count,
            failed_count,
            schedule,
            ..
        } = desk.upkeep();
        if made_count > 0 || failed_count > 0 {
            return made_count > 0;
        }
        // What lies in this node's own folder may be newer than what was noted.
        if schedule.is_some_and(|schedule| schedule.next > desk.now()) {
            return false;
        }
        sleep(BACKUP_WAIT_LOOK_EVERY).await;
    }
    false
}
