//! What two jobs want at once: the same machine, or the same person.

use std::collections::BTreeSet;

use super::line::{Line, LineKind, Verdict, local};
use super::people::may_be_one;
use super::plans::Plans;
use crate::Book;
use crate::ground::ids::Id;
use crate::ready::hours::{Span, spans};
use crate::ready::pick::{Scene, offer_machines};
use crate::ready::plan::{Plan, routine_of};
use crate::ready::times::Paces;
use crate::trade::job::Job;

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
