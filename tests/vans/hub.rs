//! The shop's machine: a real `fettled` over TLS on an invented shop's book.
//!
//! It serves the rounds. Its book is looked at through its files, as anybody could.

use std::io::{BufRead as _, BufReader};
use std::net::SocketAddr;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

use tempfile::TempDir;

use crate::van::must;

/// A served book; the service is killed when this is dropped.
pub(crate) struct Hub {
    folder: TempDir,
    child: Child,
    pub(crate) address: SocketAddr,
}

impl Hub {
    /// Serves the demo's book.
    pub(crate) fn open() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("book");
        let demo = Command::new(env!("CARGO_BIN_EXE_fettle"))
            .args(["demo", "--keep"])
            .arg(&book)
            .env("TZ", "UTC")
            .output()
            .unwrap();
        must(&demo);
        let mut child = Command::new(env!("CARGO_BIN_EXE_fettled"))
            .args(["--tls", "--listen", "127.0.0.1:0", "--log", "error"])
            .arg("--book")
            .arg(&book)
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .unwrap();
        let mut line = String::new();
        let mut says = BufReader::new(child.stdout.take().unwrap());
        says.read_line(&mut line).unwrap();
        let address = line.trim().rsplit("https://").next().unwrap_or_default();
        let address = address
            .parse()
            .unwrap_or_else(|_| panic!("fettled said: {line}"));
        // It goes on talking, to nobody.
        std::thread::spawn(move || for _ in says.lines() {});
        Self {
            folder,
            child,
            address,
        }
    }

    /// The folder of the book.
    pub(crate) fn book(&self) -> PathBuf {
        self.folder.path().join("book")
    }

    /// A code for a device that reaches the service at an address.
    pub(crate) fn code(&self, name: &str, role: &str, at: SocketAddr) -> String {
        let output = Command::new(env!("CARGO_BIN_EXE_fettled"))
            .arg("pair")
            .arg("--book")
            .arg(self.book())
            .args(["--name", name, "--role", role, "--at", &at.to_string()])
            .output()
            .unwrap();
        must(&output);
        let said = String::from_utf8(output.stdout).unwrap();
        let code = said
            .split_whitespace()
            .find(|word| word.starts_with("FETTLE:"));
        code.unwrap_or_else(|| panic!("no code in {said}"))
            .to_owned()
    }

    /// Whether it still runs.
    pub(crate) fn runs(&mut self) -> bool {
        self.child.try_wait().unwrap().is_none()
    }
}

impl Drop for Hub {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to kill.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
