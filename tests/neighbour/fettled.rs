//! A real `fettled` for devices, with its memory and its log to look at.

use std::fs::{self, File};
use std::io::{BufRead as _, BufReader};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};

use serde_json::Value;
use tokio_rustls::rustls::pki_types::CertificateDer;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;

use crate::dial::Way;

/// A service that runs until the test ends.
pub(crate) struct Fettled {
    child: Child,
    book: PathBuf,
    log: PathBuf,
    address: SocketAddr,
    /// Held on to: a service that nobody listens to ends.
    _says: BufReader<ChildStdout>,
}

impl Fettled {
    /// Starts one on a new book in a folder.
    pub(crate) fn start(folder: &Path) -> Self {
        let (book, log) = (folder.join("book"), folder.join("log"));
        let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
        command.args([
            "--tls",
            "--listen",
            "127.0.0.1:0",
            "--log",
            "info",
            "--book",
        ]);
        command.arg(&book).stdout(Stdio::piped());
        command.stderr(File::create(&log).unwrap());
        let mut child = command.spawn().unwrap();
        let mut line = String::new();
        let mut says = BufReader::new(child.stdout.take().unwrap());
        says.read_line(&mut line).unwrap();
        let address = line.trim_end().rsplit_once("https://").unwrap().1;
        Self {
            child,
            book,
            log,
            address: address.parse().unwrap(),
            _says: says,
        }
    }

    /// Pairs a new device as a person does, and gives its token.
    pub(crate) fn pair(&self, name: &str, role: &str) -> String {
        let mut invite = Command::new(env!("CARGO_BIN_EXE_fettled"));
        invite.args(["pair", "--name", name, "--role", role, "--book"]);
        let said = done(invite.arg(&self.book));
        let code = said
            .split_whitespace()
            .find(|word| word.starts_with("FETTLE:"));
        let home = tempfile::tempdir().unwrap();
        let mut pair = Command::new(env!("CARGO_BIN_EXE_fettle"));
        pair.args(["shop", "pair", code.unwrap(), "--shop"]);
        done(pair.arg(home.path()));
        let held = fs::read(home.path().join("shop.json")).unwrap();
        let held: Value = serde_json::from_slice(&held).unwrap();
        held["token"].as_str().unwrap().to_owned()
    }

    /// The way to it, and by what it is known.
    pub(crate) fn way(&self) -> Way {
        let root = self.book.join("access/authority.pem");
        Way::new(self.address, CertificateDer::from_pem_file(root).unwrap())
    }

    /// Bytes of memory that the process has. Source: proc(5), `VmRSS`, in units of 1024 bytes.
    pub(crate) fn memory_bytes(&self) -> u64 {
        let path = format!("/proc/{}/status", self.child.id());
        let status = fs::read_to_string(path).unwrap();
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
        let units = line.unwrap().trim().trim_end_matches("kB").trim_end();
        units.parse::<u64>().unwrap() * 1024
    }

    /// Bytes of its log.
    pub(crate) fn log_bytes(&self) -> u64 {
        fs::metadata(&self.log).unwrap().len()
    }

    /// Asks it to stop, and sees that it ends well.
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

/// What a program printed that did what it should.
fn done(command: &mut Command) -> String {
    let output = command.stdin(Stdio::null()).output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let talk = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}\n{talk}");
    said
}
