//! Where a kept deed meets what others did meanwhile: what was counted becomes a difference, and what
//! may be told twice is flagged.
//!
//! Serves every command that a device can keep. It must never refuse: what happened is taken in, and
//! a person settles what it contradicts.

mod count_difference;

use std::collections::BTreeMap;

use fettlebook_quantity::Volume;

use super::Decision;
use super::bounds::is_off;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Subject, Tag};
use crate::trade::job::Job;
use crate::trade::kept::{Kept, Told, met};
use crate::trade::kit::{Piece, Readiness, State};
use crate::{Book, Moment};
use count_difference::{
    CountDifference, bottle_difference, sundry_difference, towels_difference, unit_of,
    wash_difference,
};

/// A decision as it is for a device that had not seen all of the book.
pub(super) fn meet(
    book: &Book,
    kept: &Kept,
    said_at: Option<Moment>,
    mut decision: Decision,
    now: Moment,
) -> Decision {
    let mut flags: Vec<Flag> = Vec::new();
    let done_at = decision.done_at;
    let taken = taken_ul(&decision.deeds);
    for deed in &mut decision.deeds {
        let Subject::Piece(tag) = deed.subject() else {
            continue;
        };
        let Some(piece) = book.piece(tag) else {
            continue;
        };
        let subject = deed.subject();
        let own_ul = taken.get(&tag).copied().unwrap_or(Volume::ZERO);
        if let Some(text) = beside_others(book, kept, piece, deed, own_ul, done_at) {
            // What a count contradicts is said anew.
            if is_count(deed) {
                decision
                    .flags
                    .retain(|said| !(said.count && said.subject == subject));
            }
            let count = true;
            flags.push(Flag {
                subject,
                text,
                count,
            });
        }
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

/// What each bottle gives by these deeds.
fn taken_ul(deeds: &[Deed]) -> BTreeMap<Tag, Volume> {
    let mut taken = BTreeMap::new();
    for deed in deeds {
        if let Deed::LiquidUsed { tag, volume_ul, .. } = deed {
            let held: &mut Volume = taken.entry(*tag).or_insert(Volume::ZERO);
            *held = held.saturating_add(*volume_ul);
        }
    }
    taken
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

const fn is_count(deed: &Deed) -> bool {
    matches!(
        deed,
        Deed::Weighed { .. }
            | Deed::GrossWeighed { .. }
            | Deed::VolumeRead { .. }
            | Deed::TowelsCounted { .. }
            | Deed::SundryCounted { .. }
    )
}

/// Makes a count stand beside what others did, where it meets it; what is to be said then.
fn beside_others(
    book: &Book,
    kept: &Kept,
    piece: &Piece,
    deed: &mut Deed,
    own_ul: Volume,
    done_at: Moment,
) -> Option<String> {
    if matches!(deed, Deed::LiquidUsed { .. } | Deed::SundryUsed { .. }) {
        return counted_after(kept, piece, done_at);
    }
    if let (Deed::Washed { .. }, State::Bundle(bundle)) = (&*deed, &piece.state) {
        others(kept, piece)?;
        let level = kept.level(piece.tag)?;
        let (washed, text) = wash_difference(piece.tag, bundle, level, deed)?;
        *deed = washed;
        return Some(text);
    }
    if !is_count(deed) {
        return None;
    }
    let Some(level) = kept.level(piece.tag) else {
        return counted_blind(kept, piece);
    };
    let difference = match &piece.state {
        State::Bottle(bottle) => bottle_difference(piece.tag, bottle, level, deed, own_ul),
        State::Sundry(sundry) => {
            let unit = unit_of(book, piece);
            sundry_difference(piece.tag, sundry.left_quantity, level, deed, unit)
        }
        State::Bundle(bundle) => {
            let has_dried = matches!(
                piece.readiness.at(done_at),
                Readiness::Ready | Readiness::Soiled
            );
            towels_difference(piece.tag, bundle, has_dried, level, deed)
        }
        State::Pad(_) | State::Plate(_) | State::Machine(_) | State::Tool(_) => None,
    };
    match difference {
        // A level that others came back to by chance is not the one that was seen.
        Some(CountDifference { is_seen: true, .. }) if others(kept, piece).is_none() => None,
        Some(CountDifference {
            difference,
            found,
            seen,
            makes,
            ..
        }) => {
            *deed = difference;
            Some(format!(
                "{found}, where the device had seen {seen}; others used or counted it meanwhile, and \
                 the book makes it {makes}. Count it again."
            ))
        }
        None => counted_blind(kept, piece),
    }
}

/// A use that somebody else counted the piece after, who cannot have known of it.
fn counted_after(kept: &Kept, piece: &Piece, done_at: Moment) -> Option<String> {
    let measured_at = match &piece.state {
        State::Bottle(bottle) => bottle.measured_at,
        State::Sundry(sundry) => sundry.counted_at,
        State::Pad(_) | State::Plate(_) | State::Machine(_) | State::Bundle(_) | State::Tool(_) => {
            None
        }
    };
    let other = met(piece.counted.as_ref(), &kept.by, kept.mark.seen)?;
    measured_at.filter(|at| done_at < *at).map(|_| {
        format!(
            "{} was counted in entry {} by {}, to whom this use was not known; it is taken off what \
             was counted. Count it again.",
            piece.tag,
            other.seq,
            name(&other.by)
        )
    })
}

/// A count by a device that did not say what it had seen, of a piece that others changed meanwhile.
fn counted_blind(kept: &Kept, piece: &Piece) -> Option<String> {
    let other = others(kept, piece)?;
    Some(format!(
        "{} was used or counted in entry {} by {} too, which this device had not seen when it was \
         counted. Count it again.",
        piece.tag,
        other.seq,
        name(&other.by)
    ))
}

/// The last entry by another that used or counted a piece after what the device had seen.
fn others<'a>(kept: &Kept, piece: &'a Piece) -> Option<&'a Told> {
    let trails = [&piece.used, &piece.counted];
    let others = trails
        .into_iter()
        .filter_map(|trail| met(trail.as_ref(), &kept.by, kept.mark.seen));
    others.max_by_key(|told| told.seq)
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

/// The name of a device as it is said.
fn name(by: &str) -> &str {
    if by.is_empty() { "another device" } else { by }
}
