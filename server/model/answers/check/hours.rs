//! How long jobs last, reckoned from the time their machines run, and what two of them want at once.

use std::collections::BTreeSet;

use jiff::civil::{Date, Time};
use jiff::tz::Offset;
use jiff::{SignedDuration, ToSpan as _};

use super::line::{Line, LineKind, Verdict, local};
use super::people::may_be_one;
use crate::ground::exact::{ceil_div, product};
use crate::ground::ids::Id;
use crate::ready::pick::{Scene, offer_machines};
use crate::ready::plan::{Plan, plan_job, routine_of};
use crate::trade::job::Job;
use crate::trade::policy::{Policy, PolicyKey};
use crate::{Book, Moment};

/// Thousandths of a machine's milliseconds in a second.
const PERMILLE_MS_PER_S: i128 = 1_000_000;

/// When a job ends: its machine time, as often as the policy says, and its time by hand, after its start,
/// but no later than the end of its local day.
pub(crate) fn ends_at(policy: &Policy, job: &Job, plan: &Plan) -> Moment {
    let (mut machine_ms, mut hand_ms) = (0_i64, 0_i64);
    for step in &plan.steps {
        machine_ms = machine_ms.saturating_add(step.machine_ms());
        hand_ms = hand_ms.saturating_add(step.time_ms.saturating_sub(step.machine_ms()));
    }
    let factor = policy.value(PolicyKey::JobTimePermille);
    let lasts = product([machine_ms, factor]).saturating_add(product([hand_ms, 1_000]));
    let lasts_s = ceil_div(lasts, PERMILLE_MS_PER_S);
    let worked = job
        .starts_at
        .checked_add(SignedDuration::from_secs(lasts_s));
    let day_ends = end_of_day(job);
    worked.map_or(day_ends, |worked| worked.min(day_ends))
}

/// The end of the local day that a job starts on.
fn end_of_day(job: &Job) -> Moment {
    let offset = Offset::from_seconds(job.utc_offset_s).unwrap_or(Offset::UTC);
    let next = job.local_day().saturating_add(1.day());
    offset
        .to_timestamp(next.to_datetime(Time::midnight()))
        .unwrap_or(Moment::MAX)
}

/// When a booked job is worked, and the makes of the machines it needs.
struct Hours<'a> {
    job: &'a Job,
    ends_at: Moment,
    machines: BTreeSet<&'a Id>,
}

/// The booked jobs of the days that are looked at, with their hours.
pub(super) struct Diary<'a>(Vec<Hours<'a>>);

impl<'a> Diary<'a> {
    /// The booked jobs of the days of these, whether or not they are asked about.
    pub(super) fn of(book: &'a Book, asked: &[&Job]) -> Self {
        let days: BTreeSet<Date> = asked.iter().map(|job| job.local_day()).collect();
        let booked = book.booked_jobs().map(AsRef::as_ref);
        let that_day = booked.filter(|job| days.contains(&job.local_day()));
        Self(that_day.filter_map(|job| Hours::of(book, job)).collect())
    }

    /// The line about a job's hours, where another job wants the same machine or the same person at the
    /// same time: where nobody is named, one person works at a place.
    pub(super) fn line(&self, scene: &Scene<'_>, job: &Job) -> Option<Line> {
        let own = self.0.iter().find(|hours| hours.job.id == job.id)?;
        let beside: Vec<&Hours<'_>> = self.0.iter().filter(|other| own.meets(other)).collect();
        let mut line = Line::new(LineKind::Time, None, "time");
        for other in &beside {
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
                    local(scene, other.job.starts_at),
                    local(scene, other.ends_at)
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
    fn of(book: &'a Book, job: &'a Job) -> Option<Self> {
        let plan = plan_job(book, job).ok()?;
        let routine = routine_of(book, job).ok()?;
        Some(Self {
            job,
            ends_at: ends_at(book.policy(), job, &plan),
            machines: routine
                .parts()
                .filter_map(|step| step.machine_make.as_ref())
                .collect(),
        })
    }

    /// Whether another job is worked at the same time.
    fn meets(&self, other: &Hours<'_>) -> bool {
        self.job.id != other.job.id
            && self.job.starts_at < other.ends_at
            && other.job.starts_at < self.ends_at
    }
}
