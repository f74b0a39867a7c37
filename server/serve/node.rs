//! A node: a service whose books an engine keeps, and that other nodes serve in its place when it cannot.
//!
//! It listens whether it has a book or not. Where a book was named, or there is one alone, that is served; else each
//! is opened when somebody asks for it.

mod book_seals;
mod books;
mod counts;
mod doorstep;
mod due;
mod files;
mod folder;
mod holding;
mod keep;
mod known;
mod last_said;
mod patience;
mod place;
mod sealing;
mod slot;
mod told;
mod turning;

use std::future::Future;
use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Instant;

use tokio::task::spawn_blocking;
use tonic::service::Routes;
use tonic_health::ServingStatus;
use tower::Layer as _;
use uuid::Uuid;

use super::door;
use super::health::Health;
use super::incoming::Incoming;
use super::transport::{Carried, limited};
use super::{Announced, ServeError, bench, bind, metrics};
use crate::access::ServiceNote;
use crate::args::Args;
use crate::desk::{Clock as _, Desk, OpenError, OpenReport, SystemClock};
use crate::edge::{Front, PagesLayer, Router};
use crate::limits::{
    PREFACE_WAIT_MAX, SEALED_STREAM_WINDOW_BYTES, STRANGER_TIME_MAX, STREAM_WINDOW_BYTES,
};
use crate::store::{EngineBook, PostgresStore, Store as _, StoreError};

pub(super) use book_seals::BookSeals;
use books::{Books, Ways};
use files::Shares;
use known::Known;
use place::Place;
use sealing::Sealing;
use slot::Slot;
pub(super) use told::Standing;
use told::Told;

/// Serves the books that an engine keeps, while this node has them, until `stop`.
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
    let shares = Shares::of(files::raised(), args.many.open_books);
    let store = book.store().map_err(OpenError::from)?;
    let known = Known::of(&store).await.map_err(OpenError::from)?;
    let lone = lone(book.book, &store, &known).map_err(OpenError::from)?;
    let cabinets: Vec<_> = match &lone {
        Some(lone) => vec![lone.cabinet()],
        None => {
            let here = known.here().into_iter();
            here.map(|book| store.cabinet_of(book)).collect()
        }
    };
    let asked = door::asked(args, &cabinets, &SystemClock)?;
    let place = Arc::new(Place::new(args, commit, shares));
    let is_named = book.book.is_some();
    let books = Arc::new(Books::new(Arc::clone(&place), store, known, is_named));
    let begun = match &lone {
        Some(lone) => Some(begin(&books, lone).await?),
        None => None,
    };
    let cabinet = match &lone {
        Some(lone) if !books.known.has_several() => lone.cabinet(),
        _ => books.store.cabinet_of_all(),
    };
    let shown = asked.shown(args, &*cabinet, address, SystemClock.now())?;
    let shown = shown.map(Arc::new);
    if let Some(shown) = &shown {
        shown.write_note(&*cabinet)?;
    }
    books.show(shown.clone());
    if let Some((slot, found)) = begun {
        hold(&books, &slot, found).await?;
    }
    let measured = match args.metrics {
        Some(address) => Some(bind(address).await?),
        None => None,
    };
    let announced = Announced {
        address,
        fingerprint: shown.as_ref().map(|shown| shown.now.fingerprint()),
        measured: measured.as_ref(),
    };
    announced.tell(args.quiet).map_err(ServeError::Runtime)?;
    let meters = place.options.meters.clone();
    if let Some(listener) = measured {
        let shown = shown.as_ref().map(|shown| shown.now.clone());
        let held = Arc::new(Told::of(Arc::clone(&books), folder));
        let page = metrics::Page::new(SystemClock.now(), &meters, held, shown);
        let store = books.store.clone();
        let page = page.with_engine(Box::new(move || store.engine_counts()));
        // Ends with the runtime.
        tokio::spawn(metrics::answer(listener, Arc::new(page)));
    }
    // Before anybody is let in, so that nobody hears that it is not ready after it said that it listens.
    let (health, of_books, asked_health) = Health::of_node(books.standing()).await;
    let ways = Arc::new(Ways(Arc::clone(&books)));
    let sealed = shown.map(|shown| (Sealing::of(&shown, &books.store), shown.now.clone()));
    let router = Router::to(ways, args.for_devices());
    let router = router.with_entrance(sealed.as_ref().map(|(sealed, _)| sealed.entrance.clone()));
    let (incoming, server) = match sealed {
        Some((sealed, now)) => {
            // Strangers have a quarter at most, however many shops there will be.
            let known_max = (shares.connections - shares.connections / 4).max(1);
            let incoming = Incoming::new(listener, known_max, PREFACE_WAIT_MAX)
                .counted_by(meters.clone())
                .sealed(sealed.seals, &place.doorway, STRANGER_TIME_MAX);
            let services = router.layer(Routes::default());
            let bench = bench::page(services, &meters, move || now.held());
            let pages = PagesLayer::new(&args.page_from).with_bench(bench);
            let server = limited(SEALED_STREAM_WINDOW_BYTES, pages).accept_http1(true);
            (incoming, server)
        }
        None => {
            let incoming = Incoming::new(listener, shares.connections, PREFACE_WAIT_MAX)
                .counted_by(meters.clone());
            (incoming, limited(STREAM_WINDOW_BYTES, PagesLayer::new(&[])))
        }
    };
    let carried = Carried {
        incoming,
        server,
        front: Front::Right(router),
        routes: Routes::default(),
        meters,
    };
    let beside = async {
        tokio::join!(books.keep(), of_books.follow(|| books.standing()));
    };
    let leave = async {
        books.leave().await;
        health.tell(ServingStatus::NotServing).await;
    };
    carried.serve(asked_health, beside, leave, stop).await
}

/// The book that is served from the start: the one that was named, or the only one.
fn lone(
    named: Option<Uuid>,
    store: &PostgresStore,
    known: &Known,
) -> Result<Option<PostgresStore>, StoreError> {
    Ok(match (named, &*known.here()) {
        (Some(named), _) if !known.has(named) => {
            let place = store.place().to_owned();
            return Err(StoreError::NoSuchBook { place, book: named });
        }
        (Some(named), _) => Some(store.of_book(named)),
        (None, [_, _, ..]) => None,
        // The only one there is, or is to be begun; one that moved away is refused when it is opened.
        (None, _) => Some(store.clone()),
    })
}

/// Where clients reach this node, as others tell them.
fn told(args: &Args, address: SocketAddr) -> String {
    let reached = || SocketAddr::new(ServiceNote::reached_at(address.ip()), address.port());
    let first = args.reached_at.first().cloned();
    first.unwrap_or_else(|| reached().to_string())
}

/// Makes the slot of the book that is served from the start, and opens it if nobody has it; nothing where somebody
/// does.
async fn begin(
    books: &Books,
    lone: &PostgresStore,
) -> Result<(Arc<Slot>, Option<(Desk, OpenReport)>), ServeError> {
    let (lone, new) = (lone.clone(), books.place.options.new_book_id);
    let id: Uuid = off_the_runtime(move || lone.first(new))
        .await
        .map_err(OpenError::from)?;
    let (slot, _) = books.slot(id);
    books.mean(Some(Arc::clone(&slot)));
    let seen = books
        .store
        .seen_of(vec![id])
        .await
        .map_err(OpenError::from)?;
    let Some((_, seen)) = seen.into_iter().next() else {
        return Ok((slot, None));
    };
    let verdict = slot.judge(&seen, Instant::now());
    let found = slot.open(verdict, true).await?;
    slot.rest(None);
    Ok((slot, found))
}

/// Serves that book from now on, where it was opened.
async fn hold(
    books: &Books,
    slot: &Slot,
    found: Option<(Desk, OpenReport)>,
) -> Result<(), ServeError> {
    if let Some(found) = found {
        let permit = Arc::clone(&books.place.room).acquire_owned().await;
        let permit = permit.map_err(|error| ServeError::Runtime(io::Error::other(error)))?;
        slot.hold(found, permit, true).await?;
    }
    slot.settle();
    Ok(())
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
