//! The shelf gives back what was put on it, and nothing twice.

use std::fs;
use std::sync::Arc;

use fettlebook_model::{Book, Decision, Entry, Format, Seq, Subject, decide};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::{Furthest, Shelf, ShelfMark, ShelfSize, Shelved, subjects};
use crate::journal::{Head, Mark, Position};
use crate::testing::{count_gloves, gloves, new_car, order};

pub(super) struct World {
    folder: tempfile::TempDir,
    book_id: Uuid,
    book: Book,
    entries: Vec<Arc<Entry>>,
}

impl World {
    /// A book with gloves, then counts and cars in turn, up to this many entries.
    pub(super) fn with_entries(count: u64) -> Self {
        let mut world = Self {
            folder: tempfile::tempdir().unwrap(),
            book_id: Uuid::now_v7(),
            book: Book::new(),
            entries: Vec::new(),
        };
        let rest = (2..count).map(|n| {
            if n % 2 == 0 {
                count_gloves(5)
            } else {
                new_car(&format!("car-{n}"))
            }
        });
        for command in gloves().into_iter().chain(rest) {
            let now = fettlebook_model::Moment::UNIX_EPOCH;
            let Decision {
                deeds,
                flags,
                done_at,
                note,
                kept,
                ..
            } = decide(&world.book, &command, now).unwrap();
            let order = order(command);
            let seq = world.book.head().next();
            let (request, body, by) = (order.request, order.body, order.by);
            let entry = Entry {
                seq,
                format: Format::FIRST,
                book_id: None,
                recorded_at: now,
                done_at,
                request,
                body,
                by,
                deeds,
                flags,
                note,
                kept,
            };
            world.book.apply(&entry);
            world.entries.push(Arc::new(entry));
        }
        world
    }

    /// Entries on their way to the shelf.
    pub(super) fn shelved(&self, from: usize, to: usize) -> Vec<Shelved> {
        let entries = self.entries[from..to].iter();
        let shelved = entries.map(|entry| Shelved {
            entry: Arc::clone(entry),
            mark: mark(entry.seq),
        });
        shelved.collect()
    }

    /// The book after so many entries.
    pub(super) fn book_of(&self, count: usize) -> Arc<Book> {
        let mut book = Book::new();
        let entries = self.entries[..count].iter();
        entries.for_each(|entry| book.apply(entry));
        Arc::new(book)
    }

    fn shelve(&self, shelf: &Shelf, from: usize, to: usize) {
        let batch = self.shelved(from, to);
        let last = batch.last().unwrap();
        let mark = ShelfMark::new(self.book_id, last.mark.clone(), Furthest::NONE);
        shelf.put(&batch, &self.book_of(to), &mark).unwrap();
    }
}

fn mark(seq: Seq) -> Mark {
    let at = Position {
        seq,
        segment: 1,
        offset: seq.0 * 100,
    };
    Mark {
        at,
        chain: Head::EMPTY.chain,
    }
}

#[test]
fn a_book_put_up_in_batches_comes_back_whole() {
    let world = World::with_entries(100);
    for cuts in [vec![0, 100], vec![0, 1, 2, 3, 50, 100], (0..=100).collect()] {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::open(folder.path(), ShelfSize::Alone).unwrap();
        for cut in cuts.windows(2) {
            world.shelve(&shelf, cut[0], cut[1]);
        }
        drop(shelf);
        let shelf = Shelf::open(folder.path(), ShelfSize::Alone).unwrap();
        let head = shelf.mark().unwrap().unwrap().last.at.seq;
        assert_eq!(Book::restore(head, shelf.records().unwrap()), world.book);
        let gloves: Subject = "piece/S-01".parse().unwrap();
        let touched: Vec<Seq> = [2]
            .into_iter()
            .chain((3..=100).step_by(2))
            .map(Seq)
            .collect();
        assert_eq!(shelf.touched_after(&gloves, Seq(0), 1000).unwrap(), touched);
        assert_eq!(
            shelf.touched_after(&gloves, Seq(50), 2).unwrap(),
            [Seq(51), Seq(53)]
        );
        assert_eq!(
            shelf.touched_before(&gloves, Seq(51), 2).unwrap(),
            [Seq(49), Seq(47)]
        );
        assert_eq!(shelf.all_touched().unwrap()[&gloves], touched);
        for entry in &world.entries {
            let answer = shelf.answer(entry.request).unwrap();
            assert_eq!(answer, Some((entry.seq, entry.body)));
            let place = shelf.place_before(entry.seq).unwrap();
            assert!(place.seq <= entry.seq && entry.seq.0 - place.seq.0 < 64);
            assert!(place == Position::START || place == mark(place.seq).at);
        }
        assert_eq!(shelf.answer(Uuid::now_v7()).unwrap(), None);
    }
}

/// The story: a stop after the indexes of a batch were written and before its records were. The
/// next run puts the same entries up in other batches.
#[test]
fn a_batch_put_up_again_after_a_stop_is_not_doubled() {
    let world = World::with_entries(60);
    let shelf = Shelf::open(world.folder.path(), ShelfSize::Alone).unwrap();
    world.shelve(&shelf, 0, 20);
    world.shelve(&shelf, 20, 50);
    for (from, to) in [(20, 31), (31, 40), (40, 60)] {
        world.shelve(&shelf, from, to);
    }
    let gloves: Subject = "piece/S-01".parse().unwrap();
    let touched: Vec<Seq> = [2]
        .into_iter()
        .chain((3..=60).step_by(2))
        .map(Seq)
        .collect();
    assert_eq!(shelf.all_touched().unwrap()[&gloves], touched);
    assert_eq!(Book::restore(Seq(60), shelf.records().unwrap()), world.book);
}

#[test]
fn a_shelf_of_another_book_is_unfit() {
    let world = World::with_entries(3);
    let shelf = Shelf::open(world.folder.path(), ShelfSize::Alone).unwrap();
    assert_eq!(shelf.mark().unwrap(), None);
    world.shelve(&shelf, 0, 3);
    let mark = shelf.mark().unwrap().unwrap();
    assert_eq!(mark.unfit_for(world.book_id), None);
    assert!(mark.unfit_for(Uuid::now_v7()).is_some());
}

/// What the shelf holds of the journals that are kept in `tests/journals`, as SHA-256, with the layout
/// that it has been in since.
const LAYOUT_AND_SUM: (u32, &str) = (
    20,
    "cd00daf079ec2c42cb768083e727c2931e082ae8062967cb03f78e4d95b343ce",
);

/// Whoever changes a record changes these bytes: then `LAYOUT` has to be raised, or a shelf of the
/// program before would be read wrongly.
#[test]
fn what_the_shelf_holds_has_not_changed_without_its_layout() {
    let journals = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/journals");
    let mut sum = Sha256::new();
    let mut kept: Vec<_> = fs::read_dir(journals)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    kept.sort();
    for kept in kept {
        let text = fs::read(kept.join("book/journal/000000000001.jsonl")).unwrap();
        let mut book = Book::new();
        let mut touched = std::collections::BTreeSet::new();
        for line in text
            .split(|byte| *byte == b'\n')
            .filter(|line| !line.is_empty())
        {
            let entry = Entry::read(crate::journal::parse(line).unwrap().entry).unwrap();
            book.apply(&entry);
            touched.extend(subjects(&entry));
        }
        for subject in touched {
            let record = book.record(&subject);
            sum.update(super::mark::encode(&record).unwrap());
        }
    }
    let digits: String = sum
        .finalize()
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let held = (super::mark::LAYOUT, digits.as_str());
    assert_eq!(
        held, LAYOUT_AND_SUM,
        "a record changed: raise LAYOUT, and say both here"
    );
}
