//! The straight way: one channel, to the service in this process or to one at an address.
//!
//! It serves whoever works alone and `--at`. It adds nothing to a request; only when the first one to
//! an address breaks does it look whether what answers there speaks TLS, so that nobody waits for an
//! answer that cannot come.

use std::cell::Cell;
use std::rc::Rc;

use tonic::body::Body;
use tonic::codegen::{StdError, http};
use tonic::transport::{Channel, Endpoint, Error};

use crate::fault::Fault;
use crate::shop::wire;

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
        let sent = super::send_on(self.channel.clone(), request).await;
        if let Some(at) = &self.at
            && at.broke_on_tls(sent.is_err()).await
        {
            return Err(Fault::speaks_tls(&at.address).carried());
        }
        sent
    }
}
