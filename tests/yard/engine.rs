//! A private PostgreSQL for tests: one for each test program, in a folder of its own, on a socket in a file.
//!
//! It is started when a test first asks for it, and stopped and removed when the program ends, also when it
//! is killed. It never touches one that was there before, and listens on no address but where TLS is tried.
//! No test starts a program to speak to it: between its two steps a program that is started has the locks of this
//! one too. Where the machine has none, tests that need it say so and pass; with `FETTLEBOOK_REQUIRE_POSTGRES=1` a skip
//! fails.

use std::fs;
use std::future::Future;
use std::net::TcpListener;
use std::os::unix::fs::{PermissionsExt as _, chown};
use std::os::unix::process::CommandExt as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc::sync_channel;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::thread::sleep;
use std::time::{Duration, Instant};

use tempfile::TempDir;
use tokio::runtime::{Builder, Handle, Runtime};
use tokio::task::AbortHandle;
use tokio_postgres::{Client, Config, NoTls, SimpleQueryMessage};

/// Longest time until it answers.
const START_WAIT_MAX: Duration = Duration::from_secs(60);
const LOOK_EVERY: Duration = Duration::from_millis(50);

/// The port that names its socket where it listens on no address.
const PORT: u16 = 5432;

/// Who it belongs to inside.
const BOSS: &str = "boss";

/// Users to run it as for the superuser, whom it refuses; the first that exists.
const USERS: [&str; 2] = ["postgres", "nobody"];

/// Runs the engine until the other end of its input is gone, which it is however this program ends; then
/// stops it without waiting for callers, and removes its folders.
const KEEPER: &str = r#"trap '' INT TERM HUP; data=$1; shift
"$@" </dev/null & engine=$!
read -r _; kill -INT "$engine"; wait "$engine"
rm -rf "$data""#;

/// A PostgreSQL that runs.
#[derive(Debug)]
pub struct Engine {
    folder: PathBuf,
    port: u16,
    /// Drives the sessions.
    runtime: Runtime,
    /// Its input keeps it going.
    _keeper: Child,
}

/// The engine of this test program; none, with a word about it, where the machine has no PostgreSQL.
///
/// # Panics
/// When there is one and it does not start, or there has to be one: that is no reason to pass.
#[must_use]
pub fn engine() -> Option<&'static Engine> {
    static ENGINE: OnceLock<Option<Engine>> = OnceLock::new();
    let start = || Some(Engine::start(&programs_here()?, None));
    ENGINE.get_or_init(start).as_ref()
}

/// One more engine, for a test that sets it up otherwise. With a certificate and its key, in PEM, it listens on
/// this machine's own address too, over TLS.
///
/// # Panics
/// As [`engine`].
#[must_use]
pub fn own_engine(sealed: Option<(&str, &str)>) -> Option<Engine> {
    Some(Engine::start(&programs_here()?, sealed))
}

fn programs_here() -> Option<PathBuf> {
    let found = programs();
    if found.is_none() {
        let required = std::env::var("FETTLEBOOK_REQUIRE_POSTGRES").is_ok_and(|value| value == "1");
        assert!(
            !required,
            "required, yet skipped: PostgreSQL is not on this machine"
        );
        println!("skipped: PostgreSQL is not on this machine (Debian: apt install postgresql)");
    }
    found
}

impl Engine {
    fn start(programs: &Path, sealed: Option<(&str, &str)>) -> Self {
        let user = is_superuser().then(|| unprivileged().expect("a user to run PostgreSQL as"));
        // A socket's path has a narrow limit.
        let folder = TempDir::with_prefix("pg").expect("a folder").keep();
        if let Some((id, group)) = user {
            chown(&folder, Some(id), Some(group)).expect("a folder of its own");
        }
        let data = folder.join("data");
        let made = as_user(user, &programs.join("initdb"))
            .args([
                "--auth=trust",
                "--encoding=UTF8",
                "--no-sync",
                "--username",
                BOSS,
                "--pgdata",
            ])
            .arg(&data)
            .output()
            .expect("initdb");
        assert!(
            made.status.success(),
            "{}",
            String::from_utf8_lossy(&made.stderr)
        );
        let mut port = PORT;
        let mut address = Vec::new();
        if let Some((certificate, key)) = sealed {
            for (name, text) in [("server.crt", certificate), ("server.key", key)] {
                let path = data.join(name);
                fs::write(&path, text).expect("a certificate");
                fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).expect("a file");
                if let Some((id, group)) = user {
                    chown(&path, Some(id), Some(group)).expect("a file of its own");
                }
            }
            let free = TcpListener::bind("127.0.0.1:0").and_then(|free| free.local_addr());
            port = free.expect("a free port").port();
            address.extend(["-c", "ssl=on", "-c", "listen_addresses=127.0.0.1"]);
        } else {
            address.extend(["-c", "listen_addresses="]);
        }
        let keeper = as_user(user, Path::new("/bin/sh"))
            .args(["-c", KEEPER, "keeper"])
            .arg(&folder)
            .arg(programs.join("postgres"))
            .arg("-D")
            .arg(&data)
            .arg("-k")
            .arg(&folder)
            .args(address)
            .args(["-c", &format!("port={port}"), "-c", "max_connections=200"])
            // What a test asks for is lost with the test; cuts of power are tried on a cluster that syncs.
            .args(["-c", "fsync=off", "-c", "shared_buffers=32MB"])
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("postgres");
        let mut runtime = Builder::new_multi_thread();
        let runtime = runtime.worker_threads(1).enable_all().build();
        let runtime = runtime.expect("a runtime");
        let engine = Self {
            folder,
            port,
            runtime,
            _keeper: keeper,
        };
        let start = Instant::now();
        while engine.try_session("postgres").is_err() {
            assert!(
                start.elapsed() < START_WAIT_MAX,
                "PostgreSQL does not answer"
            );
            sleep(LOOK_EVERY);
        }
        engine
    }

    /// A database that nobody else has, in which this was run.
    #[must_use]
    pub fn database(&self, sql: &str) -> String {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        // Roles are of all databases, and two who grant to one at once get in each other's way.
        static TURN: Mutex<()> = Mutex::new(());
        let _turn = TURN.lock().unwrap_or_else(PoisonError::into_inner);
        let name = format!("test_{}", COUNT.fetch_add(1, Ordering::Relaxed));
        self.run("postgres", &format!("CREATE DATABASE {name}"));
        self.run(&name, sql);
        name
    }

    /// Where a role reaches a database.
    #[must_use]
    pub fn url(&self, role: &str, database: &str) -> String {
        let folder = self.folder.display().to_string().replace('/', "%2F");
        format!("postgres://{role}@{folder}/{database}")
    }

    /// The port on this machine's own address, of one that listens there.
    #[must_use]
    pub const fn port(&self) -> u16 {
        self.port
    }

    /// Runs SQL as the superuser, and gives the rows as text, a row a line.
    ///
    /// # Panics
    /// When it fails.
    #[must_use = "what it says; drop it where that does not matter"]
    pub fn ask(&self, database: &str, sql: &str) -> String {
        self.session(database).ask(sql)
    }

    /// Runs SQL as the superuser.
    ///
    /// # Panics
    /// When it fails.
    pub fn run(&self, database: &str, sql: &str) {
        drop(self.ask(database, sql));
    }

    /// A session of the superuser.
    ///
    /// # Panics
    /// When it cannot be had.
    #[must_use]
    pub fn session(&self, database: &str) -> Session {
        self.try_session(database).expect("a session")
    }

    fn try_session(&self, database: &str) -> Result<Session, tokio_postgres::Error> {
        let mut config = Config::new();
        config.host_path(&self.folder).port(self.port);
        config.user(BOSS).dbname(database);
        let runtime = self.runtime.handle().clone();
        let (client, driver) = wait(&runtime, async move {
            let (client, connection) = config.connect(NoTls).await?;
            Ok::<_, tokio_postgres::Error>((client, tokio::spawn(connection).abort_handle()))
        })?;
        Ok(Session {
            client: Arc::new(client),
            driver,
            runtime,
        })
    }
}

/// A session that stays until it is dropped.
#[derive(Debug)]
pub struct Session {
    client: Arc<Client>,
    driver: AbortHandle,
    runtime: Handle,
}

impl Session {
    /// Runs SQL in it, and gives the rows as text, a row a line.
    ///
    /// # Panics
    /// When it fails.
    #[must_use = "what it says; drop it where that does not matter"]
    pub fn ask(&self, sql: &str) -> String {
        let (client, asked) = (Arc::clone(&self.client), sql.to_owned());
        let said = wait(
            &self.runtime,
            async move { client.simple_query(&asked).await },
        );
        let rows = said.unwrap_or_else(|error| panic!("{sql}: {error:?}"));
        let row = |message: &SimpleQueryMessage| match message {
            SimpleQueryMessage::Row(row) => {
                let fields: Vec<&str> =
                    (0..row.len()).map(|at| row.get(at).unwrap_or("")).collect();
                Some(fields.join("|"))
            }
            _ => None,
        };
        let rows: Vec<String> = rows.iter().filter_map(row).collect();
        rows.join("\n")
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        self.driver.abort();
    }
}

/// Waits for something on whatever thread this is, one that drives tasks among them.
fn wait<T: Send + 'static>(runtime: &Handle, work: impl Future<Output = T> + Send + 'static) -> T {
    let (reply, answer) = sync_channel(1);
    runtime.spawn(async move { reply.send(work.await) });
    answer.recv().expect("an answer")
}

fn as_user(user: Option<(u32, u32)>, program: &Path) -> Command {
    let mut command = Command::new(program);
    command
        .current_dir("/")
        .env("LC_ALL", "C")
        .stdin(Stdio::null());
    if let Some((id, group)) = user {
        command.uid(id).gid(group);
    }
    command
}

/// Whether this runs as the superuser. Source: proc_pid_status(5), the effective id is the second.
fn is_superuser() -> bool {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let ids = status.lines().find_map(|line| line.strip_prefix("Uid:"));
    ids.and_then(|ids| ids.split_whitespace().nth(1)) == Some("0")
}

fn unprivileged() -> Option<(u32, u32)> {
    let users = fs::read_to_string("/etc/passwd").ok()?;
    let find = |name: &&str| {
        users.lines().find_map(|line| {
            let fields: Vec<&str> = line.split(':').collect();
            let [found, _, id, group, ..] = fields.as_slice() else {
                return None;
            };
            (found == name).then_some((id.parse().ok()?, group.parse().ok()?))
        })
    };
    USERS.iter().find_map(find)
}

/// The folder with its programs: on the path, else the newest where Debian puts them.
fn programs() -> Option<PathBuf> {
    let whole = |folder: &PathBuf| {
        let mut programs = ["initdb", "postgres"].iter();
        programs.all(|program| folder.join(program).is_file())
    };
    let path = std::env::var_os("PATH").unwrap_or_default();
    if let Some(found) = std::env::split_paths(&path).find(whole) {
        return Some(found);
    }
    let versions = fs::read_dir("/usr/lib/postgresql").ok()?.flatten();
    let numbered = versions.filter_map(|entry| {
        let version: u32 = entry.file_name().to_str()?.parse().ok()?;
        Some((version, entry.path().join("bin")))
    });
    let newest = numbered.filter(|(_, folder)| whole(folder)).max()?;
    // What runs it may be another user.
    fs::metadata(&newest.1)
        .ok()
        .filter(|found| found.permissions().mode() & 0o005 == 0o005)?;
    Some(newest.1)
}
