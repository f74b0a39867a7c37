//! Sheets printed by a browser that is not ours: Debian's Chromium, without a window.
//!
//! Tests that want it say so when they are skipped; where it is required, a skip is a failure.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::node::script_command;

/// A sheet as the PDF that the browser prints of it; `None` when it was skipped.
///
/// With `FETTLEBOOK_REQUIRE_CHROMIUM=1` a skip fails the test.
pub(crate) fn printed(html: &Path) -> Option<PathBuf> {
    let pdf = html.with_extension("pdf");
    let profile = html.with_extension("profile");
    let ran = Command::new("chromium")
        .args(["--headless", "--no-sandbox", "--disable-gpu"])
        .args(["--disable-background-networking", "--no-first-run"])
        .arg(format!("--user-data-dir={}", profile.display()))
        .arg("--no-pdf-header-footer")
        .arg(format!("--print-to-pdf={}", pdf.display()))
        .arg(format!("file://{}", html.display()))
        .output();
    let Ok(output) = ran else {
        skip("printing");
        return None;
    };
    let talk = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && pdf.is_file(), "{talk}");
    Some(pdf)
}

/// A script of `tests/js` that drives the browser, to be run with further arguments; `None` when it was skipped.
pub(crate) fn driven_by(script: &str) -> Option<Command> {
    let version = Command::new("chromium").arg("--version").output();
    if version.is_err() {
        skip(script);
        return None;
    }
    script_command(script)
}

/// Says that something is skipped, or fails where it is required.
fn skip(what: &str) {
    let required = std::env::var("FETTLEBOOK_REQUIRE_CHROMIUM").is_ok_and(|value| value == "1");
    assert!(!required, "required, yet skipped: chromium is not here");
    eprintln!("skipped: {what} wants chromium");
}
