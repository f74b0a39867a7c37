//! Devices of a shop: real clients that are paired by a code, in folders of their own.
//!
//! It serves the tests that want a token. How a device comes by one is `fettle`'s and `fettled`'s own
//! affair; nothing is written in their place.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;
use tempfile::TempDir;

use crate::binaries::{Shop, done};
use crate::python::succeeded;

/// A device, and what only it knows.
pub(crate) struct Device {
    home: TempDir,
    /// What it sends with every request.
    pub(crate) token: String,
    /// The secret of the code that it was paired with.
    pub(crate) code_secret: String,
}

impl Device {
    /// Pairs one with the book, which is served.
    pub(crate) fn pair(book: &Path, name: &str, role: &str) -> Self {
        let home = tempfile::tempdir().unwrap();
        let code = code(book, name, role);
        done(Shop::Paired(home.path()), &["shop", "pair", &code]);
        let held = fs::read(home.path().join("shop.json")).unwrap();
        let held: Value = serde_json::from_slice(&held).unwrap();
        Self {
            home,
            token: held["token"].as_str().unwrap().to_owned(),
            code_secret: secret(&code).to_owned(),
        }
    }

    /// The shop, as this device reaches it.
    pub(crate) fn shop(&self) -> Shop<'_> {
        Shop::Paired(self.home.path())
    }
}

/// The text of a code for a new device.
pub(crate) fn code(book: &Path, name: &str, role: &str) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
    command.args(["pair", "--name", name, "--role", role, "--book"]);
    let output = command.arg(book).stdin(Stdio::null()).output().unwrap();
    let said = succeeded(&output);
    let mut words = said.split_whitespace();
    let code = words.find(|word| word.starts_with("FETTLE:"));
    code.unwrap_or_else(|| panic!("no code in {said}"))
        .to_owned()
}

/// The secret of a code.
pub(crate) fn secret(code: &str) -> &str {
    let (_, secret) = code.rsplit_once('/').unwrap();
    secret
}

/// What public clients trust of a book that is served over TLS.
pub(crate) fn authority(book: &Path) -> PathBuf {
    book.join("access/authority.pem")
}
