//! The way over gRPC: an empty call as the ceiling, and a use logged durably by the real service.
//!
//! Service and callers share this process and its processors, over TCP on loopback, all callers on
//! one connection: as much is spent on the client's side as on the service's.

use std::convert::Infallible;
use std::path::Path;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::{Duration, Instant};

use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_contract::v1::{
    BottleUse, LiquidAmount, LogUseRequest, LooseUse, PadUse, Step, liquid_amount,
};
use fettlebook_server::desk::{Desk, DeskOptions, SystemClock};
use fettlebook_server::serve::serve_on;
use fettlebook_server::store::FolderStore;
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tonic::body::Body;
use tonic::codegen::http::{Request as HttpRequest, Response as HttpResponse, uri::PathAndQuery};
use tonic::codegen::{BoxFuture, Service};
use tonic::server::{NamedService, UnaryService};
use tonic::transport::server::TcpIncoming;
use tonic::transport::{Channel, Endpoint, Server};
use tonic::{Request, Response, Status};
use tonic_prost::ProstCodec;
use uuid::Uuid;

use crate::Fault;
use crate::measure::{Figures, figures, round};
use crate::plan::Plan;
use crate::shop;

/// The path of the empty call.
const EMPTY: &str = "/bench.Empty/Call";

/// A service whose one call takes nothing and answers nothing.
#[derive(Clone)]
struct Empty;

impl NamedService for Empty {
    const NAME: &'static str = "bench.Empty";
}

impl UnaryService<()> for Empty {
    type Response = ();
    type Future = std::future::Ready<Result<Response<()>, Status>>;

    fn call(&mut self, _: Request<()>) -> Self::Future {
        std::future::ready(Ok(Response::new(())))
    }
}

impl Service<HttpRequest<Body>> for Empty {
    type Response = HttpResponse<Body>;
    type Error = Infallible;
    type Future = BoxFuture<Self::Response, Infallible>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: HttpRequest<Body>) -> Self::Future {
        Box::pin(async {
            let codec = ProstCodec::<(), ()>::default();
            Ok(tonic::server::Grpc::new(codec).unary(Self, request).await)
        })
    }
}

/// Empty calls.
pub(crate) fn empty(plan: &Plan, callers: usize) -> Result<Figures, Fault> {
    let runtime = tokio::runtime::Runtime::new()?;
    let channel = runtime.block_on(async {
        let (listener, endpoint) = listen().await?;
        let incoming = TcpIncoming::from(listener).with_nodelay(Some(true));
        tokio::spawn(
            Server::builder()
                .add_service(Empty)
                .serve_with_incoming(incoming),
        );
        connect(endpoint).await
    })?;
    let mut rounds = Vec::new();
    for _ in 0..plan.rounds {
        let channel = channel.clone();
        rounds.push(round(|| {
            runtime.block_on(callers_for(callers, plan.round, move |_, _| {
                let mut client = tonic::client::Grpc::new(channel.clone());
                async move {
                    client
                        .ready()
                        .await
                        .map_err(|error| Status::unknown(error.to_string()))?;
                    let path = PathAndQuery::from_static(EMPTY);
                    let codec = ProstCodec::<(), ()>::default();
                    client.unary(Request::new(()), path, codec).await.map(drop)
                }
            }))
        })?);
    }
    Ok(figures(&rounds))
}

/// Uses logged by the service as it is, each answered when it is durable.
pub(crate) fn log_use(plan: &Plan, folder: &Path, callers: usize) -> Result<Figures, Fault> {
    let runtime = tokio::runtime::Runtime::new()?;
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let (desk, _) = Desk::open(
        Arc::new(FolderStore::at(folder.join(format!("grpc-{callers}")))),
        &options,
    )?;
    let (stop, stopped) = oneshot::channel::<()>();
    let (channel, serving) = runtime.block_on(async {
        shop::stock(&desk).await?;
        let (listener, endpoint) = listen().await?;
        let served = desk.clone();
        let serving = tokio::spawn(async move {
            serve_on(listener, &served, async { drop(stopped.await) }).await
        });
        Ok::<_, Fault>((connect(endpoint).await?, serving))
    })?;
    let mut rounds = Vec::new();
    for _ in 0..plan.rounds {
        let channel = channel.clone();
        rounds.push(round(|| {
            runtime.block_on(callers_for(callers, plan.round, move |caller, turn| {
                let mut client = JobServiceClient::new(channel.clone());
                let request = usage(caller, turn);
                async move { client.log_use(request).await.map(drop) }
            }))
        })?);
    }
    drop(channel);
    let _ = stop.send(());
    runtime.block_on(async { serving.await.map(drop) })?;
    runtime.block_on(desk.close())?;
    Ok(figures(&rounds))
}

async fn listen() -> Result<(TcpListener, Endpoint), Fault> {
    let listener = TcpListener::bind("127.0.0.1:0").await?;
    let endpoint = Endpoint::from_shared(format!("http://{}", listener.local_addr()?))?;
    Ok((listener, endpoint))
}

async fn connect(endpoint: Endpoint) -> Result<Channel, Fault> {
    Ok(endpoint.tcp_nodelay(true).connect().await?)
}

/// Callers that each call again as soon as they are answered, for as long as a round.
pub(crate) async fn callers_for<F>(
    callers: usize,
    round: Duration,
    call: impl Fn(usize, usize) -> F + Clone + Send + 'static,
) -> Result<Vec<Duration>, Status>
where
    F: Future<Output = Result<(), Status>> + Send,
{
    let tasks: Vec<_> = (0..callers)
        .map(|caller| {
            let call = call.clone();
            tokio::spawn(async move {
                let (start, mut waits, mut turn) = (Instant::now(), Vec::new(), 0);
                while start.elapsed() < round {
                    let begun = Instant::now();
                    call(caller, turn).await?;
                    waits.push(begun.elapsed());
                    turn += 1;
                }
                Ok::<_, Status>(waits)
            })
        })
        .collect();
    let mut waits = Vec::new();
    for task in tasks {
        waits.extend(
            task.await
                .map_err(|error| Status::unknown(error.to_string()))??,
        );
    }
    Ok(waits)
}

/// The use of [`shop::usage`] as a message.
pub(crate) fn usage(caller: usize, turn: usize) -> LogUseRequest {
    let [machine, plate, pad, bottle] = shop::tags(caller, turn);
    LogUseRequest {
        request_id: Uuid::now_v7().to_string(),
        bottles: vec![BottleUse {
            bottle,
            amount: Some(LiquidAmount {
                amount: Some(liquid_amount::Amount::VolumeUl(1)),
            }),
        }],
        loose: Some(LooseUse {
            step: Some(Step {
                step: "cut".to_owned(),
                machine_make: "orbital-150".to_owned(),
                pad_make: "coarse-foam-150".to_owned(),
                liquid_make: "coarse-compound".to_owned(),
                ..Step::default()
            }),
            machine,
            plate,
            section_count: shop::SECTIONS,
            pads: vec![PadUse {
                tag: pad,
                ..PadUse::default()
            }],
        }),
        ..LogUseRequest::default()
    }
}
