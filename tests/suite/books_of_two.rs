//! Several nodes with the same books.

use std::time::{Duration, Instant};

use tonic_health::pb::health_check_response::ServingStatus;
use tonic_types::StatusExt as _;

use crate::many_books::{World, reason, until};

/// Longest time from a kill to the next acknowledgement. Source: the design, "Held to".
const TAKEN_OVER_MAX: Duration = Duration::from_secs(15);

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
    // Another that is not there by its sessions: its right counts until it is found gone.
    let other = r#"{"process":1,"since":"2026-06-03T18:00:00Z","address":"other.example:7420"}"#;
    drop(world.place.ask(&format!(
        "UPDATE fettle.book SET epoch = epoch + 1, holder = '{other}' WHERE id = '{taken}' RETURNING 1"
    )));
    let told = world.record(&node, Some(taken)).unwrap_err();
    assert_eq!(reason(&told), "HELD_ELSEWHERE");
    assert_eq!(world.record(&node, Some(kept)).unwrap(), 2);
    assert_eq!(world.of(kept, "epoch"), "1");
}

/// A taking whose answer was lost may count all the same; who took it knows nothing of it then.
#[test]
fn a_book_that_a_node_took_without_knowing_is_taken_again() {
    let Some(world) = World::with(2) else { return };
    let book = world.books[0];
    let node = world.node("node", &[]);
    world.record(&node, Some(book)).unwrap();
    let own = world.of(book, "holder");
    let give = |holder: &str| {
        drop(world.place.ask(&format!(
            "UPDATE fettle.book SET epoch = epoch + 1, holder = '{holder}' WHERE id = '{book}' RETURNING 1"
        )));
    };
    give(r#"{"process":1,"since":"2026-06-03T18:00:00Z"}"#);
    // Whoever has this lock is there: the node lets go of it, and takes nothing meanwhile.
    let lock = format!("hashtextextended('{book}', 22)");
    let there = world.place.engine.session(&world.place.database);
    drop(there.ask(&format!("SELECT pg_advisory_lock({lock})::text")));
    assert_eq!(
        reason(&world.record(&node, Some(book)).unwrap_err()),
        "HELD_ELSEWHERE"
    );
    give(&own);
    drop(there.ask(&format!("SELECT pg_advisory_unlock({lock})::text")));
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
