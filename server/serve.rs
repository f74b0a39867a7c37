//! The `fettled` service: open a book, listen, serve until told to stop, close.
//!
//! It serves clients on this machine over TCP, and paired devices over TLS. A damaged book is served
//! read-only rather than not at all; what was acknowledged is on the disk whenever this ends, however it ends.

use std::ffi::OsString;
use std::future::Future;
use std::io::{self, Write as _};
use std::net::SocketAddr;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use clap::error::ErrorKind;
use fettlebook_solo::SoloProgram;
use tokio::net::TcpListener;
use tokio::task::JoinSet;
use tonic::service::Routes;
use tonic_health::ServingStatus;
use tower::Layer as _;
use uuid::Uuid;

mod accepted;
mod backups;
#[cfg(feature = "postgres")]
mod begin;
mod bench;
mod crowd;
mod door;
mod doorway;
#[cfg(feature = "postgres")]
mod engine_figures;
mod error;
mod health;
mod incoming;
mod lane;
mod log;
#[cfg(feature = "postgres")]
mod mend;
mod metrics;
#[cfg(feature = "postgres")]
mod moving;
#[cfg(feature = "postgres")]
mod node;
#[cfg(feature = "postgres")]
mod office;
mod pair;
mod process;
mod qr;
#[cfg(feature = "postgres")]
mod restore;
mod sealing;
mod seals;
mod speech;
mod strangers;
#[cfg(feature = "otel")]
mod traces;
mod transport;
mod wire;

use crate::access::{Access, Fingerprint};
use crate::args::{Args, Asked, LogFormat, completions, manual};
use crate::desk::{Desk, DeskOptions, OpenError, OpenReport, ShelfFound, SystemClock};
use crate::edge::{Caller, Edge, Front, PagesLayer};
use crate::formats::formats;
use crate::limits::{
    CONNECTIONS_MAX, PREFACE_WAIT_MAX, SEALED_STREAM_WINDOW_BYTES, STRANGER_TIME_MAX,
    STREAM_WINDOW_BYTES, USED_SAVED_EVERY,
};
use crate::meters::Meters;
use crate::store::Store;

pub use door::Door;
pub use error::ServeError;

use doorway::Doorway;
use health::Health;
use incoming::Incoming;
use transport::{Carried, Limited, limited};

/// Who reports what comes in over TCP without a token.
const REPORTED_BY: &str = "local";

/// Runs the service by the arguments given, the program's own name first, until SIGINT or SIGTERM; `commit` is
/// what the program is built from.
pub fn run(args: impl IntoIterator<Item = OsString>, commit: &'static str) -> ExitCode {
    let asked = match Asked::parse(args) {
        Ok(asked) => asked,
        Err(error) if error.kind() == ErrorKind::DisplayVersion => {
            // A terminal that is gone is no reason to end otherwise.
            let _ = io::stdout()
                .lock()
                .write_all(program(commit).to_string().as_bytes());
            return ExitCode::SUCCESS;
        }
        Err(error) => {
            // A terminal that is gone is no reason to end otherwise.
            let _ = error.print();
            return if error.use_stderr() {
                ExitCode::from(2)
            } else {
                ExitCode::SUCCESS
            };
        }
    };
    let (done, form) = match asked {
        Asked::Completions(shell) => {
            // A pipe that is closed is no reason to end otherwise.
            let _ = io::stdout().lock().write_all(&completions(shell));
            return ExitCode::SUCCESS;
        }
        #[cfg(feature = "postgres")]
        Asked::Tables(from) => {
            let tables = crate::store::tables(from);
            // A pipe that is closed is no reason to end otherwise.
            let _ = io::stdout().lock().write_all(tables.as_bytes());
            return ExitCode::SUCCESS;
        }
        Asked::Man(folder) => return written(manual(&folder), &folder),
        Asked::Serve(args) => {
            make_files_private();
            let _log = log::start(&args);
            (serve(&args, commit), args.log_format)
        }
        #[cfg(feature = "postgres")]
        Asked::Begin(args) => {
            make_files_private();
            (begin::begin(&args), LogFormat::Text)
        }
        #[cfg(feature = "postgres")]
        Asked::Move(args) => {
            make_files_private();
            (moving::moved(&args), LogFormat::Text)
        }
        #[cfg(feature = "postgres")]
        Asked::Mend(args) => {
            make_files_private();
            (mend::mended(&args), LogFormat::Text)
        }
        #[cfg(feature = "postgres")]
        Asked::Restore(args) => {
            make_files_private();
            (restore::restored(&args), LogFormat::Text)
        }
        Asked::Pair(args) => {
            make_files_private();
            (pair::pair(&args), LogFormat::Text)
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            tell_end(&error, form);
            ExitCode::from(error.exit_code())
        }
    }
}

/// Says where the manual pages are, or why they are not there.
fn written(done: io::Result<()>, folder: &Path) -> ExitCode {
    let folder = folder.display();
    // A terminal that is gone is no reason to end otherwise.
    match done {
        Ok(()) => {
            drop(writeln!(
                io::stdout().lock(),
                "Manual pages are in {folder}."
            ));
            ExitCode::SUCCESS
        }
        Err(error) => {
            drop(writeln!(
                io::stderr().lock(),
                "fettled: {folder} cannot be used: {error}."
            ));
            ExitCode::FAILURE
        }
    }
}

/// Says why it ended: a line for people, or a line of the log for programs.
fn tell_end(error: &ServeError, form: LogFormat) {
    match form {
        // A terminal that is gone is no reason to end otherwise.
        LogFormat::Text => drop(writeln!(io::stderr().lock(), "fettled: {error}")),
        LogFormat::Json => tracing::error!("{error}"),
    }
}

/// From now on every file and folder is made for its owner alone, whatever the umask: of the book, its
/// shelf and whoever may use it.
#[cfg(unix)]
fn make_files_private() {
    use rustix::fs::Mode;
    rustix::process::umask(Mode::RWXG | Mode::RWXO);
}

/// Files have no modes here.
#[cfg(not(unix))]
const fn make_files_private() {}

/// This program.
fn program(commit: &'static str) -> SoloProgram {
    SoloProgram {
        name: "fettled",
        version: env!("CARGO_PKG_VERSION"),
        commit,
        formats: formats(),
    }
}

fn serve(args: &Args, commit: &'static str) -> Result<(), ServeError> {
    let runtime = tokio::runtime::Runtime::new().map_err(ServeError::Runtime)?;
    runtime.block_on(async {
        let stop = stop_signal().map_err(ServeError::Runtime)?;
        #[cfg(feature = "postgres")]
        if args.kept.in_engine(None).is_some() {
            return node::serve(args, commit, stop).await;
        }
        let store = args.kept.store().map_err(OpenError::from)?;
        let asked = door::asked(args, &[store.cabinet()], &SystemClock)?;
        let desk = open(args, store, commit).await?;
        let served = listen(args, asked, &desk, stop).await;
        if let Err(error) = desk.close().await {
            tracing::error!("{error}");
        }
        tracing::info!("the book is closed");
        served
    })
}

async fn listen(
    args: &Args,
    asked: door::Asked,
    desk: &Desk,
    stop: impl Future<Output = ()>,
) -> Result<(), ServeError> {
    let backups = backups::Plan::asked(args, desk)?;
    let listener = bind(args.listen).await?;
    let address = listener.local_addr().map_err(ServeError::Runtime)?;
    let door = asked.open(args, desk, address)?;
    let measured = match args.metrics {
        Some(address) => Some(bind(address).await?),
        None => None,
    };
    let told = Announced {
        address,
        fingerprint: door.as_ref().map(|door| door.fingerprint),
        measured: measured.as_ref(),
    };
    told.tell(args.quiet).map_err(ServeError::Runtime)?;
    let shown = door.as_ref().map(|door| door.access.shown());
    if let Some(listener) = measured {
        let served = Arc::new(desk.clone());
        let page = metrics::Page::new(desk.now(), desk.meters(), served, shown);
        // Ends with the runtime.
        tokio::spawn(metrics::answer(listener, Arc::new(page)));
    }
    // Ends with what is served.
    let mut making = JoinSet::new();
    if let Some(plan) = backups {
        making.spawn(plan.keep_up(desk.clone()));
    }
    match door {
        Some(door) => serve_devices(listener, desk, door, stop).await,
        None => serve_on(listener, desk, stop).await,
    }
}

async fn open(
    args: &Args,
    store: Arc<dyn Store>,
    commit: &'static str,
) -> Result<Desk, ServeError> {
    let options = options(args, commit);
    let opening = tokio::task::spawn_blocking(move || Desk::open(store, &options));
    let (desk, report) = opening
        .await
        .map_err(|error| ServeError::Runtime(error.into()))??;
    tell_report(&desk, &report);
    Ok(desk)
}

/// What a book is opened with.
fn options(args: &Args, commit: &'static str) -> DeskOptions {
    DeskOptions {
        accept_clock: args.accept_clock,
        meters: Meters::of_build(commit),
        ..DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7())
    }
}

fn tell_report(desk: &Desk, report: &OpenReport) {
    let standing = desk.standing();
    tracing::info!(book = %standing.identity.book_id, head = standing.head.seq.0, "the book is open");
    match &report.shelf {
        ShelfFound::Rebuilt { why } => {
            tracing::info!(%why, "the shelf was built again from the journal");
        }
        ShelfFound::OutOfUse { why } => {
            tracing::warn!(%why, "the book is read without its shelf, and nothing can be recorded");
        }
        ShelfFound::Current
        | ShelfFound::Unopened
        | ShelfFound::Behind { .. }
        | ShelfFound::Ahead => {}
    }
    if let Some(reason) = &report.read_only {
        tracing::error!(%reason, "the book is read-only: it can be read, nothing can be recorded");
    }
}

pub(crate) async fn bind(address: SocketAddr) -> Result<TcpListener, ServeError> {
    TcpListener::bind(address)
        .await
        .map_err(|source| ServeError::Listen { address, source })
}

/// Where the service is and by which fingerprint devices know it, and where its metrics are.
struct Announced<'a> {
    address: SocketAddr,
    fingerprint: Option<Fingerprint>,
    measured: Option<&'a TcpListener>,
}

impl Announced<'_> {
    /// Says it once all of it can be reached: in the log, and on standard output unless that is to be quiet.
    fn tell(&self, quiet: bool) -> io::Result<()> {
        let (address, mut lines) = (self.address, String::new());
        if let Some(fingerprint) = self.fingerprint {
            tracing::info!(%address, %fingerprint, "listening for paired devices");
            lines.push_str(&format!(
                "fettled listens on https://{address}\nfingerprint {fingerprint}\n"
            ));
        } else {
            tracing::info!(%address, "listening");
            lines.push_str(&format!("fettled listens on http://{address}\n"));
        }
        if let Some(measured) = self.measured {
            let address = measured.local_addr()?;
            tracing::info!(%address, "metrics can be read");
            lines.push_str(&format!(
                "fettled tells its metrics on http://{address}/metrics\n"
            ));
        }
        if quiet {
            return Ok(());
        }
        let mut out = io::stdout().lock();
        out.write_all(lines.as_bytes())?;
        out.flush()
    }
}

/// Serves a desk to whoever connects, until `stop`; then lets requests in flight finish, for ten
/// seconds at most.
///
/// # Errors
/// When the transport fails.
pub async fn serve_on(
    listener: TcpListener,
    desk: &Desk,
    stop: impl Future<Output = ()>,
) -> Result<(), ServeError> {
    let incoming = Incoming::new(listener, CONNECTIONS_MAX, PREFACE_WAIT_MAX)
        .counted_by(desk.meters().clone());
    let edge = Edge::new(desk.clone(), Caller::owner(REPORTED_BY));
    let server = limited(STREAM_WINDOW_BYTES, PagesLayer::new(&[]));
    let routes = edge.routes();
    serve_edge(incoming, (edge, routes), desk, server, stop).await
}

/// Serves as [`serve_on`] does, through the same layers, but with these answers in place of the book's: so that
/// what the way costs can be measured by itself.
///
/// # Errors
/// When the transport fails.
pub async fn serve_in_its_place(
    listener: TcpListener,
    desk: &Desk,
    answers: Routes,
    stop: impl Future<Output = ()>,
) -> Result<(), ServeError> {
    let incoming = Incoming::new(listener, CONNECTIONS_MAX, PREFACE_WAIT_MAX)
        .counted_by(desk.meters().clone());
    let edge = Edge::new(desk.clone(), Caller::owner(REPORTED_BY));
    let server = limited(STREAM_WINDOW_BYTES, PagesLayer::new(&[]));
    serve_edge(incoming, (edge, answers), desk, server, stop).await
}

/// The same over TLS, to paired devices and those that pair, and to pages on such devices, the page at the
/// bench among them.
///
/// # Errors
/// When the transport fails.
pub async fn serve_devices(
    listener: TcpListener,
    desk: &Desk,
    door: Door,
    stop: impl Future<Output = ()>,
) -> Result<(), ServeError> {
    let doorway = Doorway::for_connections(CONNECTIONS_MAX);
    let known_max = CONNECTIONS_MAX - doorway.strangers_max();
    let incoming = Incoming::new(listener, known_max, PREFACE_WAIT_MAX)
        .counted_by(desk.meters().clone())
        .sealed(door.seals, &doorway, STRANGER_TIME_MAX);
    let edge = Edge::new(desk.clone(), Caller::owner(REPORTED_BY));
    let edge = edge.for_devices(Arc::clone(&door.access));
    let services = edge.guard().layer(edge.routes());
    let certificate = door.certificate.clone();
    let bench = bench::page(services, desk.meters(), move || certificate.clone());
    let pages = PagesLayer::new(&door.page_origins).with_bench(bench);
    let server = limited(SEALED_STREAM_WINDOW_BYTES, pages).accept_http1(true);
    let routes = edge.routes();
    let served = tokio::select! {
        served = serve_edge(incoming, (edge, routes), desk, server, stop) => served,
        () = keep_saving_used(&door.access) => Ok(()),
    };
    save_used(&door.access).await;
    served
}

/// Writes down when devices last called, again and again.
async fn keep_saving_used(access: &Arc<Access>) {
    let mut often = tokio::time::interval(USED_SAVED_EVERY);
    loop {
        often.tick().await;
        save_used(access).await;
    }
}

/// Writes down when devices last called. That is only for people to look at: nothing ends for it.
async fn save_used(access: &Arc<Access>) {
    let access = Arc::clone(access);
    let saved = tokio::task::spawn_blocking(move || access.save_used()).await;
    if let Ok(Err(error)) = saved {
        tracing::warn!(
            "when devices last called is not written down: {}",
            error.told()
        );
    }
}

async fn serve_edge(
    incoming: Incoming,
    (edge, routes): (Edge, Routes),
    desk: &Desk,
    server: Limited,
    stop: impl Future<Output = ()>,
) -> Result<(), ServeError> {
    let can_record = || desk.standing().read_only.is_none();
    let (health, asked_health) = Health::starting(can_record()).await;
    let carried = Carried {
        incoming,
        server,
        front: Front::Left(edge.guard()),
        routes,
        meters: desk.meters().clone(),
    };
    let leave = async {
        health.tell(ServingStatus::NotServing).await;
        // Or their connections would never be done.
        edge.end_watches();
    };
    let beside = health.follow(can_record);
    carried.serve(asked_health, beside, leave, stop).await
}

/// Comes true with the first SIGINT or SIGTERM. Listens from now on, so that none is missed.
#[cfg(unix)]
pub(crate) fn stop_signal() -> io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut interrupt = signal(SignalKind::interrupt())?;
    let mut terminate = signal(SignalKind::terminate())?;
    Ok(async move {
        tokio::select! {
            _ = interrupt.recv() => {}
            _ = terminate.recv() => {}
        }
    })
}

/// Comes true with Ctrl-C.
#[cfg(not(unix))]
pub(crate) fn stop_signal() -> io::Result<impl Future<Output = ()>> {
    Ok(async {
        let _ = tokio::signal::ctrl_c().await;
    })
}
