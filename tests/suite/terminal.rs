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
    let go = ["move", "P-01", "--to", "van-b"];
    let question = "Is the clock of this machine right?";
    let Some(refused) = at_terminal(&book, "n", &go) else {
        return;
    };
    assert!(refused.said.contains(question), "{}", refused.said);
    assert_eq!(refused.code, Some(5), "{}", refused.said);
    assert_eq!(head(&book), before);
    let piped = fettle(Shop::Solo(&book), &go);
    assert!(!String::from_utf8_lossy(&piped.stderr).contains(question));
    let Some(accepted) = at_terminal(&book, "y", &go) else {
        return;
    };
    assert_eq!(accepted.code, Some(0), "{}", accepted.said);
    assert_ne!(head(&book), before);
    let again = fettle(Shop::Solo(&book), &go);
    assert!(again.status.success(), "it is asked once");
}

/// What is hardly true is asked about at a terminal; in a pipe, and for whoever says so, it is recorded and
/// flagged.
#[test]
fn what_is_odd_is_asked_about_at_a_terminal_and_flagged_elsewhere() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let before = head(&book);
    let (question, odd) = ("Record it all the same?", "P-06 was clean in the book.");
    let Some(refused) = at_terminal(&book, "n", &["wash", "P-06"]) else {
        return;
    };
    for words in [odd, question, "Nothing was recorded."] {
        assert!(refused.said.contains(words), "{words}: {}", refused.said);
    }
    assert_eq!(refused.code, Some(3), "{}", refused.said);
    assert_eq!(head(&book), before);
    let Some(meant) = at_terminal(&book, "y", &["wash", "P-06"]) else {
        return;
    };
    assert_eq!(meant.code, Some(0), "{}", meant.said);
    let Some(unasked) = at_terminal(&book, "n", &["--yes", "wash", "P-07"]) else {
        return;
    };
    assert_eq!(unasked.code, Some(0), "{}", unasked.said);
    assert!(!unasked.said.contains(question), "{}", unasked.said);
    let piped = json(
        Shop::Solo(&book),
        &[
            "log",
            "--loose",
            LOOSE,
            "--sections",
            "100000",
            "--pad",
            "P-12",
        ],
    );
    let flags = piped["entry"]["flags"].to_string();
    assert!(flags.contains("more than any car has"), "{flags}");
    let after = head(&book);
    let log = [
        "log",
        "--loose",
        LOOSE,
        "--sections",
        "100000",
        "--pad",
        "P-13",
    ];
    let Some(logged) = at_terminal(&book, "n", &log) else {
        return;
    };
    assert_eq!(logged.code, Some(3), "{}", logged.said);
    assert_eq!(head(&book), after);
}

/// A use outside any job, with the fine pads of the demo.
const LOOSE: &str = "machine=orbital-150, pad=fine-foam-150, liquid=fine-polish-500ml, press=light";

#[test]
fn nothing_is_not_received() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let before = head(&book);
    for option in ["--count", "--towels"] {
        let refused = fettle(
            Shop::Solo(&book),
            &["receive", "coarse-foam-150", option, "0"],
        );
        let said = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert_eq!(refused.status.code(), Some(2), "{said}");
        assert!(said.contains("nothing that came"), "{said}");
    }
    assert_eq!(head(&book), before);
}
