//! The table of what the first hour and the daily minute take, row by row, and the questions at four widths.
//!
//! Method: keys and lines are counted at the real client, on the invented shop that the demo keeps. Of what
//! people type unasked the row is the suite's: `cargo test --test hands --test suite -- --nocapture table::
//! tries::what_people` prints the whole table.

use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

use crate::by_hand::{fettle, json, told_by};
use crate::terminal::Terminal;
use crate::{KEYS_MAX, first_hour};

/// Lines of 80 columns that a screen of the day may have: a terminal has 24.
const LINES_MAX: usize = 22;
/// Keys for a torn pad and a weigh-in.
const TORN_KEYS_MAX: usize = 12;
/// Keys for a job done as planned, behind the command.
const PLANNED_KEYS_MAX: usize = 2;
/// A job of the demo that is still to come.
const JOB: &str = "red-city-again";

/// The invented shop in a folder of its own.
fn demo(folder: &TempDir) -> PathBuf {
    let book = folder.path().join("demo");
    let kept = book.to_str().unwrap().to_owned();
    fettle(
        &folder.path().join("other"),
        &["demo", "--no-pause", "--keep", &kept],
    );
    book
}

/// A row: what it is, what it took, and what it may.
struct Row {
    what: String,
    took: usize,
    most: usize,
}

#[test]
fn every_row_is_reached() {
    let folder = tempfile::tempdir().unwrap();
    let mut rows = vec![first_check(&folder)];
    let book = demo(&folder);
    rows.extend(screens(&book));
    rows.push(torn_and_weighed(&book));
    rows.push(as_planned(&book));
    println!("| what | took | to reach |\n|---|---|---|");
    for Row { what, took, most } in &rows {
        println!("| {what} | {took} | ≤ {most} |");
    }
    for Row { what, took, most } in &rows {
        assert!(took <= most, "{what}: {took}");
    }
}

fn first_check(folder: &TempDir) -> Row {
    let book = folder.path().join("book");
    let mut terminal = Terminal::start(&book, folder.path(), 80, &["start"]);
    first_hour(&mut terminal);
    let took = terminal.key_count;
    let (code, said) = terminal.ends();
    assert_eq!(code, Some(0), "{said}");
    Row {
        what: "empty book → first check of a booked car, keys".to_owned(),
        took,
        most: KEYS_MAX,
    }
}

/// Lines of the screens of a day at 80 columns; `take` last, for it changes what the others say.
fn screens(book: &Path) -> Vec<Row> {
    let next = json(book, &["job", "list", "--state", "booked"]);
    let next = next["jobs"][0]["job"].as_str().unwrap().to_owned();
    let commands: [&[&str]; 6] = [
        &["today"],
        &["check"],
        &["check", JOB],
        &["check", "--week"],
        &["take", &next],
        &["today"],
    ];
    let lines = commands.map(|command| {
        let text = told_by(book, &[command, &["--columns", "80"]].concat());
        assert!(text.lines().count() > 1, "{command:?}: {text}");
        Row {
            what: format!("fettle {}, lines of 80 columns", command.join(" ")),
            took: text.lines().count(),
            most: LINES_MAX,
        }
    });
    lines.into()
}

/// What a log of the job would say of this kind, each subject once.
fn subjects(book: &Path, kind: &str) -> Vec<String> {
    let preview = json(book, &["log", JOB, "--dry-run"]);
    let deeds = preview["entry"]["deeds"].as_array().unwrap().iter();
    let of_kind = deeds.filter(|deed| deed["kind"] == kind);
    let mut found: Vec<String> = of_kind
        .map(|deed| deed["subject"].as_str().unwrap().to_owned())
        .collect();
    found.dedup();
    found
}

fn torn_and_weighed(book: &Path) -> Row {
    let (pads, bottles) = (
        subjects(book, "DEED_KIND_PAD_USED"),
        subjects(book, "DEED_KIND_LIQUID_USED"),
    );
    let number = pads[0].trim_start_matches(|c: char| !c.is_ascii_digit() || c == '0');
    let home = book.parent().unwrap();
    let mut terminal = Terminal::start(book, home, 80, &["log", JOB]);
    terminal.answers("what was other?", "pw\r");
    terminal.answers("Which pads failed?", &format!("{number}\r"));
    terminal.answers("What is it with", "\r");
    terminal.answers("weighs, in grams", "280\r");
    for _ in 1..bottles.len() {
        terminal.answers("weighs, in grams", "\r");
    }
    terminal.answers("what was other?", "\r");
    let took = terminal.key_count;
    let (code, said) = terminal.ends();
    assert_eq!(code, Some(0), "{said}");
    let pad = json(book, &["kit", "show", &pads[0]]);
    assert_eq!(pad["piece"]["binReason"], "BIN_REASON_TORN", "{said}");
    fettle(book, &["undo", "--yes"]);
    Row {
        what: "fettle log JOB with a torn pad and a weigh-in, keys".to_owned(),
        took,
        most: TORN_KEYS_MAX,
    }
}

fn as_planned(book: &Path) -> Row {
    let home = book.parent().unwrap();
    let mut terminal = Terminal::start(book, home, 80, &["log"]);
    terminal.answers("Which job was done?", "\r");
    terminal.answers("what was other?", "\r");
    let took = terminal.key_count;
    let (code, said) = terminal.ends();
    assert_eq!(code, Some(0), "{said}");
    Row {
        what: "fettle log of a job done as planned, keys".to_owned(),
        took,
        most: PLANNED_KEYS_MAX,
    }
}

/// What is said at a terminal so wide: no line is longer, so that the terminal breaks none.
fn fits(columns: u16, said: &str) {
    for line in said.lines() {
        let width = line.chars().count();
        assert!(width <= usize::from(columns), "{columns}: {width}: {line}");
    }
}

/// The first questions of a log and of a start at the widths of the other screens.
#[test]
fn no_terminal_breaks_a_question_inside_a_word() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(&folder);
    let leave = "\u{3}";
    for columns in [40, 60, 80, 120] {
        let mut terminal = Terminal::start(&book, folder.path(), columns, &["log", JOB]);
        terminal.hears("m minutes)");
        fits(columns, &terminal.heard());
        terminal.press(leave);
        assert_eq!(terminal.ends().0, Some(3));
        let empty = folder.path().join(format!("empty-{columns}"));
        let start = ["start", "--kit", "big"];
        let mut terminal = Terminal::start(&empty, folder.path(), columns, &start);
        terminal.hears("how many?");
        terminal.hears("]");
        fits(columns, &terminal.heard());
        terminal.press(leave);
        assert_eq!(terminal.ends().0, Some(3));
    }
}

/// What is told of a job after it: it is done.
#[test]
fn enter_alone_logs_what_was_planned() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(&folder);
    as_planned(&book);
    let done = json(&book, &["job", "list", "--state", "done"]);
    let jobs: Vec<&Value> = done["jobs"].as_array().unwrap().iter().collect();
    assert_eq!(jobs.len(), 3, "{done}");
}
