//! A log by questions as a person sees it: what is new on the screen with each question, and at the end, at four
//! widths, with colour and without.
//!
//! Method: the real client in a pseudo-terminal, whose bytes another's terminal emulation (vt100) makes a
//! screen of. What hangs on the day is put in the place of the day.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use insta::assert_snapshot;

use crate::by_hand::fettle;
use crate::terminal::{Look, Terminal};

/// Rows of the terminal: all of it is in view.
const ROWS: u16 = 120;
const JOB: &str = "saloon-friday";

/// A shop as a starter kit begins it, with one job.
fn set_up(book: &Path) {
    fettle(book, &["start", "--kit", "big-small", "--yes"]);
    let car = [
        "car",
        "add",
        "saloon-silver",
        "--class",
        "medium-saloon",
        "--film",
        "bonnet=118um",
    ];
    fettle(book, &car);
    let job = [
        "job",
        "add",
        JOB,
        "--car",
        "saloon-silver",
        "--routine",
        "two-step",
        "--start",
        "today 23:59",
    ];
    fettle(book, &job);
}

/// The screens of a log with a torn pad, another pad, a weigh-in, towels, a panel left out and the minutes.
fn logged(book: &Path, columns: u16, look: Look) -> String {
    let folder = tempfile::tempdir().unwrap();
    let book = &copied(book, &folder.path().join("book"));
    let mut terminal = Terminal::sized(book, folder.path(), (columns, ROWS), look, &["log", JOB]);
    let (mut screens, mut before) = (String::new(), String::new());
    let mut seen = |terminal: &mut Terminal, question: &str, keys: &str| {
        terminal.hears(question);
        let shown = terminal.screen();
        writeln!(screens, "--- {question}\n{}", news(&before, &shown)).unwrap();
        before = shown;
        terminal.press(keys);
    };
    seen(&mut terminal, "what was other?", "powtxm\r");
    seen(&mut terminal, "Which pads failed?", "1\r");
    seen(&mut terminal, "What is it with", "\r");
    seen(&mut terminal, "Other pads", "P-02=P-05\r");
    seen(&mut terminal, "B-01 weighs", "900\r");
    seen(&mut terminal, "B-03 weighs", "\r");
    seen(&mut terminal, "B-02 weighs", "\r");
    seen(&mut terminal, "Towels used of", "7\r");
    seen(&mut terminal, "Towels that fell", "1\r");
    seen(&mut terminal, "Panels that were left out", "roof\r");
    seen(&mut terminal, "Minutes the machines ran", "95\r");
    seen(&mut terminal, "what was other?", "\r");
    let (code, end) = terminal.ends_as_seen();
    assert_eq!(code, Some(0), "{end}");
    writeln!(screens, "--- at the end\n{}", news(&before, &end)).unwrap();
    without_day(&screens)
}

/// The rows of a screen from the first that is another than before.
fn news(before: &str, now: &str) -> String {
    let is_same = |(one, other): &(&str, &str)| one == other;
    let same = before.lines().zip(now.lines()).take_while(is_same).count();
    now.lines().skip(same).collect::<Vec<_>>().join("\n")
}

/// What is done and recorded now, without when that was.
fn without_day(text: &str) -> String {
    let lines = text.lines().map(|line| {
        if let Some((before, _)) = line.split_once(", done ") {
            format!("{before}, done WHEN:")
        } else if let (true, Some((before, _))) = (line.contains("Entry "), line.split_once("  ")) {
            format!("{before}  WHEN")
        } else {
            line.to_owned()
        }
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// A folder with what is in another.
fn copied(from: &Path, to: &Path) -> PathBuf {
    fs::create_dir_all(to).unwrap();
    for one in fs::read_dir(from).unwrap() {
        let path = one.unwrap().path();
        let there = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copied(&path, &there);
        } else {
            fs::copy(&path, there).unwrap();
        }
    }
    to.to_owned()
}

#[test]
fn a_log_by_questions_is_seen_whole_at_every_width() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    set_up(&book);
    for (look, name) in [(Look::Plain, "plain"), (Look::Coloured, "in_colour")] {
        for columns in [40, 60, 80, 120] {
            let shown = logged(&book, columns, look);
            assert_snapshot!(format!("log_by_questions_{columns}_{name}"), shown);
        }
    }
}
