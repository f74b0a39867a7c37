//! A private PostgreSQL: a cluster in a folder of its own that listens on a socket in a file only.
//!
//! It serves one run. It is made, started, stopped and removed here, also when the run fails or is
//! killed, and it must never touch a cluster that was there before. Each step has a time by which it
//! is over.

use std::fs;
use std::io::Read;
use std::os::unix::fs::{PermissionsExt, chown};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, geteuid, kill_process};
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tokio_postgres::{Client, Config, NoTls};

use crate::Fault;

/// Longest time for making a cluster.
const MAKE_WAIT_MAX: Duration = Duration::from_secs(60);

/// Longest time until it answers, and until it has stopped when asked to.
const WAIT_MAX: Duration = Duration::from_secs(20);

/// How often it is looked after while something is waited for.
const LOOK_EVERY: Duration = Duration::from_millis(20);

/// Who it belongs to inside.
const ROLE: &str = "bench";

/// The users to run it as when this is run by the superuser, whom it refuses; the first that exists.
const USERS: [&str; 2] = ["postgres", "nobody"];

/// Runs the server until the other end of its input is gone, which it is however this program ends:
/// then it has the server stop without waiting for callers, and empties its folders.
const KEEPER: &str = r#"trap '' INT TERM HUP; data=$1; sockets=$2; shift 2
"$@" </dev/null & server=$!
read -r _; kill -INT "$server"; wait "$server"
rm -rf "$data"/* "$sockets"/*"#;

/// A cluster that runs.
pub(crate) struct Cluster {
    keeper: Child,
    server: u32,
    sockets: TempDir,
    _data: TempDir,
}

/// The processes of a cluster.
pub(super) struct Processes(u32);

/// An unprivileged user.
#[derive(Clone, Copy)]
struct User {
    id: u32,
    group: u32,
}

impl Cluster {
    /// Makes a cluster in a folder and starts it.
    pub(crate) fn start(runtime: &Runtime, folder: &Path) -> Result<Self, Fault> {
        let programs = programs().ok_or("there is none on this machine")?;
        let user = geteuid().is_root().then(unprivileged).transpose()?;
        let data = owned(TempDir::new_in(folder)?, user)?;
        // A socket's path has a narrow limit, which the folder of the files may be beyond.
        let sockets = owned(TempDir::new()?, user)?;
        if user.is_some() {
            fs::set_permissions(folder, fs::Permissions::from_mode(0o711))?;
        }
        let run = |program: &str| {
            let mut command = Command::new(programs.join(program));
            command.current_dir("/").env("LC_ALL", "C");
            command.stdin(Stdio::null()).stdout(Stdio::null());
            if let Some(User { id, group }) = user {
                command.uid(id).gid(group);
            }
            command
        };
        let data_folder = fs::canonicalize(data.path())?;
        let make = run("initdb")
            .args(["--auth=trust", "--encoding=UTF8", "--no-sync"])
            .args(["--username", ROLE, "--pgdata"])
            .arg(&data_folder)
            .stderr(Stdio::piped())
            .spawn()?;
        finish(make)?;
        let keeper = run("/bin/sh")
            .args(["-c", KEEPER, "keeper"])
            .args([data_folder.as_path(), sockets.path()])
            .arg(programs.join("postgres"))
            .arg("-D")
            .arg(&data_folder)
            .arg("-k")
            .arg(sockets.path())
            .args(["-c", "listen_addresses="])
            .stdin(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        let mut cluster = Self {
            keeper,
            server: 0,
            sockets,
            _data: data,
        };
        cluster.wait_for_answer(runtime)?;
        let told = fs::read_to_string(data_folder.join("postmaster.pid"))?;
        cluster.server = told.lines().next().ok_or("it has no number")?.parse()?;
        Ok(cluster)
    }

    /// A connection, kept going by the runtime this is called in.
    pub(super) async fn connect(&self) -> Result<Client, tokio_postgres::Error> {
        self.connect_to("postgres").await
    }

    /// Makes a database, and runs this in it.
    pub(super) async fn make_database(
        &self,
        name: &str,
        sql: &str,
    ) -> Result<(), tokio_postgres::Error> {
        let make = format!("CREATE DATABASE {name}");
        self.connect().await?.batch_execute(&make).await?;
        self.connect_to(name).await?.batch_execute(sql).await
    }

    /// Where a database is reached.
    pub(super) fn url(&self, database: &str) -> String {
        let folder = self.sockets.path().display().to_string();
        format!(
            "postgres://{ROLE}@{}/{database}",
            folder.replace('/', "%2F")
        )
    }

    async fn connect_to(&self, database: &str) -> Result<Client, tokio_postgres::Error> {
        let mut config = Config::new();
        config.host_path(self.sockets.path());
        config.user(ROLE).dbname(database);
        let (client, connection) = config.connect(NoTls).await?;
        tokio::spawn(connection);
        Ok(client)
    }

    /// Its processes.
    pub(super) fn processes(&self) -> Processes {
        Processes(self.server)
    }

    fn wait_for_answer(&mut self, runtime: &Runtime) -> Result<(), Fault> {
        let start = Instant::now();
        loop {
            match runtime.block_on(self.connect()) {
                Ok(_) => return Ok(()),
                Err(why) if start.elapsed() > WAIT_MAX => return Err(why.into()),
                Err(_) => sleep(LOOK_EVERY),
            }
        }
    }

    /// True once its keeper has ended, and so the server has.
    fn has_ended(&mut self) -> bool {
        let start = Instant::now();
        while start.elapsed() < WAIT_MAX {
            if !matches!(self.keeper.try_wait(), Ok(None)) {
                return true;
            }
            sleep(LOOK_EVERY);
        }
        false
    }
}

impl Drop for Cluster {
    /// Stops it before its folders are removed; at once when it does not stop in time.
    fn drop(&mut self) {
        drop(self.keeper.stdin.take());
        if self.has_ended() {
            return;
        }
        let server = i32::try_from(self.server).ok().and_then(Pid::from_raw);
        // There is nothing left to try when this fails.
        let _ = server.map(|server| kill_process(server, Signal::QUIT));
        self.has_ended();
    }
}

impl Processes {
    /// Processor time of the server and of the processes it has started and that still run, each of
    /// which has one thread. Source: proc_pid_stat(5) for the parent; the kernel's page on scheduler
    /// statistics for the time, which is in nanoseconds and not, as elsewhere, in hundredths of a
    /// second that many short-lived turns never fill.
    pub(super) fn cpu_time(&self) -> Duration {
        let processes = fs::read_dir("/proc").into_iter().flatten().flatten();
        let times = processes.filter_map(|process| {
            let id: u32 = process.file_name().to_str()?.parse().ok()?;
            let stat = fs::read_to_string(process.path().join("stat")).ok()?;
            let (_, fields) = stat.rsplit_once(')')?;
            let parent: u32 = fields.split_whitespace().nth(1)?.parse().ok()?;
            if id != self.0 && parent != self.0 {
                return None;
            }
            let times = fs::read_to_string(process.path().join("schedstat")).ok()?;
            let on_processor = times.split_whitespace().next()?.parse().ok()?;
            Some(Duration::from_nanos(on_processor))
        });
        times.sum()
    }
}

/// The folder with its programs: on the path, else the newest where they are usually put.
fn programs() -> Option<PathBuf> {
    let whole = |folder: &PathBuf| {
        ["initdb", "postgres"]
            .iter()
            .all(|program| folder.join(program).is_file())
    };
    let path = std::env::var_os("PATH").unwrap_or_default();
    if let Some(found) = std::env::split_paths(&path).find(whole) {
        return Some(found);
    }
    let versions = fs::read_dir("/usr/lib/postgresql").ok()?.flatten();
    let mut versions: Vec<(u32, PathBuf)> = versions
        .filter_map(|entry| {
            let version = entry.file_name().to_str()?.parse().ok()?;
            Some((version, entry.path().join("bin")))
        })
        .filter(|(_, folder)| whole(folder))
        .collect();
    versions.sort();
    versions.pop().map(|(_, folder)| folder)
}

/// A user who may run it.
fn unprivileged() -> Result<User, Fault> {
    let users = fs::read_to_string("/etc/passwd")?;
    let find = |name: &str| {
        users.lines().find_map(|line| {
            let mut fields = line.split(':');
            let is_it = fields.next() == Some(name);
            let mut ids = fields.skip(1).map(str::parse);
            match (is_it, ids.next(), ids.next()) {
                (true, Some(Ok(id)), Some(Ok(group))) => Some(User { id, group }),
                _ => None,
            }
        })
    };
    let found = USERS.iter().find_map(|name| find(name));
    Ok(found.ok_or("the superuser may not run it, and there is no other user to run it as")?)
}

/// A folder that belongs to a user.
fn owned(folder: TempDir, user: Option<User>) -> std::io::Result<TempDir> {
    if let Some(User { id, group }) = user {
        chown(folder.path(), Some(id), Some(group))?;
    }
    Ok(folder)
}

/// Waits until a program has done its work.
fn finish(mut program: Child) -> Result<(), Fault> {
    let start = Instant::now();
    loop {
        match program.try_wait()? {
            Some(status) if status.success() => return Ok(()),
            Some(status) => {
                let mut said = String::new();
                if let Some(mut talk) = program.stderr.take() {
                    talk.read_to_string(&mut said)?;
                }
                return Err(format!("initdb failed, {status}: {}", said.trim()).into());
            }
            None if start.elapsed() > MAKE_WAIT_MAX => {
                program.kill()?;
                program.wait()?;
                return Err(format!("initdb took longer than {MAKE_WAIT_MAX:?}").into());
            }
            None => sleep(LOOK_EVERY),
        }
    }
}
