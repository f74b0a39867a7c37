//! The check of a job as if it were worked by another routine: does the kit carry either?

use std::sync::Arc;

use super::{JobCheck, booked, check_jobs};
use crate::book::change::Stamp;
use crate::book::deed::Deed;
use crate::ground::ids::Id;
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::job::{Job, SecondDay};
use crate::{Book, Moment};

/// Checks a booked job on a copy of the book in which it is worked by another routine: with sets and second day
/// where that has such steps, and without what was taken for it.
///
/// # Errors
/// When job or routine is unknown, the job is not booked, or cannot be planned so.
pub fn check_by(book: &Book, id: &Id, routine: &Id, now: Moment) -> Result<JobCheck, Refusal> {
    let job = booked(book, id)?;
    let field = "or_routine";
    let other = book
        .routine(routine)
        .ok_or_else(|| Refusal::no_id(Reason::RoutineUnknown, field, "routine", routine))?;
    let has = |step: &Id| other.steps.iter().any(|own| own.name == *step);
    let mut sets = job.sets.clone();
    sets.retain(|sets| has(&sets.step));
    let second_day = job.second_day.as_ref().map(|second| SecondDay {
        from_step: second.from_step.clone().filter(|step| has(step)),
        ..second.clone()
    });
    let worked = Arc::new(Job {
        routine: routine.clone(),
        sets,
        second_day,
        taken: None,
        ..job.clone()
    });
    let mut imagined = book.clone();
    let released = job
        .taken
        .iter()
        .map(|_| Deed::JobReleased { job: id.clone() });
    let released: Vec<Deed> = released.collect();
    for deed in released.into_iter().chain([Deed::JobSet { job: worked }]) {
        let stamp = Stamp::unreported(imagined.head(), now);
        imagined.take(&deed, stamp);
    }
    let mut checks = check_jobs(&imagined, std::slice::from_ref(id), now)?;
    checks
        .pop()
        .ok_or_else(|| Refusal::no_id(Reason::JobUnknown, "jobs", "job", id))
}
