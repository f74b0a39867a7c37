//! What every cabinet promises.

use super::{ASKED, told};
use crate::store::Paper;
use crate::testing::stores::{Kind, on_every_store};

const PAPERS: [Paper; 7] = [
    Paper::Devices,
    Paper::Codes,
    Paper::Service,
    Paper::Authority,
    Paper::AuthorityKey,
    Paper::Leaf,
    Paper::LeafKey,
];

/// Threads that write at once, and how often each does.
const WRITERS: u64 = 4;
const TURNS: u64 = 25;

fn each_paper_holds_what_was_written_last(kind: &Kind) {
    let (told, store) = told(kind);
    drop(store.take(&ASKED).unwrap());
    let cabinet = store.cabinet();
    cabinet.open().unwrap();
    for paper in PAPERS {
        assert_eq!(cabinet.read(paper).unwrap(), None);
    }
    for paper in PAPERS {
        let name = format!("{paper:?}");
        for text in [format!("{name}, the first and longer one"), name.clone()] {
            cabinet.write(paper, text.as_bytes()).unwrap();
        }
        assert!(!cabinet.place(paper).is_empty());
    }
    let other = told.store().cabinet();
    other.open().unwrap();
    for paper in PAPERS {
        let held = other.read(paper).unwrap().unwrap();
        assert_eq!(String::from_utf8(held).unwrap(), format!("{paper:?}"));
    }
}

fn what_is_changed_by_turns_loses_no_change(kind: &Kind) {
    let (told, store) = told(kind);
    drop(store.take(&ASKED).unwrap());
    store.cabinet().open().unwrap();
    std::thread::scope(|scope| {
        for _ in 0..WRITERS {
            let cabinet = told.store().cabinet();
            scope.spawn(move || {
                for _ in 0..TURNS {
                    let _turn = cabinet.turn().unwrap();
                    let held = cabinet.read(Paper::Codes).unwrap().unwrap_or_default();
                    cabinet
                        .write(Paper::Codes, &[&held[..], b"x"].concat())
                        .unwrap();
                }
            });
        }
    });
    let held = store.cabinet().read(Paper::Codes).unwrap().unwrap();
    assert_eq!(held.len() as u64, WRITERS * TURNS);
}

on_every_store!(
    each_paper_holds_what_was_written_last,
    what_is_changed_by_turns_loses_no_change,
);
