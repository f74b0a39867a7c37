//! Several nodes with the same books.

use std::time::{Duration, Instant};

use fettlebook_yard::engine::Session;
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_types::StatusExt as _;
use uuid::Uuid;

use crate::in_engine::{fettled, refused};
use crate::later::LENT;
use crate::many_books::{World, reason, until};

/// Longest time from a kill to the next acknowledgement. Source: the design, "Held to".
const TAKEN_OVER_MAX: Duration = Duration::from_secs(15);

/// Another holder, which has no sessions.
const OTHER: &str =
    r#"{"process":1,"since":"2026-06-03T18:00:00Z","address":"other.example:7420"}"#;

impl World {
    /// Gives the right to a book to a holder.
    fn give(&self, book: Uuid, holder: &str) {
        drop(self.place.ask(&format!(
            "UPDATE fettle.book SET epoch = epoch + 1, holder = '{holder}' WHERE id = '{book}' RETURNING 1"
        )));
    }

    /// Is there at a book, until this is dropped, as soon as nobody else is.
    fn at(&self, book: Uuid) -> Session {
        let there = self.place.engine.session(&self.place.database);
        let lock = format!("SELECT pg_advisory_lock(hashtextextended('{book}', 22))::text");
        drop(there.ask(&lock));
        there
    }
}

#[test]
fn two_nodes_share_twenty_books_and_the_one_that_is_left_takes_those_that_are_asked_for() {
    let Some(world) = World::with(20) else { return };
    let (first, second) = (world.node("first", &[]), world.node("second", &[]));
    let (of_first, of_second) = world.books.split_at(10);
    for (node, books) in [(&first, of_first), (&second, of_second)] {
        for book in books {
            assert_eq!(world.record(node, Some(*book)).unwrap(), 1);
        }
    }
    // Each says where what the other has is.
    let (there, here) = (of_first[0], of_second[0]);
    for (node, book, at) in [(&second, there, &first), (&first, here, &second)] {
        let told = world.record(node, Some(book)).unwrap_err();
        assert_eq!(reason(&told), "HELD_ELSEWHERE");
        let info = told.get_details_error_info().unwrap();
        assert_eq!(info.metadata["held_at"], at.address());
        let health = || world.health(node, &format!("book/{book}"));
        until("it says that it does not serve it", || {
            health() == Some(ServingStatus::NotServing)
        });
    }
    let killed = Instant::now();
    first.kill();
    for (place, book) in of_first.iter().take(5).enumerate() {
        until("it is taken over", || {
            match world.record(&second, Some(*book)) {
                Ok(seq) => {
                    assert_eq!(seq, 2);
                    true
                }
                Err(told) => {
                    assert_eq!(reason(&told), "HELD_ELSEWHERE");
                    false
                }
            }
        });
        println!(
            "book {place} records again {:?} after the kill",
            killed.elapsed()
        );
    }
    assert!(killed.elapsed() < TAKEN_OVER_MAX, "{:?}", killed.elapsed());
    // What nobody asked for stays where it was, and its holder is nobody.
    for book in &of_first[5..] {
        assert_eq!(world.of(*book, "epoch"), "1");
    }
    for book in of_second {
        assert_eq!(world.record(&second, Some(*book)).unwrap(), 2);
        assert_eq!(world.of(*book, "epoch"), "1");
    }
    assert_eq!(world.record(&second, Some(of_first[9])).unwrap(), 2);
}

#[test]
fn a_book_that_was_taken_over_is_lost_alone() {
    let Some(world) = World::with(3) else { return };
    let [taken, kept, _] = world.books[..] else {
        panic!()
    };
    let node = world.node("node", &[]);
    world.record(&node, Some(taken)).unwrap();
    world.record(&node, Some(kept)).unwrap();
    world.give(taken, OTHER);
    // Whoever has this lock is there: the node lets go of it once it has found out, and takes nothing meanwhile.
    let _there = world.at(taken);
    let told = world.record(&node, Some(taken)).unwrap_err();
    assert_eq!(reason(&told), "HELD_ELSEWHERE");
    let info = told.get_details_error_info().unwrap();
    assert_eq!(info.metadata["held_at"], "other.example:7420");
    assert_eq!(world.record(&node, Some(kept)).unwrap(), 2);
    let health = |book| world.health(&node, &format!("book/{book}"));
    until("its health tells", || {
        health(taken) == Some(ServingStatus::NotServing)
    });
    assert_eq!(health(kept), Some(ServingStatus::Serving));
    assert_eq!(world.record(&node, Some(kept)).unwrap(), 3);
    assert_eq!(world.of(kept, "epoch"), "1");
}

/// What a node of a later version does with a book: it records something that comes later, and gives the book back.
/// By the rules of the journal alone; the frame of a line has 86 bytes.
fn later_node_records(world: &World, book: Uuid) {
    let entry = format!(
        r#"{{"seq":2,"recorded_at":"2026-03-13T18:00:00Z","done_at":"2026-03-13T18:00:00Z","by":"local","deeds":{LENT}}}"#
    );
    drop(world.place.ask(&format!(
        "WITH line AS (
             SELECT id, convert_to('{entry}', 'UTF8') AS bytes,
                 encode(sha256(convert_to(head_chain || '{entry}', 'UTF8')), 'hex') AS chain
             FROM fettle.book WHERE id = '{book}'
         ), put AS (
             INSERT INTO fettle.entry (book, seq, chain, after, bytes) SELECT id, 2, chain, 1, bytes FROM line
         )
         UPDATE fettle.book SET head_seq = 2, head_chain = chain, line_bytes = line_bytes + 86 + octet_length(bytes),
             epoch = epoch + 1, holder = NULL
         FROM line WHERE book.id = line.id RETURNING 1"
    )));
}

#[test]
fn a_node_beside_one_of_a_later_version_reads_on_changes_nothing_and_says_so() {
    let Some(world) = World::with(2) else { return };
    let [shared, own] = world.books[..] else {
        panic!()
    };
    let node = world.node("node", &[]);
    for book in [shared, own] {
        assert_eq!(world.record(&node, Some(book)).unwrap(), 1);
    }
    later_node_records(&world, shared);
    let rows = || world.of(shared, "head_seq || head_chain || line_bytes");
    let before = rows();
    until("it has the book again", || {
        let told = world.record(&node, Some(shared)).unwrap_err();
        let reason = reason(&told);
        assert!(
            ["HELD_ELSEWHERE", "NEWER_THAN_THIS"].contains(&&*reason),
            "{told}"
        );
        reason == "NEWER_THAN_THIS" && told.message().contains("entry 2")
    });
    assert_eq!(world.makes(&node, Some(shared)).unwrap(), 0);
    let health = |book| world.health(&node, &format!("book/{book}"));
    until("it says that it cannot record there", || {
        health(shared) == Some(ServingStatus::NotServing)
    });
    assert_eq!(health(own), Some(ServingStatus::Serving));

    // The tables are of a later version too: who has them open goes on, and opens them no more.
    let place = &world.place;
    place.engine.run(
        &place.database,
        "INSERT INTO fettle.schema_version VALUES (9)",
    );
    assert_eq!(world.record(&node, Some(own)).unwrap(), 2);
    node.stop();
    let folder = world.path("node");
    let words = [
        "--listen",
        "127.0.0.1:0",
        "--node",
        folder.to_str().unwrap(),
    ];
    let told = refused(&fettled(&place.url("bench"), &words));
    assert!(
        told.contains("were made by a later fettled: they have version 9"),
        "{told}"
    );
    assert_eq!(rows(), before);
    assert_eq!(world.of(own, "head_seq"), "2");
}

/// A taking whose answer was lost may count all the same; who took it knows nothing of it then.
#[test]
fn a_book_that_a_node_took_without_knowing_is_taken_again() {
    let Some(world) = World::with(2) else { return };
    let book = world.books[0];
    let node = world.node("node", &[]);
    world.record(&node, Some(book)).unwrap();
    let own = world.of(book, "holder");
    world.give(book, OTHER);
    let there = world.at(book);
    assert_eq!(
        reason(&world.record(&node, Some(book)).unwrap_err()),
        "HELD_ELSEWHERE"
    );
    world.give(book, &own);
    drop(there);
    until("it is taken again", || {
        match world.record(&node, Some(book)) {
            Ok(seq) => {
                assert_eq!(seq, 2);
                true
            }
            Err(told) => {
                assert_eq!(reason(&told), "HELD_ELSEWHERE");
                false
            }
        }
    });
}
