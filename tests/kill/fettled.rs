//! A real `fettled` that a test may end at any moment, as a power cut of the process would.
//!
//! It serves the kill loop and the soak. It never outlives the test, and a service that does not
//! open is told to the caller, not hidden by a panic.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::Duration;

use tonic::transport::{Channel, Endpoint};

/// A `fettled` that was started and may not be listening yet; killed when dropped.
pub(crate) struct Fettled {
    child: Child,
    says: BufReader<ChildStdout>,
}

impl Fettled {
    /// Starts the service on the book in a folder, on a free loopback port.
    pub(crate) fn start(book: &Path) -> Self {
        Self::start_at(book, "127.0.0.1:0")
    }

    /// Starts the service at an address that it had before.
    pub(crate) fn start_at(book: &Path, address: &str) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_fettled"))
            .args(["--listen", address, "--log", "error", "--book"])
            .arg(book)
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .unwrap();
        let says = BufReader::new(child.stdout.take().unwrap());
        Self { child, says }
    }

    /// Waits until it listens, and says where; an error when it ended instead.
    pub(crate) fn url(&mut self) -> Result<String, String> {
        let mut line = String::new();
        self.says.read_line(&mut line).unwrap();
        match line.split_whitespace().last() {
            Some(url) if url.starts_with("http://") => Ok(url.to_owned()),
            _ => Err(format!("fettled said {line:?}: {:?}", self.child.wait())),
        }
    }

    /// Its process.
    pub(crate) fn process(&self) -> u32 {
        self.child.id()
    }

    /// Kills it, with a signal that it cannot catch, and says whether it had been listening.
    pub(crate) fn kill(mut self) -> bool {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        let mut line = String::new();
        self.says.read_line(&mut line).unwrap();
        line.contains("http://")
    }

    /// Asks it to stop, waits, and says whether it ended well.
    pub(crate) fn stop(mut self) -> bool {
        let pid = self.child.id().to_string();
        Command::new("kill").args(["-TERM", &pid]).status().unwrap();
        self.child.wait().unwrap().success()
    }
}

impl Drop for Fettled {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to kill.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A connection of its own.
pub(crate) async fn connect(url: &str) -> Result<Channel, tonic::transport::Error> {
    let endpoint = Endpoint::from_shared(url.to_owned())?;
    let endpoint = endpoint.connect_timeout(Duration::from_secs(5));
    endpoint.tcp_nodelay(true).connect().await
}
