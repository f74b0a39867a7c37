//! The tally of a bottle: what jobs were planned to take of it, and what weigh-ins say they took.
//!
//! Serves what a shop learns of its real use of liquids. It follows from the bottle's own deeds, and
//! must never count liquid twice, nor take a level that was only read off for one that was weighed.

use fettlebook_quantity::Volume;
use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::ground::ids::Id;

/// Number of the rules of the plans that were made before it was written down.
pub(crate) const FIRST_RULES: u32 = 1;
/// Stretches kept apart; older ones are added up, so that a bottle's record stays small.
const STRETCHES_MAX: usize = 40;

/// What a job was planned to take of a bottle, and by which rules.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlannedUse {
    /// The job; `None` where older stretches were added up.
    pub job: Option<Id>,
    /// What it was planned to take.
    pub planned_ul: Volume,
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
                    same.planned_ul = same.planned_ul.saturating_add(self.planned_ul);
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
            same.planned_ul = same.planned_ul.saturating_sub(self.planned_ul);
            if same.planned_ul <= Volume::ZERO {
                uses.remove(at);
            }
        }
    }

    /// The use without its job.
    fn of_no_job(self) -> Self {
        Self { job: None, ..self }
    }
}

/// What happened to a bottle between two weighings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stretch {
    /// When it was weighed at the start; `None` when it was full by its label.
    #[serde(default)]
    pub from: Option<Moment>,
    /// When it was weighed at the end.
    pub until: Moment,
    /// What jobs were planned to take.
    pub planned_ul: Volume,
    /// What was gone.
    pub actual_ul: Volume,
    /// Jobs that took of it; above one they share what was gone.
    pub job_count: i64,
    /// Which those were, as far as it is known.
    #[serde(default)]
    pub uses: Vec<PlannedUse>,
}

impl Stretch {
    /// Takes a planned use in. Where older stretches were added up the jobs are not told apart.
    fn take(&mut self, planned: PlannedUse) {
        self.planned_ul = self.planned_ul.saturating_add(planned.planned_ul);
        self.job_count = self.job_count.saturating_add(1);
        let is_sum = self.uses.iter().any(|one| one.job.is_none());
        let planned = if is_sum { planned.of_no_job() } else { planned };
        planned.add_to(&mut self.uses);
    }
}

/// The weighed stretches of a bottle, and the one that is not weighed yet.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    /// Weighed stretches, oldest first.
    pub stretches: Vec<Stretch>,
    /// Level at the start of the open one: full by its label, or weighed. `None` before any use.
    level_ul: Option<Volume>,
    /// What jobs were planned to take since.
    planned_ul: Volume,
    /// What was taken outside any plan since.
    other_ul: Volume,
    /// Jobs since.
    job_count: i64,
    /// What each of them was planned to take.
    #[serde(default)]
    uses: Vec<PlannedUse>,
    /// The level was read off since the last weighing, so the open stretch has no weighed start.
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
    level_ul: Option<Volume>,
    planned_ul: Volume,
    other_ul: Volume,
    job_count: i64,
    #[serde(default)]
    uses: Vec<PlannedUse>,
    is_blind: bool,
}

/// Liquid taken from a bottle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Taken {
    /// What was taken, as far as known.
    pub volume: Volume,
    /// What the plan of a job was; `None`, or nothing, for what no plan was for.
    pub planned: Option<PlannedUse>,
    /// When.
    pub done_at: Moment,
}

impl Taken {
    /// What was planned, where a plan was for it: a bottle that a job took without one is no measure
    /// of the plan.
    fn by_plan(self) -> Option<PlannedUse> {
        self.planned
            .filter(|planned| planned.planned_ul > Volume::ZERO)
    }
}

impl Tally {
    /// Takes a use in. `level` is what the bottle held before it, `measured_at` when that was last
    /// measured: a use from before then belongs to the stretch that was open at its time.
    pub(crate) fn take(&mut self, taken: Taken, level: Volume, measured_at: Option<Moment>) {
        if measured_at.is_some_and(|measured| taken.done_at < measured) {
            self.take_late(taken);
            return;
        }
        if let Some(waiting) = &mut self.waiting
            && taken.done_at < waiting.until
        {
            waiting.level_ul.get_or_insert(level);
            waiting.take(taken);
            return;
        }
        self.level_ul.get_or_insert(level);
        self.take_in(taken);
    }

    /// Takes a use into the open stretch.
    fn take_in(&mut self, taken: Taken) {
        let volume = taken.volume;
        match taken.by_plan() {
            Some(planned) => {
                self.planned_ul = self.planned_ul.saturating_add(planned.planned_ul);
                self.job_count = self.job_count.saturating_add(1);
                planned.add_to(&mut self.uses);
            }
            None => self.other_ul = self.other_ul.saturating_add(volume),
        }
    }

    /// Takes a use out of the open stretch.
    fn give_back(&mut self, taken: Taken) {
        let volume = taken.volume;
        match taken.by_plan() {
            Some(planned) => {
                self.planned_ul = self.planned_ul.saturating_sub(planned.planned_ul);
                self.job_count = self.job_count.saturating_sub(1);
                planned.take_from(&mut self.uses);
            }
            None => self.other_ul = self.other_ul.saturating_sub(volume),
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
        let volume = taken.volume;
        match taken.by_plan() {
            Some(planned) => stretch.take(planned),
            None => {
                let rest = stretch.actual_ul.saturating_sub(volume);
                stretch.actual_ul = rest.max(Volume::ZERO);
            }
        }
    }

    /// Ends the open stretch with a weighing. One in which nothing was planned, or after which the
    /// bottle is fuller than before, says nothing. `measured_at` is when the bottle was last measured
    /// before it; `later` was taken after it and told already.
    pub(crate) fn weigh(
        &mut self,
        left: Volume,
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
                level_ul: tally.level_ul,
                planned_ul: tally.planned_ul,
                other_ul: tally.other_ul,
                job_count: tally.job_count,
                uses: std::mem::take(&mut tally.uses),
                is_blind: tally.is_blind,
            }));
            tally.begin(Volume::ZERO, true);
        });
    }

    /// What is left follows now from the weight that ended the stretch that waits.
    pub(crate) fn found(&mut self, left: Volume) {
        let Some(waiting) = self.waiting.take() else {
            return;
        };
        let (from, until) = (waiting.from, waiting.until);
        let since = Self {
            stretches: Vec::new(),
            ..self.clone()
        };
        self.begin(Volume::ZERO, true);
        self.open_again(&waiting);
        self.close(left, from, until);
        *self = Self {
            stretches: std::mem::take(&mut self.stretches),
            level_ul: Some(left),
            is_blind: false,
            ..since
        };
    }

    /// Puts a stretch that waited before what came after it.
    fn open_again(&mut self, waiting: &Waiting) {
        self.level_ul = waiting.level_ul;
        self.is_blind = waiting.is_blind;
        self.planned_ul = self.planned_ul.saturating_add(waiting.planned_ul);
        self.other_ul = self.other_ul.saturating_add(waiting.other_ul);
        self.job_count = self.job_count.saturating_add(waiting.job_count);
        for one in waiting.uses.clone() {
            one.add_to(&mut self.uses);
        }
    }

    /// Adds the open stretch to those that are weighed, where it says something.
    fn close(&mut self, left: Volume, from: Option<Moment>, until: Moment) {
        if let Some(level) = self.level_ul.filter(|_| !self.is_blind) {
            let gone = level.saturating_sub(left).saturating_sub(self.other_ul);
            if self.planned_ul > Volume::ZERO && gone >= Volume::ZERO {
                self.stretches.push(Stretch {
                    from,
                    until,
                    planned_ul: self.planned_ul,
                    actual_ul: gone,
                    job_count: self.job_count,
                    uses: std::mem::take(&mut self.uses),
                });
                self.join_oldest();
            }
        }
    }

    /// Ends the open stretch with a level that was only read off; `later` was taken after it and told already.
    pub(crate) fn read_off(&mut self, left: Volume, later: &[Taken]) {
        self.end_before(later, |tally| tally.begin(left, true));
    }

    fn begin(&mut self, level: Volume, is_blind: bool) {
        self.level_ul = Some(level);
        self.planned_ul = Volume::ZERO;
        self.other_ul = Volume::ZERO;
        self.job_count = 0;
        self.uses.clear();
        self.is_blind = is_blind;
    }

    /// What jobs were planned to take, in the weighed stretches and since.
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
            next.planned_ul = next.planned_ul.saturating_add(oldest.planned_ul);
            next.actual_ul = next.actual_ul.saturating_add(oldest.actual_ul);
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
        let volume = taken.volume;
        match taken.by_plan() {
            Some(planned) => {
                self.planned_ul = self.planned_ul.saturating_add(planned.planned_ul);
                self.job_count = self.job_count.saturating_add(1);
                planned.add_to(&mut self.uses);
            }
            None => self.other_ul = self.other_ul.saturating_add(volume),
        }
    }
}

#[cfg(test)]
mod tests;
