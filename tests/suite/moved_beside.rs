//! A move out of an engine beside a node that waits for the same book: it is in one place, whoever is quicker.

use std::process::{Child, Command, Output, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use fettlebook_yard::engine::Session;

use crate::binaries::{Fettled, Shop, done, fettle, json};
use crate::in_engine::{Place, refused};
use crate::moved::{down, hold, until};

/// How long a holder may be silent, and longest time until a node has taken its book. Source: the README.
const SILENT: Duration = Duration::from_secs(5);
const TAKEN_MAX: Duration = Duration::from_secs(15);

/// A book that nobody serves, and a move out of the engine that is held up once it has the right.
fn under_way(place: &Place, name: &str) -> (Session, Child) {
    let held = hold(
        place,
        "BEGIN; LOCK TABLE fettle.paper IN ACCESS EXCLUSIVE MODE",
    );
    let mut command: Command = down(place, &place.path(name));
    let piped = command.stdout(Stdio::piped()).stderr(Stdio::piped());
    let moving = piped.spawn().unwrap();
    until(
        place,
        "the move waits",
        "SELECT count(*) > 0 FROM pg_stat_activity JOIN fettle.book ON holder IS NOT NULL
         WHERE datname = current_database() AND wait_event_type = 'Lock'",
    );
    (held, moving)
}

fn begun(place: &Place) {
    let served = place.serve(&[]);
    done(
        Shop::At(&served.url),
        &["start", "--kit", "big-small", "--yes"],
    );
    served.stop();
}

/// A node that waits for the book.
fn second(place: &Place) -> Fettled {
    Fettled::serve_from(&place.url("bench"), &place.path("second"), &[])
}

/// Has a node record a wash, asked for so long as the client has patience; what it says else.
fn wash(node: &Fettled, tag: &str) -> Result<(), String> {
    let output: Output = fettle(Shop::At(&node.url), &["wash", tag]);
    match output.status.success() {
        true => Ok(()),
        false => Err(String::from_utf8(output.stderr).unwrap()),
    }
}

fn washes(shop: Shop<'_>, tag: &str) -> usize {
    let told = json(shop, &["book", "entries", "--about", tag]);
    let entries = told["entries"].as_array().unwrap().iter();
    let washed = entries.filter(|entry| entry["deeds"][0]["kind"] == "DEED_KIND_WASHED");
    washed.count()
}

#[test]
fn a_node_that_waits_takes_a_book_from_a_move_that_is_silent_and_the_move_comes_to_nothing() {
    let Some(place) = Place::new() else { return };
    begun(&place);
    let (held, moving) = under_way(&place, "again");
    let start = Instant::now();
    let node = second(&place);
    while let Err(said) = wash(&node, "P-02") {
        assert!(start.elapsed() < TAKEN_MAX, "never taken over: {said}");
    }
    let took = start.elapsed();
    assert!(
        took > SILENT - Duration::from_secs(1),
        "too early: {took:?}"
    );
    drop(held);
    let said = refused(&moving.wait_with_output().unwrap());
    assert!(said.contains("another"), "{said}");
    // The folder is nothing that could be opened, and the node has the book still.
    let again = place.path("again");
    let unfinished = refused(&fettle(Shop::Solo(&again), &["kit", "list"]));
    assert!(unfinished.contains("was not finished"), "{unfinished}");
    assert_eq!(place.ask("SELECT moved IS NULL FROM fettle.book"), "t");
    done(Shop::At(&node.url), &["wash", "P-02"]);
    node.stop();
    std::fs::remove_dir_all(&again).unwrap();
    let moved = down(&place, &again).output().unwrap();
    assert!(moved.status.success(), "{moved:?}");
    assert_eq!(washes(Shop::Solo(&again), "P-02"), 2);
}

#[test]
fn a_node_that_waits_beside_a_move_that_goes_on_takes_nothing_then_and_later() {
    let Some(place) = Place::new() else { return };
    begun(&place);
    let (held, moving) = under_way(&place, "again");
    let node = second(&place);
    drop(held);
    let moved = moving.wait_with_output().unwrap();
    assert!(moved.status.success(), "{moved:?}");
    let epoch = || place.ask("SELECT epoch FROM fettle.book");
    let after = epoch();
    let again = place.path("again");
    done(Shop::Solo(&again), &["wash", "P-02"]);
    // Longer than any holder is waited for.
    sleep(SILENT + Duration::from_secs(2));
    let said = wash(&node, "P-02").unwrap_err();
    assert!(said.contains("No book is kept here"), "{said}");
    assert_eq!(epoch(), after);
    assert_eq!(place.ask("SELECT count(*) FROM fettle.entry"), "1");
    assert_eq!(washes(Shop::Solo(&again), "P-02"), 1);
    node.stop();
}

/// A node that is stopped gives the book to the other at once; a move that begins then has it or has not.
#[test]
fn of_a_move_and_a_node_that_both_want_a_book_one_has_it() {
    let Some(place) = Place::new() else { return };
    let first = place.serve(&[]);
    done(
        Shop::At(&first.url),
        &["start", "--kit", "big-small", "--yes"],
    );
    let second = second(&place);
    let again = place.path("again");
    first.stop();
    let output = down(&place, &again).output().unwrap();
    let is_moved = output.status.success();
    println!("the move had it: {is_moved}");
    let washed = wash(&second, "P-02");
    assert_ne!(is_moved, washed.is_ok(), "{output:?}, {washed:?}");
    let opened = fettle(Shop::Solo(&again), &["kit", "list"]);
    let is_whole =
        opened.status.success() && String::from_utf8_lossy(&opened.stdout).contains("P-01");
    assert_eq!(is_moved, is_whole, "{opened:?}");
    if !is_moved {
        assert!(refused(&output).contains("is in use"));
    }
    second.stop();
}
