//! A store on a machine that fails at every operation of a run in turn, in every way, and loses power.
//!
//! The story: a journal takes groups of one to nine lines over several segments. At the n-th thing it
//! asks of the machine that fails. The journal is left, the machine is made to work again with what it
//! would have kept, and the journal is opened anew: nothing acknowledged may be gone, and nothing may
//! be called damaged that was only cut off.

use fettlebook_model::Seq;

use super::{ASKED, line_of};
use crate::journal::{Journal, JournalError, Line, Position, Survey, TornTail};
use crate::store::WritersRight;
use crate::testing::faulty::{FAULTS, Fault};
use crate::testing::stores::{BreakingStore, Kind, on_every_store};

/// Lines of each group in turn; the segments end every few hundred bytes.
const GROUPS: [u64; 9] = [1, 5, 2, 9, 1, 1, 3, 7, 4];
const SEGMENT_BYTES_MAX: u64 = 5_000;

pub(super) struct Run {
    pub(super) broken: Box<dyn BreakingStore>,
    /// Operations that it took to begin the book.
    begun_count: u64,
    /// Entries that were acknowledged, all of them from the first on.
    pub(super) acknowledged: u64,
    /// Entries that were given in all.
    given: u64,
}

fn line(seq: u64) -> Line {
    line_of(seq, &"cut the bonnet ".repeat(1 + seq as usize % 40))
}

impl Run {
    pub(super) fn new(kind: &Kind, seed: u64, segment_bytes_max: u64) -> Self {
        let broken = kind.breaking.unwrap()(seed, segment_bytes_max);
        drop(broken.store().take(&ASKED).unwrap());
        Self {
            begun_count: broken.operation_count(),
            broken,
            acknowledged: 0,
            given: 0,
        }
    }

    /// How many operations it was asked for since the book was begun.
    pub(super) fn operation_count(&self) -> u64 {
        self.broken.operation_count() - self.begun_count
    }

    fn survey(&self) -> Survey {
        let right = self.broken.store().take(&ASKED).unwrap();
        right.reader().survey(None, None, &mut |_| Ok(())).unwrap()
    }

    /// Opens the journal as a desk does.
    fn open(&self) -> Option<(Box<dyn WritersRight>, Box<dyn Journal>)> {
        let right = self.broken.store().take(&ASKED).ok()?;
        let end = right.settle();
        if end.uncertain.is_some() {
            return None;
        }
        let found = right.reader().survey(None, None, &mut |_| Ok(())).ok()?;
        let lost = end.closed.and_then(|closed| closed.missing_in(&found));
        assert_eq!(lost, None, "the mark names what is not there");
        let journal = right.journal(&found).ok()?;
        Some((right, journal))
    }

    /// Gives the groups until one is not taken.
    pub(super) fn work(&mut self) {
        let Some((_right, mut journal)) = self.open() else {
            return;
        };
        for count in GROUPS {
            let head = journal.head();
            let lines: Vec<Line> = (head.seq.0 + 1..=head.seq.0 + count).map(line).collect();
            self.given = self.given.max(head.seq.0 + count);
            match journal.append(&head, &lines) {
                Ok(marks) => self.acknowledged = marks.last().unwrap().at.seq.0,
                Err(JournalError::Unready { .. }) => {}
                Err(_) => return,
            }
        }
        let _ = journal.close();
    }

    /// What is there is a beginning of what was given, and has all that was acknowledged.
    pub(super) fn assert_kept(&self, story: &str) {
        let found = self.survey();
        assert_eq!(found.damage, None, "{story}");
        let head = found.head.seq.0;
        assert!(
            (self.acknowledged..=self.given).contains(&head),
            "{story}: {} acknowledged, {} given, {head} there",
            self.acknowledged,
            self.given
        );
        let (right, _journal) = self.open().unwrap();
        let reader = right.reader();
        if head > 0 {
            for (seq, read) in (1..).zip(reader.read(Position::START, Seq(head)).unwrap()) {
                let text = String::from_utf8(read.unwrap().entry).unwrap();
                let note = String::from_utf8(line(seq).bytes).unwrap();
                let (_, note) = note.split_once(",\"note\"").unwrap();
                assert!(text.ends_with(note), "{story}: entry {seq} is another");
            }
        }
    }
}

fn whatever_fails_whenever_nothing_acknowledged_is_lost(kind: &Kind) {
    let mut whole = Run::new(kind, 0, SEGMENT_BYTES_MAX);
    whole.work();
    assert_eq!(whole.acknowledged, GROUPS.iter().sum::<u64>());
    let operation_count = whole.operation_count();
    let (mut trials, mut torn, mut missing) = (0, 0, 0);
    for fault in FAULTS {
        for at in 0..operation_count {
            for seed in 0..if fault == Fault::PowerLoss { 24 } else { 2 } {
                let story = format!("{fault:?} at operation {at}, seed {seed}");
                let mut run = Run::new(kind, seed, SEGMENT_BYTES_MAX);
                run.broken.fail_after(at, fault);
                run.work();
                if fault != Fault::PowerLoss {
                    // What a process leaves behind is then lost with the power as well.
                    run.broken.cut_power();
                }
                run.broken.recover();
                let found = run.survey();
                torn += u64::from(matches!(found.torn, Some(TornTail::Cut { .. })));
                missing += u64::from(found.head.seq.0 < run.given);
                run.assert_kept(&story);
                run.work();
                run.assert_kept(&format!("{story}, then a whole run"));
                trials += 1;
            }
        }
    }
    println!("{trials} trials, {torn} cut off, {missing} ended before what was given, 0 lost");
    assert!(torn > 50 && missing > 50, "the faults hit nothing");
}

on_every_store!(breaking whatever_fails_whenever_nothing_acknowledged_is_lost);
