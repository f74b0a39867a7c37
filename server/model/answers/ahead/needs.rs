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
}

/// What jobs in time order need, and the run with all of it there from the first day it is needed on. What
/// comes at once may go otherwise than on each day, for a job takes what is there; so it is tried and added
/// to until nothing lacks.
pub(crate) fn of_jobs(book: &Book, jobs: &[&Job], now: Moment) -> (Vec<Need>, Forecast) {
    let mut forecast = run(book, jobs, &[], now);
    let mut needs = std::mem::take(&mut forecast.needs);
    if jobs.len() > 1 {
        for _ in 0..ROUNDS_MAX {
            if needs.is_empty() {
                break;
            }
            forecast = run(book, jobs, &parcels_of(book, &needs), now);
            if forecast.needs.is_empty() {
                break;
            }
            needs.append(&mut forecast.needs);
        }
    }
    (needs, forecast)
}

/// Runs jobs in time order, with these parcels besides those that are on their way.
pub(crate) fn run(book: &Book, jobs: &[&Job], parcels: &[Parcel], now: Moment) -> Forecast {
    let mut run = Run {
        ahead: Ahead::of(book, parcels, now),
        forecast: Forecast {
            needs: Vec::new(),
            stages: Vec::new(),
            checks: Vec::new(),
            left_out: Vec::new(),
        },
        now,
    };
    let today = run.ahead.today();
    run.leave(today);
    for job in jobs {
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

struct Run {
    ahead: Ahead,
    forecast: Forecast,
    now: Moment,
}

impl Run {
    fn job(&mut self, job: &Job) -> Result<(), Refusal> {
        self.ahead.until(job);
        let (mut check, bought) = check_ahead(&self.ahead, job, self.now)?;
        if !bought.is_empty() {
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
