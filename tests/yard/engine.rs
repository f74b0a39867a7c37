//! A private PostgreSQL for tests and benches: one for each program, in a folder of its own, on a socket in a file.
//!
//! It is started when a test first asks for it, and stopped and removed when the program ends, also when it
//! is killed. It never touches one that was there before, and listens on no address but where TLS is tried.
//! No test starts a program to speak to it: between its two steps a program that is started has the locks of this
//! one too. Where the machine has none, tests that need it say so and pass; with `FETTLEBOOK_REQUIRE_POSTGRES=1` a skip
//! fails.

mod machine;
mod session;

use std::fs;
use std::net::TcpListener;
use std::os::unix::fs::{PermissionsExt as _, chown};
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::thread::sleep;
use std::time::{Duration, Instant};

use tempfile::TempDir;
use tokio::runtime::{Builder, Runtime};
use tokio_postgres::{Config, NoTls};

use machine::{as_user, is_superuser, programs, unprivileged};
pub use session::Session;
use session::wait;

/// Longest time until it answers.
const START_WAIT_MAX: Duration = Duration::from_secs(60);
const LOOK_EVERY: Duration = Duration::from_millis(50);

/// The port that names its socket where it listens on no address.
const PORT: u16 = 5432;

/// Who it belongs to inside.
pub const BOSS: &str = "boss";

/// Runs the engine until the other end of its input is gone, which it is however this program ends; then
/// stops it without waiting for callers, and removes its folders.
const KEEPER: &str = r#"trap '' INT TERM HUP; folder=$1; data=$2; shift 2
"$@" </dev/null & engine=$!
read -r _; kill -INT "$engine"; wait "$engine"
rm -rf "$folder" "$data""#;

/// A PostgreSQL that runs.
#[derive(Debug)]
pub struct Engine {
    folder: PathBuf,
    data: PathBuf,
    port: u16,
    /// Drives the sessions.
    runtime: Runtime,
    /// Its input keeps it going.
    keeper: Child,
}

/// How an engine is set up otherwise.
#[derive(Debug, Clone, Copy, Default)]
pub struct Setting<'a> {
    /// A certificate and its key, in PEM, with which it listens on this machine's own address too, over TLS.
    pub sealed: Option<(&'a str, &'a str)>,
    /// Where its files go instead; then its settings are its own defaults, which sync every commit.
    pub synced_in: Option<&'a Path>,
}

/// The engine of this test program; none, with a word about it, where the machine has no PostgreSQL.
///
/// # Panics
/// When there is one and it does not start, or there has to be one: that is no reason to pass.
#[must_use]
pub fn engine() -> Option<&'static Engine> {
    static ENGINE: OnceLock<Option<Engine>> = OnceLock::new();
    let start = || Some(Engine::start(&programs_here()?, Setting::default()));
    ENGINE.get_or_init(start).as_ref()
}

/// One more engine, for whoever sets it up otherwise.
///
/// # Panics
/// As [`engine`].
#[must_use]
pub fn own_engine(setting: Setting<'_>) -> Option<Engine> {
    Some(Engine::start(&programs_here()?, setting))
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
    fn start(programs: &Path, setting: Setting<'_>) -> Self {
        let user = is_superuser().then(|| unprivileged().expect("a user to run PostgreSQL as"));
        // A socket's path has a narrow limit.
        let folder = TempDir::with_prefix("pg").expect("a folder").keep();
        let given = |folder: &Path| {
            if let Some((id, group)) = user {
                chown(folder, Some(id), Some(group)).expect("a folder of its own");
            }
        };
        given(&folder);
        let data = setting.synced_in.map_or_else(
            || folder.join("data"),
            |place| {
                let data = TempDir::with_prefix_in("data", place)
                    .expect("a folder")
                    .keep();
                // Whoever it runs as goes through the folder above, and sees nothing of it.
                fs::set_permissions(place, fs::Permissions::from_mode(0o711)).expect("a folder");
                given(&data);
                fs::canonicalize(data).expect("a folder")
            },
        );
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
        let mut settings = Vec::new();
        if let Some((certificate, key)) = setting.sealed {
            for (name, text) in [("server.crt", certificate), ("server.key", key)] {
                let path = data.join(name);
                fs::write(&path, text).expect("a certificate");
                fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).expect("a file");
                given(&path);
            }
            let free = TcpListener::bind("127.0.0.1:0").and_then(|free| free.local_addr());
            port = free.expect("a free port").port();
            settings.extend(["-c", "ssl=on", "-c", "listen_addresses=127.0.0.1"]);
        } else {
            settings.extend(["-c", "listen_addresses="]);
        }
        if setting.synced_in.is_none() {
            // What a test asks for is lost with the test; cuts of power are tried on a cluster that syncs.
            let for_tests = ["max_connections=200", "fsync=off", "shared_buffers=32MB"];
            settings.extend(for_tests.iter().flat_map(|one| ["-c", one]));
        }
        let keeper = as_user(user, Path::new("/bin/sh"))
            .args(["-c", KEEPER, "keeper"])
            .args([&folder, &data])
            .arg(programs.join("postgres"))
            .arg("-D")
            .arg(&data)
            .arg("-k")
            .arg(&folder)
            .args(settings)
            .args(["-c", &format!("port={port}")])
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
            data,
            port,
            runtime,
            keeper,
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

    /// Number of its first process; none where it has ended.
    #[must_use]
    pub fn process(&self) -> Option<u32> {
        let told = fs::read_to_string(self.data.join("postmaster.pid")).ok()?;
        told.lines().next()?.parse().ok()
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

impl Drop for Engine {
    /// Its folders are gone after.
    fn drop(&mut self) {
        drop(self.keeper.stdin.take());
        let _ended = self.keeper.wait();
    }
}
