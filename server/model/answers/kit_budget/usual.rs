//! The jobs that usually come beside those that are booked, and what they take of the kit.
//!
//! How many come is believed from those done in the last weeks. A busy stretch is busy for all of the kit, so
//! that what jobs take is looked at in stretches from the quietest to the busiest, not make by make.

use std::collections::BTreeMap;

use crate::answers::coming::{Coming, coming};
use crate::answers::job_takes::{Takes, one_of, takes_of};
use crate::maths::life::count_f64;
use crate::maths::moments::Moments;
use crate::{Book, Moment};

/// Stretches that are looked at, each as likely. Derived: with nine the spread is within a twentieth.
const STRETCHES: u32 = 9;

/// Routines that were worked lately, each with what a job of it takes.
pub(super) struct Usual<'a> {
    routines: Vec<(Coming<'a>, Takes)>,
}

impl<'a> Usual<'a> {
    pub(super) fn of(book: &'a Book, now: Moment) -> Self {
        let routines = coming(book, now).into_iter().map(|one| {
            let jobs = one.latest.iter().filter_map(|job| takes_of(book, job));
            let takes = one_of(&jobs.collect::<Vec<_>>());
            (one, takes)
        });
        Self {
            routines: routines.collect(),
        }
    }

    /// What a job of each routine takes.
    pub(super) fn takes(&self) -> impl Iterator<Item = &Takes> {
        self.routines.iter().map(|(_, takes)| takes)
    }

    /// Jobs done in the weeks that are looked at.
    pub(super) fn done_count(&self) -> usize {
        self.routines.iter().map(|(one, _)| one.done_count()).sum()
    }

    /// How many weeks those are.
    pub(super) fn week_count(&self) -> usize {
        let weeks = self.routines.iter().map(|(one, _)| one.week_count());
        weeks.max().unwrap_or(0)
    }

    /// Jobs that come over some days beside those that are booked, on average.
    pub(super) fn mean_over(&self, book: &Book, days: i64) -> f64 {
        self.number_over(book, days).mean
    }

    fn number_over(&self, book: &Book, days: i64) -> Moments {
        let numbers = self.routines.iter().map(|(one, _)| number(one, book, days));
        numbers.fold(Moments::NONE, Moments::plus)
    }

    /// What those jobs take together, in stretches that are as likely.
    pub(super) fn over(&self, book: &Book, days: i64) -> Vec<Takes> {
        let all = self.number_over(book, days);
        if all.mean <= 0.0 {
            return vec![Takes::new()];
        }
        let parts = f64::from(STRETCHES);
        let quantiles: Vec<f64> = (0..STRETCHES)
            .map(|at| all.quantile((f64::from(at) + 0.5) / parts))
            .collect();
        let sum: f64 = quantiles.iter().sum();
        quantiles
            .iter()
            // Against their own mean, so that the mean of the stretches is that of the jobs.
            .map(|jobs| self.taken(book, days, jobs * parts / sum))
            .collect()
    }

    /// What so many times the usual number of jobs takes.
    fn taken(&self, book: &Book, days: i64, busy: f64) -> Takes {
        let mut takes: Takes = BTreeMap::new();
        for (one, of_job) in &self.routines {
            let jobs = number(one, book, days).mean * busy;
            for (make, moments) in of_job {
                let sum = takes.entry(make.clone()).or_default();
                *sum = sum.plus(moments.many(jobs));
            }
        }
        takes
    }

    /// Jobs of all routines in a week, as they were done lately.
    pub(super) fn a_week(&self) -> f64 {
        let weeks = count_f64(self.week_count().max(1));
        count_f64(self.done_count()) / weeks
    }
}

/// Jobs of a routine that come over some days.
fn number(one: &Coming<'_>, book: &Book, days: i64) -> Moments {
    one.jobs(book, days).map_or(Moments::NONE, |jobs| Moments {
        mean: jobs.mean(),
        variance: jobs.variance(),
    })
}
