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
    typed("terminal.py", book, answer, args)
}

/// The same where these keys are typed, piece by piece: `|` between pieces, `<` for Enter.
fn with_keys(book: &Path, keys: &str, args: &[&str]) -> Option<Ended> {
    typed("keys.py", book, keys, args)
}

fn typed(script: &str, book: &Path, keys: &str, args: &[&str]) -> Option<Ended> {
    let mut command = script_command(script, &["pty"])?;
    let output = command
        .args([keys, env!("CARGO_BIN_EXE_fettle"), "--book"])
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

/// Subjects of what a log would say of this kind.
fn subjects(preview: &serde_json::Value, kind: &str) -> Vec<String> {
    let deeds = preview["entry"]["deeds"].as_array().unwrap().iter();
    let of_kind = deeds.filter(|deed| deed["kind"] == kind);
    of_kind
        .map(|deed| deed["subject"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn a_torn_pad_and_a_weigh_in_are_logged_by_questions_in_twelve_keystrokes() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let job = "red-city-again";
    let preview = json(Shop::Solo(&book), &["log", job, "--dry-run"]);
    let pads = subjects(&preview, "DEED_KIND_PAD_USED");
    let mut bottles = subjects(&preview, "DEED_KIND_LIQUID_USED");
    bottles.dedup();
    let pad = &pads[0];
    let number = pad.trim_start_matches(|c: char| !c.is_ascii_digit());
    let number = number.trim_start_matches('0');
    let others = "|<".repeat(bottles.len() - 1);
    let keys = format!("pw<|{number}<|<|280<{others}|<");
    let strokes = keys.chars().filter(|key| *key != '|').count();
    assert!(strokes <= 12, "{keys}: {strokes}");
    let Some(logged) = with_keys(&book, &keys, &["log", job]) else {
        return;
    };
    assert_eq!(logged.code, Some(0), "{}", logged.said);
    let told = json(Shop::Solo(&book), &["kit", "show", pad]);
    assert_eq!(
        told["piece"]["binReason"], "BIN_REASON_TORN",
        "{}",
        logged.said
    );
    let seq = head(&book);
    let entry = json(Shop::Solo(&book), &["book", "show", &seq]).to_string();
    assert!(
        entry.contains("DEED_KIND_WEIGHED") && entry.contains("280000"),
        "{entry}"
    );
}

#[test]
fn enter_logs_a_job_as_planned_and_undo_takes_it_back() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let Some(logged) = with_keys(&book, "<", &["log", "red-city-again"]) else {
        return;
    };
    assert_eq!(logged.code, Some(0), "{}", logged.said);
    let state = || json(Shop::Solo(&book), &["job", "show", "red-city-again"]).to_string();
    assert!(state().contains("JOB_STATE_DONE"), "{}", state());
    let Some(kept) = with_keys(&book, "n<", &["undo"]) else {
        return;
    };
    assert_eq!(kept.code, Some(3), "{}", kept.said);
    assert!(state().contains("JOB_STATE_DONE"), "{}", state());
    let Some(undone) = with_keys(&book, "<", &["undo"]) else {
        return;
    };
    assert_eq!(undone.code, Some(0), "{}", undone.said);
    assert!(
        undone.said.contains("Taken back by entry"),
        "{}",
        undone.said
    );
    assert!(state().contains("JOB_STATE_BOOKED"), "{}", state());
    // What was taken back is not the last that stands any more.
    let again = json(Shop::Solo(&book), &["undo"]);
    let reversed = again["reversals"][0]["entry"].to_string();
    assert!(!reversed.contains("red-city-again"), "{reversed}");
}

#[test]
fn what_is_soiled_is_washed_on_enter_and_a_stock_take_is_a_walk() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let solo = Shop::Solo(&book);
    json(solo, &["log", "red-city-again"]);
    let piped = fettle(solo, &["wash"]);
    assert_eq!(piped.status.code(), Some(2));
    let before = head(&book);
    let Some(washed) = with_keys(&book, "<", &["wash"]) else {
        return;
    };
    assert_eq!(washed.code, Some(0), "{}", washed.said);
    assert_ne!(head(&book), before);
    let none = fettle(solo, &["wash"]);
    assert!(String::from_utf8_lossy(&none.stdout).contains("Nothing is soiled."));
    // The first bottle is counted, the walk is left, and that one count recorded.
    let Some(counted) = with_keys(&book, "380<|\u{1b}|<", &["count", "--place", "bench"]) else {
        return;
    };
    assert_eq!(counted.code, Some(0), "{}", counted.said);
    let shown = json(solo, &["kit", "show", "B-01"]);
    assert_eq!(
        shown["piece"]["bottle"]["leftUl"], "380000",
        "{}",
        counted.said
    );
}
