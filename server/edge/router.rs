//! The router in front of the books of a node: it reads from a request which book it is for, and hands it to the
//! switch of that one.
//!
//! What a book is asked of goes by its token, which begins with the book's id. A book that is not open yet is
//! waited for. Nothing is known of a token here but which book it names: the guard of that book looks at the rest.

use std::convert::Infallible;
use std::future::Future;
use std::net::IpAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};

#[cfg(feature = "postgres")]
use tonic::Status;
use tonic::body::Body;
use tonic::codegen::http::{Request, Response};
use tower::{Layer, Service};
use uuid::Uuid;

use super::Switch;
use super::front::{Answering, Behind};
use super::guard::{GuardLayer, Guarded, token};
#[cfg(feature = "postgres")]
use super::newcomers::Entrance;
use super::no_book::NoBook;
use super::roles::is_of_health;
#[cfg(feature = "postgres")]
use super::visit::OfBook;
use super::visit::from;
use crate::access::book_of;

/// The books of a node.
pub trait Books: Send + Sync {
    /// The way to the book that is named, or to the only one where none is.
    fn way_to(&self, asker: Asker<'_>) -> Way;
}

/// Whoever asks for a book.
#[derive(Debug, Clone, Copy)]
pub struct Asker<'a> {
    /// The book that they name.
    pub book: Option<Uuid>,
    /// The token that names it; none where it was found by a code, which was looked at then.
    pub token: Option<&'a str>,
    /// Where they ask from.
    pub from: IpAddr,
}

/// The way to a book.
pub enum Way {
    /// It is known here where it is.
    There(Switch),
    /// That is being found out.
    Coming(Pin<Box<dyn Future<Output = Result<Switch, NoBook>> + Send>>),
    /// There is none.
    Nowhere(NoBook),
}

/// A router; clones are the same one.
#[derive(Clone)]
pub struct Router {
    books: Arc<dyn Books>,
    /// What stands in front of what is no book's.
    beside: GuardLayer,
    /// Where devices come in that have no token yet.
    #[cfg(feature = "postgres")]
    entrance: Option<Entrance>,
}

impl Router {
    /// To these books, which only devices with a token may use or anybody who comes as far as here.
    pub fn to(books: Arc<dyn Books>, for_devices: bool) -> Self {
        let beside = if for_devices {
            GuardLayer::without_a_book(NoBook::TokenMissing)
        } else {
            GuardLayer::OPEN
        };
        Self {
            books,
            beside,
            #[cfg(feature = "postgres")]
            entrance: None,
        }
    }

    /// The same, where devices come in by the code of one of the books.
    #[cfg(feature = "postgres")]
    pub(crate) fn with_entrance(self, entrance: Option<Entrance>) -> Self {
        Self { entrance, ..self }
    }
}

impl<S> Layer<S> for Router {
    type Service = Routed<S>;

    fn layer(&self, inner: S) -> Routed<S> {
        Routed {
            router: self.clone(),
            inner,
        }
    }
}

/// What is behind a router: the books' services, and these others beside them.
#[derive(Clone)]
pub struct Routed<S> {
    router: Router,
    inner: S,
}

impl<S: Behind> Service<Request<Body>> for Routed<S> {
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = Answering;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request<Body>) -> Answering {
        #[cfg(feature = "postgres")]
        if let Some(entrance) = self.router.entrance.clone()
            && Entrance::is_for(&request)
        {
            let mut found = self.clone();
            return Box::pin(async move {
                match entrance.with_book(request).await {
                    Ok(request) => found.call(request).await,
                    Err(refused) => Ok(Status::from(refused).into_http()),
                }
            });
        }
        let inner = self.inner.clone();
        if is_of_health(request.uri().path()) {
            return self.router.beside.layer(inner).call(request);
        }
        match self.router.books.way_to(asker(&request)) {
            Way::There(switch) => switch.layer(inner).call(request),
            Way::Coming(way) => Box::pin(async move {
                match way.await {
                    Ok(switch) => switch.layer(inner).call(request).await,
                    Err(none) => without(none, inner).call(request).await,
                }
            }),
            Way::Nowhere(none) => without(none, inner).call(request),
        }
    }
}

/// What refuses whatever is asked of a book, and says why there is none.
fn without<S>(none: NoBook, inner: S) -> Guarded<S> {
    GuardLayer::without_a_book(none).layer(inner)
}

/// Who sends a request, and which book it names: by its code, as was found, or by its token. A telephone that pairs
/// anew may still send the token of another book.
fn asker<B>(request: &Request<B>) -> Asker<'_> {
    let from = from(request.extensions());
    #[cfg(feature = "postgres")]
    if let Some(OfBook(book)) = request.extensions().get() {
        return Asker {
            book: Some(*book),
            token: None,
            from,
        };
    }
    let token = token(request.headers()).ok();
    Asker {
        book: token.and_then(book_of),
        token,
        from,
    }
}

#[cfg(test)]
mod tests;
