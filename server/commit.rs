//! Build script of the two programs: which commit they are built from, in `FETTLEBOOK_COMMIT`.
//!
//! A variable of that name in the environment wins, for whoever builds without a checkout; where neither says it,
//! as in a tarball, it is unknown. A build for tests does not ask: it would be made anew with every commit.

#![allow(
    clippy::print_stdout,
    reason = "this is how a build script speaks to cargo"
)]

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What is said to the compiler, to a test of this script, and to whoever builds without a checkout.
const COMMIT: &str = "FETTLEBOOK_COMMIT";

/// What the programs are made of, beside what git notes of the checkout.
const SOURCES: [&str; 5] = ["Cargo.toml", "Cargo.lock", "proto", "server", "client"];

fn main() {
    println!("cargo::rerun-if-env-changed={COMMIT}");
    println!("cargo::rerun-if-changed=server/commit.rs");
    let given = env::var(COMMIT).ok().filter(|commit| !commit.is_empty());
    let commit = given.or_else(of_checkout);
    let commit = commit.as_deref().unwrap_or("unknown");
    println!("cargo::rustc-env={COMMIT}={commit}");
}

/// The commit of the checkout that is built; with a word where the checkout is not what was committed.
fn of_checkout() -> Option<String> {
    if env::var("PROFILE").ok()? == "debug" {
        return None;
    }
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR").ok()?);
    // A checkout of something else in which this lies says nothing of it.
    let top = git(&root, &["rev-parse", "--show-toplevel"])?;
    if fs::canonicalize(top).ok()? != fs::canonicalize(&root).ok()? {
        return None;
    }
    for noted in ["HEAD", "logs/HEAD"] {
        let path = root.join(git(&root, &["rev-parse", "--git-path", noted])?);
        println!("cargo::rerun-if-changed={}", path.display());
    }
    for source in SOURCES {
        println!("cargo::rerun-if-changed={source}");
    }
    let commit = git(&root, &["rev-parse", "--short=12", "HEAD"])?;
    let changed = git(&root, &["status", "--porcelain", "--untracked-files=no"])?;
    let mark = if changed.is_empty() { "" } else { "+changed" };
    Some(format!("{commit}{mark}"))
}

/// What git says; nothing where there is no git, or no checkout.
fn git(root: &Path, words: &[&str]) -> Option<String> {
    let said = Command::new("git")
        .arg("-C")
        .arg(root)
        .args(words)
        .output()
        .ok()?;
    let said = said.status.success().then_some(said.stdout)?;
    Some(String::from_utf8(said).ok()?.trim().to_owned())
}
