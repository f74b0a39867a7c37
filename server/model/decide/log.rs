//! Logging a job: the plan with the kit that the check picks, and the corrections that were given.
//!
//! What happened is taken in. It is refused only when it cannot be understood: a tag that does not
//! exist, a swap of a pad that was not in the job, a step whose pads nobody knows.

mod batteries;
mod early;
mod first_day;
mod pace;
mod pads_used;
pub(super) mod start;
mod sundries;
mod unbooked;
mod understood;
mod writer;

use fettlebook_quantity::Volume;

use start::Start;
pub(super) use understood::Parts;
use writer::Writer;

use super::Decision;
use super::coarser::flag_liquids;
use super::diary::{find, person_fits};
use super::doubts::doubt_uses;
use super::flags::flag_uses;
use super::kept;
use super::weigh::weigh_in;
use crate::book::command::{JobLog, LiquidAmount, PadUse};
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::Subject;
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::pick::Scene;
use crate::ready::plan::{plan, routine_of};
use crate::trade::job::{Days, Job, JobState};
use crate::trade::logged::Logged;
use crate::trade::panel::Panel;
use crate::trade::policy::{Policy, PolicyKey};
use crate::trade::take::Picked;
use crate::{Book, Moment};

pub(super) fn log_job(book: &Book, log: &JobLog, now: Moment) -> Result<Decision, Refusal> {
    match (&log.unbooked, &log.job) {
        (Some(unbooked), Some(id)) => unbooked::log_unbooked(book, log, unbooked, id, now),
        _ => log_booked(book, log, now),
    }
}

/// The log of a job that is in the book.
fn log_booked(book: &Book, log: &JobLog, now: Moment) -> Result<Decision, Refusal> {
    let decision = Decision::of(&log.said, now)?;
    let id = log
        .job
        .as_ref()
        .ok_or_else(|| Refusal::missing("job", "Name the job that was done."))?;
    let job = find(book, "job", id)?;
    let days = first_day::days_told(job, log)?;
    let met = match (job.state, &log.said.kept) {
        (JobState::Done(_), Some(kept)) => kept::job_met(job, kept),
        (_, Some(kept)) if days == Days::First => kept::first_day_met(job, kept),
        _ => None,
    };
    if let (JobState::Done(_), None) = (job.state, &met) {
        return Err(Refusal::new(
            Reason::JobState,
            "job",
            format!("The job {id} is logged already, in entry {}.", job.last_seq),
            "Reverse that entry first if it was wrong.",
        ));
    }
    let how = How {
        takes_all: log.said.kept.is_some() || log.unbooked.is_some(),
        is_imagined: false,
        days,
    };
    let early = early::early(job, decision.done_at);
    let (mut decision, logged) = log_from(book, job, log, decision, how)?;
    if met.is_none() {
        decision.deeds.push(match days {
            Days::First => first_day::done(book, job, log, logged)?,
            Days::All | Days::Second => done(job, log, logged),
        });
    }
    decision.flags.extend(early);
    decision.flags.extend(met);
    decision.flags.extend(first_day::flag_no_second(job, log));
    decision.flags.extend(passed(job));
    if job.state == JobState::CalledOff {
        decision.flags.push(Flag {
            subject: Subject::Job(id.clone()),
            text: format!("The job {id} was called off in the book."),
            count: false,
        });
    }
    Ok(decision)
}

/// What of the check was passed when the job was taken, as a flag.
fn passed(job: &Job) -> Option<Flag> {
    let despite = job.taken.as_ref()?.despite.as_ref()?;
    Some(Flag {
        subject: Subject::Job(job.id.clone()),
        text: despite.sentence(&job.id),
        count: false,
    })
}

/// What a job does to the book as planned, at its start, with what was picked for it: what a check of later
/// jobs imagines.
///
/// # Errors
/// When the job cannot be planned.
pub(crate) fn log_as_planned(
    book: &Book,
    job: &Job,
    picked: &[Picked],
) -> Result<Vec<Deed>, Refusal> {
    let at_its_start = Decision::now(Vec::new(), job.starts_at);
    let log = JobLog {
        picked: picked.to_vec(),
        ..JobLog::default()
    };
    let how = How {
        takes_all: true,
        is_imagined: true,
        days: job.days_to_come(),
    };
    let (decision, logged) = log_from(book, job, &log, at_its_start, how)?;
    let mut deeds = first_day::washed_between(book, job, decision.deeds)?;
    deeds.push(done(job, &log, logged));
    Ok(deeds)
}

/// How a log is taken.
#[derive(Debug, Clone, Copy)]
struct How {
    /// Nothing that the kit contradicts is refused.
    takes_all: bool,
    /// The job is only imagined: nothing else is said in its log, and nobody reads what it contradicts.
    is_imagined: bool,
    /// The days that it tells of.
    days: Days,
}

/// That the job was done, without the panels that were left out.
fn done(job: &Job, log: &JobLog, logged: Logged) -> Deed {
    Deed::JobDone {
        job: job.id.clone(),
        left_out: left_out(job, log),
        logged: (!logged.is_empty()).then(|| Box::new(logged)),
        person: done_by(job, log),
    }
}

/// Who did a job, where that is not who was booked.
fn done_by(job: &Job, log: &JobLog) -> String {
    let said = log.person.trim();
    if said == job.person {
        String::new()
    } else {
        said.to_owned()
    }
}

/// The panels left out of a job, before it and in it.
fn left_out(job: &Job, log: &JobLog) -> Vec<Panel> {
    let further = log.left_out.iter();
    let further = further.filter(|panel| !job.left_out.contains(panel));
    job.left_out.iter().chain(further).copied().collect()
}

fn log_from(
    book: &Book,
    job: &Job,
    log: &JobLog,
    decision: Decision,
    how: How,
) -> Result<(Decision, Logged), Refusal> {
    let routine = routine_of(book, job)?;
    understood::job_log(book, log)?;
    person_fits("person", &log.person)?;
    let mut plan = plan(book, job, &left_out(job, log), how.days)?;
    let paced = pace::pace(book, &mut plan, job, log)?;
    let writer = Writer {
        scene: Scene::looking_back(book, job),
        job,
        log,
        routine,
        plan: &plan,
        ran: &paced.ran,
        start: Start::of(book, job, log)?,
        days: how.days,
        takes_all: how.takes_all,
        is_imagined: how.is_imagined,
    };
    let written = writer.deeds()?;
    let mut decision = Decision {
        picked: written.picked,
        ..decision.with(written.deeds, written.flags)
    };
    decision.flags.extend(paced.flags);
    if !how.is_imagined {
        decision = close(book, decision, Parts::from(log))?;
    }
    let logged = Logged {
        ran: paced.ran,
        ..written.logged
    };
    Ok((decision, logged))
}

/// Ends the log of a use: weigh-ins after it, what it contradicts, and what became of its pads.
pub(super) fn close(
    book: &Book,
    mut decision: Decision,
    parts: Parts<'_>,
) -> Result<Decision, Refusal> {
    weigh_in(book, parts.weighings, &mut decision)?;
    let done = decision.done_at;
    let flags = flag_uses(book, &decision.deeds, done);
    decision.flags.extend(flags);
    let doubts = doubt_uses(book, &decision.deeds, done);
    decision.flags.extend(doubts);
    let flags = flag_liquids(book, &decision.deeds, done);
    decision.flags.extend(flags);
    decision.deeds.extend(parts.pads.iter().filter_map(fate));
    Ok(decision)
}

/// What became of a pad after the use.
fn fate(pad: &PadUse) -> Option<Deed> {
    let tag = pad.tag;
    match (pad.found, pad.aside) {
        (Some(reason), _) => Some(Deed::Binned { tag, reason }),
        (None, Some(reason)) => Some(Deed::SetAside { tag, reason }),
        (None, None) => None,
    }
}

/// A liquid amount as a volume, dots by the book's dot.
pub(super) fn volume_of(amount: LiquidAmount, policy: &Policy) -> Volume {
    match amount {
        LiquidAmount::Volume(volume) => volume,
        LiquidAmount::Dots(dots) => {
            Volume::from_ul(dots.get().saturating_mul(policy.value(PolicyKey::DotUl)))
        }
    }
}
