//! How many jobs a piece that is used up has left, and why.

use fettlebook_quantity::{Volume, exact_f64, round_to_i64};

use crate::Book;
use crate::answers::bottle_jobs::latest_needs;
use crate::answers::jobs_left::jobs_left;
use crate::answers::wear_report::LifeRange;
use crate::maths::credibility::{Span, use_belief};
use crate::maths::moments::Moments;
use crate::ready::pick::heel_ul;
use crate::ready::real_use::{RealUse, credibility_settings};
use crate::trade::battery::BatteryState;
use crate::trade::kit::{BottleState, BundleState, Piece, SundryState};
use crate::trade::make::Figures;

/// How many jobs what is left of a measured piece lasts for, and what a job takes of it.
struct Lasting {
    left: LifeRange,
    /// What a job takes on average, in the make's unit.
    a_job: i64,
    /// Latest jobs that say so.
    job_count: usize,
    rests_on: String,
}

/// How long so much of a piece lasts: by what its make's measurings say and the latest jobs were planned to
/// take; nothing where no job takes of it.
fn lasting(book: &Book, piece: &Piece, usable: i64) -> Option<Lasting> {
    let needs = latest_needs(book, &piece.make);
    let sure = needs.iter().map(|need| Moments::sure(exact_f64(*need)));
    let planned = Moments::one_of(&sure.collect::<Vec<_>>());
    if planned.mean <= 0.0 {
        return None;
    }
    let real = RealUse::of(book, &piece.make, round_to_i64(planned.mean));
    let mean = real.predict(planned.mean).mean;
    let factor = mean / planned.mean;
    let left = jobs_left(exact_f64(usable), |jobs| {
        let all = real.predict(planned.mean * jobs);
        let of_cars = planned.variance * jobs * factor * factor;
        Moments {
            mean: all.mean,
            variance: all.variance + of_cars,
        }
    });
    Some(Lasting {
        left,
        a_job: round_to_i64(mean),
        job_count: needs.len(),
        rests_on: real.rests_on(),
    })
}

/// Of a bottle, above its heel.
pub(super) fn of_bottle(
    book: &Book,
    piece: &Piece,
    bottle: &BottleState,
) -> (Option<LifeRange>, String) {
    let heel = heel_ul(book.policy(), bottle);
    let usable = bottle.left_ul.ul().saturating_sub(heel);
    let Some(lasting) = lasting(book, piece, usable) else {
        return (None, "No job takes of it.".to_owned());
    };
    let usable = Volume::from_ul(usable.max(0));
    let a_job = Volume::from_ul(lasting.a_job);
    let said = format!(
        "{usable} are left above the heel, and a job takes {a_job} on average, by {}. {}",
        latest(lasting.job_count),
        lasting.rests_on
    );
    (Some(lasting.left), said)
}

/// Of a bundle, until its towels go down a grade: by its washes against the jobs it went to.
pub(super) fn of_bundle(
    book: &Book,
    piece: &Piece,
    bundle: &BundleState,
    washes: &[Span],
    jobs: i64,
) -> (Option<LifeRange>, String) {
    let rated = match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Towel(towel)) => towel.demote_wash_count,
        _ => None,
    };
    let words = &RoundWords {
        one: "wash",
        many: "washes",
        over: "It has had the washes after which towels go down a grade.",
    };
    by_rounds(book, (bundle.wash_count, rated), washes, jobs, words)
}

/// Of a battery, until its rated charges are over: by its charges against the jobs it went to.
pub(super) fn of_battery(
    book: &Book,
    piece: &Piece,
    battery: &BatteryState,
    charges: &[Span],
    jobs: i64,
) -> (Option<LifeRange>, String) {
    let rated = match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Battery(battery)) => battery.rated_charge_count,
        _ => None,
    };
    let words = &RoundWords {
        one: "charge",
        many: "charges",
        over: "It has had the charges that it is rated for.",
    };
    by_rounds(book, (battery.charge_count, rated), charges, jobs, words)
}

/// What a piece goes through after jobs, in words.
struct RoundWords {
    one: &'static str,
    many: &'static str,
    /// Said where none is left.
    over: &'static str,
}

/// Jobs until the rated rounds are over, one a job until the piece's own say otherwise.
fn by_rounds(
    book: &Book,
    (count, rated): (i64, Option<i64>),
    rounds: &[Span],
    jobs: i64,
    words: &RoundWords,
) -> (Option<LifeRange>, String) {
    let RoundWords { one, many, over } = words;
    let Some(rated) = rated.filter(|rated| *rated > 0) else {
        return (None, format!("Nothing says how many {many} it has."));
    };
    let belief = use_belief(rounds, 1.0, credibility_settings(book.policy()));
    let open = rated.saturating_sub(count);
    let left = jobs_left(exact_f64(open), |jobs| {
        let all = belief.predict(jobs);
        Moments {
            mean: all.mean,
            variance: all.variance,
        }
    });
    let rests_on = match (jobs, rounds.is_empty()) {
        (_, true) => format!("A {one} after each job is reckoned with: none is told yet."),
        (1, false) => format!(
            "{:.1} {many} a job are reckoned with, from 1 job.",
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
    let Some(lasting) = lasting(book, piece, sundry.left_quantity) else {
        return (None, "No job takes of it.".to_owned());
    };
    let unit = match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Sundry(figures)) => figures.unit,
        _ => return (Some(lasting.left), String::new()),
    };
    let a_job = unit.show(lasting.a_job);
    let by = latest(lasting.job_count);
    let said = format!(
        "A job takes {a_job} on average, by {by}. {}",
        lasting.rests_on
    );
    (Some(lasting.left), said.trim_end().to_owned())
}

fn latest(count: usize) -> String {
    match count {
        1 => "the one job with it".to_owned(),
        count => format!("the latest {count} jobs with it"),
    }
}
