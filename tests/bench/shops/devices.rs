//! The devices of many shops, each with a connection and a token of its own, and what they ask.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_contract::v1::CheckJobsRequest;
use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_server::access::SERVICE_NAME;
use hyper_util::rt::TokioIo;
use tokio::net::TcpStream;
use tokio::runtime::Runtime;
use tokio_rustls::TlsConnector;
use tokio_rustls::rustls::client::danger::{
    HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier,
};
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use tokio_rustls::rustls::{ClientConfig, DigitallySignedStruct, Error, SignatureScheme};
use tonic::transport::{Channel, Endpoint};
use tonic::{Code, Request, Status};

use crate::Fault;
use crate::grpc::{callers_for, usage};

use super::filled::Shop;

/// The job that every shop has booked.
const JOB: &str = "tomorrow";

/// Books that were asked for last and are open for certain: fewer than a node has open at once by itself.
const OPEN_MIN: usize = 50;

/// How long a device waits for a place before it asks again, and how often.
const PLACE_WAIT: Duration = Duration::from_millis(500);
const PLACE_TRIES_MAX: usize = 20;

/// A device of each shop.
pub(super) struct Devices {
    all: Arc<Vec<Device>>,
}

struct Device {
    shop: Shop,
    channel: Channel,
}

impl Device {
    fn ask<T>(&self, message: T) -> Request<T> {
        let mut request = Request::new(message);
        let token = self.shop.token.clone();
        request.metadata_mut().insert("authorization", token);
        request
    }

    /// Whether the next job can be worked: what is asked first in the morning.
    async fn check(&self) -> Result<(), Status> {
        let jobs = vec![JOB.to_owned()];
        let asked = self.ask(CheckJobsRequest {
            jobs,
            ..CheckJobsRequest::default()
        });
        let mut client = JobServiceClient::new(self.channel.clone());
        client.check_jobs(asked).await.map(drop)
    }

    /// The same of a book that is not open; how long the answer took. Where the disk is quick, more books are asked for
    /// than a node has open at once before it lets go of the first: who finds no place comes again, as it is asked to.
    async fn check_first(&self) -> Result<Duration, Status> {
        let mut left = PLACE_TRIES_MAX;
        loop {
            let begun = Instant::now();
            match self.check().await {
                Err(busy) if busy.code() == Code::ResourceExhausted && left > 0 => {
                    left -= 1;
                    tokio::time::sleep(PLACE_WAIT).await;
                }
                answer => return answer.map(|()| begun.elapsed()),
            }
        }
    }
}

impl Devices {
    /// Devices that connect one after the other and ask for the first time; how long each waited for its answer.
    pub(super) fn come(
        runtime: &Runtime,
        at: SocketAddr,
        shops: &[Shop],
    ) -> Result<(Self, Vec<Duration>), Fault> {
        let config = Arc::new(config()?);
        let (mut all, mut waits) = (Vec::new(), Vec::new());
        for shop in shops {
            let channel = runtime.block_on(dial(at, Arc::clone(&config)))?;
            let device = Device {
                shop: shop.clone(),
                channel,
            };
            waits.push(runtime.block_on(device.check_first())?);
            all.push(device);
        }
        Ok((Self { all: Arc::new(all) }, waits))
    }

    /// Those whose books are open.
    fn lately(&self) -> &[Device] {
        let before = self.all.len().saturating_sub(OPEN_MIN);
        self.all.get(before..).unwrap_or_default()
    }

    /// The same question once more, of each in turn whose book is open.
    pub(super) fn ask_again(&self, runtime: &Runtime) -> Result<Vec<Duration>, Fault> {
        let mut waits = Vec::new();
        for device in self.lately() {
            let begun = Instant::now();
            runtime.block_on(device.check())?;
            waits.push(begun.elapsed());
        }
        Ok(waits)
    }

    /// Uses that so many of them log at once, going from shop to shop of those whose books are open; how long each
    /// waited.
    pub(super) fn log(
        &self,
        runtime: &Runtime,
        callers: usize,
        round: Duration,
    ) -> Result<Vec<Duration>, Fault> {
        let (all, count) = (Arc::clone(&self.all), self.lately().len());
        let before = all.len().saturating_sub(count);
        let called = callers_for(callers, round, move |caller, turn| {
            let device = all.get(before + (caller + turn * callers) % count);
            let asked = device.map(|device| {
                let client = JobServiceClient::new(device.channel.clone());
                (client, device.ask(usage(caller, turn)))
            });
            async move {
                let (mut client, request) = asked.ok_or_else(|| Status::internal("no device"))?;
                client.log_use(request).await.map(drop)
            }
        });
        Ok(runtime.block_on(called)?)
    }
}

/// Believes whatever is shown: it is a process of this machine that was just started here.
#[derive(Debug)]
struct Believes;

impl ServerCertVerifier for Believes {
    fn verify_server_cert(
        &self,
        _: &CertificateDer<'_>,
        _: &[CertificateDer<'_>],
        _: &ServerName<'_>,
        _: &[u8],
        _: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        Ok(ServerCertVerified::assertion())
    }

    fn verify_tls12_signature(
        &self,
        _: &[u8],
        _: &CertificateDer<'_>,
        _: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        Ok(HandshakeSignatureValid::assertion())
    }

    fn verify_tls13_signature(
        &self,
        _: &[u8],
        _: &CertificateDer<'_>,
        _: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        Ok(HandshakeSignatureValid::assertion())
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        let algorithms = ring::default_provider().signature_verification_algorithms;
        algorithms.supported_schemes()
    }
}

fn config() -> Result<ClientConfig, Fault> {
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()));
    let config = config.with_safe_default_protocol_versions()?.dangerous();
    let mut config = config
        .with_custom_certificate_verifier(Arc::new(Believes))
        .with_no_client_auth();
    config.alpn_protocols = vec![b"h2".to_vec()];
    Ok(config)
}

async fn dial(at: SocketAddr, config: Arc<ClientConfig>) -> Result<Channel, Fault> {
    let connector = TlsConnector::from(config);
    let name = ServerName::try_from(SERVICE_NAME)?;
    let connect = tower::service_fn(move |_| {
        let (connector, name) = (connector.clone(), name.clone());
        async move {
            let tcp = TcpStream::connect(at).await?;
            tcp.set_nodelay(true)?;
            connector.connect(name, tcp).await.map(TokioIo::new)
        }
    });
    let endpoint = Endpoint::from_static("http://fettled.internal");
    Ok(endpoint.connect_with_connector(connect).await?)
}
