//! Reversing an entry: what it touched is folded again without it.
//!
//! Nothing is deleted. The new entry names the one it reverses and carries the record of every
//! subject as it stands without it, so that replaying the journal needs no look back.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::Decision;
use crate::book::advance;
use crate::change::Stamp;
use crate::command::{Past, Said};
use crate::deed::{Deed, Entry, Record};
use crate::ids::{Seq, Subject};
use crate::refusal::{Reason, Refusal};
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
    let not = |why: String, todo: &str| Err(Refusal::new(Reason::NotReversible, "seq", why, todo));
    if let Some(by) = book.reversed_by(seq) {
        return not(
            format!("Entry {seq} is reversed already, by entry {by}."),
            "There is nothing to do.",
        );
    }
    if past
        .target
        .deeds
        .iter()
        .any(|deed| matches!(deed, Deed::Reversed { .. }))
    {
        return not(
            format!("Entry {seq} is itself a reversal."),
            "Enter again what it took back.",
        );
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
    let mut deeds = vec![Deed::Reversed { seq }];
    for subject in subjects {
        let record = fold(&subject, &past.entries, &skipped);
        if record.is_none() {
            can_be_taken_back(book, &subject, seq, past, &skipped)?;
        }
        deeds.push(Deed::Restated { subject, record });
    }
    Ok(decision.with(deeds, Vec::new()))
}

/// A subject's record from its entries in order, without those skipped.
fn fold(subject: &Subject, entries: &[Entry], skipped: &BTreeSet<Seq>) -> Option<Record> {
    let mut record = None;
    for entry in entries.iter().filter(|entry| !skipped.contains(&entry.seq)) {
        let stamp = Stamp {
            seq: entry.seq,
            done_at: entry.done_at,
        };
        for deed in &entry.deeds {
            let restated = matches!(deed, Deed::Restated { .. } | Deed::Reversed { .. });
            if !restated && deed.subject() == *subject {
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
            && entry.deeds.iter().any(|deed| {
                !matches!(deed, Deed::Restated { .. } | Deed::Reversed { .. })
                    && deed.subject() == *subject
            })
    });
    if let Some(later) = later {
        return Err(Refusal::new(
            Reason::NotReversible,
            "seq",
            format!(
                "Entry {} rests on entry {seq}: it is about {} too.",
                later.seq,
                subject.word()
            ),
            "Reverse the later entries first.",
        ));
    }
    let user = match subject {
        Subject::Make(id) => book
            .pieces()
            .find(|piece| piece.make == *id)
            .map(|piece| piece.tag.to_string())
            .or_else(|| {
                let uses = |routine: &&std::sync::Arc<crate::job::Routine>| {
                    routine.towel_make.as_ref() == Some(id)
                        || routine.sundries.iter().any(|need| need.make == *id)
                        || routine.steps.iter().any(|step| {
                            [&step.machine_make, &step.pad_make, &step.liquid_make].contains(&id)
                        })
                };
                book.routines()
                    .find(uses)
                    .map(|routine| routine.id.to_string())
            }),
        Subject::Car(id) => book
            .jobs()
            .find(|job| job.car == *id)
            .map(|job| job.id.to_string()),
        Subject::Routine(id) => book
            .jobs()
            .find(|job| job.routine == *id)
            .map(|job| job.id.to_string()),
        Subject::Piece(_) | Subject::Job(_) | Subject::Policy | Subject::Entry(_) => None,
    };
    match user {
        None => Ok(()),
        Some(user) => Err(Refusal::new(
            Reason::NotReversible,
            "seq",
            format!("{user} uses {}.", subject.word()),
            "Reverse or change that first.",
        )),
    }
}
