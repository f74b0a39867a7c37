//! What a job took off the film of its car, by readings before and after it.
//!
//! Formula: removed = mean before − mean after, panel by panel, each mean of three spots or more; over five panels
//! or more their mean and its 90 % limits by Student's t. It is film that is gone from the whole, told beside the
//! error of the gauge; it says nothing of the clear coat that is left.

use crate::Book;
use crate::Moment;
use crate::ground::ids::Id;
use crate::maths::mean::{mean, mean_limits};
use crate::trade::film::{FilmSet, OfJob, PanelSpots, gauge_error_um};
use crate::trade::job::Car;
use crate::trade::panel::Panel;

/// Confidence of the limits that are told.
const CONFIDENCE: f64 = 0.9;
/// Panels from which on limits are told. Basis: common practice, no source.
const PANELS_MIN: usize = 5;

/// What a job took off the film of a car.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmCut {
    /// The job.
    pub job: Id,
    /// When it was read last after the job.
    pub read_at: Moment,
    /// Panels that were read in three spots or more before and after.
    pub panels: Vec<PanelCut>,
    /// Panels that were read after it, and in too few spots before or after.
    pub thin: Vec<Panel>,
    /// Panels that were read after it and not before.
    pub unpaired: Vec<Panel>,
    /// All panels together; nothing where none is told.
    pub removed: Option<Removed>,
}

/// What was taken off one panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanelCut {
    /// Panel.
    pub panel: Panel,
    /// Mean before, µm.
    pub before_um: f64,
    /// Mean after, µm.
    pub after_um: f64,
}

impl PanelCut {
    /// What is gone, µm; below zero where the panel is thicker than before.
    pub fn removed_um(&self) -> f64 {
        self.before_um - self.after_um
    }

    /// Whether it is thicker than before by more than the gauge's error.
    pub(crate) fn has_grown(&self) -> bool {
        -self.removed_um() > gauge_error_um(self.after_um)
    }
}

/// What was taken off on the mean of the panels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Removed {
    /// Mean, µm.
    pub mean_um: f64,
    /// Its 90 % limits, µm; nothing below five panels.
    pub limits_um: Option<(f64, f64)>,
    /// The error of the gauge at the mean film before, µm.
    pub error_um: f64,
}

impl Removed {
    /// Whether it is within the gauge's error.
    pub fn is_within_error(&self) -> bool {
        self.mean_um.abs() <= self.error_um
    }

    /// Whether the panels are thicker than before, for sure by the limits.
    pub(crate) fn has_surely_grown(&self) -> bool {
        self.limits_um.is_some_and(|(_, high)| high < 0.0)
    }
}

/// What each job took off a car that was read after it, the last one first.
pub fn film_cuts(book: &Book, car: &Car) -> Vec<FilmCut> {
    let mut jobs: Vec<&Id> = Vec::new();
    for set in car.film.sets().rev() {
        if let Some(OfJob::After(job)) = &set.of_job
            && !jobs.contains(&job)
        {
            jobs.push(job);
        }
    }
    jobs.into_iter()
        .filter_map(|job| film_cut(book, car, job))
        .collect()
}

/// What a job took off a car; nothing where it was not read after it.
pub fn film_cut(book: &Book, car: &Car, job: &Id) -> Option<FilmCut> {
    let start = book.job(job).map(|job| job.starts_at);
    let after: Vec<&FilmSet> = car
        .film
        .sets()
        .filter(|set| set.of_job == Some(OfJob::After(job.clone())))
        .collect();
    let mut cut = FilmCut {
        job: job.clone(),
        read_at: after.last()?.read_at(),
        panels: Vec::new(),
        thin: Vec::new(),
        unpaired: Vec::new(),
        removed: None,
    };
    for panel in Panel::ALL {
        let Some(last) = after.iter().rev().find_map(|set| set.of(*panel)) else {
            continue;
        };
        match before(car, job, start, *panel) {
            None => cut.unpaired.push(*panel),
            Some(first) => match (first.mean_um(), last.mean_um()) {
                (Some(before_um), Some(after_um)) => cut.panels.push(PanelCut {
                    panel: *panel,
                    before_um,
                    after_um,
                }),
                _ => cut.thin.push(*panel),
            },
        }
    }
    cut.removed = removed(&cut.panels);
    Some(cut)
}

/// What was read of a panel before a job: the newest told so, else the newest by its start that has a mean.
fn before<'a>(
    car: &'a Car,
    job: &Id,
    start: Option<Moment>,
    panel: Panel,
) -> Option<&'a PanelSpots> {
    let told = |set: &&FilmSet| set.of_job == Some(OfJob::Before(job.clone()));
    let of_it = car.film.sets().rev().filter(told);
    let of_it = of_it.into_iter().find_map(|set| set.of(panel));
    let by_start = |set: &&FilmSet| {
        let is_after_it = set.of_job == Some(OfJob::After(job.clone()));
        !is_after_it && start.is_some_and(|start| set.read_at() <= start)
    };
    let mut earlier = car.film.sets().rev().filter(by_start);
    of_it.or_else(|| earlier.find_map(|set| set.of(panel).filter(|spots| !spots.is_thin())))
}

fn removed(panels: &[PanelCut]) -> Option<Removed> {
    let taken: Vec<f64> = panels.iter().map(PanelCut::removed_um).collect();
    let film: Vec<f64> = panels.iter().map(|one| one.before_um).collect();
    let limits = mean_limits(&taken, CONFIDENCE).filter(|_| panels.len() >= PANELS_MIN);
    Some(Removed {
        mean_um: mean(&taken)?,
        limits_um: limits.map(|limits| (limits.low, limits.high)),
        error_um: gauge_error_um(mean(&film)?),
    })
}
