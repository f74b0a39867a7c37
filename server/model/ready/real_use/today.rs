//! What today's rules would have planned for the jobs of a measured stretch.
//!
//! A plan by earlier rules is made again from the job's car, panels and routine, which the book holds; of a
//! sundry always, for what the routine says of it is all of its rules. Where the job is known no more, or
//! needs none of the make any more, its plan goes by what became of the others'.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use fettlebook_quantity::exact_f64;

use crate::Book;
use crate::ground::ids::Id;
use crate::ready::plan::{plan_job, sundry_need};
use crate::trade::make::Figures;
use crate::trade::tally::{PlannedUse, Stretch, Tally};

/// Number of the rules that plans are made by. The first two rounded sections up on each panel; the third
/// add the fractions of a step's panels up and round once, and let a pad that is cleaned in between work
/// more of them. Whoever changes what a job is planned to take of a liquid gives it the next number.
pub(crate) const PLAN_RULES: u32 = 3;
/// Jobs planned again for a make: each costs a plan at every check, and a dozen tell the ratio of the
/// rest.
const PLANNED_AGAIN_MAX: usize = 12;

/// Jobs looked at for these: some are known no more.
const LOOKED_AT_MAX: usize = 4 * PLANNED_AGAIN_MAX;

/// Plans by earlier rules beside those of today.
pub(super) struct PlannedToday<'a> {
    /// New to old, by job.
    by_job: BTreeMap<&'a Id, f64>,
    /// New to old over these jobs, for those that are not among them.
    ratio: f64,
}

impl<'a> PlannedToday<'a> {
    /// What became of the plans of a make's pieces.
    pub(super) fn of(book: &Book, make: &Id, tallies: &[&'a Tally]) -> Self {
        let mut planned: BTreeMap<&Id, i64> = BTreeMap::new();
        for (job, one) in tallies.iter().flat_map(|tally| earlier(tally.uses())) {
            let sum = planned.entry(job).or_insert(0);
            *sum = sum.saturating_add(one);
        }
        let (mut by_job, mut old, mut new) = (BTreeMap::new(), 0.0, 0.0);
        for job in newest(tallies) {
            let before = planned.get(job).map_or(0.0, |sum| exact_f64(*sum));
            let Some(again) = plan_again(book, job, make).filter(|_| before > 0.0) else {
                continue;
            };
            by_job.insert(job, again / before);
            old += before;
            new += again;
            if by_job.len() >= PLANNED_AGAIN_MAX {
                break;
            }
        }
        let ratio = if old > 0.0 { new / old } else { 1.0 };
        Self { by_job, ratio }
    }

    /// What today's rules plan for the jobs of a stretch.
    pub(super) fn planned(&self, stretch: &Stretch) -> f64 {
        let told: f64 = stretch.uses.iter().map(|one| self.of_use(one)).sum();
        let uses = stretch.uses.iter().map(|one| one.planned_quantity);
        let known = uses.fold(0, i64::saturating_add);
        let rest = stretch.planned_quantity.saturating_sub(known).max(0);
        told + exact_f64(rest) * self.ratio
    }

    fn of_use(&self, one: &PlannedUse) -> f64 {
        let planned = exact_f64(one.planned_quantity);
        if one.rules == PLAN_RULES {
            return planned;
        }
        let ratio = one.job.as_ref().and_then(|job| self.by_job.get(job));
        planned * ratio.copied().unwrap_or(self.ratio)
    }
}

/// Jobs with a plan by earlier rules, and that plan.
fn earlier<'a>(uses: impl Iterator<Item = &'a PlannedUse>) -> impl Iterator<Item = (&'a Id, i64)> {
    uses.filter(|one| one.rules != PLAN_RULES)
        .filter_map(|one| Some((one.job.as_ref()?, one.planned_quantity)))
}

/// Jobs of measured stretches that were planned by earlier rules, each once, the last measured first.
fn newest<'a>(tallies: &[&'a Tally]) -> Vec<&'a Id> {
    let mut stretches: Vec<&'a Stretch> = tallies
        .iter()
        .flat_map(|tally| &tally.stretches)
        .filter(|stretch| stretch.uses.iter().any(|one| one.rules != PLAN_RULES))
        .collect();
    stretches.sort_by_key(|stretch| Reverse(stretch.until));
    let mut jobs: Vec<&'a Id> = Vec::new();
    for stretch in stretches {
        for (job, _) in earlier(stretch.uses.iter()) {
            if jobs.len() < LOOKED_AT_MAX && !jobs.contains(&job) {
                jobs.push(job);
            }
        }
    }
    jobs
}

/// What a job would be planned to take of a make today.
fn plan_again(book: &Book, job: &Id, make: &Id) -> Option<f64> {
    let job = book.job(job)?;
    let need = match book.make(make).map(|make| &make.figures) {
        Some(Figures::Sundry(_)) => sundry_need(book, job, make)?,
        _ => {
            let plan = plan_job(book, job).ok()?;
            let needs = plan.liquid_needs();
            let (_, _, need) = needs.into_iter().find(|(needed, ..)| *needed == make)?;
            need.ul()
        }
    };
    (need > 0).then(|| exact_f64(need))
}
