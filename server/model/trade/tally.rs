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
#[derive(Debug, Clone)]
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
    /// before it.
    pub(crate) fn weigh(&mut self, left: Volume, measured_at: Option<Moment>, done_at: Moment) {
        if let Some(waiting) = self.waiting.take() {
            self.open_again(&waiting);
        }
        self.close(left, measured_at, done_at);
        self.begin(left, false);
    }

    /// Ends the open stretch with a weight from which what is left does not follow yet. One that waited
    /// already goes on to here.
    pub(crate) fn wait(&mut self, measured_at: Option<Moment>, done_at: Moment) {
        if let Some(waiting) = self.waiting.take() {
            self.open_again(&waiting);
        }
        self.waiting = Some(Box::new(Waiting {
            from: measured_at,
            until: done_at,
            level_ul: self.level_ul,
            planned_ul: self.planned_ul,
            other_ul: self.other_ul,
            job_count: self.job_count,
            uses: std::mem::take(&mut self.uses),
            is_blind: self.is_blind,
        }));
        self.begin(Volume::ZERO, true);
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

    /// Ends the open stretch with a level that was only read off.
    pub(crate) fn read_off(&mut self, left: Volume) {
        self.waiting = None;
        self.begin(left, true);
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
mod tests {
    use fettlebook_quantity::Volume;

    use super::{FIRST_RULES, PlannedUse, STRETCHES_MAX, Taken, Tally};
    use crate::Moment;

    fn at(second: i64) -> Moment {
        Moment::from_second(second).unwrap()
    }

    fn ml(count: i64) -> Volume {
        Volume::from_ul(count * 1_000)
    }

    fn job(planned: i64, second: i64) -> Taken {
        Taken {
            volume: ml(planned),
            planned: planned_for(second, planned),
            done_at: at(second),
        }
    }

    /// The plan of a job of its own for each second.
    fn planned_for(second: i64, planned: i64) -> Option<PlannedUse> {
        Some(PlannedUse {
            job: Some(format!("job-{second}").parse().unwrap()),
            planned_ul: ml(planned),
            rules: FIRST_RULES,
        })
    }

    fn weighed(tally: &Tally) -> Vec<(i64, i64, i64)> {
        let of = |volume: Volume| volume.ul() / 1_000;
        tally
            .stretches
            .iter()
            .map(|one| (of(one.planned_ul), of(one.actual_ul), one.job_count))
            .collect()
    }

    #[test]
    fn jobs_between_two_weighings_share_what_was_gone() {
        let mut tally = Tally::default();
        tally.take(job(40, 10), ml(500), None);
        tally.take(job(60, 20), ml(460), None);
        tally.weigh(ml(380), None, at(30));
        tally.take(job(50, 40), ml(380), Some(at(30)));
        tally.weigh(ml(320), Some(at(30)), at(50));
        assert_eq!(weighed(&tally), [(100, 120, 2), (50, 60, 1)]);
    }

    #[test]
    fn what_was_taken_outside_any_job_is_not_blamed_on_the_jobs() {
        let mut tally = Tally::default();
        let loose = Taken {
            volume: ml(15),
            planned: None,
            done_at: at(15),
        };
        tally.take(job(40, 10), ml(500), None);
        tally.take(loose, ml(460), None);
        tally.weigh(ml(440), None, at(30));
        assert_eq!(weighed(&tally), [(40, 45, 1)]);
    }

    #[test]
    fn a_use_reported_late_joins_the_stretch_of_its_time() {
        let mut tally = Tally::default();
        tally.take(job(40, 10), ml(500), None);
        tally.weigh(ml(400), None, at(30));
        tally.weigh(ml(400), Some(at(30)), at(60));
        tally.take(job(50, 20), ml(400), Some(at(60)));
        assert_eq!(weighed(&tally), [(90, 100, 2)]);
    }

    #[test]
    fn a_use_reported_late_joins_no_stretch_of_another_time() {
        let mut tally = Tally::default();
        tally.weigh(ml(460), None, at(30));
        tally.take(job(50, 40), ml(460), Some(at(30)));
        tally.weigh(ml(400), Some(at(30)), at(50));
        tally.read_off(ml(390));
        tally.weigh(ml(380), Some(at(55)), at(70));
        tally.take(job(30, 80), ml(380), Some(at(70)));
        tally.weigh(ml(340), Some(at(70)), at(90));
        assert_eq!(weighed(&tally), [(50, 60, 1), (30, 40, 1)]);
        tally.take(job(40, 20), ml(340), Some(at(90)));
        tally.take(job(40, 60), ml(340), Some(at(90)));
        assert_eq!(weighed(&tally), [(50, 60, 1), (30, 40, 1)]);
        tally.take(job(10, 30), ml(340), Some(at(90)));
        assert_eq!(weighed(&tally), [(60, 60, 2), (30, 40, 1)]);
    }

    #[test]
    fn what_a_job_took_without_a_plan_is_not_blamed_on_the_plan() {
        let mut tally = Tally::default();
        let unplanned = Taken {
            planned: planned_for(12, 0),
            ..job(20, 12)
        };
        tally.take(job(40, 10), ml(500), None);
        tally.take(unplanned, ml(460), None);
        tally.weigh(ml(435), None, at(30));
        assert_eq!(weighed(&tally), [(40, 45, 1)]);
        let late = Taken {
            planned: planned_for(20, 0),
            ..job(5, 20)
        };
        tally.take(late, ml(435), Some(at(30)));
        assert_eq!(weighed(&tally), [(40, 40, 1)]);
    }

    #[test]
    fn a_level_read_off_or_a_refill_ends_a_stretch_without_a_figure() {
        let mut tally = Tally::default();
        tally.take(job(40, 10), ml(500), None);
        tally.read_off(ml(450));
        tally.take(job(40, 20), ml(450), Some(at(15)));
        tally.weigh(ml(400), Some(at(15)), at(30));
        tally.take(job(40, 40), ml(400), Some(at(30)));
        tally.weigh(ml(480), Some(at(30)), at(50));
        assert_eq!(weighed(&tally), []);
        tally.take(job(40, 60), ml(480), Some(at(50)));
        tally.weigh(ml(440), Some(at(50)), at(70));
        assert_eq!(weighed(&tally), [(40, 40, 1)]);
    }

    #[test]
    fn old_stretches_are_added_up_and_nothing_is_lost() {
        let mut tally = Tally::default();
        let mut left = 10_000;
        for turn in 0..100 {
            tally.take(job(10, 2 * turn), ml(left), Some(at(2 * turn - 1)));
            left -= 12;
            tally.weigh(ml(left), Some(at(2 * turn - 1)), at(2 * turn + 1));
        }
        assert_eq!(tally.stretches.len(), STRETCHES_MAX);
        let sums = weighed(&tally).iter().fold((0, 0, 0), |sum, one| {
            (sum.0 + one.0, sum.1 + one.1, sum.2 + one.2)
        });
        assert_eq!(sums, (1_000, 1_200, 100));
        // A use reported late joins what its stretch was added to.
        let oldest = weighed(&tally)[0];
        tally.take(job(10, 2), ml(left), Some(at(200)));
        assert_eq!(weighed(&tally)[0], (oldest.0 + 10, oldest.1, oldest.2 + 1));
        for stretch in &tally.stretches {
            let of = |uses: &[PlannedUse]| uses.iter().map(|one| one.planned_ul.ul()).sum::<i64>();
            assert_eq!(of(&stretch.uses), stretch.planned_ul.ul());
        }
        let [sum] = tally.stretches[0].uses.as_slice() else {
            panic!("{:?}", tally.stretches[0]);
        };
        assert_eq!(sum.job, None);
    }
}
