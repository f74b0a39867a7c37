//! One `fettled` with all books of an engine, as a process of its own.

use std::fs::File;
use std::io::{BufRead as _, BufReader};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};

use crate::Fault;
use crate::processes::{Taken, cpu_time_of, taken};

/// How it is built.
const BUILD: &str = "cargo build --profile bench --features postgres --bin fettled";

/// What the unit file has the allocator do.
const ALLOCATOR: [(&str, &str); 2] = [
    ("MIMALLOC_ARENA_MAX_OBJECT_SIZE", "1MiB"),
    ("MIMALLOC_ALLOW_THP", "0"),
];

/// A node that runs; it ends with this.
pub(super) struct Node {
    child: Child,
    pub(super) address: SocketAddr,
    /// How long it took until it listened.
    pub(super) started_in: Duration,
}

/// The `fettled` beside this program.
pub(super) fn program() -> Result<PathBuf, Fault> {
    let program = std::env::current_exe()?.with_file_name("fettled");
    let mut tables = Command::new(&program);
    let knows_engines = tables.arg("tables").stderr(Stdio::null()).output();
    match knows_engines {
        Ok(said) if said.status.success() => Ok(program),
        _ => Err(format!(
            "{} keeps no books in an engine; build it first: {BUILD}",
            program.display()
        )
        .into()),
    }
}

impl Node {
    /// Starts one for paired devices that lets go of a book once nobody used it for so long.
    pub(super) fn start(
        program: &Path,
        url: &str,
        folder: &Path,
        let_go_after: &str,
    ) -> Result<Self, Fault> {
        let begun = Instant::now();
        let mut child = Command::new(program)
            .env("FETTLED_STORE", url)
            .envs(ALLOCATOR)
            .args(["--tls", "--listen", "127.0.0.1:0", "--log", "warn"])
            .args(["--let-go-after", let_go_after, "--node"])
            .arg(folder)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(File::create(folder.with_extension("log"))?)
            .spawn()?;
        let said = child.stdout.take().ok_or("fettled has no output")?;
        let mut lines = BufReader::new(said).lines();
        let log = || std::fs::read_to_string(folder.with_extension("log")).unwrap_or_default();
        let first = lines
            .next()
            .ok_or_else(|| format!("fettled does not start: {}", log()))??;
        let started_in = begun.elapsed();
        // It says its fingerprint next; nobody hangs up on it before.
        drop(lines.next());
        let (_, address) = first.rsplit_once("://").ok_or("fettled said no address")?;
        Ok(Self {
            child,
            address: address.trim().parse()?,
            started_in,
        })
    }

    pub(super) fn taken(&self) -> Result<Taken, Fault> {
        taken(self.child.id())
    }

    pub(super) fn cpu(&self) -> Result<Duration, Fault> {
        cpu_time_of(self.child.id())
    }

    /// Has it give its books back and end; how long that took.
    pub(super) fn stop(mut self) -> Result<Duration, Fault> {
        let begun = Instant::now();
        let id = i32::try_from(self.child.id())?;
        kill_process(Pid::from_raw(id).ok_or("it has no number")?, Signal::TERM)?;
        let status = self.child.wait()?;
        if !status.success() {
            return Err(format!("fettled ended with {status}").into());
        }
        Ok(begun.elapsed())
    }
}

impl Drop for Node {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to end.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
