//! The page of metrics: what the meters counted and how the book stands, for a program that collects
//! such pages.
//!
//! It serves whoever runs a service, on this machine only and only where it was asked for. It tells
//! numbers and no names of things in the book; a scrape must never make an order wait.
//!
//! Source: OpenMetrics 1.0, <https://prometheus.io/docs/specs/om/open_metrics_spec/>.

use std::convert::Infallible;
use std::io;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use fettlebook_model::Moment;
use http_body_util::Full;
use hyper::body::{Bytes, Incoming};
use hyper::header::{ACCEPT, ALLOW, CONTENT_TYPE, HeaderValue};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Method, Request, Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use prometheus_client::encoding::{prometheus_text, text};
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::registry::{Registry, Unit};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;

use super::accepted::Format;
#[cfg(feature = "postgres")]
use super::engine_figures::{EngineFigures, EngineLook};
use super::process::Process;
use crate::access::ShownNow;
use crate::desk::{Desk, Done};
use crate::limits::{ACCEPT_PAUSE, SCRAPE_ASK_WAIT_MAX, SCRAPE_TIME_MAX, SCRAPES_MAX};
use crate::meters::Meters;
use crate::store::Space;

/// Before every name but that of a figure which programs look for under its usual one.
const PREFIX: &str = "fettled";

const MICROSECONDS_PER_SECOND: i64 = 1_000_000;

/// What a service serves.
pub(super) trait Served: Send + Sync {
    /// The books that it has.
    fn desks(&self) -> Vec<Arc<Desk>>;

    /// Backups that were made and that failed of books that it had and has no more.
    fn past_backups(&self) -> (u64, u64);

    /// How much room they take, and how much there is left. It looks at files.
    fn space(&self) -> Space;

    /// Makes what else is counted of them readable.
    fn register(&self, registry: &mut Registry);
}

/// The one book of a service.
impl Served for Desk {
    fn desks(&self) -> Vec<Arc<Self>> {
        vec![Arc::new(self.clone())]
    }

    fn past_backups(&self) -> (u64, u64) {
        (0, 0)
    }

    fn space(&self) -> Space {
        Self::space(self)
    }

    fn register(&self, _: &mut Registry) {}
}

/// The page of one service.
pub(super) struct Page {
    served: Arc<dyn Served>,
    registry: Registry,
    standing: StandingGauges,
    /// What devices are shown, where it is known until when that is good.
    shown: Option<ShownNow>,
    #[cfg(feature = "postgres")]
    engine: Option<EngineFigures>,
}

/// How the book stands, looked at when a scrape comes.
#[derive(Default)]
struct StandingGauges {
    books: Gauge,
    waiting: Gauge,
    entries: Gauge,
    read_only: Gauge,
    journal_bytes: Gauge,
    shelf_bytes: Gauge,
    disk_free_bytes: Gauge,
    disk_size_bytes: Gauge,
    verified_s: Gauge,
    unverified: Gauge,
    backup_s: Gauge,
    unsaved: Gauge,
    backup_every_s: Gauge,
    backups: Counter,
    backup_failures: Counter,
    certificate_end_s: Gauge,
}

impl Page {
    /// The page of a service, started now, that shows this to devices.
    pub(super) fn new(
        now: Moment,
        meters: &Meters,
        served: Arc<dyn Served>,
        shown: Option<ShownNow>,
    ) -> Self {
        let mut registry = Registry::default();
        let started_s = seconds(now);
        registry.register_collector(Box::new(Process { started_s }));
        let standing = StandingGauges::default();
        let ours = registry.sub_registry_with_prefix(PREFIX);
        meters.register(ours);
        standing.register(ours);
        served.register(ours);
        let shown = shown.filter(|shown| shown.good_until().is_some());
        if shown.is_some() {
            ours.register_with_unit(
                "certificate_end_timestamp",
                "When the certificate ends that devices are shown, since 1970 UTC",
                Unit::Seconds,
                standing.certificate_end_s.clone(),
            );
        }
        Self {
            served,
            registry,
            standing,
            shown,
            #[cfg(feature = "postgres")]
            engine: None,
        }
    }

    /// The same of a service whose book an engine keeps.
    #[cfg(feature = "postgres")]
    pub(super) fn with_engine(mut self, counts: EngineLook) -> Self {
        let ours = self.registry.sub_registry_with_prefix(PREFIX);
        self.engine = Some(EngineFigures::registered(ours, counts));
        self
    }

    /// The page as it reads now. It looks at files.
    fn read(&self, format: Format) -> Result<String, std::fmt::Error> {
        self.standing.look(&*self.served);
        if let Some(end) = self.shown.as_ref().and_then(ShownNow::good_until) {
            self.standing.certificate_end_s.set(seconds(end));
        }
        #[cfg(feature = "postgres")]
        if let Some(engine) = &self.engine {
            engine.look();
        }
        let mut page = String::new();
        match format {
            Format::Plain => prometheus_text::encode(&mut page, &self.registry)?,
            Format::OpenMetrics => text::encode(&mut page, &self.registry)?,
        }
        Ok(page)
    }
}

impl StandingGauges {
    /// Of several books it is the sum that is told, and the oldest of moments.
    fn look(&self, served: &dyn Served) {
        let desks = served.desks();
        let mut sums = Sums::default();
        for desk in &desks {
            sums.add(desk);
        }
        self.books.set(whole(desks.len()));
        self.waiting.set(whole(sums.waiting));
        self.entries.set(whole(sums.entries));
        self.read_only.set(whole(sums.read_only));
        self.verified_s.set(sums.verified_s.unwrap_or_default());
        self.unverified.set(whole(sums.unverified));
        self.backup_s.set(sums.backup_s.unwrap_or_default());
        self.unsaved.set(whole(sums.unsaved));
        self.backup_every_s.set(sums.backup_every_s);
        let space = served.space();
        self.journal_bytes.set(whole(space.journal_bytes));
        self.shelf_bytes.set(whole(space.shelf_bytes));
        self.disk_free_bytes.set(space.free_bytes.map_or(0, whole));
        self.disk_size_bytes.set(space.size_bytes.map_or(0, whole));
        let (made, failed) = served.past_backups();
        // A book that is let go just now is in neither for a moment, and a counter never falls.
        for (counter, sum) in [
            (&self.backups, made + sums.backups),
            (&self.backup_failures, failed + sums.backup_failures),
        ] {
            counter.inner().fetch_max(sum, Ordering::Relaxed);
        }
    }

    fn register(&self, registry: &mut Registry) {
        let plain = [
            (
                "books_held",
                "Books that this service has, and no other machine",
                &self.books,
            ),
            (
                "orders_waiting",
                "Orders that wait for the writer",
                &self.waiting,
            ),
            ("book_entries", "Entries in the book", &self.entries),
            (
                "book_read_only",
                "1 while nothing can be recorded for good, 0 else",
                &self.read_only,
            ),
            (
                "book_unverified_entries",
                "Entries recorded since the whole book was last verified",
                &self.unverified,
            ),
            (
                "book_unsaved_entries",
                "Entries recorded since the last backup that was found whole",
                &self.unsaved,
            ),
        ];
        for (name, help, gauge) in plain {
            registry.register(name, help, gauge.clone());
        }
        let in_bytes = [
            (
                "journal_size",
                "Bytes of the journal's files, space set aside among them",
                &self.journal_bytes,
            ),
            (
                "shelf_size",
                "Bytes of the shelf's files",
                &self.shelf_bytes,
            ),
            (
                "disk_free",
                "Bytes that can still be written to the disk of the book",
                &self.disk_free_bytes,
            ),
            (
                "disk_size",
                "Bytes of the disk of the book",
                &self.disk_size_bytes,
            ),
        ];
        for (name, help, gauge) in in_bytes {
            registry.register_with_unit(name, help, Unit::Bytes, gauge.clone());
        }
        let in_seconds = [
            (
                "last_verify_timestamp",
                "When the whole book was last verified, since 1970 UTC; 0 for never",
                &self.verified_s,
            ),
            (
                "last_backup_timestamp",
                "When the newest backup was made that was found whole, since 1970 UTC; 0 for never",
                &self.backup_s,
            ),
            (
                "backup_interval",
                "Time between backups that the service makes by itself; 0 where it makes none",
                &self.backup_every_s,
            ),
        ];
        for (name, help, gauge) in in_seconds {
            registry.register_with_unit(name, help, Unit::Seconds, gauge.clone());
        }
        registry.register(
            "backups",
            "Backups that the service made by itself and found whole",
            self.backups.clone(),
        );
        registry.register(
            "backup_failures",
            "Backups that the service could not make",
            self.backup_failures.clone(),
        );
    }
}

/// What is told of books together.
#[derive(Default)]
struct Sums {
    waiting: usize,
    entries: u64,
    read_only: usize,
    /// The oldest; 0 where one never was.
    verified_s: Option<i64>,
    unverified: u64,
    backup_s: Option<i64>,
    unsaved: u64,
    backup_every_s: i64,
    backups: u64,
    backup_failures: u64,
}

impl Sums {
    fn add(&mut self, desk: &Desk) {
        let (standing, upkeep) = (desk.standing(), desk.upkeep());
        let head = standing.head.seq.0;
        let since = |done: Option<Done>| head.saturating_sub(done.map_or(0, |done| done.seq.0));
        let when = |done: Option<Done>| done.map_or(0, |done| seconds(done.time));
        let oldest = |known: Option<i64>, next| Some(known.map_or(next, |known| known.min(next)));
        self.waiting += desk.waiting();
        self.entries += head;
        self.read_only += usize::from(standing.read_only.is_some());
        self.verified_s = oldest(self.verified_s, when(upkeep.verified));
        self.unverified += since(upkeep.verified);
        self.backup_s = oldest(self.backup_s, when(upkeep.backup));
        self.unsaved += since(upkeep.backup);
        let every_s = upkeep.schedule.map_or(0, |schedule| schedule.every_s);
        self.backup_every_s = self.backup_every_s.max(every_s);
        self.backups += upkeep.made_count;
        self.backup_failures += upkeep.failed_count;
    }
}

/// Whole seconds since 1970.
fn seconds(moment: Moment) -> i64 {
    moment.as_microsecond().div_euclid(MICROSECONDS_PER_SECOND)
}

fn whole(count: impl TryInto<i64>) -> i64 {
    count.try_into().unwrap_or(i64::MAX)
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
    let accept = request.headers().get_all(ACCEPT).iter();
    let accept: Vec<&str> = accept.filter_map(|value| value.to_str().ok()).collect();
    let format = Format::accepted(&accept.join(","));
    let reading = tokio::task::spawn_blocking(move || page.read(format).map_err(io::Error::other));
    match reading.await.map_err(io::Error::from).flatten() {
        Ok(text) => {
            let mut response = Response::new(Full::from(text));
            let headers = response.headers_mut();
            headers.insert(CONTENT_TYPE, format.content_type());
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
