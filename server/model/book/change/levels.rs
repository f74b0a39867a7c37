//! What a deed does to what is left: of a bottle, a sundry, a bundle.
//!
//! Serves the change of a piece. A level goes by when things were done, in whatever order they are told:
//! the newest reading says it, and what was done after that changes it.

use fettlebook_quantity::{Mass, Volume};

use crate::Moment;
use crate::trade::dose::volume_left;
use crate::trade::kit::{BottleState, BundleState, Readiness, State, SundryState, WaitingWeight};
use crate::trade::since::{Since, Standing, When};
use crate::trade::tally::Taken;
use crate::trade::towel::{Handled, Pile};

impl BottleState {
    /// Takes liquid out, unless the bottle was read after it was taken.
    pub(super) fn take_out(&mut self, taken: Taken, when: When) {
        let (volume, done_at) = (Volume::from_ul(taken.quantity), taken.done_at);
        self.tally
            .take(taken.clone(), self.left_ul.ul(), self.measured_at);
        self.opened_at = Some(self.opened_at.map_or(done_at, |first| first.min(done_at)));
        self.used_at = Some(self.used_at.map_or(done_at, |last| last.max(done_at)));
        if let Some(weight) = &mut self.waiting
            && weight.when() < when
        {
            weight.taken_ul = weight.taken_ul.saturating_add(volume);
        }
        if !self.since.is_read_after(&when) {
            self.left_ul = self.left_ul.saturating_sub(volume);
            self.since.put(when, taken);
        }
    }

    /// An empty bottle needs no scale to say what is left.
    pub(super) fn run_dry(&mut self, when: &When) {
        self.weigh(Volume::ZERO, when);
    }

    /// Sets what is left by weight. Says whether it did.
    pub(super) fn weigh(&mut self, left: Volume, when: &When) -> bool {
        let measured_at = self.measured_at;
        let Some(later) = self.read(left, when) else {
            return false;
        };
        self.tally
            .weigh(left.ul(), measured_at, when.done_at, &later);
        true
    }

    /// Sets what is left as it was read off. Says whether it did.
    pub(super) fn read_off(&mut self, left: Volume, when: &When) -> bool {
        let Some(later) = self.read(left, when) else {
            return false;
        };
        self.tally.read_off(left.ul(), &later);
        true
    }

    /// Takes in a weight whose tare nobody had said: by the tare that was worked out, or else it waits
    /// for one. Says whether it was taken in, which it is not where something later was read or waits, or
    /// where it is lighter than the tare.
    pub(super) fn weigh_gross(&mut self, mut weight: WaitingWeight, when: &When) -> bool {
        if let Some(tare) = self.known_tare() {
            let left = volume_left(weight.gross_mg, tare, weight.density_mg_per_ml);
            return left.is_some_and(|left| self.weigh(left, when));
        }
        let waits_later = (self.waiting.as_ref()).is_some_and(|held| held.when() > *when);
        if waits_later || self.since.standing(when) != Standing::Newest {
            return false;
        }
        let later = self.since.done().filter(|(done, _)| *done > when);
        let later: Vec<Taken> = later.map(|(_, taken)| taken.clone()).collect();
        weight.taken_ul = sum(&later);
        self.tally.wait(self.measured_at, weight.at, &later);
        self.waiting = Some(Box::new(weight));
        true
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
        self.since.read(&weight.when());
        self.tally.found(left.ul());
        true
    }

    /// Sets what was left at a reading, and takes off it what was taken after that, which is given back.
    /// Nothing where it is not the newest.
    fn read(&mut self, left: Volume, when: &When) -> Option<Vec<Taken>> {
        if self.since.standing(when) != Standing::Newest {
            return None;
        }
        self.since.read(when);
        let later = self.since.done().map(|(_, taken)| taken.clone());
        let later: Vec<Taken> = later.collect();
        self.left_ul = left.saturating_sub(sum(&later));
        self.measured_at = Some(when.done_at);
        self.waiting.take_if(|weight| weight.when() <= *when);
        Some(later)
    }
}

fn sum(taken: &[Taken]) -> Volume {
    let quantities = taken.iter().map(|one| one.quantity);
    Volume::from_ul(quantities.fold(0, i64::saturating_add))
}

impl SundryState {
    /// Takes of it, unless it was counted after that.
    pub(super) fn use_up(&mut self, taken: Taken, when: When) {
        let quantity = taken.quantity;
        self.tally
            .take(taken.clone(), self.left_quantity, self.counted_at);
        if self.since.is_read_after(&when) {
            return;
        }
        self.left_quantity = self.left_quantity.saturating_sub(quantity);
        if let Some(planned) = taken.planned {
            let at = self.planned.partition_point(|(done, _)| *done <= when);
            self.planned.insert(at, (when.clone(), planned));
        }
        if let Some((oldest, _)) = self.since.put(when, quantity) {
            self.planned.retain(|(done, _)| *done != oldest);
        }
    }

    /// Sets what is left as counted, less what was used after that. Says whether it did.
    pub(super) fn count(&mut self, found: i64, when: &When) -> bool {
        if self.since.standing(when) != Standing::Newest {
            return false;
        }
        let later = self.used_after(when);
        self.since.read(when);
        self.planned.retain(|(done, _)| done > when);
        let used = later.iter().map(|taken| taken.quantity);
        self.left_quantity = used.fold(found, i64::saturating_sub);
        let counted_at = self.counted_at.replace(when.done_at);
        self.tally.weigh(found, counted_at, when.done_at, &later);
        true
    }

    /// Ends its stretch: nothing is left of what was used up.
    pub(super) fn run_out(&mut self, when: &When) {
        if self.since.standing(when) == Standing::Newest {
            let later = self.used_after(when);
            self.tally.weigh(0, self.counted_at, when.done_at, &later);
        }
    }

    /// What was used after this, as far as it is kept apart.
    fn used_after(&self, when: &When) -> Vec<Taken> {
        let later = self.since.done().filter(|(done, _)| *done > when);
        let taken = later.map(|(done, quantity)| {
            let planned = self.planned.iter().find(|(of, _)| of == done);
            Taken {
                quantity: *quantity,
                planned: planned.map(|(_, planned)| planned.clone()),
                done_at: done.done_at,
            }
        });
        taken.collect()
    }
}

impl BundleState {
    /// Takes in what is done to its towels, unless they were counted after that.
    pub(super) fn handle(&mut self, handled: Handled, when: When) {
        if self.since.is_read_after(&when) {
            return;
        }
        if let Some((oldest, what)) = self.since.put(when, handled) {
            self.counted.take(what, oldest.done_at);
        }
        self.lay();
    }

    /// Sets both counts; what was done after that is done to them. Says whether it did.
    pub(super) fn count(&mut self, clean_count: i64, soiled_count: i64, when: &When) -> bool {
        if self.since.standing(when) != Standing::Newest {
            return false;
        }
        self.since.read(when);
        self.counted = Pile::counted(clean_count, soiled_count);
        self.lay();
        true
    }

    /// Works out how its towels lie.
    fn lay(&mut self) {
        let mut pile = self.counted;
        for (when, handled) in self.since.done() {
            pile.take(*handled, when.done_at);
        }
        self.clean_count = pile.clean_count;
        self.soiled_count = pile.soiled_count;
        self.drying_count = pile.drying_count;
    }
}

impl State {
    /// The state of a piece that just came.
    pub(crate) fn begun(mut self) -> Self {
        match &mut self {
            Self::Bottle(bottle) => *bottle.since = Since::begun(),
            Self::Sundry(sundry) => *sundry.since = Since::begun(),
            Self::Bundle(bundle) => {
                *bundle.since = Since::begun();
                bundle.counted = bundle.pile(None);
            }
            Self::Pad(_) | Self::Plate(_) | Self::Machine(_) | Self::Tool(_) | Self::Battery(_) => {
            }
        }
        self
    }

    /// Takes what an earlier program restated, which has the level alone, for what all came to by then.
    pub(crate) fn add_up(&mut self, readiness: Readiness, until: When) {
        match self {
            Self::Bottle(bottle) if !bottle.since.is_whole() => bottle.since.add_up(until),
            Self::Sundry(sundry) if !sundry.since.is_whole() => sundry.since.add_up(until),
            Self::Bundle(bundle) if !bundle.since.is_whole() => {
                bundle.since.add_up(until);
                let dry_at: Option<Moment> = match readiness {
                    Readiness::Drying(dry_at) => Some(dry_at),
                    _ => None,
                };
                bundle.counted = bundle.pile(dry_at);
            }
            _ => {}
        }
    }
}
