//! Taking in what a gauge read of a car's film.
//!
//! What was read is taken in; what paint does not read, or does not become by a cut, is flagged, for the gauge may
//! have stood on another panel. It is refused only where it cannot be understood: a panel that the car has not, a
//! job of another car.

use fettlebook_quantity::Thickness;

use super::Decision;
use super::doubts::FILM_OF_PAINT_UM_MAX;
use crate::book::change::Stamp;
use crate::book::command::FilmRead;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::Subject;
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::film_cut::{FilmCut, PanelCut, film_cut};
use crate::ready::plan::panels;
use crate::trade::film::{OfJob, PanelSpots, SPOTS_MAX, has_grown};
use crate::trade::job::{Car, Job, JobState};
use crate::trade::kept::KeptMark;
use crate::trade::panel::Panel;
use crate::{Book, Moment};

/// Lowest reading that a painted panel has; below it the metal is bare, or the gauge did not read (common
/// practice, no source).
const FILM_OF_PAINT_UM_MIN: i64 = 40;
/// The highest spot of a panel is so many times its lowest at most (from memory): beyond, one of them is mistyped
/// or the gauge slipped.
const TIMES_THE_LOWEST: i64 = 2;

/// Takes in what was read.
pub(super) fn record(book: &Book, read: &FilmRead, now: Moment) -> Result<Decision, Refusal> {
    let mut decision = Decision::of(&read.said, now)?;
    let no_car = || Refusal::no_id(Reason::CarUnknown, "car", "car", &read.car);
    let car = book.car(&read.car).ok_or_else(no_car)?;
    can_be_read(book, car, &read.panels)?;
    let job = match &read.of_job {
        Some(of_job) => Some(job_of(book, car, of_job)?),
        None => None,
    };
    if read.said.done_at.is_none()
        && let (Some(OfJob::Before(_)), Some(job)) = (&read.of_job, job)
        && let JobState::Done(_) = job.state
    {
        // Told after the work without a time: it was read by its start.
        decision.done_at = decision.done_at.min(job.starts_at);
    }
    let deed = Deed::FilmRead {
        car: read.car.clone(),
        of_job: read.of_job.clone(),
        panels: read.panels.clone(),
    };
    let mut said = Vec::new();
    if let (Some(of_job), Some(job)) = (&read.of_job, job) {
        said.extend(doubt_job(of_job, job, decision.done_at));
    }
    said.extend(read.panels.iter().flat_map(doubt_spots));
    said.extend(doubt_growth(
        book,
        car,
        &deed,
        (decision.done_at, decision.kept, read),
    ));
    let flag = |text| Flag {
        subject: Subject::Car(read.car.clone()),
        text,
        count: false,
    };
    Ok(decision.with(vec![deed], said.into_iter().map(flag).collect()))
}

/// That the readings are of panels that the car has, each once, with spots.
fn can_be_read(book: &Book, car: &Car, read: &[PanelSpots]) -> Result<(), Refusal> {
    if read.is_empty() {
        return Err(Refusal::missing(
            "panels",
            "Give the panels that were read, each with its spots.",
        ));
    }
    let has: Vec<Panel> = panels(car, book.policy())
        .into_iter()
        .map(|facts| facts.panel)
        .collect();
    for (place, one) in read.iter().enumerate() {
        let panel = one.panel;
        if !has.contains(&panel) {
            let class = car.class;
            let words: Vec<String> = has.iter().map(ToString::to_string).collect();
            return Err(Refusal::new(
                Reason::PanelUnknown,
                "panels.panel",
                format!("{} is a {class}, which has no {panel}.", car.id),
                format!("It has {}.", words.join(", ")),
            ));
        }
        if read.iter().take(place).any(|other| other.panel == panel) {
            return Err(Refusal::invalid(
                "panels.panel",
                format!("The panel {panel} is named twice."),
                "Name each panel once, with all its spots.",
            ));
        }
        if one.spots_um.is_empty() {
            return Err(Refusal::missing(
                "panels.spots_um",
                "Give what the gauge read on each panel, three spots or more.",
            ));
        }
        if one.spots_um.len() > SPOTS_MAX {
            return Err(Refusal::invalid(
                "panels.spots_um",
                format!(
                    "The {panel} has {} spots; {SPOTS_MAX} are taken at once.",
                    one.spots_um.len()
                ),
                "Give the lowest among them, or tell them in two goes.",
            ));
        }
    }
    Ok(())
}

/// The job that a film was read beside, which has to be of its car.
fn job_of<'a>(book: &'a Book, car: &Car, of_job: &OfJob) -> Result<&'a Job, Refusal> {
    let id = of_job.job();
    let job = book
        .job(id)
        .ok_or_else(|| Refusal::no_id(Reason::JobUnknown, "job", "job", id))?;
    if job.car == car.id {
        return Ok(job);
    }
    Err(Refusal::invalid(
        "job",
        format!("{id} is a job of {}, not of {}.", job.car, car.id),
        "Name a job of this car, or the car that was read.",
    ))
}

/// What is odd about when it was read beside its job.
fn doubt_job(of_job: &OfJob, job: &Job, read_at: Moment) -> Option<String> {
    let id = &job.id;
    match (of_job, job.state) {
        (_, JobState::CalledOff) => Some(format!("{id} was called off: nothing was cut.")),
        (OfJob::Before(_), JobState::Done(done)) if read_at > done => Some(format!(
            "It was read after {id} was done, and is told as read before it."
        )),
        (OfJob::After(_), _) if read_at < job.starts_at => Some(format!(
            "It was read before {id} starts, and is told as read after it."
        )),
        _ => None,
    }
}

/// Readings that no paint has, or that do not go together.
fn doubt_spots(one: &PanelSpots) -> Vec<String> {
    let (panel, mut said) = (one.panel, Vec::new());
    let (Some(lowest), Some(highest)) = (one.lowest(), one.highest()) else {
        return said;
    };
    if highest > Thickness::from_um(FILM_OF_PAINT_UM_MAX) {
        said.push(format!(
            "The {panel} reads {highest}, more than paint alone has: there is filler, or the gauge slipped. \
             Measure it again."
        ));
    }
    if lowest < Thickness::from_um(FILM_OF_PAINT_UM_MIN) {
        said.push(format!(
            "The {panel} reads {lowest}, less than any paint has: the metal is bare there, or the gauge did not \
             read. Look at the spot and measure it again."
        ));
    }
    if said.is_empty() && highest.um() > lowest.um().saturating_mul(TIMES_THE_LOWEST) {
        said.push(format!(
            "The {panel} reads from {lowest} to {highest}: one of them is mistyped, or there is filler. Measure it \
             again."
        ));
    }
    said
}

/// Paint that is thicker than it was, which no cut and no time does.
fn doubt_growth(
    book: &Book,
    car: &Car,
    deed: &Deed,
    (done_at, kept, read): (Moment, Option<KeptMark>, &FilmRead),
) -> Vec<String> {
    let by = read.said.kept.as_ref().map_or("", |kept| kept.by.as_str());
    let stamp = Stamp {
        seq: book.head().next(),
        done_at,
        by,
        kept,
    };
    let mut with = book.clone();
    with.take(deed, stamp);
    let Some(after) = with.car(&car.id) else {
        return Vec::new();
    };
    let is_read = |panel: Panel| read.panels.iter().any(|one| one.panel == panel);
    let cut = match &read.of_job {
        Some(of_job) => film_cut(&with, after, of_job.job()),
        None => None,
    };
    let grown: Vec<PanelCut> = cut
        .iter()
        .flat_map(|cut| &cut.panels)
        .filter(|one| one.has_grown() && is_read(one.panel))
        .copied()
        .collect();
    let mut said: Vec<String> = match &cut {
        Some(cut) if !grown.is_empty() => grown.iter().map(|one| grew(cut, one)).collect(),
        Some(cut) => swapped(cut).into_iter().collect(),
        None => Vec::new(),
    };
    let rest = read
        .panels
        .iter()
        .filter(|one| grown.iter().all(|grown| grown.panel != one.panel));
    said.extend(rest.filter_map(|one| {
        let held = car.film_of(one.panel)?;
        let lowest = one.lowest().filter(|lowest| has_grown(held, *lowest))?;
        let panel = one.panel;
        let stays = after.film_of(panel) == Some(held);
        let stays = if stays {
            format!(" The check goes on with {held}. If it was painted anew, edit the car: its lowest film there.")
        } else {
            String::new()
        };
        Some(format!(
            "The {panel} reads {lowest} at its lowest, and was {held}: paint does not grow. Another panel, or \
             painted anew?{stays}"
        ))
    }));
    said
}

fn grew(cut: &FilmCut, one: &PanelCut) -> String {
    let (job, panel) = (&cut.job, one.panel);
    format!(
        "The {panel} reads {:.1} µm on the mean after {job}, and {:.1} µm before it: no cut adds film. Another \
         panel, or painted anew? Measure it again.",
        one.after_um, one.before_um
    )
}

/// That all panels together are thicker after a job than before it.
fn swapped(cut: &FilmCut) -> Option<String> {
    let removed = cut.removed.filter(|removed| removed.has_surely_grown())?;
    let (job, more, panels) = (&cut.job, -removed.mean_um, cut.panels.len());
    Some(format!(
        "The {panels} panels read {more:.1} µm more on the mean after {job} than before it: no cut adds film. Were \
         before and after changed about?"
    ))
}
