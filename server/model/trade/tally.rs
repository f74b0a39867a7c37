//! The tally of a piece: what jobs were planned to take of it, and what weigh-ins or counts say they took.
//!
//! Serves what a shop learns of its real use of liquids and sundries. It follows from the piece's own deeds,
//! and must never count anything twice, nor take a level that was only read off for one that was measured.
//! Quantities are in what the piece is measured in: µL of a bottle, a sundry's own unit. Their names on the
//! disk are those of bottles, whose tallies came first.

use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::ground::ids::Id;

/// Number of the rules of the plans that were made before it was written down.
pub(crate) const FIRST_RULES: u32 = 1;
/// In place of that number: what was planned was not written down, so that a stretch with it says nothing.
pub(crate) const UNTOLD: u32 = 0;
/// Stretches kept apart; older ones are added up, so that a piece's record stays small.
const STRETCHES_MAX: usize = 40;

/// What a job was planned to take of a piece, and by which rules.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlannedUse {
    /// The job; `None` where older stretches were added up.
    pub job: Option<Id>,
    /// What it was planned to take.
    #[serde(rename = "planned_ul")]
    pub planned_quantity: i64,
    /// Number of the rules that the plan was made by.
    pub rules: u32,
}

impl PlannedUse {
    /// Adds a use to those of a stretch, which stand in the order of their jobs whenever they were told.
    fn add_to(self, uses: &mut Vec<Self>) {
        let key = |one: &Self| (one.job.clone(), one.rules);
        match uses.binary_search_by_key(&key(&self), key) {
            Ok(at) => {
                if let Some(same) = uses.get_mut(at) {
                    same.planned_quantity =
                        same.planned_quantity.saturating_add(self.planned_quantity);
                }
            }
            Err(at) => uses.insert(at, self),
        }
    }

    /// Takes a use out of those of a stretch.
    fn take_from(&self, uses: &mut Vec<Self>) {
        let key = |one: &Self| (one.job.clone(), one.rules);
        let Ok(at) = uses.binary_search_by_key(&key(self), key) else {
            return;
        };
        if let Some(same) = uses.get_mut(at) {
            same.planned_quantity = same.planned_quantity.saturating_sub(self.planned_quantity);
            if same.planned_quantity <= 0 {
                uses.remove(at);
            }
        }
    }

    /// The use without its job.
    fn of_no_job(self) -> Self {
        Self { job: None, ..self }
    }
}

/// What happened to a piece between two measurings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stretch {
    /// When it was measured at the start; `None` when it held what its label or its receipt says.
    #[serde(default)]
    pub from: Option<Moment>,
    /// When it was measured at the end.
    pub until: Moment,
    /// What jobs were planned to take.
    #[serde(rename = "planned_ul")]
    pub planned_quantity: i64,
    /// What was gone.
    #[serde(rename = "actual_ul")]
    pub actual_quantity: i64,
    /// Jobs that took of it; above one they share what was gone.
    pub job_count: i64,
    /// Which those were, as far as it is known.
    #[serde(default)]
    pub uses: Vec<PlannedUse>,
}

impl Stretch {
    /// Takes a planned use in. Where older stretches were added up the jobs are not told apart.
    fn take(&mut self, planned: PlannedUse) {
        self.planned_quantity = self
            .planned_quantity
            .saturating_add(planned.planned_quantity);
        self.job_count = self.job_count.saturating_add(1);
        let is_sum = self.uses.iter().any(|one| one.job.is_none());
        let planned = if is_sum { planned.of_no_job() } else { planned };
        planned.add_to(&mut self.uses);
    }
}

/// The measured stretches of a piece, and the one that is not measured yet.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    /// Measured stretches, oldest first.
    pub stretches: Vec<Stretch>,
    /// Level at the start of the open one: by its label, or measured. `None` before any use.
    #[serde(rename = "level_ul")]
    level_quantity: Option<i64>,
    /// What jobs were planned to take since.
    #[serde(rename = "planned_ul")]
    planned_quantity: i64,
    /// What was taken outside any plan since.
    #[serde(rename = "other_ul")]
    other_quantity: i64,
    /// Jobs since.
    job_count: i64,
    /// What each of them was planned to take.
    #[serde(default)]
    uses: Vec<PlannedUse>,
    /// The level was read off since the last weighing, so that the open stretch has no weighed start, or a plan
    /// was not written down.
    is_blind: bool,
    /// A stretch that a weight ended, from which what is left does not follow yet.
    #[serde(default)]
    waiting: Option<Box<Waiting>>,
}

/// A stretch that ends with a weight without a tare.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Waiting {
    from: Option<Moment>,
    until: Moment,
    #[serde(rename = "level_ul")]
    level_quantity: Option<i64>,
    #[serde(rename = "planned_ul")]
    planned_quantity: i64,
    #[serde(rename = "other_ul")]
    other_quantity: i64,
    job_count: i64,
    #[serde(default)]
    uses: Vec<PlannedUse>,
    is_blind: bool,
}

/// What was taken of a piece at once.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Taken {
    /// What was taken, as far as known.
    #[serde(rename = "volume")]
    pub quantity: i64,
    /// What the plan of a job was; `None`, or nothing, for what no plan was for.
    pub planned: Option<PlannedUse>,
    /// When.
    pub done_at: Moment,
}

impl Taken {
    /// Whether a plan was for it that was not written down.
    fn is_untold(&self) -> bool {
        self.planned
            .as_ref()
            .is_some_and(|planned| planned.rules == UNTOLD)
    }

    /// What was planned, where a plan was for it: what a job took without one is no measure of the plan.
    fn by_plan(self) -> Option<PlannedUse> {
        self.planned.filter(|planned| planned.planned_quantity > 0)
    }
}

impl Tally {
    /// Takes a use in. `level` is what the bottle held before it, `measured_at` when that was last
    /// measured: a use from before then belongs to the stretch that was open at its time.
    pub(crate) fn take(&mut self, taken: Taken, level: i64, measured_at: Option<Moment>) {
        if measured_at.is_some_and(|measured| taken.done_at < measured) {
            self.take_late(taken);
            return;
        }
        if let Some(waiting) = &mut self.waiting
            && taken.done_at < waiting.until
        {
            waiting.level_quantity.get_or_insert(level);
            waiting.take(taken);
            return;
        }
        self.level_quantity.get_or_insert(level);
        self.take_in(taken);
    }

    /// Takes a use into the open stretch.
    fn take_in(&mut self, taken: Taken) {
        let quantity = taken.quantity;
        let is_untold = taken.is_untold();
        match taken.by_plan() {
            Some(planned) => {
                self.planned_quantity = self
                    .planned_quantity
                    .saturating_add(planned.planned_quantity);
                self.job_count = self.job_count.saturating_add(1);
                planned.add_to(&mut self.uses);
            }
            None => self.other_quantity = self.other_quantity.saturating_add(quantity),
        }
        self.is_blind |= is_untold;
    }

    /// Takes a use out of the open stretch.
    fn give_back(&mut self, taken: Taken) {
        let quantity = taken.quantity;
        match taken.by_plan() {
            Some(planned) => {
                self.planned_quantity = self
                    .planned_quantity
                    .saturating_sub(planned.planned_quantity);
                self.job_count = self.job_count.saturating_sub(1);
                planned.take_from(&mut self.uses);
            }
            None => self.other_quantity = self.other_quantity.saturating_sub(quantity),
        }
    }

    /// Ends the open stretch as `end` does, and begins the next with what was taken later, which was told
    /// already.
    fn end_before(&mut self, later: &[Taken], end: impl FnOnce(&mut Self)) {
        if let Some(waiting) = self.waiting.take() {
            self.open_again(&waiting);
        }
        for taken in later {
            self.give_back(taken.clone());
        }
        end(self);
        for taken in later {
            self.take_in(taken.clone());
        }
    }

    /// Takes a use into the weighed stretch of its time; into none where that one told nothing.
    fn take_late(&mut self, taken: Taken) {
        let stretch = self.stretches.iter_mut().find(|stretch| {
            stretch.from.is_none_or(|from| from <= taken.done_at) && taken.done_at < stretch.until
        });
        let Some(stretch) = stretch else { return };
        let quantity = taken.quantity;
        match taken.by_plan() {
            Some(planned) => stretch.take(planned),
            None => {
                let rest = stretch.actual_quantity.saturating_sub(quantity);
                stretch.actual_quantity = rest.max(0);
            }
        }
    }

    /// Ends the open stretch with a weighing. One in which nothing was planned, or after which the
    /// bottle is fuller than before, says nothing. `measured_at` is when the bottle was last measured
    /// before it; `later` was taken after it and told already.
    pub(crate) fn weigh(
        &mut self,
        left: i64,
        measured_at: Option<Moment>,
        done_at: Moment,
        later: &[Taken],
    ) {
        self.end_before(later, |tally| {
            tally.close(left, measured_at, done_at);
            tally.begin(left, false);
        });
    }

    /// Ends the open stretch with a weight from which what is left does not follow yet. One that waited
    /// already goes on to here.
    pub(crate) fn wait(&mut self, measured_at: Option<Moment>, done_at: Moment, later: &[Taken]) {
        self.end_before(later, |tally| {
            tally.waiting = Some(Box::new(Waiting {
                from: measured_at,
                until: done_at,
                level_quantity: tally.level_quantity,
                planned_quantity: tally.planned_quantity,
                other_quantity: tally.other_quantity,
                job_count: tally.job_count,
                uses: std::mem::take(&mut tally.uses),
                is_blind: tally.is_blind,
            }));
            tally.begin(0, true);
        });
    }

    /// What is left follows now from the weight that ended the stretch that waits.
    pub(crate) fn found(&mut self, left: i64) {
        let Some(waiting) = self.waiting.take() else {
            return;
        };
        let (from, until) = (waiting.from, waiting.until);
        let since = Self {
            stretches: Vec::new(),
            ..self.clone()
        };
        self.begin(0, true);
        self.open_again(&waiting);
        self.close(left, from, until);
        *self = Self {
            stretches: std::mem::take(&mut self.stretches),
            level_quantity: Some(left),
            is_blind: false,
            ..since
        };
    }

    /// Puts a stretch that waited before what came after it.
    fn open_again(&mut self, waiting: &Waiting) {
        self.level_quantity = waiting.level_quantity;
        self.is_blind = waiting.is_blind;
        self.planned_quantity = self
            .planned_quantity
            .saturating_add(waiting.planned_quantity);
        self.other_quantity = self.other_quantity.saturating_add(waiting.other_quantity);
        self.job_count = self.job_count.saturating_add(waiting.job_count);
        for one in waiting.uses.clone() {
            one.add_to(&mut self.uses);
        }
    }

    /// Adds the open stretch to those that are weighed, where it says something.
    fn close(&mut self, left: i64, from: Option<Moment>, until: Moment) {
        if let Some(level) = self.level_quantity.filter(|_| !self.is_blind) {
            let gone = level
                .saturating_sub(left)
                .saturating_sub(self.other_quantity);
            if self.planned_quantity > 0 && gone >= 0 {
                self.stretches.push(Stretch {
                    from,
                    until,
                    planned_quantity: self.planned_quantity,
                    actual_quantity: gone,
                    job_count: self.job_count,
                    uses: std::mem::take(&mut self.uses),
                });
                self.join_oldest();
            }
        }
    }

    /// Ends the open stretch with a level that was only read off; `later` was taken after it and told already.
    pub(crate) fn read_off(&mut self, left: i64, later: &[Taken]) {
        self.end_before(later, |tally| tally.begin(left, true));
    }

    fn begin(&mut self, level: i64, is_blind: bool) {
        self.level_quantity = Some(level);
        self.planned_quantity = 0;
        self.other_quantity = 0;
        self.job_count = 0;
        self.uses.clear();
        self.is_blind = is_blind;
    }

    /// Whether any of its stretches ended from a moment on.
    pub(crate) fn is_taught_from(&self, at: Moment) -> bool {
        self.stretches.iter().any(|one| one.until >= at)
    }

    /// The same without those stretches.
    pub(crate) fn before(&self, at: Moment) -> Self {
        let mut before = self.clone();
        before.stretches.retain(|one| one.until < at);
        before
    }

    /// What jobs were planned to take, in the measured stretches and since.
    pub(crate) fn uses(&self) -> impl Iterator<Item = &PlannedUse> {
        let weighed = self.stretches.iter().flat_map(|stretch| &stretch.uses);
        let waiting = self.waiting.iter().flat_map(|waiting| &waiting.uses);
        weighed.chain(waiting).chain(&self.uses)
    }

    /// Adds the two oldest stretches up once there are too many.
    fn join_oldest(&mut self) {
        if self.stretches.len() <= STRETCHES_MAX {
            return;
        }
        let oldest = self.stretches.remove(0);
        if let Some(next) = self.stretches.first_mut() {
            next.from = oldest.from;
            next.planned_quantity = next
                .planned_quantity
                .saturating_add(oldest.planned_quantity);
            next.actual_quantity = next.actual_quantity.saturating_add(oldest.actual_quantity);
            next.job_count = next.job_count.saturating_add(oldest.job_count);
            let uses = std::mem::take(&mut next.uses);
            for one in oldest.uses.into_iter().chain(uses) {
                one.of_no_job().add_to(&mut next.uses);
            }
        }
    }
}

impl Waiting {
    /// Takes in a use of its time that was reported late.
    fn take(&mut self, taken: Taken) {
        let quantity = taken.quantity;
        match taken.by_plan() {
            Some(planned) => {
                self.planned_quantity = self
                    .planned_quantity
                    .saturating_add(planned.planned_quantity);
                self.job_count = self.job_count.saturating_add(1);
                planned.add_to(&mut self.uses);
            }
            None => self.other_quantity = self.other_quantity.saturating_add(quantity),
        }
    }
}

#[cfg(test)]
mod tests;
