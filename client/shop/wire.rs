//! The connection to a shop's service: TCP, TLS with the pinned certificate, the token on each
//! request.
//!
//! It serves pairing and the way to a shop. Whatever goes wrong on the way there is told in words
//! that say what to look at; a token is sent only after the service has proved itself.

use std::future::poll_fn;
use std::pin::Pin as Pinned;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use fettlebook_contract::{PLACE, ROLE, TAG_LETTER};
use hyper_util::rt::TokioIo;
use tokio::net::TcpStream;
use tokio::time::timeout;
use tokio_rustls::TlsConnector;
use tokio_rustls::rustls::pki_types::ServerName;
use tokio_rustls::rustls::{ClientConfig, Error as TlsError};
use tonic::body::Body;
use tonic::codegen::{Service, StdError, http};
use tonic::transport::{Channel, Endpoint};

use super::dial::{CONNECT_WAIT, dial};
use super::held::{FOLLOWED_MAX, Held};
use super::target::{Address, Target};
use super::trouble::{Cause, Trouble};
use crate::fault::root_cause;
use crate::shop::role as role_of;
use crate::shop::trust::{self, Pin};
use crate::transport::raw;

/// Silence on the connection of an open request after which the service is asked whether it is there.
const KEEPALIVE_AFTER: Duration = Duration::from_secs(5);
/// Longest wait for that answer.
const KEEPALIVE_WAIT: Duration = Duration::from_secs(5);

/// A connection to a service that has proved itself, and to whichever other has its book by now.
#[derive(Clone)]
pub(crate) struct Wire {
    way: Arc<Way>,
    authorization: Option<http::HeaderValue>,
}

/// What all clones of a connection share.
struct Way {
    tls: Arc<ClientConfig>,
    target: Mutex<Target>,
    channel: Mutex<Channel>,
    heard: Mutex<Option<Heard>>,
    /// The address where the service was last reached.
    reached: Arc<Mutex<Option<Address>>>,
    /// That another machine has the book, as was said last.
    held: Mutex<Option<Held>>,
}

/// What the shop says with each answer of the device that asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Heard {
    /// What it may do: the name of a role in the contract.
    pub(crate) role: String,
    /// The place where it works.
    pub(crate) place: String,
    /// The letter of the tags that it gives itself; empty where it has none.
    pub(crate) tag_letter: String,
}

impl Heard {
    /// What an answer says; nothing where a service says it not.
    fn of(headers: &http::HeaderMap) -> Option<Self> {
        let said = |name: &str| Some(headers.get(name)?.to_str().ok()?.to_owned());
        Some(Self {
            role: said(ROLE).filter(|role| role_of(role).is_ok())?,
            place: said(PLACE)?,
            tag_letter: said(TAG_LETTER)?,
        })
    }
}

impl Wire {
    /// Connects; `token` goes with every request, where there is one.
    ///
    /// # Errors
    /// What went wrong, as a clause.
    pub(crate) async fn open(target: &Target, token: Option<&str>) -> Result<Self, Trouble> {
        let authorization = token.map(bearer).transpose()?;
        let tls = trust::tls(target.pin.clone(), target.book_id.as_deref())
            .map_err(|error| Trouble::new(Cause::Unusable, error.to_string()))?;
        let (tls, reached) = (Arc::new(tls), Arc::default());
        let channel = channel(&tls, target, &reached).await?;
        let way = Way {
            tls,
            target: Mutex::new(target.clone()),
            channel: Mutex::new(channel),
            heard: Mutex::default(),
            reached,
            held: Mutex::default(),
        };
        Ok(Self {
            way: Arc::new(way),
            authorization,
        })
    }

    /// The address where the service was last reached.
    pub(crate) fn reached(&self) -> Option<Address> {
        held_in(&self.way.reached).clone()
    }

    /// What the shop last said of this device.
    pub(crate) fn heard(&self) -> Option<Heard> {
        held_in(&self.way.heard).clone()
    }

    /// That another machine has the book, where that is what was said last.
    pub(crate) fn held_elsewhere(&self) -> Option<Held> {
        held_in(&self.way.held).clone()
    }

    /// Sends a request; a connection that was lost is made anew first.
    ///
    /// # Errors
    /// What broke.
    pub(crate) async fn send(
        &self,
        request: http::Request<Body>,
    ) -> Result<http::Response<Body>, StdError> {
        let mut wire = self.clone();
        poll_fn(|cx| wire.poll_ready(cx)).await?;
        wire.call(request).await
    }
}

impl Way {
    /// The connection that requests go on now.
    fn channel(&self) -> Channel {
        held_in(&self.channel).clone()
    }

    /// Takes in what an answer says; where it says that another machine has the book, that.
    fn take(&self, headers: &http::HeaderMap) -> Option<Held> {
        if let Some(said) = Heard::of(headers) {
            *held_in(&self.heard) = Some(said);
        }
        let held = Held::said_by(headers);
        held_in(&self.held).clone_from(&held);
        held
    }

    /// Goes to the machine that has the book, where it proves itself; else to whichever other does.
    async fn follow(&self, held: &Held) -> Option<Channel> {
        let target = held_in(&self.target).clone();
        let left = held_in(&self.reached).clone();
        let target = target.towards(held.at.as_ref(), left.as_ref());
        let channel = channel(&self.tls, &target, &self.reached).await.ok()?;
        *held_in(&self.target) = target;
        held_in(&self.channel).clone_from(&channel);
        Some(channel)
    }
}

impl Service<http::Request<Body>> for Wire {
    type Response = http::Response<Body>;
    type Error = StdError;
    type Future = Pinned<Box<dyn Future<Output = Result<Self::Response, StdError>> + Send>>;

    /// Always ready: which connection a request needs is known only when it goes out.
    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), StdError>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, mut request: http::Request<Body>) -> Self::Future {
        if let Some(authorization) = &self.authorization {
            let headers = request.headers_mut();
            headers.insert(http::header::AUTHORIZATION, authorization.clone());
        }
        let way = Arc::clone(&self.way);
        Box::pin(async move {
            let (parts, body) = request.into_parts();
            let message = raw::message(body).await?;
            let mut channel = way.channel();
            let mut followed = 0;
            loop {
                let request = raw::request(&parts, &message);
                poll_fn(|cx| Service::<http::Request<Body>>::poll_ready(&mut channel, cx)).await?;
                let answer = channel.call(request).await?;
                let Some(held) = way.take(answer.headers()) else {
                    return Ok(answer);
                };
                followed += 1;
                channel = match way.follow(&held).await {
                    Some(channel) if followed <= FOLLOWED_MAX => channel,
                    _ => return Ok(answer),
                };
            }
        })
    }
}

fn held_in<T>(place: &Mutex<T>) -> MutexGuard<'_, T> {
    place.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Connects, and notes where.
async fn channel(
    tls: &Arc<ClientConfig>,
    target: &Target,
    reached: &Arc<Mutex<Option<Address>>>,
) -> Result<Channel, Trouble> {
    // The scheme names no TLS, because the connector brings its own, and looks at every address.
    let place = target
        .addresses
        .first()
        .map_or_else(String::new, Address::to_string);
    let endpoint = Endpoint::from_shared(format!("http://{place}"))
        .map_err(|_| Trouble::new(Cause::Unusable, format!("{place} is no address")))?
        .http2_keep_alive_interval(KEEPALIVE_AFTER)
        .keep_alive_timeout(KEEPALIVE_WAIT);
    let (tls, target, noted) = (Arc::clone(tls), target.clone(), Arc::clone(reached));
    let connector = tower::service_fn(move |_: http::Uri| {
        let (tls, target, noted) = (Arc::clone(&tls), target.clone(), Arc::clone(&noted));
        async move {
            let found = dial(&tls, &target).await?;
            *noted.lock().unwrap_or_else(PoisonError::into_inner) = Some(found.address);
            Ok::<_, Trouble>(TokioIo::new(found.stream))
        }
    });
    let connected = endpoint.connect_with_connector(connector).await;
    connected.map_err(|error| found_in(&error))
}

/// Whether what answers at an address speaks TLS. Nothing is said to it.
pub(crate) async fn speaks_tls(uri: &http::Uri) -> bool {
    let host = uri.host().unwrap_or_default();
    let host = host.trim_start_matches('[').trim_end_matches(']');
    let look = async {
        // No certificate has this fingerprint: what is looked for is only that one is shown.
        let tls = trust::tls(Pin::of_code([0; 32]), None).ok()?;
        let name = ServerName::try_from(host.to_owned()).ok()?;
        let stream = TcpStream::connect((host, uri.port_u16().unwrap_or(80)))
            .await
            .ok()?;
        let shown = TlsConnector::from(Arc::new(tls))
            .connect(name, stream)
            .await;
        let error = shown.err()?;
        let inner = error.get_ref().and_then(|inner| inner.downcast_ref());
        Some(matches!(inner, Some(TlsError::InvalidCertificate(_))))
    };
    matches!(timeout(CONNECT_WAIT, look).await, Ok(Some(true)))
}

/// The trouble that a failed connection tells.
fn found_in(error: &tonic::transport::Error) -> Trouble {
    let mut cause: &dyn std::error::Error = error;
    loop {
        if let Some(trouble) = cause.downcast_ref::<Trouble>() {
            return trouble.clone();
        }
        match cause.source() {
            Some(inner) => cause = inner,
            None => return Trouble::lost(root_cause(error)),
        }
    }
}

/// The header that carries a token; nothing writes it into a log.
fn bearer(token: &str) -> Result<http::HeaderValue, Trouble> {
    let mut value = http::HeaderValue::try_from(format!("Bearer {token}")).map_err(|_| {
        let what = "the token kept here is damaged; pair this device again";
        Trouble::new(Cause::Unusable, what)
    })?;
    value.set_sensitive(true);
    Ok(value)
}
