//! Where a kept deed meets what others did meanwhile: what may be told twice is flagged, and what went
//! elsewhere.
//!
//! Serves every command that a device can keep. It must never refuse: what happened is taken in, and
//! a person settles what it contradicts.

use super::Decision;
use super::bounds::is_off;
use super::readings::name;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::Subject;
use crate::trade::job::Job;
use crate::trade::kept::{Kept, Told, met};
use crate::trade::kit::Piece;
use crate::{Book, Moment};

/// A decision as it is for a device that had not seen all of the book.
pub(super) fn meet(
    book: &Book,
    kept: &Kept,
    said_at: Option<Moment>,
    mut decision: Decision,
    now: Moment,
) -> Decision {
    let mut flags: Vec<Flag> = Vec::new();
    for deed in &decision.deeds {
        let Subject::Piece(tag) = deed.subject() else {
            continue;
        };
        let Some(piece) = book.piece(tag) else {
            continue;
        };
        flags.extend(told_twice(kept, piece, deed));
        flags.extend(moved_meanwhile(book, kept, piece, deed));
    }
    decision.flags.extend(flags);
    let mut said = Vec::new();
    for flag in std::mem::take(&mut decision.flags) {
        if !said.contains(&flag) {
            said.push(flag);
        }
    }
    decision.flags = said;
    let device_time = said_at.unwrap_or(kept.mark.kept_at);
    if let Some(deed) = decision.deeds.first().filter(|_| is_off(device_time, now)) {
        decision.flags.push(Flag {
            subject: deed.subject(),
            text: format!(
                "By the clock of {} this was done at {device_time}, which cannot be; it is recorded \
                 as done now. Set that clock.",
                name(&kept.by)
            ),
            count: false,
        });
    }
    decision
}

/// A job that somebody else logged while the device had no signal, as a flag.
pub(super) fn job_met(job: &Job, kept: &Kept) -> Option<Flag> {
    let other = job.done_in.as_ref();
    let Told { seq, by } =
        other.filter(|told| *told.by != *kept.by && told.seq > kept.mark.seen)?;
    let id = &job.id;
    Some(Flag {
        subject: Subject::Job(id.clone()),
        text: format!(
            "The job {id} was logged in entry {seq} by {} too, which this device had not seen; what \
             it used is recorded as further use. If the job was done once, reverse one.",
            name(by)
        ),
        count: false,
    })
}

/// A first day that is logged in the book already, as a flag.
pub(super) fn first_day_met(job: &Job, kept: &Kept) -> Option<Flag> {
    let Told { seq, by } = &job.first_day_done.as_ref()?.told;
    let id = &job.id;
    let unseen = if *seq > kept.mark.seen {
        ", which this device had not seen"
    } else {
        ""
    };
    Some(Flag {
        subject: Subject::Job(id.clone()),
        text: format!(
            "The first day of {id} was logged in entry {seq} by {} too{unseen}; what it used is recorded as \
             further use. If it was done once, reverse one.",
            name(by)
        ),
        count: false,
    })
}

/// A pad or bundle that somebody else used while the device had no signal: perhaps the same use.
fn told_twice(kept: &Kept, piece: &Piece, deed: &Deed) -> Option<Flag> {
    if !matches!(deed, Deed::PadUsed { .. } | Deed::TowelsUsed { .. }) {
        return None;
    }
    let tag = piece.tag;
    let Told { seq, by } = met(piece.used.as_ref(), &kept.by, kept.mark.seen)?;
    Some(Flag {
        subject: Subject::Piece(tag),
        text: format!(
            "{tag} was logged in entry {seq} by {} too, which this device had not seen. If it was one \
             use, reverse one.",
            name(by)
        ),
        count: false,
    })
}

/// A piece that went elsewhere while the device had no signal, and worked in a job all the same.
fn moved_meanwhile(book: &Book, kept: &Kept, piece: &Piece, deed: &Deed) -> Option<Flag> {
    let job = book.job(deed.within()?.job.as_ref()?)?;
    if piece.last_seq <= kept.mark.seen || piece.place == job.place || piece.is_binned() {
        return None;
    }
    let (tag, place) = (piece.tag, &piece.place);
    Some(Flag {
        subject: Subject::Piece(tag),
        text: format!(
            "{tag} was at {place} in the book and the job {} at {}, which this device had not seen. \
             Move it if it is there.",
            job.id, job.place
        ),
        count: false,
    })
}
