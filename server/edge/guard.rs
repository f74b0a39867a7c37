//! The guard in front of every rpc: whose token it is, and whether that device may do this.
//!
//! It serves a service that listens for devices; without one, as in a process of one's own, it lets
//! everything through but pages, which show a token always. It knows rpcs by the table alone, so that one that is added is shut until it
//! has its place there. A device that is revoked, or may do less, loses its open
//! streams at once.

use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};

use http_body::{Body as HttpBody, Frame, SizeHint};
use tonic::Status;
use tonic::body::Body;
use tonic::codegen::Bytes;
use tonic::codegen::http::header::AUTHORIZATION;
use tonic::codegen::http::{HeaderMap, HeaderValue, Request, Response};
use tower::{Layer, Service};

use fettlebook_contract::{PLACE, ROLE, TAG_LETTER};

use super::no_book::NoBook;
use super::pages::OfPage;
use super::roles::{Least, is_of_health, least};
use super::status::EdgeError;
use super::until_end::{Kept, until_end};
use super::visit::{Asking, Visit, from};
use super::{Caller, Edge};
use crate::access::{Access, AccessError, Admitted, Revocation, Role};
use crate::desk::{Desk, DeskError};

/// What a token stands behind in its header. Source: RFC 6750, section 2.1.
const SCHEME: &str = "Bearer";

/// Where the rpcs about devices are; none of them streams.
const ABOUT_DEVICES: &str = "/fettlebook.v1.AccessService/";

/// In an answer to somebody who was not let in: nobody has used the book by that.
#[derive(Debug, Clone, Copy)]
pub(super) struct TurnedAway;

/// Puts a guard in front of every rpc.
#[derive(Clone)]
pub struct GuardLayer(Option<Post>);

/// Where a guard stands.
#[derive(Clone)]
enum Post {
    /// Before a service that devices call.
    Devices { access: Arc<Access>, desk: Desk },
    /// Before a service for one caller who may not do all, such as a device's copy of a book.
    One(Caller),
    /// In the place of a book that is not to be had here: this is why.
    Shut(EdgeError),
}

impl GuardLayer {
    /// One that lets everything pass but pages.
    pub(super) const OPEN: Self = Self(None);

    /// One that lets nothing of a book pass and says where it is.
    pub(super) fn of_elsewhere(at: Option<Arc<str>>) -> Self {
        Self(Some(Post::Shut(DeskError::HeldElsewhere { at }.into())))
    }

    /// One that lets nothing of a book pass, because there is none.
    pub(super) fn without_a_book(none: NoBook) -> Self {
        Self(Some(Post::Shut(none.into())))
    }
}

impl Edge {
    /// The guard of these services.
    pub fn guard(&self) -> GuardLayer {
        GuardLayer(match &self.access {
            Some(access) if self.wants_tokens => Some(Post::Devices {
                access: Arc::clone(access),
                desk: self.desk.clone(),
            }),
            _ if self.owner.role < Role::Own => Some(Post::One(self.owner.clone())),
            _ => None,
        })
    }
}

impl<S> Layer<S> for GuardLayer {
    type Service = Guarded<S>;

    fn layer(&self, inner: S) -> Guarded<S> {
        Guarded {
            inner,
            post: self.0.clone(),
        }
    }
}

/// Services behind a guard.
#[derive(Clone)]
pub struct Guarded<S> {
    inner: S,
    post: Option<Post>,
}

impl<S> Service<Request<Body>> for Guarded<S>
where
    S: Service<Request<Body>, Response = Response<Body>>,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    type Response = S::Response;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<S::Response, S::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, mut request: Request<Body>) -> Self::Future {
        let passed = match &self.post {
            Some(post) => post.pass(&mut request),
            None if is_of_page(&request) => Err(AccessError::TokenMissing.into()),
            None => Ok(Passed::Freely),
        };
        match passed {
            Ok(Passed::Freely) => Box::pin(self.inner.call(request)),
            Ok(Passed::InTurn(asking)) => {
                let answer = self.inner.call(request);
                Box::pin(async move { Ok(answer.await?.map(|body| until_end(body, asking))) })
            }
            Ok(Passed::Until(caller, revocation)) => {
                let answer = self.inner.call(request);
                Box::pin(async move {
                    let mut answer = answer.await?;
                    tell(&caller, answer.headers_mut());
                    Ok(answer.map(|body| until(body, revocation)))
                })
            }
            Err(refused) => {
                let is_turned_away = matches!(refused, EdgeError::Access(_));
                let mut answer = Status::from(refused).into_http();
                if is_turned_away {
                    answer.extensions_mut().insert(TurnedAway);
                }
                Box::pin(std::future::ready(Ok(answer)))
            }
        }
    }
}

/// How a request goes on that was let pass.
enum Passed {
    /// As it is.
    Freely,
    /// As the one thing that its connection asks without a token.
    InTurn(Asking),
    /// As this caller's, until its device may do less.
    Until(Caller, Revocation),
}

impl Post {
    /// Lets a request pass and says in it who sent it; what anyone may do passes without that, one at a
    /// time on a connection, but for a page.
    fn pass(&self, request: &mut Request<Body>) -> Result<Passed, EdgeError> {
        let path = request.uri().path();
        let (least, about_devices) = (least(path), path.starts_with(ABOUT_DEVICES));
        let visit = request.extensions().get::<Visit>();
        if let Some(visit) = visit {
            visit.count_asked();
        }
        if let Self::Shut(why) = self
            && !is_of_health(path)
        {
            return Err(why.clone());
        }
        if least == Least::Anyone && !is_of_page(request) {
            let Some(visit) = visit else {
                return Ok(Passed::Freely);
            };
            let asking = visit.ask().ok_or(EdgeError::OneAtATime)?;
            return Ok(Passed::InTurn(asking));
        }
        let (access, desk) = match self {
            Self::Devices { access, desk } => (access, desk),
            Self::One(caller) => {
                may(caller, least)?;
                return Ok(Passed::Freely);
            }
            // A page asks for nobody's health.
            Self::Shut(_) => return Err(AccessError::TokenMissing.into()),
        };
        let token = token(request.headers());
        let from = from(request.extensions());
        let admitted = access.admit(token, from, desk.now());
        if let Some(visit) = visit.filter(|_| admitted.is_ok()) {
            visit.make_known();
        }
        // It is nobody's business further in.
        request.headers_mut().remove(AUTHORIZATION);
        let Admitted {
            name,
            role,
            place,
            tag_letter,
            office,
            revocation,
        } = admitted?;
        let caller = Caller {
            name: name.as_str().into(),
            role,
            place,
            tag_letter,
            office,
        };
        tracing::Span::current().record("caller", &*caller.name);
        may(&caller, least)?;
        request.extensions_mut().insert(caller.clone());
        // Whoever lowers or revokes their own device is still told that it was done.
        Ok(if about_devices {
            Passed::Freely
        } else {
            Passed::Until(caller, revocation)
        })
    }
}

/// Whether a page sent it.
pub(super) fn is_of_page(request: &Request<Body>) -> bool {
    request.extensions().get::<OfPage>().is_some()
}

/// Tells a device with each answer what it is here: what it may do, where it works, and the letter of its tags.
fn tell(caller: &Caller, headers: &mut HeaderMap) {
    let letter = caller.tag_letter.map(String::from).unwrap_or_default();
    for (name, told) in [
        (ROLE, caller.role.word()),
        (PLACE, &*caller.place),
        (TAG_LETTER, letter.as_str()),
    ] {
        if let Ok(value) = HeaderValue::from_str(told) {
            headers.insert(name, value);
        }
    }
}

/// Whether a caller's role is enough for an rpc.
fn may(caller: &Caller, least: Least) -> Result<(), AccessError> {
    match least {
        Least::Role(needed) if caller.role < needed => Err(AccessError::RoleTooLow {
            name: Arc::clone(&caller.name),
            held: caller.role,
            needed,
        }),
        Least::Role(_) | Least::Anyone => Ok(()),
    }
}

/// The token in the headers. A header that is there twice says nothing.
pub(super) fn token(headers: &HeaderMap) -> Result<&str, AccessError> {
    let mut found = headers.get_all(AUTHORIZATION).iter();
    let held = found.next().ok_or(AccessError::TokenMissing)?;
    if found.next().is_some() {
        return Err(AccessError::TokenUnknown);
    }
    let text = held.to_str().map_err(|_| AccessError::TokenUnknown)?;
    match text.split_once(' ') {
        Some((scheme, token)) if scheme.eq_ignore_ascii_case(SCHEME) => Ok(token.trim()),
        _ => Err(AccessError::TokenMissing),
    }
}

/// A connection may ask for nothing else without a token before the answer has ended.
impl Kept for Asking {}

/// An answer that ends when the device which gets it is shut out.
fn until(body: Body, revocation: Revocation) -> Body {
    if body.is_end_stream() {
        return body;
    }
    Body::new(Until {
        body: Some(body),
        shut_out: Box::pin(revocation.come()),
    })
}

struct Until {
    /// Nothing once the device is shut out.
    body: Option<Body>,
    shut_out: Pin<Box<dyn Future<Output = AccessError> + Send>>,
}

impl HttpBody for Until {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
        let Self { body, shut_out } = &mut *self;
        let Some(held) = body else {
            return Poll::Ready(None);
        };
        let Poll::Ready(refused) = shut_out.as_mut().poll(context) else {
            return Pin::new(held).poll_frame(context);
        };
        *body = None;
        let refused = Status::from(EdgeError::from(refused));
        let mut trailers = HeaderMap::new();
        Poll::Ready(Some(
            refused
                .add_header(&mut trailers)
                .map(|()| Frame::trailers(trailers)),
        ))
    }

    fn is_end_stream(&self) -> bool {
        self.body.as_ref().is_none_or(HttpBody::is_end_stream)
    }

    fn size_hint(&self) -> SizeHint {
        SizeHint::default()
    }
}
