//! How many jobs a piece that is used up has left, and why.

use fettlebook_quantity::{Volume, exact_f64, round_to_i64};

use crate::Book;
use crate::answers::bottle_jobs::latest_needs;
use crate::answers::job_takes::takes_of;
use crate::answers::jobs_left::jobs_left;
use crate::answers::wear_report::LifeRange;
use crate::ground::ids::Id;
use crate::maths::credibility::{Span, use_belief};
use crate::maths::moments::Moments;
use crate::ready::pick::heel_ul;
use crate::ready::real_use::{RealUse, credibility_settings};
use crate::trade::job::{Job, JobState};
use crate::trade::kit::{BottleState, BundleState, Piece, SundryState};
use crate::trade::make::Figures;

/// Latest jobs that say what one takes. Basis: ours, as for the kept levels.
const JOBS_LOOKED_AT: usize = 6;

/// Of a bottle, above its heel: by what its make's weighings say and the latest jobs were planned to take.
pub(super) fn of_bottle(
    book: &Book,
    piece: &Piece,
    bottle: &BottleState,
) -> (Option<LifeRange>, String) {
    let needs = latest_needs(book, &piece.make);
    let needs: Vec<Moments> = needs
        .iter()
        .map(|need| Moments::sure(exact_f64(need.ul())))
        .collect();
    let planned = Moments::one_of(&needs);
    if planned.mean <= 0.0 {
        return (None, "No job takes of it.".to_owned());
    }
    let one = Volume::from_ul(round_to_i64(planned.mean));
    let real = RealUse::of(book, &piece.make, one);
    let of_one = real.of_job(one);
    let (mean, _) = of_one.moments();
    let factor = mean / exact_f64(one.ul().max(1));
    let usable = bottle
        .left_ul
        .ul()
        .saturating_sub(heel_ul(book.policy(), bottle));
    let left = jobs_left(exact_f64(usable), |jobs| {
        let all = real.of_job(Volume::from_ul(round_to_i64(planned.mean * jobs)));
        let (mean, variance) = all.moments();
        let of_cars = planned.variance * jobs * factor * factor;
        Moments {
            mean,
            variance: variance + of_cars,
        }
    });
    let usable = Volume::from_ul(usable.max(0));
    let a_job = Volume::from_ul(round_to_i64(mean));
    let said = format!(
        "{usable} are left above the heel, and a job takes {a_job} on average, by {}. {}",
        latest(needs.len()),
        real.rests_on()
    );
    (Some(left), said)
}

/// Of a bundle, until its towels go down a grade: by its washes against the jobs it went to.
pub(super) fn of_bundle(
    book: &Book,
    piece: &Piece,
    bundle: &BundleState,
    washes: &[Span],
    jobs: i64,
) -> (Option<LifeRange>, String) {
    let figures = book.make(&piece.make).map(|make| &make.figures);
    let rated = match figures {
        Some(Figures::Towel(towel)) => towel.demote_wash_count.filter(|washes| *washes > 0),
        _ => None,
    };
    let Some(rated) = rated else {
        return (None, "Nothing says how many washes it has.".to_owned());
    };
    // A wash a job until its own say otherwise.
    let belief = use_belief(washes, 1.0, credibility_settings(book.policy()));
    let open = rated.saturating_sub(bundle.wash_count);
    let left = jobs_left(exact_f64(open), |jobs| {
        let all = belief.predict(jobs);
        Moments {
            mean: all.mean,
            variance: all.variance,
        }
    });
    let rests_on = match (jobs, washes.is_empty()) {
        (_, true) => "A wash after each job is reckoned with: none is told yet.".to_owned(),
        (1, false) => format!(
            "{:.1} washes a job are reckoned with, from 1 job.",
            belief.factor
        ),
        (jobs, false) => {
            let factor = belief.factor;
            format!("{factor:.1} {many} a job are reckoned with, from {jobs} jobs.")
        }
    };
    let open = match open {
        ..=0 => (*over).to_owned(),
        1 => format!("1 {one} is left of {rated}."),
        open => format!("{open} {many} are left of {rated}."),
    };
    (Some(left), format!("{open} {rests_on}"))
}

/// Of a pack of a sundry.
pub(super) fn of_sundry(
    book: &Book,
    piece: &Piece,
    sundry: &SundryState,
) -> (Option<LifeRange>, String) {
    let takes = latest_takes(book, &piece.make);
    let planned = Moments::one_of(&takes);
    if planned.mean <= 0.0 {
        return (None, "No job takes of it.".to_owned());
    }
    let left = jobs_left(exact_f64(sundry.left_quantity), |jobs| planned.many(jobs));
    let unit = match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Sundry(figures)) => figures.unit,
        _ => return (Some(left), String::new()),
    };
    let a_job = unit.show(round_to_i64(planned.mean));
    let said = format!(
        "A job takes {a_job} on average, by {}.",
        latest(takes.len())
    );
    (Some(left), said)
}

/// What the latest jobs with a make take of it.
fn latest_takes(book: &Book, make: &Id) -> Vec<Moments> {
    let names = |job: &Job| {
        let routine = book.routine(&job.routine);
        routine.is_some_and(|routine| routine.makes().any(|id| id == make))
    };
    let jobs = book.jobs().map(AsRef::as_ref);
    let mut jobs: Vec<&Job> = jobs
        .filter(|job| job.state != JobState::CalledOff && names(job))
        .collect();
    jobs.sort_by_key(|job| std::cmp::Reverse(job.starts_at));
    let latest = jobs.into_iter().take(JOBS_LOOKED_AT);
    latest
        .filter_map(|job| takes_of(book, job)?.get(make).copied())
        .collect()
}

fn latest(count: usize) -> String {
    match count {
        1 => "the one job with it".to_owned(),
        count => format!("the latest {count} jobs with it"),
    }
}
