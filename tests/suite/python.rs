//! Tests that want Python say so when they are skipped; where it is required, a skip is a failure.

use std::path::PathBuf;
use std::process::{Command, Output};

/// The checkout.
pub(crate) fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Runs a script of `tests/python` if the interpreter has these modules; `None` when it was skipped.
///
/// `FETTLEBOOK_PYTHON` names the interpreter, `python3` else. With `FETTLEBOOK_REQUIRE_PYTHON=1` a
/// skip fails the test.
pub(crate) fn run_script(script: &str, modules: &[&str], args: &[&str]) -> Option<Output> {
    let mut command = script_command(script, modules)?;
    Some(command.args(args).output().unwrap())
}

/// A script of `tests/python`, to be run with further arguments; `None` when it is skipped.
pub(crate) fn script_command(script: &str, modules: &[&str]) -> Option<Command> {
    let python = std::env::var("FETTLEBOOK_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let probe = format!("import {}", modules.join(", "));
    let has = Command::new(&python)
        .args(["-c", &probe])
        .output()
        .is_ok_and(|out| out.status.success());
    if !has {
        skipped(&format!(
            "{script} wants {python} with {}",
            modules.join(", ")
        ));
        return None;
    }
    let path = root().join("tests/python").join(script);
    let mut command = Command::new(&python);
    command.arg(path);
    Some(command)
}

/// A program of the interpreter's own folder, such as one that a wheel installed.
pub(crate) fn beside_python(program: &str) -> Option<PathBuf> {
    let python = PathBuf::from(std::env::var("FETTLEBOOK_PYTHON").unwrap_or_default());
    let found = python
        .parent()
        .map(|folder| folder.join(program))
        .filter(|path| path.is_file());
    if found.is_none() {
        skipped(&format!(
            "{program} is not beside the interpreter that FETTLEBOOK_PYTHON names"
        ));
    }
    found
}

fn skipped(why: &str) {
    let required = std::env::var("FETTLEBOOK_REQUIRE_PYTHON").is_ok_and(|value| value == "1");
    assert!(!required, "required, yet skipped: {why}");
    eprintln!("skipped: {why}; see tests/python/requirements.txt");
}

/// Asserts that a run succeeded, showing what it said when not.
pub(crate) fn succeeded(output: &Output) -> String {
    let out = String::from_utf8_lossy(&output.stdout).into_owned();
    let talk = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{out}\n{talk}");
    out
}
