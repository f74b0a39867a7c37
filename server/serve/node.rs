//! A node: a service whose book an engine keeps, and that other nodes serve in its place when it cannot.
//!
//! It listens whether it has the book or not. A node that waits says where the book is, and takes it over once
//! it was given back, or the engine hears nothing of its holder any more. No clock decides who may write: the
//! epoch does. A node that finds it taken closes the book and becomes one that waits.

mod book_seals;
mod folder;
mod patience;
mod sealing;

use std::future::{Future, pending};
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use arc_swap::ArcSwapOption;
use tokio::sync::Mutex;
use tokio::task::{JoinSet, spawn_blocking};
use tokio::time::{interval, sleep};
use tonic::service::Routes;
use tonic_health::ServingStatus;
use tower::Layer as _;

use super::door::{self, Shown};
use super::health::Health;
use super::incoming::Incoming;
use super::transport::{Carried, limited};
use super::{
    Announced, REPORTED_BY, ServeError, backups, bench, bind, keep_saving_used, metrics, office,
    options, save_used, tell_report,
};
use crate::access::{Access, ServiceNote};
use crate::args::Args;
use crate::desk::{Clock as _, Desk, DeskOptions, OpenError, OpenReport, SystemClock};
use crate::edge::{Caller, Confirmed, Edge, Front, PagesLayer, Switch};
use crate::limits::{
    CONFIRM_EVERY, CONNECTIONS_MAX, HOLDER_LOOK_EVERY, OPEN_AGAIN_AFTER, PREFACE_WAIT_MAX,
    SEALED_STREAM_WINDOW_BYTES, STRANGER_TIME_MAX, STRANGERS_MAX, STREAM_WINDOW_BYTES,
};
use crate::store::{EngineBook, Holder, PostgresStore, Right, Seen, Store as _, StoreError};

pub(super) use book_seals::BookSeals;
use patience::{Patience, Verdict};
use sealing::Sealing;

/// Serves a book that an engine keeps, while this node has it, until `stop`.
pub(super) async fn serve(
    args: &Args,
    commit: &'static str,
    stop: impl Future<Output = ()>,
) -> Result<(), ServeError> {
    // First, so that others are told where this one really listens.
    let listener = bind(args.listen).await?;
    let address = listener.local_addr().map_err(ServeError::Runtime)?;
    let told = told(args, address);
    let Some(book) = args.kept.in_engine(Some(&told)) else {
        return Ok(());
    };
    let EngineBook { node: folder, .. } = book;
    let _folder = folder::hold(folder)?;
    let store = book.store().map_err(OpenError::from)?;
    let asked = door::asked(args, &store, &SystemClock)?;
    let node = Arc::new(Node::new(args, commit, store));
    let found = node.begin().await?;
    let shown = asked.shown(args, &*node.store.cabinet(), address, SystemClock.now())?;
    if let Some(shown) = &shown {
        shown.note(&*node.store.cabinet())?;
    }
    let sealed = shown
        .as_ref()
        .map(|shown| Sealing::with(shown, &node.store))
        .transpose()?;
    node.shown.store(shown.map(Arc::new));
    if let Some((desk, report)) = found {
        node.hold(desk, &report).await?;
    }
    let measured = match args.metrics {
        Some(address) => Some(bind(address).await?),
        None => None,
    };
    let announced = Announced {
        address,
        fingerprint: sealed.as_ref().map(|sealed| sealed.fingerprint),
        measured: measured.as_ref(),
    };
    announced.tell(args.quiet).map_err(ServeError::Runtime)?;
    let meters = node.options.meters.clone();
    if let Some(listener) = measured {
        let certificate_end = sealed.as_ref().and_then(|sealed| sealed.certificate_end);
        let held = Arc::clone(&node.desk);
        let page = metrics::Page::new(SystemClock.now(), &meters, held, certificate_end);
        // Ends with the runtime.
        tokio::spawn(metrics::answer(listener, Arc::new(page)));
    }
    let (health, asked_health) = Health::starting().await;
    let front = Front::Switch(node.switch.clone());
    let (incoming, server) = match sealed {
        Some(sealed) => {
            let known_max = CONNECTIONS_MAX - STRANGERS_MAX;
            let incoming = Incoming::new(listener, known_max, PREFACE_WAIT_MAX)
                .counted_by(meters.clone())
                .sealed(sealed.seals, STRANGER_TIME_MAX);
            let services = node.switch.layer(Routes::default());
            let bench = bench::page(services, &meters, &sealed.certificate);
            let pages = PagesLayer::new(&args.page_from).with_bench(bench);
            let server = limited(SEALED_STREAM_WINDOW_BYTES, pages).accept_http1(true);
            (incoming, server)
        }
        None => {
            let incoming = Incoming::new(listener, CONNECTIONS_MAX, PREFACE_WAIT_MAX)
                .counted_by(meters.clone());
            (incoming, limited(STREAM_WINDOW_BYTES, PagesLayer::new(&[])))
        }
    };
    let carried = Carried {
        incoming,
        server,
        front,
        routes: Routes::default(),
        meters,
    };
    let beside = async {
        tokio::join!(node.keep(), health.follow(|| node.can_record()));
    };
    let leave = async {
        node.leave().await;
        health.tell(ServingStatus::NotServing).await;
    };
    carried.serve(asked_health, beside, leave, stop).await
}

/// Where clients reach this node, as others tell them.
fn told(args: &Args, address: SocketAddr) -> String {
    let reached = || SocketAddr::new(ServiceNote::reached_at(address.ip()), address.port());
    let first = args.reached_at.first().cloned();
    first.unwrap_or_else(|| reached().to_string())
}

/// What the parts of a node share.
struct Node {
    args: Args,
    options: DeskOptions,
    store: PostgresStore,
    /// What devices are shown; none where no door was asked for.
    shown: ArcSwapOption<Shown>,
    switch: Switch,
    /// The book, while this node has it.
    holding: Mutex<Option<Holding>>,
    /// The same for whoever only looks.
    desk: Arc<ArcSwapOption<Desk>>,
    /// When it was confirmed that the book is here; none while it is not.
    confirmed: ArcSwapOption<Confirmed>,
    /// Whether nothing is taken over any more.
    is_leaving: AtomicBool,
}

/// A book that this node has.
struct Holding {
    desk: Desk,
    edge: Edge,
    access: Option<Arc<Access>>,
    /// What goes on beside, and ends with it.
    _beside: JoinSet<()>,
}

impl Node {
    fn new(args: &Args, commit: &'static str, store: PostgresStore) -> Self {
        Self {
            args: args.clone(),
            options: DeskOptions {
                // Whoever waits looks again and again.
                lock_wait: Duration::ZERO,
                ..options(args, commit)
            },
            store,
            shown: ArcSwapOption::empty(),
            switch: Switch::default(),
            holding: Mutex::default(),
            desk: Arc::default(),
            confirmed: ArcSwapOption::empty(),
            is_leaving: AtomicBool::new(false),
        }
    }

    /// Opens the book if nobody has it; nothing where somebody has.
    async fn begin(&self) -> Result<Option<(Desk, OpenReport)>, ServeError> {
        let seen = self.seen().await.map_err(OpenError::from)?;
        let opened = match Patience::default().judge(seen.as_ref(), Instant::now()) {
            Verdict::Take | Verdict::TakeOver => self.open(self.options.clone(), false).await?,
            Verdict::Wait => None,
        };
        if opened.is_none() {
            let holder = seen.as_ref().and_then(|seen| seen.holder.as_ref());
            self.switch.to_elsewhere(at(holder));
        }
        Ok(opened)
    }

    async fn seen(&self) -> Result<Option<Seen>, StoreError> {
        let store = self.store.clone();
        off_the_runtime(move || store.seen()).await
    }

    /// Opens the book; nothing where another was quicker.
    async fn open(
        &self,
        options: DeskOptions,
        takes_over: bool,
    ) -> Result<Option<(Desk, OpenReport)>, OpenError> {
        let store = self.store.clone();
        let opening = off_the_runtime(move || {
            let store = if takes_over {
                store.taking_over()
            } else {
                store
            };
            Desk::open(Arc::new(store), &options)
        });
        match opening.await {
            Ok(opened) => Ok(Some(opened)),
            Err(OpenError::Store(StoreError::InUse { .. })) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// Serves the book from now on. Whoever may use it is read anew.
    async fn hold(&self, desk: Desk, report: &OpenReport) -> Result<(), ServeError> {
        tell_report(&desk, report);
        let confirmed = Arc::new(Confirmed::now());
        let edge = Edge::new(desk.clone(), Caller::owner(REPORTED_BY));
        let shown = self.shown.load_full();
        let access = match shown {
            Some(shown) => {
                let desk = desk.clone();
                Some(off_the_runtime(move || shown.door(&desk)).await?.access)
            }
            None => None,
        };
        let mut beside = JoinSet::new();
        let edge = match access.clone() {
            Some(access) => {
                let saved = Arc::clone(&access);
                beside.spawn(async move { keep_saving_used(&saved).await });
                edge.for_devices(access)
            }
            None => edge,
        };
        beside.spawn(office::keep_up(desk.clone()));
        if let Some(plan) = backups::Plan::asked(&self.args, &desk)? {
            beside.spawn(plan.keep_up(desk.clone()));
        }
        self.switch.to_here(&edge, Arc::clone(&confirmed));
        self.desk.store(Some(Arc::new(desk.clone())));
        self.confirmed.store(Some(confirmed));
        *self.holding.lock().await = Some(Holding {
            desk,
            edge,
            access,
            _beside: beside,
        });
        Ok(())
    }

    /// Whether this node has the book and can record in it.
    fn can_record(&self) -> bool {
        let confirmed = self.confirmed.load();
        let is_here = confirmed
            .as_ref()
            .is_some_and(|confirmed| confirmed.is_lately());
        let desk = self.desk.load();
        let is_open = |desk: &Arc<Desk>| desk.standing().read_only.is_none();
        is_here && desk.as_ref().is_some_and(is_open)
    }

    /// Keeps the book while it is this node's, and waits for it while it is not; for ever.
    async fn keep(&self) {
        loop {
            self.confirm().await;
            self.wait().await;
        }
    }

    /// Asks the engine again and again whether the book is this node's, until it is not.
    async fn confirm(&self) {
        let mut often = interval(CONFIRM_EVERY);
        let mut was_silent = false;
        loop {
            often.tick().await;
            let confirmed = self.confirmed.load_full();
            let Some(confirmed) = confirmed else {
                return;
            };
            let (asked, store) = (Instant::now(), self.store.clone());
            match off_the_runtime(move || store.confirm()).await {
                Ok(Right::Own) => {
                    confirmed.again(asked);
                    was_silent = false;
                }
                Ok(Right::Lost(holder)) => {
                    tracing::warn!(holder = ?holder, "the book was taken by another machine");
                    self.step_down(holder.as_ref()).await;
                }
                Err(error) if !std::mem::replace(&mut was_silent, true) => {
                    tracing::warn!(%error, "it cannot be told whether the book is still here");
                }
                Err(_) => {}
            }
        }
    }

    /// Waits until the book can be had, and takes it.
    async fn wait(&self) {
        let mut patience = Patience::default();
        let mut told = None;
        loop {
            if self.is_leaving.load(Ordering::SeqCst) {
                return pending().await;
            }
            match self.seen().await {
                Ok(seen) => {
                    let at = seen.as_ref().and_then(|seen| at(seen.holder.as_ref()));
                    if told.as_ref() != Some(&at) {
                        tracing::info!(
                            at = at.as_deref(),
                            "another machine has the book: this one waits"
                        );
                        self.switch.to_elsewhere(at.clone());
                        told = Some(at);
                    }
                    let verdict = patience.judge(seen.as_ref(), Instant::now());
                    if verdict != Verdict::Wait && self.take(verdict).await {
                        return;
                    }
                }
                Err(error) if told.take().is_some() => {
                    tracing::warn!(%error, "the engine does not say who has the book");
                }
                Err(_) => {}
            }
            sleep(HOLDER_LOOK_EVERY).await;
        }
    }

    /// Takes the book; whether this node has it now.
    async fn take(&self, verdict: Verdict) -> bool {
        let takes_over = verdict == Verdict::TakeOver;
        tracing::info!(takes_over, "the book is taken over");
        // A clock is taken for right once, by whoever started this node.
        let options = DeskOptions {
            accept_clock: false,
            ..self.options.clone()
        };
        let taken = match self.open(options, takes_over).await {
            Ok(Some((desk, report))) => {
                let held = self.hold(desk.clone(), &report).await;
                if held.is_err() {
                    let _ = desk.close().await;
                }
                held
            }
            Ok(None) => return false,
            Err(error) => Err(error.into()),
        };
        if let Err(error) = taken {
            tracing::error!("the book could not be taken over: {error}");
            sleep(OPEN_AGAIN_AFTER).await;
            return false;
        }
        if self.is_leaving.load(Ordering::SeqCst) {
            self.step_down(None).await;
        }
        true
    }

    /// Lets go of the book, which another has or is to have: whoever comes is told so, and watches end.
    async fn step_down(&self, holder: Option<&Holder>) {
        let mut holding = self.holding.lock().await;
        let at = at(holder);
        self.switch.to_elsewhere(at.clone());
        self.confirmed.store(None);
        self.desk.store(None);
        let Some(held) = holding.take() else {
            return;
        };
        held.edge.end_watches();
        if let Err(error) = held.desk.hand_over(at).await {
            tracing::error!("{error}");
        }
    }

    /// Gives the book back, so that another node can take it at once; takes none from now on.
    async fn leave(&self) {
        self.is_leaving.store(true, Ordering::SeqCst);
        let access = {
            let holding = self.holding.lock().await;
            holding.as_ref().map(|held| held.access.clone())
        };
        let Some(access) = access else {
            return;
        };
        if let Some(access) = access {
            save_used(&access).await;
        }
        self.step_down(None).await;
        tracing::info!("the book is given back");
    }
}

/// Where a holder is reached.
fn at(holder: Option<&Holder>) -> Option<Arc<str>> {
    let address = holder?.address.as_deref();
    address.map(Into::into)
}

/// Asks a store, which waits for its answer.
async fn off_the_runtime<T: Send + 'static, E: Send + 'static>(
    work: impl FnOnce() -> Result<T, E> + Send + 'static,
) -> Result<T, E> {
    match spawn_blocking(work).await {
        Ok(done) => done,
        // It broke off, which is told where that happened; nothing is known of what it was asked.
        Err(error) => std::panic::resume_unwind(error.into_panic()),
    }
}
