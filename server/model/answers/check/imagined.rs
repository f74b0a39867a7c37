//! What a booked job leaves for the next: worn pads, less liquid, and what is soiled washed after it and what is
//! empty charged.
//!
//! The check of several jobs and the reorder list run them on a copy of the book by this one rule.

use std::collections::{BTreeMap, BTreeSet};

use fettlebook_quantity::Seconds;
use uuid::Uuid;

use crate::book::change::Stamp;
use crate::book::deed::{BodyHash, Deed, Entry};
use crate::book::format::Format;
use crate::decide::log_as_planned;
use crate::ground::ids::Tag;
use crate::ready::batteries::charge_time;
use crate::ready::hours::spans;
use crate::ready::plan::Plan;
use crate::ready::times::Paces;
use crate::trade::job::Job;
use crate::trade::kit::{Piece, Readiness, State};
use crate::trade::make::Figures;
use crate::trade::take::Picked;
use crate::{Book, Moment};

/// Applies a job's planned use of what was picked for it to a copy of the book, as if it had gone by the plan.
pub(crate) fn imagine(book: &mut Book, job: &Job, picked: &[Picked]) {
    if let Ok(deeds) = log_as_planned(book, job, picked) {
        let entry = Entry {
            seq: book.head().next(),
            format: Format::FIRST,
            book_id: None,
            recorded_at: job.starts_at,
            done_at: job.starts_at,
            request: Uuid::nil(),
            body: BodyHash([0; 16]),
            by: String::new(),
            deeds,
            flags: Vec::new(),
            note: String::new(),
            kept: None,
        };
        book.apply(&entry);
    }
}

/// The washes that jobs run in time order ask for: each at the end of its job, and none before its time,
/// for what is still to be washed when the next job starts is not there for it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Washes {
    /// Each with what is not soiled by then, though the copy of the book has it so: it works on the second day.
    due: BTreeMap<Moment, BTreeSet<Tag>>,
}

impl Washes {
    /// Asks for a wash at the end of each day of a job.
    pub(crate) fn ask_after(&mut self, book: &Book, job: &Job, plan: &Plan, picked: &[Picked]) {
        let paces = Paces::of(book);
        let mut ends = spans(book, &paces, job, plan).map(|(_, until)| until).rev();
        if let Some(end) = ends.next() {
            self.due.entry(end).or_default();
        }
        for evening in ends {
            let works_later = picked.iter().filter(|one| works_later(plan, one));
            let later = self.due.entry(evening).or_default();
            later.extend(works_later.map(|one| one.tag));
        }
    }

    /// Does those that are due by a moment, on a copy of the book.
    pub(crate) fn do_until(&mut self, book: &mut Book, moment: Moment) {
        while let Some(first) = self.due.first_entry() {
            if *first.key() > moment {
                return;
            }
            let (at, later) = first.remove_entry();
            wash_all_but(book, at, &later);
        }
    }
}

/// Whether a piece works on the second day of its job: towels on both.
fn works_later(plan: &Plan, picked: &Picked) -> bool {
    picked.step.as_ref().is_none_or(|name| {
        let mut parts = plan.steps.iter();
        parts.any(|part| part.name == *name && part.second_day)
    })
}

/// Washes everything on a copy of the book that is soiled, and charges every battery that is empty, at this
/// moment.
pub(crate) fn wash_all(book: &mut Book, at: Moment) {
    wash_all_but(book, at, &BTreeSet::new());
}

fn wash_all_but(book: &mut Book, at: Moment, later: &BTreeSet<Tag>) {
    let washed: Vec<Deed> = book
        .pieces()
        .filter(|piece| is_soiled(piece) && !later.contains(&piece.tag))
        .filter_map(|piece| {
            Some(Deed::Washed {
                tag: piece.tag,
                dry_s: dry_time(book, piece)?,
                soiled_count: None,
            })
        })
        .collect();
    let charged: Vec<Deed> = book
        .pieces()
        .filter(|piece| is_empty(piece))
        .map(|piece| Deed::Charged {
            tag: piece.tag,
            charge_s: charge_time(book, piece),
        })
        .collect();
    for deed in washed.into_iter().chain(charged) {
        let stamp = Stamp::unreported(book.head(), at);
        book.take(&deed, stamp);
    }
}

/// How long a pad or a bundle dries; `None` of what is not washed.
pub(crate) fn dry_time(book: &Book, piece: &Piece) -> Option<Seconds> {
    match &book.make(&piece.make)?.figures {
        Figures::Pad(pad) => pad.dry_time_s,
        Figures::Towel(towel) => towel.dry_time_s,
        _ => None,
    }
}

/// Whether it is a battery that can be charged and is empty.
pub(crate) fn is_empty(piece: &Piece) -> bool {
    let is_fit = matches!(piece.readiness, Readiness::Ready);
    is_fit
        && piece
            .battery()
            .is_some_and(|battery| battery.full_at.is_none())
}

/// Whether there is something of a piece to wash.
pub(crate) fn is_soiled(piece: &Piece) -> bool {
    match (&piece.state, piece.readiness) {
        (State::Pad(_), Readiness::Soiled) => true,
        (State::Bundle(bundle), readiness) => {
            bundle.soiled_there() > 0
                && !matches!(readiness, Readiness::Binned(_) | Readiness::Aside(_))
        }
        _ => false,
    }
}
