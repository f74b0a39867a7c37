//! What TLS and a token add to a call: the same book served plainly and to devices, in one run.
//!
//! Rounds take turns, plain and sealed, so that what else the machine does meets both. Each has one
//! connection, which all callers share.

use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;

use fettlebook_contract::v1::GetBookRequest;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_server::access::{Credentials, Invite, Role, SERVICE_NAME};
use fettlebook_server::desk::{Clock as _, Desk, DeskOptions, SystemClock};
use fettlebook_server::serve::{Door, serve_devices, serve_on};
use fettlebook_server::store::FolderStore;
use hyper_util::rt::TokioIo;
use tokio::net::{TcpListener, TcpStream};
use tokio::runtime::Runtime;
use tokio_rustls::TlsConnector;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::ServerName;
use tokio_rustls::rustls::{ClientConfig, RootCertStore};
use tonic::metadata::{Ascii, MetadataValue};
use tonic::transport::{Channel, Endpoint};
use tonic::{Request, Status};
use uuid::Uuid;

use crate::Fault;
use crate::grpc::{callers_for, usage};
use crate::measure::{Figures, Round, figures, round};
use crate::plan::Plan;
use crate::shop;

/// A way to the book: a connection, and the token that goes with each request.
#[derive(Clone)]
pub(crate) struct Way {
    pub(crate) channel: Channel,
    pub(crate) token: Option<MetadataValue<Ascii>>,
}

impl Way {
    fn ask<T>(&self, message: T) -> Request<T> {
        let mut request = Request::new(message);
        if let Some(token) = &self.token {
            request
                .metadata_mut()
                .insert("authorization", token.clone());
        }
        request
    }
}

/// Figures of a call, plain and sealed.
pub(crate) struct Beside {
    pub(crate) plain: Figures,
    pub(crate) sealed: Figures,
}

/// Measures a read that costs nothing and a use logged durably.
pub(crate) fn run(plan: &Plan, folder: &Path, callers: usize) -> Result<[Beside; 2], Fault> {
    let runtime = Runtime::new()?;
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let book = folder.join(format!("sealed-{callers}"));
    let (desk, _) = Desk::open(Arc::new(FolderStore::at(&book)), &options)?;
    let ways = runtime.block_on(async {
        shop::stock(&desk).await?;
        Ok::<_, Fault>([plain(&desk).await?, sealed(&desk).await?])
    })?;
    let mut looks = [Vec::new(), Vec::new()];
    let mut logs = [Vec::new(), Vec::new()];
    for _ in 0..plan.rounds {
        for ((way, looks), logs) in ways.iter().zip(&mut looks).zip(&mut logs) {
            looks.push(look(plan, &runtime, way, callers)?);
            logs.push(log(plan, &runtime, way, callers)?);
        }
    }
    drop(ways);
    runtime.block_on(desk.close())?;
    let beside = |[plain, sealed]: [Vec<Round>; 2]| Beside {
        plain: figures(&plain),
        sealed: figures(&sealed),
    };
    Ok([beside(looks), beside(logs)])
}

/// A round of reads that cost nothing.
pub(crate) fn look(
    plan: &Plan,
    runtime: &Runtime,
    way: &Way,
    callers: usize,
) -> Result<Round, Fault> {
    let way = way.clone();
    measured(plan, runtime, callers, move |_, _| {
        let mut client = BookServiceClient::new(way.channel.clone());
        let request = way.ask(GetBookRequest::default());
        async move { client.get_book(request).await.map(drop) }
    })
}

/// A round of uses that are logged.
pub(crate) fn log(
    plan: &Plan,
    runtime: &Runtime,
    way: &Way,
    callers: usize,
) -> Result<Round, Fault> {
    let way = way.clone();
    measured(plan, runtime, callers, move |caller, turn| {
        let mut client = JobServiceClient::new(way.channel.clone());
        let request = way.ask(usage(caller, turn));
        async move { client.log_use(request).await.map(drop) }
    })
}

fn measured<F>(
    plan: &Plan,
    runtime: &Runtime,
    callers: usize,
    call: impl Fn(usize, usize) -> F + Clone + Send + 'static,
) -> Result<Round, Fault>
where
    F: Future<Output = Result<(), Status>> + Send,
{
    let called = round(|| runtime.block_on(callers_for(callers, plan.round, call)));
    Ok(called?)
}

/// A listener, its address and a service on it that ends with the runtime.
pub(crate) async fn listen() -> Result<(TcpListener, SocketAddr), Fault> {
    let listener = TcpListener::bind("127.0.0.1:0").await?;
    let address = listener.local_addr()?;
    Ok((listener, address))
}

async fn plain(desk: &Desk) -> Result<Way, Fault> {
    let (listener, address) = listen().await?;
    let desk = desk.clone();
    tokio::spawn(async move { serve_on(listener, &desk, std::future::pending()).await });
    let endpoint = Endpoint::from_shared(format!("http://{address}"))?;
    Ok(Way {
        channel: endpoint.tcp_nodelay(true).connect().await?,
        token: None,
    })
}

async fn sealed(desk: &Desk) -> Result<Way, Fault> {
    let (listener, address) = listen().await?;
    let credentials = Credentials::own(
        &*desk.cabinet(),
        &["localhost".to_owned()],
        SystemClock.now(),
    )?;
    let door = Door::open(desk, address, &credentials)?;
    let invite = Invite {
        name: "van-a".parse()?,
        role: Role::Work,
        by: "local".to_owned(),
        at: None,
        again: false,
        office: None,
    };
    let code = door.access.invite(&invite, SystemClock.now())?.code;
    let secret = [7; 32];
    let paired = door
        .access
        .pair(&code.secret, secret, address.ip(), SystemClock.now())?;
    let token = format!("Bearer {}", paired.token);
    let desk = desk.clone();
    tokio::spawn(async move { serve_devices(listener, &desk, door, std::future::pending()).await });
    Ok(Way {
        channel: dial(address, &credentials).await?,
        token: Some(token.parse()?),
    })
}

/// Connects over TLS with the book's own authority as the only root, as a device does.
pub(crate) async fn dial(address: SocketAddr, credentials: &Credentials) -> Result<Channel, Fault> {
    let mut roots = RootCertStore::empty();
    let authority = credentials.chain().last().ok_or("there is no authority")?;
    roots.add(authority.clone())?;
    let provider = Arc::new(ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider);
    let config = config.with_safe_default_protocol_versions()?;
    let mut config = config.with_root_certificates(roots).with_no_client_auth();
    config.alpn_protocols = vec![b"h2".to_vec()];
    let connector = TlsConnector::from(Arc::new(config));
    let name = ServerName::try_from(SERVICE_NAME)?;
    let connect = tower::service_fn(move |_| {
        let (connector, name) = (connector.clone(), name.clone());
        async move {
            let tcp = TcpStream::connect(address).await?;
            tcp.set_nodelay(true)?;
            connector.connect(name, tcp).await.map(TokioIo::new)
        }
    });
    let endpoint = Endpoint::from_static("http://fettled.internal");
    Ok(endpoint.connect_with_connector(connect).await?)
}
