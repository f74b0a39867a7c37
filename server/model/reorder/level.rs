//! Keep levels: what should be there for jobs that are not booked yet.
//!
//! Serves the reorder list. How many jobs come is believed from those that were done in the last
//! weeks; a shop in which nothing was done lately is kept nothing for.

use std::collections::BTreeMap;

use fettlebook_quantity::{exact_f64, round_to_i64};
use jiff::civil::Date;

use super::source::order_by;
use super::{Cause, Want};
use crate::chance::poisson_binomial;
use crate::exact::ceil_div;
use crate::ids::Id;
use crate::job::{Job, JobState, Routine};
use crate::kit::Readiness;
use crate::lead::planned_lead;
use crate::lives::{MakeLife, permille};
use crate::make::{Figures, Make};
use crate::pick::{added_damage, damage_of};
use crate::plan::{Plan, StepPlan, plan_job};
use crate::policy::PolicyKey;
use crate::real_use::RealUse;
use crate::supply::{CountDemand, JobsAhead, JobsPolicy, VolumeDemand, jobs_ahead, line_target};
use crate::towel::TowelGrade;
use crate::{Book, Moment};

const DAYS_PER_WEEK: f64 = 7.0;
const DAYS_A_WEEK: i64 = 7;
const WEEKS_A_YEAR: f64 = 52.0;
/// Done jobs of a routine that say what one takes.
const JOBS_LOOKED_AT: usize = 6;
/// Lead time where no supplier lists the make, days.
const LEAD_DAYS_UNKNOWN: i64 = 7;

/// What jobs of one routine take, and how many come.
#[derive(Clone)]
struct Coming<'a> {
    routine: &'a Routine,
    plan: Plan,
    weekly_counts: Vec<u32>,
    /// Starts of the booked ones.
    booked: Vec<Moment>,
    now: Moment,
}

/// What is kept, and what is used.
#[derive(Debug, Default)]
pub(super) struct Levels {
    /// What is missing to the kept levels in the book after the booked jobs.
    pub(super) wants: Vec<Want>,
    /// Pieces that a year takes at the pace of the last weeks, by make.
    pub(super) yearly_use: BTreeMap<Id, f64>,
}

/// What is kept for jobs that are not booked, against what the booked ones leave.
pub(super) fn look(book: &Book, after: &Book, now: Moment, today: Date) -> Levels {
    let coming = coming(book, now);
    let makes = makes_of(book, &coming);
    let target = permille(book.policy(), PolicyKey::KitTargetPermille);
    let Ok(target) = line_target(target, makes.len()) else {
        return Levels::default();
    };
    let yearly_use = makes.iter().filter_map(|make| {
        let pieces = yearly_use(book, &coming, make)?;
        Some((make.id.clone(), pieces))
    });
    Levels {
        yearly_use: yearly_use.collect(),
        wants: makes
            .iter()
            .filter_map(|make| want(book, after, &coming, make, target, today))
            .collect(),
    }
}

/// Pieces that a year takes.
fn yearly_use(book: &Book, coming: &[Coming<'_>], make: &Make) -> Option<f64> {
    let all: Vec<Coming<'_>> = coming.iter().map(Coming::all).collect();
    let a_week = match &make.figures {
        Figures::Liquid(liquid) => {
            let used = liquid_demand(book, &all, make, DAYS_A_WEEK)?.mean();
            used / exact_f64(liquid.bottle_ul.ul().max(1))
        }
        Figures::Pad(_) => pad_demand(book, &all, make, DAYS_A_WEEK)?.1.mean(),
        Figures::Sundry(sundry) => {
            let used = sundry_demand(book, &all, make, DAYS_A_WEEK)?.mean();
            used / exact_f64(sundry.pack_quantity.max(1))
        }
        Figures::Towel(towel) => {
            let used = towel_demand(book, &all, make, DAYS_A_WEEK)?.mean();
            used / exact_f64(towel.demote_wash_count.unwrap_or(1).max(1))
        }
        Figures::Machine(_) | Figures::Plate(_) => return None,
    };
    Some(a_week * WEEKS_A_YEAR)
}

/// Routines that were worked lately, with what a job of each takes.
fn coming(book: &Book, now: Moment) -> Vec<Coming<'_>> {
    let weeks = book.policy().value(PolicyKey::DemandWeeks);
    let mut done: BTreeMap<&Id, Vec<(&Job, Moment)>> = BTreeMap::new();
    let mut booked: BTreeMap<&Id, Vec<Moment>> = BTreeMap::new();
    for job in book.jobs() {
        match job.state {
            JobState::Done(at) if at <= now && weeks_ago(at, now) < weeks => {
                done.entry(&job.routine).or_default().push((job, at));
            }
            JobState::Booked => booked.entry(&job.routine).or_default().push(job.starts_at),
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
                weekly_counts,
                booked: booked.remove(id).unwrap_or_default(),
                now,
            })
        })
        .collect()
}

fn weeks_ago(at: Moment, now: Moment) -> i64 {
    now.duration_since(at).as_secs().div_euclid(7 * 86_400)
}

/// The largest plan among the last jobs of a routine: what is kept should carry that too.
fn usual_plan(book: &Book, jobs: &[(&Job, Moment)]) -> Option<Plan> {
    jobs.iter()
        .rev()
        .take(JOBS_LOOKED_AT)
        .filter_map(|(job, _)| plan_job(book, job).ok())
        .max_by_key(|plan| plan.area)
}

/// Makes that such jobs use up or wear out, by id.
fn makes_of<'a>(book: &'a Book, coming: &[Coming<'_>]) -> Vec<&'a Make> {
    let uses = |make: &Make| {
        coming.iter().any(|one| {
            let mut makes = one.routine.makes();
            makes.any(|id| *id == make.id)
        })
    };
    book.makes()
        .map(AsRef::as_ref)
        .filter(|make| {
            !matches!(make.figures, Figures::Machine(_) | Figures::Plate(_)) && uses(make)
        })
        .collect()
}

/// What is missing of one make.
fn want(
    book: &Book,
    after: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    target: f64,
    today: Date,
) -> Option<Want> {
    let horizon_days = horizon_days(book, make);
    let (level, there) = match &make.figures {
        Figures::Liquid(liquid) => {
            let demand = liquid_demand(book, coming, make, horizon_days)?;
            let level_ul = round_to_i64(demand.level(target).ok()?);
            let bottle = i128::from(liquid.bottle_ul.ul().max(1));
            // Whole bottles, and a sealed one behind the one in use.
            let level = ceil_div(i128::from(level_ul), bottle).saturating_add(1);
            let left = bottles(after, make).map(|bottle| bottle.left_ul.ul().max(0));
            let left = left.fold(0_i64, i64::saturating_add);
            (level, ceil_div(i128::from(left), bottle))
        }
        Figures::Pad(_) => {
            let (need, demand) = pad_demand(book, coming, make, horizon_days)?;
            let level = need.saturating_add(demand.level(target).ok()?);
            (level, in_service(after, make))
        }
        Figures::Towel(towel) => {
            let dry_days = towel.dry_time_s.map_or(0, |dry| dry.s().div_euclid(86_400));
            let demand = towel_demand(book, coming, make, dry_days.saturating_add(1))?;
            let there = after
                .pieces_of(&make.id)
                .filter_map(|piece| piece.bundle())
                .filter(|bundle| bundle.grade == TowelGrade::Residue)
                .fold(0_i64, |sum, bundle| {
                    sum.saturating_add(bundle.total_count())
                });
            (demand.level(target).ok()?, there)
        }
        Figures::Sundry(sundry) => {
            let demand = sundry_demand(book, coming, make, horizon_days)?;
            let pack = i128::from(sundry.pack_quantity.max(1));
            let level = round_to_i64(demand.level(target).ok()?);
            let left = after
                .pieces_of(&make.id)
                .filter_map(|piece| piece.sundry_left())
                .fold(0_i64, |sum, left| sum.saturating_add(left.max(0)));
            (
                ceil_div(i128::from(level), pack),
                ceil_div(i128::from(left), pack),
            )
        }
        Figures::Machine(_) | Figures::Plate(_) => return None,
    };
    let count = level.saturating_sub(there);
    (count > 0).then(|| Want {
        make: make.id.clone(),
        count,
        on: need_on(book, make, today),
        jobs: Vec::new(),
        cause: Cause::KeepLevel,
        reason: format!(
            "{level} are kept for jobs that are not booked yet; {there} would be left."
        ),
    })
}

/// Days until the next delivery but one can be there: lead time and the days between two looks.
fn horizon_days(book: &Book, make: &Make) -> i64 {
    let leads = book
        .suppliers()
        .filter(|supplier| supplier.offer(&make.id).is_some())
        .map(|supplier| planned_lead(book, supplier).days);
    let policy = book.policy();
    leads
        .min()
        .unwrap_or(LEAD_DAYS_UNKNOWN)
        .saturating_add(policy.value(PolicyKey::ReviewDays))
        .saturating_add(policy.value(PolicyKey::HandlingDays))
}

/// The first day that something ordered today can be used.
fn need_on(book: &Book, make: &Make, today: Date) -> Date {
    let offers = book
        .suppliers()
        .filter(|supplier| supplier.offer(&make.id).is_some());
    let mut day = today;
    for supplier in offers {
        // The earliest day for which today is in time.
        for ahead in 0..=LATEST_LOOKED_AT {
            let Ok(need) = today.checked_add(jiff::Span::new().days(ahead)) else {
                break;
            };
            if order_by(book, supplier, need) >= today {
                day = day.max(need);
                break;
            }
        }
    }
    day
}

/// Days ahead that are looked at for the first delivery.
const LATEST_LOOKED_AT: i64 = 400;

impl Coming<'_> {
    /// The same jobs, booked ones among them.
    fn all(&self) -> Self {
        Self {
            booked: Vec::new(),
            ..self.clone()
        }
    }

    /// How many such jobs come over some days beyond those that are booked.
    fn jobs(&self, book: &Book, days: i64) -> Option<JobsAhead> {
        let weeks = exact_f64(days) / DAYS_PER_WEEK;
        let policy = JobsPolicy {
            weekly_jobs: permille(book.policy(), PolicyKey::UnbookedJobsMilli),
            prior_weeks: 1.0,
        };
        let all = jobs_ahead(&self.weekly_counts, weeks, policy).ok()?;
        let booked = exact_f64(self.booked_within(days));
        let open = if all.mean() > 0.0 {
            (1.0 - booked / all.mean()).max(0.0)
        } else {
            0.0
        };
        jobs_ahead(&self.weekly_counts, weeks * open, policy).ok()
    }

    /// Booked jobs that start within so many days: later ones are no part of what comes in them.
    fn booked_within(&self, days: i64) -> i64 {
        let within = |start: &&Moment| {
            let s = start.duration_since(self.now).as_secs();
            (0..days.saturating_mul(86_400)).contains(&s)
        };
        i64::try_from(self.booked.iter().filter(within).count()).unwrap_or(i64::MAX)
    }

    /// Steps that work with this make of pad.
    fn pad_steps<'b>(&'b self, make: &'b Make) -> impl Iterator<Item = &'b StepPlan> {
        let steps = self.plan.with_steps(self.routine);
        steps
            .filter(|(_, step)| step.pad_make == make.id)
            .map(|(planned, _)| planned)
    }
}

fn liquid_demand(
    book: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    days: i64,
) -> Option<VolumeDemand> {
    let mut all = VolumeDemand::NONE;
    for one in coming {
        let needs = one.plan.liquid_needs(one.routine);
        let need = needs.iter().find(|(id, ..)| **id == make.id);
        let Some((_, _, planned)) = need else {
            continue;
        };
        let likely = RealUse::of(book, &make.id, *planned).of_job(*planned);
        let (mean, variance) = likely.moments();
        let volume = one.jobs(book, days)?.volume(mean, variance).ok()?;
        all = all.plus(&volume).ok()?;
    }
    Some(all)
}

/// Pads that a job must find, and retirements to be expected.
fn pad_demand(
    book: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    days: i64,
) -> Option<(i64, CountDemand)> {
    let Figures::Pad(figures) = &make.figures else {
        return None;
    };
    let life = MakeLife::of(book, &make.id, figures).ok()?;
    let mut worn: Vec<f64> = book
        .pieces_of(&make.id)
        .filter_map(|piece| damage_of(book, piece))
        .collect();
    worn.sort_by(f64::total_cmp);
    worn.reverse();
    let (mut need, mut all) = (0_i64, CountDemand::from_chances(vec![1.0]).ok()?);
    for one in coming {
        let mut failing = Vec::new();
        let mut of_job = 0_i64;
        for planned in one.pad_steps(make) {
            let more = added_damage(planned, figures);
            let working = usize::try_from(planned.pad_count).unwrap_or(0);
            let ages = worn.iter().copied().chain(std::iter::repeat(0.0));
            failing.extend(
                ages.take(working)
                    .map(|age| 1.0 - life.belief.survival_in_data(age, more)),
            );
            of_job = of_job
                .saturating_add(planned.pad_count)
                .saturating_add(planned.spare_count);
        }
        if failing.is_empty() {
            continue;
        }
        need = need.max(of_job);
        let pieces = one
            .jobs(book, days)?
            .pieces(&poisson_binomial(&failing))
            .ok()?;
        all = all.plus(&pieces).ok()?;
    }
    (need > 0).then_some((need, all))
}

/// Towels soiled over the days that washed ones take to come back.
fn towel_demand(book: &Book, coming: &[Coming<'_>], make: &Make, days: i64) -> Option<CountDemand> {
    let mut all = CountDemand::from_chances(vec![1.0]).ok()?;
    for one in coming {
        if one.routine.towel_make.as_ref() != Some(&make.id) {
            continue;
        }
        let mut per_job = vec![0.0; usize::try_from(one.plan.towel_count).ok()?];
        per_job.push(1.0);
        let towels = one.jobs(book, days)?.pieces(&per_job).ok()?;
        all = all.plus(&towels).ok()?;
    }
    Some(all)
}

fn sundry_demand(
    book: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    days: i64,
) -> Option<VolumeDemand> {
    let mut all = VolumeDemand::NONE;
    for one in coming {
        let need = one.plan.sundries.iter().find(|(id, _)| *id == make.id);
        let Some((_, quantity)) = need else { continue };
        let volume = one
            .jobs(book, days)?
            .volume(exact_f64(*quantity), 0.0)
            .ok()?;
        all = all.plus(&volume).ok()?;
    }
    Some(all)
}

fn bottles<'a>(
    book: &'a Book,
    make: &'a Make,
) -> impl Iterator<Item = &'a crate::kit::BottleState> {
    book.pieces_of(&make.id).filter_map(|piece| piece.bottle())
}

fn in_service(book: &Book, make: &Make) -> i64 {
    let pieces = book
        .pieces_of(&make.id)
        .filter(|piece| !matches!(piece.readiness, Readiness::Aside(_)));
    i64::try_from(pieces.count()).unwrap_or(i64::MAX)
}
