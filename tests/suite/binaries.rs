//! The real binaries: a served book that ends with the test, and one run of the client.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::OnceLock;
use std::thread::sleep;
use std::time::Duration;

use serde_json::Value;
use tempfile::TempDir;

/// A running `fettled` on a free loopback port; killed when dropped.
pub(crate) struct Fettled {
    child: Child,
    pub(crate) url: String,
}

impl Fettled {
    /// Serves the book in a folder.
    pub(crate) fn serve(book: &Path) -> Self {
        Self::start(Command::new(env!("CARGO_BIN_EXE_fettled")), book)
    }

    /// Serves it with so many files at most open at a time.
    pub(crate) fn serve_with_files(book: &Path, file_count: usize) -> Self {
        let mut command = Command::new("sh");
        let limited = format!("ulimit -n {file_count}; exec \"$0\" \"$@\"");
        command.args(["-c", &limited, env!("CARGO_BIN_EXE_fettled")]);
        Self::start(command, book)
    }

    /// Serves it where no file may grow beyond so many blocks of 512 bytes, as on a disk that is full.
    pub(crate) fn serve_with_blocks(book: &Path, block_count: u32) -> Self {
        let mut command = Command::new("sh");
        let limited = format!("trap '' XFSZ; ulimit -f {block_count}; exec \"$0\" \"$@\"");
        command.args(["-c", &limited, env!("CARGO_BIN_EXE_fettled")]);
        Self::start(command, book)
    }

    /// Serves it over TLS, to the devices that are paired with it.
    pub(crate) fn serve_tls(book: &Path) -> Self {
        Self::serve_tls_by(Command::new(env!("CARGO_BIN_EXE_fettled")), book)
    }

    /// The same, started by a command.
    pub(crate) fn serve_tls_by(mut command: Command, book: &Path) -> Self {
        command.arg("--tls");
        let (fettled, mut said) = Self::begin(command, book);
        // It says its fingerprint next; nobody hangs up on it before.
        said.read_line(&mut String::new()).unwrap();
        fettled
    }

    /// The same, with all that its own rooms log in a file.
    pub(crate) fn serve_tls_logged(book: &Path, log: &Path) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
        command.arg("--tls");
        let level = "info,fettlebook_server=trace,fettlebook_page=trace";
        let log = fs::File::create(log).unwrap();
        let (fettled, mut said) = Self::begin_logged(command, book, level, log.into());
        said.read_line(&mut String::new()).unwrap();
        fettled
    }

    /// Serves it and tells metrics, at the URL given beside.
    pub(crate) fn serve_measured(book: &Path) -> (Self, String) {
        Self::serve_measured_by(Command::new(env!("CARGO_BIN_EXE_fettled")), book)
    }

    /// The same, started by a command.
    pub(crate) fn serve_measured_by(mut command: Command, book: &Path) -> (Self, String) {
        command.args(["--metrics", "127.0.0.1:0"]);
        let (fettled, mut said) = Self::begin(command, book);
        let mut line = String::new();
        said.read_line(&mut line).unwrap();
        let url = line.split_whitespace().last().unwrap_or_default();
        (fettled, url.to_owned())
    }

    /// Serves it over TLS and tells metrics.
    pub(crate) fn serve_measured_tls(book: &Path) -> (Self, String) {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
        command.args(["--metrics", "127.0.0.1:0", "--tls"]);
        let (fettled, mut said) = Self::begin(command, book);
        let mut lines = [String::new(), String::new()];
        for line in &mut lines {
            said.read_line(line).unwrap();
        }
        let url = lines[1].split_whitespace().last().unwrap_or_default();
        (fettled, url.to_owned())
    }

    /// Serves the book that an engine keeps, on a machine that keeps its own in a folder.
    #[cfg(unix)]
    pub(crate) fn serve_from(engine: &str, node: &Path, options: &[&str]) -> Self {
        let command = Command::new(env!("CARGO_BIN_EXE_fettled"));
        Self::serve_from_by(command, engine, node, options)
    }

    /// The same, started by a command.
    #[cfg(unix)]
    pub(crate) fn serve_from_by(
        mut command: Command,
        engine: &str,
        node: &Path,
        options: &[&str],
    ) -> Self {
        command.env("FETTLED_STORE", engine).arg("--node").arg(node);
        command.args(options);
        let (fettled, mut said) = Self::begin_kept(command, "error", Stdio::inherit());
        if options.contains(&"--tls") {
            // It says its fingerprint next; nobody hangs up on it before.
            said.read_line(&mut String::new()).unwrap();
        }
        fettled
    }

    /// The same, which tells metrics at the URL given beside.
    #[cfg(unix)]
    pub(crate) fn serve_from_measured(
        engine: &str,
        node: &Path,
        options: &[&str],
    ) -> (Self, String) {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
        command.env("FETTLED_STORE", engine).arg("--node").arg(node);
        command.args(["--metrics", "127.0.0.1:0"]).args(options);
        let (fettled, mut said) = Self::begin_kept(command, "error", Stdio::inherit());
        let mut line = String::new();
        said.read_line(&mut line).unwrap();
        let url = line.split_whitespace().last().unwrap_or_default();
        (fettled, url.to_owned())
    }

    fn start(command: Command, book: &Path) -> Self {
        Self::begin(command, book).0
    }

    /// A service that can be reached, and what it says further.
    fn begin(command: Command, book: &Path) -> (Self, impl BufRead + use<>) {
        Self::begin_logged(command, book, "warn", Stdio::inherit())
    }

    fn begin_logged(
        mut command: Command,
        book: &Path,
        level: &str,
        log: Stdio,
    ) -> (Self, impl BufRead + use<>) {
        command.arg("--book").arg(book);
        Self::begin_kept(command, level, log)
    }

    /// The same for a command that names where the book is kept.
    fn begin_kept(mut command: Command, level: &str, log: Stdio) -> (Self, impl BufRead + use<>) {
        if !command.get_args().any(|word| word == "--listen") {
            command.args(["--listen", "127.0.0.1:0"]);
        }
        let mut child = command
            .args(["--log", level])
            .stdout(Stdio::piped())
            .stderr(log)
            .spawn()
            .unwrap();
        let mut line = String::new();
        let mut said = BufReader::new(child.stdout.take().unwrap());
        said.read_line(&mut line).unwrap();
        let url = line
            .split_whitespace()
            .last()
            .unwrap_or_default()
            .to_owned();
        assert!(url.contains("://127.0.0.1:"), "fettled said: {line}");
        (Self { child, url }, said)
    }

    /// Files and connections that it has open.
    pub(crate) fn open_file_count(&self) -> usize {
        let held = std::fs::read_dir(format!("/proc/{}/fd", self.child.id()));
        held.unwrap().count()
    }

    /// Memory that it really has, in bytes. Source: proc_pid_status(5), `VmRSS`, in kibibytes.
    #[cfg(target_os = "linux")]
    pub(crate) fn resident_bytes(&self) -> f64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap();
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
        let kibibytes: f64 = line
            .unwrap()
            .trim()
            .trim_end_matches(" kB")
            .parse()
            .unwrap();
        kibibytes * 1024.0
    }

    /// The address without its scheme.
    pub(crate) fn address(&self) -> &str {
        let (_, address) = self.url.split_once("://").unwrap();
        address
    }

    /// Sends it a signal, such as `STOP` and `CONT`.
    #[cfg(unix)]
    pub(crate) fn signal(&self, name: &str) {
        let pid = self.child.id().to_string();
        let sent = Command::new("kill")
            .arg(format!("-{name}"))
            .arg(pid)
            .status();
        assert!(sent.unwrap().success());
    }

    /// Holds it up as a machine that is paused would be, until it is sent `CONT`.
    #[cfg(target_os = "linux")]
    pub(crate) fn pause(&self) {
        self.signal("STOP");
        // A signal that was sent is not one that every thread has got.
        while !self.is_paused() {
            sleep(Duration::from_millis(1));
        }
    }

    /// Whether none of its threads runs. Source: proc_pid_stat(5), the state behind the name, `T` for stopped.
    #[cfg(target_os = "linux")]
    fn is_paused(&self) -> bool {
        let threads = fs::read_dir(format!("/proc/{}/task", self.child.id())).unwrap();
        threads.flatten().all(|thread| {
            let stat = fs::read_to_string(thread.path().join("stat")).unwrap_or_default();
            stat.rsplit_once(") ")
                .is_none_or(|(_, state)| state.starts_with('T'))
        })
    }

    /// Ends it as a power cut would.
    pub(crate) fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// Asks it to stop and waits.
    pub(crate) fn stop(mut self) {
        let pid = self.child.id().to_string();
        Command::new("kill").args(["-TERM", &pid]).status().unwrap();
        assert!(self.child.wait().unwrap().success());
    }
}

impl Drop for Fettled {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to kill.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Where the client finds its book.
#[derive(Clone, Copy)]
pub(crate) enum Shop<'a> {
    /// In this process, in this folder.
    Solo(&'a Path),
    /// Served at this URL.
    At(&'a str),
    /// A shop that was paired with, or is about to be, in this folder.
    Paired(&'a Path),
}

/// Where the clients of these tests remember what they saw, so that no test reads or writes the
/// memory of whoever runs them.
pub(crate) fn state_folder() -> &'static Path {
    static FOLDER: OnceLock<TempDir> = OnceLock::new();
    FOLDER.get_or_init(|| tempfile::tempdir().unwrap()).path()
}

/// Runs the client to its end.
pub(crate) fn fettle(shop: Shop<'_>, args: &[&str]) -> Output {
    fettle_of(state_folder(), shop, args)
}

/// Runs the client of a machine that remembers in this folder.
pub(crate) fn fettle_of(machine: &Path, shop: Shop<'_>, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettle"));
    command
        .env("XDG_STATE_HOME", machine)
        .env("XDG_DATA_HOME", machine)
        .env_remove("FETTLE_SHOP")
        .env_remove("FETTLE_BOOK")
        .env_remove("FETTLE_AT")
        .env_remove("FETTLE_SHOP")
        .env("TZ", "UTC")
        .env("NO_COLOR", "1");
    match shop {
        Shop::Solo(folder) => {
            // A folder that is not there is taken for a slip of the finger.
            fs::create_dir_all(folder).unwrap();
            command.arg("--book").arg(folder)
        }
        Shop::At(url) => command.args(["--at", url]),
        Shop::Paired(folder) => command.arg("--shop").arg(folder),
    };
    command.args(args).stdin(Stdio::null()).output().unwrap()
}

/// Runs the client, which must succeed, and gives what it printed.
pub(crate) fn done(shop: Shop<'_>, args: &[&str]) -> String {
    let output = fettle(shop, args);
    let talk = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        output.status.success(),
        "fettle {args:?}: {:?}\n{talk}",
        output.status.code()
    );
    String::from_utf8(output.stdout).unwrap()
}

/// Runs the client with `--json`, which must succeed, and gives the document.
pub(crate) fn json(shop: Shop<'_>, args: &[&str]) -> Value {
    let with: Vec<&str> = ["--json"].iter().chain(args).copied().collect();
    serde_json::from_str(&done(shop, &with)).unwrap()
}

/// A kept demo book, told with these further options.
pub(crate) fn kept_demo(folder: &Path, options: &[&str]) -> PathBuf {
    let book = folder.join("book");
    let output = Command::new(env!("CARGO_BIN_EXE_fettle"))
        .args(["demo", "--keep"])
        .arg(&book)
        .args(options)
        .env("TZ", "UTC")
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    book
}
