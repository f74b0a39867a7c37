//! A disk that fails at every operation of a run in turn, in every way, and loses power.
//!
//! The story: a journal takes groups of one to nine lines over several segments. At the n-th thing it
//! asks of the disk the disk fails. The journal is left, the disk is made to work again with what it
//! would have kept, and the journal is opened anew: nothing acknowledged may be gone, and nothing may
//! be called damaged that was only cut off.

use std::sync::Arc;

use fettlebook_model::Seq;
use tempfile::TempDir;
use uuid::Uuid;

use super::super::{
    ClosedPlace, FileJournal, FileReader, Journal, JournalError, Line, Position, Reader as _,
    Survey, TornTail, make_certain, survey,
};
use crate::testing::faulty::{FAULTS, Fault, FaultyDisk};

/// Lines of each group in turn; the segments end every few hundred bytes.
const GROUPS: [u64; 9] = [1, 5, 2, 9, 1, 1, 3, 7, 4];
const SEGMENT_BYTES_MAX: u64 = 5_000;

pub(super) struct Run {
    pub(super) folder: TempDir,
    pub(super) disk: FaultyDisk,
    segment_bytes_max: u64,
    /// Entries that were acknowledged, all of them from the first on.
    pub(super) acknowledged: u64,
    /// Entries that were given in all.
    given: u64,
}

fn line(seq: u64) -> Line {
    let note = "cut the bonnet ".repeat(1 + seq as usize % 40);
    Line(format!(r#"{{"seq":{seq},"note":"{note}"}}"#).into_bytes())
}

impl Run {
    fn new(seed: u64) -> Self {
        Self::with_segments(seed, SEGMENT_BYTES_MAX)
    }

    pub(super) fn with_segments(seed: u64, segment_bytes_max: u64) -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
            disk: FaultyDisk::new(seed),
            segment_bytes_max,
            acknowledged: 0,
            given: 0,
        }
    }

    pub(super) fn survey(&self) -> Survey {
        survey(self.folder.path(), None, &mut |_| Ok(())).unwrap()
    }

    /// Opens the journal as a desk does.
    fn open(&self) -> Result<FileJournal, JournalError> {
        let (folder, disk) = (self.folder.path().to_owned(), Arc::new(self.disk.clone()));
        let place = ClosedPlace {
            folder: folder.clone(),
            owner: Uuid::nil(),
        };
        let closed = place.read();
        let certain = make_certain(&folder, &self.disk, closed.as_ref());
        certain.map_err(|uncertain| uncertain.error)?;
        let found = self.survey();
        let lost = closed.and_then(|closed| closed.missing_in(&found));
        assert_eq!(lost, None, "the mark names what is not there");
        let mut journal = FileJournal::open(folder, disk, &found, self.segment_bytes_max)?;
        journal.marked_in(place);
        Ok(journal)
    }

    /// Gives the groups until one is not taken.
    pub(super) fn work(&mut self) {
        let Ok(mut journal) = self.open() else { return };
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
        drop(self.open().unwrap());
        let reader = FileReader::new(self.folder.path().to_owned());
        if head > 0 {
            for (seq, read) in (1..).zip(reader.read(Position::START, Seq(head)).unwrap()) {
                let text = String::from_utf8(read.unwrap().entry).unwrap();
                let note = String::from_utf8(line(seq).0).unwrap();
                let (_, note) = note.split_once(",\"note\"").unwrap();
                assert!(text.ends_with(note), "{story}: entry {seq} is another");
            }
        }
    }
}

#[test]
fn whatever_fails_whenever_nothing_acknowledged_is_lost() {
    let mut whole = Run::new(0);
    whole.work();
    assert_eq!(whole.acknowledged, GROUPS.iter().sum::<u64>());
    let operation_count = whole.disk.operation_count();
    let (mut trials, mut torn, mut missing) = (0, 0, 0);
    for fault in FAULTS {
        for at in 0..operation_count {
            for seed in 0..if fault == Fault::PowerLoss { 24 } else { 2 } {
                let story = format!("{fault:?} at operation {at}, seed {seed}");
                let mut run = Run::new(seed);
                run.disk.fail_after(at, fault);
                run.work();
                if fault != Fault::PowerLoss {
                    // What a process leaves behind is then lost with the power as well.
                    run.disk.cut_power();
                }
                run.disk.recover();
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
