//! The plans of the jobs of the days that are looked at, each worked out once.
//!
//! Serves every part of the check. Of the kit a plan looks at nothing that jobs before it use or soil, so that it
//! holds for the copy of the book that they leave too.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::Book;
use crate::ground::ids::Id;
use crate::ground::refusal::Refusal;
use crate::ready::plan::{Plan, plan_job, plan_to_come};
use crate::trade::job::Job;

/// Booked jobs that can be planned, by start, with their plans.
pub(super) struct Plans<'a> {
    book: &'a Book,
    jobs: Vec<&'a Job>,
    plans: BTreeMap<&'a Id, Plan>,
}

impl<'a> Plans<'a> {
    /// Those of the days of these, whether or not they are asked about.
    pub(super) fn of(book: &'a Book, asked: &[&Job]) -> Self {
        let days: BTreeSet<Date> = asked.iter().flat_map(|job| job.local_days()).collect();
        let booked = book.booked_jobs().map(AsRef::as_ref);
        let that_day = booked.filter(|job| job.local_days().any(|day| days.contains(&day)));
        let (mut jobs, mut plans) = (Vec::new(), BTreeMap::new());
        for job in that_day {
            if let Ok(plan) = plan_job(book, job) {
                jobs.push(job);
                plans.insert(&job.id, plan);
            }
        }
        Self { book, jobs, plans }
    }

    /// Each job with its plan.
    pub(super) fn each(&self) -> impl Iterator<Item = (&'a Job, &Plan)> {
        let jobs = self.jobs.iter();
        jobs.filter_map(|job| Some((*job, self.plans.get(&job.id)?)))
    }

    /// The plan of a job of those days, a done one too.
    pub(super) fn of_job(&self, job: &Job) -> Result<Cow<'_, Plan>, Refusal> {
        match self.plans.get(&job.id) {
            Some(plan) => Ok(Cow::Borrowed(plan)),
            None => plan_job(self.book, job).map(Cow::Owned),
        }
    }

    /// The same of what is to come of it, for whoever needs it last.
    pub(super) fn take(&mut self, job: &Job) -> Result<Plan, Refusal> {
        if job.has_first_day_behind() {
            return plan_to_come(self.book, job);
        }
        match self.plans.remove(&job.id) {
            Some(plan) => Ok(plan),
            None => plan_job(self.book, job),
        }
    }
}
