//! What has to be at the place of a job away from the bench and is not there yet: what, from where and by when.

use std::collections::BTreeMap;

use jiff::SignedDuration;

use crate::answers::check::{JobCheck, check_jobs};
use crate::ground::ids::{Id, Place, Tag};
use crate::ready::pick::{bring_by, is_away};
use crate::trade::job::Job;
use crate::{Book, Moment};

/// Jobs away from the bench that start within so many hours are looked at: the next day's, and Monday's on a
/// Saturday. Basis: ours.
const HOURS_LOOKED_AHEAD: i64 = 48;

/// Kit to bring to a job, from one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToBring {
    /// The job.
    pub job: Id,
    /// Where it is.
    pub place: Place,
    /// Where the kit is.
    pub from: Place,
    /// The kit, by tag.
    pub tags: Vec<Tag>,
    /// The last moment to bring it; `None` where that has passed.
    pub bring_by: Option<Moment>,
    /// Whether it was taken for the job, and so is to be moved by itself.
    pub is_taken: bool,
}

/// What is to be brought to the next job at each place away from the bench, by start.
pub(super) fn to_bring(book: &Book, ahead: &[&Job], now: Moment) -> Vec<ToBring> {
    let until = now
        .checked_add(SignedDuration::from_hours(HOURS_LOOKED_AHEAD))
        .unwrap_or(now);
    let mut places: Vec<&Place> = Vec::new();
    let mut all = Vec::new();
    for job in ahead {
        let is_near = job.starts_at > now && job.starts_at <= until;
        if !is_near || !is_away(&job.place) || places.contains(&&job.place) {
            continue;
        }
        places.push(&job.place);
        all.extend(of_job(book, job, now));
    }
    all
}

fn of_job(book: &Book, job: &Job, now: Moment) -> Vec<ToBring> {
    let mut tags: Vec<Tag> = match &job.taken {
        Some(take) => take.picked.iter().map(|one| one.tag).collect(),
        None => picked(book, job, now),
    };
    tags.sort();
    tags.dedup();
    let mut by_place: BTreeMap<&Place, Vec<Tag>> = BTreeMap::new();
    for tag in tags {
        if let Some(piece) = book.piece(tag)
            && piece.place != job.place
            && !piece.is_binned()
        {
            by_place.entry(&piece.place).or_default().push(tag);
        }
    }
    let by = bring_by(book, job);
    let all = by_place.into_iter().map(|(from, tags)| ToBring {
        job: job.id.clone(),
        place: job.place.clone(),
        from: from.clone(),
        tags,
        bring_by: Some(by).filter(|by| *by >= now),
        is_taken: job.taken.is_some(),
    });
    all.collect()
}

/// What a take would pick; nothing of a job that cannot be checked, of which the check says why.
fn picked(book: &Book, job: &Job, now: Moment) -> Vec<Tag> {
    let checks = check_jobs(book, std::slice::from_ref(&job.id), now).unwrap_or_default();
    let picked = checks.iter().flat_map(JobCheck::picked);
    picked.map(|one| one.tag).collect()
}
