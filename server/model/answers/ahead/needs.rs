//! What booked jobs need: run one after the other on the kit ahead, and the check asked each time what has to
//! be bought.
//!
//! Serves the check, which tells it, and the reorder list, which orders it. The check is the only judge of
//! what a job needs; it must never count the same kit for two jobs.

use jiff::civil::Date;

use super::{Ahead, Parcel};
use crate::answers::check::{Bought, JobCheck, check_ahead};
use crate::ground::ids::Id;
use crate::ground::refusal::Refusal;
use crate::ready::local_day::LocalDays;
use crate::trade::job::Job;
use crate::{Book, Moment};

/// Most times that what is needed is tried and added to.
const ROUNDS_MAX: usize = 6;

/// Something that a booked job needs and that is not there.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Need {
    /// The job that needs it.
    pub(crate) job: Id,
    /// The local day of that job.
    pub(crate) on: Date,
    /// What has to be bought.
    pub(crate) bought: Bought,
}

/// What a run of jobs found.
pub(crate) struct Forecast {
    /// What is needed, in the order of the jobs.
    pub(crate) needs: Vec<Need>,
    /// The book as each job leaves it, with the day; what comes by the next job's day is in it. The last
    /// has all that was on its way.
    pub(crate) stages: Vec<(Date, Book)>,
    /// The checks of the jobs with what has to be bought.
    pub(crate) checks: Vec<JobCheck>,
    /// Jobs that could not be looked at, with why.
    pub(crate) left_out: Vec<(Id, Refusal)>,
    /// How far the run had come before each job.
    before: Vec<Mark>,
    /// The first day that anything came on besides what is on its way, or was needed on.
    changed_on: Option<Date>,
}

/// How far a run had come before a job.
#[derive(Clone)]
struct Mark {
    ahead: Ahead,
    stages: usize,
    checks: usize,
    left_out: usize,
}

/// What jobs in time order need, and the run with all of it there. A job takes what is there, so that kit which
/// is bought early may go otherwise than kit that comes on the day it is needed; so both are tried, and added to
/// until nothing lacks either way.
pub(crate) fn of_jobs(book: &Book, jobs: &[&Job], now: Moment) -> (Vec<Need>, Forecast) {
    let mut forecast = run(book, jobs, &[], now, None);
    let mut needs = std::mem::take(&mut forecast.needs);
    if jobs.len() > 1 {
        for _ in 0..ROUNDS_MAX {
            if needs.is_empty() {
                break;
            }
            forecast = run(book, jobs, &parcels_of(book, &needs), now, Some(&forecast));
            if forecast.needs.is_empty() {
                let at_once = at_once(parcels_of(book, &needs), LocalDays::of(book).day(now));
                forecast = run(book, jobs, &at_once, now, None);
            }
            if forecast.needs.is_empty() {
                break;
            }
            needs.append(&mut forecast.needs);
        }
    }
    (needs, forecast)
}

/// Runs jobs in time order, with these parcels besides those that are on their way. Up to the day on which
/// anything is otherwise, an earlier run of the same jobs is taken for this one.
pub(crate) fn run(
    book: &Book,
    jobs: &[&Job],
    parcels: &[Parcel],
    now: Moment,
    earlier: Option<&Forecast>,
) -> Forecast {
    let ahead = Ahead::of(book, parcels, now);
    let today = ahead.today();
    let first_comes = parcels.iter().map(|parcel| parcel.on).min();
    let mut run = Run {
        ahead,
        forecast: Forecast {
            needs: Vec::new(),
            stages: Vec::new(),
            checks: Vec::new(),
            left_out: Vec::new(),
            before: Vec::new(),
            changed_on: first_comes,
        },
        now,
    };
    let same = earlier.map_or(0, |earlier| run.go_on_from(earlier, jobs));
    if same == 0 {
        run.leave(today);
    }
    for job in jobs.iter().skip(same) {
        run.mark();
        if let Err(why) = run.job(job) {
            run.forecast.left_out.push((job.id.clone(), why));
        }
    }
    run.ahead.end();
    run.leave(jobs.last().map_or(today, |job| job.local_day()));
    run.forecast
}

/// What is needed, all of a make on the first day it is needed.
fn parcels_of(book: &Book, needs: &[Need]) -> Vec<Parcel> {
    let first_day = |make: &Id| {
        let same = needs.iter().filter(|need| need.bought.make == *make);
        same.map(|need| need.on).min()
    };
    needs
        .iter()
        .map(|Need { bought, on, .. }| {
            let on = first_day(&bought.make).unwrap_or(*on);
            Parcel::of_pieces(book, &bought.make, bought.count, on)
        })
        .collect()
}

/// Parcels that all are there today, or by the day of a job that is overdue.
fn at_once(parcels: Vec<Parcel>, today: Date) -> Vec<Parcel> {
    let parcels = parcels.into_iter();
    parcels
        .map(|parcel| Parcel {
            on: parcel.on.min(today),
            ..parcel
        })
        .collect()
}

struct Run {
    ahead: Ahead,
    forecast: Forecast,
    now: Moment,
}

impl Run {
    /// Takes over what an earlier run found before anything is otherwise; gives how many jobs that are.
    fn go_on_from(&mut self, earlier: &Forecast, jobs: &[&Job]) -> usize {
        let changes = [self.forecast.changed_on, earlier.changed_on];
        let changed_on = changes.into_iter().flatten().min().unwrap_or(Date::MAX);
        let days = jobs.iter().map(|job| job.local_day());
        let same = days.clone().take_while(|day| *day < changed_on).count();
        // All may be the same but for what comes in the end.
        let same = same.min(earlier.before.len().saturating_sub(1));
        let Some(mark) = earlier.before.get(same).filter(|_| same > 0) else {
            return 0;
        };
        let parcels = std::mem::take(&mut self.ahead.parcels);
        self.ahead = mark.ahead.clone();
        let last = days.take(same).max().unwrap_or(Date::MIN);
        self.ahead.parcels = parcels.into_iter().filter(|one| one.on > last).collect();
        let found = &mut self.forecast;
        found.stages = earlier.stages.iter().take(mark.stages).cloned().collect();
        found.checks = earlier.checks.iter().take(mark.checks).cloned().collect();
        found.left_out = earlier
            .left_out
            .iter()
            .take(mark.left_out)
            .cloned()
            .collect();
        found.before = earlier.before.iter().take(same).cloned().collect();
        same
    }

    /// Notes how far it has come.
    fn mark(&mut self) {
        let found = &mut self.forecast;
        found.before.push(Mark {
            ahead: self.ahead.clone(),
            stages: found.stages.len(),
            checks: found.checks.len(),
            left_out: found.left_out.len(),
        });
    }

    fn job(&mut self, job: &Job) -> Result<(), Refusal> {
        self.ahead.until(job);
        let (mut check, bought) = check_ahead(&self.ahead, job, self.now)?;
        if !bought.is_empty() {
            let day = job.local_day();
            let first = self.forecast.changed_on.map_or(day, |on| on.min(day));
            self.forecast.changed_on = Some(first);
            for one in &bought {
                self.ahead.bring_pieces(&one.make, one.count, job);
            }
            self.forecast
                .needs
                .extend(bought.into_iter().map(|bought| Need {
                    job: job.id.clone(),
                    on: job.local_day(),
                    bought,
                }));
            check = check_ahead(&self.ahead, job, self.now)?.0;
        }
        self.ahead.work(job, &check.picked());
        self.forecast.checks.push(check);
        self.leave(job.local_day());
        Ok(())
    }

    /// Notes the book as it is left on a day.
    fn leave(&mut self, day: Date) {
        let stage = (day, self.ahead.book().clone());
        self.forecast.stages.push(stage);
    }
}
