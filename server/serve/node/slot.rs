//! One book on a node: here while this node has it, else waited for.
//!
//! A node that waits for a book says where it is, and takes it over once it was given back, or the engine hears
//! nothing of its holder any more. No clock decides who may write: the epoch does. A node that finds the book
//! taken closes it and waits.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex as StdMutex, PoisonError};
use std::time::Instant;

use arc_swap::ArcSwapOption;
use tokio::sync::{Mutex, OwnedSemaphorePermit, watch};
use uuid::Uuid;

use super::holding::Holding;
use super::off_the_runtime;
use super::patience::{Patience, Verdict};
use super::place::Place;
use crate::desk::{Desk, OpenError, OpenReport};
use crate::edge::{Confirmed, NoBook, Switch};
use crate::limits::OPEN_AGAIN_AFTER;
use crate::serve::ServeError;
use crate::store::{Claim, Holder, PostgresStore, Right, Seen, StoreError};

/// How far a slot is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Stage {
    /// It is being found out where the book is.
    Coming,
    /// The book is here, or elsewhere: the switch knows.
    Settled,
    /// It is being let go.
    Going,
    /// It is no more, and this is why where there is no book; else it may be asked for anew.
    Gone(Option<NoBook>),
}

/// One book on a node.
pub(super) struct Slot {
    pub(super) id: Uuid,
    pub(super) store: PostgresStore,
    pub(super) switch: Switch,
    place: Arc<Place>,
    stage: watch::Sender<Stage>,
    /// The book, while this node has it.
    holding: Mutex<Option<Holding>>,
    /// The same for whoever only looks.
    desk: ArcSwapOption<Desk>,
    /// When it was confirmed that the book is here; none while it is not.
    confirmed: ArcSwapOption<Confirmed>,
    /// Bytes of its lines, as the engine last said.
    line_bytes: AtomicU64,
    wait: StdMutex<Wait>,
}

/// What is known while the book is waited for.
#[derive(Default)]
struct Wait {
    patience: Patience,
    /// Where it was said to be, once that was said.
    told: Option<Option<Arc<str>>>,
    /// Whether it is being taken.
    is_taking: bool,
    /// Not before this is it tried again.
    not_before: Option<Instant>,
}

impl Slot {
    pub(super) fn new(place: Arc<Place>, store: PostgresStore, id: Uuid) -> Self {
        Self {
            id,
            store,
            switch: Switch::default(),
            place,
            stage: watch::Sender::new(Stage::Coming),
            holding: Mutex::default(),
            desk: ArcSwapOption::empty(),
            confirmed: ArcSwapOption::empty(),
            line_bytes: AtomicU64::new(0),
            wait: StdMutex::default(),
        }
    }

    /// How far it is.
    pub(super) fn stage(&self) -> Stage {
        self.stage.borrow().clone()
    }

    /// Waits until it is known where the book is, or the slot is no more.
    pub(super) async fn settled(&self) -> Stage {
        let mut stage = self.stage.subscribe();
        let is_known = |stage: &Stage| matches!(stage, Stage::Settled | Stage::Gone(_));
        // The sender is this slot's, which is here.
        stage
            .wait_for(is_known)
            .await
            .map_or(Stage::Gone(None), |stage| stage.clone())
    }

    /// It is known where the book is.
    pub(super) fn settle(&self) {
        self.stage.send_replace(Stage::Settled);
    }

    /// It is no more.
    pub(super) fn end(&self, why: Option<NoBook>) {
        self.stage.send_replace(Stage::Gone(why));
    }

    /// Begins to let it go, unless it is not settled, or another does.
    pub(super) fn begin_to_go(&self) -> bool {
        self.stage.send_if_modified(|stage| {
            let is_settled = *stage == Stage::Settled;
            if is_settled {
                *stage = Stage::Going;
            }
            is_settled
        })
    }

    /// The book, while this node has it.
    pub(super) fn desk(&self) -> Option<Arc<Desk>> {
        self.desk.load_full()
    }

    pub(super) fn is_held(&self) -> bool {
        self.confirmed.load().is_some()
    }

    pub(super) fn line_bytes(&self) -> u64 {
        self.line_bytes.load(Ordering::Relaxed)
    }

    /// Whether this node has the book and can record in it.
    pub(super) fn can_record(&self) -> bool {
        let confirmed = self.confirmed.load();
        let is_here = confirmed
            .as_ref()
            .is_some_and(|confirmed| confirmed.is_lately());
        let desk = self.desk.load();
        let is_open = |desk: &Arc<Desk>| desk.standing().read_only.is_none();
        is_here && desk.as_ref().is_some_and(is_open)
    }

    /// What to do about the book as it is seen now: nothing while it is being taken, or just was in vain.
    pub(super) fn judge(&self, seen: &Seen, now: Instant) -> Verdict {
        let mut wait = self.wait.lock().unwrap_or_else(PoisonError::into_inner);
        let verdict = wait.patience.judge(Some(seen), now);
        // What is seen may be older than a taking that has ended meanwhile.
        if wait.is_taking || self.is_held() {
            return Verdict::Wait;
        }
        let at = at(seen.holder.as_ref());
        if verdict == Verdict::Wait && wait.told.as_ref() != Some(&at) {
            let book = self.id;
            tracing::info!(%book, at = at.as_deref(), "another machine has the book: this one waits");
            self.switch.to_elsewhere(at.clone());
            wait.told = Some(at);
        }
        if wait.not_before.is_some_and(|then| now < then) {
            return Verdict::Wait;
        }
        wait.is_taking = verdict != Verdict::Wait;
        verdict
    }

    /// Opens the book; nothing where another was quicker.
    pub(super) async fn open(
        &self,
        verdict: Verdict,
        is_only: bool,
    ) -> Result<Option<(Desk, OpenReport)>, OpenError> {
        let options = self.place.options_of(self.id);
        let store = self.store.clone();
        let store = if is_only { store } else { store.among_many() };
        let store = match verdict {
            Verdict::Wait => return Ok(None),
            Verdict::Take => store,
            Verdict::TakeOver => store.taking_over(),
        };
        match off_the_runtime(move || Desk::open(Arc::new(store), &options)).await {
            Ok(opened) => {
                self.place.was_opened(self.id);
                Ok(Some(opened))
            }
            Err(OpenError::Store(StoreError::InUse { .. })) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// Serves the book from now on.
    pub(super) async fn hold(
        &self,
        (desk, report): (Desk, OpenReport),
        permit: OwnedSemaphorePermit,
        is_only: bool,
    ) -> Result<(), ServeError> {
        let to = self.place.args.backups.to.clone();
        // Those of several books lie each in a folder of their own.
        let backups = to.map(|to| {
            let to = if is_only {
                to
            } else {
                to.join(self.id.to_string())
            };
            (to, self.switch.usage().clone())
        });
        let confirmed = Arc::new(Confirmed::now());
        let place = (&*self.place, permit);
        let held = match Holding::of(desk.clone(), &report, place, backups).await {
            Ok(held) => held,
            Err(error) => {
                let _ = desk.close().await;
                return Err(error);
            }
        };
        let mut holding = self.holding.lock().await;
        self.switch.to_here(&held.edge, Arc::clone(&confirmed));
        self.desk.store(Some(Arc::new(desk)));
        self.confirmed.store(Some(confirmed));
        *holding = Some(held);
        self.place.counts.opened.inc();
        Ok(())
    }

    /// Takes the book, as the verdict says; why there is none to take, where that was found.
    pub(super) async fn take(
        &self,
        verdict: Verdict,
        permit: OwnedSemaphorePermit,
        is_only: bool,
    ) -> Option<NoBook> {
        let (book, takes_over) = (self.id, verdict == Verdict::TakeOver);
        tracing::info!(%book, takes_over, "the book is taken over");
        let taken = match self.open(verdict, is_only).await {
            Ok(Some(opened)) => self.hold(opened, permit, is_only).await,
            Ok(None) => {
                self.rest(None);
                return None;
            }
            Err(OpenError::Store(StoreError::Moved { .. })) => return Some(NoBook::Moved),
            Err(error) => Err(error.into()),
        };
        match taken {
            Ok(()) => {
                self.rest(None);
                if self.place.is_leaving.load(Ordering::SeqCst) {
                    self.step_down(None).await;
                }
            }
            Err(error) => {
                tracing::error!(%book, "the book could not be taken over: {error}");
                self.rest(Some(Instant::now() + OPEN_AGAIN_AFTER));
            }
        }
        None
    }

    /// It is not being taken any more, and not before this again.
    pub(super) fn rest(&self, not_before: Option<Instant>) {
        let mut wait = self.wait.lock().unwrap_or_else(PoisonError::into_inner);
        wait.is_taking = false;
        wait.not_before = not_before;
    }

    /// What the engine said of the book, asked at this moment; nothing where it has none. Gives who has it now where
    /// this node has it no more.
    pub(super) fn hear(&self, claim: Option<Claim>, asked: Instant) -> Option<Option<Holder>> {
        let confirmed = self.confirmed.load_full()?;
        let right = claim.map_or(Right::Lost(None), |claim| {
            self.line_bytes.store(claim.line_bytes, Ordering::Relaxed);
            claim.right
        });
        match right {
            Right::Own => {
                confirmed.again(asked);
                None
            }
            Right::Lost(holder) => {
                let book = self.id;
                tracing::warn!(%book, ?holder, "the book was taken by another machine");
                Some(holder)
            }
        }
    }

    /// Lets go of the book, which another has or is to have: whoever comes is told so, and watches end.
    pub(super) async fn step_down(&self, holder: Option<&Holder>) {
        let mut holding = self.holding.lock().await;
        let at = at(holder);
        self.switch.to_elsewhere(at.clone());
        self.confirmed.store(None);
        self.desk.store(None);
        *self.wait.lock().unwrap_or_else(PoisonError::into_inner) = Wait::default();
        let Some(held) = holding.take() else {
            return;
        };
        held.edge.end_watches();
        if self.place.args.backups.to.is_some() {
            let upkeep = held.desk.upkeep();
            let counts = &self.place.counts;
            counts.backups.inc_by(upkeep.made_count);
            counts.backup_failures.inc_by(upkeep.failed_count);
        }
        if let Err(error) = held.desk.clone().hand_over(at).await {
            tracing::error!("{error}");
        }
    }

    /// Gives the book back, so that another node can take it at once; whether this one had it.
    pub(super) async fn give_back(&self) -> bool {
        {
            let holding = self.holding.lock().await;
            let Some(held) = &*holding else {
                return false;
            };
            held.save_used().await;
        }
        self.step_down(None).await;
        true
    }
}

/// Where a holder is reached.
fn at(holder: Option<&Holder>) -> Option<Arc<str>> {
    let address = holder?.address.as_deref();
    address.map(Into::into)
}
