//! What is asked at a terminal, and only there: the real client in a terminal of its own.

use std::path::Path;

use crate::binaries::{Shop, fettle, json, kept_demo, state_folder};
use crate::python::script_command;
use crate::states::LONG_AGO;

/// How a command at a terminal ended, and what was said there.
pub(crate) struct Ended {
    pub(crate) code: Option<i32>,
    pub(crate) said: String,
}

/// Runs the client on a book at a terminal, where this is answered to what it asks; nothing where there is
/// no Python to make one.
pub(crate) fn at_terminal(book: &Path, answer: &str, args: &[&str]) -> Option<Ended> {
    let mut command = script_command("terminal.py", &["pty"])?;
    let output = command
        .args([answer, env!("CARGO_BIN_EXE_fettle"), "--book"])
        .arg(book)
        .args(args)
        .env("XDG_STATE_HOME", state_folder())
        .env("XDG_DATA_HOME", state_folder())
        .env("TZ", "UTC")
        .env("NO_COLOR", "1")
        .env("TERM", "xterm")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    Some(Ended {
        code: output.status.code(),
        said: said.split_whitespace().collect::<Vec<_>>().join(" "),
    })
}

/// Number of the last entry.
fn head(book: &Path) -> String {
    let told = json(Shop::Solo(book), &["book", "where"]);
    told["book"]["headSeq"].as_str().unwrap().to_owned()
}

#[test]
fn a_clock_far_ahead_is_asked_about_at_a_terminal_and_nowhere_else() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &["--today", LONG_AGO]);
    let before = head(&book);
    let wash = ["wash", "P-01"];
    let question = "Is the clock of this machine right?";
    let Some(refused) = at_terminal(&book, "n", &wash) else {
        return;
    };
    assert!(refused.said.contains(question), "{}", refused.said);
    assert_eq!(refused.code, Some(5), "{}", refused.said);
    assert_eq!(head(&book), before);
    let piped = fettle(Shop::Solo(&book), &wash);
    assert!(!String::from_utf8_lossy(&piped.stderr).contains(question));
    let Some(accepted) = at_terminal(&book, "y", &wash) else {
        return;
    };
    assert_eq!(accepted.code, Some(0), "{}", accepted.said);
    assert_ne!(head(&book), before);
    let again = fettle(Shop::Solo(&book), &wash);
    assert!(again.status.success(), "it is asked once");
}
