//! How long jobs last, reckoned from the time their machines run.
//!
//! Serves the check, which tells what meets, and whatever asks when the day of a job is over.

use jiff::civil::Time;
use jiff::tz::Offset;
use jiff::{SignedDuration, ToSpan as _};

use crate::ground::exact::{ceil_div, product};
use crate::ready::plan::{Plan, StepPlan};
use crate::ready::times::Paces;
use crate::trade::job::Job;
use crate::trade::policy::{Policy, PolicyKey};
use crate::{Book, Moment};

/// Thousandths of a machine's milliseconds in a second.
const PERMILLE_MS_PER_S: i128 = 1_000_000;

/// When a job is worked: from when to when, on each of its days.
pub(crate) type Span = (Moment, Moment);

/// When a job ends, on the last of its days.
pub(crate) fn ends_at(book: &Book, job: &Job, plan: &Plan) -> Moment {
    let paces = Paces::of(book);
    let last = spans(book, &paces, job, plan)
        .last()
        .map(|(_, until)| until);
    last.unwrap_or(job.starts_at)
}

/// When the first day of a job ends.
pub(crate) fn first_day_ends(book: &Book, job: &Job, plan: &Plan) -> Moment {
    let first = plan.steps.iter().filter(|step| !step.second_day);
    ended(book.policy(), &Paces::of(book), job, job.starts_at, first)
}

/// When a job is worked: on each of its days to come from its start for as long as its machines run that day in this shop, as
/// often as the policy says, and its time by hand, but no later than the end of that local day.
pub(crate) fn spans(
    book: &Book,
    paces: &Paces<'_>,
    job: &Job,
    plan: &Plan,
) -> impl DoubleEndedIterator<Item = Span> {
    let starts: Vec<Moment> = job.starts().collect();
    let days = starts.into_iter().enumerate();
    let to_come = days.skip(usize::from(job.has_first_day_behind()));
    let spans = to_come.map(|(at, start)| {
        let steps = plan.steps.iter().filter(|step| step.second_day == (at > 0));
        (start, ended(book.policy(), paces, job, start, steps))
    });
    spans.collect::<Vec<_>>().into_iter()
}

/// When a day's steps are done that are begun at a moment.
fn ended<'a>(
    policy: &Policy,
    paces: &Paces<'_>,
    job: &Job,
    start: Moment,
    steps: impl Iterator<Item = &'a StepPlan>,
) -> Moment {
    let (mut machine_ms, mut hand_ms) = (0_i64, 0_i64);
    for step in steps {
        machine_ms = machine_ms.saturating_add(paces.of_step(step));
        hand_ms = hand_ms.saturating_add(step.time_ms.saturating_sub(step.machine_ms()));
    }
    let factor = policy.value(PolicyKey::JobTimePermille);
    let lasts = product([machine_ms, factor]).saturating_add(product([hand_ms, 1_000]));
    let lasts_s = ceil_div(lasts, PERMILLE_MS_PER_S);
    let worked = start.checked_add(SignedDuration::from_secs(lasts_s));
    let day_ends = end_of_day(job, start);
    worked.map_or(day_ends, |worked| worked.min(day_ends))
}

/// The end of the local day of a moment at a job.
fn end_of_day(job: &Job, moment: Moment) -> Moment {
    let offset = Offset::from_seconds(job.utc_offset_s).unwrap_or(Offset::UTC);
    let next = job.day_of(moment).saturating_add(1.day());
    offset
        .to_timestamp(next.to_datetime(Time::midnight()))
        .unwrap_or(Moment::MAX)
}
