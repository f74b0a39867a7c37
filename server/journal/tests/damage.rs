//! What is torn is cut; anything else that is wrong is named by its first bad entry and left alone.

use std::fs;
use std::sync::Arc;

use fettlebook_model::Seq;

use super::{World, line, mark_of};
use crate::journal::{
    FileJournal, Head, Journal, JournalError, Mark, ReadLine, RealDisk, TornTail, Untaken, survey,
};
use crate::limits::SEGMENT_BYTES_MAX;

#[test]
fn a_line_that_was_being_written_is_cut_wherever_it_broke_off() {
    let whole = World::new().with_entries(6);
    let bytes = fs::read(whole.segment(1)).unwrap();
    let last = usize::try_from(mark_of(&whole, 6).at.offset).unwrap();
    for end in last + 1..bytes.len() - 1 {
        let world = World::new();
        fs::write(world.segment(1), &bytes[..end]).unwrap();
        let (mut journal, found) = world.open();
        let byte_count = (end - last) as u64;
        assert_eq!(
            found.torn,
            Some(TornTail::Cut {
                after: Seq(5),
                byte_count
            })
        );
        let head = journal.head();
        journal.append(&head, &[line(6), line(7)]).unwrap();
        let again = world.survey();
        assert_eq!(
            (again.head.seq, again.torn, again.damage),
            (Seq(7), None, None)
        );
    }
}

#[test]
fn a_last_line_without_its_line_feed_is_kept() {
    let world = World::new().with_entries(3);
    let bytes = fs::read(world.segment(1)).unwrap();
    fs::write(world.segment(1), &bytes[..bytes.len() - 1]).unwrap();
    let (mut journal, found) = world.open();
    assert_eq!(found.torn, Some(TornTail::Unended { seq: Seq(3) }));
    let head = journal.head();
    journal.append(&head, &[line(4)]).unwrap();
    assert_eq!(world.entries(), [1, 2, 3, 4]);
}

#[test]
fn a_tail_of_zeros_is_space_set_aside() {
    let world = World::new().with_entries(3);
    let bytes = fs::read(world.segment(1)).unwrap();
    fs::write(world.segment(1), [&bytes[..], &[0; 4096]].concat()).unwrap();
    let (mut journal, found) = world.open();
    assert_eq!((found.torn, found.damage), (None, None));
    let head = journal.head();
    journal.append(&head, &[line(4)]).unwrap();
    assert_eq!(world.entries(), [1, 2, 3, 4]);
    journal.close().unwrap();
    let bytes = fs::read(world.segment(1)).unwrap();
    assert_eq!(bytes.last(), Some(&b'\n'), "it is given back at the end");
}

#[test]
fn a_last_line_without_its_line_feed_is_kept_before_space_set_aside() {
    let world = World::new().with_entries(3);
    let mut bytes = fs::read(world.segment(1)).unwrap();
    bytes.pop();
    bytes.extend([0; 1000]);
    fs::write(world.segment(1), &bytes).unwrap();
    let (mut journal, found) = world.open();
    assert_eq!(found.torn, Some(TornTail::Unended { seq: Seq(3) }));
    let head = journal.head();
    journal.append(&head, &[line(4)]).unwrap();
    assert_eq!(world.entries(), [1, 2, 3, 4]);
}

#[test]
fn every_changed_byte_is_found_and_the_first_bad_entry_named() {
    let world = World::new().with_entries(4);
    let good = fs::read(world.segment(1)).unwrap();
    for at in 0..good.len() - 1 {
        let mut bytes = good.clone();
        bytes[at] ^= 1;
        fs::write(world.segment(1), &bytes).unwrap();
        let seq = 1 + good[..at].iter().filter(|b| **b == b'\n').count() as u64;
        let found = world.survey();
        let named = found.damage.map(|damage| damage.seq);
        assert_eq!(named, Some(Seq(seq)), "byte {at}");
        assert_eq!(found.head.seq, Seq(seq - 1));
        assert_eq!(
            fs::read(world.segment(1)).unwrap(),
            bytes,
            "nothing is repaired"
        );
    }
}

#[test]
fn lines_taken_out_doubled_or_moved_are_found() {
    let world = World::new().with_entries(5);
    let lines = world.lines();
    let mut gone = lines.clone();
    gone.remove(2);
    let mut doubled = lines.clone();
    doubled.insert(2, lines[1].clone());
    let mut moved = lines.clone();
    moved.swap(2, 3);
    let mut first_gone = lines.clone();
    first_gone.remove(0);
    for (wrong, first_bad) in [(gone, 3), (doubled, 3), (moved, 3), (first_gone, 1)] {
        world.write_lines(&wrong);
        assert_eq!(
            world.survey().damage.map(|damage| damage.seq),
            Some(Seq(first_bad))
        );
    }
}

#[test]
fn a_missing_segment_is_named_by_its_first_entry() {
    for (gone, first_bad) in [(1, 1), (4, 4)] {
        let mut world = World::new();
        world.segment_bytes_max = 300;
        let world = world.with_entries(9);
        fs::remove_file(world.segment(gone)).unwrap();
        assert_eq!(
            world.survey().damage.map(|damage| damage.seq),
            Some(Seq(first_bad))
        );
    }
}

#[test]
fn a_torn_line_before_the_last_segment_is_damage() {
    let mut world = World::new();
    world.segment_bytes_max = 300;
    let world = world.with_entries(9);
    let bytes = fs::read(world.segment(4)).unwrap();
    fs::write(world.segment(4), &bytes[..bytes.len() - 5]).unwrap();
    let found = world.survey();
    assert_eq!(
        (found.torn, found.damage.map(|damage| damage.seq)),
        (None, Some(Seq(6)))
    );
}

#[test]
fn a_known_entry_that_is_gone_or_changed_is_missed() {
    let world = World::new().with_entries(6);
    let lines = world.lines();
    let mark = mark_of(&world, 6);
    let mut other = mark.clone();
    other.chain = Head::EMPTY.chain;
    let missed = |mark: &Mark| {
        !survey(world.path(), Some(mark), &mut |_| Ok(()))
            .unwrap()
            .start_found
    };
    assert!(!missed(&mark));
    assert!(missed(&other));
    world.write_lines(&lines[..5]);
    assert!(missed(&mark));
    fs::remove_file(world.segment(1)).unwrap();
    assert!(missed(&mark));
}

#[test]
fn an_entry_the_reader_objects_to_is_damage() {
    let world = World::new().with_entries(5);
    let found = survey(world.path(), None, &mut |line| {
        if line.mark.at.seq == Seq(4) {
            Err("is not liked".into())
        } else {
            Ok(())
        }
    })
    .unwrap();
    let damage = found.damage.unwrap();
    assert_eq!((damage.seq, found.head.seq), (Seq(4), Seq(3)));
    assert_eq!(damage.to_string(), "entry 4 of the journal is not liked");
}

/// Of what follows on an entry that is not understood only the chain can be looked at.
#[test]
fn a_journal_in_which_a_later_program_wrote_ends_before_that_and_is_not_written_to() {
    let world = World::new().with_entries(5);
    let visit = &mut |line: &ReadLine| match line.mark.at.seq {
        Seq(4) => Err(Untaken::Newer("is a later one".to_owned())),
        seq => {
            assert!(seq < Seq(4), "entry {seq} was looked at");
            Ok(())
        }
    };
    let found = survey(world.path(), None, visit).unwrap();
    assert_eq!((found.damage.clone(), found.head.seq), (None, Seq(3)));
    let newer = found.newer.clone().unwrap();
    assert_eq!(newer.to_string(), "entry 4 of the journal is a later one");
    assert_eq!((newer.seq, newer.until), (Seq(4), world.survey().head));
    let folder = world.path().to_owned();
    let disk = Arc::new(RealDisk);
    let opened = FileJournal::open(folder, disk, &found, SEGMENT_BYTES_MAX);
    assert!(matches!(opened, Err(JournalError::Stopped(_))));
}
