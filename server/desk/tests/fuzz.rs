//! Whatever an entry in the journal says, a book takes it in or the entry is named.
//!
//! Goal: lines that fit the chain but were never written by this program cannot break it off. Method:
//! what can be made of real entries is read and applied, one after the other; see `tests/fuzz`.

use fettlebook_fuzz::run;
use fettlebook_model::{Book, Entry, Seq};

use crate::desk::replay::Replay;
use crate::journal::{Chain, Mark, Position, ReadLine, Untaken};
use crate::shelf::Furthest;

/// Inputs of the quick form.
const COUNT: u32 = 1_000;

const WORDS: &[&str] = &[
    "\"tag\":\"P-01\"",
    "\"deeds\":[",
    "{\"did\":\"",
    "null",
    "{}",
    "[]",
    "true",
    "received",
    "pad_used",
    "washed",
    "binned",
    "job_done",
    "reversed",
    "restated",
    "\"seq\":",
    "2026-03-04T16:00:00Z",
    "1.50",
    "EUR",
];

/// The line of an entry object, as the journal would have read it.
fn read(seq: u64, entry: &[u8]) -> ReadLine {
    let at = Position {
        seq: Seq(seq),
        ..Position::START
    };
    ReadLine {
        mark: Mark {
            at,
            chain: Chain::ZERO.link(entry),
        },
        entry: entry.to_vec(),
    }
}

#[test]
fn fuzz_an_entry_is_taken_or_refused_and_reads_again_as_it_was_written() {
    run("entry", WORDS, COUNT, |bytes| {
        let mut replay = Replay::new(Book::new(), Furthest::NONE, None);
        for (at, entry) in bytes.split(|byte| *byte == b'\n').enumerate() {
            let before = replay.book.clone();
            let Err(what) = replay.take(&read(at as u64 + 1, entry)) else {
                let taken: Entry = serde_json::from_slice(entry).unwrap();
                let written = serde_json::to_vec(&taken).unwrap();
                assert_eq!(serde_json::from_slice::<Entry>(&written).unwrap(), taken);
                continue;
            };
            let (Untaken::Damaged(told) | Untaken::Newer(told)) = &what;
            assert!(!told.contains("fault in the program"), "{told}");
            assert!(replay.book == before, "a refused entry changed the book");
        }
    });
}
