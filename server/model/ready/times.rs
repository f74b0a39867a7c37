//! How long the machines of a job will likely run, by the plan and by the minutes that logs say.
//!
//! It learns from logs in which a person said how long machines ran: what a plan took as worked teaches nothing.
//! It goes by the sort of machine, so that a shop that replaces one goes on knowing its own pace.

mod real;

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

use fettlebook_quantity::{exact_f64, round_to_i64};

use self::real::RealTimes;
pub(crate) use self::real::StepTime;
use crate::ground::ids::Id;
use crate::maths::credibility::{CredibilitySettings, Predicted, Span, UseBelief, use_belief};
use crate::ready::plan::{Plan, StepPlan};
use crate::ready::real_use::credibility_settings;
use crate::trade::job::{Job, JobState};
use crate::trade::make::Figures;
use crate::trade::wear::Action;
use crate::{Book, Moment};

/// Jobs whose logs teach of one sort of machine, the latest first.
const JOBS_LEARNT_FROM: usize = 40;
/// Jobs with minutes looked at for these.
const JOBS_LOOKED_AT: usize = 120;

/// A sort of machine, by which the pace of work is learnt: how it moves the pad, and whether it works spots.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Sort {
    is_spot: bool,
    action: Action,
}

impl Sort {
    fn of(book: &Book, machine: &Id) -> Option<Self> {
        match &book.make(machine)?.figures {
            Figures::Machine(machine) => Some(Self {
                is_spot: machine.spot,
                action: machine.action,
            }),
            _ => None,
        }
    }
}

impl fmt::Display for Sort {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let size = if self.is_spot { "spot" } else { "big" };
        write!(f, "{size} {} machine", self.action)
    }
}

/// Time that the machines of one make run in a job.
#[derive(Debug, Clone, PartialEq)]
pub struct LikelyTime {
    /// Machine make.
    pub machine: Id,
    /// By the plan, ms.
    pub planned_ms: i64,
    /// As this shop works, on average, ms.
    pub expected_ms: i64,
    /// What nine in ten jobs take longer than, ms.
    pub low_ms: i64,
    /// What nine in ten jobs take less than, ms.
    pub high_ms: i64,
    /// What it rests on, a sentence.
    pub rests_on: String,
    predicted: Predicted,
}

/// How long the machines of a job will likely run, by make, in the order of the steps. Of a job that is done only
/// what was logged of earlier ones counts.
#[must_use]
pub fn likely_times(book: &Book, job: &Job, plan: &Plan) -> Vec<LikelyTime> {
    let before = matches!(job.state, JobState::Done(_)).then_some(job.starts_at);
    let paces = Paces::before(book, before);
    let planned = planned_times(plan).into_iter();
    let likely = planned.map(|(machine, planned_ms)| paces.likely(machine, planned_ms));
    likely.collect()
}

/// How long machines are planned to run, by make, in the order of the steps, ms.
pub(crate) fn planned_times(plan: &Plan) -> Vec<(&Id, i64)> {
    let mut times: Vec<(&Id, i64)> = Vec::new();
    for planned in &plan.steps {
        let Some(machine) = &planned.step.machine_make else {
            continue;
        };
        match times.iter_mut().find(|(make, _)| *make == machine) {
            Some((_, time_ms)) => *time_ms = time_ms.saturating_add(planned.machine_ms()),
            None => times.push((machine, planned.machine_ms())),
        }
    }
    times
}

/// The machines of several makes together: expected, and what nine in ten jobs take longer and less than, ms.
pub(crate) fn together(times: &[LikelyTime]) -> Likely {
    let all = Predicted {
        mean: times.iter().map(|time| time.predicted.mean).sum(),
        variance: times.iter().map(|time| time.predicted.variance).sum(),
    };
    Likely::of(&all)
}

/// A time with its range, ms.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Likely {
    pub expected_ms: i64,
    pub low_ms: i64,
    pub high_ms: i64,
}

impl Likely {
    fn of(predicted: &Predicted) -> Self {
        Self {
            expected_ms: round_to_i64(predicted.mean),
            low_ms: round_to_i64(predicted.quantile(0.1)),
            high_ms: round_to_i64(predicted.quantile(0.9)),
        }
    }
}

/// What is believed of the time that sorts of machines really run, against their plan.
pub(crate) struct Paces<'a> {
    book: &'a Book,
    settings: CredibilitySettings,
    by_sort: BTreeMap<Sort, Pace>,
}

struct Pace {
    belief: UseBelief,
    job_count: i64,
}

impl<'a> Paces<'a> {
    /// What all logs say.
    pub(crate) fn of(book: &'a Book) -> Self {
        Self::before(book, None)
    }

    /// What the logs of jobs say that started before a moment, where one is given.
    fn before(book: &'a Book, before: Option<Moment>) -> Self {
        let settings = credibility_settings(book.policy());
        let is_before = |job: &&Arc<Job>| before.is_none_or(|before| job.starts_at < before);
        let mut told: BTreeMap<Sort, Vec<Span>> = BTreeMap::new();
        for job in book.timed_jobs().filter(is_before).take(JOBS_LOOKED_AT) {
            for (sort, span) in spans_of(book, job) {
                let spans = told.entry(sort).or_default();
                if spans.len() < JOBS_LEARNT_FROM {
                    spans.push(span);
                }
            }
        }
        let paces = told.into_iter().map(|(sort, spans)| {
            let job_count = i64::try_from(spans.len()).unwrap_or(i64::MAX);
            let planned: f64 = spans.iter().map(|span| span.planned).sum();
            let typical = planned / exact_f64(job_count);
            let belief = use_belief(&spans, typical, settings);
            (sort, Pace { belief, job_count })
        });
        Self {
            book,
            settings,
            by_sort: paces.collect(),
        }
    }

    fn pace(&self, machine: &Id) -> Option<(Sort, &Pace)> {
        let sort = Sort::of(self.book, machine)?;
        Some((sort, self.by_sort.get(&sort)?))
    }

    /// How long a machine will likely run in a job.
    fn likely(&self, machine: &Id, planned_ms: i64) -> LikelyTime {
        let planned = exact_f64(planned_ms);
        let pace = self.pace(machine);
        let predicted = pace.map_or_else(
            || use_belief(&[], planned, self.settings).predict(planned),
            |(_, pace)| pace.belief.predict(planned),
        );
        let likely = Likely::of(&predicted);
        LikelyTime {
            machine: machine.clone(),
            planned_ms,
            expected_ms: likely.expected_ms,
            low_ms: likely.low_ms,
            high_ms: likely.high_ms,
            rests_on: pace.map_or_else(
                || "Rests on the plan: no log says yet how long such a machine ran.".to_owned(),
                |(sort, pace)| pace.rests_on(sort),
            ),
            predicted,
        }
    }

    /// The book that it is of.
    pub(crate) const fn book(&self) -> &'a Book {
        self.book
    }

    /// How long the machines of a job run, step by step.
    pub(crate) fn really<'b>(&'b self, job: &'b Job, plan: &'b Plan) -> RealTimes<'b> {
        RealTimes::of(self, job, plan)
    }

    /// How long the machine of a step will likely run, ms; none of what is done by hand.
    pub(crate) fn of_step(&self, planned: &StepPlan) -> i64 {
        let machine_ms = planned.machine_ms();
        let machine = planned.step.machine_make.as_ref();
        match machine.and_then(|machine| self.pace(machine)) {
            Some((_, pace)) => round_to_i64(exact_f64(machine_ms) * pace.belief.factor),
            None => machine_ms,
        }
    }
}

impl Pace {
    fn rests_on(&self, sort: Sort) -> String {
        let told = longer(self.belief.ratio.unwrap_or(1.0));
        let reckoned = longer(self.belief.factor);
        let jobs = match self.job_count {
            1 => "1 job".to_owned(),
            count => format!("{count} jobs"),
        };
        let reckoned = if told == reckoned {
            String::new()
        } else {
            format!("; {reckoned} is reckoned with until more are logged")
        };
        format!("You take {told} with a {sort}, from {jobs}{reckoned}.")
    }
}

/// A ratio of time to plan in words.
fn longer(ratio: f64) -> String {
    match round_to_i64((ratio - 1.0) * 100.0) {
        0 => "as long as planned".to_owned(),
        percent if percent > 0 => format!("{percent} % longer than planned"),
        percent => format!("{} % less time than planned", percent.saturating_abs()),
    }
}

/// What the log of a job says of the machines of each sort, those of one sort together.
fn spans_of(book: &Book, job: &Job) -> BTreeMap<Sort, Span> {
    let mut spans: BTreeMap<Sort, Span> = BTreeMap::new();
    for ran in job.ran() {
        let Some(sort) = Sort::of(book, &ran.machine).filter(|_| ran.planned_ms > 0) else {
            continue;
        };
        let span = spans.entry(sort).or_insert(Span {
            planned: 0.0,
            actual: 0.0,
        });
        span.planned += exact_f64(ran.planned_ms);
        span.actual += exact_f64(ran.time_ms);
    }
    spans
}
