//! The lines about the person: what a day of machines comes to in vibration and noise.
//!
//! An exposure is a person's, so a day's figure counts every job of that day that names the person,
//! whichever were asked about. Where jobs name nobody, one person is taken to work at a place; such a job
//! counts for everyone there, for it may be theirs. It guides and defers; it is no assessment.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use fettlebook_quantity::{Seconds, exact_f64};
use jiff::SignedDuration;
use jiff::civil::Date;

use super::Exposure;
use super::line::{Line, LineKind, Verdict};
use super::plans::Plans;
use crate::ground::ids::{Id, Place, list};
use crate::ready::plan::StepPlan;
use crate::ready::times::{Paces, StepTime};
use crate::trade::exposure::{
    NoiseBand, VibrationBand, a8_m_per_s2, effective, lex8_db, noise_band, points, vibration_band,
};
use crate::trade::job::{Job, JobState};
use crate::trade::make::Figures;
use crate::{Book, Moment};

/// Points of vibration by which plan and logged minutes differ where both are told. Basis: ours.
const POINTS_TOLD: f64 = 1.0;

/// Whose day it is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Worker {
    /// The person that jobs name, in small letters.
    Named(String),
    /// Whoever works at a place.
    At(Place),
}

impl Worker {
    fn of(job: &Job) -> Self {
        if job.person.is_empty() {
            Self::At(job.place.clone())
        } else {
            Self::Named(job.person.to_lowercase())
        }
    }
}

/// Whether one person may have to be at two jobs: the one both name, or, where one names nobody, whoever
/// works at the place of both.
pub(super) fn may_be_one(job: &Job, other: &Job) -> bool {
    if job.person.is_empty() || other.person.is_empty() {
        job.place == other.place
    } else {
        Worker::of(job) == Worker::of(other)
    }
}

/// Whether some of a job is worked, or was: of one that was called off its first day, where that is logged.
fn is_worked(job: &Job) -> bool {
    job.state != JobState::CalledOff || job.first_day_done.is_some()
}

/// What each day that is asked about comes to, by the person who works it.
#[derive(Default)]
pub(super) struct DayLoads {
    loads: BTreeMap<(Date, Worker), DayLoad>,
    none: DayLoad,
}

impl DayLoads {
    /// The days and persons of these jobs, with all that are booked or done for them then.
    pub(super) fn of(book: &Book, paces: &Paces<'_>, plans: &Plans<'_>, asked: &[&Job]) -> Self {
        let starts = || asked.iter().flat_map(|job| job.starts());
        let (first, last) = (starts().min(), starts().max());
        let (Some(first), Some(last)) = (first, last) else {
            return Self::default();
        };
        // Whose local day it may be, whatever the offsets.
        let days = SignedDuration::from_hours(48);
        let first = first.checked_sub(days).unwrap_or(Moment::MIN);
        let last = last.checked_add(days).unwrap_or(Moment::MAX);
        let counts = |job: &&Arc<Job>| {
            let mut starts = job.starts();
            is_worked(job) && starts.any(|start| (first..=last).contains(&start))
        };
        let jobs: Vec<&Arc<Job>> = book.jobs().filter(counts).collect();
        let days = asked.iter().flat_map(|job| {
            let days = job.local_days();
            days.map(|day| (day, Worker::of(job)))
        });
        let days: BTreeSet<_> = days.collect();
        let loads = days.into_iter().map(|(day, worker)| {
            let that_day = jobs.iter().copied().filter(|job| job.is_on(day));
            let that_day: Vec<_> = that_day.collect();
            let load = DayLoad::of(paces, plans, (day, &worker), &that_day);
            ((day, worker), load)
        });
        Self {
            loads: loads.collect(),
            none: DayLoad::default(),
        }
    }

    /// What each day of a job comes to for the person who works it, in order.
    pub(super) fn of_job(&self, job: &Job) -> impl Iterator<Item = &DayLoad> {
        let days = job.local_days();
        let loads = days.map(|day| {
            self.loads
                .get(&(day, Worker::of(job)))
                .unwrap_or(&self.none)
        });
        loads.collect::<Vec<_>>().into_iter()
    }
}

/// What one day asks of the person who holds the machines.
#[derive(Debug, Default)]
pub(super) struct DayLoad {
    jobs: Vec<Id>,
    /// How long the machines of each of them run that day, ms.
    machine_ms: BTreeMap<Id, i64>,
    /// The person whose day it is, as the first of the jobs has it; empty where nobody is named.
    person: String,
    /// Whether some of the jobs may be another's, for they or the others name nobody.
    is_unsure: bool,
    /// Jobs whose machine time cannot be worked out.
    without_plan: Vec<Id>,
    /// Vibration as measured at work.
    measured: Vec<(f64, Seconds)>,
    /// Vibration as declared, doubled.
    declared: Vec<(f64, Seconds)>,
    noise: Vec<(f64, Seconds)>,
    /// Vibration as planned.
    planned: Vec<(f64, Seconds)>,
    /// Vibration by the minutes that this shop logs.
    learnt: Vec<(f64, Seconds)>,
    /// Machines of which no vibration is known.
    unknown_vibration: Vec<String>,
    /// Machines of which no noise is known.
    unknown_noise: Vec<String>,
}

impl DayLoad {
    /// What the jobs of a day come to for one of those who work them.
    fn of(
        paces: &Paces<'_>,
        plans: &Plans<'_>,
        (day, worker): (Date, &Worker),
        jobs: &[&Arc<Job>],
    ) -> Self {
        let own = |job: &&Arc<Job>| Worker::of(job) == *worker;
        let places: BTreeSet<&Place> = jobs
            .iter()
            .copied()
            .filter(own)
            .map(|job| &job.place)
            .collect();
        let mut load = Self::default();
        for job in jobs {
            let is_own = own(job);
            let may_be = match worker {
                Worker::Named(_) => job.person.is_empty() && places.contains(&job.place),
                Worker::At(place) => job.place == *place,
            };
            if is_own || may_be {
                load.add_job(paces, plans, job, day);
            }
            if is_own && load.person.is_empty() {
                load.person.clone_from(&job.person);
            }
            load.is_unsure |= may_be && !is_own;
        }
        load
    }

    fn add_job(&mut self, paces: &Paces<'_>, plans: &Plans<'_>, job: &Job, day: Date) {
        let is_second = job.local_day() != day;
        if is_second && job.state == JobState::CalledOff {
            return;
        }
        match plans.of_job(job) {
            Ok(plan) => {
                self.jobs.push(job.id.clone());
                let steps = plan
                    .steps
                    .iter()
                    .filter(|step| step.second_day == is_second);
                let times = paces.really(job, &plan);
                let times: Vec<_> = steps.map(|step| (step, times.of_step(step))).collect();
                let counted = times.iter().map(|(_, time)| time.counted_ms());
                let machine_ms = counted.fold(0_i64, i64::saturating_add);
                self.machine_ms.insert(job.id.clone(), machine_ms);
                self.add(paces.book(), &times);
            }
            Err(_) => self.without_plan.push(job.id.clone()),
        }
    }

    /// Adds the machine time of what a job has for the day: as logged, else as planned or as this shop works,
    /// whichever is more.
    fn add(&mut self, book: &Book, times: &[(&StepPlan, StepTime)]) {
        for (planned, time_of) in times {
            let Some(make) = planned
                .step
                .machine_make
                .as_ref()
                .and_then(|id| book.make(id))
            else {
                continue;
            };
            let Figures::Machine(machine) = &make.figures else {
                continue;
            };
            let time = whole_seconds(time_of.counted_ms());
            match machine.vibration_mm_per_s2 {
                Some(value) => {
                    let is_measured = machine.vibration_measured;
                    let a = effective(exact_f64(value) / 1000.0, is_measured);
                    let parts = if is_measured {
                        &mut self.measured
                    } else {
                        &mut self.declared
                    };
                    parts.push((a, time));
                    self.planned.push((a, whole_seconds(time_of.planned_ms)));
                    self.learnt.push((a, whole_seconds(time_of.learnt_ms)));
                }
                None => name_once(&mut self.unknown_vibration, &make.name),
            }
            match machine.noise_db {
                Some(level) => self.noise.push((exact_f64(level), time)),
                None => name_once(&mut self.unknown_noise, &make.name),
            }
        }
    }

    /// The vibration of all parts that are known, m/s² over 8 h.
    fn a8(&self) -> f64 {
        a8(&[self.measured.as_slice(), self.declared.as_slice()].concat())
    }

    /// Noise of the day, energies added: 10·log₁₀ Σ 10^(Lᵢ/10), each Lᵢ over 8 h (ISO 9612).
    fn noise_lex_db(&self) -> Option<f64> {
        let energy: f64 = self
            .noise
            .iter()
            .filter_map(|(level, time)| lex8_db(*level, *time))
            .map(|level| 10_f64.powf(level / 10.0))
            .sum();
        (energy > 0.0).then(|| 10.0 * energy.log10())
    }

    /// The exposure of the day, with the machine time that one of its jobs has then.
    pub(super) fn exposure(&self, job: &Id) -> Exposure {
        let machine_ms = self.machine_ms.get(job).copied().unwrap_or_default();
        Exposure {
            machine_time_s: whole_seconds(machine_ms).s(),
            a8_m_per_s2: self.a8(),
            points: points_of(&self.measured) + points_of(&self.declared),
            is_declared: !self.declared.is_empty(),
            is_unknown: !self.unknown_vibration.is_empty() || !self.without_plan.is_empty(),
            noise_lex_db: self.noise_lex_db(),
        }
    }

    /// The vibration and noise lines, of a job's second day said so.
    pub(super) fn lines(&self, is_second: bool) -> [Line; 2] {
        let mut lines = [self.vibration_line(), self.noise_line()];
        for line in lines.iter_mut().filter(|_| is_second) {
            line.what.push_str(", second day");
        }
        lines
    }

    fn vibration_line(&self) -> Line {
        let mut line = Line::new(LineKind::Vibration, None, "hand-arm vibration");
        let knows_some = !self.measured.is_empty() || !self.declared.is_empty();
        if knows_some {
            self.say_vibration(&mut line);
        } else if self.unknown_vibration.is_empty() && self.without_plan.is_empty() {
            line.raise(Verdict::Go, "No machine runs that day.");
        }
        if !self.unknown_vibration.is_empty() {
            let machines = list(&self.unknown_vibration);
            line.raise(
                Verdict::Watch,
                format!("The vibration of {machines} is not known and not counted."),
            );
            line.todo("Enter the value from the machine's manual.");
        }
        self.say_both(&mut line);
        self.say_jobs(&mut line);
        line
    }

    /// Says what plan and logged minutes come to, where they differ: of each machine the longer time counts.
    fn say_both(&self, line: &mut Line) {
        let (planned, learnt) = (points_of(&self.planned), points_of(&self.learnt));
        if (planned - learnt).abs() >= POINTS_TOLD {
            line.raise(
                Verdict::Go,
                format!(
                    "By the plan it is {:.1} m/s², {planned:.0} points; by the minutes logged here {:.1} m/s², \
                     {learnt:.0} points. The longer time of each machine counts.",
                    a8(&self.planned),
                    a8(&self.learnt)
                ),
            );
        }
    }

    /// The figures beside the values they are held against, and what they ask for. Only what was measured
    /// stops the day; a declared value is an estimate.
    fn say_vibration(&self, line: &mut Line) {
        let figures = self.figures();
        let is_over = vibration_band(a8(&self.measured)) == VibrationBand::Limit;
        match vibration_band(self.a8()) {
            VibrationBand::BelowAction => line.raise(Verdict::Go, format!("{figures}.")),
            VibrationBand::Action => {
                line.raise(
                    Verdict::Watch,
                    format!("{figures}: above the action value of 2.5."),
                );
                line.todo(
                    "Take breaks, share the machine time, keep hands warm; follow local rules.",
                );
            }
            VibrationBand::Limit if is_over => {
                line.raise(
                    Verdict::Stop,
                    format!("{figures}: at or above the limit of 5."),
                );
                line.todo(
                    "Share the machine time: spread the work over days or people, or take a machine with \
                     less vibration.",
                );
            }
            VibrationBand::Limit => {
                line.raise(
                    Verdict::Watch,
                    format!("{figures}: at or above the limit of 5, by an estimate."),
                );
                line.todo(
                    "Share the machine time, spread the work over days or people, or take a machine with \
                     less vibration; have it measured at work to know, and follow local rules.",
                );
            }
        }
    }

    fn figures(&self) -> String {
        let (measured, declared) = (points_of(&self.measured), points_of(&self.declared));
        let estimate = match (self.measured.is_empty(), self.declared.is_empty()) {
            (_, true) => String::new(),
            (true, false) => ", declared, counted double".to_owned(),
            (false, false) => format!(", {declared:.0} of them declared, counted double"),
        };
        format!(
            "{:.1} m/s² over 8 h (action 2.5, limit 5), {:.0} points that day (action 100, limit 400){estimate}",
            self.a8(),
            measured + declared
        )
    }

    /// Says which jobs are counted, where that is not this one alone.
    fn say_jobs(&self, line: &mut Line) {
        if self.jobs.len() > 1 {
            let whose = match self.person.as_str() {
                "" => "one person",
                named => named,
            };
            line.raise(
                Verdict::Go,
                format!("Counted for {whose}: {}.", list(&self.jobs)),
            );
        }
        if self.is_unsure {
            line.raise(
                Verdict::Go,
                "A job that names nobody counts for everyone at its place.",
            );
        }
        if !self.without_plan.is_empty() {
            let jobs = list(&self.without_plan);
            line.raise(
                Verdict::Watch,
                format!("The machine time of {jobs} is not known and not counted."),
            );
            line.todo(format!("Look at car and routine of {jobs}."));
        }
    }

    fn noise_line(&self) -> Line {
        let mut line = Line::new(LineKind::Noise, None, "noise");
        if let Some(lex) = self.noise_lex_db() {
            let figures = format!("{lex:.0} dB(A) over 8 h");
            match noise_band(lex) {
                NoiseBand::BelowAction => line.raise(Verdict::Go, format!("{figures}; action 80.")),
                NoiseBand::LowerAction => {
                    line.raise(
                        Verdict::Watch,
                        format!("{figures}: above the lower action value of 80."),
                    );
                    line.todo("Have hearing protection at hand.");
                }
                NoiseBand::UpperAction | NoiseBand::Limit => {
                    line.raise(
                        Verdict::Watch,
                        format!("{figures}: above the upper action value of 85."),
                    );
                    line.todo("Wear hearing protection; the limit of 87 counts with it worn.");
                }
            }
        }
        if !self.unknown_noise.is_empty() {
            let machines = list(&self.unknown_noise);
            line.raise(
                Verdict::Watch,
                format!("The noise of {machines} is not known and not counted."),
            );
            line.todo("Enter the level from the machine's manual.");
        }
        line
    }
}

fn name_once(names: &mut Vec<String>, name: &str) {
    if !names.iter().any(|named| named == name) {
        names.push(name.to_owned());
    }
}

/// A time to the whole second, up.
fn whole_seconds(time_ms: i64) -> Seconds {
    Seconds::from_s(time_ms.saturating_add(999).div_euclid(1000))
}

fn a8(parts: &[(f64, Seconds)]) -> f64 {
    a8_m_per_s2(parts).unwrap_or(0.0)
}

/// Vibration points of some parts. A sum of nothing is nothing, and has no sign.
fn points_of(parts: &[(f64, Seconds)]) -> f64 {
    let each = parts.iter().filter_map(|(a, time)| points(*a, *time));
    each.fold(0.0, |sum, points| sum + points)
}
