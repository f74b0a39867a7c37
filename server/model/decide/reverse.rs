//! Reversing an entry: what it touched is folded again without it.
//!
//! Nothing is deleted. The new entry names the one it reverses and carries the record of every
//! subject as it stands without it, so that replaying the journal needs no look back.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::Decision;
use crate::book::advance;
use crate::book::change::Stamp;
use crate::book::command::{Past, Said};
use crate::book::deed::{Deed, Entry, Record};
use crate::ground::ids::{Seq, Subject};
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::job::Job;
use crate::{Book, Moment};

pub(super) fn reverse(
    book: &Book,
    said: &Said,
    seq: Seq,
    past: Option<&Past>,
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let Some(past) = past.filter(|past| past.target.seq == seq) else {
        return Err(Refusal::new(
            Reason::EntryUnknown,
            "seq",
            format!("There is no entry {seq}."),
            "List the entries and name one of them.",
        ));
    };
    if let Some(by) = book.reversed_by(seq) {
        return Err(not_reversible(
            format!("Entry {seq} is reversed already, by entry {by}."),
            "There is nothing to do.",
        ));
    }
    if past
        .target
        .deeds
        .iter()
        .any(|deed| matches!(deed, Deed::Reversed { .. }))
    {
        return Err(not_reversible(
            format!("Entry {seq} is itself a reversal."),
            "Enter again what it took back.",
        ));
    }
    let mut skipped: BTreeSet<Seq> = past
        .entries
        .iter()
        .flat_map(|entry| &entry.deeds)
        .filter_map(|deed| match deed {
            Deed::Reversed { seq } => Some(*seq),
            _ => None,
        })
        .collect();
    skipped.insert(seq);
    let subjects: BTreeSet<Subject> = past.target.deeds.iter().map(Deed::subject).collect();
    let restated: Vec<(Subject, Option<Record>)> = subjects
        .into_iter()
        .map(|subject| {
            let record = fold(&subject, &past.entries, &skipped);
            (subject, record)
        })
        .collect();
    let without = without(book, &restated, decision.done_at);
    for (subject, record) in &restated {
        match record {
            Some(record) => can_come_back(&without, subject, record)?,
            None => can_be_taken_back(&without, subject, seq, past, &skipped)?,
        }
    }
    let restated = restated
        .into_iter()
        .map(|(subject, record)| Deed::Restated { subject, record });
    let deeds = [Deed::Reversed { seq }].into_iter().chain(restated);
    Ok(decision.with(deeds.collect(), Vec::new()))
}

/// The book as it stands after the reversal: what one entry set up goes all together, and only what is
/// left can still use it.
fn without(book: &Book, restated: &[(Subject, Option<Record>)], at: Moment) -> Book {
    let mut without = book.clone();
    for (subject, record) in restated {
        let deed = Deed::Restated {
            subject: subject.clone(),
            record: record.clone(),
        };
        without.take(&deed, Stamp::unreported(book.head(), at));
    }
    without
}

/// A subject's record from its entries in order, without those skipped.
fn fold(subject: &Subject, entries: &[Entry], skipped: &BTreeSet<Seq>) -> Option<Record> {
    let mut record = None;
    for entry in entries.iter().filter(|entry| !skipped.contains(&entry.seq)) {
        let stamp = Stamp::of(entry);
        for deed in &entry.deeds {
            if !deed.is_restating() && deed.subject() == *subject {
                record = advance(record, deed, stamp);
            }
        }
        let doubtful = entry
            .flags
            .iter()
            .any(|flag| flag.count && flag.subject == *subject);
        if let (true, Some(Record::Piece(piece))) = (doubtful, &mut record) {
            Arc::make_mut(piece).needs_count = true;
        }
    }
    record
}

/// Whether nothing rests on a subject that would be taken back with its first entry.
fn can_be_taken_back(
    book: &Book,
    subject: &Subject,
    seq: Seq,
    past: &Past,
    skipped: &BTreeSet<Seq>,
) -> Result<(), Refusal> {
    let later = past.entries.iter().find(|entry| {
        !skipped.contains(&entry.seq)
            && (entry.deeds.iter()).any(|deed| !deed.is_restating() && deed.subject() == *subject)
    });
    if let Some(later) = later {
        return Err(not_reversible(
            format!(
                "Entry {} rests on entry {seq}: it is about {} too.",
                later.seq,
                subject.word()
            ),
            "Reverse the later entries first.",
        ));
    }
    let user = user_of(book, subject).filter(|user| !goes_with(user, past, skipped));
    match user {
        None => Ok(()),
        Some(user) => Err(not_reversible(
            format!("{user} uses {}.", subject.word()),
            "Reverse or change that first.",
        )),
    }
}

/// Whether a job is taken back with the same entry, and so uses nothing any more.
fn goes_with(user: &str, past: &Past, skipped: &BTreeSet<Seq>) -> bool {
    let is_of_it = |deed: &Deed| matches!(deed.subject(), Subject::Job(id) if id.as_str() == user);
    let later = |entry: &&Entry| !skipped.contains(&entry.seq);
    past.target.deeds.iter().any(is_of_it)
        && !past
            .entries
            .iter()
            .filter(later)
            .any(|entry| entry.deeds.iter().any(is_of_it))
}

/// What in the book uses a definition, by name.
fn user_of(book: &Book, subject: &Subject) -> Option<String> {
    let job = |uses: &dyn Fn(&Job) -> bool| {
        let job = book.jobs().find(|job| uses(job))?;
        Some(job.id.to_string())
    };
    match subject {
        Subject::Make(id) => {
            let piece = book.all_of(id).next();
            let routine = || {
                let mut routines = book.routines();
                routines.find(|routine| routine.makes().any(|make| make == id))
            };
            let supplier = || {
                let mut suppliers = book.suppliers();
                suppliers.find(|supplier| supplier.offer(id).is_some())
            };
            piece
                .map(|piece| piece.tag.to_string())
                .or_else(|| routine().map(|routine| routine.id.to_string()))
                .or_else(|| supplier().map(|supplier| supplier.id.to_string()))
        }
        Subject::Car(id) => job(&|job| job.car == *id),
        Subject::Routine(id) => job(&|job| job.routine == *id),
        Subject::Supplier(id) => {
            let mut orders = book.orders();
            orders
                .find(|order| order.supplier == *id)
                .map(|order| order.id.to_string())
        }
        Subject::Piece(_)
        | Subject::Job(_)
        | Subject::Order(_)
        | Subject::Policy
        | Subject::Entry(_) => None,
    }
}

/// Whether a record that comes back names only what the book still holds.
fn can_come_back(book: &Book, subject: &Subject, record: &Record) -> Result<(), Refusal> {
    let gone = match record {
        Record::Job(job) if book.car(&job.car).is_none() => Some(&job.car),
        Record::Job(job) if book.routine(&job.routine).is_none() => Some(&job.routine),
        Record::Routine(routine) => routine.makes().find(|make| book.make(make).is_none()),
        Record::Supplier(supplier) => {
            let mut makes = supplier.offers.iter().map(|offer| &offer.make);
            makes.find(|make| book.make(make).is_none())
        }
        Record::Order(order) if book.supplier(&order.supplier).is_none() => Some(&order.supplier),
        _ => None,
    };
    match gone {
        None => Ok(()),
        Some(gone) => Err(not_reversible(
            format!(
                "{} would use {gone} again, which was taken back.",
                subject.word()
            ),
            "Edit it to what you want instead.",
        )),
    }
}

fn not_reversible(why: String, todo: &str) -> Refusal {
    Refusal::new(Reason::NotReversible, "seq", why, todo)
}
