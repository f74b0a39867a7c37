//! Booking, editing and calling off jobs.
//!
//! Serves the diary. A wish may be refused; a job that is done is never edited here, only reversed.

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::ToSpan as _;

use super::Decision;
use super::bounds::{is_over, line_of_text, note};
use super::define::{free, unchanged};
use crate::book::command::Said;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Id, Subject, list};
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::plan::{Plan, plan_job, routine_of};
use crate::trade::job::{Job, JobState};
use crate::{Book, Moment};

/// Farthest ahead a job may be booked, s: five years.
const AHEAD_S_MAX: i64 = 5 * 366 * 86_400;
/// Longest name of who works a job, in characters.
const PERSON_CHARS_MAX: usize = 60;

pub(super) fn book_job(book: &Book, job: &Job, now: Moment) -> Result<Decision, Refusal> {
    free(book, "job", &job.id, Subject::Job)?;
    to_come(job, now)?;
    set_job(book, job, now)
}

pub(super) fn edit_job(
    book: &Book,
    was: &Job,
    job: &Job,
    now: Moment,
) -> Result<Decision, Refusal> {
    let held = find(book, "job.job", &job.id)?;
    unchanged(held == was, "job")?;
    if held.state != JobState::Booked {
        return Err(Refusal::new(
            Reason::JobState,
            "job.state",
            format!(
                "The job {} is {}; only a booked job is edited.",
                job.id,
                held.state.word()
            ),
            "Book another job.",
        ));
    }
    if held.starts_at != job.starts_at {
        to_come(job, now)?;
    }
    first_day_stays(held, job)?;
    let mut decision = set_job(book, job, now)?;
    if !held.local_days().eq(job.local_days()) {
        let why = format!("{} was moved to another day", job.id);
        decision = release(decision, held, &why);
    } else if held.routine != job.routine {
        let why = format!("{} is worked by another routine", job.id);
        decision = release(decision, held, &why);
    }
    Ok(decision)
}

/// What the first day of a job was, once it is logged, is not edited.
fn first_day_stays(held: &Job, job: &Job) -> Result<(), Refusal> {
    let Some(done) = &held.first_day_done else {
        return Ok(());
    };
    let from = |job: &Job| {
        job.second_day
            .as_ref()
            .map(|second| second.from_step.clone())
    };
    let changed = [
        ("job.start_time", held.starts_at != job.starts_at),
        ("job.car", held.car != job.car),
        ("job.routine", held.routine != job.routine),
        ("job.second_start_time", job.second_day.is_none()),
        ("job.second_from_step", from(held) != from(job)),
    ];
    let Some((field, _)) = changed.iter().find(|(_, is_changed)| *is_changed) else {
        return Ok(());
    };
    Err(Refusal::new(
        Reason::JobState,
        *field,
        format!(
            "The first day of {} is logged, in entry {}, and stays as it was.",
            job.id, done.told.seq
        ),
        "Change when the second day begins, who works it or the note; reverse that entry first if it was wrong.",
    ))
}

/// Gives back what was taken for a booked job, if anything was, and says why.
pub(super) fn release(mut decision: Decision, job: &Job, why: &str) -> Decision {
    if job.is_reserving() {
        let id = job.id.clone();
        decision.deeds.push(Deed::JobReleased { job: id.clone() });
        decision.flags.push(Flag {
            subject: Subject::Job(id),
            text: format!("{why}: what was taken for it is given back. Take it anew."),
            count: false,
        });
    }
    decision
}

pub(super) fn call_off(
    book: &Book,
    said: &Said,
    id: &Id,
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let held = find(book, "job", id)?;
    if held.state != JobState::Booked {
        return Err(Refusal::new(
            Reason::JobState,
            "job",
            format!("The job {id} is {} already.", held.state.word()),
            "Reverse the entry that made it so, if that was a mistake.",
        ));
    }
    let job = || id.clone();
    let released = held.taken.iter().map(|_| Deed::JobReleased { job: job() });
    let deeds = released
        .chain([Deed::JobCalledOff { job: job() }])
        .collect();
    Ok(decision.with(deeds, Vec::new()))
}

pub(super) fn find<'a>(book: &'a Book, field: &str, id: &Id) -> Result<&'a Job, Refusal> {
    book.job(id)
        .map(AsRef::as_ref)
        .ok_or_else(|| Refusal::no_id(Reason::JobUnknown, field, "job", id))
}

fn to_come(job: &Job, now: Moment) -> Result<(), Refusal> {
    if is_over(job.starts_at, now) {
        return Err(Refusal::new(
            Reason::TimePast,
            "job.start_time",
            "The start lies in the past; only a job to come is booked.",
            "Give a start to come.",
        ));
    }
    if job.starts_at.as_second() > now.as_second().saturating_add(AHEAD_S_MAX) {
        return Err(Refusal::invalid(
            "job.start_time",
            "The start lies more than five years ahead.",
            "Look at the year.",
        ));
    }
    Ok(())
}

/// Refuses a name of a person that is none.
pub(super) fn person_fits(field: &str, person: &str) -> Result<(), Refusal> {
    line_of_text(field, person, PERSON_CHARS_MAX)
}

fn set_job(book: &Book, job: &Job, now: Moment) -> Result<Decision, Refusal> {
    note(&job.note)?;
    person_fits("job.person", &job.person)?;
    if !(-64_800..=64_800).contains(&job.utc_offset_s) {
        return Err(Refusal::invalid(
            "job.utc_offset_s",
            "The offset from UTC is more than 18 hours.",
            "Give the offset of local time in seconds.",
        ));
    }
    sets_make_sense(book, job)?;
    let plan = plan_job(book, job)?;
    second_day_makes_sense(book, job, &plan)?;
    // What was taken for it follows from the book.
    let taken = None;
    let job = Arc::new(Job {
        taken,
        first_day_done: None,
        logged: None,
        person: job.person.trim().to_owned(),
        ..job.clone()
    });
    Ok(Decision::now(vec![Deed::JobSet { job }], now))
}

/// Farthest that a second day lies after the first, in days: later it is another job.
const SECOND_DAY_MAX: i32 = 14;

/// A second day comes after the first, and each has a step of its own.
fn second_day_makes_sense(book: &Book, job: &Job, plan: &Plan) -> Result<(), Refusal> {
    let Some(second) = &job.second_day else {
        return Ok(());
    };
    let (first, last) = (job.local_day(), job.day_of(second.starts_at));
    let farthest = first.saturating_add(SECOND_DAY_MAX.days());
    if last <= first || last > farthest {
        return Err(Refusal::invalid(
            "job.second_start_time",
            format!("The second day is {last}, and the first {first}."),
            format!("Give a day after the first, at most {SECOND_DAY_MAX} days later."),
        ));
    }
    let routine = routine_of(book, job)?;
    if let Some(from) = &second.from_step {
        let at = routine.steps.iter().position(|step| step.name == *from);
        if at.is_none_or(|at| at == 0) {
            let names: Vec<_> = routine
                .steps
                .iter()
                .skip(1)
                .map(|step| &step.name)
                .collect();
            return Err(Refusal::invalid(
                "job.second_from_step",
                format!("The second day cannot begin with {from}."),
                format!(
                    "Name a step after the first of {}: {}.",
                    routine.id,
                    list(&names)
                ),
            ));
        }
    }
    let on_both =
        [false, true].map(|second| plan.steps.iter().any(|step| step.second_day == second));
    if on_both != [true, true] {
        return Err(Refusal::invalid(
            "job.second_start_time",
            format!(
                "All that {} works of this car falls to one day.",
                routine.id
            ),
            "Leave the second day out, or book two jobs, each with the other's panels left out.",
        ));
    }
    Ok(())
}

/// Sets are of steps that the job's routine has, each said once.
fn sets_make_sense(book: &Book, job: &Job) -> Result<(), Refusal> {
    let routine = routine_of(book, job)?;
    let mut said = BTreeSet::new();
    for sets in &job.sets {
        let step = &sets.step;
        if routine.steps.iter().all(|own| own.name != *step) {
            let names: Vec<_> = routine.steps.iter().map(|step| &step.name).collect();
            return Err(Refusal::invalid(
                "job.sets.step",
                format!("The routine {} has no step {step}.", routine.id),
                format!("Name one of its steps: {}.", list(&names)),
            ));
        }
        if !said.insert(step) {
            return Err(Refusal::invalid(
                "job.sets.step",
                format!("The sets of {step} are given twice."),
                "Give them once.",
            ));
        }
    }
    Ok(())
}
