//! The tally of a bottle: what jobs were planned to take of it, and what weigh-ins say they took.
//!
//! Serves what a shop learns of its real use of liquids. It follows from the bottle's own deeds, and
//! must never count liquid twice, nor take a level that was only read off for one that was weighed.

use fettlebook_quantity::Volume;
use serde::{Deserialize, Serialize};

use crate::Moment;

/// Stretches kept apart; older ones are added up, so that a bottle's record stays small.
const STRETCHES_MAX: usize = 40;

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
    is_blind: bool,
}

/// Liquid taken from a bottle.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Taken {
    /// What was taken, as far as known.
    pub volume: Volume,
    /// What the plan of a job was; `None`, or nothing, for what no plan was for.
    pub planned: Option<Volume>,
    /// When.
    pub done_at: Moment,
}

impl Taken {
    /// What was planned, where a plan was for it: a bottle that a job took without one is no measure
    /// of the plan.
    fn by_plan(&self) -> Option<Volume> {
        self.planned.filter(|planned| *planned > Volume::ZERO)
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
        match taken.by_plan() {
            Some(planned) => {
                self.planned_ul = self.planned_ul.saturating_add(planned);
                self.job_count = self.job_count.saturating_add(1);
            }
            None => self.other_ul = self.other_ul.saturating_add(taken.volume),
        }
    }

    /// Takes a use into the weighed stretch of its time; into none where that one told nothing.
    fn take_late(&mut self, taken: Taken) {
        let stretch = self.stretches.iter_mut().find(|stretch| {
            stretch.from.is_none_or(|from| from <= taken.done_at) && taken.done_at < stretch.until
        });
        let Some(stretch) = stretch else { return };
        match taken.by_plan() {
            Some(planned) => {
                stretch.planned_ul = stretch.planned_ul.saturating_add(planned);
                stretch.job_count = stretch.job_count.saturating_add(1);
            }
            None => {
                let rest = stretch.actual_ul.saturating_sub(taken.volume);
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
        self.is_blind = is_blind;
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
        }
    }
}

impl Waiting {
    /// Takes in a use of its time that was reported late.
    fn take(&mut self, taken: Taken) {
        match taken.by_plan() {
            Some(planned) => {
                self.planned_ul = self.planned_ul.saturating_add(planned);
                self.job_count = self.job_count.saturating_add(1);
            }
            None => self.other_ul = self.other_ul.saturating_add(taken.volume),
        }
    }
}

#[cfg(test)]
mod tests {
    use fettlebook_quantity::Volume;

    use super::{STRETCHES_MAX, Taken, Tally};
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
            planned: Some(ml(planned)),
            done_at: at(second),
        }
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
            planned: Some(ml(0)),
            ..job(20, 12)
        };
        tally.take(job(40, 10), ml(500), None);
        tally.take(unplanned, ml(460), None);
        tally.weigh(ml(435), None, at(30));
        assert_eq!(weighed(&tally), [(40, 45, 1)]);
        let late = Taken {
            planned: Some(ml(0)),
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
    }
}
