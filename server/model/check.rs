//! The check: will the kit carry the job, and what has to be done before.
//!
//! Each line says what is needed, what is there, what is missing, why, and what to do. Several jobs
//! are run in time order on a copy of the book, each leaving soiled towels and worn pads for the
//! next. It reads the book and never changes it.

mod machines;
mod pads;
mod people;
mod stock;

pub(crate) use stock::liquid_needs;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::decide::{Decision, log_as_planned};
use crate::deed::{BodyHash, Entry};
use crate::hazard::{CLOTH_CAUTION, cautions};
use crate::ids::{Id, Tag};
use crate::job::{Job, JobState};
use crate::kit::Piece;
use crate::make::{Figures, Unit};
use crate::pick::Scene;
use crate::plan::{Plan, plan_job, step_makes};
use crate::refusal::{Reason, Refusal};
use crate::{Book, Moment};

/// What the check says, least grave first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// The kit carries it.
    Go,
    /// It may go, with an eye on what the reason names.
    Watch,
    /// Do not start before it is mended.
    Stop,
}

/// What a line is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LineKind {
    /// A machine.
    Machine,
    /// A backing plate.
    Plate,
    /// Pads.
    Pad,
    /// Liquid.
    Liquid,
    /// Towels.
    Towel,
    /// A sundry.
    Sundry,
    /// Paint film.
    Film,
    /// Hand-arm vibration.
    Vibration,
    /// Noise.
    Noise,
    /// The car itself.
    Car,
}

/// One piece picked for a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Pick {
    /// Tag.
    pub tag: Tag,
    /// Quantity taken, in the line's unit.
    pub quantity: i64,
    /// Not planned to work.
    pub spare: bool,
    /// Damage before the job, for what wears.
    pub damage: Option<f64>,
}

impl Pick {
    /// This quantity of a piece that does not wear.
    pub(crate) const fn of(tag: Tag, quantity: i64) -> Self {
        Self {
            tag,
            quantity,
            spare: false,
            damage: None,
        }
    }
}

/// One line of the check.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What it is about.
    pub kind: LineKind,
    /// Step it belongs to.
    pub step: Option<Id>,
    /// What is needed, in words.
    pub what: String,
    /// Make it is about.
    pub make: Option<Id>,
    /// Needed.
    pub need: i64,
    /// There and eligible.
    pub have: i64,
    /// Missing.
    pub short: i64,
    /// Unit of the quantities; `None` for a line without any.
    pub unit: Option<Unit>,
    /// Verdict of the line.
    pub verdict: Verdict,
    /// Why.
    pub reason: String,
    /// What to do about it.
    pub todos: Vec<String>,
    /// The pick list.
    pub picks: Vec<Pick>,
}

impl Line {
    /// A line that goes, about this, until something says otherwise.
    fn new(kind: LineKind, step: Option<&Id>, what: impl Into<String>) -> Self {
        Self {
            kind,
            step: step.cloned(),
            what: what.into(),
            make: None,
            need: 0,
            have: 0,
            short: 0,
            unit: None,
            verdict: Verdict::Go,
            reason: String::new(),
            todos: Vec::new(),
            picks: Vec::new(),
        }
    }

    /// Sets need and have, and stops the line when it is short.
    fn counts(&mut self, need: i64, have: i64, unit: Unit) {
        self.need = need;
        self.have = have;
        self.unit = Some(unit);
        self.short = need.saturating_sub(have).max(0);
        if self.short > 0 {
            self.raise(
                Verdict::Stop,
                format!("Short by {}.", unit.show(self.short)),
            );
        }
    }

    /// Makes the verdict at least this grave and adds the reason.
    fn raise(&mut self, to: Verdict, why: impl AsRef<str>) {
        self.verdict = self.verdict.max(to);
        if !self.reason.is_empty() {
            self.reason.push(' ');
        }
        self.reason.push_str(why.as_ref());
    }

    /// Adds something to do.
    fn todo(&mut self, what: impl Into<String>) {
        self.todos.push(what.into());
    }
}

/// Exposure of the person over the day up to and with a job.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposure {
    /// Machine time of the job, s.
    pub machine_time_s: i64,
    /// Vibration over an 8-hour day, m/s².
    pub a8_m_per_s2: f64,
    /// Vibration points.
    pub points: f64,
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
    /// Exposure.
    pub exposure: Exposure,
    /// Cautions to read before the job.
    pub cautions: Vec<String>,
}

/// Checks booked jobs in time order, each on the book the one before leaves.
///
/// # Errors
/// When a job is unknown, is not booked, or cannot be planned.
pub fn check_jobs(book: &Book, ids: &[Id], now: Moment) -> Result<Vec<JobCheck>, Refusal> {
    let mut jobs = ids
        .iter()
        .map(|id| {
            let job = book
                .job(id)
                .ok_or_else(|| Refusal::no_id(Reason::JobUnknown, "jobs", "job", id))?;
            if job.state == JobState::Booked {
                Ok(job)
            } else {
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
        })
        .collect::<Result<Vec<_>, _>>()?;
    jobs.sort_by_key(|job| (job.starts_at, job.id.clone()));
    jobs.dedup_by_key(|job| job.id.clone());
    let mut imagined = book.clone();
    let mut days = BTreeMap::new();
    let mut checks = Vec::with_capacity(jobs.len());
    for (at, job) in jobs.iter().enumerate() {
        let check = check_job(&imagined, job, now, &mut days)?;
        if at.saturating_add(1) < jobs.len() {
            imagine(&mut imagined, job);
        }
        checks.push(check);
    }
    Ok(checks)
}

/// Machine use of one local day, for exposures: vibration parts and noise parts.
type Day = people::DayLoad;

fn check_job(
    book: &Book,
    job: &Job,
    now: Moment,
    days: &mut BTreeMap<Date, Day>,
) -> Result<JobCheck, Refusal> {
    let plan = plan_job(book, job)?;
    let routine = book.routine(&job.routine).ok_or_else(|| {
        Refusal::no_id(
            Reason::RoutineUnknown,
            "job.routine",
            "routine",
            &job.routine,
        )
    })?;
    let scene = Scene::of(book, job, now);
    let mut taken = BTreeSet::new();
    let mut lines = Vec::new();
    for planned in &plan.steps {
        let Some(step) = routine.steps.iter().find(|step| step.name == planned.name) else {
            continue;
        };
        let makes = step_makes(book, step, "routine.steps")?;
        lines.push(machines::machine_line(&scene, step));
        lines.push(machines::plate_line(&scene, step, makes));
        lines.push(pads::pad_line(&scene, step, planned, makes.pad, &mut taken));
    }
    lines.extend(stock::liquid_lines(&scene, routine, &plan));
    lines.extend(stock::towel_line(&scene, routine, &plan));
    lines.extend(stock::sundry_lines(&scene, &plan));
    lines.extend(people::film_line(book, &plan, routine));
    let load = days.entry(scene.day).or_default();
    load.add(book, routine, &plan);
    lines.extend(load.lines());
    lines.extend(people::car_line(&plan));
    Ok(JobCheck {
        job: job.clone(),
        verdict: lines
            .iter()
            .map(|line| line.verdict)
            .max()
            .unwrap_or(Verdict::Go),
        exposure: load.exposure(&plan),
        cautions: job_cautions(book, &plan, routine),
        lines,
        plan,
    })
}

/// Applies a job's planned use to a copy of the book, as if it had gone by the plan.
fn imagine(book: &mut Book, job: &Job) {
    if let Ok(Decision { deeds, .. }) = log_as_planned(book, job) {
        let entry = Entry {
            seq: book.head().next(),
            recorded_at: job.starts_at,
            done_at: job.starts_at,
            request: uuid::Uuid::nil(),
            body: BodyHash([0; 16]),
            by: String::new(),
            deeds,
            flags: Vec::new(),
            note: String::new(),
        };
        book.apply(&entry);
    }
}

/// Cautions from the data sheets of everything the job uses, each with what it is about.
fn job_cautions(book: &Book, plan: &Plan, routine: &crate::job::Routine) -> Vec<String> {
    let mut said = Vec::new();
    let liquids = routine.steps.iter().map(|step| &step.liquid_make);
    let sundries = plan.sundries.iter().map(|(make, _)| make);
    let mut seen = BTreeSet::new();
    let mut cloths = false;
    for make in liquids.chain(sundries).filter_map(|id| book.make(id)) {
        if make.ghs.is_empty() || !seen.insert(&make.id) {
            continue;
        }
        cloths =
            cloths || !matches!(make.figures, Figures::Sundry(ref s) if s.unit != Unit::Microlitre);
        for caution in cautions(&make.ghs) {
            said.push(format!("{}: {}.", make.name, caution.sentence()));
        }
    }
    if cloths {
        said.push(format!("{CLOTH_CAUTION}."));
    }
    said.push(crate::film::FILM_CAUTION.to_owned());
    said.push(crate::exposure::EXPOSURE_CAUTION.to_owned());
    said
}

/// A moment as the person at the job reads it.
pub(crate) fn local(scene_job_offset_s: i32, moment: Moment) -> String {
    let offset =
        jiff::tz::Offset::from_seconds(scene_job_offset_s).unwrap_or(jiff::tz::Offset::UTC);
    jiff::fmt::strtime::format("%a %-d %b %Y %H:%M", offset.to_datetime(moment)).unwrap_or_default()
}

/// Tags as a person lists them: `P-02, P-03 and P-05`.
pub(crate) fn list(tags: &[Tag]) -> String {
    let words: Vec<String> = tags.iter().map(ToString::to_string).collect();
    match words.split_last() {
        None => String::new(),
        Some((only, [])) => only.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

/// Asks to move what lies elsewhere, and watches the line for it.
fn ask_to_move<'a>(line: &mut Line, scene: &Scene<'_>, picked: impl Iterator<Item = &'a Piece>) {
    let mut elsewhere: BTreeMap<&Id, Vec<Tag>> = BTreeMap::new();
    for piece in picked.filter(|piece| piece.place != *scene.place) {
        elsewhere.entry(&piece.place).or_default().push(piece.tag);
    }
    for (place, tags) in elsewhere {
        line.raise(Verdict::Watch, format!("{} at {place}.", list(&tags)));
        line.todo(format!(
            "Move {} from {place} to {}.",
            list(&tags),
            scene.place
        ));
    }
}

/// Watches the line where a picked piece's level is in doubt.
fn ask_to_count<'a>(line: &mut Line, how: &str, picked: impl Iterator<Item = &'a Piece>) {
    let doubtful: Vec<Tag> = picked
        .filter(|piece| piece.needs_count)
        .map(|piece| piece.tag)
        .collect();
    if !doubtful.is_empty() {
        line.raise(
            Verdict::Watch,
            format!("The level of {} is in doubt.", list(&doubtful)),
        );
        line.todo(format!("{how} {}.", list(&doubtful)));
    }
}
