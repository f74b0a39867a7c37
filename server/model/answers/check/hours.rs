//! How long jobs last, reckoned from the time their machines run, and what two of them want at once.

use std::collections::BTreeSet;

use jiff::civil::Time;
use jiff::tz::Offset;
use jiff::{SignedDuration, ToSpan as _};

use super::line::{Line, LineKind, Verdict, local};
use super::people::may_be_one;
use super::plans::Plans;
use crate::ground::exact::{ceil_div, product};
use crate::ground::ids::Id;
use crate::ready::pick::{Scene, offer_machines};
use crate::ready::plan::{Plan, StepPlan, routine_of};
use crate::ready::times::Paces;
use crate::trade::job::Job;
use crate::trade::policy::{Policy, PolicyKey};
use crate::{Book, Moment};

/// Thousandths of a machine's milliseconds in a second.
const PERMILLE_MS_PER_S: i128 = 1_000_000;

/// When a job is worked: from when to when, on each of its days.
type Span = (Moment, Moment);

/// When a job ends, on the last of its days.
pub(crate) fn ends_at(book: &Book, job: &Job, plan: &Plan) -> Moment {
    let paces = Paces::of(book);
    let last = spans(book, &paces, job, plan)
        .last()
        .map(|(_, until)| until);
    last.unwrap_or(job.starts_at)
}

/// When a job is worked: on each of its days from its start for as long as its machines run that day in this shop, as
/// often as the policy says, and its time by hand, but no later than the end of that local day.
pub(super) fn spans(
    book: &Book,
    paces: &Paces<'_>,
    job: &Job,
    plan: &Plan,
) -> impl DoubleEndedIterator<Item = Span> {
    let starts: Vec<Moment> = job.starts().collect();
    let spans = starts.into_iter().enumerate().map(|(at, start)| {
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

/// When a booked job is worked, and the makes of the machines it needs.
struct Hours<'a> {
    job: &'a Job,
    spans: Vec<Span>,
    machines: BTreeSet<&'a Id>,
}

/// The booked jobs of the days that are looked at, with their hours.
pub(super) struct Diary<'a>(Vec<Hours<'a>>);

impl<'a> Diary<'a> {
    /// The booked jobs that are planned.
    pub(super) fn of(book: &'a Book, paces: &Paces<'_>, plans: &Plans<'a>) -> Self {
        let hours = plans
            .each()
            .filter_map(|(job, plan)| Hours::of(book, paces, job, plan));
        Self(hours.collect())
    }

    /// The line about a job's hours, where another job wants the same machine or the same person at the
    /// same time: where nobody is named, one person works at a place.
    pub(super) fn line(&self, scene: &Scene<'_>, job: &Job) -> Option<Line> {
        let own = self.0.iter().find(|hours| hours.job.id == job.id)?;
        let met = self
            .0
            .iter()
            .filter_map(|other| Some((other, own.met(other)?)));
        let met: Vec<(&Hours<'_>, Span)> = met.collect();
        let beside: Vec<&Hours<'_>> = met.iter().map(|(other, _)| *other).collect();
        let mut line = Line::new(LineKind::Time, None, "time");
        for (other, (from, until)) in &met {
            let mut both_want = Vec::new();
            for make in own.machines.intersection(&other.machines) {
                let ready = offer_machines(scene, make).len();
                let wanting = beside.iter().filter(|one| one.machines.contains(*make));
                if ready <= wanting.count() {
                    both_want.push(scene.book.make(make).map_or("", |make| &make.name));
                }
            }
            let same_person = may_be_one(job, other.job);
            if both_want.is_empty() && !same_person {
                continue;
            }
            line.raise(
                Verdict::Watch,
                format!(
                    "{} is booked from {} to about {}.",
                    other.job.id,
                    local(scene, *from),
                    local(scene, *until)
                ),
            );
            for name in both_want {
                line.raise(Verdict::Watch, format!("Both need {name}."));
            }
            if same_person {
                let told = if job.person.is_empty() || other.job.person.is_empty() {
                    format!("Both are at {}.", job.place)
                } else {
                    format!("{} works both.", job.person)
                };
                line.raise(Verdict::Watch, told);
            }
            line.todo(format!(
                "Move {} or {}, or settle who works on which, with which machine.",
                job.id, other.job.id
            ));
        }
        (line.verdict > Verdict::Go).then_some(line)
    }
}

impl<'a> Hours<'a> {
    fn of(book: &'a Book, paces: &Paces<'_>, job: &'a Job, plan: &Plan) -> Option<Self> {
        let routine = routine_of(book, job).ok()?;
        Some(Self {
            job,
            spans: spans(book, paces, job, plan).collect(),
            machines: routine
                .parts()
                .filter_map(|step| step.machine_make.as_ref())
                .collect(),
        })
    }

    /// When another job is worked, where it is so at the same time.
    fn met(&self, other: &Hours<'_>) -> Option<Span> {
        let meets = |(from, until): &Span| {
            let mut own = self.spans.iter();
            own.any(|(own_from, own_until)| own_from < until && from < own_until)
        };
        let mut theirs = other.spans.iter().copied();
        theirs.find(|span| self.job.id != other.job.id && meets(span))
    }
}
