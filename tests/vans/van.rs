//! A van: a paired device that is a real `fettle`, behind a link of its own.
//!
//! It serves the rounds. What it did stands in its own list, by the note on each deed, and is told
//! to nobody but the audit.

use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

use crate::deeds::{Act, GLOVES, Own};
use crate::link::Link;

/// A device of the shop.
pub(crate) struct Van {
    pub(crate) name: &'static str,
    pub(crate) own: &'static Own,
    pub(crate) link: Link,
    home: TempDir,
    /// Notes of what it did, in order.
    pub(crate) did: Vec<String>,
}

impl Van {
    /// A device that is not paired yet.
    pub(crate) fn new(name: &'static str, own: &'static Own, link: Link) -> Self {
        Self {
            name,
            own,
            link,
            home: tempfile::tempdir().unwrap(),
            did: Vec::new(),
        }
    }

    /// The home of its machine.
    pub(crate) fn home(&self) -> &Path {
        self.home.path()
    }

    /// Pairs it with a code.
    pub(crate) fn pair(&self, code: &str) {
        must(&fettle(self.home.path(), &["shop", "pair", code]));
        must(&fettle(self.home.path(), &["shop", "sync"]));
    }

    /// Does something, whether or not there is a signal; it must be taken in either way.
    pub(crate) fn act(&mut self, act: &Act) {
        let note = format!("{} {:05}", self.name, self.did.len());
        let typed = act.typed(&note, || self.thought_pairs());
        let typed: Vec<&str> = typed.iter().map(String::as_str).collect();
        must(&fettle(self.home.path(), &typed));
        self.did.push(note);
    }

    /// Sends what waits, and says whether all of it went.
    pub(crate) fn sync(&self) -> bool {
        let output = fettle(self.home.path(), &["shop", "sync"]);
        match output.status.code() {
            Some(0) => true,
            Some(6) => false,
            _ => panic!("{}: {}", self.name, told(&output)),
        }
    }

    /// Pairs of gloves that the van thinks there are.
    fn thought_pairs(&self) -> i64 {
        left(self.home.path(), GLOVES)
    }
}

/// What is left of a sundry or a bottle in the book, as a device sees it.
pub(crate) fn left(home: &Path, tag: &str) -> i64 {
    let shown = fettle(home, &["--json", "kit", "show", tag]);
    must(&shown);
    let shown: Value = serde_json::from_slice(&shown.stdout).unwrap();
    let piece = &shown["piece"];
    let sundry = piece["sundry"]["leftQuantity"].as_str();
    let left = sundry.or(piece["bottle"]["leftUl"].as_str());
    left.unwrap_or("0").parse().unwrap()
}

/// Runs the client of the machine with this home.
pub(crate) fn fettle(home: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fettle"))
        .env_remove("FETTLE_BOOK")
        .env_remove("FETTLE_AT")
        .env_remove("FETTLE_SHOP")
        .env("XDG_STATE_HOME", home.join("state"))
        .env("XDG_DATA_HOME", home.join("data"))
        .env("XDG_CONFIG_HOME", home.join("config"))
        .env("TZ", "UTC")
        .env("NO_COLOR", "1")
        .args(args)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

/// Asserts that it did what was asked.
pub(crate) fn must(output: &Output) {
    assert!(output.status.success(), "{}", told(output));
}

fn told(output: &Output) -> String {
    format!(
        "{:?}\n{}\n{}",
        output.status.code(),
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}
