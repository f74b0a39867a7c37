//! What the book adds to a call: a use logged durably, beside an echo of the same messages.
//!
//! It serves whoever changes the way of an order. Book and echo each run in a process of their own, behind the
//! same transport, guard and meters, and their rounds take turns; so the processor time told here is the service's
//! alone, though its callers have the same processors.

use std::convert::Infallible;
use std::fs;
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_contract::v1::{LogUseRequest, LogUseResponse};
use fettlebook_server::desk::{Desk, DeskOptions, SystemClock};
use fettlebook_server::serve::{serve_in_its_place, serve_on};
use fettlebook_server::store::FolderStore;
use tokio::net::TcpListener;
use tokio::runtime::Runtime;
use tonic::body::Body;
use tonic::codegen::http::{Request as HttpRequest, Response as HttpResponse};
use tonic::codegen::{BoxFuture, Service};
use tonic::server::{NamedService, UnaryService};
use tonic::service::Routes;
use tonic::transport::{Channel, Endpoint};
use tonic::{Request, Response, Status};
use tonic_prost::ProstCodec;
use uuid::Uuid;

use crate::Fault;
use crate::compare::met;
use crate::grpc::{callers_for, usage};
use crate::measure::{Figures, figures, micros, round_by};
use crate::plan::Plan;
use crate::shop;

/// The argument that makes this program serve: a folder for the book, and `book` or `echo`.
pub(crate) const SERVE: &str = "--serve";

/// What the two are called on the way to themselves.
const BOOK: &str = "book";
const ECHO: &str = "echo";

/// Least rate of a log, as a share of the echo's.
const ECHO_SHARE_MIN: f64 = 0.8;

/// Most processor time of the service for a log, and the longest wait of 99 of 100, where 64 call at once.
const CPU_MAX: Duration = Duration::from_micros(28);
const P99_MAX: Duration = Duration::from_millis(4);

/// Callers that these limits are for.
const LIMITED_CALLERS: usize = 64;

/// Answers every log with the same answer.
#[derive(Clone)]
struct Echo {
    answer: Arc<LogUseResponse>,
}

impl NamedService for Echo {
    const NAME: &'static str = "fettlebook.v1.JobService";
}

impl UnaryService<LogUseRequest> for Echo {
    type Response = LogUseResponse;
    type Future = std::future::Ready<Result<Response<LogUseResponse>, Status>>;

    fn call(&mut self, _: Request<LogUseRequest>) -> Self::Future {
        std::future::ready(Ok(Response::new(LogUseResponse::clone(&self.answer))))
    }
}

impl Service<HttpRequest<Body>> for Echo {
    type Response = HttpResponse<Body>;
    type Error = Infallible;
    type Future = BoxFuture<Self::Response, Infallible>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: HttpRequest<Body>) -> Self::Future {
        let echo = self.clone();
        Box::pin(async {
            let codec = ProstCodec::<LogUseResponse, LogUseRequest>::default();
            Ok(tonic::server::Grpc::new(codec).unary(echo, request).await)
        })
    }
}

/// Serves until the process is ended, and says where on standard output.
pub(crate) fn serve(mut args: impl Iterator<Item = String>) -> Result<(), Fault> {
    let folder = PathBuf::from(args.next().ok_or("say which book to serve")?);
    let what = args.next().ok_or("say what to serve")?;
    Runtime::new()?.block_on(async {
        let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
        let (desk, _) = Desk::open(Arc::new(FolderStore::at(&folder)), &options)?;
        shop::stock(&desk).await?;
        let (listener, url) = listen().await?;
        if what == ECHO {
            let answer = Arc::new(first_answer(&desk).await?);
            println!("{url}");
            let answers = Routes::new(Echo { answer });
            serve_in_its_place(listener, &desk, answers, std::future::pending()).await?;
        } else {
            println!("{url}");
            serve_on(listener, &desk, std::future::pending()).await?;
        }
        Ok(())
    })
}

/// What the book answers to a log.
async fn first_answer(desk: &Desk) -> Result<LogUseResponse, Fault> {
    let (listener, url) = listen().await?;
    let desk = desk.clone();
    let serving =
        tokio::spawn(async move { serve_on(listener, &desk, std::future::pending()).await });
    let mut client = JobServiceClient::new(connect(&url).await?);
    let answer = client.log_use(usage(0, 0)).await?.into_inner();
    serving.abort();
    Ok(answer)
}

async fn listen() -> Result<(TcpListener, String), Fault> {
    let listener = TcpListener::bind("127.0.0.1:0").await?;
    let url = format!("http://{}", listener.local_addr()?);
    Ok((listener, url))
}

async fn connect(url: &str) -> Result<Channel, Fault> {
    let endpoint = Endpoint::from_shared(url.to_owned())?;
    Ok(endpoint.tcp_nodelay(true).connect().await?)
}

/// A service in a process of its own; killed when dropped.
struct Served {
    child: Child,
    channel: Channel,
}

impl Served {
    async fn start(folder: &Path, what: &str) -> Result<Self, Fault> {
        let mut child = Command::new(std::env::current_exe()?)
            .arg(SERVE)
            .arg(folder)
            .arg(what)
            .stdout(Stdio::piped())
            .spawn()?;
        let mut url = String::new();
        let says = child.stdout.take().ok_or("it has no output")?;
        BufReader::new(says).read_line(&mut url)?;
        let channel = connect(url.trim()).await?;
        Ok(Self { child, channel })
    }

    /// Processor time of its threads. Source: the kernel's page on scheduler statistics.
    fn cpu_time(&self) -> Duration {
        let tasks = fs::read_dir(format!("/proc/{}/task", self.child.id()));
        let times = tasks.into_iter().flatten().flatten().filter_map(|task| {
            let times = fs::read_to_string(task.path().join("schedstat")).ok()?;
            let on_processor = times.split_whitespace().next()?.parse().ok()?;
            Some(Duration::from_nanos(on_processor))
        });
        times.sum()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to kill.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Measures both in turns, and says whether the book keeps to its share and its limits.
pub(crate) fn run(plan: &Plan, folder: &Path, callers: usize) -> Result<(), Fault> {
    let runtime = Runtime::new()?;
    let titled = [
        ("echo of a LogUse, service", ECHO),
        ("LogUse, service", BOOK),
    ];
    let mut served = Vec::new();
    for (title, what) in titled {
        let folder = folder.join(format!("{what}-{callers}"));
        let one = runtime.block_on(Served::start(&folder, what))?;
        served.push((title, one, Vec::new()));
    }
    for _ in 0..plan.rounds {
        for (_, one, rounds) in &mut served {
            let channel = one.channel.clone();
            let call = || {
                runtime.block_on(callers_for(callers, plan.round, move |caller, turn| {
                    let mut client = JobServiceClient::new(channel.clone());
                    let request = usage(caller, turn);
                    async move { client.log_use(request).await.map(drop) }
                }))
            };
            rounds.push(round_by(|| one.cpu_time(), call)?);
        }
    }
    let mut told = Vec::new();
    for (title, _, rounds) in &served {
        let figures = figures(rounds);
        figures.print(title, callers);
        told.push(figures);
    }
    if let [echo, book] = told.as_slice() {
        judge(echo, book, callers);
    }
    Ok(())
}

fn judge(echo: &Figures, book: &Figures, callers: usize) {
    let share = book.per_second / echo.per_second;
    let kept = met(share >= ECHO_SHARE_MIN);
    println!("  a log's rate is {share:.2} of its echo's (at least {ECHO_SHARE_MIN}): {kept}");
    if callers == LIMITED_CALLERS {
        let (cpu, most) = (micros(book.cpu_each), micros(CPU_MAX));
        let kept = met(book.cpu_each <= CPU_MAX);
        println!("  the service spends {cpu:.1} µs on a log (at most {most:.0}): {kept}");
        let (wait, most) = (micros(book.p99), micros(P99_MAX));
        let kept = met(book.p99 <= P99_MAX);
        println!("  99 of 100 waited at most {wait:.0} µs (at most {most:.0}): {kept}");
    }
}
