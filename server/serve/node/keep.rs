//! What a node does for its books again and again: it asks the engine about all of them at once, takes those that
//! it waits for, and lets go of those that nobody uses.

use std::collections::HashMap;
use std::future::pending;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Instant;

use tokio::sync::Semaphore;
use tokio::task::JoinSet;
use tokio::time::{MissedTickBehavior, interval, timeout};
use uuid::Uuid;

use super::books::Books;
use super::patience::Verdict;
use super::slot::{Slot, Stage};
use crate::edge::NoBook;
use crate::limits::{
    BOOK_AWAITED_FOR, BOOKS_LEAVING_MAX, BOOKS_LOOK_EVERY, BOOKS_SWEEP_EVERY, CONFIRM_EVERY,
    HOLDER_LOOK_EVERY, LEAVE_WAIT_MAX,
};
use crate::store::Claim;

impl Books {
    /// Keeps the books that are this node's, and waits for those that are not; for ever.
    pub(super) async fn keep(self: &Arc<Self>) {
        tokio::join!(
            self.confirm(),
            self.wait(),
            self.look(),
            self.sweep(),
            self.back_up_closed()
        );
    }

    /// Asks the engine again and again whether the books are this node's.
    async fn confirm(&self) {
        let mut often = interval(CONFIRM_EVERY);
        let mut was_silent = false;
        loop {
            often.tick().await;
            let held: Vec<_> = self
                .all()
                .into_iter()
                .filter(|slot| slot.is_held())
                .collect();
            if held.is_empty() {
                continue;
            }
            let asked = Instant::now();
            let ids = held.iter().map(|slot| slot.id).collect();
            match self.store.confirm_of(ids).await {
                Ok(claims) => {
                    was_silent = false;
                    hear(held, claims, asked);
                }
                Err(error) if !std::mem::replace(&mut was_silent, true) => {
                    tracing::warn!(%error, "it cannot be told whether the books are still here");
                }
                Err(_) => {}
            }
        }
    }

    /// Looks again and again who has the books that are waited for, and takes those that are to be had.
    async fn wait(self: &Arc<Self>) {
        let mut often = interval(HOLDER_LOOK_EVERY);
        often.set_missed_tick_behavior(MissedTickBehavior::Delay);
        let mut was_silent = false;
        loop {
            often.tick().await;
            if self.place.is_leaving.load(Ordering::SeqCst) {
                return pending().await;
            }
            let awaited = self.all().into_iter();
            let awaited = awaited.filter(|slot| !slot.is_held() && slot.stage() == Stage::Settled);
            let awaited: Vec<_> = awaited.collect();
            self.place
                .counts
                .elsewhere
                .set(i64::try_from(awaited.len()).unwrap_or(i64::MAX));
            if awaited.is_empty() {
                continue;
            }
            let ids = awaited.iter().map(|slot| slot.id).collect();
            let seen = match self.store.seen_of(ids).await {
                Ok(seen) => seen,
                Err(error) => {
                    if !std::mem::replace(&mut was_silent, true) {
                        tracing::warn!(%error, "the engine does not say who has the books");
                    }
                    continue;
                }
            };
            was_silent = false;
            let seen: HashMap<Uuid, _> = seen.into_iter().collect();
            for slot in awaited {
                let Some(seen) = seen.get(&slot.id) else {
                    self.forget(&slot, Some(NoBook::Other));
                    continue;
                };
                let verdict = slot.judge(seen, Instant::now());
                if verdict != Verdict::Wait {
                    tokio::spawn(Arc::clone(self).take_awaited(slot, verdict));
                }
            }
        }
    }

    async fn take_awaited(self: Arc<Self>, slot: Arc<Slot>, verdict: Verdict) {
        let why = self.take(&slot, verdict).await;
        if why.is_some() {
            self.forget(&slot, why);
        }
    }

    /// Looks again and again which books there are.
    async fn look(self: &Arc<Self>) {
        let mut often = interval(BOOKS_LOOK_EVERY);
        often.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            often.tick().await;
            match self.known.look().await {
                Ok(()) => {
                    self.follow();
                    self.widen();
                    self.turn().await;
                }
                Err(error) => tracing::debug!(%error, "it is not told which books there are"),
            }
        }
    }

    /// Lets go again and again of the books that nobody uses.
    async fn sweep(self: &Arc<Self>) {
        let let_go_after = self.place.args.many.let_go_after();
        let mut often = interval(BOOKS_SWEEP_EVERY);
        loop {
            often.tick().await;
            for slot in self.all() {
                let Some(idle_for) = slot.switch.usage().idle_for() else {
                    continue;
                };
                let after = if slot.is_held() {
                    let_go_after
                } else {
                    BOOK_AWAITED_FOR
                };
                if idle_for >= after && !self.is_only(&slot) && slot.stage() == Stage::Settled {
                    let books = Arc::clone(self);
                    tokio::spawn(async move { books.let_go(&slot).await });
                }
            }
        }
    }

    /// Gives all books back, those that were used last first; takes none from now on.
    pub(super) async fn leave(self: &Arc<Self>) {
        self.place.is_leaving.store(true, Ordering::SeqCst);
        let mut held: Vec<_> = self
            .all()
            .into_iter()
            .filter(|slot| slot.is_held())
            .collect();
        held.sort_by_key(|slot| slot.switch.usage().idle_for());
        let (turns, mut giving) = (Arc::new(Semaphore::new(BOOKS_LEAVING_MAX)), JoinSet::new());
        for slot in held {
            let turns = Arc::clone(&turns);
            giving.spawn(async move {
                let _turn = turns.acquire().await;
                slot.give_back().await
            });
        }
        let count = giving.len();
        match timeout(LEAVE_WAIT_MAX, giving.join_all()).await {
            Ok(_) => tracing::info!(count, "the books are given back"),
            Err(_) => tracing::warn!("not all books were given back in {LEAVE_WAIT_MAX:?}"),
        }
    }
}

/// What the engine said of books that are held, asked at this moment. One of which it says nothing is there no more.
fn hear(held: Vec<Arc<Slot>>, claims: Vec<Claim>, asked: Instant) {
    let mut claims: HashMap<Uuid, Claim> =
        claims.into_iter().map(|claim| (claim.id, claim)).collect();
    for slot in held {
        let claim = claims.remove(&slot.id);
        if let Some(lost) = slot.hear(claim, asked) {
            tokio::spawn(async move { slot.step_down(lost.as_ref()).await });
        }
    }
}
