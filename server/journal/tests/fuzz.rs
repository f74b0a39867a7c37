//! Whatever is in the files of a journal is read, cut or named, and never breaks the reader off.
//!
//! Goal: a reader of a journal can be given any bytes. Method: what can be made of real lines and
//! files is taken apart, surveyed, opened and gone on with; see `tests/fuzz`.

use std::fs;

use fettlebook_fuzz::run;
use fettlebook_model::Seq;

use super::{World, line};
use crate::journal::line::{frame, parse};
use crate::journal::{Head, Journal as _};

/// Inputs of the quick form, by what one costs.
const LINES: u32 = 5_000;
const FOLDERS: u32 = 300;

/// Stands before the name of a further file.
const FILE_MARK: u8 = 0x1c;

const WORDS: &[&str] = &[
    "{\"chain\":\"",
    "\",\"entry\":",
    "{\"seq\":",
    "}",
    ",\"",
    "{\"seq\":2,",
    "{\"seq\":01,",
    ",\"after\":0,",
    "\u{1c}000000000002.jsonl\n",
    "\u{1c}999999999999.jsonl\n",
    "0000000000000000000000000000000000000000000000000000000000000000",
];

#[test]
fn fuzz_a_line_is_one_that_was_written_or_none() {
    run("journal", WORDS, LINES, |bytes| {
        for line in bytes.split(|byte| *byte == b'\n') {
            if let Some(parts) = parse(line) {
                assert!(parts.seq > Seq(0));
                let mut again = Vec::new();
                frame(&mut again, &parts.chain, parts.entry);
                assert_eq!(again.strip_suffix(b"\n"), Some(line));
            }
        }
    });
}

/// An input is the first segment, and further files after their marks and names.
#[test]
fn fuzz_a_journal_is_whole_or_its_first_bad_entry_is_named() {
    run("journal", WORDS, FOLDERS, |bytes| {
        let world = World::new();
        for (at, part) in bytes.split(|byte| *byte == FILE_MARK).enumerate() {
            let (name, rest) = match part.iter().position(|byte| *byte == b'\n') {
                Some(end) if at > 0 => (String::from_utf8_lossy(&part[..end]), &part[end + 1..]),
                _ => ("000000000001.jsonl".into(), part),
            };
            // Some names are none.
            let _ = fs::write(world.path().join(&*name), rest);
        }
        let found = world.survey();
        let good = found.head.clone();
        assert_eq!(
            world.entries().len() as u64,
            good.seq.0,
            "each is visited once"
        );
        if let Some(damage) = found.damage {
            assert!(damage.seq <= good.seq.next(), "{damage} after {}", good.seq);
            return;
        }
        let (mut journal, _) = world.open();
        assert_eq!(journal.head(), good);
        let next = good.seq.next();
        journal.append(&good, &[line(next.0)]).unwrap();
        let again = world.survey();
        assert_eq!((again.torn, again.damage), (None, None));
        assert_eq!(
            again.head,
            Head {
                seq: next,
                ..journal.head()
            }
        );
    });
}
