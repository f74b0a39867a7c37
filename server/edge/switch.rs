//! The switch in front of a book that other machines share: to its services while it is here, else the answer
//! where it is.
//!
//! It serves a node. Nothing is asked of anybody on the way of a request: whoever keeps the node up sets the
//! switch, and says when the engine last confirmed that the book is here. Invariant: a book of which that was
//! not confirmed lately is not read either, for another may have gone on with it.

mod usage;

use std::convert::Infallible;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::task::{Context, Poll};
use std::time::Instant;

use arc_swap::ArcSwap;
use tonic::body::Body;
use tonic::codegen::http::{Request, Response};
use tonic::service::Routes;
use tower::{Layer, Service};

use super::Edge;
use super::front::{Answering, Behind};
use super::guard::{GuardLayer, Guarded, TurnedAway};
use super::no_book::NoBook;
use super::until_end::until_end;
use crate::limits::CONFIRMED_MAX;

pub use usage::{Hold, Usage};

/// Where the rpcs of the contract are.
const OF_BOOKS: &str = "/fettlebook.";

/// When the engine last confirmed that a book is here.
#[derive(Debug)]
pub struct Confirmed {
    start: Instant,
    /// Milliseconds since then.
    at_ms: AtomicU64,
}

impl Confirmed {
    /// Confirmed just now.
    #[must_use]
    pub fn now() -> Self {
        Self {
            start: Instant::now(),
            at_ms: AtomicU64::new(0),
        }
    }

    /// Confirmed again by an answer to what was asked at this moment.
    pub fn again(&self, asked: Instant) {
        let since = asked.saturating_duration_since(self.start);
        let at_ms = u64::try_from(since.as_millis()).unwrap_or(u64::MAX);
        self.at_ms.fetch_max(at_ms, Ordering::SeqCst);
    }

    /// Whether that was lately.
    #[must_use]
    pub fn is_lately(&self) -> bool {
        let at_ms = u128::from(self.at_ms.load(Ordering::SeqCst));
        self.start.elapsed().as_millis().saturating_sub(at_ms) <= CONFIRMED_MAX.as_millis()
    }
}

/// Where the book is.
struct Whereabouts {
    guard: GuardLayer,
    /// Its services, and when it was confirmed that it is here; none where it is elsewhere.
    here: Option<(Guarded<Routes>, Arc<Confirmed>)>,
}

impl Whereabouts {
    fn elsewhere(at: Option<Arc<str>>) -> Self {
        Self {
            guard: GuardLayer::of_elsewhere(at),
            here: None,
        }
    }
}

/// A switch; clones are the same one.
#[derive(Clone)]
pub struct Switch {
    now: Arc<ArcSwap<Whereabouts>>,
    /// What is answered while nobody knows.
    unknown: GuardLayer,
    usage: Usage,
}

impl Default for Switch {
    /// The book is elsewhere, and nobody knows where.
    fn default() -> Self {
        Self {
            now: Arc::new(ArcSwap::from_pointee(Whereabouts::elsewhere(None))),
            unknown: GuardLayer::of_elsewhere(None),
            usage: Usage::default(),
        }
    }
}

impl Switch {
    /// The book is here, for as long as that is confirmed.
    pub fn to_here(&self, edge: &Edge, confirmed: Arc<Confirmed>) {
        let guard = edge.guard();
        let services = guard.layer(edge.routes());
        let here = Some((services, confirmed));
        self.now.store(Arc::new(Whereabouts { guard, here }));
    }

    /// How much the book is used.
    pub const fn usage(&self) -> &Usage {
        &self.usage
    }

    /// The book is elsewhere, at an address where that is known.
    pub fn to_elsewhere(&self, at: Option<Arc<str>>) {
        self.now.store(Arc::new(Whereabouts::elsewhere(at)));
    }
}

impl<S> Layer<S> for Switch {
    type Service = Switched<S>;

    fn layer(&self, inner: S) -> Switched<S> {
        Switched {
            switch: self.clone(),
            inner,
        }
    }
}

/// What is behind a switch: the book's services, and these others beside them.
#[derive(Clone)]
pub struct Switched<S> {
    switch: Switch,
    inner: S,
}

impl<S: Behind> Service<Request<Body>> for Switched<S> {
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = Answering;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request<Body>) -> Answering {
        let Some(mut using) = self.switch.usage.begin() else {
            let full = GuardLayer::without_a_book(NoBook::TooMuch);
            return full.layer(self.inner.clone()).call(request);
        };
        let answer = self.answer(request);
        Box::pin(async move {
            let answer = answer.await?;
            if answer.extensions().get::<TurnedAway>().is_none() {
                using.touch();
            }
            Ok(answer.map(|body| until_end(body, using)))
        })
    }
}

impl<S: Behind> Switched<S> {
    /// The answer of the book, or of whoever stands in its place.
    fn answer(&self, request: Request<Body>) -> Answering {
        let now = self.switch.now.load();
        let guard = match &now.here {
            Some((services, confirmed)) if confirmed.is_lately() => {
                if request.uri().path().starts_with(OF_BOOKS) {
                    return services.clone().call(request);
                }
                &now.guard
            }
            Some(_) => &self.switch.unknown,
            None => &now.guard,
        };
        guard.layer(self.inner.clone()).call(request)
    }
}

#[cfg(test)]
mod tests;
