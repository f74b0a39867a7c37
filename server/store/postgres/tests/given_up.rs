//! A session that is given up because one answer does not come, and the books that are on it.
//!
//! The story: three books of one machine, two of which are written on one session. The engine's process behind that
//! session is held up. After ten seconds it is given up: both books go on on the next, with what they were recording,
//! and the third has noticed nothing. Then the process wakes up.

use std::sync::mpsc::{Receiver, channel};
use std::thread;

use rustix::process::{Pid, Signal, kill_process};

use super::*;
use crate::limits::ENGINE_WAIT_MAX;

/// The first two are written on one session, by their ids.
const BOOKS: [Uuid; 3] = [Uuid::from_u128(4), Uuid::from_u128(8), Uuid::from_u128(5)];

/// Longest time until a group is recorded whose session was given up.
const GOES_ON_MAX: Duration = Duration::from_secs(30);

/// A process that is held up until this is dropped.
struct HeldUp(Pid);

impl HeldUp {
    /// The one behind the session that has the lock of a book.
    fn behind(place: &Place, book: Uuid) -> Self {
        let of_book = format!(
            "SELECT pid FROM pg_locks JOIN pg_database AS here ON here.oid = database
             WHERE locktype = 'advisory' AND granted AND datname = current_database()
             AND (classid::bigint << 32) | objid::bigint = hashtextextended('{book}', 22)"
        );
        let process = Pid::from_raw(place.ask(&of_book).parse().unwrap()).unwrap();
        kill_process(process, Signal::STOP).unwrap();
        Self(process)
    }
}

impl Drop for HeldUp {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = kill_process(self.0, Signal::CONT);
    }
}

/// A book in use: whoever has the right to it, and a thread that records one group and gives the journal back.
struct Recording {
    _right: Box<dyn WritersRight>,
    done: Receiver<Box<dyn Journal>>,
}

impl Recording {
    fn begin(right: Box<dyn WritersRight>, mut journal: Box<dyn Journal>) -> Self {
        let (tell, done) = channel();
        thread::spawn(move || {
            let head = journal.head();
            journal.append(&head, &next(&head, 2)).unwrap();
            tell.send(journal)
        });
        let _right = right;
        Self { _right, done }
    }

    fn wait(&self) -> Box<dyn Journal> {
        self.done.recv_timeout(GOES_ON_MAX).unwrap()
    }
}

#[test]
fn books_whose_session_is_given_up_go_on_on_the_next_and_lose_nothing() {
    let Some(place) = Place::new() else { return };
    for book in BOOKS {
        let row = format!(
            "INSERT INTO fettle.book (id, incarnation) VALUES ('{book}', '{book}') RETURNING 1"
        );
        drop(place.ask(&row));
    }
    let store = place.store(None);
    let [one, beside, other] = BOOKS.map(|book| {
        let (right, mut journal) = open(&store.of_book(book));
        journal.append(&journal.head(), &[line(1)]).unwrap();
        (right, journal)
    });
    let held_up = HeldUp::behind(&place, BOOKS[0]);
    let start = Instant::now();
    let recording = [one, beside].map(|(right, journal)| Recording::begin(right, journal));
    let (_right, mut elsewhere) = other;
    let head = elsewhere.head();
    elsewhere.append(&head, &next(&head, 2)).unwrap();
    assert!(recording.iter().all(|book| book.done.try_recv().is_err()));

    let journals = recording.each_ref().map(Recording::wait);
    println!("both went on after {:?}", start.elapsed());
    assert!(start.elapsed() >= ENGINE_WAIT_MAX);
    // What it was sent comes too late to count, and others hear again that this machine is there.
    drop(held_up);
    let locks = "SELECT count(*) FROM pg_locks JOIN pg_database AS here ON here.oid = database
                 WHERE locktype = 'advisory' AND granted AND datname = current_database()";
    wait_until(|| place.ask(locks) == "3");
    for mut journal in journals {
        assert_eq!(journal.head().seq, Seq(3));
        let head = journal.head();
        journal.append(&head, &next(&head, 1)).unwrap();
    }
    let rows = "SELECT head_seq, (SELECT count(*) FROM fettle.entry WHERE book = id) FROM fettle.book ORDER BY id";
    assert_eq!(place.ask(rows), "4|4\n3|3\n4|4");
    for book in &BOOKS[..2] {
        let again = place.store(None).of_book(*book).take(&ASKED);
        assert!(matches!(again, Err(StoreError::InUse { .. })), "{again:?}");
    }
}
