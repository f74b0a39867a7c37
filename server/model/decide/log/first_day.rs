//! The log of the first day of a job that takes two: what was used then, while the job stays booked for its second.
//!
//! Told in its evening, the wash after it and the use on the second day stand in the book in the order in which they
//! were done.

use super::{done_by, left_out};
use crate::Book;
use crate::book::command::JobLog;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Id, Subject, Tag};
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::plan::{plan, plan_job, routine_of};
use crate::trade::job::{Days, Job, JobState};
use crate::trade::logged::Logged;

/// The days that a log tells of.
pub(super) fn days_told(job: &Job, log: &JobLog) -> Result<Days, Refusal> {
    let is_kept = log.said.kept.is_some();
    if !log.first_day {
        return Ok(job.days_to_come());
    }
    if job.second_day.is_none() {
        if is_kept {
            return Ok(Days::All);
        }
        return Err(Refusal::invalid(
            "first_day",
            format!("The job {} takes one day.", job.id),
            "Log the job, or say first when it goes on.",
        ));
    }
    match &job.first_day_done {
        Some(done) if job.state == JobState::Booked && !is_kept => Err(Refusal::new(
            Reason::JobState,
            "first_day",
            format!(
                "The first day of {} is logged already, in entry {}.",
                job.id, done.told.seq
            ),
            "Log the job once its second day is done; reverse that entry first if it was wrong.",
        )),
        _ => Ok(Days::First),
    }
}

/// A first day that a device told of a job which takes one day by now.
pub(super) fn flag_no_second(job: &Job, log: &JobLog) -> Option<Flag> {
    (log.first_day && job.second_day.is_none()).then(|| Flag {
        subject: Subject::Job(job.id.clone()),
        text: format!(
            "The job {} takes one day in the book, so the log of its first day is taken for that of all of it.",
            job.id
        ),
        count: false,
    })
}

/// That the first day of a job was done.
pub(super) fn done(book: &Book, job: &Job, log: &JobLog, logged: Logged) -> Result<Deed, Refusal> {
    let left_out = left_out(job, log);
    let worked = plan(book, job, &left_out, Days::First)?;
    let routine = routine_of(book, job)?;
    let is_worked = |step: &Id| worked.steps.iter().any(|part| part.of == *step);
    let mut steps = routine.steps.iter().rev();
    let later = steps
        .by_ref()
        .take_while(|step| !is_worked(&step.name))
        .last();
    let from_step = later.or(routine.steps.last()).map(|step| step.name.clone());
    Ok(Deed::FirstDayDone {
        job: job.id.clone(),
        steps: worked.steps.into_iter().map(|part| part.name).collect(),
        from_step: from_step.unwrap_or_else(|| job.routine.clone()),
        left_out,
        logged: (!logged.is_empty()).then(|| Box::new(logged)),
        person: done_by(job, log),
    })
}

/// The deeds of a job of two days that is only imagined, with a wash of each pad that works on both between them.
pub(super) fn washed_between(
    book: &Book,
    job: &Job,
    deeds: Vec<Deed>,
) -> Result<Vec<Deed>, Refusal> {
    if job.second_day.is_none() || job.has_first_day_behind() {
        return Ok(deeds);
    }
    let whole = plan_job(book, job)?;
    let is_later = |step: &Option<Id>| {
        let mut parts = whole.steps.iter();
        parts.any(|part| part.second_day && Some(&part.name) == step.as_ref())
    };
    let mut soiled: Vec<Tag> = Vec::new();
    let mut all = Vec::with_capacity(deeds.len());
    for deed in deeds {
        if let Deed::PadUsed { tag, within, .. } = &deed {
            if !is_later(&within.step) {
                soiled.push(*tag);
            } else if soiled.contains(tag) {
                all.push(Deed::Washed {
                    tag: *tag,
                    dry_s: fettlebook_quantity::Seconds::ZERO,
                    soiled_count: None,
                });
            }
        }
        all.push(deed);
    }
    Ok(all)
}
