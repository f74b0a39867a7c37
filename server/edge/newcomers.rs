//! A device that comes in by a code, before it has a token: which book of this service it is for.
//!
//! It serves the router to the books of a node, which goes by tokens else. Only the one call by which
//! devices are paired is read here, and once its book is known it goes on as it came. Whoever is on the other side is
//! nobody known: a message is short or not read, a connection has one such call at a time, and few are looked for
//! at once.

use std::net::IpAddr;
use std::sync::Arc;

use fettlebook_contract::v1::PairDeviceRequest;
use http_body_util::{BodyExt as _, Full, Limited};
use prost::Message as _;
use tokio::sync::Semaphore;
use tonic::body::Body;
use tonic::codegen::Bytes;
use tonic::codegen::http::Request;
use uuid::Uuid;

use super::guard::is_of_page;
use super::parse::access::{Shown, shown};
use super::status::EdgeError;
use super::visit::{OfBook, Visit, from};
use crate::access::Newcomers;
use crate::desk::{Clock, DeskError};
use crate::limits::{ACCESS_MESSAGE_BYTES_MAX, NEWCOMERS_LOOKED_FOR_MAX};

/// The call by which a device is paired.
const PAIR: &str = "/fettlebook.v1.AccessService/PairDevice";

/// Bytes before a message: whether it is packed, and its length. Source: gRPC over HTTP2, "Length-Prefixed-Message".
const PREFIX_BYTES: usize = 5;

/// Finds the books of devices that come in. Clones are the same.
#[derive(Clone)]
pub(crate) struct Entrance(Arc<Looking>);

struct Looking {
    newcomers: Newcomers,
    turns: Semaphore,
    clock: Arc<dyn Clock>,
}

impl Entrance {
    /// One that finds them so.
    pub(crate) fn new(newcomers: Newcomers, clock: Arc<dyn Clock>) -> Self {
        Self(Arc::new(Looking {
            newcomers,
            turns: Semaphore::new(NEWCOMERS_LOOKED_FOR_MAX),
            clock,
        }))
    }

    /// Whether a request is for it: one by which a device is paired, and whose book nobody has found yet. A page
    /// shows a token always, and its book is known by that.
    pub(super) fn is_for(request: &Request<Body>) -> bool {
        let is_found = request.extensions().get::<OfBook>().is_some();
        request.uri().path() == PAIR && !is_found && !is_of_page(request)
    }

    /// The request, with the book that it is for.
    pub(super) async fn with_book(
        &self,
        request: Request<Body>,
    ) -> Result<Request<Body>, EdgeError> {
        let visit = request.extensions().get::<Visit>().cloned();
        let asking = visit
            .as_ref()
            .map(|visit| visit.ask().ok_or(EdgeError::OneAtATime));
        let asking = asking.transpose()?;
        let (mut parts, body) = request.into_parts();
        let found = async {
            let message = read(body).await?;
            let asked = understood(&message)?;
            let book = self.book_of(asked, from(&parts.extensions)).await?;
            Ok((message, book))
        };
        match found.await {
            Ok((message, book)) => {
                // It is asked for once more further in.
                drop(asking);
                parts.extensions.insert(OfBook(book));
                Ok(Request::from_parts(parts, Body::new(Full::new(message))))
            }
            Err(refused) => {
                if let Some(visit) = &visit {
                    visit.count_asked();
                }
                Err(refused)
            }
        }
    }

    async fn book_of(&self, asked: Shown, from: IpAddr) -> Result<Uuid, EdgeError> {
        let _turn = self
            .0
            .turns
            .acquire()
            .await
            .map_err(|_| DeskError::Closed)?;
        let (looking, now) = (Arc::clone(&self.0), self.0.clock.now());
        let span = tracing::Span::current();
        let look = move || match asked {
            Shown::Secret(code, _) => looking.newcomers.book_of_secret(&code, from, now),
            Shown::Proof(code, token) => looking.newcomers.book_of_proof(code, token, from, now),
        };
        let looked = tokio::task::spawn_blocking(move || span.in_scope(look)).await;
        Ok(looked.map_err(|_| DeskError::Closed)??)
    }
}

/// All of a message that is as short as those about devices are.
async fn read(body: Body) -> Result<Bytes, EdgeError> {
    let most = PREFIX_BYTES + ACCESS_MESSAGE_BYTES_MAX;
    let whole = Limited::new(body, most).collect().await;
    let whole = whole.map_err(|_| unreadable("it is longer than a pairing is, or broke off"))?;
    Ok(whole.to_bytes())
}

/// How a device shows that it has a code.
fn understood(message: &Bytes) -> Result<Shown, EdgeError> {
    let (prefix, sent) = message
        .split_first_chunk::<PREFIX_BYTES>()
        .ok_or_else(|| unreadable("it is empty"))?;
    let [packed, length @ ..] = prefix;
    let length = usize::try_from(u32::from_be_bytes(*length)).ok();
    if *packed != 0 || length != Some(sent.len()) {
        return Err(unreadable("it is packed, or not as long as it says"));
    }
    let asked = PairDeviceRequest::decode(sent);
    let asked = asked.map_err(|error| unreadable(&error.to_string()))?;
    Ok(shown(asked)?)
}

fn unreadable(why: &str) -> EdgeError {
    EdgeError::Unreadable {
        why: why.to_owned(),
    }
}

#[cfg(test)]
mod tests;
