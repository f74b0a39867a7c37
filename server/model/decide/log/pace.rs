//! How long the machines of a job really ran, put into its plan.
//!
//! What was said of one machine is its own; what was said of all together is shared out as it was planned, to those
//! of which nothing was said by themselves.

use std::collections::BTreeMap;

use fettlebook_quantity::Seconds;

use crate::Book;
use crate::book::command::JobLog;
use crate::book::deed::Flag;
use crate::decide::named_kit::{once, piece, wrong_sort};
use crate::ground::exact::{half_up, product};
use crate::ground::ids::{Id, Subject};
use crate::ground::refusal::Refusal;
use crate::ready::plan::Plan;
use crate::ready::times::planned_times;
use crate::trade::job::Job;
use crate::trade::kit::State;
use crate::trade::logged::Ran;

/// Machine time is far from the plan from so many times more or less on (from memory).
const TIMES_THE_PLAN: i64 = 5;
const MS_PER_S: i64 = 1_000;
const FIELD: &str = "machines.machine";

/// What was said of the machines' time.
#[derive(Default)]
pub(super) struct Paced {
    /// By machine make, beside the plan.
    pub(super) ran: Vec<Ran>,
    /// What is hardly so.
    pub(super) flags: Vec<Flag>,
}

/// Puts the time that the machines really ran into a plan.
pub(super) fn pace(
    book: &Book,
    plan: &mut Plan,
    job: &Job,
    log: &JobLog,
) -> Result<Paced, Refusal> {
    if log.machine_time_s.is_none() && log.machine_times.is_empty() {
        return Ok(Paced::default());
    }
    let planned = planned_times(plan).into_iter();
    let planned = planned.map(|(machine, time_ms)| (machine.clone(), time_ms));
    let planned: Vec<(Id, i64)> = planned.filter(|(_, time_ms)| *time_ms > 0).collect();
    if planned.is_empty() {
        return Err(Refusal::invalid(
            "machine_time_s",
            format!("No step of the job {} is worked by a machine.", job.id),
            "Leave it out.",
        ));
    }
    let mut paced = Paced::default();
    let mut told = told(book, job, log, &planned, &mut paced.flags)?;
    if let Some(real_s) = log.machine_time_s {
        let real_ms = real_s.saturating_mul(MS_PER_S);
        share_out(real_ms, &planned, &mut told)?;
        let far = far(
            job,
            "machine time",
            real_ms,
            sum(planned.iter().map(|(_, ms)| *ms)),
        );
        paced.flags.extend(far);
    }
    for (machine, planned_ms) in planned {
        let Some(time_ms) = told.get(&machine).copied() else {
            continue;
        };
        if log.machine_time_s.is_none() {
            let name = book.make(&machine).map_or("", |make| make.name.as_str());
            paced.flags.extend(far(job, name, time_ms, planned_ms));
        }
        let steps = plan.steps.iter_mut();
        for step in steps.filter(|step| step.step.machine_make.as_ref() == Some(&machine)) {
            step.time_ms = half_up(product([step.time_ms, time_ms]), planned_ms.into());
        }
        paced.ran.push(Ran {
            machine,
            planned_ms,
            time_ms,
        });
    }
    Ok(paced)
}

/// What was said of single machines, by make, ms; of one that runs in no step it is flagged.
fn told(
    book: &Book,
    job: &Job,
    log: &JobLog,
    planned: &[(Id, i64)],
    flags: &mut Vec<Flag>,
) -> Result<BTreeMap<Id, i64>, Refusal> {
    once(FIELD, log.machine_times.iter().map(|(tag, _)| *tag))?;
    let mut told: BTreeMap<Id, i64> = BTreeMap::new();
    for (tag, time_s) in &log.machine_times {
        let machine = piece(book, FIELD, *tag)?;
        if !matches!(machine.state, State::Machine(_)) {
            return Err(wrong_sort(FIELD, machine, "machine"));
        }
        if planned.iter().any(|(make, _)| *make == machine.make) {
            let sum = told.entry(machine.make.clone()).or_default();
            *sum = sum.saturating_add(time_s.saturating_mul(MS_PER_S));
        } else {
            flags.push(Flag {
                subject: Subject::Piece(*tag),
                text: format!(
                    "{tag} runs in no step of {}, so its time is not counted. Log it as a loose use.",
                    job.id
                ),
                count: false,
            });
        }
    }
    Ok(told)
}

/// Shares out what all machines ran together to those of which nothing was said by themselves, as it was planned.
fn share_out(
    real_ms: i64,
    planned: &[(Id, i64)],
    told: &mut BTreeMap<Id, i64>,
) -> Result<(), Refusal> {
    let rest_ms = real_ms.saturating_sub(sum(told.values().copied()));
    let is_open = |(make, _): &&(Id, i64)| !told.contains_key(make);
    let open: Vec<&(Id, i64)> = planned.iter().filter(is_open).collect();
    if open.is_empty() || rest_ms <= 0 {
        return Err(Refusal::invalid(
            "machine_time_s",
            "What was said of single machines leaves nothing of the time of all together.",
            "Give the time of each machine, or of all together.",
        ));
    }
    let open_ms = sum(open.iter().map(|(_, ms)| *ms));
    for (make, ms) in open {
        let share = half_up(product([*ms, rest_ms]), open_ms.into());
        told.insert(make.clone(), share);
    }
    Ok(())
}

fn sum(times: impl Iterator<Item = i64>) -> i64 {
    times.fold(0, i64::saturating_add)
}

fn far(job: &Job, what: &str, real_ms: i64, planned_ms: i64) -> Option<Flag> {
    let is_far = real_ms > planned_ms.saturating_mul(TIMES_THE_PLAN)
        || real_ms < planned_ms.div_euclid(TIMES_THE_PLAN);
    is_far.then(|| Flag {
        subject: Subject::Job(job.id.clone()),
        text: format!(
            "{} of {what} is far from the {} that were planned.",
            Seconds::from_s(real_ms.div_euclid(MS_PER_S)),
            Seconds::from_s(planned_ms.div_euclid(MS_PER_S))
        ),
        count: false,
    })
}
