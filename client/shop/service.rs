//! `fettled` on the machine with the book: started beside this command, and left running.
//!
//! It serves `shop open`. A service that cannot start says why in its log, whose last line is told.

use std::fs::File;
use std::io::{BufRead as _, BufReader};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use crate::exit::Exit;
use crate::fault::Fault;

/// Longest wait until a service listens: a long book is read through first.
const START_WAIT: Duration = Duration::from_secs(60);

/// Name of the service's log in the folder of the shop.
const LOG: &str = "fettled.log";

/// A service that was started.
#[derive(Debug)]
pub(crate) struct Started {
    /// Its process.
    pub(crate) process: u32,
    /// Where it logs.
    pub(crate) log: PathBuf,
    /// Where it listens.
    pub(crate) listens: SocketAddr,
}

/// Starts the service on a book, waits until it listens, and leaves it running. Its log is in `folder`.
///
/// # Errors
/// When it cannot be started or ends at once, with what it said.
pub(crate) async fn start(
    book: &Path,
    listen: SocketAddr,
    folder: &Path,
) -> Result<Started, Fault> {
    let log = folder.join(LOG);
    let said =
        File::create(&log).map_err(|error| Fault::file(&log.display().to_string(), &error))?;
    let program = beside_this_one();
    let mut command = Command::new(&program);
    command
        .arg("--book")
        .arg(book)
        .args(["--tls", "--listen", &listen.to_string()])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(said);
    #[cfg(unix)]
    std::os::unix::process::CommandExt::process_group(&mut command, 0);
    let child = command
        .spawn()
        .map_err(|error| Fault::file(&program.display().to_string(), &error))?;
    let process = child.id();
    let listening = tokio::task::spawn_blocking(move || listening(child));
    match tokio::time::timeout(START_WAIT, listening).await {
        Ok(Ok(Some(listens))) => Ok(Started {
            process,
            log,
            listens,
        }),
        Ok(_) => Err(ended(&log)),
        Err(_) => Err(late(process, &log)),
    }
}

/// Where it listens, once it says so; nothing when it ended instead.
fn listening(mut child: Child) -> Option<SocketAddr> {
    let mut said = BufReader::new(child.stdout.take()?).lines();
    let first = said.next().and_then(Result::ok);
    let address = first.and_then(|line| line.rsplit_once("://")?.1.trim().parse().ok());
    // It says its fingerprint next; nobody hangs up on it before.
    let fingerprint = said.next();
    if address.is_none() || fingerprint.is_none() {
        // What it ended with is in its log.
        let _ = child.wait();
        return None;
    }
    address
}

/// The service's program: the one beside this program, else the one that is found.
fn beside_this_one() -> PathBuf {
    let name = format!("fettled{}", std::env::consts::EXE_SUFFIX);
    let own = std::env::current_exe().ok();
    let beside = own.map(|own| own.with_file_name(&name));
    beside
        .filter(|path| path.is_file())
        .unwrap_or_else(|| name.into())
}

fn ended(log: &Path) -> Fault {
    let said = std::fs::read_to_string(log).unwrap_or_default();
    let last = said.lines().rfind(|line| !line.trim().is_empty());
    let last = last.unwrap_or("it said nothing").trim_end_matches('.');
    Fault::own(
        "SERVICE_ENDED",
        Exit::Failed,
        format!("fettled did not start: {last}."),
        format!(
            "Its log is {}. Put that right and run it again.",
            log.display()
        ),
    )
}

fn late(process: u32, log: &Path) -> Fault {
    Fault::own(
        "SERVICE_LATE",
        Exit::Unreachable,
        format!(
            "fettled (process {process}) has not begun to listen in {} seconds.",
            START_WAIT.as_secs()
        ),
        format!(
            "It may still read a long book through. Look into {}, then run it again.",
            log.display()
        ),
    )
}
