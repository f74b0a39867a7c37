//! The check: will the kit carry the job, and what has to be done before.
//!
//! Each line says what is needed, what is there, what is missing, why, and what to do. Several jobs
//! are run in time order on a copy of the book, each leaving soiled towels and worn pads for the
//! next. It reads the book and never changes it.

mod away;
mod batteries;
mod both_days;
mod buy;
mod car;
mod cautions;
mod chance;
mod either;
mod film;
mod finer;
mod hours;
mod imagined;
mod known;
mod line;
mod machines;
mod pads;
mod people;
mod plans;
mod stock;
mod taken;
mod to_buy;
mod tools;
mod towels;

pub(crate) use buy::Bought;
pub use cautions::JobCaution;
pub use either::check_by;
pub(crate) use imagined::{Washes, dry_time, imagine, is_empty, is_soiled, wash_all};
use known::Known;
pub use line::{Line, LineKind, Pick, Verdict};
use people::DayLoad;
pub(crate) use taken::see;

use crate::answers::ahead::{Ahead, needs};
use crate::ground::ids::Id;
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::pick::Scene;
use crate::ready::plan::{Plan, routine_of, step_makes};
use crate::ready::real_use::{LikelyUse, RealUse};
use crate::ready::times::{LikelyTime, likely_times};
use crate::trade::job::{Job, JobState};
use crate::trade::policy::{PolicyKey, permille};
use crate::trade::take::Picked;
use crate::{Book, Moment};

/// Exposure of the person over the day of a job: all jobs of that day at its place.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Exposure {
    /// Machine time that the job has that day, s.
    pub machine_time_s: i64,
    /// Vibration over an 8-hour day, m/s².
    pub a8_m_per_s2: f64,
    /// Vibration points.
    pub points: f64,
    /// Whether part of the vibration is a declared value, which is counted double.
    pub is_declared: bool,
    /// Whether part of the vibration is not known, and missing from the figures.
    pub is_unknown: bool,
    /// Noise over an 8-hour day, dB(A); `None` when no level is known.
    pub noise_lex_db: Option<f64>,
}

/// The check of one job.
#[derive(Debug, Clone, PartialEq)]
pub struct JobCheck {
    /// Job.
    pub job: Job,
    /// The worst of the lines.
    pub verdict: Verdict,
    /// Lines in the order of work.
    pub lines: Vec<Line>,
    /// What the job needs.
    pub plan: Plan,
    /// Exposure on its day, on the first where it takes two.
    pub exposure: Exposure,
    /// Exposure on its second day.
    pub second_exposure: Option<Exposure>,
    /// Cautions to read before the job.
    pub cautions: Vec<JobCaution>,
    /// Probability that the kit carries the whole job: its pads under one severity, times each liquid.
    pub carry_chance: Option<f64>,
    /// The one the book aims at.
    pub carry_target: f64,
    /// Liquids by make, as planned and as they will likely be used.
    pub liquids: Vec<(Id, LikelyUse, String)>,
    /// Sundries by make, likewise.
    pub sundries: Vec<(Id, LikelyUse, String)>,
    /// Machine time by make, as planned and as it will likely be.
    pub times: Vec<LikelyTime>,
}

/// What the checks of several jobs take for granted.
pub const ASSUMPTION: &str =
    "What a job soils is taken to be washed at its end, and to dry its time.";

/// Checks booked jobs in time order, each on the book the one before leaves: what is soiled by then is
/// washed after it and dries its time.
///
/// What a job has to buy is found on the kit ahead, where what is soiled is washed now, what is on its way
/// comes on its day, and the jobs before it have bought what they have to.
///
/// # Errors
/// When a job is unknown, is not booked, or cannot be planned.
pub fn check_jobs(book: &Book, ids: &[Id], now: Moment) -> Result<Vec<JobCheck>, Refusal> {
    let mut jobs = ids
        .iter()
        .map(|id| booked(book, id))
        .collect::<Result<Vec<_>, _>>()?;
    jobs.sort_by_key(|job| (job.next_start(), job.id.clone()));
    jobs.dedup_by_key(|job| job.id.clone());
    let mut known = Known::of(book, &jobs);
    let mut imagined = book.clone();
    let mut washes = Washes::default();
    let mut checks = Vec::with_capacity(jobs.len());
    for (at, job) in jobs.iter().enumerate() {
        washes.do_until(&mut imagined, job.next_start());
        let check = check_job(&imagined, job, now, &mut known)?;
        if at.saturating_add(1) < jobs.len() {
            imagine(&mut imagined, job, &check.picked());
            washes.ask_after(&imagined, job, &check.plan, &check.picked());
        }
        checks.push(check);
    }
    let needs = if checks.iter().any(JobCheck::lacks) {
        needs::of_jobs(book, &jobs, now).0
    } else {
        Vec::new()
    };
    for check in &mut checks {
        to_buy::tell(book, check, &needs, now);
    }
    Ok(checks)
}

/// The check of one job of a book that has come to its start, and what it has to buy.
///
/// # Errors
/// When the job cannot be planned.
pub(crate) fn check_ahead(
    ahead: &Ahead,
    job: &Job,
    now: Moment,
) -> Result<(JobCheck, Vec<Bought>), Refusal> {
    let check = look_ahead(ahead, job, now)?;
    let bought = if check.lacks() {
        buy::for_job(ahead, job, now)?
    } else {
        Vec::new()
    };
    Ok((check, bought))
}

/// The check of one job of a book that has come to its start.
///
/// # Errors
/// When the job cannot be planned.
pub(crate) fn look_ahead(ahead: &Ahead, job: &Job, now: Moment) -> Result<JobCheck, Refusal> {
    let mut known = Known::of(ahead.book(), &[job]);
    check_job(ahead.book(), job, now, &mut known)
}

impl JobCheck {
    /// The pieces that go to the job, as a log of it would have them.
    pub(crate) fn picked(&self) -> Vec<Picked> {
        let picks = |line: &Line| {
            let step = line.step.clone();
            let picks = line.picks.clone().into_iter();
            picks.map(move |pick| Picked {
                tag: pick.tag,
                step: step.clone(),
                quantity: pick.quantity,
                spare: pick.spare,
            })
        };
        let lines = self.lines.iter();
        let used_up = lines.filter(|line| line.kind != LineKind::Tool);
        used_up.flat_map(picks).collect()
    }

    /// Whether its chance is below the target.
    fn is_below(&self) -> bool {
        self.carry_chance
            .is_some_and(|chance| chance < self.carry_target)
    }

    /// Whether something is short, or the chance is below the target.
    fn lacks(&self) -> bool {
        let is_short = |line: &Line| line.short > 0 && line.kind != LineKind::Battery;
        self.is_below() || self.lines.iter().any(is_short)
    }
}

/// A job that is booked: others are not checked.
fn booked<'a>(book: &'a Book, id: &Id) -> Result<&'a Job, Refusal> {
    let job = book
        .job(id)
        .ok_or_else(|| Refusal::no_id(Reason::JobUnknown, "jobs", "job", id))?;
    if job.state == JobState::Booked {
        return Ok(job);
    }
    Err(Refusal::new(
        Reason::JobState,
        "jobs",
        format!(
            "The job {id} is {}; only booked jobs are checked.",
            job.state.word()
        ),
        "Look at its entries instead.",
    ))
}

fn check_job(
    book: &Book,
    job: &Job,
    now: Moment,
    known: &mut Known<'_>,
) -> Result<JobCheck, Refusal> {
    let plan = known.plans.take(job)?;
    let routine = routine_of(book, job)?;
    let scene = Scene::of(book, job, now);
    let share = plan.line_target(book.policy());
    let mut pad_lines = pads::pad_lines(&scene, routine, &plan, share)?.into_iter();
    let mut lines = Vec::new();
    for planned in &plan.steps {
        let makes = step_makes(book, &planned.step, "routine.steps")?;
        lines.extend(machines::machine_line(&scene, planned));
        lines.extend(machines::plate_line(&scene, &planned.step, makes));
        lines.extend(pad_lines.next());
    }
    let liquids = likely_use(book, &plan);
    lines.extend(stock::liquid_lines(&scene, &plan, &liquids));
    lines.extend(towels::towel_lines(&scene, routine, &plan));
    let sundries = likely_sundries(book, &plan);
    lines.extend(stock::sundry_lines(&scene, &sundries));
    lines.extend(batteries::battery_lines(&scene, &plan));
    lines.extend(tools::tool_lines(&scene, routine));
    lines.push(film::film_line(book, &plan));
    let loads: Vec<&DayLoad> = known.days.of_job(job).collect();
    // A day that is over is told no more.
    let past = usize::from(job.has_first_day_behind());
    for (at, load) in loads.iter().enumerate().skip(past) {
        lines.extend(load.lines(at > 0));
    }
    let exposure = |at: usize| loads.get(at).map(|load| load.exposure(&job.id));
    lines.extend(car::car_line(&plan));
    lines.extend(known.diary.line(&scene, job));
    taken::say_taken(&scene, &mut lines);
    away::say_away(&scene, &mut lines);
    let carry_target = permille(book.policy(), PolicyKey::CarryTargetPermille);
    let severity = permille(book.policy(), PolicyKey::SeverityLogSdPermille);
    let carry_chance = chance::of_job(&mut lines, carry_target, share, severity);
    Ok(JobCheck {
        job: job.clone(),
        verdict: lines
            .iter()
            .map(|line| line.verdict)
            .max()
            .unwrap_or(Verdict::Go),
        exposure: exposure(0).unwrap_or_default(),
        second_exposure: exposure(1),
        cautions: cautions::of_job(book, &plan, routine),
        carry_chance,
        carry_target,
        liquids,
        sundries,
        times: likely_times(book, job, &plan),
        lines,
        plan,
    })
}

/// What a job will likely use of each liquid make, and what that rests on.
pub fn likely_use(book: &Book, plan: &Plan) -> Vec<(Id, LikelyUse, String)> {
    let needs = plan.liquid_needs().into_iter();
    likely(book, needs.map(|(make, _, need)| (make, need.ul())))
}

/// What a job will likely use of each sundry make, in the order of the plan, and what that rests on.
pub fn likely_sundries(book: &Book, plan: &Plan) -> Vec<(Id, LikelyUse, String)> {
    likely(book, plan.sundries.iter().map(|(make, need)| (make, *need)))
}

fn likely<'a>(
    book: &Book,
    needs: impl Iterator<Item = (&'a Id, i64)>,
) -> Vec<(Id, LikelyUse, String)> {
    let likely = needs.map(|(make, need)| {
        let real = RealUse::of(book, make, need);
        (make.clone(), real.of_job(need), real.rests_on())
    });
    likely.collect()
}
