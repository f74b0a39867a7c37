//! What a job takes of each make it names, in the unit in which a piece of it comes to its end.
//!
//! Serves what has to be replaced ahead and what is left of a piece. Liquids and sundries are in their own
//! unit, pads, plates and batteries in rated lives, all of a job together, machines in seconds, and towels in
//! washes of a bundle: what a job wipes with is washed after it, as what it ran on is charged.

use std::collections::BTreeMap;

use fettlebook_quantity::exact_f64;

use super::job_cost::{MILLIONTHS, plate_life};
use crate::answers::check::{likely_sundries, likely_use};
use crate::ground::exact::ceil_div;
use crate::ground::ids::Id;
use crate::maths::moments::Moments;
use crate::ready::batteries::drawn_really;
use crate::ready::lives::pad_figures;
use crate::ready::pick::{Scene, added_damage, offer_batteries};
use crate::ready::plan::{Plan, plan_to_come, routine_of};
use crate::ready::towel_use::{TowelUse, grade_for};
use crate::trade::job::Job;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::make::Figures;
use crate::{Book, Moment};

const MS_A_SECOND: f64 = 1_000.0;

/// What a job takes of each make.
pub(super) type Takes = BTreeMap<Id, Moments>;

/// What a job takes; `None` where it cannot be planned.
pub(super) fn takes_of(book: &Book, job: &Job) -> Option<Takes> {
    let plan = plan_to_come(book, job).ok()?;
    let routine = routine_of(book, job).ok()?;
    let mut takes = Takes::new();
    let mut take = |make: &Id, more: Moments| {
        let sum = takes.entry(make.clone()).or_default();
        *sum = sum.plus(more);
    };
    let liquids = likely_use(book, &plan).into_iter();
    for (make, likely, _) in liquids.chain(likely_sundries(book, &plan)) {
        let (mean, variance) = likely.moments();
        take(&make, Moments { mean, variance });
    }
    for planned in &plan.steps {
        let step = &planned.step;
        if let Some(figures) = book.make(&step.pad_make).and_then(|make| pad_figures(make)) {
            let each = added_damage(planned, figures, planned.pad_count);
            let all = each * exact_f64(planned.pad_count);
            take(&step.pad_make, Moments::sure(all));
        }
        if let Some(machine) = &step.machine_make {
            let time_s = exact_f64(planned.machine_ms()) / MS_A_SECOND;
            take(machine, Moments::sure(time_s));
        }
        let plate = plate_life(book, job, step, planned.time_ms, planned.pad_count);
        if let Some((make, millionths)) = plate {
            take(&make, Moments::sure(exact_f64(millionths) / MILLIONTHS));
        }
    }
    let residue = TowelUse::of(book, routine, &plan).count();
    let residue = routine.towel_make.iter().map(|make| (make, residue));
    let wipes = plan.wipe_downs.iter();
    let wipes = wipes.map(|wipe| (&wipe.make, wipe.towel_count));
    for (make, lives) in charges_of(book, job, &plan) {
        take(&make, Moments::sure(lives));
    }
    for (make, towel_count) in residue.chain(wipes).filter(|(_, count)| *count > 0) {
        take(make, Moments::sure(bundles_for(book, make, towel_count)));
    }
    Some(takes)
}

/// Rated lives that a job takes of batteries, by make: one charge of each that goes to it.
fn charges_of(book: &Book, job: &Job, plan: &Plan) -> Vec<(Id, f64)> {
    let scene = Scene::of(book, job, Moment::MIN);
    let mut all = Vec::new();
    for one in drawn_really(book, plan, &[]) {
        let offer = offer_batteries(&scene, &one);
        let there = offer.full.iter().chain(&offer.in_time).chain(&offer.late);
        let going = there.take(usize::try_from(offer.need).unwrap_or(usize::MAX));
        all.extend(going.filter_map(|choice| {
            let make = book.make(&choice.piece.make)?;
            let Figures::Battery(figures) = &make.figures else {
                return None;
            };
            let rated = figures.rated_charge_count.filter(|rated| *rated > 0)?;
            Some((make.id.clone(), 1.0 / exact_f64(rated)))
        }));
    }
    all
}

/// Bundles that so many towels come out of, and are washed with.
fn bundles_for(book: &Book, make: &Id, towel_count: i64) -> f64 {
    let towels = towels_a_bundle(book, make).unwrap_or(towel_count).max(1);
    let bundles = ceil_div(towel_count.into(), towels.into());
    exact_f64(bundles)
}

/// Towels in a bundle of a make, on average, rounded up; `None` where there is none in use.
pub(super) fn towels_a_bundle(book: &Book, make: &Id) -> Option<i64> {
    let counts: Vec<i64> = bundles_of(book, make)
        .filter_map(|piece| piece.bundle())
        .map(|bundle| bundle.total_count())
        .collect();
    let sum = counts
        .iter()
        .fold(0_i64, |sum, count| sum.saturating_add(*count));
    let bundles = i64::try_from(counts.len())
        .ok()
        .filter(|count| *count > 0)?;
    Some(ceil_div(sum.into(), bundles.into()))
}

/// Bundles that still do what their make is bought for.
pub(super) fn bundles_of<'a>(book: &'a Book, make: &'a Id) -> impl Iterator<Item = &'a Piece> {
    let grade = grade_for(book, make);
    in_use(book, make).filter(move |piece| {
        let bundle = piece.bundle();
        bundle.is_some_and(|bundle| bundle.grade == grade)
    })
}

/// Pieces of a make that work: neither binned nor set aside.
pub(super) fn in_use<'a>(book: &'a Book, make: &'a Id) -> impl Iterator<Item = &'a Piece> {
    book.pieces_of(make)
        .map(AsRef::as_ref)
        .filter(|piece| !matches!(piece.readiness, Readiness::Aside(_)))
}

/// What one of several jobs takes of each make that any of them takes: a job without it takes nothing.
pub(super) fn one_of(jobs: &[Takes]) -> Takes {
    let makes = jobs.iter().flat_map(BTreeMap::keys);
    let mut takes = Takes::new();
    for make in makes {
        takes.entry(make.clone()).or_insert_with(|| {
            let of_job = |job: &Takes| job.get(make).copied().unwrap_or_default();
            Moments::one_of(&jobs.iter().map(of_job).collect::<Vec<_>>())
        });
    }
    takes
}
