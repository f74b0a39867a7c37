//! What the page at the bench costs: each view of a book of five hundred pieces at the service, and a logged use
//! while fifty telephones watch the entries come.
//!
//! Everything goes over TLS with a token, as from a telephone. With another `fettled` beside, such as one that is built
//! without the page, the same calls go to both by turns, each a process of its own.

use std::io::{BufRead as _, BufReader};
use std::net::SocketAddr;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Instant;

use fettlebook_contract::v1::PairDeviceRequest;
use fettlebook_contract::v1::access_service_client::AccessServiceClient;
use fettlebook_server::access::{Access, Credentials, Invite, Role, invite};
use fettlebook_server::desk::{Clock as _, Desk, DeskOptions, SystemClock};
use fettlebook_server::serve::{Door, serve_devices};
use fettlebook_server::store::{FolderStore, Store as _};
use std::sync::Arc;
use tokio::runtime::Runtime;
use tonic::body::Body;
use tonic::codegen::http::{Request, Response, header};
use tonic::codegen::{Body as _, Service as _};
use uuid::Uuid;

use crate::Fault;
use crate::measure::{Figures, figures, median, micros};
use crate::plan::Plan;
use crate::sealed::{Way, dial, listen, log, look};
use crate::shop;

/// Pieces of the book: those of the shop, and so many pads more.
const MORE_PADS: i64 = 300;
/// Telephones that watch.
const TELEPHONES: usize = 50;
/// Times that each view is asked for.
const TIMES: usize = 40;

/// The views that a telephone opens.
const VIEWS: [&str; 14] = [
    "/",
    "/check/tomorrow",
    "/take/tomorrow",
    "/log/tomorrow",
    "/wash",
    "/weigh",
    "/count?place=bench",
    "/kit",
    "/kit?place=bench",
    "/t/P-01",
    "/t/B-01",
    "/reorder",
    "/entries",
    "/entry/5",
];

/// Measures all of it.
pub(crate) fn run(plan: &Plan, folder: &Path) -> Result<(), Fault> {
    let runtime = Runtime::new()?;
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let book = folder.join("page");
    let (desk, _) = Desk::open(Arc::new(FolderStore::at(&book)), &options)?;
    let served = runtime.block_on(async {
        shop::stock(&desk).await?;
        let mut requests = shop::Requests::begin();
        desk.submit(requests.order(shop::more_pads(MORE_PADS)))
            .await?;
        for command in shop::saloon_tomorrow(desk.now()) {
            desk.submit(requests.order(command)).await?;
        }
        Served::begin(&desk).await
    })?;
    println!(
        "{:<38}{:>12}{:>12}{:>12}",
        "view, 500 pieces", "bytes", "p50 ms", "most ms"
    );
    for path in VIEWS {
        runtime.block_on(view(&served, path))?;
    }
    let callers = plan.callers.iter().copied().max().unwrap_or(1);
    Figures::print_heading();
    let [mut alone, mut beside] = [Vec::new(), Vec::new()];
    let before = resident_kib();
    let mut grown = 0;
    for _ in 0..plan.rounds {
        alone.push(log(plan, &runtime, &served.way, callers)?);
        let watching = runtime.block_on(watches(&served))?;
        beside.push(log(plan, &runtime, &served.way, callers)?);
        grown = resident_kib().saturating_sub(before);
        watching.iter().for_each(tokio::task::JoinHandle::abort);
    }
    figures(&alone).print("LogUse, nobody watches", callers);
    figures(&beside).print(&format!("LogUse, {TELEPHONES} telephones watch"), callers);
    println!("this process grew by {grown} KiB, the ends of the telephones among them");
    drop(served);
    runtime.block_on(desk.close())?;
    if let Some(other) = &plan.beside {
        binaries(plan, &runtime, folder, other, callers)?;
    }
    Ok(())
}

/// A book that is served to devices.
struct Served {
    address: SocketAddr,
    credentials: Credentials,
    access: Arc<Access>,
    way: Way,
}

impl Served {
    async fn begin(desk: &Desk) -> Result<Self, Fault> {
        let (listener, address) = listen().await?;
        let credentials = Credentials::own(
            &*desk.cabinet(),
            &["localhost".to_owned()],
            SystemClock.now(),
        )?;
        let door = Door::open(desk, address, &credentials)?;
        let access = Arc::clone(&door.access);
        let served = desk.clone();
        tokio::spawn(async move {
            serve_devices(listener, &served, door, std::future::pending()).await
        });
        let way = paired(&access, address, &credentials, "bench").await?;
        Ok(Self {
            address,
            credentials,
            access,
            way,
        })
    }
}

/// A device of its own, with a connection of its own.
async fn paired(
    access: &Access,
    address: SocketAddr,
    credentials: &Credentials,
    name: &str,
) -> Result<Way, Fault> {
    let code = access.invite(&asked(name)?, SystemClock.now())?.code;
    let secret: [u8; 32] = std::array::from_fn(|_| 7);
    let paired = access.pair(&code.secret, secret, address.ip(), SystemClock.now())?;
    Ok(Way {
        channel: dial(address, credentials).await?,
        token: Some(format!("Bearer {}", paired.token).parse()?),
    })
}

fn asked(name: &str) -> Result<Invite, Fault> {
    Ok(Invite {
        name: name.parse()?,
        role: Role::Own,
        by: "local".to_owned(),
        at: None,
        again: false,
        office: None,
    })
}

/// Asks for an address as a browser does.
async fn get(way: &Way, path: &str) -> Result<Response<Body>, Fault> {
    let token = way.token.as_ref().ok_or("there is no token")?.to_str()?;
    let token = token.trim_start_matches("Bearer ");
    let request = Request::get(format!("http://fettled.internal{path}"))
        .header(header::COOKIE, format!("__Host-fettlebook={token}"))
        .body(Body::empty())?;
    let mut channel = way.channel.clone();
    std::future::poll_fn(|context| channel.poll_ready(context)).await?;
    Ok(channel.call(request).await?)
}

/// Reads a body to its end; how many bytes it had.
async fn bytes(answer: Response<Body>) -> Result<usize, Fault> {
    let mut body = std::pin::pin!(answer.into_body());
    let mut count = 0;
    while let Some(frame) = std::future::poll_fn(|context| body.as_mut().poll_frame(context)).await
    {
        count += frame?.data_ref().map_or(0, |data| data.len());
    }
    Ok(count)
}

async fn view(served: &Served, path: &str) -> Result<(), Fault> {
    let (mut waits, mut length) = (Vec::new(), 0);
    for _ in 0..TIMES {
        let begun = Instant::now();
        let answer = get(&served.way, path).await?;
        let status = answer.status();
        if !status.is_success() {
            return Err(format!("{path} was answered with {status}").into());
        }
        length = bytes(answer).await?;
        waits.push(begun.elapsed());
    }
    let most = waits.iter().copied().max().unwrap_or_default();
    let [p50, most] = [median(waits.into_iter()), most].map(|wait| micros(wait) / 1e3);
    println!("{path:<38}{length:>12}{p50:>12.2}{most:>12.2}");
    Ok(())
}

/// Telephones that watch, each a device with a connection of its own.
async fn watches(served: &Served) -> Result<Vec<tokio::task::JoinHandle<()>>, Fault> {
    let mut watching = Vec::new();
    for _ in 0..TELEPHONES {
        let name = format!("phone-{}", Uuid::now_v7().simple());
        let Served {
            access,
            credentials,
            ..
        } = served;
        let way = paired(access, served.address, credentials, &name).await?;
        let answer = get(&way, "/entries/watch?after=0").await?;
        if !answer.status().is_success() {
            return Err(format!("a watch was answered with {}", answer.status()).into());
        }
        watching.push(tokio::spawn(async move {
            // It ends with the round.
            let _ = bytes(answer).await;
            drop(way);
        }));
    }
    Ok(watching)
}

/// What this process holds of the machine's memory, KiB.
fn resident_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let figure = line.and_then(|line| line.split_whitespace().next());
    figure
        .and_then(|figure| figure.parse().ok())
        .unwrap_or_default()
}

/// A `fettled` with a book of its own, which ends with this.
struct Running {
    child: Child,
    way: Way,
}

impl Drop for Running {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to end.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The same calls to this build's `fettled` and to another, by turns.
fn binaries(
    plan: &Plan,
    runtime: &Runtime,
    folder: &Path,
    other: &Path,
    callers: usize,
) -> Result<(), Fault> {
    let own = std::env::current_exe()?.with_file_name("fettled");
    let running = [(own.as_path(), "own"), (other, "other")]
        .map(|(program, name)| runtime.block_on(start(program, &folder.join(name))));
    let [own, other] = running;
    let [own, other] = [own?, other?];
    let mut looks = [Vec::new(), Vec::new()];
    let mut logs = [Vec::new(), Vec::new()];
    for _ in 0..plan.rounds {
        for (at, one) in [&own, &other].into_iter().enumerate() {
            if let (Some(looks), Some(logs)) = (looks.get_mut(at), logs.get_mut(at)) {
                looks.push(look(plan, runtime, &one.way, callers)?);
                logs.push(log(plan, runtime, &one.way, callers)?);
            }
        }
    }
    for (call, [own, other]) in [("GetBook", looks), ("LogUse", logs)] {
        figures(&own).print(&format!("{call}, this fettled"), callers);
        figures(&other).print(&format!("{call}, the other fettled"), callers);
    }
    Ok(())
}

/// Starts a `fettled` on a new book with the shop in it, and pairs with it.
async fn start(program: &Path, book: &Path) -> Result<Running, Fault> {
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let (desk, _) = Desk::open(Arc::new(FolderStore::at(book)), &options)?;
    shop::stock(&desk).await?;
    desk.close().await?;
    let mut child = Command::new(program)
        .args([
            "--tls",
            "--listen",
            "127.0.0.1:0",
            "--log",
            "warn",
            "--book",
        ])
        .arg(book)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .spawn()?;
    let said = child.stdout.take().ok_or("fettled has no output")?;
    let mut lines = BufReader::new(said).lines();
    let first = lines.next().ok_or("fettled said nothing")??;
    // It says its fingerprint next; nobody hangs up on it before.
    drop(lines.next());
    let (_, address) = first.rsplit_once("://").ok_or("fettled said no address")?;
    let address = address.trim().parse()?;
    let cabinet = FolderStore::at(book).cabinet();
    let credentials = Credentials::own(&*cabinet, &[], SystemClock.now())?;
    let code = invite(&*cabinet, &asked("bench")?, SystemClock.now())?.code;
    let channel = dial(address, &credentials).await?;
    let asked = PairDeviceRequest {
        code_secret: code.secret,
        token_secret: vec![7; 32],
        ..PairDeviceRequest::default()
    };
    let mut access = AccessServiceClient::new(channel.clone());
    let token = access.pair_device(asked).await?.into_inner().token;
    let token = Some(format!("Bearer {token}").parse()?);
    Ok(Running {
        child,
        way: Way { channel, token },
    })
}
