//! What every store promises, asked of each: nothing here knows how a book is kept.

mod cuts;
mod faults;
mod papers;

use std::sync::Arc;
use std::time::Duration;

use fettlebook_model::{Moment, Seq};
use uuid::Uuid;

use super::{About, Asked, Identity, Store, StoreError, WritersRight};
use crate::journal::{Head, Journal, JournalError, Line, Mark, Position, Reader, Untaken};
use crate::limits::LOCK_WAIT_MAX;
use crate::testing::stores::{Kind, ToldStore, on_every_store};

/// Asks for the right and waits for it as a desk does: a program that another test starts has all locks for a
/// moment.
const ASKED: Asked = Asked {
    new_book_id: Uuid::from_u128(1),
    now: Moment::UNIX_EPOCH,
    wait: LOCK_WAIT_MAX,
    mid_move: false,
};

fn line_of(seq: u64, note: &str) -> Line {
    Line::of(format!(r#"{{"seq":{seq},"note":"{note}"}}"#).into_bytes())
}

fn line(seq: u64) -> Line {
    line_of(seq, &format!("washed P-07 – {seq}"))
}

/// A book that is held, with its journal.
struct Held {
    right: Box<dyn WritersRight>,
    journal: Box<dyn Journal>,
}

impl Held {
    /// Takes a book as a desk does.
    fn take(store: &dyn Store) -> Self {
        let right = store.take(&ASKED).unwrap();
        assert!(right.settle().uncertain.is_none());
        let found = right.reader().survey(None, None, &mut |_| Ok(())).unwrap();
        let journal = right.journal(&found).unwrap();
        Self { right, journal }
    }

    /// Appends the entries up to `last` as a group.
    fn append(&mut self, last: u64) -> Result<Vec<Mark>, JournalError> {
        let head = self.journal.head();
        let lines: Vec<Line> = (head.seq.0 + 1..=last).map(line).collect();
        self.journal.append(&head, &lines)
    }
}

/// The numbers of the entries after a mark, as they are found now.
fn numbers(reader: &dyn Reader, after: Option<&Mark>) -> Vec<u64> {
    let mut found = Vec::new();
    let survey = reader.survey(after, None, &mut |line| {
        found.push(line.mark.at.seq.0);
        Ok(())
    });
    assert_eq!(survey.unwrap().damage, None);
    found
}

fn told(kind: &Kind) -> (Box<dyn ToldStore>, Arc<dyn Store>) {
    let told = (kind.told)();
    let store = told.store();
    (told, store)
}

fn a_book_is_begun_once_and_stays_what_it_is(kind: &Kind) {
    let (told, store) = told(kind);
    assert_eq!(store.identity().unwrap(), None);
    let begun = Identity::begun(ASKED.new_book_id);
    assert_eq!(store.take(&ASKED).unwrap().identity(), begun);
    let other = Asked {
        new_book_id: Uuid::from_u128(2),
        ..ASKED
    };
    let store = told.store();
    assert_eq!(store.take(&other).unwrap().identity(), begun);
    assert_eq!(store.identity().unwrap(), Some(begun));
}

fn one_process_has_the_right_and_others_are_told_who(kind: &Kind) {
    let (told, store) = told(kind);
    let now: Moment = "2026-03-02T08:00:00Z".parse().unwrap();
    let right = store.take(&Asked { now, ..ASKED }).unwrap();
    let wait = Duration::ZERO;
    let at_once = Asked { wait, ..ASKED };
    let Err(StoreError::InUse { holder, .. }) = told.store().take(&at_once) else {
        panic!("two have the right");
    };
    let holder = holder.unwrap();
    assert_eq!((holder.process, holder.since), (std::process::id(), now));
    let wait = Duration::from_secs(10);
    let waits = std::thread::spawn(move || store.take(&Asked { wait, ..ASKED }).map(drop));
    std::thread::sleep(Duration::from_millis(50));
    assert!(!waits.is_finished());
    drop(right);
    waits.join().unwrap().unwrap();
}

fn a_group_is_one_write_that_is_made_certain_once(kind: &Kind) {
    let (told, store) = told(kind);
    let mut held = Held::take(&*store);
    let marks = held.append(64).unwrap();
    assert_eq!((told.append_count(), told.sync_count()), (1, 1));
    assert_eq!(marks.len(), 64);
    assert_eq!(marks.last().unwrap().head(), held.journal.head());
    held.append(65).unwrap();
    assert_eq!((told.append_count(), told.sync_count()), (2, 2));
}

fn what_was_appended_is_read_back_byte_for_byte(kind: &Kind) {
    let (_told, store) = told(kind);
    let mut held = Held::take(&*store);
    let reader = held.right.reader();
    let marks = [held.append(3).unwrap(), held.append(7).unwrap()].concat();
    let read = reader.read(Position::START, Seq(7)).unwrap();
    for ((seq, read), mark) in (1..).zip(read).zip(&marks) {
        let read = read.unwrap();
        assert_eq!(read.mark, *mark);
        assert_eq!(read.given(), line(seq).bytes);
    }
    let from_5 = reader.read(marks[4].at, Seq(6)).unwrap();
    let from_5: Vec<u64> = from_5.map(|line| line.unwrap().mark.at.seq.0).collect();
    assert_eq!(from_5, [5, 6]);
    let link = marks[1].chain.link(&reader_entry(&*reader, &marks[2]));
    assert_eq!(link, marks[2].chain, "the chain is that of the exact bytes");
}

/// The bytes of the entry with a mark.
fn reader_entry(reader: &dyn Reader, mark: &Mark) -> Vec<u8> {
    let mut lines = reader.read(mark.at, mark.at.seq).unwrap();
    lines.next().unwrap().unwrap().entry
}

fn what_others_append_is_read_from_where_one_stands(kind: &Kind) {
    let (told, store) = told(kind);
    let mut held = Held::take(&*store);
    let reader = held.right.reader();
    let first = held.append(3).unwrap();
    assert_eq!(numbers(&*reader, None), [1, 2, 3]);
    held.append(5).unwrap();
    assert_eq!(numbers(&*reader, first.last()), [4, 5]);
    drop(held);
    Held::take(&*told.store()).append(6).unwrap();
    assert_eq!(numbers(&*reader, first.last()), [4, 5, 6]);
    let mut until_5 = Vec::new();
    let found = reader.survey(None, Some(Seq(5)), &mut |line| {
        until_5.push(line.mark.at.seq.0);
        Ok(())
    });
    assert_eq!(
        (until_5, found.unwrap().head.seq),
        (vec![1, 2, 3, 4, 5], Seq(5))
    );
    let other = Mark {
        chain: first[1].chain,
        ..first[2].clone()
    };
    let found = reader.survey(Some(&other), None, &mut |_| Ok(())).unwrap();
    assert!(
        !found.start_found,
        "that is not the entry that stands there"
    );
}

fn whoever_is_behind_or_breaks_the_form_is_refused_and_leaves_nothing(kind: &Kind) {
    let (told, store) = told(kind);
    let mut held = Held::take(&*store);
    held.append(3).unwrap();
    let lines = told.lines();
    let behind = held.journal.append(&Head::EMPTY, &[line(1)]).unwrap_err();
    assert!(matches!(
        behind,
        JournalError::HeadMoved {
            expected: Seq(0),
            actual: Seq(3)
        }
    ));
    let head = held.journal.head();
    for wrong in [
        line(5),
        Line::of(b"{\"seq\":4,\n}".to_vec()),
        Line::of(b"{}".to_vec()),
    ] {
        let refused = held.journal.append(&head, &[wrong]);
        assert!(matches!(refused, Err(JournalError::Malformed(Seq(4)))));
    }
    assert_eq!(told.lines(), lines);
    held.append(4).unwrap();
}

fn a_group_that_could_not_be_made_certain_is_there_whole_or_not_at_all(kind: &Kind) {
    let (told, store) = told(kind);
    let mut held = Held::take(&*store);
    held.append(3).unwrap();
    told.fail_sync_after(0);
    if kind.settles {
        held.append(6).unwrap();
    } else {
        held.append(6).unwrap_err();
        assert_eq!(held.journal.head().seq, Seq(3), "it was not acknowledged");
        held.append(6).unwrap_err();
    }
    drop(held);
    let mut held = Held::take(&*told.store());
    let head = held.journal.head().seq.0;
    assert!([3, 6].contains(&head), "{head}");
    held.append(9).unwrap();
    let all: Vec<u64> = (1..=9).collect();
    assert_eq!(numbers(&*held.right.reader(), None), all);
}

fn a_group_for_which_there_is_no_room_may_be_tried_again(kind: &Kind) {
    let (told, store) = told(kind);
    let mut held = Held::take(&*store);
    held.append(3).unwrap();
    told.fail_append_after(0);
    let refused = held.append(6).unwrap_err();
    assert!(refused.passes(), "{refused}");
    assert_eq!(numbers(&*held.right.reader(), None), [1, 2, 3]);
    held.append(6).unwrap();
    assert_eq!(numbers(&*held.right.reader(), None), [1, 2, 3, 4, 5, 6]);
}

fn the_end_of_a_journal_that_was_closed_is_known(kind: &Kind) {
    let (told, store) = told(kind);
    let mut held = Held::take(&*store);
    held.append(5).unwrap();
    let head = held.journal.head();
    held.journal.close().unwrap();
    drop(held);
    let right = told.store().take(&ASKED).unwrap();
    let end = right.settle();
    assert!(end.is_as_closed && end.uncertain.is_none());
    assert_eq!(end.closed.unwrap().head, head);
    let found = right.reader().survey(None, None, &mut |_| Ok(())).unwrap();
    let mut journal = right.journal(&found).unwrap();
    journal.append(&head, &[line(6)]).unwrap();
    drop((journal, right));
    let right = told.store().take(&ASKED).unwrap();
    let end = right.settle();
    assert!(end.uncertain.is_none());
    let found = right.reader().survey(None, None, &mut |_| Ok(())).unwrap();
    assert_eq!(found.head.seq, Seq(6));
    assert_eq!(
        end.closed.and_then(|closed| closed.missing_in(&found)),
        None
    );
}

fn nothing_is_written_behind_what_a_later_program_wrote_or_what_is_wrong(kind: &Kind) {
    let (told, store) = told(kind);
    Held::take(&*store).append(3).unwrap();
    let right = told.store().take(&ASKED).unwrap();
    right.settle();
    for untaken in [
        Untaken::Newer("was written later".to_owned()),
        Untaken::Damaged("is wrong".to_owned()),
    ] {
        let mut visit = |line: &crate::journal::ReadLine| match line.mark.at.seq {
            Seq(2) => Err(untaken.clone()),
            _ => Ok(()),
        };
        let found = right.reader().survey(None, None, &mut visit).unwrap();
        assert_eq!(found.head.seq, Seq(1));
        let refused = right.journal(&found).map(drop).unwrap_err();
        let is_so = match untaken {
            Untaken::Newer(_) => matches!(refused, JournalError::Stopped(_)),
            Untaken::Damaged(_) => matches!(refused, JournalError::Damaged(_)),
        };
        assert!(is_so, "{refused}");
    }
}

fn what_is_proven_is_known_to_the_next(kind: &Kind) {
    let (told, store) = told(kind);
    let mut held = Held::take(&*store);
    held.append(3).unwrap();
    let mut proof = held.right.proof();
    assert_eq!(proof.until(), Seq(0));
    assert!(proof.unread_bytes() > 0);
    proof.bring_up(Seq(3), &|| true).unwrap();
    proof.look().unwrap();
    let marks = held.append(5).unwrap();
    proof.extend(&marks, held.journal.reached());
    assert_eq!(proof.until(), Seq(5));
    proof.notice();
    held.journal.close().unwrap();
    proof.refresh();
    proof.keep().unwrap();
    drop(held);
    let proof = told.store().take(&ASKED).unwrap().proof();
    assert_eq!((proof.until(), proof.unread_bytes()), (Seq(5), 0));
}

fn a_note_is_what_was_kept_last_of_what_it_is_about(kind: &Kind) {
    let (told, store) = told(kind);
    drop(store.take(&ASKED).unwrap());
    assert_eq!(store.note(About::Upkeep).unwrap(), None);
    for text in ["{\"seq\":1,\"longer\":true}", "{\"seq\":2}"] {
        store.keep_note(About::Upkeep, text.as_bytes()).unwrap();
        let kept = told.store().note(About::Upkeep).unwrap().unwrap();
        assert_eq!(kept.trim_ascii_end(), text.as_bytes());
    }
    assert_eq!(store.note(About::Damage).unwrap(), None);
}

fn the_room_that_a_book_takes_is_told(kind: &Kind) {
    let (_told, store) = told(kind);
    let mut held = Held::take(&*store);
    assert_eq!(store.space().journal_bytes, 0);
    held.append(9).unwrap();
    assert!(store.space().journal_bytes > 9 * line(9).bytes.len() as u64);
    assert_eq!(store.space().shelf_bytes, 0);
}

on_every_store!(
    a_book_is_begun_once_and_stays_what_it_is,
    one_process_has_the_right_and_others_are_told_who,
    a_group_is_one_write_that_is_made_certain_once,
    what_was_appended_is_read_back_byte_for_byte,
    what_others_append_is_read_from_where_one_stands,
    whoever_is_behind_or_breaks_the_form_is_refused_and_leaves_nothing,
    a_group_that_could_not_be_made_certain_is_there_whole_or_not_at_all,
    a_group_for_which_there_is_no_room_may_be_tried_again,
    the_end_of_a_journal_that_was_closed_is_known,
    nothing_is_written_behind_what_a_later_program_wrote_or_what_is_wrong,
    what_is_proven_is_known_to_the_next,
    a_note_is_what_was_kept_last_of_what_it_is_about,
    the_room_that_a_book_takes_is_told,
);
