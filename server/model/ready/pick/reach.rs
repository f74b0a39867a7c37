//! What of the kit can be at the place of a job: what is there, and what can be brought before it starts.
//!
//! Serves every offer of kit. A van is a place that drives away: what it carries is its own, and nobody is
//! sent for it; what lies at the bench can be brought until the van leaves for the first job of its day.

use jiff::SignedDuration;
use jiff::civil::Date;

use super::Scene;
use crate::ground::ids::Place;
use crate::trade::job::{Job, JobState};
use crate::trade::kit::Piece;
use crate::trade::policy::PolicyKey;
use crate::{Book, Moment};

/// The place of whoever names none, which does not drive away.
const BENCH: &str = "bench";
/// With this begin the names of vans.
const VAN: &str = "van";

/// Where a piece is, seen from a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Reach {
    /// At its place.
    Here,
    /// Elsewhere, from where it can be brought.
    Brought,
    /// Elsewhere, and too late to be brought.
    TooLate,
    /// With a van, or at another place that has a job of its own that day.
    OfAnother,
}

impl Reach {
    /// Whether it can be there at the start.
    pub(crate) const fn is_in_time(self) -> bool {
        matches!(self, Self::Here | Self::Brought)
    }
}

/// Whether a place is a van, by its name.
fn is_van(place: &Place) -> bool {
    place.as_str().starts_with(VAN)
}

/// Whether work at a place is away from the bench: in a van, or at a customer's.
pub(crate) fn is_away(place: &Place) -> bool {
    place.as_str() != BENCH
}

/// The last moment to bring kit to a job before its first day: so long before it starts or, where its place is none
/// that stays, before the first job there that day which is still to come.
pub fn bring_by(book: &Book, job: &Job) -> Moment {
    bring_by_on(book, job, job.starts_at, job.local_day())
}

/// The same for one of the days of a job, on which its work starts then.
pub(super) fn bring_by_on(book: &Book, job: &Job, starts_at: Moment, day: Date) -> Moment {
    let is_to_come = |other: &Job| match other.state {
        JobState::Booked => true,
        // What nobody reported is only imagined to be done.
        JobState::Done(_) => (other.done_in.as_ref()).is_some_and(|told| told.by.is_empty()),
        JobState::CalledOff => false,
    };
    let leaves = if is_away(&job.place) {
        let that_day = book.jobs_of_day(day);
        let there = that_day.filter(|other| other.place == job.place && is_to_come(other));
        let starts =
            there.flat_map(|other| other.starts().filter(|start| other.day_of(*start) == day));
        starts.fold(starts_at, Moment::min)
    } else {
        starts_at
    };
    let bring = SignedDuration::from_secs(book.policy().value(PolicyKey::BringTimeS));
    leaves.checked_sub(bring).unwrap_or(Moment::MIN)
}

impl Scene<'_> {
    /// Where a piece is, seen from its job.
    pub(crate) fn reach(&self, piece: &Piece) -> Reach {
        if piece.place == *self.place {
            Reach::Here
        } else if self.keeps_its_own(&piece.place) {
            Reach::OfAnother
        } else if self.now > self.bring_by {
            Reach::TooLate
        } else {
            Reach::Brought
        }
    }

    /// Whether a piece cannot be there at the start. Looking back it was there, whatever the book says.
    pub(super) fn is_away(&self, piece: &Piece) -> bool {
        !self.looking_back && !self.reach(piece).is_in_time()
    }

    /// Whether nothing is fetched from another place: a van's for a van, and wherever there is a job of its
    /// own that day.
    fn keeps_its_own(&self, place: &Place) -> bool {
        if place.as_str() == BENCH {
            return false;
        }
        if is_van(place) && is_van(self.place) {
            return true;
        }
        let mut that_day = self.book.jobs_of_day(self.day);
        that_day.any(|other| {
            other.place == *place && other.id != self.job.id && other.state != JobState::CalledOff
        })
    }
}
