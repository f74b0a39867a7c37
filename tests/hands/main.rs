//! A scripted person at a terminal of its own, with nothing but keys: how far a beginner is from the first
//! check of a booked car.
//!
//! Method: the real client in a pseudo-terminal; each key is counted. The outside measure is the same book
//! set up command by command. `cargo test --test hands -- --nocapture` prints what it takes; the table is in
//! `table.rs`.
#![cfg(unix)]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test fails by panicking and prints its table"
)]

mod asked;
mod by_hand;
mod sheets;
mod table;
mod terminal;

use std::path::Path;

use by_hand::{fettle, head, json};
use serde_json::Value;
use terminal::Terminal;

/// Keys that the first hour may take: from the empty book to the first check of the kit below.
const KEYS_MAX: usize = 120;

/// Three machines with plates; 5, 6, 4 and 4 pads of which two are used; three liquids at three quarters, full
/// and 431 g; 24 towels; gloves, tape, wipe and a brush; a saloon tomorrow at eight.
fn first_hour(terminal: &mut Terminal) {
    terminal.answers("Which machines do you work with?", "3\r");
    terminal.answers("coarse foam 150: how many?", "5 2x8\r");
    terminal.answers("fine foam 150: how many?", "6\r");
    terminal.answers("medium foam 80: how many?", "4\r");
    terminal.answers("pencil foam 30: how many?", "4\r");
    terminal.answers("coarse compound 1 L: how full?", "3/4\r");
    terminal.answers("medium polish 500 mL: how full?", "full\r");
    terminal.answers("fine polish 500 mL: how full?", "431g\r");
    terminal.answers("edgeless towel 400 g: how many?", "24\r");
    terminal.answers("nitrile gloves, box of 50 pairs: how many?", "\r");
    terminal.answers("masking tape 50 m: how many?", "\r");
    terminal.answers("panel wipe 1 L: how many?", "\r");
    terminal.answers("pad brush: have you one?", "\r");
    terminal.answers("What things cost", "\r");
    terminal.answers("The first car?", "saloon\r");
    terminal.answers("Its colour?", "\r");
    terminal.answers("When does it come?", "tomorrow 08:00\r");
    terminal.answers("Worked how?", "\r");
    terminal.answers("Is that so?", "\r");
}

/// A list of the kit without what differs from book to book: tags, times, prices, numbers of entries.
fn bare_kit(book: &Path) -> Vec<String> {
    let listed = json(book, &["kit", "list"]);
    let pieces = listed["pieces"].as_array().unwrap().iter();
    let mut bare: Vec<String> = pieces
        .map(|piece| {
            let mut piece = piece.clone();
            let fields = piece.as_object_mut().unwrap();
            for field in ["tag", "lastSeq", "receivedTime", "landedCost"] {
                fields.remove(field);
            }
            for state in fields.values_mut().filter_map(Value::as_object_mut) {
                for field in ["openedTime", "measuredTime", "waitingTime"] {
                    state.remove(field);
                }
            }
            piece.to_string()
        })
        .collect();
    bare.sort();
    bare
}

/// The plan of the only job.
fn plan(book: &Path) -> Value {
    let jobs = json(book, &["job", "list"]);
    let job = jobs["jobs"][0]["job"].as_str().unwrap().to_owned();
    let mut plan = json(book, &["job", "plan", &job]);
    if let Some(fields) = plan["plan"].as_object_mut() {
        fields.remove("job");
    }
    plan
}

#[test]
fn from_an_empty_book_to_the_first_check_in_few_keys() {
    let folder = tempfile::tempdir().unwrap();
    let (book, by_hand) = (folder.path().join("book"), folder.path().join("by-hand"));
    let mut terminal = Terminal::start(&book, folder.path(), 80, &["start"]);
    first_hour(&mut terminal);
    let keys = terminal.key_count;
    let (code, said) = terminal.ends();
    assert_eq!(code, Some(0), "{said}");
    for words in ["Write these tags on the things", "P-01…P-03", "watch"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    assert!(keys <= KEYS_MAX, "{keys} keys");
    let commands = by_hand::set_up(&by_hand);
    assert_eq!(bare_kit(&book), bare_kit(&by_hand));
    assert_eq!(plan(&book), plan(&by_hand));
    println!("| what | keys or letters | to reach |\n|---|---|---|");
    println!("| empty book → first check, at the prompts | {keys} keys | ≤ {KEYS_MAX} |");
    println!(
        "| the same book command by command | {} letters in {} commands | |",
        commands.letters, commands.count
    );
}

/// Leaving records nothing, at the first question and at the last.
#[test]
fn who_leaves_half_way_leaves_no_trace() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    let leave = "\u{3}";
    let mut terminal = Terminal::start(&book, folder.path(), 80, &["start"]);
    terminal.answers("Which machines do you work with?", leave);
    let (code, said) = terminal.ends();
    assert_eq!(code, Some(3), "{said}");
    assert!(said.contains("Nothing was recorded."), "{said}");
    let mut terminal = Terminal::start(&book, folder.path(), 60, &["start", "--kit", "big"]);
    terminal.answers("coarse foam 150: how many?", "5\r");
    terminal.answers("fine foam 150: how many?", "\u{1b}");
    terminal.answers("coarse foam 150: how many?", leave);
    assert_eq!(terminal.ends().0, Some(3));
    assert_eq!(head(&book), "0");
}

/// One command takes all of it back, and it can be set up again.
#[test]
fn the_whole_of_it_is_taken_back_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    let start = ["start", "--kit", "big-small", "--yes", "--car", "saloon"];
    fettle(&book, &start);
    let entries = json(&book, &["book", "entries"]);
    assert_eq!(entries["entries"].as_array().unwrap().len(), 1);
    fettle(&book, &["book", "reverse", "1"]);
    assert!(bare_list(&book).is_empty());
    fettle(&book, &start);
    assert_eq!(bare_list(&book).len(), 27);
}

fn bare_list(book: &Path) -> Vec<Value> {
    let listed = json(book, &["kit", "list"]);
    listed["pieces"].as_array().cloned().unwrap_or_default()
}
