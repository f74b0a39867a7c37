//! The page of metrics: what the meters counted and how the book stands, for a program that collects
//! such pages.
//!
//! It serves whoever runs a service, on this machine only and only where it was asked for. It tells
//! numbers and no names of things in the book; a scrape must never make an order wait.
//!
//! Source: OpenMetrics 1.0, <https://prometheus.io/docs/specs/om/open_metrics_spec/>.

use std::convert::Infallible;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use http_body_util::Full;
use hyper::body::{Bytes, Incoming};
use hyper::header::{ALLOW, CONTENT_TYPE, HeaderValue};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Method, Request, Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::gauge::{ConstGauge, Gauge};
use prometheus_client::metrics::info::Info;
use prometheus_client::registry::{Registry, Unit};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;

use crate::desk::Desk;
use crate::desk::folder::{journal_folder, shelf_folder};
use crate::limits::{ACCEPT_PAUSE, SCRAPE_ASK_WAIT_MAX, SCRAPE_TIME_MAX, SCRAPES_MAX};

/// What the page is, as its format wants it said.
const PAGE_TYPE: HeaderValue =
    HeaderValue::from_static("application/openmetrics-text; version=1.0.0; charset=utf-8");

/// Before every name but that of a figure which programs look for under its usual one.
const PREFIX: &str = "fettled";

const MICROSECONDS_PER_SECOND: i64 = 1_000_000;

/// The page of one service.
pub(super) struct Page {
    desk: Desk,
    folder: PathBuf,
    registry: Registry,
    standing: StandingGauges,
}

/// How the book stands, looked at when a scrape comes.
#[derive(Default)]
struct StandingGauges {
    waiting: Gauge,
    entries: Gauge,
    read_only: Gauge,
    journal_bytes: Gauge,
    shelf_bytes: Gauge,
}

impl Page {
    /// The page of a service on the book in a folder, started now.
    pub(super) fn new(desk: Desk, folder: &Path) -> Self {
        let mut registry = Registry::default();
        // A name that programs look for, so it has no prefix of ours. Source:
        // <https://prometheus.io/docs/instrumenting/writing_clientlibs/#process-metrics>.
        let start_s = desk
            .now()
            .as_microsecond()
            .div_euclid(MICROSECONDS_PER_SECOND);
        registry.register_with_unit(
            "process_start_time",
            "When the service was started, since 1970 UTC",
            Unit::Seconds,
            ConstGauge::new(start_s),
        );
        let standing = StandingGauges::default();
        let ours = registry.sub_registry_with_prefix(PREFIX);
        let version = Info::new(vec![("version", env!("CARGO_PKG_VERSION"))]);
        ours.register("build", "Which fettled this is", version);
        desk.meters().register(ours);
        standing.register(ours);
        Self {
            desk,
            folder: folder.to_owned(),
            registry,
            standing,
        }
    }

    /// The page as it reads now. It looks at files.
    fn read(&self) -> Result<String, std::fmt::Error> {
        let standing = self.desk.standing();
        let gauges = &self.standing;
        gauges.waiting.set(whole(self.desk.waiting()));
        gauges.entries.set(whole(standing.head.seq.0));
        gauges
            .read_only
            .set(i64::from(standing.read_only.is_some()));
        let journal_bytes = byte_count(&journal_folder(&self.folder));
        gauges.journal_bytes.set(whole(journal_bytes));
        let shelf_bytes = byte_count(&shelf_folder(&self.folder));
        gauges.shelf_bytes.set(whole(shelf_bytes));
        let mut page = String::new();
        encode(&mut page, &self.registry)?;
        Ok(page)
    }
}

impl StandingGauges {
    fn register(&self, registry: &mut Registry) {
        registry.register(
            "orders_waiting",
            "Orders that wait for the writer",
            self.waiting.clone(),
        );
        registry.register("book_entries", "Entries in the book", self.entries.clone());
        registry.register(
            "book_read_only",
            "1 while nothing can be recorded for good, 0 else",
            self.read_only.clone(),
        );
        registry.register_with_unit(
            "journal_size",
            "Bytes of the journal's files, space set aside among them",
            Unit::Bytes,
            self.journal_bytes.clone(),
        );
        registry.register_with_unit(
            "shelf_size",
            "Bytes of the shelf's files",
            Unit::Bytes,
            self.shelf_bytes.clone(),
        );
    }
}

fn whole(count: impl TryInto<i64>) -> i64 {
    count.try_into().unwrap_or(i64::MAX)
}

/// Bytes of the files below a folder; what cannot be looked at, or is just going, counts as nothing.
fn byte_count(folder: &Path) -> u64 {
    let Ok(entries) = fs::read_dir(folder) else {
        return 0;
    };
    let bytes = entries.flatten().map(|entry| match entry.metadata() {
        Ok(metadata) if metadata.is_dir() => byte_count(&entry.path()),
        Ok(metadata) => metadata.len(),
        Err(_) => 0,
    });
    bytes.sum()
}

/// Answers scrapes for as long as this is polled, a few at once.
pub(super) async fn answer(listener: TcpListener, page: Arc<Page>) {
    let room = Arc::new(Semaphore::new(SCRAPES_MAX));
    // The room is never closed, so this goes on.
    while let Ok(place) = Arc::clone(&room).acquire_owned().await {
        let tcp = match listener.accept().await {
            Ok((tcp, _)) => tcp,
            Err(error) => {
                tracing::warn!(%error, "a scrape could not be taken");
                tokio::time::sleep(ACCEPT_PAUSE).await;
                continue;
            }
        };
        let page = Arc::clone(&page);
        tokio::spawn(async move {
            let answered = tokio::time::timeout(SCRAPE_TIME_MAX, answer_one(tcp, page)).await;
            if !matches!(answered, Ok(Ok(()))) {
                tracing::debug!("a scrape was not answered to its end");
            }
            drop(place);
        });
    }
}

async fn answer_one(tcp: TcpStream, page: Arc<Page>) -> hyper::Result<()> {
    let service = service_fn(move |request: Request<Incoming>| {
        let page = Arc::clone(&page);
        async move { Ok::<_, Infallible>(told(&request, page).await) }
    });
    http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(SCRAPE_ASK_WAIT_MAX)
        .keep_alive(false)
        .serve_connection(TokioIo::new(tcp), service)
        .await
}

async fn told(request: &Request<Incoming>, page: Arc<Page>) -> Response<Full<Bytes>> {
    if request.uri().path() != "/metrics" {
        return plain(StatusCode::NOT_FOUND, "The metrics are at /metrics.\n");
    }
    if request.method() != Method::GET {
        let mut response = plain(StatusCode::METHOD_NOT_ALLOWED, "Ask with GET.\n");
        response
            .headers_mut()
            .insert(ALLOW, HeaderValue::from_static("GET"));
        return response;
    }
    let reading = tokio::task::spawn_blocking(move || page.read().map_err(io::Error::other));
    match reading.await.map_err(io::Error::from).flatten() {
        Ok(text) => {
            let mut response = Response::new(Full::from(text));
            response.headers_mut().insert(CONTENT_TYPE, PAGE_TYPE);
            response
        }
        Err(error) => {
            tracing::warn!(%error, "the metrics could not be written");
            plain(
                StatusCode::INTERNAL_SERVER_ERROR,
                "The metrics could not be written; the log says why.\n",
            )
        }
    }
}

fn plain(status: StatusCode, text: &'static str) -> Response<Full<Bytes>> {
    let mut response = Response::new(Full::from(text));
    *response.status_mut() = status;
    response
}
