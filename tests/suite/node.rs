//! Tests that want Node say so when they are skipped; where it is required, a skip is a failure.

use std::process::Command;

use crate::python::root;

/// A script of `tests/js`, to be run with further arguments; `None` when it is skipped.
///
/// `FETTLEBOOK_NODE` names the interpreter, `node` else. With `FETTLEBOOK_REQUIRE_NODE=1` a skip fails
/// the test.
pub(crate) fn script_command(script: &str) -> Option<Command> {
    let node = std::env::var("FETTLEBOOK_NODE").unwrap_or_else(|_| "node".to_owned());
    let folder = root().join("tests/js");
    let version = Command::new(&node).arg("--version").output();
    let runs = version.is_ok_and(|output| output.status.success());
    if !runs || !folder.join("node_modules").is_dir() {
        let why = format!("{script} wants {node} with what `npm ci` puts into tests/js");
        let required = std::env::var("FETTLEBOOK_REQUIRE_NODE").is_ok_and(|value| value == "1");
        assert!(!required, "required, yet skipped: {why}");
        eprintln!("skipped: {why}");
        return None;
    }
    let mut command = Command::new(node);
    command.arg(folder.join(script));
    Some(command)
}
