//! What was taken: the fixed pick of the scene's own job, and what other jobs keep for themselves.
//!
//! Serves every offer of kit. A pick that was taken is never picked anew, and what another booked job has
//! taken is left to it: its pads wholly, and of what is drawn on as much as it took. What comes back from
//! a job as it went, a machine or a plate, may go to several; not to two places on one day.

use std::sync::Arc;

use super::Scene;
use crate::ground::ids::{Id, Tag};
use crate::trade::job::Job;
use crate::trade::kit::{Piece, State};
use crate::trade::take::Picked;

impl<'a> Scene<'a> {
    /// The pick that was taken for its job; empty where none was.
    pub(crate) fn fixed(&self) -> &'a [Picked] {
        let taken = self.job.taken.as_ref();
        taken.map_or(&[], |take| &take.picked)
    }

    /// The pads that were taken for a step, with whether each is a spare: those that work first.
    pub(crate) fn fixed_pads(&self, step: &Id) -> Vec<(&'a Arc<Piece>, bool)> {
        let of_step = self.fixed().iter();
        let of_step = of_step.filter(|picked| picked.step.as_ref() == Some(step));
        let mut pads: Vec<_> = of_step
            .filter_map(|picked| Some((self.book.piece(picked.tag)?, picked.spare)))
            .filter(|(piece, _)| piece.pad().is_some())
            .collect();
        pads.sort_by_key(|(_, spare)| *spare);
        pads
    }

    /// Other booked jobs that a piece was taken for.
    pub(crate) fn other_takers(&self, tag: Tag) -> impl Iterator<Item = &'a Arc<Job>> + use<'a> {
        let own = &self.job.id;
        self.book.takers(tag).filter(move |job| job.id != *own)
    }

    /// Whether a piece is left to another job, which has taken it and this one has not.
    pub(super) fn leaves(&self, tag: Tag) -> bool {
        let mut others = self.other_takers(tag);
        others.next().is_some() && !self.fixed().iter().any(|picked| picked.tag == tag)
    }

    /// Whether a piece goes elsewhere that day, with another job that has taken it.
    fn goes_elsewhere(&self, tag: Tag) -> bool {
        self.other_takers(tag)
            .any(|job| job.place != *self.place && job.is_on(self.day))
    }

    /// What of the pieces of a sort may go to its job.
    pub(super) fn free(&self, is_of_sort: impl Fn(&Piece) -> bool) -> Free<'_, 'a> {
        let tags = self.fixed().iter().map(|picked| picked.tag);
        let is_of_sort = |tag: &Tag| self.book.piece(*tag).is_some_and(|piece| is_of_sort(piece));
        Free {
            scene: self,
            fixed: tags.filter(is_of_sort).collect(),
        }
    }
}

/// What of the pieces of one sort may go to a job: those taken for it where any was, else what other jobs
/// leave.
pub(super) struct Free<'b, 'a> {
    scene: &'b Scene<'a>,
    fixed: Vec<Tag>,
}

impl Free<'_, '_> {
    /// Whether a piece may go.
    pub(super) fn has(&self, piece: &Piece) -> bool {
        if self.scene.is_away(piece) {
            false
        } else if self.fixed.is_empty() {
            !self.scene.goes_elsewhere(piece.tag)
        } else {
            self.fixed.contains(&piece.tag)
        }
    }

    /// Whether another job has taken a piece, so that others go before it.
    pub(super) fn is_second_choice(&self, tag: Tag) -> bool {
        self.fixed.is_empty() && self.scene.leaves(tag)
    }

    /// How much of what a piece holds may go: what other jobs have taken of it is theirs.
    pub(super) fn left(&self, tag: Tag, quantity: i64) -> i64 {
        if !self.fixed.is_empty() {
            return quantity;
        }
        let others = self.scene.other_takers(tag);
        let theirs = others.map(|job| taken_of(job, tag));
        quantity.saturating_sub(theirs.fold(0, i64::saturating_add))
    }
}

/// Whether a piece cannot go to a job with so much of it beside another job that has taken it: a pad goes to
/// one; what comes back as it went, or holds enough for both, not to two places on one day.
pub(crate) fn clashes(piece: &Piece, job: &Job, quantity: i64, other: &Job) -> bool {
    let is_apart = other.place != job.place && job.local_days().any(|day| other.is_on(day));
    let both = quantity.saturating_add(taken_of(other, piece.tag));
    let is_enough = match &piece.state {
        State::Pad(_) => false,
        State::Bottle(bottle) => bottle.left_ul.ul() >= both,
        State::Bundle(bundle) => bundle.clean_once_dry() >= both,
        State::Sundry(sundry) => sundry.left_quantity >= both,
        // A battery is charged between two jobs.
        State::Plate(_) | State::Machine(_) | State::Tool(_) | State::Battery(_) => true,
    };
    is_apart || !is_enough
}

/// How much of a piece was taken for a job.
fn taken_of(job: &Job, tag: Tag) -> i64 {
    let picked = job.taken.as_ref().map_or(&[][..], |take| &take.picked);
    quantity_of(picked, tag)
}

/// How much of a piece is in a pick.
pub(crate) fn quantity_of(picked: &[Picked], tag: Tag) -> i64 {
    let of_piece = picked.iter().filter(|one| one.tag == tag);
    of_piece.fold(0, |sum: i64, one| sum.saturating_add(one.quantity))
}
