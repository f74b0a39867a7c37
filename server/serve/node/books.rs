//! The books of a node: each in a slot by its id, opened when somebody asks for it, let go when nobody does.
//!
//! Where one book was named, it is the only one for whoever comes. Else whatever the engine keeps is served. While
//! there is one book alone, it is held without its being asked for, and whoever names none means it.

use std::collections::HashMap;
use std::sync::atomic::Ordering;
use std::sync::{Arc, PoisonError, RwLock};
use std::time::Instant;

use arc_swap::ArcSwapOption;
use tokio::sync::OwnedSemaphorePermit;
use tokio::time::timeout;
use uuid::Uuid;

use super::doorstep::{Caller, Doorstep};
use super::known::Known;
use super::patience::Verdict;
use super::place::Place;
use super::slot::{Slot, Stage};
use crate::edge::{self, Asker, NoBook, Switch, Way};
use crate::limits::{BOOK_SPARED_FOR, BOOK_WAIT_MAX, OPEN_AGAIN_AFTER};
use crate::store::PostgresStore;

/// The books of a node.
pub(super) struct Books {
    pub(super) place: Arc<Place>,
    /// The engine, with no book named.
    pub(super) store: PostgresStore,
    pub(super) known: Known,
    doorstep: Doorstep,
    /// Whether one was named.
    pub(super) is_named: bool,
    slots: RwLock<HashMap<Uuid, Arc<Slot>>>,
    /// The one that whoever names none means.
    only: ArcSwapOption<Slot>,
}

impl Books {
    /// Those of an engine; none is served yet.
    pub(super) fn new(
        place: Arc<Place>,
        store: PostgresStore,
        known: Known,
        is_named: bool,
    ) -> Self {
        Self {
            place,
            doorstep: Doorstep::of(&store),
            store,
            known,
            is_named,
            slots: RwLock::default(),
            only: ArcSwapOption::empty(),
        }
    }

    /// The slot of a book, which is made where there is none; and whether it was.
    pub(super) fn slot(&self, id: Uuid) -> (Arc<Slot>, bool) {
        if let Some(slot) = self.find(id) {
            return (slot, false);
        }
        let mut slots = self.slots.write().unwrap_or_else(PoisonError::into_inner);
        let mut is_new = false;
        let slot = slots.entry(id).or_insert_with(|| {
            is_new = true;
            let (place, store) = (Arc::clone(&self.place), self.store.of_book(id));
            Arc::new(Slot::new(place, store, id))
        });
        (Arc::clone(slot), is_new)
    }

    pub(super) fn find(&self, id: Uuid) -> Option<Arc<Slot>> {
        let slots = self.slots.read().unwrap_or_else(PoisonError::into_inner);
        slots.get(&id).cloned()
    }

    /// All that there are.
    pub(super) fn all(&self) -> Vec<Arc<Slot>> {
        let slots = self.slots.read().unwrap_or_else(PoisonError::into_inner);
        slots.values().cloned().collect()
    }

    /// The one that whoever names none means.
    pub(super) fn only(&self) -> Option<Arc<Slot>> {
        self.only.load_full()
    }

    pub(super) fn is_only(&self, slot: &Slot) -> bool {
        self.only
            .load()
            .as_ref()
            .is_some_and(|only| only.id == slot.id)
    }

    /// From now on whoever names no book means this one; with none he has to name it.
    pub(super) fn mean(&self, only: Option<Arc<Slot>>) {
        self.only.store(only);
    }

    /// Serves what the engine has by now, where no book was named: the only book is held without its being asked
    /// for.
    pub(super) fn follow(self: &Arc<Self>) {
        if self.is_named {
            return;
        }
        match *self.known.here() {
            [id] if self.only().is_none_or(|only| only.id != id) => {
                let (slot, is_new) = self.slot(id);
                self.mean(Some(Arc::clone(&slot)));
                if is_new {
                    tokio::spawn(Arc::clone(self).bring(slot));
                }
            }
            [_] => {}
            _ => self.mean(None),
        }
    }

    /// Finds out where a book is, and opens it where nobody has it.
    pub(super) async fn bring(self: Arc<Self>, slot: Arc<Slot>) {
        let seen = match self.store.seen_of(vec![slot.id]).await {
            Ok(seen) => seen.into_iter().next(),
            Err(error) => {
                tracing::warn!(book = %slot.id, %error, "the engine does not say who has the book");
                slot.rest(Some(Instant::now() + OPEN_AGAIN_AFTER));
                return slot.settle();
            }
        };
        let Some((_, seen)) = seen else {
            return self.forget(&slot, Some(NoBook::Other));
        };
        let verdict = slot.judge(&seen, Instant::now());
        if verdict == Verdict::Wait {
            return slot.settle();
        }
        match self.take(&slot, verdict).await {
            None => slot.settle(),
            why => self.forget(&slot, why),
        }
    }

    /// Takes a book that is to be had, once there is room; why there is none, where it is not.
    pub(super) async fn take(&self, slot: &Slot, verdict: Verdict) -> Option<NoBook> {
        let Ok(_turn) = self.place.opening.acquire().await else {
            return Some(NoBook::Unknown);
        };
        let Some(permit) = self.room().await else {
            slot.rest(None);
            return Some(NoBook::NoRoom);
        };
        slot.take(verdict, permit, self.is_named || self.is_only(slot))
            .await
    }

    /// Room for one more: that of the one which was not used for longest, where there is no other.
    pub(super) async fn room(&self) -> Option<OwnedSemaphorePermit> {
        loop {
            if let Ok(permit) = Arc::clone(&self.place.room).try_acquire_owned() {
                return Some(permit);
            }
            let idle = self.all().into_iter().filter_map(|slot| {
                let idle_for = slot.switch.usage().idle_for()?;
                let may_go = idle_for >= BOOK_SPARED_FOR && slot.is_held() && !self.is_only(&slot);
                may_go.then_some((idle_for, slot))
            });
            let (_, longest) = idle.max_by_key(|(idle_for, _)| *idle_for)?;
            self.let_go(&longest).await;
        }
    }

    /// Lets go of a book that nobody uses; whoever asks for it now waits for its being opened anew.
    pub(super) async fn let_go(&self, slot: &Arc<Slot>) {
        if !slot.begin_to_go() {
            return;
        }
        if slot.give_back().await {
            tracing::info!(book = %slot.id, "the book is let go: nobody uses it");
            self.place.counts.let_go.inc();
        }
        self.forget(slot, None);
    }

    /// Takes a slot out, and says why to whoever waits for it.
    pub(super) fn forget(&self, slot: &Arc<Slot>, why: Option<NoBook>) {
        let mut slots = self.slots.write().unwrap_or_else(PoisonError::into_inner);
        if slots
            .get(&slot.id)
            .is_some_and(|held| Arc::ptr_eq(held, slot))
        {
            slots.remove(&slot.id);
        }
        drop(slots);
        slot.end(why);
    }

    /// The switch of a book that is named, once it is known where the book is. Where devices alone may use it, it is
    /// opened for nobody else.
    async fn come(self: Arc<Self>, id: Uuid, caller: Option<Caller>) -> Result<Switch, NoBook> {
        let coming = async {
            loop {
                if self.place.is_leaving.load(Ordering::SeqCst) {
                    return Err(NoBook::Unknown);
                }
                let slot = match self.find(id) {
                    Some(slot) => slot,
                    None => {
                        self.known.look_up(id).await?;
                        if let Some(caller) = &caller {
                            self.doorstep.pass(id, caller).await?;
                        }
                        let (slot, is_new) = self.slot(id);
                        if is_new {
                            // By itself: whoever asked first may go.
                            tokio::spawn(Arc::clone(&self).bring(Arc::clone(&slot)));
                        }
                        slot
                    }
                };
                match slot.settled().await {
                    Stage::Gone(None) => {}
                    Stage::Gone(Some(why)) => return Err(why),
                    _ => return Ok(slot.switch.clone()),
                }
            }
        };
        let came = timeout(BOOK_WAIT_MAX, coming).await;
        let found = came.unwrap_or(Err(NoBook::Slow));
        if found.is_err() {
            self.place.counts.refused.inc();
        }
        found
    }
}

/// The way to the books of a node, as the router asks for it.
pub(super) struct Ways(pub(super) Arc<Books>);

impl edge::Books for Ways {
    fn way_to(&self, asker: Asker<'_>) -> Way {
        let books = &self.0;
        let for_devices = books.place.args.for_devices();
        let id = match asker.book {
            Some(id) if !books.is_named => id,
            _ => match books.only() {
                Some(only) => only.id,
                None => {
                    books.place.counts.refused.inc();
                    return Way::Nowhere(if for_devices {
                        NoBook::TokenMissing
                    } else {
                        NoBook::Unnamed(books.known.here())
                    });
                }
            },
        };
        match books.find(id) {
            Some(slot) if slot.stage() == Stage::Settled => Way::There(slot.switch.clone()),
            _ => {
                let token = asker.token.filter(|_| for_devices);
                let caller = token.map(|token| Caller {
                    token: token.to_owned(),
                    from: asker.from,
                });
                Way::Coming(Box::pin(Arc::clone(books).come(id, caller)))
            }
        }
    }
}
