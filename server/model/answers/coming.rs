//! The jobs that are to be expected: how many of each routine come, and what one takes.
//!
//! Serves the keep levels and what has to be replaced ahead. How many come is believed from those that were done
//! in the last weeks; a shop in which nothing was done lately expects none.

use std::collections::BTreeMap;

use fettlebook_quantity::exact_f64;
use jiff::ToSpan as _;
use jiff::civil::Date;

use crate::ground::ids::Id;
use crate::maths::supply::{CountDemand, JobsAhead, JobsPolicy, VolumeDemand, jobs_ahead};
use crate::ready::plan::{Plan, StepPlan, plan_job};
use crate::ready::real_use::RealUse;
use crate::ready::towel_use::TowelUse;
use crate::trade::job::{Job, JobState, Routine};
use crate::trade::make::Make;
use crate::trade::policy::{PolicyKey, permille};
use crate::{Book, Moment};

const DAYS_PER_WEEK: f64 = 7.0;
const S_A_DAY: i64 = 86_400;
/// Done jobs of a routine that say what one takes.
const JOBS_LOOKED_AT: usize = 6;
/// Weeks of done jobs that show how busy the shop can be.
const WEEKS_THAT_TELL: usize = 4;

/// What jobs of one routine take, and how many come.
#[derive(Clone)]
pub(super) struct Coming<'a> {
    pub(super) routine: &'a Routine,
    /// The largest plan among those done last.
    pub(super) plan: Plan,
    /// Those done last, the latest first: they say what one takes.
    pub(super) latest: Vec<&'a Job>,
    weekly_counts: Vec<u32>,
    /// Days of those done, earliest first.
    done_on: Vec<Date>,
    booked: Vec<&'a Job>,
    /// Whether those that are booked are left out of those that come.
    leaves_booked_out: bool,
    now: Moment,
}

/// Whether the record is old and long enough to keep kit for jobs that are not booked, and the jobs done.
pub(super) fn has_begun(book: &Book, now: Moment) -> (bool, i64) {
    let (mut first, mut count) = (None, 0_i64);
    for job in book.jobs() {
        if let JobState::Done(at) = job.state
            && at <= now
        {
            first = Some(first.map_or(at, |first: Moment| first.min(at)));
            count = count.saturating_add(1);
        }
    }
    let policy = book.policy();
    let days = first.map_or(0, |first| {
        now.duration_since(first).as_secs().div_euclid(S_A_DAY)
    });
    let is_old = days >= policy.value(PolicyKey::UnbookedFromDays);
    let has_many = count >= policy.value(PolicyKey::UnbookedFromJobs);
    (is_old && has_many, count)
}

/// Routines that were worked lately, with what a job of each takes.
pub(super) fn coming(book: &Book, now: Moment) -> Vec<Coming<'_>> {
    let weeks = book.policy().value(PolicyKey::DemandWeeks);
    let mut done: BTreeMap<&Id, Vec<(&Job, Moment)>> = BTreeMap::new();
    let mut booked: BTreeMap<&Id, Vec<&Job>> = BTreeMap::new();
    for job in book.jobs() {
        match job.state {
            JobState::Done(at) if at <= now && weeks_ago(at, now) < weeks => {
                done.entry(&job.routine).or_default().push((job, at));
            }
            JobState::Booked => booked.entry(&job.routine).or_default().push(job),
            JobState::Done(_) | JobState::CalledOff => {}
        }
    }
    // A book that is younger than the weeks looked at says nothing of those before it.
    let first = done.values().flatten().map(|(_, at)| *at).min();
    let seen = first.map_or(0, |first| weeks_ago(first, now).saturating_add(1));
    done.into_iter()
        .filter_map(|(id, mut jobs)| {
            let mut weekly_counts = vec![0_u32; usize::try_from(seen.min(weeks)).ok()?];
            for (_, at) in &jobs {
                let week = usize::try_from(weeks_ago(*at, now)).ok()?;
                if let Some(count) = weekly_counts.get_mut(week) {
                    *count = count.saturating_add(1);
                }
            }
            jobs.sort_by_key(|(_, at)| *at);
            Some(Coming {
                routine: book.routine(id)?,
                plan: usual_plan(book, &jobs)?,
                latest: latest(&jobs).collect(),
                weekly_counts,
                done_on: jobs.iter().map(|(job, _)| job.local_day()).collect(),
                booked: booked.remove(id).unwrap_or_default(),
                leaves_booked_out: true,
                now,
            })
        })
        .collect()
}

fn weeks_ago(at: Moment, now: Moment) -> i64 {
    now.duration_since(at).as_secs().div_euclid(7 * S_A_DAY)
}

/// The largest plan among the last jobs of a routine: what is kept should carry that too.
fn usual_plan(book: &Book, jobs: &[(&Job, Moment)]) -> Option<Plan> {
    latest(jobs)
        .filter_map(|job| plan_job(book, job).ok())
        .max_by_key(|plan| plan.area)
}

/// The jobs done last, the latest first.
fn latest<'a>(jobs: &[(&'a Job, Moment)]) -> impl Iterator<Item = &'a Job> {
    let latest = jobs.iter().rev().take(JOBS_LOOKED_AT);
    latest.map(|(job, _)| *job)
}

impl Coming<'_> {
    /// The same jobs, those that are booked counted among those that come.
    pub(super) fn all(&self) -> Self {
        Self {
            leaves_booked_out: false,
            ..self.clone()
        }
    }

    /// How many such jobs come over some days, without those that are booked where they are left out.
    pub(super) fn jobs(&self, book: &Book, days: i64) -> Option<JobsAhead> {
        let weeks = exact_f64(days) / DAYS_PER_WEEK;
        let policy = JobsPolicy {
            weekly_jobs: permille(book.policy(), PolicyKey::UnbookedJobsMilli),
            prior_weeks: 1.0,
        };
        let all = jobs_ahead(&self.weekly_counts, weeks, policy).ok()?;
        if !self.leaves_booked_out {
            return Some(all);
        }
        let booked = i64::try_from(self.booked_within(days).count()).unwrap_or(i64::MAX);
        let open = if all.mean() > 0.0 {
            (1.0 - exact_f64(booked) / all.mean()).max(0.0)
        } else {
            0.0
        };
        jobs_ahead(&self.weekly_counts, weeks * open, policy).ok()
    }

    /// Those done in the weeks that are looked at.
    pub(super) fn done_count(&self) -> usize {
        self.done_on.len()
    }

    /// How many weeks that were.
    pub(super) fn week_count(&self) -> usize {
        self.weekly_counts.len()
    }

    /// Booked jobs that start within so many days: later ones are no part of what comes in them.
    pub(super) fn booked_within(&self, days: i64) -> impl Iterator<Item = &Job> {
        let within = move |job: &&Job| {
            let s = job.starts_at.duration_since(self.now).as_secs();
            (0..days.saturating_mul(S_A_DAY)).contains(&s)
        };
        self.booked.iter().copied().filter(within)
    }

    /// Towels of a make that a job of it will likely take; `None` where it takes none.
    pub(super) fn towel_count(&self, book: &Book, make: &Make) -> Option<i64> {
        if self.routine.towel_make.as_ref() == Some(&make.id) {
            return Some(TowelUse::of(book, self.routine, &self.plan).count());
        }
        let wipes = self.plan.wipe_downs.iter();
        wipes
            .filter(|wipe| wipe.make == make.id)
            .map(|wipe| wipe.towel_count)
            .reduce(i64::saturating_add)
    }

    /// Steps that work with this make of pad.
    pub(super) fn pad_steps<'b>(&'b self, make: &'b Make) -> impl Iterator<Item = &'b StepPlan> {
        let steps = self.plan.steps.iter();
        steps.filter(|planned| planned.step.pad_make == make.id)
    }
}

/// The most jobs of these whose kit was or will be away at once, when it is away for so many days after
/// its job; `None` while the record is too young to tell.
pub(super) fn at_once(coming: &[&Coming<'_>], away_days: i64, horizon_days: i64) -> Option<i64> {
    let weeks = coming.iter().map(|one| one.weekly_counts.len()).max()?;
    if weeks < WEEKS_THAT_TELL {
        return None;
    }
    let mut days: Vec<Date> = Vec::new();
    for one in coming {
        days.extend(&one.done_on);
        days.extend(one.booked_within(horizon_days).map(Job::local_day));
    }
    days.sort();
    let most = days.iter().enumerate().map(|(at, day)| {
        let end = day.saturating_add(away_days.days());
        let together = days.iter().skip(at).take_while(|other| **other <= end);
        i64::try_from(together.count()).unwrap_or(i64::MAX)
    });
    most.max()
}

/// Liquid that jobs which are not booked take over some days.
pub(super) fn liquid_demand(
    book: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    days: i64,
) -> Option<VolumeDemand> {
    measured_demand(book, coming, make, days, |plan| {
        let needs = plan.liquid_needs();
        let need = needs.iter().find(|(id, ..)| **id == make.id);
        need.map(|(_, _, planned)| planned.ul())
    })
}

/// What they take of a make that is measured, by the plan of a job and by what the shop really uses.
fn measured_demand(
    book: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    days: i64,
    need: impl Fn(&Plan) -> Option<i64>,
) -> Option<VolumeDemand> {
    let mut all = VolumeDemand::NONE;
    for one in coming {
        let Some(planned) = need(&one.plan) else {
            continue;
        };
        let likely = RealUse::of(book, &make.id, planned).of_job(planned);
        let (mean, variance) = likely.moments();
        let volume = one.jobs(book, days)?.volume(mean, variance).ok()?;
        all = all.plus(&volume).ok()?;
    }
    Some(all)
}

/// Towels soiled over the days that washed ones take to come back.
pub(super) fn towel_demand(
    book: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    days: i64,
) -> Option<CountDemand> {
    let mut all = CountDemand::from_chances(vec![1.0]).ok()?;
    for one in coming {
        let Some(count) = one.towel_count(book, make) else {
            continue;
        };
        let mut per_job = vec![0.0; usize::try_from(count).ok()?];
        per_job.push(1.0);
        let towels = one.jobs(book, days)?.pieces(&per_job).ok()?;
        all = all.plus(&towels).ok()?;
    }
    Some(all)
}

/// What they take of a sundry.
pub(super) fn sundry_demand(
    book: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    days: i64,
) -> Option<VolumeDemand> {
    measured_demand(book, coming, make, days, |plan| {
        let need = plan.sundries.iter().find(|(id, _)| *id == make.id);
        need.map(|(_, quantity)| *quantity)
    })
}
