//! The life of what is used up: what a bottle, a bundle of towels, a pack of a sundry or a battery gave to each
//! job, how many jobs it has left, and which booked job will be its last.
//!
//! Serves whoever looks at one piece. It rests on the piece's own entries and on what the shop really uses; how
//! it goes on is what the check would pick for the booked jobs.

mod given;
mod left;

use self::given::{given, reading_count, rounds_and_jobs};
use super::ahead::Ahead;
use super::check::look_ahead;
use super::wear_report::LifeRange;
use crate::book::damage::damage_of;
use crate::book::deed::Entry;
use crate::ground::ids::Id;
use crate::ready::pick::{heel_ul, is_demotable};
use crate::trade::job::Job;
use crate::trade::kit::{Piece, State};
use crate::{Book, Moment};

pub use given::{Given, GivenBasis};

/// Booked jobs that are looked at for the last one of a piece.
const JOBS_AHEAD_MOST: usize = 60;

/// The life of a piece that is used up.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyLife {
    /// Weighings, readings and counts.
    pub reading_count: i64,
    /// What it gave to each job, the first one first; µL, towels, a sundry's unit, or seconds that a battery ran.
    pub given: Vec<Given>,
    /// Jobs it has left; `None` where no job takes of it.
    pub jobs_left: Option<LifeRange>,
    /// Booked jobs that are looked at and will take of it.
    pub booked_job_count: i64,
    /// The booked job that will be its last, where one of them will.
    pub last_job: Option<LastJob>,
    /// What that rests on, a sentence or more.
    pub rests_on: String,
}

/// The last job of a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastJob {
    /// The job.
    pub job: Id,
    /// When it starts.
    pub starts_at: Moment,
}

/// The life of a piece, `about` being its entries, oldest first; `None` of what is not used up, and of what is
/// binned.
pub fn supply_life(book: &Book, piece: &Piece, about: &[Entry], now: Moment) -> Option<SupplyLife> {
    if piece.is_binned() {
        return None;
    }
    let standing: Vec<&Entry> = about
        .iter()
        .filter(|entry| book.reversed_by(entry.seq).is_none())
        .collect();
    let (jobs_left, rests_on) = match &piece.state {
        State::Bottle(bottle) => left::of_bottle(book, piece, bottle),
        State::Bundle(bundle) => {
            let (washes, jobs) = rounds_and_jobs(piece.tag, &standing);
            left::of_bundle(book, piece, bundle, &washes, jobs)
        }
        State::Sundry(sundry) => left::of_sundry(book, piece, sundry),
        State::Battery(battery) => {
            let (charges, jobs) = rounds_and_jobs(piece.tag, &standing);
            left::of_battery(book, piece, battery, &charges, jobs)
        }
        State::Pad(_) | State::Plate(_) | State::Machine(_) | State::Tool(_) => return None,
    };
    let (booked_job_count, last_job) = ahead_of(book, piece, now);
    Some(SupplyLife {
        reading_count: reading_count(piece.tag, &standing),
        given: given(piece, &standing),
        jobs_left,
        booked_job_count,
        last_job,
        rests_on,
    })
}

/// The booked jobs that will take of a piece, and the last that it does.
fn ahead_of(book: &Book, piece: &Piece, now: Moment) -> (i64, Option<LastJob>) {
    let mut ahead = Ahead::of(book, &[], now);
    let (mut count, mut latest) = (0_i64, None);
    for job in book.booked_jobs().take(JOBS_AHEAD_MOST) {
        ahead.until(job);
        if has_ended(ahead.book(), piece) {
            return (count, latest);
        }
        let Ok(check) = look_ahead(&ahead, job, now) else {
            continue;
        };
        let picked = check.picked();
        if picked.iter().any(|one| one.tag == piece.tag) {
            count = count.saturating_add(1);
            latest = Some(last(job));
        }
        ahead.work(job, &picked);
    }
    ahead.end();
    (count, latest.filter(|_| has_ended(ahead.book(), piece)))
}

fn last(job: &Job) -> LastJob {
    LastJob {
        job: job.id.clone(),
        starts_at: job.starts_at,
    }
}

/// Whether a piece has come to its end in a book that has gone on.
fn has_ended(ahead: &Book, piece: &Piece) -> bool {
    let Some(piece) = ahead.piece(piece.tag) else {
        return true;
    };
    match &piece.state {
        State::Bottle(bottle) => bottle.left_ul.ul() <= heel_ul(ahead.policy(), bottle),
        State::Sundry(sundry) => sundry.left_quantity <= 0,
        State::Battery(_) => damage_of(ahead, piece).is_some_and(|damage| damage >= 1.0),
        _ => is_demotable(ahead, piece),
    }
}
