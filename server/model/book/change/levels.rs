//! What a deed does to what is left: of a bottle, a sundry, a bundle.
//!
//! Serves the change of a piece. A level goes by the time a thing was done, but for what a device did
//! beside others, which changes it by a difference.

use fettlebook_quantity::{Mass, Volume};

use crate::Moment;
use crate::trade::dose::volume_left;
use crate::trade::kit::{BottleState, BundleState, Readiness, SundryState, WaitingWeight};
use crate::trade::tally::Taken;

impl BottleState {
    /// Takes liquid out, unless the bottle was measured after it was taken by somebody whom it does
    /// not stand beside.
    pub(super) fn take_out(&mut self, taken: Taken, stands_beside: bool) {
        let (volume, done_at) = (taken.volume, taken.done_at);
        self.tally.take(taken, self.left_ul, self.measured_at);
        self.opened_at = Some(self.opened_at.map_or(done_at, |first| first.min(done_at)));
        self.used_at = Some(self.used_at.map_or(done_at, |last| last.max(done_at)));
        if stands_beside || self.measured_at.is_none_or(|measured| done_at >= measured) {
            self.left_ul = self.left_ul.saturating_sub(volume);
        }
        if let Some(weight) = &mut self.waiting
            && (stands_beside || done_at >= weight.at)
        {
            weight.taken_ul = weight.taken_ul.saturating_add(volume);
        }
    }

    /// Changes what is left by what a device found more or less than it had seen. It may come to less
    /// than nothing, as uses may, so that the order in which devices send does not matter.
    pub(super) fn read_beside(&mut self, more: Volume, done_at: Moment) {
        self.left_ul = self.left_ul.saturating_add(more);
        self.measured_at = self.measured_at.max(Some(done_at));
        self.waiting = None;
        self.tally.read_off(self.left_ul);
    }

    /// An empty bottle needs no scale to say what is left.
    pub(super) fn run_dry(&mut self, done_at: Moment) {
        self.weigh(Volume::ZERO, done_at);
    }

    /// Sets what is left by weight. Says whether it did.
    pub(super) fn weigh(&mut self, left: Volume, done_at: Moment) -> bool {
        let measured_at = self.measured_at;
        let settled = self.measure(left, done_at);
        if settled {
            self.tally.weigh(left, measured_at, done_at);
        }
        settled
    }

    /// Takes in a weight whose tare nobody had said: by the tare that was worked out, or else it waits
    /// for one. Says whether it was taken in, which it is not where something later is known, or where
    /// it is lighter than the tare.
    pub(super) fn weigh_gross(&mut self, weight: WaitingWeight) -> bool {
        if let Some(tare) = self.known_tare() {
            let left = volume_left(weight.gross_mg, tare, weight.density_mg_per_ml);
            return left.is_some_and(|left| self.weigh(left, weight.at));
        }
        let newest = self.is_newest(weight.at);
        if newest {
            self.tally.wait(self.measured_at, weight.at);
            self.waiting = Some(Box::new(weight));
        }
        newest
    }

    /// Takes in the tare, and with it the weight that waits for it. Says whether that set what is left.
    pub(super) fn find_tare(&mut self, tare: Mass) -> bool {
        self.found_tare_mg = Some(tare);
        let Some(weight) = self.waiting.take() else {
            return false;
        };
        let Some(left) = volume_left(weight.gross_mg, tare, weight.density_mg_per_ml) else {
            return false;
        };
        self.left_ul = left.saturating_sub(weight.taken_ul);
        self.measured_at = self.measured_at.max(Some(weight.at));
        self.tally.found(left);
        true
    }

    /// Sets what is left, unless something later has been measured or used. Says whether it did.
    pub(super) fn measure(&mut self, left: Volume, done_at: Moment) -> bool {
        let known = [self.measured_at, self.used_at];
        let newest = known.iter().flatten().all(|known| done_at >= *known);
        if newest {
            self.left_ul = left;
            self.measured_at = Some(done_at);
            self.waiting.take_if(|weight| weight.at <= done_at);
        }
        newest
    }

    /// Whether nothing later is known of what is left.
    fn is_newest(&self, done_at: Moment) -> bool {
        let weighed_at = self.waiting.as_ref().map(|weight| weight.at);
        let known = [self.measured_at, self.used_at, weighed_at];
        known.iter().flatten().all(|known| done_at >= *known)
    }
}

impl SundryState {
    /// Sets what is left as counted, or changes it by what was found more or less than was seen.
    pub(super) fn count(&mut self, found: i64, seen: Option<i64>, done_at: Moment) {
        self.left_quantity = counted(self.left_quantity, found, seen);
        self.counted_at = match seen {
            None => Some(done_at),
            Some(_) => self.counted_at.max(Some(done_at)),
        };
    }
}

/// How many there are once so many were counted: those, or, where a device had seen another number,
/// as many more or less than the book has. It may come to less than nothing: a sum that stopped there
/// would depend on the order in which devices send.
pub(crate) fn counted(held: i64, found: i64, seen: Option<i64>) -> i64 {
    seen.map_or(found, |seen| {
        held.saturating_add(found.saturating_sub(seen))
    })
}

impl BundleState {
    /// Soils clean towels. A device that kept the use may have taken some that the book does not have
    /// yet, whose count is still to come; else no more are soiled than were clean, for what is used
    /// makes no towels, and a count says how many there are.
    pub(super) fn soil(&mut self, used_count: i64, is_kept: bool) {
        let soiled = if is_kept {
            used_count
        } else {
            used_count.min(self.clean_count.max(0))
        };
        self.clean_count = self.clean_count.saturating_sub(soiled);
        self.soiled_count = self.soiled_count.saturating_add(soiled);
    }

    /// Sets both counts, or changes them by what was found more or less than was seen. What dried when it
    /// was seen is among the clean that were counted.
    pub(super) fn count(
        &mut self,
        found: (i64, i64),
        seen: Option<(i64, i64)>,
        seen_drying: Option<i64>,
    ) {
        let clean_seen = |seen: (i64, i64)| seen.0.saturating_add(seen_drying.unwrap_or(0));
        self.clean_count = counted(self.clean_count, found.0, seen.map(clean_seen));
        self.soiled_count = counted(self.soiled_count, found.1, seen.map(|seen| seen.1));
        if seen_drying.is_none() {
            self.drying_count = 0;
        }
    }

    /// Washes what is soiled, or just as many as the device had seen that others used or counted beside;
    /// that may come to less than nothing, so that the order in which devices send does not matter.
    pub(super) fn soak(&mut self, seen: Option<i64>) {
        let soiled = seen.unwrap_or(self.soiled_count).max(0);
        self.drying_count = self.drying_count.saturating_add(soiled);
        self.soiled_count = self.soiled_count.saturating_sub(soiled);
    }

    /// Counts towels that have dried by this moment as clean.
    pub(super) fn settle(&mut self, readiness: Readiness, moment: Moment) {
        if readiness.at(moment) == Readiness::Ready {
            self.dry();
        }
    }

    /// Counts towels that were drying as clean.
    pub(super) const fn dry(&mut self) {
        self.clean_count = self.clean_once_dry();
        self.drying_count = 0;
    }

    /// Takes towels out: soiled ones first, then drying, then clean.
    pub(super) fn drop_out(&mut self, count: i64) {
        let mut open = count;
        for held in [
            &mut self.soiled_count,
            &mut self.drying_count,
            &mut self.clean_count,
        ] {
            let taken = open.clamp(0, (*held).max(0));
            *held = held.saturating_sub(taken);
            open = open.saturating_sub(taken);
        }
    }
}
