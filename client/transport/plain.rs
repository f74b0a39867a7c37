//! The straight way: one channel, to the service in this process or to one at an address.
//!
//! It serves whoever works alone and `--at`. It adds nothing to a request; only when the first one to
//! an address breaks does it look whether what answers there speaks TLS, so that nobody waits for an
//! answer that cannot come.

use std::cell::{Cell, RefCell};
use std::rc::Rc;
use std::time::Duration;

use tonic::body::Body;
use tonic::codegen::{StdError, http};
use tonic::transport::{Channel, Endpoint, Error};

use crate::fault::Fault;
use crate::shop::held::Held;
use crate::shop::wire;
use crate::transport::raw;

/// A whole journal's verification may be long; connecting may not.
const CONNECT_WAIT: Duration = Duration::from_secs(5);

/// Silence on the connection of an open request after which the service is asked whether it is there.
const KEEPALIVE_AFTER: Duration = Duration::from_secs(30);

/// Longest wait for that answer.
const KEEPALIVE_WAIT: Duration = Duration::from_secs(10);

/// How long an address may take to be connected to, and how its service is asked whether it is there.
pub(crate) fn patient(endpoint: Endpoint) -> Endpoint {
    endpoint
        .connect_timeout(CONNECT_WAIT)
        .http2_keep_alive_interval(KEEPALIVE_AFTER)
        .keep_alive_timeout(KEEPALIVE_WAIT)
        .tcp_nodelay(true)
}

/// A channel.
#[derive(Clone)]
pub(crate) struct Plain {
    channel: Channel,
    /// Where the service is, when it is elsewhere.
    at: Option<Rc<At>>,
}

/// A service elsewhere.
struct At {
    address: String,
    uri: http::Uri,
    /// Whether it speaks TLS; nothing before it has answered or was looked at.
    speaks_tls: Cell<Option<bool>>,
    /// To the machine that has the book, where this one said that another has.
    elsewhere: RefCell<Option<Channel>>,
}

impl At {
    /// Whether TLS is what a request broke on. It is looked at once.
    async fn broke_on_tls(&self, broke: bool) -> bool {
        let speaks = match self.speaks_tls.get() {
            Some(speaks) => speaks,
            None => broke && wire::speaks_tls(&self.uri).await,
        };
        self.speaks_tls.set(Some(speaks));
        broke && speaks
    }

    /// Sends a request to whichever machine has the book: the one at this address says which.
    async fn send(
        &self,
        own: Channel,
        request: http::Request<Body>,
    ) -> Result<http::Response<Body>, StdError> {
        let (parts, body) = request.into_parts();
        let message = raw::message(body).await?;
        let again = || raw::request(&parts, &message);
        if let Some(elsewhere) = self.elsewhere.take() {
            match super::send_on(elsewhere.clone(), again()).await {
                Ok(answer) if Held::said_by(answer.headers()).is_none() => {
                    self.elsewhere.replace(Some(elsewhere));
                    return Ok(answer);
                }
                // The one at this address knows better by now, or has it.
                Ok(_) | Err(_) => {}
            }
        }
        let answer = super::send_on(own, again()).await?;
        let Some(at) = Held::said_by(answer.headers()).and_then(|held| held.at) else {
            return Ok(answer);
        };
        let endpoint = patient(Endpoint::from_shared(format!("http://{at}"))?);
        let Ok(elsewhere) = endpoint.connect().await else {
            return Ok(answer);
        };
        let answer = super::send_on(elsewhere.clone(), again()).await?;
        self.elsewhere.replace(Some(elsewhere));
        Ok(answer)
    }
}

impl Plain {
    /// The way to the service in this process.
    pub(crate) const fn inside(channel: Channel) -> Self {
        Self { channel, at: None }
    }

    /// Connects to the service at an address.
    ///
    /// # Errors
    /// What went wrong.
    pub(crate) async fn connect(address: &str, endpoint: &Endpoint) -> Result<Self, Error> {
        Ok(Self {
            channel: endpoint.connect().await?,
            at: Some(Rc::new(At {
                address: address.to_owned(),
                uri: endpoint.uri().clone(),
                speaks_tls: Cell::new(None),
                elsewhere: RefCell::new(None),
            })),
        })
    }

    /// Sends a request.
    ///
    /// # Errors
    /// What broke; that the service speaks TLS, where it does.
    pub(super) async fn send(
        &self,
        request: http::Request<Body>,
    ) -> Result<http::Response<Body>, StdError> {
        let Some(at) = &self.at else {
            return super::send_on(self.channel.clone(), request).await;
        };
        let sent = at.send(self.channel.clone(), request).await;
        if at.broke_on_tls(sent.is_err()).await {
            return Err(Fault::speaks_tls(&at.address).carried());
        }
        sent
    }
}
